"""What a pilot holds in a test, over the source that brings it about: the ratio that is needed."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sixdof.flight.blends import Ratio, activity
from sixdof.flight.gusts import Wind
from sixdof.flight.maneuver import KEPT_TEST
from sixdof.flight.script import ManeuverFile, Script, make_script, sides_of
from sixdof.flight.speed import entry_speed
from sixdof.flight.steady import UNKNOWNS
from sixdof.flight.trim import trim, trim_batch
from sixdof.physics.air import make_air
from sixdof.physics.channels import CHANNELS, NUMBER
from sixdof.tuning.bench import Bench

__all__ = ["flap_ratios", "held_ratios", "steady_ratio", "without_slop"]


def held_ratios(
    planes: np.ndarray, maneuvers: Sequence[ManeuverFile], ratios: Sequence[Ratio],
    *, wind: Wind | None = None, seeds: Sequence[int] = (1,),
) -> np.ndarray:  # fmt: skip
    """Ratios from held flights: the stick it takes over the source stick, NaN where nobody holds.

    The commands of all measured phases are fitted at once: the target's command is the sum of
    the amounts, each weighted by how far its source is out.  A stick that is only kept when it is let go
    counts from where it stood in level flight before.  In calm air what a flap asks for is that of
    steady flight (:func:`flap_ratios`): the pilot is late behind a flap that moves.

    Returns
    -------
    array (planes * gust samples, ratios)
        Plane by plane; one air unless ``seeds`` asks for more.
    """
    scripts = [make_script(m, side, "held") for m in maneuvers if "held" in m.flown for side in sides_of(m)]
    top, bottom = np.zeros((2, len(planes) * len(seeds), len(ratios)))
    if scripts:
        bench = Bench(planes, scripts, ratios, wind=wind, seeds=seeds)
        flights = bench.fly(np.zeros((1, len(ratios))))
        before = [_counts_from(script, bench.starts["sticks"][:, s]) for s, script in enumerate(scripts)]
        for p, s in np.ndindex(len(planes) * len(seeds), len(scripts)):
            f = p * len(scripts) + s
            if not flights.finished[f]:
                continue
            commands = flights.commands[f, : len(scripts[s].measured)]
            added = commands - before[s][p // len(seeds), :, None]
            for i, ratio in enumerate(ratios):
                if ratio.blend in scripts[s].tunes:
                    weight = activity(ratio, commands)
                    top[p, i] += float(np.sum(weight * added[..., NUMBER[ratio.target]]))
                    bottom[p, i] += float(np.sum(weight**2))
    held = np.where(bottom > 1e-6, top / np.maximum(bottom, 1e-6), np.nan)
    if wind is None:
        for i, ratio in enumerate(ratios):
            test = next((script for script in scripts if ratio.blend in script.tunes), None)
            if ratio.source == "flap" and test is not None:
                speed = entry_speed(planes, test, make_air())
                held[:, i] = flap_ratios(planes, ratio, speed=speed, height=test.height)
    return held


def _counts_from(script: Script, level: np.ndarray) -> np.ndarray:
    """Commands that the held ones of each measured phase count from, array (planes, measured, 5).

    ``level``: those of level flight before (planes, 5).
    """
    kept = [
        [getattr(phase.sticks, c) == KEPT_TEST for c in CHANNELS]
        for phase in script.maneuver.phases
        if phase.measured
    ]
    return level[:, None] * np.array(kept)


def flap_ratios(planes: np.ndarray, ratio: Ratio, *, speed: np.ndarray | float, height: float) -> np.ndarray:
    """What full flap adds to a stick in steady level flight at the same speed, array (planes,).

    Parameters
    ----------
    planes : records (n,)
    ratio : Ratio
        From the flap.
    speed : float or array (n,) [m/s]
    height : float [m]

    Returns
    -------
    array (n,)
        NaN where it cannot be flown up and down inside the travel of all sticks.
    """
    speed = np.broadcast_to(speed, planes.shape)[:, None]
    steady = trim_batch(planes, make_air(), speed=speed, height=height, flap=np.array([0.0, 1.0]))
    stick = steady["unknowns"][..., UNKNOWNS.index(ratio.target)]
    return np.where(np.all(steady["reachable"] != 0, axis=1), stick[:, 1] - stick[:, 0], np.nan)


def steady_ratio(plane: np.void, ratio: Ratio, *, speed: float, height: float) -> float:
    """Ratio from steady level flight, in knife-edge or with flaps; NaN if there is none inside the travel."""
    if ratio.source == "flap":
        return float(flap_ratios(np.array([plane]), ratio, speed=speed, height=height)[0])
    if ratio.source != "rudder":
        return math.nan
    side = 1.0 if ratio.side == "right" else -1.0
    steady = trim(plane, make_air(), speed=speed, bank=-0.5 * math.pi * side, height=height)
    rudder = steady.sticks["rudder"]
    if not steady.reachable or rudder * side < 0.02:
        return math.nan
    return steady.sticks[ratio.target] / abs(rudder)


def without_slop(planes: np.ndarray) -> np.ndarray:
    """The same airplanes with ideal servos: a search cannot feel its way through slop and steps.

    What is found is flown again with the servos as they are.
    """
    smooth = planes.copy()
    for channel in ("aileron", "elevator", "rudder", "flap"):
        smooth[f"{channel}_slop"] = smooth[f"{channel}_step"] = 0.0
    return smooth

"""What a pilot holds in a test, over the source that brings it about: the ratio that is needed."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sixdof.flight.blends import Ratio, activity
from sixdof.flight.gusts import Wind
from sixdof.flight.maneuver import KEPT_TEST, policy
from sixdof.flight.mixing import curve
from sixdof.flight.needs import dive_sticks
from sixdof.flight.pilot import FIXED
from sixdof.flight.script import ManeuverFile, Script, make_script, sides_of
from sixdof.flight.speed import entry_speed
from sixdof.flight.steady import UNKNOWNS
from sixdof.flight.trim import trim, trim_batch
from sixdof.physics.air import make_air
from sixdof.physics.channels import CHANNELS, NUMBER
from sixdof.tuning.bench import Bench

__all__ = [
    "dive_ratios",
    "flap_ratios",
    "held_ratios",
    "settles_late",
    "steady_ratio",
    "steady_ratios",
    "without_slop",
]


def held_ratios(
    planes: np.ndarray, maneuvers: Sequence[ManeuverFile], ratios: Sequence[Ratio],
    *, wind: Wind | None = None, seeds: Sequence[int] = (1,),
) -> np.ndarray:  # fmt: skip
    """Ratios from held flights: the stick it takes over the source stick, NaN where nobody holds.

    The commands of all measured phases are fitted at once: the target's command is the sum of
    the amounts, each weighted by how far its source is out.  A stick that is only kept when it is let go
    counts from where it stood in level flight before.  In calm air a test that settles late tells what steady
    flight asks for in it.

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
        level = _commands(planes, bench.starts["sticks"])
        before = [_counts_from(script, level[:, s]) for s, script in enumerate(scripts)]
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
            if test is not None and settles_late(ratio, test.maneuver):
                held[:, i] = steady_ratios(planes, ratio, test.maneuver)
    return held


def settles_late(ratio: Ratio, test: ManeuverFile) -> bool:
    """Whether a test is over before its pilot holds still: flaps that move in level flight, and a dive under a ceiling,
    vertical with closed throttle.  Steady flight tells their elevator, and the free flight confirms it."""
    if ratio.target != "elevator":
        return False
    if ratio.source == "flap":
        return test.stays_level
    return (
        ratio.source == "throttle"
        and ratio.side == "low"
        and all(
            math.sin(after.climb) < -0.999
            and policy(phase.sticks.throttle, "throttle", held=True) == (FIXED, 0.0)
            for _, phase, after in test.path_of_phases()
            if phase.measured
        )
    )


def steady_ratios(planes: np.ndarray, ratio: Ratio, test: ManeuverFile) -> np.ndarray:
    """The ratio that steady flight asks of each plane in a test that settles late, array (planes,); NaN for none."""
    speed = entry_speed(planes, test, make_air())
    return (flap_ratios if ratio.source == "flap" else dive_ratios)(
        planes, ratio, speed=speed, height=test.height
    )


def _commands(planes: np.ndarray, sticks: np.ndarray) -> np.ndarray:
    """Commands of sticks (planes, scripts, 5) after the curve of each."""
    out = sticks.copy()
    for channel in ("aileron", "elevator", "rudder"):
        out[..., NUMBER[channel]] = curve.py_func(
            sticks[..., NUMBER[channel]], planes[f"{channel}_expo"][:, None]
        )
    return out


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


def dive_ratios(planes: np.ndarray, ratio: Ratio, *, speed: np.ndarray | float, height: float) -> np.ndarray:
    """The stick that keeps a vertical dive with closed throttle straight, array (planes,): hardly one of its speed.

    Parameters
    ----------
    planes : records (n,)
    ratio : Ratio
        From the throttle.
    speed : float or array (n,) [m/s]
    height : float [m]

    Returns
    -------
    array (n,)
        NaN where the travel of the sticks does not keep it straight.
    """
    return dive_sticks(planes, speed=speed, height=height)[:, UNKNOWNS.index(ratio.target)]


def steady_ratio(plane: np.void, ratio: Ratio, *, speed: float, height: float) -> float:
    """Ratio from the steady level knife-edge, NaN if there is none inside the travel."""
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

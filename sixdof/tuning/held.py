"""What a pilot holds in a test, over the source that brings it about: the ratio that is needed."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sixdof.flight.blends import Ratio, activity
from sixdof.flight.gusts import Wind
from sixdof.flight.script import ManeuverFile, make_script, sides_of
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air
from sixdof.physics.channels import NUMBER
from sixdof.tuning.bench import Bench

__all__ = ["held_ratios", "steady_ratio", "without_slop"]


def held_ratios(
    planes: np.ndarray, maneuvers: Sequence[ManeuverFile], ratios: Sequence[Ratio],
    *, wind: Wind | None = None, seeds: Sequence[int] = (1,),
) -> np.ndarray:  # fmt: skip
    """Ratios from held flights: the stick it takes over the source stick, NaN where nobody holds.

    The commands of all measured phases are fitted at once: the target's command is the sum of
    the amounts, each weighted by how far its source is out.

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
        for p, s in np.ndindex(len(planes) * len(seeds), len(scripts)):
            f = p * len(scripts) + s
            if not flights.finished[f]:
                continue
            commands = flights.commands[f, : len(scripts[s].measured)]
            for i, ratio in enumerate(ratios):
                if ratio.blend in scripts[s].tunes:
                    weight = activity(ratio, commands)
                    top[p, i] += float(np.sum(weight * commands[..., NUMBER[ratio.target]]))
                    bottom[p, i] += float(np.sum(weight**2))
    return np.where(bottom > 1e-6, top / np.maximum(bottom, 1e-6), np.nan)


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

"""What wind does to the drift one sees, and to the ratio one reads off a single pass."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sixdof.flight.gusts import Wind
from sixdof.flight.script import load_maneuver, make_script, sides_of
from sixdof.tuning.bench import Bench
from sixdof.tuning.deviation import drift
from sixdof.tuning.search import Ratio, held_ratios, without_slop

__all__ = ["Windy", "WindyRatio", "in_wind"]

#: A ratio is worth reading to so much, one standard deviation of the mean: the usual step of a radio.
READ_TO = 0.005


@dataclass(frozen=True)
class Windy:
    """Worst drift of a maneuver to one side over many airs [deg]; NaN where fewer than two flights finished.

    Attributes
    ----------
    name, side : str
    seconds : float
        How long the sticks are let go.
    bare, bare_spread, blended, blended_spread : float
        Mean and standard deviation of its size, of the flights that finished.
    bare_finished, blended_finished : float
        Share of the flights.
    """

    name: str
    side: str
    seconds: float
    bare: float
    bare_spread: float
    bare_finished: float
    blended: float
    blended_spread: float
    blended_finished: float


@dataclass(frozen=True)
class WindyRatio:
    """What one held pass tells of a ratio in wind.

    Attributes
    ----------
    spread : float
        Standard deviation of the ratio over airs, as a share.
    passes : int
        Whose mean is within :data:`READ_TO`, one standard deviation; of the spread as people read it, to 0.1 %.
    """

    spread: float
    passes: int


def in_wind(
    planes: np.ndarray, ratios: Sequence[Ratio], maneuvers: Sequence[str], wind: Wind, seeds: Sequence[int]
) -> tuple[list[Windy], list[WindyRatio | None]]:
    """Fly what was tuned in many airs of a wind.

    Parameters
    ----------
    planes : records (1,)
    ratios : sequence of Ratio
    maneuvers : sequence of str
        Those they were tuned on.
    wind : Wind
    seeds : sequence of int
        An air each; bare and blended meet the same.

    Returns
    -------
    drifts : list of Windy
        By maneuver, then side.
    told : list of WindyRatio or None
        A ratio each; None where no held pass tells it.
    """
    files = [load_maneuver(name) for name in maneuvers]
    unknowns = [r.unknown for r in ratios]
    amounts = np.array([r.amount for r in ratios])
    scripts = [make_script(file, side, "free") for file in files for side in sides_of(file)]
    bench = Bench(planes, scripts, unknowns, wind=wind, seeds=seeds)
    flights = bench.fly(np.stack([0.0 * amounts, amounts]))
    drifts = []
    for s, script in enumerate(scripts):
        found: list[float] = []
        for k in (0, 1):
            mine = [bench.flight(k, s, day=day) for day in range(len(seeds))]
            done = [abs(drift(flights, f, script).degrees) for f in mine if flights.finished[f]]
            few = len(done) < 2
            found += [
                math.nan if few else float(np.mean(done)),
                math.nan if few else float(np.std(done, ddof=1)),
            ]
            found.append(len(done) / len(mine))
        drifts.append(Windy(script.name, script.side, float(script.window.max()), *found))
    told: list[WindyRatio | None] = [None] * len(ratios)
    for file in files:
        mine = [i for i, u in enumerate(unknowns) if u.blend in file.tunes and told[i] is None]
        held = held_ratios(without_slop(planes), [file], [unknowns[i] for i in mine], wind=wind, seeds=seeds)
        for i, column in zip(mine, held.T, strict=True):
            column = column[np.isfinite(column)]
            if len(column) >= 2:
                spread = float(np.std(column, ddof=1))
                told[i] = WindyRatio(spread, max(1, math.ceil((round(1e3 * spread) / (1e3 * READ_TO)) ** 2)))
    return drifts, told

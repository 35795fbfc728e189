"""What wind does to the drift one sees, and to the ratio one reads off a single pass."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sixdof.files.rows import Number, Row
from sixdof.flight.blends import Ratio
from sixdof.flight.gusts import Wind
from sixdof.flight.script import ManeuverFile, make_script, sides_of
from sixdof.tuning.bench import Bench
from sixdof.tuning.deviation import drift, points_lost
from sixdof.tuning.found import FoundRatio
from sixdof.tuning.held import held_ratios, without_slop

__all__ = ["READ_TO", "Windy", "WindyRatio", "in_wind"]

#: A ratio is worth reading to so much, one standard deviation of the mean: the usual step of a radio.
READ_TO = 0.005


class Windy(Row):
    """A maneuver to one side over many samples of gusts: size of the worst drift [deg], mean and standard deviation, and
    points of ten lost, their mean, of the flights that finished; NaN where fewer than two did."""

    name: str
    side: str
    said: str
    seconds: float
    drift_before: Number
    spread_before: Number
    finished_before_percent: float
    drift_after: Number
    spread_after: Number
    finished_after_percent: float
    points_before: Number = math.nan
    points_after: Number = math.nan


class WindyRatio(Row):
    """What one held pass tells of a ratio in wind: its standard deviation, and how many passes to average for half
    a percent."""

    source: str
    target: str
    side: str
    spread_percent: float
    passes: int


def in_wind(
    planes: np.ndarray,
    ratios: Sequence[FoundRatio],
    maneuvers: Sequence[ManeuverFile],
    wind: Wind,
    seeds: Sequence[int],
) -> tuple[list[Windy], list[WindyRatio]]:
    """Fly what was tuned in many samples of the gusts of a wind.

    Parameters
    ----------
    planes : records (1,)
    ratios : sequence of FoundRatio
    maneuvers : sequence of ManeuverFile
        Those they were tuned on.
    wind : Wind
    seeds : sequence of int
        One sample each; bare and blended meet the same.

    Returns
    -------
    drifts : list of Windy
        By maneuver, then side.
    told : list of WindyRatio
        Of the ratios that a held pass tells.
    """
    asked, amounts = [r.ratio for r in ratios], np.array([r.amount for r in ratios])
    scripts = [make_script(m, side, "free") for m in maneuvers for side in sides_of(m)]
    bench = Bench(planes, scripts, asked, wind=wind, seeds=seeds)
    flights = bench.fly(np.stack([0.0 * amounts, amounts]))
    drifts = []
    for s, script in enumerate(scripts):
        found = {}
        for k, when in enumerate(("before", "after")):
            mine = [bench.flight(k, s, day=day) for day in range(len(seeds))]
            mine_done = [f for f in mine if flights.finished[f]]
            done = [abs(drift(flights, f, script).degrees) for f in mine_done]
            few = len(done) < 2
            lost = [points_lost(flights, f, script) for f in mine_done]
            found[f"points_{when}"] = math.nan if few else float(np.mean(lost))
            found[f"drift_{when}"] = math.nan if few else float(np.mean(done))
            found[f"spread_{when}"] = math.nan if few else float(np.std(done, ddof=1))
            found[f"finished_{when}_percent"] = 100.0 * len(done) / len(mine)
        seconds = float(script.window.max())
        drifts.append(Windy(name=script.name, side=script.side, said=script.words, seconds=seconds, **found))
    return drifts, _told(planes, asked, maneuvers, wind, seeds)


def _told(
    planes: np.ndarray,
    ratios: list[Ratio],
    maneuvers: Sequence[ManeuverFile],
    wind: Wind,
    seeds: Sequence[int],
) -> list[WindyRatio]:
    told: dict[Ratio, WindyRatio] = {}
    for maneuver in maneuvers:
        mine = [ratio for ratio in ratios if ratio.blend in maneuver.tunes and ratio not in told]
        held = held_ratios(without_slop(planes), [maneuver], mine, wind=wind, seeds=seeds)
        for ratio, column in zip(mine, held.T, strict=True):
            column = column[np.isfinite(column)]
            if len(column) >= 2:
                spread = float(np.std(column, ddof=1))
                passes = max(
                    1, math.ceil((round(1e3 * spread) / (1e3 * READ_TO)) ** 2)
                )  # as people read it, to 0.1 %
                told[ratio] = WindyRatio(
                    source=ratio.source, target=ratio.target, side=ratio.side,
                    spread_percent=100.0 * spread, passes=passes,
                )  # fmt: skip
    return [told[ratio] for ratio in ratios if ratio in told]

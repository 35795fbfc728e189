"""How far a ratio can be trusted: the same test by many airplanes drawn from the doubt.

What is not known of an airplane (:mod:`sixdof.estimate.doubt`) makes a crowd of airplanes that all
fit its measurements.  Each asks for its own ratio: their spread is the range, how many ask for the
other sign is the chance that the sign is wrong, and the ratio to begin with is the one that serves
them best (:mod:`sixdof.tuning.robust`).  What makes the range: one error at a time.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from sixdof.flight.airplane import Airplane, Drawn
from sixdof.flight.maneuver import KNIFE_EDGE
from sixdof.flight.script import ManeuverFile, make_script, sides_of
from sixdof.tuning.bench import Bench
from sixdof.tuning.found import HALF, RatioDoubt
from sixdof.tuning.held import held_ratios, settles_late, steady_ratios, without_slop
from sixdof.tuning.robust import SIDES, TARGETS, crowd_of, knife_edge_ratios
from sixdof.tuning.search import SLOPE_STEP, Sought

__all__ = ["AIRPLANES", "Chosen", "choose"]

#: Airplanes drawn.
AIRPLANES = 200
#: The range holds so many of ten.
WITHIN = 0.8
#: Chance of the other sign above which nobody should dial a ratio in before flying bare.
FLY_BARE_ABOVE = 0.05
#: Errors named as the reason of a range: those with more than this share of its variance.
_NAMED = 0.10
#: Fewer airplanes tell nothing.
_FEW = 10


class Chosen(NamedTuple):
    """Ratios to begin with, and how sure they are; array (ratios,) and a row each, None where too few airplanes tell."""

    amounts: np.ndarray
    doubts: list[RatioDoubt | None]


def choose(airplane: Airplane, drawn: Drawn | None, sought: Sought) -> Chosen:
    """The ratios to begin with of some that belong together.

    Those of knife-edge serve all drawn airplanes best, the others are those of the airplane itself.  None
    (zero) where no flight tells, where the other sign is likelier, or where less than half can fly the test.

    Parameters
    ----------
    airplane : Airplane
    drawn : Drawn, optional
        Of :meth:`sixdof.flight.airplane.Airplane.drawn`; without it the airplane itself is taken at its word.
    sought : Sought
    """
    amounts = np.where(sought.tested, sought.exact, 0.0)
    doubts: list[RatioDoubt | None] = [None] * len(amounts)
    if drawn is None or not len(drawn.planes):
        return Chosen(amounts, doubts)
    crowd = len(drawn.planes)
    one_by_one, flies = airplane.one_error_at_a_time()
    needed, used = _needed(np.concatenate((drawn.planes, one_by_one)), sought)
    moved = np.full((len(flies), len(amounts)), np.nan)
    moved[flies] = (needed * used)[crowd:]
    moves = np.nan_to_num(0.5 * (moved[: len(flies) // 2] - moved[len(flies) // 2 :]))
    level = _level(sought)
    known = None if level is None else crowd_of(drawn.planes, level)
    best = np.full((2, 2), np.nan) if known is None else known.best()
    for i, ratio in enumerate(sought.ratios):
        mine, helps = needed[:crowd, i], np.nan
        told = np.isfinite(mine)
        if not sought.tested[i] or told.sum() < _FEW:
            continue
        if known is not None and ratio.source == "rudder" and ratio.target in TARGETS:
            side, target = SIDES.index(ratio.side), TARGETS.index(ratio.target)
            amounts[i] = best[side, target]
            helps = 100.0 * float(known.helped(best)[side])
        doubts[i] = row = RatioDoubt(
            target=ratio.target,
            **_range("", mine[told]),
            **_range("used_", (mine * used[:crowd, i])[told]),
            other_sign_percent=100.0 * float(np.mean(mine[told] * amounts[i] < 0.0))
            if amounts[i]
            else np.nan,
            airplanes=int(told.sum()),
            cannot_percent=100.0 * float(np.mean(~told)),
            helps_percent=helps,
            because=_causes(moves[:, i], airplane.errors),
        )
        if max(row.other_sign_percent, row.cannot_percent) > HALF:
            amounts[i] = 0.0
    return Chosen(amounts, doubts)


def _level(sought: Sought) -> ManeuverFile | None:
    """The level knife-edge that judges both blends of the rudder."""
    both = {f"rudder-{target}" for target in TARGETS}
    held = (m for m in sought.maneuvers if m.part == KNIFE_EDGE and "held" in m.flown)
    return next((m for m in held if both <= set(m.tunes)), None)


def _needed(planes: np.ndarray, sought: Sought) -> tuple[np.ndarray, np.ndarray]:
    """Ratios that airplanes need, NaN where they cannot fly the test, and how far the source is out there, shares.

    Of knife-edge, flaps and the dive by steady flight; else by held flights, laid about what was found; where a test is never
    held by one Gauss-Newton step from that.

    Returns
    -------
    needed, used : array (planes, ratios)
    """
    planes = without_slop(planes)
    needed, used = np.full((2, len(planes), len(sought.ratios)), np.nan)
    used[:] = 1.0
    level = _level(sought)
    for blend in dict.fromkeys(ratio.blend for ratio in sought.ratios):
        mine = [i for i, ratio in enumerate(sought.ratios) if ratio.blend == blend]
        asked = [sought.ratios[i] for i in mine]
        test = next((m for m in sought.maneuvers if blend in m.tunes and "held" in m.flown), None)
        if level is not None and asked[0].source == "rudder" and asked[0].target in TARGETS:
            needed[:, mine], used[:, mine] = knife_edge_ratios(planes, level, asked)
        elif test is not None and all(settles_late(ratio, test) for ratio in asked):
            needed[:, mine] = np.stack([steady_ratios(planes, ratio, test) for ratio in asked], axis=1)
        elif test is not None:
            shift = (sought.exact - sought.held)[mine]
            needed[:, mine] = held_ratios(planes, [test], asked) + np.nan_to_num(shift)
        else:
            test = next(m for m in sought.maneuvers if blend in m.tunes)
            scripts = [make_script(test, side, "free") for side in sides_of(test)]
            needed[:, mine] = _one_step(Bench(planes, scripts, asked), sought.exact[mine])
    return needed, used


def _one_step(bench: Bench, found: np.ndarray) -> np.ndarray:
    """Ratios (planes, unknowns) that a Gauss-Newton step makes of what was found for the typical airplane."""
    n = len(found)
    rows = np.concatenate((found[None], found + SLOPE_STEP * np.eye(n), found - SLOPE_STEP * np.eye(n)))
    flights = bench.fly(rows)
    out = np.full((len(bench.planes), n), np.nan)
    for p in range(len(bench.planes)):
        errors = [bench.residuals(flights, k, 1.0, plane=p) for k in range(len(rows))]
        slope = np.stack(errors[1 : n + 1], axis=1) - np.stack(errors[n + 1 :], axis=1)
        if bench.finished(flights, p):
            out[p] = found - np.linalg.lstsq(slope / (2.0 * SLOPE_STEP), errors[0], rcond=None)[0]
    return out


def _range(name: str, needed: np.ndarray) -> dict[str, float]:
    low, high = 100.0 * np.quantile(needed, [0.5 - 0.5 * WITHIN, 0.5 + 0.5 * WITHIN])
    return {f"{name}low_percent": float(low), f"{name}high_percent": float(high)}


def _causes(moves: np.ndarray, names: Sequence[str]) -> dict[str, float]:
    """The errors that move a ratio most, with their share of all that they move, squared."""
    share = moves**2 / max(float(np.sum(moves**2)), 1e-30)
    most = [i for i in np.argsort(-share, kind="stable")[:3] if share[i] > _NAMED]
    return {names[i]: float(share[i]) for i in most}

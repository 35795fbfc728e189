"""How far a ratio can be trusted: the same test flown by many airplanes drawn from the doubt.

What is not known of an airplane (:mod:`sixdof.estimate.doubt`) makes a crowd of airplanes that all
fit its measurements.  Each flies the held test, each asks for its own ratio: their spread is the
range, and how many ask for the other sign is the chance that the sign is wrong.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sixdof.flight.airplane import Drawn
from sixdof.flight.script import ManeuverFile, make_script, sides_of
from sixdof.tuning.bench import Bench
from sixdof.tuning.found import FoundRatio, RatioDoubt
from sixdof.tuning.held import held_ratios, without_slop
from sixdof.tuning.search import SLOPE_STEP

__all__ = ["AIRPLANES", "doubt_of"]

#: Airplanes drawn.
AIRPLANES = 200
#: The range holds so many of ten.
WITHIN = 0.8
#: Chance of the other sign above which nobody should dial a ratio in before flying bare.
FLY_BARE_ABOVE = 0.05
#: Errors named as the reason of a range: those with more than this share of its variance.
_NAMED = 0.15


def doubt_of(
    drawn: Drawn, ratios: Sequence[FoundRatio], maneuvers: Sequence[ManeuverFile]
) -> list[RatioDoubt | None]:
    """Doubt of ratios that were found.

    Parameters
    ----------
    drawn : Drawn
        Of :func:`sixdof.flight.airplane.Airplane.drawn`.
    ratios : sequence of FoundRatio
    maneuvers : sequence of ManeuverFile
        They were tuned on.

    Returns
    -------
    list of RatioDoubt or None
        None where fewer than ten airplanes flew the test.

    Notes
    -----
    The spread is that of the drawn airplanes' ratios, laid about the one that was found.  Where a test
    is never held, each airplane takes one Gauss-Newton step from the ratio that was found.
    """
    if not len(drawn.planes):
        return [None] * len(ratios)
    planes = without_slop(drawn.planes)
    needed = np.full((len(planes), len(ratios)), np.nan)
    shift = np.zeros(len(ratios))
    for blend in dict.fromkeys(r.ratio.blend for r in ratios):
        mine = [i for i, r in enumerate(ratios) if r.ratio.blend == blend]
        test = next((m for m in maneuvers if blend in m.tunes and "held" in m.flown), None)
        if test is not None:
            asked = [r.ratio for r in ratios if r.ratio.blend in test.tunes]
            held = held_ratios(planes, [test], asked)
            for i in mine:
                needed[:, i] = held[:, asked.index(ratios[i].ratio)]
                shift[i] = (ratios[i].exact_percent - ratios[i].held_percent) / 100.0
        else:
            test = next(m for m in maneuvers if blend in m.tunes)
            scripts = [make_script(test, side, "free") for side in sides_of(test)]
            found = np.array([ratios[i].exact_percent / 100.0 for i in mine])
            needed[:, mine] = _one_step(Bench(planes, scripts, [ratios[i].ratio for i in mine]), found)
    return [_spread(needed[:, i] + shift[i], r, drawn) for i, r in enumerate(ratios)]


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


def _spread(needed: np.ndarray, found: FoundRatio, drawn: Drawn) -> RatioDoubt | None:
    flew = np.isfinite(needed)
    if flew.sum() < 10:
        return None
    needed = needed[flew]
    low, high = np.quantile(needed, [0.5 - 0.5 * WITHIN, 0.5 + 0.5 * WITHIN])
    other = float(np.mean(needed * found.amount < 0.0)) if found.amount else np.nan
    share = np.array([_explained(column, needed) for column in drawn.errors[flew].T])
    most = [i for i in np.argsort(-share, kind="stable")[:3] if share[i] > _NAMED]
    return RatioDoubt(
        target=found.target, low_percent=100.0 * low, high_percent=100.0 * high, other_sign_percent=100.0 * other,
        airplanes=int(flew.sum()), because={drawn.names[i]: float(share[i]) for i in most},
    )  # fmt: skip


def _explained(error: np.ndarray, needed: np.ndarray) -> float:
    """Share of the variance that goes with one error: correlation squared."""
    if np.std(error) == 0.0 or np.std(needed) == 0.0:
        return 0.0
    return float(np.corrcoef(error, needed)[0, 1] ** 2)

"""A ratio over a band, speeds, throttles, rudders, changes and wind at once: what is best at each place, what one for all
leaves, and whether a line, a gate or a curve leaves so much less that anyone sees it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import product
from typing import NamedTuple

import numpy as np
from pydantic import Field

from sixdof.airframe.blends import SIDES, THROTTLE_BAND, BlendSpec
from sixdof.files.errors import InputError
from sixdof.files.rows import Number, Row
from sixdof.flight.script import ManeuverFile
from sixdof.physics.channels import NUMBER
from sixdof.tuning.axes import Axis
from sixdof.tuning.explore import Grid, fly_grid
from sixdof.tuning.found import SEEN

__all__ = ["Band", "BandRow", "Shape", "band", "earns"]

#: A gate for a stick that centers: nothing is added up to here, share of full.
_GATE = 0.25
#: Usual step of a radio's ratios, share.
_STEP = 0.005
#: Price of an amount against what it leaves, deg a share: of shapes that leave as much the flattest.
_PRICE = 0.1
#: What the worst of each side counts beside the worst of all.
_EACH = 0.1
#: What is added everywhere to see what it does, share of the target; how often numbers are found again.
_PROBE, _ROUNDS = 0.01, 3


class BandRow(Row):
    """One place of the band, to one side: the ratio that leaves nothing there, what the one for all leaves [deg].

    NaN where no setting in the range leaves nothing, or a flight did not finish.  ``used_percent``: where the source of the
    blend stands; ``at``: name -> value as people read it (of a wind the number of its gust sample, 0 for calm air).
    """

    place: str
    side: str
    best_percent: Number
    left: Number
    used_percent: Number = math.nan
    at: dict[str, float] = Field(default_factory=dict)


class Shape(Row):
    """A blend of some shape, fitted to the whole band and flown all over it.

    Attributes
    ----------
    name : str
        "no blend", "one ratio", "V", "straight line", "a ratio each side", "gate", "curve".
    numbers : int
        How many numbers it takes in the radio.
    points : list of tuple of float
        Position of the source, what is added [%].
    left : float [deg]
        The worst drift of all that finished.
    unfinished : int
        Flights that did not.
    """

    name: str
    numbers: int
    points: list[tuple[float, float]]
    left: Number
    unfinished: int


class Band(Row):
    """A ratio over a band of something else.

    Attributes
    ----------
    over : str
        Names of what is moved, "speed, wind".
    said : str
        From where to where.
    one_percent : dict of str to float
        Side -> the ratio that leaves least over the whole band; NaN where none finishes everywhere.
    rows : list of BandRow
        By side, then place.
    shapes : list of Shape
        From nothing to a curve.
    flights : int
    """

    over: str
    one_percent: dict[str, Number]
    rows: list[BandRow]
    said: str = ""
    shapes: list[Shape] = Field(default_factory=list)
    flights: int = 0


def earns(shapes: Sequence[Shape]) -> Shape:
    """The simplest shape than which none is better by so much that anyone sees it.

    One is, if it takes 5 deg more off, or what is seen with the simpler one to below that by half as much; or if more of its
    flights finish.
    """
    best = shapes[0]
    for shape in shapes[1:]:
        gain = best.left - shape.left
        unseen = shape.left < SEEN <= best.left and gain >= 0.5 * SEEN
        if (shape.unfinished, 0.0) < (best.unfinished, 0.0) or (
            shape.unfinished == best.unfinished and (gain >= SEEN or unseen)
        ):
            best = shape
    return best


def band(
    planes: np.ndarray,
    maneuver: ManeuverFile,
    vary: Axis,
    overs: Sequence[Axis],
    *,
    beside: Sequence[BlendSpec] = (),
) -> Band:
    """Fly a maneuver with every amount of a ratio at every place of some axes at once.

    Parameters
    ----------
    planes : records (n,)
        From :func:`sixdof.tuning.explore.planes_over`.
    maneuver : ManeuverFile
    vary : Axis
        One ratio, or those of all sides of a blend.
    overs : sequence of Axis
    beside : sequence of BlendSpec
        Blends that are on all the time; no other is.

    Raises
    ------
    InputError
        As :func:`sixdof.tuning.explore.fly_grid`; or it is no ratio that varies.
    """
    if not vary.ratios:
        raise InputError(
            f"--over goes with a ratio to vary; of {vary.name} and another draw a map, --vary twice"
        )
    grid = fly_grid(planes, maneuver, [vary, *overs], beside=beside)
    acting, amounts = grid.acting, np.array(vary.values)
    value = grid.drifts()[0].reshape(len(amounts), -1, len(grid.scripts))[..., acting]
    used = _used(grid, vary)[..., acting]
    shapes, fitted = _shapes(grid, vary, used)
    rows, one = [], {}
    places = list(product(*(range(len(axis.values)) for axis in overs)))
    for k, s in enumerate(acting):
        side, drift = grid.scripts[s].side, value[..., k]
        worst = [float(np.max(np.abs(row))) for row in drift]  # NaN where a flight did not finish
        tried = [
            (size, float(a), row)
            for size, a, row in zip(worst, amounts, drift, strict=True)
            if math.isfinite(size)
        ]
        if np.isfinite(fitted.drift[:, k]).all():
            tried.append((float(np.max(np.abs(fitted.drift[:, k]))), fitted.amount(k), fitted.drift[:, k]))
        _, amount, left = min(
            tried, key=lambda row: row[0], default=(0.0, math.nan, np.full(len(places), np.nan))
        )
        one[side] = 100.0 * amount
        for number, place in enumerate(places):
            rows.append(
                BandRow(
                    place=", ".join(axis.words(axis.values[i]) for axis, i in zip(overs, place, strict=True)), side=side,
                    best_percent=100.0 * _zero(amounts, drift[:, number]), left=float(left[number]),
                    used_percent=100.0 * abs(float(used[number, k])),
                    at={axis.name: axis.shown[i] for axis, i in zip(overs, place, strict=True)},
                )
            )  # fmt: skip
    flown = grid.number.size + (3 + _ROUNDS * len(shapes)) * grid.number[0].size
    return Band(
        over=", ".join(axis.name for axis in overs), said=", ".join(axis.span for axis in overs),
        one_percent=one, rows=rows, shapes=shapes, flights=flown,
    )  # fmt: skip


def _used(grid: Grid, vary: Axis) -> np.ndarray:
    """Where the source of a blend stands at each place and side, mean of the measured phases, array (places, sides)."""
    m = len(grid.scripts[0].measured)
    at = grid.flights.commands[grid.number[len(vary.values) // 2]][..., :m, :, NUMBER[vary.ratios[0].source]]
    return at.mean(axis=(-1, -2)).reshape(-1, len(grid.scripts))


def _zero(amounts: np.ndarray, drift: np.ndarray) -> float:
    """Amount at which a drift passes through nothing, between two that were flown; NaN where it does not."""
    for i in range(len(drift) - 1):
        a, b = drift[i], drift[i + 1]
        if a == 0.0 or a * b < 0.0:
            return float(amounts[i] + (amounts[i + 1] - amounts[i]) * (a / (a - b) if a != b else 0.0))
    return float(amounts[-1]) if len(drift) and drift[-1] == 0.0 else math.nan


# ---------------------------------------------------------------- lines, gates and curves


def _forms(vary: Axis) -> list[tuple[str, np.ndarray, np.ndarray]]:
    """Shapes of a blend, the simplest first: name, positions of the source (n,), amounts there by its numbers (n, numbers)."""
    source, sides = vary.ratios[0].source, [ratio.side for ratio in vary.ratios]
    ends = SIDES[source]
    if source == "throttle":  # gated at an end first: a straight line spoils level flight
        low = ends[sides[0]] == 0.0
        at = np.array([0.0, THROTTLE_BAND, 0.5, 1.0])
        forms = [
            ("gate", at, np.array([[1.0], [0.0], [0.0], [0.0]])),
            ("straight line", at, np.array([[1.0], [1.0 - THROTTLE_BAND], [0.5], [0.0]])),
            ("curve", at, np.array([[1.0, 0, 0], [0, 1.0, 0], [0, 0, 1.0], [0, 0, 0]])),
        ]
        return forms if low else [(name, 1.0 - at[::-1], by[::-1]) for name, at, by in forms]
    if source == "flap":
        at = np.array([0.0, _GATE, 0.5, 1.0])
        return [
            ("straight line", at, at[:, None]),
            ("gate", at, np.array([[0.0], [0.0], [(0.5 - _GATE) / (1.0 - _GATE)], [1.0]])),
            ("curve", at, np.array([[0.0, 0], [0.5, 0], [1.0, 0], [0, 1.0]])),
        ]
    at = np.array([-1.0, -0.5, -_GATE, 0.0, _GATE, 0.5, 1.0])
    each = np.stack([np.maximum(np.sign(ends[side]) * at, 0.0) for side in sides], axis=1)
    beyond = np.maximum(each - _GATE, 0.0) / (1.0 - _GATE)
    hats = np.stack(
        [np.interp(each, [0.0, 0.5, 1.0], hat) for hat in ([0.0, 1.0, 0.0], [0.0, 0.0, 1.0])], axis=-1
    )
    forms = [("one ratio", at, each)] if len(sides) == 1 else [
        ("V", at, each.sum(axis=1, keepdims=True)), ("straight line", at, (each * np.sign([ends[s] for s in sides])).sum(axis=1, keepdims=True)),
        ("a ratio each side", at, each),
    ]  # fmt: skip
    return [*forms, ("gate", at, beyond), ("curve", at, hats.reshape(len(at), -1))]


class _Fitted(NamedTuple):
    """A shape as it was fitted: its numbers, and the drift it leaves, array (places, sides) [deg]."""

    numbers: np.ndarray
    drift: np.ndarray

    def amount(self, side: int) -> float:
        """Of a shape with a number a side, or one for all."""
        return float(self.numbers[min(side, len(self.numbers) - 1)])

    @property
    def worth(self) -> tuple[int, float]:
        """Flights that did not finish; the worst drift, and a little of the worst of each side."""
        size = np.nan_to_num(np.abs(self.drift))
        return int(np.isnan(self.drift).sum()), float(size.max() + _EACH * size.max(axis=0).sum())


def _shapes(grid: Grid, vary: Axis, used: np.ndarray) -> tuple[list[Shape], _Fitted]:
    """Each shape with the numbers that leave least at the worst place, flown at all of them; and that which is the ratios.

    What a share of the target does at each place is found by adding it everywhere; with these slopes the numbers are
    found again from what was flown with the last ones, and the best that was flown is kept.

    Parameters
    ----------
    used : array (places, sides)
        Where the source stands.
    """
    source, most = vary.ratios[0].source, max(abs(vary.values[0]), abs(vary.values[-1]))
    ends = np.array([min(SIDES[source].values()), max(SIDES[source].values())])
    forms = [("no blend", ends, np.zeros((2, 0))), *_forms(vary)]
    added = np.array([0.0, _PROBE, -_PROBE])
    slope, bare = _lines(added, _fly(grid, vary, [(ends, np.full(2, amount)) for amount in added.tolist()]))
    gains = [
        slope[..., None] * np.stack([np.interp(used, at, column) for column in by.T], axis=-1)
        if by.shape[1] else np.zeros((*slope.shape, 0)) for _, at, by in forms
    ]  # fmt: skip
    straight = [bare] * len(forms)  # drift of each place where the numbers add nothing
    best: list[_Fitted] = []
    for _ in range(_ROUNDS):
        numbers = [
            _STEP * np.round(_least(d, gain, most) / _STEP) for d, gain in zip(straight, gains, strict=True)
        ]
        flown = _fly(grid, vary, [(at, by @ a) for (_, at, by), a in zip(forms, numbers, strict=True)])
        now = [_Fitted(a, drift) for a, drift in zip(numbers, flown, strict=True)]
        best = [min(pair, key=lambda fitted: fitted.worth) for pair in zip(best or now, now, strict=True)]
        straight = [
            np.where(np.isfinite(drift), drift - gain @ a, before)
            for (a, drift), gain, before in zip(now, gains, straight, strict=True)
        ]
    shapes = [
        Shape(
            name=name, numbers=by.shape[1], points=_corners(at, by @ fitted.numbers), unfinished=fitted.worth[0],
            left=float(np.nanmax(np.abs(fitted.drift))) if np.isfinite(fitted.drift).any() else math.nan,
        )
        for (name, at, by), fitted in zip(forms, best, strict=True)
    ]  # fmt: skip
    own = {"throttle": "gate", "flap": "straight line"}.get(
        source, "one ratio" if len(vary.ratios) == 1 else "a ratio each side"
    )
    return shapes, best[[shape.name for shape in shapes].index(own)]


def _corners(at: np.ndarray, by: np.ndarray) -> list[tuple[float, float]]:
    """Points [%] of a curve that it needs: its ends and where it bends; none of one that adds nothing."""
    if not by.any():
        return []
    bends = [
        i for i in range(1, len(at) - 1)
        if abs(np.interp(at[i], at[[i - 1, i + 1]], by[[i - 1, i + 1]]) - by[i]) > 1e-9
    ]  # fmt: skip
    return [(100.0 * float(at[i]), round(100.0 * float(by[i]), 6)) for i in (0, *bends, len(at) - 1)]


def _fly(grid: Grid, vary: Axis, curves: Sequence[tuple[np.ndarray, np.ndarray]]) -> np.ndarray:
    """Drift [deg] of every place with each curve, positions and amounts; array (curves, places, sides that count)."""
    source, target = vary.ratios[0].source, vary.ratios[0].target
    specs = [
        BlendSpec(
            source=source, target=target, points=tuple(zip(at.tolist(), by.tolist(), strict=True)), ramp=0.0
        )
        for at, by in curves
    ]
    flights, number = grid.fly([[spec] for spec in specs])
    return grid.drifts(flights, number)[0][..., grid.acting]


def _lines(added: np.ndarray, drift: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """What a share that is added does at each place, and the drift without any, from flights with some.

    Parameters
    ----------
    added : array (n,)
    drift : array (n, places, sides)
        NaN where one did not finish.

    Returns
    -------
    slope, bare : array (places, sides)
        Where fewer than two finished, the slope is that of the others in the middle; where none did, bare is zero.
    """
    slope, bare = np.full(drift.shape[1:], np.nan), np.zeros(drift.shape[1:])
    for place in np.ndindex(slope.shape):
        d = drift[:, *place]
        if np.isfinite(d).sum() >= 2:
            slope[place] = np.polyfit(added[np.isfinite(d)], d[np.isfinite(d)], 1)[0]
    known = slope[np.isfinite(slope)]
    slope = np.where(np.isfinite(slope), slope, np.median(known) if known.size else 0.0)
    for place in np.ndindex(slope.shape):
        d = drift[:, *place]
        if np.isfinite(d).any():
            bare[place] = np.nanmean(d - slope[place] * added)
    return slope, bare


def _least(bare: np.ndarray, gain: np.ndarray, most: float) -> np.ndarray:
    """Numbers a within ``most`` that leave least of ``bare + gain @ a`` where it is largest: a linear program.

    Beside that a little of what is largest on each side counts, and of the numbers.

    Parameters
    ----------
    bare : array (places, sides) [deg]
    gain : array (places, sides, n)
    """
    from scipy.optimize import linprog  # takes a moment to import

    places, sides, n = gain.shape
    if not n:
        return np.zeros(0)
    G, d = gain.reshape(-1, n), bare.ravel()
    own = np.tile(np.eye(sides), (places, 1))  # what is largest on the side of each row
    none = np.zeros((len(d), n))
    A = np.vstack([
        np.hstack([G, none, -own, np.zeros((len(d), 1))]), np.hstack([-G, none, -own, np.zeros((len(d), 1))]),
        np.hstack([np.zeros((sides, 2 * n)), np.eye(sides), -np.ones((sides, 1))]),
        np.hstack([np.eye(n), -np.eye(n), np.zeros((n, sides + 1))]), np.hstack([-np.eye(n), -np.eye(n), np.zeros((n, sides + 1))]),
    ])  # fmt: skip
    b = np.concatenate([-d, d, np.zeros(sides + 2 * n)])
    cost = np.concatenate([np.zeros(n), np.full(n, _PRICE), np.full(sides, _EACH), [1.0]])
    found = linprog(cost, A, b, bounds=[(-most, most)] * n + [(0.0, None)] * (n + sides + 1))
    return np.zeros(n) if found.x is None else np.array(found.x[:n])

"""What a change of the airframe does to what blends would have to cure, and which few changes do most.

Every changed airplane is estimated anew and trimmed again at the same cruise: a change that is not
trimmed again is just down trim in disguise.  All of them fly bare, in two batches: held knife-edges, and
free flights.  Servos are ideal, so that a small change is not lost in slop and steps.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from itertools import combinations
from typing import Any, cast

import numpy as np
from scipy.optimize import lsq_linear

from sixdof.airframe.changes import CHANGES, change_text, change_words, usual_step
from sixdof.files.errors import InputError
from sixdof.files.rows import Number, Row
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import ratios_of
from sixdof.flight.fly import Flights
from sixdof.flight.maneuver import DIFFERENTIAL, DIVE, KNIFE_EDGE
from sixdof.flight.pack import static_margin
from sixdof.flight.script import ManeuverFile, make_script, sides_of
from sixdof.tuning.bench import Bench
from sixdof.tuning.causes import step_of
from sixdof.tuning.deviation import drift, points_lost
from sixdof.tuning.held import held_ratios, without_slop
from sixdof.tuning.split import constant_part

__all__ = ["BestSet", "Variant", "best_set", "bounds", "steps_over", "usual_changes", "variants"]

#: Parts of the trimming sequence whose maneuvers are flown free; the first also held.
FLOWN = (KNIFE_EDGE, DIVE, DIFFERENTIAL)
RATIOS = tuple(ratios_of(["rudder-elevator", "rudder-aileron"]))
#: What a set of changes may be made of, what can be done to a built airplane, and how many usual steps of each at
#: most (common practice, no source).
CANDIDATES = {"cg": 3.0, "wing-incidence": 3.0, "tailplane-incidence": 3.0, "down-thrust": 3.0}
#: Most changes in a set.
MOST_CHANGES = 3
#: Least static margin that a set may leave; what is liked is about 2 to 3 % (common practice, no source).
LEAST_MARGIN = 0.02
#: Down-thrust that is usual [rad]; common practice, no source.
USUAL_DOWN_THRUST = (0.0, math.radians(3.0))
#: One unit of what is left: a constant part of 1 %, and a dive of 5 deg, below which nobody sees it.
CONSTANT_UNIT, DIVE_UNIT = 1.0, 5.0
#: Price of a step (squared) and of a change being made at all, shares of what is there now (squared): few and
#: small ones, each worth its work.
STEP_PRICE, CHANGE_PRICE = 0.01, 0.05

Progress = Callable[[float, str], None]
Changes = Mapping[str, float]


class Variant(Row):
    """An airplane with some changes, re-trimmed and bare: what is left for blends.

    Attributes
    ----------
    changes : list of str
        As people write them; empty for the airplane as it is.
    words : str
    trouble : str
        Why it could not be flown; then all numbers are NaN.
    elevator_right, elevator_left, aileron_right, aileron_left : float [%]
        Held over the rudder in knife-edge, + up and right.
    constant : float [%]
        Constant part of the knife-edge elevator.
    dive : float [deg]
        Toward canopy over the window of the power-off dive.
    adverse : float [deg]
        Sideslip in the roll reversal against the roll, mean of both ways.
    trim_aileron, trim_elevator, trim_rudder : float [%]
    static_margin : float [%]
        Power off, of the mean chord.
    points : float
        Points of ten that the free flights lose, by the published step of one per 15 deg; those that did
        not finish are left out, their number is ``unfinished``.
    """

    changes: list[str]
    words: str
    trouble: str = ""
    elevator_right: Number = math.nan
    elevator_left: Number = math.nan
    aileron_right: Number = math.nan
    aileron_left: Number = math.nan
    constant: Number = math.nan
    dive: Number = math.nan
    adverse: Number = math.nan
    trim_aileron: Number = math.nan
    trim_elevator: Number = math.nan
    trim_rudder: Number = math.nan
    static_margin: Number = math.nan
    points: Number = math.nan
    unfinished: int = 0

    @property
    def ratios(self) -> np.ndarray:
        """The four held ratios [%], in the order of :data:`RATIOS`."""
        return np.array([self.elevator_right, self.elevator_left, self.aileron_right, self.aileron_left])


class BestSet(Variant):
    """The few changes that bring the constant part and the dive to least, flown, and what the partials had promised."""

    expected_constant: Number
    expected_dive: Number


def usual_changes(airplane: Airplane) -> list[Changes]:
    """One usual step each way of every change: name -> signed amount [SI]."""
    return [{name: sign * usual_step(name, airplane.airframe)} for name in CHANGES for sign in (1.0, -1.0)]


def steps_over(name: str, airplane: Airplane, *, most: int = 4) -> list[Changes]:
    """One change from ``-most`` to ``most`` usual steps, without the middle."""
    step = usual_step(name, airplane.airframe)
    return [{name: k * step} for k in range(-most, most + 1) if k]


def variants(
    airplane: Airplane,
    sets: Sequence[Changes],
    flown: Sequence[ManeuverFile],
    *,
    progress: Progress = lambda share, text: None,
) -> list[Variant]:
    """Fly an airplane with each set of changes.

    Parameters
    ----------
    airplane : Airplane
    sets : sequence of mapping
        Name -> signed amount [SI]; an empty one is the airplane as it is.
    flown : sequence of ManeuverFile
        One of each part in :data:`FLOWN`, in that order.
    progress : callable

    Returns
    -------
    list of Variant
        In the order of ``sets``.
    """
    planes, trouble = [], []
    for k, amounts in enumerate(sets):
        progress(0.8 * k / len(sets), f"estimating and trimming, {k + 1} of {len(sets)}")
        try:
            planes.append(airplane.changed(amounts).plane)
            trouble.append("")
        except InputError as error:
            trouble.append(str(error))
    progress(0.8, "flying")
    numbers = iter(_fly(without_slop(np.array(planes)), flown) if planes else [])
    return [
        Variant(
            changes=[change_text(*change) for change in amounts.items()],
            words=", ".join(change_words(*change) for change in amounts.items()) or "as it is",
            trouble=why, **cast(dict[str, Any], {} if why else next(numbers)),
        )
        for amounts, why in zip(sets, trouble, strict=True)
    ]  # fmt: skip


def _fly(planes: np.ndarray, flown: Sequence[ManeuverFile]) -> list[dict[str, float]]:
    """The numbers of a :class:`Variant` for each plane."""
    held = held_ratios(planes, flown[:1], RATIOS)
    scripts = [make_script(maneuver, side, "free") for maneuver in flown for side in sides_of(maneuver)]
    bench = Bench(planes, scripts, RATIOS)
    flights = bench.fly(np.zeros((1, len(RATIOS))))
    found = []
    for p, (plane, margin) in enumerate(zip(planes, static_margin(planes), strict=True)):
        names = [f"{ratio.target}_{ratio.side}" for ratio in RATIOS]
        trims = {
            f"trim_{name}": 100.0 * float(plane[f"{name}_trim"]) for name in ("aileron", "elevator", "rudder")
        }
        found.append(
            dict(zip(names, (100.0 * held[p]).tolist(), strict=True)) | trims | _free(bench, flights, p)
            | {"constant": 100.0 * float(constant_part(plane, "elevator")), "static_margin": 100.0 * float(margin)}
        )  # fmt: skip
    return found


def _free(bench: Bench, flights: Flights, p: int) -> dict[str, float]:
    """Dive, adverse yaw and points lost of the free flights of plane p that finished."""
    dive, adverse, points = math.nan, [], []
    for s, script in enumerate(bench.scripts):
        f = bench.flight(0, s, plane=p)
        if not flights.finished[f]:
            continue
        points.append(points_lost(flights, f, script))
        if script.maneuver.part == DIVE:
            dive = drift(flights, f, script, only=("canopy",)).degrees
        elif script.maneuver.part == DIFFERENTIAL:
            nose_left = drift(flights, f, script, only=("sideslip",)).degrees
            adverse.append(nose_left if script.side == "right" else -nose_left)
    return {
        "dive": dive,
        "adverse": float(np.mean(adverse)) if adverse else math.nan,
        "points": sum(points) if points else math.nan,
        "unfinished": len(bench.scripts) - len(points),
    }


def best_set(
    airplane: Airplane, now: Variant, steps: Sequence[tuple[Changes, Variant]], flown: Sequence[ManeuverFile]
) -> BestSet:
    """The few changes that bring the knife-edge elevator's constant part and the dive to least.

    Bounded least squares on the partials of the flown steps, for every choice of up to three changes; each
    has a price.  The amounts are rounded to half steps, and the set is flown.

    Parameters
    ----------
    airplane : Airplane
    now : Variant
        The airplane as it is.
    steps : sequence of (mapping, Variant)
        One usual step each way of every change, from :func:`usual_changes`.
    flown : sequence of ManeuverFile
    """
    partials, limits = _partials(airplane, now, steps)
    left = _left(now)
    known = np.isfinite(left)
    if not known.any():
        return _best(now, np.array([now.constant, now.dive]))
    left = np.where(known, left, 0.0)
    best: tuple[dict[str, float], np.ndarray] = {}, left
    whole = least = float(left @ left)
    for names in (c for k in range(1, MOST_CHANGES + 1) for c in combinations(partials, k)):
        A = np.stack([partials[name] for name in names], axis=1)
        low, high = np.array([limits[name] for name in names]).T
        priced = np.concatenate([A, math.sqrt(STEP_PRICE * whole) * np.eye(len(names))])
        x = lsq_linear(priced, np.concatenate([-left, np.zeros(len(names))]), (low, high)).x
        x = np.clip(np.round(2.0 * x) / 2.0, low, high)
        rest = left + A @ x
        cost = float(rest @ rest + whole * (STEP_PRICE * x @ x + CHANGE_PRICE * np.count_nonzero(x)))
        if cost < least - 1e-9:
            least, best = cost, ({n: v for n, v in zip(names, x.tolist(), strict=True) if v}, rest)
    amounts = {name: x * usual_step(name, airplane.airframe) for name, x in best[0].items()}
    [found] = variants(airplane, [amounts], flown) if amounts else [now]
    return _best(found, np.where(known, best[1], np.nan) * (CONSTANT_UNIT, DIVE_UNIT))


def _best(found: Variant, expected: np.ndarray) -> BestSet:
    constant, dive = expected.tolist()
    numbers: dict[str, Any] = {name: getattr(found, name) for name in Variant.model_fields}
    return BestSet(**numbers, expected_constant=constant, expected_dive=dive)


def _partials(
    airplane: Airplane, now: Variant, steps: Sequence[tuple[Changes, Variant]]
) -> tuple[dict[str, np.ndarray], dict[str, tuple[float, float]]]:
    """What a usual step of each candidate does to what is left and known, and how many steps it may take."""
    known = np.isfinite(_left(now))
    flown = {tuple(changes.items()): _left(variant) for changes, variant in steps}
    partials, limits = {}, {}
    for name in CANDIDATES:
        step = usual_step(name, airplane.airframe)
        pair = [flown.get(((name, sign * step),), np.full(2, np.nan)) for sign in (1.0, -1.0)]
        partial = np.where(known, _lesser(pair[0] - _left(now), _left(now) - pair[1]), 0.0)
        low, high = bounds(name, airplane, CANDIDATES[name])
        if np.isfinite(partial).all() and high > low:
            partials[name], limits[name] = partial, (low, high)
    return partials, limits


def _left(variant: Variant) -> np.ndarray:
    """What is to be brought to least, in its units: constant part and dive, array (2,)."""
    return np.array([variant.constant / CONSTANT_UNIT, variant.dive / DIVE_UNIT])


def _lesser(more: np.ndarray, less: np.ndarray) -> np.ndarray:
    """The smaller of the slopes both ways, none where they disagree: unequal throws make kinks at the trim."""
    return np.where(more * less > 0.0, np.where(np.abs(more) < np.abs(less), more, less), 0.0)


def bounds(name: str, airplane: Airplane, most: float) -> tuple[float, float]:
    """Least and most of a change in whole half steps, at most so many: usual limits, and a CG that leaves a static margin."""
    low, high, step = -most, most, step_of(name, airplane)
    airframe = airplane.airframe
    if name == "cg":
        spare = airplane.static_margin - LEAST_MARGIN
        high = min(high, max(spare * airframe.wing.mean_chord / step, 0.0))
    if name == "down-thrust":
        least, greatest = USUAL_DOWN_THRUST
        low = max(low, min((least - airframe.propeller.down_thrust) / step, 0.0))
        high = min(high, max((greatest - airframe.propeller.down_thrust) / step, 0.0))
    return math.ceil(2.0 * low - 1e-9) / 2.0, math.floor(2.0 * high + 1e-9) / 2.0

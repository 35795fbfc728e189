"""What a change of the airframe does to what blends would have to cure, and which few changes do most.

Every changed airplane is estimated anew and trimmed again at the same cruise: a change that is not
trimmed again is just down trim in disguise.  All of them fly bare, in two batches: held knife-edges, and
free flights.  Servos are ideal, so that a small change is not lost in slop and steps.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from scipy.optimize import lsq_linear

from sixdof.airframe.changes import CHANGES, changed, usual_step
from sixdof.airframe.model import Airframe
from sixdof.files.errors import InputError
from sixdof.flight.airplane import Airplane
from sixdof.flight.pack import static_margin
from sixdof.flight.script import load_maneuver, make_script, sides_of
from sixdof.tuning.bench import Bench
from sixdof.tuning.deviation import drift, points_lost
from sixdof.tuning.search import held_ratios, without_slop
from sixdof.tuning.split import split
from sixdof.tuning.unknowns import unknowns_of

__all__ = ["BestSet", "Standing", "best_set", "standings", "steps_over", "usual_changes"]

#: Maneuvers flown free; the first also held.
FLOWN = ("knife_edge", "power_off_dive", "roll_reversal")
RATIOS = tuple(unknowns_of(["rudder-elevator", "rudder-aileron"]))
#: What a set of changes may be made of, what can be done to a built airplane, and how many usual steps of each at
#: most (common practice, no source).
CANDIDATES = {"cg": 3.0, "wing-incidence": 3.0, "tailplane-incidence": 3.0, "down-thrust": 3.0}
#: Most changes in a set.
MOST_CHANGES = 3
#: Least static margin that a set may leave; what is liked is about 2 to 3 % (common practice, no source).
LEAST_MARGIN = 0.02
#: Down-thrust that is usual [rad]; common practice, no source.
USUAL_DOWN_THRUST = (0.0, math.radians(3.0))
#: One unit of what is left: a constant part of 1 % [share], and a dive of 5 deg, below which nobody sees it.
CONSTANT_UNIT, DIVE_UNIT = 0.01, 5.0
#: Price of a step (squared) and of a change being made at all, shares of what is there now (squared): few and
#: small ones, each worth its work.
STEP_PRICE, CHANGE_PRICE = 0.01, 0.05

Progress = Callable[[str], None]


@dataclass(frozen=True)
class Standing:
    """An airplane with some changes, as it flies bare: what is left for blends.

    Attributes
    ----------
    changes : dict
        Name -> signed amount [SI]; empty for the airplane as it is.
    trouble : str
        Why it could not be flown; then all numbers are NaN.
    ratios : array (4,)
        Held knife-edge ratios :data:`RATIOS`, shares, + up and right.
    constant : float
        Constant part of the knife-edge elevator, share.
    dive : float [deg]
        Toward canopy over the window of the power-off dive.
    adverse : float [deg]
        Sideslip in the roll reversal against the roll, mean of both ways.
    trims : array (3,)
        Resting aileron, elevator and rudder, shares.
    margin : float
        Static margin, power off, over the mean chord.
    points : float
        Points of ten that the free flights lose, by the published step of one per 15 deg.
    """

    changes: dict[str, float]
    trouble: str
    ratios: np.ndarray
    constant: float
    dive: float
    adverse: float
    trims: np.ndarray
    margin: float
    points: float


@dataclass(frozen=True)
class BestSet:
    """The few changes that bring the constant part and the dive to least, flown.

    Attributes
    ----------
    changes : dict
        Name -> signed amount [SI]; empty where nothing helps.
    expected_constant, expected_dive : float
        What the partials promise, share and deg; the flown ones are in ``standing``.
    standing : Standing
    """

    changes: dict[str, float]
    expected_constant: float
    expected_dive: float
    standing: Standing


def usual_changes(airframe: Airframe) -> list[dict[str, float]]:
    """One usual step each way of every change."""
    return [{name: sign * usual_step(name, airframe)} for name in CHANGES for sign in (1.0, -1.0)]


def steps_over(name: str, airframe: Airframe, *, most: int = 4) -> list[dict[str, float]]:
    """One change from ``-most`` to ``most`` usual steps, without the middle."""
    step = usual_step(name, airframe)
    return [{name: k * step} for k in range(-most, most + 1) if k]


def standings(
    airframe: Airframe,
    sets: Sequence[dict[str, float]],
    *,
    rate: str | None = None,
    progress: Progress = lambda text: None,
) -> list[Standing]:
    """Fly an airplane with each set of changes.

    Parameters
    ----------
    airframe : Airframe
    sets : sequence of dict
        Name -> signed amount [SI]; an empty one is the airplane as it is.
    rate : str, optional
    progress : callable
        Gets a line of text now and then.

    Returns
    -------
    list of Standing
        In the order of ``sets``.
    """
    planes, trouble = [], []
    for k, amounts in enumerate(sets):
        progress(f"estimating and trimming, {k + 1} of {len(sets)}")
        try:
            planes.append(Airplane(changed(airframe, amounts), rate or "").plane)
            trouble.append("")
        except InputError as error:
            trouble.append(str(error))
    progress("flying")
    flown = iter(_fly(without_slop(np.array(planes)))) if planes else iter(())
    nothing = (np.full(4, np.nan), *[math.nan] * 3, np.full(3, np.nan), *[math.nan] * 2)
    return [
        Standing(amounts, why, *(nothing if why else next(flown)))
        for amounts, why in zip(sets, trouble, strict=True)
    ]


def _fly(planes: np.ndarray) -> list[tuple]:
    """The numbers of a :class:`Standing` for each plane."""
    files = [load_maneuver(name) for name in FLOWN]
    ratios = held_ratios(planes, files[:1], RATIOS)
    scripts = [make_script(file, side, "free") for file in files for side in sides_of(file)]
    bench = Bench(planes, scripts, RATIOS)
    flights = bench.fly(np.zeros((1, len(RATIOS))))
    found = []
    for p, (plane, margin) in enumerate(zip(planes, static_margin(planes), strict=True)):
        dive, adverse, points = math.nan, [], 0.0
        for s, script in enumerate(scripts):
            f = bench.flight(0, s, plane=p)
            points += points_lost(flights, f, script)
            if not flights.finished[f]:
                continue
            if script.name == "power_off_dive":
                dive = drift(flights, f, script, only="canopy").degrees
            elif script.name == "roll_reversal":
                nose_left = drift(flights, f, script, only="sideslip").degrees
                adverse.append(nose_left if script.side == "right" else -nose_left)
        part = split(plane, "elevator")
        found.append(
            (
                ratios[p],
                part.constant if part else math.nan,
                dive,
                float(np.mean(adverse)) if adverse else math.nan,
                np.array([float(plane[f"{name}_trim"]) for name in ("aileron", "elevator", "rudder")]),
                float(margin),
                points,
            )
        )
    return found


def best_set(
    airframe: Airframe, now: Standing, steps: Sequence[Standing], *, rate: str | None = None
) -> BestSet:
    """The few changes that bring the knife-edge elevator's constant part and the dive to least.

    Bounded least squares on the partials of the flown steps, for every choice of up to three changes; each
    has a price.  The amounts are rounded to half steps, and the set is flown.

    Parameters
    ----------
    airframe : Airframe
    now : Standing
        The airplane as it is.
    steps : sequence of Standing
        One usual step each way of every change, from :func:`usual_changes`.
    rate : str, optional
    """
    flown = {tuple(s.changes.items()): _left(s) for s in steps}
    partials, bounds = {}, {}
    for name in CANDIDATES:
        step = usual_step(name, airframe)
        pair = [flown.get(((name, sign * step),), np.full(2, np.nan)) for sign in (1.0, -1.0)]
        partial = _lesser(pair[0] - _left(now), _left(now) - pair[1])
        low, high = _bounds(name, airframe, now, step)
        if np.isfinite(partial).all() and high > low:
            partials[name], bounds[name] = partial, (low, high)
    left = _left(now)
    best: tuple[dict[str, float], np.ndarray] = {}, left
    if not np.isfinite(left).all():
        return BestSet({}, now.constant, now.dive, now)
    whole = least = float(left @ left)
    for names in (c for k in range(1, MOST_CHANGES + 1) for c in combinations(partials, k)):
        A = np.stack([partials[name] for name in names], axis=1)
        low, high = np.array([bounds[name] for name in names]).T
        priced = np.concatenate([A, math.sqrt(STEP_PRICE * whole) * np.eye(len(names))])
        x = lsq_linear(priced, np.concatenate([-left, np.zeros(len(names))]), (low, high)).x
        x = np.clip(np.round(2.0 * x) / 2.0, low, high)
        rest = left + A @ x
        cost = float(rest @ rest + whole * (STEP_PRICE * x @ x + CHANGE_PRICE * np.count_nonzero(x)))
        if cost < least - 1e-9:
            least, best = cost, ({n: v for n, v in zip(names, x.tolist(), strict=True) if v}, rest)
    amounts = {name: x * usual_step(name, airframe) for name, x in best[0].items()}
    [standing] = standings(airframe, [amounts], rate=rate) if amounts else [now]
    constant, dive = best[1] * (CONSTANT_UNIT, DIVE_UNIT)
    return BestSet(amounts, float(constant), float(dive), standing)


def _left(standing: Standing) -> np.ndarray:
    """What is to be brought to least, in its units: constant part and dive, array (2,)."""
    return np.array([standing.constant / CONSTANT_UNIT, standing.dive / DIVE_UNIT])


def _lesser(more: np.ndarray, less: np.ndarray) -> np.ndarray:
    """The smaller of the slopes both ways, none where they disagree: unequal throws make kinks at the trim."""
    return np.where(more * less > 0.0, np.where(np.abs(more) < np.abs(less), more, less), 0.0)


def _bounds(name: str, airframe: Airframe, now: Standing, step: float) -> tuple[float, float]:
    """Least and most of a change in whole half steps: usual limits, and a CG that leaves a static margin."""
    low, high = -CANDIDATES[name], CANDIDATES[name]
    if name == "cg":
        high = min(high, max((now.margin - LEAST_MARGIN) * airframe.wing.mean_chord / step, 0.0))
    if name == "down-thrust":
        least, most = USUAL_DOWN_THRUST
        low = max(low, min((least - airframe.propeller.down_thrust) / step, 0.0))
        high = min(high, max((most - airframe.propeller.down_thrust) / step, 0.0))
    return math.ceil(2.0 * low - 1e-9) / 2.0, math.floor(2.0 * high + 1e-9) / 2.0

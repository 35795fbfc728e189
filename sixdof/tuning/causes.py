"""What may be wrong with an airplane that its file does not say: a closed table, and which of it fits what was seen.

A cause has an amount in SI, positive toward the first of its two ways.  It is a change of the airframe
(:mod:`sixdof.airframe.changes`), or an error of rigging (:data:`sixdof.estimate.doubt.ERRORS`) where no file states what is off.
Every airplane is trimmed again at its cruise: what is not trimmed again is just down trim in disguise.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from sixdof.airframe.changes import CHANGES, change_words, usual_step
from sixdof.estimate.doubt import ERRORS
from sixdof.files.errors import InputError
from sixdof.files.units import UNITS, to_unit
from sixdof.flight.airplane import Airplane
from sixdof.flight.pack import set_trims

__all__ = [
    "CAUSES",
    "Cause",
    "Fit",
    "cosine",
    "covariance_of",
    "cure_words",
    "fault_words",
    "fit_causes",
    "plane_with",
    "rounded",
    "step_of",
]


class Cause(NamedTuple):
    """A row of the table.

    Attributes
    ----------
    fault : tuple of str
        What is said of + and -, with ``{}`` for the amount.
    cure : tuple of str
        What is done against a fault of + and -, where it is no change of the airframe.
    error : str
        Its name in :data:`sixdof.estimate.doubt.ERRORS`, where it is flown as one.
    times : float
        Amount of one standard deviation of that, over the size that stands there.
    step : float
        Usual step of what is no change of the airframe [rad].
    built : bool
        What cannot be changed on a built airplane.
    """

    fault: tuple[str, str]
    cure: tuple[str, str] = ("", "")
    error: str = ""
    times: float = 1.0
    step: float = 0.0
    built: bool = False


#: Name -> row; those that are changes of the airframe by their name there.  Usual steps are common practice, no source.
CAUSES: dict[str, Cause] = {
    "cg": Cause(("CG {} further aft", "CG {} further forward")),
    "wing-incidence": Cause(("wing incidence {} more", "wing incidence {} less"), error="incidence of the wing as built"),
    "tailplane-incidence": Cause(
        ("tailplane incidence {} more", "tailplane incidence {} less"), error="incidence of the tailplane as built"
    ),
    "down-thrust": Cause(("thrust line {} further down", "thrust line {} further up")),
    "right-thrust": Cause(("thrust line {} further right", "thrust line {} further left")),
    "tip-weight": Cause(("right tip {} heavier", "left tip {} heavier")),
    "twist": Cause(
        ("right wing twisted {} up against the left", "left wing twisted {} up against the right"),
        ("untwist the wing: right {} down", "untwist the wing: left {} down"),
        error="twist of the wing", times=2.0, step=math.radians(0.3),
    ),
    "elevator-halves": Cause(
        ("right elevator half {} below the left", "left elevator half {} below the right"),
        ("set the elevator halves alike: right {} up", "set the elevator halves alike: left {} up"),
        error="unequal elevator halves", times=2.0, step=math.radians(0.5),
    ),
    "fin": Cause(
        ("fin {} off, as left rudder", "fin {} off, as right rudder"), ("set the fin straight: {}", "set the fin straight: {}"),
        error="fin out of line", step=math.radians(0.5),
    ),
    "differential": Cause(("aileron differential {} more", "aileron differential {} less")),
    "dihedral": Cause(("dihedral {} more", "dihedral {} less"), built=True),
    "cg-height": Cause(("CG {} higher", "CG {} lower")),
    "tailplane-height": Cause(("tailplane {} higher", "tailplane {} lower"), built=True),
    "wing-height": Cause(("wing {} higher", "wing {} lower"), built=True),
}  # fmt: skip

#: Nobody is further off than so many standard deviations.
FARTHEST = 3.0
_SIZE = {error.name: next(iter(error.built.values())) for error in ERRORS if error.built}


def step_of(name: str, airplane: Airplane) -> float:
    """Usual step of a cause on an airplane of this size [SI]."""
    return CAUSES[name].step or usual_step(name, airplane.airframe)


def fault_words(name: str, amount: float) -> str:
    """``CG 8 mm further forward``: how it differs from what the file says."""
    return CAUSES[name].fault[amount < 0.0].format(_amount(name, amount))


def cure_words(name: str, amount: float) -> str:
    """What is done about a fault of this amount: ``CG 8 mm further aft``."""
    cure = CAUSES[name].cure[amount < 0.0]
    return cure.format(_amount(name, amount)) if cure else change_words(name, -amount)


def _amount(name: str, amount: float) -> str:
    if name not in CHANGES:
        return f"{math.degrees(abs(amount)):.2g}°"
    change = CHANGES[name]
    number = f"{to_unit(abs(amount), change.unit, change.kind):.2g}"
    return f"{number}°" if change.kind == "angle" else f"{number} {change.unit}"


def rounded(name: str, amount: float) -> float:
    """An amount as people can make it: whole mm and g, a tenth of a degree."""
    unit = UNITS["angle"]["deg"] * 0.1
    if name in CHANGES and CHANGES[name].kind != "angle":
        unit = UNITS[CHANGES[name].kind][CHANGES[name].unit]
    return round(amount / unit) * unit


def plane_with(airplane: Airplane, name: str, amount: float) -> np.ndarray:
    """The airplane off by an amount of one cause, trimmed; record (1,).

    Raises
    ------
    InputError
        It cannot be, or has no steady level flight at cruise.
    """
    cause = CAUSES[name]
    if name in CHANGES and cause.error not in airplane.errors:
        return airplane.changed({name: amount}).planes
    if cause.error not in airplane.errors:
        raise InputError(f"{fault_words(name, amount)}: the file states an airplane that is straight")
    z = airplane.believed.copy()
    z[airplane.errors.index(cause.error)] += amount / (cause.times * _SIZE[cause.error])
    planes = airplane.apply(z[None])
    if not np.all(set_trims(planes, airplane.airframe.speeds.cruise)):
        raise InputError(f"{fault_words(name, amount)}: no steady level flight at cruise")
    return planes


class Fit(NamedTuple):
    """How well one cause alone explains what was seen.

    Attributes
    ----------
    name : str
    amount, sigma : float
        The likeliest amount and its standard deviation [SI].
    gain : float
        What it takes off the misfit, in halves of which are logarithms of odds.
    explains : float
        Share of the misfit to what was expected that it takes off.
    """

    name: str
    amount: float
    sigma: float
    gain: float
    explains: float


def fit_causes(
    left: np.ndarray,
    does: dict[str, np.ndarray],
    steps: dict[str, float],
    covariance: np.ndarray,
    *,
    usual: float = 2.0,
) -> list[Fit]:
    """Causes by how well each alone explains what was seen, the best first.

    With y = a d + noise of covariance W^-1 and a drawn from N(0, s^2) the likeliest amount is
    a = d'Wy / (d'Wd + 1/s^2), at most :data:`FARTHEST` s; it takes 2 a d'Wy - a^2 (d'Wd + 1/s^2) off the misfit y'Wy.

    Parameters
    ----------
    left : array (n,)
        Seen less expected, NaN where nothing was.
    does : dict of str to array (2, n)
        What one unit [SI] of each cause does, toward + and toward -, both as a slope.
    steps : dict of str to float
        Its usual step [SI].
    covariance : array (n, n)
        Of how well it is seen, W^-1.
    usual : float
        How many steps a builder is usually off, s.
    """
    known = np.isfinite(left)
    y, W = left[known], np.linalg.inv(covariance[np.ix_(known, known)])
    misfit = float(y @ W @ y)
    found = []
    for name, slopes in does.items():
        best: Fit | None = None
        for sign, slope in zip((1.0, -1.0), slopes, strict=True):
            d = np.nan_to_num(slope[known])
            s = usual * steps[name]
            size, pull = float(d @ W @ d) + 1.0 / s**2, float(d @ W @ y)
            if pull * sign <= 0.0:
                continue
            amount = sign * min(abs(pull) / size, FARTHEST * s)
            gain = 2.0 * amount * pull - amount**2 * size
            if best is None or gain > best.gain:
                best = Fit(name, amount, size**-0.5, gain, gain / misfit if misfit else 0.0)
        if best is not None:
            found.append(best)
    return sorted(found, key=lambda fit: -fit.gain)


def cosine(one: np.ndarray, other: np.ndarray, covariance: np.ndarray) -> float:
    """How alike two causes show, -1 to 1; 1 cannot be told apart."""
    known = np.isfinite(one) & np.isfinite(other)
    a, b, W = one[known], other[known], np.linalg.inv(covariance[np.ix_(known, known)])
    size = math.sqrt((a @ W @ a) * (b @ W @ b))
    return float(a @ W @ b / size) if size else 0.0


def covariance_of(moves: np.ndarray) -> np.ndarray:
    """Sum of outer products of what independent errors do, array (n, n)."""
    J = np.nan_to_num(moves)
    return J.T @ J

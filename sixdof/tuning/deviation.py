"""How far an airplane leaves what it was asked to fly, in a flyer's terms.

Errors are those of :func:`sixdof.physics.frames.path_errors`, of the way over the ground, at fixed fractions
of each measured phase, counted from the settled entry.  People are shown degrees of the worst
term and its degrees per second; the optimizer works on D.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from sixdof.flight.fly import Flights
from sixdof.flight.script import ERROR_NAMES, Script

#: One point of ten per about 15 deg of departure (AMA R/C Precision Aerobatics judging guide,
#: 1998-2008): the step that makes an error count.
TOLERANCE = math.radians(15.0)

TERM_WORDS = {
    "canopy": ("to belly", "to canopy"),
    "wing": ("to left wing", "to right wing"),
    "roll": ("rolls left", "rolls right"),
    "sideslip": ("nose right", "nose left"),
}


@dataclass(frozen=True)
class Drift:
    """Worst term of a flight.

    Attributes
    ----------
    degrees : float
        Largest error of any scored term in any measured phase, with its sign.
    rate : float
        The same over the length of its phase [deg/s].
    term : str
        "canopy", "wing", "roll" or "sideslip".
    phase : str
        The measured phase it was found in.
    """

    degrees: float
    rate: float
    term: str
    phase: str

    @property
    def words(self) -> str:
        """Which way, in words."""
        return TERM_WORDS[self.term][self.degrees > 0.0]


def weighted_errors(flights: Flights, i: int, script: Script) -> np.ndarray:
    """Scored errors of flight i over the tolerance, array (measured, SAMPLES, 4)."""
    m = len(script.measured)
    return flights.errors[i, :m] * script.scored[:m, None, :] / TOLERANCE


def deviation(flights: Flights, i: int, script: Script) -> float:
    """D of flight i: root of the mean over samples of the sum of (error/tolerance)^2."""
    e = weighted_errors(flights, i, script)
    return float(np.sqrt(np.mean(np.sum(e**2, axis=-1))))


def drift(flights: Flights, i: int, script: Script, *, only: Collection[str] | None = None) -> Drift:
    """Worst term of flight i; with ``only`` the worst of those terms ("canopy", "roll" ...)."""
    m = len(script.measured)
    errors = np.degrees(flights.errors[i, :m] * script.scored[:m, None, :])
    if only is not None:
        errors = errors * np.isin(ERROR_NAMES, list(only))
    phase, sample, term = np.unravel_index(int(np.argmax(np.abs(errors))), errors.shape)
    value = float(errors[phase, sample, term])
    return Drift(value, value / float(script.window[phase]), ERROR_NAMES[term], script.measured[phase])


def points_lost(flights: Flights, i: int, script: Script) -> float:
    """Points lost of ten by the published step of one per 15 deg, each measured phase by its worst term."""
    m = len(script.measured)
    errors = np.abs(flights.errors[i, :m] * script.scored[:m, None, :])
    return float(np.sum(np.max(errors, axis=(1, 2))) / TOLERANCE)

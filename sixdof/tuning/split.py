"""What a knife-edge ratio is made of: a constant part, a part even in rudder and a part odd in it.

An airplane trimmed to carry its weight in level flight asks, where the wing carries nothing,
for the same elevator at any rudder: that is its CG (the static margin) speaking.  It is found
by taking the weight away: steady straight flight without gravity needs no lift and next to no rudder,
and what elevator is left is the constant part.  The rest of the two sides' ratios splits into
what is the same to both sides (among it a thrust line off the drag, by the power that
knife-edge takes more than cruise) and what changes sign with the rudder.

The doubt is the difference to what can be told from outside, by a fit of
A (V/V0)^2 + E +- O + B (V0/V)^2 to the ratios over speeds (the rudder needed falls with V^2,
so a constant elevator grows in the ratio with V^2: that is A).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sixdof.flight.trim import trim
from sixdof.physics.air import make_air

#: Speeds of the fit, shares of cruise; those without a steady knife-edge fall out.
SPEEDS = (0.85, 0.925, 1.0, 1.075, 1.15, 1.225)


@dataclass(frozen=True)
class Split:
    """Parts of the ratio at cruise, shares of the target's throw.

    Attributes
    ----------
    target : str
        "elevator" or "aileron".
    constant, even, odd : float
        Their sum is the right rudder's ratio; the left's has ``-odd``.
    constant_doubt, even_doubt, odd_doubt : float
        Differences to the fit over speeds.
    """

    target: str
    constant: float
    even: float
    odd: float
    constant_doubt: float
    even_doubt: float
    odd_doubt: float


def split(plane: np.void, target: str, *, height: float = 120.0) -> Split | None:
    """Take the knife-edge ratio of rudder to ``target`` apart.

    Returns
    -------
    Split or None
        None where there is no steady knife-edge to both sides at three speeds, cruise among them.
    """
    cruise, air = float(plane["cruise"]), make_air()
    ratios: dict[float, tuple[float, float]] = {}
    rudder = 0.0
    for share in SPEEDS:
        pair = [
            trim(plane, air, speed=share * cruise, bank=-side * 0.5 * math.pi, height=height)
            for side in (1.0, -1.0)
        ]
        if all(steady.reachable and abs(steady.sticks["rudder"]) > 0.02 for steady in pair):
            right, left = (steady.sticks[target] / abs(steady.sticks["rudder"]) for steady in pair)
            ratios[share] = right, left
            if share == 1.0:
                rudder = 0.5 * sum(abs(steady.sticks["rudder"]) for steady in pair)
    weightless = trim(plane, make_air(g=1e-6), speed=cruise, height=height)
    if len(ratios) < 3 or 1.0 not in ratios or not weightless.converged:
        return None
    right, left = ratios[1.0]
    constant = weightless.sticks[target] / rudder
    even, odd = 0.5 * (right + left) - constant, 0.5 * (right - left)
    A, E, B, O = _fit(ratios)
    return Split(target, constant, even, odd, abs(A - constant), abs(E + B - even), abs(O - odd))


def _fit(ratios: dict[float, tuple[float, float]]) -> np.ndarray:
    """A, E, B, O of the least-squares fit over speeds and sides."""
    rows = [[x**2, 1.0, x**-2, side] for x in ratios for side in (1.0, -1.0)]
    return np.linalg.lstsq(
        np.array(rows), np.array([r for pair in ratios.values() for r in pair]), rcond=None
    )[0]

"""What a knife-edge ratio is made of: a constant part, a part even in rudder and a part odd in it.

The ratio needed in steady level knife-edge at several speeds is fitted by
A (V/V0)^2 + E +- O + B (V0/V)^2.  A weight, an incidence or a thrust line asks for the
same elevator at any rudder, so its share of the ratio grows with V^2 (the rudder needed
falls with V^2): that is A.  E and B are the same to both sides, O changes sign with the rudder.
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
        Standard deviations from what the fit leaves over.
    speeds : int
        How many speeds had a steady knife-edge to both sides.
    """

    target: str
    constant: float
    even: float
    odd: float
    constant_doubt: float
    even_doubt: float
    odd_doubt: float
    speeds: int


def split(plane: np.void, target: str, *, height: float = 120.0) -> Split | None:
    """Take the knife-edge ratio of rudder to ``target`` apart; None if there are too few speeds."""
    air = make_air()
    rows, ratios = [], []
    found = 0
    for share in SPEEDS:
        pair = [
            trim(plane, air, speed=share * float(plane["cruise"]), bank=-side * 0.5 * math.pi, height=height)
            for side in (1.0, -1.0)
        ]
        if not all(steady.reachable and abs(steady.sticks["rudder"]) > 0.02 for steady in pair):
            continue
        found += 1
        for side, steady in zip((1.0, -1.0), pair, strict=True):
            rows.append([share**2, 1.0, share**-2, side])
            ratios.append(steady.sticks[target] / abs(steady.sticks["rudder"]))
    if found < 3:
        return None
    M, y = np.array(rows), np.array(ratios)
    x = np.linalg.lstsq(M, y, rcond=None)[0]
    left = y - M @ x
    covariance = np.linalg.inv(M.T @ M) * float(left @ left) / max(len(y) - 4, 1)
    even = np.array([0.0, 1.0, 1.0, 0.0])
    return Split(
        target=target,
        constant=float(x[0]),
        even=float(even @ x),
        odd=float(x[3]),
        constant_doubt=float(np.sqrt(covariance[0, 0])),
        even_doubt=float(np.sqrt(even @ covariance @ even)),
        odd_doubt=float(np.sqrt(covariance[3, 3])),
        speeds=found,
    )

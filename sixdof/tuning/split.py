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

import numpy as np
from pydantic import computed_field

from sixdof.airframe.blends import WAYS
from sixdof.files.rows import Row
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air

#: Speeds of the fit, shares of cruise; those without a steady knife-edge fall out.
SPEEDS = (0.85, 0.925, 1.0, 1.075, 1.15, 1.225)


class Split(Row):
    """Parts of the ratio at cruise [% of the target's throw].

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

    @computed_field  # type: ignore[prop-decorator]
    @property
    def words(self) -> list[str]:
        """A line a part."""
        negative, positive = (
            w.upper() for w in sorted(WAYS[self.target], key=lambda w: WAYS[self.target][w])
        )
        lines = []
        for part, why in _WHY[self.target].items():
            value, doubt = getattr(self, part), getattr(self, f"{part}_doubt")
            way = positive if value > 0.0 else negative
            if part == "odd":
                way = f"{way} with right rudder"
            said = f" (two methods differ by {doubt:.1f})" if doubt >= 0.05 else ""
            lines.append(f"{part:<8} {abs(value):4.1f} % {way}{said}: {why}")
        return lines


#: What each part is, for each target.
_WHY = {
    "elevator": {
        "constant": "same at any rudder: CG, by the trim it asks for",
        "even": "same to both sides: tail height, fin, body, thrust line",
        "odd": "changes with the rudder's side: propeller, power",
    },
    "aileron": {
        "constant": "same at any rudder: lateral balance, twist, torque",
        "even": "same way to both sides: propeller, power",
        "odd": "opposite to each side: dihedral effect, fin, wing height",
    },
}


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
    parts = {
        "constant": constant, "even": even, "odd": odd,
        "constant_doubt": abs(A - constant), "even_doubt": abs(E + B - even), "odd_doubt": abs(O - odd),
    }  # fmt: skip
    return Split(target=target, **{name: 100.0 * float(part) for name, part in parts.items()})


def _fit(ratios: dict[float, tuple[float, float]]) -> np.ndarray:
    """A, E, B, O of the least-squares fit over speeds and sides."""
    rows = [[x**2, 1.0, x**-2, side] for x in ratios for side in (1.0, -1.0)]
    return np.linalg.lstsq(
        np.array(rows), np.array([r for pair in ratios.values() for r in pair]), rcond=None
    )[0]

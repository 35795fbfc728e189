"""What a knife-edge ratio is made of: a constant part, a part even in rudder and a part odd in it.

An airplane trimmed to carry its weight in level flight asks, where the wing carries nothing,
for the same elevator at any rudder: that is its CG (the static margin) speaking.  It is found
by taking the weight away: steady straight flight without gravity needs no lift and next to no rudder,
and what elevator is left is the constant part.  The rest of the two sides' ratios splits into
what is the same to both sides (among it a thrust line off the drag, by the power that
knife-edge takes more than cruise) and what changes sign with the rudder.

The doubt is the difference to what can be told from outside: the elevator held in knife-edges at several speeds,
with all of the weight and with less of it, which takes less rudder, regressed on 1, beta and beta^2.
"""

from __future__ import annotations

import numpy as np
from numpy.polynomial.polynomial import polyfit, polyval
from pydantic import computed_field

from sixdof.airframe.blends import WAYS
from sixdof.files.rows import Row
from sixdof.flight.knife_edge import HEIGHT, knife_edges
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air
from sixdof.physics.constants import G0

#: Speeds and weights of the fit, shares; those without a steady knife-edge fall out.
_SPEEDS, _WEIGHTS = (0.85, 0.925, 1.0, 1.075, 1.15), (0.2, 0.4, 0.6, 0.8, 1.0)


class Split(Row):
    """Parts of a knife-edge ratio [% of the target's throw].

    Attributes
    ----------
    target : str
        "elevator" or "aileron".
    constant, even, odd : float
        Their sum is the right rudder's ratio; the left's has ``-odd``.
    constant_doubt, even_doubt, odd_doubt : float
        Differences to the fit.
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
            ways = (positive, negative) if value > 0.0 else (negative, positive)
            way = f"{ways[0]} with right rudder, {ways[1]} with left" if part == "odd" else ways[0]
            lines.append(f"{part:<8} {abs(value):4.1f} % {way} ± {doubt:.1f}: {why}")
        return lines


#: What each part is, for each target.
_WHY = {
    "elevator": {
        "constant": "same at any rudder: CG, by the trim it asks for",
        "even": "same to both sides: tail height, fin, body, thrust line",
        "odd": "propeller, power",
    },
    "aileron": {
        "constant": "same at any rudder: lateral balance, twist, torque",
        "even": "same way to both sides: propeller, power",
        "odd": "dihedral effect, fin",
    },
}


def split(plane: np.void, target: str, *, share: float = 1.0) -> Split | None:
    """Take the knife-edge ratio of rudder to ``target`` apart.

    Parameters
    ----------
    plane : record
    target : str
    share : float
        Of the cruise speed, that knife-edge is flown at.

    Returns
    -------
    Split or None
        None where there is no steady knife-edge to both sides.
    """
    speed, planes = share * float(plane["cruise"]), np.array([plane])
    whole, constant = knife_edges(planes, speed), constant_part(plane, target, share=share)
    if not whole.holds.all() or np.isnan(constant):
        return None
    ((right, left),) = whole.ratios(target)
    even, odd = 0.5 * (right + left) - constant, 0.5 * (right - left)
    fit = _fit(planes, speed, target)
    told = polyval(whole.beta[0], fit) / np.abs(whole.rudder[0])
    other = fit[0] / np.mean(np.abs(whole.rudder))
    parts = {
        "constant": constant, "even": even, "odd": odd, "constant_doubt": abs(other - constant),
        "even_doubt": abs(0.5 * np.sum(told) - other - even), "odd_doubt": abs(0.5 * (told[0] - told[1]) - odd),
    }  # fmt: skip
    return Split(target=target, **{name: 100.0 * float(part) for name, part in parts.items()})


def constant_part(plane: np.void, target: str, *, share: float = 1.0) -> float:
    """What a target needs at any rudder, over the rudder that holds knife-edge; over all of it where none does.  A share.

    NaN where there is no steady flight without weight.
    """
    speed = share * float(plane["cruise"])
    weightless = trim(plane, make_air(g=1e-6), speed=speed, height=HEIGHT)
    rudder = np.mean(np.abs(knife_edges(np.array([plane]), speed).rudder))
    return (
        weightless.sticks[target] / (rudder if np.isfinite(rudder) else 1.0)
        if weightless.converged
        else np.nan
    )


def _fit(planes: np.ndarray, speed: float, target: str) -> np.ndarray:
    """Stick held in knife-edge as c0 + c1 beta + c2 beta^2, least squares over speeds and weights."""
    speeds = speed * np.array(_SPEEDS)
    flown = [knife_edges(np.repeat(planes, len(speeds)), speeds, g=g * G0) for g in _WEIGHTS]
    beta, stick = (np.concatenate([getattr(k, name).ravel() for k in flown]) for name in ("beta", target))
    held = np.isfinite(stick)
    return polyfit(beta[held], stick[held], 2)

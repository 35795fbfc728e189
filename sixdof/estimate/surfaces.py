"""What the lifting surfaces alone would give: a second look at derivatives that a file states."""

from __future__ import annotations

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.estimate.lattice import COEFFICIENTS, Conditions, lattice_of, solve
from sixdof.estimate.panels import sheets_of

#: Factor of a condition -> the end of a term's name.
_FACTORS = {
    "alpha": "a", "beta": "b", "phat": "p", "qhat": "q", "rhat": "r",
    "da": "da", "ds": "ds", "de": "de", "dr": "dr", "df": "df",
}  # fmt: skip
#: Which coefficients a factor moves, by the symmetry of the airplane.
_MOVED = {
    "alpha": ("CL", "Cm"), "qhat": ("CL", "Cm"), "ds": ("CL", "Cm"), "de": ("CL", "Cm"), "df": ("CL", "Cm"),
    "beta": ("CY", "Cl", "Cn"), "phat": ("CY", "Cl", "Cn"), "rhat": ("CY", "Cl", "Cn"),
    "da": ("CY", "Cl", "Cn"), "dr": ("CY", "Cl", "Cn"),
}  # fmt: skip
_STEP = 0.01  # rad, or of a rate


def surface_derivatives(airframe: Airframe) -> dict[str, float]:
    """First derivatives of wing, tailplane and fin by vortex lattice, about the file's reference.

    No body, no viscosity, no propeller: a stated value that lies far off is worth a second
    look, not wrong by that.  At zero angle of attack and sideslip.

    Parameters
    ----------
    airframe : Airframe
        With a ``derivatives`` block, whose reference area, span, chord and point count.

    Returns
    -------
    dict
        Name of a term -> value, per rad or per unit of rate.

    Raises
    ------
    ValueError
        The airframe states no derivatives.
    """
    if airframe.derivatives is None:
        raise ValueError("an airframe with a derivatives block is wanted")
    ref = airframe.reference
    sheets = sheets_of(airframe, chordwise=5, spanwise=16, section_slope={})
    lattice = lattice_of(sheets, S=ref.area, b=ref.span, c=ref.chord, point=ref.point)
    names = [name for name in _FACTORS if name != "df" or airframe.controls.flap is not None]
    both = np.concatenate([np.eye(len(names)), -np.eye(len(names))]) * _STEP
    total = solve(lattice, Conditions(**{name: both[:, i] for i, name in enumerate(names)})).total
    slopes = (total[: len(names)] - total[len(names) :]) / (2.0 * _STEP)
    return {
        coefficient + _FACTORS[name]: float(slopes[i, COEFFICIENTS.index(coefficient)])
        for i, name in enumerate(names)
        for coefficient in _MOVED[name]
    }

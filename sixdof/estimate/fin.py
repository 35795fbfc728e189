"""What the side force of a fin does along the body: suction, induced drag, and what both pitch.

The force of a fin stands across the wind that meets it, not across the body.  In sideslip its side force CY
along body y so has a part CX = -CY tan(beta) along the body, the suction of its leading edge: forward for a
fin that weathercocks, backward for a rudder that holds the sideslip.  It costs the induced drag
CY^2 S/(S_f pi A_f).  Both act at the height of the fin, and so does the drag of the rudder.

The lattice has the same along the body of the demos to a tenth; but where fin and tailplane meet its moments are no
knowledge (:mod:`sixdof.estimate.junction`), so the moments are taken from where the side force acts.
"""

from __future__ import annotations

import math

import numpy as np

from sixdof.airframe.geometry import Fin
from sixdof.estimate.lattice import Conditions, Loads

__all__ = ["FIN_IN_PITCH", "fin_in_pitch", "working_aspect"]

#: Components that the terms are booked on.
FIN_IN_PITCH: tuple[str, ...] = ("fin suction", "fin induced drag", "rudder drag")
#: Bounds of the aspect ratio that works, over the one measured: by itself, and with a mirror at its root.
_BOUNDS = (1.0, 2.0)


def working_aspect(fin: Fin, name: str, conditions: Conditions, loads: Loads, S: float) -> float:
    """Aspect ratio that a fin works with, body and tailplane at its ends: by the balance of its forces.

    Parameters
    ----------
    fin : Fin
    name : str
        Its component.
    conditions : Conditions
    loads : Loads
        Of the whole lattice under these conditions.
    S : float [m2]
        Reference area.
    """
    i = loads.components.index(name)
    X, Y = loads.body[:, i, 0], loads.body[:, i, 1]
    table = conditions.table()
    rows = table[:, [1, 8]].any(axis=1) & (Y != 0.0)  # beta, dr
    X, Y, beta = X[rows], Y[rows], loads.beta[rows]
    k = float(np.sum((-Y * np.tan(beta) - X) * Y**2) / np.sum(Y**4))
    A = fin.span**2 / fin.area
    return float(np.clip(S / (fin.area * math.pi * max(k, 1e-9)), _BOUNDS[0] * A, _BOUNDS[1] * A))


def fin_in_pitch(
    fin: dict[str, float], *, area: float, aspect: float, S: float, b: float, c: float
) -> dict[str, dict[str, float]]:
    """Terms of :data:`FIN_IN_PITCH` of one fin, of first order.

    Parameters
    ----------
    fin : dict
        Its own ``CYb``, ``CYdr``, ``Clb``, ``Cldr``, and ``CDdr2`` of its rudder; about the reference point.
    area, aspect : float [m2], [1]
        Of the fin; the aspect ratio that works.
    S, b, c : float [m2], [m], [m]
        Reference area, span and chord.

    Returns
    -------
    dict
        Component -> term -> what it adds.  CYb3 takes back what the drag along -V has along body y.

    Notes
    -----
    With the height h of its force, Cl b = CY h, a force along the body pitches by Cm c = -CX h: the suction by
    Cl b tan(beta).
    """
    CYb, CYdr, Clb, Cldr = (fin[name] for name in ("CYb", "CYdr", "Clb", "Cldr"))
    k = S / (area * math.pi * aspect)
    induced = {"b2": k * CYb * CYb, "bdr": 2.0 * k * CYb * CYdr, "dr2": k * CYdr * CYdr}
    height = b / c * (Clb / CYb if CYb else 0.0)
    rudder_height = b / c * (Cldr / CYdr if CYdr else 0.0)
    return {
        "fin suction": {
            "CDb2": CYb, "CDbdr": CYdr, "CYb3": CYb, "Cmb2": b / c * Clb, "Cmbdr": b / c * Cldr,
        },
        "fin induced drag": {
            f"{axis}{by}": value * (1.0 if axis == "CD" else height) for axis in ("CD", "Cm") for by, value in induced.items()
        },
        "rudder drag": {"Cmdr2": rudder_height * fin["CDdr2"]},
    }  # fmt: skip

"""What the side force of a fin does along the body: suction, induced drag, and what both pitch.

The force of a fin stands across the wind that meets it, not across the body.  In sideslip its side force CY
along body y so has a part CX = -CY tan(beta) along the body, the suction of its leading edge: forward for a
fin that weathercocks, backward for a rudder that holds the sideslip.  It costs the induced drag
CY^2 S/(S_f pi A_f).  Both act at the height of the fin, and so does the drag of the rudder.

The lattice has the same along the body of the demos to a fifth; but where fin and tailplane meet its moments are no
knowledge (:mod:`sixdof.estimate.interference`), so the moments are taken from where the side force acts.
"""

from __future__ import annotations

import math

__all__ = ["FIN_IN_PITCH", "fin_in_pitch"]

#: Components that the terms are booked on.
FIN_IN_PITCH: tuple[str, ...] = ("fin suction", "fin induced drag", "rudder drag")
#: Aspect ratio that works, with body and tailplane at its root, over the one measured: Raymer, 16.4.6 (second hand).
#: The balance of forces of our lattice has 1.2 to 1.65 with the demos (computed), but jumps where fin and tailplane meet.
_END_PLATES = 1.55


def fin_in_pitch(
    fin: dict[str, float], *, area: float, aspect: float, S: float, b: float, c: float
) -> dict[str, dict[str, float]]:
    """Terms of :data:`FIN_IN_PITCH` of one fin, of first order.

    Parameters
    ----------
    fin : dict
        Its own ``CYb``, ``CYdr``, ``Clb``, ``Cldr``, and ``CDdr2`` of its rudder; about the reference point.
    area, aspect : float [m2], [1]
        Of the fin; its aspect ratio is height^2/area, as measured.
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
    k = S / (area * math.pi * _END_PLATES * aspect)
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

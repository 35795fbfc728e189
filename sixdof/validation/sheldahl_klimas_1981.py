"""Symmetric sections at low Reynolds numbers.

Sheldahl & Klimas, Aerodynamic characteristics of seven symmetrical airfoil sections through 180-degree angle of attack,
SAND80-2114, 1981, read in secondary copies.  The part below the stall was computed there, not measured.
"""

from __future__ import annotations

import math
from functools import partial

from sixdof.estimate.section import section
from sixdof.physics.aero import aerodynamics
from sixdof.validation.check import Check
from sixdof.validation.planes import plane_of

# thickness, Reynolds number: highest cl before the stall, cd at 0, cl at 5 deg, cd at 10 deg with its cl
ROWS = {
    (0.15, 1.6e5): (0.832, 0.0115, 0.550, 0.0233, 0.832),
    (0.21, 1.6e5): (0.737, 0.0139, 0.469, 0.0243, 0.737),
    (0.21, 3.6e5): (0.894, 0.0111, 0.500, 0.0195, 0.850),
    (0.21, 7.0e5): (1.011, 0.0094, 0.515, 0.0166, 0.909),
    (0.12, 2.0e6): (1.207, 0.0064, 0.550, 0.0128, 1.073),
}
#: cl and cd at 45 deg, measured.
PLATE = (1.050, 1.075)


def _plate() -> float:
    """Lift over drag far behind the stall: the force stands upright on the chord."""
    plane = plane_of(
        4.0, (0.3, 0.5, 0.7), 0.6, 1.9, 0.32, CL0=0.1, CLa=4.5, CD0=0.03, CDk=0.06, alpha_stall=0.2, alpha_plate=0.4
    )  # fmt: skip
    a = math.radians(45.0)
    X, _, Z = aerodynamics(plane, 1.2, 20.0 * math.cos(a), 0.0, 20.0 * math.sin(a), *[0.0] * 10)[:3]
    return (X * math.sin(a) - Z * math.cos(a)) / (-X * math.cos(a) - Z * math.sin(a))


def checks() -> list[Check]:
    """Highest lift, least drag, slope to 5 deg, drag at 10 deg; a stalled wing."""
    row = partial(Check, "Symmetric sections, Sheldahl & Klimas 1981", tag="second hand")
    rows = []
    for (thickness, reynolds), (highest, least, cl5, cd10, cl10) in ROWS.items():
        made = section(thickness, 0.0, reynolds)
        said = f"{100.0 * thickness:.0f} % at Re {reynolds:.3g}"
        why = "one smooth formula for all sections"
        rows.append(row(f"{said}: cl_max", highest, made.cl_max, share=0.08, why=why))
        rows.append(row(f"{said}: cd_min", least, made.cd_min, share=0.06, why=why))
        known = (
            "computed there: more than 2 pi, not believed" if (thickness, reynolds) == (0.15, 1.6e5) else ""
        )
        slope = cl5 / math.radians(5.0)
        rows.append(row(f"{said}: slope to 5 deg", slope, made.slope, share=0.03, why=why, known=known))
        drag = made.cd_min + made.cd_k * cl10**2
        why = "near the stall drag grows faster than lift squared"
        rows.append(row(f"{said}: cd at 10 deg", cd10, drag, share=0.16, why=why))
    why = "a flat plate stands for all sections"
    rows.append(row("lift over drag at 45 deg", PLATE[0] / PLATE[1], _plate, share=0.05, why=why))
    return rows

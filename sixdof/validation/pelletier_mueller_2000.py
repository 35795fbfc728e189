"""A thin plate of aspect ratio 2 at a Reynolds number of 1.4e5.

Pelletier & Mueller, Low Reynolds number aerodynamics of low-aspect-ratio, thin/flat/cambered-plate wings, J. Aircraft
37(5), 2000 (read as a digitized file): 1.93 % thick (from memory).  Above 10 deg it is separated: at 15 and 20 deg a
parabola through its lift gives CD .13 and .14.  Broadside: Viterna & Corrigan, NASA CP-2230, 1982 (second hand).
"""

from __future__ import annotations

import math
from functools import partial

from sixdof.estimate.drag import broadside
from sixdof.estimate.section import section
from sixdof.validation.check import Check

# angle [deg]: CL, CD
ROWS = {3.0: (0.15, 0.02), 6.0: (0.30, 0.03), 10.0: (0.50, 0.08), 15.0: (0.70, 0.18), 20.0: (0.75, 0.28)}
#: CD at 90 deg, aspect ratio 2.
BROADSIDE = 1.15


def _drag(CL: float) -> float:
    """Least drag, the section's growth and the induced drag of an ellipse over .9."""
    plate = section(0.0193, 0.0, 1.4e5)
    return plate.cd_min + (plate.cd_k + 1.0 / (0.9 * math.pi * 2.0)) * CL**2


def checks() -> list[Check]:
    """Drag of the plate; broadside."""
    row = partial(Check, "Thin plate of A 2, Pelletier & Mueller 2000", tag="second hand")
    why = "CD is printed to 0.01"
    rows = []
    for degrees, (CL, CD) in ROWS.items():
        known = "separated: drag no longer goes by lift squared" if degrees > 10.0 else ""
        rows.append(row(f"CD at {degrees:g} deg", CD, partial(_drag, CL), within=0.012, why=why, known=known))
    flat = partial(Check, "Plate broadside, Viterna & Corrigan 1982", tag="second hand")
    return [*rows, flat("CD at 90 deg, A 2", BROADSIDE, partial(broadside, 2.0), within=0.005)]

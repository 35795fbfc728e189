"""A thin plate of aspect ratio 2 at a Reynolds number of 1.4e5.

Pelletier & Mueller, Low Reynolds number aerodynamics of low-aspect-ratio, thin/flat/cambered-plate wings, J. Aircraft
37(5), 2000 (read as a digitized file): 1.93 % thick (from memory).  Above 10 deg it is separated: at 15 and 20 deg it
has CD .18 and .28, where a parabola through its lift gives .13 and .14.
"""

from __future__ import annotations

import math

import pytest
from support import agree

from sixdof.estimate.drag import broadside
from sixdof.estimate.section import section

SOURCE = "Pelletier & Mueller (digitized)"
# angle [deg]: CL, CD
ROWS = {3.0: (0.15, 0.02), 6.0: (0.30, 0.03), 10.0: (0.50, 0.08)}


@pytest.mark.parametrize("alpha_deg", ROWS)
def test_drag_of_a_plate(alpha_deg):
    """Least drag, the section's growth and the induced drag of an ellipse over .9, 0.012."""
    CL, CD = ROWS[alpha_deg]
    plate = section(0.0193, 0.0, 1.4e5)
    found = plate.cd_min + (plate.cd_k + 1.0 / (0.9 * math.pi * 2.0)) * CL**2
    agree("CD", found, CD, within=0.012, source=SOURCE)


def test_broadside_of_it():
    """Viterna & Corrigan, NASA CP-2230, 1982 (transcriptions): CD90 1.15 at A 2."""
    agree("CD90", broadside(2.0), 1.15, within=0.005, source="NASA CP-2230")

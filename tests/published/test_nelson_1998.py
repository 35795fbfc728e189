"""Navion: Nelson, *Flight Stability and Automatic Control*, 2nd ed. 1998, App. B table B.1, examples ch. 4-5.

Coefficients from memory, consistent with SI values read elsewhere (1247.4 kg; 1420.9, 4067, 4786
kg m2); published eigenvalues from memory.  Cnb is printed .071; the printed eigenvalues need .0701
(one copy of the table has it).  Compared as complex numbers, 1 % of |lambda|, spiral 5 %.
"""

from __future__ import annotations

import pytest
from support import FOOT, POUND_FORCE, SLUG, agree_modes, plane_of

from sixdof.flight.linear import linearize, modes
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air

V = 176.0 * FOOT
AIR = make_air(rho=0.002378 * SLUG / FOOT**3, g=32.2 * FOOT)
_INERTIA = SLUG * FOOT**2
MASS = 1247.3790175  # kg, 2750 lb of mass; W/g with g 32.2 ft/s2 gives 0.08 % less

#: Trim and Jacobian of the full equations, computed by an independent program; Cnb .071, mass as above.
COMPUTED = {
    "phugoid": -0.016981132899 + 0.212011522063j,
    "short period": -2.509566462913 + 2.591872854511j,
    "roll": -8.436629600713,
    "Dutch roll": -0.485956569470 + 2.347083146612j,
    "spiral": -0.008350990458,
}


def navion(mass=2750.0 / 32.2 * SLUG, **more):
    """Sea level, 176 ft/s; W 2750 lb, S 184 ft2, b 33.4 ft, c 5.7 ft; CLq 0.

    The printed CYb -.564 is the whole side force; here the drag, CD .05, has its own share of it.
    """
    values = dict(
        CL0=0.41, CLa=4.44, CLde=0.355, CD0=0.05, CDa=0.33, Cma=-0.683, Cmad=-4.36, Cmq=-9.96, Cmde=-0.923,
        CYb=-0.564 + 0.05, Clb=-0.074, Cnb=0.0701, Clp=-0.410, Cnp=-0.0575, Clr=0.107, Cnr=-0.125,
        Clda=-0.134, Cnda=-0.0035, CYdr=0.157, Cldr=0.107, Cndr=-0.072,
        ideal_thrust=2750.0 * POUND_FORCE,
    )  # fmt: skip
    values.update(more)
    inertia = [part * _INERTIA for part in (1048.0, 3000.0, 3530.0)]
    return plane_of(mass, inertia, 184.0 * FOOT**2, 33.4 * FOOT, 5.7 * FOOT, **values)


def _modes(**more):
    plane = navion(**more)
    steady = trim(plane, AIR, speed=V)
    assert steady.converged, steady
    return modes(linearize(plane, AIR, steady))


def test_nelson_1998_navion_modes():
    """Against the printed eigenvalues."""
    printed = {
        "phugoid": -0.0171 + 0.213j,
        "short period": -2.5 + 2.59j,
        "roll": -8.435,
        "Dutch roll": -0.487 + 2.335j,
        "spiral": -0.00877,
    }
    agree_modes(_modes(), printed, share=0.01, spiral=0.05, source="Nelson 1998, from memory")


def test_nelson_1998_navion_nonlinear():
    """Against trim and Jacobian of the full equations: the column where CLq = 0."""
    agree_modes(_modes(mass=MASS, Cnb=0.071), COMPUTED, share=2e-4, source="computed, full equations")


@pytest.mark.parametrize(
    "without", ["Cma", "Cmad", "Cmq", "CLa", "CD0", "CDa", "CYb", "Clb", "Clp", "Clr", "Cnb", "Cnr", "Cnp"]
)
def test_nelson_1998_navion_needs_every_derivative(without):
    """A fifth less of any one derivative shows: the computed column could not agree by luck."""
    found = _modes(mass=MASS, **{"Cnb": 0.071, without: 0.8 * navion(Cnb=0.071)[without]})
    with pytest.raises(AssertionError):
        agree_modes(found, COMPUTED, share=2e-4, source="")

"""Navion: Nelson, *Flight Stability and Automatic Control*, 2nd ed. 1998, App. B table B.1, examples ch. 4-5.

Coefficients from memory, consistent with SI values read elsewhere (1247.4 kg; 1420.9, 4067, 4786 kg m2); published
eigenvalues from memory.  Cnb is printed .071; the printed eigenvalues need .0701 (one copy of the table has it).
Compared as complex numbers, 1 % of |lambda|, spiral 5 %.
"""

from __future__ import annotations

from functools import cache, partial

import numpy as np

from sixdof.flight.linear import linearize, modes
from sixdof.physics.air import make_air
from sixdof.validation.check import Check, mode_checks
from sixdof.validation.planes import FOOT, POUND_FORCE, SLUG, plane_of, steady_of

V = 176.0 * FOOT
AIR = make_air(rho=0.002378 * SLUG / FOOT**3, g=32.2 * FOOT)
MASS = 1247.3790175  # kg, 2750 lb of mass; W/g with g 32.2 ft/s2 gives 0.08 % less
_INERTIA = SLUG * FOOT**2

PRINTED = {
    "phugoid": -0.0171 + 0.213j,
    "short period": -2.5 + 2.59j,
    "roll": -8.435,
    "Dutch roll": -0.487 + 2.335j,
    "spiral": -0.00877,
}
#: Trim and Jacobian of the full equations, computed by an independent program; Cnb .071, mass as above.
COMPUTED = {
    "phugoid": -0.016981132899 + 0.212011522063j,
    "short period": -2.509566462913 + 2.591872854511j,
    "roll": -8.436629600713,
    "Dutch roll": -0.485956569470 + 2.347083146612j,
    "spiral": -0.008350990458,
}


def navion(mass: float = 2750.0 / 32.2 * SLUG, **more: float) -> np.void:
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


def navion_modes(**more: float) -> dict[str, complex]:
    """Our modes, with some numbers of :func:`navion` set otherwise."""
    plane = navion(**more)
    return modes(linearize(plane, AIR, steady_of(plane, AIR, speed=V)))


def computed_checks(**more: float) -> list[Check]:
    """Against trim and Jacobian of the full equations."""
    row = partial(Check, "Navion by an independent program (same coefficients)", tag="computed")
    found = cache(partial(navion_modes, mass=MASS, **{"Cnb": 0.071, **more}))
    return mode_checks(row, found, COMPUTED, share=2e-4, why="both by finite differences")


def checks() -> list[Check]:
    """The printed eigenvalues; those of an independent program."""
    row = partial(Check, "Navion, Nelson 1998", tag="memory")
    why = "the book's forms drop small terms"
    found = cache(navion_modes)
    return [
        *mode_checks(row, found, PRINTED, share=0.01, special={"spiral": 0.05}, why=why),
        *computed_checks(),
    ]

"""Boeing 747 sideways: Etkin & Reid, *Dynamics of Flight*, 3rd ed. 1996, ch. 6 (pp. 166, 188).

Mach 0.8 at 40 000 ft, level.  Data read in a university course file (SI and US units) and a second copy; eigenvalues
from memory.  Exercises Ixz and the primed inertias.  The longitudinal modes need Mach derivatives that this model does
not have.  Within 0.2 % of |lambda|, spiral 0.5 %: what the printed set closes to.
"""

from __future__ import annotations

from functools import cache, partial

from sixdof.flight.linear import linearize, modes
from sixdof.physics.air import make_air
from sixdof.validation.check import Check, mode_checks
from sixdof.validation.planes import plane_of, steady_of

MASS, G, S, C, B, V, RHO = 2.83176e6 / 9.81, 9.81, 511.0, 8.324, 59.64, 235.9, 0.3045
Ix, Iy, Iz, Izx = 0.247e8, 0.449e8, 0.673e8, -0.212e7
# dimensional derivatives, N s/m and N m s/m, N m s
DIMENSIONAL = {
    "Yv": -1.610e4, "Lv": -3.062e5, "Lp": -1.076e7, "Lr": 9.925e6, "Nv": 2.131e5, "Np": -1.330e6, "Nr": -8.934e6,
}  # fmt: skip
# nondimensional, as printed beside them
PRINTED = {
    "CYb": -0.8771, "Clb": -0.2797, "Clp": -0.3295, "Clr": 0.304, "Cnb": 0.1946, "Cnp": -0.04073, "Cnr": -0.2737,
}  # fmt: skip
PUBLISHED = {"Dutch roll": -0.033011 + 0.94655j, "roll": -0.56248, "spiral": -0.0072973}
#: Independent eigenvalues of the same SI set, their last printed digit.
COMPUTED = {"Dutch roll": -0.033082 + 0.94698j, "roll": -0.56326, "spiral": -0.0072612}


def coefficients() -> dict[str, float]:
    """The dimensional set as coefficients."""
    half = 0.5 * RHO * V * S
    scale = {"Yv": half, "Lv": half * B, "Nv": half * B}
    scale |= {name: half * B * B / 2.0 for name in ("Lp", "Lr", "Np", "Nr")}
    names = dict(Yv="CYb", Lv="Clb", Nv="Cnb", Lp="Clp", Lr="Clr", Np="Cnp", Nr="Cnr")
    return {names[key]: value / scale[key] for key, value in DIMENSIONAL.items()}


@cache
def _modes() -> dict[str, complex]:
    # level at alpha 0: body axes are stability axes; without drag Y by sideslip is all in CYb
    CL = MASS * G / (0.5 * RHO * V**2 * S)
    plane = plane_of(
        MASS, (Ix, Iy, Iz, Izx), S, B, C, CL0=CL, CLa=5.0, Cma=-1.0, Cmq=-20.0, Cmde=-1.0,
        Clda=-0.01368, Cndr=-0.1257, ideal_thrust=1e6, **coefficients(),
    )  # fmt: skip
    air = make_air(rho=RHO, g=G)
    return modes(linearize(plane, air, steady_of(plane, air, speed=V)))


def checks() -> list[Check]:
    """The coefficients are the dimensional set; the lateral modes."""
    row = partial(Check, "Boeing 747 sideways, Etkin & Reid 1996")
    why = "as far as the printed dimensional set, of four digits, gives the printed coefficients"
    rows = [
        row(f"{name} from the dimensional set", PRINTED[name], value, tag="read", share=0.0015, why=why)
        for name, value in coefficients().items()
    ]
    why = "as far as the printed set closes by itself"
    special = {"spiral": 0.005}
    rows += mode_checks(row, _modes, PUBLISHED, share=0.002, special=special, tag="memory", why=why)
    why = "printed digits of the smaller part"
    return rows + mode_checks(row, _modes, COMPUTED, share=5e-5, prefix="SI set: ", tag="computed", why=why)

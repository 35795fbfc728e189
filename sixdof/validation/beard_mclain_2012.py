"""2.9 m pusher: Beard & McLain, *Small Unmanned Aircraft*, 2012, App. E (coefficients read).

Trims and modes computed from them by an independent program (thrust held along x).  Here drag has its own share of the
side force, so CYb + CD enters for a CYb that is the whole of it.  Limits: 1e-5 of |lambda|; trim to its printed digits.
A teaching set; some odd signs, kept.
"""

from __future__ import annotations

import math
from functools import cache, partial

from sixdof.flight.linear import linearize, modes
from sixdof.flight.trim import Trim
from sixdof.physics.air import make_air
from sixdof.validation.check import Check, mode_checks
from sixdof.validation.planes import DEG, plane_of, steady_of, trim_checks

# speed [m/s]: alpha, elevator [deg], thrust [N]; modes
COMPUTED: dict[float, tuple[tuple[float, float, float], dict[str, complex]]] = {
    25.0: ((4.70902, -6.25801, 11.95391), {
        "short period": -1.405092931 + 3.607937904j, "phugoid": -0.011359666 + 0.531325346j,
        "roll": -11.351261182, "Dutch roll": -3.882384454 + 8.978457753j, "spiral": -0.010776660}),
    35.0: ((0.19914, -2.83049, 13.26228), {
        "short period": -1.932414353 + 5.056057669j, "phugoid": -0.018592722 + 0.381054796j,
        "roll": -16.396150092, "Dutch roll": -5.176371035 + 12.316312884j, "spiral": -0.028637287}),
}  # fmt: skip


@cache
def _flown(V: float) -> tuple[Trim, dict[str, complex]]:
    (alpha, _, T), _ = COMPUTED[V]
    plane = plane_of(
        13.5, (0.8244, 1.135, 1.759, 0.1204), 0.55, 2.8956, 0.18994,
        CL0=0.28, CLa=3.45, CLde=-0.36, CD0=0.03, CDa=0.3, Cm0=-0.02338, Cma=-0.38, Cmq=-3.6, Cmde=-0.5,
        CYb=-0.98 + T * math.cos(alpha * DEG) / (0.5 * 1.2682 * V**2 * 0.55), CYdr=-0.17, Clb=-0.12, Clp=-0.26, Clr=0.14, Clda=0.08, Cldr=0.105,
        Cnb=0.25, Cnp=0.022, Cnr=-0.35, Cnda=0.06, Cndr=-0.032, ideal_thrust=100.0,
    )  # fmt: skip
    air = make_air(rho=1.2682)
    steady = steady_of(plane, air, speed=V)
    return steady, modes(linearize(plane, air, steady))


def _steady(V: float) -> Trim:
    return _flown(V)[0]


def _modes(V: float) -> dict[str, complex]:
    return _flown(V)[1]


def checks() -> list[Check]:
    """Trims and modes at two speeds."""
    row = partial(Check, "2.9 m pusher, Beard & McLain 2012", tag="computed")
    rows = []
    for V, (steady, published) in COMPUTED.items():
        prefix = f"{V:g} m/s: "
        rows += trim_checks(row, partial(_steady, V), steady, thrust=100.0, prefix=prefix)
        rows += mode_checks(
            row,
            partial(_modes, V),
            published,
            share=1e-5,
            prefix=prefix,
            why="both programs take derivatives by differences",
        )
    return rows

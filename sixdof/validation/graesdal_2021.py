"""2.5 m electric pusher: Graesdal, MSc thesis, NTNU 2021, the author's model file (coefficients read).

Trim and modes computed from them by an independent program (thrust held along x).  Here drag has its own share of the
side force, so CYb + CD enters for a CYb that is the whole of it.  Limits: 1e-5 of |lambda|; trim to its printed digits.
"""

from __future__ import annotations

import math
from functools import cache, partial

from sixdof.flight.linear import Linear, linearize, modes
from sixdof.flight.trim import Trim
from sixdof.physics.air import make_air
from sixdof.validation.check import Check, mode_checks
from sixdof.validation.planes import DEG, plane_of, steady_of, trim_checks

#: Trim, computed: alpha, elevator [deg].
ALPHA, ELEVATOR = 1.829447239821548, 4.0081322168774705
STEADY = (1.82945, 4.00813, 18.37695)  # with the thrust [N]
MODES = {
    "short period": -3.346860062 + 7.766776481j, "phugoid": -0.074561677 + 0.602127385j, "roll": -8.864625559,
    "Dutch roll": -0.913478387 + 4.941117563j, "spiral": 0.106540931,
}  # fmt: skip


@cache
def _flown() -> tuple[Trim, dict[str, complex]]:
    """At 21 m/s.  Terms by alpha squared and alpha times elevator enter by their tangent at the trim; drag by pitch
    rate, which the model does not have, is added to the matrix."""
    V, S, m, c, rho = 21.0, 0.6617, 12.14, 0.242, 1.225
    a0, de0 = ALPHA * DEG, ELEVATOR * DEG
    plane = plane_of(
        m, (0.7316, 1.0664, 1.6917, 0.12763), S, 2.5, c,
        CL0=0.46059 + 3.96926 * a0**2, CLa=5.32533 - 2.0 * 3.96926 * a0, CLde=0.52113,
        CD0=0.08202 - 0.44963 * a0 * de0, CDa=0.27178 + 0.44963 * de0, CDa2=1.80972, CDde=0.13177 + 0.44963 * a0,
        Cm0=0.094976, Cma=-1.494698, Cmq=-13.140207, Cmde=-0.67544, Cmdr2=-0.736842,
        CYb=-0.730986 + STEADY[2] * math.cos(a0) / (0.5 * rho * V**2 * S), CYp=1.077758, CYda=-0.34145, CYdr=0.337148,
        Clb=-0.035352, Clp=-0.241856, Clr=0.095259, Clda=0.123591,
        Cnb=0.075888, Cnp=-0.082344, Cnr=-0.075229, Cndr=-0.053717,
        ideal_thrust=100.0,
    )  # fmt: skip
    air = make_air(rho=rho, g=9.81)
    steady = steady_of(plane, air, speed=V)
    linear = linearize(plane, air, steady)
    A = linear.A.copy()
    drag = 0.5 * rho * V * S * 10.1025 * 0.5 * c / m  # per rad/s
    A[0, 2] -= drag * math.cos(steady.alpha)
    A[1, 2] -= drag * math.sin(steady.alpha)
    return steady, modes(Linear(A, linear.B))


def checks() -> list[Check]:
    """Trim and modes."""
    row = partial(Check, "2.5 m electric pusher, Graesdal 2021", tag="computed")
    rows = trim_checks(row, lambda: _flown()[0], STEADY, thrust=100.0)
    return rows + mode_checks(
        row, lambda: _flown()[1], MODES, share=1e-5, why="both programs take derivatives by differences"
    )

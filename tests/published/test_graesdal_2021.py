"""2.5 m electric pusher: Graesdal, MSc thesis, NTNU 2021, the author's model file (coefficients read).

Trim and modes computed from them by an independent program (thrust held along x).  Here drag has its
own share of the side force, so CYb + CD enters for a CYb that is the whole of it.
Limits: 1e-5 of |lambda|; trim 0.01 deg and 0.1 %.
"""

from __future__ import annotations

import math

from support import DEG, agree, agree_modes, plane_of

from sixdof.flight.linear import Linear, linearize, modes
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air

COMPUTED = "modes computed from the published coefficients"


def test_graesdal_2021_modes():
    """2.5 m pusher at 21 m/s.  Terms by alpha squared and alpha times elevator enter by their tangent at
    the trim; drag by pitch rate, which the model does not have, is added to the matrix."""
    V, S, m, c, rho = 21.0, 0.6617, 12.14, 0.242, 1.225
    a0, de0 = 1.829447239821548 * DEG, 4.0081322168774705 * DEG  # trim, computed
    plane = plane_of(
        m, (0.7316, 1.0664, 1.6917, 0.12763), S, 2.5, c,
        CL0=0.46059 + 3.96926 * a0**2, CLa=5.32533 - 2.0 * 3.96926 * a0, CLde=0.52113,
        CD0=0.08202 - 0.44963 * a0 * de0, CDa=0.27178 + 0.44963 * de0, CDa2=1.80972, CDde=0.13177 + 0.44963 * a0,
        Cm0=0.094976, Cma=-1.494698, Cmq=-13.140207, Cmde=-0.67544, Cmdr2=-0.736842,
        CYb=-0.730986 + 18.37695 * math.cos(a0) / (0.5 * rho * V**2 * S), CYp=1.077758, CYda=-0.34145, CYdr=0.337148,
        Clb=-0.035352, Clp=-0.241856, Clr=0.095259, Clda=0.123591,
        Cnb=0.075888, Cnp=-0.082344, Cnr=-0.075229, Cndr=-0.053717,
        ideal_thrust=100.0,
    )  # fmt: skip
    air = make_air(rho=rho, g=9.81)
    steady = trim(plane, air, speed=V)
    assert steady.converged, steady
    agree("alpha [deg]", steady.alpha / DEG, 1.82945, within=0.01, source=COMPUTED)
    agree("elevator [deg]", steady.targets[2] / DEG, 4.00813, within=0.01, source=COMPUTED)
    agree("thrust [N]", steady.targets[5] * 100.0, 18.37695, share=1e-3, source=COMPUTED)
    linear = linearize(plane, air, steady)
    A = linear.A.copy()
    drag = 0.5 * rho * V * S * 10.1025 * 0.5 * c / m  # per rad/s
    A[0, 2] -= drag * math.cos(steady.alpha)
    A[1, 2] -= drag * math.sin(steady.alpha)
    computed = {
        "short period": -3.346860062 + 7.766776481j, "phugoid": -0.074561677 + 0.602127385j,
        "roll": -8.864625559, "Dutch roll": -0.913478387 + 4.941117563j, "spiral": 0.106540931,
    }  # fmt: skip
    agree_modes(modes(Linear(A, linear.B)), computed, share=1e-5, source=COMPUTED)

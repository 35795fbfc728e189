"""Thrust and torque of a propeller from its size, anchored by a static measurement."""

from __future__ import annotations

import numpy as np

from sixdof.airframe.model import Motor, Propeller
from sixdof.physics.air import RHO0
from sixdof.physics.record import PROP_POINTS

#: Advance ratio of zero thrust over pitch/diameter, 1.19 to 1.33 over six measured propellers
#: (UIUC Propeller Database, Vols 1-3, computed from its rows).
ZERO_THRUST = 1.25
#: Advance ratio of zero power beyond that of zero thrust: 0.07 to 0.11 extrapolated from the same rows.
WINDMILL = 0.10
#: Shape of the curves, 1 - (J/J0)^k, read off the 10x7 in propeller of the same data.
_THRUST_SHAPE, _POWER_SHAPE = 1.65, 3.0
#: Drag coefficient of a stopped blade broadside and share of the disc its blades cover
#: (Hoerner, Fluid-Dynamic Drag, from memory; common practice, no source).
_STOPPED_CD, _SOLIDITY = 1.1, 0.06


def static_coefficients(propeller: Propeller, motor: Motor) -> tuple[float, float]:
    """Static CT and CP: measured where the file says so, else by pitch over diameter.

    CT = T/(rho n^2 D^4), CP = P/(rho n^3 D^5).  Without a measurement: CT 0.09 at P/D 0.5 to
    0.115 from 0.6, CP 0.030 at 0.5 and 0.052 at 0.67 (UIUC Propeller Database, static rows).
    """
    n, D = motor.static_speed / (2.0 * np.pi), propeller.diameter
    ratio = propeller.pitch / D
    ct = float(np.interp(ratio, [0.3, 0.5, 0.6, 1.0], [0.065, 0.09, 0.115, 0.115]))
    cp = float(np.clip(0.030 + 0.13 * (ratio - 0.5), 0.015, 0.12))
    scale = propeller.blades / 2.0
    ct, cp = ct * scale**0.8, cp * scale**0.8
    if motor.static_thrust:
        ct = motor.static_thrust / (RHO0 * n**2 * D**4)
    if motor.static_power:
        cp = motor.static_power / (RHO0 * n**3 * D**5)
    return ct, cp


def propeller_tables(
    diameter: float, pitch: float, blades: int, ct_static: float, cp_static: float
) -> tuple[np.ndarray, np.ndarray]:
    """Tables of thrust and torque over s = V / sqrt(V^2 + (nD)^2).

    Parameters
    ----------
    diameter, pitch : float [m]
    blades : int
    ct_static, cp_static : float
        CT and CP at standstill.

    Returns
    -------
    ct, cq : array (PROP_POINTS,)
        T / (rho D^2 (V^2 + (nD)^2)) and Q / (rho D^3 (V^2 + (nD)^2)).
    """
    s = np.linspace(0.0, 1.0, PROP_POINTS)
    zero_thrust = ZERO_THRUST * pitch / diameter
    windmill = zero_thrust + WINDMILL
    last = 1.2 * windmill  # from here on toward the stopped propeller
    J = s / np.sqrt(np.maximum(1.0 - s**2, 1e-12))
    inside = np.minimum(J, last)
    ct = ct_static * (1.0 - (inside / zero_thrust) ** _THRUST_SHAPE)
    cq = cp_static / (2.0 * np.pi) * (1.0 - (inside / windmill) ** _POWER_SHAPE)
    share = 1.0 / (1.0 + inside**2)  # (nD)^2 / (V^2 + (nD)^2)
    ct, cq = ct * share, cq * share
    stopped = -0.5 * _STOPPED_CD * _SOLIDITY * blades / 2.0 * np.pi / 4.0
    s_last = last / np.sqrt(1.0 + last**2)
    beyond = np.clip((s - s_last) / (1.0 - s_last), 0.0, 1.0)
    ct = ct + beyond * (stopped - ct)
    cq = cq + beyond * (0.3 * stopped - cq)
    return ct, cq


def motor_line(propeller: Propeller, motor: Motor, cp_static: float) -> tuple[float, float]:
    """No-load speed [rad/s] and torque lost per speed gained [N m s] of a motor.

    The line passes through the static point: torque of the propeller at its static speed.
    """
    n = motor.static_speed / (2.0 * np.pi)
    torque = cp_static * RHO0 * n**2 * propeller.diameter**5 / (2.0 * np.pi)
    no_load = motor.no_load * motor.static_speed
    return no_load, torque / (no_load - motor.static_speed)

"""Drag from level passes timed at full throttle: thrust is drag there."""

from __future__ import annotations

import math

from scipy.optimize import brentq

from sixdof.airframe.model import Airframe
from sixdof.estimate.propeller import PropellerEstimate, estimate_propeller, motor_line
from sixdof.physics.air import RHO0
from sixdof.physics.propulsion import table

__all__ = ["drag_from_passes", "thrust_at"]

#: How well a speed is known that was timed both ways, relative; common practice, no source.
_TIMING = 0.03
#: Items of the propeller whose doubt reaches the thrust at speed.
_ITEMS = ("static_ct", "static_cp", "zero_thrust", "zero_power")


def thrust_at(airframe: Airframe, estimate: PropellerEstimate, V: float) -> float:
    """Thrust [N] at full throttle and speed V [m/s], near the sea."""
    D = airframe.propeller.diameter
    no_load, stiffness = motor_line(airframe.propeller, airframe.motor, estimate.static_cp)

    def left(omega: float) -> float:
        nD = omega * D / (2.0 * math.pi)
        square = V * V + nD * nD
        return stiffness * (no_load - omega) - RHO0 * D**3 * square * table(
            estimate.cq, V / math.sqrt(square)
        )

    top = 3.0 * no_load
    while left(top) > 0.0:  # far faster than the propeller can pull, it windmills
        top *= 2.0
    omega = brentq(left, 0.0, top)
    nD = omega * D / (2.0 * math.pi)
    square = V * V + nD * nD
    return RHO0 * D * D * square * table(estimate.ct, V / math.sqrt(square))


def drag_from_passes(airframe: Airframe, *, S: float, lift_drag: float) -> tuple[float, float] | None:
    """CD0 and its relative standard deviation from the level speed at full throttle.

    Parameters
    ----------
    airframe : Airframe
    S : float [m2]
        Reference area.
    lift_drag : float
        Drag coefficient that comes with the lift at that speed.

    Returns
    -------
    tuple or None
        None where no such speed was timed, or no thrust is left at it.
    """
    V = airframe.speeds.full_throttle
    if V is None:
        return None
    propeller, motor = airframe.propeller, airframe.motor
    estimate = estimate_propeller(propeller, motor)
    thrust, area = thrust_at(airframe, estimate, V), 0.5 * RHO0 * V * V * S
    CD0 = thrust / area - lift_drag
    if CD0 <= 0.0:
        return None
    moved = [2.0 * _TIMING * (CD0 + lift_drag)]
    moved.append(_TIMING * V * (thrust_at(airframe, estimate, 1.01 * V) - thrust) / (0.01 * V) / area)
    for item in _ITEMS:
        other = estimate_propeller(propeller, motor, factors={item: 1.0 + estimate.sigma[item]})
        moved.append((thrust_at(airframe, other, V) - thrust) / area)
    return CD0, math.hypot(moved[0] - moved[1], *moved[2:]) / CD0

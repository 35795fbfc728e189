"""Thrust and torque of a propeller from its size and a static measurement, with their doubt.

Six measured propellers, 9x6 to 14x8 in, two blades, 5000 to 6700 rpm (UIUC Propeller Database, Vols 1-3,
read; what follows is computed from its rows) say:

- thrust ends at an advance ratio J0 near 1.27 pitch/diameter;
- at standstill, CT = K (J0 - w): the blade's angle from zero thrust, with w = sqrt(2 CT/pi) the induced
  speed over nD.  K is the area of the blades, so it goes with their number;
- at standstill, power is thrust times about half the speed of zero thrust, CP = 0.53 J0 CT, and never
  less than induced power at the best figure of merit seen, 0.75;
- more thrust than expected means more pitch than stamped: J0 goes with its power 0.4;
- torque ends where the air, braked by the propeller, gives just the profile power of the blades,
  -CT J = 0.0117 for two of them, as long as thrust falls on along its tangent at J0;
- CT/CT(0) over J/J0 and CP/CP(0) over J/J(CP = 0) fall on one line each.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from sixdof.airframe.model import Motor, Propeller
from sixdof.estimate.blades import CROSSFLOW_SIGMA, broadside, crossflow
from sixdof.physics.air import RHO0
from sixdof.physics.record import PROP_POINTS

__all__ = ["ITEMS", "PropellerEstimate", "estimate_propeller", "motor_line", "propeller_tables"]

#: What is estimated, doubted and can be varied.
ITEMS = ("static_ct", "static_cp", "zero_thrust", "zero_power", "crossflow_force", "crossflow_moment")

# Means over the six propellers; in brackets the range.
_ZERO_THRUST = 1.27  # J0 over pitch/diameter (1.19 to 1.36)
_SLOPE = 0.22  # K of two blades (0.20 to 0.24)
_STALL = 0.55  # J0 - w beyond which the blades stall and pull no more (highest seen: 0.58)
_POWER = 0.53  # CP / (J0 CT) at standstill (0.47 to 0.57)
_BEST_MERIT = 0.75  # w CT / CP at standstill (0.60 to 0.75)
_PITCH_FROM_THRUST = 0.4  # power of measured over expected static CT that J0 goes with
_PROFILE = 0.0117  # -CT J of two blades where torque ends (0.010 to 0.014, extrapolated by 0.05 in J)
# CT/CT(0) and CP/CP(0) are (1 - x)(1 + c1 x + c2 x^2 + c3 x^3), least squares over all rows
_THRUST_SHAPE = (-0.606, -0.105, 0.916, 1.0)
_POWER_SHAPE = (-2.343, 2.341, 1.215, 1.0)
#: Drag coefficient of a stopped blade broadside (Hoerner, Fluid-Dynamic Drag, from memory: 1.0 to 1.2).
_STOPPED_CD = 1.1

# Doubt, relative.  Size alone: leave-one-out over the six (root mean square 0.07, 0.08, 0.06; 0.04 of zero
# thrust with measured thrust), times 1.5, since there are only two makers.
_SIZE_ONLY = {"static_ct": 0.12, "static_cp": 0.10, "zero_thrust": 0.08}
_WITH_THRUST = 0.055
#: The same of how far zero power lies beyond zero thrust; most of it is extrapolation.
_BEYOND_SIGMA = 0.3
# Measured (common practice, no source): scale 3 %, power at the shaft 5 %, tachometer 1 % of n.
_MEASURED = {"static_ct": math.hypot(0.03, 2 * 0.01), "static_cp": math.hypot(0.05, 3 * 0.01)}

_S = np.linspace(0.0, 1.0, PROP_POINTS)
_J = _S / np.sqrt(np.maximum(1.0 - _S**2, 1e-12))


@dataclass(frozen=True, eq=False)
class PropellerEstimate:
    """What a propeller does, and how sure that is.

    Attributes
    ----------
    ct, cq : array (PROP_POINTS,)
        Tables over s = V / sqrt(V^2 + (nD)^2): T / (rho D^2 (V^2 + (nD)^2)) and
        Q / (rho D^3 (V^2 + (nD)^2)).
    static_ct, static_cp : float
        T / (rho n^2 D^4) and P / (rho n^3 D^5) at standstill.
    zero_thrust, zero_power : float
        Advance ratios V / (nD) where thrust and torque end.
    crossflow_force, crossflow_moment : float
        kappa_N and kappa_M of :func:`sixdof.physics.propulsion.propeller_loads`.
    sigma : dict of str to float
        Relative standard deviation of each of `ITEMS`, given those it is figured from.
    source : dict of str to str
        Where each of `ITEMS` comes from.
    """

    ct: np.ndarray
    cq: np.ndarray
    static_ct: float
    static_cp: float
    zero_thrust: float
    zero_power: float
    crossflow_force: float
    crossflow_moment: float
    sigma: dict[str, float]
    source: dict[str, str]


def estimate_propeller(
    propeller: Propeller, motor: Motor, *, factors: Mapping[str, float | np.ndarray] | None = None
) -> PropellerEstimate:
    """Estimate a propeller from its size and what was measured at standstill.

    Parameters
    ----------
    propeller : Propeller
    motor : Motor
        Its static speed, and static thrust or power where measured.
    factors : mapping of str to (float or array (n,)), optional
        Multiply items of the estimate, to vary it or to draw from the doubt.  What is figured from an
        item follows it: zero power and the crossflow moment follow zero thrust; zero power, and a static
        power that nobody measured, follow static thrust.

    Returns
    -------
    PropellerEstimate
        With arrays (n,) among the factors its numbers are arrays too, and its tables (n, PROP_POINTS).

    Raises
    ------
    ValueError
        A factor for anything not in `ITEMS`.
    """
    return _estimate(propeller, motor, factors) if factors else _usual_estimate(propeller, motor)


@lru_cache(maxsize=64)
def _usual_estimate(propeller: Propeller, motor: Motor) -> PropellerEstimate:
    return _estimate(propeller, motor, {})


def _estimate(
    propeller: Propeller, motor: Motor, factors: Mapping[str, float | np.ndarray]
) -> PropellerEstimate:
    scaled: dict[str, Any] = dict.fromkeys(ITEMS, 1.0) | dict(factors)
    if len(scaled) > len(ITEMS):
        raise ValueError(f"factors: {', '.join(set(scaled) - set(ITEMS))} unknown; known: {', '.join(ITEMS)}")
    n, D = motor.static_speed / (2.0 * math.pi), propeller.diameter
    zero_thrust = _ZERO_THRUST * propeller.pitch / D
    expected = _expected_thrust(zero_thrust, propeller.blades)
    ct, cp = expected, None
    if motor.static_power is not None:
        cp = motor.static_power / (RHO0 * n**3 * D**5)
        # power goes with thrust times zero-thrust speed, which goes with thrust itself
        ct = expected * float(cp / _expected_power(expected, zero_thrust)) ** (
            1.0 / (1.0 + _PITCH_FROM_THRUST)
        )
    if motor.static_thrust is not None:
        ct = motor.static_thrust / (RHO0 * n**2 * D**4)
    # a measurement far from all experience is a mistake, or a propeller of another kind: followed so far
    zero_thrust *= min(max(ct / expected, 0.5), 2.0) ** _PITCH_FROM_THRUST

    zero_thrust *= scaled["zero_thrust"]
    ct *= scaled["static_ct"]
    cp = (_expected_power(ct, zero_thrust) if cp is None else cp) * scaled["static_cp"]
    usual_end = _expected_zero_power(ct, zero_thrust, propeller.blades)
    zero_power = np.maximum(usual_end * scaled["zero_power"], 1.02 * zero_thrust)
    force, moment = crossflow(propeller, zero_thrust)
    return PropellerEstimate(
        *propeller_tables(propeller, ct, cp, zero_thrust, zero_power),
        static_ct=_plain(ct),
        static_cp=_plain(cp),
        zero_thrust=_plain(zero_thrust),
        zero_power=_plain(zero_power),
        crossflow_force=_plain(force * scaled["crossflow_force"]),
        crossflow_moment=_plain(moment * scaled["crossflow_moment"]),
        sigma=_sigma(motor) | {"zero_power": _plain(_BEYOND_SIGMA * (1.0 - zero_thrust / usual_end))},
        source=_source(propeller, motor),
    )


def _plain(x: Any) -> Any:
    """An array as it is, one number as a float."""
    return x if np.ndim(x) else float(x)


def propeller_tables(
    propeller: Propeller, static_ct: Any, static_cp: Any, zero_thrust: Any, zero_power: Any
) -> tuple[np.ndarray, np.ndarray]:
    """Tables of thrust and torque; arguments and returns as in :class:`PropellerEstimate`.

    Beyond 1.2 times the advance ratio of zero power they go straight to the stopped propeller: a
    plate broadside, whose force stands square on the blade and so turns it by pitch / (2 pi) as arm.
    """
    static_ct, static_cp, zero_thrust, zero_power = (
        np.asarray(x, dtype=float)[..., None] for x in (static_ct, static_cp, zero_thrust, zero_power)
    )
    last = 1.2 * zero_power
    J = np.minimum(_J, last)
    share = 1.0 / (1.0 + J**2)  # (nD)^2 / (V^2 + (nD)^2)
    ct = static_ct * share * _curve(_THRUST_SHAPE, J / zero_thrust)
    cq = static_cp / (2.0 * math.pi) * share * _curve(_POWER_SHAPE, J / zero_power)
    stopped = -0.5 * _STOPPED_CD * broadside(propeller) * math.pi / 4.0
    s_last = last / np.sqrt(1.0 + last**2)
    beyond = np.maximum((_S - s_last) / (1.0 - s_last), 0.0)
    ct += beyond * (stopped - ct)
    cq += beyond * (stopped * propeller.pitch / propeller.diameter / (2.0 * math.pi) - cq)
    return ct, cq


def motor_line(propeller: Propeller, motor: Motor, cp_static: Any) -> tuple[float, Any]:
    """No-load speed [rad/s] and torque lost per speed gained [N m s] of a motor.

    The line passes through the static point: torque of the propeller at its static speed.
    """
    n = motor.static_speed / (2.0 * np.pi)
    torque = cp_static * RHO0 * n**2 * propeller.diameter**5 / (2.0 * np.pi)
    no_load = motor.no_load * motor.static_speed
    return no_load, torque / (no_load - motor.static_speed)


def _expected_thrust(zero_thrust: float, blades: int) -> float:
    """Static CT = K (J0 - sqrt(2 CT/pi)), solved for CT; no more than where the blades stall."""
    K = _SLOPE * blades / 2.0
    half = 0.5 * K * math.sqrt(2.0 / math.pi)
    root = math.sqrt(half * half + K * zero_thrust) - half
    return min(root * root, K * _STALL)


def _expected_power(static_ct: Any, zero_thrust: Any) -> Any:
    """Static CP."""
    induced = np.sqrt(2.0 * static_ct / math.pi)
    return static_ct * np.maximum(_POWER * zero_thrust, induced / _BEST_MERIT)


def _expected_zero_power(static_ct: Any, zero_thrust: Any, blades: int) -> Any:
    """Advance ratio J of zero power: slope (J - J0) J = profile power."""
    slope = static_ct / zero_thrust * sum(_THRUST_SHAPE)
    return 0.5 * zero_thrust + np.sqrt(0.25 * zero_thrust * zero_thrust + _PROFILE * blades / 2.0 / slope)


def _curve(shape: tuple[float, ...], x: np.ndarray) -> np.ndarray:
    """Share of the static value at x of the way to zero; goes on along its tangent beyond."""
    inside = np.minimum(x, 1.0)
    c3, c2, c1, c0 = shape
    return (1.0 - x) * (c0 + inside * (c1 + inside * (c2 + inside * c3)))


def _sigma(motor: Motor) -> dict[str, float]:
    sigma = _SIZE_ONLY | CROSSFLOW_SIGMA
    if motor.static_power is not None:
        sigma |= {"static_cp": _MEASURED["static_cp"], "static_ct": 0.10, "zero_thrust": _WITH_THRUST}
    if motor.static_thrust is not None:
        sigma |= {"static_ct": _MEASURED["static_ct"], "zero_thrust": _WITH_THRUST}
    return sigma


def _source(propeller: Propeller, motor: Motor) -> dict[str, str]:
    size, blade = "from diameter and pitch, as six measured propellers", "blade elements, usual blade"
    thrust, power = motor.static_thrust is not None, motor.static_power is not None
    if propeller.blade_chord is not None:
        blade = "blade elements, measured chord"
    anchored = f"{size}, and the static {'thrust' if thrust else 'power'}" if thrust or power else size
    return {
        "static_ct": "measured static thrust" if thrust else anchored,
        "static_cp": "measured static power" if power else anchored,
        "zero_thrust": anchored,
        "zero_power": anchored,
        "crossflow_force": blade,
        "crossflow_moment": blade,
    }

"""An airplane as the kernels see it: geometry to the CG, linkage, propeller tables, trims."""

from __future__ import annotations

import math

import numpy as np

from sixdof.airframe.errors import InputError
from sixdof.airframe.model import Airframe
from sixdof.estimate.derivatives import NAMES, Derivatives
from sixdof.estimate.layers import estimate_derivatives
from sixdof.estimate.propeller import estimate_propeller, motor_line
from sixdof.flight.linear import linearize
from sixdof.flight.trim import Trim, trim
from sixdof.physics.air import make_air
from sixdof.physics.record import new_plane, set_inertia

_HALF = 0.5 * math.pi
TRIM_HEIGHT = 100.0  # m above the field, where the airplane is trimmed


def pack(
    airframe: Airframe, derivatives: Derivatives | None = None, *, rate: str | None = None
) -> np.ndarray:
    """Plane record of an airframe, trimmed once at its cruise setting.

    Parameters
    ----------
    airframe : Airframe
    derivatives : Derivatives, optional
        Default: estimated from the airframe.
    rate : str, optional
        Name of the rate whose throws count; default the first of the file.

    Returns
    -------
    array (1,) of :data:`sixdof.physics.record.PLANE_DTYPE`

    Raises
    ------
    InputError
        Unknown rate, or no steady level flight at cruise.
    """
    known = derivatives or estimate_derivatives(airframe)
    planes = new_plane()
    plane = planes[0]
    for name, value in zip(NAMES, known.value, strict=True):
        plane[name] = value
    plane["S"], plane["b"], plane["c"] = known.S, known.b, known.c
    mass = airframe.mass
    plane["mass"] = mass.m
    set_inertia(plane, mass.Ixx, mass.Iyy, mass.Izz, mass.Ixz, mass.Ixy, mass.Iyz)
    plane["ref_x"], plane["ref_y"], plane["ref_z"] = np.subtract(known.point, mass.cg)
    _pack_power(plane, airframe)
    _pack_controls(plane, airframe, rate or airframe.default_rate)
    plane["g_positive"], plane["g_negative"] = airframe.limits.g_positive, -airframe.limits.g_negative
    plane["never_exceed"] = airframe.speeds.never_exceed
    set_trim(plane, airframe.speeds.cruise, where=airframe.path)
    return planes


def _pack_power(plane: np.void, airframe: Airframe) -> None:
    propeller, motor = airframe.propeller, airframe.motor
    estimate = estimate_propeller(propeller, motor)
    plane["ct"], plane["cq"] = estimate.ct, estimate.cq
    plane["motor_no_load"], plane["motor_stiffness"] = motor_line(propeller, motor, estimate.static_cp)
    plane["motor_idle"], plane["motor_brake"] = motor.idle, float(motor.brake)
    plane["prop_D"], plane["prop_pitch"] = propeller.diameter, propeller.pitch
    plane["prop_turn"], plane["prop_inertia"] = 1.0 if propeller.clockwise else -1.0, propeller.inertia
    plane["prop_x"], plane["prop_y"], plane["prop_z"] = np.subtract(propeller.position, airframe.mass.cg)
    down, right = propeller.down_thrust, propeller.right_thrust
    plane["axis_x"] = math.cos(down) * math.cos(right)
    plane["axis_y"] = math.cos(down) * math.sin(right)
    plane["axis_z"] = math.sin(down)


def _pack_controls(plane: np.void, airframe: Airframe, rate: str) -> None:
    if rate not in airframe.rates:
        raise InputError(
            f"rates: {rate!r} is not a rate of this file; it has {', '.join(airframe.rates)}",
            file=airframe.path,
        )
    throws = airframe.rates[rate]
    plane["aileron_up"], plane["aileron_down"] = throws.aileron.up, throws.aileron.down
    plane["elevator_up"], plane["elevator_down"] = throws.elevator.up, throws.elevator.down
    plane["rudder_left"], plane["rudder_right"] = throws.rudder.left, throws.rudder.right
    plane["flap_down"] = throws.flap.down
    plane["frame"] = airframe.radio.frame
    full = {
        "aileron": throws.aileron.up,
        "elevator": throws.elevator.up,
        "rudder": throws.rudder.right,
        "flap": throws.flap.down,
    }
    for channel, throw in full.items():
        servo = getattr(airframe.servos, channel)
        if channel != "flap":
            plane[f"{channel}_expo"] = getattr(throws, channel).expo
        plane[f"{channel}_rate"], plane[f"{channel}_lag"] = servo.rate, max(servo.lag, 0.005)
        plane[f"{channel}_slop"], plane[f"{channel}_step"] = servo.slop, servo.step * throw


def set_trim(plane: np.void, cruise: float, *, where: str = "") -> Trim:
    """Trim the record at cruise, and let the pilot get to know it.

    Writes the trims that make level flight at ``cruise`` [m/s] hands-off, the turn of the path
    that full sticks bring there, and the sticks of inverted and knife-edge flight.
    """
    air = make_air()
    for channel in ("aileron", "elevator", "rudder"):
        plane[f"{channel}_trim"] = 0.0
    level = trim(plane, air, speed=cruise, height=TRIM_HEIGHT)
    if not level.reachable:
        raise InputError(
            f"speeds.cruise: no steady level flight at {cruise:.1f} m/s inside the travel of the sticks; "
            "a faster cruise, more thrust, or another CG is needed",
            file=where,
        )
    for channel in ("aileron", "elevator", "rudder"):
        plane[f"{channel}_trim"] = level.sticks[channel]
    plane["cruise"] = cruise
    linear = linearize(plane, air, level)
    A, B = linear.A, linear.B
    roll = -B[5, 0] / A[5, 5]
    pitch = np.linalg.solve(A[1:3, 1:3], -B[1:3, 1])[1]
    sideways = [4, 6]
    yaw = np.linalg.solve(A[np.ix_(sideways, sideways)], -B[sideways, 2])[1]
    plane["roll_rate"] = abs(roll) * 0.5 * (plane["aileron_up"] + plane["aileron_down"])
    plane["canopy_rate"] = abs(pitch) * plane["elevator_up"]
    plane["wing_rate"] = abs(yaw) * plane["rudder_right"]
    inverted = trim(plane, air, speed=cruise, bank=math.pi, height=TRIM_HEIGHT)
    plane["inverted_elevator"] = inverted.sticks["elevator"] if inverted.converged else 0.0
    for side, bank, most in (("left", _HALF, -1.0), ("right", -_HALF, 1.0)):
        knife = trim(plane, air, speed=cruise, bank=bank, height=TRIM_HEIGHT)
        found = (
            knife.sticks["rudder"] if knife.converged and abs(knife.sticks["rudder"]) <= 1.0 else 0.6 * most
        )
        plane[f"knife_rudder_{side}"] = found
    return level

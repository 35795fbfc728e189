"""An airplane as the kernels see it: geometry to the CG, linkage, propeller tables, trims."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from sixdof.airframe.mass import MassProperties
from sixdof.airframe.model import Airframe
from sixdof.airframe.radio import Rate
from sixdof.estimate.derivatives import NAMES, Derivatives
from sixdof.estimate.propeller import PropellerEstimate, estimate_propeller, motor_line
from sixdof.flight.linear import small_motions
from sixdof.flight.stiffness import longest_step
from sixdof.flight.trim import trim_batch
from sixdof.physics.air import make_air
from sixdof.physics.record import new_plane, set_inertia

_LEAST_LAG = 0.005  # of a servo [s]; below it the step error grows past its aim, 0.02 deg
_HALF = 0.5 * math.pi
_TRIMMED = ("aileron", "elevator", "rudder")
TRIM_HEIGHT = 100.0  # m above the field, where the airplane is trimmed


def new_record(airframe: Airframe, known: Derivatives, propeller: PropellerEstimate) -> np.ndarray:
    """Plane record (1,) without linkage and trims; see :class:`sixdof.flight.airplane.Airplane`."""
    planes = new_plane()
    plane = planes[0]
    for name, value in zip(NAMES, known.value, strict=True):
        plane[name] = value
    plane["S"], plane["b"], plane["c"] = known.S, known.b, known.c
    mass = airframe.mass
    plane["mass"] = mass.m
    set_inertia(plane, mass.Ixx, mass.Iyy, mass.Izz, mass.Ixz, mass.Ixy, mass.Iyz)
    plane["ref_x"], plane["ref_y"], plane["ref_z"] = np.subtract(known.point, mass.cg)
    _set_power(plane, airframe, propeller)
    plane["g_positive"], plane["g_negative"] = airframe.limits.g_positive, -airframe.limits.g_negative
    plane["never_exceed"] = airframe.speeds.never_exceed
    return planes


def _set_power(plane: np.void, airframe: Airframe, estimate: PropellerEstimate) -> None:
    propeller, motor = airframe.propeller, airframe.motor
    _set_curves(plane, airframe, estimate)
    plane["motor_idle"], plane["motor_brake"] = motor.idle, float(motor.brake)
    plane["prop_D"], plane["prop_pitch"] = propeller.diameter, propeller.pitch
    plane["prop_turn"], plane["prop_inertia"] = 1.0 if propeller.clockwise else -1.0, propeller.inertia
    plane["prop_x"], plane["prop_y"], plane["prop_z"] = np.subtract(propeller.position, airframe.mass.cg)
    _set_thrust_line(plane, propeller.down_thrust, propeller.right_thrust)


def _set_thrust_line(
    plane: np.void | np.ndarray, down: float | np.ndarray, right: float | np.ndarray
) -> None:
    """Write the thrust axis, tilted down and to the right [rad]."""
    plane["axis_x"] = np.cos(down) * np.cos(right)
    plane["axis_y"] = np.cos(down) * np.sin(right)
    plane["axis_z"] = np.sin(down)


def _set_curves(plane: np.void | np.ndarray, airframe: Airframe, estimate: PropellerEstimate) -> None:
    """Write the propeller's tables and the motor that goes with them."""
    plane["ct"], plane["cq"] = estimate.ct, estimate.cq
    plane["motor_no_load"], plane["motor_stiffness"] = motor_line(
        airframe.propeller, airframe.motor, estimate.static_cp
    )


def move_parts(planes: np.ndarray, airframe: Airframe, off: Mapping[str, np.ndarray], chord: float) -> None:
    """Move the place of the CG, inertia, propeller and thrust line of records that are equal so far.

    Parameters
    ----------
    planes : records (n,)
        Of :func:`new_record`.
    airframe : Airframe
        They were made of.
    off : mapping of str to array (n,)
        Of :func:`sixdof.estimate.doubt.parts_moved`.
    chord : float [m]
        What the CG's shifts are a share of.
    """
    propeller = airframe.propeller
    for axis in "xyz":
        shift = off[f"cg_{axis}"] * chord
        planes[f"ref_{axis}"] -= shift
        planes[f"prop_{axis}"] -= shift
    _scale_inertia(planes, airframe.mass, *(np.exp(off[name]) for name in ("Ixx", "Iyy", "Izz")))
    factors = {name: np.exp(off[name]) for name in ("static_ct", "static_cp", "zero_thrust", "zero_power")}
    _set_curves(planes, airframe, estimate_propeller(propeller, airframe.motor, factors=factors))
    _set_thrust_line(
        planes, propeller.down_thrust + off["thrust_down"], propeller.right_thrust + off["thrust_right"]
    )


def _scale_inertia(
    planes: np.ndarray, mass: MassProperties, roll: np.ndarray, pitch: np.ndarray, yaw: np.ndarray
) -> None:
    """Multiply the moments of inertia, in yaw within what a body can have; the products go with them."""
    Ixx, Iyy, Izz = mass.Ixx * roll, mass.Iyy * pitch, mass.Izz * yaw
    # a file may state the very edge, a flat plate
    most = max(0.999, (1.0 + 1e-9) * mass.Izz / (mass.Ixx + mass.Iyy))
    least = min(1.001, (1.0 - 1e-9) * mass.Izz / max(abs(mass.Ixx - mass.Iyy), 1e-9 * mass.Izz))
    set_inertia(
        planes, Ixx, Iyy, np.clip(Izz, least * np.abs(Ixx - Iyy), most * (Ixx + Iyy)),
        mass.Ixz * np.sqrt(roll * yaw), mass.Ixy * np.sqrt(roll * pitch), mass.Iyz * np.sqrt(pitch * yaw),
    )  # fmt: skip


def set_controls(plane: np.void, airframe: Airframe, throws: Rate) -> None:
    """Write linkage and servos at the throws of a rate into a plane record."""
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
        plane[f"{channel}_rate"], plane[f"{channel}_lag"] = servo.rate, max(servo.lag, _LEAST_LAG)
        plane[f"{channel}_slop"], plane[f"{channel}_step"] = servo.slop, servo.step * throw


def static_margin(planes: np.ndarray) -> np.ndarray:
    """Static margin: how far the CG is ahead of the neutral point, over the reference chord, power off; array (n,)."""
    return -planes["Cma"] / planes["CLa"] - planes["ref_x"] / planes["c"]


def set_trims(planes: np.ndarray, cruise: np.ndarray | float, *, flown: bool = True) -> np.ndarray:
    """Trim many records at cruise, on every core, and set what the pilot knows of them.

    Writes the trims that make level flight at ``cruise`` [m/s] with the sticks released, the turn of the path
    that full sticks bring there, and the sticks of inverted and knife-edge flight.

    Parameters
    ----------
    planes : records (n,)
    cruise : float or array (n,) [m/s]
    flown : bool
        Whether a pilot will fly them; else all but the trims is left.

    Returns
    -------
    array (n,) of bool
        Which have a steady level flight at cruise inside the travel of the sticks; the others
        are left without trims, and nothing else of them is changed.
    """
    air = make_air()
    cruise = np.broadcast_to(cruise, planes.shape)
    for channel in _TRIMMED:
        planes[f"{channel}_trim"] = 0.0
    level = trim_batch(planes, air, speed=cruise[:, None], height=TRIM_HEIGHT)[:, 0]
    reached = level["reachable"] != 0
    known, steady = planes[reached], level[reached]
    for i, channel in enumerate(_TRIMMED):
        known[f"{channel}_trim"] = steady["unknowns"][:, 2 + i]
    known["cruise"] = cruise[reached]
    if flown:
        _set_rates(known, air, steady)
        _set_sticks(known, air)
    planes[reached] = known
    return reached


def _set_rates(planes: np.ndarray, air: np.void, level: np.ndarray) -> None:
    """How fast full sticks roll the airplane and turn its path, and how closely it must be followed, by the linear model."""
    A, B = np.zeros((len(planes), 8, 8)), np.zeros((len(planes), 8, 4))
    for plane, steady, a, b in zip(planes, level, A, B, strict=True):
        small_motions(plane, air, steady["state"], steady["targets"], a, b)
    roll = -B[:, 5, 0] / A[:, 5, 5]
    pitch = _steady_rate(A[:, 1:3, 1:3], B[:, 1:3, 1])
    yaw = _steady_rate(A[:, 4:8:2, 4:8:2], B[:, 4:8:2, 2])
    planes["roll_rate"] = np.abs(roll) * 0.5 * (planes["aileron_up"] + planes["aileron_down"])
    planes["canopy_rate"] = np.abs(pitch) * planes["elevator_up"]
    planes["wing_rate"] = np.abs(yaw) * planes["rudder_right"]
    planes["longest_step"] = longest_step(planes, A)


def _steady_rate(A: np.ndarray, B: np.ndarray) -> np.ndarray:
    """Second unknown of A x + B = 0 (n, 2, 2), (n, 2) by Cramer's rule: the rate a held control brings."""
    top = A[:, 1, 0] * B[:, 0] - A[:, 0, 0] * B[:, 1]
    return top / (A[:, 0, 0] * A[:, 1, 1] - A[:, 0, 1] * A[:, 1, 0])


def _set_sticks(planes: np.ndarray, air: np.void) -> None:
    """The elevator that carries it inverted, and the rudder that carries it in knife-edge."""
    bank = np.array([math.pi, _HALF, -_HALF])
    steady = trim_batch(planes, air, speed=planes["cruise"][:, None], bank=bank, height=TRIM_HEIGHT)
    found, rudder = steady["converged"] != 0, steady["unknowns"][..., 4]
    planes["inverted_elevator"] = np.where(found[:, 0], steady["unknowns"][:, 0, 3], 0.0)
    for i, side, most in ((1, "left", -1.0), (2, "right", 1.0)):
        carries = found[:, i] & (np.abs(rudder[:, i]) <= 1.0)
        planes[f"knife_rudder_{side}"] = np.where(carries, rudder[:, i], 0.6 * most)


def full_throw(plane: np.void, channel: str, amount: float) -> float:
    """Full throw [rad] of a surface toward the side that ``amount`` has the sign of.

    The ailerons go both ways at once; theirs is the mean of up and down.
    """
    if channel == "aileron":
        return 0.5 * float(plane["aileron_up"] + plane["aileron_down"])
    if channel == "elevator":
        return float(plane["elevator_up"] if amount > 0.0 else plane["elevator_down"])
    if channel == "rudder":
        return float(plane["rudder_right"] if amount > 0.0 else plane["rudder_left"])
    return float(plane["flap_down"])

"""The plane record: everything the kernels know of an airplane, SI, in one scalar."""

from __future__ import annotations

import numpy as np

from sixdof.physics.channels import SURFACES
from sixdof.physics.terms import SHAPE, TERM_NAMES

#: Points of a propeller table over s = V / sqrt(V^2 + (nD)^2), 0 to 1.
PROP_POINTS = 65

_BODY = {
    "mass": "kg",
    "Ixx": "moments and products of inertia about the CG [kg m2]",
    "Iyy": "",
    "Izz": "",
    "Ixy": "",
    "Ixz": "",
    "Iyz": "",
    "Jxx": "inverse of the inertia tensor [1/(kg m2)]",
    "Jyy": "",
    "Jzz": "",
    "Jxy": "",
    "Jxz": "",
    "Jyz": "",
    "S": "reference area [m2]",
    "b": "reference span [m]",
    "c": "reference chord [m]",
    "ref_x": "reference point of the coefficients from the CG, body axes [m]",
    "ref_y": "",
    "ref_z": "",
}

_POWER = {
    "ideal_thrust": "thrust at full throttle along body x, for sets without a propeller [N]",
    "prop_D": "propeller diameter [m]; 0 = none",
    "prop_pitch": "pitch [m]",
    "prop_turn": "+1 clockwise seen from behind, -1 the other way",
    "prop_inertia": "kg m2",
    "prop_x": "disc from the CG, body axes [m]",
    "prop_y": "",
    "prop_z": "",
    "axis_x": "thrust axis, unit vector",
    "axis_y": "",
    "axis_z": "",
    "motor_stiffness": "torque lost per speed gained [N m s]",
    "motor_no_load": "speed without load at full throttle [rad/s]",
    "motor_idle": "share of it at closed throttle",
    "motor_brake": "1: the speed controller brakes the propeller at closed throttle",
}

_CONTROL = {
    "aileron_up": "full throws [rad], each panel",
    "aileron_down": "",
    "elevator_up": "",
    "elevator_down": "",
    "rudder_left": "",
    "rudder_right": "",
    "flap_down": "",
    **{f"{c}_expo": "share of the stick curve that is cubic" for c in SURFACES[:3]},
    **{f"{c}_rate": "speed of the surface [rad/s]" for c in SURFACES},
    **{f"{c}_lag": "s" for c in SURFACES},
    **{f"{c}_slop": "rad" for c in SURFACES},
    **{f"{c}_step": "smallest step of the servo [rad]" for c in SURFACES},
    "frame": "time between two looks of the transmitter at the sticks [s]",
    "aileron_trim": "trim, share of full throw, + right, up, right",
    "elevator_trim": "",
    "rudder_trim": "",
}

#: What a practiced pilot knows of this airplane, and how closely it must be followed; set by :mod:`sixdof.flight.pack`.
_PILOT = {
    "cruise": "speed the airplane is trimmed at [m/s]",
    "roll_rate": "steady roll rate of full aileron at cruise [rad/s]",
    "canopy_rate": "steady turn of the path by full elevator at cruise [rad/s]",
    "wing_rate": "steady turn of the path by full rudder at cruise [rad/s]",
    "inverted_elevator": "stick that carries it inverted",
    "knife_rudder_left": "rudder stick that carries it in knife-edge, left (negative)",
    "knife_rudder_right": "the same, right",
    "g_positive": "load factors the airframe withstands",
    "g_negative": "",
    "never_exceed": "m/s",
    "longest_step": "of the integrator [s]",
}

PLANE_DTYPE = np.dtype(
    [(name, "f8") for name in (*_BODY, *TERM_NAMES, *SHAPE, *_POWER, *_CONTROL, *_PILOT)]
    + [("ct", "f8", (PROP_POINTS,)), ("cq", "f8", (PROP_POINTS,))]
)

STATE_NAMES = (
    *("north", "east", "down"),  # position [m]
    *("u", "v", "w"),  # velocity over the ground, body axes [m/s]
    *("q0", "q1", "q2", "q3"),  # attitude, body to world
    *("p", "q", "r"),  # body rates [rad/s]
    *("aileron_right", "aileron_left", "elevator", "rudder", "flap"),  # surfaces [rad]
    "propeller",  # speed [rad/s]
)
N_STATE = len(STATE_NAMES)
#: Rows of the surfaces among the states, and of what is integrated step by step: all the others.
SURFACE_ROWS = tuple(range(13, 18))
MOVING_ROWS = (*range(13), 18)

#: What the linkage asks of the surfaces [rad], and the throttle.
TARGET_NAMES = ("aileron_right", "aileron_left", "elevator", "rudder", "flap", "throttle")


def new_plane() -> np.ndarray:
    """Array of one plane record with harmless values: unit inertia, no air forces, no propeller."""
    planes = np.zeros(1, PLANE_DTYPE)
    plane = planes[0]
    for name, (default, _) in SHAPE.items():
        plane[name] = default
    plane["mass"] = plane["S"] = plane["b"] = plane["c"] = 1.0
    plane["axis_x"] = plane["prop_turn"] = plane["prop_inertia"] = 1.0
    for channel in SURFACES:
        plane[f"{channel}_rate"], plane[f"{channel}_lag"] = 10.0, 0.03
    set_inertia(plane, 1.0, 1.0, 1.0)
    plane["frame"], plane["longest_step"] = 0.02, 0.005
    plane["cruise"] = plane["roll_rate"] = plane["canopy_rate"] = plane["wing_rate"] = 1.0
    plane["g_positive"], plane["g_negative"], plane["never_exceed"] = 1e3, -1e3, 1e6
    return planes


def set_inertia(
    plane: np.void | np.ndarray,
    Ixx: float | np.ndarray,
    Iyy: float | np.ndarray,
    Izz: float | np.ndarray,
    Ixz: float | np.ndarray = 0.0,
    Ixy: float | np.ndarray = 0.0,
    Iyz: float | np.ndarray = 0.0,
) -> None:
    """Write the inertia tensor [kg m2] and its inverse into a plane record, or into records (n,)."""
    rows = [[Ixx, -Ixy, -Ixz], [-Ixy, Iyy, -Iyz], [-Ixz, -Iyz, Izz]]
    tensor = np.stack([np.stack(np.broadcast_arrays(*row), axis=-1) for row in rows], axis=-2)
    inverse = np.linalg.inv(tensor)
    plane["Ixx"], plane["Iyy"], plane["Izz"] = Ixx, Iyy, Izz
    plane["Ixy"], plane["Ixz"], plane["Iyz"] = Ixy, Ixz, Iyz
    for field, i, j in (
        ("Jxx", 0, 0),
        ("Jyy", 1, 1),
        ("Jzz", 2, 2),
        ("Jxy", 0, 1),
        ("Jxz", 0, 2),
        ("Jyz", 1, 2),
    ):
        plane[field] = inverse[..., i, j]

"""Planes from published numbers, flying in plain calls, readings."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
from scipy.spatial.transform import Rotation

from sixdof.flight.trim import Trim, trim
from sixdof.physics.lanes import new_lanes
from sixdof.physics.motion import accelerations, rk4_step
from sixdof.physics.record import N_STATE, STATE_NAMES, TARGET_NAMES, new_plane, set_inertia
from sixdof.validation.check import Check

FOOT = 0.3048  # m, exact
INCH = 0.0254  # m, exact
POUND_FORCE = 4.4482216152605  # N, exact
SLUG = POUND_FORCE / FOOT  # kg
DEG = math.pi / 180.0


def plane_of(mass: float, inertia: Iterable[float], S: float, b: float, c: float, **values: float) -> np.void:
    """Plane record with these terms and shape parameters and nothing else.

    ``inertia``: Ixx, Iyy, Izz, Ixz, Ixy, Iyz as far as given [kg m2].
    """
    plane = new_plane()[0]
    plane["mass"], plane["S"], plane["b"], plane["c"] = mass, S, b, c
    set_inertia(plane, *inertia)
    for name in ("aileron_up", "aileron_down", "elevator_up", "elevator_down", "rudder_left", "rudder_right"):
        plane[name] = 0.5
    for name, value in values.items():
        plane[name] = value
    return plane


def state_of(**values: Any) -> np.ndarray:
    """State array (19) from named entries; ``euler=(roll, pitch, yaw)`` [rad] sets the attitude."""
    x = np.zeros(N_STATE)
    x[6] = 1.0
    if "euler" in values:
        roll, pitch, yaw = values.pop("euler")
        x[6:10] = Rotation.from_euler("ZYX", [yaw, pitch, roll]).as_quat(scalar_first=True)
    for name, value in values.items():
        x[STATE_NAMES.index(name)] = value
    return x


def targets_of(**values: float) -> np.ndarray:
    """Targets array (6) from named entries."""
    targets = np.zeros(6)
    for name, value in values.items():
        targets[TARGET_NAMES.index(name)] = value
    return targets


def fly(
    plane: np.void, air: np.void, x: np.ndarray, targets: np.ndarray, *, time: float, steps: int
) -> np.ndarray:
    """State after ``time`` [s] in ``steps`` Runge-Kutta steps; x stays as it was."""
    planes, airs, work = new_lanes(plane, air, x, time / steps)
    work["targets"] = targets[:, None]
    for _ in range(steps):
        rk4_step(planes, airs, work, 1)
    return work["x"][:, 0].copy()


def rates_of(plane: np.void, air: np.void, x: np.ndarray, targets: np.ndarray) -> np.ndarray:
    """Rates (19) of a state."""
    out = np.zeros(N_STATE)
    accelerations(plane, air, x, targets, out)
    return out


def attitude(x: np.ndarray) -> Rotation:
    """Body to world."""
    return Rotation.from_quat(x[6:10], scalar_first=True)


def velocity(x: np.ndarray) -> np.ndarray:
    """Velocity over the ground, north, east, down [m/s]."""
    return attitude(x).apply(x[3:6])


def euler_deg(rotation: Rotation) -> np.ndarray:
    """Roll, pitch, yaw [deg]."""
    return rotation.as_euler("ZYX", degrees=True)[::-1]


def wrap_deg(angle: float) -> float:
    """Angle in [-180, 180)."""
    return (angle + 180.0) % 360.0 - 180.0


def steady_of(plane: np.void, air: np.void, **flight: Any) -> Trim:
    """Steady flight; ArithmeticError if there is none."""
    steady = trim(plane, air, **flight)
    if not steady.converged:
        raise ArithmeticError(f"no steady flight at {flight}")
    return steady


def trim_checks(
    row: Callable[..., Check],
    found: Callable[[], Trim],
    published: tuple[float, float, float],
    *,
    thrust: float,
    prefix: str = "",
    **more: Any,
) -> list[Check]:
    """Alpha and elevator [deg], thrust [N] to their printed digits; ``thrust`` [N] is that of full throttle."""
    alpha, elevator, T = published
    fine = {"within": 1e-5, **more}
    return [
        row(f"{prefix}angle of attack", alpha, lambda: found().alpha / DEG, unit="deg", **fine),
        row(f"{prefix}elevator", elevator, lambda: found().targets[2] / DEG, unit="deg", **fine),
        row(f"{prefix}thrust", T, lambda: found().targets[5] * thrust, unit="N", **fine),
    ]

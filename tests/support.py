"""What the physics tests share: planes from published numbers, flying in plain calls, readings."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

import numpy as np
from scipy.spatial.transform import Rotation

from sixdof.physics.lanes import new_lanes
from sixdof.physics.motion import accelerations, rk4_step, state_derivative, velocity_in_air
from sixdof.physics.propulsion import advance, propeller, table
from sixdof.physics.record import N_STATE, STATE_NAMES, TARGET_NAMES, new_plane, set_inertia

FOOT = 0.3048  # m, exact
POUND_FORCE = 4.4482216152605  # N, exact
SLUG = POUND_FORCE / FOOT  # kg
DEG = math.pi / 180.0


def agree(
    what: str,
    found: Any,
    published: Any,
    *,
    within: float = 0.0,
    share: float = 0.0,
    source: str = "",
) -> None:
    """Fail, showing both, unless found is published within an absolute limit or a share of its size."""
    limit = within + share * abs(published)
    miss = abs(found - published)
    assert miss <= limit, (
        f"{what}: found {found:.10g}, published {published:.10g} ({source}), off {miss:.3g}, limit {limit:.3g}"
    )


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
    planes, airs, work = new_lanes(plane, air, x)
    work["targets"] = targets[:, None]
    for _ in range(steps):
        rk4_step(planes, airs, work, 1, time / steps)
    return work["x"][:, 0].copy()


def rates_of(plane: np.void, air: np.void, x: np.ndarray, targets: np.ndarray) -> np.ndarray:
    """Rates (19) of a state."""
    out = np.zeros(N_STATE)
    accelerations(plane, air, x, targets, out)
    return out


def propeller_loads(plane: np.void, rho: float, *motion: float) -> tuple[float, ...]:
    """:func:`sixdof.physics.propulsion.propeller` of U, V, W, p, q, r, omega and throttle, tables looked up."""
    s = advance(plane, *motion[:7])
    return propeller(plane, rho, *motion, table(plane["ct"], s), table(plane["cq"], s))


def rates_in_gust(
    plane: np.void, air: np.void, x: np.ndarray, targets: np.ndarray, gust: np.ndarray
) -> np.ndarray:
    """Rates (19) of a state in a gust (6)."""
    s = advance(plane, *velocity_in_air(air, *x[2:10], *gust[:3]), *x[10:13], x[18])
    found = state_derivative(plane, air, *x, *targets, *gust, table(plane["ct"], s), table(plane["cq"], s))
    return np.array(found)


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


def agree_modes(
    found: dict[str, complex], published: dict[str, complex], *, share: float, source: str, **special: float
) -> None:
    """Eigenvalues within a share of |lambda|; ``special`` sets another share for one mode."""
    for name, value in published.items():
        limit = special.get(name.replace(" ", "_"), share)
        assert name in found, f"{name}: published {value} ({source}); found only {sorted(found)}"
        miss = abs(found[name] - value)
        assert miss <= limit * abs(value), (
            f"{name}: found {found[name]:.6g}, published {value:.6g} ({source}), "
            f"off {100.0 * miss / abs(value):.2f} % of |lambda|, limit {100.0 * limit:.2g} %"
        )

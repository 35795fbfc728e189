"""How long a step of the integrator may be: what an airplane and its propeller answer with at the quickest."""

from __future__ import annotations

import math

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.files.errors import InputError
from sixdof.flight.linear import linearize
from sixdof.flight.trim import trim
from sixdof.physics.air import RHO0, make_air

__all__ = ["LONGEST", "SHORTEST", "longest_step", "too_quick"]

#: Of a mode's |lambda| times the step: less than half of what makes the Runge-Kutta method unstable, 2.8 (Hairer & Wanner,
#: Solving Ordinary Differential Equations II, ch. IV.2, from memory).
_MOST = 1.28
LONGEST = 0.02  # s: pilot and blends look as often
SHORTEST = LONGEST / 16.0  # s: what would need shorter ones is a slip in the file
_OF_AXIS = (("its roll", ("mass", "Ixx")), ("its pitch", ("mass", "Iyy")), ("its yaw", ("mass", "Izz")))


def longest_step(planes: np.ndarray, A: np.ndarray) -> np.ndarray:
    """Longest step that follows airframe and propeller of each plane [s], array (n,).

    Parameters
    ----------
    planes : records (n,)
        Their cruise set.
    A : array (n, 8, 8)
        Of small motions at cruise.

    Notes
    -----
    The quick modes, roll, short period and Dutch roll, grow with speed, so they are taken at the never-exceed speed.
    """
    airframe = np.abs(np.linalg.eigvals(A)).max(axis=1) * planes["never_exceed"] / planes["cruise"]
    return np.minimum(_MOST / np.maximum(airframe, propeller_rate(planes)), LONGEST)


def propeller_rate(planes: np.ndarray) -> np.ndarray:
    """How fast the propeller's speed goes back to where it belongs, at most [1/s], array (n,).

    Notes
    -----
    I omega' = drive - Q, and both hold back what turns faster: the motor by its stiffness, the air by
    dQ/d(omega) = rho D^4 nD (2 cq - s cq') / 2 pi, with nD in m/s and V held.  It is largest where nD is: as the motor
    runs without load, or as the air turns it at the never-exceed speed, V = s sqrt(V^2 + (nD)^2).
    """
    cq, D = planes["cq"], planes["prop_D"][:, None]
    s = np.linspace(0.0, 1.0, cq.shape[1])
    driven = planes["never_exceed"][:, None] * np.sqrt(1.0 - s * s) / np.maximum(s, 1e-9)
    turned_by_air = np.max(np.where(cq < 0.0, driven, 0.0), axis=1, keepdims=True)
    own = planes["motor_no_load"][:, None] * D / (2.0 * math.pi)
    nD = np.minimum(driven, np.maximum(own, turned_by_air))
    held = RHO0 * D**4 * nD * np.abs(2.0 * cq - s * np.gradient(cq, s, axis=1)) / (2.0 * math.pi)
    return (planes["motor_stiffness"] + held.max(axis=1)) / planes["prop_inertia"]


def too_quick(airframe: Airframe, plane: np.void) -> InputError:
    """The complaint that an airplane cannot be followed, by the mass or inertia that is to blame."""
    step, speed, air = float(plane["longest_step"]), float(plane["cruise"]), make_air()
    if propeller_rate(np.array([plane]))[0] * step > 0.999 * _MOST:
        what, key = "its speed", ("propeller", "inertia")
    else:
        roots, shapes = np.linalg.eig(linearize(plane, air, trim(plane, air, speed=speed)).A)
        quickest = int(np.argmax(np.abs(roots)))
        u, w, q, _, v, p, r, _ = np.abs(shapes[:, quickest])
        turns = np.array([p, q, r]) / np.abs(roots[quickest])
        axis = int(np.argmax(turns))
        moved = max(u, v, w) / speed > 3.0 * turns[axis]  # the flow's angle changes, and not by turning
        what, key = ("its path", ("mass", "total")) if moved else _OF_AXIS[axis]
    answers, least = 1e3 * step / _MOST, 1e3 * SHORTEST / _MOST
    return airframe.blame(
        f"so light that {what} answers within {answers:.2g} ms; expected {least:.2g} ms or more: "
        "check the number and its unit", *key,
    )  # fmt: skip

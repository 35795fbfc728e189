"""Steady flight: the sticks, throttle and attitude that leave nothing accelerating."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sixdof.flight.mixing import throws
from sixdof.physics.compile import kernel
from sixdof.physics.frames import path_frame, to_body
from sixdof.physics.motion import accelerations
from sixdof.physics.record import N_STATE

_UNKNOWNS = ("alpha", "beta", "aileron", "elevator", "rudder", "throttle", "climb", "propeller")
_SCALE = np.array([0.1, 0.1, 0.3, 0.3, 0.3, 0.3, 0.1, 100.0])


@kernel
def steady_state(plane, unknowns, speed, bank, turn, height, x, targets):
    """State (19) and targets (6) of a steady flight, written in place.

    Parameters
    ----------
    unknowns : array (8,)
        alpha, beta [rad], commands of aileron, elevator, rudder, throttle, climb [rad],
        propeller speed [rad/s].
    speed : float [m/s]
    bank : float [rad]
        Of the canopy about the flight path.
    turn : float [rad/s]
        Turn of the path about the vertical, + to the right.
    height : float [m]
    """
    alpha, beta = unknowns[0], unknowns[1]
    # body axes seen from the path frame: velocity along x, canopy in the x-z plane
    vx, vy, vz = math.cos(alpha) * math.cos(beta), math.sin(beta), math.sin(alpha) * math.cos(beta)
    norm = math.sqrt(1.0 - vz * vz)
    zx, zy, zz = -vz * vx / norm, -vz * vy / norm, (1.0 - vz * vz) / norm
    yx, yy, yz = zy * vz - zz * vy, zz * vx - zx * vz, zx * vy - zy * vx
    # v, y, z are the rows of the matrix that carries body to path; its quaternion
    t0 = 1.0 + vx + yy + zz
    b0 = 0.5 * math.sqrt(max(t0, 1e-12))
    b1 = (zy - yz) / (4.0 * b0)
    b2 = (vz - zx) / (4.0 * b0)
    b3 = (yx - vy) / (4.0 * b0)
    f0, f1, f2, f3 = path_frame(0.0, unknowns[6], bank)
    # path frame, then the body in it
    x[6] = f0 * b0 - f1 * b1 - f2 * b2 - f3 * b3
    x[7] = f0 * b1 + f1 * b0 + f2 * b3 - f3 * b2
    x[8] = f0 * b2 - f1 * b3 + f2 * b0 + f3 * b1
    x[9] = f0 * b3 + f1 * b2 - f2 * b1 + f3 * b0
    x[0] = x[1] = 0.0
    x[2] = -height
    x[3], x[4], x[5] = speed * vx, speed * vy, speed * vz
    x[10], x[11], x[12] = to_body(x[6], x[7], x[8], x[9], 0.0, 0.0, turn)
    throws(
        plane,
        unknowns[2] + plane["aileron_trim"],
        unknowns[3] + plane["elevator_trim"],
        unknowns[4] + plane["rudder_trim"],
        targets[4],
        targets,
    )
    for i in range(5):
        x[13 + i] = targets[i]
    targets[5] = unknowns[5]
    x[18] = unknowns[7]


@kernel
def imbalance(plane, air, unknowns, speed, bank, turn, height, flap, x, targets, rates, out):
    """Accelerations (7) left in a steady flight: linear [m/s2], angular [rad/s2], propeller."""
    targets[4] = flap
    steady_state(plane, unknowns, speed, bank, turn, height, x, targets)
    accelerations(plane, air, x, targets, rates)
    for i in range(3):
        out[i] = rates[3 + i]
        out[3 + i] = rates[10 + i]
    out[6] = rates[18] / 100.0


@dataclass(frozen=True)
class Trim:
    """A steady flight.

    Attributes
    ----------
    state : array (19,), targets : array (6,)
    alpha, beta, climb, bank : float [rad]
    sticks : dict
        Commands beyond the trims: aileron, elevator, rudder (+ right, up, right), throttle.
    converged : bool
        Nothing accelerates.
    reachable : bool
        ... and every stick stays inside its travel.
    """

    state: np.ndarray
    targets: np.ndarray
    alpha: float
    beta: float
    climb: float
    bank: float
    sticks: dict[str, float]
    converged: bool
    reachable: bool

    @property
    def speed(self) -> float:
        """Speed [m/s]."""
        return float(np.linalg.norm(self.state[3:6]))


def trim(
    plane: np.void,
    air: np.void,
    *,
    speed: float,
    climb: float = 0.0,
    bank: float = 0.0,
    turn: float = 0.0,
    height: float = 100.0,
    flap: float = 0.0,
    throttle: float | None = None,
) -> Trim:
    """Solve a steady flight by Newton's method.

    Parameters
    ----------
    plane, air : records
    speed : float [m/s]
    climb, bank : float [rad]
        Of the path; bank of the canopy about it (pi inverted, +-pi/2 knife-edge).
    turn : float [rad/s]
        0 straight; a level turn wants g tan(bank) / speed.
    flap : float
        Command, 0 to 1.
    throttle : float, optional
        Fixed throttle (0: glide); then the climb angle is found instead of the throttle.

    Returns
    -------
    Trim
    """
    guess = np.array([0.03, 0.0, 0.0, 0.0, 0.0, 0.7, climb, 0.0])
    if abs(math.sin(bank)) > 0.7:  # knife-edge: the body carries it
        side = math.copysign(1.0, bank)
        guess[:5] = 0.0, 0.15 * side, 0.0, 0.0, -0.4 * side
    if throttle is not None:
        guess[5] = throttle
        guess[6] = climb - 0.1
    guess[7] = 0.5 * plane["motor_no_load"]  # below the throttle: the motor pulls
    free = [0, 1, 2, 3, 4, 6 if throttle is not None else 5]
    rows = list(range(6))
    if plane["prop_D"] > 0.0:
        free.append(7)
        rows.append(6)
    x, targets, rates = np.zeros(N_STATE), np.zeros(6), np.zeros(N_STATE)

    def left(unknowns: np.ndarray) -> np.ndarray:
        out = np.zeros(7)
        imbalance(plane, air, unknowns, speed, bank, turn, height, flap, x, targets, rates, out)
        return out[rows]

    unknowns, residual = guess, left(guess)
    converged = False
    for _ in range(40):
        jacobian = np.empty((len(rows), len(free)))
        for column, k in enumerate(free):
            h = 1e-6 * _SCALE[k]
            more = unknowns.copy()
            more[k] += h
            jacobian[:, column] = (left(more) - residual) / h
        if not np.all(np.isfinite(jacobian)):
            break
        try:
            step = np.linalg.solve(jacobian, -residual)
        except np.linalg.LinAlgError:  # a stick that does nothing here: the least step that helps
            step = np.linalg.lstsq(jacobian, -residual, rcond=None)[0]
        scale = min(1.0, 3.0 / float(np.max(np.abs(step) / _SCALE[free]) + 1e-12))
        unknowns = unknowns.copy()
        unknowns[free] += scale * step
        residual = left(unknowns)
        if scale == 1.0 and np.max(np.abs(residual)) < 1e-9:
            converged = True
            break
    left(unknowns)
    sticks = dict(zip(_UNKNOWNS[2:6], map(float, unknowns[2:6]), strict=True))
    total = [*unknowns[2:5], plane["aileron_trim"], plane["elevator_trim"], plane["rudder_trim"]]
    inside = np.all(np.abs(total) <= 1.0) and -1e-9 <= unknowns[5] <= 1.0 + 1e-9
    reachable = converged and bool(inside)
    return Trim(
        state=x.copy(),
        targets=targets.copy(),
        alpha=float(unknowns[0]),
        beta=float(unknowns[1]),
        climb=float(unknowns[6]),
        bank=bank,
        sticks=sticks,
        converged=converged,
        reachable=reachable,
    )

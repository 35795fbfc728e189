"""Kernels of steady flight: Newton's method on the accelerations that are left."""

from __future__ import annotations

import math

import numba
import numpy as np

from sixdof.flight.mixing import throws
from sixdof.physics.compile import kernel
from sixdof.physics.frames import path_frame, to_body
from sixdof.physics.motion import accelerations
from sixdof.physics.record import N_STATE

#: What is solved for, in the order of ``unknowns``, and the size of a step that is small.
UNKNOWNS = ("alpha", "beta", "aileron", "elevator", "rudder", "throttle", "climb", "propeller")
_SCALE = np.array([0.1, 0.1, 0.3, 0.3, 0.3, 0.3, 0.1, 100.0])
_MOST = 7  # equations, and unknowns that are free at once
_DEPENDENT = 1e-13  # share of a column that rounding leaves when it is the sum of others

#: A steady flight as it is asked for and as it was found.
STEADY_DTYPE = np.dtype(
    [
        ("speed", "f8"),  # asked for [m/s]
        ("path_climb", "f8"),  # [rad]; with a throttle given only where the search begins
        ("bank", "f8"),  # of the canopy about the path [rad]
        ("turn", "f8"),  # of the path about the vertical [rad/s]
        ("height", "f8"),  # [m]
        ("flap", "f8"),  # command
        ("throttle_given", "f8"),  # NaN: the throttle is looked for, else the climb
        ("unknowns", "f8", (len(UNKNOWNS),)),  # found
        ("state", "f8", (N_STATE,)),
        ("targets", "f8", (6,)),
        ("converged", "i8"),  # nothing accelerates
        ("reachable", "i8"),  # ... and every stick stays inside its travel
    ]
)


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
def imbalance(plane, air, steady, unknowns, rates, out):
    """Accelerations (7) left in a steady flight: linear [m/s2], angular [rad/s2], propeller.

    Writes state and targets of these unknowns into ``steady``; ``rates`` (19) is a work array.
    """
    x, targets = steady["state"], steady["targets"]
    targets[4] = steady["flap"]
    steady_state(
        plane, unknowns, steady["speed"], steady["bank"], steady["turn"], steady["height"], x, targets
    )
    accelerations(plane, air, x, targets, rates)
    for i in range(3):
        out[i] = rates[3 + i]
        out[3 + i] = rates[10 + i]
    out[6] = rates[18] / 100.0


@kernel
def least_step(rows, columns, A, R, b, step):
    """Solve A step = b by the modified Gram-Schmidt method; A (7, 7) and b (7) are used up.

    A column that is zero or depends on those before it is left out and its step is zero: a stick that
    does nothing keeps its value.  The rest is solved with the least squares left.  R (7, 7) is a
    work array.

    Sources
    -------
    A. Bjoerck, BIT 7, 1967 (from memory): A = QR, columns made orthogonal one after the other, b as
    one more of them, which is as exact as reflections.
    """
    for k in range(columns):
        R[k, k] = 0.0
        for i in range(rows):
            R[k, k] += A[i, k] * A[i, k]
        step[k] = math.sqrt(R[k, k])  # length of the column as it came
    for k in range(columns):
        length = 0.0
        for i in range(rows):
            length += A[i, k] * A[i, k]
        length = math.sqrt(length)
        independent = length > _DEPENDENT * step[k]
        R[k, k] = length if independent else 0.0
        step[k] = 0.0
        if independent:
            for i in range(rows):
                A[i, k] /= length
                step[k] += A[i, k] * b[i]
            for i in range(rows):
                b[i] -= step[k] * A[i, k]
            for j in range(k + 1, columns):
                R[k, j] = 0.0
                for i in range(rows):
                    R[k, j] += A[i, k] * A[i, j]
                for i in range(rows):
                    A[i, j] -= R[k, j] * A[i, k]
    for k in range(columns - 1, -1, -1):
        if R[k, k] > 0.0:
            for j in range(k + 1, columns):
                step[k] -= R[k, j] * step[j]
            step[k] /= R[k, k]


@kernel
def steady_flight(plane, air, steady):
    """Solve one steady flight by Newton's method, slopes by forward differences.

    Parameters
    ----------
    plane, air : records
    steady : record
        :data:`STEADY_DTYPE`: what is asked for; the rest is written.

    Notes
    -----
    A step is shortened to three times the scale of its largest unknown, and the method ends where a
    whole step leaves less than 1e-9 of every acceleration, after 40 steps, or where nothing is finite.
    """
    A = np.empty((_MOST, _MOST))
    R = np.empty((_MOST, _MOST))
    residual = np.empty(_MOST)
    left = np.empty(_MOST)
    step = np.empty(_MOST)
    rates = np.empty(N_STATE)
    unknowns = steady["unknowns"]
    climb, bank, throttle = steady["path_climb"], steady["bank"], steady["throttle_given"]
    glides = not math.isnan(throttle)
    free = (0, 1, 2, 3, 4, 6 if glides else 5, 7)
    n = 7 if plane["prop_D"] > 0.0 else 6
    # where the search begins
    unknowns[0], unknowns[1], unknowns[2], unknowns[3], unknowns[4] = 0.03, 0.0, 0.0, 0.0, 0.0
    if abs(math.sin(bank)) > 0.7:  # knife-edge: the body carries it
        side = math.copysign(1.0, bank)
        unknowns[0], unknowns[1], unknowns[4] = 0.0, 0.15 * side, -0.4 * side
    unknowns[5] = throttle if glides else 0.7
    unknowns[6] = climb - 0.1 if glides else climb
    unknowns[7] = 0.5 * plane["motor_no_load"]  # below the throttle: the motor pulls
    converged = False
    imbalance(plane, air, steady, unknowns, rates, residual)
    for _ in range(40):
        finite = True
        for column in range(n):
            k = free[column]
            h = 1e-6 * _SCALE[k]
            before = unknowns[k]
            unknowns[k] += h
            imbalance(plane, air, steady, unknowns, rates, left)
            unknowns[k] = before
            for i in range(n):
                A[i, column] = (left[i] - residual[i]) / h
                finite = finite and math.isfinite(A[i, column])
        if not finite:
            break
        for i in range(n):
            residual[i] = -residual[i]
        least_step(n, n, A, R, residual, step)
        largest = 0.0
        for column in range(n):
            largest = max(largest, abs(step[column]) / _SCALE[free[column]])
        scale = min(1.0, 3.0 / (largest + 1e-12))
        for column in range(n):
            unknowns[free[column]] += scale * step[column]
        imbalance(plane, air, steady, unknowns, rates, residual)
        worst = 0.0
        for i in range(n):
            worst = max(worst, abs(residual[i])) if math.isfinite(residual[i]) else math.inf
        if scale == 1.0 and worst < 1e-9:
            converged = True
            break
    imbalance(plane, air, steady, unknowns, rates, left)
    inside = (
        abs(unknowns[2]) <= 1.0
        and abs(unknowns[3]) <= 1.0
        and abs(unknowns[4]) <= 1.0
        and abs(plane["aileron_trim"]) <= 1.0
        and abs(plane["elevator_trim"]) <= 1.0
        and abs(plane["rudder_trim"]) <= 1.0
        and -1e-9 <= unknowns[5] <= 1.0 + 1e-9
    )
    steady["converged"] = converged
    steady["reachable"] = converged and inside


@kernel(parallel=True)
def trim_many(planes, airs, steady):
    """Solve a batch of steady flights (n_planes, m), shared out over the cores; each writes its own record.

    All in the first of ``airs``.
    """
    m = steady.shape[1]
    for i in numba.prange(steady.size):
        steady_flight(planes[i // m], airs[0], steady[i // m, i % m])

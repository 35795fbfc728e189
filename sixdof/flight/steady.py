"""Kernels of steady flight: Newton's method on the residual accelerations."""

from __future__ import annotations

import math

import numpy as np

from sixdof.flight.mixing import throws
from sixdof.physics.compile import kernel
from sixdof.physics.frames import path_frame, to_body
from sixdof.physics.motion import accelerations
from sixdof.physics.record import N_STATE

#: What is solved for, in the order of ``unknowns``, and the size of a step that is small.
UNKNOWNS = ("alpha", "beta", "aileron", "elevator", "rudder", "throttle", "climb", "propeller", "gain")
_SCALE = np.array([0.1, 0.1, 0.3, 0.3, 0.3, 0.3, 0.1, 100.0, 10.0])
_MOST = 7  # equations, and unknowns that are free at once
_STEPS = 40  # of Newton's method at most
_MOVE = 1e-6  # of an unknown for a slope, as a share of its scale
_ENOUGH = 1e-9  # of every acceleration: m/s2, rad/s2, 100 rad/s2
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
        ("gains", "f8"),  # 1: neither, the speed may grow; what it gains is looked for [m/s2]
        ("unknowns", "f8", (len(UNKNOWNS),)),  # found
        ("state", "f8", (N_STATE,)),
        ("targets", "f8", (6,)),
        ("converged", "i8"),  # nothing accelerates
        ("reachable", "i8"),  # ... and every stick stays inside its travel
    ]
)


@kernel
def steady_state(plane, steady, unknowns, x, targets):
    """State x (19) and targets (6) of the steady flight that is asked for, with these unknowns (8)."""
    speed, alpha, beta = steady["speed"], unknowns[0], unknowns[1]
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
    f0, f1, f2, f3 = path_frame(0.0, unknowns[6], steady["bank"])
    # path frame, then the body in it
    x[6] = f0 * b0 - f1 * b1 - f2 * b2 - f3 * b3
    x[7] = f0 * b1 + f1 * b0 + f2 * b3 - f3 * b2
    x[8] = f0 * b2 - f1 * b3 + f2 * b0 + f3 * b1
    x[9] = f0 * b3 + f1 * b2 - f2 * b1 + f3 * b0
    x[0] = x[1] = 0.0
    x[2] = -steady["height"]
    x[3], x[4], x[5] = speed * vx, speed * vy, speed * vz
    x[10], x[11], x[12] = to_body(x[6], x[7], x[8], x[9], 0.0, 0.0, steady["turn"])
    throws(
        plane,
        unknowns[2] + plane["aileron_trim"],
        unknowns[3] + plane["elevator_trim"],
        unknowns[4] + plane["rudder_trim"],
        steady["flap"],
        targets,
    )
    for i in range(5):
        x[13 + i] = targets[i]
    targets[5] = unknowns[5]
    x[18] = unknowns[7]


@kernel
def least_step(A, n, R, step):
    """Solve n equations in n unknowns, A step = b, by the modified Gram-Schmidt method.

    Parameters
    ----------
    A : array (n, n + 1) or larger
        Its columns, and b after them; used up.
    R : array of the same shape
        Work array.
    step : array (n,) or larger
        Out.  A column that is zero, or the sum of others before it, is left out and its step is
        zero: a stick that does nothing keeps its value.  The rest leaves least squares.

    Notes
    -----
    A = QR with columns made orthogonal one after the other, b as one more of them
    (Bjoerck, BIT 7, 1967, from memory).
    """
    for k in range(n):
        step[k] = 0.0
        for i in range(n):
            step[k] += A[i, k] * A[i, k]  # length of the column as given, squared
    for k in range(n):
        square = 0.0
        for i in range(n):
            square += A[i, k] * A[i, k]
        length = math.sqrt(square) if square > _DEPENDENT * _DEPENDENT * step[k] else 0.0
        R[k, k] = length
        for i in range(n):
            A[i, k] = A[i, k] / length if length > 0.0 else 0.0
        for j in range(k + 1, n + 1):
            R[k, j] = 0.0
            for i in range(n):
                R[k, j] += A[i, k] * A[i, j]
            for i in range(n):
                A[i, j] -= R[k, j] * A[i, k]
    for k in range(n - 1, -1, -1):
        step[k] = R[k, n]
        for j in range(k + 1, n):
            step[k] -= R[k, j] * step[j]
        step[k] = step[k] / R[k, k] if R[k, k] > 0.0 else 0.0


@kernel
def first_guess(plane, steady, unknowns):
    """Where the search begins: at full throttle, so that the motor pulls in fast flight too."""
    climb, bank, throttle = steady["path_climb"], steady["bank"], steady["throttle_given"]
    glides = not math.isnan(throttle) and steady["gains"] == 0.0
    unknowns[0], unknowns[1], unknowns[2], unknowns[3], unknowns[4] = 0.03, 0.0, 0.0, 0.0, 0.0
    if abs(math.sin(bank)) > 0.7:  # knife-edge: the body carries it
        side = math.copysign(1.0, bank)
        unknowns[0], unknowns[1], unknowns[4] = 0.0, 0.15 * side, -0.4 * side
    unknowns[5] = 1.0 if math.isnan(throttle) else throttle
    unknowns[6] = climb - 0.1 if glides else climb
    unknowns[7] = 0.9 * plane["motor_no_load"]
    unknowns[8] = 0.0


@kernel
def steady_flight(plane, air, steady):
    """Solve one steady flight by Newton's method, slopes by forward differences.

    Steady but for its speed, where that may grow along the path.

    Parameters
    ----------
    plane, air : records
    steady : record
        :data:`STEADY_DTYPE`: what is asked for; the rest is written.

    Notes
    -----
    A step is shortened to three times the scale of its largest unknown.  The method ends where a
    whole step has left next to nothing, after 40 steps, or where slopes are not finite.
    """
    A = np.empty((_MOST, _MOST + 1))  # slopes, and what is left now
    R = np.empty((_MOST, _MOST + 1))
    step = np.empty(_MOST)
    unknowns = np.empty(len(UNKNOWNS))
    x = np.empty(N_STATE)
    targets = np.empty(6)
    rates = np.empty(N_STATE)
    along = 5 if math.isnan(steady["throttle_given"]) else 6
    free = (0, 1, 2, 3, 4, 8 if steady["gains"] != 0.0 else along, 7)
    n = 7 if plane["prop_D"] > 0.0 else 6
    first_guess(plane, steady, unknowns)
    converged, scale = False, 0.0
    for count in range(_STEPS + 1):
        # a column for each unknown moved on a little; last what is left, so that its state stays
        for column in range(n + 1):
            k = free[column] if column < n else 0
            before = unknowns[k]
            if column < n:
                unknowns[k] += _MOVE * _SCALE[k]
            steady_state(plane, steady, unknowns, x, targets)
            accelerations(plane, air, x, targets, rates)
            gain = unknowns[8] / steady["speed"]
            unknowns[k] = before
            for i in range(3):
                A[i, column], A[3 + i, column] = rates[3 + i] - gain * x[3 + i], rates[10 + i]
            A[6, column] = rates[18] / 100.0
        converged, finite = scale == 1.0, True
        for i in range(n):
            converged = converged and abs(A[i, n]) < _ENOUGH
            for column in range(n):
                A[i, column] = (A[i, column] - A[i, n]) / (_MOVE * _SCALE[free[column]])
                finite = finite and math.isfinite(A[i, column])
        if converged or not finite or count == _STEPS:
            break
        least_step(A, n, R, step)
        largest = 0.0
        for column in range(n):
            largest = max(largest, abs(step[column]) / _SCALE[free[column]])
        scale = min(1.0, 3.0 / (largest + 1e-12))
        for column in range(n):
            unknowns[free[column]] -= scale * step[column]
    inside = (
        abs(unknowns[2]) <= 1.0
        and abs(unknowns[3]) <= 1.0
        and abs(unknowns[4]) <= 1.0
        and abs(plane["aileron_trim"]) <= 1.0
        and abs(plane["elevator_trim"]) <= 1.0
        and abs(plane["rudder_trim"]) <= 1.0
        and -1e-9 <= unknowns[5] <= 1.0 + 1e-9
    )
    for i in range(N_STATE):
        steady["state"][i] = x[i]
    for i in range(6):
        steady["targets"][i] = targets[i]
    for i in range(len(UNKNOWNS)):
        steady["unknowns"][i] = unknowns[i]
    steady["converged"] = converged
    steady["reachable"] = converged and inside


@kernel
def trim_many(planes, airs, steady, first, stride):
    """Solve steady flight ``first`` of a batch (n_planes, m) and every ``stride``-th after it.

    All in the first of ``airs``; each writes its own record.
    """
    m = steady.shape[1]
    for i in range(first, steady.size, stride):
        steady_flight(planes[i // m], airs[0], steady[i // m, i % m])

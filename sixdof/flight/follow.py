"""Recorded sticks in place of a pilot: the same stepping, lanes side by side."""

from __future__ import annotations

import math

from sixdof.flight.frame import growing
from sixdof.flight.mixing import mix
from sixdof.physics.channels import FLAP
from sixdof.physics.compile import kernel
from sixdof.physics.lanes import LANES
from sixdof.physics.motion import rk4_step
from sixdof.physics.record import N_STATE, SURFACE_ROWS

_FIRST, _SURFACES = SURFACE_ROWS[0], len(SURFACE_ROWS)


@kernel
def follow_many(
    planes, plane_numbers, air_numbers, gusts, blends, sticks, shown, starts, index, frame, steps, every,
    columns, put_back, first, stride, works, seen,
):  # fmt: skip
    """Fly every ``stride``-th group of flights from number ``first`` on; see :func:`sixdof.flight.recorded.follow`."""
    lanes_of, plane_columns, air_columns, level, added, held, commands, lost = works
    work = lanes_of[0]
    n_flights, n_rows = index.shape[0], sticks.shape[1]
    for n in range(LANES):
        for j in range(air_numbers.shape[1]):
            air_columns[j, n] = air_numbers[0, j]
    group = first
    while group * LANES < n_flights:
        most = 1
        for n in range(LANES):  # the last group flies its last flight more than once
            i = min(group * LANES + n, n_flights - 1)
            begin_following(
                plane_numbers[index[i, 0]], starts[index[i, 2]], frame / steps[index[i, 0]], plane_columns[:, n],
                work, n, level[n], held[n],
            )  # fmt: skip
            commands[n, FLAP] = sticks[index[i, 1], 0, FLAP]
            most = max(most, steps[index[i, 0]])
        for row in range(n_rows):
            for n in range(LANES):
                i = min(group * LANES + n, n_flights - 1)
                x, to = work["x"][:, n], work["targets"][:, n]
                if row % every == 0:
                    for j in range(columns.size):
                        seen[i, row // every, j] = x[columns[j]]
                    if shown.shape[1] > 0:
                        put_back_to(shown[index[i, 1], row], put_back, x)
                mix(
                    planes[index[i, 0]], blends, sticks[index[i, 1], row], level[n], added, 1.0, frame, held[n],
                    commands[n], to, lost,
                )  # fmt: skip
                for j in range(_SURFACES):
                    if row == 0:
                        x[_FIRST + j] += to[j]
                    if row % every == 0:
                        seen[i, row // every, columns.size + j] = x[_FIRST + j] - to[j]
            for k in range(most):
                for n in range(LANES):
                    i = min(group * LANES + n, n_flights - 1)
                    taken = steps[index[i, 0]]
                    work["moves"][n] = 1.0 if k < taken else 0.0
                    if gusts.shape[1] > 0 and k < taken:
                        growing(gusts[index[i, 3]], row, k, taken, work["gust"][:, n], work["growth"][:, n])
                rk4_step(plane_columns, air_columns, work, LANES)
        group += stride


@kernel
def begin_following(numbers, start, dt, column, work, n, level, held):
    """Put a flight into lane n: the numbers of its plane, its first state (19), steps of dt [s]."""
    for j in range(numbers.size):
        column[j] = numbers[j]
    for j in range(N_STATE):
        work["x"][j, n] = start[j]
    for j in range(6):
        work["gust"][j, n] = work["growth"][j, n] = 0.0
    for j in range(level.size):
        level[j] = -1.0
    for j in range(held.size):
        held[j] = 0.0
    work["dt"][n] = dt


@kernel
def put_back_to(shown, put_back, x):
    """Put attitude, rates and speed of a state (19) back to what was shown (8)."""
    for j in range(put_back.size):
        x[put_back[j]] = shown[j]
    ratio = shown[put_back.size] / math.sqrt(x[3] * x[3] + x[4] * x[4] + x[5] * x[5] + 1e-12)
    for j in range(3, 6):
        x[j] *= ratio

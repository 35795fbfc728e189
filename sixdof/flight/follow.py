"""What an airplane does under sticks that were recorded: no pilot, the same stepping."""

from __future__ import annotations

import math

import numpy as np

from sixdof.flight.fly import pack_blends, steps_of
from sixdof.flight.frame import growing
from sixdof.flight.mixing import mix
from sixdof.physics.air import AIR_DTYPE, make_air
from sixdof.physics.channels import FLAP
from sixdof.physics.compile import kernel, parallel_for
from sixdof.physics.lanes import LANES, LANES_DTYPE, numbers_of
from sixdof.physics.motion import rk4_step
from sixdof.physics.record import N_STATE, STATE_NAMES, SURFACE_ROWS

__all__ = ["SEEN", "follow"]

_FIRST, _SURFACES = SURFACE_ROWS[0], len(SURFACE_ROWS)
#: States that are written down; then how far each surface is from where it is sent [rad].
SEEN = (
    *("down", "u", "v", "w", "q0", "q1", "q2", "q3", "p", "q", "r", "propeller"),
    *(f"{STATE_NAMES[i]} off" for i in SURFACE_ROWS),
)
_COLUMNS = np.array([STATE_NAMES.index(name) for name in SEEN[:-_SURFACES]])
#: Those of them that a logger shows and that are put back to what it shows: attitude and rates.
_SHOWN = np.array([STATE_NAMES.index(name) for name in ("q0", "q1", "q2", "q3", "p", "q", "r")])


def follow(
    planes: np.ndarray,
    sticks: np.ndarray,
    starts: np.ndarray,
    index: np.ndarray,
    *,
    every: int,
    blends: np.ndarray | None = None,
    gusts: np.ndarray | None = None,
    shown: np.ndarray | None = None,
) -> np.ndarray:
    """Fly recorded sticks, many airplanes and stretches at once, in air at rest but for its gusts.

    Parameters
    ----------
    planes : records (n_planes,)
    sticks : array (n_sticks, rows, 5)
        Aileron, elevator, rudder in [-1, 1], flap, throttle in [0, 1]: a row a radio frame.
    starts : array (n_starts, 19)
        First states; of the surfaces how far each is from where the first sticks send it [rad].
    index : int array (n, 4)
        Plane, sticks, start and gust of each flight.
    every : int
        Frames from one row that is written down to the next.
    blends : records (n_blends,), optional
        In force; default: none.
    gusts : array (n_gusts, rows + 1, 6) [m/s, rad/s], optional
        North, east, down, and turning about the same; default: none.
    shown : array (n_sticks, rows, 8), optional
        Attitude, rates [rad/s] and speed [m/s] that a logger showed: where a row is written down they are put back to
        that afterwards, so that a row tells what the equations make of the last one.

    Returns
    -------
    array (n, ceil(rows / every), len(SEEN))
        As each of those frames begins; nothing is refused, a flight may become NaN.
    """
    frame, n, rows = float(planes["frame"][0]), len(index), sticks.shape[1]
    airs = np.array([make_air()], AIR_DTYPE)
    blends = pack_blends(()) if blends is None else blends
    gusts = np.zeros((1, 0, 6)) if gusts is None else np.ascontiguousarray(gusts)
    shown = np.zeros((1, 0, len(_SHOWN) + 1)) if shown is None else np.ascontiguousarray(shown)
    seen = np.empty((n, -(-rows // every), len(SEEN)))
    inputs = (
        planes, numbers_of(planes), numbers_of(airs), gusts, blends, np.ascontiguousarray(sticks), shown,
        np.ascontiguousarray(starts), np.ascontiguousarray(index), frame, steps_of(planes), every, _COLUMNS, _SHOWN,
    )  # fmt: skip

    def work(first: int, stride: int) -> None:
        works = (
            np.zeros(1, LANES_DTYPE), np.zeros((numbers_of(planes).shape[1], LANES)), np.zeros((numbers_of(airs).shape[1], LANES)),
            np.zeros((LANES, len(blends))), np.zeros(len(blends)), np.zeros((LANES, 5)), np.zeros((LANES, 5)), np.zeros(4),
        )  # fmt: skip
        follow_many(*inputs, first, stride, works, seen)

    parallel_for(-(-n // LANES), work)
    return seen


@kernel
def follow_many(
    planes, plane_numbers, air_numbers, gusts, blends, sticks, shown, starts, index, frame, steps, every,
    columns, put_back, first, stride, works, seen,
):  # fmt: skip
    """Fly every ``stride``-th group of flights from number ``first`` on; see :func:`follow`."""
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

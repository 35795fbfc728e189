"""The one stepping loop: every flight of the package goes through here.

Flights are stepped side by side, a lane each; a lane whose flight is over takes up the next one.
"""

from __future__ import annotations

import numpy as np

from sixdof.flight.frame import FLIGHT_DTYPE, WORK_DTYPE, begin, close, growing, look, see, step_on
from sixdof.flight.pilot import DELAY, N_SEEN
from sixdof.physics.compile import kernel
from sixdof.physics.lanes import LANES
from sixdof.physics.motion import rk4_step


def new_works(n_plane: int, n_air: int, n_blends: int, frame: float) -> tuple[np.ndarray, ...]:
    """What :func:`fly_many` works with: lanes, planes and airs in columns, flights, their blends and memories, a gust.

    For records of ``n_plane`` and ``n_air`` numbers.
    """
    return (
        np.zeros(1, WORK_DTYPE),
        np.zeros((n_plane, LANES)),
        np.zeros((n_air, LANES)),
        np.zeros(LANES, FLIGHT_DTYPE),
        np.zeros((LANES, n_blends)),
        np.zeros((LANES, n_blends)),
        np.zeros((LANES, max(round(DELAY / frame), 1), N_SEEN)),
        np.zeros(6),
    )


@kernel
def fly_many(
    planes, plane_numbers, airs, air_numbers, gusts, scripts, n_phases, blends, starts, index,
    order, frame, steps, first, stride, works, errors, commands, ends, tracks,
):  # fmt: skip
    """Fly every ``stride``-th flight of a batch in some order from place ``first`` on; each writes only to its own rows.

    Parameters
    ----------
    planes, airs : records
        And their numbers, arrays (n, fields).
    gusts : array (n_airs, rows, 6) [m/s, rad/s]
        See :func:`sixdof.flight.frame.look`.
    scripts : records (n_scripts, MAX_PHASES)
        ``n_phases`` of each count.
    blends : records (n_sets, n_blends)
    starts : records
        First states, as in calm air, sticks and speeds to hold.
    index : array (n, 5)
        Plane, air with its gusts, script, set of blends and start of each flight.
    order : array (n,)
        Numbers of the flights, such side by side as take as many steps.
    frame : float [s]
        Radio frame.
    steps : array (n_planes,)
        Runge-Kutta steps in a frame.
    works : tuple
        Of :func:`new_works`: a thread's own.
    errors : array (n, measured, SAMPLES, 4) [rad]
        Out: errors counted from the start of each measured phase.
    commands : array (n, measured, SAMPLES, 5)
        Out: commands of the sticks at the same moments.
    ends : records (n,)
        Out: how they ended.
    tracks : array (n, rows, N_TRACK)
        Out, a row a frame and one of the end, as far as it reaches; zero rows: none kept.
    """
    lanes_of, plane_columns, air_columns, flights, level, added, memory, felt = works
    work = lanes_of[0]
    work["dt"][:] = frame  # of a lane without a flight too
    lanes = LANES if first + stride < index.shape[0] else 1
    following = first
    for n in range(LANES):
        flights[n]["number"] = -1
    while True:
        flying, most = False, 1
        for n in range(lanes):
            see(air_columns, work, n)
        for n in range(lanes):
            flight = flights[n]
            x = work["x"][:, n]
            while flight["number"] >= 0 or following < index.shape[0]:
                if flight["number"] < 0:
                    i = order[following]
                    plane, air, start = index[i, 0], index[i, 1], index[i, 4]
                    for j in range(plane_numbers.shape[1]):
                        plane_columns[j, n] = plane_numbers[plane, j]
                    for j in range(air_numbers.shape[1]):
                        air_columns[j, n] = air_numbers[air, j]
                    for j in range(6):
                        work["gust"][j, n] = work["growth"][j, n] = 0.0
                    work["dt"][n] = frame / steps[plane]
                    begin(
                        airs[air],
                        starts[start],
                        i,
                        flight,
                        level[n],
                        added[n],
                        memory[n],
                        work["ideal"][:, n],
                        x,
                    )
                    see(air_columns, work, n)
                    following += stride
                i = flight["number"]
                script = index[i, 2]
                if look(
                    planes[index[i, 0]], airs[index[i, 1]], gusts[index[i, 1]], scripts[script], n_phases[script],
                    blends[index[i, 3]], frame, flight, level[n], added[n], memory[n], work["ideal"][:, n], work["seen"][:, n], felt, x,
                    work["targets"][:, n], errors[i], commands[i], tracks[i],
                ):  # fmt: skip
                    flying, most = True, max(most, steps[index[i, 0]])
                    break
                close(scripts[script], n_phases[script], frame, flight, errors[i], commands[i], ends[i])
                flight["number"] = -1
        if not flying:
            break
        for k in range(most):
            for n in range(lanes):
                i = flights[n]["number"]
                taken = steps[index[i, 0]] if i >= 0 else 0
                work["moves"][n] = 1.0 if k < taken else 0.0
                if gusts.shape[1] > 0 and k < taken:
                    gust, growth = work["gust"][:, n], work["growth"][:, n]
                    growing(gusts[index[i, 1]], flights[n]["row"], k, taken, gust, growth)
            rk4_step(plane_columns, air_columns, work, lanes)
        for n in range(lanes):
            if flights[n]["number"] >= 0:
                step_on(flights[n], frame, work["x"][:, n], tracks[flights[n]["number"]])

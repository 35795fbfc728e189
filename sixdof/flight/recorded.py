"""What an airplane does under sticks that were recorded: no pilot, the same stepping."""

from __future__ import annotations

import numpy as np

from sixdof.flight.fly import pack_blends, steps_of
from sixdof.flight.follow import follow_many
from sixdof.physics.air import AIR_DTYPE, make_air
from sixdof.physics.compile import parallel_for
from sixdof.physics.lanes import LANES, LANES_DTYPE, numbers_of
from sixdof.physics.record import STATE_NAMES, SURFACE_ROWS

__all__ = ["SEEN", "follow"]

#: States that are written down; then how far each surface is from where it is sent [rad].
SEEN = (
    *("down", "u", "v", "w", "q0", "q1", "q2", "q3", "p", "q", "r", "propeller"),
    *(f"{STATE_NAMES[i]} off" for i in SURFACE_ROWS),
)
_COLUMNS = np.array([STATE_NAMES.index(name) for name in SEEN[: -len(SURFACE_ROWS)]])
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

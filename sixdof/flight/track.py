"""What makes rows of numbers the track of a flight; runs are read back by it."""

from __future__ import annotations

import numpy as np

from sixdof.flight.frame import MAX_PHASES, N_TRACK, TRACK_NAMES

__all__ = ["check_track"]

_AT = {name: i for i, name in enumerate(TRACK_NAMES)}
_UNIT = 1e-3  # off the length 1 of an attitude; a flight's is kept to 1e-12
_MOST = 1e5  # m, m/s, rad/s: no flight comes near, and a picture of one that did would have no end
_LONGEST = 60.0 * MAX_PHASES  # s, all phases as long as they may be
_STEP = 0.2  # s, twice the longest radio frame


def check_track(track: np.ndarray, *, least: int = 0) -> None:
    """Refuse rows that no flight could have left.

    Parameters
    ----------
    track : array (frames, N_TRACK)
        Columns named by :data:`sixdof.flight.frame.TRACK_NAMES` [SI, rad].
    least : int
        How many rows are needed.

    Raises
    ------
    ValueError
        In one sentence: another shape, a number that is not finite or absurdly large, times that do not
        rise frame by frame, an attitude that is no attitude, phases that are no whole numbers.
    """
    if track.dtype != float or track.ndim != 2 or track.shape[1] != N_TRACK or len(track) < least:
        raise ValueError(f"got {track.shape} numbers, expected {least} rows or more of {N_TRACK}")
    bad = ~(np.abs(track) <= _MOST)
    if np.any(bad):
        row, column = np.argwhere(bad)[0]
        raise ValueError(
            f"{TRACK_NAMES[column]} is {track[row, column]:g} in row {row}, expected a number of a flight"
        )
    time = track[:, _AT["time"]]
    steps = np.diff(time)
    wrong = (steps <= 0.0) | (steps > _STEP)
    if np.any(wrong):
        row = int(np.argmax(wrong))
        raise ValueError(
            f"time goes from {time[row]:g} to {time[row + 1]:g} s after row {row}, expected one radio frame"
        )
    if len(time) and time[-1] - time[0] > _LONGEST:
        raise ValueError(f"it lasts {time[-1] - time[0]:.0f} s, expected at most {_LONGEST:.0f} s")
    places = track[:, _AT["north"] : _AT["down"] + 1]
    if len(track) > 1 and not np.any(np.ptp(places, axis=0)):
        raise ValueError("all rows are at one place, expected a flight")
    off = np.abs(np.linalg.norm(track[:, _AT["q0"] : _AT["q3"] + 1], axis=1) - 1.0) > _UNIT
    if np.any(off):
        raise ValueError(f"the attitude in row {np.argmax(off)} is no attitude: q0 to q3 must have length 1")
    numbers = track[:, [_AT["phase"], _AT["measured"]]]
    if np.any(numbers != np.round(numbers)):
        raise ValueError("phase and measured must be whole numbers")

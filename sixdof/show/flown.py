"""A flight as the pictures take it: its rows, its phases, what to say about a moment."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from sixdof.files.errors import InputError
from sixdof.flight.frame import TRACK_NAMES
from sixdof.flight.track import check_track

__all__ = ["Kind", "ShownFlight", "column", "phase_starts", "readout", "row_at", "straight_on"]

Kind = Literal["bare", "blended", "other"]
SURFACES = ("aileron_right", "aileron_left", "elevator", "rudder", "flap")

_AT = {name: i for i, name in enumerate(TRACK_NAMES)}
_Q = slice(_AT["q0"], _AT["q3"] + 1)
_COUNTED = slice(_AT["toward_canopy"], _AT["measured"] + 1)  # errors and phase start anew with each phase


@dataclass(frozen=True)
class ShownFlight:
    """A flight to be shown.

    Attributes
    ----------
    label : str
        What to call it in a picture: "right-rudder knife-edge".
    track : array (frames, N_TRACK)
        Columns named by :data:`sixdof.flight.frame.TRACK_NAMES`.
    kind : "bare", "blended" or "other"
        Chooses the color.
    ideal : array (n, 3) [m], optional
        Line it should have flown: north, east, down.  `straight_on` gives one.
    phases : tuple of str
        Names of the phases, in their order; numbers stand in for missing ones.

    Raises
    ------
    InputError
        Rows that no flight could have left.
    """

    label: str
    track: np.ndarray
    kind: Kind = "other"
    ideal: np.ndarray | None = None
    phases: tuple[str, ...] = field(default=())

    def __post_init__(self) -> None:
        try:
            check_track(self.track, least=2)
        except ValueError as error:
            raise InputError(f"{self.label}: {error}") from None

    @property
    def start(self) -> float:
        """Time of the first row [s]."""
        return float(self.track[0, _AT["time"]])

    @property
    def end(self) -> float:
        """Time of the last row [s]."""
        return float(self.track[-1, _AT["time"]])


def column(track: np.ndarray, name: str) -> np.ndarray:
    """One column of a track (frames,), by its name."""
    return track[:, _AT[name]]


def value(row: np.ndarray, name: str) -> float:
    """One number of a row, by its name."""
    return float(row[_AT[name]])


def row_at(track: np.ndarray, time: float) -> np.ndarray:
    """Row at a moment, between two frames in proportion; the ends hold beyond them.

    Attitude quaternions are brought to one sign before and to unit length after.
    """
    times = track[:, 0]
    after = int(np.clip(np.searchsorted(times, time, side="right"), 1, len(times) - 1))
    a, b = track[after - 1], track[after]
    share = float(np.clip((time - a[0]) / (b[0] - a[0]), 0.0, 1.0))
    row = (1.0 - share) * a + share * b
    near = b[_Q] if np.dot(a[_Q], b[_Q]) >= 0.0 else -b[_Q]
    attitude = (1.0 - share) * a[_Q] + share * near
    row[_Q] = attitude / np.linalg.norm(attitude)
    if a[_AT["phase"]] != b[_AT["phase"]]:
        row[_COUNTED] = (b if share >= 1.0 else a)[_COUNTED]
    return row


def rotation(row: np.ndarray) -> np.ndarray:
    """Rotation matrix (3, 3), body to north-east-down, of a row's attitude."""
    q0, q1, q2, q3 = row[_Q]
    return np.array([
        [1 - 2 * (q2 * q2 + q3 * q3), 2 * (q1 * q2 - q0 * q3), 2 * (q1 * q3 + q0 * q2)],
        [2 * (q1 * q2 + q0 * q3), 1 - 2 * (q1 * q1 + q3 * q3), 2 * (q2 * q3 - q0 * q1)],
        [2 * (q1 * q3 - q0 * q2), 2 * (q2 * q3 + q0 * q1), 1 - 2 * (q1 * q1 + q2 * q2)],
    ])  # fmt: skip


def position(rows: np.ndarray) -> np.ndarray:
    """North, east, down [m] of a row or of rows."""
    return rows[..., _AT["north"] : _AT["down"] + 1]


def phase_starts(track: np.ndarray) -> list[tuple[float, int, bool]]:
    """Phases of a track in the order flown: time of the start [s], number, measured or not."""
    numbers = column(track, "phase")
    first = np.flatnonzero(np.r_[True, np.diff(numbers) != 0])
    return [(float(track[i, 0]), int(numbers[i]), bool(column(track, "measured")[i] >= 0)) for i in first]


def measured_from(track: np.ndarray) -> float:
    """Time of the start of the first measured phase [s]; of the track if none is measured."""
    return float(measured_rows(track)[0, 0])


def measured_rows(track: np.ndarray) -> np.ndarray:
    """Rows of the first measured phase; all of them if none is measured."""
    measured = column(track, "measured")
    known = measured[measured >= 0]
    return track[measured == known[0]] if len(known) else track


def straight_on(track: np.ndarray) -> np.ndarray:
    """Straight line on from the start of the first measured phase, as long as that was flown.

    Returns
    -------
    array (2, 3) [m]
        North, east, down.
    """
    rows = measured_rows(track)
    points = position(rows)
    u = rows[0, _AT["u"] : _AT["w"] + 1]
    speed = float(np.linalg.norm(u))
    direction = rotation(rows[0]) @ u / speed if speed else np.zeros(3)
    length = float(np.sum(np.linalg.norm(np.diff(points, axis=0), axis=1)))
    return np.array([points[0], points[0] + length * direction])


def phase_name(flight: ShownFlight, number: int) -> str:
    """Name of a phase of a flight."""
    return flight.phases[number] if 0 <= number < len(flight.phases) else f"phase {number + 1}"


def readout(flight: ShownFlight, time: float) -> list[tuple[str, str]]:
    """What to say about a moment of a flight: pairs of a word and a value with its unit."""
    row = row_at(flight.track, time)
    counted = value(row, "measured") >= 0
    nothing = "not counted in this phase"
    return [
        ("time", f"{value(row, 'time'):.1f} s"),
        ("phase", phase_name(flight, int(value(row, "phase")))),
        ("speed", f"{value(row, 'speed'):.1f} m/s"),
        ("height", f"{-value(row, 'down'):.0f} m"),
        ("drift", _sided(value(row, "toward_canopy"), "to canopy", "to belly") if counted else nothing),
        (
            "drift aside",
            _sided(value(row, "toward_wing"), "to right wing", "to left wing") if counted else nothing,
        ),
        ("roll", _sided(value(row, "roll"), "right", "left") if counted else nothing),
        ("sideslip", _sided(value(row, "sideslip"), "air from right", "air from left")),
    ]


def _sided(angle: float, positive: str, negative: str) -> str:
    degrees = math.degrees(angle)
    if abs(degrees) < 0.05:
        return "0.0°"
    return f"{abs(degrees):.1f}° {positive if degrees > 0.0 else negative}"

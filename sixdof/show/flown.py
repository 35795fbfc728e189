"""A flight as the pictures take it: its rows, its phases, what to say about a moment."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Literal, NamedTuple

import numpy as np

from sixdof.files.errors import InputError
from sixdof.flight.frame import TRACK_NAMES
from sixdof.flight.track import check_track
from sixdof.show.palette import FLIGHT_COLORS, WORDS

__all__ = ["READOUTS", "Kind", "ShownFlight", "column", "phase_starts", "readout", "row_at", "straight_on"]

Kind = Literal["bare", "blended", "other"]
SURFACES = ("aileron_right", "aileron_left", "elevator", "rudder", "flap")

_AT = {name: i for i, name in enumerate(TRACK_NAMES)}
_Q = slice(_AT["q0"], _AT["q3"] + 1)
RATE = 25.0  # rows a second that pictures take: 10 lose 1.4 deg in a point roll, 50 gain nothing one sees
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
    color : str
        That of its kind, where none is given.
    nose : bool
        Whether it is the nose that counts, against the path, and not the path itself.

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
    color: str = ""
    nose: bool = False

    def __post_init__(self) -> None:
        if not self.color:
            object.__setattr__(self, "color", FLIGHT_COLORS[self.kind])
        try:
            check_track(self.track, least=2)
        except ValueError as error:
            raise InputError(f"{self.label}: {error}") from None

    @property
    def words(self) -> str:
        """What a legend calls it."""
        return WORDS[self.kind] or self.label

    def thinned(self) -> ShownFlight:
        """The flight at :data:`RATE` rows a second at most, the first and the last row of each phase among them; attitudes
        of neighbors have one sign."""
        slot = np.floor(self.track[:, 0] * RATE + 1e-6)
        another = np.diff(column(self.track, "phase")) != 0.0
        new = (np.diff(slot, prepend=-1.0) != 0) | np.r_[True, another] | np.r_[another, True]
        track = self.track[new].copy()
        turned = np.einsum("ij,ij->i", track[1:, _Q], track[:-1, _Q]) < 0.0
        track[1:, _Q] *= np.where(np.cumsum(turned) % 2, -1.0, 1.0)[:, None]
        return replace(self, track=track)

    def since(self, time: float) -> ShownFlight:
        """The flight from a time [s] on."""
        return replace(
            self,
            track=self.track[min(int(np.searchsorted(self.track[:, 0], time - 1e-9)), len(self.track) - 2) :],
        )

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
    length = float(np.sum(np.linalg.norm(np.diff(points, axis=0), axis=1)))
    return np.array([points[0], points[0] + length * way(rows[0])])


def way(row: np.ndarray) -> np.ndarray:
    """Direction of flight over the ground (3,), north-east-down; zero at rest."""
    u = row[_AT["u"] : _AT["w"] + 1]
    speed = float(np.linalg.norm(u))
    return rotation(row) @ u / speed if speed else np.zeros(3)


def way_through_air(row: np.ndarray) -> np.ndarray:
    """Direction of flight through the air (3,), north-east-down."""
    alpha, beta = value(row, "alpha"), value(row, "sideslip")
    ahead = (math.cos(alpha) * math.cos(beta), math.sin(beta), math.sin(alpha) * math.cos(beta))
    return rotation(row) @ np.array(ahead)


def phase_name(flight: ShownFlight, number: int) -> str:
    """Name of a phase of a flight."""
    return flight.phases[number] if 0 <= number < len(flight.phases) else f"phase {number + 1}"


class Readout(NamedTuple):
    """A number said about a moment: degrees of an angle to a side, or a number with its unit."""

    word: str
    column: str
    factor: float
    unit: str
    digits: int
    positive: str = ""
    negative: str = ""
    counted: bool = False


_DEGREES = math.degrees(1.0)
#: What is said beside time and phase; those that are counted, in measured phases only.
READOUTS = (
    Readout("speed", "speed", 1.0, " m/s", 1),
    Readout("height", "down", -1.0, " m", 0),
    Readout("drift", "toward_canopy", _DEGREES, "°", 1, "to canopy", "to belly", True),
    Readout("drift aside", "toward_wing", _DEGREES, "°", 1, "to right wing", "to left wing", True),
    Readout("roll", "roll", _DEGREES, "°", 1, "right", "left", True),
    Readout("sideslip", "sideslip", _DEGREES, "°", 1, "air from right", "air from left"),
)
NOT_COUNTED = "not counted in this phase"


def readout(flight: ShownFlight, time: float) -> list[tuple[str, str]]:
    """What to say about a moment of a flight: pairs of a word and a value with its unit."""
    row = row_at(flight.track, time)
    counted = value(row, "measured") >= 0
    said = [(r.word, _said(r, row) if counted or not r.counted else NOT_COUNTED) for r in READOUTS]
    return [
        ("time", f"{value(row, 'time'):.1f} s"),
        ("phase", phase_name(flight, int(value(row, "phase")))),
        *said,
    ]


def _said(readout: Readout, row: np.ndarray) -> str:
    number = readout.factor * value(row, readout.column)
    if not readout.positive:
        return f"{number:.{readout.digits}f}{readout.unit}"
    size = f"{abs(number):.{readout.digits}f}{readout.unit}"
    if float(size[: -len(readout.unit)]) == 0.0:
        return size
    return f"{size} {readout.positive if number > 0.0 else readout.negative}"

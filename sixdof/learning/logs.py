"""Logs of flights: CSV with a map of its columns; the knife-edges in it as passes of notes, the rest as a recording.

Nothing is guessed: the map names each column, its unit and which way is positive.  Sticks: + is right aileron, up
elevator, right rudder, shares of full throw; roll: + is right wing down, pitch: nose up, heading: clockwise from above,
the angles of the sequence heading, pitch, roll; rates about the airplane's own axes, the same ways.
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, NamedTuple

import numpy as np
from pydantic import model_validator

from sixdof.airframe.blends import amount_words
from sixdof.airframe.model import Airframe
from sixdof.files.errors import InputError, nearest, shown
from sixdof.files.fields import Choice, Delay, Model, Number, Version, Word, complaint, words
from sixdof.files.units import UNITS
from sixdof.files.validate import validate
from sixdof.files.yamlio import Document, decoded, read_bytes, read_yaml
from sixdof.learning.recording import Recording, turn_of

__all__ = [
    "Edge",
    "Log",
    "knife_edges",
    "missing_for_rates",
    "notes_text",
    "read_log",
    "recording_of",
    "standard_error",
]

_MOST_BYTES = 64 * 2**20
_GAP = 0.5  # s without a value of some column splits the log
_RATE = 50.0  # Hz, of the even times that all columns are read at
#: Knife-edge: bank off 90 deg [rad], height rate [m/s], ends that are left out [s], steady time left [s], least
#: rudder that can carry it; common practice, no source.
_OFF, _CLIMB, _ENDS, _STEADY, _CARRIES = math.radians(15.0), 2.0, 0.5, 1.5, 0.05


class _Column(Model):
    """A column, and how much later than it happened it was written down."""

    column: Word
    late: Delay = 0.0


class _Time(Model):
    column: Word
    unit: Annotated[float, Choice(UNITS["time"])]


class _Measured(_Column):
    """A column in a unit, of which one way may be positive."""

    unit: float
    positive: float = 1.0

    @property
    def scale(self) -> tuple[float, float]:
        """The number that stands for nothing, and what one more than it counts [SI, rad, share]."""
        return 0.0, self.positive * self.unit


_SIDES, _NOSE = {"right": 1.0, "left": -1.0}, {"up": 1.0, "down": -1.0}


class _Height(_Measured):
    unit: Annotated[float, Choice(UNITS["length"])]
    positive: Annotated[float, Choice({"up": 1.0})] = 1.0


class _Roll(_Measured):
    unit: Annotated[float, Choice(UNITS["angle"])]
    positive: Annotated[float, Choice(_SIDES)]


class _Pitch(_Measured):
    unit: Annotated[float, Choice(UNITS["angle"])]
    positive: Annotated[float, Choice(_NOSE)]


class _Rate(_Measured):
    unit: Annotated[float, Choice(UNITS["turning speed"])]
    positive: Annotated[float, Choice(_SIDES)]


class _PitchRate(_Measured):
    unit: Annotated[float, Choice(UNITS["turning speed"])]
    positive: Annotated[float, Choice(_NOSE)]


class _Speed(_Measured):
    """Through the air; or over the ground, with the wind in it, which is found then."""

    unit: Annotated[float, Choice(UNITS["speed"])]
    positive: Annotated[float, Choice({"ahead": 1.0})] = 1.0
    of: Annotated[str, words("air", "ground")]


class _Turning(_Measured):
    unit: Annotated[float, Choice(UNITS["turning speed"])]
    positive: Annotated[float, Choice({"ahead": 1.0})] = 1.0


class _Stick(_Column):
    """A stick in percent; or any number that is ``center`` let go and ``full`` at full throw the ``positive`` way:
    pulse widths, or degrees of the surface that it moves."""

    positive: Annotated[float, Choice(_SIDES)]
    unit: Annotated[float | None, Choice({"%": 0.01})] = None
    center: Number | None = None
    full: Number | None = None

    @model_validator(mode="after")
    def _one_scale(self) -> _Stick:
        if (self.unit is None) == (self.center is None or self.full is None):
            raise complaint('say what its numbers are: unit: "%", or both center: 1500 and full: 1940')
        if self.unit is None and self.center == self.full:
            raise complaint(f"got {self.full:g} for both, expected another number at full throw", "full")
        return self

    @property
    def scale(self) -> tuple[float, float]:
        """As of the height."""
        if self.center is None or self.full is None:
            return 0.0, self.positive * (self.unit or 0.0)
        return self.center, self.positive / (self.full - self.center)


class _Elevator(_Stick):
    positive: Annotated[float, Choice(_NOSE)]


class _Share(_Stick):
    """Throttle or flap: ``center`` closed or up, ``full`` open or all the way down."""

    positive: Annotated[float, Choice({"open": 1.0, "down": 1.0})] = 1.0


class _Columns(Model):
    time: _Time
    roll: _Roll
    height: _Height
    stick_elevator: _Elevator
    stick_aileron: _Stick
    stick_rudder: _Stick
    pitch: _Pitch | None = None
    heading: _Roll | None = None
    roll_rate: _Rate | None = None
    pitch_rate: _PitchRate | None = None
    yaw_rate: _Rate | None = None
    speed: _Speed | None = None
    stick_throttle: _Share | None = None
    stick_flap: _Share | None = None
    propeller: _Turning | None = None


#: What a log must show beside roll, height and sticks, if more than the sticks held in knife-edge is to be told by it.
_FOR_RATES = ("pitch", "heading", "roll_rate", "pitch_rate", "yaw_rate", "speed", "stick_throttle")


class LogMap(Model):
    """A map of the columns of a log."""

    sixdof_log: Version
    aircraft: Word
    separator: Annotated[str, Choice({"comma": ",", "semicolon": ";", "tab": "\t"})] = ","
    sticks: Annotated[str, words("as moved", "as sent")] = "as moved"
    columns: _Columns


#: Column -> least and most that a model can show [SI, rad, share]: beyond it the unit is another one.
_TURNS, _FASTEST = (-math.tau, math.tau), (-60.0, 60.0)
_LIMITS = {
    "roll": _TURNS, "height": (-1000.0, 10000.0), "stick_elevator": (-1.6, 1.6), "stick_aileron": (-1.6, 1.6),
    "stick_rudder": (-1.6, 1.6), "pitch": _TURNS, "heading": _TURNS, "roll_rate": _FASTEST, "pitch_rate": _FASTEST,
    "yaw_rate": _FASTEST, "speed": (-5.0, 150.0), "stick_throttle": (-0.3, 1.3), "stick_flap": (-0.3, 1.3),
    "propeller": (-10.0, 5000.0),
}  # fmt: skip
#: Half of its whole range that a flight with a knife-edge shows at least, SI.
_LEAST = {
    "roll": math.radians(20.0),
    "stick_rudder": 0.015,
    "roll_rate": 0.3,
    "speed": 5.0,
    "propeller": 20.0,
}


class Log(NamedTuple):
    """A log at even times.

    Attributes
    ----------
    name : str
    time : array (n,) [s]
        From its first line on.
    values : dict of str to array (n,) [SI, rad, share]
    known : bool array (n,)
        False in a gap.
    attitude : array (n, 4), optional
        Quaternion, body to world, where the log shows all that :func:`recording_of` takes.
    sent : bool
        The sticks are what the radio sends: with curves and blends in them.
    ground : bool
        The speed is that over the ground.
    """

    name: str
    time: np.ndarray
    values: dict[str, np.ndarray]
    known: np.ndarray
    attitude: np.ndarray | None = None
    sent: bool = False
    ground: bool = False


def read_log(path: Path, map_path: Path, airframe: Airframe) -> Log:
    """Read a log of an airplane by a map of its columns.

    A cell may be empty where a sensor is slower than the lines.  Values are read between lines along straight lines;
    more than half a second without one is a gap.

    Raises
    ------
    InputError
        By file, line and key or column.
    """
    document = read_yaml(map_path)
    plan = validate(LogMap, document)
    if plan.aircraft != airframe.name:
        raise document.error(
            ("aircraft",), f"this is a map of logs of {shown(plan.aircraft)}, not of {shown(airframe.name)}"
        )
    names = {
        key: column.column
        for key in _Columns.model_fields
        if (column := getattr(plan.columns, key)) is not None
    }
    lines, read = _numbers(path, plan.separator, names, document)
    time = _rising(path, lines, read["time"], plan.columns.time.unit, names["time"])
    even = np.arange(0.0, time[-1], 1.0 / _RATE)
    values, known = {}, np.ones(len(even), bool)
    for key, (least, most) in _LIMITS.items():
        if key not in names:
            continue
        column = getattr(plan.columns, key)
        center, size = column.scale
        found = size * (read[key] - center)
        _believable(path, lines, found, key, names[key], least, most)
        there = np.isfinite(found)
        at, found = time[there] - column.late, found[there]
        if key in ("roll", "heading"):
            found = np.unwrap(found)
        values[key] = np.interp(even, at, found)
        after = np.clip(np.searchsorted(at, even), 1, len(at) - 1)
        known &= (at[0] <= even) & (even <= at[-1]) & (at[after] - at[after - 1] <= _GAP)
    if missing_for_rates(values):
        return Log(path.name, even, values, known, None, plan.sticks == "as sent")
    angles = [getattr(plan.columns, key) for key in ("heading", "pitch", "roll")]
    raw = [
        column.scale[1] * read[key] for column, key in zip(angles, ("heading", "pitch", "roll"), strict=True)
    ]
    there = np.isfinite(raw).all(axis=0)
    if np.count_nonzero(there) < 2:
        raise InputError(
            "heading, pitch and roll never stand in one line, expected an attitude", file=path, line=lines[0]
        )
    attitude = _attitude(*(row[there] for row in raw))
    turned = np.stack(
        [np.interp(even, time[there] - angles[2].late, column) for column in attitude.T], axis=1
    )
    turned /= np.linalg.norm(turned, axis=1, keepdims=True)
    speed = plan.columns.speed
    over_ground = speed is not None and speed.of == "ground"
    return Log(path.name, even, values, known, turned, plan.sticks == "as sent", over_ground)


def _attitude(heading: np.ndarray, pitch: np.ndarray, roll: np.ndarray) -> np.ndarray:
    """Quaternions (n, 4), body to world, neighbors of one sign, of angles [rad] of the sequence heading, pitch, roll."""
    (a, b, c), (x, y, z) = ((f(0.5 * heading), f(0.5 * pitch), f(0.5 * roll)) for f in (np.cos, np.sin))
    q = np.stack(
        (a * b * c + x * y * z, a * b * z - x * y * c, a * y * c + x * b * z, x * b * c - a * y * z), axis=1
    )
    turns = np.sign(np.einsum("ni,ni->n", q[1:], q[:-1]))
    return q * np.concatenate(([1.0], np.cumprod(np.where(turns == 0.0, 1.0, turns))))[:, None]


def missing_for_rates(columns: Mapping[str, object]) -> list[str]:
    """What a log does not show that it would take to learn more of it than sticks held."""
    return [key for key in _FOR_RATES if key not in columns]


def recording_of(log: Log, frame: float) -> Recording:
    """The log with a row a radio frame [s].

    Raises
    ------
    InputError
        Rates or sticks that go against what the airplane does.
    """
    assert log.attitude is not None
    time = np.arange(0.0, log.time[-1], frame)

    def at(key: str, default: float = 0.0) -> np.ndarray:
        return (
            np.interp(time, log.time, log.values[key]) if key in log.values else np.full(len(time), default)
        )

    turned = np.stack([np.interp(time, log.time, column) for column in log.attitude.T], axis=1)
    turned /= np.linalg.norm(turned, axis=1, keepdims=True)
    sticks = [np.clip(at(f"stick_{name}"), -1.0, 1.0) for name in ("aileron", "elevator", "rudder")]
    sticks += [np.clip(at(f"stick_{name}"), 0.0, 1.0) for name in ("flap", "throttle")]
    recording = Recording(
        time, np.stack(sticks, axis=1), turned, np.stack([at(f"{name}_rate") for name in ("roll", "pitch", "yaw")], axis=1),
        at("speed"), at("height"), np.maximum(at("propeller"), 1.0) if "propeller" in log.values else None,
        np.interp(time, log.time, log.known) > 0.999, log.sent, log.ground,
    )  # fmt: skip
    _agrees(log, recording, frame)
    return recording


def _agrees(log: Log, recording: Recording, frame: float) -> None:
    """Refuse rates that are not those of the attitude, and sticks that roll or pitch it the other way."""
    rates, over = recording.rates, round(0.1 / frame)
    known = recording.known[:-over] & recording.known[over:]
    turned = turn_of(recording.attitude[:-over], recording.attitude[over:])[known] / (over * frame)
    mean = np.cumsum(np.vstack((np.zeros(3), rates)), axis=0)
    mean = ((mean[over:-1] - mean[: -over - 1]) / over)[known]
    for i, name in enumerate(("roll", "pitch", "yaw")):
        slope = float(np.dot(turned[:, i], mean[:, i]) / max(np.dot(mean[:, i], mean[:, i]), 1e-12))
        if not 0.7 < slope < 1.4:
            way = (
                "positive the other way"
                if slope < -0.5
                else "its unit another one, or is the attitude late or turned"
            )
            raise InputError(
                f"the {name}_rate is not that of the attitude ({slope:.2f} of it): is {way}?", file=log.name
            )
    for name, stick, rate in (("aileron", 0, 0), ("elevator", 1, 1)):
        x, y = recording.sticks[:, stick][recording.known], rates[:, rate][recording.known]
        together = np.corrcoef(x, y)[0, 1] if np.ptp(x) > 0.1 else 0.0
        if together < -0.5:
            text = f"stick_{name} goes against what it does ({together:.2f}): is its positive the other way?"
            raise InputError(text, file=log.name)


def _numbers(
    path: Path, separator: str, names: Mapping[str, str], document: Document
) -> tuple[list[int], dict[str, np.ndarray]]:
    """Lines, and the columns of the map as they stand there, NaN for an empty cell."""
    raw = read_bytes(path, most=_MOST_BYTES)
    text = decoded(path, raw)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    lines, rows = [], []
    try:
        head = [cell.strip() for cell in next(reader, [])]
        for key, name in names.items():
            if head.count(name) != 1:
                is_in = f"{'stands twice' if name in head else 'is not'} in {shown(str(path))}"
                hint = "give each its own name" if name in head else nearest(name, head)
                raise document.error(("columns", key, "column"), f"column {shown(name)} {is_in}; {hint}")
        where = [head.index(name) for name in names.values()]
        for row in reader:
            if not row:
                continue
            if len(row) != len(head):
                text = f"got {len(row)} cells, expected {len(head)}; an empty cell keeps its {separator!r}"
                raise InputError(text, file=path, line=reader.line_num)
            rows.append([_number(row[i], path, reader.line_num, head[i]) for i in where])
            lines.append(reader.line_num)
    except csv.Error as error:
        raise InputError(f"not CSV: {error}", file=path, line=reader.line_num) from None
    if len(rows) < 2:
        raise InputError(
            "no flight; the first line names the columns, the others are values", file=path, line=1
        )
    return lines, dict(zip(names, np.array(rows).T, strict=True))


def _number(cell: str, path: Path, line: int, name: str) -> float:
    try:
        value = float(cell) if cell.strip() else math.nan
        if "_" in cell or (cell.strip() and not math.isfinite(value)):
            raise ValueError
    except ValueError:
        text = f"column {shown(name)}: got {shown(cell)}, expected a number, or nothing where it is not known"
        raise InputError(text, file=path, line=line) from None
    return value


def _rising(path: Path, lines: Sequence[int], read: np.ndarray, unit: float, name: str) -> np.ndarray:
    """Times from the first line on [s]."""
    if np.any(empty := np.isnan(read)):
        text = f"column {shown(name)}: empty, expected the time of this line"
        raise InputError(text, file=path, line=lines[int(np.argmax(empty))])
    steps = unit * np.diff(read)
    if np.any(wrong := steps <= 0.0):
        i = int(np.argmax(wrong))
        text = (
            f"column {shown(name)}: goes from {read[i]:.10g} to {read[i + 1]:.10g}, expected times that rise"
        )
        raise InputError(text, file=path, line=lines[i + 1])
    usual = float(np.median(steps))
    if not 0.001 <= usual <= _GAP:
        text = f"column {shown(name)}: lines are {usual:.3g} s apart, expected 0.001 to {_GAP:g} s: is its unit another one?"
        raise InputError(text, file=path, line=lines[0])
    if steps.sum() > 86400.0:
        text = f"column {shown(name)}: lasts {steps.sum() / 3600.0:.3g} hours, expected a flight"
        raise InputError(text, file=path, line=lines[int(np.argmax(steps)) + 1])
    return unit * (read - read[0])


def _believable(
    path: Path, lines: Sequence[int], found: np.ndarray, key: str, name: str, least: float, most: float
) -> None:
    """Refuse a column with too few numbers, or with such as no model shows."""
    about, ask = f"column {shown(name)}, the {key.replace('_', ' ')}:", "is its unit another one?"
    if np.count_nonzero(np.isfinite(found)) < 2:
        raise InputError(f"{about} empty, expected numbers", file=path, line=lines[0])
    if np.any(wrong := (found < least) | (found > most)):
        i = int(np.argmax(wrong))
        raise InputError(f"{about} {_plain(key, found[i])} is no flight; {ask}", file=path, line=lines[i])
    if key in _LEAST and np.nanmax(np.abs(found)) < _LEAST[key]:
        shows = _plain(key, float(np.nanmax(np.abs(found))))
        raise InputError(f"{about} never beyond {shows}; {ask}", file=path, line=lines[0])


def _plain(key: str, value: float) -> str:
    """A value as people say it."""
    if key in ("roll", "pitch", "heading"):
        return f"{math.degrees(value):.4g} deg"
    if key.endswith("_rate"):
        return f"{math.degrees(value):.4g} deg/s"
    if key.startswith("stick_"):
        return f"{100.0 * value:.4g} %"
    return f"{value:.4g} {({'height': 'm', 'speed': 'm/s', 'propeller': 'rad/s'})[key]}"


class Edge(NamedTuple):
    """A level knife-edge: mean sticks [share of full throw] and their standard errors; times in s."""

    start: float
    end: float
    side: str
    elevator: tuple[float, float]
    aileron: tuple[float, float]
    rudder: tuple[float, float]

    @property
    def words(self) -> str:
        """What was found, in words."""
        sticks = zip(
            ("elevator", "aileron", "rudder"), (self.elevator, self.aileron, self.rudder), strict=True
        )
        held = (f"{name} {_held(name, mean)} ± {100.0 * error:.1f}" for name, (mean, error) in sticks)
        return f"{self.start:.1f} to {self.end:.1f} s, {self.side} rudder: {', '.join(held)}"


def _held(channel: str, mean: float) -> str:
    """A stick as notes say it, to a tenth of a percent."""
    return amount_words(channel, round(mean, 3)).lower()


def knife_edges(log: Log) -> tuple[list[Edge], list[str]]:
    """Level knife-edges of a log, and where bank and rudder disagree, in words.

    Bank within 15 deg of 90, height rate within 2 m/s, for 2.5 s; half a second at each end is not counted.

    Raises
    ------
    InputError
        There is none, and the log shows nothing else that could be learned from.
    """
    bank = np.remainder(log.values["roll"] + math.pi, 2.0 * math.pi) - math.pi
    level = log.known & (np.abs(_rate(log.values["height"])) <= _CLIMB)
    ends, edges, odd = round(_ENDS * _RATE), [], []
    for side, sign in (("right", 1.0), ("left", -1.0)):  # right rudder carries it left wing down
        steady = level & (np.abs(bank + sign * math.pi / 2.0) <= _OFF)
        turns = np.flatnonzero(np.diff(np.concatenate(([False], steady, [False])).astype(int)))
        for first, last in turns.reshape(-1, 2):
            rows = slice(first + ends, last - ends)
            if rows.stop - rows.start < round(_STEADY * _RATE):
                continue
            held = [log.values[f"stick_{name}"][rows] for name in ("elevator", "aileron", "rudder")]
            means = [(float(np.mean(stick)), standard_error(stick)) for stick in held]
            edge = Edge(float(log.time[rows.start]), float(log.time[rows.stop - 1]), side, *means)
            if sign * edge.rudder[0] < _CARRIES:
                wing = "left" if side == "right" else "right"
                odd.append(
                    f"{edge.start:.1f} to {edge.end:.1f} s: {wing} wing down, which {side} rudder carries, but the rudder stick is at "
                    f"{_held('rudder', edge.rudder[0])}; left out"
                )
            else:
                edges.append(edge)
    if not edges and log.attitude is None:
        reason = (
            f"{odd[0]}; is positive of roll or of stick_rudder the other way?" if odd
            else f"bank within 15 deg of 90, height within {_CLIMB:g} m/s, for {_STEADY + 2.0 * _ENDS:g} s or longer"
        )  # fmt: skip
        raise InputError(f"no level knife-edge: {reason}", file=log.name)
    return sorted(edges), odd


def _rate(height: np.ndarray) -> np.ndarray:
    """Height rate [m/s]: slope of the straight line of least squares through the second around each time."""
    half = round(0.5 * _RATE)
    t = np.arange(-half, half + 1) / _RATE
    padded = np.concatenate((np.full(half, height[0]), height, np.full(half, height[-1])))
    return np.convolve(padded, -t / np.sum(t**2), mode="valid")


def standard_error(x: np.ndarray) -> float:
    """Standard error of the mean of a row whose neighbors go together.

    Variance/n times 1 + 2 (sum of autocorrelations), these summed in pairs as long as a pair is positive (initial
    positive sequence: Geyer, Statistical Science 7, 1992, 473-483), less what the row's own mean takes away.
    """
    n, off = len(x), x - np.mean(x)
    variances = np.correlate(off, off, mode="full")[n - 1 :] / n
    if variances[0] == 0.0:
        return 0.0
    pairs = variances[: n - n % 2].reshape(-1, 2).sum(axis=1)
    ends = np.flatnonzero(pairs <= 0.0)
    spread = 2.0 * float(np.sum(pairs[: ends[0] if len(ends) else None])) - float(variances[0])
    together = min(max(spread / float(variances[0]), 1.0), 0.9 * n)
    return math.sqrt(variances[0] * together / n / (1.0 - together / n))


def notes_text(
    log: Log,
    edges: Sequence[Edge],
    odd: Sequence[str],
    airframe: Airframe,
    flight: int,
    blends: Mapping[str, str],
) -> str:
    """The knife-edges as a file of notes.

    Parameters
    ----------
    log, edges, odd
        As of :func:`knife_edges`.
    airframe : Airframe
    flight : int
    blends : mapping of str to str
        Ratios that were in force -> amounts in words.
    """
    passes = "".join(
        f"      - {{maneuver: knife-edge, rudder: {edge.side}, held_elevator: {_held('elevator', edge.elevator[0])},\n"
        f"         held_aileron: {_held('aileron', edge.aileron[0])}, rudder_share: {min(100.0 * abs(edge.rudder[0]), 100.0):.1f} %,\n"
        f"         about: {_quoted(f'{log.name}, {edge.words}')}}}\n"
        for edge in edges
    )
    about = f"    about: {_quoted('; '.join(odd))}\n" if odd else ""
    in_force = json.dumps(dict(blends), ensure_ascii=False) if blends else "none"
    return (
        f"sixdof_notes: 1\naircraft: {_quoted(airframe.name)}\nflights:\n  - flight: {flight}\n{about}    log: {_quoted(log.name)}\n"
        f"    blends: {in_force}\n    passes:{f'{chr(10)}{passes}' if edges else ' []'}"
    ).rstrip("\n") + "\n"


def _quoted(text: str) -> str:
    """As text of a YAML file, not longer than it may be."""
    return json.dumps(text[:2000], ensure_ascii=False)

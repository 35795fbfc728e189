"""Notes of flights, as a flyer writes them: YAML with a list of flights, or CSV with a line a pass.

What is written is kept word for word; :func:`sixdof.learning.told.tell` turns it into what a pass tells of an airplane.
"""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any, Literal, NamedTuple

from pydantic import BeforeValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from sixdof.airframe.describe import full_throw
from sixdof.airframe.model import Airframe
from sixdof.files.errors import InputError, KeyPath, nearest, shown
from sixdof.files.fields import Model, Quantity, Share, Speed, Text, Time, Version, Word, complaint, words
from sixdof.files.validate import validate
from sixdof.files.yamlio import Document, decoded, parse_yaml, read_bytes
from sixdof.flight.blends import read_ratio
from sixdof.flight.needs import RATIOS
from sixdof.learning.readers import (
    NOTHING,
    Resting,
    read_in_force,
    read_line,
    read_passes,
    read_resting,
    read_said,
    read_stick,
    read_tendency,
    read_timed,
)
from sixdof.tuning.sequence import TENDENCIES, Tendency

__all__ = ["TESTS", "Flight", "Notes", "Pass", "find_notes", "notes_from", "read_blends", "read_notes"]

_PACKAGE = Path(__file__).resolve().parent.parent
_FOLDERS = (
    Path(),
    Path("notes"),
    Path("aircraft/notes"),
    _PACKAGE / "aircraft/notes",
    _PACKAGE.parent / "aircraft/notes",
)


def read_blends(text: str) -> dict[str, str]:
    """Ratios in force: ``none``, or ``rudder-elevator.right = 3 % up, rudder-aileron.right = 2 % right``.

    Raises
    ------
    InputError
    """
    if text.strip() == "none":
        return {}
    parts = [part.partition("=") for part in text.split(",")]
    found = {name.strip(): amount.strip() for name, _, amount in parts}
    try:
        if not all(equals for _, equals, _ in parts) or len(found) < len(parts):
            raise ValueError("expected each ratio once")
        read_in_force(found)
    except (ValueError, PydanticCustomError) as error:
        example = "none, or rudder-elevator.right=3 % up, rudder-aileron.right=2 % right"
        raise InputError(f"--blends {shown(text)}: {error}; write {example}") from None
    return found


Than = Literal["less", "same", "more"]


#: What an error of a flight is called in notes.
_KEYS = {"canopy": "pitch", "roll": "roll", "wing": "goes", "sideslip": "yaw"}


def _tests() -> dict[str, dict[str, Tendency]]:
    """Tests of the trimming sequence that a word is noted of: its name -> key -> the tendency that it speaks of."""
    found: dict[str, dict[str, Tendency]] = {}
    for row in TENDENCIES:
        named = row.said.partition(",")[0].replace(" 45° ", " ")
        with_way = (
            row.error == "roll" and row.side == "mean"
        )  # with the rudder or against it: no word of ours
        if row.part in ("cg", "dive", "thrust line", "balance", "differential", "rudder") and not with_way:
            found.setdefault(named, {})[_KEYS[row.error]] = row
    del found["power-off dive"]  # "dive" in notes, which tells of its ratio
    return found


#: Tests of the trimming sequence beside those that tell of ratios.
TESTS = _tests()


class Pass(Model):
    """What one pass showed."""

    maneuver: Annotated[
        str, words(*dict.fromkeys(("knife-edge", "dive", "inverted", "inverted line", *TESTS)))
    ]
    rudder: Annotated[Literal["right", "left"] | None, Field()] = None
    travel: Annotated[str | None, Field()] = None
    passes: Annotated[tuple[int, int], BeforeValidator(read_passes)] = (1, 1)
    pitch: Annotated[int | None, read_tendency("pitch")] = None
    roll: Annotated[int | None, read_tendency("roll")] = None
    goes: Annotated[int | None, read_tendency("goes")] = None
    yaw: Annotated[int | None, read_tendency("yaw")] = None
    helper_said: Annotated[tuple[tuple[int, str], ...], BeforeValidator(read_said)] = ()
    pitch_than_last: Than | None = None
    roll_than_last: Than | None = None
    held_elevator: Annotated[float | None, read_stick("elevator")] = None
    held_aileron: Annotated[float | None, read_stick("aileron")] = None
    rudder_share: Share | None = None
    seconds_to_45: Time | None = None
    push: Annotated[int | None, read_tendency("push")] = None
    line: Annotated[float | None, BeforeValidator(read_line)] = None
    about: Text = ""

    @property
    def tests(self) -> dict[str, Tendency]:
        """Key -> tendency of the sequence, of the words that this pass gives of one."""
        of_it = TESTS.get(self.maneuver, {})
        return {key: row for key, row in of_it.items() if getattr(self, key) is not None}


class Flight(Model):
    """One flight: what was set, and what its passes showed."""

    flight: Annotated[int, Field(strict=True, ge=1, le=9999)]
    date: Text = ""
    helper: Word = "helper"
    wind: Speed | None = None
    switch: Annotated[str, words("on", "off")] = "on"
    blends: Annotated[dict[str, float], BeforeValidator(read_in_force)]
    three_rolls: Annotated[float | None, BeforeValidator(Quantity("time", least="1 s", most="60 s").read)] = (
        None
    )
    timed_pass: Annotated[float | None, BeforeValidator(read_timed)] = None
    resting_elevator: Annotated[Resting | None, BeforeValidator(read_resting("up", "down"))] = None
    resting_aileron: Annotated[Resting | None, BeforeValidator(read_resting("right", "left"))] = None
    resting_rudder: Annotated[Resting | None, BeforeValidator(read_resting("right", "left"))] = None
    battery: Text = ""
    cg: Text = ""
    next_change: Text = ""
    about: Text = ""
    log: Text = ""
    passes: Annotated[tuple[Pass, ...], Field(max_length=60)]

    @model_validator(mode="after")
    def _shows_something(self) -> Flight:
        if not self.passes and not self.log:
            raise complaint("got none, expected at least one pass", "passes")
        return self

    @property
    def in_force(self) -> dict[str, float]:
        """Ratios that acted: none with the switch off."""
        return self.blends if self.switch == "on" else {}


class NotesFile(Model):
    """A file of notes."""

    sixdof_notes: Version = 1
    aircraft: Word
    sha256: Annotated[str | None, Field(pattern=r"^[0-9a-f]{8,64}$")] = None
    rate: Word | None = None
    about: Text = ""
    flights: Annotated[tuple[Flight, ...], Field(min_length=1, max_length=100)]


class Notes(NamedTuple):
    """A file of notes that was read.

    Attributes
    ----------
    name : str
    flights : tuple of Flight
        Shares of throw are those of the airplane's first rate.
    document : Document
        Where each key stands, as written.
    chords : dict of str to float
        Of the surfaces behind their hinges [m].
    """

    name: str
    flights: tuple[Flight, ...]
    document: Document
    chords: dict[str, float]

    def line(self, *key: str | int) -> int:
        """Line of a key."""
        return self.document.line(key)


def find_notes(text: str) -> Path:
    """Path of a file of notes: a path, or a name in the working folder, ``notes``, or among the samples."""
    path = Path(text)
    if "/" in text or "\\" in text:
        return path
    names = [text] if path.suffix in (".yaml", ".yml", ".csv") else [f"{text}.yaml", f"{text}.csv"]
    for folder in _FOLDERS:
        for name in names:
            if (folder / name).is_file():
                return folder / name
    return path


def read_notes(text: str, airframe: Airframe) -> Notes:
    """Read a file of notes of an airplane.

    Raises
    ------
    InputError
        By file, line and key; or it speaks of another airplane, or of another version of its file.
    """
    path = find_notes(text)
    return notes_from(path, read_bytes(path), airframe)


def notes_from(path: Path, raw: bytes, airframe: Airframe) -> Notes:
    """Read the bytes of a file of notes; ``path`` is what complaints name."""
    document = _csv(path, raw) if path.suffix == ".csv" else parse_yaml(path, raw)
    file = validate(NotesFile, document)
    if file.aircraft != airframe.name:
        text = f"these are notes of {shown(file.aircraft)}, not of {shown(airframe.name)}: name that airplane, or the notes of this one"
        raise document.error(("aircraft",), text)
    if file.sha256 is not None and not airframe.sha256.startswith(file.sha256):
        text = (
            f"these notes belong to another version of {shown(airframe.name)}'s file ({file.sha256[:8]}, now "
            f"{airframe.sha256[:8]}): if the airplane is still the one that was flown, put the new number here"
        )
        raise document.error(("sha256",), text)
    if file.rate is not None and file.rate not in airframe.rates:
        hint = nearest(file.rate, list(airframe.rates))
        raise document.error(("rate",), f"got {shown(file.rate)}, no rate of this airplane; {hint}")
    numbers = [flight.flight for flight in file.flights]
    for i, number in enumerate(numbers):
        if number in numbers[:i]:
            raise document.error(
                ("flights", i, "flight"), f"flight {number} stands here twice; give each its own number"
            )
        for j, one in enumerate(file.flights[i].passes):
            _check(one, document, ("flights", i, "passes", j))
    flights = file.flights
    if file.rate is not None and file.rate != airframe.default_rate:
        flights = tuple(_at_first_rate(flight, airframe, file.rate) for flight in flights)
        _no_pushes(flights, document, file.rate)
    chords = {name: getattr(airframe.controls, name).chord for name in ("elevator", "aileron", "rudder")}
    return Notes(path.name, flights, document, chords)


def _at_first_rate(flight: Flight, airframe: Airframe, rate: str) -> Flight:
    """A flight at another rate in shares of the first one: what deflects as much is the same.

    A blend adds so much of its target's throw at full source, so both throws count.
    """

    def times(channel: str, amount: float) -> float:
        first, other = (full_throw(airframe, name, channel, amount) for name in (airframe.default_rate, rate))
        return other / first if first else 1.0

    def ratio(name: str, amount: float) -> float:
        one = read_ratio(name)
        way = 1.0 if one.side in ("right", "up") else -1.0
        of_source = 1.0 if one.source == "throttle" else times(one.source, way)
        return amount * times(one.target, amount) / of_source

    def at_first(one: Pass) -> Pass:
        sticks = {"held_elevator": one.held_elevator, "held_aileron": one.held_aileron}
        now: dict[str, float] = {
            k: v * times(k.removeprefix("held_"), v) for k, v in sticks.items() if v is not None
        }
        if one.rudder_share is not None:
            now["rudder_share"] = one.rudder_share * times("rudder", 1.0 if one.rudder == "right" else -1.0)
        return one.model_copy(update=now)

    now: dict[str, Any] = {
        "blends": {name: ratio(name, amount) for name, amount in flight.blends.items()},
        "passes": tuple(map(at_first, flight.passes)),
    }
    if flight.three_rolls is not None:  # the rate of roll goes as the throw
        now["three_rolls"] = flight.three_rolls * times("aileron", 1.0)
    return flight.model_copy(update=now)


def _no_pushes(flights: Sequence[Flight], document: Document, rate: str) -> None:
    """A word for a push is of the stick, and so of the rate."""
    for i, flight in enumerate(flights):
        for j, one in enumerate(flight.passes):
            if one.push is not None:
                text = f"a word for the push says nothing at rate {shown(rate)}: write what it was, held_elevator: 4 % down"
                raise document.error(("flights", i, "passes", j, "push"), text)


_TELLS = {
    "knife-edge": ("pitch", "roll", "helper_said", "pitch_than_last", "roll_than_last", "held_elevator", "held_aileron",
                   "rudder_share", "seconds_to_45"),
    "dive": ("pitch", "pitch_than_last"),
    **{name: tuple(keys) for name, keys in TESTS.items()},
    "inverted": ("push", "held_elevator", *TESTS["inverted"]),
    "inverted line": ("line", *TESTS["inverted line"]),
}  # fmt: skip


def _check(one: Pass, document: Document, key: KeyPath) -> None:
    """What a pass cannot say."""
    edge, given = one.maneuver == "knife-edge", one.model_fields_set
    if edge and one.rudder is None:
        raise document.error(key, "a knife-edge needs its side: rudder: right (left wing down) or left")
    if not edge and one.rudder is not None:
        raise document.error((*key, "rudder"), f"a pass of {one.maneuver} has no side; leave it out")
    for name in given - {"maneuver", "rudder", "travel", "passes", "about"}:
        if name not in _TELLS[one.maneuver]:
            raise document.error(
                (*key, name),
                f"a pass of {one.maneuver} does not tell this; it tells {', '.join(_TELLS[one.maneuver])}",
            )
    if not given & set(_TELLS[one.maneuver]):
        raise document.error(key, f"this pass says nothing; it can tell {', '.join(_TELLS[one.maneuver])}")
    if one.travel not in (None, "left to right", "right to left"):
        raise document.error(
            (*key, "travel"),
            f"got {shown(one.travel)}, expected left to right or right to left, as you see it",
        )
    if any(word in ("came in", "went out") for _, word in one.helper_said) and one.travel is None:
        raise document.error(
            (*key, "helper_said"), "came in and went out need the travel: left to right, or right to left"
        )
    if one.seconds_to_45 is not None and one.roll in (None, NOTHING):
        raise document.error((*key, "seconds_to_45"), "seconds need the way it rolled: roll: strong left")


#: Columns of a line that belong to its flight.
_OF_FLIGHT = (
    "flight",
    "date",
    "helper",
    "wind",
    "switch",
    "three_rolls",
    "timed_pass",
    "resting_elevator",
    "resting_aileron",
    "resting_rudder",
    "battery",
    "cg",
    "next_change",
)
_OF_FILE = ("aircraft", "sha256", "rate")


def _csv(path: Path, raw: bytes) -> Document:
    """CSV as the document that YAML would be: a line a pass; columns named by ratios are the blends in force."""
    text = decoded(path, raw)
    reader = csv.reader(io.StringIO(text, newline=""), strict=True, skipinitialspace=True)
    rows: list[tuple[int, list[str]]] = []
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                rows.append((reader.line_num, [cell.strip() for cell in row]))
    except csv.Error as error:
        raise InputError(f"not CSV: {error}", file=path, line=reader.line_num) from None
    if len(rows) < 2:
        raise InputError(
            "no passes; the first line names the columns, each other line is a pass", file=path, line=1
        )
    head = rows[0][1]
    known = [*_OF_FILE, *_OF_FLIGHT, *(name for name in Pass.model_fields), *RATIOS]
    for name in head:
        if name not in known or head.count(name) > 1:
            hint = "twice" if head.count(name) > 1 else nearest(name, known)
            raise InputError(f"column {shown(name)}: {hint}", file=path, line=rows[0][0])
    if missing := [name for name in ("aircraft", "flight", "maneuver") if name not in head]:
        raise InputError(f"column {missing[0]} is missing; add it", file=path, line=rows[0][0])
    return _document(path, raw, text, head, rows[1:])


def _document(
    path: Path, raw: bytes, text: str, head: list[str], rows: list[tuple[int, list[str]]]
) -> Document:
    data: dict[str, Any] = {"flights": []}
    lines: dict[KeyPath, int] = {}
    for line, cells in rows:
        if len(cells) != len(head):
            raise InputError(
                f"got {len(cells)} cells, expected {len(head)}; an empty cell keeps its comma",
                file=path,
                line=line,
            )
        row = {name: cell for name, cell in zip(head, cells, strict=True) if cell}
        number = row.get("flight", "")
        if not re.fullmatch(r"[0-9]{1,4}", number):
            raise InputError(f"flight: got {shown(number)}, expected its number", file=path, line=line)
        of_flight: dict[str, Any] = {name: row[name] for name in _OF_FLIGHT if name in row} | {
            "flight": int(number)
        }
        of_flight["blends"] = {name: row[name] for name in RATIOS if name in row} or "none"
        of_pass = {name: row[name] for name in Pass.model_fields if name in row}
        for name in _OF_FILE:
            if data.setdefault(name, row.get(name)) != row.get(name):
                raise InputError(
                    f"{name}: got {shown(row.get(name))}, above it was {shown(data[name])}",
                    file=path,
                    line=line,
                )
        i = next(
            (i for i, f in enumerate(data["flights"]) if f["flight"] == int(number)), len(data["flights"])
        )
        if i == len(data["flights"]):
            data["flights"].append(of_flight | {"passes": []})
            lines |= {("flights", i): line} | {("flights", i, name): line for name in of_flight}
        before = {key: value for key, value in data["flights"][i].items() if key != "passes"}
        for key in {*before, *of_flight}:
            if before.get(key) != of_flight.get(key):
                raise InputError(
                    f"{key}: another one than in the first line of flight {number}", file=path, line=line
                )
        place = ("flights", i, "passes", len(data["flights"][i]["passes"]))
        lines |= {place: line} | {(*place, name): line for name in of_pass}
        data["flights"][i]["passes"].append(of_pass)
    data = {key: value for key, value in data.items() if value is not None}
    lines |= {(name,): rows[0][0] for name in _OF_FILE}
    return Document(path, data, hashlib.sha256(raw).hexdigest(), text, lines)

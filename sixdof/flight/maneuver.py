"""Maneuver files: phases of what the ideal path does, what each stick is asked to do, what is judged.

A file describes the maneuver to one side; the other side is its mirror image.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, PrivateAttr, model_validator

from sixdof.airframe.blends import CHANNELS as SOURCES
from sixdof.airframe.blends import TARGETS
from sixdof.files.errors import InputError, nearest, shown
from sixdof.files.fields import AnyAngle, Model, Quantity, Text, Word, complaint, words
from sixdof.files.validate import validate
from sixdof.files.yamlio import parse_yaml, read_bytes
from sixdof.flight.frame import MAX_MEASURED, MAX_PHASES
from sixdof.flight.pilot import FIXED, FREE, HELD, KEPT, SLIP
from sixdof.physics.channels import CHANNELS, NUMBER

__all__ = [
    "DIFFERENTIAL",
    "DIVE",
    "ERROR_NAMES",
    "KNIFE_EDGE",
    "LANDING",
    "PARTS",
    "EntrySpeed",
    "ManeuverFile",
    "Phase",
    "Until",
    "list_maneuvers",
    "load_maneuver",
    "make_maneuver",
    "maneuver_path",
]

#: Words a phase may use for a stick; ``test`` is held in the held way and let go in the free way, and
#: ``test kept`` is left where it stood as the phase began.
KEPT_TEST = "test kept"
POLICIES = {"free": FREE, "keep": KEPT, "hold": HELD, "no sideslip": SLIP}
ERROR_NAMES = ("canopy", "wing", "roll", "sideslip")
#: Parts of the trimming sequence, in its order; common practice, no source.
PARTS = (
    "trims", "power", "throws", "cg", "thrust line", "dive", "balance", "differential", "rudder",
    "knife-edge", "flaps", "landing",
)  # fmt: skip
#: The parts that are asked after by name.
KNIFE_EDGE, DIVE, DIFFERENTIAL, LANDING = "knife-edge", "dive", "differential", "landing"
#: How fast an ideal path climbs where the file says neither rate nor radius [rad/s].
CLIMB_RATE = math.radians(45.0)
#: What a maneuver may be about: every channel fed into every other one that can be added to.
PAIRS = tuple(f"{source}-{target}" for source in SOURCES for target in TARGETS if source != target)
#: What a target is there to cure, where a file of version 1 does not say so.
_CURES = {"elevator": "canopy", "aileron": "roll", "rudder": "sideslip", "flap": "canopy"}

Seconds = Annotated[float, Quantity("time", above="0 s", most="60 s")]
TurnRate = Annotated[float, Quantity("turning speed", above="0 deg/s", most="1000 deg/s")]
Height = Annotated[float, Quantity("length", least="5 m", most="2000 m")]
Radius = Annotated[float, Quantity("length", least="1 m", most="2000 m")]
Some = Annotated[float, Quantity("length", above="0 m", most="2000 m")]
_OF_CRUISE = Quantity("share", above="0 %", most="200 %")
Part = Annotated[str, words(*PARTS)]
View = Annotated[Literal["caller", "above", "along"], words("caller", "above", "along")]
Sides = Annotated[str, words("rudder", "roll", "none")]
Ways = Annotated[tuple[Annotated[str, words("held", "free")], ...], Field(min_length=1)]
Errors = Annotated[tuple[Annotated[str, words(*ERROR_NAMES)], ...], Field(min_length=1)]


@dataclass(frozen=True)
class EntrySpeed:
    """Speed a maneuver begins at: a share of cruise, of the stalling speed, or of that where CL is 1."""

    share: float
    of: Literal["cruise", "stall", "CL"] = "cruise"


def _read_speed(value: Any) -> EntrySpeed:
    """Read ``75 %`` (of cruise), ``1.3 stall`` or ``CL 0.8``."""
    if isinstance(value, EntrySpeed):
        return value
    text = value.strip() if isinstance(value, str) else ""
    if match := re.fullmatch(r"([0-9.]{1,9})\s*stall", text):
        multiple = _plain(match[1], value)
        if not 1.0 < multiple <= 10.0:
            raise ValueError(f"got {shown(value)}, expected more than 1 stall, up to 10 stall")
        return EntrySpeed(multiple, "stall")
    if match := re.fullmatch(r"CL\s*([0-9.]{1,9})", text):
        lift = _plain(match[1], value)
        if not 0.01 <= lift <= 5.0:
            raise ValueError(f"got {shown(value)}, expected CL 0.01 to CL 5")
        return EntrySpeed(1.0 / math.sqrt(lift), "CL")
    if "%" in text:
        return EntrySpeed(_OF_CRUISE.read(value))
    raise ValueError(f"got {shown(value)}, expected {_SPEEDS}")


_SPEEDS = 'a share of cruise ("75 %"), a multiple of the stalling speed ("1.3 stall") or a lift coefficient ("CL 0.8")'


def _plain(text: str, value: Any) -> float:
    try:
        return float(text)
    except ValueError:
        raise ValueError(f"got {shown(value)}, expected {_SPEEDS}") from None


def _blend(name: Any) -> str:
    if name not in PAIRS:
        raise ValueError(f"got {shown(name)}, expected SOURCE-TARGET; {nearest(str(name), PAIRS)}")
    return name


Speed = Annotated[EntrySpeed, BeforeValidator(_read_speed)]
Blend = Annotated[str, BeforeValidator(_blend)]


def _version(value: Any) -> int:
    if type(value) is not int or value not in (1, 2):
        raise ValueError(f"got {shown(value)}, expected 2; 1 is also read, a higher one needs a newer sixdof")
    return value


class Sticks(Model):
    """What each stick does: free, keep, hold, no sideslip, test, test kept, or a position."""

    aileron: Word = "hold"
    elevator: Word = "hold"
    rudder: Word = "hold"
    throttle: Word = "keep"
    flap: Word = "keep"


class Until(Model):
    """What ends a phase before its time: one of these.

    Bank, heading and climb as the airplane flies them, counted on through whole turns as the ideal path is;
    height since the phase began; speed over the one the maneuver began at.
    """

    bank: AnyAngle | None = None
    heading: AnyAngle | None = None
    climb: AnyAngle | None = None
    height_lost: Some | None = None
    height_gained: Some | None = None
    speed_above: Annotated[float, _OF_CRUISE] | None = None
    speed_below: Annotated[float, _OF_CRUISE] | None = None

    @model_validator(mode="after")
    def _one(self) -> Until:
        given = [name for name, value in self if value is not None]
        if len(given) != 1:
            raise complaint(
                f"got {', '.join(given) or 'nothing'}, expected one of {', '.join(type(self).model_fields)}"
            )
        return self

    @property
    def key(self) -> str:
        """The one that is given."""
        return next(name for name, value in self if value is not None)

    @property
    def value(self) -> float:
        """Its value [rad, m, share]."""
        return float(getattr(self, self.key))


class Phase(Model):
    """One stretch of a maneuver: the ideal path at its end, what ends it, and the sticks.

    A measured phase that comes last may last ``up_to`` more than its time, as far as the height allows.
    """

    name: Word
    time: Seconds
    until: Until | None = None
    bank: AnyAngle | None = None
    climb: AnyAngle | None = None
    heading: AnyAngle | None = None
    bank_rate: TurnRate = math.radians(180.0)
    climb_rate: TurnRate | None = None
    radius: Radius | None = None
    heading_rate: TurnRate | None = None
    keep_height: bool | None = None
    must_reach: bool = False
    measured: bool = False
    up_to: Seconds | None = None
    errors: Errors | None = None
    judges: dict[Blend, Errors] = Field(default_factory=dict)
    sticks: Sticks = Sticks()

    @model_validator(mode="after")
    def _judged(self) -> Phase:
        if self.measured and self.until is not None:
            raise complaint("a measured phase ends on its time; end the one before it so", "until")
        if self.judges and not self.measured:
            raise complaint("got it in a phase that is not measured; expected measured: true", "judges")
        if self.up_to is not None and not (self.measured and self.up_to > self.time):
            raise complaint("expected it in a measured phase, and longer than its time", "up_to")
        if self.climb_rate is not None and self.radius is not None:
            raise complaint("got climb_rate and radius, expected one of them", "radius")
        for blend, errors in self.judges.items():
            for error in errors:
                if self.errors is not None and error not in self.errors:
                    raise complaint(f"{error} is judged, but errors lack it; add it there", "judges", blend)
        for channel in CHANNELS:
            try:
                policy(getattr(self.sticks, channel), channel, held=True)
            except ValueError as error:
                raise complaint(str(error), "sticks", channel) from None
        return self

    @property
    def scored(self) -> tuple[str, ...]:
        """Errors that count while it is measured: all that it judges, where the file does not name them."""
        if self.errors is not None:
            return self.errors
        judged = {error for errors in self.judges.values() for error in errors}
        return tuple(e for e in ERROR_NAMES if e in judged) or ("canopy", "wing", "roll")


@dataclass(frozen=True)
class Ideal:
    """Ideal heading, climb and bank that a phase leads to [rad], as filed: to the right."""

    heading: float = 0.0
    climb: float = 0.0
    bank: float = 0.0

    def then(self, phase: Phase) -> Ideal:
        """The one that the next phase leads to."""
        return Ideal(
            self.heading if phase.heading is None else phase.heading,
            self.climb if phase.climb is None else phase.climb,
            self.bank if phase.bank is None else phase.bank,
        )

    @property
    def level(self) -> bool:
        """Upright or on its back, the path neither climbs nor sinks."""
        return abs(math.sin(self.climb)) < 1e-6

    @property
    def vertical(self) -> bool:
        """Too steep to have a heading."""
        return abs(math.cos(self.climb)) < math.sin(math.radians(10.0))


class ManeuverFile(Model):
    """What a maneuver file holds.

    Attributes
    ----------
    said : str
        The maneuver as people say it, without its side.
    part : str or None
        Part of the trimming sequence it belongs to, one of :data:`PARTS`.
    view : str
        Where it is best looked at from.
    tunes : tuple of str
        Blends that its measured phases judge, "rudder-elevator".
    """

    sixdof_maneuver: Annotated[int, BeforeValidator(_version)]
    name: Word
    said: Word = ""
    about: Text = ""
    part: Part | None = None
    view: View = "caller"
    sides: Sides
    tunes: tuple[Blend, ...] = ()
    height: Height = 120.0
    entry: Speed = Field(default=EntrySpeed(1.0), alias="speed")
    flown: Ways = ("held", "free")
    phases: Annotated[tuple[Phase, ...], Field(min_length=1, max_length=MAX_PHASES)]
    _path: Path = PrivateAttr(default=Path())
    _text: str = PrivateAttr(default="")

    @model_validator(mode="after")
    def _whole(self) -> ManeuverFile:
        if not re.fullmatch(r"[\w-]+", self.name):
            raise complaint(f"got {shown(self.name)}, expected letters, digits, _ and -", "name")
        measured = sum(phase.measured for phase in self.phases)
        if not 1 <= measured <= MAX_MEASURED:
            raise complaint(f"got {measured} measured phases, expected 1 to {MAX_MEASURED}", "phases")
        for number, (before, phase, after) in enumerate(self.path_of_phases()):
            _sound(number, before, phase, after, early=any(p.until for p in self.phases[:number]))
        for number, phase in enumerate(self.phases[:-1]):
            if phase.up_to is not None:
                raise complaint("expected it in the last phase only", "phases", number, "up_to")
        if not self.said:
            object.__setattr__(self, "said", self.name.replace("_", " "))
        self._settle_tunes()
        return self

    def _settle_tunes(self) -> None:
        """Version 2 says what is judged phase by phase; version 1 names the blends, once for all phases."""
        judged = [phase.judges for phase in self.phases]
        if self.sixdof_maneuver == 1:
            if any(judged):
                raise complaint("got judges in a file of version 1, expected 2 here", "sixdof_maneuver")
            phases = tuple(_judging(phase, self.tunes) if phase.measured else phase for phase in self.phases)
            object.__setattr__(self, "phases", phases)
        elif self.tunes:
            raise complaint(
                "got it in a file of version 2, expected in each measured phase what it judges, "
                f"as judges: {{{self.tunes[0]}: [canopy]}}",
                "tunes",
            )
        else:
            object.__setattr__(
                self, "tunes", tuple(dict.fromkeys(name for names in judged for name in names))
            )

    def path_of_phases(self) -> Iterator[tuple[Ideal, Phase, Ideal]]:
        """Each phase between the ideal it begins at and the one it leads to."""
        before = Ideal()
        for phase in self.phases:
            after = before.then(phase)
            yield before, phase, after
            before = after

    @property
    def speed(self) -> float:
        """Share of what ``speed_of`` names."""
        return self.entry.share

    @property
    def speed_of(self) -> Literal["cruise", "stall", "CL"]:
        """What the speed is a share of; see :func:`sixdof.flight.speed.entry_speed`."""
        return self.entry.of

    def faster(self, share: float) -> ManeuverFile:
        """The same maneuver at so many times its speed."""
        entry = EntrySpeed(share * self.entry.share, self.entry.of)
        return self.model_copy(update={"entry": entry})

    @property
    def stays_level(self) -> bool:
        """Whether its path never climbs or sinks."""
        return all(after.level for _, _, after in self.path_of_phases())

    @property
    def path_counts(self) -> bool:
        """Whether leaving the path is what is measured, not sideslip or roll alone."""
        return any({"canopy", "wing"} & set(phase.scored) for phase in self.phases if phase.measured)

    @property
    def path(self) -> Path:
        """The file it was read from."""
        return self._path

    @property
    def text(self) -> str:
        """The file as it was read."""
        return self._text

    def words(self, side: str) -> str:
        """``right-rudder knife-edge``, ``four-point roll to the left``, ``power-off dive``."""
        if self.sides == "none":
            return self.said
        return f"{side}-rudder {self.said}" if self.sides == "rudder" else f"{self.said} to the {side}"


def _sound(number: int, before: Ideal, phase: Phase, after: Ideal, *, early: bool) -> None:
    """Refuse what a phase cannot do where it stands; ``early``: one before it may have ended short of its ideal."""
    where = ("phases", number)
    if phase.heading is not None and after.vertical:
        raise complaint("a vertical path has no heading; turn before it", *where, "heading")
    if phase.until is None:
        return
    key, value = phase.until.key, phase.until.value
    if key == "heading" and (before.vertical or after.vertical):
        raise complaint("a vertical path has no heading; end it by climb or height", *where, "until", key)
    if not early and key in ("bank", "heading", "climb") and value == getattr(before, key):
        raise complaint("the phase begins there; expected where it leads to", *where, "until", key)


def _judging(phase: Phase, tunes: Sequence[str]) -> Phase:
    """A measured phase of version 1: it judges each blend by what its target cures, as far as that is scored."""
    cured = {name: _CURES[name.split("-")[1]] for name in tunes}
    judges = {name: (error,) for name, error in cured.items() if error in phase.scored}
    return phase.model_copy(update={"errors": phase.scored, "judges": judges})


def policy(word: str, channel: str, *, held: bool) -> tuple[int, float]:
    """What a stick is asked by a word: the number of its policy, and a position.

    Raises
    ------
    ValueError
        Neither a known word nor a position inside its travel.
    """
    if word == "test":
        return (HELD if held else FREE), 0.0
    if word == KEPT_TEST:
        return (HELD if held else KEPT), 0.0
    if word == "test sideslip":
        return (SLIP if held else FREE), 0.0
    if word in POLICIES:
        return POLICIES[word], 0.0
    try:
        number, percent = word.split()
        value = float(number) / 100.0
        if percent == "%" and (-1.0 if NUMBER[channel] < 3 else 0.0) <= value <= 1.0:
            return FIXED, value
    except ValueError:
        pass
    known = [*POLICIES, "test", KEPT_TEST, "test sideslip"]
    raise ValueError(
        f'got "{word}", expected a position in percent ("0 %") or a word; {nearest(word, known)}'
    )


_FOLDER = Path(__file__).resolve().parent.parent / "maneuvers"


def list_maneuvers() -> list[tuple[str, str]]:
    """Names and descriptions of the maneuvers that come with the package, in the order of the trimming sequence."""
    files = [make_maneuver(path, read_bytes(path)) for path in sorted(_FOLDER.glob("*.yaml"))]
    return [
        (file.path.stem, file.about)
        for file in sorted(files, key=lambda file: PARTS.index(file.part or PARTS[-1]))
    ]


def maneuver_path(name_or_path: str) -> Path:
    """File of a maneuver: a path that ends in .yaml, or a name looked up in the working folder, then the package.

    Raises
    ------
    InputError
        Unknown name.
    """
    path = Path(name_or_path)
    if path.suffix == ".yaml":
        return path
    known = sorted(p.stem for p in _FOLDER.glob("*.yaml"))
    if re.fullmatch(r"[\w-]{1,80}", name_or_path):
        here = Path(f"{name_or_path}.yaml")
        if here.is_file():
            return here
    if name_or_path not in known:
        raise InputError(f"maneuver {shown(name_or_path)!r} is not known; {nearest(name_or_path, known)}")
    return _FOLDER / f"{name_or_path}.yaml"


def is_own(path: Path) -> bool:
    """Whether the file of a maneuver is one of the package's own."""
    return path.resolve().parent == _FOLDER


def load_maneuver(name_or_path: str) -> ManeuverFile:
    """Maneuver by name or path of its file.

    Parameters
    ----------
    name_or_path : str
        A path that ends in .yaml, or a name looked up in the working folder, then the package.

    Returns
    -------
    ManeuverFile
        What its file says, in SI and rad.

    Raises
    ------
    InputError
        Unknown name, or a file that does not fit.

    Examples
    --------
    >>> load_maneuver("knife_edge").tunes
    ('rudder-elevator', 'rudder-aileron')
    """
    path = maneuver_path(name_or_path)
    return make_maneuver(path, read_bytes(path))


@lru_cache(maxsize=64)
def make_maneuver(path: Path, raw: bytes) -> ManeuverFile:
    """Maneuver of the bytes of a file; `path` is where complaints say they came from.

    Raises
    ------
    InputError
    """
    document = parse_yaml(path, raw)
    maneuver = validate(ManeuverFile, document)
    maneuver._path, maneuver._text = path, document.text
    return maneuver

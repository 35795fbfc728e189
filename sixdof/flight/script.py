"""Maneuver files: phases of what the ideal path does and what each stick is asked to do.

A file describes the maneuver to one side; the other side is its mirror image.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Annotated

import numpy as np
from pydantic import Field, PrivateAttr, model_validator

from sixdof.files.errors import InputError, nearest, shown
from sixdof.files.fields import AnyAngle, Model, Quantity, Share, Text, Version, Word, complaint, words
from sixdof.files.validate import validate
from sixdof.files.yamlio import parse_yaml, read_bytes
from sixdof.flight.channels import CHANNELS, NUMBER
from sixdof.flight.frame import MAX_MEASURED, MAX_PHASES
from sixdof.flight.pilot import FIXED, FREE, HELD, KEPT, PHASE_DTYPE, SLIP

#: Words a phase may use for a stick; ``test`` is held in the held way and let go in the free way.
POLICIES = {"free": FREE, "keep": KEPT, "hold": HELD, "no sideslip": SLIP}
ERRORS = ("canopy", "wing", "roll", "sideslip")

Seconds = Annotated[float, Quantity("time", above="0 s", most="60 s")]
TurnRate = Annotated[float, Quantity("turning speed", above="0 deg/s", most="1000 deg/s")]
Height = Annotated[float, Quantity("length", least="5 m", most="2000 m")]


class Sticks(Model):
    """What each stick does: free, keep, hold, no sideslip, test, or a position."""

    aileron: Word = "hold"
    elevator: Word = "hold"
    rudder: Word = "hold"
    throttle: Word = "keep"
    flap: Word = "keep"


class Phase(Model):
    """One stretch of a maneuver: the ideal path at its end, and the sticks."""

    name: Word
    time: Seconds
    bank: AnyAngle | None = None
    climb: AnyAngle | None = None
    bank_rate: TurnRate = math.radians(180.0)
    climb_rate: TurnRate = math.radians(45.0)
    keep_height: bool = True
    must_reach: bool = False
    measured: bool = False
    errors: Annotated[tuple[Annotated[str, words(*ERRORS)], ...], Field(min_length=1)] = (
        "canopy",
        "wing",
        "roll",
    )
    sticks: Sticks = Sticks()


class ManeuverFile(Model):
    """What a maneuver file holds."""

    sixdof_maneuver: Version
    name: Word
    about: Text = ""
    sides: Annotated[str, words("rudder", "roll", "none")]
    tunes: tuple[Word, ...] = ()
    height: Height = 120.0
    speed: Share = 1.0
    flown: Annotated[tuple[Annotated[str, words("held", "free")], ...], Field(min_length=1)] = (
        "held",
        "free",
    )
    phases: Annotated[tuple[Phase, ...], Field(min_length=1, max_length=MAX_PHASES)]
    _path: Path = PrivateAttr(default=Path())
    _text: str = PrivateAttr(default="")

    @property
    def path(self) -> Path:
        """The file it came from."""
        return self._path

    @property
    def text(self) -> str:
        """That file as it was read."""
        return self._text

    @model_validator(mode="after")
    def _measured(self) -> ManeuverFile:
        if not re.fullmatch(r"[\w-]+", self.name):
            raise complaint(f"{shown(self.name)} came; letters, digits, _ and - are wanted", "name")
        measured = sum(phase.measured for phase in self.phases)
        if not 1 <= measured <= MAX_MEASURED:
            raise complaint(f"{measured} measured phases came; 1 to {MAX_MEASURED} are wanted", "phases")
        for number, phase in enumerate(self.phases):
            for channel in CHANNELS:
                word = getattr(phase.sticks, channel)
                try:
                    _policy(word, channel, True)
                except ValueError as error:
                    raise complaint(str(error), "phases", number, "sticks", channel) from None
        return self


def _policy(word: str, channel: str, held: bool) -> tuple[int, float]:
    if word == "test":
        return (HELD if held else FREE), 0.0
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
    known = [*POLICIES, "test", "test sideslip"]
    raise ValueError(f'"{word}" came; a position in percent ("0 %") or {nearest(word, known)}')


@dataclass(frozen=True)
class Script:
    """A maneuver to one side, flown one way, as records for the loop.

    Attributes
    ----------
    name, side, way : str
        ``way`` is "held" or "free".
    phases : records (MAX_PHASES,)
    n_phases : int
    height, speed : float [m], share of cruise
    tunes : tuple of str
        Blends this maneuver speaks about, "rudder-elevator".
    measured : tuple of str
        Names of the measured phases.
    """

    name: str
    side: str
    way: str
    phases: np.ndarray
    n_phases: int
    height: float
    speed: float
    tunes: tuple[str, ...]
    measured: tuple[str, ...]
    words: str = ""

    @property
    def window(self) -> np.ndarray:
        """Length of each measured phase [s], array (MAX_MEASURED,), 0 where there is none."""
        out = np.zeros(MAX_MEASURED)
        for phase in self.phases[: self.n_phases]:
            if phase["measured"] >= 0:
                out[phase["measured"]] = phase["duration"]
        return out

    @property
    def scored(self) -> np.ndarray:
        """Which errors count in each measured phase, array (MAX_MEASURED, 4)."""
        out = np.zeros((MAX_MEASURED, 4))
        for phase in self.phases[: self.n_phases]:
            if phase["measured"] >= 0:
                out[phase["measured"]] = phase["score"]
        return out


def frames_of(scripts: Sequence[Script], frame: float) -> int:
    """Radio frames [s] that the longest of some scripts takes, or some more."""
    longest = max((float(np.sum(s.phases["duration"][: s.n_phases])) for s in scripts), default=0.0)
    return int(longest / frame) + MAX_PHASES


_FOLDER = Path(__file__).resolve().parent.parent / "maneuvers"


def list_maneuvers() -> list[tuple[str, str]]:
    """Names and descriptions of the maneuvers that come with the package."""
    return [(p.stem, load_maneuver(p.stem).about) for p in sorted(_FOLDER.glob("*.yaml"))]


def maneuver_path(name_or_path: str) -> Path:
    """File of a maneuver: a path that ends in .yaml, or a name of the package's own.

    Raises
    ------
    InputError
        Unknown name.
    """
    path = Path(name_or_path)
    if path.suffix == ".yaml":
        return path
    known = sorted(p.stem for p in _FOLDER.glob("*.yaml"))
    if name_or_path not in known:
        raise InputError(f"maneuver {name_or_path!r} is not known; {nearest(name_or_path, known)}")
    return _FOLDER / f"{name_or_path}.yaml"


def load_maneuver(name_or_path: str) -> ManeuverFile:
    """Maneuver by name or path of its file.

    Parameters
    ----------
    name_or_path : str

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


def make_script(maneuver: ManeuverFile, side: str, way: str, *, speed: float | None = None) -> Script:
    """Records of a maneuver for one side ("right", "left" or "both") and way ("held", "free").

    The file stands for the right side: right rudder, or rolling right.  ``speed`` is a share of
    cruise in place of the file's.
    """
    sign = -1.0 if side == "left" else 1.0
    phases = np.zeros(MAX_PHASES, PHASE_DTYPE)
    bank = climb = 0.0
    number = 0
    names = []
    for record, phase in zip(phases, maneuver.phases, strict=False):
        bank = bank if phase.bank is None else phase.bank
        climb = climb if phase.climb is None else phase.climb
        record["duration"] = phase.time
        record["must_reach"] = phase.must_reach
        record["climb"], record["bank"] = climb, sign * bank
        record["climb_rate"], record["bank_rate"] = phase.climb_rate, phase.bank_rate
        record["keep_height"] = phase.keep_height
        record["switch"] = 1.0
        record["measured"] = -1
        for channel in CHANNELS:
            policy, value = _policy(getattr(phase.sticks, channel), channel, way == "held")
            record["policy"][NUMBER[channel]] = policy
            mirrored = channel in ("aileron", "rudder")
            record["value"][NUMBER[channel]] = value * (sign if mirrored else 1.0)
        if phase.measured:
            record["measured"] = number
            record["score"] = [float(e in phase.errors) for e in ERRORS]
            names.append(phase.name)
            number += 1
    return Script(
        name=maneuver.name,
        side=side,
        way=way,
        phases=phases,
        n_phases=len(maneuver.phases),
        height=maneuver.height,
        speed=maneuver.speed if speed is None else speed,
        tunes=maneuver.tunes,
        measured=tuple(names),
        words=_said(maneuver, side),
    )


def _said(maneuver: ManeuverFile, side: str) -> str:
    hyphened = {
        "knife_edge": "knife-edge",
        "four_point_roll": "four-point roll",
        "power_off_dive": "power-off dive",
    }
    said = hyphened.get(maneuver.name, maneuver.name.replace("_", " "))
    if side == "both":
        return said
    return f"{side}-rudder {said}" if maneuver.sides == "rudder" else f"{said} to the {side}"


def sides_of(maneuver: ManeuverFile) -> tuple[str, ...]:
    """Sides a maneuver is flown to."""
    return ("both",) if maneuver.sides == "none" else ("right", "left")


__all__ = [
    "ManeuverFile",
    "Script",
    "frames_of",
    "list_maneuvers",
    "load_maneuver",
    "make_maneuver",
    "make_script",
    "maneuver_path",
    "sides_of",
]

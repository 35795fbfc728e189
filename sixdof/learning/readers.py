"""What is written in a file of notes, cell by cell, turned into numbers: words, sticks, seconds, ratios in force."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Any, NamedTuple

from pydantic import BeforeValidator

from sixdof.airframe.blends import amount
from sixdof.files.errors import InputError, nearest, shown
from sixdof.files.fields import Quantity, complaint
from sixdof.files.units import read_quantity
from sixdof.flight.blends import read_ratio
from sixdof.learning.scale import SIZES

__all__ = [
    "NOTHING",
    "Resting",
    "read_in_force",
    "read_line",
    "read_passes",
    "read_resting",
    "read_said",
    "read_stick",
    "read_tendency",
    "read_timed",
]

#: Axis -> words of its two ways, the negative one first.
WAYS = {
    "pitch": ("to belly", "to canopy"), "roll": ("left", "right"), "push": ("pull", "push"), "goes": ("left", "right"),
    "yaw": ("proverse", "adverse"),
}  # fmt: skip
#: What a helper on the ground says of it.
SEEN = ("came in", "went out", "climbed", "sank")
_ORDER = list(SIZES)
#: Category of "nothing", in the middle.
NOTHING = len(_ORDER) - 1
_HABIT = {"none": "nothing", "no": "nothing", "hair": "a hair", "slightly": "slight", "moderately": "moderate",
          "strongly": "strong", "violently": "violent"}  # fmt: skip


def _size(text: str) -> tuple[int, str]:
    """The size that a text begins with, and what follows."""
    plain = " ".join(text.lower().split())
    for word in sorted([*_ORDER, *_HABIT], key=len, reverse=True):
        if plain == word or plain.startswith(f"{word} "):
            return _ORDER.index(_HABIT.get(word, word)), plain[len(word) :].strip()
    first = plain.split(" ")[0] if plain else ""
    raise ValueError(f"got {shown(text)}, expected a size: {', '.join(_ORDER)}; {nearest(first, _ORDER)}")


def read_tendency(axis: str) -> Any:
    """Reader of ``slight to belly``: a category, 0 violent one way to 10 violent the other way."""

    def read(value: Any) -> int:
        if not isinstance(value, str):
            raise ValueError(f"got {shown(value)}, expected words such as {_example(axis)}")
        size, way = _size(value)
        if size == 0:
            if way:
                raise ValueError(f"got {shown(value)}; nothing has no way, write nothing, or a hair {way}")
            return NOTHING
        low, high = WAYS[axis]
        plain = {low: -1, high: 1, low.removeprefix("to "): -1, high.removeprefix("to "): 1}
        if way not in plain:
            raise ValueError(
                f"got {shown(value)}, expected a way: {low} or {high}; {nearest(way, [low, high])}"
            )
        return NOTHING + plain[way] * size

    return BeforeValidator(read)


def _example(axis: str) -> str:
    return f'"slight {WAYS[axis][1]}"'


def read_stick(channel: str) -> Any:
    def read(value: Any) -> float:
        if not isinstance(value, str):
            raise ValueError(
                f'got {shown(value)}, expected the stick in words such as "3 % {"up" if channel == "elevator" else "left"}"'
            )
        return amount(value.lower(), channel)

    return BeforeValidator(read)


def read_passes(value: Any) -> tuple[int, int]:
    match = re.fullmatch(r"\s*(\d{1,2})\s+of\s+(\d{1,2})\s*", value) if isinstance(value, str) else None
    if match is None or not 1 <= int(match[1]) <= int(match[2]):
        raise ValueError(f'got {shown(value)}, expected passes that showed it, of those flown: "2 of 2"')
    return int(match[1]), int(match[2])


def read_said(value: Any) -> tuple[tuple[int, str], ...]:
    """``slight came in, a hair sank`` -> (size, word) each; the size may be left out."""
    if not isinstance(value, str):
        raise ValueError(f'got {shown(value)}, expected what the helper said: "slight came in"')
    found = []
    for part in value.split(","):
        plain = " ".join(part.lower().split())
        if plain not in SEEN:
            size, plain = _size(plain)
        else:
            size = -1
        if plain not in SEEN:
            raise ValueError(f"got {shown(part.strip())}, expected {', '.join(SEEN)}; {nearest(plain, SEEN)}")
        found.append((size, plain))
    return tuple(found)


def read_line(value: Any) -> float:
    """Seconds that an inverted line takes to level; ``holds`` is endless, ``climbs`` goes the other way."""
    if value == "holds":
        return float("inf")
    if value == "climbs":
        return -1.0
    return Quantity("time", least="0.5 s", most="60 s").read(value)


def read_in_force(value: Any) -> dict[str, float]:
    """Ratios that were in force: ``none``, or name -> amount in words."""
    if value == "none":
        return {}
    if not isinstance(value, dict):
        raise ValueError(
            f'got {shown(value)}, expected none, or ratios: {{"rudder-elevator.right": "3 % up"}}'
        )
    found = {}
    for name, text in value.items():
        try:
            ratio = read_ratio(str(name))
        except InputError as error:
            raise complaint(str(error), name) from None
        if not isinstance(text, str):
            raise complaint(f'got {shown(text)}, expected an amount in words such as "3 % up"', name)
        try:
            found[ratio.name] = amount(text.lower(), ratio.target)
        except ValueError as error:
            raise complaint(str(error), name) from None
    return found


#: Kinds of what a surface rests at, and the most that one would fly with.
_REST = {"length": "50 mm", "angle": "40 deg"}


class Resting(NamedTuple):
    """Where a surface rests in level flight: an angle [rad], or a way of its trailing edge [m], + up, right."""

    size: float
    kind: str

    def degrees(self, chord: float) -> float:
        """Of the surface, whose trailing edge moves on a circle about its hinge."""
        angle = self.size if self.kind == "angle" else math.asin(max(-1.0, min(1.0, self.size / chord)))
        return math.degrees(angle)


def read_resting(high: str, low: str) -> Callable[[Any], Resting]:
    """Reader of ``1 mm up`` and ``0.5 deg down`` by its two ways, the positive one first."""

    def read(value: Any) -> Resting:
        example = f'"1 mm {high}" at the trailing edge, or "0.5 deg {low}"'
        text, _, way = value.strip().rpartition(" ") if isinstance(value, str) else ("", "", "")
        if not text or way not in (high, low):
            raise ValueError(f"got {shown(value)}, expected where it rests: {example}")
        for kind, most in _REST.items():
            try:
                size = read_quantity(text, kind)
            except ValueError:
                continue  # of the other kind, or of none
            if not 0.0 <= size <= read_quantity(most, kind):
                raise ValueError(f"got {shown(value)}, expected 0 to {most}; as in {example}")
            return Resting(size if way == high else -size, kind)
        raise ValueError(f"got {shown(value)}, expected a length or an angle with its unit; as in {example}")

    return read


def read_timed(value: Any) -> float:
    """Speed [m/s] of ``100 m in 4 s, 4.2 s back``: the mean of both ways, so that a wind along them cancels."""
    example = '"100 m in 4 s, 4.2 s back"'
    match = (
        re.fullmatch(r"\s*(.+?)\s+in\s+(.+?)\s*,\s*(.+?)\s+back\s*", value)
        if isinstance(value, str)
        else None
    )
    if match is None:
        raise ValueError(f"got {shown(value)}, expected a level pass timed both ways: {example}")
    length = Quantity("length", least="20 m", most="2000 m").read(match[1])
    there, back = (Quantity("time", least="0.5 s", most="200 s").read(match[i]) for i in (2, 3))
    return 0.5 * (length / there + length / back)

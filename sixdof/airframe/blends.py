"""Blends: what is added to a target channel at each position of a source stick.

The file speaks in words ("3 % up"), one ratio a side; inside, an amount is a
share of the target's full throw in the target's own sense: + right aileron, up
elevator, right rudder, flap down.
"""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, model_validator

from sixdof.airframe.errors import nearest, shown
from sixdof.airframe.fields import (
    Delay,
    Model,
    ReadAs,
    SignedShare,
    Text,
    Word,
    complaint,
    words,
)
from sixdof.airframe.units import read_quantity

__all__ = ["CHANNELS", "SIDES", "WAYS", "BlendSpec", "Blends", "BlendsFile", "Gate", "amount"]

CHANNELS = ("aileron", "elevator", "rudder", "throttle", "flap")
TARGETS = ("aileron", "elevator", "rudder", "flap")

#: channel -> the words of its sides -> stick position there
SIDES: dict[str, dict[str, float]] = {
    "aileron": {"left": -1.0, "right": 1.0},
    "elevator": {"down": -1.0, "up": 1.0},
    "rudder": {"left": -1.0, "right": 1.0},
    "throttle": {"low": 0.0, "high": 1.0},
    "flap": {"low": 0.0, "high": 1.0},
}
#: target channel -> the words of its ways -> sign of the amount
WAYS: dict[str, dict[str, float]] = {
    "aileron": {"left": -1.0, "right": 1.0},
    "elevator": {"down": -1.0, "up": 1.0},
    "rudder": {"left": -1.0, "right": 1.0},
    "flap": {"up": -1.0, "down": 1.0},
}
#: a throttle blend acts within this share of either end, so that it leaves level flight alone;
#: common practice, no source
THROTTLE_BAND = 0.15

_AMOUNT = re.compile(r"\s*(.*%)\s*(\S*)\s*")
_SIDE_NAMES = ("left", "right", "up", "down", "low", "high")


def amount(text: str, target: str) -> float:
    """Read an amount in words for a target channel: ``amount("3 % up", "elevator")`` is 0.03.

    Raises
    ------
    ValueError
        With what came and how to write it.
    """
    ways = WAYS[target]
    example = " or ".join(f'"3 % {way}"' for way in ways)
    match = _AMOUNT.fullmatch(text)
    if not match:
        read_quantity(text, "share")  # complains about a look-alike in the right words
        raise ValueError(f"{shown(text)} came; write {example}")
    share, way = read_quantity(match[1], "share"), match[2]
    if match[1].startswith(("-", "+")):
        right = way if match[1][0] == "+" else next((other for other in ways if other != way), way)
        raise ValueError(f'{shown(text)} has a sign; write "{match[1].lstrip("+- ")} {right}"')
    if abs(share) > 1.0:
        raise ValueError(f"{shown(text)} came; 100 % is the most allowed")
    if not way and share == 0.0:
        return 0.0
    if way not in ways:
        hint = nearest(way, list(ways)) if way else ""
        raise ValueError(
            f"{shown(text)} does not say which way the {target} goes; write {example} {hint}".strip()
        )
    return ways[way] * share


class Gate(Model):
    """The blend works only while `channel` is below (or above) a share of its travel."""

    channel: Annotated[str, words(*CHANNELS)]
    below: SignedShare | None = None
    above: SignedShare | None = None

    @model_validator(mode="after")
    def _one_limit(self) -> Gate:
        if (self.below is None) == (self.above is None):
            raise complaint('a gate has one limit: below: "15 %" or above: "15 %"')
        return self


class BlendSpec(Model):
    """One blend, in numbers.

    Attributes
    ----------
    source, target : str
        Channels.
    points : tuple of (float, float)
        Source position in [-1, 1] (throttle and flap 0..1) and amount, straight between them
        and level beyond the outer ones.
    name : str
    switch : {"on", "off"}
        Where its switch stands.
    ramp : float [s]
        Time it takes to come in or go out.
    gate : Gate or None
    counts_trim : bool
        Whether the source's trim counts as stick.
    reads : {"command", "stick"}
        The source after rates and expo, or before.
    after : tuple of str
        Names of the blends whose amounts this one sees in its source.
    """

    source: str
    target: str
    points: tuple[tuple[float, float], ...]
    name: str = ""
    switch: Literal["on", "off"] = "on"
    ramp: float = 0.2
    gate: Gate | None = None
    counts_trim: bool = False
    reads: Literal["command", "stick"] = "command"
    after: tuple[str, ...] = ()

    @model_validator(mode="after")
    def _sound(self) -> BlendSpec:
        if self.source not in CHANNELS or self.target not in TARGETS or self.source == self.target:
            raise complaint(f"no blend leads from {shown(self.source)} to {shown(self.target)}")
        if len(self.points) < 2 or any(a[0] >= b[0] for a, b in pairwise(self.points)):
            raise complaint("a curve has two points or more, from low to high position", "points")
        if not self.name:
            object.__setattr__(self, "name", f"{self.source}-{self.target}")
        return self


class BlendForm(Model):
    """A blend as the file writes it: an amount for each side, or a curve."""

    source: Annotated[str, words(*CHANNELS)]
    target: Annotated[str, words(*TARGETS)]
    left: Word | None = None
    right: Word | None = None
    up: Word | None = None
    down: Word | None = None
    low: Word | None = None
    high: Word | None = None
    curve: Annotated[tuple[tuple[Any, Any], ...], Field(min_length=2, max_length=21)] | None = None
    name: Word | None = None
    switch: Annotated[Literal["on", "off"], words("on", "off")] = "on"
    ramp: Delay = 0.2  # s, common practice, no source
    gate: Gate | None = None
    counts_trim: Annotated[bool, Field(strict=True)] = False
    reads: Annotated[Literal["command", "stick"], words("command", "stick")] = "command"
    after: tuple[Word, ...] = ()

    def to_spec(self) -> BlendSpec:
        """Turn the words into numbers."""
        if self.source == self.target:
            raise complaint(f"a blend from {self.source} to itself; choose another channel", "target")
        common = {key: getattr(self, key) for key in BlendSpec.model_fields if key not in ("points", "name")}
        points = self._curve() if self.curve is not None else self._sides()
        return BlendSpec(points=points, name=self.name or f"{self.source}-{self.target}", **common)

    def _amount(self, text: Any, *key: str | int) -> float:
        if not isinstance(text, str):
            raise complaint(f'{shown(text)} came; write the amount in words, as "3 % up"', *key)
        try:
            return amount(text, self.target)
        except ValueError as error:
            raise complaint(str(error), *key) from None

    def _sides(self) -> tuple[tuple[float, float], ...]:
        """One ratio a side: straight lines from the rest of the source."""
        sides = SIDES[self.source]
        given = {side: getattr(self, side) for side in _SIDE_NAMES if getattr(self, side) is not None}
        for side in given:
            if side not in sides:
                raise complaint(
                    f"the {self.source} has no such side; its sides are {' and '.join(sides)}", side
                )
        if not given:
            raise complaint(
                f'no amount; give {" and ".join(sides)}, as "3 % {next(iter(WAYS[self.target]))}"'
            )
        amounts = {side: self._amount(given[side], side) if side in given else 0.0 for side in sides}
        if self.source == "throttle":
            band = THROTTLE_BAND
            return ((0.0, amounts["low"]), (band, 0.0), (1.0 - band, 0.0), (1.0, amounts["high"]))
        if self.source == "flap":
            if "low" in given:
                raise complaint("flaps up is their rest, where a blend adds nothing; give high", "low")
            return ((0.0, 0.0), (1.0, amounts["high"]))
        low, high = sides
        return ((-1.0, amounts[low]), (0.0, 0.0), (1.0, amounts[high]))

    def _curve(self) -> tuple[tuple[float, float], ...]:
        """Points of a curve: position of the source as a share, amount in words."""
        for side in _SIDE_NAMES:
            if getattr(self, side) is not None:
                raise complaint("a curve already says it all; leave this side out", side)
        least = min(SIDES[self.source].values())
        points: list[tuple[float, float]] = []
        for number, (where, what) in enumerate(self.curve or ()):
            try:
                position = read_quantity(where, "share")
            except ValueError as error:
                raise complaint(str(error), "curve", number, 0) from None
            if not least <= position <= 1.0:
                raise complaint(
                    f"{shown(where)} is outside of {least:.0%} to 100 % of the {self.source}",
                    "curve",
                    number,
                    0,
                )
            if points and position <= points[-1][0]:
                raise complaint(
                    "this point is not above the one before; list them from low to high", "curve", number
                )
            points.append((position, self._amount(what, "curve", number, 1)))
        return tuple(points)


def _orderly(specs: tuple[BlendSpec, ...]) -> tuple[BlendSpec, ...]:
    """Check the names and the order that ``after`` asks for."""
    names = [spec.name for spec in specs]
    for number, spec in enumerate(specs):
        if spec.name in names[:number]:
            raise complaint(
                f"two blends are called {shown(spec.name)}; give one another name", number, "name"
            )
        for place, name in enumerate(spec.after):
            if name not in names:
                raise complaint(f"{shown(name)} came; {nearest(name, names)}", number, "after", place)
    _refuse_loops({spec.name: spec.after for spec in specs}, names)
    return specs


def _refuse_loops(after: dict[str, tuple[str, ...]], names: list[str]) -> None:
    """Take away blends that wait for none that is left; what remains waits in a loop."""
    waiting = dict(after)
    while ready := [
        name for name, others in waiting.items() if not any(other in waiting for other in others)
    ]:
        for name in ready:
            del waiting[name]
    if waiting:
        loop = " -> ".join([*map(shown, waiting), shown(next(iter(waiting)))])
        first = names.index(next(iter(waiting)))
        raise complaint(f"blends wait for each other in a loop ({loop}); take one out", first, "after")


Blends = Annotated[
    tuple[Annotated[BlendSpec, ReadAs(BlendForm, BlendForm.to_spec)], ...],
    Field(max_length=100),
    AfterValidator(_orderly),
]


class BlendsFile(Model):
    """A file that holds blends and nothing else."""

    sixdof: Literal[1] = 1
    about: Text = ""
    blends: Blends

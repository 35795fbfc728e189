"""Blends as a file writes them: in words ("3 % up"), one ratio a side, or a curve."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field

from sixdof.airframe.blends import SIDES, TARGETS, WAYS, BlendSpec, Gate, amount, side_points
from sixdof.files.errors import nearest, shown
from sixdof.files.fields import Delay, Model, ReadAs, Text, Version, Word, complaint, words
from sixdof.files.units import read_quantity
from sixdof.physics.channels import CHANNELS

__all__ = ["BlendForm", "Blends", "BlendsFile"]

_SIDE_NAMES = ("left", "right", "up", "down", "low", "high")


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
    after: Annotated[tuple[Word, ...], Field(max_length=20)] = ()

    def to_spec(self) -> BlendSpec:
        """Turn the words into numbers."""
        if self.source == self.target:
            raise complaint(f"a blend from {self.source} to itself; choose another channel", "target")
        common = {key: getattr(self, key) for key in BlendSpec.model_fields if key not in ("points", "name")}
        points = self._curve() if self.curve is not None else self._sides()
        return BlendSpec(points=points, name=self.name or f"{self.source}-{self.target}", **common)

    def _amount(self, text: Any, *key: str | int) -> float:
        if not isinstance(text, str):
            raise complaint(f'got {shown(text)}, expected an amount in words such as "3 % up"', *key)
        try:
            return amount(text, self.target)
        except ValueError as error:
            raise complaint(str(error), *key) from None

    def _sides(self) -> tuple[tuple[float, float], ...]:
        """One ratio a side: straight lines from the rest position of the source."""
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
        if self.source == "flap" and "low" in given:
            raise complaint("flaps up is the rest position, where a blend adds nothing; give high", "low")
        return side_points(self.source, {side: self._amount(given[side], side) for side in given})

    def _curve(self) -> tuple[tuple[float, float], ...]:
        """Points of a curve: position of the source as a share, amount in words."""
        for side in _SIDE_NAMES:
            if getattr(self, side) is not None:
                raise complaint("a curve covers both sides; leave this one out", side)
        least = min(SIDES[self.source].values())
        points: list[tuple[float, float]] = []
        for number, (where, what) in enumerate(self.curve or ()):
            try:
                position = read_quantity(where, "share")
            except ValueError as error:
                raise complaint(str(error), "curve", number, 0) from None
            if not least <= position <= 1.0:
                raise complaint(
                    f"{shown(where)} is outside {least * 100:g} % to 100 % of the {self.source}",
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
                raise complaint(
                    f"unknown blend {shown(name)}; {nearest(name, names)}", number, "after", place
                )
    _refuse_loops({spec.name: spec.after for spec in specs}, names)
    return specs


def _refuse_loops(after: dict[str, tuple[str, ...]], names: list[str]) -> None:
    """Remove blends that wait for none of those left; whatever remains is a loop."""
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

    sixdof: Version = 1
    about: Text = ""
    blends: Blends

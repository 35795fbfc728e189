"""Blends in numbers: what is added to a target channel at each position of a source stick.

An amount is a share of the target's full throw in the target's own sense: + right aileron, up
elevator, right rudder, flap down.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import model_validator

from sixdof.files.errors import nearest, shown
from sixdof.files.fields import (
    Model,
    SignedShare,
    complaint,
    words,
)
from sixdof.files.units import read_quantity
from sixdof.physics.channels import CHANNELS, SURFACES

__all__ = [
    "SIDES",
    "TARGETS",
    "THROTTLE_BAND",
    "WAYS",
    "BlendSpec",
    "Gate",
    "amount",
    "amount_words",
    "side_points",
]

#: a throttle blend acts within this share of either end, so that it leaves level flight alone;
#: common practice, no source
THROTTLE_BAND = 0.15

#: Channels that a blend may add to.
TARGETS = SURFACES

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
_AMOUNT = re.compile(r"\s*(.*%)\s*(\S*)\s*")


def amount(text: str, target: str) -> float:
    """Read an amount in words for a target channel: ``amount("3 % up", "elevator")`` is 0.03.

    Raises
    ------
    ValueError
        With what was found and how to write it.
    """
    ways = WAYS[target]
    example = " or ".join(f'"3 % {way}"' for way in ways)
    match = _AMOUNT.fullmatch(text[:80])
    if not match or len(text) > 80:
        read_quantity(text, "share")  # complains about a look-alike in the right words
        raise ValueError(f"got {shown(text)}; write {example}")
    share, way = read_quantity(match[1], "share"), match[2]
    if match[1].startswith(("-", "+")):
        right = way if match[1][0] == "+" else next((other for other in ways if other != way), way)
        raise ValueError(f'{shown(text)} has a sign; write "{match[1].lstrip("+- ")} {right}"')
    if abs(share) > 1.0:
        raise ValueError(f"got {shown(text)}, expected at most 100 %")
    if not way and share == 0.0:
        return 0.0
    if way not in ways:
        hint = nearest(way, list(ways)) if way else ""
        raise ValueError(
            f"{shown(text)} does not say which way the {target} goes; write {example} {hint}".strip()
        )
    return ways[way] * share


def amount_words(target: str, amount: float) -> str:
    """An amount as people say it: ``3 % UP``; zero is ``0 %``."""
    if round(100.0 * amount, 6) == 0.0:
        return "0 %"
    way = next(word for word, sign in WAYS[target].items() if sign * amount > 0.0)
    return f"{abs(100.0 * amount):.4g} % {way.upper()}"


def side_points(source: str, amounts: Mapping[str, float]) -> tuple[tuple[float, float], ...]:
    """Points of a blend with one ratio a side, straight lines from the rest position of the source.

    Parameters
    ----------
    source : str
    amounts : mapping of str to float
        Side, a key of ``SIDES[source]`` -> what the full source to that side adds.  Sides that are not
        named add nothing.
    """
    if source == "throttle":
        low = ((0.0, amounts["low"]), (THROTTLE_BAND, 0.0)) if "low" in amounts else ((0.0, 0.0),)
        high = ((1.0 - THROTTLE_BAND, 0.0), (1.0, amounts["high"])) if "high" in amounts else ((1.0, 0.0),)
        return low + high
    if source == "flap":
        return ((0.0, 0.0), (1.0, amounts["high"]))
    low_side, high_side = SIDES[source]
    return ((-1.0, amounts.get(low_side, 0.0)), (0.0, 0.0), (1.0, amounts.get(high_side, 0.0)))


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

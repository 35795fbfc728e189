"""What is moved over a range: a ratio, a change of the airframe, speed, throttle, rudder or the wind."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, cast

import numpy as np

from sixdof.airframe.blends import amount_words
from sixdof.airframe.changes import CHANGES, change_words, find_change
from sixdof.files.errors import InputError, nearest
from sixdof.files.units import UNITS, to_unit
from sixdof.flight.blends import Ratio, blend_row, read_ratio
from sixdof.flight.gusts import Wind, read_wind
from sixdof.flight.script import ManeuverFile

__all__ = ["USUAL", "Axis", "Kind", "read_over", "read_overs", "read_vary", "value_words"]

Kind = Literal["ratio", "change", "speed", "throttle", "rudder", "wind"]

#: Usual step of a radio's ratios, share.
_STEP = 0.005
#: Shares that are moved in percent: from, to.
_SHARES = {"speed": (50.0, 200.0), "throttle": (0.0, 100.0), "rudder": (0.0, 100.0)}
#: What the name of a band stands for: what an afternoon at the field brings; common practice, no source.
USUAL = ("speed=85..115", "rudder=40..80", "wind=3 m/s from the right")
#: How many values of a band are flown, alone and where there are several; samples of the gusts of a wind, beside calm air.
_ALONE, _TOGETHER, _SAMPLES = 5, 3, 3
#: How many of a range: of a ratio, and of what moves the airplane itself.
_SETTINGS, _PLACES = 17, 9


@dataclass(frozen=True)
class Axis:
    """Something that is moved, and to which values.

    Attributes
    ----------
    name : str
        As it is typed: "rudder-elevator.left", "rudder-elevator", "cg", "speed", "wind".
    kind : str
    values : tuple of float
        Ascending: shares, amounts of a change [SI], numbers of gust samples with 0 for calm air.
    ratios : tuple of Ratio
        What is set to a value: one, or one each side of a blend.
    wind : Wind, optional
    """

    name: str
    kind: Kind
    values: tuple[float, ...]
    ratios: tuple[Ratio, ...] = ()
    wind: Wind | None = None

    @property
    def unit(self) -> str:
        """Of what people read."""
        return CHANGES[self.name].unit if self.kind == "change" else "" if self.kind == "wind" else "%"

    @property
    def shown(self) -> list[float]:
        """The values as people read them."""
        return [self._shown(value) for value in self.values]

    @property
    def said(self) -> str:
        """What is moved: ``left rudder: elevator``, ``CG``, ``speed``."""
        if self.ratios:
            ratio = self.ratios[0]
            return f"{ratio.words if len(self.ratios) == 1 else ratio.source}: {ratio.target}"
        return "CG" if self.name == "cg" else self.name.replace("-", " ").replace("cg ", "CG ")

    @property
    def title(self) -> str:
        """The same with its unit and which way is +: ``CG [mm, + aft]``."""
        ways = {"change": self.kind == "change" and CHANGES[self.name].ways[0], "ratio": self._more()}
        way = ways.get(self.kind)
        return (
            f"{self.said} [{self.unit}, + {way}]" if way else f"{self.said} [{self.unit}]".replace(" []", "")
        )

    def _more(self) -> str:
        return ("up" if self.ratios[0].target == "elevator" else "down" if self.ratios[0].target == "flap" else "right") if self.ratios else ""  # fmt: skip

    def words(self, value: float) -> str:
        """A value: ``3 % UP``, ``CG 5 mm further aft``, ``90 % of the speed``, ``calm``."""
        return value_words(self.name, self._shown(value))

    def _shown(self, value: float) -> float:
        if self.kind == "change":
            return to_unit(value, self.unit, CHANGES[self.name].kind)
        return value if self.kind == "wind" else 100.0 * value

    @property
    def span(self) -> str:
        """From where to where: ``speed 80 to 120 %``."""
        if self.wind is not None:
            return f"calm and wind of {self.wind.words}"
        low, *_, high = self.shown
        return f"{self.said} {low:g} to {high:g} {self.unit}"


def value_words(name: str, value: float) -> str:
    """A value as people read it, of what has this name: ``3 % UP``, ``CG 5 mm further aft``, ``90 % of the speed``, ``calm``."""
    if name in CHANGES:
        change = CHANGES[name]
        return change_words(name, value * UNITS[change.kind][change.unit]) if round(value, 9) else "as it is"
    if name == "wind":
        return f"gusts {value:.0f}" if value else "calm"
    if name in _SHARES:
        return f"{value:.3g} % {'of the speed' if name == 'speed' else name}"
    return amount_words(name.partition(".")[0].partition("-")[2], round(0.01 * value, 8))


def read_vary(text: str, count: int | None = None) -> Axis:
    """Read a range that is looked at: ``throttle-elevator.low=-6..2``, ``rudder-aileron=0..9`` (both sides alike),
    ``cg=-10..10`` or ``speed=80..120``.

    Ratios lie on the steps of a radio, half a percent, unless they are closer together.

    Raises
    ------
    InputError
    """
    name = text.partition("=")[0].strip()
    if count is not None and not 2 <= count <= 201:
        raise InputError(f"--count: got {count}, expected 2 to 201 settings")
    if name in CHANGES or name in _SHARES:
        return _condition("--vary", name, text, count or _PLACES)
    ratios = _ratios(name)
    low, high = _span(text)
    first, last = 0.01 * low, 0.01 * high
    if not (first < last and max(abs(first), abs(last)) <= 1.0):
        raise InputError(f"got {text!r}, expected a range in percent from low to high, as {name}=-6..2")
    many = count or _SETTINGS
    amounts = np.linspace(first, last, many)
    if (last - first) / (many - 1) >= _STEP:
        amounts = np.unique(np.round(amounts / _STEP)) * _STEP
    return Axis(name, "ratio", tuple(amounts.tolist()), ratios)


def _ratios(name: str) -> tuple[Ratio, ...]:
    """One ratio, or those of all sides of a blend."""
    try:
        row = blend_row(name)
    except InputError:
        return (read_ratio(name),)
    return tuple(Ratio(row.source, row.target, side) for side in row.sides)


def read_over(text: str, count: int = _ALONE) -> Axis:
    """Read a band: ``speed=80..120`` (percent of the maneuver's), ``throttle=40..100``, ``rudder=40..100`` (percent of full,
    as the sticks are let go), ``wind=3 m/s from the right``, or a change in its usual unit, ``cg=-6..6``, + toward its first way.

    Raises
    ------
    InputError
    """
    name, equals, rest = (part.strip() for part in text.partition("="))
    if name == "wind" and equals:
        try:
            wind = read_wind(rest)
        except InputError as error:
            raise InputError(f"--over: got {text!r}; {error}") from None
        return Axis(name, "wind", tuple(float(i) for i in range(_SAMPLES + 1)), wind=wind)
    if name not in _SHARES and name not in CHANGES:
        known = [*_SHARES, "wind", *CHANGES]
        raise InputError(
            f"--over: got {text!r}, expected a band of speed, throttle, rudder, wind or of a change; {nearest(name, known)}"
        )
    return _condition("--over", name, text, count)


def read_overs(texts: Sequence[str], maneuver: ManeuverFile) -> list[Axis]:
    """Read all bands that are flown at once; ``usual`` stands for :data:`USUAL`, as far as a maneuver has it.

    Raises
    ------
    InputError
    """
    every = [part for text in texts for part in (USUAL if text.strip() == "usual" else (text,))]
    if "usual" in [text.strip() for text in texts] and maneuver.sides != "rudder":
        every = [part for part in every if part not in USUAL or not part.startswith("rudder")]
    axes = [read_over(part, _ALONE if len(every) == 1 else _TOGETHER) for part in every]
    _different("--over", axes)
    for axis in axes:
        if axis.kind == "rudder" and maneuver.sides != "rudder":
            raise InputError(f"--over rudder: {maneuver.name} is not flown on the rudder")
    return axes


def _different(option: str, axes: Sequence[Axis]) -> None:
    names = [axis.name for axis in axes]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise InputError(f"{option} {twice} was given twice; once is enough")


def _condition(option: str, name: str, text: str, count: int) -> Axis:
    """A share in percent, or a change in its usual unit."""
    low, high = _span(text)
    if name in CHANGES:
        step = find_change(name).step
        if not low < high:
            raise InputError(
                f"{option}: got {text!r}, expected a band from low to high, as {name}=-{step:g}..{step:g}"
            )
        unit = UNITS[CHANGES[name].kind][CHANGES[name].unit]
        return Axis(name, "change", tuple((unit * np.linspace(low, high, count)).tolist()))
    least, most = _SHARES[name]
    if not low < high:
        raise InputError(f"{option}: got {text!r}, expected a band from low to high, as {name}=80..100")
    if not least <= low < high <= most:
        of = "the speed" if name == "speed" else f"full {name}"
        raise InputError(f"{option}: got {text!r}, expected {least:.0f} to {most:.0f} percent of {of}")
    return Axis(name, cast(Kind, name), tuple((0.01 * np.linspace(low, high, count)).tolist()))


def _span(text: str) -> tuple[float, float]:
    """Ends of ``name=low..high``; NaN where it does not read so."""
    _, equals, span = text.partition("=")
    low, dots, high = span.partition("..")
    try:
        return (float(low), float(high)) if equals and dots else (math.nan, math.nan)
    except ValueError:
        return math.nan, math.nan

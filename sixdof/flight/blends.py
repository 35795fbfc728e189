"""Blends as data: one row makes a blend tunable, flyable, explorable and sayable.

A ratio is what the full source to one side adds to the target, as a share of the target's full throw in
the target's own sense (+ right aileron, up elevator, right rudder).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from sixdof.airframe.blends import SIDES, TARGETS, THROTTLE_BAND, BlendSpec, side_points
from sixdof.airframe.load import load_blends
from sixdof.files.errors import InputError, nearest
from sixdof.physics.channels import CHANNELS, NUMBER

__all__ = [
    "BLENDS", "PHASES", "Blend", "Ratio", "activity", "blend", "blend_row", "fades_at", "make_blends", "ratios_of", "read_blends", "read_ratio",
]  # fmt: skip

_CENTERED = ("aileron", "elevator", "rudder")
#: Phases of a flight in which a blend may have to be off.
PHASES = ("take-off", "rolls", "inverted", "vertical lines", "landing")


@dataclass(frozen=True)
class Blend:
    """A row of the table of blends.

    Attributes
    ----------
    source, target : str
        Channels.
    sides : tuple of str
        Sides of the source that have a ratio of their own, keys of :data:`sixdof.airframe.blends.SIDES`;
        by default all that do not lie at its rest.
    knots : mapping of str to float
        More ratios between rest and full source: name -> position of the source.
    most : float
        Largest ratio looked at.
    cap : float
        Above it the airframe is to be cured first; common practice, no source.
    first : str
        How the airframe is cured, a sentence.
    off : str
        When the blend is off, in a word or two.
    off_in : tuple of str
        The same as :data:`PHASES`.
    beware : str
        What to know before flying it, a sentence.
    """

    source: str
    target: str
    sides: tuple[str, ...] = ()
    knots: Mapping[str, float] = field(default_factory=dict)
    most: float = 0.40
    cap: float = 0.15
    first: str = "fix the airframe first"
    off: str = ""
    off_in: tuple[str, ...] = ("take-off", "landing")
    beware: str = ""

    def __post_init__(self) -> None:
        if not self.sides:
            sides = [side for side in SIDES[self.source] if not (self.source == "flap" and side == "low")]
            object.__setattr__(
                self, "sides", tuple(sides[::-1]) if self.source in _CENTERED else tuple(sides)
            )

    @property
    def name(self) -> str:
        """``rudder-elevator``."""
        return f"{self.source}-{self.target}"

    def points(self, amounts: Mapping[str, float]) -> tuple[tuple[float, float], ...]:
        """Points (position of the source, amount) for the ratios that are named; sides nobody names add nothing."""
        ends = {side: amounts.get(side, 0.0) for side in self.sides}
        found = dict(side_points(self.source, ends))
        found |= {self.knots[name]: amount for name, amount in amounts.items() if name in self.knots}
        return tuple(sorted(found.items()))


_CROSSWIND = "rudder blends also act on crosswind rudder: switch them off for take-off and landing"
_ROWS = (
    Blend("rudder", "elevator", off="landing", beware=_CROSSWIND,
          first="recheck CG, incidence and thrust line first"),
    Blend("rudder", "aileron", off="landing", beware=_CROSSWIND, first="dihedral first"),
    Blend("aileron", "rudder", most=0.60, cap=0.40, off="rolls", off_in=("rolls", "inverted", "vertical lines"), first="more differential first",
          beware="aileron-rudder helps right way up only: switch it off for rolls, inverted and vertical lines"),
    Blend("throttle", "elevator", sides=("low",), most=0.25, cap=0.05, off="landing",
          first="CG, wing incidence and down-thrust first",
          beware="throttle-elevator needs a curve or a gate, never a straight line, which would spoil level "
          "flight; expect a pitch step in the landing flare, or switch it off"),
    Blend("throttle", "rudder", sides=("high",), most=0.30, cap=0.10, off="never", first="right-thrust first",
          beware="throttle-rudder acts near full throttle alone: it is on at take-off and on uplines, and steps when the "
          "throttle comes back"),
    Blend("throttle", "aileron", sides=("high",), most=0.20, cap=0.05, off="never", first="lateral balance first",
          beware="throttle-aileron acts near full throttle alone, at take-off too, where speed is least and it does little"),
    Blend("elevator", "flap", most=1.0, cap=0.50, off="landing", first="more elevator throw or CG further aft first",
          beware="elevator-flap drives flaps that hang on the same servos as the landing flap: switch it off for landing, and "
          "check that up elevator lowers them"),
    Blend("flap", "elevator", most=0.60, cap=0.30, off="never", off_in=(), first="less flap first",
          beware="flap-elevator must stay on while flaps are down"),
)  # fmt: skip
#: Name -> row, in the order in which they are told.  Any other pair of channels flies as a row without words.
BLENDS: dict[str, Blend] = {row.name: row for row in _ROWS}


@dataclass(frozen=True)
class Ratio:
    """One ratio of a blend, named as ``rudder-elevator.left``."""

    source: str
    target: str
    side: str

    @property
    def blend(self) -> str:
        """Name of the blend, ``rudder-elevator``."""
        return f"{self.source}-{self.target}"

    @property
    def name(self) -> str:
        """``rudder-elevator.left``."""
        return f"{self.blend}.{self.side}"

    @property
    def row(self) -> Blend:
        """Its blend in the table."""
        return blend_row(self.blend)

    @property
    def words(self) -> str:
        """Its source as people say it: ``right rudder``, ``closed throttle``, ``full flap``."""
        side = {"low": "closed", "high": "full"}.get(self.side, self.side.replace("-", " "))
        return f"{side} {self.source}"

    @property
    def position(self) -> float:
        """Where its source stands."""
        knots = self.row.knots
        return knots[self.side] if self.side in knots else SIDES[self.source][self.side]


def blend_row(name: str) -> Blend:
    """Row of a blend; a plain one for a pair of channels that the table does not have.

    Raises
    ------
    InputError
        Not two channels, with the nearest known name.
    """
    if name in BLENDS:
        return BLENDS[name]
    source, _, target = name.partition("-")
    if source in CHANNELS and target in TARGETS and source != target:
        return Blend(source, target)
    raise InputError(f"{name!r} is not a blend; {nearest(name, _all_names())}")


def _all_names() -> list[str]:
    pairs = (f"{source}-{target}" for source in CHANNELS for target in TARGETS if source != target)
    return list(dict.fromkeys((*BLENDS, *pairs)))


def ratios_of(blends: Sequence[str]) -> list[Ratio]:
    """All ratios of the named blends."""
    rows = [blend_row(name) for name in blends]
    return [Ratio(row.source, row.target, side) for row in rows for side in (*row.sides, *row.knots)]


def read_ratio(text: str) -> Ratio:
    """Ratio named as ``rudder-elevator.left``; any source to any target.

    Raises
    ------
    InputError
        With the nearest known name.
    """
    blend, _, side = text.strip().partition(".")
    if blend in _all_names():
        row = blend_row(blend)
        sides = [
            *row.sides,
            *row.knots,
            *(s for s in Blend(row.source, row.target).sides if s not in row.sides),
        ]
        if side in sides:
            return Ratio(row.source, row.target, side)
        raise InputError(f"{text!r} is not a ratio; {nearest(text, [f'{blend}.{s}' for s in sides])}")
    known = [ratio.name for ratio in ratios_of(list(BLENDS))]
    raise InputError(f"{text!r} is not a ratio; {nearest(text, known)}")


def make_blends(ratios: Sequence[Ratio], amounts: Sequence[float] | np.ndarray) -> list[BlendSpec]:
    """Blends with these amounts, at once in; sides nobody names add nothing."""
    found: dict[str, dict[str, float]] = {}
    for ratio, amount in zip(ratios, amounts, strict=True):
        found.setdefault(ratio.blend, {})[ratio.side] = float(amount)
    return [_spec(blend_row(name), sides) for name, sides in found.items()]


def _spec(row: Blend, amounts: Mapping[str, float]) -> BlendSpec:
    sides = tuple(side for side in Blend(row.source, row.target).sides if side in {*row.sides, *amounts})
    points = Blend(row.source, row.target, sides, row.knots).points(amounts)
    return BlendSpec(source=row.source, target=row.target, points=points, ramp=0.0)


def blend(name: str, amounts: Mapping[str, float]) -> BlendSpec:
    """A blend of one's own.

    Parameters
    ----------
    name : str
        SOURCE-TARGET, any two channels.
    amounts : mapping of str to float
        Side (left, right, up, down, low, high) -> what the full source to that side adds, a share of the target's full throw in the target's
        own sense (+ right aileron, up elevator, right rudder).

    Returns
    -------
    BlendSpec
        For ``blends=`` of :func:`sixdof.fly`.

    Raises
    ------
    InputError
        Unknown channels or sides.

    Examples
    --------
    >>> blend("rudder-elevator", {"right": 0.03}).points
    ((-1.0, 0.0), (0.0, 0.0), (1.0, 0.03))
    """
    ratios = [read_ratio(f"{name}.{side}") for side in amounts]
    [spec] = make_blends(ratios, list(amounts.values())) or [_spec(blend_row(name), {})]
    return spec


def read_blends(texts: Sequence[str]) -> list[BlendSpec]:
    """Blends as people type them: ratios in percent, ``rudder-elevator.left=3``, or files of blends.

    Raises
    ------
    InputError
    """
    specs: list[BlendSpec] = []
    ratios, amounts = [], []
    for text in texts:
        if text.endswith((".yaml", ".yml")):
            specs += load_blends(text)
            continue
        name, _, value = text.partition("=")
        ratio = read_ratio(name)
        if ratio in ratios:
            raise InputError(f"--blend {ratio.name} was given twice; once is enough")
        try:
            amount = float(value) / 100.0
        except ValueError:
            raise InputError(f"--blend: got {text!r}, expected a percent, as {ratio.name}=3") from None
        if not abs(amount) <= 1.0:
            raise InputError(f"--blend: got {text!r}, expected -100 to 100 percent")
        ratios.append(ratio)
        amounts.append(amount)
    return [*specs, *make_blends(ratios, amounts)]


def activity(ratio: Ratio, commands: np.ndarray) -> np.ndarray:
    """How much of a ratio acts at given stick commands (..., 5): the weight of its amount, 0 to 1."""
    [spec] = make_blends([ratio], [1.0])
    positions, weights = np.array(spec.points).T
    return np.interp(commands[..., NUMBER[ratio.source]], positions, weights)


def fades_at(ratio: Ratio) -> float | None:
    """Position of the throttle where a ratio at one of its ends has faded to nothing, or None."""
    if ratio.source != "throttle":
        return None
    return THROTTLE_BAND if ratio.side == "low" else 1.0 - THROTTLE_BAND

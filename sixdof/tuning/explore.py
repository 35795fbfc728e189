"""A maneuver over a range of something, or over two: flown at every place, in one batch."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from pydantic import computed_field

from sixdof.airframe.blends import BlendSpec
from sixdof.files.errors import InputError
from sixdof.files.rows import Number, Row
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import Ratio, activity, make_blends
from sixdof.flight.fly import Flights, Track, no_blends, pack_blends
from sixdof.flight.gusts import Wind
from sixdof.flight.mixing import stick_for
from sixdof.flight.pilot import FIXED
from sixdof.flight.script import ERROR_NAMES, ManeuverFile, Script, make_script, sides_of
from sixdof.physics.channels import NUMBER
from sixdof.tuning.axes import Axis, value_words
from sixdof.tuning.bench import Bench
from sixdof.tuning.deviation import TERM_WORDS, drift
from sixdof.tuning.found import SEEN

__all__ = [
    "Grid",
    "Map",
    "MapAxis",
    "Setting",
    "explore_ratio",
    "fly_grid",
    "fly_map",
    "planes_over",
    "settings_of",
]

#: A ratio acts where its source comes out at least so far, share.
_ACTS = 0.02
#: What makes an airplane of its own, an air, a set of ratios, a script: so flights are numbered.
_ORDER = ("change", "wind", "ratio", "speed", "throttle", "rudder")

Progress = Callable[[float, str], None]


class Setting(Row):
    """A maneuver at one setting; the drift is the worst of the errors that tell of its blend, or of all, [deg], [deg/s].

    ``percent`` of a ratio; ``value``: of whatever is moved, in the unit that people use.
    """

    percent: Number
    value: Number = math.nan
    side: str
    status: str
    scored: bool
    drift: Number
    rate: Number
    term: str
    top_speed_m_s: Number
    height_used_m: Number

    @computed_field  # type: ignore[prop-decorator]
    @property
    def words(self) -> str:
        """Which way it drifts."""
        return TERM_WORDS[self.term][self.drift > 0.0]

    @property
    def at(self) -> float:
        """What was set, as people read it."""
        return self.percent if math.isfinite(self.percent) else self.value


class MapAxis(Row):
    """What is moved: its name as typed, in words, with its unit and which way is +, and its values in that unit."""

    name: str
    said: str
    title: str
    unit: str
    values: list[float]

    @property
    def is_ratio(self) -> bool:
        """Whether it is a ratio of a blend."""
        return ":" in self.said

    def words(self, value: float) -> str:
        """One of its values."""
        return value_words(self.name, value)

    @classmethod
    def of(cls, axis: Axis) -> MapAxis:
        """An axis as a row."""
        return cls(name=axis.name, said=axis.said, title=axis.title, unit=axis.unit, values=axis.shown)


class Map(Row):
    """A maneuver over two things.

    Attributes
    ----------
    axes : list of MapAxis
        Two.
    sides : list of str
        That were flown and count.
    drift : list of list of float [deg]
        ``drift[i][j]`` at value i of the first and j of the second: the worst error with its sign, of all sides; NaN
        where one does not finish.
    by_side : dict of str to the same
    terms : list of list of str
        Which error that is.
    best : list of int
        Where the drift is least: i, j; empty where no flight finished.
    around : list of tuple of float
        From where to where each axis may be off, the other at its best, and nobody sees a drift; as the axis has it.
        Empty where the best is seen.
    step_leaves : float [deg]
        The worst drift one step of either from the best; NaN where one does not finish.
    flights : int
    """

    axes: list[MapAxis]
    sides: list[str]
    drift: list[list[Number]]
    by_side: dict[str, list[list[Number]]]
    terms: list[list[str]]
    best: list[int]
    around: list[tuple[float, float]]
    step_leaves: Number
    flights: int

    @property
    def at_edge(self) -> list[str]:
        """Names of the axes at whose end the best lies."""
        return [
            axis.name for axis, i in zip(self.axes, self.best, strict=False) if i in (0, len(axis.values) - 1)
        ]


@dataclass(frozen=True)
class Grid:
    """Flights of a maneuver, sticks let go, at all places of some axes.

    Attributes
    ----------
    axes : tuple of Axis
    scripts : list of Script
        At the first place, one a side.
    beside : tuple of BlendSpec
        Flown with everywhere.
    bench : Bench
    flights : Flights
    number : int array (values of each axis ..., sides)
        Of each flight.
    """

    axes: tuple[Axis, ...]
    scripts: list[Script]
    beside: tuple[BlendSpec, ...]
    bench: Bench
    flights: Flights
    number: np.ndarray

    @property
    def only(self) -> list[str]:
        """Errors that tell of the blends that are moved; all that are scored where there are none."""
        script, ratios = self.scripts[0], [r for axis in self.axes for r in axis.ratios]
        judged = [name for ratio in ratios for name in script.judged(ratio.blend)]
        return [name for name in ERROR_NAMES if name in judged or not ratios]

    @property
    def acting(self) -> list[int]:
        """Numbers of the sides in which a ratio acts; all where none is moved.

        Raises
        ------
        InputError
            One acts nowhere.
        """
        m, found = len(self.scripts[0].measured), set()
        ratios = [r for axis in self.axes for r in axis.ratios]
        for ratio in ratios:
            mine = [
                s for s in range(len(self.scripts))
                if np.max(activity(ratio, self.flights.commands[self.number[..., s].ravel(), :m])) >= _ACTS
            ]  # fmt: skip
            if not mine:
                raise InputError(
                    f"{ratio.name}: in {self.scripts[0].name} the {ratio.source} never goes to that side while the sticks are let "
                    "go, so no setting acts"
                )
            found |= set(mine)
        return sorted(found) if ratios else list(range(len(self.scripts)))

    def fly(self, sets: Sequence[Sequence[BlendSpec]]) -> tuple[Flights, np.ndarray]:
        """Fly the same with sets of blends in place of the ratios.

        Returns
        -------
        flights : Flights
        number : int array (sets, places, sides)
            Of each flight; places as those of :attr:`number` without the axis of the ratio.
        """
        most = max(len(specs) for specs in sets) + len(self.beside)
        packed = no_blends(most)[None].repeat(len(sets), axis=0)
        for row, specs in zip(packed, sets, strict=True):
            row[: len(specs) + len(self.beside)] = pack_blends([*specs, *self.beside])
        flights = self.bench.fly_sets(np.repeat(packed, len(self.bench.scripts), axis=0))
        return flights, _numbers(
            [axis for axis in self.axes if not axis.ratios], len(sets), len(self.scripts)
        )

    def drifts(
        self, flights: Flights | None = None, number: np.ndarray | None = None
    ) -> tuple[np.ndarray, np.ndarray]:
        """The worst error [deg] with its sign, NaN where a flight did not finish, and which of :data:`ERROR_NAMES` it is.

        Parameters
        ----------
        flights, number
            Other flights of the same scripts; default: those of the grid.

        Returns
        -------
        array (as ``number``), int array (as ``number``)
        """
        flights, number = flights or self.flights, self.number if number is None else number
        m = len(self.scripts[0].measured)
        counts = self.scripts[0].scored[:m, None, :] * np.isin(ERROR_NAMES, self.only)
        errors = np.degrees(flights.errors[number][..., :m, :, :] * counts).reshape(*number.shape, -1)
        worst = np.argmax(np.abs(errors), axis=-1)
        value = np.take_along_axis(errors, worst[..., None], axis=-1)[..., 0]
        return np.where(flights.finished[number], value, np.nan), worst % len(ERROR_NAMES)


def planes_over(
    airplane: Airplane, axes: Sequence[Axis], progress: Progress = lambda share, text: None
) -> np.ndarray:
    """Plane records of an airplane at every place of those axes that change it, in the order in which flights are numbered.

    Raises
    ------
    InputError
        A change that cannot be.
    """
    changes = [axis for axis in axes if axis.kind == "change"]
    places = list(product(*(axis.values for axis in changes)))
    found = []
    for i, place in enumerate(places):
        progress(i / len(places), ", ".join(axis.said for axis in changes))
        amounts: Mapping[str, str | float] = {
            a.name: v for a, v in zip(changes, place, strict=True) if abs(v) > 1e-12
        }
        found.append(airplane.changed(amounts).planes)
    return np.concatenate(found)


def _adds_to(spec: BlendSpec, ratio: Ratio) -> bool:
    """Whether a blend adds something where a ratio of the same source and target does."""
    if spec.name != ratio.blend:
        return False
    [own] = make_blends([ratio], [1.0])
    at, amounts = zip(*spec.points, strict=True)
    return any(amount and np.interp(position, at, amounts) for position, amount in own.points)


def fly_grid(
    planes: np.ndarray, maneuver: ManeuverFile, axes: Sequence[Axis], *, beside: Sequence[BlendSpec] = (),
    wind: Wind | None = None, seed: int = 1, keep_tracks: bool = False,
) -> Grid:  # fmt: skip
    """Fly a maneuver, sticks let go, at every place of some axes.

    Parameters
    ----------
    planes : records (n,)
        From :func:`planes_over`.
    maneuver : ManeuverFile
    axes : sequence of Axis
    beside : sequence of BlendSpec
        Blends that are on at every place; no other is.
    wind : Wind, optional
        Where no axis is one.
    seed : int
        Which sample of its gusts.

    Raises
    ------
    InputError
        The maneuver says nothing about a blend, or is not flown on the rudder that is moved.
    """
    order = sorted(axes, key=lambda axis: _ORDER.index(axis.kind))
    ratios = [ratio for axis in order for ratio in axis.ratios]
    for ratio in ratios:
        if ratio.blend not in maneuver.tunes:
            fitting = ", ".join(maneuver.tunes) or "none"
            raise InputError(
                f"{maneuver.name} says nothing about {ratio.blend}; the blends it judges: {fitting}"
            )
    for spec in beside:
        if any(_adds_to(spec, ratio) for ratio in ratios):
            raise InputError(f"--blend {spec.name}: it is what varies; name another")
    blends = [axis for axis in order if axis.ratios]
    conditions = [axis for axis in order if axis.kind in ("speed", "throttle", "rudder")]
    if maneuver.sides != "rudder" and any(axis.kind == "rudder" for axis in conditions):
        raise InputError(f"rudder: {maneuver.name} is not flown on the rudder")
    scripts = [
        _script_at(planes[0], maneuver, side, dict(zip((a.name for a in conditions), place, strict=True)))
        for place in product(*(axis.values for axis in conditions))
        for side in sides_of(maneuver)
    ]
    windy = next((axis for axis in order if axis.kind == "wind"), None)
    seeds = [seed] if windy is None else [int(number) for number in windy.values if number]
    bench = Bench(
        planes,
        scripts,
        ratios,
        wind=wind if windy is None else windy.wind,
        seeds=seeds,
        calm_too=windy is not None,
    )
    amounts = [
        [value for axis, value in zip(blends, place, strict=True) for _ in axis.ratios]
        for place in product(*(axis.values for axis in blends))
    ]
    flights = bench.fly(np.array(amounts), beside=beside, keep_tracks=keep_tracks)
    sides = len(sides_of(maneuver))
    number = np.arange(len(flights.ends)).reshape([*(len(axis.values) for axis in order), sides])
    number = np.transpose(number, [*(order.index(axis) for axis in axes), len(axes)])
    return Grid(tuple(axes), scripts[:sides], tuple(beside), bench, flights, number)


def _numbers(axes: Sequence[Axis], sets: int, sides: int) -> np.ndarray:
    """Numbers of the flights of some sets of blends at all places of axes without ratios, array (sets, places, sides)."""
    order = sorted(axes, key=lambda axis: _ORDER.index(axis.kind))
    before = sum(axis.kind in ("change", "wind") for axis in order)
    sizes = [len(axis.values) for axis in order]
    number = np.arange(math.prod(sizes) * sets * sides).reshape(
        [*sizes[:before], sets, *sizes[before:], sides]
    )
    number = np.moveaxis(number, before, 0)
    return np.transpose(number, [0, *(1 + order.index(axis) for axis in axes), len(axes) + 1]).reshape(
        sets, -1, sides
    )


def _script_at(plane: np.void, maneuver: ManeuverFile, side: str, place: Mapping[str, float]) -> Script:
    """A maneuver to one side at another speed; throttle or rudder go to a place as the sticks are let go."""
    script = make_script(maneuver.faster(place.get("speed", 1.0)), side, "free")
    phases = script.phases.copy()
    measured = phases["measured"] >= 0
    for channel in ("throttle", "rudder"):
        if channel in place:
            value = place[channel]
            if channel == "rudder":
                value = stick_for(value if side == "right" else -value, float(plane["rudder_expo"]))
            phases["policy"][measured, NUMBER[channel]] = FIXED
            phases["value"][measured, NUMBER[channel]] = value
    return replace(script, phases=phases)


def settings_of(grid: Grid) -> tuple[list[Setting], list[Track]]:
    """Flights of a grid of one axis as rows, by side, then value, and their tracks if they were kept.

    Raises
    ------
    InputError
        A ratio acts nowhere.
    """
    [axis] = grid.axes
    settings, tracks = [], []
    for s in grid.acting:
        script = grid.scripts[s]
        for i, value in zip(grid.number[:, s].tolist(), axis.shown, strict=True):
            end, told = grid.flights.ends[i], drift(grid.flights, i, script, only=grid.only)
            settings.append(
                Setting(
                    percent=value if axis.ratios else math.nan, value=value, side=script.side,
                    status=grid.flights.status(i), scored=bool(grid.flights.finished[i]), drift=told.degrees,
                    rate=told.rate, term=told.term, top_speed_m_s=float(end["top_speed"]),
                    height_used_m=float(end["height_used"]),
                )
            )  # fmt: skip
            tracks += grid.flights.tracks[i : i + 1]
    return settings, tracks


def explore_ratio(
    planes: np.ndarray, maneuver: ManeuverFile, ratio: Ratio, amounts: Sequence[float],
    *, wind: Wind | None = None, seed: int = 1,
) -> tuple[list[Setting], list[Track]]:  # fmt: skip
    """Fly a maneuver, sticks let go, with each amount of one ratio and no other blend, all in the same air.

    Parameters
    ----------
    planes : records (1,)
    maneuver : ManeuverFile
    ratio : Ratio
    amounts : sequence of float
        Shares.
    wind : Wind, optional
    seed : int
        Which sample of its gusts.

    Returns
    -------
    settings : list of Setting
        By side, then amount; sides in which the ratio never acts are left out.
    tracks : list of Track

    Raises
    ------
    InputError
        The maneuver says nothing about this blend, or the ratio acts nowhere in it.
    """
    axis = Axis(ratio.name, "ratio", tuple(float(amount) for amount in amounts), (ratio,))
    return settings_of(fly_grid(planes, maneuver, [axis], wind=wind, seed=seed, keep_tracks=True))


def fly_map(
    planes: np.ndarray, maneuver: ManeuverFile, axes: Sequence[Axis], *, beside: Sequence[BlendSpec] = (),
    wind: Wind | None = None, seed: int = 1,
) -> Map:  # fmt: skip
    """Fly a maneuver over two axes; where there are more, the worst of all places of the others counts.

    Parameters
    ----------
    planes, maneuver, axes, beside, wind, seed
        As of :func:`fly_grid`.

    Raises
    ------
    InputError
        As :func:`fly_grid`, or a ratio acts nowhere.
    """
    grid = fly_grid(planes, maneuver, axes, beside=beside, wind=wind, seed=seed)
    value, term = grid.drifts()
    acting = grid.acting
    value, term = value[..., acting], term[..., acting]
    by_side = {
        grid.scripts[s].side: _worst(value[..., k].reshape(*value.shape[:2], -1))[0]
        for k, s in enumerate(acting)
    }
    flat = value.reshape(*value.shape[:2], -1)
    worst, at = _worst(flat)
    terms = np.take_along_axis(term.reshape(flat.shape), at[..., None], axis=-1)[..., 0]
    best = np.unravel_index(int(np.nanargmin(np.abs(worst))), worst.shape) if np.isfinite(worst).any() else ()
    i_j = [int(k) for k in best]
    near = _near(np.abs(worst), i_j) if i_j else np.array([math.nan])
    return Map(
        axes=[MapAxis.of(axis) for axis in axes[:2]],
        sides=list(by_side), drift=worst.tolist(), by_side={side: rows.tolist() for side, rows in by_side.items()},
        terms=[[ERROR_NAMES[k] for k in row] for row in terms.tolist()], best=i_j,
        around=[_unseen(axes[k].shown, np.abs(worst[:, i_j[1]] if k == 0 else worst[i_j[0]]), i_j[k]) for k in (0, 1)]
        if i_j and abs(worst[*i_j]) < SEEN else [],
        step_leaves=float(np.max(near)), flights=grid.number.size,
    )  # fmt: skip


def _worst(rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Of the last axis what is largest, with its sign, NaN where any is, and where it stands."""
    at = np.argmax(np.where(np.isnan(rows), np.inf, np.abs(rows)), axis=-1)
    return np.take_along_axis(rows, at[..., None], axis=-1)[..., 0], at


def _near(size: np.ndarray, best: Sequence[int]) -> np.ndarray:
    """Sizes one step of either axis from a place, those beyond the edge left out."""
    i, j = best
    near = [(i - 1, j), (i + 1, j), (i, j - 1), (i, j + 1)]
    return np.array([size[k] for k in near if 0 <= k[0] < size.shape[0] and 0 <= k[1] < size.shape[1]])


def _unseen(values: Sequence[float], size: np.ndarray, best: int) -> tuple[float, float]:
    """From where to where around a place nobody sees a drift, among the values that were flown."""
    low = high = best
    while low > 0 and size[low - 1] < SEEN:
        low -= 1
    while high < len(values) - 1 and size[high + 1] < SEEN:
        high += 1
    return values[low], values[high]

"""What the passes of a flight tell, and what they say against themselves."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from sixdof.flight.knife_edge import SIDES
from sixdof.flight.needs import DIVE, RATIOS
from sixdof.learning.crowd import GUST_WIND, Prior
from sixdof.learning.notes import Flight, Notes, Pass
from sixdof.learning.scale import EDGES, HELPER, JUDGMENT, middle
from sixdof.learning.seen import Gauge, Note, Than, Word, growing, scatter_in
from sixdof.tuning.sequence import READ, READ_REST, READ_SHARE, Saw

__all__ = ["Told", "canopy_of", "helpers_of", "tell", "words_of"]

#: How well sticks, the share of the rudder, seconds and an inverted line are read: absolute, of the value; tried, no source.
_STICK, _OF_STICK, _RUDDER, _OF_SECONDS, _LINE, _OF_LINE = 0.01, 0.15, 0.15, 0.25, 0.03, 0.2
#: Categories apart that two words of one flight cannot be; stick held against a drift that contradicts it.
_APART, _HELD = 2, 0.03
_NOTHING = 5
_MODERATE = 3
#: Seconds that full aileron is late by, of :data:`_ROLLS` (computed for the demos: .165 to .178); three of them [deg].
_LATE, _THREE = 0.17, 1080.0
#: How well a trailing edge at rest is read by a ruler [m]; common practice, no source.
_RULER = 0.3e-3


class Told(NamedTuple):
    """What a flight tells.

    Attributes
    ----------
    flight : Flight
    file : str
    seen : list
        What tells of ratios.
    tests : list of Saw
        What tests of the trimming sequence showed: of rigging, hardly of any ratio.
    against : list of str
        What it says against itself, by line; such notes tell nothing.
    kept : list of str
        What no ratio follows from.
    """

    flight: Flight
    file: str
    seen: list[Note]
    tests: list[Saw]
    against: list[str]
    kept: list[str]


def canopy_of(word: str, rudder: str, travel: str) -> int:
    """Whether "came in" or "went out" is toward the canopy (1) or the belly (-1) in knife-edge.

    Left to right in front of you the airplane has you on its right; right rudder has its left wing down and the canopy
    to the left, away from you.
    """
    away = (rudder == "right") == (travel == "left to right")
    return 1 if (word == "went out") == away else -1


def tell(files: Sequence[Notes], prior: Prior, helpers: Sequence[str]) -> list[Told]:
    """What all flights of some files tell, in the order of their numbers."""
    flights = [(flight, notes, i) for notes in files for i, flight in enumerate(notes.flights)]
    flights.sort(key=lambda one: one[0].flight)
    told: list[Told] = []
    for flight, notes, i in flights:
        told.append(_tell(flight, notes, i, prior, helpers, told[-1].flight if told else None))
    return told


def in_force(flight: Flight) -> np.ndarray:
    """Ratios that acted, array (len(RATIOS),)."""
    return np.array([flight.in_force.get(name, 0.0) for name in RATIOS])


def _tell(
    flight: Flight, notes: Notes, number: int, prior: Prior, helpers: Sequence[str], last: Flight | None
) -> Told:
    helper, force = helpers.index(flight.helper), in_force(flight)
    words: dict[tuple[str, int], list[tuple[Word, int]]] = {}
    wind = GUST_WIND if flight.wind is None else flight.wind
    seen: list[Note] = []
    against: list[str] = []
    for j, one in enumerate(flight.passes):
        side = -1 if one.rudder is None else SIDES.index(one.rudder)
        k = force[2 * side : 2 * side + 2] if one.rudder else force[RATIOS.index(DIVE)]

        def about(what: str, key: str, one: Pass = one, j: int = j) -> tuple[str, str, int, int]:
            where = f"{what}, {one.rudder} rudder" if one.rudder else f"{one.maneuver}, {what}"
            return where, notes.name, notes.line("flights", number, "passes", j, key), helper

        against += _against(one, notes, number, j)
        for axis, key, said in _words(one):
            word = Word(*about("pitch" if key == "helper_said" else key, key), said, axis, side, k, math.nan)
            words.setdefault((axis, side), []).append((word, one.passes[0]))
        for kind, key, value, sigma in _gauges(one, prior):
            seen.append(Gauge(*about(key.replace("_", " "), key), value, sigma, kind, side, k))
        if last is not None:
            seen += [
                Than(*about(f"{key} than last", f"{key}_than_last"), ("less", "same", "more").index(way) - 1, axis, side, k, before, scatter_in(prior, axis, wind, one.passes[0]))
                for axis, key, way, before in _thans(one, side, in_force(last))
            ]  # fmt: skip
            against += _against_last(one, last, notes, number, j)
    for (axis, _), group in words.items():
        against += _apart([word for word, _ in group])
        first, passes = group[0][0], sum(n for _, n in group)
        said = tuple(sorted({category for word, _ in group for category in word.said}))
        scatter = 0.0 if axis == "push" else scatter_in(prior, axis, wind, passes)
        seen.append(replace(first, said=said, scatter=scatter))
    bad = {line for text in against for line in _lines(text)}
    kept = [
        "climbed, sank: the share of the rudder tells it in percent"
        for one in flight.passes
        if {"climbed", "sank"} & {w for _, w in one.helper_said}
    ]
    tests, of_blends = _tests(flight, notes, prior, wind), _spoilt(flight)
    kept += [f"{name}: a blend was in force; fly it without" for name in of_blends]
    return Told(
        flight,
        notes.name,
        [one for one in seen if one.line not in bad],
        tests,
        against,
        [f"flight {flight.flight}: {text}" for text in dict.fromkeys(kept)],
    )


def _spoilt(flight: Flight) -> list[str]:
    """Tests that a blend in force may have changed: all but those of the rudder leave tests without rudder alone."""
    others = [name for name in flight.in_force if not name.startswith("rudder-")]
    return [
        one.maneuver
        for one in flight.passes
        if one.tests and (others or (flight.in_force and one.maneuver == "rudder pulse"))
    ]


def _tests(flight: Flight, notes: Notes, prior: Prior, wind: float) -> list[Saw]:
    """What tests of the trimming sequence showed."""
    found: list[Saw] = []
    for one in flight.passes:
        for key, row in one.tests.items():
            value, spread = middle((getattr(one, key),), EDGES)
            gusts = scatter_in(prior, "roll" if key == "roll" else "canopy", wind, one.passes[0])
            if one.maneuver not in _spoilt(flight):
                found.append(Saw(row.name, value, math.hypot(spread, READ, gusts), JUDGMENT, HELPER))
    for channel, chord in notes.chords.items():
        rests = getattr(flight, f"resting_{channel}")
        if rests is not None:
            read = READ_REST if rests.kind == "angle" else math.degrees(_RULER / chord)
            found.append(Saw(f"resting {channel}", rests.degrees(chord), read))
    if flight.three_rolls is not None:  # one number for both ways
        rate = _THREE * (1.0 - _LATE) / (flight.three_rolls - _LATE)
        found += [Saw(f"roll {side}", rate, math.sqrt(2.0) * READ_SHARE * rate) for side in SIDES]
    return found


def _words(one: Pass) -> Iterator[tuple[str, str, tuple[int, ...]]]:
    """Axis, key and categories of each word of a pass."""
    if one.maneuver not in ("knife-edge", "dive"):
        if one.push is not None:
            yield "push", "push", (one.push,)
        return
    if one.pitch is not None:
        yield ("dive" if one.maneuver == "dive" else "canopy"), "pitch", (one.pitch,)
    if one.roll is not None and one.seconds_to_45 is None:
        yield "roll", "roll", (one.roll,)
    for size, word in one.helper_said if one.pitch is None else ():
        if word in ("came in", "went out"):
            way = canopy_of(word, one.rudder or "", one.travel or "")
            sizes = range(1, _NOTHING + 1) if size < 0 else (size,)
            yield "canopy", "helper_said", tuple(_NOTHING + way * s for s in sizes)


def _gauges(one: Pass, prior: Prior) -> Iterator[tuple[str, str, float, float]]:
    """Kind, key, value and standard deviation of each number of a pass."""
    for target, value in (("elevator", one.held_elevator), ("aileron", one.held_aileron)):
        if value is not None:
            kind = "push" if one.maneuver == "inverted" else target
            yield (
                kind,
                f"held_{target}",
                value,
                math.hypot(_STICK, _OF_STICK * value) / math.sqrt(one.passes[0]),
            )
    if one.rudder_share:
        yield "rudder", "rudder_share", math.log(one.rudder_share), _RUDDER
    if one.seconds_to_45 is not None and one.roll is not None:
        rate = math.copysign(growing(one.seconds_to_45, prior), one.roll - _NOTHING)
        yield "seconds", "seconds_to_45", rate, _OF_SECONDS * abs(rate)
    if one.line is not None:
        decay = 1.0 / one.line
        yield "line", "line", max(decay, -0.1), math.hypot(_LINE, _OF_LINE * decay) if decay >= 0.0 else 0.1


def _thans(one: Pass, side: int, before: np.ndarray) -> Iterator[tuple[str, str, str, np.ndarray]]:
    """Axis, key, way and ratios of the last flight, where no word says how large."""
    last = before[2 * side : 2 * side + 2] if one.rudder else before[RATIOS.index(DIVE)]
    if one.pitch_than_last is not None and one.pitch is None:
        yield ("dive" if one.maneuver == "dive" else "canopy"), "pitch", one.pitch_than_last, last
    if one.roll_than_last is not None and one.roll is None:
        yield "roll", "roll", one.roll_than_last, last


def _apart(group: list[Word]) -> Iterator[str]:
    """That words of one flight for the same thing contradict each other."""
    least, most = min(max(word.said) for word in group), max(min(word.said) for word in group)
    if most - least > _APART or most > _NOTHING > least:
        lines = " and ".join(str(word.line) for word in group)
        yield f"{group[0].file}, lines {lines}: {group[0].about} contradicts itself: these notes are left out"


def _against(one: Pass, notes: Notes, number: int, j: int) -> Iterator[str]:
    """What a pass says against itself."""

    def lines(*keys: str) -> str:
        found = sorted({notes.line("flights", number, "passes", j, key) for key in keys})
        return f"{notes.name}, line{'s' if len(found) > 1 else ''} {' and '.join(map(str, found))}"

    for _, word in one.helper_said:
        if word in ("came in", "went out") and one.pitch is not None:
            way = canopy_of(word, one.rudder or "", one.travel or "")
            if way * (one.pitch - _NOTHING) < 0:
                toward = "canopy" if way > 0 else "belly"
                yield (
                    f"{lines('pitch', 'helper_said')}: {word!r} ({one.rudder} rudder, {one.travel}) is to {toward}, the pitch says "
                    "the other way: left out"
                )
    if one.maneuver != "knife-edge":
        return
    for key, word_, held, moves in (
        ("pitch", one.pitch, one.held_elevator, "to belly is held with up"),
        ("roll", one.roll, one.held_aileron, "rolling left is held with right"),
    ):
        if word_ is None or held is None:
            continue
        off = word_ - _NOTHING
        if abs(off) >= _MODERATE and abs(held) >= _HELD and off * held > 0.0:
            target = "elevator" if key == "pitch" else "aileron"
            yield f"{lines(key, f'held_{target}')}: what is held goes with the drift, not against it ({moves}): left out"


def _against_last(one: Pass, last: Flight, notes: Notes, number: int, j: int) -> Iterator[str]:
    """A pass that is less than on the last flight, and said with a larger word, or the reverse."""
    for key in ("pitch", "roll"):
        way, word = getattr(one, f"{key}_than_last"), getattr(one, key)
        before = [
            getattr(other, key)
            for other in last.passes
            if (other.maneuver, other.rudder) == (one.maneuver, one.rudder)
        ]
        sizes = [abs(said - _NOTHING) for said in before if said is not None]
        if way is None or word is None or not sizes:
            continue
        size = abs(word - _NOTHING)
        if (way == "less" and size > max(sizes)) or (way == "more" and size < min(sizes)):
            line = notes.line("flights", number, "passes", j, f"{key}_than_last")
            yield f"{notes.name}, line {line}: {key} {way} than last, and the word of flight {last.flight} says the opposite: left out"


def _lines(text: str) -> list[int]:
    """Lines that a complaint names."""
    named = text.partition(", line")[2].partition(":")[0].removeprefix("s")
    return [int(word) for word in named.replace("and", " ").split() if word.isdigit()]


def helpers_of(files: Sequence[Notes]) -> list[str]:
    """Helpers of all flights, each once."""
    return list(dict.fromkeys(flight.helper for notes in files for flight in notes.flights)) or ["helper"]


def words_of(data: Mapping[str, Any]) -> str:
    """What a flight was seen to do, as it was written."""
    level = {k: v for k, v in data.items() if k in ("three_rolls", "timed_pass") or k.startswith("resting_")}
    found = []
    for one in [*data["passes"], *([{"maneuver": "level", **level}] if level else [])]:
        side = f"{one['rudder']} rudder" if one.get("rudder") else one.get("maneuver", "")
        said = ", ".join(
            f"{k.replace('_', ' ')} {v}" for k, v in one.items() if k not in ("maneuver", "rudder", "about")
        )
        found.append(f"{side}: {said}")
    return "; ".join(found)

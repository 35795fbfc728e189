"""The flight card: flight 1 bare, in the order of what each note is worth; then one change a flight."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any, Literal

from sixdof.airframe.blends import amount_words
from sixdof.field.measures import Units, height_words, speed_words
from sixdof.files.rows import Row
from sixdof.study.results import TuneResult
from sixdof.tuning.deviation import TERM_WORDS
from sixdof.tuning.found import Flown, FoundRatio
from sixdof.tuning.sequence import SIZES, size_words

__all__ = ["Change", "FlightCard", "Note", "Pass", "flight_card", "half_of", "notes_to_take", "shown_words"]

#: Ways of a drift, as notes write them.
PITCH, ROLL = ("to belly", "to canopy"), ("left", "right")
_THAN = ("less", "same", "more")
#: What a target cures, of the terms of a drift.
_CURES = {"elevator": "canopy", "aileron": "roll", "rudder": "sideslip"}


class Note(Row):
    """A thing to write down, and where it goes in a file of notes.

    Attributes
    ----------
    maneuver, rudder : str
        Of the pass: ``knife-edge`` and the rudder applied, or empty.
    key : str
        Of what it shows: ``held_elevator``.
    label : str
    kind : str
        ``stick`` (percent and way), ``percent``, ``word`` (size and way), ``seconds``, ``passes`` (so many of so many) or
        ``choice`` (one of the ways).
    ways : tuple of str
    """

    maneuver: str
    rudder: str
    key: str
    label: str
    kind: Literal["stick", "percent", "word", "seconds", "passes", "choice"]
    ways: tuple[str, ...] = ()


class Pass(Row):
    """What to fly in flight 1: how, what is predicted, what to write down."""

    title: str
    how: str
    expect: list[str]
    notes: list[Note]


class Change(Row):
    """One change, for one flight, with what a helper calls out.

    Attributes
    ----------
    number : int
        Of the flight.
    title, set_to : str
        Blend, and half of its ratios in words.
    in_force : dict of str to str
        Name of the ratio -> amount in words, of this blend and of those before, as the notes want them.
    before, fly, heights, limits, switch, watch : str
    notes : list of Note
    """

    number: int
    title: str
    set_to: str
    in_force: dict[str, str]
    before: str
    fly: str
    heights: str
    limits: str
    switch: str
    watch: str
    notes: list[Note]


class FlightCard(Row):
    """Both halves of the card, and the scale of words."""

    scale: str
    passes: list[Pass]
    stop: str
    changes: list[Change]
    after: str


def flight_card(answer: TuneResult, units: Units) -> FlightCard:
    """The flights after a tune.

    Parameters
    ----------
    answer : TuneResult
    units : {"metric", "inch"}
    """
    ends = [f"{word} under {most:g}" for word, most in SIZES.items()]
    return FlightCard(
        scale=f"drift in degrees a second, sticks let go: {', '.join(ends)}, violent above (a scale of ours)",
        passes=_bare(answer, units),
        stop="does it do something else than predicted? Stop here, set no blend, write it down",
        changes=list(_changes(answer, units)),
        after=(
            "less than on the flight before? Leave it at half and go on to the next blend. Worse? Switch off, land, check the "
            "sign on the bench. When all halves are in and help: the whole ratios, again one blend a flight"
        ),
    )


def shown_words(found: FoundRatio, answer: TuneResult) -> str:
    """What the bare flight shows of what a ratio cures: ``right-rudder knife-edge: rolls right, strong (22° in 3 s)``."""
    flown = _shown_by(found, answer)
    if flown is None or math.isnan(found.bare_degrees):
        return ""
    if flown.status_before != "finished":
        early = "45° of bank error" in flown.status_before
        return f"{flown.said}: {f'{flown.words_before} past 45°, let go early' if early else flown.status_before}"
    seconds = abs(flown.drift_before / flown.rate_before) if flown.rate_before else math.nan
    if math.isnan(seconds):
        return f"{flown.said}: nothing"
    size = size_words(found.bare_degrees / seconds)
    words = TERM_WORDS[_CURES.get(found.target, "canopy")][found.bare_degrees > 0.0]
    return f"{flown.said}: {words}, {size} ({abs(found.bare_degrees):.0f}° in {seconds:.3g} s)"


def _shown_by(found: FoundRatio, answer: TuneResult) -> Flown | None:
    return next((m for m in answer.maneuvers if f"{m.name}.{m.side}" == found.shown_by), None)


# ---------------------------------------------------------------- flight 1, bare

_INVERTED = Note(maneuver="inverted", rudder="", key="held_elevator", label="inverted: push", kind="stick", ways=("down", "up"))  # fmt: skip
_DIVE = Note(maneuver="dive", rudder="", key="pitch", label="dive: goes", kind="word", ways=PITCH)


def notes_to_take() -> dict[str, list[Note]]:
    """What any flight may be noted of, by how it is flown."""
    sides = ("right", "left")
    than = [_edge(side, f"{axis}_than_last", f"than last: {axis}", "choice", _THAN) for side in sides for axis in ("pitch", "roll")]  # fmt: skip
    return {
        "knife-edge, held, by the rudder applied": [note for side in sides for note in _held(side)],
        "knife-edge, let go for 3 s, by the rudder applied": [
            note for side in sides for note in _let_go(side)
        ],
        "less or more than on the flight before": than,
        "inverted, and the power-off dive": [_INVERTED, _DIVE],
    }


def _bare(answer: TuneResult, units: Units) -> list[Pass]:
    """Passes in the order of what a note of each tells of the ratios."""
    edge = answer.knife_edge
    at = f" at {speed_words(edge.speed_m_s, units)}" if edge else ""
    rudder = {"right": edge.right_percent, "left": edge.left_percent} if edge else {}
    predicted = [
        ", ".join([f"{side} rudder {percent:.0f} %", *_sticks(answer, side)])
        for side, percent in rudder.items()
        if not math.isnan(percent)
    ]
    shown = {b.shown_by: [] for b in answer.blends if b.shown_by}  # type: ignore[var-annotated]
    for b in answer.blends:
        if text := shown_words(b, answer):
            shown[b.shown_by].append(text)

    def of(name: str) -> list[str]:
        flights = [texts for flight, texts in shown.items() if flight.partition(".")[0] == name and texts]
        return [_joined(texts) for texts in flights]

    return [
        Pass(
            title="Knife-edge, held",
            how=f"level{at}{_from(answer, 'knife_edge', units)}, each rudder for 5 s, twice: which sticks hold it?",
            expect=predicted,
            notes=[note for side in ("right", "left") for note in _held(side)],
        ),
        Pass(
            title="Knife-edge, let go",
            how="settle, let elevator and ailerons go for 3 s, recover at 45° of bank; two passes a side",
            expect=of("knife_edge"),
            notes=[note for side in ("right", "left") for note in _let_go(side)],
        ),
        Pass(
            title="Inverted, then the dive",
            how=(
                f"inverted level: how much push? Power-off vertical dive{_from(answer, 'power_off_dive', units)}: elevator let "
                "go for 2 s"
            ),
            expect=of("power_off_dive"),
            notes=[_INVERTED, _DIVE],
        ),
        Pass(
            title="Only if the two sides disagree",
            how="one slower pass, or one with 70 % rudder, each side, held",
            expect=[],
            notes=[],
        ),
    ]


def _from(answer: TuneResult, maneuver: str, units: Units) -> str:
    """Where a maneuver of flight 1 begins and is broken off: ``, entered at 120 m, broken off at 60 m``."""
    flown = [m for m in answer.maneuvers if m.name == maneuver]
    if not flown:
        return ""
    entry, low = min(m.start_height_m for m in flown), min(map(_break_off, flown))
    return f", entered at {height_words(entry, units)}, broken off at {height_words(low, units)}"


def _joined(texts: Sequence[str]) -> str:
    """What several texts say of one flight: its name once, each thing once."""
    said, *_ = texts[0].partition(": ")
    return f"{said}: {', '.join(dict.fromkeys(text.partition(': ')[2] for text in texts))}"


def _sticks(answer: TuneResult, side: str) -> list[str]:
    """What the ratios that were found come to at the rudder that holds it: ``elevator 1.5 % UP``."""
    return [
        f"{b.target} {amount_words(b.target, round(b.percent * b.used_percent / 100.0, 1) / 100.0)}"
        for b in answer.blends
        if b.found and b.source == "rudder" and b.side == side and b.used_in == "level knife-edge"
    ]


def _edge(side: str, key: str, label: str, kind: Any, ways: tuple[str, ...] = ()) -> Note:
    """Of a knife-edge."""
    return Note(maneuver="knife-edge", rudder=side, key=key, label=f"{side}: {label}", kind=kind, ways=ways)


def _held(side: str) -> list[Note]:
    return [
        _edge(side, "held_elevator", "elevator", "stick", ("up", "down")),
        _edge(side, "held_aileron", "aileron", "stick", ROLL),
        _edge(side, "rudder_share", "rudder", "percent"),
    ]


def _let_go(side: str) -> list[Note]:
    return [
        _edge(side, "pitch", "goes", "word", PITCH),
        _edge(side, "roll", "rolls", "word", ROLL),
        _edge(side, "seconds_to_45", "to 45°", "seconds"),
        _edge(side, "passes", "seen in", "passes"),
    ]


# ---------------------------------------------------------------- one change a flight


def _changes(answer: TuneResult, units: Units) -> Iterator[Change]:
    """A flight for each blend that is worth one, at half of its ratios."""
    worth: dict[str, list[FoundRatio]] = {}
    for b in answer.blends:
        if b.found and b.percent and b.is_seen:
            worth.setdefault(b.ratio.blend, []).append(b)
    in_force: dict[str, str] = {}
    for number, ratios in enumerate(worth.values(), start=2):
        flown = [m for b in ratios if (m := _shown_by(b, answer)) is not None]
        halves = {
            b.ratio.name: amount_words(b.target, half_of(b, answer.step_percent) / 100.0) for b in ratios
        }
        row, in_force = ratios[0].ratio.row, in_force | halves
        yield Change(
            number=number,
            title=f"{row.source} to {row.target}",
            set_to=", ".join(f"{b.ratio.words} {halves[b.ratio.name]}" for b in ratios),
            in_force=in_force,
            before=next((f"first: {row.first}" for b in ratios if abs(b.percent) > 100.0 * row.cap), ""),
            fly=" and ".join(dict.fromkeys(m.said for m in flown)),
            heights=_heights(flown, units),
            limits=_limits(flown, units),
            switch="stays on for landing: it belongs to the flaps" if not row.off_in else
            f"blend switch: on for the test only, off for {', '.join(row.off_in)}; thumb on it",
            watch=_watch(ratios, answer),
            notes=[note for b in ratios for note in _than_last(b)],
        )  # fmt: skip


def _heights(flown: Sequence[Flown], units: Units) -> str:
    """Entry height, height used, and where to break off: half the entry height where it should stay level."""
    if not flown:
        return "two mistakes high"
    entry, used = min(m.start_height_m for m in flown), max(m.height_used_m for m in flown)
    low = min(_break_off(m) for m in flown)
    pull = "" if all(m.level for m in flown) else " and pull out"
    return (
        f"enter at {height_words(entry, units)}, uses {height_words(used, units)}, break off at "
        f"{height_words(low, units)}{pull}"
    )


def _break_off(flown: Flown) -> float:
    """Height at which to stop and climb [m]: half of where it began; a dive is over, and pulled out, where it was here."""
    half = 0.5 * flown.start_height_m
    return half if flown.level else min(half, flown.start_height_m - flown.height_used_m)


def _limits(flown: Sequence[Flown], units: Units) -> str:
    if not flown:
        return ""
    speed = max(m.top_speed_m_s for m in flown)
    most, least = max(m.top_g for m in flown), min(m.least_g for m in flown)
    return f"up to {speed_words(speed, units)}, {least:.1f} to {most:.1f} g"


def _watch(ratios: Sequence[FoundRatio], answer: TuneResult) -> str:
    """What it has to show with the switch off, which half the ratio should about halve."""
    bare = [text for b in ratios if (text := shown_words(b, answer))]
    return f"switch off first: {'; '.join(bare)}. If so, on: about half of it" if bare else ""


def _than_last(found: FoundRatio) -> list[Note]:
    """Whether what a ratio cures is less than on the flight before."""
    key = {"elevator": "pitch", "aileron": "roll"}.get(found.target, "")
    if found.source == "rudder" and key:
        return [_edge(found.side, f"{key}_than_last", f"than last: {key}", "choice", _THAN)]
    if found.shown_by.startswith("power_off_dive") and key == "pitch":
        return [
            Note(
                maneuver="dive",
                rudder="",
                key="pitch_than_last",
                label="dive, than last: pitch",
                kind="choice",
                ways=_THAN,
            )
        ]
    return []


def half_of(found: FoundRatio, step: float) -> float:
    """Half of a ratio in whole steps of the radio toward zero, but at least one [%]."""
    if not found.percent or not step:
        return 0.5 * found.percent
    steps = max(math.floor(0.5 * abs(found.percent) / step + 1e-9), 1)
    return math.copysign(min(steps * step, abs(found.percent)), found.percent)

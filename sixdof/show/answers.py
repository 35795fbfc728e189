"""Pieces that the reports of all answers share: head, cards, remarks, flights, how to do it again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from importlib.metadata import PackageNotFoundError, version

from sixdof.airframe.model import Airframe
from sixdof.show.flown import ShownFlight, measured_from
from sixdof.show.hull import loft_airframe
from sixdof.show.page import Group, figures, items, legend, paragraphs, replay, section
from sixdof.show.stage import LEAD, Stage, set_stage
from sixdof.study.results import Answer

__all__ = [
    "MOST_FLIGHTS", "again", "cards", "ending", "fitting", "flights_shown", "folded", "head", "remarks", "stages_of",
]  # fmt: skip

MOST_FLIGHTS = 14
MOST_ROWS = 3200  # of their tracks in all: a third of a megabyte
_FIRST_REMARKS = 4  # the others are folded away
_ABOVE = ("invented", "changed", "learned")  # kinds of remarks that the headline says


def head(answer: Answer, title: str, what: str) -> str:
    """Which airplane, at which rate, in which air, as notes tell it."""
    invented = "An invented airplane: do not dial this in." if answer.aircraft.invented else ""
    changes = f"Changed and trimmed again: {', '.join(answer.changes)}." if answer.changes else ""
    told = answer.of_kind("learned")[0].text if answer.learned is not None else ""
    air = "" if answer.air == "calm" else f", in {answer.air}; drifts are of the way over the ground"
    return (
        f"<header><h1>{escape(title)}</h1>"
        + paragraphs([invented], "warn")
        + paragraphs([f"Rate {answer.aircraft.rate}, {what}{air}.", told, changes], "pale")
        + "</header>"
    )


def cards(cards: Mapping[str, Sequence[str]]) -> str:
    """Cards with a heading each."""
    return '<div class="cards">' + "".join(
        f'<article class="card"><h3>{escape(words[0].upper() + words[1:])}</h3>{"".join(inner)}</article>'
        for words, inner in cards.items()
    ) + "</div>"  # fmt: skip


def folded(summary: str, inner: str) -> str:
    """Something folded away on the screen, never on paper."""
    return f"<details><summary>{escape(summary)}</summary>{inner}</details>"


def remarks(answer: Answer) -> str:
    texts = [remark.text for remark in answer.of_kind() if remark.kind not in _ABOVE]
    rest = texts[_FIRST_REMARKS:]
    return items(texts[:_FIRST_REMARKS]) + (folded(f"{len(rest)} more remarks", items(rest)) if rest else "")


def flights_shown(groups: Sequence[Group], left_out: str, *, played: bool = True) -> list[str]:
    """The replay, and each group's drawings."""
    if not groups:
        return []
    key = "Dashed: straight on. The band is what nobody sees. A dot marks the end of the test."
    colors = legend([flight for group in groups for flight in group.flights])
    return [
        section("Replay", replay(groups)) if played else "",
        section("Flights, the worst first", colors, paragraphs([key, left_out], "pale"), figures(groups)),
    ]


def fitting(groups: Sequence[Group]) -> tuple[list[Group], str]:
    """The first groups that fit a page, with so many flights and rows of their tracks in all; which others there are."""
    kept: list[Group] = []
    left_out: list[str] = []
    flights = rows = 0
    for group in groups:
        more = sum(len(flight.thinned().track) for flight in _cut(group.flights))
        if kept and (flights + len(group.flights) > MOST_FLIGHTS or rows + more > MOST_ROWS):
            left_out.append(group.said)
        elif group.flights:
            kept.append(group)
            flights, rows = flights + len(group.flights), rows + more
    return kept, f"Left out, for a page must be small: {', '.join(left_out)}." if left_out else ""


def stages_of(groups: Sequence[Group], airframe: Airframe) -> list[Stage]:
    """A stage a group."""
    hull = loft_airframe(airframe)
    return [set_stage(airframe, _cut(group.flights), title=group.said, hull=hull) for group in groups]


def _cut(flights: Sequence[ShownFlight]) -> list[ShownFlight]:
    """From a little ahead of the test on, for a page must be small."""
    return [flight.since(measured_from(flight.track) - LEAD) for flight in flights]


def ending(answer: Answer, asked: str) -> str:
    """Cautions, and how to do it again."""
    kept = [
        word
        for word, mark in (("the maneuvers", "maneuvers/"), ("the notes", "notes/"))
        if any(name.startswith(mark) for name in answer.inputs)
    ]
    stand = " and ".join(["it", *kept]) + (" stand" if kept else " stands")
    words = f"The aircraft file had the SHA-256 {answer.aircraft.sha256}; {stand} in inputs.yaml beside this page."
    return section("Before you act on this", items(answer.cautions)) + again(asked, words)


def again(asked: str, words: str = "") -> str:
    """The command that was typed, and by which version."""
    return section(
        "How to do it again", f"<p><code>{escape(asked)}</code></p>",
        paragraphs([f"sixdof {_version()}. {words}", "A simulated ratio is a starting point, not a fact about your airplane."], "pale"),
    )  # fmt: skip


def _version() -> str:
    try:
        return version("sixdof")
    except PackageNotFoundError:
        return "not installed"

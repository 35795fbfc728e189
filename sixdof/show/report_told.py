"""Reports of answers that keep no flights: a diagnosis, what notes tell."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from sixdof.airframe.blends import amount_words
from sixdof.airframe.describe import full_throw
from sixdof.airframe.model import Airframe
from sixdof.show.answers import cards, ending, head, remarks
from sixdof.show.narrowing_chart import NARROWING, narrowing_charts
from sixdof.show.page import items, page, paragraphs, section, table
from sixdof.study import tables
from sixdof.study.results import DiagnoseResult, LearnedRatio, LearnResult, NotedFlight
from sixdof.study.words import (
    cause_lines,
    chance_words,
    finding_words,
    first_change,
    log_line,
    off_words,
    span_words,
    unseen_words,
    wrong_cures,
)
from sixdof.tuning.diagnose import Finding

__all__ = ["diagnose_report", "learn_report"]


def diagnose_report(answer: DiagnoseResult, *, asked: str) -> str:
    """The report of a diagnosis, as HTML; no flights are kept of it."""
    parts: dict[str, list[Finding]] = {}
    for row in answer.findings:
        if row.seen:
            parts.setdefault(row.part, []).append(row)
    told = answer.consequences
    blends = [] if told is None else [*told.flags, *(f"{word}: {text}" for word, rows in (
        ("worse", told.worse), ("better", told.better), ("reversed", told.reversed)) for text in rows)]  # fmt: skip
    title = f"{answer.aircraft.name}: what to change first"
    return page(title, [
        head(answer, title, f"{answer.flights} flights"),
        section("What to change first", paragraphs([f"First: {first_change(answer)}."], "lead"), items(cause_lines(answer))),
        section(f"With {'; '.join(answer.flown_with)}", items(blends)),
        section("What you would see, in the order of trimming", *(_seen(part, rows) for part, rows in parts.items()),
                paragraphs([f"{unseen_words(answer)}."], "pale")),
        section("What could go wrong", items(wrong_cures(answer)), remarks(answer)),
        section("How sure that is", paragraphs(["Beside each stands in how many of the airplanes that fit the measurements the same is seen, the "
                                                "same way. What takes away how much was worked out for this one airplane and flown."])),
        ending(answer, asked),
    ])  # fmt: skip


def learn_report(answer: LearnResult, airframe: Airframe, *, asked: str) -> str:
    """The report of what notes tell, as HTML; arguments as of :func:`sixdof.show.report.tune_report`."""
    title = f"{answer.aircraft.name}: what your notes tell"
    believed = sum(flight.believed for flight in answer.flights)
    left_out = f", without flight {', '.join(map(str, answer.without))}" if answer.without else ""
    dials: dict[str, list[str]] = {}
    for row in answer.ratios:
        dials.setdefault(row.ratio.words, []).append(_dial(row, airframe, answer.aircraft.rate))
    served = (
        f"Chance that both knife-edges stay below 5° in 3 s: {answer.served_percent:.0f} %; with the ratios before the notes "
        f"{answer.served_before_percent:.0f} %."
    )
    learned = tables.learned_table(answer)
    return page(title, [
        head(answer, title, f"{believed} of {len(answer.flights)} flights believed{left_out}"),
        section("What to dial in now", paragraphs([served], "lead"), cards(dials)),
        section("What does not fit", items([*answer.surprises, *answer.contradictions])),
        section("Next note", items(_next_notes(answer))),
        section("What changed, flight by flight", _narrowing(answer), *(_flight(flight) for flight in answer.flights)),
        section("How sure that is", table("ratios before and after the notes; wrong: chance of the other sign", learned.columns, learned.rows),
                items([*_scales(answer), *map(log_line, answer.logs)]), _told_by_logs(answer)),
        section("Of rigging, hardly of ratios: sixdof diagnose asks it what is off", items(answer.rigging)),
        section("What notes cannot tell", items(answer.cannot_tell), items([f"kept with the notes, not used yet: {text}" for text in answer.kept])),
        ending(answer, asked),
    ])  # fmt: skip


def _next_notes(answer: LearnResult) -> list[str]:
    """The best one, and those others that would tell anything."""
    if not answer.next_notes:
        return []
    best, *others = answer.next_notes
    telling = [one for one in others if round(one.left_degrees, 1) < round(one.now_degrees, 1)]
    return [
        f"{one.words}: leaves {one.left_degrees:.1f}° of {one.now_degrees:.1f}° of drift unknown"
        for one in (best, *telling)
    ]


def _dial(row: LearnedRatio, airframe: Airframe, rate: str) -> str:
    """What to dial in now, what it was before, how sure it is."""
    amount = row.percent / 100.0
    ratio, target = row.ratio, row.target
    degrees = round(
        math.degrees(abs(amount) * full_throw(airframe, rate, target, amount)), 6
    )  # as results keep it
    full = ratio.words if row.source in ("throttle", "flap") else f"full {ratio.words}"
    other = chance_words(row.other_sign_percent)
    return paragraphs([f"{target} {amount_words(target, amount)}"], "dial") + paragraphs([
        f"{degrees:.2f}° at {full}" if row.percent else "",
        f"before the notes {amount_words(target, row.before_percent / 100.0)}",
        f"80 % range {span_words(target, row.low_percent, row.high_percent)}" + (f"; the other sign with {other}" if other else ""),
        "" if row.told else "no note of its own: it moved with the others",
        off_words(ratio) if row.percent else "",
    ])  # fmt: skip


def _narrowing(answer: LearnResult) -> str:
    """Each ratio and its range after each flight."""
    charts = (
        f"<figure><figcaption>{escape(said)}</figcaption>{drawn}</figure>"
        for said, drawn in narrowing_charts(answer.flights, answer.ratios)
    )
    return paragraphs([NARROWING]) + f'<div class="flights">{"".join(charts)}</div>'


def _flight(row: NotedFlight) -> str:
    """One flight: what was set, seen, learned."""
    heading = f"Flight {row.flight}" + (f", {row.date}" if row.date else "")
    told = [f"set: {row.set_to}", f"seen: {row.seen}", f"learned: {tables.belief(row)}",
            f"chance that both knife-edges stay below 5° then: {row.served_percent:.0f} %"]  # fmt: skip
    return f"<h3>{escape(heading)}</h3>" + items(told)


def _told_by_logs(answer: LearnResult) -> str:
    if not answer.told_by_logs:
        return ""
    logs = tables.logs_table(answer.told_by_logs)
    return table("told by logs", logs.columns, logs.rows)


def _scales(answer: LearnResult) -> list[str]:
    return [
        f"{name}: what we call 1 °/s he calls {1.0 / middle:.1f} ({1.0 / high:.1f} to {1.0 / low:.1f}, eight in ten)"
        for name, (low, middle, high) in answer.scale.items()
    ]


def _seen(part: str, rows: Sequence[Finding]) -> str:
    """What is seen in a part of the sequence, a card a test: what makes it, what is done about it."""
    cards = []
    for row in rows:
        seen, more = finding_words(row)
        said, _, tendency = seen.partition(": ")
        inner = paragraphs([tendency], "dial") + paragraphs(more)
        cards.append(f'<article class="card"><h4>{escape(said)}</h4>{inner}</article>')
    heading = "CG" if part == "cg" else part[0].upper() + part[1:]
    return f'<h3>{escape(heading)}</h3><div class="cards">{"".join(cards)}</div>'

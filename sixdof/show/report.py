"""Reports: what to dial in, what it buys, what could go wrong, how sure that is; the flights; how to do it again."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from html import escape
from importlib.metadata import PackageNotFoundError, version

from sixdof.airframe.blends import amount_words
from sixdof.airframe.model import Airframe
from sixdof.flight.script import ManeuverFile
from sixdof.runs import Run, maneuvers_in
from sixdof.show.charts import map_chart, setting_chart
from sixdof.show.chosen import names_in, said_of, shown_flight, shown_flights
from sixdof.show.flown import ShownFlight, measured_from
from sixdof.show.hull import loft_airframe
from sixdof.show.page import Group, figures, items, legend, page, paragraphs, replay, section, table
from sixdof.show.palette import RUN_COLORS, shade
from sixdof.show.stage import LEAD, Stage, set_stage
from sixdof.study import tables
from sixdof.study.cautions import BEFORE_FLYING
from sixdof.study.explored import band_words, least_words, map_words
from sixdof.study.results import Answer, CompareResult, DiagnoseResult, ExploreResult, TuneResult
from sixdof.study.words import (
    cause_lines,
    finding_words,
    first_change,
    first_step,
    knife_edge_words,
    range_words,
    totals,
    unseen_words,
    wrong_cures,
)
from sixdof.tuning.deviation import TERM_WORDS
from sixdof.tuning.diagnose import Finding
from sixdof.tuning.explore import Setting
from sixdof.tuning.found import FoundRatio

__all__ = ["compare_report", "diagnose_report", "explore_report", "one_term", "told_drifts", "tune_report"]

MOST_FLIGHTS = 14
MOST_ROWS = 3200  # of their tracks in all: a third of a megabyte
_SETTINGS = 5  # flights of an exploration that are shown
_FIRST_REMARKS = 4  # the others are folded away
_ABOVE = ("invented", "changed")  # kinds of remarks that the headline says


def tune_report(answer: TuneResult, airframe: Airframe, *, aircraft: str, asked: str) -> str:
    """The report of tuning, as HTML.

    Parameters
    ----------
    answer : TuneResult
        With its tracks.
    airframe : Airframe
    aircraft : str
        The airplane as one would type it.
    asked : str
        The command that led to this.
    """
    files = maneuvers_in(answer.inputs)
    drifts = {f"{m.name}.{m.side}": abs(m.drift_before) for m in answer.maneuvers}
    names = sorted(names_in(answer.tracks), key=lambda name: -drifts.get(name, 0.0))
    groups, left_out = _fitting(
        [_group(name, shown_flights(answer.tracks, [name], files), files) for name in names]
    )
    drift = tables.drift_table(answer)
    return page(f"{answer.aircraft.name}: what to dial in", [
        _head(answer, f"{answer.aircraft.name}: what to dial in", f"ratios in steps of {answer.step_percent:g} %"),
        section("What to dial in", paragraphs([f"First: {first_step(answer, aircraft)}."], "lead"), _cards(answer.blends)),
        section("What it buys", paragraphs([knife_edge_words(answer), totals(answer)]),
                table("worst drift of each flight, sticks let go", drift.columns, drift.rows), _wind(answer)),
        section("What could go wrong", _remarks(answer)),
        section("How sure that is", paragraphs([_sure(answer)])),
        *_flights(groups, left_out),
        _ending(answer.cautions, asked, answer.aircraft.sha256),
    ], _stages(groups, airframe))  # fmt: skip


def explore_report(answer: ExploreResult, airframe: Airframe, *, asked: str) -> str:
    """The report of a range, a map or a band, as HTML; arguments as of :func:`tune_report`."""
    files = maneuvers_in(answer.inputs)
    groups: list[Group] = []
    charts, rows = [], []
    leads = [f"{words[:1].upper()}{words[1:]}." for words in map_words(answer)]
    over = " and ".join(axis.said for axis in answer.axes)
    title = f"{answer.aircraft.name}: {answer.said} over a range of {over}"
    if answer.map is not None:
        down, across = answer.map.axes
        charts.append("<figure>" + map_chart(down.values, across.values, answer.map.drift, answer.map.best, title)
                      + f"<figcaption>{escape(f'up: {down.title}; across: {across.title}')}</figcaption></figure>")  # fmt: skip
    for side in dict.fromkeys(s.side for s in answer.settings):
        [axis], mine = answer.axes, [s for s in answer.settings if s.side == side]
        values = [s.at for s in mine]
        least, words = least_words(answer, side)
        leads.append(f"{words[:1].upper()}{words[1:]}.")
        colors = [shade((p - values[0]) / (values[-1] - values[0] or 1.0)) for p in values]
        said = said_of(answer.maneuver, side, files)
        charts.append(f"<figure><figcaption>{escape(said)}</figcaption>"
                      + setting_chart(values, told_drifts(mine), colors, TERM_WORDS[mine[0].term] if one_term(mine) else ("", "the worst"),
                                      f"{said}: drift against {axis.said}", unit=axis.unit) + "</figure>")  # fmt: skip
        shown = _picked(answer, side, least)
        groups.append(
            Group(said, [shown_flight(key, answer.tracks[key].values, files, values) for key in shown])
        )
    groups, left_out = _fitting(groups)
    if answer.settings:
        settings = tables.settings_table(answer, answer.settings, [])
        rows = [section("All settings", table(over, settings.columns, settings.rows))]
    return page(title, [
        _head(answer, title, "; ".join(["sticks let go", *(answer.flown_with or ["no other blend"])])),
        section("What to dial in", paragraphs(leads, "lead")),
        section("What it buys", paragraphs([_axes_words(answer)]), f'<div class="flights">{"".join(charts)}</div>'),
        *_band(answer),
        section("What could go wrong", _remarks(answer)),
        section("How sure that is", paragraphs(["This is one airplane in one air: how far another that fits the same measurements "
                                                "would differ, sixdof tune tells."])),
        *_flights(groups, left_out),
        *rows,
        _ending(answer.cautions, asked, answer.aircraft.sha256),
    ], _stages(groups, airframe))  # fmt: skip


def one_term(settings: Sequence[Setting]) -> bool:
    """Whether the worst is always the same error."""
    return len({s.term for s in settings if s.scored}) < 2


def told_drifts(settings: Sequence[Setting]) -> list[float]:
    """Drifts of settings; their sizes where the worst is not always the same error: no sign goes through nothing there."""
    one = one_term(settings)
    return [(s.drift if one else abs(s.drift)) if s.scored else math.nan for s in settings]


def _axes_words(answer: ExploreResult) -> str:
    """What the drawings show."""
    if answer.map is not None:
        return "Size of the worst drift at the end of the test, in degrees; blue is what nobody sees, the best is framed, a dash did not finish."
    return f"Drift at the end of the test against {answer.axes[0].title}; the band is what nobody sees."


def _band(answer: ExploreResult) -> list[str]:
    """One ratio over a band, and what lines, gates and curves would leave."""
    if answer.band is None:
        return []
    places = tables.band_table(answer, all_=True)
    return [
        section(
            f"Over {answer.band.said}",
            paragraphs(band_words(answer)),
            table("places", places.columns, places.rows),
        )
    ]


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
        _head(answer, title, f"{answer.flights} flights"),
        section("What to change first", paragraphs([f"First: {first_change(answer)}."], "lead"), items(cause_lines(answer))),
        section(f"With {'; '.join(answer.flown_with)}", items(blends)),
        section("What you would see, in the order of trimming", *(_seen(part, rows) for part, rows in parts.items()),
                paragraphs([f"{unseen_words(answer)}."], "pale")),
        section("What could go wrong", items(wrong_cures(answer)), _remarks(answer)),
        section("How sure that is", paragraphs(["Beside each stands in how many of the airplanes that fit the measurements the same is seen, the "
                                                "same way. What takes away how much was worked out for this one airplane and flown."])),
        _ending(answer.cautions, asked, answer.aircraft.sha256),
    ])  # fmt: skip


def compare_report(answer: CompareResult, runs: Sequence[Run], *, asked: str) -> str:
    """The report of runs side by side, as HTML; flights are those with each run's blends."""
    letters = "ABCDEFGHIJ"[: len(runs)]
    worst = sorted(
        answer.maneuvers, key=lambda m: -max((abs(d) for d in m.drift if d is not None), default=0.0)
    )
    tracks = [run.tracks() for run in runs]
    groups: list[Group] = []
    for row in worst:
        flights = []
        for k, (run, mine) in enumerate(zip(runs, tracks, strict=True)):
            keys = [
                key
                for key in mine
                if key.startswith(f"{row.name}.{row.side}.") and len(mine[key].values) >= 2
            ]
            if keys:  # bare comes before blended
                flight = shown_flight(keys[-1], mine[keys[-1]].values, run.maneuvers(), [])
                flights.append(
                    _of_run(flight, f"{letters[k]}: {run.path.name}", RUN_COLORS[k % len(RUN_COLORS)])
                )
        groups.append(Group(row.said, flights))
    groups, left_out = _fitting(groups)
    names = [
        f"{letter} {run.path.name}: {airplane}; {blends}"
        for letter, run, airplane, blends in zip(letters, runs, answer.airplanes, answer.blends, strict=True)
    ]
    compared = tables.compare_table(answer, letters)
    stages = _stages(groups, runs[0].airframe()) if answer.same_aircraft else []
    apart = (
        ""
        if answer.same_aircraft
        else "Not the same aircraft file in all runs: there is no replay, an airplane would stand for another."
    )
    title = f"Runs side by side: {', '.join(run.path.name for run in runs)}"
    return page(title, [
        f"<header><h1>{escape(title)}</h1></header>",
        section("What was dialed in", items(names)),
        section("What it buys", table("worst drift of each flight", compared.columns, compared.rows)),
        section("What could go wrong", paragraphs([apart], "warn"), items(BEFORE_FLYING)),
        *_flights(groups, left_out, played=bool(stages)),
        _ending([], asked, ""),
    ], stages)  # fmt: skip


# ---------------------------------------------------------------- pieces


def _head(answer: Answer, title: str, what: str) -> str:
    invented = "An invented airplane: do not dial this in." if answer.aircraft.invented else ""
    changes = f"Changed and trimmed again: {', '.join(answer.changes)}." if answer.changes else ""
    air = "in calm air" if answer.air == "calm" else f"in {answer.air}; drifts are of the way over the ground"
    return (
        f"<header><h1>{escape(title)}</h1>"
        + paragraphs([invented], "warn")
        + paragraphs([f"Rate {answer.aircraft.rate}, {what}, {air}.", changes], "pale")
        + "</header>"
    )


def _cards(blends: Sequence[FoundRatio]) -> str:
    """A card for each way a stick can be moved, with what is to be added to which surface."""
    cards: dict[str, list[FoundRatio]] = {}
    for found in blends:
        cards.setdefault(found.ratio.words, []).append(found)
    return '<div class="cards">' + "".join(
        f'<article class="card"><h3>{escape(words[0].upper() + words[1:])}</h3>{"".join(map(_dial, mine))}</article>'
        for words, mine in cards.items()
    ) + "</div>"  # fmt: skip


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


def _dial(found: FoundRatio) -> str:
    """What to dial in, what that buys, how sure it is, when it must be off."""
    if not found.found or not found.percent:
        why = found.words.partition(": ")[2]
        return paragraphs([why], "dial none") + paragraphs([_range(found)])
    if not found.is_seen:
        bare = f"{abs(found.bare_degrees):.1f}° bare: less than anyone sees"
        return paragraphs([f"{found.target}: no need"], "dial none") + paragraphs([bare, _range(found)])
    full = found.ratio.words if found.source in ("throttle", "flap") else f"full {found.ratio.words}"
    said = [f"{found.degrees:.2f}° at {full}"]
    if not (math.isnan(found.bare_degrees) or math.isnan(found.left_degrees)):
        where = found.shown_by.replace("_", " ").replace(".", ", ").removesuffix(", both")
        said.append(
            f"takes {abs(found.bare_degrees):.1f}° of drift down to {abs(found.left_degrees):.1f}° ({where})"
        )
    when = f"off for {found.ratio.row.off}" if found.ratio.row.off else ""
    amount = amount_words(found.target, found.amount)
    return paragraphs([f"{found.target} {amount}"], "dial") + paragraphs([*said, _range(found), when])


def _range(found: FoundRatio) -> str:
    doubt = found.doubt
    if doubt is None:
        return ""
    other = (
        ""
        if math.isnan(doubt.other_sign_percent)
        else f"; the other sign with {doubt.other_sign_percent:.0f} %"
    )
    return f"80 % range {range_words(found)}{other}"


def _sure(answer: TuneResult) -> str:
    if not answer.airplanes:
        return "Not asked: no airplanes were drawn from what is not known."
    causes: dict[str, float] = {}
    for found in answer.blends:
        for name, share in (found.doubt.because if found.doubt else {}).items():
            causes[name] = max(causes.get(name, 0.0), share)
    most = sorted(causes, key=lambda name: -causes[name])[:4]
    least = f" What is least known: {', '.join(most)}." if most else ""
    return (
        f"{answer.airplanes} airplanes were drawn that all fit the measurements; in eight of ten the ratio lies in the range "
        f"beside each. Where the range goes from one way to the other, the sign itself is not sure.{least}"
    )


def _wind(answer: TuneResult) -> str:
    if answer.wind is None:
        return ""
    windy = tables.wind_table(answer.wind)
    said = f"in wind: {answer.wind.air}, {answer.wind.samples} samples of its gusts; mean drift ± deviation"
    return table(said, windy.columns, windy.rows) + items(answer.wind.words)


def _remarks(answer: Answer) -> str:
    texts = [remark.text for remark in answer.of_kind() if remark.kind not in _ABOVE]
    rest = texts[_FIRST_REMARKS:]
    folded = f"<details><summary>{len(rest)} more remarks</summary>{items(rest)}</details>" if rest else ""
    return items(texts[:_FIRST_REMARKS]) + folded


def _flights(groups: Sequence[Group], left_out: str, *, played: bool = True) -> list[str]:
    """The replay, and each group's drawings."""
    if not groups:
        return []
    key = "Dashed: straight on. The band is what nobody sees. A dot marks the end of the test."
    colors = legend([flight for group in groups for flight in group.flights])
    return [
        section("Replay", replay(groups)) if played else "",
        section("Flights, the worst first", colors, paragraphs([key, left_out], "pale"), figures(groups)),
    ]


def _group(name: str, flights: Sequence[ShownFlight], files: Sequence[ManeuverFile]) -> Group:
    """Flights under the name "maneuver.side"."""
    maneuver, _, side = name.partition(".")
    return Group(said_of(maneuver, side, files), flights)


def _fitting(groups: Sequence[Group]) -> tuple[list[Group], str]:
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


def _stages(groups: Sequence[Group], airframe: Airframe) -> list[Stage]:
    """A stage a group."""
    hull = loft_airframe(airframe)
    return [set_stage(airframe, _cut(group.flights), title=group.said, hull=hull) for group in groups]


def _cut(flights: Sequence[ShownFlight]) -> list[ShownFlight]:
    """From a little ahead of the test on, for a page must be small."""
    return [flight.since(measured_from(flight.track) - LEAD) for flight in flights]


def _of_run(flight: ShownFlight, label: str, color: str) -> ShownFlight:
    return replace(flight, label=label, color=color, kind="other")


def _picked(answer: ExploreResult, side: str, least: Setting | None) -> list[str]:
    """Names of a few flights of one side, spread over the range, the one that drifts least among them."""
    keys = [
        key for key, track in answer.tracks.items() if key.split(".")[1] == side and len(track.values) >= 2
    ]
    if len(keys) <= _SETTINGS:
        return keys
    at = {round(k * (len(keys) - 1) / (_SETTINGS - 1)) for k in range(_SETTINGS)}
    best = [
        i
        for i, key in enumerate(keys)
        if least and math.isclose(float(key.split(".", 2)[2]), least.at, abs_tol=1e-3)
    ]
    if best and best[0] not in at:  # in the place of its nearest neighbor
        at.remove(min(at - {0, len(keys) - 1}, key=lambda i: abs(i - best[0])))
        at |= set(best)
    return [keys[i] for i in sorted(at)]


def _ending(cautions: Sequence[str], asked: str, sha256: str) -> str:
    aircraft = (
        f"The aircraft file had the SHA-256 {sha256}; it and the maneuvers stand in inputs.yaml beside this page."
        if sha256
        else ""
    )
    return section("Before you act on this", items(cautions)) + section(
        "How to do it again", f"<p><code>{escape(asked)}</code></p>",
        paragraphs([f"sixdof {_version()}. {aircraft}", "A simulated ratio is a starting point, not a fact about your airplane."], "pale"),
    )  # fmt: skip


def _version() -> str:
    try:
        return version("sixdof")
    except PackageNotFoundError:
        return "not installed"

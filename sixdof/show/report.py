"""Reports: what to dial in, what it buys, what could go wrong, how sure that is; the flights; how to do it again."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from html import escape

from sixdof.airframe.blends import amount_words
from sixdof.airframe.model import Airframe
from sixdof.field.page import what_to_set
from sixdof.field.sheet import set_up_sheet
from sixdof.flight.script import ManeuverFile
from sixdof.runs import Run, maneuvers_in
from sixdof.show.answers import again, cards, ending, fitting, flights_shown, folded, head, remarks, stages_of
from sixdof.show.charts import Needed, map_chart, needs_chart, setting_chart
from sixdof.show.chosen import names_in, said_of, shown_flight, shown_flights
from sixdof.show.flown import ShownFlight
from sixdof.show.page import Group, items, page, paragraphs, section, table
from sixdof.show.palette import RUN_COLORS, SIDE_COLORS, shade
from sixdof.study import tables
from sixdof.study.cautions import BEFORE_FLYING
from sixdof.study.explored import band_words, least_words, map_words
from sixdof.study.results import CompareResult, ExploreResult, TuneResult
from sixdof.study.words import (
    chance_words,
    first_step,
    knife_edge_words,
    least_known,
    off_words,
    range_words,
    totals,
    unequal_words,
)
from sixdof.tuning.deviation import TERM_WORDS
from sixdof.tuning.explore import Setting
from sixdof.tuning.found import FoundRatio

__all__ = ["compare_report", "explore_report", "one_term", "told_drifts", "tune_report"]

_SETTINGS = 5  # flights of an exploration that are shown


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
    groups, left_out = fitting(
        [_group(name, shown_flights(answer.tracks, [name], files), files) for name in names]
    )
    drift = tables.drift_table(answer)
    return page(f"{answer.aircraft.name}: what to dial in", [
        head(answer, f"{answer.aircraft.name}: what to dial in", f"ratios in steps of {answer.step_percent:g} %"),
        section("What to dial in", paragraphs([f"First: {first_step(answer, aircraft)}."], "lead"), _cards(answer)),
        section("What it buys", paragraphs([knife_edge_words(answer), totals(answer)]),
                table("worst drift of each flight, sticks let go", drift.columns, drift.rows), _wind(answer)),
        section("What could go wrong", remarks(answer)),
        section("How sure that is", paragraphs([_sure(answer)])),
        *flights_shown(groups, left_out),
        section("At other speeds", _needs(answer), _at_speeds(answer)),
        section("Set-up sheet", _sheet(answer, airframe)),
        ending(answer, asked),
    ], stages_of(groups, airframe))  # fmt: skip


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
    groups, left_out = fitting(groups)
    if answer.settings:
        settings = tables.settings_table(answer, answer.settings, [])
        rows = [section("All settings", table(over, settings.columns, settings.rows))]
    return page(title, [
        head(answer, title, "; ".join(["sticks let go", *(answer.flown_with or ["no other blend"])])),
        section("What to dial in", paragraphs(leads, "lead")),
        section("What it buys", paragraphs([_axes_words(answer)]), f'<div class="flights">{"".join(charts)}</div>'),
        *_band(answer),
        section("What could go wrong", remarks(answer)),
        section("How sure that is", paragraphs(["This is one airplane in one air: how far another that fits the same measurements "
                                                "would differ, sixdof tune tells."])),
        *flights_shown(groups, left_out),
        *rows,
        ending(answer, asked),
    ], stages_of(groups, airframe))  # fmt: skip


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


def compare_report(answer: CompareResult, runs: Sequence[Run], *, asked: str) -> str:
    """The report of runs side by side, as HTML; flights are those with each run's blends."""
    letters = "ABCDEFGHIJ"[: len(runs)]
    groups, left_out = fitting(_side_by_side(answer, runs, letters))
    names = [
        f"{letter} {run.path.name}: {airplane}; {blends}"
        for letter, run, airplane, blends in zip(letters, runs, answer.airplanes, answer.blends, strict=True)
    ]
    compared = tables.compare_table(answer, letters)
    stages = stages_of(groups, runs[0].airframe()) if answer.same_aircraft else []
    apart = (
        ""
        if answer.same_aircraft
        else "Not the same aircraft file in all runs: there is no replay, an airplane would stand for another."
    )
    invented = [letter for letter, run in zip(letters, runs, strict=True) if run.answer.aircraft.invented]
    warned = f"Invented airplanes ({', '.join(invented)}): do not dial this in." if invented else ""
    title = f"Runs side by side: {', '.join(run.path.name for run in runs)}"
    return page(title, [
        f"<header><h1>{escape(title)}</h1>{paragraphs([warned], 'warn')}</header>",
        section("What was dialed in", items(names)),
        section("What it buys", table("worst drift of each flight", compared.columns, compared.rows), items(unequal_words(answer))),
        section("What could go wrong", paragraphs([apart], "warn"), items(BEFORE_FLYING)),
        *flights_shown(groups, left_out, played=bool(stages)),
        again(asked),
    ], stages)  # fmt: skip


def _side_by_side(answer: CompareResult, runs: Sequence[Run], letters: str) -> list[Group]:
    """Each maneuver and side as every run flew it, those that drift most first."""
    tracks, files = [run.tracks() for run in runs], [run.maneuvers() for run in runs]
    groups = []
    for row in sorted(
        answer.maneuvers, key=lambda m: -max((abs(d) for d in m.drift if d is not None), default=0.0)
    ):
        flights = []
        for k, (run, mine) in enumerate(zip(runs, tracks, strict=True)):
            keys = [
                key
                for key in mine
                if key.startswith(f"{row.name}.{row.side}.") and len(mine[key].values) >= 2
            ]
            if keys:  # bare comes before blended
                flight = shown_flight(keys[-1], mine[keys[-1]].values, files[k], [])
                flights.append(
                    _of_run(flight, f"{letters[k]}: {run.path.name}", RUN_COLORS[k % len(RUN_COLORS)])
                )
        groups.append(Group(row.said, flights))
    return groups


# ---------------------------------------------------------------- pieces


def _cards(answer: TuneResult) -> str:
    """A card for each way a stick can be moved, with what is to be added to which surface."""
    said = {f"{m.name}.{m.side}": m.said for m in answer.maneuvers}
    dials: dict[str, list[str]] = {}
    for found in answer.blends:
        dials.setdefault(found.ratio.words, []).append(_dial(found, said.get(found.shown_by, "")))
    return cards(dials)


def _dial(found: FoundRatio, where: str) -> str:
    """What to dial in, what that buys in the flight that shows it, how sure it is, when it must be off."""
    if not found.found or not found.percent:
        why = found.words.partition(": ")[2]
        return paragraphs([why], "dial none") + paragraphs([_range(found)])
    if not found.is_seen:
        bare = f"{abs(found.bare_degrees):.1f}° bare: less than anyone sees"
        return paragraphs([f"{found.target}: no need"], "dial none") + paragraphs([bare, _range(found)])
    full = found.ratio.words if found.source in ("throttle", "flap") else f"full {found.ratio.words}"
    said = [f"{found.degrees:.2f}° at {full}"]
    if not (math.isnan(found.bare_degrees) or math.isnan(found.left_degrees)):
        said.append(
            f"takes {abs(found.bare_degrees):.1f}° of drift down to {abs(found.left_degrees):.1f}° ({where})"
        )
    amount = amount_words(found.target, found.amount)
    return paragraphs([f"{found.target} {amount}"], "dial") + paragraphs(
        [*said, _range(found), off_words(found.ratio)]
    )


def _range(found: FoundRatio) -> str:
    doubt = found.doubt
    if doubt is None:
        return ""
    other = chance_words(doubt.other_sign_percent)
    return f"80 % range {range_words(found)}" + (f"; the other sign with {other}" if other else "")


def _sure(answer: TuneResult) -> str:
    if not answer.airplanes:
        return "Not asked: no airplanes were drawn from what is not known."
    least = least_known(answer)
    least = f" {least[0].upper()}{least[1:]}." if least else ""
    return (
        f"{answer.airplanes} airplanes were drawn that all fit the measurements; in eight of ten the ratio lies in the range "
        f"beside each. Where the range goes from one way to the other, the sign itself is not sure.{least}"
    )


def _needs(answer: TuneResult) -> str:
    """What level knife-edge needs against speed, beside what is dialed in."""
    edge, rows = answer.knife_edge, answer.at_speeds
    if edge is None or not rows:
        return ""
    charts = []
    for target, ways in (("elevator", ("% DOWN", "% UP")), ("aileron", ("% LEFT", "% RIGHT"))):
        dialed = {
            b.side: b.percent
            for b in answer.blends
            if (b.source, b.target) == ("rudder", target) and b.found and b.is_seen
        }
        needed = [
            Needed(side, color, [getattr(row, f"{target}_{side}_percent") for row in rows], dialed.get(side))
            for side, color in SIDE_COLORS.items()
        ]
        said = f"right and left rudder: {target}"
        drawn = needs_chart(
            [row.speed_m_s for row in rows],
            needed,
            edge.speed_m_s,
            ways,
            f"{said} that level knife-edge needs against speed",
        )
        charts.append(f"<figure><figcaption>{escape(said)}</figcaption>{drawn}</figure>" if drawn else "")
    words = (
        "What full rudder would have to add at each speed for level knife-edge of the airplane that is flown here; dashed, what "
        "is to be dialed in. It is right where the two meet; how far other airplanes that fit the measurements differ is said above."
    )
    needs = tables.needs_table(answer)
    listed = table(
        "what level knife-edge needs at full rudder, and the rudder it takes", needs.columns, needs.rows
    )
    return (
        paragraphs([words])
        + f'<div class="flights">{"".join(charts)}</div>'
        + folded("the same in numbers", listed)
    )


def _at_speeds(answer: TuneResult) -> str:
    others = tables.speeds_table(answer)
    return (
        table("worst drift with these ratios at other speeds", others.columns, others.rows)
        if others.rows
        else ""
    )


def _sheet(answer: TuneResult, airframe: Airframe) -> str:
    """What to put into the radio and how it looks on the bench, folded away; printed in full."""
    sheet = set_up_sheet(answer, airframe, "")
    words = "As two pages to print, with a flight card whose ticks become notes: sixdof sheet and the name of this run."
    inner = f'<div class="sheet">{what_to_set(sheet, "h3")}</div>'
    return paragraphs([words], "pale") + folded(
        "what to put into the radio, how it looks on the bench, when it is off", inner
    )


def _wind(answer: TuneResult) -> str:
    if answer.wind is None:
        return ""
    windy = tables.wind_table(answer.wind)
    said = f"in wind: {answer.wind.air}, {answer.wind.samples} samples of its gusts; mean drift ± deviation"
    return table(said, windy.columns, windy.rows) + items(answer.wind.words)


def _group(name: str, flights: Sequence[ShownFlight], files: Sequence[ManeuverFile]) -> Group:
    """Flights under the name "maneuver.side"."""
    maneuver, _, side = name.partition(".")
    return Group(said_of(maneuver, side, files), flights)


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

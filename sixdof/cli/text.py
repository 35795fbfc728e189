"""What commands print: the answer first, 80 columns, words before numbers, cautions where one would act."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Sequence
from functools import partial
from pathlib import Path

from rich.cells import cell_len
from rich.console import Console
from rich.table import Table as Grid
from rich.text import Text

from sixdof.cli.setup import make_console
from sixdof.field.plain import card_blocks, core_lines, headline_of, sheet_blocks
from sixdof.field.rows import SetUpSheet
from sixdof.files.errors import printable, shown
from sixdof.flight.airplane import Airplane
from sixdof.physics.terms import TERM_NAMES
from sixdof.study import tables
from sixdof.study.cautions import CHANGING_IN_SHORT, IN_SHORT
from sixdof.study.explored import band_words, least_words, map_words
from sixdof.study.results import (
    Answer,
    CheckResult,
    CompareResult,
    DiagnoseResult,
    ExploreResult,
    FlyResult,
    RemediesResult,
    TuneResult,
)
from sixdof.study.words import (
    best_words,
    cause_lines,
    finding_words,
    first_change,
    first_cure,
    first_step,
    knife_edge_words,
    least_known,
    matters_most,
    most_seen,
    next_command,
    totals,
    unequal_words,
    unseen_words,
    wrong_cures,
)
from sixdof.tuning.consequences import Consequences
from sixdof.tuning.diagnose import Finding
from sixdof.tuning.explore import Map, Setting
from sixdof.tuning.remedies import Variant

#: Kinds of remarks that the first lines say already.
_ABOVE = ("invented", "changed", "learned")
#: Settings of an exploration shown unasked, to each side.
_SETTINGS = 9
#: Lines of a diagnosis that tell of what blends do, and of what is seen.
_CONSEQUENCES = 18
_DIAGNOSIS = 12
#: Rows and columns of a map.
_MAP_ROWS, _MAP_COLUMNS = 6, 9
#: Changes of the airframe shown unasked, the airplane as it is among them.
_VARIANTS = 6


def lead(first: str, rest: str) -> Text:
    """A line that begins in bold."""
    return Text.assemble((printable(first), "bold"), printable(rest))


def wrapped(console: Console, text: str, *, first: str = "", rest: str = "  ") -> None:
    """Print a text on as many lines as the terminal needs."""
    width = max(console.width - 1, 12)
    lines = textwrap.fill(
        printable(text), width, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False, break_long_words=False
    )  # fmt: skip
    console.print(Text(lines), soft_wrap=True)


def print_table(console: Console, table: tables.Table) -> None:
    """A table without frame; where the terminal is too narrow for it, each row as a sentence: no word is cut off."""
    names = [name for name, _ in table.columns]
    widths = (max(map(cell_len, column)) for column in zip(names, *table.rows, strict=True))
    if sum(width + 1 for width in widths) - 1 > console.width:
        for row in table.rows:
            cells = [f"{name} {cell}".strip() for name, cell in zip(names, row, strict=True) if cell]
            wrapped(console, ", ".join(cells))
        return
    grid = Grid(box=None, pad_edge=False, padding=(0, 1, 0, 0), header_style="bold")
    for name, justify in table.columns:
        grid.add_column(name, justify=justify, no_wrap=True)
    for i, row in enumerate(table.rows):
        grid.add_row(*(Text(printable(cell)) for cell in row), style="bold" if i in table.bold else None)
    console.print(grid)


def bullets(console: Console, title: str, lines: Iterable[str], mark: str = "-") -> None:
    """A title and lines below it."""
    console.print(f"\n{title}", style="bold")
    for line in lines:
        wrapped(console, line, first=f" {mark} ", rest="   ")


def headline(console: Console, answer: Answer, what: str) -> None:
    """Which airplane, at which rate, flown in what."""
    invented = "; invented: do not dial this in" if answer.aircraft.invented else ""
    wrapped(console, f"{shown(answer.aircraft.name)}{invented}; rate {shown(answer.aircraft.rate)}, {what}")
    for remark in answer.of_kind("option"):
        if remark.about == "aircraft":
            wrapped(console, remark.text)
    if answer.learned is not None:
        wrapped(console, next(remark.text for remark in answer.of_kind("learned")))
    if answer.changes:
        wrapped(console, f"changed and re-trimmed: {', '.join(answer.changes)}")
    if answer.air != "calm":
        wrapped(console, f"in {answer.air}; drifts are of the way over the ground")


def remarks(console: Console, answer: Answer, *, all_: bool, count: int = 2) -> None:
    """All remarks, or the ones that matter most and where the others are."""
    if all_:
        lines = [remark.text for remark in answer.remarks if remark.kind not in _ABOVE]
        if lines:
            bullets(console, "Remarks", lines, mark="!")
        return
    most = matters_most(answer, count)
    for remark in most:
        wrapped(console, remark.text, first="! ")
    others = len([r for r in answer.remarks if r.kind not in _ABOVE]) - len(most)
    if others:
        console.print(f"{others} more remark{'s' if others > 1 else ''} with --all")


def ending(
    console: Console, answer: Answer, run: str, *, all_: bool, short: Sequence[str] = IN_SHORT
) -> None:
    """Cautions, whole or in three lines, and the run."""
    if all_:
        bullets(console, "Before you act on this", answer.cautions)
        console.print()
    elif max(map(len, short)) < console.width:
        console.print("\n".join(short))
    else:
        wrapped(console, " ".join(short))
    report = " (open its report.html)" if (Path(run) / "report.html").is_file() else ""
    console.print(f"run: {run}{report}", soft_wrap=True)


def print_tuning(answer: TuneResult, run: str, command: str, *, all_: bool) -> None:
    """Ratios and what they bring; ``command`` names the airplane as one would type it."""
    console = make_console()
    headline(console, answer, f"ratios in steps of {answer.step_percent:g} %")
    wrapped(console, f"First: {first_step(answer, command)}")
    print_table(console, tables.ratio_table(answer))
    if edge := knife_edge_words(answer):
        wrapped(console, edge)
    wrapped(console, totals(answer))
    _print_wind(console, answer)
    if all_:
        _print_all_tuning(console, answer)
    remarks(console, answer, all_=all_, count=1 if answer.learned else 2)
    ending(console, answer, run, all_=all_)


def _print_all_tuning(console: Console, answer: TuneResult) -> None:
    bullets(
        console, "Ratios (of the target's own full throw, at full source)", [b.words for b in answer.blends]
    )
    _print_doubts(console, answer)
    console.print("\nWorst drift with the sticks let go", style="bold")
    print_table(console, tables.drift_table(answer))
    if any(not m.scored for m in answer.maneuvers):
        console.print("(in brackets: the flight did not finish; see the remarks)")
    if (others := tables.speeds_table(answer)).rows:
        console.print("\nThe same ratios at other speeds", style="bold")
        print_table(console, others)
    if answer.at_speeds:
        console.print("\nWhat level knife-edge needs at full rudder, and the rudder it takes", style="bold")
        print_table(console, tables.needs_table(answer))
    for part in answer.split:
        bullets(console, f"What the knife-edge {part.target} is made of", part.words)


def _print_doubts(console: Console, answer: TuneResult) -> None:
    """Ranges and the chance of the other sign."""
    if not any(b.doubt for b in answer.blends):
        return
    console.print(lead("\nHow sure that is", f": {answer.airplanes} airplanes that all fit the measurements"))
    print_table(console, tables.doubt_table(answer))
    if least := least_known(answer):
        wrapped(console, least)


def _print_wind(console: Console, answer: TuneResult) -> None:
    """Drift over many samples of gusts."""
    wind = answer.wind
    if wind is None:
        return
    console.print(
        lead("\nIn wind", f": {wind.air}, {wind.samples} samples of its gusts; mean drift ± deviation")
    )
    print_table(console, tables.wind_table(wind))
    for line in wind.words:
        wrapped(console, line, first=" - ", rest="   ")


def print_flights(answer: FlyResult, run: str, *, all_: bool) -> None:
    """What each flight drifted, or what the pilot held."""
    console = make_console()
    headline(console, answer, f"one flight to each side, {answer.way}")
    for line in answer.flown_with or ["no blends"]:
        wrapped(console, f"with {line}")
    for line in answer.outputs:
        wrapped(console, line)
    for row in answer.maneuvers:
        finished = "" if row.status == "finished" else f" {row.status};"
        console.print(
            lead(row.said, f":{finished} {abs(row.drift_before):.1f}° ({abs(row.rate_before):.1f} °/s), {row.words_before};")
        )  # fmt: skip
        if row.status == "finished":
            bare = answer.bare_points.get(f"{row.name}.{row.side}")
            beside = "" if bare is None else f" (without blends {bare:.1f} points)"
            wrapped(console, f"loses {row.points_before:.1f} points{beside}, a point each 15°;", first="  ")
        wrapped(
            console,
            f"top speed {row.top_speed_m_s:.1f} m/s, up to {row.top_g:.1f} g, {row.height_used_m:.0f} m of height used",
            first="  ",
        )
    print_table(console, tables.phase_table(answer))
    console.print("errors at the end of each measured phase, sticks as its mean; + right, up")
    remarks(console, answer, all_=all_)
    ending(console, answer, run, all_=all_)


def print_settings(answer: ExploreResult, run: str, *, all_: bool) -> None:
    """The best of a range, a map or a band, and what is around it."""
    console = make_console()
    headline(
        console, answer, f"{answer.said}, sticks let go{'' if answer.flown_with else ', no other blend'}"
    )
    for line in answer.flown_with:
        wrapped(console, f"with {line}")
    if answer.map is not None:
        _print_map(console, answer, answer.map, all_=all_)
    else:
        _print_range(console, answer, all_=all_)
    if answer.band is not None:
        wrapped(console, f"over {answer.band.said}: {answer.band.flights} flights")
        print_table(console, tables.band_table(answer, all_=all_))
        for line in band_words(answer):
            wrapped(console, line)
    remarks(console, answer, all_=all_, count=0 if answer.band else 1 if answer.map else 2)
    ending(console, answer, run, all_=all_)


def _print_map(console: Console, answer: ExploreResult, found: Map, *, all_: bool) -> None:
    """The best place, what stays around it, and the drifts; all of them where they are wanted and fit."""
    for line in map_words(answer):
        wrapped(console, line)
    down, across = found.axes
    wrapped(console, f"worst drift [°]; down: {down.title}, across: {across.title}")
    most = 10**6 if all_ else 0
    print_table(console, tables.map_table(found, rows=most or _MAP_ROWS, columns=most or _MAP_COLUMNS))


def _print_range(console: Console, answer: ExploreResult, *, all_: bool) -> None:
    """Where the drift is least, and the drift over the range; of a band the latter only if the whole is wanted."""
    shown_: list[Setting] = []
    best: list[Setting] = []
    for side in dict.fromkeys(s.side for s in answer.settings):
        mine = [s for s in answer.settings if s.side == side]
        least, words = least_words(answer, side)
        best += [least] if least else []
        if all_ or answer.band is None:
            wrapped(console, words)
        most = _SETTINGS if len(mine) == len(answer.settings) else _SETTINGS // 2 + 1
        apart = 1 if all_ else max(1, math.ceil((len(mine) - 1) / (most - 1)))
        shown_ += [s for i, s in enumerate(mine) if i % apart == 0 or s in best]
    if all_ or answer.band is None:
        print_table(console, tables.settings_table(answer, shown_, best))
        if len(shown_) < len(answer.settings):
            console.print(f"{len(answer.settings) - len(shown_)} more settings with --all")


def print_remedies(
    answer: RemediesResult, airplane: Airplane, aircraft: str, run: str, *, all_: bool
) -> None:
    """What each change leaves for blends, and the fewest that help."""
    console = make_console()
    headline(console, answer, "changes of the airframe, each re-trimmed, no blends")
    now, *steps = answer.remedies
    if answer.best is not None:
        for line in best_words(now, answer):
            wrapped(console, line, first=" - ", rest="   ")
        wrapped(console, f"next: {next_command(airplane.airframe, answer.best.changes, aircraft)}")
        seen: set[str] = set()  # the better way of each change comes first
        shown_ = [now] + [s for s in steps if not (_change(s) in seen or seen.add(_change(s)))]  # type: ignore[func-returns-value]
        if not all_ and len(shown_) > _VARIANTS:
            console.print(f"{len(shown_) - _VARIANTS} changes that help less with --all")
            shown_ = shown_[:_VARIANTS]
    else:
        half = len(steps) // 2
        shown_ = [*steps[:half], now, *steps[half:]]
    print_table(console, tables.variant_table(answer, shown_))
    for row in shown_:
        if row.trouble:
            wrapped(console, f"{row.words}: not flown ({row.trouble})")
    wrapped(
        console,
        "el, ail: stick held over rudder in knife-edge, %, + up, right; dive: ° to canopy; yaw: ° against the roll; trim: "
        "resting elevator, % up; lost: points of ten (+ unfinished flights)",
    )
    remarks(console, answer, all_=all_, count=1)
    ending(console, answer, run, all_=all_, short=CHANGING_IN_SHORT)


def print_diagnosis(answer: DiagnoseResult, run: str, *, all_: bool) -> None:
    """What a flyer would see in the order of trimming, what makes it, what to change first."""
    console = make_console()
    headline(console, answer, f"{answer.flights} flights")
    if answer.consequences is not None:
        _print_consequences(console, answer, answer.consequences, all_=all_)
        if not all_:
            ending(console, answer, run, all_=False)
            return
    wrapped(console, f"First: {first_change(answer)}")
    warned = answer.of_kind("balance")[:1]
    if all_:
        for row in answer.findings:
            _print_finding(console, row)
        for text in cause_lines(answer):
            wrapped(console, text)
    else:
        shown_ = _as_many_as_fit(
            console, most_seen(answer), _DIAGNOSIS - len(answer.saw[:1]) - 2 * len(warned)
        )
        for row in shown_:
            for line in _finding_lines(console, row):
                console.print(Text(line), soft_wrap=True)
        others = sum(row.seen for row in answer.findings) - len(shown_)
        more = f"; {others} more that are seen with --all" if others else ""
        wrapped(console, f"{unseen_words(answer)}{more}")
    for text in wrong_cures(answer)[: None if all_ else 1]:
        wrapped(console, text, first="! ")
    if all_:
        remarks(console, answer, all_=True)
    ending(console, answer, run, all_=all_, short=CHANGING_IN_SHORT)


def _print_consequences(console: Console, answer: DiagnoseResult, told: Consequences, *, all_: bool) -> None:
    """What blends do to the sequence: warnings first, then what gets worse, better, and worst when reversed."""
    lines: list[str] = []
    add = partial(
        textwrap.wrap, width=max(console.width - 1, 12), subsequent_indent="  ", break_on_hyphens=False
    )
    lines += add(f"with {'; '.join(answer.flown_with)}")
    if math.isfinite(told.points_bare):
        lines += add(
            f"the sequence loses {told.points_with:.1f} points with them, bare {told.points_bare:.1f} points, a point each 15°"
        )
    for flag in told.flags or ["nothing to be warned of beyond what holds for every blend"]:
        lines += add(f"! {flag}")
    for name, rows in (("worse", told.worse), ("better", told.better), ("reversed", told.reversed)):
        for text in rows[: None if all_ else 3]:
            lines += add(f"{name}: {text}")
        if not rows:
            lines += add(f"{name}: nothing that anyone sees")
    shown_ = lines if all_ or len(lines) <= _CONSEQUENCES else lines[: _CONSEQUENCES - 1]
    for line in shown_:
        console.print(Text(printable(line)), soft_wrap=True)
    if len(shown_) < len(lines):
        console.print("more with --all")


def _finding_lines(console: Console, row: Finding) -> list[str]:
    """What is seen, and below it as much of what is done about it as a line holds."""
    width = max(console.width - 1, 12)
    seen, parts = finding_words(row)
    told = parts[0]
    for part in parts[1:]:
        if len(longer := f"{told}; {part}") <= width - 2:
            told = longer
    wrap = partial(textwrap.wrap, width=width, subsequent_indent="  ", break_on_hyphens=False)
    return [*wrap(seen), *wrap(told, initial_indent="  ")]


def _as_many_as_fit(console: Console, rows: list[Finding], lines: int) -> list[Finding]:
    """Those that a change of the airframe cures, then those that a blend does, by their size, in so many lines."""
    fit: list[Finding] = []
    for row in sorted(
        rows, key=lambda row: (_LATE.index(cure.kind if (cure := first_cure(row)) else ""), -abs(row.value))
    ):
        lines -= len(_finding_lines(console, row))
        if lines >= 0:
            fit.append(row)
    return [row for row in rows if row in fit]


#: Kinds of cures, what has none at the end.
_LATE = ("rigging", "airframe", "blend", "")


def _print_finding(console: Console, row: Finding) -> None:
    """One tendency with its shares, all its remedies and their side effects."""
    sure = "" if math.isnan(row.sure_percent) else f", {row.sure_percent:.0f} % sure"
    points = f", {row.points:.1f} of ten points" if row.points >= 0.05 else ""
    below = "" if row.seen or row.part == "throws" else "; nobody sees it"
    wrapped(console, f"{row.part}: {row.said}: {row.tendency}{points}{sure}{below}")
    shares = [f"{name} {value:+.1f} {row.unit}" for name, value in list(row.shares.items())[:4]]
    if row.seen and shares:
        wrapped(console, f"what goes without: {', '.join(shares)}", first="  ", rest="    ")
    for remedy in row.remedies:
        text = f"{remedy.words}: takes {remedy.removes_percent:.0f} %"
        warning = f" ({remedy.warning})" if remedy.warning else ""
        wrapped(console, f"{text}{warning}", first="  - ", rest="    ")
        for effect in remedy.side_effects[:4]:
            wrapped(console, effect, first="      ", rest="        ")


def _change(row: Variant) -> str:
    return row.changes[0].partition("=")[0]


def print_compared(answer: CompareResult, names: Sequence[str], picture: str | None) -> None:
    """Drifts of some runs side by side."""
    console = make_console()
    letters = "ABCDEFGHIJ"[: len(names)]
    for letter, name, airplane, blends in zip(letters, names, answer.airplanes, answer.blends, strict=True):
        wrapped(console, f"{letter} {shown(name)}: {shown(airplane, 200)}; {blends}")
    if not answer.same_aircraft:
        console.print("! not the same aircraft file in all runs")
    console.print("\nWorst drift, as flown with each run's blends", style="bold")
    print_table(console, tables.compare_table(answer, letters))
    for line in unequal_words(answer):
        wrapped(console, line)
    if all(d is None for m in answer.maneuvers for d in m.drift):
        console.print("no flight of these runs finished: there is nothing to compare")
    if picture:
        console.print(f"picture: {picture}", soft_wrap=True)


def print_check(answer: CheckResult, picture: str | None, command: str, *, all_: bool) -> None:
    """What a file says of its airplane; ``command`` names it as one would type it."""
    console = make_console()
    about = shown(" ".join(answer.about.split()), most=2000 if all_ else 100)
    wrapped(console, f"{shown(answer.name)}: {about}")
    lines = [r.text for r in answer.remarks if all_ or r.kind == "learned" or r.kind not in _ABOVE]
    bullets(console, "Remarks", lines or ["none"], mark="!")
    bullets(console, "Balance", answer.balance)
    bullets(console, "Steady flight", answer.trim)
    if all_:
        bullets(console, "Sticks", answer.sticks)
        bullets(console, "Blends in the radio now", answer.blends or ["none"])
        bullets(console, "Modes at cruise", answer.modes)
        if answer.pitch_in_knife_edge:
            bullets(console, "What asks for elevator in level knife-edge", answer.pitch_in_knife_edge)
        _print_derivatives(console, answer)
    else:
        console.print(
            f"\nwhat each stick does, modes and derivatives with --all\nnext: sixdof tune {command}",
            soft_wrap=True,
        )
    if picture:
        console.print(f"picture: {picture}", soft_wrap=True)


def _print_derivatives(console: Console, answer: CheckResult) -> None:
    console.print(lead("\nDerivatives", " (per rad, power off, about the reference point)"))
    used = [d for d in answer.derivatives if d.value and d.term in TERM_NAMES]
    for d in used:
        sigma = f" ± {d.sigma:.2g}" if d.sigma else ""
        wrapped(console, f"{d.term:<7} {d.value:>10.4g}{sigma:<10} {d.meaning}", rest=" " * 8)
    bullets(console, "What they are made of", answer.made_of)
    bullets(console, "Where they come from", dict.fromkeys(d.source for d in used))


def print_sheet(sheet: SetUpSheet, written: str, *, all_: bool) -> None:
    """The ratios a line each and where the pages are, or the whole text of both."""
    console = make_console()
    wrapped(console, headline_of(sheet))
    if all_:
        for block in (*sheet_blocks(sheet), *card_blocks(sheet.card)):
            console.print(f"\n{block.title}", style="bold")
            for line in block.lines:
                below = line.startswith(" ")
                wrapped(
                    console,
                    line.strip(),
                    first="     " if below else " - ",
                    rest="       " if below else "   ",
                )
        console.print()
    else:
        wrapped(console, f"First: {sheet.first}")
        for line in core_lines(sheet):
            wrapped(console, line)
        wrapped(console, sheet.percent[0])
        for line in IN_SHORT:
            wrapped(console, line)
    console.print(f"pages: {written}", soft_wrap=True)

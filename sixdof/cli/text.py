"""What commands print: 80 columns, words before numbers, cautions last."""

from __future__ import annotations

import math
import textwrap
from pathlib import Path
from typing import Any, Literal

import numpy as np
from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from sixdof.cli.setup import make_console
from sixdof.files.errors import shown
from sixdof.flight.fly import Flights
from sixdof.flight.script import Script
from sixdof.physics.terms import TERM_NAMES
from sixdof.runs import Result, Run, SettingRow
from sixdof.tuning.unknowns import Unknown
from sixdof.tuning.words import SAID, amount_words, maneuver_words, source_of


def _table(*columns: tuple[str, Literal["left", "right"]], ratio: bool = False) -> Table:
    """Table without frame; with ``ratio`` the last column takes what is left of the line."""

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0), show_edge=False)
    for name, justify in columns:
        table.add_column(name, justify=justify, no_wrap=True)
    if ratio:
        table.columns[-1].no_wrap = False
    return table


def lead(first: str, rest: str) -> Text:
    """A line that begins in bold."""
    return Text.assemble((first, "bold"), rest)


def _drift_text(degrees: float, rate: float, words: str) -> tuple[str, str, str]:
    return f"{abs(degrees):.1f}°", f"{abs(rate):.1f}", words


def _lines(console: Console, title: str, lines: list[str], mark: str = "-") -> None:
    console.print(f"\n{title}", style="bold")
    _bullets(console, lines, mark)


def _bullets(console: Console, lines: list[str], mark: str = "-") -> None:
    for line in lines:
        text = textwrap.fill(
            line,
            console.width - 1,
            initial_indent=f" {mark} ",
            subsequent_indent="   ",
            break_on_hyphens=False,
        )
        console.print(Text(text), soft_wrap=True)


def _headline(console: Console, result: Result, what: str) -> None:
    console.print(lead(result.aircraft.name, f", rate {result.aircraft.rate}, {what}"))
    if result.changes:
        console.print(f"changed and re-trimmed: {', '.join(result.changes)}")
    if result.air != "calm":
        console.print(f"in {result.air}; drifts are of the way through the air")
    if result.aircraft.invented:
        console.print("invented airplane: do not dial this in", style="bold red")


def _warnings(console: Console, result: Result) -> None:
    """Warnings below the results; that an airplane is invented or changed stands above them already."""
    above = ("is an invented airplane", "flown with:")
    lines = [line for line in result.warnings if not any(text in line for text in above)]
    if lines:
        _lines(console, "Warnings", lines, mark="!")


def print_tuning(result: Result, run: Path) -> None:

    console = make_console()
    _headline(console, result, f"ratios in steps of {result.step_percent:g} %")
    _lines(console, "Ratios (the target's own full throw, at full source)", [b.words for b in result.blends])
    _print_doubts(console, result)
    console.print("\nWorst drift with the sticks let go", style="bold")
    table = _table(
        ("maneuver", "left"),
        ("side", "left"),
        ("bare", "right"),
        ("°/s", "right"),
        ("", "left"),
        ("blended", "right"),
        ("°/s", "right"),
        ("", "left"),
    )
    for m in result.maneuvers:
        before = _drift_text(m.drift_before, m.rate_before, m.words_before)
        after = _drift_text(m.drift_after or 0.0, m.rate_after or 0.0, m.words_after or "")
        if m.status_before != "finished":
            before = (f"({before[0]})", before[1], before[2])
        if m.status != "finished":
            after = (f"({after[0]})", after[1], after[2])
        table.add_row(SAID.get(m.name, m.name), m.side, *before, *after)
    console.print(table)
    if any(not m.scored for m in result.maneuvers):
        console.print(" (in brackets: the flight did not finish; see the warnings)")
    bare = sum(m.points_before for m in result.maneuvers)
    blended = sum(m.points_after or 0.0 for m in result.maneuvers)
    console.print(
        f"points lost at the published step of 1 per 15°: bare {bare:.1f}, blended {blended:.1f}",
    )
    wrong = [abs(d) for m in result.maneuvers if (d := m.others.get("reversed")) is not None]
    some = any(m.others.get("reversed", 0.0) is None for m in result.maneuvers)
    if wrong:
        more = ", and some flights do not even finish" if some else ""
        console.print(f"with every sign reversed the worst drift is {max(wrong):.0f}°{more}")
    _print_wind(console, result)
    for part in result.split:
        _lines(console, f"What the knife-edge {part.target} is made of, at cruise", part.words)
    _warnings(console, result)
    _lines(console, "Before you act on this", result.cautions)
    console.print(f"\nrun: {run}", soft_wrap=True)


def _print_doubts(console: Console, result: Result) -> None:
    """Ranges and the chance of the other sign."""
    if not any(b.doubt for b in result.blends):
        return
    console.print(lead("\nHow sure that is", f": {result.airplanes} airplanes that all fit the measurements"))
    table = _table(
        ("at full", "left"),
        ("on", "left"),
        ("found", "left"),
        ("8 in 10 want", "left"),
        ("other sign", "right"),
    )
    for b in result.blends:
        if b.doubt is None:
            continue
        other = b.doubt.other_sign_percent
        said = "" if other is None or math.isnan(other) else f"{other:.0f} %" if other >= 0.5 else "under 1 %"
        table.add_row(
            source_of(b.side, b.source),
            b.target,
            amount_words(b.target, 0.01 * b.percent),
            b.doubt.words,
            said,
        )
    console.print(table)
    causes: dict[str, float] = {}
    for b in result.blends:
        for name, share in (b.doubt.because if b.doubt else {}).items():
            causes[name] = max(causes.get(name, 0.0), share)
    most = sorted(causes, key=lambda name: -causes[name])[:4]
    if most:
        text = f"what is least known: {', '.join(most)}"
        console.print(Text(textwrap.fill(text, console.width - 1, initial_indent=" ", subsequent_indent=" ")))


def _print_wind(console: Console, result: Result) -> None:
    """Drift over many airs."""
    wind = result.wind
    if wind is None:
        return
    console.print(lead("\nIn wind", f": {wind.air}, {wind.airs} airs; size of the drift, mean ± deviation"))
    table = _table(("maneuver", "left"), ("bare", "right"), ("blended", "right"))

    def cell(mean: float | None, spread: float | None, finished_percent: float) -> str:
        if mean is None or not math.isfinite(mean):
            return "-"
        text = f"{mean:.1f}° ± {spread:.1f}°"
        return text if finished_percent == 100.0 else f"({text})"

    for m in wind.maneuvers:
        before = cell(m.drift_before, m.spread_before, m.finished_before_percent)
        after = cell(m.drift_after, m.spread_after, m.finished_after_percent)
        table.add_row(maneuver_words(m.name, m.side), before, after)
    console.print(table)
    _bullets(console, wind.words)


def print_flights(result: Result, flights: Flights, scripts: list[Script], run: Path) -> None:
    console = make_console()
    _headline(console, result, "one flight to each side")
    _lines(console, "Flown with", result.flown_with or ["no blends"])
    for i, (row, script) in enumerate(zip(result.maneuvers, scripts, strict=True)):
        console.print(lead(f"\n{maneuver_words(row.name, row.side)}", f", {script.way}: {row.status}"))
        console.print(
            f"  top speed {row.top_speed_m_s:.1f} m/s, up to {row.top_g:.1f} g, {row.height_used_m:.0f} m of height used",
        )
        table = _table(("measured", "left"), ("canopy", "right"), ("right wing", "right"), ("roll right", "right"), ("sideslip", "right"),
                       ("aileron", "right"), ("elevator", "right"), ("rudder", "right"))  # fmt: skip
        for m, name in enumerate(script.measured):
            errors = np.degrees(flights.errors[i, m, -1])
            sticks = 100.0 * np.mean(flights.commands[i, m, :, :3], axis=0)
            table.add_row(name, *(f"{e:+.1f}°" for e in errors), *(f"{s:+.1f} %" for s in sticks))
        console.print(table)
    console.print("errors at the end of each measured phase, sticks as its mean")
    _warnings(console, result)
    _lines(console, "Before you act on this", result.cautions)
    console.print(f"\nrun: {run}", soft_wrap=True)


def print_settings(result: Result, unknown: Unknown, maneuver: str, run: Path) -> None:

    console = make_console()
    _headline(console, result, f"{SAID.get(maneuver, maneuver)}, sticks let go, no other blend")
    table = _table(
        (f"{unknown.blend} {unknown.side}", "right"),
        ("side", "left"),
        ("drift", "right"),
        ("°/s", "right"),
        ("", "left"),
        ("top m/s", "right"),
        ("used m", "right"),
    )
    best: dict[str, SettingRow] = {}
    for row in result.settings:
        if row.scored and (row.side not in best or abs(row.drift) < abs(best[row.side].drift)):
            best[row.side] = row
    ends = min(r.percent for r in result.settings), max(r.percent for r in result.settings)
    for row in result.settings:
        cells = [amount_words(unknown.target, row.percent / 100.0), row.side]
        cells += (
            [f"{abs(row.drift):.1f}°", f"{abs(row.rate):.1f}", row.words]
            if row.scored
            else ["-", "-", row.status]
        )
        table.add_row(
            *cells,
            f"{row.top_speed_m_s:.0f}",
            f"{row.height_used_m:.0f}",
            style="bold" if best.get(row.side) is row else None,
        )
    console.print(table)
    for side, row in best.items():
        name = "" if side == "both" else f" ({side})"
        if row.percent in ends:
            text = f"least drift{name}: at the end of the range, so look further before you believe it"
        else:
            amount = amount_words(unknown.target, row.percent / 100.0)
            text = f"least drift{name}: {amount}, {abs(row.drift):.1f}° {row.words}"
        console.print(text)
    _warnings(console, result)
    _lines(console, "Before you act on this", result.cautions)
    console.print(f"\nrun: {run}", soft_wrap=True)


def compared(runs: list[Run]) -> list[dict[str, Any]]:
    """Drift of every maneuver and side in every run, degrees of the worst term; None where it has none."""
    keys = list(dict.fromkeys((m["name"], m["side"]) for run in runs for m in run.result["maneuvers"]))
    rows = []
    for name, side in keys:
        drifts = []
        for run in runs:
            mine = [m for m in run.result["maneuvers"] if (m["name"], m["side"]) == (name, side)]
            drift = None
            if mine and mine[0]["status"] == "finished":  # as flown with the blends
                drift = mine[0]["drift_before"] if mine[0]["drift_after"] is None else mine[0]["drift_after"]
            drifts.append(drift)
        rows.append({"name": name, "side": side, "drift": drifts})
    return rows


def print_compared(runs: list[Run], rows: list[dict[str, Any]], picture: str | None) -> None:

    console = make_console()
    for letter, run in zip("ABCDEFGHIJ", runs, strict=False):
        found = [
            f"{source_of(b['side'], b['source'])} {b['target']} {amount_words(b['target'], b['percent'] / 100.0)}"
            for b in run.result["blends"]
            if b["percent"]
        ]
        blends = ", ".join(found or run.result["flown_with"])
        airplane = ", ".join([run.result["aircraft"]["name"], *run.result.get("changes", [])])
        air = run.result.get("air", "calm")
        airplane += "" if air == "calm" else f"; in {air}"
        console.print(lead(letter, f" {run.path.name}: {airplane}; {blends or 'no blends'}"))
    if len({run.result["aircraft"]["sha256"] for run in runs}) > 1:
        console.print("! not the same aircraft file in all runs")
    console.print("\nWorst drift, as flown with each run's blends", style="bold")
    table = _table(
        ("maneuver", "left"), *((letter, "right") for letter, _ in zip("ABCDEFGHIJ", runs, strict=False))
    )
    for row in rows:
        table.add_row(
            maneuver_words(row["name"], row["side"]),
            *("-" if d is None else f"{abs(d):.1f}°" for d in row["drift"]),
        )
    console.print(table)
    if picture:
        console.print(f"picture: {picture}", soft_wrap=True)


def print_check(report: dict[str, Any]) -> None:
    console = make_console()
    about = shown(" ".join(report["about"].split()), most=2000)
    console.print(lead(report["name"], f": {about}"))
    _lines(console, "Sticks", report["sticks"])
    _lines(console, "Blends in the radio now", report["blends"] or ["none"])
    _lines(console, "Balance", report["balance"])
    _lines(console, "Steady flight", report["trim"])
    _lines(console, "Modes at cruise", report["modes"])
    if report["pitch_in_knife_edge"]:
        _lines(console, "What asks for elevator in level knife-edge", report["pitch_in_knife_edge"])
    console.print(lead("\nDerivatives", " (per rad, power off, about the reference point)"))
    table = _table(("term", "left"), ("value", "right"), ("±", "right"), ("meaning", "left"), ratio=True)
    for row in report["derivatives"]:
        if row["value"] and row["term"] in TERM_NAMES:
            sigma = f"{row['sigma']:.2g}" if row["sigma"] else ""
            table.add_row(row["term"], f"{row['value']:.4g}", sigma, row["meaning"])
    console.print(table)
    _lines(console, "What they are made of", report["made_of"])
    sources = dict.fromkeys(
        row["source"] for row in report["derivatives"] if row["value"] and row["term"] in TERM_NAMES
    )
    _lines(console, "Where they come from", list(sources))
    _lines(console, "Warnings", report["warnings"] or ["none"], mark="!")
    if report["picture"]:
        console.print(f"\npicture: {report['picture']}", soft_wrap=True)

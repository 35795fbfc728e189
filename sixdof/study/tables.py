"""Answers as tables: columns, rows of cells as people read them, and which rows stand out."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Literal, NamedTuple

from sixdof.airframe.blends import amount_words
from sixdof.study.results import (
    CompareResult,
    ExploreResult,
    FlyResult,
    LearnedRatio,
    LearnResult,
    NotedFlight,
    RemediesResult,
    ToldByLogs,
    TuneResult,
    WindResult,
)
from sixdof.study.words import chance_words, range_words, ratio_line, span_words
from sixdof.tuning.band import Band, BandRow
from sixdof.tuning.explore import Map, Setting
from sixdof.tuning.found import Flown
from sixdof.tuning.remedies import Variant

__all__ = [
    "Table", "band_table", "belief", "compare_table", "doubt_table", "drift_table", "learned_table", "log_table", "logs_table", "map_table",
    "needs_table", "phase_table", "ratio_table", "settings_table", "speeds_table", "variant_table", "wind_table",
]  # fmt: skip

Column = tuple[str, Literal["left", "right"]]


class Table(NamedTuple):
    """Columns with the side their cells stand at, rows of cells, and the numbers of the rows that stand out."""

    columns: Sequence[Column]
    rows: Sequence[Sequence[str]]
    bold: Sequence[int] = ()


def _columns(text: str) -> list[Column]:
    """``maneuver, <bare, <°/s``: names, and a < before those whose cells stand to the right."""
    names = [name.strip() for name in text.split(",")]
    return [(name.removeprefix("<"), "right" if name.startswith("<") else "left") for name in names]


def ratio_table(answer: TuneResult) -> Table:
    """A line each blend and side: words, degrees, what it leaves, how sure, when off."""
    lines = [ratio_line(found) for found in answer.blends]
    if not answer.airplanes:
        lines = [line._replace(range="") if line.range == "not asked" else line for line in lines]
    return Table(_columns("at full, adds, <, <leaves, 80 % range, off for"), lines)


def doubt_table(answer: TuneResult) -> Table:
    """Ranges and the chance of the other sign."""
    rows = []
    for b in answer.blends:
        if b.doubt is not None:
            said = chance_words(b.doubt.other_sign_percent)
            rows.append([b.ratio.words, b.target, range_words(b), said, range_words(b, used=True)])
    return Table(_columns("at full, on, 80 % range, <other sign, as stick then"), rows)


def drift_table(answer: TuneResult) -> Table:
    """Worst drift of each maneuver and side, bare and blended; in brackets what did not finish."""
    columns = _columns("maneuver, <bare, <°/s, , <blended, <°/s, ")
    return Table(columns, [_drift_cells(m) for m in answer.maneuvers])


def _drift_cells(m: Flown) -> list[str]:
    before, after = f"{abs(m.drift_before):.1f}°", f"{abs(m.drift_after or 0.0):.1f}°"
    if m.status_before != "finished":
        before = f"({before})"
    if m.status != "finished":
        after = f"({after})"
    rates = f"{abs(m.rate_before):.1f}", f"{abs(m.rate_after or 0.0):.1f}"
    return [m.said, before, rates[0], m.words_before, after, rates[1], m.words_after or ""]


def needs_table(answer: TuneResult) -> Table:
    """What level knife-edge needs at each speed: elevator and aileron at full rudder, and the rudder itself."""
    rows = []
    for row in answer.at_speeds:
        held = [
            _way(target, getattr(row, f"{target}_{side}_percent"))
            for target in ("elevator", "aileron")
            for side in ("right", "left")
        ]
        rudder = [
            "-" if math.isnan(p) else f"{p:.0f} %"
            for p in (row.rudder_right_percent, row.rudder_left_percent)
        ]
        if any(cell != "-" for cell in rudder):
            rows.append([f"{row.speed_m_s:.1f}", *held, *rudder])
    return Table(
        _columns("<m/s, <elevator R, <elevator L, <aileron R, <aileron L, <rudder R, <rudder L"), rows
    )


def _way(target: str, percent: float) -> str:
    return "-" if math.isnan(percent) else amount_words(target, (round(percent, 1) + 0.0) / 100.0)


def speeds_table(answer: TuneResult) -> Table:
    """Worst drift with the same ratios at 80 and 120 % of the speed, where that was flown."""

    def cell(m: Flown, key: str) -> str:
        drift = m.others[key]
        return "unfinished" if drift is None else f"{abs(drift):.1f}° {m.others_words[key]}"

    keys = ("80% speed", "120% speed")
    rows = [[m.said, *(cell(m, key) for key in keys)] for m in answer.maneuvers if keys[0] in m.others]
    return Table(_columns("with these ratios, at 80 % speed, at 120 % speed"), rows)


def wind_table(wind: WindResult) -> Table:
    """Drift over many samples of gusts, mean and standard deviation."""

    def cell(mean: float, spread: float, finished_percent: float) -> str:
        if not math.isfinite(mean):
            return "-"
        text = f"{mean:.1f}° ± {spread:.1f}°"
        return text if finished_percent == 100.0 else f"({text})"

    rows = [
        [
            m.said,
            cell(m.drift_before, m.spread_before, m.finished_before_percent),
            cell(m.drift_after, m.spread_after, m.finished_after_percent),
        ]
        for m in wind.maneuvers
    ]
    return Table(_columns("maneuver, <bare, <blended"), rows)


def phase_table(answer: FlyResult) -> Table:
    """Errors at the end of each measured phase, sticks as its mean."""
    said = {f"{m.name}.{m.side}": m.said for m in answer.maneuvers}
    one_each = len(answer.phases) <= len(said)
    rows = [
        [
            said[p.flight] if one_each else f"{p.flight.partition('.')[2]}, {p.phase}",
            *(f"{_number(e, '+.1f')}°" for e in (p.canopy, p.right_wing, p.roll_right, p.sideslip)),
            *(_number(s, "+.1f") for s in (p.aileron, p.elevator, p.rudder)),
        ]
        for p in answer.phases
    ]
    return Table(_columns("measured, <canopy, <r wing, <roll r, <sideslip, <ail %, <elev %, <rud %"), rows)


def settings_table(answer: ExploreResult, shown: Sequence[Setting], best: Sequence[Setting]) -> Table:
    """Drift over a range of one thing."""
    [axis] = answer.axes
    rows = []
    for s in shown:
        drift = (
            [f"{abs(s.drift):.1f}°", f"{abs(s.rate):.1f}", s.words]
            if s.scored
            else ["-", "-", _ended(s.status)]
        )
        rows.append([axis.words(s.at), s.side, *drift, f"{s.top_speed_m_s:.0f}", f"{s.height_used_m:.0f}"])
    columns = _columns("<setting, side, <drift, <°/s, , <top m/s, <used m")
    columns[0] = (axis.said, "right")
    return Table(columns, rows, [i for i, s in enumerate(shown) if s in best])


def _ended(status: str) -> str:
    """How a flight ended, in a few words: ``let go early``."""
    return re.split(r" at |[:,]", status)[0]


def map_table(found: Map, *, rows: int, columns: int) -> Table:
    """Sizes of the drifts of a map, so many rows and columns of it that the best is among them, in brackets."""
    down, across = found.axes
    picked = [
        _picked(len(axis.values), most, best)
        for axis, most, best in zip(found.axes, (rows, columns), found.best or (0, 0), strict=True)
    ]
    lines = []
    for i in reversed(picked[0]):
        cells = [
            f"{abs(found.drift[i][j]):.1f}" if math.isfinite(found.drift[i][j]) else "-" for j in picked[1]
        ]
        cells = [
            f"[{cell}]" if [i, j] == found.best else cell for j, cell in zip(picked[1], cells, strict=True)
        ]
        lines.append([f"{down.values[i]:g}", *cells])
    names: list[Column] = [("", "right"), *((f"{across.values[j]:g}", "right") for j in picked[1])]
    return Table(names, lines)


def _picked(count: int, most: int, best: int) -> list[int]:
    """Every so-manieth of some numbers, at most so many, the best among them."""
    step = max(1, math.ceil(count / most))
    return list(range(best % step, count, step))


def band_table(answer: ExploreResult, *, all_: bool = False) -> Table:
    """What is best at each place of a band, and what one ratio for all of it leaves; of several bands the places at which
    all but one are in the middle, and in calm air, unless the whole is wanted."""
    band = answer.band
    if band is None:
        return Table(_columns("where"), [])
    target, sides = answer.vary.partition(".")[0].partition("-")[2], list(band.one_percent)
    source, several = answer.vary.partition("-")[0], ", " in band.over
    rows = []
    for place in dict.fromkeys(row.place for row in band.rows):
        mine = [row for row in band.rows if row.place == place]
        off = _off_middle(band, mine[0])
        if several and not all_ and (len(off) > 1 or "wind" in off):
            continue
        said = place if all_ or not several else _one_of(place, band, off)
        cells = []
        for row in mine:
            best = amount_words(target, round(row.best_percent, 1) / 100.0) if math.isfinite(row.best_percent) else "none here"  # fmt: skip
            used = [f"{row.used_percent:.0f} %"] if source != "throttle" else []
            cells += [*used, best, f"{abs(row.left):.1f}°" if math.isfinite(row.left) else "-"]
        rows.append([said, *cells])
    used = [f"<{source}"] if source != "throttle" else []
    each = [[*used, f"{side} best" if len(sides) > 1 else "best there", "<one leaves"] for side in sides]
    return Table(_columns(", ".join(["where", *(name for names in each for name in names)])), rows)


def _off_middle(band: Band, row: BandRow) -> list[str]:
    """Names of what is not in the middle of its band at a place."""
    off = []
    for name, value in row.at.items():
        values = sorted({other.at[name] for other in band.rows})
        if value != (values[0] if name == "wind" else values[len(values) // 2]):
            off.append(name)
    return off


def _one_of(place: str, band: Band, off: Sequence[str]) -> str:
    """Of the words of a place those of the one thing that is off the middle."""
    names = band.over.split(", ")
    return place.split(", ")[names.index(off[0])] if off else "in the middle of all"


def variant_table(answer: RemediesResult, shown: Sequence[Variant]) -> Table:
    """What each change leaves for blends."""
    flown = [row for row in shown if not row.trouble]
    columns = _columns("change, <el R, <el L, <ail R, <ail L, <dive, <yaw, <trim, <lost")
    return Table(
        columns, [_variant_cells(row) for row in flown], [i for i, row in enumerate(flown) if not row.changes]
    )


def _variant_cells(row: Variant) -> list[str]:
    held = [
        _number(x, "+.1f")
        for x in (row.elevator_right, row.elevator_left, row.aileron_right, row.aileron_left)
    ]
    lost = _number(row.points, ".1f") + (f" +{row.unfinished}" if row.unfinished else "")
    free = [_number(row.dive, ".1f"), _number(row.adverse, ".1f"), _number(row.trim_elevator, "+.1f")]
    return [row.words, *held, *free, lost]


def learned_table(answer: LearnResult) -> Table:
    """Ratios before and after the notes, and how far each was open and is."""
    rows = []
    for row in answer.ratios:
        other = row.other_sign_percent
        sign = "-" if math.isnan(other) else f"{other:.0f} %" if other >= 0.5 else "< 1 %"
        rows.append(
            [
                f"{row.ratio.words}: {row.target}", span_words(row.target, row.before_low_percent, row.before_high_percent),
                amount_words(row.target, row.percent / 100.0), span_words(row.target, row.low_percent, row.high_percent), sign,
            ]
        )  # fmt: skip
    bold = [i for i, row in enumerate(answer.ratios) if row.told]
    return Table(_columns("at full, before, now, 80 % range, <wrong"), rows, bold)


def logs_table(rows: Sequence[ToldByLogs]) -> Table:
    """What logs told: as estimated and now, give or take a standard deviation; bold where that halved."""
    cells = [
        [
            f"{row.name} [{row.unit}]",
            f"{row.before:.1f} ± {row.before_sigma:.1f}",
            f"{row.now:.1f} ± {row.now_sigma:.1f}",
        ]
        for row in rows
    ]
    bold = [i for i, row in enumerate(rows) if row.now_sigma < 0.5 * row.before_sigma]
    return Table(_columns("told by logs, <estimated, <now"), cells, bold)


def log_table(flights: Sequence[NotedFlight], ratios: Sequence[LearnedRatio]) -> Table:
    """Flight by flight: whether it is believed, how far each ratio is still open, what would be served."""
    names = [
        f"{row.side[0].upper()} {row.target[:3] if row.target == 'aileron' else 'el'}" for row in ratios[:-1]
    ]
    rows = [
        [
            str(row.flight), belief(row),
            *(f"±{row.within_percent[ratio.ratio.name]:.1f}" for ratio in ratios), f"{row.served_percent:.0f} %",
        ]
        for row in flights
    ]  # fmt: skip
    return Table(
        _columns(", ".join(["flight", "notes", *(f"<{name}" for name in names), "<dive", "<below 5°"])), rows
    )


def belief(row: NotedFlight) -> str:
    """``believed``; ``set aside: roll, left rudder``."""
    if not row.believed:
        return f"set aside: {row.most_surprising.replace(', ', ' ')}"
    return "believed, seen again" if row.again else "believed"


def _number(value: float, form: str) -> str:
    return f"{round(value, 1) + 0.0:{form}}" if math.isfinite(value) else "-"


def compare_table(answer: CompareResult, letters: str) -> Table:
    """Worst drift of each maneuver and side in each run; degrees a second where they were measured for unequal times."""

    def cell(drift: float | None, rate: float | None, same_length: bool) -> str:
        if drift is None or rate is None:
            return "-"
        return f"{abs(drift):.1f}°" if same_length else f"{abs(rate):.1f} °/s"

    rows = [
        [m.said, *(cell(d, r, m.same_length) for d, r in zip(m.drift, m.rate, strict=True))]
        for m in answer.maneuvers
    ]
    return Table(_columns(", <".join(["maneuver", *letters])), rows)

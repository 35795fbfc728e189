"""What `remedies` keeps and prints: changes of the airframe against what they leave for blends."""

from __future__ import annotations

import math
import shlex
from pathlib import Path
from typing import Any

from sixdof.airframe.changes import change_text, change_words, changed, read_changes
from sixdof.airframe.model import Airframe
from sixdof.cli.results import make_result
from sixdof.cli.setup import make_console
from sixdof.cli.text import _headline, _lines, _table, _warnings
from sixdof.field.cautions import BEFORE_CHANGING, BEFORE_FLYING
from sixdof.runs import BestRow, RemedyRow, Result
from sixdof.tuning.remedies import BestSet, Standing
from sixdof.tuning.words import amount_words

_KNIVES = (
    ("right rudder", "elevator", "elevator_right"),
    ("left rudder", "elevator", "elevator_left"),
    ("right rudder", "aileron", "aileron_right"),
    ("left rudder", "aileron", "aileron_left"),
)


def remedies_result(airframe: Airframe, rate: str, found: list[Standing], best: BestSet | None) -> Result:
    """The one result object; the airplane as it is comes first, then by the points that are lost."""
    now, *steps = (RemedyRow(**_row(standing)) for standing in found)
    row = None
    if best is not None:
        row = BestRow(
            expected_constant=100.0 * best.expected_constant, expected_dive=best.expected_dive,
            **_row(best.standing),
        )  # fmt: skip
        steps.sort(key=lambda r: math.inf if r.trouble or r.points is None else r.points)
    cautions = [*BEFORE_CHANGING, BEFORE_FLYING[0], BEFORE_FLYING[-1]]
    return make_result("remedies", airframe, rate, remedies=[now, *steps], best=row, cautions=cautions)


def _row(standing: Standing) -> dict[str, Any]:
    changes = standing.changes.items()
    ratios = dict(zip((key for _, _, key in _KNIVES), (100.0 * standing.ratios).tolist(), strict=True))
    trims = dict(
        zip(("trim_aileron", "trim_elevator", "trim_rudder"), (100.0 * standing.trims).tolist(), strict=True)
    )
    return {
        "changes": [change_text(*change) for change in changes],
        "words": ", ".join(change_words(*change) for change in changes) or "as it is",
        "trouble": standing.trouble, "constant": 100.0 * standing.constant, "dive": standing.dive,
        "adverse": standing.adverse, "static_margin": 100.0 * standing.margin, "points": standing.points,
        **ratios, **trims,
    }  # fmt: skip


def print_remedies(result: Result, airframe: Airframe, aircraft: str, run: Path, over: str | None) -> None:
    console = make_console()
    _headline(console, result, "changes of the airframe, each re-trimmed, no blends")
    now, *steps = result.remedies
    if over is None:
        seen: set[str] = set()  # the better way of each change comes first
        shown = [now] + [s for s in steps if not (_name(s) in seen or seen.add(_name(s)))]  # type: ignore[func-returns-value]
    else:
        half = len(steps) // 2
        shown = [*steps[:half], now, *steps[half:]]
    console.print(
        "\nel, ail: stick held over rudder in knife-edge, right and left rudder, %, + up\n"
        "and right; dive: degrees toward canopy in 3 s, throttle closed; yaw: degrees\n"
        "against the roll; trim: resting elevator, % up; lost: points of ten, bare\n",
        soft_wrap=True,
    )
    columns = ("el R", "el L", "ail R", "ail L", "dive", "yaw", "trim", "lost")
    table = _table(("change", "left"), *((name, "right") for name in columns))
    for row in shown:
        if row.trouble:
            continue
        ratios = (row.elevator_right, row.elevator_left, row.aileron_right, row.aileron_left)
        numbers = [_number(x, "+.1f") for x in ratios]
        numbers += [_number(x, ".1f") for x in (row.dive, row.adverse)]
        numbers += [_number(row.trim_elevator, "+.1f"), _number(row.points, ".1f")]
        table.add_row(row.words, *numbers, style="bold" if row is now else None)
    console.print(table)
    for row in steps:
        if row.trouble:
            console.print(f" {row.words}: not flown ({row.trouble})", soft_wrap=True)
    if over is None:
        console.print(
            "of each change the way that loses fewer points; the other way does about the\nopposite (--json has both)"
        )
    if result.best is not None:
        _lines(
            console,
            "Fewest changes against the constant part and the dive",
            _best_words(now, result.best),
        )
        console.print(_next(airframe, result.best, aircraft), soft_wrap=True)
    _warnings(console, result)
    _lines(console, "Before you act on this", result.cautions)
    console.print(f"\nrun: {run}", soft_wrap=True)


def _name(row: RemedyRow) -> str:
    return row.changes[0].partition("=")[0]


def _number(value: float | None, form: str) -> str:
    if value is None or not math.isfinite(value):
        return "-"
    return f"{round(value, 1) + 0.0:{form}}"


def _best_words(now: RemedyRow, best: BestRow) -> list[str]:
    """The set, what it did when it was flown, and what is left for blends."""
    if not best.changes:
        first = "none: no CG, incidence or down-thrust within usual limits brings them down for its price"
    else:
        first = f"{best.words}; flown with that:"
    lines = [
        first,
        f"knife-edge elevator, constant part: {_percent(now.constant)}"
        + (f" -> {_percent(best.constant)} (the single steps promised {_percent(best.expected_constant)})" if best.changes else ""),
        f"power-off dive: {_degrees(now.dive)}"
        + (f" -> {_degrees(best.dive)} (promised {_degrees(best.expected_dive)})" if best.changes else ""),
    ]  # fmt: skip
    if best.static_margin is not None:
        lines.append(
            f"static margin: {best.static_margin:.1f} % of the mean chord, power off; 2 to 3 % is liked, less is touchy"
        )
    left = [
        f"{rudder} {target} {amount_words(target, round(value) / 100.0)}"
        for rudder, target, key in _KNIVES
        if (value := getattr(best, key)) is not None and math.isfinite(value)
    ]
    lines.append(f"left for blends, about: {', '.join(left) or 'not known, no held knife-edge finished'}")
    return lines


def _next(airframe: Airframe, best: BestRow, aircraft: str) -> str:
    """The command that finds what is left, with all changes there are."""
    changes = changed(airframe, read_changes(best.changes)).changes
    options = "".join(f" -c {shlex.quote(change_text(*change))}" for change in changes)
    return f"next: sixdof tune {shlex.quote(aircraft)}{options}"


def _percent(value: float | None) -> str:
    return (
        "not known"
        if value is None or not math.isfinite(value)
        else amount_words("elevator", round(value, 1) / 100.0)
    )


def _degrees(value: float | None) -> str:
    if value is None or not math.isfinite(value):
        return "not known"
    return f"{abs(value):.0f}° to {'canopy' if value > 0.0 else 'belly'}"

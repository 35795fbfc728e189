"""The answer of a tune as the page shows it: the same words as in the terminal."""

from __future__ import annotations

import math
from typing import Any

from sixdof.airframe.changes import CHANGES
from sixdof.show.causes_chart import shares_chart
from sixdof.show.narrowing_chart import NARROWING, narrowing_charts
from sixdof.study.cautions import CHANGING_IN_SHORT, IN_SHORT
from sixdof.study.results import DiagnoseResult, LearnResult, TuneResult
from sixdof.study.tables import Table, belief, drift_table, learned_table, ratio_table
from sixdof.study.words import (
    first_change,
    first_step,
    knife_edge_words,
    matters_most,
    named,
    totals,
    unseen_words,
    wrong_cures,
)
from sixdof.tuning.diagnose import Finding, Remedy
from sixdof.tuning.sequence import TENDENCIES

__all__ = ["diagnosis", "lesson", "verdict"]

#: A tendency that is drawn as long as can be [deg/s], a resting stick [deg].
_FULL, _FULL_REST = 16.0, 8.0


def verdict(answer: TuneResult, run: str, aircraft: str, changes: list[str]) -> dict[str, Any]:
    """First step, ratios, what they bring, what matters beside them, cautions; plain data."""
    return {
        "run": run,
        "airplane": answer.aircraft.name,
        "invented": answer.aircraft.invented,
        "rate": answer.aircraft.rate,
        "changes": answer.changes,
        "first": first_step(answer, named(aircraft, changes)),
        "ratios": _table(ratio_table(answer)),
        "words": [blend.words for blend in answer.blends],
        "blends": [
            {
                "name": blend.ratio.name,
                "said": f"{blend.ratio.words}: {blend.target}",
                "percent": blend.percent if blend.found and blend.is_seen else 0.0,
                "most": 100.0 * blend.ratio.row.most,
                "maneuvers": [m.name for m in answer.maneuvers if m.name == blend.shown_by.partition(".")[0]][
                    :1
                ],
            }
            for blend in answer.blends
        ],
        "edge": knife_edge_words(answer),
        "totals": totals(answer),
        "drifts": _table(drift_table(answer)),
        "most": [remark.text for remark in matters_most(answer)],
        "remarks": [remark.text for remark in answer.remarks],
        "cautions": answer.cautions,
        "short": " ".join(IN_SHORT),
    }


def diagnosis(answer: DiagnoseResult) -> dict[str, Any]:
    """What a flyer would see, test by test, what makes it and what cures it; plain data."""
    return {
        "airplane": answer.aircraft.name,
        "invented": answer.aircraft.invented,
        "flights": answer.flights,
        "first": first_change(answer),
        "seen": [_seen(found) for found in answer.findings if found.seen],
        "changes": list(CHANGES),
        "changes_said": answer.changes,
        "unseen": unseen_words(answer),
        "wrong": wrong_cures(answer),
        "cautions": answer.cautions,
        "short": " ".join(CHANGING_IN_SHORT),
    }


def _seen(found: Finding) -> dict[str, Any]:
    """A tendency as a length and in words, the flight that shows it, what makes it, what takes how much of it away."""
    tendency = next(t for t in TENDENCIES if t.name == found.name)
    rests = tendency.error == "rests"
    return {
        "part": "CG" if found.part == "cg" else found.part,
        "said": found.said,
        "tendency": found.tendency,
        "sure": "" if math.isnan(found.sure_percent) else f"{found.sure_percent:.0f} % sure",
        "length": 0.0 if found.part == "throws" else min(abs(found.value) / (_FULL_REST if rests else _FULL), 1.0),
        "maneuver": "level" if rests else tendency.test,
        "side": tendency.side,
        "made_by": shares_chart(found.shares, found.value, found.unit, f"{found.said}: what makes it"),
        "remedies": [_remedy(remedy) for remedy in found.remedies],
    }  # fmt: skip


def _remedy(remedy: Remedy) -> dict[str, Any]:
    """What to do, what it leaves, and how it is flown: as a change, or as a ratio."""
    kind = {"built": "next airplane: ", "blend": "blend: "}.get(remedy.kind, "")
    spoils = "spoils more than it cures" if remedy.all_percent < 0.0 else ""
    flown = remedy.change if remedy.kind != "rigging" else ""
    name, _, percent = flown.partition("=") if remedy.kind == "blend" else ("", "", "")
    return {
        "words": f"{kind}{remedy.words}",
        "leaves": max(100.0 - remedy.removes_percent, 0.0),
        "but": "; ".join(text for text in (remedy.warning, spoils, *remedy.side_effects[:1]) if text),
        "changes": [flown] if flown and not name else [],
        "ratios": _both_sides(name, float(percent)) if name else {},
    }


def _both_sides(name: str, percent: float) -> dict[str, float]:
    """A ratio as it is flown; what an aileron adds to the rudder goes the other way on the other side."""
    mirror = {"aileron-rudder.right": "aileron-rudder.left"}.get(name)
    return {name: percent} | ({mirror: -percent} if mirror else {})


def lesson(answer: LearnResult) -> dict[str, Any]:
    """What notes tell: ratios before and now, what surprises, which note comes next; plain data."""
    return {
        "flights": [[str(f.flight), belief(f), f.set_to, f.seen] for f in answer.flights],
        "narrowing": [list(pair) for pair in narrowing_charts(answer.flights, answer.ratios)],
        "narrowing_said": NARROWING,
        "ratios": _table(learned_table(answer)),
        "served": f"with these ratios both knife-edges stay below 5° in 3 s with a chance of {answer.served_percent:.0f} %, with those "
        f"before the notes {answer.served_before_percent:.0f} %",
        "said": [*answer.surprises, *answer.contradictions],
        "next": [
            f"{note.words} (leaves {note.left_degrees:.1f}° of {note.now_degrees:.1f}° of drift unknown)"
            for note in answer.next_notes[:3]
        ],
        "cannot": answer.cannot_tell,
        "cautions": answer.cautions,
        "short": " ".join(IN_SHORT),
    }


def _table(table: Table) -> dict[str, Any]:
    return {
        "columns": [[name, side] for name, side in table.columns],
        "rows": [list(row) for row in table.rows],
    }

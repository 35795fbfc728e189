"""The answer of a tune as the page shows it: the same words as in the terminal."""

from __future__ import annotations

from typing import Any

from sixdof.study.cautions import CHANGING_IN_SHORT, IN_SHORT
from sixdof.study.results import DiagnoseResult, LearnResult, TuneResult
from sixdof.study.tables import Table, belief, drift_table, learned_table, ratio_table
from sixdof.study.words import (
    finding_words,
    first_change,
    first_step,
    knife_edge_words,
    matters_most,
    named,
    totals,
    unseen_words,
    wrong_cures,
)

__all__ = ["diagnosis", "lesson", "verdict"]


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
    rows = []
    for found in answer.findings:
        if found.seen:
            seen, parts = finding_words(found)
            rows.append(["CG" if found.part == "cg" else found.part, seen, "; ".join(parts)])
    return {
        "airplane": answer.aircraft.name,
        "invented": answer.aircraft.invented,
        "flights": answer.flights,
        "first": first_change(answer),
        "seen": {
            "columns": [
                ["part", "left"],
                ["what you would see", "left"],
                ["by, and what takes it away", "left"],
            ],
            "rows": rows,
        },
        "unseen": unseen_words(answer),
        "wrong": wrong_cures(answer),
        "cautions": answer.cautions,
        "short": " ".join(CHANGING_IN_SHORT),
    }


def lesson(answer: LearnResult) -> dict[str, Any]:
    """What notes tell: ratios before and now, what surprises, which note comes next; plain data."""
    return {
        "flights": [[str(f.flight), belief(f), f.set_to, f.seen] for f in answer.flights],
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

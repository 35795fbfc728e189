"""Answers in a flyer's words: what to do first, what was found, and what matters most beside it."""

from __future__ import annotations

import math
import shlex
from typing import NamedTuple

from sixdof.airframe.blends import WAYS, amount_words
from sixdof.airframe.changes import change_text, changed, read_changes
from sixdof.airframe.model import Airframe
from sixdof.files.rows import Remark
from sixdof.flight.blends import Ratio
from sixdof.study.results import (
    Answer,
    CompareResult,
    DiagnoseResult,
    RecordedFlight,
    RemediesResult,
    TuneResult,
)
from sixdof.tuning.diagnose import Finding, Remedy
from sixdof.tuning.found import SEEN, FoundRatio
from sixdof.tuning.remedies import Variant

__all__ = [
    "Line",
    "best_words",
    "cause_lines",
    "chance_words",
    "finding_words",
    "first_change",
    "first_cure",
    "first_step",
    "knife_edge_words",
    "least_known",
    "log_line",
    "matters_most",
    "most_seen",
    "next_command",
    "off_words",
    "range_words",
    "ratio_line",
    "span_words",
    "totals",
    "unequal_words",
    "unseen_words",
    "wrong_cures",
]

#: Kinds of remarks that are worth a line beside the ratios, the weightiest first; the others are shown on request.
_WORTH = ("balance", "hold", "flight", "ratio", "split", "file", "speed")


#: Those that are the first step of all, in this order.
_FIRST = ("balance", "hold", "split")


class Line(NamedTuple):
    """One ratio as a line of a table."""

    source: str
    adds: str
    degrees: str
    leaves: str
    range: str
    off: str


def ratio_line(found: FoundRatio) -> Line:
    """``right rudder | elevator 2.5 % DOWN | 0.33° | 21→0.5° | 19 DOWN..4 UP | landing``."""
    if not found.found:
        why = range_words(found) if found.tested else "no test flown"
        return Line(found.ratio.words, f"{found.target} not found", "", "", why, "")
    if not found.percent:
        return Line(found.ratio.words, f"{found.target} 0 %", "", _leaves(found), range_words(found), "")
    if not found.is_seen:
        return Line(
            found.ratio.words,
            f"{found.target} no need",
            "",
            f"{abs(found.bare_degrees):.1f}°",
            range_words(found),
            "",
        )
    adds = f"{found.target} {amount_words(found.target, found.amount)}"
    return Line(
        found.ratio.words, adds, f"{found.degrees:.2f}°", _leaves(found), range_words(found), found.ratio.row.off
    )  # fmt: skip


def knife_edge_words(answer: TuneResult) -> str:
    """Where knife-edge is flown, what rudder holds it, and how many airplanes like it the ratios help."""
    edge = answer.knife_edge
    if edge is None or (math.isnan(edge.right_percent) and math.isnan(edge.left_percent)):
        return ""
    sides = (("right", edge.right_percent), ("left", edge.left_percent))
    held = ", ".join(
        f"{side} {percent:.0f} %" if percent == percent else f"{side} none" for side, percent in sides
    )
    at = "" if abs(edge.of_cruise_percent - 100.0) < 0.5 else f" ({edge.of_cruise_percent:.0f} % of cruise)"
    helps = {
        b.side: b.doubt.helps_percent
        for b in answer.blends
        if b.source == "rudder" and b.found and b.doubt is not None
    }
    shares = [helps[side] for side in ("right", "left") if side in helps]
    said = ", ".join(dict.fromkeys(f"{share:.0f} %" for share in shares if share == share))
    return f"knife-edge at {edge.speed_m_s:.0f} m/s{at}: rudder {held}" + (
        f"; helps {said} of models" if said else ""
    )


def _leaves(found: FoundRatio) -> str:
    if math.isnan(found.bare_degrees) or math.isnan(found.left_degrees):
        return "-"
    before, after = abs(found.bare_degrees), abs(found.left_degrees)
    return f"{before:.1f}→{after:.1f}°" if before < 10.0 else f"{before:.0f}→{after:.1f}°"


def range_words(found: FoundRatio, *, used: bool = False) -> str:
    """``19 DOWN..4 UP``: eight in ten airplanes that fit the measurements need a ratio in between [%].

    With ``used`` the same as the stick at what the source is used: ``4.2 DOWN..0.9 UP``.
    """
    doubt = found.doubt
    if doubt is None:
        return "not asked"
    if used:
        return span_words(found.target, doubt.used_low_percent, doubt.used_high_percent, digits=1)
    return span_words(found.target, doubt.low_percent, doubt.high_percent)


def span_words(target: str, low_percent: float, high_percent: float, *, digits: int = 0) -> str:
    """``19 DOWN..4 UP``: a range of ratios to a target [%]."""
    ways = {sign: word.upper() for word, sign in WAYS[target].items()}
    ends = [
        (round(abs(p), digits) if digits else abs(round(p)), ways[math.copysign(1.0, p)])
        for p in (low_percent, high_percent)
    ]
    (low, one), (high, other) = sorted(ends) if ends[0][1] == ends[1][1] else ends
    return f"{low}..{high} {other}" if one == other else f"{low} {one}..{high} {other}"


def first_step(answer: TuneResult, command: str) -> str:
    """What to do first, a sentence or two; ``command`` names the airplane and its changes as one would type them."""
    remark = next(iter(answer.of_kind(*_FIRST[:2])), None)
    if remark is not None:
        return f"{remark.text} (sixdof check {command})"
    blends = [found for found in answer.blends if found.found and found.percent]
    above = [found for found in blends if abs(found.percent) > 100.0 * found.ratio.row.cap]
    if above:
        worst = max(above, key=lambda found: abs(found.percent) / found.ratio.row.cap)
        what = f"{worst.ratio.words} asks for {worst.target} {amount_words(worst.target, worst.amount)}"
        return f"{what}, more than a blend should cure: {worst.ratio.row.first} (sixdof remedies {command})"
    split = next(iter(answer.of_kind("split")), None)
    if split is not None:
        return f"{split.text} (sixdof remedies {command} --over cg)"
    unsure = answer.of_kind("sign")
    if unsure:
        return (
            f"{len(unsure)} of {len(answer.blends)} signs below may be the other one: fly it bare, write down what you "
            "see, and only then set a blend"
        )
    return "fly it bare; if it does what the bare column says, set one blend at half its ratio, then the next"


def totals(answer: TuneResult) -> str:
    """Points lost of ten, and what reversed signs would do."""
    bare, blended = answer.points
    text = f"points lost at the published step of 1 per 15°: bare {bare:.1f}, blended {blended:.1f}"
    if any(found.found and found.percent and not found.is_seen for found in answer.blends):
        text += f"; no need: under {SEEN:g}° bare"
    left_out = sum(not m.scored for m in answer.maneuvers)
    if left_out:
        text += f", {left_out} unfinished left out"
    reversed_ = [m.others.get("reversed") for m in answer.maneuvers if "reversed" in m.others]
    flown = [abs(drift) for drift in reversed_ if drift is not None]
    if flown:
        text += f"; with every sign reversed up to {max(flown):.0f}°"
    if None in reversed_:
        text += " or no finish"
    return text


def chance_words(percent: float) -> str:
    """``28 %``, ``under 1 %``; empty where it is not known."""
    return "" if math.isnan(percent) else f"{percent:.0f} %" if percent >= 0.5 else "under 1 %"


def off_words(ratio: Ratio) -> str:
    """``off for landing``; ``stays on``; empty where nothing is said of it."""
    off = ratio.row.off
    return "" if not off else "stays on" if off == "never" else f"off for {off}"


def least_known(answer: TuneResult) -> str:
    """What makes most of the ranges, at most four: ``what is least known: twist of the wing, ...``."""
    causes: dict[str, float] = {}
    for found in answer.blends:
        for name, share in (found.doubt.because if found.doubt else {}).items():
            causes[name] = max(causes.get(name, 0.0), share)
    most = sorted(causes, key=lambda name: -causes[name])[:4]
    return f"what is least known: {', '.join(most)}" if most else ""


def matters_most(answer: Answer, count: int = 2) -> list[Remark]:
    """The remarks most worth a line, at most one of a kind; the first step says the weightiest already."""
    found: dict[str, Remark] = {}
    for remark in answer.of_kind(*_WORTH):
        found.setdefault(remark.kind, remark)
    if isinstance(answer, TuneResult):
        first = next((kind for kind in _FIRST if kind in found), None)
        found.pop(first or "", None)
    return sorted(found.values(), key=lambda remark: _WORTH.index(remark.kind))[:count]


def best_words(now: Variant, answer: RemediesResult) -> list[str]:
    """The set of changes, what it did when it was flown, and what is left for blends."""
    best = answer.best
    if best is None:
        return []
    if not best.changes:
        searched = math.isfinite(now.constant) or math.isfinite(now.dive)
        first = (
            "none: no CG, incidence or down-thrust within usual limits brings them down for its price"
            if searched
            else "not searched: the knife-edge or the dive of the airplane as it is could not be flown"
        )
    else:
        first = f"{best.words}; flown with that:"
    flown = bool(best.changes)
    lines = [
        first,
        f"knife-edge elevator, constant part: {_percent(now.constant)}"
        + (f" -> {_percent(best.constant)} (the single steps promised {_percent(best.expected_constant)})" if flown else ""),
        f"power-off dive: {_degrees(now.dive)}"
        + (f" -> {_degrees(best.dive)} (promised {_degrees(best.expected_dive)})" if flown else ""),
    ]  # fmt: skip
    if math.isfinite(best.static_margin):
        lines.append(
            f"static margin: {best.static_margin:.1f} % of the mean chord, power off; 2 to 3 % is liked, less is touchy"
        )
    left = [
        f"{side} rudder {target} {amount_words(target, round(value) / 100.0)}"
        for target in ("elevator", "aileron")
        for side in ("right", "left")
        if math.isfinite(value := getattr(best, f"{target}_{side}"))
    ]
    lines.append(f"left for blends, about: {', '.join(left) or 'not known, no held knife-edge finished'}")
    return lines


def first_change(answer: DiagnoseResult) -> str:
    """What to change first, and what is left for blends then; a CG that may lie too far aft comes before all else."""
    change, risk = _change(answer), next(iter(answer.of_kind("balance")), None)
    return change if risk is None else f"{risk.text}. Then, if it still does what is said below: {change}"


def _change(answer: DiagnoseResult) -> str:
    best = answer.best
    left = f"what is left wants {_sides(best.left)}" if best.left else "level knife-edge holds at no rudder"
    if answer.causes:
        first = answer.causes[0]
        others = f" (or {', '.join(first.alike)}: these tests do not tell them apart)" if first.alike else ""
        chance = (
            f", chance {first.sure_percent:.0f} % with the doubt of the estimate"
            if math.isfinite(first.sure_percent)
            else ""
        )
        return (
            f"what you saw fits best: {first.words} than the file says{others}; it explains {first.explains_percent:.0f} %"
            f"{chance}. {first.remedy.words[:1].upper()}{first.remedy.words[1:]}, then fly it again; {left}"
        )
    if answer.noted:
        return _by_notes(answer, left)
    if not best.changes:
        return f"no change of the airframe within usual limits is worth its work; {left}"
    return (
        f"{best.words}: flown so, {best.removes_percent:.0f} % of what the airframe can cure is gone "
        f"(static margin then {best.static_margin:.1f} %); {left}"
    )


def _by_notes(answer: DiagnoseResult, left: str) -> str:
    """What notes of flights make likely, each cause with its chance."""
    first = answer.noted[0].remedy.words
    found = "; ".join(noted_words(answer))
    return f"by your notes, as the chance that it differs so from the file: {found}. {first[:1].upper()}{first[1:]}, then fly it again; {left}"


def noted_words(answer: DiagnoseResult) -> list[str]:
    """``thrust line 1.2° further up (32 %) or CG 12 mm higher (22 %), not told apart``: what notes make likely."""
    rows, said = [], set()
    for cause in answer.noted:
        if cause.name in said:
            continue
        together = [cause, *(other for other in answer.noted if other.name in cause.alike)]
        said |= {other.name for other in together}
        text = " or ".join(f"{one.words} ({one.sure_percent:.0f} %)" for one in together)
        rows.append(f"{text}, not told apart" if len(together) > 1 else text)
    return rows


def cause_lines(answer: DiagnoseResult) -> list[str]:
    """Every cause that fits what was seen, or that notes make likely, with its chance; or that notes make none likely."""
    rows = [
        f"{c.words}: explains {c.explains_percent:.0f} %, chance {c.sure_percent:.0f} %"
        for c in answer.causes
    ]
    rows += [
        f"by your notes: {c.words}: chance {c.sure_percent:.0f} %; {c.remedy.words}" for c in answer.noted
    ]
    if answer.of_notes and not answer.noted:
        flights = f"{answer.of_notes} flight{'s' if answer.of_notes > 1 else ''}"
        rows.append(
            f"the notes of {flights} make nothing likely to be off, with all that the estimate leaves open"
        )
    return rows


def _sides(left: list[str]) -> str:
    """``elevator 3 % UP / 5 % UP, aileron ...``: right rudder, then left."""
    found: dict[str, list[str]] = {}
    for text in left:
        _, _, target, amount = text.split(" ", 3)
        found.setdefault(target, []).append(amount)
    return (
        ", ".join(f"{target} {' / '.join(amounts)}" for target, amounts in found.items())
        + " (right / left rudder)"
    )


def most_seen(answer: DiagnoseResult) -> list[Finding]:
    """Of what anyone would see the most of each part and way, what can be cured first, in the order of the sequence."""
    found: dict[tuple[str, str], Finding] = {}
    for row in answer.findings:
        key = row.part, row.tendency.split()[0]
        if (
            row.seen
            and row.part != "landing"
            and (key not in found or abs(row.value) > abs(found[key].value))
        ):
            found[key] = row
    return sorted(found.values(), key=answer.findings.index)


def finding_words(row: Finding) -> tuple[str, list[str]]:
    """What is seen and how sure; below it in parts, the weightiest first: what makes it, what is done about it, what that spoils."""
    seen = f"{row.said}: {row.tendency}, {row.sure_percent:.0f} % sure"
    made_by = next((f"by {name}" for name, value in row.shares.items() if value * row.value > 0.0), "")
    now = first_cure(row)
    later = next((f"next airplane: {remedy.words}" for remedy in row.remedies if remedy.kind == "built"), "")
    cure = (
        f"{now.words} takes {min(now.removes_percent, 100.0):.0f} %"
        if now
        else ""
        if later
        else _no_cure(row)
    )
    worse = f"worse: {now.worse[0]}" if now and now.worse else ""
    return seen, [part for part in (made_by, cure, later, worse) if part]


def first_cure(row: Finding) -> Remedy | None:
    """The first remedy of a built airplane that cures more than it spoils and is not warned of."""
    return next(
        (r for r in row.remedies if r.kind != "built" and r.all_percent >= 0.0 and not (r.kind == "blend" and r.warning)), None
    )  # fmt: skip


def _no_cure(row: Finding) -> str:
    spoils = next((remedy.words for remedy in row.remedies if remedy.all_percent < 0.0), "")
    return f"{spoils} would, and spoil more than it cures" if spoils else "no usual change cures it"


def unseen_words(answer: DiagnoseResult) -> str:
    """What nobody would see."""
    parts = dict.fromkeys(row.part for row in answer.findings if row.part not in ("landing", "throws"))
    clean = [part for part in parts if not any(row.seen for row in answer.findings if row.part == part)]
    few = sum(not row.seen for row in answer.findings)
    return (
        f"below what anyone sees: all of {', '.join(clean)}"
        if clean
        else f"{few} tendencies are below what anyone sees"
    )


def wrong_cures(answer: DiagnoseResult) -> list[str]:
    """Where a blend would be the wrong cure, and why."""
    return [
        f"not by a blend: {row.said}: {remedy.warning}"
        for row in answer.findings
        for remedy in row.remedies
        if remedy.kind == "blend" and remedy.warning
    ]


def log_line(row: RecordedFlight) -> str:
    """How well the airplane that is known now fits a log."""
    aside = [f"{t:.0f}" for t in row.aside_seconds[:6]]
    more = " and later" if len(row.aside_seconds) > len(aside) else ""
    left = f"; set aside: those at {', '.join(aside)} s{more}" if aside else ""
    return f"log of flight {row.flight}: {row.stretches} stretches of 3 s fit, gusts as of a wind of {row.gusts_m_s:.1f} m/s{left}"


def unequal_words(answer: CompareResult) -> list[str]:
    """``power-off dive: measured for 1.6 / 2.9 s, so degrees a second are compared``, a sentence a maneuver."""
    return [
        f"{m.said}: measured for {' / '.join('-' if s is None else f'{s:.3g}' for s in m.seconds)} s, so degrees a second are "
        "compared"
        for m in answer.maneuvers
        if not m.same_length
    ]


def next_command(airframe: Airframe, changes: list[str], aircraft: str) -> str:
    """The command that tunes an airplane with more changes than it has."""
    all_changes = changed(airframe, read_changes(changes)).changes
    return f"sixdof tune {named(aircraft, [change_text(*change) for change in all_changes])}"


def named(aircraft: str, changes: list[str]) -> str:
    """An airplane and its changes as one would type them: ``mine.yaml -c 'cg=5 mm aft'``."""
    return " ".join([shlex.quote(aircraft), *(f"-c {shlex.quote(change)}" for change in changes)])


def _percent(value: float) -> str:
    return amount_words("elevator", round(value, 1) / 100.0) if math.isfinite(value) else "not known"


def _degrees(value: float) -> str:
    if not math.isfinite(value):
        return "not known"
    return f"{abs(value):.0f}° to {'canopy' if value > 0.0 else 'belly'}"

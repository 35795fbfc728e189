"""Answers in a flyer's words: what to do first, what was found, and what matters most beside it."""

from __future__ import annotations

import math
import shlex
from typing import NamedTuple

from sixdof.airframe.blends import WAYS, amount_words
from sixdof.airframe.changes import change_text, changed, read_changes
from sixdof.airframe.model import Airframe
from sixdof.files.rows import Remark
from sixdof.study.results import Answer, RemediesResult, TuneResult
from sixdof.tuning.found import FoundRatio
from sixdof.tuning.remedies import Variant

__all__ = [
    "Line",
    "best_words",
    "first_step",
    "knife_edge_words",
    "matters_most",
    "next_command",
    "range_words",
    "ratio_line",
    "span_words",
    "totals",
]

#: Kinds of remarks that are worth a line beside the ratios, the weightiest first; the others are shown on request.
_WORTH = ("balance", "flight", "ratio", "split", "file", "speed")


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
    off = found.ratio.row.off if found.is_seen else "no need"
    adds = f"{found.target} {amount_words(found.target, found.amount)}"
    return Line(
        found.ratio.words,
        adds,
        f"{found.degrees:.2f}°",
        _leaves(found),
        range_words(found),
        off,
    )


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
        b.side: b.doubt.helps_percent for b in answer.blends if b.source == "rudder" and b.doubt is not None
    }
    said = ", ".join(f"{h:.0f} %" for h in helps.values() if h == h)
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
    remark = next(iter(answer.of_kind("balance", "hold")), None)
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
        text += "; no need: less than anyone sees"
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


def matters_most(answer: Answer, count: int = 2) -> list[Remark]:
    """The remarks most worth a line, at most one of a kind; the first step says the weightiest already."""
    found: dict[str, Remark] = {}
    for remark in answer.of_kind(*_WORTH):
        found.setdefault(remark.kind, remark)
    said = isinstance(answer, TuneResult) and bool(answer.of_kind("balance", "split"))
    if said:
        found.pop("balance" if "balance" in found else "split", None)
    return sorted(found.values(), key=lambda remark: _WORTH.index(remark.kind))[:count]


def best_words(now: Variant, answer: RemediesResult) -> list[str]:
    """The set of changes, what it did when it was flown, and what is left for blends."""
    best = answer.best
    if best is None:
        return []
    if not best.changes:
        searched = math.isfinite(now.constant) and math.isfinite(now.dive)
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

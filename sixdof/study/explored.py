"""What exploring found, in words: the best of a range or a map, one ratio for a band, and whether a curve earns its points."""

from __future__ import annotations

import math

from sixdof.airframe.blends import SIDES, amount_words
from sixdof.flight.blends import Ratio, blend_row
from sixdof.study.results import ExploreResult
from sixdof.tuning.band import Band, Shape, earns
from sixdof.tuning.deviation import TERM_WORDS
from sixdof.tuning.explore import MapAxis, Setting
from sixdof.tuning.found import SEEN

__all__ = ["band_words", "least_words", "map_words", "setting_words", "shape_words"]


def setting_words(axis: MapAxis, value: float) -> str:
    """A value of an axis with what is moved: ``left rudder: elevator 3 % UP``, ``CG 5 mm further aft``, ``CG as it is``."""
    words = axis.words(value)
    return f"{axis.said} {words}" if axis.is_ratio or words == "as it is" else words


def least_words(answer: ExploreResult, side: str) -> tuple[Setting | None, str]:
    """The setting that drifts least to a side, and what is said of it."""
    [axis] = answer.axes
    mine = [s for s in answer.settings if s.side == side]
    name = "" if side == "both" else f" ({side})"
    least = min((s for s in mine if s.scored), key=lambda s: abs(s.drift), default=None)
    if least is None:
        return None, f"least drift{name}: not known, no flight finished"
    if least.at in (min(s.at for s in mine), max(s.at for s in mine)):
        return least, f"least drift{name}: at the end of the range, so look further before you believe it"
    return least, f"least drift{name}: {axis.words(least.at)}, {abs(least.drift):.1f}° {least.words}"


def map_words(answer: ExploreResult) -> list[str]:
    """The best place of a map, how far one may be off, and what is missing, a sentence each."""
    found = answer.map
    if found is None:
        return []
    if not found.best:
        return ["best: not known, no flight finished"]
    i, j = found.best
    place = " with ".join(
        setting_words(axis, axis.values[k]) for axis, k in zip(found.axes, found.best, strict=True)
    )
    drift = found.drift[i][j]
    lines = [f"best: {place}, {abs(drift):.1f}° {TERM_WORDS[found.terms[i][j]][drift > 0.0]}"]
    if found.at_edge:
        names = " and ".join(axis.said for axis in found.axes if axis.name in found.at_edge)
        lines.append(f"that is at the edge of the map for {names}: look further before you believe it")
    step = f"one step of either leaves up to {found.step_leaves:.1f}°" if math.isfinite(found.step_leaves) else "one step of either does not finish"  # fmt: skip
    ranges = [_range(axis, *ends) for axis, ends in zip(found.axes, found.around, strict=False)]
    near = (
        f"below {SEEN:g}° stay {', '.join(ranges)}, the other at its best"
        if ranges
        else f"even the best is seen ({SEEN:g}° in 3 s)"
    )
    lines.append(f"around it {step}; {near}")
    drifts = [value for row in found.drift for value in row]
    unseen, lost = sum(abs(value) < SEEN for value in drifts), sum(math.isnan(value) for value in drifts)
    missing = f", {lost} do{'es' if lost == 1 else ''} not finish" if lost else ""
    lines.append(f"{unseen} of {len(drifts)} settings stay below {SEEN:g}°{missing}")
    return lines


def _range(axis: MapAxis, low: float, high: float) -> str:
    """From where to where on an axis: ``left rudder: elevator 0 % to 3 % UP``."""
    first = setting_words(axis, low)
    return f"{first} to {axis.words(high)}" if low < high else f"{first} alone"


# ---------------------------------------------------------------- a band


def band_words(answer: ExploreResult) -> list[str]:
    """What one ratio for a whole band leaves, a sentence; then what each shape of the blend leaves over it, and which of them
    is worth its numbers."""
    band, ratio = answer.band, _ratio(answer)
    if band is None:
        return []
    sides = [
        f"{f'{side} ' if side != 'both' else ''}{amount_words(ratio.target, percent / 100.0)} leaves up to "
        f"{max(abs(row.left) for row in band.rows if row.side == side):.1f}°"
        for side, percent in band.one_percent.items()
        if math.isfinite(percent)
    ]
    lost = [
        f"{side}: none finishes everywhere"
        for side, percent in band.one_percent.items()
        if not math.isfinite(percent)
    ]
    said = f"one ratio for all of it: {', '.join([*sides, *lost]).replace('both: ', '')}"
    if not lost and all(abs(row.left) < SEEN for row in band.rows):
        bare = next((shape for shape in band.shapes if not shape.numbers), None)
        if bare is not None and not bare.unfinished and bare.left < SEEN:
            return [f"{said}; without any it is {bare.left:.1f}° at most, which nobody sees: leave it out"]
        return [f"{said}, less than anyone sees, so one is enough"]
    return [said, *_shapes_words(band, ratio)]


def _shapes_words(band: Band, ratio: Ratio) -> list[str]:
    """What each shape leaves, the simplest that is worth it, what is to be said of it."""
    lines = [f"at the worst place: {', '.join(f'{shape.name} {_left(shape)}' for shape in band.shapes)}"]
    # a straight line from the throttle spoils level flight: it is shown, never advised
    worth = [shape for shape in band.shapes if ratio.source != "throttle" or shape.name != "straight line"]
    chosen, curve = earns(worth), worth[-1]
    if not chosen.numbers:
        said = "no shape takes off so much that anyone sees it: leave the blend out"
    else:
        simpler = max(
            (shape for shape in worth if shape.numbers < chosen.numbers), key=lambda shape: shape.numbers
        )
        earned = "a curve earns its points" if chosen is curve else f"{_article(chosen)} is worth it"
        said = f"{earned}, {_gain(simpler, chosen)} than {_article(simpler)}, which is seen: {shape_words(chosen, ratio)}"
        if chosen is not curve:
            said += f"; a curve is not worth its points: {_gain(chosen, curve)}, which nobody would see"
    if chosen is curve and _turns(chosen):
        said += "; its sign turns on the way, so it stands in for the speed and the CG: look at those first"
    if chosen.left >= SEEN:
        said += "; what is left is still seen: sixdof diagnose tells what makes it"
    lines.append(said)
    if ratio.source == "throttle":
        lines.append(ratio.row.beware)
    return lines


def _ratio(answer: ExploreResult) -> Ratio:
    """The ratio that varies, or the first of the blend's."""
    row = blend_row(answer.vary.partition(".")[0])
    return Ratio(row.source, row.target, answer.vary.partition(".")[2] or row.sides[0])


def _left(shape: Shape) -> str:
    lost = f" ({shape.unfinished} unfinished)" if shape.unfinished else ""
    return f"{shape.left:.1f}°{lost}" if math.isfinite(shape.left) else "nothing finishes"


def _article(shape: Shape) -> str:
    bare = shape.name in ("no blend", "one ratio") or shape.name.startswith("a ")
    return shape.name if bare else f"a {shape.name}"


def _gain(one: Shape, other: Shape) -> str:
    """``5.3° less``; by flights where those tell."""
    if other.unfinished < one.unfinished:
        return f"{one.unfinished - other.unfinished} more flights finish"
    gain = one.left - other.left
    return f"{abs(gain):.1f}° {'less' if gain >= 0.0 else 'more'}"


def _turns(shape: Shape) -> bool:
    """Whether a blend adds one way at part of a side and the other way at more of it."""
    for sign in (-1.0, 1.0):
        side = [amount for at, amount in shape.points if at * sign > 0.0 and amount]
        if side and min(side) < 0.0 < max(side):
            return True
    return False


def shape_words(shape: Shape, ratio: Ratio) -> str:
    """Its points as people enter them: ``full right 2 % LEFT, half right 1.5 % LEFT``."""
    found = []
    for at, amount in shape.points:
        if not amount and ratio.source not in ("throttle", "flap"):
            continue
        share = {100.0: "full", 50.0: "half"}.get(abs(at), f"{abs(at):g} %")
        way = next((name for name, end in SIDES[ratio.source].items() if end * at > 0.0), "")
        where = f"{share} {way}" if ratio.source not in ("throttle", "flap") else f"at {at:g} %"
        found.append(f"{where} {amount_words(ratio.target, amount / 100.0)}")
    return ", ".join(found)

"""What one should know of an airplane, its flights and its ratios: the same remarks whatever was asked."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from sixdof.airframe.blends import WAYS
from sixdof.airframe.changes import change_words
from sixdof.airframe.model import Airframe
from sixdof.files.rows import KINDS, Remark
from sixdof.flight.airplane import Airplane, Drawn
from sixdof.flight.blends import Ratio
from sixdof.flight.knife_edge import HEIGHT, SIDES, Hold, fastest_tried, knife_edges
from sixdof.flight.lore import apart
from sixdof.flight.maneuver import ManeuverFile
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air
from sixdof.study.results import Lore, WindResult
from sixdof.tuning.doubt import FLY_BARE_ABOVE
from sixdof.tuning.found import SEEN, Flown, FoundRatio
from sixdof.tuning.sequence import size_words
from sixdof.tuning.split import Split
from sixdof.tuning.windy import READ_TO, Windy, WindyRatio

__all__ = [
    "airplane_remarks", "doubt_remarks", "flight_remarks", "hold_remarks", "in_order", "lore_remarks", "lore_result",
    "ratio_remarks", "wind_result", "window_remarks",
]  # fmt: skip

#: Height lost of a level maneuver that is spoken of, over the height it starts at.
_LOST = 0.25
#: Trim that is spoken of, and how far off the radio's, shares of the throw; common practice, no source.
_LARGE_TRIM, _APART = 1.0 / 3.0, 0.05
#: Chance of a CG behind the neutral point that is spoken of, and the static margin to start flying with.
_RISK, _SAFE_MARGIN = 0.05, 0.05
#: Share of airplanes that cannot fly a test that is spoken of.
_CANNOT = 0.05
_HALF = 0.5 * math.pi
#: Standard deviations between physics and what flyers know that are spoken of.
_FAR_APART = 2.0


def in_order(remarks: Sequence[Remark]) -> list[Remark]:
    """Each remark once, the weightiest kinds first."""
    return sorted(dict.fromkeys(remarks), key=lambda remark: KINDS.index(remark.kind))


def airplane_remarks(airplane: Airplane) -> list[Remark]:
    """What holds for an airplane whatever is asked of it."""
    airframe = airplane.airframe
    found = []
    if airframe.invented:
        text = f"{airframe.name} is an invented airplane: do not dial this in"
        found.append(Remark(kind="invented", about="", text=text))
    if airframe.changes:
        said = ", ".join(change_words(name, amount) for name, amount in airframe.changes)
        found.append(Remark(kind="changed", about="", text=f"flown with: {said} (re-trimmed)"))
    layer = airplane.as_filed.layer
    if layer is not None:
        logs = 0 if layer.recorded is None else layer.recorded.flights
        counted = ((layer.flights, "flight", "of notes"), (logs, "log", "of flights"))
        said = " and ".join(f"{n} {word}{'s' if n > 1 else ''} {of}" for n, word, of in counted if n)
        text = f"learned from {said} ({', '.join(layer.notes)}); --no-notes leaves them out"
        found.append(Remark(kind="learned", about="", text=text))
    found += [_of_file("file", text) for text in airframe.warnings]
    found += [_of_file("estimate", text) for text in airplane.derivatives.remarks]
    return [*found, *balance_remarks(airplane), *trim_remarks(airplane)]


def _of_file(kind: str, text: str) -> Remark:
    key, colon, _ = text.partition(": ")
    return Remark(kind=kind, about=key if colon and " " not in key else "", text=text)  # type: ignore[arg-type]


def balance_remarks(airplane: Airplane) -> Iterator[Remark]:
    """A CG that is behind the neutral point, or may be."""
    margin, chord = airplane.static_margin, airplane.derivatives.c
    if margin <= 0.0:
        text = (
            f"the CG is {1e3 * -margin * chord:.0f} mm behind the neutral point (power off): the airplane diverges in "
            f"pitch when let go; move it {1e3 * (_SAFE_MARGIN - margin) * chord:.0f} mm forward before a first flight"
        )
        yield Remark(kind="balance", about="mass.cg", text=text)
        return
    chance = behind_chance(airplane)
    if chance > _RISK:
        forward = 1e3 * max(_SAFE_MARGIN - margin, 0.02) * chord
        text = (
            f"the CG may lie behind the neutral point (chance {100.0 * chance:.0f} %): first flight with it "
            f"{forward:.0f} mm further forward, then back in small steps"
        )
        yield Remark(kind="balance", about="mass.cg", text=text)


def trim_remarks(airplane: Airplane) -> Iterator[Remark]:
    """Trims that are large, or other ones than the radio holds: the flyer's best check of the file."""
    plane, radio = airplane.plane, airplane.airframe.radio.trims
    for channel in ("aileron", "elevator", "rudder"):
        ours, theirs = float(plane[f"{channel}_trim"]), radio.get(channel, 0.0)
        said = f"level flight at cruise takes {_stick(channel, ours)} of {channel}"
        if abs(ours) > _LARGE_TRIM:
            key = (
                "mass.cg"
                if channel == "elevator"
                else "wing.incidence"
                if channel == "aileron"
                else "propeller.right_thrust"
            )
            text = f"{said}, more than a third of the throw: check {key}, incidences and throws"
            yield Remark(kind="file", about=key, text=text)
        if theirs and abs(ours - theirs) > _APART:
            text = (
                f"radio.trims: {said}, the radio holds {_stick(channel, theirs)}: check CG, incidences and thrust line "
                "of the file, or fly it and write down where it trims"
            )
            yield Remark(kind="file", about="radio.trims", text=text)


def _stick(channel: str, share: float) -> str:
    way = next((word for word, sign in WAYS[channel].items() if sign * share > 0.0), "")
    return f"{abs(100.0 * share):.0f} % {way}".strip()


def behind_chance(airplane: Airplane) -> float:
    """Chance that the CG lies behind the neutral point, power off, by the doubt on the pitch stiffness, or by what logs left of it."""
    margin, sigma = airplane.static_margin, airplane.static_margin_sigma
    return 0.5 * math.erfc(margin / (math.sqrt(2.0) * sigma)) if sigma else float(margin <= 0.0)


def flight_remarks(rows: Sequence[Flown], airframe: Airframe) -> Iterator[Remark]:
    """What happened that should not, flight by flight."""
    for row in rows:
        about = f"{row.name}.{row.side}"
        for text in _troubles(row, airframe):
            yield Remark(kind="flight", about=about, text=f"{row.said}{text}")


def window_remarks(asked: ManeuverFile, flown: ManeuverFile) -> Iterator[Remark]:
    """That sticks are let go for a shorter time than they might, for want of height."""
    most, seconds = asked.phases[-1].up_to, flown.phases[-1].time
    if most is not None and seconds < most:
        text = (
            f"{flown.said} from {flown.height:.0f} m: measured for {seconds:g} s, {most:g} s take more height; "
            "compare it by its °/s"
        )
        yield Remark(kind="option", about=flown.name, text=text)


def _troubles(row: Flown, airframe: Airframe) -> Iterator[str]:
    blended = row.drift_after is not None
    if row.status_before != "finished":
        when = ", bare" if blended else ""
        yield f"{when}: {row.status_before}; its numbers are not of a whole flight"
    if blended and row.status != "finished":
        yield f", with blends: {row.status}; its numbers are not of a whole flight"
    if row.travel_lost_s > 0.1:
        yield f": a control is out of travel for {row.travel_lost_s:.1f} s"
    if row.top_g > airframe.limits.g_positive:
        yield f": {row.top_g:.1f} g is over the airframe's {airframe.limits.g_positive:.1f} g"
    if row.least_g < -airframe.limits.g_negative:
        yield f": {row.least_g:.1f} g is beyond the airframe's -{airframe.limits.g_negative:.1f} g"
    if row.level and row.height_used_m > _LOST * row.start_height_m:
        yield (
            f": loses {row.height_used_m:.0f} m of {row.start_height_m:.0f} m where it should stay level; more speed, "
            "power or rudder before a blend"
        )


def ratio_remarks(
    ratios: Sequence[FoundRatio], rows: Sequence[Flown], splits: Sequence[Split], airplane: Airplane
) -> Iterator[Remark]:
    """What to know before a ratio is dialed in."""
    plane = airplane.plane
    for found in ratios:
        play = math.degrees(max(float(plane[f"{found.target}_slop"]), float(plane[f"{found.target}_step"])))
        yield from _one_ratio(found, play)
    used = [found.ratio for found in ratios if found.found and found.percent]
    for text, about in {ratio.row.beware: ratio.blend for ratio in reversed(used)}.items():
        if text:
            yield Remark(kind="blend", about=about, text=text)
    if airplane.airframe.radio.blends:
        names = ", ".join(blend.name for blend in airplane.airframe.radio.blends)
        text = (
            f"the blends in the file ({names}) were switched off here: ratios found replace theirs, "
            "never add to them; what was not looked for here is not flown"
        )
        yield Remark(kind="option", about="radio.blends", text=text)
    yield from _speeds(rows)
    for part in splits:
        if part.target == "elevator" and abs(part.constant) > max(1.0, 2.0 * part.constant_doubt):
            text = (
                f"{abs(part.constant):.1f} % of the knife-edge elevator is the CG, the same at any rudder: "
                "a blend cancels it at one speed only; look at the dive and the CG first"
            )
            yield Remark(kind="split", about="rudder-elevator", text=text)


def hold_remarks(plane: np.void, holds: Hold) -> Iterator[Remark]:
    """Sides on which nothing holds level knife-edge, and what would."""
    speeds = float(plane["cruise"]) * np.array([1.0, fastest_tried(plane)])
    for side, rudder in zip(SIDES, holds.rudder, strict=True):
        if math.isnan(rudder):
            lacks = [
                f"at {speed:.0f} m/s {_lacking(plane, side, speed)}"
                for speed in dict.fromkeys(speeds.tolist())
            ]
            text = (
                f"{side}-rudder knife-edge does not hold level: it would take {', '.join(lacks)}; more rudder throw (another "
                "rate), a larger rudder or more power comes before any blend"
            )
            yield Remark(kind="hold", about=f"knife_edge.{side}", text=text)


def _lacking(plane: np.void, side: str, speed: float) -> str:
    """What level knife-edge takes beyond the travel of the sticks: "203 % of the rudder's travel"."""
    steady = trim(plane, make_air(), speed=speed, bank=-_HALF if side == "right" else _HALF, height=HEIGHT)
    beyond = {name: 100.0 * abs(stick) for name, stick in steady.sticks.items() if abs(stick) > 1.0}
    if not steady.converged or not beyond:
        return "more than any rudder angle"
    return " and ".join(
        f"{percent:.0f} % {'power' if name == 'throttle' else f'of the {name} travel'}"
        for name, percent in beyond.items()
    )


def lore_result(airplane: Airplane) -> Lore | None:
    """What physics alone asks for, and what flyers know; None where they know nothing of such an airplane, or its own notes tell."""
    known = airplane.as_filed
    if not known.is_known or known.layer is not None:
        return None
    alone = known.by_physics
    cruise = alone.airframe.speeds.cruise
    low, middle, high = np.nanquantile(known.crowd_needed, [0.16, 0.5, 0.84]).tolist()
    right, left = knife_edges(alone.planes, cruise).ratios("elevator")[0].tolist()
    believed = float(np.mean(knife_edges(known.planes, cruise).ratios("elevator")))
    if not math.isfinite(right + left + believed):
        return None
    sigma = 0.5 * (high - low)
    return Lore(
        right_percent=100.0 * right, left_percent=100.0 * left, physics_percent=100.0 * middle,
        physics_sigma_percent=100.0 * sigma, believed_percent=100.0 * believed, apart=apart(middle, sigma),
    )  # fmt: skip


def lore_remarks(lore: Lore | None) -> Iterator[Remark]:
    """What is flown is not by physics alone; where the two lie far apart, so much the more."""
    if lore is None:
        return
    far = (
        ""
        if lore.apart <= _FAR_APART
        else f"; they lie {lore.apart:.1f} standard deviations apart: trust neither"
    )
    yield Remark(kind="lore", about="rudder-elevator", text=f"{lore.words}{far}")


def _one_ratio(found: FoundRatio, play: float) -> Iterator[Remark]:
    """``play``: slop or servo step of the target [deg]."""
    ratio, percent = found.ratio, abs(found.percent)
    what, row = f"{ratio.words} to {ratio.target}", ratio.row
    if found.found and percent > 100.0 * row.cap:
        text = (
            f"{what}: {percent:.3g} % is more than a blend should cure ({100.0 * row.cap:.0f} %): {row.first}"
        )
        yield Remark(kind="ratio", about=ratio.name, text=text)
    if found.found and percent and not found.is_seen:
        text = (
            f"{what}: without it the drift is {abs(found.bare_degrees):.1f}°, less than anyone sees (about {SEEN:g}°): "
            "not worth a blend"
        )
        yield Remark(kind="small", about=ratio.name, text=text)
    elif found.found and 0.0 < found.degrees_used < play:
        text = f"{what}: moves the surface {found.degrees_used:.2f}°, less than its slop or servo step of {play:.2f}°"
        yield Remark(kind="ratio", about=ratio.name, text=text)
    if found.found and percent >= 98.0 * row.most:
        yield Remark(
            kind="ratio", about=ratio.name, text=f"{what}: ran into the largest ratio looked at; {row.first}"
        )


def _speeds(rows: Sequence[Flown]) -> Iterator[Remark]:
    """What the ratios do 20 % slower and faster, in two sentences."""
    off: list[tuple[float, str]] = []
    unknown = []
    for row in rows:
        for speed in (80, 120):
            key = f"{speed}% speed"
            drift = row.others.get(key)
            if drift is None:
                unknown.append(f"{row.said} at {speed} %")
            elif abs(drift) > SEEN:
                off.append((abs(drift), f"{row.said} {abs(drift):.0f}° {row.others_words[key]} at {speed} %"))
    if off:
        more = len(off) - 1
        others = (
            f" of the speed, and {more} more flight{'s' if more > 1 else ''}" if more else " of the speed"
        )
        text = f"right at one speed only: {max(off)[1]}{others}"
        yield Remark(kind="speed", about="", text=text)
    if unknown:
        text = f"flights that do not finish at another speed, so nothing is known there: {', '.join(unknown)}"
        yield Remark(kind="speed", about="", text=text)


def doubt_remarks(ratios: Sequence[FoundRatio], drawn: Drawn, airplane: Airplane) -> Iterator[Remark]:
    """What to do where a sign is not sure."""
    if not airplane.derivatives.doubt.any():
        text = (
            "the derivatives in the file say no doubt: the ranges hold only that of propeller, inertia and CG"
        )
        yield Remark(kind="estimate", about="derivatives", text=text)
    for found in ratios:
        if found.doubt is not None and found.doubt.other_sign_percent > 100.0 * FLY_BARE_ABOVE:
            text = (
                f"{found.ratio.words} to {found.target}: the sign may be the other one "
                f"({found.doubt.other_sign_percent:.0f} %): fly it bare first and write down what you see"
            )
            yield Remark(kind="sign", about=found.ratio.name, text=text)
    if drawn.unstable > _RISK:
        text = (
            f"of all airplanes that fit the measurements {100.0 * drawn.unstable:.0f} % have the CG behind the "
            "neutral point; they are left out here: test the CG in flight before any blend, first flight further forward"
        )
        yield Remark(kind="balance", about="mass.cg", text=text)
    cannot = {
        found.ratio.words: found.doubt.cannot_percent for found in ratios
        if found.doubt is not None and found.doubt.cannot_percent > 100.0 * _CANNOT
    }  # fmt: skip
    if cannot:
        said = ", ".join(f"{percent:.0f} % ({source})" for source, percent in cannot.items())
        text = f"of the airplanes that fit the measurements some cannot fly the test: {said}; the ranges are those of the others"
        yield Remark(kind="estimate", about="", text=text)


def wind_result(air: str, samples: int, drifts: list[Windy], told: list[WindyRatio]) -> WindResult:
    """What was flown in many samples of gusts, with its words."""
    words = windy_words(drifts, told, samples)
    return WindResult(air=air, samples=samples, maneuvers=drifts, ratios=told, words=words)


def windy_words(drifts: list[Windy], told: list[WindyRatio], samples: int) -> list[str]:
    """What a wind does to what one sees, a sentence each."""
    found = []
    seen = [d for d in drifts if not math.isnan(d.spread_before)]
    if seen:
        most = max(seen, key=lambda d: d.spread_before)
        rate = most.spread_before / most.seconds
        found.append(
            f"gusts move most: {most.said}, by ± {most.spread_before:.1f}° in {most.seconds:g} s "
            f"(± {rate:.1f} °/s: {size_words(rate)}); a tendency smaller than that is not seen in one pass"
        )
    if told:
        worst = max(told, key=lambda t: t.spread_percent)
        ratio = Ratio(worst.source, worst.target, worst.side)
        others = ", the others at least as well" if len(told) > 1 else ""
        passes = "one pass is enough" if worst.passes == 1 else f"average {worst.passes} passes"
        found.append(
            f"one held pass tells the ratio of {ratio.words} to {ratio.target} within "
            f"± {worst.spread_percent:.1f} %{others}; for ± {100.0 * READ_TO:g} % {passes}"
        )
    both = [d for d in drifts if math.isfinite(d.points_before + d.points_after)]
    if both:
        bare, blended = sum(d.points_before for d in both), sum(d.points_after for d in both)
        found.append(
            f"points lost in this wind, by the way over the ground, 1 per 15°: bare {bare:.1f}, blended {blended:.1f}"
        )
    worse = [
        d.said for d in drifts
        if d.finished_after_percent < 100.0 or d.drift_after + d.spread_after > d.drift_before - d.spread_before
    ]  # fmt: skip
    if worse:
        found.append(f"in this wind one pass may not show that the blends help: {', '.join(worse)}")
    lost = [d for d in drifts if min(d.finished_before_percent, d.finished_after_percent) < 100.0]
    if lost:

        def missing(percent: float) -> int:
            return samples - round(samples * percent / 100.0)

        found.append(
            f"in brackets: of {samples} flights each, those that did not finish are left out: "
            + ", ".join(
                f"{d.said} {missing(d.finished_before_percent)} bare, {missing(d.finished_after_percent)} blended"
                for d in lost
            )
        )
    found.append(
        "sizes of drifts over the ground, which the pilot keeps by crabbing: gusts raise small ones, wind from ahead makes all look "
        "larger; set blends in calm air"
    )
    return found

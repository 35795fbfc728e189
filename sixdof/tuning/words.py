"""What was found, in a flyer's words."""

from __future__ import annotations

import math

import numpy as np

from sixdof.airframe.blendfile import THROTTLE_BAND
from sixdof.airframe.blends import WAYS
from sixdof.airframe.changes import flown_with
from sixdof.airframe.describe import full_throw
from sixdof.airframe.model import Airframe
from sixdof.estimate.derivatives import Derivatives
from sixdof.flight.airplane import Drawn
from sixdof.tuning.doubt import FLY_BARE_ABOVE, RatioDoubt
from sixdof.tuning.search import ManeuverResult, Ratio, Tuning
from sixdof.tuning.split import Split
from sixdof.tuning.windy import READ_TO, Windy, WindyRatio

#: Names of the maneuvers as people say them.
SAID = {
    "knife_edge": "knife-edge",
    "four_point_roll": "four-point roll",
    "power_off_dive": "power-off dive",
    "roll_reversal": "roll reversal",
    "flaps_down": "flaps down",
}


def maneuver_words(name: str, side: str) -> str:
    """``right-rudder knife-edge``, ``four-point roll to the left``, ``power-off dive``."""
    said = SAID.get(name, name.replace("_", " "))
    if side == "both":
        return said
    return f"{side}-rudder {said}" if name == "knife_edge" else f"{said} to the {side}"


def degrees_of(ratio: Ratio, airframe: Airframe, rate: str) -> tuple[float, float]:
    """Degrees of the target at full source throw, and at the most the flights used [deg]."""
    full = math.degrees(abs(ratio.amount) * full_throw(airframe, rate, ratio.unknown.target, ratio.amount))
    return full, full * ratio.used


def source_of(side: str, source: str) -> str:
    """``right rudder``, ``closed throttle``, ``full flap``."""
    return f"{({'low': 'closed', 'high': 'full'}).get(side, side)} {source}"


def source_words(ratio: Ratio) -> str:
    """A ratio's side and source, as :func:`source_of` says them."""
    return source_of(ratio.unknown.side, ratio.unknown.source)


def ratio_words(ratio: Ratio, airframe: Airframe, rate: str) -> str:
    """``right rudder: elevator 3 % UP (0.4°, at the rudder used in level knife-edge 0.2°)``."""
    if not ratio.tested:
        return f"{source_words(ratio)}: {ratio.unknown.target} not found, no test of it could be flown"
    start = (
        f"{source_words(ratio)}: {ratio.unknown.target} {amount_words(ratio.unknown.target, ratio.amount)}"
    )
    if ratio.amount == 0.0:
        return start
    full, used = degrees_of(ratio, airframe, rate)
    if ratio.unknown.side in ("low", "high"):
        fading = (
            f", fading to nothing at {100.0 * THROTTLE_BAND:.0f} % throttle"
            if ratio.unknown.side == "low"
            else ""
        )
        return f"{start} ({full:.2f}°{fading})"
    where = "used in level knife-edge" if ratio.unknown.source == "rudder" else "used"
    return f"{start} ({full:.2f}°, at the {ratio.unknown.source} {where} {used:.2f}°)"


def amount_words(target: str, amount: float) -> str:
    """An amount as people say it: ``3 % UP``; zero is ``0 %``."""
    if round(100.0 * amount, 6) == 0.0:
        return "0 %"
    return f"{abs(100.0 * amount):.4g} % {next(w for w, sign in WAYS[target].items() if sign * amount > 0.0).upper()}"


def range_words(target: str, doubt: RatioDoubt) -> str:
    """``2 % DOWN to 9 % UP``; the smaller one first where both go one way."""
    low, high = round(doubt.low, 2), round(doubt.high, 2)
    if low * high > 0.0:
        if high < 0.0:
            low, high = high, low
        return f"{abs(100.0 * low):.0f} to {amount_words(target, high)}"
    return f"{amount_words(target, low)} to {amount_words(target, high)}"


def doubt_advice(
    tuning: Tuning, doubts: list[RatioDoubt | None], drawn: Drawn, known: Derivatives
) -> list[str]:
    """What to do where a sign is not sure, a sentence each."""
    found, unsure = list(known.remarks), []
    if not known.doubt.any():
        found.append(
            "the derivatives in the file say no doubt: the ranges hold only that of propeller, inertia and CG"
        )
    for ratio, doubt in zip(tuning.ratios, doubts, strict=True):
        if doubt is not None and doubt.other_sign > FLY_BARE_ABOVE:
            unsure.append(
                f"{source_words(ratio)} to {ratio.unknown.target} ({100.0 * doubt.other_sign:.0f} %)"
            )
    if unsure:
        found.append(
            f"the sign may be the other one: {', '.join(unsure)}: fly it bare first and write down what you see"
        )
    if drawn.unstable > 0.05:
        found.append(
            f"of all airplanes that fit the measurements {100.0 * drawn.unstable:.0f} % have the CG behind the "
            "neutral point; they are left out here: test the CG in flight before any blend, first flight further forward"
        )
    grounded = [
        ratio.unknown.side
        for ratio, doubt in zip(tuning.ratios, doubts, strict=True)
        if ratio.unknown.blend == "rudder-elevator"
        and (doubt is None or doubt.airplanes < 0.9 * len(drawn.planes))
    ]
    if grounded:
        found.append(
            f"not every airplane that fits the measurements can hold knife-edge on {' and '.join(grounded)} rudder; "
            "the ranges are those of the ones that can"
        )
    return found


def size_words(rate: float) -> str:
    """How large people call a drift [deg/s], sticks let go: our own scale, not calibrated yet."""
    steps = {"nothing": 0.3, "a hair": 1.0, "slight": 3.0, "moderate": 6.0, "strong": 12.0}
    return next((word for word, most in steps.items() if abs(rate) < most), "violent")


def windy_words(
    drifts: list[Windy], told: list[WindyRatio | None], ratios: list[Ratio], airs: int
) -> list[str]:
    """What a wind does to what one sees, a sentence each."""
    found = []
    most = max(
        (d for d in drifts if not math.isnan(d.bare_spread)), key=lambda d: d.bare_spread, default=None
    )
    if most is not None:
        rate = most.bare_spread / most.seconds
        found.append(
            f"gusts move most: {maneuver_words(most.name, most.side)}, by ± {most.bare_spread:.1f}° in {most.seconds:g} s "
            f"(± {rate:.1f} °/s: {size_words(rate)}); a tendency smaller than that is not seen in one pass"
        )
    unsure = [(r, t) for r, t in zip(ratios, told, strict=True) if t is not None]
    if unsure:
        ratio, worst = max(unsure, key=lambda pair: pair[1].spread)
        others = ", the others at least as well" if len(unsure) > 1 else ""
        passes = "one pass is enough" if worst.passes == 1 else f"the mean of {worst.passes} passes is wanted"
        found.append(
            f"one held pass tells the ratio of {source_words(ratio)} to {ratio.unknown.target} within "
            f"± {100.0 * worst.spread:.1f} %{others}; for ± {100.0 * READ_TO:g} % {passes}"
        )
    worse = [
        maneuver_words(d.name, d.side) for d in drifts
        if d.blended_finished < 1.0 or d.blended + d.blended_spread > d.bare - d.bare_spread
    ]  # fmt: skip
    if worse:
        found.append(f"in this wind one pass may not show that the blends help: {', '.join(worse)}")
    lost = [d for d in drifts if min(d.bare_finished, d.blended_finished) < 1.0]
    if lost:
        found.append(
            f"in brackets: of {airs} flights each those that did not finish are left out: "
            + ", ".join(
                f"{maneuver_words(d.name, d.side)} {airs - round(airs * d.bare_finished)} bare, "
                f"{airs - round(airs * d.blended_finished)} blended" for d in lost
            )
        )  # fmt: skip
    found.append(
        "sizes of drifts through the air: gusts raise small ones, steady wind alone changes none; set blends in calm air"
    )
    return found


def split_words(part: Split) -> list[str]:
    """The parts of a knife-edge ratio, a line each."""
    points = [
        (name, 100.0 * getattr(part, name), 100.0 * getattr(part, f"{name}_doubt"))
        for name in ("constant", "even", "odd")
    ]
    negative, positive = (w.upper() for w in sorted(WAYS[part.target], key=lambda w: WAYS[part.target][w]))
    why = {
        "constant": "same at any rudder: CG, by the trim it asks for",
        "even": "same to both sides: tail height, fin, body, thrust line",
        "odd": "changes with the rudder's side: propeller, power",
    }
    if part.target == "aileron":
        why = {
            "constant": "same at any rudder: lateral balance, twist, torque",
            "even": "same way to both sides: propeller, power",
            "odd": "opposite to each side: dihedral effect, fin, wing height",
        }
    lines = []
    for name, value, doubt in points:
        way = positive if value > 0.0 else negative
        if name == "odd":
            way = f"{way} with right rudder"
        said = f" (two methods differ by {doubt:.1f})" if doubt >= 0.05 else ""
        lines.append(f"{name:<8} {abs(value):4.1f} % {way}{said}: {why[name]}")
    return lines


def advice(tuning: Tuning, splits: list[Split], airframe: Airframe, plane: np.void, rate: str) -> list[str]:
    """What the flyer should know before acting on what was found, a sentence each."""
    found = [f"{airframe.name} is an invented airplane: do not dial this in"] if airframe.invented else []
    found += [*flown_with(airframe), *airframe.warnings]
    for ratio in tuning.ratios:
        u, percent = ratio.unknown, 100.0 * abs(ratio.amount)
        what = f"{source_words(ratio)} to {u.target}"
        _full, used = degrees_of(ratio, airframe, rate)
        play = math.degrees(max(float(plane[f"{u.target}_slop"]), float(plane[f"{u.target}_step"])))
        if u.source == "rudder" and percent > 15.0:
            found.append(
                f"{what}: {percent:.3g} % is more than a rudder blend should cure; fix the airframe first"
            )
        if 0.0 < used < play:
            found.append(
                f"{what}: moves the surface {used:.2f}°, less than its slop or servo step of {play:.2f}°"
            )
        if u.source == "rudder" and u.target == "elevator" and math.isnan(ratio.steady):
            found.append(
                f"{u.side}-rudder knife-edge: no rudder inside the travel carries it level at cruise; what was "
                "flown sinks, so more rudder, more speed or more power first"
            )
        if percent >= 100.0 * 0.98 * u.most:
            found.append(f"{what}: ran into the largest ratio looked at; fix the airframe first")
        if u.blend == "aileron-rudder" and percent > 0.0 and u.side == "right":
            found.append(
                "aileron-rudder helps right way up only: switch it off for rolls, inverted and vertical lines"
            )
        if u.blend == "aileron-rudder" and percent > 20.0 and u.side == "right":
            found.append("aileron-rudder above 20 % is a lot: more differential first")
        if u.blend == "throttle-elevator" and percent > 0.0:
            found.append(
                "throttle-elevator needs a curve or a gate, never a straight line, which would spoil level "
                "flight; expect a pitch step in the landing flare, or switch it off"
            )
    if airframe.radio.blends:
        names = ", ".join(blend.name for blend in airframe.radio.blends)
        found.append(
            f"the blends in the file ({names}) were switched off here: ratios found replace theirs, "
            "never add to them; what was not looked for here is not flown"
        )
    for result in tuning.maneuvers:
        found += _flight_advice(result, airframe)
    found += _speed_advice(tuning)
    for part in splits:
        if part.target == "elevator" and abs(part.constant) > max(0.01, 2.0 * part.constant_doubt):
            found.append(
                f"{100.0 * abs(part.constant):.1f} % of the knife-edge elevator is constant, the same at any rudder: "
                "that is the CG; a blend cancels it at one speed only, so look at the dive and the CG first"
            )
    if any(r.unknown.source == "rudder" and r.amount for r in tuning.ratios):
        found.append("rudder blends also act on crosswind rudder: switch them off for take-off and landing")
    return list(dict.fromkeys(found))


def _flight_advice(result: ManeuverResult, airframe: Airframe) -> list[str]:
    name = maneuver_words(result.script.name, result.script.side)
    found = []
    if result.status_before != "finished":
        found.append(f"{name}, bare: {result.status_before}; its numbers are not of a whole flight")
    if result.status_after != "finished":
        found.append(f"{name}, with blends: {result.status_after}; its numbers are not of a whole flight")
    if result.travel_lost > 0.1:
        found.append(f"{name}: a control is out of travel for {result.travel_lost:.1f} s")
    if result.top_g > airframe.limits.g_positive:
        found.append(
            f"{name}: {result.top_g:.1f} g is over the airframe's {airframe.limits.g_positive:.1f} g"
        )
    return found


def _speed_advice(tuning: Tuning) -> list[str]:
    """What the ratios do 20 % slower and faster, in two sentences."""
    off, unknown = [], []
    for result in tuning.maneuvers:
        name = maneuver_words(result.script.name, result.script.side)
        for speed in (80, 120):
            other = result.others.get(f"{speed}% speed")
            if other is None:
                unknown.append(f"{name} at {speed} %")
            elif abs(other.degrees) > 5.0:  # what people see; common practice, no source
                off.append(f"{name} {abs(other.degrees):.0f}° {other.words} at {speed} %")
    found = [f"right at one speed only: {', '.join(off)} of the speed"] if off else []
    if unknown:
        found.append(
            f"flights that do not finish at another speed, so nothing is known there: {', '.join(unknown)}"
        )
    return found

"""The set-up sheet: what to put into the radio, how it looks on the bench, when it is off, how sure it is."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from sixdof.airframe.blends import BlendSpec, amount_words
from sixdof.airframe.describe import full_throw, linkage_words
from sixdof.airframe.model import Airframe, Control
from sixdof.field.card import flight_card, half_of, shown_words
from sixdof.field.measures import Units, chord_words, edge_words, speed_words, travel
from sixdof.field.rows import BlendToSet, SetUpSheet, SideToSet, Throw
from sixdof.flight.blends import PHASES, fades_at
from sixdof.flight.mixing import stick_for
from sixdof.study.cautions import BEFORE_FLYING
from sixdof.study.results import TuneResult
from sixdof.tuning.found import FoundRatio

__all__ = ["set_up_sheet"]

#: At which the direction of a blend is seen on the bench [%]; common practice, no source.
BENCH = 40.0
#: Time in which a blend comes in when its switch is thrown [s]; common practice, no source.
RAMP = 0.2

#: Stick mode -> what the left and the right stick carry, up and down first; a convention of the trade.
_STICKS = {
    1: (("elevator", "rudder"), ("throttle", "aileron")),
    2: (("throttle", "rudder"), ("elevator", "aileron")),
    3: (("elevator", "aileron"), ("throttle", "rudder")),
    4: (("throttle", "aileron"), ("elevator", "rudder")),
}


def set_up_sheet(answer: TuneResult, airframe: Airframe, run: str) -> SetUpSheet:
    """What to dial in after a tune, and what to watch.

    Parameters
    ----------
    answer : TuneResult
    airframe : Airframe
        That it was found for.
    run : str
        Name of the run, as it is printed.
    """
    units, rate = airframe.radio.units, answer.aircraft.rate
    titles = list(dict.fromkeys((b.source, b.target) for b in answer.blends))
    return SetUpSheet(
        run=run,
        aircraft=answer.aircraft,
        changes=answer.changes,
        units=units,
        sticks=_sticks(airframe),
        first=_first(answer),
        speed=_speed(answer, airframe),
        percent=_percent(answer, airframe),
        blends=_each_said_once([_blend(answer, airframe, *title) for title in titles]),
        others=_others(airframe.radio.blends, titles),
        throws=list(_throws(airframe, rate)),
        linkage=linkage_words(airframe),
        cautions=list(BEFORE_FLYING),
        card=flight_card(answer, units),
    )


def _sticks(airframe: Airframe) -> str:
    """Which stick carries what, if the file says."""
    radio = airframe.radio
    if "stick_mode" not in radio.model_fields_set:
        return ""
    left, right = (f"{up} and {across}" for up, across in _STICKS[radio.stick_mode])
    return f"mode {radio.stick_mode}: left stick {left}, right stick {right}"


def _first(answer: TuneResult) -> str:
    """What comes before any blend."""
    remark = next(iter(answer.of_kind("balance", "hold", "split")), None)
    return remark.text if remark else "fly it bare; set a blend only if that flight does what is said below"


def _speed(answer: TuneResult, airframe: Airframe) -> str:
    """Where level knife-edge was flown, and the rudder that held it, as command and as stick."""
    edge = answer.knife_edge
    if edge is None:
        return ""
    expo = airframe.rates[answer.aircraft.rate].rudder.expo
    held = []
    for side, percent in (("right", edge.right_percent), ("left", edge.left_percent)):
        if math.isnan(percent):
            held.append(f"{side} rudder holds it at no angle")
            continue
        stick = f" (stick {100.0 * stick_for(percent / 100.0, expo):.0f} %)" if expo else ""
        held.append(f"{side} rudder at {percent:.0f} % of its travel{stick}")
    units = airframe.radio.units
    return (
        f"rudder blends are right in level knife-edge at {speed_words(edge.speed_m_s, units)} "
        f"({edge.of_cruise_percent:.0f} % of cruise): {', '.join(held)}; at another speed they are not"
    )


def _percent(answer: TuneResult, airframe: Airframe) -> list[str]:
    """What a percent means here."""
    rate = answer.aircraft.rate
    some = next((b for b in answer.blends if b.found and b.percent), None)
    lines = [
        f"angle = percent/100 × full throw of the target that way (rate {rate}), source at its end; "
        "trailing edge t = c × sin(angle), c the chord behind the hinge where you measure"
    ]
    if some is not None:
        throw = math.degrees(full_throw(airframe, rate, some.target, some.amount))
        lines.append(
            f"{some.ratio.words}, {abs(some.percent):g}/100 × {throw:.1f}° = {some.degrees:.2f}°; radios count percent in "
            "several ways: it is the angle that counts"
        )
    return lines


def _blend(answer: TuneResult, airframe: Airframe, source: str, target: str) -> BlendToSet:
    found = [b for b in answer.blends if (b.source, b.target) == (source, target)]
    row = found[0].ratio.row
    spec = next((s for s in answer.specs() if s.name == row.name), None)
    off_in = [phase for phase in PHASES if phase in row.off_in]
    off = f"OFF for {', '.join(off_in)}" if off_in else f"stays ON, landing too, while the {source} is down"
    return BlendToSet(
        title=f"{source} to {target}",
        sides=[_side(b, answer, airframe) for b in found],
        shape=_shape(spec, found[0]) if spec else "",
        ramp=_ramp(source, airframe),
        gate=_gate(spec),
        off_in=off_in,
        off=off,
        off_short=f"off for {row.off or 'landing'}" if off_in else "stays on",
        beware=row.beware,
    )


def _each_said_once(blends: list[BlendToSet]) -> list[BlendToSet]:
    """What to beware of, with the first blend that it is true of."""
    said = [blend.beware for blend in blends]
    return [
        blend.model_copy(update={"beware": "" if blend.beware in said[:i] else blend.beware})
        for i, blend in enumerate(blends)
    ]


def _shape(spec: BlendSpec, found: FoundRatio) -> str:
    """Points of the curve."""
    points = ", ".join(
        f"{_position(spec.source, position)} {amount_words(spec.target, amount)}"
        for position, amount in spec.points
    )
    fades = fades_at(found.ratio)
    return f"straight through {points}" + ("" if fades is None else ": a curve or a gate, never one line")


def _position(source: str, position: float) -> str:
    if source in ("throttle", "flap"):
        return f"{source} {100.0 * position:.0f} %"
    if position == 0.0:
        return "center"
    side = {"elevator": ("down", "up")}.get(source, ("left", "right"))[position > 0.0]
    return f"{'full' if abs(position) == 1.0 else f'{100.0 * abs(position):.0f} %'} {side}"


def _ramp(source: str, airframe: Airframe) -> str:
    if source == "flap":
        servo, throw = airframe.servos.flap, airframe.rates[airframe.default_rate].flap.down
        return f"as slow as the flap ({throw / servo.rate:.1f} s; 1 to 3 s are usual)"
    return f"{RAMP:g} s"


def _gate(spec: BlendSpec | None) -> str:
    if spec is None or spec.gate is None:
        return "none"
    limit = (
        f"below {spec.gate.below:.0%}" if spec.gate.below is not None else f"above {spec.gate.above or 0:.0%}"
    )
    return f"only with {spec.gate.channel} {limit}"


def _side(found: FoundRatio, answer: TuneResult, airframe: Airframe) -> SideToSet:
    ratio, target = found.ratio, found.target
    now = _in_radio(airframe.radio.blends, found)
    nothing = math.nan
    sheet = SideToSet(
        name=ratio.name, found=found.found, words=found.words.partition(" (")[0], percent=nothing, degrees=nothing,
        edge_mm=nothing, degrees_used=nothing, edge_used_mm=nothing, half_percent=nothing, now_percent=100.0 * now,
        bare=shown_words(found, answer),
    )  # fmt: skip
    if not found.found:
        why = found.words.partition(" not found, ")[2]
        said = f"{ratio.words}: no {target} ratio ({why}): fly it bare and write down what you see"
        return sheet.model_copy(update={"words": said, "now": _off_now(found, now)})
    return sheet.model_copy(update=_numbers(found, answer, airframe, now))


def _numbers(found: FoundRatio, answer: TuneResult, airframe: Airframe, now: float) -> dict[str, object]:
    """What there is to say of a ratio that was found."""
    rate, units, target = answer.aircraft.rate, airframe.radio.units, found.target
    chord = getattr(airframe.controls, target).chord
    throw = full_throw(airframe, rate, target, found.amount)
    half = half_of(found, answer.step_percent)
    at_used = ""
    if found.percent and found.used_percent < 99.5:
        where = f"in {found.used_in}" if found.used_in else "in the test"
        share = found.degrees_used / found.degrees
        moved = _moved(found, airframe, rate, found.amount * share)
        at_used = f"{where}, {found.source} {found.used_percent:.0f} %: {found.degrees_used:.2f}°, {moved}"
    return {
        "words": found.words.partition(" (")[0]
        + ("" if found.is_seen or not found.percent else ", no need: leave it out"),
        "percent": found.percent,
        "degrees": found.degrees,
        "degrees_used": found.degrees_used,
        "edge_mm": 1e3 * travel(chord, abs(found.amount) * throw),
        "edge_used_mm": 1e3 * travel(chord, math.radians(found.degrees_used)),
        "half_percent": half,
        "at_full": f"{found.degrees:.2f}°, trailing edge {_moved(found, airframe, rate, found.amount)}"
        if found.percent
        else "",
        "at_used": at_used,
        "half": f"first flight {amount_words(target, half / 100.0)}"
        if found.percent and found.is_seen
        else "",
        "now": _change(found, now),
        "bench": _bench(found, airframe, rate, units),
        "sure": _sure(found),
        "mind": _mind(found, airframe, throw),
    }


def _moved(found: FoundRatio, airframe: Airframe, rate: str, amount: float) -> str:
    """Where the trailing edge goes for an amount: ``UP 0.51 mm``; each aileron by its own throw."""
    control: Control = getattr(airframe.controls, found.target)
    units = airframe.radio.units

    def mm(throw: float) -> str:
        return edge_words(travel(control.chord, abs(amount) * throw), units)

    if found.target == "aileron":
        throws = airframe.rates[rate].aileron
        up, down = ("right", "left") if amount > 0.0 else ("left", "right")
        return f"{up} UP {mm(throws.up)}, {down} DOWN {mm(throws.down)}"
    way = amount_words(found.target, amount).rpartition(" ")[2]
    return f"{way} {mm(full_throw(airframe, rate, found.target, amount))}"


def _in_radio(blends: tuple[BlendSpec, ...], found: FoundRatio) -> float:
    """What the blends in the radio now add at this position of the source, a share."""
    amounts = [
        float(np.interp(found.ratio.position, *np.array(spec.points).T))
        for spec in blends
        if (spec.source, spec.target) == (found.source, found.target) and spec.switch == "on"
    ]
    return sum(amounts)


def _change(found: FoundRatio, now: float) -> str:
    target = found.target
    if not now:
        return "nothing in the radio now"
    by = found.amount - now
    if abs(by) < 1e-9:
        return "in the radio now already"
    return f"in the radio now {amount_words(target, now)}: change it by {amount_words(target, by)}"


def _off_now(found: FoundRatio, now: float) -> str:
    return (
        f"in the radio now {amount_words(found.target, now)}: switch it off for the bare flight"
        if now
        else ""
    )


def _bench(found: FoundRatio, airframe: Airframe, rate: str, units: Units) -> str:
    """What shows a reversed sign, with the propeller off."""
    if not found.percent or not found.is_seen:
        return ""
    large = max(abs(found.percent), BENCH)
    amount = math.copysign(large / 100.0, found.percent)
    degrees = math.degrees(abs(amount) * full_throw(airframe, rate, found.target, amount))
    set_, back = f"{large:g} %", amount_words(found.target, found.amount)
    surface = "ailerons" if found.target == "aileron" else found.target
    look = f"{_stick(found, airframe)}: {surface} {_moved(found, airframe, rate, amount)} ({degrees:.1f}°)"
    return f"at {set_}, {look}; " + (
        f"back to {back}, read aloud" if large > abs(found.percent) else "read aloud"
    )


def _stick(found: FoundRatio, airframe: Airframe) -> str:
    """Which stick, if the file says: ``right rudder (left stick to the right)``."""
    if found.source == "flap" or "stick_mode" not in airframe.radio.model_fields_set:
        return found.ratio.words
    sticks = dict(zip(("left", "right"), _STICKS[airframe.radio.stick_mode], strict=True))
    stick = next(side for side, carried in sticks.items() if found.source in carried)
    toward = {"throttle": {"low": "down", "high": "up"}, "elevator": {"up": "back", "down": "forward"}}
    way = toward.get(found.source, {}).get(found.side, f"to the {found.side}")
    return f"{found.ratio.words} ({stick} stick {way})"


def _sure(found: FoundRatio) -> str:
    doubt = found.doubt
    if doubt is None:
        return "how sure: not asked"
    text = f"8 of 10 such airplanes need {doubt.words}"
    if not math.isnan(doubt.other_sign_percent):
        text += f"; other sign {doubt.other_sign_percent:.0f} %"
    if not math.isnan(doubt.helps_percent):
        text += f"; helps {doubt.helps_percent:.0f} %"
    return text


def _mind(found: FoundRatio, airframe: Airframe, throw: float) -> str:
    """What speaks against setting it at all; ``throw`` is the full one of the target [rad]."""
    servo, row, said = getattr(airframe.servos, found.target), found.ratio.row, []
    if abs(found.percent) > 100.0 * row.cap:
        said.append(f"more than a blend should cure ({100.0 * row.cap:.0f} %): {row.first}")
    step, slop = (math.degrees(x) for x in (servo.step * throw, servo.slop))
    if 0.0 < found.degrees_used < max(step, slop):
        said.append(
            f"{found.degrees_used:.2f}° is less than the servo is sure of: step {step:.2f}°, play {slop:.2f}°"
        )
    if found.percent and not found.is_seen:
        said.append(f"no need: without it {abs(found.bare_degrees):.1f}°, less than anyone sees")
    return "; ".join(said)


def _others(blends: tuple[BlendSpec, ...], known: list[tuple[str, str]]) -> list[str]:
    """Blends in the radio now that this run did not look for."""
    return [
        f"{spec.name} ({spec.source} to {spec.target}): in the radio now, not looked at here: off for these flights"
        for spec in blends
        if (spec.source, spec.target) not in known
    ]


def _throws(airframe: Airframe, rate: str) -> Iterator[Throw]:
    """Full throws, what they are measured at, expo, differential, step and play."""
    units = airframe.radio.units
    for channel, throws in airframe.rates[rate]:
        control: Control | None = getattr(airframe.controls, channel)
        if control is None:
            continue
        ways = {way: angle for way, angle in throws if way != "expo"}
        said = ", ".join(
            f"{way} {math.degrees(angle):.1f}° ({edge_words(travel(control.chord, angle), units)})"
            for way, angle in ways.items()
        )
        servo, most = getattr(airframe.servos, channel), max(ways.values())
        expo = getattr(throws, "expo", 0.0)
        yield Throw(
            channel=channel,
            words=said,
            measured=f"where the chord behind the hinge is {chord_words(control.chord, units)}",
            expo=f"{100.0 * expo:.0f} %" if channel != "flap" else "",
            differential=_differential(throws.up, throws.down) if channel == "aileron" else "",
            servo=f"step {math.degrees(servo.step * most):.2f}°, play {math.degrees(servo.slop):.2f}°",
        )


def _differential(up: float, down: float) -> str:
    if abs(up - down) < 1e-9:
        return "none"
    less, more, other, way = (down, up, "down", "up") if up > down else (up, down, "up", "down")
    return f"{other} is {100.0 * less / more:.0f} % of {way}"

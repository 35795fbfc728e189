"""What each stick does, in words that a flyer can compare with the airplane on the bench."""

from __future__ import annotations

import math

from sixdof.airframe.blends import SIDES, WAYS, BlendSpec
from sixdof.airframe.linkage import gearing, throws_of
from sixdof.airframe.model import Airframe
from sixdof.airframe.plausible import servo_torques

__all__ = ["blend_words", "full_throw", "linkage_words", "stick_words"]


def stick_words(airframe: Airframe, rate: str) -> list[str]:
    """Say what each stick does at a rate, one line per stick and side; safety first.

    Parameters
    ----------
    airframe : Airframe
    rate : str
        A key of ``airframe.rates``.
    """
    throws = airframe.rates[rate]
    aileron, elevator, rudder = throws.aileron, throws.elevator, throws.rudder
    lines = ["propeller off or motor unplugged before any stick is moved"]
    for side, other in (("right", "left"), ("left", "right")):
        lines.append(
            f"{side} aileron stick: {side} aileron goes UP {_deg(aileron.up)}, {other} aileron goes DOWN "
            f"{_deg(aileron.down)}; seen from behind the airplane rolls {side}"
        )
    for way, throw in (("up", elevator.up), ("down", elevator.down)):
        lines.append(
            f"{way} elevator stick ({'back' if way == 'up' else 'forward'}): "
            f"trailing edge of the elevator goes {way.upper()} {_deg(throw)}; the nose goes {way}"
        )
    for side, throw in (("right", rudder.right), ("left", rudder.left)):
        lines.append(
            f"{side} rudder stick: trailing edge of the rudder goes {side.upper()} {_deg(throw)}; "
            f"the nose goes {side}"
        )
    if airframe.controls.flap is not None:
        lines.append(f"flap down: trailing edges of both flaps go DOWN {_deg(throws.flap.down)}")
    turns = "clockwise" if airframe.propeller.clockwise else "counterclockwise"
    lines.append(
        "throttle: propeller off or motor unplugged; later, propeller on and well clear: "
        f"throttle up turns it {turns} seen from behind"
    )
    return lines


def blend_words(blend: BlendSpec, airframe: Airframe, rate: str) -> list[str]:
    """Say what a blend adds at each of its points: ``full right rudder: elevator 3 % UP (0.42°)``."""
    lines = []
    for position, share in blend.points:
        if share == 0.0:
            continue
        way = next(word for word, sign in WAYS[blend.target].items() if sign * share > 0.0)
        throw = full_throw(airframe, rate, blend.target, share)
        where = _position_words(blend.source, position)
        degrees = math.degrees(abs(share) * throw)
        lines.append(f"{where}: {blend.target} {_percent(share)} {way.upper()} ({degrees:.2f}°)")
    return lines or [f"{blend.source} adds nothing to {blend.target}"]


def linkage_words(airframe: Airframe) -> list[str]:
    """Say what each linkage of the file makes of its servo, a line each."""
    lines = []
    for name, linkage in airframe.linkage:
        if linkage is None or getattr(airframe.controls, name) is None:
            continue
        throws = throws_of(linkage)
        made = ", ".join(f"{_deg(made)} {way}" for way, made in throws.items())
        turned = ", ".join(f"{math.degrees(abs(turn)):.3g}°" for turn in linkage.turns.values())
        text = f"{name} linkage: the servo turns {turned} and moves it {made}"
        less, more = min(throws.values()), max(throws.values())
        if len(throws) > 1 and more - less > 0.005 * more:
            way = max(throws, key=lambda way: throws[way])
            text += f" ({100.0 * (1.0 - less / more):.0f} % more {way} by its geometry)"
        speed, needed = servo_torques(airframe, name)
        text += f"; at neutral 1° of servo is {gearing(linkage, 0.0):.2f}°; full throw at {speed:.0f} m/s asks {max(needed.values()):.2g} N m"
        lines.append(text + (f" of {linkage.torque:.2g} N m" if linkage.torque else ""))
    return lines


def full_throw(airframe: Airframe, rate: str, channel: str, amount: float) -> float:
    """Full throw [rad] of a surface toward the side that `amount` has the sign of.

    The ailerons go both ways at once; theirs is the mean of up and down.
    """
    throws = airframe.rates[rate]
    if channel == "aileron":
        return (throws.aileron.up + throws.aileron.down) / 2
    if channel == "elevator":
        return throws.elevator.up if amount > 0.0 else throws.elevator.down
    if channel == "rudder":
        return throws.rudder.right if amount > 0.0 else throws.rudder.left
    return throws.flap.down


def _position_words(source: str, position: float) -> str:
    low, high = SIDES[source]
    if source in ("throttle", "flap"):
        return f"{source} at {_percent(position)}"
    if position == 0.0:
        return f"{source} centered"
    side = high if position > 0.0 else low
    much = "full" if abs(position) == 1.0 else _percent(position)
    return f"{much} {side} {source}"


def _deg(angle: float) -> str:
    return f"{math.degrees(angle):.1f}°"


def _percent(share: float) -> str:
    return f"{round(abs(share) * 100, 1):g} %"

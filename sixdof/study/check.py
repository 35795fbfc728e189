"""What `check` tells of an aircraft file: sticks, blends, steady flight, modes, derivatives."""

from __future__ import annotations

import math

import numpy as np

from sixdof.airframe.describe import blend_words, stick_words
from sixdof.airframe.model import Airframe
from sixdof.estimate.derivatives import NAMES, Derivatives
from sixdof.flight.airplane import Airplane
from sixdof.flight.budget import pitch_budget
from sixdof.flight.linear import linearize, modes
from sixdof.flight.pack import TRIM_HEIGHT
from sixdof.flight.speed import stalling_speed
from sixdof.flight.trim import trim
from sixdof.physics.air import G0, make_air
from sixdof.physics.terms import SHAPE, TERMS
from sixdof.study.ask import answer_about
from sixdof.study.results import CheckResult, Derivative, Reference

__all__ = ["check"]

#: Terms whose components are told in words.
_MADE_OF = ("CLa", "Cma", "Cmq", "Cmb2", "CYb", "Cnb", "Clb", "CD0")


def check(airplane: Airplane) -> CheckResult:
    """What an aircraft file says of its airplane: sticks, balance, steady flight, modes, derivatives.

    Parameters
    ----------
    airplane : Airplane

    Returns
    -------
    CheckResult

    Raises
    ------
    InputError
        No steady level flight at cruise.

    Examples
    --------
    >>> print(check(Airplane("corvane")).sticks[3])
    up elevator stick (back): trailing edge of the elevator goes UP 13.0°; the nose goes up
    """
    airframe, known = airplane.airframe, airplane.derivatives
    meaning = {term.name: term.meaning for term in TERMS} | {name: text for name, (_, text) in SHAPE.items()}
    return CheckResult(
        **answer_about(airplane, [], []),
        name=airframe.name,
        rate=airplane.rate,
        about=airframe.about,
        file=airframe.path,
        sticks=stick_words(airframe, airplane.rate),
        blends=[
            *(line for blend in airframe.radio.blends for line in blend_words(blend, airframe, airplane.rate)),
            *(output.said for output in airframe.radio.outputs),
        ],
        balance=_balance(airplane),
        trim=_steady_flights(airplane.plane, airframe),
        modes=_modes(airplane.plane),
        pitch_in_knife_edge=_pitch_in_knife_edge(airplane),
        reference=Reference(area_m2=known.S, span_m=known.b, chord_m=known.c, point_m=known.point),
        derivatives=[
            Derivative(
                term=name, value=float(known.value[i]), sigma=float(known.sigma[i]), source=known.source[i],
                shares=known.share(name), meaning=meaning[name],
            )
            for i, name in enumerate(NAMES)
        ],
        fit_residual=known.residual,
        made_of=[_made_of(known, name) for name in _MADE_OF if known[name]],
    )  # fmt: skip


def _balance(airplane: Airplane) -> list[str]:
    """Static margin, stall speed and loading in words."""
    airframe, known = airplane.airframe, airplane.derivatives
    cg, weight = airframe.mass.cg[0], airframe.mass.m * G0
    lines = [f"mass {airframe.mass.m:.3g} kg, {weight / airframe.wing.area:.0f} N/m2 on the wing"]
    if known["CLa"] > 0.0:
        margin = (cg - known.neutral_point) / known.c
        doubt = airplane.unlearned.static_margin_sigma
        lines.append(
            f"neutral point {-1e3 * known.neutral_point:.0f} mm aft of the datum, CG {-1e3 * cg:.0f} mm: static margin "
            f"{100.0 * margin:.1f} % of the mean chord, give or take {100.0 * doubt:.1f} %"
        )
        if airplane.unnoted is not airplane.unlearned:
            told = 100.0 * airplane.static_margin, 100.0 * airplane.static_margin_sigma
            lines.append(f"by its logs the static margin is {told[0]:.1f} %, give or take {told[1]:.1f} %")
    speed = float(stalling_speed(airplane.plane, make_air(), 0.0))
    said = "" if airframe.speeds.stall is None else f", the file says {airframe.speeds.stall:.1f} m/s"
    lines.append(f"stall by the section data: about {speed:.0f} m/s{said}")
    return lines


def _made_of(known: Derivatives, name: str) -> str:
    """``Cma, pitch stiffness: -0.74 = tailplane -0.90, body +0.10, wing +0.05``."""
    parts = sorted(known.share(name).items(), key=lambda part: -abs(part[1]))
    least = 0.02 * max(abs(known[name]), abs(parts[0][1]) if parts else 0.0)
    said = ", ".join(f"{component} {part:+.3g}" for component, part in parts if abs(part) >= least)
    return f"{name} {known[name]:.3g}: {said}"


def _pitch_in_knife_edge(airplane: Airplane) -> list[str]:
    """What asks for how much elevator in level knife-edge, a line a side."""
    cruise, air, plane = airplane.airframe.speeds.cruise, make_air(), airplane.plane
    level, lines = trim(plane, air, speed=cruise, height=TRIM_HEIGHT), []
    for side, bank in (("right", -0.5 * math.pi), ("left", 0.5 * math.pi)):
        knife = trim(plane, air, speed=cruise, bank=bank, height=TRIM_HEIGHT)
        if knife.reachable:
            parts = pitch_budget(plane, airplane.flown, knife, level)
            parts = dict(sorted(parts.items(), key=lambda part: -abs(part[1])))
            said = ", ".join(
                f"{name} {_percent(part, 'down', 'up')}" for name, part in parts.items() if abs(part) >= 0.002
            )
            lines.append(f"{side} rudder, {_percent(sum(parts.values()), 'down', 'up')} in all: {said}")
    return lines


def _percent(stick: float, less: str, more: str) -> str:
    return f"{abs(100.0 * stick):.1f} % {more if stick > 0.0 else less}"


def _steady_flights(plane: np.void, airframe: Airframe) -> list[str]:
    cruise, air = airframe.speeds.cruise, make_air()
    elevator = _percent(float(plane["elevator_trim"]), "down", "up")
    aileron = _percent(float(plane["aileron_trim"]), "left", "right")
    rudder = _percent(float(plane["rudder_trim"]), "left", "right")
    level = trim(plane, air, speed=cruise, height=TRIM_HEIGHT)
    lines = [
        f"level at {cruise:.1f} m/s: angle of attack {math.degrees(level.alpha):.1f}°, throttle "
        f"{100.0 * level.sticks['throttle']:.0f} %, trims: elevator {elevator}, aileron {aileron}, rudder {rudder}"
    ]
    words = {"aileron": ("left", "right"), "elevator": ("down", "up"), "rudder": ("left", "right")}
    now = [
        f"{channel} {_percent(share, *words[channel])}"
        for channel, share in airframe.radio.trims.items()
        if share
    ]
    if now:
        lines.append(f"trims in the radio now, which are not flown: {', '.join(now)}")
    inverted = trim(plane, air, speed=cruise, bank=math.pi, height=TRIM_HEIGHT)
    if inverted.reachable:
        lines.append(
            f"inverted: elevator {_percent(inverted.sticks['elevator'], 'down', 'up')} beyond the trim"
        )
    for side, bank in (("right", -0.5 * math.pi), ("left", 0.5 * math.pi)):
        knife = trim(plane, air, speed=cruise, bank=bank, height=TRIM_HEIGHT)
        if not knife.reachable:
            lines.append(f"{side}-rudder knife-edge: none level at {cruise:.1f} m/s inside the travel")
            continue
        lines.append(
            f"{side}-rudder knife-edge: rudder {_percent(knife.sticks['rudder'], 'left', 'right')}, held with elevator "
            f"{_percent(knife.sticks['elevator'], 'down', 'up')}, aileron "
            f"{_percent(knife.sticks['aileron'], 'left', 'right')}; sideslip {abs(math.degrees(knife.beta)):.0f}°, "
            f"throttle {100.0 * knife.sticks['throttle']:.0f} %"
        )
    return lines


def _modes(plane: np.void) -> list[str]:
    air = make_air()
    steady = trim(plane, air, speed=float(plane["cruise"]), height=TRIM_HEIGHT)
    lines = []
    for name, root in modes(linearize(plane, air, steady)).items():
        if abs(root.imag) > 1e-9:
            omega = abs(root)
            lines.append(
                f"{name}: period {2.0 * math.pi / abs(root.imag):.2f} s, damping ratio {-root.real / omega:.2f}"
            )
        elif root.real > 0.0:
            lines.append(f"{name}: time to double {math.log(2.0) / root.real:.1f} s")
        else:
            lines.append(f"{name}: time to half {-math.log(2.0) / root.real:.2f} s")
    return lines

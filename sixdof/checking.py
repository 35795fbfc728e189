"""What `check` tells of an aircraft file: sticks, blends, steady flight, modes, derivatives."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sixdof.airframe.describe import blend_words, stick_words
from sixdof.airframe.model import Airframe
from sixdof.estimate.derivatives import NAMES
from sixdof.estimate.layers import estimate_derivatives
from sixdof.flight.linear import linearize, modes
from sixdof.flight.pack import TRIM_HEIGHT
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air
from sixdof.physics.terms import SHAPE, TERMS


def check_airframe(airframe: Airframe, planes: np.ndarray, rate: str) -> dict[str, Any]:
    """Report on an airplane, ready for JSON; degrees and percent."""
    meaning = {term.name: term.meaning for term in TERMS} | {name: text for name, (_, text) in SHAPE.items()}
    known = estimate_derivatives(airframe)
    warnings = [f"{airframe.name} is an invented airplane: do not dial this in"] if airframe.invented else []
    return {
        "name": airframe.name,
        "about": airframe.about,
        "file": airframe.path,
        "sha256": airframe.sha256,
        "rate": rate,
        "sticks": stick_words(airframe, rate),
        "blends": [line for blend in airframe.radio.blends for line in blend_words(blend, airframe, rate)],
        "trim": _steady_flights(planes[0], airframe),
        "modes": _modes(planes[0]),
        "derivatives": [
            {
                "term": name,
                "value": float(value),
                "sigma": None if math.isnan(sigma) else float(sigma),
                "source": source,
                "meaning": meaning[name],
            }
            for name, value, sigma, source in zip(NAMES, known.value, known.sigma, known.source, strict=True)
        ],
        "warnings": warnings + list(airframe.warnings),
    }


def neutral_point(airframe: Airframe) -> float | None:
    """Where lift from angle of attack acts: x from the datum [m], negative aft; None without such lift."""
    known = estimate_derivatives(airframe)
    if known["CLa"] <= 0.0:
        return None
    return known.point[0] + known.c * known["Cma"] / known["CLa"]


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
            lines.append(f"{name}: grows to twice in {math.log(2.0) / root.real:.1f} s")
        else:
            lines.append(f"{name}: falls to half in {-math.log(2.0) / root.real:.2f} s")
    return lines

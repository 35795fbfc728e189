"""How the path of a trimmed airplane curves with the sticks released: common practice, no source; derived.

Trimmed level at V0, flown with the sticks released at V on a path of climb gamma and bank phi, an airplane of static margin SM curves
toward its canopy at

    (g/V) SM/(SM + Delta) [(V/V0)^2 - cos(gamma) cos(phi)],    Delta = -Cm_q rho S c/(4 m),

and in a power-off vertical dive gains the angle (g depth/V0^2) SM/(SM + Delta), whatever its drag.
"""

from __future__ import annotations

import math
from functools import cache, partial

import numpy as np

from sixdof.physics.air import G0, make_air
from sixdof.physics.frames import path_errors, path_frame
from sixdof.validation.check import Check
from sixdof.validation.planes import DEG, fly, plane_of, state_of, steady_of, targets_of

RHO = 1.225
AIR = make_air(rho=RHO)
M, S, C = 4.5, 0.60, 0.32
DELTA = 0.12
CMQ = -DELTA * 4.0 * M / (RHO * S * C)
# trimmed at V0, flown at V [m/s], static margin
KNIFE_EDGES = ((25.0, 25.0, 0.03), (25.0, 20.0, 0.05), (25.0, 30.0, 0.02), (20.0, 28.0, 0.05))
# trimmed at V0, flown at V [m/s], climb [deg]
LINES = ((25.0, 25.0, 90.0), (25.0, 30.0, 90.0), (25.0, 25.0, -90.0), (25.0, 30.0, -90.0))
#: Static margin: angle gained [deg] in 140 m of dive by an airplane trimmed at 28 m/s, worked by hand.
DIVES = {0.02: 14.0, 0.03: 20.0, 0.05: 29.0}
V_DIVE, DEPTH = 28.0, 140.0


def rate(V: float, V0: float, SM: float, cosines: float) -> float:
    """Turn toward the canopy [rad/s]."""
    return (G0 / V) * SM / (SM + DELTA) * ((V / V0) ** 2 - cosines)


def precision(SM: float, **more: float) -> np.void:
    """Aerobatic airplane of this static margin; side force enough for knife-edge, no roll or pitch by sideslip."""
    values: dict[str, float] = dict(
        CLa=4.6, CD0=0.03, Cma=-SM * 4.6, Cmq=CMQ, Cmde=-0.9, CYb=-1.5, Cnb=0.08, Cnr=-0.15, CYdr=0.1, Cndr=-0.1,
        Clp=-0.45, Clda=-0.3, ideal_thrust=80.0,
    )  # fmt: skip
    values.update(more)
    return plane_of(M, (0.28, 0.30, 0.55), S, 1.9, C, **values)


def _level_trim(plane: np.void, V0: float) -> None:
    """Put the level trim at V0 into the elevator trim of the record."""
    plane["elevator_trim"] = steady_of(plane, AIR, speed=V0).sticks["elevator"]


def _elevator(plane: np.void) -> float:
    """Where the trim leaves the elevator [rad], ISO 1151."""
    trimmed = plane["elevator_trim"]
    return float(-trimmed * (plane["elevator_up"] if trimmed > 0.0 else plane["elevator_down"]))


def _speed(x: np.ndarray) -> float:
    return float(np.linalg.norm(x[3:6]))


def _drift(
    plane: np.void, x: np.ndarray, targets: np.ndarray, frame: tuple[float, ...], wait: float, window: float
) -> tuple[float, float, float]:
    """Turn toward the canopy [rad/s] once the short period has died out; canopy angle and speed halfway."""
    states = [fly(plane, AIR, x, targets, time=wait, steps=round(wait / 0.005))]
    for _ in range(2):
        states.append(fly(plane, AIR, states[-1], targets, time=window / 2.0, steps=round(window / 0.01)))
    canopy = [path_errors(*frame, *y[6:10], *y[3:6])[0] for y in states]
    return (canopy[2] - canopy[0]) / window, canopy[1], _speed(states[1])


def _vertical(plane: np.void, V: float, climb: float) -> tuple[np.ndarray, np.ndarray, tuple[float, ...]]:
    """Start on a vertical line, elevator as trimmed, power off; state, targets and ideal frame."""
    frame = path_frame(0.0, climb, 0.0)
    x = state_of(u=V, elevator=_elevator(plane))
    x[6:10] = frame
    return x, targets_of(elevator=_elevator(plane)), frame


@cache
def knife_edge(V0: float, V: float, SM: float, side: float) -> tuple[float, float]:
    """Level knife-edge (cos phi = 0), rudder held, elevator left alone: flown, by the formula [deg/s]."""
    plane = precision(SM)
    _level_trim(plane, V0)
    knife = steady_of(plane, AIR, speed=V, bank=side * 90.0 * DEG)
    x, targets = knife.state.copy(), knife.targets.copy()
    targets[2] = x[15] = _elevator(plane)
    found, _, speed = _drift(plane, x, targets, path_frame(0.0, 0.0, side * 90.0 * DEG), 0.8, 0.4)
    return found / DEG, rate(speed, V0, SM, 0.0) / DEG


@cache
def vertical_line(V0: float, V: float, climb_deg: float) -> tuple[float, float, float]:
    """Up under power, down at the terminal speed: flown, by the formula [deg/s], speed [m/s].

    cos(gamma) cos(phi) of the few degrees gained is counted.
    """
    SM = 0.03
    weight = M * G0 / (0.5 * RHO * V**2 * S)
    plane = precision(SM)
    _level_trim(plane, V0)
    if climb_deg < 0.0:
        plane["CD0"] = weight
    x, targets, frame = _vertical(plane, V, climb_deg * DEG)
    if climb_deg > 0.0:
        targets[5] = (weight + plane["CD0"]) * 0.5 * RHO * V**2 * S / plane["ideal_thrust"]
    found, gained, speed = _drift(plane, x, targets, frame, 0.5, 0.2)
    return found / DEG, rate(speed, V0, SM, math.copysign(math.sin(gained), -climb_deg)) / DEG, speed


@cache
def dive(SM: float, CD0: float) -> tuple[float, float]:
    """Angle gained [deg], flown and by the whole formula integrated along the same flight."""
    plane = precision(SM, CD0=CD0)
    _level_trim(plane, V_DIVE)
    x, targets, frame = _vertical(plane, V_DIVE, -90.0 * DEG)
    angle = integral = 0.0
    while x[2] < DEPTH:
        integral += 0.02 * rate(_speed(x), V_DIVE, SM, math.sin(angle))
        x = fly(plane, AIR, x, targets, time=0.02, steps=4)
        angle = path_errors(*frame, *x[6:10], *x[3:6])[0]
    return angle / DEG, integral / DEG


def checks() -> list[Check]:
    """Knife-edge, vertical lines, power-off dives.

    The formula takes the speed that was flown, so the published side of these rows is worked out with it.
    """
    row = partial(Check, "Hands-off drift (common practice, no source; derived)", tag="practice")
    why = "the short period is not infinitely quick"
    rows = []
    for V0, V, SM in KNIFE_EDGES:
        for side, name in ((1.0, "right"), (-1.0, "left")):
            drift = partial(knife_edge, V0, V, SM, side)
            said = f"knife-edge, {name} wing down, {V:g} m/s, margin {100.0 * SM:g} %: over formula"
            rows.append(row(said, 1.0, lambda drift=drift: drift()[0] / drift()[1], share=0.03, why=why))
    for V0, V, climb in LINES:
        line = partial(vertical_line, V0, V, climb)
        said = f"vertical {'up' if climb > 0.0 else 'down'} at {V:g} m/s: over formula"
        rows.append(row(said, 1.0, lambda line=line: line()[0] / line()[1], share=0.03, why=why))
    for SM, worked in DIVES.items():
        for CD0 in (0.02, 0.04):
            said = f"dive of {DEPTH:g} m, margin {100.0 * SM:g} %, CD {CD0:g}"
            why_dive = "worked out without the drag and without the fading of cos gamma"
            find = partial(lambda SM, CD0: dive(SM, CD0)[0], SM, CD0)
            rows.append(row(said, worked, find, unit="deg", share=0.10, why=why_dive))
    for SM in (0.02, 0.05):
        for CD0 in (0.02, 0.06):
            said = f"dive, margin {100.0 * SM:g} %, CD {CD0:g}: over integral"
            why_lag = "it lags behind a turn that grows with its speed, by a tenth of a second"
            find = partial(lambda SM, CD0: dive(SM, CD0)[0] / dive(SM, CD0)[1], SM, CD0)
            rows.append(row(said, 1.0, find, share=0.06, why=why_lag))
    return rows

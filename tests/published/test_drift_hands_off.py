"""How the path of a trimmed airplane curves hands off: common practice, no source; derived.

Trimmed level at V0, flown hands off at V on a path of climb gamma and bank phi, an airplane of static
margin SM curves toward its canopy at

    (g/V) SM/(SM + Delta) [(V/V0)^2 - cos(gamma) cos(phi)],    Delta = -Cm_q rho S c/(4 m),

and in a power-off vertical dive gains the angle (g depth/V0^2) SM/(SM + Delta), whatever its drag.
"""

from __future__ import annotations

import math

import pytest
from support import DEG, agree, fly, plane_of, state_of, targets_of

from sixdof.flight.trim import trim
from sixdof.physics.air import G0, make_air
from sixdof.physics.frames import path_errors, path_frame

RHO = 1.225
AIR = make_air(rho=RHO)
M, S, C = 4.5, 0.60, 0.32
DELTA = 0.12
CMQ = -DELTA * 4.0 * M / (RHO * S * C)
DERIVED = "common practice, no source; derived"


def _plane(SM, **more):
    """Aerobatic airplane of this static margin; side force enough for knife-edge, no roll or pitch by sideslip."""
    values: dict[str, float] = dict(
        CLa=4.6, CD0=0.03, Cma=-SM * 4.6, Cmq=CMQ, Cmde=-0.9, CYb=-1.5, Cnb=0.08, Cnr=-0.15, CYdr=0.1, Cndr=-0.1,
        Clp=-0.45, Clda=-0.3, ideal_thrust=80.0,
    )  # fmt: skip
    values.update(more)
    return plane_of(M, (0.28, 0.30, 0.55), S, 1.9, C, **values)


def _level_trim(plane, V0):
    """Put the level trim at V0 into the elevator trim of the record."""
    level = trim(plane, AIR, speed=V0)
    assert level.converged, level
    plane["elevator_trim"] = level.sticks["elevator"]


def _elevator(plane):
    """Where the trim leaves the elevator [rad], ISO 1151."""
    trimmed = plane["elevator_trim"]
    return -trimmed * (plane["elevator_up"] if trimmed > 0.0 else plane["elevator_down"])


def _speed(x):
    return math.sqrt(x[3] ** 2 + x[4] ** 2 + x[5] ** 2)


def _drift(plane, x, targets, frame, wait, window):
    """Turn toward the canopy [rad/s] once the short period has died out; canopy angle and speed halfway."""
    states = [fly(plane, AIR, x, targets, time=wait, steps=round(wait / 0.005))]
    for _ in range(2):
        states.append(fly(plane, AIR, states[-1], targets, time=window / 2.0, steps=round(window / 0.01)))
    canopy = [path_errors(*frame, *y[6:10], *y[3:6])[0] for y in states]
    return (canopy[2] - canopy[0]) / window, canopy[1], _speed(states[1])


def _vertical(plane, V, climb):
    """Start on a vertical line, elevator as trimmed, power off; state, targets and ideal frame."""
    frame = path_frame(0.0, climb, 0.0)
    x = state_of(u=V, elevator=_elevator(plane))
    x[6:10] = frame
    return x, targets_of(elevator=_elevator(plane)), frame


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize(
    ("V0", "V", "SM"), [(25.0, 25.0, 0.03), (25.0, 20.0, 0.05), (25.0, 30.0, 0.02), (20.0, 28.0, 0.05)]
)
def test_knife_edge_drift(V0, V, SM, side):
    """Level knife-edge (cos phi = 0), rudder held, elevator left alone: (g/V) SM/(SM+Delta) (V/V0)^2, 3 %."""
    plane = _plane(SM)
    _level_trim(plane, V0)
    knife = trim(plane, AIR, speed=V, bank=side * 90.0 * DEG)
    assert knife.converged, knife
    targets = knife.targets.copy()
    x = knife.state.copy()
    targets[2] = x[15] = _elevator(plane)
    found, _, speed = _drift(plane, x, targets, path_frame(0.0, 0.0, side * 90.0 * DEG), 0.8, 0.4)
    formula = (G0 / speed) * SM / (SM + DELTA) * (speed / V0) ** 2
    agree("toward canopy [deg/s]", found / DEG, formula / DEG, share=0.03, source=DERIVED)


def test_knife_edge_drift_worked():
    """V = V0 = 25 m/s, SM 3 %, Delta .12: 4.5 deg/s."""
    agree("deg/s", (G0 / 25.0) * 0.03 / 0.15 / DEG, 4.5, within=0.05, source=DERIVED)


@pytest.mark.parametrize(
    ("V0", "V", "climb_deg"),
    [(25.0, 25.0, 90.0), (25.0, 30.0, 90.0), (25.0, 25.0, -90.0), (25.0, 30.0, -90.0)],
)
def test_vertical_line_drift(V0, V, climb_deg):
    """Vertical lines at steady speed, up under power and down at the terminal speed, 3 %.

    cos(gamma) cos(phi) of the few degrees gained is counted.
    """
    SM = 0.03
    weight = M * G0 / (0.5 * RHO * V**2 * S)
    plane = _plane(SM)
    _level_trim(plane, V0)
    if climb_deg < 0.0:
        plane["CD0"] = weight
    x, targets, frame = _vertical(plane, V, climb_deg * DEG)
    if climb_deg > 0.0:
        targets[5] = (weight + plane["CD0"]) * 0.5 * RHO * V**2 * S / plane["ideal_thrust"]
    found, gained, speed = _drift(plane, x, targets, frame, 0.5, 0.2)
    agree("steady speed", speed, V, share=0.01)
    cosines = math.copysign(math.sin(gained), -climb_deg)
    formula = (G0 / speed) * SM / (SM + DELTA) * ((speed / V0) ** 2 - cosines)
    agree("toward canopy [deg/s]", found / DEG, formula / DEG, share=0.03, source=DERIVED)


def _dive(SM, CD0, V0, depth):
    """Angle gained [rad] over this depth, flown and by the whole formula integrated along the same flight."""
    plane = _plane(SM, CD0=CD0)
    _level_trim(plane, V0)
    x, targets, frame = _vertical(plane, V0, -90.0 * DEG)
    angle = integral = 0.0
    while x[2] < depth:
        V = _speed(x)
        integral += 0.02 * (G0 / V) * SM / (SM + DELTA) * ((V / V0) ** 2 - math.sin(angle))
        x = fly(plane, AIR, x, targets, time=0.02, steps=4)
        angle = path_errors(*frame, *x[6:10], *x[3:6])[0]
    return angle, integral


@pytest.mark.parametrize("CD0", [0.02, 0.04])
@pytest.mark.parametrize(("SM", "worked"), [(0.02, 14.0), (0.03, 20.0), (0.05, 29.0)])
def test_power_off_dive_angle(SM, worked, CD0):
    """140 m down, trimmed at 28 m/s (the speed that the worked angles belong to): 14, 20, 29 deg, 10 %."""
    V0, depth = 28.0, 140.0
    agree(
        "by the formula [deg]",
        G0 * depth / V0**2 * SM / (SM + DELTA) / DEG,
        worked,
        within=0.6,
        source=DERIVED,
    )
    found, _ = _dive(SM, CD0, V0, depth)
    agree("toward canopy [deg]", found / DEG, worked, share=0.10, source=DERIVED)


@pytest.mark.parametrize("CD0", [0.02, 0.06])
@pytest.mark.parametrize("SM", [0.02, 0.05])
def test_power_off_dive_integrated(SM, CD0):
    """The whole bracket integrated along the flight: why much drag (slow, so more cos gamma) gains less.

    6 %: the airplane lags behind a turn that grows with its speed, by about a tenth of a second.
    """
    found, whole = _dive(SM, CD0, 28.0, 140.0)
    agree("toward canopy [deg]", found / DEG, whole / DEG, share=0.06, source=DERIVED)

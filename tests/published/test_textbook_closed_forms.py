"""Closed forms of flight mechanics (any textbook; from memory), every number computed independently."""

from __future__ import annotations

import math

import numpy as np
import pytest
from support import DEG, FOOT, SLUG, agree, attitude, fly, plane_of, rates_of, state_of, targets_of, velocity

from sixdof.flight.linear import linearize, modes
from sixdof.flight.trim import trim
from sixdof.physics.aero import aerodynamics
from sixdof.physics.air import G0, make_air

RHO = 1.225  # kg/m3
AIR = make_air(rho=RHO)
BOOK = "closed form, textbook, from memory; number computed"


def _sphere():
    """NASA/TM-2015-218675 sphere, Vol. II p. 12 (read): 1 slug, 0.1963495 ft2, CD 0.1."""
    return plane_of(SLUG, [3.6 * SLUG * FOOT**2] * 3, 0.1963495 * FOOT**2, FOOT, FOOT, CD0=0.1)


@pytest.mark.parametrize(
    ("t", "speed", "fallen"), [(10.0, 95.68380, 484.31704), (30.0, 241.99995, 3990.47242)]
)
def test_fall_with_quadratic_drag(t, speed, fallen):
    """v = vt tanh(g t/vt), depth (vt^2/g) ln cosh(g t/vt); vt 357.90120 m/s."""
    plane = _sphere()
    vt = math.sqrt(2.0 * plane["mass"] * G0 / (RHO * plane["S"] * 0.1))
    agree("terminal speed", vt, 357.90120, within=5e-6, source=BOOK)
    x = fly(plane, AIR, state_of(), targets_of(), time=t, steps=2000)
    agree(f"speed at {t} s", velocity(x)[2], speed, within=1e-5, source=BOOK)
    agree(f"fall in {t} s", x[2], fallen, within=1e-5, source=BOOK)


def test_thrown_up_with_quadratic_drag():
    """Apex at (vt/g) atan(v0/vt), height (vt^2/2g) ln(1 + v0^2/vt^2); v0 100 m/s."""
    x = fly(_sphere(), AIR, state_of(w=-100.0), targets_of(), time=9.943580, steps=2000)
    agree("speed at the apex", velocity(x)[2], 0.0, within=1e-5, source=BOOK)
    agree("height of the apex", -x[2], 490.934985, within=1e-5, source=BOOK)


@pytest.mark.parametrize("direction", [(1.0, 0.0, 0.0), (0.6, 0.0, 0.8), (0.6, -0.64, 0.48)])
def test_coasting_under_drag_alone(direction):
    """v = v0/(1 + k v0 t), way ln(1 + k v0 t)/k, k = rho S CD/2m, whichever side meets the air."""
    v0, t, plane = 100.0, 20.0, _sphere()
    plane["CD0"] = 5.0
    k = RHO * plane["S"] * plane["CD0"] / (2.0 * plane["mass"])
    u, v, w = (v0 * part for part in direction)
    x = fly(plane, make_air(rho=RHO, g=0.0), state_of(u=u, v=v, w=w), targets_of(), time=t, steps=2000)
    agree("speed", np.linalg.norm(x[3:6]), v0 / (1.0 + k * v0 * t), share=1e-8, source=BOOK)
    agree("way", np.linalg.norm(x[:3]), math.log(1.0 + k * v0 * t) / k, share=1e-8, source=BOOK)


def test_parabola():
    """Without air a thrown body flies a parabola; Runge-Kutta is exact on it."""
    plane = plane_of(2.0, (1.0, 2.0, 3.0), 1.0, 1.0, 1.0)
    x = fly(plane, make_air(), state_of(u=30.0, v=4.0, w=-20.0), targets_of(), time=4.0, steps=40)
    for name, found, value in zip(
        ("north", "east", "down"), x, (120.0, 16.0, 0.5 * G0 * 16.0 - 80.0), strict=False
    ):
        agree(name, found, value, within=1e-10, source=BOOK)


def test_constant_rates_turn():
    """Constant 10, 20, 30 deg/s for 30 s from level: roll 17.92530217, pitch 17.74663279, yaw 37.45322080 deg."""
    plane = plane_of(1.0, (1.0, 1.0, 1.0), 1.0, 1.0, 1.0)
    x = fly(
        plane, make_air(), state_of(p=10 * DEG, q=20 * DEG, r=30 * DEG), targets_of(), time=30.0, steps=6000
    )
    yaw, pitch, roll = attitude(x).as_euler("ZYX", degrees=True)
    for name, found, value in (
        ("roll", roll, 17.92530217),
        ("pitch", pitch, 17.74663279),
        ("yaw", yaw, 37.45322080),
    ):
        agree(f"{name} [deg]", found, value, within=1e-7, source=BOOK)


def test_axisymmetric_top():
    """A 1, C 1.5, w3 2, w_perp .5: cone 1.0 rad/s in the body, 3.04138 rad/s about H, 9.46232 deg."""
    plane = plane_of(1.0, (1.0, 1.0, 1.5), 1.0, 1.0, 1.0)
    x0 = state_of(p=0.5, r=2.0)
    t = math.pi / 2.0  # a quarter turn in the body
    x = fly(plane, make_air(), x0, targets_of(), time=t, steps=2000)
    agree("p after a quarter turn", x[10], 0.0, within=1e-9, source=BOOK)
    agree("q after a quarter turn", x[11], 0.5, within=1e-9, source=BOOK)
    agree("r stays", x[12], 2.0, within=1e-12, source=BOOK)
    H = np.array([0.5, 0.0, 3.0])
    axis0, axis = np.array([0.0, 0.0, 1.0]), attitude(x).apply([0.0, 0.0, 1.0])
    unit = H / np.linalg.norm(H)
    agree("tilt [deg]", math.degrees(math.acos(axis @ unit)), 9.46232, within=5e-6, source=BOOK)
    a, b = axis0 - (axis0 @ unit) * unit, axis - (axis @ unit) * unit
    turned = math.atan2(np.cross(a, b) @ unit, a @ b) % (2.0 * math.pi)
    agree("turn of the axis about H [rad/s]", turned / t, 3.04138, within=5e-6, source=BOOK)


def test_intermediate_axis_growth():
    """NASA brick about its middle axis: a disturbance grows by 0.558187 a radian turned."""
    A, B, C = 0.001894220, 0.006211019, 0.007194665
    agree("growth", math.sqrt((B - A) * (C - B) / (A * C)), 0.558187, within=5e-7, source=BOOK)
    plane = plane_of(1.0, (A, B, C), 1.0, 1.0, 1.0)
    ratio = math.sqrt(C * (C - B) / (A * (B - A)))  # p over r in the growing mode
    x = fly(plane, make_air(), state_of(p=1e-6 * ratio, q=1.0, r=-1e-6), targets_of(), time=4.0, steps=800)
    y = fly(plane, make_air(), state_of(p=1e-6 * ratio, q=1.0, r=1e-6), targets_of(), time=4.0, steps=800)
    growth = math.log(max(abs(x[12]), abs(y[12])) / 1e-6) / 4.0
    agree("growth flown", growth, 0.558187, share=1e-5, source=BOOK)


def _glider(**more):
    """A plain stable airplane of model size with a parabolic polar."""
    values: dict[str, float] = dict(
        CL0=0.2, CLa=4.5, CD0=0.03, CDk=0.05, Cm0=0.02, Cma=-0.6, Cmq=-10.0, Cmde=-0.9,
        CYb=-0.5, CYdr=0.2, Clb=-0.05, Clp=-0.45, Clr=0.1, Clda=-0.2, Cnb=0.07, Cnr=-0.12, Cndr=-0.08,
        ideal_thrust=60.0,
    )  # fmt: skip
    values.update(more)
    return plane_of(2.5, (0.08, 0.10, 0.17, 0.01), 0.40, 1.5, 0.27, **values)


def test_level_turn():
    """V 20, 45 deg: R 40.78865 m, psi' .4903325 rad/s; p, q, r by attitude; load along the canopy W/cos."""
    V, bank = 20.0, 45.0 * DEG
    turn = G0 * math.tan(bank) / V
    agree("psi'", turn, 0.4903325, within=5e-8, source=BOOK)
    plane = _glider()
    steady = trim(plane, AIR, speed=V, bank=bank, turn=turn)
    assert steady.converged, steady
    x, targets = steady.state, steady.targets
    _, theta, phi = attitude(x).as_euler("ZYX")
    for name, found, value in zip(
        "pqr",
        x[10:13],
        (
            -turn * math.sin(theta),
            turn * math.cos(theta) * math.sin(phi),
            turn * math.cos(theta) * math.cos(phi),
        ),
        strict=True,
    ):
        agree(name, found, value, within=1e-12, source=BOOK)
    T = 2.0 * math.pi / turn
    half = fly(plane, AIR, x, targets, time=T / 2.0, steps=2000)
    agree(
        "diameter flown", math.hypot(half[0] - x[0], half[1] - x[1]), 2.0 * 40.78865, within=1e-4, source=BOOK
    )
    agree("height kept", half[2], x[2], within=1e-4, source=BOOK)
    # specific force of the steady turn, on the path frame (bank about the path): W/cos(bank) up the canopy
    rates = rates_of(plane, AIR, x, targets)
    gravity = attitude(x).inv().apply([0.0, 0.0, G0])
    force = rates[3:6] + np.cross(x[10:13], x[3:6]) - gravity
    world = attitude(x).apply(force)
    agree("load factor", np.linalg.norm(world) / G0, 1.0 / math.cos(bank), within=1e-9, source=BOOK)
    agree("load toward the turn", world[1] / G0, math.tan(bank), within=1e-9, source=BOOK)


def test_glide():
    """tan(gamma) = CD/CL; best (L/D) = .5 sqrt(pi e AR/CD0) at CL = sqrt(pi e AR CD0), k = 1/(pi e AR)."""
    k, CD0 = 0.05, 0.03
    CL, best = math.sqrt(CD0 / k), 0.5 / math.sqrt(k * CD0)
    plane = _glider()
    gamma = math.atan(1.0 / best)
    V = math.sqrt(2.0 * plane["mass"] * G0 * math.cos(gamma) / (RHO * plane["S"] * CL))
    slopes = [math.tan(-trim(plane, AIR, speed=V * f, throttle=0.0).climb) for f in (0.95, 1.0, 1.05)]
    agree("glide slope at best speed", slopes[1], 1.0 / best, share=1e-6, source=BOOK)
    assert slopes[0] > slopes[1] < slopes[2], slopes


def test_vertical_dive():
    """Lift-free: v toward vt tanh(g t/vt) with CD0 alone, straight down, and stays straight."""
    plane = _glider(CL0=0.0, Cm0=0.0)
    vt = math.sqrt(2.0 * plane["mass"] * G0 / (RHO * plane["S"] * plane["CD0"]))
    x = fly(plane, AIR, state_of(euler=(0.0, -90.0 * DEG, 0.0)), targets_of(), time=8.0, steps=1600)
    agree("speed at 8 s", x[3], vt * math.tanh(G0 * 8.0 / vt), share=1e-8, source=BOOK)
    x = fly(plane, AIR, x, targets_of(), time=60.0, steps=12000)
    agree("terminal speed", x[3], vt, share=1e-6, source=BOOK)
    agree("straight down", math.hypot(x[0], x[1]), 0.0, within=1e-6, source=BOOK)


@pytest.mark.parametrize("gamma_deg", [20.0, 45.0, 60.0])
def test_straight_dive(gamma_deg):
    """Power off on a line: V = sqrt(2 W sin(gamma)/(rho S CD)), CD at the lift that remains."""
    plane = _glider(CDk=0.0)
    V = math.sqrt(2.0 * plane["mass"] * G0 * math.sin(gamma_deg * DEG) / (RHO * plane["S"] * plane["CD0"]))
    steady = trim(plane, AIR, speed=V, throttle=0.0)
    assert steady.converged, steady
    agree("dive angle [deg]", -steady.climb / DEG, gamma_deg, within=1e-6, source=BOOK)


def test_roll_pole_and_steady_roll():
    """Pole rho V S b^2 Clp/(4 Ix); steady p = -(Clda/Clp)(2V/b) da; approach exponential."""
    V, da = 20.0, 5.0 * DEG
    plane = plane_of(2.5, (0.08, 0.10, 0.17), 0.40, 1.5, 0.27, Clp=-0.45, Clda=-0.2)
    air = make_air(rho=RHO, g=0.0)
    pole = RHO * V * 0.40 * 1.5**2 * -0.45 / (4.0 * 0.08)
    p = -(-0.2 / -0.45) * (2.0 * V / 1.5) * da
    surfaces = dict(aileron_right=da, aileron_left=-da)
    for t in (0.05, 0.1, 1.0):
        x = fly(plane, air, state_of(u=V, **surfaces), targets_of(**surfaces), time=t, steps=400)
        agree(f"roll rate at {t} s", x[10], p * (1.0 - math.exp(pole * t)), share=1e-7, source=BOOK)
    plane = _glider()
    linear = linearize(plane, AIR, trim(plane, AIR, speed=V))
    Ix, Iz, Ixz = 0.08, 0.17, 0.01
    L, N = RHO * V * 0.40 * 1.5**2 / 4.0 * np.array([-0.45, 0.0])
    agree("L'_p with Ixz", linear.A[5, 5], (Iz * L + Ixz * N) / (Ix * Iz - Ixz**2), share=1e-6, source=BOOK)


@pytest.mark.parametrize(("V", "period"), [(15.0, 6.7957), (20.0, 9.0610), (25.0, 11.3262)])
def test_lanchester_phugoid(V, period):
    """Lanchester's limit (stiff in pitch, hardly any drag): T = pi sqrt(2) V/g; damping CD/(sqrt2 CL)."""
    W, S = 2.5 * G0, 0.40
    CL = 2.0 * W / (RHO * V**2 * S)
    CD = 0.01 * CL
    plane = _glider(CL0=CL, CLa=4.5, CD0=CD, CDk=0.0, Cm0=0.0, Cma=-60.0, Cmq=-20.0)
    found = modes(linearize(plane, AIR, trim(plane, AIR, speed=V)))["phugoid"]
    agree("period [s]", 2.0 * math.pi / abs(found), period, share=0.01, source=BOOK + ", Lanchester 1908")
    agree("damping ratio", -found.real / abs(found), CD / (math.sqrt(2.0) * CL), share=0.1, source=BOOK)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_knife_edge_balance(side):
    """Level, bank 90: Y cos(beta) + T sin(beta) carries the weight; Y from the kernel at the trim found."""
    plane = _glider(CL0=0.0, Cm0=0.0, Clb=0.0, CD0=0.06, CYb=-0.9, Cnb=0.08, Cndr=-0.16)
    V, W = 20.0, 2.5 * G0
    steady = trim(plane, AIR, speed=V, bank=90.0 * DEG * side)
    assert steady.converged, steady
    beta, dr = steady.beta, steady.targets[3]
    assert beta * side > 0.0, "right wing down, nose up: the air comes from the right"
    assert steady.sticks["rudder"] * side < 0.0, "top rudder: left with the right wing down"
    u, v, w = steady.state[3:6]
    forces = aerodynamics(plane, RHO, u, v, w, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, dr, 0.0, 0.0, 0.0)
    qS = 0.5 * RHO * V**2 * plane["S"]
    Y = forces[1] + qS * plane["CD0"] * math.sin(beta)  # the side force without the drag in it
    T = steady.sticks["throttle"] * plane["ideal_thrust"]
    agree("Y", Y, qS * (plane["CYb"] * beta + plane["CYdr"] * dr), share=1e-9, source=BOOK)
    agree(
        "upward force [N]", -side * Y * math.cos(beta) + T * math.sin(side * beta), W, share=1e-7, source=BOOK
    )
    # the handbook estimate, small angles: |beta| about (W + rudder force)/(q S |CYb| + T)
    rough = (W + qS * plane["CYdr"] * abs(dr)) / (qS * abs(plane["CYb"]) + T)
    agree("beta [rad]", abs(beta), rough, share=0.10, source=BOOK)


@pytest.mark.parametrize(
    ("loading", "V", "CY"),
    [
        (50.0, 15.0, 0.36),
        (50.0, 20.0, 0.20),
        (50.0, 25.0, 0.13),
        (80.0, 15.0, 0.58),
        (80.0, 20.0, 0.33),
        (80.0, 25.0, 0.21),
    ],
)
def test_knife_edge_needed_side_force(loading, V, CY):
    """Needed CY = (W/S)/q, two printed digits (computed): the trim finds it.

    Side force stands along body y, so it also holds the airplane back by Y sin(beta); the thrust
    that this takes carries T sin(beta), and both together are Y/cos(beta).
    """
    plane = _glider(CL0=0.0, Cm0=0.0, Clb=0.0, CD0=0.0, CDk=0.0, CYb=-3.0, Cnb=0.08, Cndr=-0.16, CYdr=0.0)
    plane["mass"] = loading * plane["S"] / G0
    steady = trim(plane, AIR, speed=V, bank=90.0 * DEG)
    assert steady.converged, steady
    agree("CY", 3.0 * steady.beta / math.cos(steady.beta), CY, within=0.005, source="computed from W/S and V")

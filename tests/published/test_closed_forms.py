"""Closed forms of flight mechanics beyond their numbers: ``sixdof/validation/closed_forms.py``."""

from __future__ import annotations

import math

import numpy as np
import pytest
from support import DEG, agree, attitude, fly, plane_of, rates_of, state_of, targets_of

from sixdof.flight.linear import linearize
from sixdof.flight.trim import trim
from sixdof.physics.aero import aerodynamics
from sixdof.physics.air import G0, make_air
from sixdof.validation.closed_forms import (
    AIR,
    GROWTH,
    RHO,
    TERMINAL,
    TURN,
    glider,
    level_turn,
    turning_top,
)
from sixdof.validation.murri_2015 import sphere

BOOK = "closed form, textbook, from memory; number computed"


def test_terminal_speed():
    """vt = sqrt(2 m g/(rho S CD))."""
    plane = sphere(0.1)
    vt = math.sqrt(2.0 * plane["mass"] * G0 / (RHO * plane["S"] * 0.1))
    agree("terminal speed", vt, TERMINAL, within=5e-6, source=BOOK)


@pytest.mark.parametrize("direction", [(1.0, 0.0, 0.0), (0.6, 0.0, 0.8), (0.6, -0.64, 0.48)])
def test_coasting_under_drag_alone(direction):
    """v = v0/(1 + k v0 t), way ln(1 + k v0 t)/k, k = rho S CD/2m, whichever side meets the air."""
    v0, t, plane = 100.0, 20.0, sphere(0.1)
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


def test_axisymmetric_top():
    """After a quarter turn in the body."""
    x, _ = turning_top()
    agree("p after a quarter turn", x[10], 0.0, within=1e-9, source=BOOK)
    agree("q after a quarter turn", x[11], 0.5, within=1e-9, source=BOOK)
    agree("r stays", x[12], 2.0, within=1e-12, source=BOOK)


def test_intermediate_axis_growth_by_hand():
    """NASA's brick, inertia in slug ft2."""
    A, B, C = 0.001894220, 0.006211019, 0.007194665
    agree("growth", math.sqrt((B - A) * (C - B) / (A * C)), GROWTH, within=5e-7, source=BOOK)


def test_level_turn():
    """p, q, r by attitude; height kept; load along the canopy W/cos."""
    plane, steady = level_turn()
    x, targets = steady.state, steady.targets
    _, theta, phi = attitude(x).as_euler("ZYX")
    by_attitude = (-math.sin(theta), math.cos(theta) * math.sin(phi), math.cos(theta) * math.cos(phi))
    turn = G0 * math.tan(45.0 * DEG) / 20.0
    agree("psi'", turn, TURN, within=5e-8, source=BOOK)
    for name, found, value in zip("pqr", x[10:13], by_attitude, strict=True):
        agree(name, found, turn * value, within=1e-12, source=BOOK)
    half = fly(plane, AIR, x, targets, time=math.pi / turn, steps=2000)
    agree("height kept", half[2], x[2], within=1e-4, source=BOOK)
    # specific force of the steady turn, on the path frame (bank about the path): W/cos(bank) up the canopy
    rates = rates_of(plane, AIR, x, targets)
    gravity = attitude(x).inv().apply([0.0, 0.0, G0])
    force = rates[3:6] + np.cross(x[10:13], x[3:6]) - gravity
    world = attitude(x).apply(force)
    agree("load factor", np.linalg.norm(world) / G0, math.sqrt(2.0), within=1e-9, source=BOOK)
    agree("load toward the turn", world[1] / G0, 1.0, within=1e-9, source=BOOK)


def test_flattest_glide():
    """At CL = sqrt(CD0/k), slower and faster are steeper."""
    k, CD0 = 0.05, 0.03
    V = math.sqrt(
        2.0 * 2.5 * G0 * math.cos(math.atan(2.0 * math.sqrt(k * CD0))) / (RHO * 0.40 * math.sqrt(CD0 / k))
    )
    slopes = [math.tan(-trim(glider(), AIR, speed=V * f, throttle=0.0).climb) for f in (0.95, 1.0, 1.05)]
    assert slopes[0] > slopes[1] < slopes[2], slopes


def test_vertical_dive_stays_straight():
    plane = glider(CL0=0.0, Cm0=0.0)
    x = fly(plane, AIR, state_of(euler=(0.0, -90.0 * DEG, 0.0)), targets_of(), time=68.0, steps=13600)
    agree("straight down", math.hypot(x[0], x[1]), 0.0, within=1e-6, source=BOOK)


def test_roll_pole_with_product_of_inertia():
    """rho V S b^2 Clp/(4 Ix), by the primed inertias."""
    V, plane = 20.0, glider()
    linear = linearize(plane, AIR, trim(plane, AIR, speed=V))
    Ix, Iz, Ixz = 0.08, 0.17, 0.01
    L, N = RHO * V * 0.40 * 1.5**2 / 4.0 * np.array([-0.45, 0.0])
    agree("L'_p with Ixz", linear.A[5, 5], (Iz * L + Ixz * N) / (Ix * Iz - Ixz**2), share=1e-6, source=BOOK)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_knife_edge_balance(side):
    """Level, bank 90: Y cos(beta) + T sin(beta) carries the weight; Y from the kernel at the trim found."""
    plane = glider(CL0=0.0, Cm0=0.0, Clb=0.0, CD0=0.06, CYb=-0.9, Cnb=0.08, Cndr=-0.16)
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

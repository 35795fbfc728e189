"""Steady flight and small motions: nothing accelerates, and the attitude is the one asked for."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import DEG, agree, attitude, fly, plane_of, rates_of, state_of, velocity

from sixdof.flight.linear import linearize, modes
from sixdof.flight.trim import trim
from sixdof.physics.air import G0, make_air
from sixdof.physics.frames import path_errors, path_frame
from sixdof.physics.record import PROP_POINTS

AIR = make_air(rho=1.2)


def model(**more):
    """Two-meter aerobatic airplane, propeller with motor, a little out of true."""
    values = dict(
        CL0=0.02, CLa=4.6, CLq=5.0, CLad=1.5, CLde=0.35, CD0=0.035, CDk=0.06, CDb2=0.4, Cm0=0.003, Cma=-0.15, Cmq=-9.0,
        Cmad=-3.0, Cmde=-1.0, Cmb2=-0.1, CYb=-0.75, CYb3=-0.8, CYr=0.2, CYdr=0.25, Clb=-0.02, Clp=-0.42, Clr=0.05, Clda=-0.35,
        Cldr=0.01, Cn0=0.0005, Cnb=0.09, Cnp=-0.02, Cnr=-0.15, Cnda=0.005, Cndr=-0.12,
        prop_D=0.52, prop_pitch=0.33, prop_inertia=1.8e-3, prop_x=0.65, motor_stiffness=0.03, motor_no_load=770.0,
        immersion_fin=0.6, immersion_tailplane=0.5, tail_arm=0.85, fin_arm=0.85,
    )  # fmt: skip
    values.update(more)
    plane = plane_of(4.7, (0.28, 0.62, 0.86, 0.01), 0.60, 1.9, 0.32, **values)
    s = np.linspace(0.0, 1.0, PROP_POINTS)
    J = np.minimum(s / np.sqrt(np.maximum(1.0 - s**2, 1e-12)), 1.0)
    share = 1.0 / (1.0 + J**2)
    plane["ct"], plane["cq"] = (
        0.11 * (1.0 - (J / 0.78) ** 1.65) * share,
        0.0078 * (1.0 - (J / 0.88) ** 3) * share,
    )
    return plane


def _check(plane, steady, *, turn=0.0):
    """Residuals zero, path and canopy as asked, no body rate but the turn."""
    assert steady.converged, steady
    x = steady.state
    rates = rates_of(plane, AIR, x, steady.targets)
    assert np.max(np.abs(rates[3:6])) < 1e-8 and np.max(np.abs(rates[10:13])) < 1e-8, rates
    assert np.max(np.abs(rates[13:18])) < 1e-12 and abs(rates[18]) < 1e-6, (
        "surfaces and propeller stand still"
    )
    errors = path_errors(*path_frame(0.0, steady.climb, steady.bank), *x[6:10], *x[3:6])
    np.testing.assert_allclose(errors, 0.0, atol=1e-9, err_msg="path and canopy")
    agree("climb", math.asin(-velocity(x)[2] / steady.speed), steady.climb, within=1e-9)
    agree("heading", velocity(x)[1], 0.0, within=1e-9)
    agree("alpha", math.atan2(x[5], x[3]), steady.alpha, within=1e-12)
    agree("beta", math.asin(x[4] / steady.speed), steady.beta, within=1e-12)
    np.testing.assert_allclose(attitude(x).apply(x[10:13]), [0.0, 0.0, turn], atol=1e-12)
    assert abs(np.linalg.norm(x[6:10]) - 1.0) < 1e-12


@settings(max_examples=25, deadline=None)
@given(st.floats(18.0, 30.0), st.floats(-8.0, 15.0), st.floats(-40.0, 40.0))
def test_climbing_and_banked(speed, climb_deg, bank_deg):
    """Straight flight, canopy a little out of the vertical: slips as it must.

    Not steeper than idle power can hold: below that there is no steady flight to find.
    """
    plane = model()
    _check(plane, trim(plane, AIR, speed=speed, climb=climb_deg * DEG, bank=bank_deg * DEG))


@pytest.mark.parametrize("bank_deg", [0.0, 90.0, -90.0, 180.0, 80.0, -100.0])
def test_upright_knife_edge_inverted(bank_deg):
    plane = model()
    steady = trim(plane, AIR, speed=25.0, bank=bank_deg * DEG)
    _check(plane, steady)
    assert steady.reachable, steady.sticks
    if abs(bank_deg) == 90.0:
        assert steady.sticks["rudder"] * bank_deg < 0.0, "top rudder: left with the right wing down"
        assert steady.beta * bank_deg > 0.0, "nose above the path"
        assert steady.sticks["elevator"] > trim(plane, AIR, speed=25.0).sticks["elevator"] - 0.5
    if bank_deg == 180.0:
        assert steady.alpha < 0.0, "inverted, the wing lifts toward the belly"
        assert steady.sticks["elevator"] < 0.0, "and the pilot pushes"


@pytest.mark.parametrize("bank_deg", [30.0, -30.0, 60.0, -75.0])
def test_level_turn(bank_deg):
    plane = model()
    turn = G0 * math.tan(bank_deg * DEG) / 25.0
    steady = trim(plane, AIR, speed=25.0, bank=bank_deg * DEG, turn=turn)
    _check(plane, steady, turn=turn)


def test_trimmed_state_flies_on_as_it_is():
    """Five seconds hands off from the trim: nothing has moved but the place."""
    plane = model()
    steady = trim(plane, AIR, speed=25.0)
    y = fly(plane, AIR, steady.state, steady.targets, time=2.0, steps=400)
    np.testing.assert_allclose(y[3:], steady.state[3:], atol=1e-5)
    np.testing.assert_allclose(y[:3], [50.0, 0.0, -100.0], atol=1e-4)


def test_trims_and_sticks_add_up():
    """What the trim levers give the sticks need not; the surfaces are the same."""
    plane = model()
    bare = trim(plane, AIR, speed=25.0)
    for channel in ("aileron", "elevator", "rudder"):
        plane[f"{channel}_trim"] = bare.sticks[channel]
    hands_off = trim(plane, AIR, speed=25.0)
    np.testing.assert_allclose(
        [hands_off.sticks[c] for c in ("aileron", "elevator", "rudder")], 0.0, atol=1e-7
    )
    np.testing.assert_allclose(hands_off.targets, bare.targets, atol=1e-7)


def test_given_throttle_finds_the_climb():
    """The climb found with the throttle of a climb is that climb; idle glides down."""
    plane = model()
    climbing = trim(plane, AIR, speed=22.0, climb=0.2)
    again = trim(plane, AIR, speed=22.0, throttle=climbing.sticks["throttle"])
    _check(plane, again)
    agree("climb", again.climb, 0.2, within=1e-7)
    assert trim(plane, AIR, speed=22.0, throttle=0.0).climb < -0.02


def test_flap_is_in_the_trim():
    plane = model(CLdf=0.6, Cmdf=-0.05, CDdf=0.1, flap_down=0.5)
    clean, flapped = trim(plane, AIR, speed=20.0), trim(plane, AIR, speed=20.0, flap=1.0)
    _check(plane, flapped)
    assert flapped.targets[4] == 0.5 and flapped.alpha < clean.alpha
    assert flapped.sticks["elevator"] > clean.sticks["elevator"], "flap lowers this nose: more up"


def test_out_of_reach_is_said():
    """Too slow to fly, or too fast for the motor: solved or not, never called reachable."""
    assert trim(model(), AIR, speed=70.0).reachable is False
    weak = model(prop_D=0.0, ideal_thrust=10.0, alpha_stall=0.24, alpha_plate=0.5)
    assert trim(weak, AIR, speed=15.0).reachable is True
    assert trim(weak, AIR, speed=6.0).reachable is False


def test_mirrored_trim():
    """A straight airplane with its propeller turning the other way: the mirror image, bank for bank."""
    right, left = model(Cn0=0.0), model(Cn0=0.0)
    left["prop_turn"] = -1.0
    a, b = trim(right, AIR, speed=25.0, bank=90.0 * DEG), trim(left, AIR, speed=25.0, bank=-90.0 * DEG)
    for name in ("aileron", "rudder"):
        agree(name, b.sticks[name], -a.sticks[name], within=1e-8)
    for name in ("elevator", "throttle"):
        agree(name, b.sticks[name], a.sticks[name], within=1e-8)
    agree("beta", b.beta, -a.beta, within=1e-9)


def test_linear_model_predicts_a_small_motion():
    """A nudged airplane moves as exp(A t) says, all eight states, for half a second."""
    plane = model(prop_D=0.0, ideal_thrust=90.0, motor_no_load=0.0, motor_stiffness=0.0, Cn0=0.0)
    steady = trim(plane, AIR, speed=25.0)
    linear = linearize(plane, AIR, steady)
    z0 = np.array([0.02, 0.03, 0.01, 0.002, 0.03, 0.02, 0.01, 0.003])
    values, vectors = np.linalg.eig(linear.A)
    z = (vectors @ (np.exp(values * 0.5) * np.linalg.solve(vectors, z0))).real
    x = steady.state.copy()
    _, theta, _ = attitude(x).as_euler("ZYX")
    x[[3, 5, 11]] += z0[:3]
    x[[4, 10, 12]] += z0[4:7]
    x[6:10] = state_of(euler=(z0[7], theta + z0[3], 0.0))[6:10]
    y = fly(plane, AIR, x, steady.targets, time=0.5, steps=200)
    _, pitch, roll = attitude(y).as_euler("ZYX")
    found = np.array([*(y - steady.state)[[3, 5, 11]], pitch - theta, *(y - steady.state)[[4, 10, 12]], roll])
    np.testing.assert_allclose(found, z, atol=2e-4)


def test_input_matrix_signs():
    """Per rad of ISO deflection: aileron rolls left, elevator pitches down, rudder yaws left; power pushes on."""
    plane = model()
    B = linearize(plane, AIR, trim(plane, AIR, speed=25.0)).B
    assert B[5, 0] < 0.0 and B[2, 1] < 0.0 and B[6, 2] < 0.0
    plane = model(prop_D=0.0, ideal_thrust=47.0)
    B = linearize(plane, AIR, trim(plane, AIR, speed=25.0)).B
    agree("u' per throttle", B[0, 3], 10.0, share=1e-4)


def test_names_of_modes():
    """All eight roots are named once, pairs by one of them."""
    plane = model()
    linear = linearize(plane, AIR, trim(plane, AIR, speed=25.0))
    found = modes(linear)
    count = sum(2 if abs(z.imag) > 1e-9 else 1 for z in found.values())
    assert count == 8, found
    assert {"roll", "spiral", "Dutch roll"} <= set(found)
    assert found["roll"].real < -5.0 and found["Dutch roll"].imag > 0.0

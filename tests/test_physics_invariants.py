"""What must hold whatever the numbers: mirror images, energy and momentum, steady wind, still propeller."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from support import DEG, attitude, fly, plane_of, rates_of, state_of, targets_of

from sixdof.physics.air import make_air
from sixdof.physics.record import PROP_POINTS, STATE_NAMES, set_inertia
from sixdof.physics.servo import decay, held_target, servo_rate, servo_step
from sixdof.physics.terms import TERM_NAMES

#: Terms that only an airplane that is not its own mirror image has.
LOPSIDED = ("CY0", "Cl0", "Cn0", "Clbdr", "Cldr2")


def lopsided_plane(seed=1):
    """Every term, stall, slipstream, propeller off the center line, full inertia: nothing left out."""
    rng = np.random.default_rng(seed)
    plane = plane_of(2.4, (0.08, 0.10, 0.17, 0.012, -0.006, 0.004), 0.4, 1.5, 0.27)
    for name in TERM_NAMES:
        plane[name] = rng.uniform(-0.5, 0.5)
    plane["CLa"], plane["CD0"] = 4.5, 0.05
    for name, value in dict(
        alpha_stall=0.2, alpha_plate=0.5, CLmind=0.1, saturation_aileron=0.6, saturation_elevator=0.7,
        saturation_rudder=0.8, immersion_tailplane=0.6, immersion_fin=0.7, fin_arm=0.7, tail_arm=0.75,
        tail_alpha0=-0.02, torque_recovered=0.3, ref_x=0.02, ref_y=0.01, ref_z=-0.03, prop_D=0.3, prop_pitch=0.2,
        prop_inertia=2e-4, prop_x=0.4, prop_y=0.02, prop_z=-0.01, axis_x=0.998, axis_y=0.04, axis_z=0.05,
        motor_stiffness=2e-3, motor_no_load=900.0, ideal_thrust=5.0,
    ).items():  # fmt: skip
        plane[name] = value
    J = np.linspace(0.0, 1.0, PROP_POINTS)
    plane["ct"], plane["cq"] = 0.12 - 0.16 * J, 0.009 - 0.012 * J**2
    return plane


def mirrored_plane(plane):
    other = plane.copy()
    for name in (*LOPSIDED, "ref_y", "prop_y", "axis_y", "prop_turn"):
        other[name] = -plane[name]
    set_inertia(other, *(plane[n] for n in ("Ixx", "Iyy", "Izz", "Ixz")), -plane["Ixy"], -plane["Iyz"])
    return other


def mirrored_state(x):
    y = x.copy()
    for name in ("east", "v", "q1", "q3", "p", "r", "rudder"):
        y[STATE_NAMES.index(name)] *= -1.0
    y[13], y[14] = x[14], x[13]
    return y


def mirrored_targets(t):
    return np.array([t[1], t[0], t[2], -t[3], t[4], t[5]])


def random_state(rng):
    x = rng.uniform(-1.0, 1.0, 19)
    x[:3] = [*rng.uniform(-100.0, 100.0, 2), -rng.uniform(10.0, 200.0)]
    x[3:6] = rng.uniform(8.0, 30.0), *rng.uniform(-8.0, 8.0, 2)
    x[6:10] /= np.linalg.norm(x[6:10])
    x[10:13] *= 4.0
    x[13:18] *= 0.5
    x[18] = rng.uniform(0.0, 900.0)
    return x


SEED = st.integers(0, 2**31 - 1)


@settings(max_examples=80, deadline=None)
@given(SEED)
def test_mirror_image(seed):
    """The mirror image of an airplane in mirrored air flies the mirrored motion, to rounding."""
    rng = np.random.default_rng(seed)
    plane = lopsided_plane(seed)
    x, targets = random_state(rng), rng.uniform(-0.5, 0.5, 6)
    wind, shear = rng.uniform(-5.0, 5.0, 3), rng.uniform(-0.02, 0.02, 2)
    air = make_air(wind=tuple(wind), shear=tuple(shear))
    mirror = make_air(wind=(wind[0], -wind[1], wind[2]), shear=(shear[0], -shear[1]))
    here = rates_of(plane, air, x, targets)
    there = rates_of(mirrored_plane(plane), mirror, mirrored_state(x), mirrored_targets(targets))
    np.testing.assert_allclose(
        there, mirrored_state(here), rtol=1e-10, atol=1e-10 * np.max(np.abs(here[:13]))
    )


def test_mirror_needs_every_negated_bias():
    """Leaving any one of the lopsided things unmirrored shows: the test above is not blind."""
    plane, rng = lopsided_plane(), np.random.default_rng(3)
    x, targets = random_state(rng), rng.uniform(-0.5, 0.5, 6)
    air = make_air()
    here = mirrored_state(rates_of(plane, air, x, targets))
    for name in (*LOPSIDED, "ref_y", "prop_y", "axis_y", "prop_turn", "Ixy"):
        other = mirrored_plane(plane)
        if name == "Ixy":
            set_inertia(other, *(plane[n] for n in ("Ixx", "Iyy", "Izz", "Ixz", "Ixy", "Iyz")))
        else:
            other[name] = plane[name]
        there = rates_of(other, air, mirrored_state(x), mirrored_targets(targets))
        assert np.max(np.abs(there - here)[:18]) > 1e-6, name


@settings(max_examples=8, deadline=None)
@given(SEED)
def test_torque_free_body_keeps_energy_and_momentum(seed):
    """2T and the inertial vector H to 1e-10 relative over 10 s at 100 deg/s, full inertia, steps of 5 ms."""
    rng = np.random.default_rng(seed)
    # principal moments of an airplane, about skewed axes
    principal = np.diag([rng.uniform(0.6, 1.0), rng.uniform(1.0, 1.4), rng.uniform(1.4, 1.6)])
    axes = Rotation.random(random_state=seed).as_matrix()
    tensor = axes @ principal @ axes.T
    inertia = tensor[0, 0], tensor[1, 1], tensor[2, 2], -tensor[0, 2], -tensor[0, 1], -tensor[1, 2]
    plane = plane_of(1.0, inertia, 1.0, 1.0, 1.0)
    w = rng.normal(size=3)
    w *= 100.0 * DEG / np.linalg.norm(w)
    x = state_of(p=w[0], q=w[1], r=w[2])
    y = fly(plane, make_air(), x, targets_of(), time=10.0, steps=2000)
    energy = [z[10:13] @ tensor @ z[10:13] for z in (x, y)]
    momentum = [attitude(z).apply(tensor @ z[10:13]) for z in (x, y)]
    assert abs(energy[1] / energy[0] - 1.0) < 1e-10, energy
    assert np.linalg.norm(momentum[1] - momentum[0]) < 1e-10 * np.linalg.norm(momentum[0]), momentum
    assert abs(np.linalg.norm(y[6:10]) - 1.0) < 1e-14


def test_ballistic_energy():
    """Tumbling without air: height and speed trade exactly, under constant and inverse-square gravity."""
    plane = plane_of(2.0, (0.1, 0.2, 0.25, 0.02), 1.0, 1.0, 1.0)
    x = state_of(u=20.0, v=3.0, w=-30.0, p=1.0, q=-2.0, r=0.5, down=-500.0)
    y = fly(plane, make_air(), x, targets_of(), time=5.0, steps=1000)
    energy = [0.5 * z[3:6] @ z[3:6] - 9.80665 * z[2] for z in (x, y)]
    assert abs(energy[1] / energy[0] - 1.0) < 1e-10, energy
    g, radius = 9.8, 1e4  # a small planet, so that it shows
    y = fly(plane, make_air(g=g, radius=radius), x, targets_of(), time=5.0, steps=1000)
    energy = [0.5 * z[3:6] @ z[3:6] - g * radius**2 / (radius - z[2]) for z in (x, y)]
    assert abs(energy[1] / energy[0] - 1.0) < 1e-10, energy


def test_air_only_takes_energy():
    """Power off, drag and damping: energy never grows."""
    plane = plane_of(
        2.5, (0.08, 0.10, 0.17, 0.01), 0.40, 1.5, 0.27, CL0=0.2, CLa=4.5, CD0=0.03, CDk=0.06, CDb2=0.8, Cma=-0.6, Cmq=-10.0,
        Cmde=-0.9, CYb=-0.5, Clb=-0.05, Clp=-0.45, Cnb=0.07, Cnr=-0.12,
    )  # fmt: skip
    air = make_air()
    x = state_of(u=25.0, v=2.0, w=1.0, p=1.0, down=-300.0)
    last = math.inf
    for _ in range(50):
        energy = 0.5 * 2.5 * x[3:6] @ x[3:6] - 2.5 * 9.80665 * x[2]
        assert energy < last
        last = energy
        x = fly(plane, air, x, targets_of(), time=0.1, steps=20)


@settings(max_examples=20, deadline=None)
@given(SEED)
def test_steady_wind_is_a_moving_frame(seed):
    """In steady wind the same airplane accelerates as in calm air seen from a moving ground."""
    rng = np.random.default_rng(seed)
    plane, wind, x = lopsided_plane(seed), rng.normal(size=3) * 4.0, random_state(rng)
    targets = targets_of(throttle=0.5, elevator=-0.05)
    y = x.copy()
    y[3:6] += attitude(x).inv().apply(wind)
    calm = rates_of(plane, make_air(rho=1.2), x, targets)
    windy = rates_of(plane, make_air(rho=1.2, wind=tuple(wind)), y, targets)
    # acceleration in world axes: body rate of the body-axis velocity, plus omega x V
    a, b = (rates[3:6] + np.cross(z[10:13], z[3:6]) for rates, z in ((calm, x), (windy, y)))
    np.testing.assert_allclose(b, a, rtol=1e-9, atol=1e-9 * np.linalg.norm(a))
    np.testing.assert_allclose(windy[10:], calm[10:], rtol=1e-9, atol=1e-9 * np.max(np.abs(calm[10:13])))
    np.testing.assert_allclose(windy[:3], calm[:3] + wind, atol=1e-12)


def test_north_is_nowhere_special():
    """Turned about the vertical, everything turns along."""
    plane, air = lopsided_plane(), make_air(rho=1.2)
    a, b = (
        state_of(u=20.0, v=1.0, w=1.0, euler=(0.3, 0.1, yaw), p=0.2, propeller=500.0) for yaw in (0.0, 1.1)
    )
    np.testing.assert_allclose(
        rates_of(plane, air, a, targets_of())[3:6], rates_of(plane, air, b, targets_of())[3:6], rtol=1e-11
    )
    np.testing.assert_allclose(
        rates_of(plane, air, a, targets_of())[10:], rates_of(plane, air, b, targets_of())[10:], rtol=1e-11
    )


def test_servo_lag_and_rate():
    """First-order near the target, at most its own speed far from it."""
    assert servo_rate(0.10, 0.08, 0.05, 5.0) == pytest.approx(0.4)
    assert servo_rate(1.00, -1.00, 0.05, 5.0) == 5.0
    assert servo_rate(-1.0, 1.0, 0.05, 5.0) == -5.0


@given(
    st.floats(-0.8, 0.8),
    st.floats(-0.8, 0.8),
    st.floats(0.002, 0.2),
    st.floats(0.1, 20.0),
    st.floats(1e-3, 0.05),
)
def test_a_servo_is_where_its_rate_leads_to(target, position, lag, rate, dt):
    """End and mean of a step against its rate in a thousand pieces of the step, each with the rate at its middle."""
    middle, end = servo_step(target, position, lag, rate, dt)
    n = max(1000, math.ceil(50.0 * dt / lag))
    h, x, way = dt / n, position, 0.0
    for _ in range(n):
        half = x + 0.5 * h * servo_rate(target, x, lag, rate)
        x, way = x + h * servo_rate(target, half, lag, rate), way + h * half
    most = 2e-4 * abs(target - position) + 1e-12
    assert abs(end - x) <= most
    assert abs((position + 4.0 * middle + end) / 6.0 - way / dt) <= most


@given(st.floats(0.0, 60.0))
def test_decay_is_the_exponential(x):
    """Against the library's, to 1e-13; below 1e-17 nothing is told apart."""
    assert abs(decay(x) - math.exp(-x)) <= 1e-13 * math.exp(-x) + 1e-17


def test_servo_slop_and_step():
    """Slop must be taken up before the surface moves; the servo moves by steps."""
    assert held_target(0.010, 0.0, 0.04, 0.0) == 0.0
    assert held_target(0.050, 0.0, 0.04, 0.0) == pytest.approx(0.03)
    assert held_target(-0.05, 0.0, 0.04, 0.0) == pytest.approx(-0.03)
    assert held_target(0.0149, 0.0, 0.0, 0.01) == pytest.approx(0.01)
    assert held_target(0.0151, 0.0, 0.0, 0.01) == pytest.approx(0.02)
    assert held_target(0.3, -0.2, 0.0, 0.0) == 0.3

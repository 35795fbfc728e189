"""The same answers from programs that we did not write: MuJoCo, scipy's DOP853, scipy's Rotation; and plain Python."""

from __future__ import annotations

import inspect
import math

import mujoco
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.spatial.transform import Rotation
from support import attitude, fly, plane_of, rates_of, state_of, targets_of
from test_physics_invariants import lopsided_plane, random_state

from sixdof.physics import aero, air, frames, motion, propulsion, rigid, servo
from sixdof.physics.air import G0, make_air
from sixdof.physics.frames import (
    angle,
    euler_angles,
    path_errors,
    path_frame,
    quaternion_rate,
    to_body,
    to_world,
)
from sixdof.physics.lanes import new_lanes
from sixdof.physics.rigid import angular_acceleration

SEED = st.integers(0, 2**31 - 1)


def _random_body(rng):
    """Mass and inertia tensor of a cloud of points: always a possible body."""
    masses, points = rng.uniform(0.1, 1.0, 8), rng.normal(size=(8, 3)) * (0.3, 0.5, 0.2)
    points -= masses @ points / masses.sum()
    tensor = sum(m * ((r @ r) * np.eye(3) - np.outer(r, r)) for m, r in zip(masses, points, strict=True))
    return masses.sum(), tensor


def _mujoco_accelerations(mass, tensor, q, velocity_world, w, force_world, moment_body):
    """World acceleration of the CG and body angular acceleration of a free body.

    MuJoCo's free joint: linear velocity in world axes, angular in body axes; applied wrenches in
    world axes; gravity along the third world axis, which here is down.
    """
    full = " ".join(repr(float(tensor[i])) for i in ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2)))
    model = mujoco.MjModel.from_xml_string(
        f"<mujoco><option gravity='0 0 {G0}'/><worldbody><body><freejoint/>"
        f"<inertial pos='0 0 0' mass='{mass!r}' fullinertia='{full}'/></body></worldbody></mujoco>"
    )
    data = mujoco.MjData(model)
    data.qpos[:3], data.qpos[3:] = (1.0, -2.0, -30.0), q
    data.qvel[:3], data.qvel[3:] = velocity_world, w
    data.xfrc_applied[1, :3] = force_world
    data.xfrc_applied[1, 3:] = Rotation.from_quat(q, scalar_first=True).apply(moment_body)
    mujoco.mj_forward(model, data)
    return data.qacc[:3].copy(), data.qacc[3:].copy()


@settings(max_examples=25, deadline=None)
@given(SEED)
def test_mujoco_rigid_body(seed):
    """Full inertia, random attitude, rates and wrench: Euler's equations, and m (V' + w x V) = F + m g."""
    rng = np.random.default_rng(seed)
    mass, tensor = _random_body(rng)
    rotation = Rotation.random(random_state=seed)
    q = rotation.as_quat(scalar_first=True)
    w, body_velocity = rng.normal(size=3) * 4.0, rng.normal(size=3) * 15.0
    thrust, axis = rng.uniform(5.0, 60.0), rng.normal(size=3)
    axis /= np.linalg.norm(axis)
    moment = rng.normal(size=3) * 3.0
    inertia = tensor[0, 0], tensor[1, 1], tensor[2, 2], -tensor[0, 2], -tensor[0, 1], -tensor[1, 2]
    plane = plane_of(float(mass), inertia, 1.0, 1.0, 1.0, ideal_thrust=thrust)
    plane["axis_x"], plane["axis_y"], plane["axis_z"] = axis
    linear, angular = _mujoco_accelerations(
        float(mass), tensor, q, rotation.apply(body_velocity), w, rotation.apply(thrust * axis), moment
    )
    found = np.array(angular_acceleration(plane, *w, *moment))
    np.testing.assert_allclose(found, angular, rtol=1e-9, atol=1e-9 * np.linalg.norm(angular))
    x = state_of()
    x[3:6], x[6:10], x[10:13] = body_velocity, q, w
    rates = rates_of(plane, make_air(), x, targets_of(throttle=1.0))
    world = rotation.apply(rates[3:6] + np.cross(w, body_velocity))
    np.testing.assert_allclose(world, linear, rtol=1e-9, atol=1e-9 * np.linalg.norm(linear))


def _pulsing_plane():
    """Stable, with everything smooth: no table, no stall, no limits."""
    return plane_of(
        1.96, (0.0715, 0.0864, 0.1536, 0.014), 0.31, 1.27, 0.25,
        CL0=0.11, CLa=4.6, CLq=6.0, CLad=2.0, CLde=0.1, CD0=0.04, CDk=0.05, Cm0=-0.03, Cma=-0.7, Cmq=-13.0, Cmad=-3.0, Cmde=-0.85,
        CYb=-0.5, CYp=-0.04, CYr=0.15, CYdr=0.19, Clb=-0.05, Clp=-0.45, Clr=0.11, Clda=-0.16, Cldr=0.01, Clba=0.2,
        Cnb=0.07, Cnp=-0.05, CnpCL=-0.1, Cnr=-0.18, Cnda=0.02, CndaCL=0.1, Cndr=-0.18, Cmb2=-0.3, ideal_thrust=10.0,
    )  # fmt: skip


_START = dict(
    u=18.0, v=1.5, w=1.0, p=2.0, q=0.5, r=-0.3, euler=(0.4, 0.2, 1.0), down=-80.0, rudder=0.05, elevator=-0.06
)
_TARGETS = dict(rudder=0.05, elevator=-0.06, aileron_right=0.02, aileron_left=-0.02, throttle=0.3)


def _reference(plane, x, targets, time):
    solution = solve_ivp(
        lambda t, y: rates_of(plane, make_air(wind=(3.0, -2.0, 0.0)), y, targets), (0.0, time), x,
        method="DOP853", rtol=1e-12, atol=1e-13,
    )  # fmt: skip
    assert solution.success
    return solution.y[:, -1]


def test_dop853_smooth_flight():
    """Two seconds of a rolling, yawing flight in wind, 5 ms steps against scipy's eighth-order method."""
    plane, x, targets = _pulsing_plane(), state_of(**_START), targets_of(**_TARGETS)
    x[13:15] = 0.02, -0.02
    found = fly(plane, make_air(wind=(3.0, -2.0, 0.0)), x, targets, time=2.0, steps=400)
    wanted = _reference(plane, x, targets, 2.0)
    np.testing.assert_allclose(found[:3], wanted[:3], atol=1e-5)
    np.testing.assert_allclose(found[3:13], wanted[3:13], atol=1e-5)


def test_dop853_with_propeller_and_servos():
    """One second of everything at once, propeller table and servo speed limits included, to 1e-4."""
    plane, whole = _pulsing_plane(), lopsided_plane()
    for name in whole.dtype.names:
        if name.startswith(
            ("prop_", "axis_", "motor_", "immersion_", "tail_", "fin_", "torque_")
        ) or name in ("ct", "cq"):
            plane[name] = whole[name]
    x = state_of(u=18.0, w=0.5, euler=(0.2, 0.1, 0.0), down=-80.0, propeller=600.0)
    targets = targets_of(
        aileron_right=0.1, aileron_left=-0.1, elevator=-0.05, rudder=0.1, flap=0.05, throttle=0.8
    )
    found = fly(plane, make_air(wind=(3.0, -2.0, 0.0)), x, targets, time=1.0, steps=200)
    wanted = _reference(plane, x, targets, 1.0)
    np.testing.assert_allclose(found[3:13], wanted[3:13], atol=1e-4)
    np.testing.assert_allclose(found[18], wanted[18], rtol=1e-4)


def test_runge_kutta_order():
    """The error falls with the fourth power of the step: slope of a log-log fit at least 3.8."""
    plane, x, targets = _pulsing_plane(), state_of(**_START), targets_of(**_TARGETS)
    x[13:15] = 0.02, -0.02
    wanted = _reference(plane, x, targets, 0.8)
    steps = np.array([20, 40, 80, 160])
    errors = [
        np.linalg.norm(
            (fly(plane, make_air(wind=(3.0, -2.0, 0.0)), x, targets, time=0.8, steps=n) - wanted)[:13]
        )
        for n in steps
    ]
    slope = -np.polyfit(np.log(steps), np.log(errors), 1)[0]
    assert 3.8 <= slope <= 4.6, (slope, errors)


@settings(max_examples=40, deadline=None)
@given(SEED)
def test_frames_against_rotation(seed):
    """Body to world, world to body, and the quaternion's rate."""
    rng = np.random.default_rng(seed)
    rotation = Rotation.random(random_state=seed)
    q, v, w = rotation.as_quat(scalar_first=True), rng.normal(size=3), rng.normal(size=3) * 3.0
    np.testing.assert_allclose(to_world(*q, *v), rotation.apply(v), atol=1e-14)
    np.testing.assert_allclose(to_body(*q, *v), rotation.inv().apply(v), atol=1e-14)
    h = 1e-5
    ahead, behind = (rotation * Rotation.from_rotvec(s * h * w) for s in (1.0, -1.0))
    step = ahead.as_quat(scalar_first=True), behind.as_quat(scalar_first=True)
    step = [s * np.sign(s @ q) for s in step]
    np.testing.assert_allclose(quaternion_rate(*q, *w), (step[0] - step[1]) / (2.0 * h), atol=1e-8)


def test_angle_against_atan2():
    """1e-13 rad, at any length, straight ahead and straight behind included."""
    near = [s * 10.0**-k for k in range(1, 15) for s in (1.0, -1.0)]
    for degrees in [*np.linspace(-180.0, 180.0, 2881), *near, *(180.0 + d for d in near)]:
        a = math.radians(degrees)
        for length in (1e-3, 1.0, 1e3):
            found = angle(length * math.sin(a), length * math.cos(a))
            wanted = math.atan2(length * math.sin(a), length * math.cos(a))
            miss = abs(math.remainder(found - wanted, 2.0 * math.pi))
            assert miss <= 1e-13, (degrees, found, wanted)
    assert angle(0.0, 1.0) == 0.0 and angle(0.0, -1.0) == math.pi and math.isfinite(angle(0.0, 0.0))


@settings(max_examples=40, deadline=None)
@given(st.floats(-3.1, 3.1), st.floats(-1.57, 1.57), st.floats(-3.1, 3.1))
def test_path_frame_against_rotation(heading, climb, bank):
    """Heading, climb, bank in turn; up to the sign that a quaternion leaves open."""
    wanted = Rotation.from_euler("ZYX", [heading, climb, bank])
    found = Rotation.from_quat(path_frame(heading, climb, bank), scalar_first=True)
    assert (wanted.inv() * found).magnitude() < 1e-12


@settings(max_examples=40, deadline=None)
@given(st.floats(-3.1, 3.1), st.floats(-1.5, 1.5), st.floats(-3.1, 3.1))
def test_euler_angles_against_rotation(heading, pitch, bank):
    """Angles of scipy's quaternion are those it was made of."""
    q = Rotation.from_euler("ZYX", [heading, pitch, bank]).as_quat(scalar_first=True)
    np.testing.assert_allclose(euler_angles(*q), [heading, pitch, bank], atol=1e-12)


def errors_by_rotation(ideal, body, direction):
    """Log map of the path and roll after parallel transport, by scipy's rotations.

    ``direction`` of the flight path in body axes.
    """
    path = ideal.inv().apply(body.apply(direction))
    axis = np.cross([1.0, 0.0, 0.0], path)
    off = np.linalg.norm(axis)
    turn = math.atan2(off, path[0])
    carry = Rotation.from_rotvec(axis / off * turn if off > 1e-15 else np.zeros(3))
    vector = carry.as_rotvec() if turn < 3.14 else axis / off * turn
    transported = ideal * carry  # x along the path, canopy as it was carried
    canopy = transported.inv().apply(body.apply([0.0, 0.0, -1.0]))
    return np.array([vector[1], vector[2], math.atan2(canopy[1], -canopy[2])])


def _errors(ideal, body, direction):
    f, q = ideal.as_quat(scalar_first=True), body.as_quat(scalar_first=True)
    return np.array(path_errors(*f, *q, *(23.0 * np.asarray(direction))))


@settings(max_examples=100, deadline=None)
@given(SEED)
def test_path_errors_against_rotation(seed):
    """Anywhere on the sphere."""
    rng = np.random.default_rng(seed)
    ideal, body = Rotation.random(2, random_state=seed)
    direction = rng.normal(size=3) * 0.2 + (1.0, 0.0, 0.0)
    direction /= np.linalg.norm(direction)
    found, wanted = _errors(ideal, body, direction), errors_by_rotation(ideal, body, direction)
    np.testing.assert_allclose(found[:2], wanted[:2], atol=1e-9)
    assert abs(math.remainder(found[2] - wanted[2], 2.0 * math.pi)) < 1e-9, (found, wanted)


@pytest.mark.parametrize("bank", [0.0, 0.6, math.pi / 2.0, math.pi, -math.pi / 2.0])
@pytest.mark.parametrize("climb", [0.0, 0.7, -math.pi / 2.0])
def test_path_errors_small_angles(climb, bank):
    """Small turns about the ideal's own axes come out as themselves, banked or not, on any line."""
    ideal = Rotation.from_euler("ZYX", [0.4, climb, bank])
    small = np.array([2e-6, 3e-6, -4e-6])  # roll right, toward canopy, toward the right wing
    body = ideal * Rotation.from_rotvec(small)
    canopy, wing, roll = _errors(ideal, body, (1.0, 0.0, 0.0))
    np.testing.assert_allclose((roll, canopy, wing), small, atol=1e-10)


@given(st.floats(-10.0, 10.0), st.floats(-1.5, 1.5), st.floats(-10.0, 10.0), st.floats(-0.1, 0.1))
def test_a_path_bent_up_climbs_so_much_more(heading, climb, bank, bend):
    found = frames.bent_up(*frames.path_frame(heading, climb, bank), math.sin(bank), math.cos(bank), bend)
    np.testing.assert_allclose(found, frames.path_frame(heading, climb + bend, bank), atol=1e-12)


def test_path_errors_in_words():
    """Knife-edge, right wing down: a path bent toward the north-heading pilot's ... canopy is to the west."""
    ideal = Rotation.from_euler(
        "ZYX", [0.0, 0.0, math.pi / 2.0]
    )  # heading north, right wing down: canopy east
    assert ideal.apply([0.0, 0.0, -1.0])[1] > 0.99, "right wing down turns the canopy to the east"
    east = Rotation.from_euler("ZYX", [0.1, 0.0, math.pi / 2.0])
    canopy, wing, roll = _errors(ideal, east, (1.0, 0.0, 0.0))
    assert abs(canopy - 0.1) < 1e-12 and abs(wing) < 1e-12 and abs(roll) < 1e-9
    sinking = Rotation.from_euler("ZYX", [0.0, -0.1, math.pi / 2.0])
    canopy, wing, roll = _errors(ideal, sinking, (1.0, 0.0, 0.0))
    assert abs(wing - 0.1) < 1e-9, "sinking is toward the right wing"


@settings(max_examples=30, deadline=None)
@given(st.floats(0.0, 3.13), st.floats(-3.14, 3.14), st.floats(-3.1, 3.1))
def test_path_errors_singular_only_behind(turn, where, roll):
    """The path may be anywhere but straight behind: length of the error is the turn, roll is untouched."""
    ideal = Rotation.from_euler("ZYX", [1.0, -0.4, 2.0])
    carry = Rotation.from_rotvec(turn * np.array([0.0, math.cos(where), math.sin(where)]))
    canopy, wing, found = _errors(
        ideal, ideal * carry * Rotation.from_rotvec([roll, 0.0, 0.0]), (1.0, 0.0, 0.0)
    )
    assert abs(math.hypot(canopy, wing) - turn) < 1e-9
    assert abs(math.remainder(found - roll, 2.0 * math.pi)) < 1e-7
    assert math.isfinite(path_errors(1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 20.0, 0.0, 0.0)[0])


def test_path_errors_roll_counts_whole_turns():
    """Two rolls on a path that bends 60 deg meanwhile: unwrapped, exactly 720 deg, no more from the bend."""
    ideal = Rotation.from_euler("ZYX", [0.3, 0.2, -0.5])
    rolls = []
    for k in range(721):
        carry = Rotation.from_rotvec([0.0, 0.6 * k / 720.0, 0.9 * k / 720.0])
        body = ideal * carry * Rotation.from_rotvec([math.radians(k), 0.0, 0.0])
        rolls.append(_errors(ideal, body, (1.0, 0.0, 0.0))[2])
    assert abs(np.unwrap(rolls)[-1] - 4.0 * math.pi) < 1e-9


KERNEL_MODULES = (frames, air, servo, rigid, propulsion, aero, motion)


def _derivative(plane, day, x, targets, gust):
    U, V, W = motion.velocity_in_air(day, *x[2:10], *gust[:3])
    s = motion.advance(plane, U, V, W, *x[10:13], x[18])
    ct, cq = motion.table(plane["ct"], s), motion.table(plane["cq"], s)
    return np.array(motion.state_derivative(plane, day, *x, *targets, *gust, ct, cq))


def _one_step(plane, day, x, targets, gust):
    planes, airs, work = new_lanes(plane, day, x, 0.005)
    work["targets"], work["gust"] = targets[:, None], gust[:, None]
    motion.rk4_step(planes, airs, work, 1)
    return work["x"][:, 0].copy()


def test_compiled_against_plain_python(monkeypatch):
    """Every physics kernel run as plain Python gives the compiled answer."""
    plane, rng = lopsided_plane(), np.random.default_rng(7)
    day = make_air(wind=(1.0, -2.0, 0.3), shear=(0.01, 0.02))
    gust = rng.uniform(-1.0, 1.0, 6)
    cases = [(random_state(rng), rng.uniform(-0.5, 0.5, 6)) for _ in range(5)]
    compiled = [_derivative(plane, day, x, t, gust) for x, t in cases]
    stepped = _one_step(plane, day, *cases[0], gust)
    replaced = 0
    for module in KERNEL_MODULES:
        for name, value in inspect.getmembers(module, lambda v: hasattr(v, "py_func")):
            monkeypatch.setattr(module, name, value.py_func)
            replaced += 1
    assert replaced > 20
    for (x, t), wanted in zip(cases, compiled, strict=True):
        found = _derivative(plane, day, x, t, gust)
        np.testing.assert_allclose(found, wanted, rtol=1e-10, atol=1e-11 * np.max(np.abs(wanted[:13])))
    plain = _one_step(plane, day, *cases[0], gust)
    np.testing.assert_allclose(plain, stepped, rtol=1e-11, atol=1e-12)
    assert abs(np.linalg.norm(attitude(plain).as_quat()) - 1.0) < 1e-14

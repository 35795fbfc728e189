"""Power on: slipstream on the tail, motor and propeller, and what the equations of motion do with them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from support import DEG, agree, fly, plane_of, rates_of, state_of, targets_of

from sixdof.physics.aero import aerodynamics
from sixdof.physics.air import G0, density, make_air
from sixdof.physics.propulsion import motor_torque, propeller, table
from sixdof.physics.record import PROP_POINTS, STATE_NAMES

RHO, V, S, B, C = 1.2, 20.0, 0.6, 1.9, 0.32
QBAR = 0.5 * RHO * V**2
Q_S = QBAR * 1.6**2


def _tailed(**more):
    values = dict(
        CLde=0.35, Cmde=-1.0, CYdr=0.25, Cldr=0.02, Cndr=-0.12, immersion_tailplane=0.5, immersion_fin=0.6,
        immersion_angle=0.3, tau_elevator=0.5, tau_rudder=0.6, tail_alpha0=-0.01, tail_alpha=0.7,
        tail_arm=0.8, fin_arm=0.9, swirl_recovered=0.4,
    )  # fmt: skip
    return plane_of(4.5, (0.3, 0.5, 0.7), S, B, C, **{**values, **more})


def _power_adds(plane, *, alpha=0.0, beta=0.0, p=0.0, q=0.0, r=0.0, de=0.0, dr=0.0, swirl=0.0):
    """Lift, Y, L, M, N that a slipstream of 1.6 times the speed adds."""
    air = V * math.cos(alpha) * math.cos(beta), V * math.sin(beta), V * math.sin(alpha) * math.cos(beta)
    wet, dry = (
        np.array(aerodynamics(plane, RHO, *air, p, q, r, 0.0, 0.0, de, dr, 0.0, stream, swirl)[:6])
        for stream, swirl in ((1.6 * V, swirl), (0.0, 0.0))
    )
    X, Y, Z, L, M, N = wet - dry
    return X * math.sin(alpha) - Z * math.cos(alpha), Y, L, M, N


def test_slipstream_makes_the_elevator_stronger():
    """(q_s - q) more of immersion times the elevator's own lift and moment; up is still up."""
    de = -0.1
    lift, _, _, M, _ = _power_adds(_tailed(tail_alpha0=0.0), de=de)
    agree("lift", lift, (Q_S - QBAR) * 0.5 * S * 0.35 * de, share=1e-6)
    agree("M", M, (Q_S - QBAR) * 0.5 * S * C * -1.0 * de, share=1e-6)
    assert M > 0.0 > lift


def test_slipstream_on_the_tailplane_steadies():
    """By alpha the tailplane gains lift as an elevator of alpha (1 - downwash)/tau; nose down.

    The stream keeps the speed across of the free flow: in it, alpha is less by V/V_s = 1/1.6; on the way
    there, at the mean of both speeds, by 1/1.3.
    """
    alpha = 0.05
    fade = 1.0 / (1.0 + (alpha / 1.3 / 0.3) ** 2)
    lift, _, _, M, _ = _power_adds(_tailed(), alpha=alpha)
    more = Q_S * (-0.01 + 0.7 * alpha / 1.6) / 0.5 - QBAR * (-0.01 + 0.7 * alpha) / 0.5
    agree("lift", lift, 0.5 * fade * S * 0.35 * more, share=1e-6)
    agree("M", M, 0.5 * fade * S * C * -1.0 * more, share=1e-6)
    assert M < 0.0 < lift


def test_slipstream_damps_pitch_and_yaw():
    """Pitching up sends the tail down: more lift there, nose down; yawing right, nose left."""
    plane = _tailed(tail_alpha0=0.0)
    q = r = 0.5
    more = Q_S / (1.6 * V) - QBAR / V  # dynamic pressure times angle, over the speed across
    lift, _, _, M, _ = _power_adds(plane, q=q)
    agree("M by q", M, more * 0.5 * S * C * -1.0 * q * 0.8 / 0.5, share=1e-6)
    assert M < 0.0 < lift
    _, Y, L, _, N = _power_adds(plane, r=r)
    agree("N by r", N, more * 0.6 * S * B * -0.12 * r * 0.9 / 0.6, share=1e-6)
    assert N < 0.0 < Y and L > 0.0


def test_slipstream_makes_the_rudder_stronger():
    """Side force, roll and yaw of the rudder grow alike."""
    _, Y, L, _, N = _power_adds(_tailed(), dr=-0.2)
    more = (Q_S - QBAR) * 0.6 * S * -0.2
    agree("Y", Y, more * 0.25, share=1e-6)
    agree("L", L, more * B * 0.02, share=1e-6)
    agree("N", N, more * B * -0.12, share=1e-6)


def test_swirl_meets_the_fin():
    """Stream from the left above the axis: the whole q_s counts, force to the right, nose left."""
    _, Y, L, _, N = _power_adds(_tailed(), swirl=0.05)
    by = Q_S * 0.6 * S * 0.4 * 0.05 / 0.6
    agree("Y", Y, by * 0.25, share=1e-6)
    agree("L", L, by * B * 0.02, share=1e-6)
    agree("N", N, by * B * -0.12, share=1e-6)


def _driven(**more):
    values = dict(
        prop_D=0.4, prop_pitch=0.25, prop_inertia=1e-3, motor_stiffness=0.01, motor_no_load=800.0,
        prop_crossflow_force=0.1, prop_crossflow_moment=0.08,
    )  # fmt: skip
    plane = plane_of(4.5, (0.3, 0.5, 0.7), S, B, C, **{**values, **more})
    s = np.linspace(0.0, 1.0, PROP_POINTS)
    plane["ct"], plane["cq"] = 0.11 - 0.15 * s, 0.008 - 0.011 * s * s
    return plane


def _propeller(plane, *, U=15.0, v=0.0, W=0.0, p=0.0, q=0.0, r=0.0, omega=500.0, throttle=0.6):
    names = ("X", "Y", "Z", "L", "M", "N", "omega_rate", "slipstream", "swirl")
    return dict(zip(names, propeller(plane, RHO, U, v, W, p, q, r, omega, throttle), strict=True))


def test_motor_line():
    """Torque falls linearly with speed, from idle to full throttle; it drags only if it brakes."""
    plane = _driven(motor_idle=0.1)
    for throttle, free in ((0.0, 80.0), (0.5, 440.0), (1.0, 800.0)):
        agree("torque", motor_torque(plane, throttle, free - 50.0), 0.5, share=1e-12)
        assert motor_torque(plane, throttle, free + 50.0) == 0.0
    plane["motor_brake"] = 1.0
    agree("braking", motor_torque(plane, 0.0, 130.0), -0.5, share=1e-12)


def test_torque_and_its_recovery():
    """Clockwise from behind: rolled left by the motor's torque, less what wing and tail take from the swirl.

    On the spot, where the propeller takes C_Q rho n^2 D^5, slower than the motor would turn unloaded.
    """
    plane = _driven()
    drive = 0.01 * (0.6 * 800.0 - 400.0)
    takes = 0.008 * RHO * (400.0 / (2.0 * math.pi)) ** 2 * 0.4**5

    def found():
        return _propeller(plane, U=0.0, omega=400.0)

    agree("L", found()["L"], -drive, share=1e-9)
    agree("it speeds up", found()["omega_rate"], (drive - takes) / 1e-3, share=1e-9)
    assert drive > takes > 0.0, "both can be told apart"
    plane["torque_recovered"] = 0.3
    agree("L, 30 % recovered", found()["L"], -drive + 0.3 * takes, share=1e-9)
    plane["prop_turn"] = -1.0
    agree("L, the other way", found()["L"], drive - 0.3 * takes, share=1e-9)


def test_disc_moves_with_the_body():
    """A disc ahead of the CG feels pitch and yaw as crossflow, one above it as speed: V + omega x r."""
    arms = dict(prop_x=0.6, prop_y=0.1, prop_z=-0.2)
    offset, center = _driven(**arms), _driven()
    w = np.array([0.4, -0.7, 0.9])
    felt = np.array([15.0, 0.5, -0.3]) + np.cross(w, list(arms.values()))
    here = _propeller(offset, v=0.5, W=-0.3, p=w[0], q=w[1], r=w[2])
    there = _propeller(center, U=felt[0], v=felt[1], W=felt[2], p=w[0], q=w[1], r=w[2])
    for name in ("X", "Y", "Z", "slipstream", "omega_rate"):
        agree(name, here[name], there[name], share=1e-12, within=1e-15)
    moment = np.cross(list(arms.values()), [there[n] for n in "XYZ"])
    for name, lever in zip("LMN", moment, strict=True):
        agree(name, here[name], there[name] + lever, share=1e-9, within=1e-12)


def test_thrust_line():
    """Down and right thrust: forces along the tilted axis, its pitching and yawing moments about the CG."""
    down, right = 2.0 * DEG, 3.0 * DEG
    axis = np.array([math.cos(down) * math.cos(right), math.cos(down) * math.sin(right), math.sin(down)])
    plane = _driven(
        prop_x=0.6, axis_x=axis[0], axis_y=axis[1], axis_z=axis[2], prop_inertia=1e-3, motor_stiffness=0.0
    )
    found = _propeller(plane, U=0.0)
    T = np.linalg.norm([found[n] for n in "XYZ"])
    np.testing.assert_allclose([found[n] for n in "XYZ"], T * axis, rtol=1e-9)
    np.testing.assert_allclose(
        [found[n] for n in "LMN"], np.cross([0.6, 0.0, 0.0], T * axis), rtol=1e-9, atol=1e-12
    )
    assert found["M"] < 0.0 < found["N"], "down-thrust lowers the nose, right-thrust turns it right"


def test_propeller_table_look_up():
    """Through the points, exact on a parabola between them, held at the ends."""
    s = np.linspace(0.0, 1.0, PROP_POINTS)
    values = 0.1 - 0.3 * s + 0.2 * s * s
    for at in (s[1], 0.1234, 0.5, 0.777):
        agree("table", table(values, at), 0.1 - 0.3 * at + 0.2 * at * at, within=1e-14)
    assert table(values, -1.0) == values[0]
    agree("end", table(values, 2.0), values[-1], within=1e-15)


def test_field_above_the_sea():
    """A field at 1500 m: thinner air, and less gravity where that falls."""
    plane = plane_of(2.0, (1.0, 1.0, 1.0), 1.0, 1.0, 1.0, CD0=0.1)
    x = state_of(u=20.0, down=-100.0)
    drag = -rates_of(plane, make_air(elevation=1500.0), x, targets_of())[3] * 2.0
    agree("drag", drag, 0.5 * density(make_air(), 1600.0) * 400.0 * 0.1, share=1e-9)
    fall = rates_of(plane, make_air(elevation=1500.0, radius=1e5), x, targets_of())[5]
    agree("gravity", fall, G0 / 1.016**2, share=1e-9)


def test_alpha_rate_is_the_rate_of_alpha():
    """Terms by alpha-rate get the rate that the flight then has, in sideslip, roll and yaw too."""
    values = dict(CLa=4.5, CD0=0.04, Cma=-0.5, Cmq=-8.0, CLad=2.0, CYb=-0.5)
    plane = plane_of(2.0, (0.1, 0.12, 0.2), S, B, C, **values)
    lagging = plane.copy()
    lagging["Cmad"] = -6.0
    x, air = state_of(u=18.0, v=4.0, w=3.0, p=2.0, q=0.7, r=-1.5, euler=(0.5, 0.2, 0.0)), make_air(rho=RHO)
    h = 1e-5
    ahead = fly(plane, air, x, targets_of(), time=h, steps=1)
    rate = (math.atan2(ahead[5], ahead[3]) - math.atan2(x[5], x[3])) / h
    moment = 0.12 * (rates_of(lagging, air, x, targets_of()) - rates_of(plane, air, x, targets_of()))[11]
    speed = np.linalg.norm(x[3:6])
    agree(
        "M by alpha-rate", moment, 0.5 * RHO * speed**2 * S * C * -6.0 * rate * C / (2.0 * speed), share=1e-3
    )


@pytest.mark.parametrize("surface", ["aileron_right", "aileron_left", "elevator", "rudder", "flap"])
def test_every_surface_has_its_own_servo(surface):
    """Far from its target each surface runs at its own speed, near it with its own lag."""
    plane = plane_of(2.0, (1.0, 1.0, 1.0), 1.0, 1.0, 1.0)
    for i, name in enumerate(("aileron", "elevator", "rudder", "flap")):
        plane[f"{name}_rate"], plane[f"{name}_lag"] = 2.0 + i, 0.03 + 0.01 * i
    channel, row = surface.split("_")[0], STATE_NAMES.index(surface)
    far = rates_of(plane, make_air(), state_of(), targets_of(**{surface: 1.0}))[13:18]
    near = rates_of(plane, make_air(), state_of(), targets_of(**{surface: 0.01}))[13:18]
    wanted = np.zeros(5)
    wanted[row - 13] = plane[f"{channel}_rate"]
    np.testing.assert_allclose(far, wanted)
    wanted[row - 13] = 0.01 / plane[f"{channel}_lag"]
    np.testing.assert_allclose(near, wanted)

"""Propeller and motor: thrust, torque, crossflow, slipstream and swirl."""

from __future__ import annotations

import math

from sixdof.physics.compile import kernel
from sixdof.physics.frames import clip, cross
from sixdof.physics.record import PROP_POINTS

_REV_PER_RAD = 0.5 / math.pi  # revolutions in a radian


@kernel
def table(values, s):
    """Smooth look-up (cubic through four points) of a table over 0 <= s <= 1."""
    x = clip(s, 0.0, 1.0) * (PROP_POINTS - 1)
    i = max(min(int(x), PROP_POINTS - 2), 0)
    t = x - i
    a = values[max(i - 1, 0)]
    b = values[i]
    c = values[i + 1]
    d = values[min(i + 2, PROP_POINTS - 1)]
    return b + 0.5 * t * (c - a + t * (2.0 * a - 5.0 * b + 4.0 * c - d + t * (3.0 * (b - c) + d - a)))


@kernel
def motor_torque(plane, throttle, omega):
    """Torque of the motor [N m]: falls linearly with speed, never negative unless it brakes."""
    idle = plane["motor_idle"]
    wanted = plane["motor_no_load"] * (idle + (1.0 - idle) * throttle)
    torque = plane["motor_stiffness"] * (wanted - omega)
    return max(torque, min(torque * plane["motor_brake"], 0.0))


@kernel
def disc_velocity(plane, U, V, W, p, q, r):
    """Velocity of the propeller disc through the air, along the thrust axis and its part across it (3) [m/s]."""
    ex, ey, ez = plane["axis_x"], plane["axis_y"], plane["axis_z"]
    rx, ry, rz = cross(p, q, r, plane["prop_x"], plane["prop_y"], plane["prop_z"])
    ax, ay, az = U + rx, V + ry, W + rz
    along = ax * ex + ay * ey + az * ez
    return along, ax - along * ex, ay - along * ey, az - along * ez


@kernel
def advance(plane, U, V, W, p, q, r, omega):
    """Place in the propeller's tables, s = V/sqrt(V^2 + (nD)^2); 0 on the spot and going backward."""
    along, _, _, _ = disc_velocity(plane, U, V, W, p, q, r)
    ahead, nD = max(along, 0.0), omega * plane["prop_D"] * _REV_PER_RAD
    return ahead / math.sqrt(ahead * ahead + nD * nD + 1e-12)


@kernel
def propeller(plane, rho, U, V, W, p, q, r, omega, throttle):
    """:func:`propeller_loads` with its tables looked up."""
    s = advance(plane, U, V, W, p, q, r, omega)
    ct, cq = table(plane["ct"], s), table(plane["cq"], s)
    return propeller_loads(plane, rho, U, V, W, p, q, r, omega, throttle, ct, cq)


@kernel
def propeller_loads(plane, rho, U, V, W, p, q, r, omega, throttle, ct, cq):
    """Forces and moments of the propeller and motor on the airframe, about the CG.

    Parameters
    ----------
    U, V, W : float [m/s]
        Velocity through the air at the CG, body axes.
    p, q, r : float [rad/s]
    omega : float [rad/s]
        Speed of the propeller, positive in its own sense.
    throttle : float
        0 to 1.
    ct, cq : float
        From the :func:`table` of each at :func:`advance`.

    Returns
    -------
    X, Y, Z : float [N]
    L, M, N : float [N m]
    omega_rate : float [rad/s2]
    slipstream : float [m/s]
        Speed of the developed slipstream.
    swirl : float
        Sideways angle of the slipstream above the axis [rad], + toward the right wing.

    Notes
    -----
    Tables over s = V/sqrt(V^2 + (nD)^2) stay finite from standstill to a stopped
    propeller in a dive.  Momentum theory: v = (-V + sqrt(V^2 + 2T/(rho A)))/2, slipstream
    V + 2v (Selig & Ananda, UIUC AE 15-01, 2015, eq. 10).  Swirl: Q = pi rho (V+v) Omega a' R^4,
    tangential speed 2 a' Omega r, taken at 0.7 R (momentum, uniform a').

    Crossflow v_c, by blade elements of constant pitch (own derivation): in-plane force
    -1/2 rho A kappa_N (V + v) v_c; the advancing blade pulls harder, moment
    -turn 1/2 rho A R kappa_M (2 V_pitch - V - v) v_c.  Gyroscopic moment on the airframe
    I_p (Omega x omega).  Wing and tail straighten part of the swirl and so give back part of the torque.
    """
    D = plane["prop_D"]
    R = 0.5 * D
    area = math.pi * R * R + 1e-12
    turn = plane["prop_turn"]
    ex, ey, ez = plane["axis_x"], plane["axis_y"], plane["axis_z"]
    along, cx, cy, cz = disc_velocity(plane, U, V, W, p, q, r)
    ahead = max(along, 0.0)
    nD = omega * D * _REV_PER_RAD
    square = ahead * ahead + nD * nD + 1e-12
    thrust = rho * D * D * square * ct
    torque = rho * D * D * D * square * cq
    pull = max(thrust, 0.0)
    induced = 0.5 * (-ahead + math.sqrt(abs(ahead * ahead + 2.0 * pull / (rho * area + 1e-12))))
    through = ahead + induced
    slipstream = ahead + 2.0 * induced
    across = math.pi * rho * R * R * R * (through + 0.1) + 1e-12
    swirl = clip(turn * 1.4 * max(torque, 0.0) / (across * (slipstream + 0.1)), -0.5, 0.5)
    # in-plane force and thrust offset
    sideways = -0.5 * rho * area * plane["prop_crossflow_force"] * through
    pitch_speed = plane["prop_pitch"] * omega * _REV_PER_RAD
    offset = max(2.0 * pitch_speed - through, 0.0)
    offset = -turn * 0.5 * rho * area * R * plane["prop_crossflow_moment"] * offset
    T = thrust + throttle * plane["ideal_thrust"]
    X = T * ex + sideways * cx
    Y = T * ey + sideways * cy
    Z = T * ez + sideways * cz
    L, M, N = cross(plane["prop_x"], plane["prop_y"], plane["prop_z"], X, Y, Z)
    # motor reaction, gyroscopic moment of the propeller's momentum h
    drive = motor_torque(plane, throttle, omega)
    h = turn * plane["prop_inertia"] * omega
    gx, gy, gz = cross(h * ex, h * ey, h * ez, p, q, r)
    roll = turn * (plane["torque_recovered"] * max(torque, 0.0) - drive)
    L += offset * cx + gx + roll * ex
    M += offset * cy + gy + roll * ey
    N += offset * cz + gz + roll * ez
    omega_rate = (drive - torque) / plane["prop_inertia"]
    return X, Y, Z, L, M, N, omega_rate, slipstream, swirl

"""Quaternions and angles, written out in scalars.

Attitude quaternion scalar first, body to world.
"""

from __future__ import annotations

import math

from sixdof.physics.compile import kernel


@kernel
def to_world(q0, q1, q2, q3, x, y, z):
    """Rotate a vector from body to world axes."""
    # v + 2 q0 (q x v) + 2 q x (q x v)
    tx = 2.0 * (q2 * z - q3 * y)
    ty = 2.0 * (q3 * x - q1 * z)
    tz = 2.0 * (q1 * y - q2 * x)
    return (
        x + q0 * tx + (q2 * tz - q3 * ty),
        y + q0 * ty + (q3 * tx - q1 * tz),
        z + q0 * tz + (q1 * ty - q2 * tx),
    )


@kernel
def to_body(q0, q1, q2, q3, x, y, z):
    """Rotate a vector from world to body axes."""
    return to_world(q0, -q1, -q2, -q3, x, y, z)


@kernel
def quaternion_rate(q0, q1, q2, q3, p, q, r):
    """Rate of the attitude quaternion for body rates p, q, r [rad/s]: q' = q * (0, omega) / 2."""
    return (
        0.5 * (-q1 * p - q2 * q - q3 * r),
        0.5 * (q0 * p + q2 * r - q3 * q),
        0.5 * (q0 * q + q3 * p - q1 * r),
        0.5 * (q0 * r + q1 * q - q2 * p),
    )


@kernel
def cross(ax, ay, az, bx, by, bz):
    """Vector product a x b."""
    return ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx


@kernel
def angle(sine, cosine):
    """Angle [rad] in (-pi, pi] whose sine and cosine are in this proportion.

    Branch-free and without a library call, so that a loop over flights can be
    turned into vector instructions: folded about 45 and 90 deg, the half-angle tangent
    once, then the series of the arctangent.  Error below 1e-13 rad.
    """
    side, ahead = abs(sine), abs(cosine)
    t = min(side, ahead) / (max(side, ahead) + math.sqrt(side * side + ahead * ahead) + 1e-300)
    s = t * t
    f = s * s  # even and odd terms apart: half the wait
    even = 1.0 / 29.0
    even = 1.0 / 25.0 + f * even
    even = 1.0 / 21.0 + f * even
    even = 1.0 / 17.0 + f * even
    even = 1.0 / 13.0 + f * even
    even = 1.0 / 9.0 + f * even
    even = 1.0 / 5.0 + f * even
    odd = 1.0 / 27.0
    odd = 1.0 / 23.0 + f * odd
    odd = 1.0 / 19.0 + f * odd
    odd = 1.0 / 15.0 + f * odd
    odd = 1.0 / 11.0 + f * odd
    odd = 1.0 / 7.0 + f * odd
    odd = 1.0 / 3.0 + f * odd
    series = s * even - odd
    folded = 2.0 * t * (1.0 + s * series)
    folded = 0.5 * math.pi - folded if side > ahead else folded
    folded = folded if cosine >= 0.0 else math.pi - folded
    return folded if sine >= 0.0 else -folded


@kernel
def clip(x, low, high):
    """x held between low and high."""
    return min(max(x, low), high)


@kernel
def path_frame(heading, climb, bank):
    """Attitude quaternion of a frame along a path: x along it, canopy up at bank zero.

    heading, climb, bank : float [rad]; 3-2-1 sequence.
    """
    ch, sh = math.cos(0.5 * heading), math.sin(0.5 * heading)
    cc, sc = math.cos(0.5 * climb), math.sin(0.5 * climb)
    cb, sb = math.cos(0.5 * bank), math.sin(0.5 * bank)
    return (
        ch * cc * cb + sh * sc * sb,
        ch * cc * sb - sh * sc * cb,
        ch * sc * cb + sh * cc * sb,
        sh * cc * cb - ch * sc * sb,
    )


@kernel
def bent_up(f0, f1, f2, f3, side, upright, bend):
    """Frame of a path whose climb is ``bend`` [rad] more, at most 0.1: turned about the level axis across it.

    ``side``, ``upright``: sine and cosine of its bank.
    """
    half = 0.5 * bend
    s = half * (1.0 - half * half / 6.0 * (1.0 - half * half / 20.0))  # its sine within 1e-12
    c = math.sqrt(1.0 - s * s)
    y, z = s * upright, -s * side
    return (
        f0 * c - f2 * y - f3 * z,
        f1 * c + f2 * z - f3 * y,
        f2 * c + f0 * y - f1 * z,
        f3 * c + f0 * z + f1 * y,
    )


@kernel
def euler_angles(q0, q1, q2, q3):
    """Heading, pitch and bank [rad] of an attitude quaternion, 3-2-1 sequence: :func:`path_frame` undone."""
    return (
        math.atan2(2.0 * (q0 * q3 + q1 * q2), 1.0 - 2.0 * (q2 * q2 + q3 * q3)),
        math.asin(clip(2.0 * (q0 * q2 - q3 * q1), -1.0, 1.0)),
        math.atan2(2.0 * (q0 * q1 + q2 * q3), 1.0 - 2.0 * (q1 * q1 + q2 * q2)),
    )


@kernel
def path_errors(f0, f1, f2, f3, q0, q1, q2, q3, u, v, w):
    """How far an airplane has left an ideal path, in a flyer's terms.

    Parameters
    ----------
    f0, f1, f2, f3 : float
        Quaternion of the ideal frame (:func:`path_frame`).
    q0, q1, q2, q3 : float
        Attitude of the airplane.
    u, v, w : float [m/s]
        Velocity in body axes.

    Returns
    -------
    toward_canopy, toward_right_wing, roll_right : float [rad]
        The first two are the rotation that carries the ideal direction to the actual
        one (log map, singular only at 180 deg), resolved on the ideal frame; the third
        is the turn of the canopy about the flight path after the ideal frame has been
        carried along by that same rotation (parallel transport).
    """
    speed = math.sqrt(u * u + v * v + w * w) + 1e-300
    # flight path and canopy in the axes of the ideal frame
    x, y, z = to_world(q0, q1, q2, q3, u / speed, v / speed, w / speed)
    dx, dy, dz = to_body(f0, f1, f2, f3, x, y, z)
    x, y, z = to_world(q0, q1, q2, q3, 0.0, 0.0, -1.0)
    cx, cy, cz = to_body(f0, f1, f2, f3, x, y, z)
    off = math.sqrt(dy * dy + dz * dz)
    turn = angle(off, dx)
    scale = turn / off if off > 1e-12 else 1.0
    toward_canopy = -dz * scale
    toward_right_wing = dy * scale
    # the shortest rotation from d to the x-axis carries the canopy c back: of c goes (x + d) (x + d).c / (1 + x.d)
    ahead = 1.0 + dx if dx > 0.0 else off * off / (1.0 - dx)
    share = (cx + dx * cx + dy * cy + dz * cz) / (ahead + 1e-300)
    roll_right = angle(cy - share * dy, share * dz - cz)
    return toward_canopy, toward_right_wing, roll_right

"""The equations of motion: one pure scalar function."""

from __future__ import annotations

import math

from sixdof.physics.aero import aerodynamics
from sixdof.physics.air import density, gravity, wind
from sixdof.physics.compile import kernel
from sixdof.physics.frames import quaternion_rate, to_body, to_world
from sixdof.physics.lanes import LANES, air_at, plane_at
from sixdof.physics.propulsion import advance, propeller_loads, table
from sixdof.physics.record import MOVING_ROWS, N_STATE
from sixdof.physics.rigid import angular_acceleration
from sixdof.physics.servo import servo_rate, servo_step


@kernel
def velocity_in_air(air, down, u, v, w, q0, q1, q2, q3, gust_north, gust_east, gust_down):
    """Velocity through the air [m/s], body axes, in wind and gust."""
    wn, we, wd = wind(air, -down)
    ax, ay, az = to_body(q0, q1, q2, q3, wn + gust_north, we + gust_east, wd + gust_down)
    return u - ax, v - ay, w - az


@kernel
def state_derivative(
    plane, air,
    north, east, down, u, v, w, q0, q1, q2, q3, p, q, r,
    ail_right, ail_left, de, dr, df, omega,
    to_right, to_left, to_de, to_dr, to_df, throttle,
    gust_north, gust_east, gust_down, turn_north, turn_east, turn_down,
    ct, cq,
):  # fmt: skip
    """Rate of change of the nineteen states.

    Parameters
    ----------
    plane, air : records
        See :data:`sixdof.physics.record.PLANE_DTYPE`, :data:`sixdof.physics.air.AIR_DTYPE`.
    north ... omega : float
        The state, in the order of :data:`sixdof.physics.record.STATE_NAMES`.
    to_right ... throttle : float
        Targets of the surfaces [rad] and throttle, constant over a radio frame.
    gust_north, gust_east, gust_down : float [m/s]
        Velocity of the air beyond the mean wind.
    turn_north, turn_east, turn_down : float [rad/s]
        Turning of the air: the gust differs from wing tip to wing tip, from nose to tail.
    ct, cq : float
        What the propeller's tables say, see :func:`sixdof.physics.propulsion.propeller_loads`.

    Returns
    -------
    tuple of 19 float
        The rates, same order.

    Notes
    -----
    Translation in body axes, m (V' + omega x V) = F + m g; rotation by Euler's equations
    (ISO 1151; Etkin, Dynamics of Flight, ch. 4).  Forces that depend on the rate of the
    angle of attack are linear in it, so the rate is solved for, not iterated.
    """
    height = -down
    rho = density(air, height + air["elevation"])
    gx, gy, gz = to_body(q0, q1, q2, q3, 0.0, 0.0, gravity(air, height + air["elevation"]))
    U, V, W = velocity_in_air(air, down, u, v, w, q0, q1, q2, q3, gust_north, gust_east, gust_down)
    Xp, Yp, Zp, Lp, Mp, Np, omega_rate, slipstream, swirl = propeller_loads(
        plane, rho, U, V, W, p, q, r, omega, throttle, ct, cq
    )
    air_p, air_q, air_r = to_body(q0, q1, q2, q3, turn_north, turn_east, turn_down)
    Xa, Ya, Za, La, Ma, Na, X_rate, Z_rate, M_rate = aerodynamics(
        plane, rho, U, V, W, p - air_p, q - air_q, r - air_r,
        ail_right, ail_left, de, dr, df, slipstream, swirl,
    )  # fmt: skip
    per_mass = 1.0 / plane["mass"]
    X, Y, Z = (Xa + Xp) * per_mass + gx, (Ya + Yp) * per_mass + gy, (Za + Zp) * per_mass + gz
    X_rate, Z_rate = X_rate * per_mass, Z_rate * per_mass
    # alpha' (U^2 + W^2) = U W' - W U', with W' and U' of the motion through the air
    free = U * (Z - (p * V - q * U)) - W * (X - (q * W - r * V))
    alpha_rate = free / (U * U + W * W + 1e-9 - (U * Z_rate - W * X_rate))
    X += X_rate * alpha_rate
    Z += Z_rate * alpha_rate
    pdot, qdot, rdot = angular_acceleration(plane, p, q, r, La + Lp, Ma + Mp + M_rate * alpha_rate, Na + Np)
    dn, de_, dd = to_world(q0, q1, q2, q3, u, v, w)
    e0, e1, e2, e3 = quaternion_rate(q0, q1, q2, q3, p, q, r)
    return (
        dn,
        de_,
        dd,
        X - (q * w - r * v),
        Y - (r * u - p * w),
        Z - (p * v - q * u),
        e0,
        e1,
        e2,
        e3,
        pdot,
        qdot,
        rdot,
        servo_rate(to_right, ail_right, plane["aileron_lag"], plane["aileron_rate"]),
        servo_rate(to_left, ail_left, plane["aileron_lag"], plane["aileron_rate"]),
        servo_rate(to_de, de, plane["elevator_lag"], plane["elevator_rate"]),
        servo_rate(to_dr, dr, plane["rudder_lag"], plane["rudder_rate"]),
        servo_rate(to_df, df, plane["flap_lag"], plane["flap_rate"]),
        omega_rate,
    )


@kernel
def rk4_step(planes, airs, work, lanes):
    """One classical Runge-Kutta step of flights side by side.

    Parameters
    ----------
    planes, airs : array (fields, LANES)
        Numbers of the records, a column a flight.
    work : record
        :data:`sixdof.physics.lanes.LANES_DTYPE`: states ``x``, moved on here, ``targets``, ``gust``, ``growth``,
        ``dt``, ``moves``.
    lanes : int
        1 or LANES: how many fly.

    Notes
    -----
    Nothing acts back on the surfaces, so they are not integrated but known beforehand
    (:func:`sixdof.physics.servo.servo_step`), and a servo may be faster than the step.

    The tables are looked up in a loop of its own: an address that depends on the state cannot be part
    of a vector, nor what it is made of.
    """
    x, slope, stage, total = work["x"], work["slope"], work["stage"], work["total"]
    to, gust, growth, felt = work["targets"], work["gust"], work["growth"], work["felt"]
    middle, end, ct, cq = work["middle"], work["end"], work["ct"], work["cq"]
    dt, moves = work["dt"], work["moves"]
    for n in range(lanes):
        f = plane_at(planes, n)
        middle[0, n], end[0, n] = servo_step(to[0, n], x[13, n], f["aileron_lag"], f["aileron_rate"], dt[n])
        middle[1, n], end[1, n] = servo_step(to[1, n], x[14, n], f["aileron_lag"], f["aileron_rate"], dt[n])
        middle[2, n], end[2, n] = servo_step(to[2, n], x[15, n], f["elevator_lag"], f["elevator_rate"], dt[n])
        middle[3, n], end[3, n] = servo_step(to[3, n], x[16, n], f["rudder_lag"], f["rudder_rate"], dt[n])
        middle[4, n], end[4, n] = servo_step(to[4, n], x[17, n], f["flap_lag"], f["flap_rate"], dt[n])
    for i in range(N_STATE):
        for n in range(LANES):
            total[i, n] = stage[i, n] = x[i, n]
    for j in range(6):
        for n in range(LANES):
            felt[j, n] = gust[j, n]
    for k in range(4):
        for n in range(lanes):
            U, V, W = velocity_in_air(
                air_at(airs, n), stage[2, n], stage[3, n], stage[4, n], stage[5, n],
                stage[6, n], stage[7, n], stage[8, n], stage[9, n], felt[0, n], felt[1, n], felt[2, n],
            )  # fmt: skip
            ct[n] = advance(
                plane_at(planes, n), U, V, W, stage[10, n], stage[11, n], stage[12, n], stage[18, n]
            )
        for n in range(lanes):
            plane, s = plane_at(planes, n), ct[n]
            ct[n], cq[n] = table(plane["ct"][:, 0], s), table(plane["cq"][:, 0], s)
        for n in range(lanes):
            (
                slope[0, n], slope[1, n], slope[2, n], slope[3, n], slope[4, n], slope[5, n], slope[6, n],
                slope[7, n], slope[8, n], slope[9, n], slope[10, n], slope[11, n], slope[12, n],
                _, _, _, _, _, slope[18, n],
            ) = state_derivative(
                plane_at(planes, n), air_at(airs, n),
                stage[0, n], stage[1, n], stage[2, n], stage[3, n], stage[4, n], stage[5, n], stage[6, n],
                stage[7, n], stage[8, n], stage[9, n], stage[10, n], stage[11, n], stage[12, n], stage[13, n],
                stage[14, n], stage[15, n], stage[16, n], stage[17, n], stage[18, n],
                to[0, n], to[1, n], to[2, n], to[3, n], to[4, n], to[5, n],
                felt[0, n], felt[1, n], felt[2, n], felt[3, n], felt[4, n], felt[5, n], ct[n], cq[n],
            )  # fmt: skip
        weight = 1.0 / 6.0 if k == 0 or k == 3 else 1.0 / 3.0
        part = 1.0 if k == 2 else 0.5  # of the step, where the next stage stands
        for i in MOVING_ROWS:
            for n in range(LANES):
                total[i, n] += weight * dt[n] * slope[i, n]
                stage[i, n] = x[i, n] + part * dt[n] * slope[i, n]
        surfaces = end if k == 2 else middle
        for i in range(5):
            for n in range(LANES):
                stage[13 + i, n] = surfaces[i, n]
        for j in range(6):
            for n in range(LANES):
                felt[j, n] = gust[j, n] + part * growth[j, n]
    for n in range(LANES):
        q0, q1, q2, q3 = total[6, n], total[7, n], total[8, n], total[9, n]
        length = math.sqrt(q0 * q0 + q1 * q1 + q2 * q2 + q3 * q3)
        total[6, n], total[7, n], total[8, n], total[9, n] = (
            q0 / length,
            q1 / length,
            q2 / length,
            q3 / length,
        )
    for i in range(5):
        for n in range(LANES):
            total[13 + i, n] = end[i, n]
    for i in range(N_STATE):
        for n in range(LANES):
            x[i, n] = total[i, n] if moves[n] > 0.0 else x[i, n]


@kernel
def accelerations(plane, air, x, targets, out):
    """Rates (19) of a state array in air without gusts, for trim and linear models."""
    U, V, W = velocity_in_air(air, x[2], x[3], x[4], x[5], x[6], x[7], x[8], x[9], 0.0, 0.0, 0.0)
    s = advance(plane, U, V, W, x[10], x[11], x[12], x[18])
    (
        out[0], out[1], out[2], out[3], out[4], out[5], out[6], out[7], out[8], out[9],
        out[10], out[11], out[12], out[13], out[14], out[15], out[16], out[17], out[18],
    ) = state_derivative(
        plane, air,
        x[0], x[1], x[2], x[3], x[4], x[5], x[6], x[7], x[8], x[9], x[10], x[11], x[12],
        x[13], x[14], x[15], x[16], x[17], x[18],
        targets[0], targets[1], targets[2], targets[3], targets[4], targets[5],
        0.0, 0.0, 0.0, 0.0, 0.0, 0.0,
        table(plane["ct"], s), table(plane["cq"], s),
    )  # fmt: skip

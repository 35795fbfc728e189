"""The equations of motion: one pure scalar function."""

from __future__ import annotations

from sixdof.physics.aero import aerodynamics
from sixdof.physics.air import density, gravity, wind
from sixdof.physics.compile import kernel
from sixdof.physics.frames import quaternion_rate, to_body, to_world
from sixdof.physics.propulsion import propeller
from sixdof.physics.rigid import angular_acceleration
from sixdof.physics.servo import servo_rate


@kernel
def state_derivative(
    plane, air,
    north, east, down, u, v, w, q0, q1, q2, q3, p, q, r,
    ail_right, ail_left, de, dr, df, omega,
    to_right, to_left, to_de, to_dr, to_df, throttle,
    gust_north, gust_east, gust_down, gust_p, gust_q, gust_r,
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
    gust_p, gust_q, gust_r : float [rad/s]
        Turning of the air about the body axes: the gust differs from wing tip to wing tip, from nose to tail.

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
    wn, we, wd = wind(air, height)
    ax, ay, az = to_body(q0, q1, q2, q3, wn + gust_north, we + gust_east, wd + gust_down)
    U, V, W = u - ax, v - ay, w - az
    Xp, Yp, Zp, Lp, Mp, Np, omega_rate, slipstream, swirl = propeller(
        plane, rho, U, V, W, p, q, r, omega, throttle
    )
    Xa, Ya, Za, La, Ma, Na, X_rate, Z_rate, M_rate = aerodynamics(
        plane, rho, U, V, W, p - gust_p, q - gust_q, r - gust_r,
        ail_right, ail_left, de, dr, df, slipstream, swirl,
    )  # fmt: skip
    m = plane["mass"]
    X, Y, Z = (Xa + Xp) / m + gx, (Ya + Yp) / m + gy, (Za + Zp) / m + gz
    # alpha' = (U W' - W U') / (U^2 + W^2), with W' and U' of the motion through the air
    square = U * U + W * W + 1e-9
    free = (U * (Z - (p * V - q * U)) - W * (X - (q * W - r * V))) / square
    alpha_rate = free / (1.0 - (U * Z_rate - W * X_rate) / (m * square))
    X += X_rate * alpha_rate / m
    Z += Z_rate * alpha_rate / m
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
def rk4_step(plane, air, x, targets, gust, dt, slope, stage, total):
    """One classical Runge-Kutta step of the state x (19) in place, in a gust (6); three work arrays (19)."""
    for k in range(4):
        source = x if k == 0 else stage
        rates = state_derivative(
            plane, air,
            source[0], source[1], source[2], source[3], source[4], source[5], source[6],
            source[7], source[8], source[9], source[10], source[11], source[12], source[13],
            source[14], source[15], source[16], source[17], source[18],
            targets[0], targets[1], targets[2], targets[3], targets[4], targets[5],
            gust[0], gust[1], gust[2], gust[3], gust[4], gust[5],
        )  # fmt: skip
        (
            slope[0], slope[1], slope[2], slope[3], slope[4], slope[5], slope[6],
            slope[7], slope[8], slope[9], slope[10], slope[11], slope[12], slope[13],
            slope[14], slope[15], slope[16], slope[17], slope[18],
        ) = rates  # fmt: skip
        weight = dt / 6.0 if k == 0 or k == 3 else dt / 3.0
        ahead = dt if k == 2 else 0.5 * dt
        for i in range(19):
            total[i] = (x[i] if k == 0 else total[i]) + weight * slope[i]
            stage[i] = x[i] + ahead * slope[i]
    norm = (total[6] * total[6] + total[7] * total[7] + total[8] * total[8] + total[9] * total[9]) ** -0.5
    for i in range(19):
        x[i] = total[i]
    for i in range(6, 10):
        x[i] *= norm


@kernel
def accelerations(plane, air, x, targets, out):
    """Rates (19) of a state array in air without gusts, for trim and linear models."""
    (
        out[0], out[1], out[2], out[3], out[4], out[5], out[6], out[7], out[8], out[9],
        out[10], out[11], out[12], out[13], out[14], out[15], out[16], out[17], out[18],
    ) = state_derivative(
        plane, air,
        x[0], x[1], x[2], x[3], x[4], x[5], x[6], x[7], x[8], x[9], x[10], x[11], x[12],
        x[13], x[14], x[15], x[16], x[17], x[18],
        targets[0], targets[1], targets[2], targets[3], targets[4], targets[5],
        0.0, 0.0, 0.0, 0.0, 0.0, 0.0,
    )  # fmt: skip

"""Aerodynamic forces and moments from the term table, stall and slipstream included."""

from __future__ import annotations

import math

from sixdof.physics.compile import kernel
from sixdof.physics.frames import angle, clip, cross


@kernel
def soften(deflection, saturation):
    """Deflection that counts: large throws bring less and less."""
    return deflection * saturation / math.sqrt(saturation * saturation + deflection * deflection)


@kernel
def flow_angles(U, V, W):
    """Speed [m/s], angle of attack and sideslip [rad], and the cosine and sine of alpha."""
    in_plane = math.sqrt(U * U + W * W) + 1e-9
    speed = math.sqrt(U * U + V * V + W * W) + 1e-9
    share = 1.0 / in_plane
    return speed, angle(W, U), angle(V, in_plane), U * share, W * share


@kernel
def lift_to(plane, y):
    """Lift of the tailplane from its middle to y, and its moment about the middle, load a + b y^2 + c y^8."""
    a, b, c = plane["tail_load_0"], plane["tail_load_2"], plane["tail_load_8"]
    y2 = y * y
    y8 = y2 * y2 * (y2 * y2)
    lift = y * (a + b * (1.0 / 3.0) * y2 + c * (1.0 / 9.0) * y8)
    return lift, y2 * (0.5 * a + 0.25 * b * y2 + 0.1 * c * y8)


@kernel
def tail_in_stream(plane, out, turn):
    """What of the tailplane's lift stands in a slipstream that sideslip has carried aside, and the swirl there.

    Lengths over the radius of the slipstream.  It turns to lee by the angle ``turn``; its middle then stands at
    d = -way tan(turn), and the strips of the tailplane with (y - d)^2 + z^2 < 1 stand in it.  Swirl to the
    right above goes down on the right: a strip at y sees -(y - d) times the swirl at the edge.

    Parameters
    ----------
    out : float
        ``turn`` over the angle that carries the stream by its own radius.
    turn : float [rad]

    Returns
    -------
    float, float
        Lift of these strips, 1 with flow from ahead; and their mean angle for a swirl of 1 at the edge.

    Notes
    -----
    What a twist of some strips adds to the lift of the whole is the twist times the load of the plain surface
    there (reversed flow; Munk, Flax), so that what leaks to the strips beside them is counted.
    """
    d = -out * (1.0 + (1.0 / 3.0) * turn * turn)  # tangent, 1.5 % short at 32 deg
    half, wide = plane["tail_half_span"], plane["stream_half_width"]
    right, right_moment = lift_to(plane, clip(d + wide, -half, half))
    left, left_moment = lift_to(plane, clip(d - wide, -half, half))
    inside = right - left
    return inside, d * inside - (right_moment - left_moment)


@kernel
def aerodynamics(plane, rho, U, V, W, p, q, r, ail_right, ail_left, de, dr, df, slipstream, swirl):
    """Air forces and moments about the CG, without and by angle-of-attack rate.

    Parameters
    ----------
    U, V, W : float [m/s]
        Velocity of the CG through the air, body axes.
    p, q, r : float [rad/s]
    ail_right, ail_left, de, dr, df : float [rad]
        Surfaces, ISO 1151 sense.
    slipstream, swirl : float [m/s], [rad]
        Of the propeller, see :func:`sixdof.physics.propulsion.propeller_loads`.

    Returns
    -------
    X, Y, Z [N], L, M, N [N m], and Z_rate, X_rate [N s], M_rate [N m s] per alpha-rate.

    Notes
    -----
    Lift and drag along wind axes, drag along -V; side force along body y without the
    drag component.  Rates enter as V times the rate hat, finite at V = 0.
    """
    # the coefficients know the motion of their reference point
    du, dv, dw = cross(p, q, r, plane["ref_x"], plane["ref_y"], plane["ref_z"])
    U, V, W = U + du, V + dv, W + dw
    speed, alpha, beta, ca, sa = flow_angles(U, V, W)
    qbar = 0.5 * rho * speed * speed
    half = 0.5 * rho * speed  # times V*hat(rate)
    S, b, c = plane["S"], plane["b"], plane["c"]
    pb, qc, rb = 0.5 * p * b, 0.5 * q * c, 0.5 * r * b
    da = soften(0.5 * (ail_right - ail_left), plane["saturation_aileron"])
    ds = 0.5 * (ail_right + ail_left)
    de = soften(de, plane["saturation_elevator"])
    dr = soften(dr, plane["saturation_rudder"])
    b2 = beta * beta

    # stall: the share that is flat plate, 0 in the whole linear range
    x = (abs(alpha) - plane["alpha_stall"]) / (plane["alpha_plate"] - plane["alpha_stall"])
    x = clip(x, 0.0, 1.0)
    plate = x * x * (3.0 - 2.0 * x)
    CD90 = plane["CD90"]

    # static sums
    linear = (
        plane["CL0"] + plane["CLa"] * alpha + plane["CLde"] * de + plane["CLdf"] * df + plane["CLds"] * ds
    )
    CL = (1.0 - plate) * linear + plate * CD90 * sa * ca
    over = linear - plane["CLmind"]
    CD = (
        plane["CD0"]
        + (1.0 - plate) * (plane["CDk"] * over * over + plane["CDa"] * alpha + plane["CDa2"] * alpha * alpha)
        + plate * CD90 * sa * sa
        + plane["CDb2"] * b2
        + plane["CDda2"] * da * da
        + plane["CDde"] * de
        + plane["CDde2"] * de * de
        + (plane["CDdr2"] * dr + plane["CDbdr"] * beta) * dr
        + plane["CDdf"] * df
    )
    CY = plane["CY0"] + (plane["CYb"] + plane["CYb3"] * b2) * beta + plane["CYda"] * da + plane["CYdr"] * dr
    Cl = (
        plane["Cl0"]
        + (plane["Clb"] + plane["Clba"] * alpha) * beta
        + plane["Clda"] * da
        + (plane["Cldr"] + plane["Clbdr"] * beta + plane["Cldr2"] * dr) * dr
    )
    Cm = (
        plane["Cm0"]
        + plane["Cma"] * ((1.0 - plate) * alpha + plate * sa)
        + plane["Cmde"] * de
        + plane["Cmdf"] * df
        + plane["Cmds"] * ds
        + (plane["Cmb2"] + plane["Cmb4"] * b2) * b2
        + (plane["Cmdr2"] * dr + plane["Cmbdr"] * beta) * dr
    )
    Cn = (
        plane["Cn0"]
        + (plane["Cnb"] + plane["Cnb3"] * b2) * beta
        + (plane["Cnda"] + plane["CndaCL"] * linear + plane["Cndads"] * ds) * da
        + plane["Cndr"] * dr
    )
    lift = S * (qbar * CL + half * plane["CLq"] * qc)
    drag = S * qbar * CD
    Y = S * (qbar * CY + half * (plane["CYp"] * pb + plane["CYr"] * rb))
    L = S * b * (qbar * Cl + half * (plane["Clp"] * pb + (plane["Clr"] + plane["ClrCL"] * linear) * rb))
    M = S * c * (qbar * Cm + half * plane["Cmq"] * qc)
    N = S * b * (qbar * Cn + half * ((plane["Cnp"] + plane["CnpCL"] * linear) * pb + plane["Cnr"] * rb))

    # slipstream, as far as they still stand in it: on deflections and built-in angles (q_s - q) more; on
    # the speed across, which the stream keeps while it is blown straighter, rho (V_s - V)/2
    faster = 0.5 * rho * max(slipstream - speed, 0.0)
    stream = slipstream + speed + 1e-9
    more = faster * stream
    aside = 2.0 * speed / stream  # angle at which the stream is carried, over that of the free flow
    out = aside / plane["immersion_angle"]
    a_out, b_out = out * out * alpha * alpha, out * out * b2
    left_in = 1.0 / (1.0 + a_out)
    wing = S * plane["stream_lift"] * left_in * (more * plane["stream_alpha0"] + faster * speed * alpha)
    lift += wing
    L += wing * plane["stream_arm"] * aside * beta  # to the lee half of the wing
    fade = 1.0 / (1.0 + a_out + b_out)
    inside, turned = tail_in_stream(plane, out * beta, aside * beta)
    swirl = 0.5 * rho * slipstream * slipstream * swirl
    tail = more * plane["tail_alpha0"] + faster * (
        plane["tail_alpha"] * alpha * speed + q * plane["tail_arm"]
    )
    immersed = plane["immersion_tailplane"] * inside
    tail = immersed * tail + plane["tail_swirl"] * plane["swirl_tailplane"] * turned * swirl
    tail = left_in * (immersed * more * de + tail / plane["tau_elevator"])
    lift += S * plane["CLde"] * tail
    M += S * c * plane["Cmde"] * tail
    fin = more * plane["fin_beta0"] + faster * (beta * speed - r * plane["fin_arm"])
    fin -= plane["swirl_recovered"] * swirl
    fin = plane["immersion_fin"] * fade * (more * dr - fin / plane["tau_rudder"])
    Y += S * plane["CYdr"] * fin
    L += S * b * plane["Cldr"] * fin
    N += S * b * plane["Cndr"] * fin

    # to body axes
    against = drag / speed
    X = lift * sa - against * U
    Y -= against * V
    Z = -lift * ca - against * W
    # angle-of-attack rate: coefficient * alphadot c / 2V
    lift_rate = 0.5 * half * c * S * plane["CLad"]
    X_rate = lift_rate * sa
    Z_rate = -lift_rate * ca
    M_rate = 0.5 * half * c * S * c * plane["Cmad"]
    # from the reference point to the CG
    mx, my, mz = cross(plane["ref_x"], plane["ref_y"], plane["ref_z"], X, Y, Z)
    M_rate += plane["ref_z"] * X_rate - plane["ref_x"] * Z_rate
    return X, Y, Z, L + mx, M + my, N + mz, X_rate, Z_rate, M_rate

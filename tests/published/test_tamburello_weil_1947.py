"""Power and directional stability: Tamburello & Weil, NACA TN 1327, 1947 (abstract read).

A single-engine low-wing model in the tunnel: power increases directional stability and decreases the
dihedral effect, which comes from the slipstream that sideslip carries to the lee half of the wing.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from support import agree, plane_of

from sixdof.airframe.load import load_airframe
from sixdof.flight.airplane import Airplane
from sixdof.physics.aero import aerodynamics
from sixdof.physics.propulsion import propeller
from sixdof.validation.chain import FILES

RHO, V = 1.225, 25.0


def _plane(immersion):
    return plane_of(
        4.5, (0.3, 0.5, 0.7), 0.6, 1.9, 0.32, CYb=-0.5, Cnb=0.07, CYdr=0.2, Cndr=-0.09, Cnr=-0.1,
        immersion_fin=immersion, tau_rudder=0.6, immersion_angle=0.25, fin_arm=0.9, swirl_recovered=0.5,
    )  # fmt: skip


def _yaw(plane, beta, slipstream, swirl=0.0):
    v = (V * math.cos(beta), V * math.sin(beta), 0.0)
    return aerodynamics(plane, RHO, *v, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, slipstream, swirl)[5]


def test_tamburello_weil_1947_power_adds_directional_stability():
    """Fin in the stream: more Cn_beta with power; none out of it.

    The stream keeps the speed across of the free flow, so the fin sees q_s, but beta V/V_s: the gain is
    (V_s/V - 1) of the fin's share.
    """
    beta, qSb = 0.01, 0.5 * RHO * V**2 * 0.6 * 1.9

    def slope(plane, slipstream):
        return (_yaw(plane, beta, slipstream) - _yaw(plane, -beta, slipstream)) / (2.0 * beta * qSb)

    bare, dry, wet = slope(_plane(0.7), V), slope(_plane(0.0), 1.5 * V), slope(_plane(0.7), 1.5 * V)
    agree("Cn_beta without power", bare, 0.07, share=1e-6)
    agree("Cn_beta, fin out of the stream", dry, 0.07, share=1e-6)
    fin = 0.09 / 0.6  # -Cndr / tau: the fin's own share
    fade = 1.0 / (1.0 + (beta / 1.25 / 0.25) ** 2)
    agree("Cn_beta with power", wet, 0.07 + 0.7 * fade * 0.5 * fin, share=1e-6)
    assert wet > bare


def test_fin_leaves_the_stream_in_knife_edge():
    """Half of the gain is left where the stream, at the mean of both speeds, is carried off by the immersion angle."""
    plane = _plane(0.7)
    gain = [(_yaw(plane, beta, 1.5 * V) - _yaw(plane, beta, V)) / beta for beta in (1e-3, 0.25 * 1.25)]
    agree("share left", gain[1] / gain[0], 0.5, share=1e-4)


def test_swirl_yaws_left():
    """Clockwise from behind: the stream above the axis comes from the left, meets the fin there, nose left."""
    plane = _plane(0.7)
    assert _yaw(plane, 0.0, 1.5 * V, 0.1) < 0.0 < _yaw(plane, 0.0, 1.5 * V, -0.1)
    agree("bare", _yaw(plane, 0.0, 1.5 * V, 0.0), 0.0, within=1e-12)


# ---- whole airplanes, propeller included


def _sideslip(plane, throttle, *, beta, speed):
    """Roll and yaw coefficients over beta at a steady sideslip, at the angle of attack of level flight."""
    S, b = plane["S"], plane["b"]
    q = 0.5 * RHO * speed**2
    alpha = (plane["mass"] * 9.81 / (q * S) - plane["CL0"]) / plane["CLa"]

    def moments(beta, omega):
        air = (
            np.array([math.cos(beta) * math.cos(alpha), math.sin(beta), math.cos(beta) * math.sin(alpha)])
            * speed
        )
        power = propeller(plane, RHO, *air, 0.0, 0.0, 0.0, omega, throttle)
        wings = aerodynamics(plane, RHO, *air, *[0.0] * 8, power[7], power[8])
        return np.add(wings[3:6:2], power[3:6:2]) / (q * S * b), power[6]

    turning = moments(0.0, 0.1)[1] > 0.0
    omega = brentq(lambda omega: moments(0.0, omega)[1], 0.1, 3000.0) if turning else 0.0
    return (moments(beta, omega)[0] - moments(-beta, omega)[0]) / (2.0 * beta)


@pytest.mark.parametrize("name", ["corvane", "fenlark", "tessel", "navion"])
def test_power_of_whole_airplanes(name):
    """Idle against full throttle, slow, 15 deg of sideslip: Cl_beta less negative, Cn_beta larger."""
    airframe = load_airframe(FILES / f"{name}.yaml" if name == "navion" else name)
    plane = Airplane(airframe).planes[0]
    at = dict(beta=math.radians(15.0), speed=0.6 * plane["cruise"])
    (roll_idle, yaw_idle), (roll, yaw) = (_sideslip(plane, throttle, **at) for throttle in (0.0, 1.0))
    assert roll_idle < roll < 0.0, f"Cl_beta: idle {roll_idle:.4f}, full throttle {roll:.4f}"
    assert 0.0 < yaw_idle < yaw, f"Cn_beta: idle {yaw_idle:.4f}, full throttle {yaw:.4f}"


@pytest.mark.parametrize("name", ["corvane", "fenlark", "tessel"])
def test_slipstream_on_the_wing(name):
    """Its roll is its lift times how far sideslip carries it: arm tan(beta), less as the stream is faster."""
    plane = Airplane(load_airframe(name)).planes[0]
    for field in ("immersion_fin", "immersion_tailplane"):
        plane[field] = 0.0
    alpha, beta, faster = math.radians(6.0), math.radians(5.0), 1.6
    air = V * math.cos(alpha) * math.cos(beta), V * math.sin(beta), V * math.sin(alpha) * math.cos(beta)
    for axis in "xyz":
        plane[f"ref_{axis}"] = 0.0
    wet, dry = (np.array(aerodynamics(plane, RHO, *air, *[0.0] * 8, k * V, 0.0)[:6]) for k in (faster, 0.0))
    more = wet - dry
    lift = more[0] * math.sin(alpha) - more[2] * math.cos(alpha)
    carried = plane["stream_arm"] * math.tan(beta) / (0.5 * (1.0 + faster))
    agree("place of the lift [m], + left", more[3] / lift, carried, share=0.01, source="momentum")
    share = lift / (0.5 * RHO * V**2 * plane["S"] * plane["CLa"] * alpha)
    assert 0.02 < share < 0.5, f"lift that the stream adds over that of the wing: {share:.3f}"

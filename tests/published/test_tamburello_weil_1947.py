"""Power and directional stability: Tamburello & Weil, NACA TN 1327, 1947 (abstract read).

A single-engine low-wing model in the tunnel: power increases directional stability.  It also
decreases the dihedral effect; that comes from the slipstream moving over the wing, which this model
does not have, and is not checked.
"""

from __future__ import annotations

import math

from support import agree, plane_of

from sixdof.physics.aero import aerodynamics

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

"""The unstable moment of a body in a perfect fluid.

Munk, The aerodynamic forces on airship hulls, NACA TR 184, 1924 (from memory): dM/dalpha = 2 q Vol (k2 - k1).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from bodies import CHORD, DIAMETER, LENGTH, SPAN, S, airplane, box, loads, slope, spheroid
from support import agree

from sixdof.estimate.body import spheroid_factor

MUNK = "Munk, NACA TR 184 (memory)"
VOLUME = math.pi / 6.0 * DIAMETER**2 * LENGTH


def _ones(x):
    return np.ones_like(x)


def test_spheroid_in_pitch():
    """The wing's chord shrunk to nothing and its flow switched off; 0.2 % for the strips."""
    plane = airplane(spheroid, chord=1e-6)
    found = slope(plane, "Cm", "alpha", upwash=_ones)
    agree(
        "Cma",
        found,
        2.0 * spheroid_factor(LENGTH / DIAMETER) * VOLUME / (S * CHORD),
        share=0.002,
        source=MUNK,
    )


@pytest.mark.parametrize("alpha_deg", [5.0, 20.0, 45.0])
def test_spheroid_at_large_angles(alpha_deg):
    """Without crossflow the moment goes by sin 2 alpha, and there is no force."""
    alpha = math.radians(alpha_deg)
    found = loads(airplane(spheroid, chord=1e-6), part="pitch", upwash=_ones, alpha=alpha)[0]
    exact = spheroid_factor(LENGTH / DIAMETER) * VOLUME / (S * CHORD) * math.sin(2.0 * alpha)
    agree("Cm", found[4], exact, share=0.002, source=MUNK)
    agree("CZ", found[2], 0.0, within=1e-9, source=MUNK)


def test_spheroid_in_yaw_with_its_flow_cut():
    """Where the flow lets go behind, Munk's moment keeps what lies ahead and gains the force left there."""
    plane = airplane(spheroid)
    k = spheroid_factor(LENGTH / DIAMETER)
    x0 = 0.5 * LENGTH * (1.0 + math.sqrt(1.0 - _end_area(plane, k) / (0.25 * math.pi * DIAMETER**2)))
    agree("x0/L near the tail", x0 / LENGTH, 0.88, within=0.04, source="x1 near the tail")
    # integral of the area from the nose to x0, x from the nose
    ahead = 0.25 * math.pi * DIAMETER**2 * (2.0 * x0**2 / LENGTH - 4.0 * x0**3 / (3.0 * LENGTH**2))
    left = _end_area(plane, k) * (x0 - 0.5 * LENGTH)
    found = slope(plane, "Cn", "beta", part="yaw")
    agree("Cnb", found, -2.0 * k * (ahead - left) / (S * SPAN), share=0.005, source=MUNK)
    uncut = -2.0 * k * VOLUME / (S * SPAN)
    assert uncut < found < 0.0, (uncut, found)


def _end_area(plane, k):
    """Section [m2] where the flow ends, from the side force it leaves."""
    return -slope(plane, "CY", "beta", part="yaw") * S / (2.0 * k)


def test_box_in_yaw():
    """A body that falls nowhere keeps its flow to the end: all of its force is at the nose."""
    plane = airplane(box)
    force = 2.0 * spheroid_factor(LENGTH / DIAMETER) * 0.25 * math.pi * DIAMETER**2 / S
    agree("CYb", slope(plane, "CY", "beta", part="yaw"), -force, share=1e-5, source=MUNK)
    agree(
        "Cnb", slope(plane, "Cn", "beta", part="yaw"), -force * 0.5 * LENGTH / SPAN, share=1e-5, source=MUNK
    )

"""Handbook methods for bodies and flaps.

USAF Stability and Control DATCOM, 1978.  4.2.1.1 and 5.2.1.1: side force of a body; 5.2.2.1: wing height and
roll; 5.2.3.1 as in Nelson, Flight Stability and Automatic Control, figures 2.28 and 2.29: yaw; figure 6.1.1.1-40:
plain flaps.  All from memory but K_i, read in a transcription.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from bodies import LENGTH, SPAN, S, airplane, slope
from support import agree

from sixdof.airframe.load import load_airframe
from sixdof.estimate.body import fin_in_sideslip, spheroid_factor, wing_body_roll
from sixdof.estimate.section import FLAP_SMALL, SATURATION, flap_effectiveness
from sixdof.physics.aero import soften

DATCOM = "DATCOM (memory)"
FALL = 0.6  # share of the length where the body below narrows at once


def _stepped(x):
    """Deep in front, slender behind, the fall within 2 % of the length."""
    return np.interp(x / LENGTH, [0.0, 0.1, FALL - 0.01, FALL + 0.01, 1.0], [0.1, 0.25, 0.25, 0.15, 0.15])


@pytest.mark.parametrize(("wing_up", "factor"), [(0.0, 1.0), (0.125, 1.85), (-0.125, 1.5)])
def test_side_force_of_the_body(wing_up, factor):
    """-2 K_i S0/S with S0 at x0/L = .378 + .527 x1/L, here in the slender rear; times our k2 - k1."""
    plane = airplane(_stepped, wing_up=wing_up, quarter=0.3)
    x0 = 0.378 + 0.527 * FALL
    assert x0 > FALL + 0.01
    S0 = 0.25 * math.pi * 0.15**2
    exact = -2.0 * factor * S0 / S * spheroid_factor(LENGTH / 0.25)
    agree("CYb", slope(plane, "CY", "beta", part="yaw"), exact, share=0.005, source=DATCOM)


@pytest.mark.parametrize("name", ["corvane", "fenlark"])
def test_yaw_of_the_demo_bodies(name):
    """Cn_beta = -57.3 K_N (S_side/S)(L/b) with K_N .001 to .003, wing and body together."""
    plane = load_airframe(name)
    x, height = np.array([(-s.x, s.bottom - s.top) for s in plane.body]).T
    args = dict(point=plane.wing.quarter_chord, part="yaw")
    found = slope(plane, "Cn", "beta", **args) * S * SPAN / np.trapezoid(height, x) / (x[-1] - x[0])
    K_N = -found * math.pi / 180.0
    agree("K_N", K_N, 0.002, within=0.001, source=DATCOM)


def test_roll_by_wing_height():
    """Worked by hand: A 6, b 2 m, wing 60 mm above the middle of a body 200 mm square: -.0706 times .4 m z."""
    chord = 1.0 / 3.0
    plane = airplane(lambda x: np.full_like(x, 0.2), chord=chord, wing_up=0.06)
    by_hand = -1.2 * math.sqrt(6.0) * 0.06 * 0.4 / 4.0
    agree("Clb", wing_body_roll(plane, b=2.0), by_hand, share=1e-6, source=DATCOM)


def test_roll_by_dihedral_on_the_body():
    """-.0005 A (d/b)^2 per deg^2: A 6, d/b .1, 5 deg of dihedral give -.00015 per deg."""
    plane = airplane(lambda x: np.full_like(x, 0.2), chord=1.0 / 3.0, wing_up=0.0, dihedral=math.radians(5.0))
    # the tilted panel is narrower from above: 0.4 % of the aspect ratio
    found = wing_body_roll(plane, b=2.0)
    agree("Clb per deg", found * math.pi / 180.0, -0.0005 * 6.0 * 0.1**2 * 5.0, share=0.005, source=DATCOM)


@pytest.mark.parametrize(("wing_up", "by_hand"), [(0.0, 0.0), (0.06, -0.4 * 0.3), (-0.06, 0.4 * 0.3)])
def test_sidewash_at_the_fin(wing_up, by_hand):
    """.724 + 3.06 (S_v/S)/(1 + cos sweep) + .4 z/d + .009 A: A 6, wing .3 d above the middle, then below.

    As many transcriptions have it (read); a high wing takes a seventh of the fin's sideslip, a low one adds it.
    """
    plane = airplane(lambda x: np.full_like(x, 0.2), chord=1.0 / 3.0, wing_up=wing_up)
    fin = plane.fin
    panel = fin.panels[0]
    back = panel.sweep + 0.25 * (panel.tip_chord - panel.root_chord)
    cosine = panel.span / math.hypot(panel.span, back)
    exact = 0.724 + 3.06 * fin.area / plane.wing.area / (1.0 + cosine) + by_hand + 0.054
    agree("(1 + d sigma/d beta) q_v/q", fin_in_sideslip(plane), exact, within=1e-6, source="DATCOM 5.4.1")


# deflection [deg]: share of the thin-aerofoil effect of a plain sealed flap, E about .3, +-0.07
FLAP = {10.0: 0.875, 15.0: 0.8, 20.0: 0.7, 30.0: 0.6, 40.0: 0.5, 50.0: 0.5}


@pytest.mark.parametrize("deflection", FLAP)
def test_plain_flap(deflection):
    found = float(flap_effectiveness(math.radians(deflection)))
    agree("share", found, FLAP[deflection], within=0.015, source=DATCOM)


@pytest.mark.parametrize("deflection", FLAP)
def test_plain_flap_as_flights_have_it(deflection):
    """The form of the kernel keeps within what the figure is good for, 0.07."""
    d = math.radians(deflection)
    found = FLAP_SMALL * soften(d, SATURATION) / d
    agree("share", found, FLAP[deflection], within=0.07, source=DATCOM)

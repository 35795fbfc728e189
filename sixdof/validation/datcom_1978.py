"""Handbook methods for bodies and flaps.

USAF Stability and Control DATCOM, 1978.  4.2.1.1 and 5.2.1.1: side force of a body; 5.2.2.1: wing height and roll;
5.2.3.1 as in Nelson, Flight Stability and Automatic Control, figures 2.28 and 2.29: yaw; 5.4.1: sidewash; figure
6.1.1.1-40: plain flaps.  All from memory but K_i and the sidewash, second hand.
"""

from __future__ import annotations

import math
from functools import partial

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.estimate.body import fin_in_sideslip, spheroid_factor, wing_body_roll
from sixdof.estimate.section import FLAP_SMALL, SATURATION, flap_effectiveness
from sixdof.physics.aero import soften
from sixdof.validation.bodies import LENGTH, SPAN, S, airplane, demo, slope
from sixdof.validation.check import Check

FALL = 0.6  # share of the length where the body below narrows at once
#: Wing above the middle of the body [m]: K_i.
SIDE_FORCE = {0.0: 1.0, 0.125: 1.85, -0.125: 1.5}
#: K_N of bodies, .001 to .003 per deg.
K_N = (0.001, 0.003)
#: Wing above the middle of a body 200 mm square [m]: what the sidewash gets from it, .4 z/d.
SIDEWASH = {0.0: 0.0, 0.06: -0.4 * 0.3, -0.06: 0.4 * 0.3}
#: Deflection [deg]: share of the thin-aerofoil effect of a plain sealed flap, E about .3, +-0.07.
FLAP = {10.0: 0.875, 15.0: 0.8, 20.0: 0.7, 30.0: 0.6, 40.0: 0.5, 50.0: 0.5}

_row = partial(Check, "Bodies and flaps, DATCOM 1978", tag="memory")


def _stepped(x: np.ndarray) -> np.ndarray:
    """Deep in front, slender behind, the fall within 2 % of the length."""
    return np.interp(x / LENGTH, [0.0, 0.1, FALL - 0.01, FALL + 0.01, 1.0], [0.1, 0.25, 0.25, 0.15, 0.15])


def _square(wing_up: float = 0.0, dihedral: float = 0.0) -> Airframe:
    """A 6, b 2 m, a body 200 mm square."""
    return airplane(lambda x: np.full_like(x, 0.2), chord=1.0 / 3.0, wing_up=wing_up, dihedral=dihedral)


def checks() -> list[Check]:
    """Side force, yaw and roll of bodies, sidewash at the fin, plain flaps."""
    return [*_side_force(), *_yaw(), *_roll(), *_sidewash(), *_flaps()]


def _side_force() -> list[Check]:
    """-2 K_i S0/S with S0 at x0/L = .378 + .527 x1/L, here in the slender rear; times our k2 - k1."""
    S0, k = 0.25 * math.pi * 0.15**2, spheroid_factor(LENGTH / 0.25)

    def found(wing_up: float) -> float:
        return slope(airplane(_stepped, wing_up=wing_up, quarter=0.3), "CY", "beta", part="yaw")

    why = "121 stations"
    return [
        _row(f"body, wing {1e3 * up:g} mm up: CYb", -2.0 * K_i * S0 / S * k, partial(found, up), tag="second hand",
             share=0.005, why=why)
        for up, K_i in SIDE_FORCE.items()
    ]  # fmt: skip


def _yaw() -> list[Check]:
    """Cn_beta = -57.3 K_N (S_side/S)(L/b), wing and body together."""

    def found(name: str) -> float:
        plane = demo(name)
        x, height = np.array([(-s.x, s.bottom - s.top) for s in plane.body]).T
        Cnb = slope(plane, "Cn", "beta", part="yaw", point=plane.wing.quarter_chord)
        return float(-Cnb * S * SPAN / np.trapezoid(height, x) / (x[-1] - x[0]) * math.pi / 180.0)

    return [
        _row(f"body of {name}: K_N per deg", K_N, partial(found, name)) for name in ("corvane", "fenlark")
    ]


def _roll() -> list[Check]:
    """By wing height, -1.2 sqrt(A) z 2 w/b^2; by dihedral on the body, -.0005 A (d/b)^2 per deg^2."""
    by_height = -1.2 * math.sqrt(6.0) * 0.06 * 0.4 / 4.0
    by_dihedral = -0.0005 * 6.0 * 0.1**2 * 5.0

    def roll() -> float:
        return wing_body_roll(_square(dihedral=math.radians(5.0)), b=2.0) * math.pi / 180.0

    why = "the tilted panel is narrower from above"
    return [
        _row(
            "wing 60 mm up on a body of 200: Clb",
            by_height,
            lambda: wing_body_roll(_square(0.06), b=2.0),
            share=1e-6,
        ),
        _row("5 deg of dihedral on it: Clb per deg", by_dihedral, roll, share=0.005, why=why),
    ]


def _sidewash() -> list[Check]:
    """(1 + d sigma/d beta) q_v/q = .724 + 3.06 (S_v/S)/(1 + cos sweep) + .4 z/d + .009 A, second hand.

    A high wing takes a seventh of the fin's sideslip, a low one adds it.
    """

    def by_hand(plane: Airframe, height: float) -> float:
        panel = plane.fin.panels[0]
        back = panel.sweep + 0.25 * (panel.tip_chord - panel.root_chord)
        cosine = panel.span / math.hypot(panel.span, back)
        return 0.724 + 3.06 * plane.fin.area / plane.wing.area / (1.0 + cosine) + height + 0.009 * 6.0

    return [
        _row(f"sideslip at the fin, wing {1e3 * up:g} mm up", by_hand(_square(up), height),
             lambda up=up: fin_in_sideslip(_square(up)), tag="second hand", within=1e-6)
        for up, height in SIDEWASH.items()
    ]  # fmt: skip


def _flaps() -> list[Check]:
    rows = []
    for degrees, share in FLAP.items():
        d = math.radians(degrees)
        why = "read off a curve that is good for 0.07"
        rows.append(
            _row(
                f"plain flap at {degrees:g} deg", share, partial(flap_effectiveness, d), within=0.015, why=why
            )
        )
        flown = FLAP_SMALL * soften(d, SATURATION) / d
        why = "one smooth form for all angles; the curve is good for 0.07"
        rows.append(_row(f"plain flap at {degrees:g} deg, as flown", share, flown, within=0.07, why=why))
    return rows

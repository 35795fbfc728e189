"""The body in the flow of its wing.

Multhopp, Aerodynamics of the fuselage, NACA TM 1036, 1942 (abstract read, the rest from memory):
Cma = pi/(2 S c) integral of w^2 (1 + d eps/d alpha) dx; we multiply by k2 - k1 of a spheroid.
"""

from __future__ import annotations

import numpy as np
import pytest
from bodies import CHORD, DIAMETER, LENGTH, S, airplane, box, slope, tapered
from support import agree

from sixdof.airframe.load import load_airframe
from sixdof.estimate.body import spheroid_factor, wing_flow

MULTHOPP = "Multhopp, NACA TM 1036 (memory)"


@pytest.mark.parametrize("airplane_name", ["corvane", "fenlark"])
@pytest.mark.parametrize(("ahead", "curve"), [(0.2, 1.6), (1.0, 1.17)])
def test_flow_ahead_of_the_wing(airplane_name, ahead, curve):
    """His curve, distances in root chords; within 0.12, as the aspect ratio is not his."""
    plane = load_airframe(airplane_name)
    x = plane.wing.root[0] + ahead * plane.wing.panels[0].root_chord
    agree("1 + d eps/d alpha", float(wing_flow(plane)(x)), curve, within=0.12, source=MULTHOPP)


@pytest.mark.parametrize("quarter", [0.2, 0.35, 0.6])
@pytest.mark.parametrize("shape", [box, tapered])
def test_strips_are_the_integral(shape, quarter):
    """Summed by forces here, by widths there; 0.5 %."""
    plane = airplane(shape, quarter=quarter)
    leading = -plane.wing.root[0]
    trailing = leading + plane.wing.panels[0].root_chord
    total = 0.0
    for start, stop in ((0.0, leading), (trailing, LENGTH)):
        x = np.linspace(start + 1e-6, stop - 1e-6, 4001)
        total += np.trapezoid(shape(x) ** 2 * wing_flow(plane)(-x), x)
    fineness = LENGTH / float(np.max(shape(np.linspace(0.0, LENGTH, 121))))
    exact = np.pi / (2.0 * S * CHORD) * total * spheroid_factor(fineness)
    agree("Cma", slope(plane, "Cm", "alpha", part="pitch"), exact, share=0.005, source=MULTHOPP)


def test_box_with_the_wing_at_35_percent():
    """Over w^2 L/(S c) a body of one width has about .9, without k2 - k1 (computed); within 10 %."""
    found = slope(airplane(box), "Cm", "alpha", part="pitch") * S * CHORD / (DIAMETER**2 * LENGTH)
    agree("K", found / spheroid_factor(LENGTH / DIAMETER), 0.9, share=0.10, source="computed")

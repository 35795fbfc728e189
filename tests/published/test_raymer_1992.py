"""Yaw of a body by volume.

Raymer, Aircraft Design: A Conceptual Approach, 2nd ed. 1992, Eq. 16.50, after Torenbeek (read in a
transcription): Cn_beta = -1.3 Vol/(S b) (h/w).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from bodies import SPAN, S, airplane, load_airframe, slope, tapered
from support import agree

from sixdof.estimate.body import DOUBT

RAYMER = "Raymer, Eq. 16.50 (transcription)"


def _check(plane, share):
    x, height, width = np.array([(-s.x, s.bottom - s.top, s.width) for s in plane.body]).T
    volume = 0.25 * math.pi * np.trapezoid(height * width, x)
    quick = -1.3 * volume / (S * SPAN) * height.max() / width.max()
    found = slope(plane, "Cn", "beta", part="yaw", point=plane.wing.quarter_chord)
    agree("Cnb", found, quick, share=share, source=RAYMER)


@pytest.mark.parametrize("deep", [1.0, 1.3])
def test_tapered_body(deep):
    """Within our own doubt of the part."""
    _check(airplane(lambda x: deep * tapered(x), tapered, quarter=0.3), DOUBT["yaw"])


@pytest.mark.parametrize(("name", "share"), [("fenlark", 0.30), ("corvane", 0.35)])
def test_demo_bodies(name, share):
    """Corvane, deep behind the wing, misses our doubt of 30 % by 2: the side area behind steadies it more."""
    _check(load_airframe(name), share)

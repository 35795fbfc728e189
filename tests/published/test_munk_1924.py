"""The unstable moment of a body beyond its numbers: ``sixdof/validation/munk_1924.py``."""

from __future__ import annotations

import math

import numpy as np
import pytest
from support import agree

from sixdof.validation.bodies import LENGTH, SPAN, S, airplane, loads, slope, spheroid
from sixdof.validation.munk_1924 import FACTOR, VOLUME, end_of_flow


@pytest.mark.parametrize("alpha_deg", [5.0, 20.0, 45.0])
def test_spheroid_has_no_force(alpha_deg):
    """Without crossflow there is a moment and no force."""
    bare = airplane(spheroid, chord=1e-6)
    found = loads(bare, part="pitch", upwash=np.ones_like, alpha=math.radians(alpha_deg))[0]
    agree("CZ", found[2], 0.0, within=1e-9, source="Munk, NACA TR 184 (memory)")


def test_flow_is_cut_near_the_tail():
    plane = airplane(spheroid)
    agree("x0/L near the tail", end_of_flow(plane) / LENGTH, 0.88, within=0.04, source="x1 near the tail")
    found, uncut = slope(plane, "Cn", "beta", part="yaw"), -2.0 * FACTOR * VOLUME / (S * SPAN)
    assert uncut < found < 0.0, (uncut, found)

"""Yaw of a body by volume.

Raymer, Aircraft Design: A Conceptual Approach, 2nd ed. 1992, Eq. 16.50, after Torenbeek (second hand):
Cn_beta = -1.3 Vol/(S b) (h/w).
"""

from __future__ import annotations

import math
from functools import partial

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.estimate.body import DOUBT
from sixdof.validation.bodies import SPAN, S, airplane, demo, slope, tapered
from sixdof.validation.check import Check


def quick(plane: Airframe) -> float:
    """His rule."""
    x, height, width = np.array([(-s.x, s.bottom - s.top, s.width) for s in plane.body]).T
    volume = 0.25 * math.pi * np.trapezoid(height * width, x)
    return float(-1.3 * volume / (S * SPAN) * height.max() / width.max())


def checks() -> list[Check]:
    """Plain bodies and those of the demos."""
    row = partial(
        Check, "Yaw of bodies by volume, Raymer 1992, Eq. 16.50", tag="second hand", share=DOUBT["yaw"]
    )
    planes = {
        "tapered body": airplane(tapered, tapered, quarter=0.3),
        "deeper by 1.3": airplane(lambda x: 1.3 * tapered(x), tapered, quarter=0.3),
        "fenlark": demo("fenlark"),
        "corvane": demo("corvane"),
    }
    why = "the doubt that we give this part"
    return [
        row(f"{name}: Cnb", quick(plane),
            lambda plane=plane: slope(plane, "Cn", "beta", part="yaw", point=plane.wing.quarter_chord), why=why)
        for name, plane in planes.items()
    ]  # fmt: skip

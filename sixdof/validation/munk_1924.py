"""The unstable moment of a body in a perfect fluid.

Munk, The aerodynamic forces on airship hulls, NACA TR 184, 1924 (from memory): dM/dalpha = 2 q Vol (k2 - k1).
"""

from __future__ import annotations

import math
from functools import partial

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.estimate.body import spheroid_factor
from sixdof.validation.bodies import CHORD, DIAMETER, LENGTH, SPAN, S, airplane, box, loads, slope, spheroid
from sixdof.validation.check import Check

VOLUME = math.pi / 6.0 * DIAMETER**2 * LENGTH
FACTOR = spheroid_factor(LENGTH / DIAMETER)


def _ones(x: np.ndarray) -> np.ndarray:
    return np.ones_like(x)


def end_area(plane: Airframe) -> float:
    """Section [m2] where the flow ends, from the side force it leaves."""
    return -slope(plane, "CY", "beta", part="yaw") * S / (2.0 * FACTOR)


def end_of_flow(plane: Airframe) -> float:
    """Its place from the nose of a spheroid [m]."""
    return 0.5 * LENGTH * (1.0 + math.sqrt(1.0 - end_area(plane) / (0.25 * math.pi * DIAMETER**2)))


def cut_moment(plane: Airframe) -> float:
    """Cn_beta where the flow lets go behind: Munk's moment of what lies ahead, less the force left there."""
    x0 = end_of_flow(plane)
    # integral of the area from the nose to x0, x from the nose
    ahead = 0.25 * math.pi * DIAMETER**2 * (2.0 * x0**2 / LENGTH - 4.0 * x0**3 / (3.0 * LENGTH**2))
    left = end_area(plane) * (x0 - 0.5 * LENGTH)
    return -2.0 * FACTOR * (ahead - left) / (S * SPAN)


def checks() -> list[Check]:
    """Spheroids in pitch, the wing's chord shrunk to nothing and its flow switched off; a box in yaw."""
    row = partial(Check, "Bodies in a perfect fluid, Munk 1924", tag="memory")
    bare, boxy = airplane(spheroid, chord=1e-6), airplane(box)
    why = "121 stations"
    rows = [
        row("spheroid: Cma", 2.0 * FACTOR * VOLUME / (S * CHORD), lambda: slope(bare, "Cm", "alpha", upwash=_ones),
            share=0.002, why=why)
    ]  # fmt: skip
    for degrees in (5.0, 20.0, 45.0):
        alpha = math.radians(degrees)
        exact = FACTOR * VOLUME / (S * CHORD) * math.sin(2.0 * alpha)

        def moment(alpha: float = alpha) -> float:
            return float(loads(bare, part="pitch", upwash=_ones, alpha=alpha)[0, 4])

        rows.append(row(f"spheroid at {degrees:g} deg: Cm", exact, moment, share=0.002, why=why))
    rows.append(
        row("spheroid, flow cut behind: Cnb", cut_moment(airplane(spheroid)),
            lambda: slope(airplane(spheroid), "Cn", "beta", part="yaw"), share=0.005, why=why)
    )  # fmt: skip
    force = 2.0 * FACTOR * 0.25 * math.pi * DIAMETER**2 / S
    rows.append(row("box: CYb", -force, lambda: slope(boxy, "CY", "beta", part="yaw"), share=1e-5))
    rows.append(
        row(
            "box: Cnb",
            -force * 0.5 * LENGTH / SPAN,
            lambda: slope(boxy, "Cn", "beta", part="yaw"),
            share=1e-5,
        )
    )
    return rows

"""The body in the flow of its wing.

Multhopp, Aerodynamics of the fuselage, NACA TM 1036, 1942 (abstract read, the rest from memory):
Cma = pi/(2 S c) integral of w^2 (1 + d eps/d alpha) dx; we multiply by k2 - k1 of a spheroid.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np

from sixdof.estimate.body import spheroid_factor, wing_flow
from sixdof.validation.bodies import CHORD, DIAMETER, LENGTH, S, airplane, box, demo, slope, tapered
from sixdof.validation.check import Check

#: Root chords ahead of the wing: 1 + d eps/d alpha, by his curve.
CURVE = {0.2: 1.6, 1.0: 1.17}
#: Over w^2 L/(S c), a body of one width with the wing at 35 % of it, without k2 - k1 (computed).
BOX = 0.9

_row = partial(Check, "Bodies in the flow of a wing, Multhopp 1942", tag="memory")


def _ahead(name: str, chords: float) -> float:
    plane = demo(name)
    x = plane.wing.root[0] + chords * plane.wing.panels[0].root_chord
    return float(wing_flow(plane)(np.array(x)))


def _integral(shape: Callable[[np.ndarray], np.ndarray], quarter: float) -> float:
    """His integral over the body by widths; ours sums forces."""
    plane = airplane(shape, quarter=quarter)
    leading = -plane.wing.root[0]
    trailing = leading + plane.wing.panels[0].root_chord
    total = 0.0
    for start, stop in ((0.0, leading), (trailing, LENGTH)):
        x = np.linspace(start + 1e-6, stop - 1e-6, 4001)
        total += float(np.trapezoid(shape(x) ** 2 * wing_flow(plane)(-x), x))
    fineness = LENGTH / float(np.max(shape(np.linspace(0.0, LENGTH, 121))))
    return np.pi / (2.0 * S * CHORD) * total * spheroid_factor(fineness)


def checks() -> list[Check]:
    """Flow ahead of the wing; moments of whole bodies."""
    rows = []
    for name in ("corvane", "fenlark"):
        for chords, curve in CURVE.items():
            said, why = f"{name}: flow {chords:g} chords ahead of the wing", "the aspect ratio is not his"
            rows.append(_row(said, curve, partial(_ahead, name, chords), within=0.12, why=why))
    for shape in (box, tapered):
        for quarter in (0.2, 0.35, 0.6):
            plane = airplane(shape, quarter=quarter)
            find = partial(slope, plane, "Cm", "alpha", part="pitch")
            said = f"{shape.__name__} body, wing at {100.0 * quarter:g} %: Cma"
            rows.append(
                _row(said, _integral(shape, quarter), find, share=0.005, why="strips of 121 stations")
            )

    def whole() -> float:
        found = slope(airplane(box), "Cm", "alpha", part="pitch") * S * CHORD / (DIAMETER**2 * LENGTH)
        return found / spheroid_factor(LENGTH / DIAMETER)

    why = "one digit is printed"
    return [*rows, _row("box, wing at 35 %: moment number", BOX, whole, tag="computed", share=0.10, why=why)]

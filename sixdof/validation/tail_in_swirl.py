"""The tailplane in the swirl of a slipstream that sideslip has carried aside; the fin's force along the body.

Swirl: the load of an elliptic wing, known in closed form, weighs the twist of each strip (reversed flow; Munk, Flax: derived
here), and the vortex lattice of a tailplane whose panels are tilted as the swirl turns the air (computed).  Fin:
-CY tan(beta) - CY^2 S/(S_f pi A), lifting line, against the lattice of rectangular fins (computed).
That the two halves of a tail meet different downwash behind a propeller: Purser & Spear, NACA TN 1474, 1947 (abstract read).
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache, partial

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.estimate.assemble import from_geometry
from sixdof.estimate.lattice import Conditions, Lattice, lattice_of, solve
from sixdof.estimate.panels import sheets_of
from sixdof.estimate.stream import tail_in_stream
from sixdof.physics import aero
from sixdof.physics.record import new_plane
from sixdof.validation.bodies import demo
from sixdof.validation.check import Check
from sixdof.validation.planforms import fin

AIRPLANES = ("corvane", "fenlark", "tessel")
#: Radius of the slipstream over the propeller's; where the swirl is taken.
_STREAM, _AT = 0.9, 0.7
#: Middle of the stream from the middle of the tailplane, over the radius of the stream.
_ASIDE = (0.5, 1.0, 1.5)
#: Heights of rectangular fins of 1 m chord [m], and their sideslip [deg].
_FINS = ((1.33, 8.0), (1.33, 15.0), (2.5, 8.0))


def mean_angle(numbers: dict[str, float], d: float) -> float:
    """Lift that a swirl of 1 brings the tailplane, over that of an angle of 1 rad all along it; ours.

    Parameters
    ----------
    numbers : dict
        Of :func:`sixdof.estimate.stream.tail_in_stream`.
    d : float
        Middle of the stream, over its radius.
    """
    plane = new_plane()[0]
    for name, value in numbers.items():
        plane[name] = value
    return float(plane["tail_swirl"] * aero.tail_in_stream(plane, -d, 0.0)[1])


def _ours(airframe: Airframe) -> dict[str, float]:
    known = from_geometry(airframe)
    names = ("stream_half_width", "tail_half_span", "tail_load_0", "tail_load_2", "tail_load_8", "tail_swirl")
    return {name: known[name] for name in names}


def _wash(airframe: Airframe, y: np.ndarray, d: float) -> np.ndarray:
    """Angle of the air at y [m] for a swirl of 1, the middle of the stream at d radii."""
    radius = 0.5 * airframe.propeller.diameter
    R, off = _STREAM * radius, airframe.tailplane.quarter_chord[2] - airframe.propeller.position[2]
    return np.where((y - d * R) ** 2 + off**2 < R**2, -(y - d * R) / (_AT * radius), 0.0)


@cache
def _tailplane(name: str, spanwise: int) -> tuple[Airframe, Lattice]:
    airframe = demo(name)
    sheets = [
        s
        for s in sheets_of(airframe, chordwise=4, spanwise=spanwise, section_slope={})
        if s.name == "tailplane"
    ]
    wing = airframe.wing
    return airframe, lattice_of(sheets, S=wing.area, b=wing.span, c=wing.mean_chord, point=wing.quarter_chord)


@cache
def in_the_wash(name: str, spanwise: int, d: float) -> tuple[float, float]:
    """The same by the lattice of the tailplane, and ours."""
    airframe, lattice = _tailplane(name, spanwise)
    width = lattice.element[: len(lattice.control), 1]
    over = lattice.control[:, 1, None] + width[:, None] * ((np.arange(40) + 0.5) / 40 - 0.5)

    def lift(angle: np.ndarray) -> float:
        tilted = np.stack((-np.sin(angle), 0.0 * angle, -np.cos(angle)), axis=1)
        return float(solve(replace(lattice, normal=tilted), Conditions()).total[0, 0])

    angle = 0.02 * np.mean(_wash(airframe, over, d), axis=1)  # of each strip over its width
    flat = np.full_like(width, 0.02)
    return (lift(angle) - lift(-angle)) / (lift(flat) - lift(-flat)), mean_angle(_ours(airframe), d)


def _elliptic(d: float) -> tuple[float, float]:
    """Exact, of a tailplane with elliptic load in place of corvane's; and ours."""
    airframe = demo("corvane")
    half = 0.5 * airframe.tailplane.span
    fine = half * ((np.arange(20000) + 0.5) / 10000 - 1.0)
    load = np.sqrt(1.0 - (fine / half) ** 2)
    exact = float(np.sum(load * _wash(airframe, fine, d)) / np.sum(load))
    y = half * ((np.arange(20) + 0.5) / 10 - 1.0)
    return exact, mean_angle(tail_in_stream(airframe, y, np.sqrt(1.0 - (y / half) ** 2)), d)


def _along_the_body(height: float, beta: float) -> tuple[float, float]:
    """CX of a fin by its CY and lifting line, and by the lattice."""
    lattice = fin(height, strips=16)
    X, Y = (float(x) for x in solve(lattice, Conditions(beta=beta)).body[0, 0, :2])
    return -Y * math.tan(beta) - Y * Y * lattice.S / (height * math.pi * height), X


def checks() -> list[Check]:
    """Swirl on an elliptic load and on the lattices of three tailplanes; the suction of a fin."""
    row = partial(Check, "Tail in swirl and sideslip, derived", tag="computed")
    rows = [
        row(f"elliptic load, stream {d:g} radii aside: mean angle over swirl", _elliptic(d)[0], lambda d=d: _elliptic(d)[1],
            within=0.01, why="three powers of y stand for an ellipse")
        for d in _ASIDE
    ]  # fmt: skip
    for name in AIRPLANES:
        for d in (1.0, 1.5):
            rows.append(
                row(f"{name}, stream {d:g} radii aside: mean angle over swirl", in_the_wash(name, 24, d)[0],
                    lambda name=name, d=d: in_the_wash(name, 24, d)[1], share=0.05, why="a lattice of 28 strips")
            )  # fmt: skip
    for height, beta in _FINS:
        found = _along_the_body(height, math.radians(beta))
        rows.append(
            row(f"fin of aspect ratio {height:g} at {beta:g} deg of sideslip: CX", found[0], found[1],
                share=0.06, why="a rectangle is no ellipse")
        )  # fmt: skip
    return rows

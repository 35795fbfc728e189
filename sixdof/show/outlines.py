"""Shapes of an airplane as closed rings of points, for meshes and drawings alike.

Body axes from the datum [m]: x forward, y right, z down.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from sixdof.airframe.geometry import Fin, Surface, Ventral
from sixdof.airframe.model import Control, Propeller

__all__ = ["Strip", "body_ring", "profile", "propeller_axes", "strips", "upright"]

_POINTS = 14  # along one side of a section
_ROUND = 40  # points around the body
_STEEP = math.radians(45.0)  # sections of steeper panels lie across instead of upright
_MOST_OF_CHORD = 0.9  # a movable surface leaves at least the rest of a narrow tip


class Strip(NamedTuple):
    """Stretch of one side of a surface without a step, fixed or movable.

    Attributes
    ----------
    control : str
        Movable surface it belongs to, "" for the fixed one.
    rings : array (2, n, 3) [m]
        Section at the inner and at the outer end.
    fronts : array (2, 3) [m]
        Middle of the front end of both, on the hinge line of a movable one.
    """

    control: str
    rings: np.ndarray
    fronts: np.ndarray


def profile(start: float, end: float, thickness: float, camber: float) -> np.ndarray:
    """Closed outline of a stretch of a wing section, as shares of the chord.

    Parameters
    ----------
    start, end : float
        Stretch to take, 0 at the leading and 1 at the trailing edge.
    thickness, camber : float
        Greatest thickness and camber.

    Returns
    -------
    array (2 n, 2)
        Distance behind the leading edge and height: along the top from front to back, then
        along the bottom from back to front.

    Sources
    -------
    Half thickness: E. N. Jacobs, K. E. Ward, R. M. Pinkerton, NACA Report 460 (1933), equation of
    the four-digit family, last coefficient -0.1036 for a closed edge (common practice, no source).
    Camber line: two parabolas that meet at 40 % (from memory, same report).
    """
    x = start + (end - start) * 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, _POINTS)))
    half = (
        5.0 * thickness * (0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1036 * x**4)
    )
    m = 0.4
    ahead, behind = (2 * m * x - x**2) / m**2, (1 - 2 * m + 2 * m * x - x**2) / (1 - m) ** 2
    line = camber * np.where(x < m, ahead, behind)
    return np.r_[np.c_[x, line + half], np.c_[x, line - half][::-1]]


def strips(surface: Surface, controls: Mapping[str, Control]) -> Iterator[Strip]:
    """Right side of a surface (or a fin from its root), cut where panels and controls begin and end."""
    for inner, outer in _stretches(surface, controls):
        middle = 0.5 * (inner + outer)
        moving = [n for n, c in controls.items() if c.inboard <= middle <= c.outboard]
        share = controls[moving[0]].chord if moving else 0.0
        hinges = [1.0 - min(share / _chord(surface, s), _MOST_OF_CHORD) for s in (inner, outer)]
        for control, ends in {"": [(0.0, h) for h in hinges],
                              **{n: [(h, 1.0) for h in hinges] for n in moving[:1]}}.items():  # fmt: skip
            rings = np.array([
                _section(surface, s, middle, *cut) for s, cut in zip((inner, outer), ends, strict=True)
            ])  # fmt: skip
            yield Strip(control, rings, 0.5 * (rings[:, 0] + rings[:, -1]))


def upright(surface: Surface) -> float:
    """Which way the panels run: 0 to the side, 1 up, -1 down."""
    return -1.0 if isinstance(surface, Ventral) else 1.0 if isinstance(surface, Fin) else 0.0


def body_ring(x: float, top: float, bottom: float, width: float) -> np.ndarray:
    """Cross-section of the body, array (n, 3) [m].

    A superellipse: rounder than a box, fuller than an ellipse; common practice, no source.
    """
    angle = 2.0 * np.pi * (np.arange(_ROUND) + 0.5) / _ROUND
    side, up = np.sin(angle), np.cos(angle)
    power = 2.0 / 2.6
    y = 0.5 * width * np.sign(side) * np.abs(side) ** power
    z = 0.5 * (top + bottom) - 0.5 * (bottom - top) * np.sign(up) * np.abs(up) ** power
    # half a step off the axes the curve stays inside of its box: stretch it to the measures given
    y *= 0.5 * width / max(np.abs(y).max(), 1e-12)
    middle = 0.5 * (top + bottom)
    z = middle + (z - middle) * (0.5 * (bottom - top)) / max(np.abs(z - middle).max(), 1e-12)
    return np.c_[np.full(_ROUND, x), y, z]


def propeller_axes(propeller: Propeller) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Directions (3,) of the shaft's front end, and of two lines across it that span the disc."""
    down, right = propeller.down_thrust, propeller.right_thrust
    shaft = np.array([math.cos(down) * math.cos(right), math.cos(down) * math.sin(right), math.sin(down)])
    side = np.cross([0.0, 0.0, 1.0], shaft)
    side /= np.linalg.norm(side)
    return shaft, side, np.cross(shaft, side)


def _stretches(surface: Surface, controls: Mapping[str, Control]) -> Iterator[tuple[float, float]]:
    """Stretches of the span between ends of panels and of controls [m]."""
    ends = np.cumsum([0.0, *(p.span for p in surface.panels)])
    cuts = [s for c in controls.values() for s in (c.inboard, c.outboard) if s < ends[-1]]
    yield from pairwise(sorted({round(float(s), 9) for s in [*ends, *cuts]}))


def _chord(surface: Surface, s: float) -> float:
    ends = np.cumsum([0.0, *(p.span for p in surface.panels)])
    k = min(int(np.searchsorted(ends[1:], s)), len(surface.panels) - 1)
    panel = surface.panels[k]
    return float(np.interp(s, ends[k : k + 2], (panel.root_chord, panel.tip_chord)))


def _section(surface: Surface, s: float, inside: float, start: float, end: float) -> np.ndarray:
    """Section (n, 3) [m] at s of the panel that holds the place `inside`, cut to a stretch of the chord."""
    edge, twist, left = np.array(surface.root), surface.incidence, inside
    stands = upright(surface)
    for panel in surface.panels:
        # of a fin the dihedral does not count: it stands upright
        tilt = stands * math.pi / 2 if stands else panel.dihedral
        out = np.array([0.0, math.cos(tilt), -math.sin(tilt)])
        if left <= panel.span:
            share = (s - (inside - left)) / panel.span
            edge = edge + out * panel.span * share - np.array([panel.sweep * share, 0.0, 0.0])
            twist -= panel.washout * share
            chord = panel.root_chord + (panel.tip_chord - panel.root_chord) * share
            break
        edge = edge + out * panel.span - np.array([panel.sweep, 0.0, 0.0])
        twist -= panel.washout
        left -= panel.span
    up = np.array([0.0, 0.0, -1.0]) if abs(tilt) < _STEEP else np.array([0.0, -math.copysign(1.0, tilt), 0.0])
    outline = chord * profile(start, end, surface.section.thickness, surface.section.camber)
    points = edge - outline[:, :1] * np.array([1.0, 0.0, 0.0]) + outline[:, 1:] * up
    c, n = math.cos(twist), math.sin(twist)
    if not stands:  # nose up about its own leading edge
        points = edge + (points - edge) @ np.array([[c, 0.0, n], [0.0, 1.0, 0.0], [-n, 0.0, c]]).T
    return points

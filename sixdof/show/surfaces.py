"""Wing, tailplane and fin of a file as skins, cut where their movable surfaces begin."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise

import numpy as np
import pyvista as pv

from sixdof.airframe.geometry import Fin, Surface, Ventral
from sixdof.airframe.model import Control
from sixdof.show.loft import BOTTOM, TOP, join, profile, skin

__all__ = ["lofted"]

_STEEP = math.radians(45.0)  # sections of steeper panels lie across instead of upright
_MOST_OF_CHORD = 0.9  # a movable surface leaves at least the rest of a narrow tip


def lofted(
    surface: Surface, controls: Mapping[str, Control]
) -> dict[str, tuple[pv.PolyData, np.ndarray, np.ndarray]]:
    """Meshes of one side: the fixed one under "", each control with both ends of its hinge line."""
    pieces: dict[str, list[pv.PolyData]] = {"": []}
    hinges: dict[str, list[np.ndarray]] = {}
    paint = np.full(len(profile(0.0, 1.0, 0.1, 0.0)), TOP)
    if not _stands(surface):
        paint[len(paint) // 2 - 1 :] = BOTTOM
    for inner, outer in _strips(surface, controls):
        middle = 0.5 * (inner + outer)
        moving = [n for n, c in controls.items() if c.inboard <= middle <= c.outboard]
        share = controls[moving[0]].chord if moving else 0.0
        cuts = [min(share / _chord(surface, s), _MOST_OF_CHORD) for s in (inner, outer)]
        rings = [
            _ring(surface, s, middle, 0.0, 1.0 - cut)[0] for s, cut in zip((inner, outer), cuts, strict=True)
        ]
        pieces[""].append(skin(np.array(rings), paint))
        if moving:
            back = [
                _ring(surface, s, middle, 1.0 - cut, 1.0) for s, cut in zip((inner, outer), cuts, strict=True)
            ]
            pieces.setdefault(moving[0], []).append(skin(np.array([ring for ring, _ in back]), paint))
            hinges.setdefault(moving[0], []).extend(front for _, front in back)
    nowhere = [np.zeros(3)]
    return {n: (join(p), hinges.get(n, nowhere)[0], hinges.get(n, nowhere)[-1]) for n, p in pieces.items()}


def _strips(surface: Surface, controls: Mapping[str, Control]) -> Iterator[tuple[float, float]]:
    """Stretches of the span without a step: between ends of panels and of controls [m]."""
    ends = np.cumsum([0.0, *(p.span for p in surface.panels)])
    cuts = [s for c in controls.values() for s in (c.inboard, c.outboard) if s < ends[-1]]
    yield from pairwise(sorted({round(float(s), 9) for s in [*ends, *cuts]}))


def _chord(surface: Surface, s: float) -> float:
    ends = np.cumsum([0.0, *(p.span for p in surface.panels)])
    k = min(int(np.searchsorted(ends[1:], s)), len(surface.panels) - 1)
    panel = surface.panels[k]
    return float(np.interp(s, ends[k : k + 2], (panel.root_chord, panel.tip_chord)))


def _ring(
    surface: Surface, s: float, inside: float, start: float, end: float
) -> tuple[np.ndarray, np.ndarray]:
    """Section at s of the panel that holds the place `inside`, cut to a stretch of the chord.

    Returns
    -------
    ring : array (n, 3) [m]
    front : array (3,) [m]
        Middle of its front end.
    """
    edge, twist, left = np.array(surface.root), surface.incidence, inside
    for panel in surface.panels:
        # of a fin the dihedral does not count: it stands upright
        tilt = _stands(surface) * math.pi / 2 if _stands(surface) else panel.dihedral
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
    if not _stands(surface):  # nose up about its own leading edge
        points = edge + (points - edge) @ np.array([[c, 0.0, n], [0.0, 1.0, 0.0], [-n, 0.0, c]]).T
    return points, 0.5 * (points[0] + points[-1])


def _stands(surface: Surface) -> float:
    """Which way the panels run: 0 to the side, 1 up, -1 down."""
    return -1.0 if isinstance(surface, Ventral) else 1.0 if isinstance(surface, Fin) else 0.0

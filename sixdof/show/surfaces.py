"""Wing, tailplane and fin of a file as skins, cut where their movable surfaces begin."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from sixdof.airframe.geometry import Surface
from sixdof.airframe.model import Control
from sixdof.show.loft import BOTTOM, TOP, Mesh, join, skin
from sixdof.show.outlines import profile, strips, upright

__all__ = ["lofted"]


def lofted(
    surface: Surface, controls: Mapping[str, Control]
) -> dict[str, tuple[Mesh, np.ndarray, np.ndarray]]:
    """Meshes of one side: the fixed one under "", each control with both ends of its hinge line."""
    pieces: dict[str, list[Mesh]] = {}
    hinges: dict[str, list[np.ndarray]] = {}
    paint = np.full(len(profile(0.0, 1.0, 0.1, 0.0)), TOP)
    if not upright(surface):
        paint[len(paint) // 2 - 1 :] = BOTTOM
    for strip in strips(surface, controls):
        pieces.setdefault(strip.control, []).append(skin(strip.rings, paint))
        hinges.setdefault(strip.control, []).extend(strip.fronts)
    return {name: (join(found), hinges[name][0], hinges[name][-1]) for name, found in pieces.items()}

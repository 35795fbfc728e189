"""What a scene holds beside airplanes: lines, solid things and words at places; scene axes [m]."""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from sixdof.show.cameras import Camera
from sixdof.show.loft import Mesh

__all__ = ["Label", "Line", "Solid", "apart", "dashes", "mesh_of_lines", "path"]

_LETTER = 0.62  # mean width of a letter over its size, a little wide
_STANDS = {
    "on": (0.0, 0.0),
    "below": (0.0, 1.0),
    "left": (1.0, 0.0),
}  # half boxes from the place to the middle
_LINE = 1.5  # height of a line over the size of its letters


class Line(NamedTuple):
    """Straight stretches, as ends (n, 2, 3); a radius of 0 [m] is a hair line."""

    name: str
    ends: np.ndarray
    color: str
    radius: float = 0.0

    @property
    def points(self) -> np.ndarray | None:
        """Its points (n + 1, 3), where each stretch begins at the end of the one before."""
        if not np.array_equal(self.ends[1:, 0], self.ends[:-1, 1]):
            return None
        return np.concatenate([self.ends[:1, 0], self.ends[:, 1]])


class Solid(NamedTuple):
    """A thing of one color."""

    name: str
    mesh: Mesh
    color: str


class Label(NamedTuple):
    """Words at a place (3,): in their middle, or they stand below it or to the left of it."""

    words: str
    at: np.ndarray
    color: str
    stands: Literal["on", "below", "left"] = "on"


def path(points: np.ndarray) -> np.ndarray:
    """Stretches from point to point."""
    return np.stack([points[:-1], points[1:]], axis=1)


def dashes(points: np.ndarray, length: float) -> np.ndarray:
    """Stretches of a length [m] along a path, and as long a gap after each."""
    along = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))]
    starts = 2 * length * np.arange(max(int(along[-1] / (2 * length)), 1))
    at = np.c_[starts, starts + length]
    return np.stack([np.interp(at, along, points[:, i]) for i in range(3)], axis=-1)


def mesh_of_lines(start: np.ndarray, end: np.ndarray, axes: tuple[int, int], step: float) -> np.ndarray:
    """Lines in both directions over a sheet between two of its corners."""
    ends = []
    for i, j in (axes, axes[::-1]):
        for at in np.arange(start[i], end[i] + 0.01 * step, step):
            a, b = start.copy(), end.copy()
            a[i] = b[i] = at
            a[j], b[j] = start[j], end[j]
            ends.append((a, b))
    return np.array(ends)


def apart(labels: list[Label], camera: Camera, size: tuple[int, int], letters: float) -> list[Label]:
    """Those of some labels, the first ones first, that do not lie over each other in a picture.

    Parameters
    ----------
    size : (int, int)
        Of the picture [pixel].
    letters : float
        Size of the letters [pixel].
    """
    kept: list[Label] = []
    boxes: list[np.ndarray] = []
    if not labels:
        return kept
    places = camera.project(np.array([label.at for label in labels]), size[0] / size[1])
    for label, place in zip(labels, 0.5 * places * size, strict=True):
        half = 0.5 * letters * np.array([_LETTER * len(label.words) + 1.0, _LINE])
        center = place - half * _STANDS[label.stands]
        box = np.array([center - half, center + half])
        if all(np.any(box[0] > other[1]) or np.any(box[1] < other[0]) for other in boxes):
            kept.append(label)
            boxes.append(box)
    return kept

"""Where the airplane is in the picture: scene axes, the ground with its meters, the caller, rulers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sixdof.show.flown import position, rotation
from sixdof.show.lines import Label, Line, Solid, mesh_of_lines
from sixdof.show.loft import Mesh, skin
from sixdof.show.palette import CALLER, GRID, GROUND, PALE_INK

__all__ = ["CALLER_AWAY", "Field", "rulers", "scene_matrix", "to_scene"]

CALLER_AWAY = 150.0  # from the flight line [m]; TRADE: the typical box of published rules
CALLER_EYES = 1.7  # m
_CALLER_DRAWN = 9.0  # m, as tall as five people, so that it is seen
MESH = 50.0  # of the lines on the ground [m]
_NEAR_GROUND = 12.0  # m: a picture that comes so low shows the ground

#: North, east, down to the axes of the scene: x east, y north, z up.
TO_SCENE = np.array([[0.0, 1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, -1.0]])


def to_scene(points: np.ndarray) -> np.ndarray:
    """North, east, down (..., 3) as x east, y north, z up."""
    return points @ TO_SCENE.T


def scene_matrix(row: np.ndarray, scale: float = 1.0) -> np.ndarray:
    """Matrix (4, 4) that puts a mesh in body axes from the CG where a row of a track says.

    ``scale`` draws it larger than it is, about its CG.
    """
    out = np.eye(4)
    out[:3, :3] = scale * TO_SCENE @ rotation(row)
    out[:3, 3] = to_scene(position(row))
    return out


@dataclass(frozen=True)
class Field:
    """The piece of land under a set of flights, in scene axes.

    Attributes
    ----------
    x, y : (float, float) [m]
        From and to, east and north, at multiples of the mesh.
    low, high : array (3,) [m]
        Corners of the box around the flights.
    caller : array (3,) [m]
        Where the caller's feet are: east of the line, so that flying north goes to the right.
    """

    x: tuple[float, float]
    y: tuple[float, float]
    low: np.ndarray
    high: np.ndarray
    caller: np.ndarray

    @classmethod
    def under(cls, tracks: Sequence[np.ndarray], shown: Sequence[np.ndarray] = ()) -> Field:
        """Land for these tracks, with the caller abeam of the middle of them, or of what is shown of them."""
        points = to_scene(np.concatenate([position(track) for track in tracks]))
        low, high = points.min(axis=0), points.max(axis=0)
        north = np.concatenate([position(rows)[:, 0] for rows in shown or tracks])
        caller = np.array([CALLER_AWAY, 0.5 * (north.min() + north.max()), 0.0])
        x = _meshes(min(low[0], -MESH), max(high[0], CALLER_AWAY))
        y = _meshes(min(low[1], caller[1] - 2 * MESH), max(high[1], caller[1] + 2 * MESH))
        return cls(x, y, low, high, caller)

    @property
    def eyes(self) -> np.ndarray:
        """Where the caller's eyes are (3,) [m]."""
        return np.asarray(self.caller + np.array([0.0, 0.0, CALLER_EYES]))

    @property
    def box(self) -> tuple[np.ndarray, np.ndarray]:
        """Corners of the land and the air over it up to the highest flight."""
        return np.array([self.x[0], self.y[0], 0.0]), np.array([self.x[1], self.y[1], self.high[2]])

    def solids(self) -> list[Solid]:
        """The ground and the caller."""
        (x0, x1), (y0, y1) = self.x, self.y
        return [sheet("ground", np.array([x0, y0, 0.0]), np.array([x1, y1, 0.0])), _person(self.caller)]

    def lines(self) -> list[Line]:
        """Lines every 50 m, and the flight line."""
        (x0, x1), (y0, y1) = self.x, self.y
        mesh = mesh_of_lines(np.array([x0, y0, 0.05]), np.array([x1, y1, 0.05]), (0, 1), MESH)
        line = np.array([[(0.0, y0, 0.1), (0.0, y1, 0.1)]])
        return [Line("ground-lines", mesh, GRID), Line("flight-line", line, PALE_INK)]

    def labels(self) -> list[Label]:
        """What is where."""
        x1, (y0, y1) = self.x[1], self.y
        above = self.caller + np.array([0.0, 0.0, 1.4 * _CALLER_DRAWN])
        return [
            Label(f"caller, {CALLER_AWAY:.0f} m away", above, CALLER),
            Label("flight line", np.array([0.0, y1, 0.0]), PALE_INK),
            Label(_meters(y0), np.array([x1, y0, 0.0]), PALE_INK),
            Label(_meters(y1), np.array([x1, y1, 0.0]), PALE_INK),
        ]


def sheet(name: str, low: np.ndarray, high: np.ndarray) -> Solid:
    """A level piece of ground between two corners."""
    (x0, y0, z), (x1, y1, _) = low, high
    points = np.array([(x0, y0, z), (x1, y0, z), (x1, y1, z), (x0, y1, z)])
    return Solid(name, Mesh(points, np.array([(0, 1, 2), (0, 2, 3)]), np.zeros(2, int)), GROUND)


def _person(feet: np.ndarray) -> Solid:
    """A body that tapers to the feet, and a head."""
    outline = [(0.03, 0.0), (0.2, 0.6), (0.24, 0.72), (0.1, 0.8), (0.2, 0.9), (0.2, 1.0), (0.02, 1.1)]
    turn = 2.0 * np.pi * (np.arange(12) + 0.5) / 12
    around = np.c_[np.sin(turn), np.cos(turn), np.zeros(12)]
    rings = np.array([feet + _CALLER_DRAWN * (r * around + (0.0, 0.0, z)) for r, z in outline])
    return Solid("caller", skin(rings, np.zeros(12, int)), CALLER)


def rulers(
    low: np.ndarray, high: np.ndarray, view: str
) -> tuple[float, np.ndarray, np.ndarray, list[Line], list[Label], list[Solid]]:
    """Sheets ruled in meters just behind and below a box, as the view needs them; the ground where it is near.

    Returns
    -------
    step : float [m]
        From line to line.
    low, high : array (3,) [m]
        Corners of the box that the sheets enclose.
    lines, labels, solids
    """
    if low[2] < _NEAR_GROUND and view != "above":
        low = np.array([*low[:2], 0.0])
    step = next((s for s in (1.0, 2.0, 5.0, 10.0, 20.0, 50.0) if np.max(high - low) / s < 16), 100.0)
    a, b = step * np.floor(low / step), step * np.ceil(high / step)
    a[2] = max(a[2], 0.0)
    sheets = {"wall": (1, 2)} if view != "above" else {}
    grounded = a[2] == 0.0
    sheets |= {"floor": (0, 1)} if view != "caller" or grounded else {}
    lines, labels = [], []
    for name, (i, j) in sheets.items():
        start, end = a.copy(), b.copy()
        k = 3 - i - j
        start[k] = end[k] = a[k]
        lines.append(Line(name, mesh_of_lines(start, end, (i, j), step), GRID))
    x = b[0] if view != "caller" else a[0]
    for y in np.arange(a[1] + step, b[1] + 0.1, 2 * step):
        labels.append(Label(_meters(y), np.array([x, y, a[2]]), PALE_INK, "below"))
    if "wall" in sheets:
        y = a[1] if view == "caller" else b[1]
        for z in np.arange(a[2] + step, b[2] + 0.1, step * (1 if b[2] - a[2] < 7 * step else 2)):
            labels.append(Label(f"{z:.0f} m up", np.array([a[0], y, z]), PALE_INK, "left"))
    if view == "above":
        for x in np.arange(a[0] + step, b[0] - 0.1, step * (1 if b[0] - a[0] < 7 * step else 2)):
            words = f"{abs(x):.0f} m {'out' if x < 0 else 'in'}" if x else "flight line"
            labels.append(Label(words, np.array([x, a[1], a[2]]), PALE_INK, "left"))
    solids = []
    if grounded:
        below = np.array([0.0, 0.0, 0.02 * step])
        solids.append(sheet("ground", np.array([*a[:2], 0.0]) - below, np.array([*b[:2], 0.0]) - below))
        x = b[0] if view == "caller" else a[0]
        labels.insert(0, Label("ground", np.array([x, a[1], 0.0]), PALE_INK, "left"))
    return step, a, b, lines, labels, solids


def _meters(y: float) -> str:
    return f"{y:.0f} m"


def _meshes(low: float, high: float) -> tuple[float, float]:
    return MESH * math.floor((low - 10.0) / MESH), MESH * math.ceil((high + 10.0) / MESH)

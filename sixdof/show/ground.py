"""Where the airplane is in the picture: scene axes, the ground with its meters, the caller, rulers."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pyvista as pv

from sixdof.show.flown import position, rotation
from sixdof.show.palette import CALLER, GRID, GROUND, PALE_INK

__all__ = ["CALLER_AWAY", "Field", "add_ground", "add_rulers", "scene_matrix", "to_scene"]

CALLER_AWAY = 150.0  # from the flight line [m]; TRADE: the typical box of published rules
CALLER_TALL = 1.8  # m
MESH = 50.0  # of the lines on the ground [m]

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

    @property
    def middle(self) -> np.ndarray:
        """Middle of the box around the flights (3,)."""
        return 0.5 * (self.low + self.high)

    @classmethod
    def under(cls, tracks: list[np.ndarray]) -> Field:
        """Land for these tracks, with the caller abeam of the middle of them."""
        points = to_scene(np.concatenate([position(track) for track in tracks]))
        low, high = points.min(axis=0), points.max(axis=0)
        caller = np.array([CALLER_AWAY, 0.5 * (low[1] + high[1]), 0.0])
        x = _meshes(min(low[0], -MESH), max(high[0], CALLER_AWAY))
        y = _meshes(min(low[1], caller[1] - 2 * MESH), max(high[1], caller[1] + 2 * MESH))
        return cls(x, y, low, high, caller)


def _meshes(low: float, high: float) -> tuple[float, float]:
    return MESH * math.floor((low - 10.0) / MESH), MESH * math.ceil((high + 10.0) / MESH)


def add_ground(plotter: pv.Plotter, field: Field, *, size: int) -> None:
    """Ground with lines every 50 m, the flight line with its meters, and the caller.

    Parameters
    ----------
    size : int
        Of the letters [points].
    """
    (x0, x1), (y0, y1) = field.x, field.y
    plane = pv.Plane(center=(0.5 * (x0 + x1), 0.5 * (y0 + y1), 0.0), i_size=x1 - x0, j_size=y1 - y0)
    plotter.add_mesh(plane, color=GROUND, lighting=False, name="ground")
    lines = _mesh(np.array([x0, y0, 0.05]), np.array([x1, y1, 0.05]), (0, 1), MESH)
    plotter.add_mesh(lines, color=GRID, line_width=1, lighting=False, name="ground-lines")
    plotter.add_mesh(pv.Line((0.0, y0, 0.1), (0.0, y1, 0.1)), color=PALE_INK, line_width=2, lighting=False,
                     name="flight-line")  # fmt: skip
    places = np.array([(x1, y0, 0.0), (x1, y1, 0.0), (0.0, y1, 0.0)])
    _label(plotter, places, [_north(y0), _north(y1), "flight line"], size=size, color=PALE_INK,
           name="ground-meters", center=True)  # fmt: skip
    tall = 5.0 * CALLER_TALL  # as tall as five people, so that it is seen
    up = np.array([0.0, 0.0, tall])
    stick = pv.Cone(center=field.caller + 0.4 * up, direction=(0.0, 0.0, -1.0), height=0.8 * tall,
                    radius=0.25 * tall, resolution=24)  # fmt: skip
    head = pv.Sphere(radius=0.22 * tall, center=field.caller + 0.95 * up)
    plotter.add_mesh(stick.merge(head), color=CALLER, ambient=0.4, name="caller")
    _label(plotter, np.array([field.caller + 1.4 * up]), [f"caller, {CALLER_AWAY:.0f} m away"], size=size,
           color=CALLER, name="caller-word", center=True)  # fmt: skip


def add_rulers(
    plotter: pv.Plotter, low: np.ndarray, high: np.ndarray, *, view: str, size: int
) -> tuple[float, np.ndarray, np.ndarray]:
    """Sheets ruled in meters just behind and below a box, as the view needs them.

    Returns
    -------
    step : float [m]
        From line to line.
    low, high : array (3,) [m]
        Corners of the box that the sheets enclose.
    """
    step = next((s for s in (1.0, 2.0, 5.0, 10.0, 20.0, 50.0) if np.max(high - low) / s < 16), 100.0)
    a, b = step * np.floor(low / step), step * np.ceil(high / step)
    a[2] = max(a[2], 0.0)
    sheets = {"wall": (1, 2)} if view != "above" else {}
    sheets |= {"floor": (0, 1)} if view != "caller" else {}
    for name, (i, j) in sheets.items():
        start, end = a.copy(), b.copy()
        k = 3 - i - j
        start[k] = end[k] = a[k]
        plotter.add_mesh(_mesh(start, end, (i, j), step), color=GRID, line_width=1, lighting=False, name=name)
    x = b[0] if view != "caller" else a[0]
    north = np.arange(a[1] + step, b[1] + 0.1, 2 * step)
    _label(plotter, np.array([(x, y, a[2]) for y in north]), [_north(y) for y in north], size=size,
           color=PALE_INK, name="meters-north", center=True)  # fmt: skip
    if "wall" in sheets:
        up = np.arange(a[2] + step, b[2] + 0.1, step * (1 if b[2] - a[2] < 7 * step else 2))
        _label(plotter, np.array([(a[0], a[1] if view == "caller" else b[1], z) for z in up]), [f"{z:.0f} m up" for z in up], size=size,
               color=PALE_INK, name="meters-up")  # fmt: skip
    if view == "above":
        east = np.arange(a[0] + step, b[0] - 0.1, step * (1 if b[0] - a[0] < 7 * step else 2))
        words = [f"{abs(x):.0f} m {'out' if x < 0 else 'in'}" if x else "flight line" for x in east]
        _label(plotter, np.array([(x, a[1], a[2]) for x in east]), words, size=size, color=PALE_INK,
               name="meters-east")  # fmt: skip
    return step, a, b


def _north(y: float) -> str:
    return f"{y:.0f} m"


def _mesh(start: np.ndarray, end: np.ndarray, axes: tuple[int, int], step: float) -> pv.PolyData:
    """Lines in both directions over a sheet between two of its corners."""
    ends = []
    for i, j in (axes, axes[::-1]):
        for at in np.arange(start[i], end[i] + 0.01 * step, step):
            a, b = start.copy(), end.copy()
            a[i] = b[i] = at
            a[j], b[j] = start[j], end[j]
            ends.append((a, b))
    n = len(ends)
    return pv.PolyData(
        np.array(ends).reshape(-1, 3), lines=np.c_[np.full(n, 2), np.arange(2 * n).reshape(n, 2)]
    )


def _label(
    plotter: pv.Plotter, points: np.ndarray, words: list[str], *, size: int, color: str, name: str,
    center: bool = False,
) -> None:  # fmt: skip
    plotter.add_point_labels(
        points, words, font_size=size, text_color=color, bold=False, shape=None, show_points=False,
        always_visible=True, name=name, justification_horizontal="center" if center else "left",
    )  # fmt: skip

"""What stands for one flight in a scene: its track, the airplane at moments, the ideal line."""

from __future__ import annotations

import numpy as np
import pyvista as pv

from sixdof.show.flown import SURFACES, ShownFlight, position, row_at, value
from sixdof.show.ground import scene_matrix, to_scene
from sixdof.show.hull import Hull, painted
from sixdof.show.palette import FLIGHT_COLORS, IDEAL, PALE_INK

__all__ = ["add_ghosts", "add_ideal", "add_track"]


def add_track(
    plotter: pv.Plotter,
    flight: ShownFlight,
    rows: np.ndarray,
    number: int,
    *,
    radius: float,
    shadow: bool = False,
) -> None:
    """Track as a tube, and its shadow on the ground if asked for.

    Parameters
    ----------
    rows : array (n, N_TRACK)
        The stretch to draw.
    radius : float [m]
    """
    color = FLIGHT_COLORS[flight.kind]
    points = to_scene(position(rows))
    tube = pv.lines_from_points(points).tube(radius=radius, n_sides=12)
    plotter.add_mesh(tube, color=color, ambient=0.5, name=f"track-{number}")
    if shadow:
        below = points * (1.0, 1.0, 0.0) + (0.0, 0.0, 0.15)
        plotter.add_mesh(pv.lines_from_points(below), color=color, opacity=0.5, line_width=2, lighting=False,
                         name=f"shadow-{number}")  # fmt: skip


def angles_of(row: np.ndarray) -> dict[str, float]:
    """Angles of the movable surfaces [rad] of a row, by channel."""
    return {name: value(row, name) for name in SURFACES}


def add_ghosts(
    plotter: pv.Plotter, hull: Hull, flight: ShownFlight, number: int, *, scale: float, times: list[float],
    plumb: float | None = None,
) -> None:  # fmt: skip
    """The airplane at each of these moments, its surfaces as they stood.

    Parameters
    ----------
    plumb : float [m], optional
        Height down to which a plumb line hangs from each.
    """
    feet = []
    for k, time in enumerate(times):
        row = row_at(flight.track, time)
        mesh = hull.posed(angles_of(row))
        actor = plotter.add_mesh(mesh, scalars=painted(mesh, FLIGHT_COLORS[flight.kind]), rgb=True, ambient=0.35,
                                 diffuse=0.75, name=f"airplane-{number}-{k}")  # fmt: skip
        actor.user_matrix = scene_matrix(row, scale)
        at = to_scene(position(row))
        feet += [at, np.array([at[0], at[1], at[2] if plumb is None else min(plumb, at[2])])]
    if plumb is not None and times:
        n = len(times)
        lines = pv.PolyData(np.array(feet), lines=np.c_[np.full(n, 2), np.arange(2 * n).reshape(n, 2)])
        plotter.add_mesh(
            lines, color=PALE_INK, opacity=0.4, line_width=1, lighting=False, name=f"plumb-{number}"
        )


def add_ideal(plotter: pv.Plotter, line: np.ndarray, number: int, *, radius: float) -> None:
    """Ideal line (n, 3), north-east-down [m], dashed."""
    points, length = to_scene(np.asarray(line, float)), 10.0 * radius
    along = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))]
    if along[-1] <= 0.0:
        return
    n = max(int(along[-1] / (2 * length)), 1)
    starts = np.arange(n) * 2 * length
    at = np.c_[starts, starts + length].reshape(-1)
    ends = np.stack([np.interp(at, along, points[:, i]) for i in range(3)], axis=1)
    dashes = pv.PolyData(ends, lines=np.c_[np.full(n, 2), np.arange(2 * n).reshape(n, 2)])
    plotter.add_mesh(dashes.tube(radius=0.6 * radius), color=IDEAL, lighting=False, name=f"ideal-{number}")

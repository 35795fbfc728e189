"""Draws what a stage holds into a PyVista scene; knows nothing of flights."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
import pyvista as pv

from sixdof.show.cameras import Camera
from sixdof.show.hull import Hull, Part, paints
from sixdof.show.lines import Label, Line, Solid, apart
from sixdof.show.loft import Mesh, join
from sixdof.show.palette import rgb

__all__ = ["add_airplane", "add_labels", "add_lines", "add_posed", "add_solids", "place", "set_camera"]

_POINT = 96 / 72  # pixels
_SKIN: dict[str, Any] = {"rgb": True, "ambient": 0.35, "diffuse": 0.75}


def add_lines(plotter: pv.Plotter, lines: Iterable[Line]) -> None:
    """Lines, by name: tubes, or hair lines where they have no radius."""
    for line in lines:
        points, n = line.points, len(line.ends)
        if points is not None and n > 1:
            data = pv.lines_from_points(points)
        else:
            cells = np.c_[np.full(n, 2), np.arange(2 * n).reshape(n, 2)]
            data = pv.PolyData(line.ends.reshape(-1, 3), lines=cells)
        if line.radius:
            plotter.add_mesh(
                data.tube(radius=line.radius, n_sides=12), color=line.color, ambient=0.5, name=line.name
            )
        else:
            plotter.add_mesh(data, color=line.color, line_width=1, lighting=False, name=line.name)


def add_solids(plotter: pv.Plotter, solids: Iterable[Solid]) -> None:
    """Things, by name."""
    for solid in solids:
        lit: dict[str, Any] = {"lighting": False} if solid.name == "ground" else {"ambient": 0.4}
        plotter.add_mesh(_poly(solid.mesh), color=solid.color, name=solid.name, **lit)


def add_labels(
    plotter: pv.Plotter, labels: list[Label], camera: Camera, size: tuple[int, int], letters: int, name: str
) -> None:
    """Words at places, the first ones first, as far as they do not lie over each other.

    Parameters
    ----------
    size : (int, int)
        Of the picture [pixel].
    letters : int
        Size of the letters [points].
    name : str
        Of the labels of this picture.
    """
    kept = apart(labels, camera, size, _POINT * letters)
    for i, (color, stands) in enumerate(dict.fromkeys((label.color, label.stands) for label in kept)):
        alike = [label for label in kept if (label.color, label.stands) == (color, stands)]
        plotter.add_point_labels(
            np.array([label.at for label in alike]), [label.words for label in alike], font_size=letters,
            text_color=color, bold=False, shape=None, show_points=False, always_visible=True, name=f"{name}-{i}",
            justification_horizontal="right" if stands == "left" else "center",
            justification_vertical="top" if stands == "below" else "center",
        )  # fmt: skip


def add_posed(
    plotter: pv.Plotter, hull: Hull, color: str, where: Mapping[str, np.ndarray], name: str
) -> None:
    """The airplane as one still mesh, its parts where matrices (4, 4) put them."""
    parts = [
        part.mesh._replace(points=part.mesh.points @ where[key][:3, :3].T + where[key][:3, 3])
        for key, part in hull.parts.items()
    ]
    whole = join(parts)
    plotter.add_mesh(_poly(whole), scalars=_table(color)[whole.paint], name=name, **_SKIN)


def add_airplane(plotter: pv.Plotter, hull: Hull, color: str, name: str) -> dict[str, pv.Actor]:
    """The airplane, undeflected in body axes: an actor for the fixed parts together, under "", and one a movable part."""
    fixed = [part.mesh for part in hull.parts.values() if not part.channel]
    moving: Mapping[str, Part] = {key: part for key, part in hull.parts.items() if part.channel}
    actors = {}
    for key, mesh in {"": join(fixed), **{key: part.mesh for key, part in moving.items()}}.items():
        label = f"{name}-{key}" if key else name
        actors[key] = plotter.add_mesh(
            _poly(mesh), scalars=_table(color)[mesh.paint], copy_mesh=True, name=label, **_SKIN
        )
    return actors


def place(actors: Mapping[str, pv.Actor], where: Mapping[str, np.ndarray]) -> None:
    """Put the parts of an airplane where they are; matrices (4, 4) by part."""
    for key, actor in actors.items():
        actor.user_matrix = where[key or "body"]


def set_camera(renderer: pv.Renderer, camera: Camera) -> None:
    """Look through a camera."""
    view = renderer.camera
    view.parallel_projection = bool(camera.tall)
    if camera.tall:
        view.parallel_scale = camera.tall
    view.view_angle = camera.angle
    view.position, view.focal_point, view.up = tuple(camera.eye), tuple(camera.at), tuple(camera.up)
    view.clipping_range = camera.range


def _table(color: str) -> np.ndarray:
    return np.array([rgb(paint) for paint in paints(color)], np.uint8)


def _poly(mesh: Mesh) -> pv.PolyData:
    return pv.PolyData(mesh.points, np.c_[np.full(len(mesh.faces), 3), mesh.faces])

"""Three places to look from, each set explicitly so that a picture is the same every time."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    import pyvista as pv

__all__ = ["VIEWS", "View", "aim", "look"]

View = Literal["caller", "above", "along"]
#: Names of the views, and what each is.
VIEWS: dict[View, str] = {
    "caller": "from the caller's side",
    "above": "from straight above",
    "along": "from behind, along the flight line",
}

_OPEN = 26.0  # vertical angle of view [deg]
_MARGIN = 1.08  # of the picture around the box
_LOOKING = {  # direction of the eye, and what is up
    "caller": ((-1.0, 0.10, 0.10), (0.0, 0.0, 1.0)),
    "above": ((0.0, 0.0, -1.0), (-1.0, 0.0, 0.0)),
    "along": ((-0.42, 0.80, -0.30), (0.0, 0.0, 1.0)),
}


def aim(renderer: pv.Renderer, low: np.ndarray, high: np.ndarray, view: View, *, shape: float) -> float:
    """Set the camera of a renderer so that a box fills it; arguments and result as of :func:`look`.

    Parameters
    ----------
    renderer : pyvista.Renderer
    low, high : array (3,) [m]
        Corners of the box, scene axes.
    view : "caller", "above" or "along"
    shape : float
        Width over height of the picture.
    """
    if view not in _LOOKING:
        raise ValueError(f"got view {view!r}, expected {', '.join(VIEWS)}")
    return look(renderer, low, high, *_LOOKING[view], shape=shape, flat=view == "above", lift=0.2)


def look(
    renderer: pv.Renderer, low: np.ndarray, high: np.ndarray, looking: tuple[float, float, float],
    up: tuple[float, float, float], *, shape: float, flat: bool = False, lift: float = 0.0,
) -> float:  # fmt: skip
    """Set the camera to look in a direction from where a box fits.

    Parameters
    ----------
    flat : bool
        Without perspective.
    lift : float
        Share of the room left over in height to move the box up by.

    Returns
    -------
    float
        Share of the height that the box leaves free.
    """
    eye = np.array(looking) / np.linalg.norm(looking)
    across = np.cross(eye, up)
    across /= np.linalg.norm(across)
    upward = np.cross(across, eye)
    corners = np.array(
        [[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
    )
    middle = 0.5 * (low + high)
    deep, side, tall = ((corners - middle) @ v for v in (eye, across, upward))
    slope = math.tan(math.radians(_OPEN) / 2) / _MARGIN
    camera = renderer.camera
    if flat:
        distance = 10.0 * float(np.linalg.norm(high - low))
        camera.parallel_projection = True
        camera.parallel_scale = _MARGIN * max(float(np.abs(tall).max()), float(np.abs(side).max()) / shape)
        free = 1.0 - float(np.abs(tall).max()) / camera.parallel_scale
    else:
        for _ in range(4):  # once it fits, shift to where the picture is evenly filled
            distance = float(np.max(np.maximum(np.abs(side) / shape, np.abs(tall)) / slope - deep))
            seen = distance + deep
            shift = [0.5 * float((v / seen).min() + (v / seen).max()) * distance for v in (side, tall)]
            middle = middle + shift[0] * across + shift[1] * upward
            side, tall = side - shift[0], tall - shift[1]
        free = 1.0 - float(np.abs(tall / (distance + deep)).max()) / slope / _MARGIN
        camera.parallel_projection = False
        camera.view_angle = _OPEN
    camera.SetWindowCenter(0.0, -2.0 * lift * free)
    camera.position = tuple(middle - distance * eye)
    camera.focal_point = tuple(middle)
    camera.up = tuple(up)
    renderer.reset_camera_clipping_range()
    return free

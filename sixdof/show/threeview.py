"""Three views of an airplane as one small SVG text, fast enough to be redrawn as one types."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.show.outlines import propeller_axes, strips

__all__ = ["three_view"]

_GAP = 0.08  # between the views, share of the length
_SIDES = {"wing": (1.0, -1.0), "tailplane": (1.0, -1.0), "fin": (1.0,), "ventral": (1.0,)}


def three_view(airframe: Airframe, *, neutral_point: float | None = None) -> str:
    """From above, from the left and from the front, nose to the left; a group of shapes a part, named by its class.

    Parameters
    ----------
    airframe : Airframe
    neutral_point : float, optional [m]
        x from the datum, negative aft.
    """
    parts = [(name, ring) for name in _SIDES for ring in _rings(airframe, name)]
    parts = [("body", ring) for ring in _body(airframe)] + parts + [("propeller", _disc(airframe))]
    points = np.concatenate([ring for _, ring in parts])
    low, high = points.min(axis=0), points.max(axis=0)
    length, width, height = high - low
    gap = _GAP * max(length, width)
    # seen from above: aft to the right, right wing up; from the left below it; from the front beside it
    views = {
        "above": (lambda p: np.c_[high[0] - p[:, 0], high[1] - p[:, 1]]),
        "side": (lambda p: np.c_[high[0] - p[:, 0], width + gap + p[:, 2] - low[2]]),
        "front": (
            lambda p: np.c_[length + gap + p[:, 1] - low[1], 0.5 * (width - height) + p[:, 2] - low[2]]
        ),
    }
    wide, tall = length + gap + width, width + gap + height
    scale = 1000.0 / wide
    shapes = []
    for part in ("body", "wing", "tailplane", "fin", "ventral", "propeller"):
        mine = [place(ring) * scale for name, ring in parts if name == part for place in views.values()]
        if mine:
            paths = "".join(f'<path d="{_path(ring)}"/>' for ring in mine)
            shapes.append(f'<g class="{part}">{paths}</g>')
    cg = np.array([airframe.mass.cg])
    marks = [_mark("cg", place(cg)[0] * scale) for place in views.values()]
    if neutral_point is not None:
        neutral = np.array([[neutral_point, 0.0, cg[0, 2]]])
        marks += [_mark("neutral", views[name](neutral)[0] * scale) for name in ("above", "side")]
    pad = 12.0
    box = f"{-pad:g} {-pad:g} {wide * scale + 2 * pad:.0f} {tall * scale + 2 * pad:.0f}"
    words = "Three views of the airplane as the file describes it: from above, from the left, from the front"
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" role="img" aria-label="{words}">{"".join(shapes + marks)}</svg>'


def _rings(airframe: Airframe, name: str) -> Iterator[np.ndarray]:
    """Closed outlines of a surface, fixed and movable stretches apart."""
    surface = getattr(airframe, name)
    if surface is None:
        return
    homes = {"wing": ("aileron", "flap"), "tailplane": ("elevator",), "fin": ("rudder",)}
    controls = {
        c: getattr(airframe.controls, c) for c in homes.get(name, ()) if getattr(airframe.controls, c)
    }
    for strip in strips(surface, controls):
        inner, outer = strip.rings
        n = len(inner) // 2
        for outline in (
            np.concatenate((inner[:n], outer[:n][::-1])),
            np.concatenate((inner[n:], outer[n:][::-1])),
        ):
            for side in _SIDES[name]:
                yield outline * np.array([1.0, side, 1.0])


def _body(airframe: Airframe) -> Iterator[np.ndarray]:
    """Outline of the body from above, from the side, and its largest section."""
    stations = airframe.body
    x = np.array([s.x for s in stations])
    top, bottom = np.array([s.top for s in stations]), np.array([s.bottom for s in stations])
    half, middle = 0.5 * np.array([s.width for s in stations]), 0.5 * (top + bottom)
    yield np.r_[np.c_[x, half, middle], np.c_[x, -half, middle][::-1]]
    yield np.r_[np.c_[x, 0.0 * x, top], np.c_[x, 0.0 * x, bottom][::-1]]
    angle = np.linspace(0.0, 2.0 * np.pi, 40)
    big = int(np.argmax((bottom - top) * half))
    yield np.c_[
        0.0 * angle + x[big],
        half[big] * np.sin(angle),
        middle[big] + 0.5 * (bottom - top)[big] * np.cos(angle),
    ]


def _disc(airframe: Airframe) -> np.ndarray:
    """Rim of the propeller's disc."""
    _, across, up = propeller_axes(airframe.propeller)
    angle = np.linspace(0.0, 2.0 * np.pi, 49)[:, None]
    return np.array(airframe.propeller.position) + 0.5 * airframe.propeller.diameter * (
        np.cos(angle) * across + np.sin(angle) * up
    )


def _path(ring: np.ndarray) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in ring) + "Z"


def _mark(name: str, at: np.ndarray) -> str:
    x, y = at
    return f'<g class="{name}"><circle cx="{x:.1f}" cy="{y:.1f}" r="7"/><path d="M{x - 11:.1f} {y:.1f}H{x + 11:.1f}M{x:.1f} {y - 11:.1f}V{y + 11:.1f}"/></g>'

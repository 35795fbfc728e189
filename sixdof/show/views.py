"""Views of an airplane on a sheet: from above, from the left, from the front, to one scale.

The sheet is laid out in pixels from its lower left corner; the view from above stands over the one
from the left, and the one from the front beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from sixdof.airframe.model import Airframe
from sixdof.show.outlines import body_ring, propeller_axes, strips, upright
from sixdof.show.palette import (
    BLENDED,
    FAINT,
    GROUND,
    OTHER,
    PALE_INK,
    PROPELLER,
    UNDERSIDE,
    tint,
)
from sixdof.show.sheet import HEIGHT, WIDTH

__all__ = ["View", "draw_parts", "three_views"]

LEFT, RIGHT, TOP, BOTTOM = 70, 112, 66, 100  # of the sheet, around the views
BESIDE, BETWEEN = 140, 100  # least room between front and side, and between side and plan
WORDS_WIDTH, WORDS_HEIGHT = 500, 640  # least room for the words
LEAST_LENGTH = 330  # room for the words about the CG, however short the airplane
AROUND = 16  # from the airplane to the edge of its view
LEAST_STEP = 55  # of the grid
TICKS = 7.5  # pt

#: How the parts are painted; movable surfaces by their own name.
PAINT = {
    "body": tint(UNDERSIDE, "#ffffff", 0.3),
    "wing": tint(GROUND, "#ffffff", 0.35),
    "tailplane": tint(GROUND, "#ffffff", 0.35),
    "fin": tint(GROUND, "#ffffff", 0.1),
    "ventral": tint(GROUND, "#ffffff", 0.1),
    "flap": tint(OTHER, "#ffffff", 0.45),
}
MOVABLE = tint(BLENDED, "#ffffff", 0.55)
#: Across the page, up the page, toward the eye, in body axes.
ABOVE = np.array([[-1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, -1.0]])
SIDE = np.array([[-1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, -1.0, 0.0]])
FRONT = np.array([[0.0, -1.0, 0.0], [0.0, 0.0, -1.0], [1.0, 0.0, 0.0]])


class Piece(NamedTuple):
    """Two rings (2, n, 3) [m] with the skin between them; the hinge (2, 3) if it is movable."""

    part: str
    control: str
    rings: np.ndarray
    hinge: np.ndarray


@dataclass(frozen=True)
class View:
    """A view on the sheet: where body axes come to lie, and its axes in mm."""

    axes: Axes
    turn: np.ndarray
    origin: tuple[float, float]
    scale: float

    def mm(self, points: np.ndarray) -> np.ndarray:
        """Points (n, 3) [m] as (n, 3) [mm]: across, up, toward the eye."""
        return 1e3 * np.asarray(points) @ self.turn.T

    def place(self, point: Sequence[float] | np.ndarray) -> tuple[float, float]:
        """A point [m] on the sheet [pixel]."""
        across, up, _ = self.mm(np.array(point))
        return self.origin[0] + self.scale * across, self.origin[1] + self.scale * up

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top on the sheet [pixel]."""
        (left, right), (low, high) = self.axes.get_xlim(), self.axes.get_ylim()
        (x, y), s = self.origin, self.scale
        return x + s * left, y + s * low, x + s * right, y + s * high


def _pieces(airframe: Airframe) -> list[Piece]:
    controls = airframe.controls
    both = {"aileron": controls.aileron} | ({"flap": controls.flap} if controls.flap else {})
    surfaces = {
        "wing": (airframe.wing, both),
        "tailplane": (airframe.tailplane, {"elevator": controls.elevator}),
        "fin": (airframe.fin, {"rudder": controls.rudder}),
        "ventral": (airframe.ventral, {}),
    }
    rings = [body_ring(s.x, s.top, s.bottom, s.width) for s in airframe.body]
    pieces = [Piece("body", "", np.array(pair), np.zeros((2, 3))) for pair in pairwise(rings)]
    for part, (surface, movable) in surfaces.items():
        if surface is None:
            continue
        for strip in strips(surface, movable):
            for side in (1.0,) if upright(surface) else (1.0, -1.0):
                flip = np.array([1.0, side, 1.0])
                pieces.append(Piece(part, strip.control, strip.rings * flip, strip.fronts * flip))
    return pieces


def _disc(airframe: Airframe) -> np.ndarray:
    """Rim of the propeller disc (n, 3) [m]."""
    propeller = airframe.propeller
    _, side, other = propeller_axes(propeller)
    turn = np.linspace(0.0, 2.0 * np.pi, 73)[:, None]
    return np.array(propeller.position) + 0.5 * propeller.diameter * (
        np.cos(turn) * side + np.sin(turn) * other
    )


def _outline(points: np.ndarray) -> np.ndarray:
    """Convex hull (m, 2) of points (n, 2), by the monotone chain (common practice, no source)."""
    ordered = sorted(map(tuple, np.round(points, 6)))

    def half(along: Sequence[tuple[float, ...]]) -> list[tuple[float, ...]]:
        kept: list[tuple[float, ...]] = []
        for p in along:
            while len(kept) > 1 and _left_turn(kept[-2], kept[-1], p) <= 0.0:
                kept.pop()
            kept.append(p)
        return kept[:-1]

    return np.array((half(ordered) + half(ordered[::-1])) or ordered[:1])


def _left_turn(a: Sequence[float], b: Sequence[float], c: Sequence[float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def three_views(figure: Figure, airframe: Airframe) -> tuple[View, View, View]:
    """Views from above, the left and the front, still empty, at the largest scale that leaves room for words."""
    points = [
        *(p.rings.reshape(-1, 3) for p in _pieces(airframe)),
        _disc(airframe),
        np.array([airframe.mass.cg, (0.0, 0.0, 0.0)]),
    ]
    low, high = (1e3 * f(np.concatenate(points), axis=0) for f in (np.min, np.max))
    long, tall = high[0] - low[0], high[2] - low[2]
    half = max(high[1], -low[1])
    across = WIDTH - LEFT - BESIDE - RIGHT - 4 * AROUND
    upward = HEIGHT - TOP - BETWEEN - BOTTOM - 4 * AROUND
    scale = min(
        across / (long + 2 * half), (across - WORDS_WIDTH) / long, upward / (2 * half + tall),
        (HEIGHT - WORDS_HEIGHT - BOTTOM - 2 * AROUND) / tall,
    )  # fmt: skip
    spare = (upward - scale * (2 * half + tall)) / 3  # shared by the gaps above, between and below
    plan_x = WIDTH - RIGHT - AROUND - max(scale * long, LEAST_LENGTH) + scale * high[0]
    side_y = BOTTOM + spare + AROUND + scale * high[2]
    plan_y = HEIGHT - TOP - spare - AROUND - scale * half
    front_x = LEFT + AROUND + max(scale * half, 0.5 * WORDS_WIDTH)
    step = _round_step(LEAST_STEP / scale)
    edge = AROUND / scale
    x, y, z = (
        (-high[0] - edge, -low[0] + edge),
        (-half - edge, half + edge),
        (-high[2] - edge, -low[2] + edge),
    )
    return (
        _view(figure, "above", ABOVE, (plan_x, plan_y), scale, x, y, step),
        _view(figure, "side", SIDE, (plan_x, side_y), scale, x, z, step),
        _view(figure, "front", FRONT, (front_x, side_y), scale, y, z, step),
    )


def _view(
    figure: Figure, label: str, turn: np.ndarray, origin: tuple[float, float], scale: float,
    x: tuple[float, float], y: tuple[float, float], step: float,
) -> View:  # fmt: skip
    box = (
        (origin[0] + scale * x[0]) / WIDTH, (origin[1] + scale * y[0]) / HEIGHT,
        scale * (x[1] - x[0]) / WIDTH, scale * (y[1] - y[0]) / HEIGHT,
    )  # fmt: skip
    axes = figure.add_axes(box, label=label, xlim=x, ylim=y)
    axes.set_aspect("equal")
    axes.set_axisbelow(True)
    axes.grid(True, color=FAINT, lw=0.7)
    for spine in axes.spines.values():
        spine.set_color(FAINT)
    for axis, (first, last), body in zip((axes.xaxis, axes.yaxis), (x, y), turn, strict=False):
        ticks = step * np.arange(np.ceil(first / step), np.floor(last / step) + 1) + 0.0
        sideways = bool(body[1])  # told without sign, as a distance to either side
        axis.set_ticks(ticks, [f"{abs(t) if sideways else t:.0f}".replace("-", "\u2212") for t in ticks])
    axes.tick_params(length=0, labelsize=TICKS, labelcolor=PALE_INK, pad=4)
    if label == "above":
        axes.tick_params(labeltop=True, labelbottom=False, labelright=True, labelleft=False)
    elif label == "side":
        axes.tick_params(labelleft=False, labelbottom=False)
    return View(axes, turn, origin, scale)


def _round_step(least: float) -> float:
    """The next of 1, 2, 5, 10, 20, ... that is not less."""
    power = 10.0 ** np.floor(np.log10(least))
    return float(power * next(f for f in (1, 2, 5, 10) if f * power >= least * (1 - 1e-9)))


def draw_parts(view: View, airframe: Airframe) -> None:
    """Paint the parts, those nearest to the eye last, and the rim of the propeller disc."""
    pieces = _pieces(airframe)
    near: dict[str, float] = {}
    for piece in pieces:
        toward = float(view.mm(piece.rings)[..., 2].max())
        near[piece.part] = max(near.get(piece.part, -np.inf), toward)
    order = {part: 2.0 + 0.1 * k for k, part in enumerate(sorted(near, key=lambda part: near[part]))}
    from_front = view.turn is FRONT  # from where movable surfaces hide behind the fixed ones
    for piece in pieces:
        corners = _outline(view.mm(piece.rings.reshape(-1, 3))[:, :2])
        color = PAINT.get(piece.control or piece.part, MOVABLE)
        level = order[piece.part] + (0.02 if piece.control else 0.0) * (-1.0 if from_front else 1.0)
        view.axes.add_patch(
            Polygon(corners, facecolor=color, edgecolor=PALE_INK, lw=0.5, alpha=0.88, joinstyle="round",
                    zorder=level, gid=piece.control or piece.part)
        )  # fmt: skip
        if piece.control and not from_front:
            line = view.mm(piece.hinge)
            view.axes.plot(line[:, 0], line[:, 1], color=BLENDED, lw=1.1, zorder=level + 0.01, gid="hinge")
    rim = view.mm(_disc(airframe))[:, :2]
    style = (0, (5, 3)) if from_front else "-"
    view.axes.add_patch(
        Polygon(rim, facecolor="none", edgecolor=PROPELLER, lw=1.1, ls=style, zorder=4, gid="propeller")
    )

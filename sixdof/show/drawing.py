"""An airplane as understood from its file, so that a typing mistake is seen at a glance."""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Arc, Circle, Polygon, Wedge

from sixdof.airframe.geometry import Surface
from sixdof.airframe.model import Airframe
from sixdof.show.measures import angle, balance_words, ends, margin_words, mean_chord_side, mm, table
from sixdof.show.outlines import propeller_axes
from sixdof.show.palette import CALLER, INK, PALE_INK, PROPELLER, TOPSIDE
from sixdof.show.plots import save
from sixdof.show.sheet import DPI, HEIGHT, WIDTH, dimension, row, stroke, width_of, wrapped, write
from sixdof.show.views import MOVABLE, PAINT, WORDS_WIDTH, View, draw_parts, three_views

__all__ = ["airframe_figure", "draw_airframe"]

SMALL, READ, TITLE = 7.5, 9.0, 15.0  # pt
LINE = 22  # pixel from line to line of words
MOST_ANGLES = 4  # panels whose dihedral is written one by one


def draw_airframe(
    airframe: Airframe, path: str | Path, *, neutral_point: float | None = None, notes: Sequence[str] = ()
) -> None:
    """Write a picture of an airplane: from above, from the left, from the front, and its measures.

    Parameters
    ----------
    airframe : Airframe
    path : str or Path
        Ending .png, .svg or .pdf.
    neutral_point : float, optional [m]
        x from the datum, body axes: negative aft.
    notes : sequence of str
        Warnings to stand below the measures.

    Raises
    ------
    OSError
        The file cannot be written.
    """
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph")  # of a name in letters the font does not have
        save(airframe_figure(airframe, neutral_point=neutral_point, notes=notes), path)


def airframe_figure(
    airframe: Airframe, *, neutral_point: float | None = None, notes: Sequence[str] = ()
) -> Figure:
    """The figure that :func:`draw_airframe` writes, with axes "sheet", "above", "side", "front"."""
    figure = Figure(figsize=(WIDTH / DPI, HEIGHT / DPI), dpi=DPI)
    FigureCanvasAgg(figure)  # knows how wide words are
    above, side, front = views = three_views(figure, airframe)
    for view in views:
        draw_parts(view, airframe)
    sheet = figure.add_axes((0.0, 0.0, 1.0, 1.0), label="sheet", zorder=5)
    sheet.set(xlim=(0, WIDTH), ylim=(0, HEIGHT))
    sheet.set_axis_off()
    _mean_chord(sheet, above, airframe)
    # the words stand on the side of the line that the mean chord's do not use
    _thrust_line(sheet, above, airframe, _sided(airframe.propeller.right_thrust, "right", "left"), -27)
    _thrust_line(sheet, side, airframe, _sided(airframe.propeller.down_thrust, "down", "up"), 27)
    _balance(sheet, above, side, airframe, neutral_point)
    _incidences(sheet, side, airframe)
    _dihedrals(sheet, front, airframe)
    _dimensions(sheet, above, side, airframe)
    _captions(sheet, above, side, front)
    _words(sheet, front, airframe, neutral_point, notes)
    return figure


# ---------------------------------------------------------------- marks in the views


def _mean_chord(sheet: Axes, above: View, airframe: Airframe) -> None:
    """Mean aerodynamic chord on the right wing with its 25 % mark."""
    wing = airframe.wing
    chord, quarter, out = wing.mean_chord, wing.quarter_chord[0], mean_chord_side(wing)
    (x0, y), (x25, _), (x1, _) = (
        above.place((quarter + (0.25 - share) * chord, out, 0.0)) for share in (0.0, 0.25, 1.0)
    )
    stroke(sheet, (x0, y), (x1, y), color=CALLER, lw=1.8, solid_capstyle="butt", gid="mean chord")
    for x, tall in ((x0, 6), (x25, 9), (x1, 6)):
        stroke(sheet, (x, y - tall), (x, y + tall), color=CALLER, lw=1.4)
    write(sheet, x25, y + 18, "25 %", color=CALLER, fontsize=SMALL, ha="center", bbox=None)
    write(sheet, x0 - 10, y, f"mean chord {mm(chord)}", color=CALLER, ha="right")


def _thrust_line(sheet: Axes, view: View, airframe: Airframe, words: str, above: float) -> None:
    """Thrust line from ahead of the nose to the propeller, or to the CG if that lies behind it."""
    propeller = airframe.propeller
    left, bottom, _, top = view.box
    shaft, at = propeller_axes(propeller)[0], np.array(propeller.position)
    along = shaft / max(shaft[0], 0.1)  # as far as 1 m ahead
    ahead = (view.place(at)[0] - left + 84.0) / (1e3 * view.scale)
    back = min(0.0, airframe.mass.cg[0] - at[0])
    start, end = view.place(at + along * ahead), view.place(at + along * back)
    stroke(sheet, start, end, color=PROPELLER, lw=1.0, ls=(0, (9, 3, 2, 3)), gid="thrust line")
    y = (max if above > 0.0 else min)(start[1], view.place(at)[1]) + above
    y = min(max(y, bottom + 20), top - 6)
    write(sheet, left - 46, y, f"thrust line\n{words}", color=PROPELLER, ha="center")


def _sided(tilt: float, positive: str, negative: str) -> str:
    if angle(tilt) == "0°":
        return "0°"
    return f"{angle(abs(tilt))} {positive if tilt > 0.0 else negative}"


def _balance(sheet: Axes, above: View, side: View, airframe: Airframe, neutral_point: float | None) -> None:
    """Datum, CG and neutral point in both views, joined, with words between them."""
    cg, words_at = airframe.mass.cg, above.box[1] - 18
    _joined(sheet, above, side, (0.0, 0.0, 0.0), "datum", INK, 1, words_at)
    for view in (above, side):
        x, y = view.place((0.0, 0.0, 0.0))
        stroke(sheet, (x - 9, y), (x + 9, y), color=INK, lw=1.2, zorder=7)
        stroke(sheet, (x, y - 9), (x, y + 9), color=INK, lw=1.2, zorder=7)
    behind = neutral_point is None or neutral_point <= cg[0]
    words = f"CG {mm(-cg[0])}\n{balance_words(airframe)}"
    _joined(sheet, above, side, cg, words, INK, -1 if behind else 1, words_at - 34)
    if neutral_point is not None:
        words = f"neutral point {mm(-neutral_point)}\n{margin_words(airframe, neutral_point)}"
        point = (neutral_point, 0.0, cg[2])
        if _joined(sheet, above, side, point, words, CALLER, 1 if behind else -1, words_at - 34):
            for view in (above, side):
                x, y = view.place(point)
                sheet.plot(x, y, "o", ms=9, mfc="white", mec=CALLER, mew=1.6, zorder=7, gid="neutral point")
                sheet.plot(x, y, "o", ms=3, color=CALLER, zorder=7)
    for view in (above, side):
        _quartered_circle(sheet, *view.place(cg))


def _joined(
    sheet: Axes, above: View, side: View, point: Sequence[float], words: str, color: str, way: int, y: float
) -> bool:
    """A line between both views with words to its right (1) or left (-1); False off the picture."""
    left, _, right, _ = above.box
    top, bottom = above.place(point), side.place(point)
    inside = left <= top[0] <= right
    if inside:
        stroke(sheet, top, bottom, color=color, lw=0.8, ls=(0, (1, 2)))
    else:
        words, way = f"{words}\n(outside of this picture)", -1
    x = min(max(top[0], left), right)
    write(sheet, x + 7 * way, y, words, color=color, ha="left" if way > 0 else "right", linespacing=1.25)
    return inside


def _quartered_circle(sheet: Axes, x: float, y: float) -> None:
    """The usual mark of a CG."""
    sheet.add_patch(Circle((x, y), 8, facecolor="white", edgecolor=INK, lw=1.0, zorder=8, gid="CG"))
    for start in (0, 180):
        sheet.add_patch(Wedge((x, y), 8, start, start + 90, facecolor=INK, edgecolor="none", zorder=8))


def _incidences(sheet: Axes, side: View, airframe: Airframe) -> None:
    """Incidence, and washout where there is any, below the view from the left."""
    labels = []
    for name, surface in (("wing", airframe.wing), ("tailplane", airframe.tailplane)):
        words = f"{name} incidence {angle(surface.incidence)}"
        washout = angle(sum(p.washout for p in surface.panels))
        if washout != "0°":
            words += f", washout {washout}"
        quarter = np.array(surface.root) - (0.25 * surface.panels[0].root_chord, 0.0, 0.0)
        labels.append((words, side.place(quarter)))
    left, bottom, _, _ = side.box
    row(sheet, bottom - 20, (left - 90, WIDTH - 14), labels)


def _dihedrals(sheet: Axes, front: View, airframe: Airframe) -> None:
    """Dihedral of each panel on the right wing, of the tailplane on the left side."""
    left, _, right, top = front.box
    middle = 0.5 * (left + right)
    row(sheet, top + 22, (left - 20, middle - 6), _panel_angles(front, airframe.wing, "dihedral", 1.0))
    tail = _panel_angles(front, airframe.tailplane, "tailplane dihedral", -1.0)
    row(sheet, top + 22, (middle + 6, right + 110), tail)


def _panel_angles(
    front: View, surface: Surface, name: str, side: float
) -> list[tuple[str, tuple[float, float]]]:
    """Words and place of the dihedral of each panel, neighbors alike as one; many as a range."""
    at = np.array(surface.root)
    found: list[tuple[str, np.ndarray, np.ndarray]] = []  # words, from, to
    for p in surface.panels:
        end = at + p.span * np.array([0.0, side * np.cos(p.dihedral), -np.sin(p.dihedral)])
        if found and found[-1][0] == angle(p.dihedral):
            found[-1] = (*found[-1][:2], end)
        else:
            found.append((angle(p.dihedral), at, end))
        at = end
    if len(found) > MOST_ANGLES:
        low, high = (f(p.dihedral for p in surface.panels) for f in (min, max))
        found = [(f"{angle(low)} to {angle(high)}", found[0][1], at)]
    first = len(found) - 1 if side > 0.0 else 0  # the leftmost on the page carries the name
    return [
        (f"{name} {words}" if k == first else words, front.place(0.5 * (start + end)))
        for k, (words, start, end) in enumerate(found)
    ]


def _dimensions(sheet: Axes, above: View, side: View, airframe: Airframe) -> None:
    """Span beside the view from above, length below the one from the left."""
    span, x = airframe.wing.span, above.box[2] + 62
    low, high = (above.place((0.0, y, 0.0))[1] for y in (-0.5 * span, 0.5 * span))
    dimension(sheet, (x, low), (x, high))
    write(sheet, x + 16, low + 0.75 * (high - low), f"span {mm(span)}", ha="center", rotation=90)
    nose, tail = ends(airframe)
    start, end = (side.place((x, 0.0, 0.0))[0] for x in (nose, tail))
    y = side.box[1] - 52
    dimension(sheet, (start, y), (end, y))
    write(sheet, 0.5 * (start + end), y, f"length {mm(nose - tail)}", ha="center")


def _captions(sheet: Axes, above: View, side: View, front: View) -> None:
    style: dict[str, Any] = {"color": PALE_INK, "fontsize": SMALL, "bbox": None}
    _, _, right, top = above.box
    write(sheet, right, top + 32, "from above; mm aft of the datum, mm to the side", ha="right", **style)
    write(sheet, side.box[2], side.box[1] - 76, "from the left", ha="right", **style)
    words = "from the front: the right wing is on the left; mm above the datum"
    left, bottom, right, _ = front.box
    write(sheet, 0.5 * (left + right), bottom - 34, words, ha="center", **style)


# ---------------------------------------------------------------- words


def _words(
    sheet: Axes, front: View, airframe: Airframe, neutral_point: float | None, notes: Sequence[str]
) -> None:
    """Name, measures and warnings in the corner that the views leave free."""
    left, top = 40.0, HEIGHT - 48.0
    width = max(front.box[2] - left, float(WORDS_WIDTH))
    style: dict[str, Any] = {"bbox": None, "va": "baseline", "fontsize": READ}
    _propeller_mark(sheet, left + width - 62, top - 30, airframe)
    y = top
    for text in wrapped(airframe.name, width - 140, TITLE):
        write(sheet, left, y, text, **(style | {"fontsize": TITLE, "fontweight": "bold"}))
        y -= 28
    for text in wrapped(airframe.about, width - 140, READ, most=4):
        write(sheet, left, y, text, color=PALE_INK, **style)
        y -= LINE
    if airframe.invented:
        y -= 4
        words = "invented airplane: do not dial this in"
        write(sheet, left, y, words, color=TOPSIDE, fontweight="bold", **style)
        y -= LINE
    y = min(y - 10, top - 130)
    for name, value in table(airframe, neutral_point):
        write(sheet, left, y, name, color=PALE_INK, **style)
        write(sheet, left + 120, y, value, **style)
        y -= LINE
    _key(sheet, left, y - 4, airframe)
    y -= 1.5 * LINE
    lines = [text for note in notes for text in wrapped(f"! {note}", width, READ)]
    fit = max(int((y - front.box[3] - 50) / LINE), 1)
    if len(lines) > fit:
        lines = [*lines[: fit - 1], "! and more: `sixdof check` lists them all"]
    for text in lines:
        write(sheet, left, y, text, color=TOPSIDE, **style)
        y -= LINE


def _key(sheet: Axes, x: float, y: float, airframe: Airframe) -> None:
    """What the colors of the movable surfaces mean."""
    names = {"aileron, elevator, rudder": MOVABLE}
    if airframe.controls.flap is not None:
        names["flap"] = PAINT["flap"]
    for name, color in names.items():
        corners = [(x, y), (x + 14, y), (x + 14, y + 10), (x, y + 10)]
        sheet.add_patch(Polygon(corners, facecolor=color, edgecolor=PALE_INK, lw=0.5))
        text = write(sheet, x + 20, y, name, bbox=None, va="baseline", color=PALE_INK, fontsize=READ)
        x += 20 + width_of(text) + 18


def _propeller_mark(sheet: Axes, x: float, y: float, airframe: Airframe) -> None:
    """The propeller as seen from behind, with an arrow the way it turns."""
    propeller, radius = airframe.propeller, 30.0

    def at(clock: float, share: float = 1.0) -> tuple[float, float]:
        return x + share * radius * np.sin(clock), y + share * radius * np.cos(clock)

    for blade in range(propeller.blades):
        clock = 2.0 * np.pi * blade / propeller.blades
        stroke(sheet, (x, y), at(clock, 0.8), color=PROPELLER, lw=2.2)
    sheet.plot(x, y, "o", color=PROPELLER, ms=5, zorder=7)
    sheet.add_patch(Arc((x, y), 2 * radius, 2 * radius, theta1=-25, theta2=205, color=PROPELLER, lw=1.3))
    way = 1.0 if propeller.clockwise else -1.0
    arrow = {
        "arrowstyle": "-|>,head_width=0.3,head_length=0.6",
        "color": PROPELLER,
        "shrinkA": 0,
        "shrinkB": 0,
    }
    tip, back = (way * np.radians(degrees) for degrees in (115.0, 97.0))
    sheet.annotate("", at(tip), at(back), arrowprops=arrow)
    words = f"{'clockwise' if propeller.clockwise else 'counterclockwise'},\nseen from behind"
    write(sheet, x, y - radius - 16, words, color=PROPELLER, fontsize=SMALL, ha="center", va="top", bbox=None)

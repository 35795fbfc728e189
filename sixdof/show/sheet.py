"""Words and lines on a sheet laid out in pixels from its lower left corner."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from matplotlib.axes import Axes
from matplotlib.text import Text

from sixdof.show.letters import with_fonts
from sixdof.show.palette import INK, PALE_INK

__all__ = ["dimension", "row", "stroke", "width_of", "wrapped", "write"]

WIDTH, HEIGHT, DPI = 1600, 1100, 130  # of the sheet; DPI as `save` in plots.py writes
PLAIN = 8.5  # pt
GAP = 12.0  # least room between labels of a row
LETTER = 0.56  # mean width of a letter over its size; measured on the usual font, a little wide


def write(sheet: Axes, x: float, y: float, words: str, **style: Any) -> Text:
    """Words on white, so that no line runs through them."""
    white = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 0.8}
    usual: dict[str, Any] = {"color": INK, "fontsize": PLAIN, "va": "center", "zorder": 9, "bbox": white}
    words, fonts = with_fonts(words)
    return sheet.text(x, y, words, parse_math=False, fontfamily=fonts, **(usual | style))


def stroke(sheet: Axes, *points: tuple[float, float], **style: Any) -> None:
    """A thin line through points."""
    usual: dict[str, Any] = {"color": PALE_INK, "lw": 0.7, "zorder": 6}
    sheet.plot(*zip(*points, strict=True), **(usual | style))


def row(
    sheet: Axes,
    y: float,
    limits: tuple[float, float],
    labels: Sequence[tuple[str, tuple[float, float]]],
) -> None:
    """Labels side by side at a height, each with a line to its place."""
    labels = sorted(labels, key=lambda label: label[1][0])
    texts = [write(sheet, 0.0, y, words, ha="center") for words, _ in labels]
    centers = _spread([place[0] for _, place in labels], [width_of(t) for t in texts], *limits)
    for text, center, (_, place) in zip(texts, centers, labels, strict=True):
        text.set_x(center)
        stroke(sheet, (center, y + (9 if place[1] > y else -9)), place)
        sheet.plot(*place, "o", color=PALE_INK, ms=2.2, zorder=6)


def dimension(sheet: Axes, start: tuple[float, float], end: tuple[float, float]) -> None:
    """A line with slim arrowheads at both ends."""
    arrow = {"arrowstyle": "<|-|>,head_width=0.18,head_length=0.5", "color": PALE_INK, "lw": 0.8,
             "shrinkA": 0, "shrinkB": 0}  # fmt: skip
    sheet.annotate("", end, start, arrowprops=arrow)


def width_of(text: Text) -> float:
    """Width of words [pixel]."""
    return float(text.get_window_extent().width)


def wrapped(words: str, width: float, size: float, *, most: int | None = None) -> list[str]:
    """At most so many lines that fit a width [pixel] in letters of a size [pt]."""
    letters = max(int(width / (LETTER * size * DPI / 72)), 12)
    return textwrap.wrap(" ".join(words.split()), letters, max_lines=most, placeholder=" …")


def _spread(wanted: Sequence[float], widths: Sequence[float], low: float, high: float) -> list[float]:
    """Centers of boxes side by side, near to the wanted ones (ascending) and inside of the limits."""
    centers: list[float] = []
    edge = low
    for center, width in zip(wanted, widths, strict=True):
        centers.append(max(center, edge + width / 2))
        edge = centers[-1] + width / 2 + GAP
    edge = high
    for k in reversed(range(len(centers))):
        centers[k] = min(centers[k], edge - widths[k] / 2)
        edge = centers[k] - widths[k] / 2 - GAP
    return centers

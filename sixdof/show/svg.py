"""Pieces of a small drawing as SVG: lines, dots, letters. It is 360 wide; colors and letters are those of the page it stands in."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import numpy as np

__all__ = ["WIDTH", "apart", "chosen_by", "dot", "polyline", "signed", "svg", "text"]

#: For a phone.
WIDTH = 360.0
_LINE = 11.0  # from line to line of letters


def apart(wanted: Sequence[float], low: float, high: float) -> list[float]:
    """Heights of lines of letters that do not touch, near to those wanted, inside low and high."""
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    places: list[float] = []
    for i in order:
        places.append(max(wanted[i], places[-1] + _LINE if places else low))
    over = max(0.0, places[-1] - high) if places else 0.0
    return [places[order.index(i)] - over for i in range(len(wanted))]


def signed(value: float, digits: int) -> str:
    """A number with its sign; zero has none."""
    number = f"{value:+.{digits}f}".replace("-", "\N{MINUS SIGN}")
    return number[1:] if float(number[1:]) == 0.0 else number


def polyline(points: np.ndarray, kind: str, color: str = "") -> str:
    """Straight lines through points (n, 2), to a tenth."""
    steps = np.round(points, 1)
    keep = np.r_[True, np.any(np.abs(np.diff(steps, axis=0)) > 0.0, axis=1)]
    at = " ".join(f"{x:g},{y:g}" for x, y in steps[keep].tolist())
    return f'<polyline class="{kind}"{_style(color)} points="{at}"/>'


def dot(at: Sequence[float] | np.ndarray, color: str, more: str = "", *, kind: str = "end") -> str:
    """A small filled circle, or a ``hollow`` one; ``more`` are further attributes."""
    return f'<circle class="{kind}"{_style(color)} cx="{at[0]:.1f}" cy="{at[1]:.1f}" r="2.6"{more}/>'


def chosen_by(pick: str, words: str) -> str:
    """Attributes of what a page lets one choose: its key there, and what it is called."""
    return f' data-pick="{escape(pick)}" data-words="{escape(words)}"'


def text(x: float, y: float, words: str, kind: str, color: str = "") -> str:
    """Words at a place, of a kind that the page knows."""
    return f'<text class="{kind}"{_style(color)} x="{x:.1f}" y="{y:.1f}">{escape(words)}</text>'


def svg(parts: Sequence[str], tall: float, title: str, more: str = "", *, role: str = "img") -> str:
    """The drawing; what can be chosen in it makes it a group."""
    return f'<svg viewBox="0 0 {WIDTH:g} {tall:.0f}" role="{role}" {more}><title>{escape(title)}</title>{"".join(parts)}</svg>'


def _style(color: str) -> str:
    return f' style="--flight:{color}"' if color else ""

"""Plot of a maneuver over two things: how far it drifts at each place, and the best of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure

from sixdof.show.palette import BARE, BLENDED, INK, PALE_INK, PAPER
from sixdof.show.plots import quiet, save

__all__ = ["map_plot"]

_SHADES = LinearSegmentedColormap.from_list("sizes", [BLENDED, "#9fbcd0", "#f2ead9", BARE, "#7c2f0c"])
_TOP = 30.0  # deg; what drifts more has the same color


def map_plot(
    path: str | Path,
    down: Sequence[float],
    across: Sequence[float],
    drift: Sequence[Sequence[float]],
    *,
    titles: tuple[str, str],
    best: Sequence[int] = (),
    seen: float = 5.0,
    title: str = "",
) -> Path:
    """Draw the size of a drift over two settings.

    Parameters
    ----------
    path : str or Path
    down, across : sequence of float
        As people write them.
    drift : array (down, across) [deg]
        NaN where a flight did not finish.
    titles : (str, str)
        What the two are, with unit and sense.
    best : (int, int), optional
        Where it is least.
    seen : float [deg]
        A line is drawn around what drifts less.
    title : str
    """
    size = np.abs(np.asarray(drift, float))
    figure = Figure(figsize=(8.0, 5.6), layout="constrained")
    axes = figure.subplots()
    quiet(axes)
    axes.grid(False)
    x, y = _edges(across), _edges(down)
    axes.set_facecolor(PAPER)
    mesh = axes.pcolormesh(x, y, np.ma.masked_invalid(size), cmap=_SHADES, vmin=0.0, vmax=_TOP)
    if np.isnan(size).any():
        for i, j in np.argwhere(np.isnan(size)):
            axes.plot(across[j], down[i], marker="x", color=PALE_INK, ms=4, mew=0.8)
    known = np.where(np.isnan(size), _TOP, size)
    if min(size.shape) >= 2 and known.min() < seen < known.max():
        axes.contour(across, down, known, levels=[seen], colors=[INK], linewidths=1.4)
    if len(best) == 2:
        i, j = best
        axes.plot(across[j], down[i], marker="o", ms=9, mfc="none", mec="white", mew=3.4)
        axes.plot(across[j], down[i], marker="o", ms=9, mfc="none", mec=INK, mew=1.6)
        words = f"{size[i, j]:.1f}° at {across[j]:g}, {down[i]:g}".replace("-", "\u2212")
        right = across[j] > 0.5 * (across[0] + across[-1])
        axes.annotate(words, (across[j], down[i]), xytext=(-10 if right else 10, 9), textcoords="offset points",
                      ha="right" if right else "left", color=INK, fontweight="bold",
                      bbox={"boxstyle": "round,pad=0.2", "fc": PAPER, "ec": "none", "alpha": 0.8})  # fmt: skip
    axes.set_xlabel(titles[1], color=INK)
    axes.set_ylabel(titles[0], color=INK)
    bar = figure.colorbar(mesh, ax=axes, extend="max" if math.isfinite(np.nanmax(size, initial=0.0)) and np.nanmax(size, initial=0.0) > _TOP else "neither")  # fmt: skip
    bar.set_label("worst drift at the end of the test [°]", color=INK)
    bar.outline.set_visible(False)  # type: ignore[operator]
    bar.ax.axhline(seen, color=INK, lw=1.4)
    note = f"line: {seen:g}°, what is seen"
    if np.isnan(size).any():
        note += "; crosses: a flight did not finish"
    axes.set_title(note, loc="left", color=PALE_INK, fontsize=9)
    figure.suptitle(title, x=0.012, ha="left", color=INK, fontsize=13, fontweight="bold")
    return save(figure, path)


def _edges(values: Sequence[float]) -> np.ndarray:
    """Borders of cells around values, half way between neighbors."""
    v = np.asarray(values, float)
    middle = 0.5 * (v[1:] + v[:-1])
    return np.concatenate(([2.0 * v[0] - middle[0]], middle, [2.0 * v[-1] - middle[-1]]))

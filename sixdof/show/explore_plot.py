"""Plot of one setting flown over a range: drift against it, and the tracks from the side."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap, TwoSlopeNorm
from matplotlib.figure import Figure

from sixdof.show.flown import column, measured_rows, position, rotation
from sixdof.show.palette import BARE, BLENDED, INK, PALE_INK
from sixdof.show.plots import quiet, save

__all__ = ["explore_plot", "side_view", "zero_crossings"]

#: The side views look along the right wing, whatever the drift told is.
OFF_THE_LINE = "off the line of entry [m]\n\u2190 to belly   to canopy \u2192"
_SHADES = LinearSegmentedColormap.from_list("settings", [BARE, "#b9b4a6", BLENDED])


def explore_plot(
    path: str | Path,
    settings: Sequence[float],
    drift: Sequence[float],
    tracks: Sequence[np.ndarray] = (),
    *,
    setting: str = "throttle→elevator at idle [%, up +]",
    sides: tuple[str, str] | None = ("to canopy", "to belly"),
    title: str = "Power-off dives over a range of one setting",
    seconds: float = 3.0,
) -> Path:
    """Draw the drift against a setting, and the measured part of each track from the side.

    Parameters
    ----------
    path : str or Path
    settings : sequence of float
        As people write them: percent.
    drift : sequence of float [rad]
        At the end of the measured phase, positive toward the canopy; NaN where it did not finish.
    tracks : sequence of array (frames, N_TRACK), optional
        One a setting, in the same order; those of flights that never began are empty.
    setting : str
        Name of the setting with its unit and sense.
    sides : (str, str), optional
        What positive and negative drift are called; None where it is the size of the worst of several.
    title : str
    seconds : float
        When the drift was read, for the label.
    """
    x, y = np.asarray(settings, float), np.degrees(np.asarray(drift, float))
    best = zero_crossings(x, y)
    most = max(1e-9, *np.abs(y[np.isfinite(y)]), 0.0)
    norm = TwoSlopeNorm(vcenter=0.0, vmin=-most, vmax=most)
    colors = [_SHADES(norm(v)) if np.isfinite(v) else PALE_INK for v in -y]
    flown = [k for k, track in enumerate(tracks) if len(track) >= 2]
    figure = Figure(figsize=(10.5 if flown else 6.5, 5.6), layout="constrained")
    left, right = figure.subplots(1, 2, width_ratios=[1.25, 1]) if flown else (figure.subplots(), None)
    quiet(left)
    left.axhline(0.0, color=PALE_INK, lw=0.8)
    left.plot(x, y, color=PALE_INK, lw=1.2, zorder=2)
    left.scatter(x, y, c=colors, s=55, edgecolor="white", linewidth=0.8, zorder=3)
    for place in best:
        left.axvline(place, color=INK, lw=1.0, ls=(0, (4, 3)))
        words = f"no drift at {place:.1f}".replace("-", "\u2212")
        left.annotate(words, (place, 1.0), xycoords=("data", "axes fraction"), xytext=(6, -4),
                      textcoords="offset points", color=INK, fontweight="bold", va="top")  # fmt: skip
    left.set_xlabel(setting, color=INK)
    ways = f"\n\u2190 {sides[1]}   {sides[0]} \u2192" if sides else ", the worst"
    left.set_ylabel(f"drift after {seconds:g} s [°]{ways}", color=INK)
    if right is not None:
        _side_views(right, x[flown], [tracks[k] for k in flown], [colors[k] for k in flown])
    figure.suptitle(title, x=0.012, ha="left", color=INK, fontsize=13, fontweight="bold")
    return save(figure, path)


def zero_crossings(x: np.ndarray, y: np.ndarray) -> list[float]:
    """Where a curve through these points crosses zero, straight between them."""
    order = np.argsort(x)
    x, y = x[order], y[order]
    x, y = x[np.isfinite(y)], y[np.isfinite(y)]
    k = np.flatnonzero(np.sign(y[:-1]) * np.sign(y[1:]) < 0)
    crossed = x[k] - y[k] * (x[k + 1] - x[k]) / (y[k + 1] - y[k])
    return sorted([*map(float, crossed), *map(float, x[y == 0.0])])


def side_view(track: np.ndarray) -> tuple[np.ndarray, np.ndarray, bool]:
    """Measured part of a track in the plane of its first flight path and canopy.

    Returns
    -------
    along, to_canopy : array (n,) [m]
        From the start, along the first path and square to it on the canopy's side.
    steep : bool
        The path begins steeper than 45 deg.
    """
    rows = measured_rows(track)
    turn = rotation(rows[0])
    ahead = turn @ np.array([float(column(rows[:1], n)[0]) for n in "uvw"])
    ahead /= np.linalg.norm(ahead)
    canopy = -turn[:, 2] + (turn[:, 2] @ ahead) * ahead
    canopy /= np.linalg.norm(canopy)
    away = position(rows) - position(rows[0])
    return away @ ahead, away @ canopy, abs(float(ahead[2])) > np.sqrt(0.5)


def _side_views(
    axes: Axes,
    settings: np.ndarray,
    tracks: Sequence[np.ndarray],
    colors: Sequence[object],
) -> None:
    """Tracks from the side, a dive drawn downward; meters equal in both directions."""
    quiet(axes)
    views = [side_view(track) for track in tracks]
    steep = sum(view[2] for view in views) * 2 > len(views)
    ends = []
    for (along, off, _), color in zip(views, colors, strict=False):
        h, v = (off, -along) if steep else (along, off)
        axes.plot(h, v, color=color, lw=1.8)
        ends.append((h[-1], v[-1]))
    for k in sorted({0, len(ends) - 1, int(np.argmin([abs(view[1][-1]) for view in views]))}):
        axes.annotate(f"{settings[k]:g}".replace("-", "\u2212"), ends[k], xytext=(0, -11) if steep else (5, 0), textcoords="offset points",
                      color=INK, fontsize=9, fontweight="bold", ha="center" if steep else "left",
                      va="center")  # fmt: skip
    if steep:
        axes.axvline(0.0, color=PALE_INK, lw=0.8)
        axes.set_xlabel(OFF_THE_LINE, color=INK)
        axes.set_ylabel("height since let go [m]", color=INK)
    else:
        axes.axhline(0.0, color=PALE_INK, lw=0.8)
        axes.set_xlabel("along the line of entry [m]", color=INK)
        axes.set_ylabel(OFF_THE_LINE, color=INK)
    axes.set_aspect("equal", adjustable="box")

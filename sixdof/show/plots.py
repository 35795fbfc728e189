"""Plots into files: drift over time, drift against a setting, runs side by side.

Figures are made without pyplot, so nothing is left behind in the process.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text

from sixdof.flight.fly import Track
from sixdof.show.letters import with_fonts
from sixdof.show.palette import BARE, BLENDED, FAINT, INK, PALE_INK, RUN_COLORS

__all__ = ["Drift", "compare_plot", "drift_plot", "measured_errors"]

#: The three errors of a flight: title, and what positive and negative are called.
_PANELS = (
    ("path", "to canopy", "to belly"),
    ("path", "to right wing", "to left wing"),
    ("roll", "right", "left"),
)
LEAST_RANGE = 6.0  # deg; smaller drifts are not blown up to fill the plot


@dataclass(frozen=True)
class Drift:
    """How one measured flight drifted.

    Attributes
    ----------
    time : array (n,) [s]
        From the start of the measured phase.
    errors : array (n, 3) [rad]
        Toward canopy, toward the right wing, roll to the right.
    note : str
        How it ended if not as planned: "let go early".
    """

    time: np.ndarray
    errors: np.ndarray
    note: str = ""


def drift_plot(
    path: str | Path,
    before: Mapping[str, Drift],
    after: Mapping[str, Drift] | None = None,
    *,
    names: tuple[str, str] = ("bare", "with blends"),
    title: str = "Drift with the sticks let go",
) -> Path:
    """Draw errors over time, a column a maneuver and side, a row an error.

    Parameters
    ----------
    path : str or Path
        Ending .png, .svg or .pdf.
    before, after : mapping of str to Drift
        By maneuver and side, "right-rudder knife-edge"; `after` may lack some.
    names : (str, str)
        What to call the two.
    title : str
    """
    columns = list(before)
    after = after or {}
    figure = Figure(figsize=(max(3.0 * len(columns) + 1.1, 6.0), 6.4), layout="constrained")
    grid = np.atleast_2d(figure.subplots(3, len(columns), sharex="col", sharey="row", squeeze=False))
    for j, maneuver in enumerate(columns):
        curves = [(before[maneuver], BARE, 2.0)]
        if maneuver in after:
            curves.append((after[maneuver], BLENDED, 2.6))
        for i, (what, positive, negative) in enumerate(_PANELS):
            axes: Axes = grid[i, j]
            quiet(axes)
            axes.axhline(0.0, color=PALE_INK, lw=0.8)
            for drift, color, width in curves:
                axes.plot(
                    drift.time, np.degrees(drift.errors[:, i]), color=color, lw=width, solid_capstyle="round"
                )
            _end_values(axes, [(d, c, float(np.degrees(d.errors[-1, i]))) for d, c, _ in curves])
            if j == 0:
                axes.set_ylabel(f"{what} [°]", color=INK)
                for y, words, va in ((0.97, positive, "top"), (0.03, negative, "bottom")):
                    axes.text(0.03, y, words, transform=axes.transAxes, color=PALE_INK, fontsize=9, va=va)
        grid[0, j].set_title(maneuver, color=INK, fontsize=11, loc="left")
        grid[2, j].set_xlabel("time since the test began [s]", color=INK)
        notes = [f"{n}: {d.note}" for n, d in zip(names, [c[0] for c in curves], strict=False) if d.note]
        grid[2, j].text(0.97, 0.97, "\n".join(notes), transform=grid[2, j].transAxes, color=PALE_INK, fontsize=8,
                        ha="right", va="top")  # fmt: skip
    for row in grid:
        _at_least(row[0], LEAST_RANGE)
    _headline(figure, title, dict(zip(names, (BARE, BLENDED) if after else (BARE,), strict=False)))
    return save(figure, path)


def compare_plot(
    path: str | Path,
    runs: Mapping[str, Mapping[str, Sequence[float]]],
    *,
    title: str = "Drift at the end of each test",
) -> Path:
    """Draw the drifts of runs side by side, a row a maneuver, a column an error, a dot a run.

    Parameters
    ----------
    path : str or Path
    runs : mapping of str to mapping of str to three floats [rad]
        Run, then maneuver and side, then toward canopy, toward the right wing, roll right.
    title : str

    Raises
    ------
    ValueError
        No drift in any run.
    """
    rows = list(dict.fromkeys(name for run in runs.values() for name in run))
    if not rows:
        raise ValueError("no run has a finished flight whose drift could be drawn")
    figure = Figure(figsize=(11.0, 1.9 + 0.5 * len(rows)), layout="constrained")
    grid = figure.subplots(1, 3, sharey=True)
    colors = {name: RUN_COLORS[k % len(RUN_COLORS)] for k, name in enumerate(runs)}
    for i, (axes, (what, positive, negative)) in enumerate(zip(grid, _PANELS, strict=True)):
        quiet(axes, along="x")
        axes.axvline(0.0, color=PALE_INK, lw=0.8)
        for y, row in enumerate(rows):
            found = {name: float(np.degrees(run[row][i])) for name, run in runs.items() if row in run}
            axes.plot([min(found.values()), max(found.values())], [y, y], color=FAINT, lw=5, zorder=1)
            for k, (name, x) in enumerate(found.items()):
                axes.plot(x, y, "os^Dv"[k % 5], color=colors[name], ms=8, mec="white", mew=0.8, zorder=3 + k)
        axes.set_xlabel(f"{what} [°]\n\u2190 {negative}   {positive} \u2192", color=INK)
        _at_least(axes, LEAST_RANGE, along="x")
    grid[0].set_yticks(range(len(rows)), [with_fonts(name)[0] for name in rows])
    grid[0].set_ylim(len(rows) - 0.5, -0.5)
    marks = {f"{'●■▲◆▼'[k % 5]} {name}": color for k, (name, color) in enumerate(colors.items())}
    _headline(figure, title, marks)
    return save(figure, path)


def quiet(axes: Axes, *, along: str = "y") -> None:
    """Strip the axes to what is needed to read a number."""
    for side in ("top", "right", *(("left",) if along == "x" else ())):
        axes.spines[side].set_visible(False)
    for spine in axes.spines.values():
        spine.set_color(PALE_INK)
    axes.tick_params(colors=INK, color=PALE_INK, length=0 if along == "x" else 3, labelsize=9)
    axes.grid(True, axis=along, color=FAINT, lw=0.8)  # type: ignore[arg-type]
    axes.set_axisbelow(True)


def save(figure: Figure, path: str | Path) -> Path:
    """Write a figure in the format that the path's ending names."""
    FigureCanvasAgg(figure)
    for text in figure.findobj(Text):
        text.set_parse_math(False)  # type: ignore[attr-defined]  # a name with $ in it is no formula
        words, fonts = with_fonts(text.get_text())
        text.set_text(words)
        text.set_fontfamily(fonts)
    figure.savefig(path, dpi=130, facecolor="white")
    return Path(path)


def _at_least(axes: Axes, least: float, *, along: str = "y") -> None:
    low, high = axes.get_ylim() if along == "y" else axes.get_xlim()
    half = max(least / 2, abs(low), abs(high)) * 1.05
    (axes.set_ylim if along == "y" else axes.set_xlim)(-half, half)


def _end_values(axes: Axes, ends: list[tuple[Drift, str, float]]) -> None:
    """Write the last value of each curve at its end, apart from each other."""
    above = max(range(len(ends)), key=lambda k: ends[k][2])
    for k, (drift, color, value) in enumerate(ends):
        axes.annotate(
            degrees(value), (float(drift.time[-1]), value), xytext=(5, 6 if k == above and len(ends) > 1 else -6),
            textcoords="offset points", color=color, fontsize=9, fontweight="bold", va="center", annotation_clip=False,
        )  # fmt: skip
        axes.plot(drift.time[-1], value, "o", color=color, ms=4.5, clip_on=False)


def degrees(value: float) -> str:
    """An angle [deg] with its sign, "0.0°" without one."""
    text = f"{value:+.1f}°".replace("-", "\u2212")
    return "0.0°" if text[1:] == "0.0°" else text


def _headline(figure: Figure, title: str, names: Mapping[str, str]) -> None:
    """Title, and beside it each name in its color: the legend."""
    figure.suptitle(title, x=0.012, ha="left", color=INK, fontsize=13, fontweight="bold")
    x = 0.99
    for name, color in reversed(list(names.items())):
        figure.text(x, 0.985, name, color=color, fontsize=11, fontweight="bold", ha="right", va="top")
        x -= (len(name) + 3) * 0.092 / figure.get_figwidth()


def measured_errors(track: Track) -> tuple[np.ndarray, np.ndarray]:
    """Time [s] and the three errors [rad] of the measured phases of a track, NaN between them.

    Returns
    -------
    time : array (n,)
        From the start of the first measured phase.
    errors : array (n, 3)
        Toward canopy, toward the right wing, roll right.
    """
    number = track.column("measured")
    rows = np.flatnonzero(number >= 0.0)
    if not len(rows):
        return np.array([0.0, 0.0]), np.full((2, 3), np.nan)
    whole = slice(rows[0], rows[-1] + 1)
    errors = np.stack(
        [track.column(name)[whole] for name in ("toward_canopy", "toward_wing", "roll")], axis=1
    )
    errors[number[whole] < 0.0] = np.nan
    time = track.column("time")[whole]
    return time - time[0], errors

"""Plot of a logbook: what range each ratio was left with after each flight, and what was flown."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from sixdof.airframe.blends import amount_words
from sixdof.show.palette import BARE, BLENDED, INK, PALE_INK, tint
from sixdof.show.plots import quiet, save
from sixdof.study.results import LearnedRatio, NotedFlight
from sixdof.study.words import span_words

__all__ = ["narrowing_plot"]

#: More flights than this are too narrow to be told apart: the last ones are drawn.
MOST = 12
_COLORS = {"elevator": BARE, "aileron": BLENDED}
_PALER = 0.65


def narrowing_plot(
    path: str | Path, flights: Sequence[NotedFlight], ratios: Sequence[LearnedRatio], *, title: str
) -> Path:
    """A panel a ratio: the range that eight in ten airplanes need, before any note and after each flight.

    The dot is the ratio that serves them best, the diamond the one that was flown; a flight that is set aside is pale, and
    named so below.

    Parameters
    ----------
    path : str or Path
    flights : sequence of NotedFlight
    ratios : sequence of LearnedRatio
    title : str
    """
    figure = Figure(figsize=(8.4, 7.2), layout="constrained")
    grid = figure.add_gridspec(3, 2)
    for ratio in ratios:
        row = 2 if ratio.source == "throttle" else int(ratio.target == "aileron")
        _panel(figure.add_subplot(grid[row, int(ratio.side == "left")]), flights[-MOST:], ratio)
    _legend(figure.add_subplot(grid[2, 1]))
    figure.suptitle(title, x=0.012, ha="left", color=INK, fontsize=13, fontweight="bold")
    return save(figure, path)


def _panel(axes: Axes, flights: Sequence[NotedFlight], ratio: LearnedRatio) -> None:
    quiet(axes)
    name, target, color = ratio.ratio.name, ratio.target, _COLORS[ratio.target]
    rows = [(ratio.before_low_percent, ratio.before_high_percent, ratio.before_percent, True)]
    rows += [
        (one.low_percent[name], one.high_percent[name], one.percent[name], one.believed) for one in flights
    ]
    for k, (low, high, best, believed) in enumerate(rows):
        ink = color if believed else tint(color, "#ffffff", _PALER)
        axes.plot([k, k], [low, high], color=ink, lw=7.0, alpha=0.45, solid_capstyle="butt")
        for end in (low, high):
            axes.plot([k - 0.14, k + 0.14], [end, end], color=ink, lw=1.4)
        axes.plot(k, best, "o", ms=5, color=ink)
    for k, one in enumerate(flights, start=1):
        axes.plot(k - 0.27, one.set_percent.get(name, 0.0), "D", ms=4.5, mfc="white", mec=INK, mew=1.0)
    axes.axhline(0.0, color=PALE_INK, lw=0.8, zorder=0)
    labels = [
        f"flight {one.flight}" if one.believed else f"flight {one.flight}\nset aside" for one in flights
    ]
    axes.set_xticks(range(len(rows)), ["before", *labels], fontsize=8)
    axes.set_xlim(-0.5, len(rows) - 0.5)
    axes.set_ylabel(f"{target} [%, + {'up' if target == 'elevator' else 'right'}]", color=INK, fontsize=9)
    span = span_words(target, ratio.low_percent, ratio.high_percent)
    now = f"now {amount_words(target, ratio.percent / 100.0)}, range {span}"
    axes.set_title(f"{ratio.ratio.words}: {now}", loc="left", color=INK, fontsize=9)


def _legend(axes: Axes) -> None:
    axes.axis("off")
    rows = [
        (Line2D([], [], color=PALE_INK, lw=7.0, alpha=0.6), "what eight in ten airplanes that fit need"),
        (Line2D([], [], color=PALE_INK, marker="o", ls=""), "the ratio that serves them best"),
        (Line2D([], [], color=INK, marker="D", ls="", mfc="white"), "what was flown"),
        (
            Line2D([], [], color=tint(PALE_INK, "#ffffff", _PALER), lw=7.0, alpha=0.45),
            "set aside: it moved nothing",
        ),
    ]
    marks, words = zip(*rows, strict=True)
    axes.legend(
        marks, words, loc="center left", frameon=False, labelcolor=INK, fontsize=9,
        title="before any note, and after each flight", title_fontsize=9, alignment="left",
    )  # fmt: skip

"""Plot of a logbook: how far each ratio is still open after each flight."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from matplotlib.figure import Figure

from sixdof.show.palette import BARE, BLENDED, INK, PALE_INK
from sixdof.show.plots import quiet, save
from sixdof.study.results import LearnedRatio, NotedFlight

__all__ = ["narrowing_plot"]


def narrowing_plot(
    path: str | Path, flights: Sequence[NotedFlight], ratios: Sequence[LearnedRatio], *, title: str
) -> Path:
    """Half of the range that eight in ten airplanes need, for each ratio, before any note and after each flight.

    Parameters
    ----------
    path : str or Path
    flights : sequence of NotedFlight
        A flight that is set aside has a hollow mark.
    ratios : sequence of LearnedRatio
    title : str
    """
    figure = Figure(figsize=(7.5, 4.6), layout="constrained")
    axes = figure.subplots()
    quiet(axes)
    x = range(len(flights) + 1)
    for i, ratio in enumerate(ratios):
        before = 0.5 * (ratio.before_high_percent - ratio.before_low_percent)
        y = [before, *(flight.within_percent[ratio.ratio.name] for flight in flights)]
        color = PALE_INK if ratio.source == "throttle" else (BARE, BLENDED)[ratio.target == "aileron"]
        axes.plot(x, y, color=color, lw=1.6, ls="-" if i < 2 else "--")
        axes.annotate(f"{ratio.ratio.words}: {ratio.target}", (x[-1], y[-1]), xytext=(6, 0), textcoords="offset points",
                      color=INK, va="center", fontsize=8)  # fmt: skip
        believed = [True, *(flight.believed for flight in flights)]
        for k in x:
            axes.plot(k, y[k], "o", ms=5, color=color, mfc=color if believed[k] else "white")
    axes.set_xticks(list(x), ["before", *(f"flight {flight.flight}" for flight in flights)])
    axes.set_xlim(-0.2, len(flights) + 1.2)
    axes.set_ylim(bottom=0.0)
    axes.set_ylabel("still open: ± percent of the target's throw", color=INK)
    figure.suptitle(title, x=0.012, ha="left", color=INK, fontsize=13, fontweight="bold")
    return save(figure, path)

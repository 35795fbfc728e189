"""A log and the airplane that was fitted to it, one over the other."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

from sixdof.learning.identify import Overlay
from sixdof.show.palette import BARE, BLENDED, INK, PALE_INK
from sixdof.show.plots import quiet, save

__all__ = ["fit_figure", "fit_plot"]

_ROWS = ("roll rate [°/s]", "pitch rate [°/s]", "yaw rate [°/s]", "speed [m/s]")


def fit_plot(path: str | Path, overlays: Sequence[Overlay], *, title: str) -> Path:
    """Save what :func:`fit_figure` draws."""
    return save(fit_figure(overlays, title=title), path)


def fit_figure(overlays: Sequence[Overlay], *, title: str) -> Figure:
    """Rates and speed of some stretches, as logged and as simulated from their first moment on.

    Parameters
    ----------
    overlays : sequence of Overlay
    title : str
    """
    figure = Figure(figsize=(2.3 * len(overlays) + 1.0, 7.0), layout="constrained")
    axes = figure.subplots(len(_ROWS), len(overlays), sharex="col", squeeze=False)
    for column, overlay in zip(axes.T, overlays, strict=True):
        scale = np.array([*np.degrees(np.ones(3)), 1.0])
        for i, axis in enumerate(column):
            quiet(axis)
            axis.plot(
                overlay.time, scale[i] * overlay.shown[:, i], color=BARE, lw=2.4, alpha=0.5, label="logged"
            )
            axis.plot(
                overlay.time, scale[i] * overlay.simulated[:, i], color=BLENDED, lw=1.2, label="simulated"
            )
        column[0].set_title(overlay.words, color=INK, fontsize=10, loc="left")
        column[-1].set_xlabel("s", color=PALE_INK)
    for axis, words in zip(axes[:, 0], _ROWS, strict=True):
        axis.set_ylabel(words, color=INK)
    axes[0, 0].legend(frameon=False, fontsize=8)
    figure.suptitle(title, x=0.012, ha="left", color=INK, fontsize=13, fontweight="bold")
    return figure

"""A picture of the measured times."""

from __future__ import annotations

from pathlib import Path

import matplotlib.pyplot as plt


def plot_times(points: dict[str, dict[str, float]], title: str, path: Path) -> None:
    """Three panels: a maneuver by different means; an evaluation by flights at once; a flight by its length."""
    figure, (left, middle, right) = plt.subplots(1, 3, figsize=(14.0, 4.4), layout="constrained")
    figure.suptitle(title)
    names, values = zip(*points["maneuver_ms"].items(), strict=True)
    bars = left.barh(names, values, color=["#2b6cb0" if n.startswith("ours") else "#9aa5b1" for n in names])
    left.bar_label(bars, [f"{v:,.0f}" if v >= 100.0 else f"{v:.2g}" for v in values], padding=3)
    left.set(xscale="log", xlabel="a 10 s maneuver [ms]", xlim=(0.1, 15.0 * max(values)))
    left.invert_yaxis()
    for panel, key, x, y in (
        (middle, "evaluation_ns", "flights at once", "an evaluation, all cores [ns]"),
        (right, "level_ms", "length of one flight [s]", "time for it [ms]"),
    ):
        panel.plot([float(k) for k in points[key]], list(points[key].values()), "o-", color="#2b6cb0")
        panel.set(xscale="log", yscale="log", xlabel=x, ylabel=y)
        panel.grid(True, which="both", alpha=0.3)
    figure.savefig(path, dpi=110)
    plt.close(figure)

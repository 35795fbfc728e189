"""How far each ratio is still open, flight by flight, for a page."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sixdof.show.palette import BARE, BLENDED, OTHER
from sixdof.show.svg import apart, dot, polyline, svg, text
from sixdof.study.results import LearnedRatio, NotedFlight

__all__ = ["narrowing_chart"]


def narrowing_chart(flights: Sequence[NotedFlight], ratios: Sequence[LearnedRatio]) -> str:
    """How far each ratio is still open, plus or minus percent of its target's throw, before any note and after each flight.

    What was set aside has a hollow mark; the left side is dashed.
    """
    if not flights:
        return ""
    tall, left, right = 150.0, 28.0, 176.0
    open_ = [
        [0.5 * (r.before_high_percent - r.before_low_percent), *(f.within_percent[r.ratio.name] for f in flights)]
        for r in ratios
    ]  # fmt: skip
    most = 1.1 * max(max(row) for row in open_)
    step = next((s for s in (1.0, 2.0, 5.0, 10.0, 20.0) if most / s < 6), 50.0)
    below, across = tall + 8.0, (right - left) / len(flights)
    parts = [text(left, 6.0, "still open: \N{PLUS-MINUS SIGN} %", "pale")]
    for k in range(int(most / step) + 1):
        y = below - tall * k * step / most
        parts += [f'<path class="{"grid" if k else "axis"}" d="M{left:g} {y:.1f}H{right:g}"/>',
                  text(left - 4.0, y + 3.5, f"{k * step:g}", "end")]  # fmt: skip
    believed, ends = [True, *(flight.believed for flight in flights)], []
    for ratio, row in zip(ratios, open_, strict=True):
        color = OTHER if ratio.source == "throttle" else BLENDED if ratio.target == "aileron" else BARE
        at = np.array([(left + across * k, below - tall * value / most) for k, value in enumerate(row)])
        parts.append(polyline(at, "flight dashed" if ratio.side == "left" else "flight", color))
        parts += [dot(p, color, "" if sure else ' fill-opacity="0"') for p, sure in zip(at, believed, strict=True)]  # fmt: skip
        ends.append(
            (float(at[-1, 1]), f"{ratio.ratio.words}: {ratio.target} \N{PLUS-MINUS SIGN}{row[-1]:.1f}", color)
        )
    ends.sort()
    for (_, words, color), y in zip(ends, apart([end for end, *_ in ends], 6.0, below), strict=True):
        parts.append(text(right + 11.0, y + 3.5, words, "value", color))
    names = ["before", *(f"flight {flight.flight}" for flight in flights)]
    every = math.ceil(44.0 / across)
    parts += [text(left + across * k, below + 14.0, name, "middle") for k, name in enumerate(names) if k % every == 0]  # fmt: skip
    return svg(parts, below + 20.0, "how far each ratio is still open, flight by flight")

"""What notes narrow: each ratio and its range, flight by flight."""

from __future__ import annotations

from collections.abc import Sequence

from sixdof.airframe.blends import WAYS
from sixdof.show.charts import narrowing_chart
from sixdof.study.results import LearnedRatio, NotedFlight

__all__ = ["NARROWING", "narrowing_charts"]

#: What is to be seen in them.
NARROWING = (
    "Line: the ratio that serves best. Band: what eight in ten airplanes need that fit the notes up to there. A hollow mark is a "
    "flight that was set aside."
)


def narrowing_charts(flights: Sequence[NotedFlight], ratios: Sequence[LearnedRatio]) -> list[tuple[str, str]]:
    """What each ratio is called, and its drawing."""
    charts = []
    for row in ratios:
        name, said = row.ratio.name, f"{row.ratio.words}: {row.target}"
        ends = ((flight.low_percent[name], flight.high_percent[name]) for flight in flights)
        spans = [(row.before_low_percent, row.before_high_percent), *ends]
        chosen = [row.before_percent, *(flight.percent[name] for flight in flights)]
        down, up = (
            f"% {way.upper()}" for _, way in sorted((sign, word) for word, sign in WAYS[row.target].items())
        )
        drawn = narrowing_chart(
            ["before", *(str(flight.flight) for flight in flights)], chosen, spans,
            [True, *(flight.believed for flight in flights)], (down, up), f"{said}: its range after each flight",
        )  # fmt: skip
        charts.append((said, drawn))
    return charts

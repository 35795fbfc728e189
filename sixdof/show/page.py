"""A page that stands by itself: one file, no network, readable without its script."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from functools import cache
from html import escape
from pathlib import Path
from typing import NamedTuple

from sixdof.show.charts import drift_chart, track_chart
from sixdof.show.flown import ShownFlight
from sixdof.show.packed import packed
from sixdof.show.stage import Stage

__all__ = ["Group", "figures", "items", "legend", "page", "paragraphs", "replay", "section", "table"]

_RULE = "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'"


class Group(NamedTuple):
    """Flights that belong together: one maneuver to one side."""

    said: str
    flights: Sequence[ShownFlight]


def page(title: str, body: Sequence[str], stages: Sequence[Stage] = ()) -> str:
    """The whole page; stages are what its :func:`replay` plays."""
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta http-equiv="Content-Security-Policy" content="{_RULE}">'
        f"<title>{escape(title)}</title><style>\n{_asset('flights.css')}{_asset('page.css')}</style></head>\n<body><main>\n"
        + "\n".join(part for part in body if part)
        + f"\n</main>{_player(stages)}</body></html>\n"
    )


def section(heading: str, *parts: str) -> str:
    """A heading and what stands below it; nothing where that is nothing."""
    inner = "\n".join(part for part in parts if part)
    return f"<section><h2>{escape(heading)}</h2>\n{inner}\n</section>" if inner else ""


def _text(text: str) -> str:
    """A text as HTML; a number and its % stay on one line."""
    return re.sub(r"(?<=\d) (?=%)", "\N{NO-BREAK SPACE}", escape(text))


def paragraphs(texts: Sequence[str], kind: str = "") -> str:
    """Texts, each a paragraph."""
    mark = f' class="{kind}"' if kind else ""
    return "\n".join(f"<p{mark}>{_text(text)}</p>" for text in texts if text)


def items(texts: Sequence[str]) -> str:
    """Texts as a list."""
    return "<ul>" + "\n".join(f"<li>{_text(text)}</li>" for text in texts) + "</ul>" if texts else ""


def table(caption: str, columns: Sequence[tuple[str, str]], rows: Sequence[Sequence[str]]) -> str:
    """A table whose first column names the rows; columns with the side their cells stand at."""
    mark = [' class="right"' if side == "right" else "" for _, side in columns]
    head = "".join(
        f'<th scope="col"{m}>{escape(name)}</th>' for m, (name, _) in zip(mark, columns, strict=True)
    )
    lines = [
        f'<tr><th scope="row">{escape(row[0])}</th>'
        + "".join(f"<td{m}>{escape(cell)}</td>" for m, cell in zip(mark[1:], row[1:], strict=True))
        + "</tr>"
        for row in rows
    ]
    return f'<div class="wide"><table><caption>{escape(caption)}</caption><tr>{head}</tr>{"".join(lines)}</table></div>'


def legend(flights: Sequence[ShownFlight]) -> str:
    """What each color is called."""
    words = dict.fromkeys((flight.words, flight.color) for flight in flights)
    return (
        '<p class="legend">'
        + "".join(f'<span style="--flight:{c}">{escape(w)}</span> ' for w, c in words)
        + "</p>"
    )


def figures(groups: Sequence[Group]) -> str:
    """Each group's drift against time, and its way from the side and from above."""
    parts = []
    for number, (said, flights) in enumerate(groups):
        drift, way = drift_chart(flights, said), track_chart(flights, said)
        parts.append(
            f'<figure><figcaption>{escape(said)}</figcaption><div data-chart="{number}">{drift}</div>{way}</figure>'
        )
    return f'<div class="flights">{"".join(parts)}</div>' if parts else ""


def replay(groups: Sequence[Group]) -> str:
    """Where the flights are played; until then, and where they cannot be, the way of the first ones stands there."""
    said, flights = groups[0]
    still = f"<figcaption>{escape(said)}</figcaption>{track_chart(flights, said)}"
    return f'<div class="replay" id="replay"><figure class="still">{still}</figure></div>'


def _player(stages: Sequence[Stage]) -> str:
    if not stages:
        return ""
    data = json.dumps(packed(stages), separators=(",", ":")).replace("</", "<\\/")
    start = 'sixdofPlayer(document.getElementById("replay"), JSON.parse(document.getElementById("stages").textContent));'
    return f'<script type="application/json" id="stages">{data}</script>\n<script>\n{_asset("player.js")}\n{start}\n</script>'


@cache
def _asset(name: str) -> str:
    return (Path(__file__).parent / name).read_text(encoding="utf-8")

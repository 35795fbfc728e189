"""What a stick adds to other surfaces, drawn as a flow: the stick runs on to its own surface, and a share leaves it for each other one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from sixdof.airframe.blends import amount_words
from sixdof.show.svg import svg, text

__all__ = ["Share", "Stream", "flow_chart"]

_BEGIN, _BEND, _END = (
    92.0,
    46.0,
    216.0,
)  # where a stick begins, how long a share bends, where the surfaces are
_STICK = 9.0  # thickness of the stick
_TOP, _ROW, _GAP = 14.0, 30.0, 12.0  # above the first line, from line to line, between two sticks


class Share(NamedTuple):
    """What full source adds to a surface: a share of its full throw [rad] that way, in its own sense."""

    target: str
    amount: float
    throw: float

    @property
    def degrees(self) -> float:
        """At full source."""
        return math.degrees(abs(self.amount) * self.throw)


class Stream(NamedTuple):
    """A stick to one side.

    Attributes
    ----------
    words, channel : str
        ``right rudder``; ``rudder``.
    used : float
        How far out it was in the flight, a share; NaN where it counts at its end alone.
    shares : sequence of Share
    """

    words: str
    channel: str
    used: float
    shares: Sequence[Share]

    def said(self) -> str:
        """``right rudder: aileron 3 % LEFT (0.52°), elevator nothing``."""
        told = [
            f"{s.target} {amount_words(s.target, s.amount)} ({s.degrees:.2f}°)"
            if s.amount
            else f"{s.target} nothing"
            for s in self.shares
        ]
        return f"{self.words}: {', '.join(told)}"


def flow_chart(streams: Sequence[Stream]) -> str:
    """The drawing, from the sticks at the left to the surfaces at the right."""
    parts: list[str] = []
    y = _TOP
    for stream in streams:
        used = "" if math.isnan(stream.used) else f"{100.0 * stream.used:.0f} % in this flight"
        parts += [
            text(_BEGIN - 6.0, y + 3.5, stream.words, "bold end"),
            _band(f"M{_BEGIN:g} {y:.1f}H{_END:g}", "stick", _STICK),
            *_surface(y, stream.channel, used, "stick", _STICK),
        ]
        for number, share in enumerate(stream.shares, start=1):
            parts += _share(share, stream.used, y, y + number * _ROW, number)
        y += (1 + len(stream.shares)) * _ROW + _GAP
    return svg(parts, y - _GAP, "; ".join(stream.said() for stream in streams))


def _share(share: Share, used: float, top: float, y: float, number: int) -> list[str]:
    """A share that leaves the stick; one of nothing is a dotted line."""
    begin = _BEGIN + 8.0 + 4.0 * number
    way = f"M{begin:g} {top:.1f}C{begin + _BEND / 2:g} {top:.1f} {begin:g} {y:.1f} {begin + _BEND:g} {y:.1f}H{_END:g}"
    label = amount_words(share.target, share.amount) if share.amount else "nothing"
    here = "" if math.isnan(used) or not share.amount else f"{used * share.degrees:.2f}° in this flight"
    kind, thick = ("share", min(1.5 + 60.0 * abs(share.amount), 12.0)) if share.amount else ("none", 1.0)
    full = f"{share.target} {share.degrees:.2f}°" if share.amount else share.target
    return [
        _band(way, kind, thick),
        text(_END - 6.0, y - 0.5 * thick - 2.5, label, "end" if share.amount else "end pale"),
        *_surface(y, full, here, kind, thick),
    ]


def _surface(y: float, words: str, more: str, kind: str, thick: float) -> list[str]:
    """Where a band ends: an arrowhead, the surface, and below it what it did."""
    half = 0.5 * thick + 2.5
    head = f'<path class="{kind} head" d="M{_END:g} {y - half:.1f}l{1.6 * half:.1f} {half:.1f}l{-1.6 * half:.1f} {half:.1f}z"/>'
    low = [text(_END + 16.0, y + 14.0, more, "pale")] if more else []
    return [head, text(_END + 16.0, y + 3.5, words, "bold"), *low]


def _band(way: str, kind: str, thick: float) -> str:
    return f'<path class="{kind}" stroke-width="{thick:.1f}" d="{way}"/>'

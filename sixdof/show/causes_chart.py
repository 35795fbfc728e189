"""What makes a tendency, as lengths."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from sixdof.show.palette import BARE, BLENDED
from sixdof.show.svg import WIDTH, polyline, svg, text

__all__ = ["shares_chart"]


def shares_chart(shares: Mapping[str, float], value: float, unit: str, title: str, *, most: int = 5) -> str:
    """What makes a tendency, as lengths to the right, and what works against it, to the left; the largest of them.

    Parameters
    ----------
    shares : mapping of str to float
        What goes when it goes, in ``unit``.
    value : float
        The tendency itself.
    """
    largest = sorted(shares.items(), key=lambda share: -abs(share[1]))[:most]
    told = [(name, math.copysign(share, share * value)) for name, share in largest if share]
    if not told:
        return ""
    middle, half = 236.0, 74.0
    scale, tall = half / abs(told[0][1]), 18.0
    parts = [
        text(middle - 6.0, 10.0, "works against it", "pale end"),
        text(middle + 6.0, 10.0, "makes it", "pale"),
        f'<path class="axis" d="M{middle:g} 15V{20.0 + tall * len(told):g}"/>',
    ]
    for number, (name, share) in enumerate(told):
        y = 27.0 + tall * number
        ends = np.array([(middle, y), (middle + scale * share, y)])
        parts += [
            text(0.0, y + 3.5, name, ""),
            polyline(ends, "flight length", BARE if share > 0.0 else BLENDED),
            text(WIDTH, y + 3.5, f"{abs(share):.1f} {unit}".replace(" °", "°", unit == "°"), "end"),
        ]
    return svg(parts, 24.0 + tall * len(told), title)

"""Outputs that are on or off by a stick: glow driver, smoke, lights; thresholds with hysteresis."""

from __future__ import annotations

import numpy as np

from sixdof.airframe.radio import Output
from sixdof.flight.fly import Track

__all__ = ["on_times", "when_words"]


def on_times(output: Output, track: Track) -> list[tuple[float, float]]:
    """When an output is on in a flight: (from, to) [s], by the stick before curves, blends and trims.

    It comes on beyond its limit, and goes off where the stick has come back by the hysteresis.
    """
    sign = 1.0 if output.above is not None else -1.0
    limit = output.above if output.above is not None else output.below
    assert limit is not None
    beyond = sign * (track.column(f"stick_{output.source}") - limit)
    on, states = bool(beyond[0] > 0.0) if len(track) else False, []
    for value in beyond:
        on = value > -output.hysteresis if on else value > 0.0
        states.append(on)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], np.array(states, int), [0]))))
    time = np.append(track.column("time"), track.column("time")[-1:] if len(track) else [])
    return [(float(time[a]), float(time[b])) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def when_words(output: Output, track: Track) -> str:
    """``smoke on from 1.2 to 3.4 s``; ``glow driver never on``."""
    spans = on_times(output, track)
    if not spans:
        return f"{output.name} never on"
    return f"{output.name} on from " + ", ".join(f"{a:.1f} to {b:.1f} s" for a, b in spans)

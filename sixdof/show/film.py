"""Flights as a short film: GIF, written with Pillow alone."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from PIL import Image

from sixdof.airframe.model import Airframe
from sixdof.show.cameras import View
from sixdof.show.flown import ShownFlight, measured_from
from sixdof.show.palette import SKY
from sixdof.show.probe import NoRenderer, renderer_problem
from sixdof.show.replay import Replay

__all__ = ["save_gif"]

_AT_THE_END = 1500  # ms that the last picture stands
COLORS = 128  # of the whole film: one table for every picture keeps it small


def save_gif(
    path: str | Path,
    airframe: Airframe,
    flights: Sequence[ShownFlight],
    *,
    view: View = "along",
    window_size: tuple[int, int] = (800, 450),
    pictures_a_second: int = 10,
    lead: float | None = 2.0,
    title: str = "",
) -> Path:
    """Film flights in real time, from a little ahead of the measured phase to the end.

    Parameters
    ----------
    path : str or Path
    airframe : Airframe
    flights : sequence of ShownFlight
    view : "caller", "above" or "along"
    window_size : (int, int)
        Pixels.
    pictures_a_second : int
        Rounded by the format to hundredths of a second from one to the next.
    lead : float [s], optional
        How much ahead of the measured phase to begin; None begins at the start.
    title : str
        Default: the airplane, and the labels of the flights.

    Raises
    ------
    NoRenderer
        Where nothing can be drawn; says in one line what to install.
    """
    problem = renderer_problem()
    if problem:
        raise NoRenderer(problem)
    replay = Replay(airframe, flights, window_size=window_size, title=title)
    try:
        replay.plotter.renderers[0].set_background(
            SKY[1]
        )  # plain: spends no colors of the table on a gradient
        replay.look(view)
        begin = replay.start
        if lead is not None:
            begin = max(begin, min(measured_from(flight.track) for flight in flights) - lead)
        pictures = []
        for time in [*np.arange(begin, replay.end - 1e-9, 1.0 / pictures_a_second), replay.end]:
            replay.place(float(time))
            pictures.append(Image.fromarray(replay.picture()))
    finally:
        replay.plotter.close()
    table = pictures[len(pictures) // 2].quantize(COLORS)
    frames = [picture.quantize(palette=table, dither=Image.Dither.NONE) for picture in pictures]
    pause = round(1000 / pictures_a_second)
    pauses = [pause] * (len(frames) - 1) + [_AT_THE_END]
    frames[0].save(path, save_all=True, append_images=frames[1:], duration=pauses, loop=0, optimize=False)
    return Path(path)

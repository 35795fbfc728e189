"""Flights played back: everything that moves is put where it is at a time, and nothing is meshed anew."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pyvista as pv

from sixdof.airframe.model import Airframe
from sixdof.show.cameras import VIEWS, View
from sixdof.show.flown import ShownFlight, phase_starts, readout
from sixdof.show.painter import add_airplane, add_labels, add_lines, add_solids, place, set_camera
from sixdof.show.palette import PALE_INK, PAPER, SKY
from sixdof.show.probe import use_desktop_window, use_offscreen_window
from sixdof.show.stage import set_stage
from sixdof.show.words import rewrite, scale_words, write

__all__ = ["Replay"]

#: Share of the height of the window that the words below the scene take up.
PANEL = 0.26
MOST_READOUTS = 2  # flights whose numbers fit in there


class Replay:
    """A scene with one airplane a flight, at one time.

    Parameters
    ----------
    airframe : Airframe
    flights : sequence of ShownFlight
        The first two get a column of numbers.
    window_size : (int, int)
        Pixels.
    off_screen : bool
        False for a window on a display.
    title : str
        Default: the airplane, and the labels of the flights.

    Attributes
    ----------
    plotter : pyvista.Plotter
    stage : Stage
    time : float [s]
        Where it stands.
    start, end : float [s]
        Of the longest of the flights.
    view : "caller", "above" or "along"
        The first one turns its head, the last one travels along.
    playing : bool
    """

    def __init__(
        self,
        airframe: Airframe,
        flights: Sequence[ShownFlight],
        *,
        window_size: tuple[int, int] = (1400, 800),
        off_screen: bool = True,
        title: str = "",
    ) -> None:
        if not flights:
            raise ValueError("got no flight, expected at least one")
        (use_offscreen_window if off_screen else use_desktop_window)()
        self.stage = set_stage(airframe, flights, title=title)
        self.flights = self.stage.flights
        self.start = min(flight.start for flight in flights)
        self.end = max(flight.end for flight in flights)
        self.time, self.playing = self.start, False
        self.view: View = "caller"
        self.plotter = pv.Plotter(
            off_screen=off_screen, window_size=list(window_size), shape=(2, 1), border=False
        )
        for row, (low, high) in enumerate(((PANEL, 1.0), (0.0, PANEL))):
            self.plotter.renderers[row].SetViewport(0.0, low, 1.0, high)
        size = max(round(window_size[1] / 70), 7)
        self.plotter.subplot(1, 0)
        self.plotter.renderer.set_background(PAPER)
        self._texts: list[Any] = [
            write(self.plotter, " ", (0.02 + 0.27 * i, 0.06), name=f"readout-{i}", size=0.72 * size, color=flight.color)
            for i, flight in enumerate(self.flights[:MOST_READOUTS])
        ]  # fmt: skip
        self.plotter.subplot(0, 0)
        self.plotter.renderer.set_background(SKY[0], top=SKY[1])
        add_solids(self.plotter, self.stage.solids)
        add_lines(self.plotter, self.stage.lines)
        self._moving = [
            add_airplane(self.plotter, self.stage.hull, flight.color, f"airplane-{i}")
            for i, flight in enumerate(self.flights)
        ]
        write(self.plotter, self.stage.title, (0.02, 0.92), name="title", size=size)
        write(
            self.plotter,
            scale_words(self.stage.scale),
            (0.02, 0.87),
            name="caption",
            size=0.75 * size,
            color=PALE_INK,
        )
        width, height = window_size
        labels = list(self.stage.labels)
        add_labels(
            self.plotter,
            labels,
            self.stage.field_camera(16 / 9),
            (width, round(height * (1 - PANEL))),
            size,
            "places",
        )
        self.look("caller")

    def place(self, time: float) -> None:
        """Put airplanes, surfaces and words where they are at a time [s]; beyond the ends, at the ends."""
        self.time = float(np.clip(time, self.start, self.end))
        for number, actors in enumerate(self._moving):
            place(actors, self.stage.placements(number, self.time))
        for flight, text in zip(self.flights, self._texts, strict=False):
            lines = [f"{word}: {value}" for word, value in readout(flight, self.time)]
            rewrite(text, "\n".join([flight.words, *lines]))
        set_camera(self.plotter.renderers[0], self.stage.camera(self.view, self.time))

    def look(self, view: View) -> None:
        """Look from another place."""
        if view not in VIEWS:
            raise ValueError(f"got view {view!r}, expected {', '.join(VIEWS)}")
        self.view = view
        self.place(self.time)

    def tick(self, seconds: float) -> None:
        """Advance the time while playing; it stops at the end."""
        if self.playing:
            self.place(self.time + seconds)
            self.playing = self.time < self.end

    def toggle(self) -> None:
        """Play or pause; from the end it plays again."""
        self.playing = not self.playing
        if self.playing and self.time >= self.end:
            self.place(self.start)

    def step(self, ways: int) -> None:
        """Go to the start of the next phase (+1) or of the one before (-1), of the first flight."""
        starts = [start for start, _, _ in phase_starts(self.flights[0].track)]
        if ways > 0:
            self.place(next((s for s in starts if s > self.time + 1e-6), self.end))
        else:
            self.place(next((s for s in reversed(starts) if s < self.time - 1e-6), self.start))

    def picture(self) -> np.ndarray:
        """What is seen now, array (height, width, 3) from 0 to 255."""
        self.plotter.render()
        return np.asarray(self.plotter.screenshot(None, return_img=True))

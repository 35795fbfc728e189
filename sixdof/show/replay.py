"""Flights played back: everything that moves is put where it is at a time, and nothing is meshed anew."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pyvista as pv

from sixdof.airframe.model import Airframe
from sixdof.show.actors import add_ideal, add_track, angles_of
from sixdof.show.cameras import VIEWS, View, aim, look
from sixdof.show.flown import ShownFlight, phase_starts, position, readout, row_at
from sixdof.show.ground import Field, add_ground, scene_matrix, to_scene
from sixdof.show.hull import Part, loft_airframe, painted
from sixdof.show.loft import join
from sixdof.show.palette import FLIGHT_COLORS, PALE_INK, PAPER, SKY, WORDS
from sixdof.show.probe import use_desktop_window, use_offscreen_window
from sixdof.show.scene import drawn_scale
from sixdof.show.words import rewrite, scale_words, write

__all__ = ["Replay"]

_AROUND = 1.1  # spans as drawn, to each side of the airplane, kept in the picture when it is followed
#: Share of the height of the window that the words below the scene take up.
PANEL = 0.26
MOST_READOUTS = 2  # flights whose numbers fit in there
_RADIUS = 0.0018  # of a track, over the longest way flown


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

    Attributes
    ----------
    plotter : pyvista.Plotter
    time : float [s]
        Where it stands.
    start, end : float [s]
        Of the longest of the flights.
    view : "caller", "above" or "along"
        The last one follows the first airplane.
    playing : bool
    """

    def __init__(
        self,
        airframe: Airframe,
        flights: Sequence[ShownFlight],
        *,
        window_size: tuple[int, int] = (1400, 800),
        off_screen: bool = True,
    ) -> None:
        if not flights:
            raise ValueError("got no flight, expected at least one")
        (use_offscreen_window if off_screen else use_desktop_window)()
        self.flights = tuple(flights)
        self.start = min(flight.start for flight in flights)
        self.end = max(flight.end for flight in flights)
        self.time, self.playing = self.start, False
        self.view: View = "caller"
        self._field = Field.under([flight.track for flight in flights])
        length = float(np.max(self._field.high - self._field.low))
        self.scale = drawn_scale(airframe, length)
        self._reach = _AROUND * self.scale * airframe.wing.span
        self.plotter = pv.Plotter(
            off_screen=off_screen, window_size=list(window_size), shape=(2, 1), border=False
        )
        for row, (low, high) in enumerate(((PANEL, 1.0), (0.0, PANEL))):
            self.plotter.renderers[row].SetViewport(0.0, low, 1.0, high)
        self.plotter.subplot(1, 0)
        self.plotter.renderer.set_background(PAPER)
        self.plotter.subplot(0, 0)
        self.plotter.renderer.set_background(SKY[0], top=SKY[1])
        size = max(round(window_size[1] / 70), 7)
        add_ground(self.plotter, self._field, size=size)
        hull = loft_airframe(airframe)
        fixed = [part.mesh for part in hull.parts.values() if not part.channel]
        pieces = {name: part for name, part in hull.parts.items() if part.channel}
        pieces["airplane"] = Part(join(fixed), "", np.zeros(3), np.array([0.0, 1.0, 0.0]))
        self._moving: list[list[tuple[Part, pv.Actor]]] = []
        self._texts: list[Any] = []
        for number, flight in enumerate(flights):
            color = FLIGHT_COLORS[flight.kind]
            add_track(
                self.plotter, flight, flight.track, number, radius=max(_RADIUS * length, 0.02), shadow=True
            )
            if flight.ideal is not None:
                add_ideal(self.plotter, flight.ideal, number, radius=max(_RADIUS * length, 0.02))
            self._moving.append([
                (part, self.plotter.add_mesh(part.mesh, scalars=painted(part.mesh, color), rgb=True, ambient=0.35,
                                             diffuse=0.75, copy_mesh=True, name=f"{name}-{number}"))
                for name, part in pieces.items()
            ])  # fmt: skip
            if number < MOST_READOUTS:
                self.plotter.subplot(1, 0)
                at = (0.02 + 0.27 * number, 0.06)
                name = f"readout-{number}"
                self._texts.append(write(self.plotter, " ", at, name=name, size=0.72 * size, color=color))
                self.plotter.subplot(0, 0)
        title = f"{airframe.name}: {', '.join(dict.fromkeys(f.label for f in flights))}"
        write(self.plotter, title, (0.02, 0.92), name="title", size=size)
        write(
            self.plotter,
            scale_words(self.scale),
            (0.02, 0.87),
            name="caption",
            size=0.75 * size,
            color=PALE_INK,
        )
        self.look("caller")

    def place(self, time: float) -> None:
        """Put airplanes, surfaces and words where they are at a time [s]; beyond the ends, at the ends."""
        self.time = float(np.clip(time, self.start, self.end))
        for flight, pieces in zip(self.flights, self._moving, strict=True):
            row = row_at(flight.track, self.time)
            body, angles = scene_matrix(row, self.scale), angles_of(row)
            for part, actor in pieces:
                actor.user_matrix = body @ part.turn(angles[part.channel]) if part.channel else body
        for flight, text in zip(self.flights, self._texts, strict=False):
            lines = [f"{word}: {value}" for word, value in readout(flight, self.time)]
            rewrite(text, "\n".join([WORDS[flight.kind] or flight.label, *lines]))
        if self.view == "along":
            self._aim()

    def look(self, view: View) -> None:
        """Look from another place."""
        if view not in VIEWS:
            raise ValueError(f"got view {view!r}, expected {', '.join(VIEWS)}")
        self.view = view
        self.place(self.time)
        self._aim()

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

    def _aim(self) -> None:
        width, height = self.plotter.window_size
        renderer, shape = self.plotter.renderers[0], width / (height * (1.0 - PANEL))
        if self.view == "along":
            at = to_scene(position(row_at(self.flights[0].track, self.time)))
            low, high = at - self._reach, at + self._reach
        else:
            low = np.array([self._field.x[0], self._field.y[0], 0.0])
            high = np.array([self._field.x[1], self._field.y[1], self._field.high[2]])
        if self.view == "caller":  # a little from above, so that the ground is seen
            look(renderer, low, high, (-1.0, 0.10, -0.16), (0.0, 0.0, 1.0), shape=shape)
        else:
            aim(renderer, low, high, self.view, shape=shape)

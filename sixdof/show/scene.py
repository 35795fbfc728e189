"""Flights in space: the measured part close by, the whole field small in a corner."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pyvista as pv

from sixdof.airframe.model import Airframe
from sixdof.show.actors import add_ghosts, add_ideal, add_track
from sixdof.show.cameras import VIEWS, View, aim, look
from sixdof.show.flown import ShownFlight, column, measured_from, position
from sixdof.show.ground import Field, add_ground, add_rulers, to_scene
from sixdof.show.hull import loft_airframe
from sixdof.show.palette import FLIGHT_COLORS, IDEAL, PALE_INK, PAPER, SKY, WORDS
from sixdof.show.probe import NoRenderer, renderer_problem, use_offscreen_window
from sixdof.show.words import scale_words, write

__all__ = ["build_scene", "drawn_scale", "save_png"]

LEAD = 2.0  # s shown ahead of the measured phase
_SCALES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30)
_SHARE = 1 / 11  # of the longest way shown that a drawn airplane spans
_APART = 0.75  # airplane lengths from one ghost to the next, at least
# where the small picture of the field is: left, bottom, right, top; larger below a flat picture
_CORNER = (0.70, 0.03, 0.985, 0.33)
_LARGE_CORNER = (0.50, 0.03, 0.985, 0.45)
_FLAT = 0.64  # share of the height left free that makes a picture flat


def drawn_scale(airframe: Airframe, length: float) -> int:
    """How many times its size to draw the airplane along a way of some length [m] to read its attitude."""
    return max((s for s in _SCALES if s <= _SHARE * length / airframe.wing.span), default=1)


def build_scene(
    airframe: Airframe,
    flights: Sequence[ShownFlight],
    *,
    time: float | None = None,
    view: View = "caller",
    window_size: tuple[int, int] = (1600, 900),
    every: float = 1.0,
    lead: float | None = LEAD,
    title: str = "",
    off_screen: bool = True,
) -> pv.Plotter:
    """Build the scene of one or more flights.

    Parameters
    ----------
    airframe : Airframe
    flights : sequence of ShownFlight
        Drawn together, each in the color of its kind.
    time : float [s], optional
        Draw the airplane at this moment alone; default: at regular moments.
    view : "caller", "above" or "along"
    window_size : (int, int)
        Pixels.
    every : float [s]
        From one drawn airplane to the next; lengthened where they would overlap.
    lead : float [s], optional
        How much to show ahead of the first measured phase; None shows the whole flight.
    title : str
        First line; default: the labels of the flights.
    off_screen : bool
        False for a window on a display.

    Returns
    -------
    pyvista.Plotter
        For the caller to show, save and close.
    """
    if not flights:
        raise ValueError("got no flight, expected at least one")
    if view not in VIEWS:
        raise ValueError(f"got view {view!r}, expected {', '.join(VIEWS)}")
    if off_screen:
        use_offscreen_window()
    plotter = pv.Plotter(off_screen=off_screen, window_size=list(window_size), shape=(1, 2), border=False)
    width, height = window_size
    size = max(round(height / 60), 9)
    crowded = 60.0 * size / height  # small pictures: lines further apart
    starts = [f.start if lead is None else max(f.start, measured_from(f.track) - lead) for f in flights]
    shown = [f.track[column(f.track, "time") >= start] for f, start in zip(flights, starts, strict=True)]
    low, high = _box(shown)
    length = float(np.max(high - low))
    scale, radius = drawn_scale(airframe, length), max(0.0022 * length, 0.02)
    hull = loft_airframe(airframe)
    fastest = max(1.0, *(float(np.median(column(rows, "speed"))) for rows in shown))
    gap = every * max(1, math.ceil(_APART * scale * hull.length / (fastest * every)))
    reach = 0.6 * scale * airframe.wing.span
    low, high = low - reach, high + reach

    plotter.subplot(0, 0)
    plotter.renderer.SetViewport(0.0, 0.0, 1.0, 1.0)
    plotter.renderer.set_background(SKY[0], top=SKY[1])
    step, low, high = add_rulers(plotter, low, high, view=view, size=size)
    for i, (flight, rows) in enumerate(zip(flights, shown, strict=True)):
        add_track(plotter, flight, rows, i, radius=radius)
        times = [time] if time is not None else _moments(flight, starts[i], gap)
        add_ghosts(plotter, hull, flight, i, scale=scale, times=times)
        if flight.ideal is not None:
            add_ideal(plotter, flight.ideal, i, radius=radius)
    _add_words(plotter, airframe, flights, title, size)
    often = f", every {gap:g} s" if time is None else ""
    captions = (
        f"{scale_words(scale)}{often}; pale underside, dark canopy",
        f"seen {VIEWS[view]}; lines every {step:g} m",
    )
    for i, words in enumerate(captions):
        write(plotter, words, (0.02, 0.02 + 0.03 * crowded * i), name=f"caption-{i}", size=0.65 * size, color=PALE_INK,
              ground=SKY[0])  # fmt: skip
    free = aim(plotter.renderer, low, high, view, shape=width / height)
    _add_field(plotter, flights, _LARGE_CORNER if free > _FLAT else _CORNER)
    plotter.subplot(0, 0)
    return plotter


def save_png(
    path: str | Path,
    airframe: Airframe,
    flights: Sequence[ShownFlight],
    *,
    time: float | None = None,
    view: View = "caller",
    window_size: tuple[int, int] = (1600, 900),
    every: float = 1.0,
    lead: float | None = LEAD,
    title: str = "",
) -> Path:
    """Draw flights into a PNG file; the arguments are those of :func:`build_scene`.

    Raises
    ------
    NoRenderer
        Where nothing can be drawn; says in one line what to install.
    """
    problem = renderer_problem()
    if problem:
        raise NoRenderer(problem)
    plotter = build_scene(airframe, flights, time=time, view=view, window_size=window_size, every=every,
                          lead=lead, title=title)  # fmt: skip
    try:
        plotter.screenshot(str(path))
    finally:
        plotter.close()
    return Path(path)


def _box(tracks: Sequence[np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Corners of the box around tracks, scene axes [m]."""
    points = to_scene(np.concatenate([position(rows) for rows in tracks]))
    return points.min(axis=0), points.max(axis=0)


def _moments(flight: ShownFlight, start: float, gap: float) -> list[float]:
    """Moments at which to draw the airplane: counted from the measured phase, so that flights compare."""
    zero = measured_from(flight.track)
    k = np.arange(math.ceil((start - zero) / gap - 1e-6), (flight.end - zero) / gap + 1e-6)
    times = [float(t) for t in zero + gap * k]
    return times if times and flight.end - times[-1] < 0.5 * gap else [*times, flight.end]


def _add_field(
    plotter: pv.Plotter, flights: Sequence[ShownFlight], corner: tuple[float, float, float, float]
) -> None:
    """The small picture: ground, caller, whole flights."""
    plotter.subplot(0, 1)
    plotter.renderer.SetViewport(*corner)
    plotter.renderer.set_background(PAPER)
    field = Field.under([flight.track for flight in flights])
    size = max(round(plotter.window_size[1] / 75), 8)
    add_ground(plotter, field, size=size)
    radius = 0.004 * max(field.x[1] - field.x[0], field.y[1] - field.y[0], float(field.high[2]))
    for i, flight in enumerate(flights):
        add_track(plotter, flight, flight.track, i, radius=radius, shadow=True)
    low = np.array([field.x[0], field.y[0], 0.0])
    high = np.array([field.x[1], field.y[1], field.high[2]])
    width, height = plotter.window_size
    shape = width * (corner[2] - corner[0]) / (height * (corner[3] - corner[1]))
    look(plotter.renderer, low, high, (-0.86, 0.42, -0.36), (0.0, 0.0, 1.0), shape=shape)


def _add_words(
    plotter: pv.Plotter, airframe: Airframe, flights: Sequence[ShownFlight], title: str, size: int
) -> None:
    """Title, and a legend in words."""
    labels = list(dict.fromkeys(flight.label for flight in flights))
    crowded = 60.0 * size / plotter.window_size[1]
    write(plotter, title or f"{airframe.name}: {', '.join(labels)}", (0.02, 0.935), name="title", size=size)
    entries = {WORDS[flight.kind] or flight.label: FLIGHT_COLORS[flight.kind] for flight in flights}
    if any(flight.ideal is not None for flight in flights):
        entries["dashed: straight on"] = IDEAL
    for i, (word, color) in enumerate(entries.items()):
        write(plotter, word, (0.02, 0.935 - 0.045 * crowded - 0.036 * crowded * i), name=f"legend-{i}", size=0.8 * size, color=color,
              ground=SKY[1])  # fmt: skip

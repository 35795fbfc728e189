"""Flights in space: the measured part close by, beside it the words and the whole field, small."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pyvista as pv

from sixdof.airframe.model import Airframe
from sixdof.show.cameras import VIEWS, View, view_of
from sixdof.show.flown import ShownFlight, column, measured_from, position
from sixdof.show.ground import rulers, to_scene
from sixdof.show.lines import Label, Line
from sixdof.show.painter import add_labels, add_lines, add_posed, add_solids, set_camera
from sixdof.show.palette import IDEAL, INK, PALE_INK, PAPER, SKY
from sixdof.show.probe import NoRenderer, renderer_problem, use_offscreen_window
from sixdof.show.stage import LEAD, Stage, ideal_lines, nose_marks, nose_words, set_stage, shadow, track_line
from sixdof.show.words import broken, scale_words, write
from sixdof.tuning.found import SEEN

__all__ = ["build_scene", "save_png"]

_APART = 0.75  # airplane lengths from one ghost to the next, at least
_FLIGHTS = 5  # of these at most an airplane is drawn at every moment; of more, only where each ends


class _Layout(NamedTuple):
    """Where the picture, the words and the field are: left, bottom, right, top."""

    picture: tuple[float, float, float, float]
    words: tuple[float, float, float, float]
    field: tuple[float, float, float, float]


_FLAT = _Layout((0.0, 0.5, 1.0, 1.0), (0.0, 0.0, 0.45, 0.5), (0.45, 0.0, 1.0, 0.5))
_BELOW = _Layout((0.0, 0.36, 1.0, 1.0), (0.0, 0.0, 0.5, 0.36), (0.5, 0.0, 1.0, 0.36))
_BESIDE = _Layout((0.0, 0.0, 0.66, 1.0), (0.66, 0.5, 1.0, 1.0), (0.66, 0.0, 1.0, 0.5))


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
        Drawn together, each in its color.
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
        For the caller to show, save and close.  Renderers: the picture, the words, the field.
    """
    stage = set_stage(airframe, flights, title=title, lead=lead)
    step, low, high, lines, meters, solids = rulers(stage.low, stage.high, view)
    layout = max((_FLAT, _BELOW, _BESIDE), key=lambda made: _size(made.picture, low, high, view, window_size))
    if off_screen:
        use_offscreen_window()
    plotter = pv.Plotter(off_screen=off_screen, window_size=list(window_size), shape=(1, 3), border=False)
    letters = max(round(window_size[1] / 60), 9)

    _enter(plotter, 0, layout.picture, SKY)
    often = _add_flights(plotter, stage, lead, time, every)
    add_solids(plotter, solids)
    add_lines(plotter, lines)
    pixels = _pixels(layout.picture, window_size)
    camera = view_of(view, low, high, pixels[0] / pixels[1])
    set_camera(plotter.renderer, camera)
    add_labels(plotter, [*_ends(stage), *meters], camera, pixels, letters, "meters")

    _enter(plotter, 1, layout.words, (PAPER, PAPER))
    _add_words(plotter, stage, letters, layout.words, [
        f"{scale_words(stage.scale)}{often}", f"seen {VIEWS[view]}", f"lines every {step:g} m; pale underside, dark canopy",
    ])  # fmt: skip

    _enter(plotter, 2, layout.field, (PAPER, PAPER))
    add_solids(plotter, stage.solids)
    add_lines(plotter, [*stage.field.lines(), *_ways(stage)])
    pixels = _pixels(layout.field, window_size)
    camera = stage.field_camera(pixels[0] / pixels[1])
    set_camera(plotter.renderer, camera)
    add_labels(plotter, list(stage.field.labels()), camera, pixels, max(round(letters * 0.8), 8), "places")
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


def _enter(
    plotter: pv.Plotter, number: int, where: tuple[float, float, float, float], ground: tuple[str, str]
) -> None:
    """Work in a part of the picture from now on; color of its ground at the bottom and at the top."""
    plotter.subplot(0, number)
    plotter.renderer.SetViewport(*where)
    plotter.renderer.set_background(ground[0], top=ground[1])


def _pixels(where: tuple[float, float, float, float], size: tuple[int, int]) -> tuple[int, int]:
    left, bottom, right, top = where
    return round(size[0] * (right - left)), round(size[1] * (top - bottom))


def _size(
    where: tuple[float, float, float, float], low: np.ndarray, high: np.ndarray, view: View, size: tuple[int, int]
) -> float:  # fmt: skip
    """Pixels of a meter, if the picture is put there."""
    width, height = _pixels(where, size)
    return round(view_of(view, low, high, width / height).pixels_a_meter() * height, 2)


def _add_flights(
    plotter: pv.Plotter, stage: Stage, lead: float | None, time: float | None, every: float
) -> str:
    """Tracks, ideal lines and airplanes at moments; says how often there are airplanes."""
    length = float(np.max(stage.high - stage.low))
    radius = max(0.0022 * length, 0.02)
    speeds = [float(np.median(column(flight.track, "speed"))) for flight in stage.flights]
    gap = every * max(1, math.ceil(_APART * stage.scale * stage.hull.length / (max(1.0, *speeds) * every)))
    few = len(stage.flights) <= _FLIGHTS
    for number, flight in enumerate(stage.flights):
        start = flight.start if lead is None else max(flight.start, measured_from(flight.track) - lead)
        rows = flight.track[column(flight.track, "time") >= start - 1e-9]
        add_lines(plotter, [track_line(flight, number, rows, radius)])
        times = [time] if time is not None else _moments(flight, start, gap) if few else [flight.end]
        for k, moment in enumerate(times):
            add_posed(
                plotter, stage.hull, flight.color, stage.placements(number, moment), f"airplane-{number}-{k}"
            )
    add_lines(plotter, [*ideal_lines(stage.flights, radius), *nose_marks(stage.flights, length)])
    return "" if time is not None else f", every {gap:g} s" if few else ", where each flight ends"


def _ends(stage: Stage) -> list[Label]:
    """What each flight is called, at its end, where there are more than bare and blended."""
    if all(flight.kind != "other" for flight in stage.flights):
        return []
    up = np.array([0.0, 0.0, 0.7 * stage.scale * stage.hull.length])
    return [
        Label(flight.label, to_scene(position(flight.track[-1])) - up, flight.color)
        for flight in stage.flights
    ]


def _ways(stage: Stage) -> list[Line]:
    """All that was flown, drawn for a small picture."""
    low, high = stage.field.box
    radius = 0.004 * float(np.max(high - low))
    tracks = [track_line(flight, i, flight.track, radius) for i, flight in enumerate(stage.flights)]
    return [*tracks, *(shadow(flight, i) for i, flight in enumerate(stage.flights))]


def _moments(flight: ShownFlight, start: float, gap: float) -> list[float]:
    """Moments at which to draw the airplane: counted from the measured phase, so that flights compare."""
    zero = measured_from(flight.track)
    k = np.arange(math.ceil((start - zero) / gap - 1e-6), (flight.end - zero) / gap + 1e-6)
    times = [float(t) for t in zero + gap * k]
    return times if times and flight.end - times[-1] < 0.5 * gap else [*times, flight.end]


def _add_words(
    plotter: pv.Plotter, stage: Stage, size: float, where: tuple[float, float, float, float], captions: list[str]
) -> None:  # fmt: skip
    """Title, a legend in words, and how to read the picture, line under line."""
    legend = {f"{flight.words}{nose_words(flight)}": flight.color for flight in stage.flights}
    if any(flight.nose for flight in stage.flights):
        legend["dark dashes: the way through the air"] = INK
    elif any(flight.ideal is not None for flight in stage.flights):
        legend["dashed: straight on"] = IDEAL
        legend[f"thin: an even drift of {SEEN:g}° in all"] = PALE_INK
    lines = [("title", stage.title, 1.0, INK)]
    lines += [(f"legend-{i}", words, 0.8, color) for i, (words, color) in enumerate(legend.items())]
    lines += [(f"caption-{i}", words, 0.65, PALE_INK) for i, words in enumerate(captions)]
    width, height = plotter.window_size
    wide, tall = _pixels(where, (width, height))

    def room() -> float:
        return min(1.0, 0.9 * tall / (2.4 * size * sum(share for *_, share, _ in lines)))

    lines = [
        (f"{name}-more-{k}" if k else name, part, share, color)
        for fits in [room()]
        for name, words, share, color in lines
        for k, part in enumerate(broken(plotter, words, size * share * fits, 0.94 * wide))
    ]
    fits, top = room(), tall - 0.4 * size
    for name, words, share, color in lines:
        top -= 2.4 * size * share * fits
        write(plotter, words, (0.03, top / tall), name=name, size=size * share * fits, color=color)

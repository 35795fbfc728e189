"""Where a picture looks from, and that a plot draws nothing that was not measured."""

from __future__ import annotations

from pathlib import Path
from unittest import mock

import numpy as np
import pytest
from commanding import sixdof_here
from lopsided import FILE, MANEUVERS, as_written, number
from matplotlib.axes import Axes
from showing import airplane, two_flights

from sixdof.show.flown import position
from sixdof.show.scene import build_scene

FRAME = 0.02  # s


def place_of(renderer: object, name: str) -> np.ndarray:
    """Middle of an actor [m]: east, north, up."""
    b = renderer.actors[name].bounds  # type: ignore[attr-defined]
    return 0.5 * np.array([b[0] + b[1], b[2] + b[3], b[4] + b[5]])


@pytest.mark.renders
def test_the_callers_picture_is_seen_from_where_the_caller_stands() -> None:
    """Pilot and caller stand beside the line; an airplane that flies north goes by from left to right.

    Who looks west has north at the right hand: so they stand to the east of it, on the line's right.
    """
    flights = two_flights()
    plotter = build_scene(airplane(), flights, view="caller", window_size=(480, 270), lead=None)
    main, corner = plotter.renderers[0], plotter.renderers[2]
    north, east, down = position(flights[0].track).T
    line = np.array([east.mean(), north.mean(), -down.mean()])
    caller, camera = place_of(corner, "caller"), np.array(main.camera.position)
    assert caller[0] > east.max() and camera[0] > east.max(), "both to the east of all that is flown"
    to_caller, to_camera = caller - line, camera - line
    cosine = to_caller[:2] @ to_camera[:2] / np.linalg.norm(to_caller[:2]) / np.linalg.norm(to_camera[:2])
    assert cosine > np.cos(np.radians(20.0)), "from the same side, within 20°"
    assert corner.actors["caller"].bounds[4] == pytest.approx(0.0, abs=0.5), "feet on the ground"

    def on_screen(point: np.ndarray) -> np.ndarray:
        main.SetWorldPoint(*point, 1.0)
        main.WorldToDisplay()
        return np.array(main.GetDisplayPoint()[:2])

    ahead, higher = (
        on_screen(line + np.array([0, 10, 0])) - on_screen(line),
        on_screen(line + np.array([0, 0, 10])) - on_screen(line),
    )
    assert ahead[0] > 5 * abs(ahead[1]) > 0, "north is to the right"
    assert higher[1] > 5 * abs(higher[0]), "up is up"


@pytest.mark.renders
@pytest.mark.parametrize(("view", "across", "upward"), [("above", "north", "west"), ("along", "east", "up")])
def test_other_views_have_their_sides(view: str, across: str, upward: str) -> None:
    """From above, north is to the right as the caller sees it; along the line, east is to the right."""
    ways = {"north": [0, 10, 0], "west": [-10, 0, 0], "east": [10, 0, 0], "up": [0, 0, 10]}
    flights = two_flights()
    plotter = build_scene(airplane(), flights, view=view, window_size=(480, 270), lead=None)  # type: ignore[arg-type]
    main = plotter.renderers[0]
    north, east, down = position(flights[0].track).T
    line = np.array([east.mean(), north.mean(), -down.mean()])

    def on_screen(point: np.ndarray) -> np.ndarray:
        main.SetWorldPoint(*point, 1.0)
        main.WorldToDisplay()
        return np.array(main.GetDisplayPoint()[:2])

    right, up = (on_screen(line + ways[way]) - on_screen(line) for way in (across, upward))
    assert right[0] > 0 and up[1] > 0 and up[1] > abs(up[0])


@pytest.mark.parametrize("maneuver", ["four_point_roll", "knife_edge"])
def test_drift_is_drawn_where_it_was_measured_and_nowhere_else(tmp_path: Path, maneuver: str) -> None:
    """All lines that ``fly`` draws: their points are the rows of the measured phases, a break between phases."""
    drawn: list[tuple[np.ndarray, np.ndarray]] = []
    plot = Axes.plot

    def watched(axes: Axes, *args: object, **kw: object) -> object:
        if len(args) >= 2 and np.ndim(args[0]) == 1 and len(args[0]) > 10:  # type: ignore[arg-type]
            drawn.append((np.asarray(args[0], float), np.asarray(args[1], float)))
        return plot(axes, *args, **kw)  # type: ignore[arg-type]

    with mock.patch.object(Axes, "plot", watched), mock.patch("sixdof.show.scene.save_png"):
        done = sixdof_here(tmp_path, "fly", str(FILE), "-m", maneuver, "--out", "flown")
    assert done.code == 0, done.err
    assert (tmp_path / "flown" / "drift.png").is_file()
    assert len(drawn) == 6, "two sides, three errors"
    phases = as_written(MANEUVERS / f"{maneuver}.yaml")["phases"]
    # rows of the file's own times: [first, last) of every measured phase
    ends = np.cumsum([round(number(phase["time"]) / FRAME) for phase in phases])
    measured = [
        (e - round(number(p["time"]) / FRAME), e)
        for p, e in zip(phases, ends, strict=True)
        if "measured" in p
    ]
    first = measured[0][0]
    # one after its last frame where the flight ends with it
    rows = np.concatenate([np.arange(a, b + (b == ends[-1])) - first for a, b in measured])
    for time, errors in drawn:
        shown = np.isfinite(errors)
        assert np.round(time[shown] / FRAME).astype(int).tolist() == rows.tolist()
        breaks = np.flatnonzero(np.diff(np.flatnonzero(shown)) > 1)
        assert len(breaks) == len(measured) - 1, "a line is broken between phases"
        for a, _ in measured:
            (start,) = np.flatnonzero(np.round(time / FRAME).astype(int) == a - first)
            assert abs(errors[start]) < 1e-6, "errors count anew from each phase's start"

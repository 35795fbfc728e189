"""Plots: what they compute, and that they are written."""

import math
import re
import subprocess
import sys

import numpy as np
import pytest
from PIL import Image
from showing import knife_edge

from sixdof.flight.frame import TRACK_NAMES
from sixdof.show.charts import map_chart
from sixdof.show.explore_plot import explore_plot, side_view, zero_crossings
from sixdof.show.map_plot import map_plot
from sixdof.show.plots import Drift, compare_plot, degrees, drift_plot

TIME = np.linspace(0.0, 3.0, 50)


def drift(rate, note=""):
    return Drift(TIME, np.outer(TIME, (rate, 0.1 * rate, -rate)), note)


def colored(path):
    """Share of pixels that have a color."""
    with Image.open(path) as image:
        pixels = np.asarray(image.convert("RGB"), int)
    return float((pixels.max(axis=2) - pixels.min(axis=2) > 40).mean())


def test_drift_plot_grows_with_the_maneuvers(tmp_path):
    before = {"right-rudder knife-edge": drift(0.1), "left-rudder knife-edge": drift(-0.1, "let go early")}
    after = {"right-rudder knife-edge": drift(0.01)}
    both = drift_plot(tmp_path / "both.png", before, after)
    one = drift_plot(tmp_path / "one.png", {"dive": drift(0.0)})
    assert Image.open(both).width > Image.open(one).width
    assert colored(both) > 0.002
    drift_plot(tmp_path / "both.svg", before, after)
    text = (tmp_path / "both.svg").read_text()
    assert text.startswith("<?xml")


def test_compare_plot_takes_runs_that_lack_a_maneuver(tmp_path):
    runs = {"bare": {"dive": (0.2, 0.0, 0.0), "roll": (0.0, 0.1, 0.1)}, "tuned": {"dive": (0.01, 0.0, 0.0)}}
    assert colored(compare_plot(tmp_path / "runs.png", runs)) > 0.0005


@pytest.mark.parametrize("with_tracks", [False, True])
def test_explore_plot(tmp_path, with_tracks):
    settings = [-4.0, -2.0, 0.0, 2.0]
    values = [-0.1, 0.0, 0.1, math.nan]
    tracks = [knife_edge(0.05 * k) for k in range(4)] if with_tracks else ()
    assert colored(explore_plot(tmp_path / "explore.png", settings, values, tracks)) > 0.0002


def test_runs_without_a_finished_flight_are_no_picture(tmp_path):
    with pytest.raises(ValueError, match="no run has a finished flight"):
        compare_plot(tmp_path / "runs.png", {"a": {}, "b": {}})
    assert not list(tmp_path.iterdir())


def test_settings_whose_flight_never_began_have_a_place_and_no_track(tmp_path):
    empty = np.zeros((0, len(TRACK_NAMES)))
    values, settings = [math.nan, 0.1, math.nan], [-1.0, 0.0, 1.0]
    some = explore_plot(tmp_path / "some.png", settings, values, [empty, knife_edge(0.1), empty])
    none = explore_plot(tmp_path / "none.png", settings, [math.nan] * 3, [empty] * 3)
    assert Image.open(some).width > Image.open(none).width


def test_zero_is_found_between_points_and_on_them():
    assert zero_crossings(np.array([0.0, 2.0]), np.array([-1.0, 3.0])) == pytest.approx([0.5])
    assert zero_crossings(np.array([2.0, 0.0, 1.0]), np.array([1.0, -1.0, 0.0])) == pytest.approx([1.0])
    assert zero_crossings(np.array([0.0, 1.0, 2.0]), np.array([1.0, math.nan, 2.0])) == []


def test_side_view_has_the_canopy_on_the_positive_side():
    along, off, steep = side_view(knife_edge(0.1))
    assert along[0] == off[0] == 0.0
    assert along[-1] == pytest.approx(75.0, rel=0.03)
    assert off[-1] == pytest.approx(
        0.5 * 0.1 * 25.0 * 9.0, rel=0.05
    )  # half of the turn times speed times time squared
    assert not steep


def test_angles_are_written_with_a_true_minus():
    assert degrees(3.14) == "+3.1°"
    assert degrees(-3.14) == "\u22123.1°"
    assert degrees(-0.01) == "0.0°"


def test_plots_leave_the_plotting_state_alone():
    code = "import sys, sixdof.show.explore_plot, sixdof.show.plots; print('matplotlib.pyplot' in sys.modules, 'pyvista' in sys.modules)"
    assert subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout.split() == ["False", "False"]


def test_a_map_is_blue_where_nobody_sees_it_and_has_holes_where_nothing_finished(tmp_path):
    """Left third not seen, middle far too much, right never finished; the best is marked and said."""
    drift = np.repeat([[1.0, 60.0, math.nan]], 3, axis=0)
    drift[1, 0] = -0.4
    path = map_plot(
        tmp_path / "map.png", [-2.0, 0.0, 2.0], [0.0, 1.0, 2.0], drift, titles=("down", "across"), best=[1, 0]
    )
    with Image.open(path) as image:
        pixels = np.asarray(image.convert("RGB"), int)
    body = pixels[int(0.25 * len(pixels)) : int(0.8 * len(pixels)), :, :]
    wide = body.shape[1]
    left, middle, right = (body[:, int(at * wide)].mean(axis=0) for at in (0.15, 0.45, 0.72))
    assert left[2] > left[0] + 40.0 and middle[0] > middle[2] + 40.0 and right.min() > 225.0
    map_plot(
        tmp_path / "map.svg", [-2.0, 0.0, 2.0], [0.0, 1.0, 2.0], drift, titles=("down", "across"), best=[1, 0]
    )
    assert (tmp_path / "map.svg").stat().st_size > 1000


def test_a_map_in_a_report_has_a_square_a_place():
    drift = [[1.0, -7.4], [math.nan, 40.0]]
    text = map_chart([-2.0, 2.0], [0.0, 5.0], drift, [0, 0], "a map")
    assert text.count("<rect") == 4 and text.count('fill="none"') == 1
    assert text.count('stroke-width="2"') == 1  # the best
    texts = re.findall(r">([^<>]+)</text>", text)
    assert texts[:3] == ["-2", "1", "7"] and texts[3:6] == ["2", "-", "40"] and texts[6:] == ["0", "5"]
    heights = [float(y) for y in re.findall(r'<rect x="[\d.]+" y="([\d.]+)"', text)]
    assert heights[0] > heights[2]  # + is up

"""What is said about a moment of a flight."""

import numpy as np
import pytest
from showing import PHASES, knife_edge, two_flights

from sixdof.show.flown import (
    ShownFlight,
    column,
    measured_from,
    phase_starts,
    position,
    readout,
    rotation,
    row_at,
    straight_on,
)
from sixdof.show.ground import scene_matrix


def test_row_at_a_frame_is_that_frame_and_between_two_lies_between():
    track = knife_edge(0.1)
    assert row_at(track, float(track[60, 0])) == pytest.approx(track[60])
    middle = row_at(track, 0.5 * float(track[60, 0] + track[61, 0]))
    assert position(middle) == pytest.approx(0.5 * (position(track[60]) + position(track[61])))
    assert rotation(middle) @ rotation(middle).T == pytest.approx(np.eye(3))


def test_row_at_ends_holds_and_signs_of_quaternions_do_not_matter():
    track = knife_edge(0.1)
    assert row_at(track, -3.0) == pytest.approx(track[0])
    assert row_at(track, 99.0) == pytest.approx(track[-1])
    flipped = track.copy()
    flipped[61, 7:11] *= -1.0
    time = 0.5 * float(track[60, 0] + track[61, 0])
    assert rotation(row_at(flipped, time)) == pytest.approx(rotation(row_at(track, time)))


def test_phases_and_the_measured_one_are_found():
    track = knife_edge(0.1)
    assert phase_starts(track) == [(0.0, 0, False), (1.0, 1, False), (2.0, 2, True)]
    assert measured_from(track) == 2.0


def test_straight_on_leaves_a_drifting_flight_on_the_belly_side():
    track = knife_edge(0.1)
    line = straight_on(track)
    off = position(track[-1]) - line[1]
    canopy = -rotation(track[-1])[:, 2]
    assert off @ canopy > 5.0
    assert np.linalg.norm(line[1] - line[0]) == pytest.approx(25.0 * 3.0, rel=0.01)


def test_readout_says_the_side_in_words():
    said = dict(readout(ShownFlight("knife-edge", knife_edge(0.1), phases=PHASES), 4.0))
    assert said["time"] == "4.0 s"
    assert said["phase"] == "knife-edge"
    assert said["speed"] == "25.0 m/s"
    assert said["height"] == "100 m"
    assert said["drift"] == "11.5° to canopy"
    assert said["drift aside"] == "0.0°"
    other = dict(readout(ShownFlight("knife-edge", knife_edge(-0.1)), 4.0))
    assert other["drift"] == "11.5° to belly"
    assert other["phase"] == "phase 3"
    assert "not counted" in dict(readout(two_flights()[0], 0.5))["drift"]


def test_a_track_of_another_shape_is_refused():
    with pytest.raises(ValueError, match=r"got a track of shape \(5, 7\)"):
        ShownFlight("no", np.zeros((5, 7)))


def test_scene_axes_are_east_north_up():
    level = knife_edge(0.0)[0]
    matrix = scene_matrix(level, 4.0)
    assert matrix[:3, :3] @ (1.0, 0.0, 0.0) == pytest.approx((0.0, 4.0, 0.0))  # nose north
    assert matrix[:3, :3] @ (0.0, 1.0, 0.0) == pytest.approx((4.0, 0.0, 0.0))  # right wing east
    assert matrix[:3, :3] @ (0.0, 0.0, -1.0) == pytest.approx((0.0, 0.0, 4.0))  # canopy up
    assert matrix[:3, 3] == pytest.approx((0.0, 0.0, 100.0))
    assert column(knife_edge(0.0), "down")[0] == -100.0

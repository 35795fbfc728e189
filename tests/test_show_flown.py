"""What is said about a moment of a flight."""

from collections.abc import Callable

import numpy as np
import pytest
from showing import PHASES, knife_edge, two_flights

from sixdof.files.errors import InputError
from sixdof.flight.frame import TRACK_NAMES
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


def _turned(track: np.ndarray) -> np.ndarray:
    return track[::-1].copy()


def _with(name: str, number: float, rows: slice = slice(40, 41)) -> Callable[[np.ndarray], np.ndarray]:
    def damaged(track: np.ndarray) -> np.ndarray:
        track[rows, TRACK_NAMES.index(name)] = number
        return track

    return damaged


def _still(track: np.ndarray) -> np.ndarray:
    track[:, 1:4] = (10.0, 0.0, -100.0)
    return track


def _without_attitude(track: np.ndarray) -> np.ndarray:
    track[7, TRACK_NAMES.index("q0") : TRACK_NAMES.index("q3") + 1] = 0.0
    return track


NO_TRACKS: dict[str, tuple[Callable[[np.ndarray], np.ndarray], str]] = {
    "reversed": (_turned, "time goes from 4.98 to 4.96 s after row 0"),
    "twice the same time": (_with("time", 0.78), "time goes from 0.78 to 0.78 s after row 39"),
    "an hour later": (_with("time", 3600.0, slice(40, None)), "time goes from 0.78 to 3600 s after row 39"),
    "no attitude": (_without_attitude, "attitude in row 7"),
    "not finite": (_with("down", np.nan), "down is nan in row 40"),
    "without bound": (_with("rudder", -np.inf), "rudder is -inf in row 40"),
    "on the moon": (_with("down", -3.8e8), r"down is -3.8e\+08 in row 40"),
    "half a phase": (_with("phase", 0.5), "whole numbers"),
    "still": (_still, "all rows are at one place"),
    "of an hour": (lambda t: np.c_[np.arange(180_000) * 0.02, np.resize(t[:, 1:], (180_000, 38))], "it lasts 3600 s"),
}  # fmt: skip


@pytest.mark.parametrize("name", NO_TRACKS)
def test_rows_that_no_flight_left_are_refused_in_a_sentence(name: str) -> None:
    damage, word = NO_TRACKS[name]
    with pytest.raises(InputError, match=f"^knife-edge: .*{word}"):
        ShownFlight("knife-edge", damage(knife_edge(0.1)))


def test_a_track_of_another_shape_is_refused():
    with pytest.raises(ValueError, match=r"got \(5, 7\) numbers, expected 2 rows or more of 39"):
        ShownFlight("no", np.zeros((5, 7)))


def test_scene_axes_are_east_north_up():
    level = knife_edge(0.0)[0]
    matrix = scene_matrix(level, 4.0)
    assert matrix[:3, :3] @ (1.0, 0.0, 0.0) == pytest.approx((0.0, 4.0, 0.0))  # nose north
    assert matrix[:3, :3] @ (0.0, 1.0, 0.0) == pytest.approx((4.0, 0.0, 0.0))  # right wing east
    assert matrix[:3, :3] @ (0.0, 0.0, -1.0) == pytest.approx((0.0, 0.0, 4.0))  # canopy up
    assert matrix[:3, 3] == pytest.approx((0.0, 0.0, 100.0))
    assert column(knife_edge(0.0), "down")[0] == -100.0

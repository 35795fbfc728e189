"""One ratio over a band of speed or of a change: what is best at each place, and what one for all leaves."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from commanding import sixdof_here

from sixdof.files.errors import InputError
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import read_ratio
from sixdof.flight.script import load_maneuver
from sixdof.flight.speed import entry_speed
from sixdof.physics.air import make_air
from sixdof.study.ask import explore
from sixdof.study.words import band_words
from sixdof.tuning.band import band, read_over
from sixdof.tuning.explore import explore_ratio
from sixdof.tuning.held import dive_ratios

LOW = read_ratio("throttle-elevator.low")


def test_best_of_a_dive_moves_with_the_cg_as_steady_flight_has_it() -> None:
    """Forward asks for more down; by the steady vertical dive of each changed airplane, one trim at a time."""
    corvane = Airplane("corvane")
    answer = explore(corvane, "power_off_dive", "throttle-elevator.low=-8..4", over="cg=-6..6")
    assert answer.band is not None and len(answer.band.rows) == 5
    found = [row.best_percent for row in answer.band.rows]
    assert found == sorted(found) and answer.band.rows[2].place == "as it is"
    maneuver = load_maneuver("power_off_dive")
    for row, millimeters in zip(answer.band.rows, (-6.0, -3.0, 0.0, 3.0, 6.0), strict=True):
        plane = corvane.changed({"cg": 1e-3 * millimeters}).planes if millimeters else corvane.planes
        speed = entry_speed(plane, maneuver, make_air())
        [steady] = dive_ratios(plane, LOW, speed=speed, height=100.0)
        assert row.best_percent == pytest.approx(100.0 * steady, abs=1.0), row


def test_the_one_ratio_leaves_least_at_the_worst_place() -> None:
    corvane, edge = Airplane("corvane"), load_maneuver("knife_edge")
    ratio, amounts = read_ratio("rudder-aileron.left"), [0.0, 0.02, 0.04, 0.06]
    found = band(corvane, edge, ratio, amounts, read_over("speed=90..110"))
    worst = []
    for k in range(len(amounts)):
        left = []
        for share in (0.9, 0.95, 1.0, 1.05, 1.1):
            settings, _ = explore_ratio(corvane.planes, edge.faster(share), ratio, [amounts[k]])
            left += [abs(s.drift) if s.scored else math.inf for s in settings]
        worst.append(max(left))
    best = min(range(len(amounts)), key=worst.__getitem__)
    assert found.one_percent == {"left": pytest.approx(100.0 * amounts[best])}
    assert max(abs(row.left) for row in found.rows) == pytest.approx(worst[best], abs=1e-6)
    assert [row.place for row in found.rows][::2] == [
        "90 % of the speed",
        "100 % of the speed",
        "110 % of the speed",
    ]


def test_words_say_whether_one_is_enough(tmp_path: Path) -> None:
    many = explore(
        Airplane("corvane"), "power_off_dive", "throttle-elevator.low=-6..2", over="cg=-6..6", count=9
    )
    [text] = band_words(many)
    assert "leaves up to" in text and "right at one place only" in text
    few = explore(
        Airplane("corvane"), "power_off_dive", "throttle-elevator.low=-6..2", over="speed=98..102", count=9
    )
    [text] = band_words(few)
    assert "less than anyone sees, so one is enough" in text
    told = sixdof_here(
        tmp_path,
        "explore",
        "power_off_dive",
        "--vary",
        "throttle-elevator.low=-6..2",
        "--over",
        "cg=-6..6",
        "--no-pictures",
    )
    assert (
        "CG 6 mm further forward" in told.out
        and "one ratio for all of it" in told.out
        and max(map(len, told.out.splitlines())) <= 80
    )


@pytest.mark.parametrize(
    "text", ["", "speed", "speed=120..80", "speed=10..90", "cgg=-5..5", "cg=5", "cg=a..b", "speed=80..nan"]
)
def test_a_bad_band_is_one_line(text: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="--over: got"):
        read_over(text)
    done = sixdof_here(
        tmp_path, "explore", "power_off_dive", "--vary", "throttle-elevator.low=-6..2", f"--over={text}"
    )
    assert done.code == 2 and done.err.count("\n") == 1

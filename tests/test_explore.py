"""One ratio over a range: what it cures is what is told."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from commanding import sixdof_here

from sixdof.airframe.load import find_airframe, load_airframe
from sixdof.files.errors import InputError
from sixdof.flight.airplane import Airplane
from sixdof.flight.mixing import curve, stick_for
from sixdof.flight.script import load_maneuver
from sixdof.study.ask import explore
from sixdof.tuning.explore import Setting, explore_ratio, read_range


@pytest.fixture(scope="module")
def planes() -> np.ndarray:
    return Airplane(load_airframe("corvane")).planes


def explored(planes: np.ndarray, vary: str, count: int) -> list[Setting]:
    return explore_ratio(planes, load_maneuver("knife_edge"), *read_range(vary, count))[0]


@pytest.mark.parametrize(
    ("side", "other", "low", "high"), [("left", "right", -2.5, 3.5), ("right", "left", 0.5, 5.0)]
)
def test_elevator_is_judged_by_the_canopy_term_on_its_own_side(planes, side, other, low, high) -> None:
    """Roll is the worst term of this airplane, but no elevator cures it."""
    found = explored(planes, f"rudder-elevator.{side}=-8..16", 25)
    assert {s.side for s in found} == {side} != {other}
    assert all(s.term == "canopy" for s in found)
    least = min(found, key=lambda s: abs(s.drift))
    assert low <= least.percent <= high
    degrees = [s.drift for s in found]
    assert degrees[0] < -5.0 and degrees[-1] > 5.0  # more up, more to the canopy


def test_aileron_is_judged_by_roll(planes) -> None:
    found = explored(planes, "rudder-aileron.left=0..9", 10)
    assert all(s.term == "roll" for s in found if s.drift)
    assert min(found, key=lambda s: abs(s.drift)).percent == pytest.approx(3.0, abs=1.0)


def test_a_best_at_the_end_of_the_range_is_no_advice(tmp_path: Path) -> None:
    vary = ("--vary", "throttle-elevator.low=-1..2", "--count", "7")
    done = sixdof_here(tmp_path, "explore", "power_off_dive", *vary, "--no-pictures")
    assert "at the end of the range" in done.out and "least drift: 1 % DOWN" not in done.out


def test_a_flight_remembers_what_it_was_flown_with(tmp_path: Path) -> None:
    done = sixdof_here(tmp_path, "fly", "-b", "rudder-elevator.left=6.5", "--no-pictures", "--out", "run")
    assert "full left rudder: elevator 6.5 % UP" in done.out
    kept = json.loads((tmp_path / "run" / "result.json").read_text())
    assert any("full left rudder: elevator 6.5 % UP" in line for line in kept["flown_with"])


def test_blends_in_the_file_are_said_to_be_off(tmp_path: Path) -> None:
    text = find_airframe("corvane").read_text()
    blend = "  blends: [{source: rudder, target: elevator, left: 3 % up, right: 3 % up}]"
    (tmp_path / "mine.yaml").write_text(text.replace("  blends: []", blend, 1))
    done = sixdof_here(tmp_path, "tune", "mine.yaml", "-m", "power_off_dive", "--no-pictures", "--json")
    assert any("rudder-elevator" in w and "replace theirs" in w for w in json.loads(done.out)["warnings"])


@pytest.mark.parametrize("expo", [0.0, 0.5, 0.99, 1.0])
def test_a_small_command_needs_a_stick_that_gives_it(expo: float) -> None:
    for command in (-1.0, -0.3, -0.001, 0.0, 1e-6, 0.01, 0.7):
        assert curve(stick_for(command, expo), expo) == pytest.approx(command, abs=1e-9)


def test_a_ratio_that_never_acts_is_no_exploration(tmp_path: Path) -> None:
    """In a dive with closed throttle nothing happens at its full end."""
    done = sixdof_here(tmp_path, "explore", "power_off_dive", "--vary", "throttle-elevator.high=0..2")
    assert done.code == 2 and done.err.count("\n") == 1 and "so no setting acts" in done.err, done
    assert not list(tmp_path.iterdir())


def test_a_band_is_flown_with_one_ratio_alone() -> None:
    with pytest.raises(InputError, match="one ratio alone"):
        explore(
            Airplane("corvane"), "knife_edge", "rudder-aileron.left=-2..2", over="speed=80..120",
            beside={"rudder-elevator.left": 2.0}, count=3,
        )  # fmt: skip

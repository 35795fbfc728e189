"""What a flyer is told before acting on ratios."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from sixdof.airframe.load import find_airframe, load_airframe
from sixdof.airframe.template import new_text
from sixdof.flight.airplane import Airplane
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air
from sixdof.study.ask import tune
from sixdof.study.check import check
from sixdof.study.words import first_step, knife_edge_words


def _advice(path: Path, names: list[str]) -> list[str]:
    return tune(Airplane(load_airframe(path)), names, airplanes=0).warnings


@pytest.fixture(scope="module")
def usual() -> list[str]:
    return _advice(find_airframe("corvane"), ["knife_edge", "power_off_dive", "roll_reversal"])


def test_a_rudder_too_weak_for_level_knife_edge_is_said(tmp_path: Path, usual: list[str]) -> None:
    text = find_airframe("fenlark").read_text()
    throws = next(line for line in text.splitlines() if "rudder: {left:" in line)
    weak = "    rudder: {left: 8 deg, right: 8 deg, expo: 20 %}"
    path = tmp_path / "weak.yaml"
    path.write_text(text.replace(throws, weak, 1))
    lines = _advice(path, ["knife_edge"])
    for side in ("right", "left"):
        [line] = [line for line in lines if line.startswith(f"{side}-rudder knife-edge does not hold level")]
        assert re.search(
            r"it would take at 24 m/s 2\d\d % of the rudder travel, at 38 m/s .* more rudder throw", line
        ), line
    assert not any("does not hold level" in line for line in usual)


def test_no_ratio_is_told_of_a_knife_edge_that_falls(tmp_path: Path) -> None:
    """And the word comes first, on the side that it is true of."""
    text = find_airframe("fenlark").read_text()
    throws = next(line for line in text.splitlines() if "rudder: {left:" in line)
    path = tmp_path / "weak.yaml"
    path.write_text(text.replace(throws, "    rudder: {left: 8 deg, right: 8 deg, expo: 20 %}", 1))
    answer = tune(Airplane(load_airframe(path)), ["knife_edge"], airplanes=20)
    assert {blend.found for blend in answer.blends} == {False} and not answer.specs()
    assert all("no test of it could be flown" in blend.words for blend in answer.blends)
    assert answer.split == [] and answer.knife_edge is not None
    whole = tune(Airplane(load_airframe(path)), airplanes=0)
    assert "knife_edge" not in {row.name for row in whole.maneuvers}
    assert {row.name for row in whole.maneuvers} >= {"power_off_dive", "roll_reversal"}
    assert "does not hold level" in first_step(whole, "weak.yaml") or whole.of_kind("balance")


def test_knife_edge_is_flown_where_at_most_seventy_percent_of_the_rudder_holds_it(tmp_path: Path) -> None:
    """A rudder with half of its throw: faster, and the speed and both rudders are said."""
    text = find_airframe("corvane").read_text()
    throws = next(line for line in text.splitlines() if "rudder: {left:" in line)
    path = tmp_path / "less.yaml"
    path.write_text(text.replace(throws, "    rudder: {left: 18 deg, right: 18 deg, expo: 20 %}", 1))
    airplane = Airplane(load_airframe(path))
    edge = tune(airplane, ["knife_edge"], airplanes=0).knife_edge
    assert edge is not None and edge.of_cruise_percent > 101.0
    cruise = airplane.airframe.speeds.cruise
    for share, easy in (
        (edge.of_cruise_percent / 100.0, True),
        (edge.of_cruise_percent / 100.0 - 0.01, False),
    ):
        steady = [
            trim(airplane.plane, make_air(), speed=share * cruise, bank=bank, height=120.0)
            for bank in (-0.5 * math.pi, 0.5 * math.pi)
        ]
        rudder = [abs(flight.sticks["rudder"]) for flight in steady]
        assert (max(rudder) <= 0.7) == easy, (share, rudder)
        if easy:
            assert [edge.right_percent, edge.left_percent] == pytest.approx([100.0 * r for r in rudder])
    assert f"{edge.speed_m_s:.0f} m/s ({edge.of_cruise_percent:.0f} % of cruise)" in knife_edge_words(
        tune(airplane, ["knife_edge"], airplanes=0)
    )
    usual = tune(Airplane("corvane"), ["knife_edge"], airplanes=0).knife_edge
    assert usual is not None and usual.of_cruise_percent == 100.0
    slower = tune(airplane, ["knife_edge"], speed=0.98, airplanes=0).knife_edge
    assert slower is not None and slower.of_cruise_percent == pytest.approx(98.0)


def test_each_blend_says_where_it_hurts(usual: list[str]) -> None:
    """Common practice, no source: crosswind rudder at landing, the flare, inverted flight."""
    assert any("take-off and landing" in line for line in usual)
    assert any("landing flare" in line for line in usual)
    assert any("right way up only" in line for line in usual)


def test_another_speed_is_spoken_of(usual: list[str]) -> None:
    (line,) = [line for line in usual if line.startswith("right at one speed only")]
    assert "right-rudder knife-edge" in line and "at 80 %" in line
    assert usual[0] == "corvane is an invented airplane: do not dial this in"


def test_the_constant_part_is_spoken_of_where_the_cg_is_far_ahead(usual: list[str]) -> None:
    """Near the neutral point there is next to none."""
    assert any("elevator is the CG, the same at any rudder" in line for line in usual)
    neutral = tune(Airplane("corvane").changed({"cg": "6 mm aft"}), ["knife_edge"], airplanes=0).warnings
    assert not any("elevator is the CG" in line for line in neutral)


def test_check_says_what_trims_the_radio_holds(tmp_path: Path) -> None:
    text = find_airframe("corvane").read_text()
    path = tmp_path / "trimmed.yaml"
    path.write_text(text.replace("  blends: []", '  trims: {elevator: "2 % up"}\n  blends: []', 1))
    assert (
        "trims in the radio now, which are not flown: elevator 2.0 % up"
        in check(Airplane(load_airframe(path))).trim
    )


def test_ratios_that_do_not_help_the_airplane_as_estimated_are_given_up_in_words(tmp_path: Path) -> None:
    """The file that a newcomer begins with: what serves most airplanes like it does not serve it; no number is printed."""
    path = tmp_path / "mine.yaml"
    path.write_text(new_text("mine"))
    answer = tune(Airplane(str(path)), ["knife_edge", "four_point_roll"])
    rudder = [blend for blend in answer.blends if blend.source == "rudder"]
    assert {blend.given_up for blend in rudder} == {"flown with it it is no better"}
    assert all(
        blend.doubt is not None and "not found" in blend.words and "%" not in blend.words for blend in rudder
    )
    assert "helps" not in knife_edge_words(answer) and not answer.specs()

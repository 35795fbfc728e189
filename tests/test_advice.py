"""What a flyer is told before acting on ratios."""

from __future__ import annotations

from pathlib import Path

import pytest

from sixdof.airframe.load import find_airframe, load_airframe
from sixdof.flight.airplane import Airplane
from sixdof.study.ask import tune
from sixdof.study.check import check


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
        assert any(
            line.startswith(f"{side}-rudder knife-edge: no rudder inside the travel") for line in lines
        )
    assert not any("no rudder inside the travel" in line for line in usual)


def test_each_blend_says_where_it_hurts(usual: list[str]) -> None:
    """Common practice, no source: crosswind rudder at landing, the flare, inverted flight."""
    assert any("take-off and landing" in line for line in usual)
    assert any("landing flare" in line for line in usual)
    assert any("right way up only" in line for line in usual)


def test_another_speed_is_spoken_of(usual: list[str]) -> None:
    (line,) = [line for line in usual if line.startswith("right at one speed only")]
    assert "right-rudder knife-edge" in line and "at 80 %" in line
    assert usual[0] == "corvane is an invented airplane: do not dial this in"


def test_the_constant_part_is_spoken_of_where_two_ways_agree_on_it(tmp_path: Path, usual: list[str]) -> None:
    """Of a nose-heavy airplane it is known to a half; of corvane's it is not."""
    text, path = find_airframe("fenlark").read_text(), tmp_path / "heavy.yaml"
    path.write_text(text.replace("cg: {aft: 398 mm", "cg: {aft: 378 mm", 1))
    (line,) = [line for line in _advice(path, ["knife_edge"]) if "is constant" in line]
    assert "that is the CG" in line
    assert not any("is constant" in line for line in usual)


def test_check_says_what_trims_the_radio_holds(tmp_path: Path) -> None:
    text = find_airframe("corvane").read_text()
    path = tmp_path / "trimmed.yaml"
    path.write_text(text.replace("  blends: []", '  trims: {elevator: "2 % up"}\n  blends: []', 1))
    assert (
        "trims in the radio now, which are not flown: elevator 2.0 % up"
        in check(Airplane(load_airframe(path))).trim
    )

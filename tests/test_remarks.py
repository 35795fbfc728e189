"""What one should know of an airplane and its flights is the same whatever was asked, and said where one looks."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from commanding import sixdof_here

from sixdof import Airplane, check, explore, fly, remedies, tune
from sixdof.airframe.load import find_airframe
from sixdof.files.rows import KINDS
from sixdof.study.remarks import flight_remarks
from sixdof.study.results import Answer
from sixdof.tuning.found import Flown

#: Kinds that speak of the airplane alone.
OF_THE_AIRPLANE = ("invented", "changed", "file")


@pytest.fixture(scope="module")
def answers() -> list[Answer]:
    """One airplane, too far aft, asked everything."""
    plane = Airplane("corvane").changed({"cg": "20 mm aft"})
    return [
        check(plane), fly(plane, "level"), tune(plane, ["power_off_dive"], airplanes=0),
        tune(plane, ["power_off_dive"], airplanes=20), remedies(plane, over="dihedral"),
        explore(plane, "power_off_dive", "throttle-elevator.low=-2..0", count=2),
    ]  # fmt: skip


def test_the_same_airplane_gets_the_same_remarks_whatever_is_asked(answers: list[Answer]) -> None:
    first, *others = ([r for r in a.remarks if r.kind in OF_THE_AIRPLANE] for a in answers)
    assert {r.kind for r in first} >= {"invented", "changed"}
    assert all(other == first for other in others)
    for answer in answers:
        assert any(
            "mm behind the neutral point" in r.text and r.about == "mass.cg"
            for r in answer.of_kind("balance")
        )


def test_remarks_come_the_weightiest_first_and_once(answers: list[Answer]) -> None:
    for answer in answers:
        order = [KINDS.index(remark.kind) for remark in answer.remarks]
        assert order == sorted(order) and len(set(answer.warnings)) == len(answer.warnings)


def test_how_far_behind_the_neutral_point_in_millimeters(answers: list[Answer]) -> None:
    """The neutral point does not move with the CG: 20 mm further aft is 20 mm less margin."""
    plane = Airplane("corvane")
    ahead = 1e3 * plane.static_margin * plane.derivatives.c
    assert (
        f"the CG is {20.0 - ahead:.0f} mm behind the neutral point" in answers[0].of_kind("balance")[0].text
    )


@pytest.fixture(scope="module")
def row() -> Flown:
    return fly(Airplane("corvane"), "knife_edge", way="held").maneuvers[0]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"top_g": 99.0}, "99.0 g is over the airframe's 10.0 g"),
        ({"least_g": -99.0}, "-99.0 g is beyond the airframe's -8.0 g"),
        ({"height_used_m": 104.0}, "loses 104 m of 120 m where it should stay level"),
        (
            {"status_before": "reached the ground, after 3.0 s"},
            "reached the ground, after 3.0 s; its numbers are not",
        ),
        ({"travel_lost_s": 0.4}, "out of travel for 0.4 s"),
    ],
)
def test_what_should_not_happen_in_a_flight_is_said(row: Flown, change: dict, words: str) -> None:
    airframe = Airplane("corvane").airframe
    limits = airframe.limits.model_copy(update={"g_positive": 10.0, "g_negative": 8.0})
    airframe = airframe.model_copy(update={"limits": limits})
    assert not list(flight_remarks([row], airframe))
    [remark] = flight_remarks([row.model_copy(update=change)], airframe)
    assert words in remark.text and remark.text.startswith("right-rudder knife-edge")
    assert (remark.kind, remark.about) == ("flight", "knife_edge.right")


def test_a_dive_may_lose_height(row: Flown) -> None:
    dive = fly(Airplane("corvane"), "power_off_dive").maneuvers[0]
    assert dive.height_used_m > 0.25 * dive.start_height_m and not dive.level
    assert not [r for r in flight_remarks([dive], Airplane("corvane").airframe) if "loses" in r.text]


def test_a_demo_says_that_it_is_one_and_what_lies_here_instead(tmp_path: Path) -> None:
    said = "no airplane was named: this is the demo corvane"
    words = ("fly", "-m", "level", "--no-pictures")
    assert said in sixdof_here(tmp_path, *words).out
    shutil.copy(find_airframe("tessel"), tmp_path / "merlo.yaml")
    (tmp_path / "blends.yaml").write_text("blends: []\n")
    done = sixdof_here(tmp_path, *words)
    assert done.code == 0 and f"{said}; merlo.yaml lies here: sixdof fly merlo.yaml" in " ".join(
        done.out.split()
    )
    assert said not in sixdof_here(tmp_path, *words[:1], "merlo", *words[1:]).out
    assert sixdof_here(tmp_path, "check", "merlo", "--no-picture", "--json").json["file"] == "merlo.yaml"
    assert next(a["path"] for a in sixdof_here(tmp_path, "list", "--json").json["aircraft"]) == "merlo.yaml"


def test_alone_it_says_where_to_begin_and_help_lists_commands_in_the_order_of_the_work(
    tmp_path: Path,
) -> None:
    begin = sixdof_here(tmp_path)
    assert begin.code == 0 and "sixdof tune" in begin.out and "sixdof new mine" in begin.out
    listed = sixdof_here(tmp_path, "--help").out
    places = [
        listed.index(f"│ {name} ")
        for name in ("new", "check", "remedies", "tune", "explore", "fly", "view", "compare", "list")
    ]
    assert places == sorted(places), listed


def test_a_search_reads_each_maneuver_once_and_estimates_the_propeller_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of drawn airplanes too: all propellers of a block are one estimate more, whatever their number."""
    from sixdof.estimate import propeller
    from sixdof.flight import maneuver

    read, estimated = [], []
    monkeypatch.setattr(
        maneuver, "read_bytes", lambda path, was=maneuver.read_bytes: read.append(path) or was(path)
    )
    whole = propeller._estimate
    monkeypatch.setattr(propeller, "_estimate", lambda *args: estimated.append(args) or whole(*args))
    propeller._usual_estimate.cache_clear()
    tune(Airplane("corvane"), ["knife_edge", "power_off_dive", "roll_reversal"])
    assert len(read) == 3
    plain = [args for args in estimated if not args[2]]
    assert len(plain) == 1 and len(estimated) <= 30, len(estimated)


def test_a_maneuver_that_does_not_fit_is_left_out_and_does_not_stop_the_others() -> None:
    answer = tune(Airplane("corvane"), airplanes=0, ceiling="60 m")
    assert "power_off_dive" not in {m.name for m in answer.maneuvers} and answer.maneuvers
    assert {m.start_height_m for m in answer.maneuvers} == {60.0}
    [left_out] = [r for r in answer.of_kind("flight") if "was left out" in r.text]
    assert left_out.about == "power_off_dive" and "the ceiling is 60 m" in left_out.text


def test_what_nobody_sees_needs_no_blend() -> None:
    answer = tune(Airplane("tessel"), ["roll_reversal"], airplanes=0)
    for found in answer.blends:
        assert abs(found.bare_degrees) < 5.0 and found.percent
        [remark] = [r for r in answer.of_kind("small") if r.about == found.ratio.name]
        assert f"without it the drift is {abs(found.bare_degrees):.1f}°, less than anyone sees" in remark.text
    seen = tune(Airplane("corvane"), ["power_off_dive"], airplanes=0)
    assert not seen.of_kind("small") and abs(seen.blends[0].bare_degrees) > 5.0

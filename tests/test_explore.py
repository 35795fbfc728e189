"""One ratio over a range: what it cures is what is told."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from commanding import sixdof_here
from reading import too_wide, wrong_letters

from sixdof.airframe.blends import BlendSpec
from sixdof.airframe.load import find_airframe, load_airframe
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import read_blends
from sixdof.flight.fly import fly_batch, pack_blends
from sixdof.flight.mixing import curve, stick_for
from sixdof.flight.script import load_maneuver, make_script
from sixdof.runs import read_run
from sixdof.study.ask import explore
from sixdof.study.explored import map_words
from sixdof.study.results import Aircraft, ExploreResult
from sixdof.study.tables import map_table
from sixdof.tuning.axes import read_vary
from sixdof.tuning.deviation import drift
from sixdof.tuning.explore import Map, MapAxis, Setting, fly_grid, settings_of


@pytest.fixture(scope="module")
def planes() -> np.ndarray:
    return Airplane(load_airframe("corvane")).planes


def explored(planes: np.ndarray, vary: str, count: int) -> list[Setting]:
    return settings_of(fly_grid(planes, load_maneuver("knife_edge"), [read_vary(vary, count)]))[0]


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


# ---------------------------------------------------------------- maps, and changes of the airframe


@pytest.fixture(scope="module")
def corvane() -> Airplane:
    return Airplane("corvane")


def flown_alone(airplane: Airplane, specs: list[BlendSpec], side: str, only: list[str]) -> float:
    """Worst of some errors [deg] of one knife-edge flown by itself; NaN where it does not finish."""
    script = make_script(load_maneuver("knife_edge"), side, "free")
    flights = fly_batch(airplane.planes, [script], blends=pack_blends(specs)[None])
    told = drift(flights, 0, script, only=only)
    return told.degrees if flights.finished[0] else math.nan


def test_a_map_holds_each_place_as_it_flies_alone(corvane) -> None:
    """Elevator down, aileron across: canopy and roll, whichever is worse, of the side in which both act."""
    found = explore(
        corvane, "knife_edge", ["rudder-elevator.left=-6..6", "rudder-aileron.left=-2..7"], count=4
    ).map
    assert found is not None and found.sides == ["left"]
    down, across = found.axes
    assert (down.name, across.name) == ("rudder-elevator.left", "rudder-aileron.left")
    assert (len(found.drift), len(found.drift[0])) == (len(down.values), len(across.values)) == (4, 4)
    for i, elevator in enumerate(down.values):
        for j, aileron in enumerate(across.values):
            specs = read_blends([f"rudder-elevator.left={elevator:g}", f"rudder-aileron.left={aileron:g}"])
            alone = flown_alone(corvane, specs, "left", ["canopy", "roll"])
            assert found.drift[i][j] == pytest.approx(alone, rel=1e-5, abs=1e-6, nan_ok=True)
    sizes = np.abs(found.drift)
    assert np.isnan(sizes).any() and sizes[*found.best] == np.nanmin(sizes)
    i, j = found.best
    near = [
        sizes[p][q] for p, q in ((i - 1, j), (i + 1, j), (i, j - 1), (i, j + 1)) if 0 <= p < 4 and 0 <= q < 4
    ]
    assert found.step_leaves == pytest.approx(max(near))
    assert found.terms[i][j] in ("canopy", "roll") and found.flights == 4 * 4 * 2


def test_a_change_against_a_ratio_is_the_changed_airplane(corvane) -> None:
    """Best elevator goes up as the CG goes aft; each place by the airplane changed on its own, roll cured."""
    beside = read_blends(["rudder-aileron.left=4"])
    answer = explore(
        corvane, "knife_edge", ["rudder-elevator.left=-8..8", "cg=-6..6"], blends=beside, count=5
    )
    found = answer.map
    assert found is not None and found.axes[1].values == pytest.approx([-6.0, -3.0, 0.0, 3.0, 6.0])
    assert found.axes[1].title == "CG [mm, + aft]" and answer.flown_with
    for j, millimeters in enumerate(found.axes[1].values):
        changed = corvane.changed({"cg": 1e-3 * millimeters} if millimeters else {})
        for i in (1, 3):
            specs = [*read_blends([f"rudder-elevator.left={found.axes[0].values[i]:g}"]), *beside]
            alone = flown_alone(changed, specs, "left", ["canopy"])
            assert found.drift[i][j] == pytest.approx(alone, rel=1e-5, abs=1e-6)
    column = np.array(found.drift)[:, 1:4]  # where the best lies between two that were flown
    zero = [np.interp(0.0, row, found.axes[0].values) for row in column.T]
    assert zero == sorted(zero)


def test_two_changes_and_both_sides(corvane) -> None:
    """Without a ratio all that is scored counts, and the worse of both sides."""
    found = explore(corvane, "knife_edge", ["dihedral=-1..1", "cg=-5..5"], count=3).map
    assert found is not None and found.sides == ["right", "left"] and found.flights == 18
    changed = corvane.changed({"dihedral": "1 deg less", "cg": "5 mm forward"})
    sides = [flown_alone(changed, [], side, ["canopy", "wing", "roll"]) for side in ("right", "left")]
    assert [found.by_side[side][0][0] for side in ("right", "left")] == pytest.approx(
        sides, rel=1e-5, abs=1e-6
    )
    assert found.drift[0][0] == pytest.approx(max(sides, key=abs), rel=1e-5, abs=1e-6)


def test_a_change_alone_is_explored_like_a_ratio(corvane) -> None:
    found = explore(corvane, "power_off_dive", "cg=-6..6", count=3)
    assert [(s.value, s.percent) for s in found.settings] == [(pytest.approx(v), pytest.approx(math.nan, nan_ok=True)) for v in (-6.0, 0.0, 6.0)]  # fmt: skip
    drifts = [s.drift for s in found.settings]
    assert drifts == sorted(drifts, reverse=True)  # nose-heavy goes to the canopy
    assert set(found.tracks) == {f"power_off_dive.both.{v:+.3f}" for v in (-6, 0, 6)}


def map_of(
    drift: list[list[float]], down: list[float], across: list[float], best: list[int], **more: object
) -> ExploreResult:
    axes = [
        MapAxis(name="rudder-elevator.left", said="left rudder: elevator", title="left rudder: elevator [%, + up]", unit="%", values=down),
        MapAxis(name="cg", said="CG", title="CG [mm, + aft]", unit="mm", values=across),
    ]  # fmt: skip
    made = Map(
        axes=axes, sides=["left"], drift=drift, by_side={"left": drift}, terms=[["canopy"] * len(across)] * len(down),
        best=best, flights=len(down) * len(across), **more,  # type: ignore[arg-type]
    )  # fmt: skip
    plane = Aircraft(name="x", sha256="0", invented=True, rate="normal")
    return ExploreResult(
        aircraft=plane, maneuver="m", said="m", vary="rudder-elevator.left, cg", axes=axes, map=made
    )


def test_words_of_a_map() -> None:
    drift = [[9.0, 6.0, 8.0], [4.0, -1.0, 3.0], [math.nan, 7.0, 12.0]]
    answer = map_of(
        drift, [-2.0, 0.0, 2.0], [-5.0, 0.0, 5.0], [1, 1], around=[(0.0, 0.0), (-5.0, 5.0)], step_leaves=7.0
    )
    assert map_words(answer) == [
        "best: left rudder: elevator 0 % with CG as it is, 1.0° to belly",
        "around it one step of either leaves up to 7.0°; below 5° stay left rudder: elevator 0 % alone, CG 5 mm further "
        "forward to CG 5 mm further aft, the other at its best",
        "3 of 9 settings stay below 5°, 1 does not finish",
    ]
    text = map_table(answer.map, rows=6, columns=9)  # type: ignore[arg-type]
    assert [name for name, _ in text.columns] == ["", "-5", "0", "5"]
    assert text.rows == [["2", "-", "7.0", "12.0"], ["0", "4.0", "[1.0]", "3.0"], ["-2", "9.0", "6.0", "8.0"]]
    edge = map_of(drift, [-2.0, 0.0, 2.0], [-5.0, 0.0, 5.0], [1, 2], around=[], step_leaves=12.0)
    assert any(
        line.startswith("that is at the edge of the map for CG: look further") for line in map_words(edge)
    )


def test_a_map_of_many_places_is_thinned_about_its_best() -> None:
    drift = np.full((17, 17), 20.0)
    drift[5, 3] = 0.5
    values = [float(v) for v in range(17)]
    table = map_table(
        map_of(drift.tolist(), values, values, [5, 3], around=[], step_leaves=20.0).map, rows=6, columns=9
    )  # type: ignore[arg-type]
    assert len(table.rows) <= 6 and len(table.columns) <= 10
    assert [row[0] for row in table.rows if "[0.5]" in row] == ["5"]
    assert [int(row[0]) for row in table.rows] == [14, 11, 8, 5, 2]


def test_a_map_in_a_run(tmp_path: Path) -> None:
    """Text on a screen, JSON as an array with axes, a picture, a report; read back the same."""
    words = (
        "explore",
        "knife_edge",
        "--vary",
        "rudder-elevator.left=-6..6",
        "--vary",
        "cg=-6..6",
        "-b",
        "rudder-aileron.left=4",
    )
    done = sixdof_here(tmp_path, *words, "--count", "7", "--out", "run")
    assert done.code == 0 and too_wide(done.out) == [] and wrong_letters(done.out) == []
    assert len(done.out.splitlines()) <= 24
    assert (
        "with full left rudder: aileron 4 % RIGHT" in done.out
        and "worst drift [°]; down: left rudder" in done.out
    )
    kept = json.loads((tmp_path / "run" / "result.json").read_text())
    assert [axis["values"] for axis in kept["map"]["axes"]] == [[-6, -4, -2, 0, 2, 4, 6]] * 2
    assert np.shape(kept["map"]["drift"]) == (7, 7)
    assert (tmp_path / "run" / "explore.png").stat().st_size > 10_000
    assert "<svg" in (tmp_path / "run" / "report.html").read_text(encoding="utf-8")
    best = kept["map"]["best"]
    assert f"[{abs(kept['map']['drift'][best[0]][best[1]]):.1f}]" in done.out
    assert read_run(str(tmp_path / "run")).answer.map is not None


@pytest.mark.parametrize(
    ("vary", "said"),
    [
        (("cg=-6..6", "cg=-3..3"), "cg was given twice"),
        (("cg=-6..6", "speed=90..110", "dihedral=0..1"), "expected one, or two for a map"),
        (("cg=6..-6",), "expected a band from low to high, as cg=-5..5"),
        (("cg=-6..600",), "expected at most"),
        (("rudder-elevatr=-6..6",), "rudder-elevator"),
        (("rudder-elevator=-6",), "expected a range in percent"),
        (("dihedral=0..1", "rudder-rudder.left=0..1"), "is not a ratio"),
    ],
)
def test_what_cannot_be_varied_is_one_line(vary, said, tmp_path: Path) -> None:
    words = [word for text in vary for word in ("--vary", text)]
    done = sixdof_here(tmp_path, "explore", "knife_edge", *words)
    assert done.code == 2 and done.err.count("\n") == 1 and said in done.err, done
    assert not list(tmp_path.iterdir())

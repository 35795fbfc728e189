"""One ratio over a band of speeds, rudders, throttles, changes and wind: what is best at each place, what one for all leaves,
and whether a curve earns its points."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from commanding import sixdof_here
from reading import too_wide, wrong_letters

from sixdof.airframe.blends import BlendSpec
from sixdof.files.errors import InputError
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import read_blends, read_ratio
from sixdof.flight.fly import fly_batch, pack_blends
from sixdof.flight.gusts import airs_of
from sixdof.flight.mixing import stick_for
from sixdof.flight.pilot import FIXED
from sixdof.flight.script import load_maneuver, make_script, sides_of
from sixdof.flight.speed import entry_speed
from sixdof.physics.air import make_air
from sixdof.physics.channels import NUMBER
from sixdof.study.ask import explore
from sixdof.study.explored import band_words
from sixdof.tuning.axes import read_over, read_overs, read_vary
from sixdof.tuning.band import Band, Shape, band, earns
from sixdof.tuning.held import dive_ratios

LOW = read_ratio("throttle-elevator.low")


@pytest.fixture(scope="module")
def corvane() -> Airplane:
    return Airplane("corvane")


def test_best_of_a_dive_moves_with_the_cg_as_steady_flight_has_it(corvane) -> None:
    """Forward asks for more down; by the steady vertical dive of each changed airplane, one trim at a time."""
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
        assert row.at == {"cg": pytest.approx(millimeters)}


def alone(airplane: Airplane, specs: list[BlendSpec], side: str, place: dict[str, float]) -> float:
    """Roll [deg] of one knife-edge flown by itself at a place: speed, rudder [%], gust sample."""
    file = load_maneuver("knife_edge")
    script = make_script(file, side, "free", speed=file.speed * 0.01 * place.get("speed", 100.0))
    if "rudder" in place:
        phases, expo = script.phases.copy(), float(airplane.plane["rudder_expo"])
        rows = phases["measured"] >= 0
        phases["policy"][rows, NUMBER["rudder"]] = FIXED
        full = 0.01 * place["rudder"] * (1.0 if side == "right" else -1.0)
        phases["value"][rows, NUMBER["rudder"]] = stick_for(full, expo)
        script = replace(script, phases=phases)
    sample = int(place.get("wind", 0.0))
    wind = read_over("wind=3 m/s from the right").wind if sample else None
    airs, gusts = airs_of(airplane.plane, [script], wind=wind, seeds=[sample or 1])
    flights = fly_batch(airplane.planes, [script], blends=pack_blends(specs)[None], airs=airs, gusts=gusts)
    errors = np.degrees(flights.errors[0, 0, :, 2])
    return float(errors[np.argmax(np.abs(errors))]) if flights.finished[0] else math.nan


@pytest.fixture(scope="module")
def usual(corvane) -> Band:
    found = explore(corvane, "knife_edge", "rudder-aileron=-6..6", over="usual", count=13).band
    assert found is not None
    return found


def test_every_place_is_flown_as_it_says(corvane, usual) -> None:
    """Speed, rudder and gusts at once: what one ratio leaves at each of 36 places a side, each flown alone."""
    assert usual.over == "speed, rudder, wind" and len(usual.rows) == 2 * 3 * 3 * 4
    assert len({(row.side, *row.at.values()) for row in usual.rows}) == 72
    for row in usual.rows[::7]:
        specs = read_blends([f"rudder-aileron.{row.side}={usual.one_percent[row.side]:g}"])
        assert alone(corvane, specs, row.side, row.at) == pytest.approx(row.left, abs=0.05), (
            row
        )  # a servo's step rounds
        assert row.used_percent == pytest.approx(
            row.at["rudder"], abs=6.0
        )  # the stick needs time to get there
        best = read_blends([f"rudder-aileron.{row.side}={row.best_percent:g}"])
        assert abs(alone(corvane, best, row.side, row.at)) < 4.0


def test_what_a_shape_leaves_is_what_its_points_leave_flown(corvane, usual) -> None:
    for shape in usual.shapes:
        specs = []
        if shape.points:
            points = tuple((0.01 * at, 0.01 * amount) for at, amount in shape.points)
            specs = [BlendSpec(source="rudder", target="aileron", points=points, ramp=0.0)]
        found = [alone(corvane, specs, row.side, row.at) for row in usual.rows]
        assert sum(map(math.isnan, found)) == shape.unfinished
        assert max(abs(f) for f in found if not math.isnan(f)) == pytest.approx(shape.left, abs=0.05), shape


def test_more_numbers_leave_less(usual) -> None:
    """A V and a line are special ratios each side, and these a special curve; no other line leaves less (tried by 0.5 %)."""
    by = {shape.name: shape for shape in usual.shapes}
    assert [s.name for s in usual.shapes] == [
        "no blend",
        "V",
        "straight line",
        "a ratio each side",
        "gate",
        "curve",
    ]
    assert by["curve"].left < by["a ratio each side"].left < by["straight line"].left < by["no blend"].left
    right = [0.01 * by["a ratio each side"].points[k][1] for k in (0, -1)]
    worst = max(abs(row.left) for row in usual.rows)
    assert by["a ratio each side"].left <= worst + 1e-6
    assert right[0] > 0.0 > right[1]  # opposite aileron with both rudders: a line, not a V


def test_no_other_ratio_leaves_less_than_the_one_for_all(corvane, usual) -> None:
    for side, one in usual.one_percent.items():
        mine = [row for row in usual.rows if row.side == side]
        left = max(abs(row.left) for row in mine)
        for other in (one - 1.0, one + 1.0):
            specs = read_blends([f"rudder-aileron.{side}={other:g}"])
            found = [abs(alone(corvane, specs, side, row.at)) for row in mine]
            assert not max(found) < left - 0.5, (side, other)  # NaN, where one does not finish, is not less


def shape(name: str, numbers: int, left: float, unfinished: int = 0) -> Shape:
    return Shape(name=name, numbers=numbers, points=[], left=left, unfinished=unfinished)


@pytest.mark.parametrize(
    ("left", "chosen"),
    [
        ((4.0, 3.0, 1.0), "bare"),  # nobody sees any of it
        ((20.0, 6.0, 2.0), "curve"),  # 4 deg less, and what was seen is not
        ((20.0, 6.0, 4.0), "one"),  # 2 deg less: nobody would tell them apart
        ((20.0, 14.0, 9.5), "one"),  # 4.5 deg less, seen as before
        ((20.0, 14.0, 8.9), "curve"),  # 5.1 deg less are seen
        ((8.0, 6.0, 5.5), "bare"),
    ],
)
def test_a_curve_earns_its_points_by_what_is_seen(left, chosen) -> None:
    names = ("bare", "one", "curve")
    assert (
        earns([shape(name, k, size) for k, (name, size) in enumerate(zip(names, left, strict=True))]).name
        == chosen
    )


def test_flights_that_finish_count_before_degrees() -> None:
    assert earns([shape("bare", 0, 3.0, 4), shape("one", 1, 9.0, 0)]).name == "one"
    assert earns([shape("bare", 0, 30.0, 0), shape("one", 1, 1.0, 2)]).name == "bare"


def test_a_gate_serves_closed_throttle_and_a_curve_a_throttle_that_is_not(corvane) -> None:
    """A dive with some throttle left asks for the same elevator, where a gated ratio has faded to nothing."""
    found = explore(corvane, "power_off_dive", "throttle-elevator.low=-8..4", over="throttle=0..60")
    assert found.band is not None
    by = {s.name: s for s in found.band.shapes}
    assert by["gate"].left > 5.0 > by["curve"].left
    assert [at for at, _ in by["gate"].points] == [] or by["gate"].points[1] == (15.0, 0.0)
    text = " ".join(band_words(found))
    assert "a curve earns its points" in text and "never a straight line" in text


def test_words_say_whether_one_is_enough(corvane, tmp_path: Path) -> None:
    many = explore(corvane, "power_off_dive", "throttle-elevator.low=-6..2", over="cg=-6..6", count=9)
    text = " ".join(band_words(many))
    assert (
        "leaves up to" in text and "at the worst place: no blend" in text and "not worth its points" in text
    )
    few = explore(corvane, "power_off_dive", "throttle-elevator.low=-6..2", over="speed=98..102", count=9)
    [text] = band_words(few)
    assert "less than anyone sees, so one is enough" in text
    bare = explore(corvane, "roll_reversal", "aileron-rudder=0..40", over="speed=98..102", count=9)
    [text] = band_words(bare)
    assert "at most, which nobody sees: leave it out" in text
    told = sixdof_here(
        tmp_path, "explore", "power_off_dive", "--vary", "throttle-elevator.low=-6..2", "--over", "cg=-6..6", "--no-pictures"
    )  # fmt: skip
    assert "CG 6 mm further forward" in told.out and "one ratio for all of it" in told.out
    assert too_wide(told.out) == [] and len(told.out.splitlines()) <= 24


def test_a_band_of_many_things_fits_a_screen(tmp_path: Path) -> None:
    words = ("explore", "knife_edge", "--vary", "rudder-aileron=-6..6", "--over", "usual", "--no-pictures")
    told = sixdof_here(tmp_path, *words, "--count", "7")
    assert told.code == 0 and too_wide(told.out) == [] and wrong_letters(told.out) == []
    assert len(told.out.splitlines()) <= 24
    assert "over speed 85 to 115 %, rudder 40 to 80 %, calm and wind of 3 m/s from the" in told.out
    for part in (
        "in the middle of all",
        "80 % rudder",
        "115 % of the speed",
        "one ratio for all of it: right",
        "a curve",
    ):
        assert part in told.out, part
    whole = sixdof_here(tmp_path, *words, "--count", "7", "--all")
    assert "115 % of the speed, 80 % rudder, gusts 3" in whole.out.replace("\n  ", " ")


def test_a_named_band_leaves_out_what_a_maneuver_has_not() -> None:
    assert [a.name for a in read_overs(["usual"], load_maneuver("knife_edge"))] == ["speed", "rudder", "wind"]
    assert [a.name for a in read_overs(["usual"], load_maneuver("power_off_dive"))] == ["speed", "wind"]
    with pytest.raises(InputError, match="not flown on the rudder"):
        read_overs(["rudder=40..80"], load_maneuver("power_off_dive"))


@pytest.mark.parametrize(
    "text",
    ["", "speed", "speed=120..80", "speed=10..90", "cgg=-5..5", "cg=5", "cg=a..b", "speed=80..nan", "throttle=0..120", "wind=fast", "wind"],
)  # fmt: skip
def test_a_bad_band_is_one_line(text: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="--over: got"):
        read_over(text)
    done = sixdof_here(
        tmp_path, "explore", "power_off_dive", "--vary", "throttle-elevator.low=-6..2", f"--over={text}"
    )
    assert done.code == 2 and done.err.count("\n") == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--over", "speed=80..120", "--over", "speed=90..110"), "speed was given twice"),
        (("--over", "usual", "-b", "rudder-elevator.left=2"), "it is what varies"),
    ],
)
def test_what_cannot_be_over_is_one_line(words, said, tmp_path: Path) -> None:
    done = sixdof_here(tmp_path, "explore", "knife_edge", "--vary", "rudder-elevator.left=-2..2", *words)
    assert done.code == 2 and done.err.count("\n") == 1 and said in done.err, done
    assert not list(tmp_path.iterdir())


def test_a_change_goes_over_no_band(corvane) -> None:
    with pytest.raises(InputError, match="draw a map"):
        band(corvane.planes, load_maneuver("knife_edge"), read_vary("cg=-5..5"), [read_over("speed=90..110")])
    assert sides_of(load_maneuver("knife_edge")) == ("right", "left")

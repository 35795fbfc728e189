"""Where there is no level flight, the likeliest key is blamed, with its file and line."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from commanding import refused, sixdof_here

from sixdof.airframe.changes import changed
from sixdof.airframe.load import load_airframe
from sixdof.files.errors import InputError
from sixdof.flight.airplane import Airplane
from sixdof.flight.level import level_speeds
from sixdof.flight.maneuver import load_maneuver, maneuver_path
from sixdof.flight.starts import check_starts
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air

DEMO = Path(__file__).parent.parent / "aircraft" / "corvane.yaml"
CRUISE = "cruise: 27.5 m/s"


def written(folder: Path, *pairs: tuple[str, str]) -> Path:
    """The demo with some of its text changed."""
    text = DEMO.read_text()
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path = folder / "mine.yaml"
    path.write_text(text)
    return path


def line_with(path: Path, words: str) -> int:
    (line,) = [i for i, text in enumerate(path.read_text().splitlines(), 1) if words in text]
    return line


def test_level_speeds_are_the_ends_of_level_flight() -> None:
    plane = Airplane(str(DEMO)).plane
    slow, fast = level_speeds(plane, height=100.0) or (0.0, 0.0)
    for speed, there in ((slow, True), (fast, True), (slow / 1.05, False), (fast * 1.05, False)):
        assert trim(plane, make_air(), speed=speed).reachable is there


def test_without_level_flight_at_cruise_the_cruise_speed_is_blamed(tmp_path: Path) -> None:
    timed = "  full_throttle: {distance: 100 m, there: 2.5 s, back: 2.7 s}\n"
    free = [("  stall: 11.5 m/s\n", ""), (timed, "")]
    for speed, said in (("25 km/h", "6.9 m/s"), ("53 m/s", "53.0 m/s, which takes 142 % of throttle")):
        path = written(tmp_path, (CRUISE, f"cruise: {speed}"), *free)
        with pytest.raises(
            InputError, match=f"no steady level flight at {said}; this airplane flies level from"
        ) as found:
            _ = Airplane(str(path)).planes
        assert found.value.key == ("speeds", "cruise")
        assert (found.value.file, found.value.line) == (str(path), line_with(path, f"cruise: {speed}"))


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("static_speed: 5900 rpm\n  static_thrust: 92 N\n  static_power: 2.2 kW", "static_speed: 900 rpm", ("motor", "static_speed")),
        ("total: 4.7 kg", "total: 470 kg", ("mass", "total")),
    ],
)  # fmt: skip
def test_without_any_level_flight_something_else_is_blamed(
    old: str, new: str, key: tuple[str, ...], tmp_path: Path
) -> None:
    path = written(
        tmp_path, (old, new), ("  full_throttle: {distance: 100 m, there: 2.5 s, back: 2.7 s}\n", "")
    )
    with pytest.raises(InputError, match="or any other speed") as found:
        _ = Airplane(str(path)).planes
    assert found.value.key == key
    assert found.value.line == line_with(path, new.split(" {")[0].split("\n")[0]), str(found.value)


def test_a_cg_that_nobody_flies_is_blamed_in_millimeters(tmp_path: Path) -> None:
    path = written(tmp_path, ("cg: {aft: 666 mm", "cg: {aft: 100 mm"))
    airplane, good = Airplane(str(path)), Airplane(str(DEMO))
    ahead = good.static_margin * good.derivatives.c + 0.566  # the neutral point stays where it was
    with pytest.raises(
        InputError, match=f"the CG is {1e3 * ahead:.0f} mm ahead of the neutral point"
    ) as found:
        _ = airplane.planes
    assert found.value.key == ("mass", "cg") and found.value.line == line_with(path, "cg: {aft: 100 mm")


@pytest.mark.parametrize(("cruise", "begins"), [("12.5 m/s", "9.4"), ("14.5 m/s", "10.9")])
def test_a_maneuver_that_cannot_begin_blames_the_flyers_cruise_speed(
    cruise: str, begins: str, tmp_path: Path
) -> None:
    path = written(tmp_path, (CRUISE, f"cruise: {cruise}"))
    airplane = Airplane(str(path))
    _ = airplane.planes  # it flies level at that speed
    said = f"flaps_down is flown at 75 % of it, with no steady level flight at {begins} m/s"
    with pytest.raises(InputError, match=re.escape(said)) as found:
        check_starts(airplane, [load_maneuver("flaps_down")])
    assert (found.value.key, found.value.file) == (("speeds", "cruise"), str(path))
    assert found.value.line == line_with(path, f"cruise: {cruise}")


def test_a_maneuver_of_ones_own_is_blamed_where_the_cruise_speed_is_right(tmp_path: Path) -> None:
    mine = tmp_path / "slow.yaml"
    mine.write_text(maneuver_path("flaps_down").read_text().replace("speed: 75 %", "speed: 10 %"))
    with pytest.raises(InputError, match=r"no steady level flight at 2\.8 m/s") as found:
        check_starts(Airplane(str(DEMO)), [load_maneuver(str(mine))])
    assert (found.value.key, found.value.file) == (("speed",), str(mine))
    assert found.value.line == line_with(mine, "speed: 10 %")
    with pytest.raises(InputError, match="cruise"):  # of a maneuver that is ours
        check_starts(
            Airplane(str(written(tmp_path, (CRUISE, "cruise: 12.5 m/s")))),
            [load_maneuver(str(mine))],
        )


def test_only_the_asked_speed_is_blamed_where_the_usual_one_is_flown() -> None:
    with pytest.raises(InputError, match=r"^speed 20 %: flaps_down: no steady level flight at 4\.1 m/s"):
        check_starts(Airplane(str(DEMO)), [load_maneuver("flaps_down")], 0.2)


@pytest.mark.parametrize(
    ("degrees", "camber", "key", "at"),
    [(20, 0.2, "incidence", "incidence: 20 deg"), (8, 19, "section", "camber: 19 %")],
)
def test_a_wing_that_stalls_as_built_names_its_line(
    degrees: float, camber: float, key: str, at: str, tmp_path: Path
) -> None:
    path = written(
        tmp_path,
        ("incidence: 0.3 deg", f"incidence: {degrees} deg"),
        ("camber: 0.2 %", f"camber: {camber} %"),
    )
    done = sixdof_here(tmp_path, "check", str(path), "--no-picture")
    refused(done, f"mine.yaml:{line_with(path, at)}: wing.{key}: ", "is where the wing stalls")


def test_a_change_says_that_it_was_made() -> None:
    airframe = changed(load_airframe(str(DEMO)), {"cg": "5 mm aft"})
    text = str(airframe.blame("no good", "mass", "cg"))
    assert text == f"{DEMO}:{line_with(DEMO, 'cg: {aft')}: mass.cg: no good (cg changed)"
    assert str(airframe.blame("no good", "mass", "gc", 3)).startswith(f"{DEMO}:{line_with(DEMO, 'mass:')}: ")

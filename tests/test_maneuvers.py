"""Maneuver files: what they say of themselves, what is refused, how fast they begin, what ends a phase."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from flying import DEMOS, columns, fly_with, maneuver_file, planes_of, script

from sixdof.files.errors import InputError
from sixdof.flight.fly import Flights, fly_batch, starts_for
from sixdof.flight.gusts import Wind, airs_of
from sixdof.flight.maneuver import ERROR_NAMES, PARTS, ManeuverFile
from sixdof.flight.script import (
    Script,
    list_maneuvers,
    load_maneuver,
    make_maneuver,
    make_script,
    maneuver_path,
    sides_of,
)
from sixdof.flight.speed import entry_speed, stalling_speed
from sixdof.physics.air import make_air

G = 9.80665  # standard gravity, exact by definition [m/s2]

# ---------------------------------------------------------------- what a file says of itself


def rolls(said: str) -> tuple[str, str]:
    """To the right and to the left."""
    return f"{said} to the right", f"{said} to the left"


#: maneuver -> (in words, right and left, part of the sequence, seen from, whether the path counts)
SAID = {
    "knife_edge": ("right-rudder knife-edge", "left-rudder knife-edge", "knife-edge", "above", True),
    "four_point_roll": (
        "four-point roll to the right",
        "four-point roll to the left",
        "knife-edge",
        "caller",
        True,
    ),
    "roll_reversal": (
        "roll reversal to the right",
        "roll reversal to the left",
        "differential",
        "above",
        False,
    ),
    "power_off_dive": ("power-off dive", "power-off dive", "dive", "caller", True),
    "flaps_down": ("flaps down", "flaps down", "flaps", "caller", True),
    "level": ("level flight", "level flight", "trims", "caller", True),
    "full_throw_roll": (*rolls("full-throw roll"), "throws", "caller", False),
    "full_throw_loop": ("full-throw loop", "full-throw loop", "throws", "caller", True),
    "inverted": ("inverted flight", "inverted flight", "cg", "caller", True),
    "inverted_45": ("inverted 45° line", "inverted 45° line", "cg", "caller", True),
    "fast_dive": ("fast power-off dive", "fast power-off dive", "dive", "caller", True),
    "vertical_upline": ("vertical upline", "vertical upline", "thrust line", "caller", True),
    "throttle_chop": ("throttle chop", "throttle chop", "thrust line", "caller", True),
    "throttle_burst": ("throttle burst", "throttle burst", "thrust line", "caller", True),
    "inverted_release": ("inverted release", "inverted release", "balance", "caller", False),
    "inside_loop": ("inside loop", "inside loop", "balance", "caller", True),
    "outside_loop": ("outside loop", "outside loop", "balance", "caller", True),
    "hard_pull": ("hard pull", "hard pull", "balance", "caller", False),
    "hard_push": ("hard push", "hard push", "balance", "caller", False),
    "roll_level": (*rolls("level roll"), "differential", "caller", False),
    "roll_inverted": (*rolls("roll from inverted"), "differential", "caller", False),
    "roll_upline": (*rolls("roll on the upline"), "differential", "caller", False),
    "turn_entry": (*rolls("turn entry"), "differential", "caller", False),
    "rudder_pulse": ("right-rudder pulse", "left-rudder pulse", "rudder", "caller", True),
    "slow_roll": (*rolls("slow roll"), "knife-edge", "caller", True),
    "flaps_half": ("half flap", "half flap", "flaps", "caller", True),
    "takeoff_climb": ("take-off climb", "take-off climb", "landing", "caller", True),
    "crosswind_approach": (
        "right-rudder crosswind approach",
        "left-rudder crosswind approach",
        "landing",
        "caller",
        True,
    ),
}
#: maneuver -> blend -> the errors that each measured phase judges it by
JUDGED = {
    "knife_edge": {"rudder-elevator": [{"canopy"}], "rudder-aileron": [{"roll"}]},
    "four_point_roll": {
        "rudder-elevator": [{"canopy"}, set(), {"canopy"}, set()],
        "rudder-aileron": [{"roll"}] * 4,
    },
    "roll_reversal": {"aileron-rudder": [{"sideslip"}]},
    "power_off_dive": {"throttle-elevator": [{"canopy"}]},
    "flaps_down": {"flap-elevator": [{"canopy"}]},
    "turn_entry": {"aileron-rudder": [{"sideslip"}]},
    "vertical_upline": {"throttle-rudder": [{"wing"}] * 2, "throttle-aileron": [{"roll"}] * 2},
}
#: What tells of the airframe alone.
JUDGED |= {name: {} for name in SAID if name not in JUDGED}


def test_every_maneuver_of_the_package_is_told_of_here() -> None:
    assert {name for name, _ in list_maneuvers()} == set(SAID) == set(JUDGED)


@pytest.mark.parametrize("name", SAID)
def test_words_part_and_view(name: str) -> None:
    file = load_maneuver(name)
    right, left = file.words("right"), file.words("left")
    assert (right, left, file.part, file.view, file.path_counts) == SAID[name]
    assert [make_script(file, side, "free").words for side in sides_of(file)] == list(
        dict.fromkeys([right, left])
    )
    assert file.part in PARTS


@pytest.mark.parametrize("name", JUDGED)
def test_what_is_judged_for_each_blend(name: str) -> None:
    made = script(name)
    assert made.tunes == tuple(JUDGED[name])
    for blend, phases in JUDGED[name].items():
        judged = made.scored_for(blend)
        found = [{e for e, counts in zip(ERROR_NAMES, row, strict=True) if counts} for row in judged]
        assert found[: len(phases)] == phases and not judged[len(phases) :].any()
        assert made.judged(blend) == tuple(e for e in ERROR_NAMES if any(e in phase for phase in phases))
        assert np.all(judged <= made.scored), "what is judged is scored"
    assert made.judged("elevator-rudder") == ()


OLD = """sixdof_maneuver: 1
name: my_edge
sides: rudder
tunes: [rudder-elevator, rudder-aileron]
phases:
  - {name: level, time: 1 s, sticks: {throttle: hold}}
  - {name: roll in, time: 1 s, bank: -90 deg, bank_rate: 120 deg/s, must_reach: true, sticks: {throttle: hold}}
  - {name: settle, time: 10 s, must_reach: true, sticks: {throttle: hold}}
  - {name: knife-edge, time: 3 s, measured: true, sticks: {aileron: test, elevator: test, rudder: keep}}
"""


def made_of(text: str) -> ManeuverFile:
    return make_maneuver(Path("move.yaml"), text.encode())


def test_a_file_of_version_1_flies_and_judges_as_it_did() -> None:
    old, new = made_of(OLD), load_maneuver("knife_edge")
    for side in ("right", "left"):
        for way in ("held", "free"):
            a, b = make_script(old, side, way), make_script(new, side, way)
            assert a.phases.tobytes() == b.phases.tobytes() and a.tunes == b.tunes
            assert all(a.judged(blend) == b.judged(blend) for blend in b.tunes)
    assert old.words("left") == "left-rudder my edge"
    assert (old.part, old.view, old.path_counts) == (None, "caller", True)


def test_a_file_keeps_its_place_and_its_text(tmp_path: Path) -> None:
    path = tmp_path / "move.yaml"
    path.write_text(OLD, encoding="utf-8")
    file = load_maneuver(str(path))
    path.write_text("gone: 1\n", encoding="utf-8")
    assert file.path == path and file.text == OLD
    with pytest.raises(InputError):
        load_maneuver(str(path))


def test_a_name_is_looked_up_as_path_then_here_then_in_the_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError, match="mine"):
        load_maneuver("mine")
    (tmp_path / "mine.yaml").write_text(OLD, encoding="utf-8")
    assert load_maneuver("mine").name == "my_edge"
    assert load_maneuver("knife_edge").name == "knife_edge"
    (tmp_path / "knife_edge.yaml").write_text(OLD, encoding="utf-8")
    assert load_maneuver("knife_edge").name == "my_edge"
    (tmp_path / "there").mkdir()
    (tmp_path / "there" / "knife_edge.yaml").write_text(OLD.replace("my_edge", "theirs"), encoding="utf-8")
    assert load_maneuver("there/knife_edge.yaml").name == "theirs"
    (tmp_path / "knife_edge.yaml").unlink()
    (tmp_path / "knife_edge.yaml").mkdir()
    assert load_maneuver("knife_edge").name == "knife_edge", "a folder is no file"
    for odd in ("../mine", "mine\0", "mine.yml", "", "x" * 5000):
        with pytest.raises(InputError):
            maneuver_path(odd)


# ---------------------------------------------------------------- what is refused

SOUND = """sixdof_maneuver: 2
name: move
sides: roll
speed: 90 %
phases:
  - name: bank
    time: 2 s
    bank: 40 deg
    until: {bank: 30 deg}
  - name: judge
    time: 1 s
    measured: true
    errors: [canopy, roll]
    judges: {rudder-elevator: [canopy]}
"""
JUDGES = "judges: {rudder-elevator: [canopy]}"
#: name -> (a piece of the sound file, what stands there instead, line, key, what the complaint says)
REFUSED: dict[str, tuple[str, str, int, str, tuple[str, ...]]] = {
    "unknown channel": (JUDGES, "judges: {ruder-elevator: [canopy]}", 14, "judges", ("ruder-elevator", "rudder-elevator?")),
    "no target": (JUDGES, "judges: {rudder: [canopy]}", 14, "judges", ("SOURCE-TARGET", "rudder-")),
    "into itself": (JUDGES, "judges: {rudder-rudder: [canopy]}", 14, "judges", ("rudder-rudder", "?")),
    "into the throttle": (JUDGES, "judges: {elevator-throttle: [canopy]}", 14, "judges", ("elevator-throttle",)),
    "unknown error": (JUDGES, "judges: {rudder-elevator: [cannopy]}", 14, "judges.rudder-elevator[0]", ("canopy?",)),
    "judged by nothing": (JUDGES, "judges: {rudder-elevator: []}", 14, "judges.rudder-elevator", ("at least 1",)),
    "judged, not scored": (JUDGES, "judges: {rudder-elevator: [wing]}", 14, "judges.rudder-elevator", ("wing", "errors")),
    "judged, not measured": ("until: {bank: 30 deg}", JUDGES, 9, "phases[0].judges", ("measured: true",)),
    "tunes in version 2": ("sides: roll", "sides: roll\ntunes: [rudder-elevator]", 4, "tunes", ("judges: {rudder-elevator",)),
    "judges in version 1": ("sixdof_maneuver: 2", "sixdof_maneuver: 1", 1, "sixdof_maneuver", ("expected 2",)),
    "a version to come": ("sixdof_maneuver: 2", "sixdof_maneuver: 3", 1, "sixdof_maneuver", ("got 3", "newer")),
    "a version in words": ("sixdof_maneuver: 2", "sixdof_maneuver: true", 1, "sixdof_maneuver", ("expected 2",)),
    "unknown part": ("sides: roll", "sides: roll\npart: knife edge", 4, "part", ("knife-edge?",)),
    "unknown view": ("sides: roll", "sides: roll\nview: abowe", 4, "view", ("above?",)),
    "said in two lines": ("sides: roll", 'sides: roll\nsaid: "a\\nb"', 4, "said", ("one line",)),
    "until nothing": ("until: {bank: 30 deg}", "until: {}", 9, "until", ("got nothing", "height_lost")),
    "until two things": ("until: {bank: 30 deg}", "until: {bank: 30 deg, climb: 3 deg}", 9, "until", ("bank, climb", "one of")),
    "until unknown": ("until: {bank: 30 deg}", "until: {banc: 30 deg}", 9, "until.banc", ("bank?",)),
    "until without unit": ("until: {bank: 30 deg}", "until: {bank: 30}", 9, "until.bank", ("unit",)),
    "until there already": ("until: {bank: 30 deg}", "until: {bank: 0 deg}", 9, "until.bank", ("begins there",)),
    "lost by less than nothing": ("until: {bank: 30 deg}", "until: {height_lost: -3 m}", 9, "until.height_lost", ("more than 0 m",)),
    "end of a measured phase": ("measured: true", "measured: true\n    until: {bank: 0 deg}", 13, "phases[1].until", ("ends on its time",)),
    "heading on a vertical": ("bank: 40 deg", "climb: 90 deg, heading: 9 deg", 0, "", ()),
    "rate and radius": ("bank: 40 deg", "bank: 40 deg\n    climb: 9 deg\n    climb_rate: 9 deg/s\n    radius: 20 m", 11, "phases[0].radius", ("one of them",)),
    "speed of nothing": ("speed: 90 %", "speed: 0 %", 4, "speed", ("more than 0 %",)),
    "speed too high": ("speed: 90 %", "speed: 201 %", 4, "speed", ("200 %",)),
    "speed with a unit": ("speed: 90 %", "speed: 20 m/s", 4, "speed", ("1.3 stall", "CL 0.8", "75 %")),
    "speed, bare": ("speed: 90 %", "speed: 1.2", 4, "speed", ("1.3 stall",)),
    "below the stall": ("speed: 90 %", "speed: 0.9 stall", 4, "speed", ("more than 1 stall",)),
    "stall of two points": ("speed: 90 %", "speed: 1.2.3 stall", 4, "speed", ("1.2.3 stall",)),
    "no lift": ("speed: 90 %", "speed: CL 0", 4, "speed", ("CL 0.01",)),
}  # fmt: skip
VERTICAL = {
    "heading": ("climb: 90 deg\n    heading: 9 deg", 10, "phases[0].heading"),
    "until": ("climb: 90 deg\n    until: {heading: 9 deg}", 10, "phases[0].until.heading"),
}
del REFUSED["heading on a vertical"]


def complaint_about(text: str) -> InputError:
    with pytest.raises(InputError) as caught:
        made_of(text)
    return caught.value


def test_the_sound_file_is_sound() -> None:
    assert made_of(SOUND).tunes == ("rudder-elevator",)
    assert SOUND.splitlines()[13].strip() == JUDGES


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_refused_says_file_line_and_key(name: str) -> None:
    sound, broken, line, key, said = REFUSED[name]
    assert SOUND.count(sound) == 1
    error = complaint_about(SOUND.replace(sound, broken))
    text = str(error)
    assert error.line == line and text.startswith(f"move.yaml:{line}: "), text
    assert key in text.split(": ")[1], text
    for word in said:
        assert word in text, text


@pytest.mark.parametrize("name", VERTICAL)
def test_a_vertical_path_has_no_heading(name: str) -> None:
    keys, line, key = VERTICAL[name]
    text = SOUND.replace("bank: 40 deg\n    until: {bank: 30 deg}", f"bank: 40 deg\n    {keys}")
    error = complaint_about(text)
    assert str(error).startswith(f"move.yaml:{line}: {key}: a vertical path has no heading"), error


def test_tunes_of_version_1_are_held_to_known_channels() -> None:
    error = complaint_about(OLD.replace("rudder-aileron", "rudder-ailerons"))
    assert str(error).startswith("move.yaml:4: tunes[1]: ") and "rudder-aileron?" in str(error), error


# ---------------------------------------------------------------- how fast it begins


def with_speed(text: str) -> ManeuverFile:
    return made_of(SOUND.replace("speed: 90 %", f"speed: {text}"))


def lift_needed(plane: np.void, V: float) -> float:
    """CL of level flight at 120 m, 1.21086 kg/m3 there (U.S. Standard Atmosphere 1976, by its formula from memory)."""
    rho = 1.225 * (1.0 - 6.5e-3 * 120.0 / 288.15) ** 4.2559
    return float(plane["mass"] * G / (0.5 * rho * V * V * plane["S"]))


@pytest.mark.parametrize("name", DEMOS)
def test_speeds_of_every_form(name: str) -> None:
    planes, air = planes_of(name), make_air()
    plane = planes[0]
    cruise = float(plane["cruise"])

    def begins(text: str, share: float = 1.0) -> float:
        file = with_speed(text)
        made = make_script(file, "right", "free", speed=share * file.speed)
        V = float(entry_speed(plane, made, air))
        assert float(starts_for(planes, [made], air)["speed"][0, 0]) == V
        assert airs_speed(plane, made) == pytest.approx(V, rel=1e-12)
        return V

    assert begins("75 %") == cruise * 0.75
    assert begins("130 %") == cruise * 1.3
    assert begins("80 %", 0.5) == pytest.approx(0.4 * cruise, rel=1e-12)
    stall = float(stalling_speed(plane, air, 120.0))
    assert begins("1.3 stall") == pytest.approx(1.3 * stall, rel=1e-12)
    assert begins("1.3 stall", 1.2) == pytest.approx(1.56 * stall, rel=1e-12)
    V = begins("CL 0.5")
    assert lift_needed(plane, V) == pytest.approx(0.5, rel=1e-4)
    assert begins("CL 0.5", 1.2) == pytest.approx(1.2 * V, rel=1e-12)


def airs_speed(plane: np.void, made: Script) -> float:
    """The speed that gusts are laid out for: their turning goes with it."""
    from unittest import mock

    seen: list[float] = []

    def dryden(
        wind: float, height: float, V: float, b: float, *, seeds: tuple[int, ...], frame: float, rows: int
    ):  # type: ignore[no-untyped-def]
        seen.append(V)
        return np.zeros((len(seeds), rows, 6))

    with mock.patch("sixdof.flight.gusts.dryden", dryden):
        airs_of(plane, [made], wind=Wind(4.0, (1.0, 0.0, 0.0), "ahead"), seeds=[1])
    return seen[0]


@pytest.mark.parametrize("name", DEMOS)
def test_stalling_speed_is_where_steady_flight_reaches_the_edge_of_the_stall(name: str) -> None:
    """Against Newton's method on all forces, propeller and elevator included: 6 % of speed for what they carry."""
    from sixdof.flight.trim import trim

    planes, air = planes_of(name), make_air()
    plane, edge = planes[0], float(planes["alpha_stall"][0])
    stall = float(stalling_speed(plane, air, 120.0))
    assert lift_needed(plane, stall) == pytest.approx(float(plane["CL0"] + plane["CLa"] * edge), rel=1e-4)
    assert trim(plane, air, speed=1.06 * stall, height=120.0).alpha < edge
    slower = trim(plane, air, speed=0.94 * stall, height=120.0)
    assert not slower.converged or slower.alpha > edge


def test_stalling_speeds_of_many_airplanes_at_once() -> None:
    planes = np.concatenate([planes_of(name) for name in DEMOS])
    alone = [float(stalling_speed(plane, make_air(), 120.0)) for plane in planes]
    np.testing.assert_array_equal(stalling_speed(planes, make_air(), 120.0), alone)
    starts = starts_for(planes, [make_script(with_speed("1.3 stall"), "right", "free")], make_air())
    np.testing.assert_allclose(starts["speed"][:, 0], 1.3 * np.array(alone), rtol=1e-12)


def test_no_stall_no_speed() -> None:
    planes = planes_of("corvane", CL0=-9.0)
    starts = starts_for(planes, [make_script(with_speed("1.3 stall"), "right", "free")], make_air())
    assert np.isnan(starts["state"]).all()


# ---------------------------------------------------------------- what ends a phase

AWAY = "- {name: away, time: 1 s, measured: true}\n"


def flown(
    folder: Path, phases: str, *, plane: str = "corvane", side: str = "right", **keys: str
) -> tuple[Flights, np.ndarray]:
    """A maneuver flown held, and how many rows each phase of it took."""
    path = maneuver_file(folder, "move", phases + AWAY, **{"sixdof_maneuver": "2", "sides": "roll", **keys})
    flights = fly_with(planes_of(plane), [script(path, side, "held")])
    phase = flights.tracks[0].column("phase").astype(int)
    return flights, np.bincount(phase, minlength=len(load_maneuver(str(path)).phases))


def path_angles(flights: Flights, row: int) -> tuple[float, float]:
    """Heading and climb [deg] of the way from a row of the track to the next, from positions alone."""
    place = columns(flights.tracks[0], "north", "east", "down")
    north, east, down = place[row + 1] - place[row - 1]
    return math.degrees(math.atan2(east, north)), math.degrees(math.atan2(-down, math.hypot(north, east)))


def wings(flights: Flights, row: int) -> float:
    """How far the right wing points below the horizon [deg], from the attitude alone."""
    q0, q1, q2, q3 = columns(flights.tracks[0], "q0", "q1", "q2", "q3")[row]
    return math.degrees(math.asin(2.0 * (q2 * q3 + q0 * q1)))


@pytest.mark.parametrize("side", ["right", "left"])
def test_until_bank(side: str, tmp_path: Path) -> None:
    sign = 1.0 if side == "right" else -1.0
    phases = "- {name: roll, time: 5 s, bank: 80 deg, bank_rate: 60 deg/s, until: {bank: 45 deg}}\n"
    flights, rows = flown(tmp_path, phases, side=side)
    assert 0.7 < 0.02 * rows[0] < 1.2
    assert sign * wings(flights, rows[0]) >= 43.5 > sign * wings(flights, rows[0] - 2)


def test_until_bank_counts_whole_turns(tmp_path: Path) -> None:
    phases = "- {name: rolls, time: 20 s, until: {bank: 1080 deg}, sticks: {aileron: 100 %}}\n"
    flights, rows = flown(tmp_path, phases, height="900 m")
    roll = np.degrees(np.sum(flights.tracks[0].column("p")[: rows[0]]) * 0.02)
    assert flights.tracks[0].column("phase")[rows[0]] == 1
    assert roll == pytest.approx(1080.0, abs=40.0), "body roll rate, summed"


@pytest.mark.parametrize("side", ["right", "left"])
def test_until_heading(side: str, tmp_path: Path) -> None:
    sign = 1.0 if side == "right" else -1.0
    phases = "- {name: turn, time: 9 s, bank: 45 deg, heading: 90 deg, until: {heading: 30 deg}}\n"
    flights, rows = flown(tmp_path, phases, side=side)
    reached, before = path_angles(flights, rows[0])[0], path_angles(flights, rows[0] - 4)[0]
    assert sign * reached > 29.0 > sign * before, (reached, before)


@pytest.mark.parametrize("climb", [30.0, -30.0])
def test_until_climb(climb: float, tmp_path: Path) -> None:
    phases = f"- {{name: pull, time: 5 s, climb: {2 * climb} deg, until: {{climb: {climb} deg}}}}\n"
    flights, rows = flown(tmp_path, phases, height="200 m")
    reached, before = path_angles(flights, rows[0])[1], path_angles(flights, rows[0] - 4)[1]
    assert abs(reached) > 29.0 > abs(before) and reached * climb > 0.0, (reached, before)


@pytest.mark.parametrize(("word", "climb", "sign"), [("height_lost", -30, 1.0), ("height_gained", 30, -1.0)])
def test_until_height(word: str, climb: int, sign: float, tmp_path: Path) -> None:
    phases = (
        f"- {{name: away from level, time: 2 s, climb: {climb} deg, climb_rate: 20 deg/s}}\n"
        f"- {{name: on, time: 9 s, until: {{{word}: 25 m}}}}\n"
    )
    flights, rows = flown(tmp_path, phases, height="200 m")
    down = flights.tracks[0].column("down")
    first, end = rows[0], rows[0] + rows[1]
    assert sign * (down[end] - down[first]) >= 25.0 > sign * (down[end - 1] - down[first])
    assert sign * (down[end] - down[0]) > 30.0, "counted from the start of the phase, not of the flight"


@pytest.mark.parametrize(
    ("word", "share", "climb", "throttle"),
    [("speed_above", 1.25, -45, "0 %"), ("speed_below", 0.8, 45, "0 %")],
)
def test_until_speed(word: str, share: float, climb: int, throttle: str, tmp_path: Path) -> None:
    phases = (
        f"- {{name: on, time: 9 s, climb: {climb} deg, until: {{{word}: {100 * share} %}}, "
        f"sticks: {{throttle: {throttle}}}}}\n"
    )
    flights, rows = flown(tmp_path, phases, height="300 m", speed="90 %")
    speed = flights.tracks[0].column("speed") / (0.9 * 27.5)  # the demo's cruise, as filed
    sign = 1.0 if share > 1.0 else -1.0
    assert sign * speed[rows[0]] >= sign * share > sign * speed[rows[0] - 1]


def test_time_is_the_longest_it_may_take(tmp_path: Path) -> None:
    phases = "- {name: level, time: 1.5 s, until: {height_gained: 50 m}}\n"
    flights, rows = flown(tmp_path, phases)
    assert rows[0] == 75 and flights.finished[0]
    flights, _ = flown(tmp_path, phases.replace("time: 1.5 s", "time: 1.5 s, must_reach: true"))
    assert flights.status(0) == "phase target not reached, after 1.5 s"


def test_a_phase_ends_from_the_side_it_begins_at(tmp_path: Path) -> None:
    """The phase before led to 90 deg of heading and ended at 20 deg: 80 deg is still ahead."""
    phases = (
        "- {name: bank, time: 9 s, bank: 45 deg, heading: 90 deg, until: {heading: 20 deg}}\n"
        "- {name: turn, time: 9 s, until: {heading: 80 deg}}\n"
    )
    flights, rows = flown(tmp_path, phases)
    assert rows[1] > 50
    assert path_angles(flights, rows[0] + rows[1])[0] == pytest.approx(80.0, abs=2.0)


def test_an_end_changes_nothing_before_it(tmp_path: Path) -> None:
    phases = "- {name: roll, time: 2 s, bank: 80 deg, bank_rate: 60 deg/s}\n"
    plain, _ = flown(tmp_path, phases)
    ended, rows = flown(tmp_path, phases.replace("bank_rate", "until: {bank: 45 deg}, bank_rate"))
    a, b = (f.tracks[0].values[: rows[0]] for f in (plain, ended))
    assert a.tobytes() == b.tobytes()


# ---------------------------------------------------------------- loops, inverted, uplines, turns

LOOP = """
- {name: level, time: 2 s, sticks: {throttle: hold}}
- {name: loop, time: 12 s, climb: 360 deg, radius: 20 m, until: {climb: 359 deg}, must_reach: true, sticks: {throttle: hold}}
"""
INVERTED = """
- {name: half roll, time: 4 s, bank: 180 deg, until: {bank: 178 deg}, must_reach: true, sticks: {throttle: hold}}
- {name: settle, time: 5 s, sticks: {throttle: hold}}
"""
UPLINE = """
- {name: level, time: 2 s, sticks: {throttle: hold}}
- {name: pull, time: 4 s, climb: 90 deg, climb_rate: 60 deg/s, until: {climb: 88 deg}, must_reach: true, sticks: {throttle: 100 %}}
- {name: settle, time: 2 s, sticks: {throttle: 100 %}}
"""
TURN = """
- {name: bank, time: 2 s, bank: 60 deg, bank_rate: 120 deg/s, heading: 90 deg, until: {bank: 57 deg}, sticks: {throttle: hold}}
- {name: turn, time: 10 s, until: {heading: 80 deg}, must_reach: true, sticks: {throttle: hold}}
- {name: roll out, time: 2 s, bank: 0 deg, bank_rate: 120 deg/s, must_reach: true, sticks: {throttle: hold}}
- {name: settle, time: 2 s, sticks: {throttle: hold}}
"""


def rows_of(flights: Flights, phase: int) -> np.ndarray:
    return np.flatnonzero(flights.tracks[0].column("phase") == phase)


@pytest.mark.parametrize("name", DEMOS)
def test_a_loop_of_40_m(name: str, tmp_path: Path) -> None:
    """A circle: its height is its diameter, its length pi times that, and time is length over mean speed."""
    flights, _ = flown(tmp_path, LOOP, plane=name, speed="91 %", height="150 m")
    assert flights.status(0) == "finished"
    rows = rows_of(flights, 1)
    place = columns(flights.tracks[0], "north", "east", "down")[rows]
    assert np.ptp(place[:, 2]) == pytest.approx(40.0, abs=6.0)
    assert np.ptp(place[:, 0]) == pytest.approx(40.0, abs=15.0), "and away from the pilot as it goes round"
    assert np.ptp(place[:, 1]) < 4.0, "in one plane"
    length = float(np.sum(np.linalg.norm(np.diff(place, axis=0), axis=1)))
    assert length == pytest.approx(math.pi * 40.0, rel=0.06)
    step = np.diff(place, axis=0)
    pitch = np.unwrap(np.arctan2(-step[:, 2], step[:, 0]))
    assert math.degrees(pitch[-1] - pitch[0]) == pytest.approx(360.0, abs=8.0)


@pytest.mark.parametrize("name", ["corvane", "fenlark"])
def test_a_loop_of_40_m_at_25_m_s_takes_5_s_and_3_2_g(name: str, tmp_path: Path) -> None:
    """2 pi 20/25 = 5.03 s; 25^2/20 = 31.25 m/s2 = 3.19 g: with gravity out of the way, so that the speed stays."""
    path = maneuver_file(tmp_path, "move", LOOP + AWAY, sixdof_maneuver="2", sides="roll")
    planes = planes_of(name)
    made = script(path, "right", "held", speed=25.0 / float(planes["cruise"][0]))
    airs = np.array([make_air(g=1e-6)])
    flights = fly_batch(planes, [made], airs=airs, keep_tracks=True)
    assert flights.status(0) == "finished"
    rows = rows_of(flights, 1)
    assert 0.02 * len(rows) == pytest.approx(5.03, abs=0.06)
    place = columns(flights.tracks[0], "north", "down")[rows]
    assert np.ptp(place[:, 1]) == pytest.approx(40.0, abs=1.5)
    middle = slice(len(rows) // 4, 3 * len(rows) // 4)
    pull = np.linalg.norm(place[2:] - 2.0 * place[1:-1] + place[:-2], axis=1)[middle] / 0.02**2 / G
    assert float(np.mean(pull)) == pytest.approx(3.19, abs=0.1)


@pytest.mark.parametrize("side", ["right", "left"])
@pytest.mark.parametrize("name", DEMOS)
def test_level_on_its_back(name: str, side: str, tmp_path: Path) -> None:
    flights, _ = flown(tmp_path, INVERTED, plane=name, side=side)
    assert flights.status(0) == "finished"
    rows = rows_of(flights, 2)
    q1, q2 = columns(flights.tracks[0], "q1", "q2")[rows].T
    assert np.all(1.0 - 2.0 * (q1**2 + q2**2) < -0.99), "the canopy points down"
    height = flights.tracks[0].column("down")[rows]
    assert np.ptp(height) < 1.5
    load = flights.tracks[0].column("load_factor")[rows]
    assert float(np.mean(load)) == pytest.approx(-1.0, abs=0.1), "it hangs in the straps"


@pytest.mark.parametrize("name", DEMOS)
def test_a_vertical_upline(name: str, tmp_path: Path) -> None:
    flights, _ = flown(tmp_path, UPLINE, plane=name, speed="110 %")
    assert flights.status(0) == "finished"
    rows = rows_of(flights, 3)
    place = columns(flights.tracks[0], "north", "east", "down")[rows]
    north, east, down = place[-1] - place[0]
    climb = math.degrees(math.atan2(-down, math.hypot(north, east)))
    assert climb > 84.0 and -down > 10.0, (climb, down)


@pytest.mark.parametrize("side", ["right", "left"])
@pytest.mark.parametrize("name", DEMOS)
def test_a_turn_of_90_degrees(name: str, side: str, tmp_path: Path) -> None:
    """Level before, level after, a quarter of a circle between."""
    sign = 1.0 if side == "right" else -1.0
    flights, _ = flown(tmp_path, TURN, plane=name, side=side)
    assert flights.status(0) == "finished"
    place = columns(flights.tracks[0], "north", "east", "down")
    step = np.diff(place, axis=0)
    heading = sign * np.degrees(np.unwrap(np.arctan2(step[:, 1], step[:, 0])))
    last = rows_of(flights, 4)
    assert float(np.mean(heading[last[:-1]])) == pytest.approx(90.0, abs=8.0)
    assert np.ptp(place[:, 2]) < 4.0, "level"


@pytest.mark.parametrize("side", ["right", "left"])
@pytest.mark.parametrize("name", DEMOS)
def test_a_full_circle_banked_60_degrees(name: str, side: str, tmp_path: Path) -> None:
    """Steady level turn: 1/cos(60) = 2 g, g tan(60)/V of heading a second, a radius of V^2/(g tan(60))."""
    phases = TURN.replace("90 deg", "360 deg").replace("80 deg", "340 deg")
    flights, _ = flown(tmp_path, phases, plane=name, side=side)
    track, turn = flights.tracks[0], rows_of(flights, 1)
    steady = turn[len(turn) // 3 : -len(turn) // 10]
    place = columns(track, "north", "east", "down")
    step = np.diff(place, axis=0)
    heading = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    seconds = 0.02 * (len(steady) - 1)
    rate = abs(heading[steady[-1]] - heading[steady[0]]) / seconds
    V = float(np.mean(np.linalg.norm(step[steady], axis=1))) / 0.02
    assert rate == pytest.approx(G * math.sqrt(3.0) / V, rel=0.05)
    assert V / rate == pytest.approx(V * V / (G * math.sqrt(3.0)), rel=0.05)
    assert float(np.mean(track.column("load_factor")[steady])) == pytest.approx(2.0, abs=0.1)
    assert float(np.mean(np.abs(track.column("sideslip")[steady]))) < math.radians(3.0), "no top rudder"
    assert np.ptp(place[steady, 2]) < 2.0, "level"


def test_a_heading_turned_at_a_rate_of_its_own(tmp_path: Path) -> None:
    phases = (
        "- {name: turn, time: 4 s, bank: 30 deg, heading: 40 deg, heading_rate: 10 deg/s, must_reach: true}\n"
    )
    flights, _ = flown(tmp_path, phases)
    heading = path_angles(flights, int(rows_of(flights, 0)[-1]))[0]
    assert flights.finished[0] and heading == pytest.approx(40.0, abs=6.0)

"""Bad input through the command line: exit code 2, one line on standard error, nothing written."""

from __future__ import annotations

from pathlib import Path

import pytest
from commanding import everything_in, sixdof_here

AIRCRAFT = Path(__file__).parent.parent / "aircraft" / "corvane.yaml"
QUICK = ("--no-pictures",)
VARY = ("explore", "knife_edge", "--no-pictures", "--vary")

#: words of the command -> what the one line must say
REFUSED: dict[tuple[str, ...], tuple[str, ...]] = {
    # unknown names, the nearest one named
    ("tune", "corvan"): ("corvan", "did you mean corvane?"),
    ("check", "fenlerk"): ("did you mean fenlark?",),
    ("tune", "zzz"): ("zzz", "corvane", "fenlark"),
    ("tune", ""): ("no airplane",),
    ("tune", "nowhere/plane.yaml"): ("nowhere/plane.yaml",),
    ("tune", "."): (".",),
    ("fly", "--maneuver", "knife_egde"): ("did you mean knife_edge?",),
    ("tune", "--maneuver", "zzz"): ("zzz", "power_off_dive"),
    ("explore", "power_of_dive", "--vary", "throttle-elevator.low=-6..2"): ("did you mean power_off_dive?",),
    ("fly", "--maneuver", "nowhere/move.yaml"): ("nowhere/move.yaml",),
    ("fly", "--blend", "rudder-elevatr.left=3"): ("did you mean rudder-elevator.left?",),
    ("fly", "--blend", "rudder-elevator.lefft=3"): ("did you mean rudder-elevator.left?",),
    ("fly", "--blend", "rudder-elevator.up=3"): ("rudder-elevator.up", "did you mean"),
    ("fly", "--blend", "rudder-elevator=3"): ("did you mean rudder-elevator.",),
    (*VARY, "rudder-elevator.high=0..5"): ("rudder-elevator.high", "did you mean"),
    ("tune", "--rate", "snapp"): ("snapp", "did you mean snap?"),
    ("check", "--rate", "zzz"): ("zzz", "normal", "snap"),
    ("check", "--rate", ""): ("normal", "snap"),
    ("check", "--picture", "x.jpg"): ("--picture x.jpg", ".png"),
    ("check", "--picture", "x.png", "--no-picture"): ("--picture x.png", "--no-picture"),
    # what does not fit together
    ("tune", "--maneuver", "level"): ("level", "judges no blend"),
    ("tune", "-m", "knife_edge", "-m", "knife_edge"): ("knife_edge", "twice"),
    ("explore", "level", "--vary", "rudder-elevator.left=0..5"): ("rudder-elevator", "level", "none"),
    ("explore", "knife_edge", "--vary", "throttle-elevator.low=0..5"): ("rudder-elevator", "rudder-aileron"),
    # percent, ranges, counts, speeds, steps
    ("fly", "--blend", "rudder-elevator.left"): ("expected a percent", "rudder-elevator.left=3"),
    ("fly", "--blend", "rudder-elevator.left=much"): ("expected a percent",),
    ("fly", "--blend", "rudder-elevator.left=101"): ("-100 to 100",),
    ("fly", "--blend", "rudder-elevator.left=nan"): ("-100 to 100",),
    ("fly", "--blend", "rudder-elevator.left=-inf"): ("-100 to 100",),
    (*VARY, "rudder-elevator.left"): ("a range in percent",),
    (*VARY, "rudder-elevator.left=5"): ("a range in percent",),
    (*VARY, "rudder-elevator.left=5..0"): ("from low to high",),
    (*VARY, "rudder-elevator.left=3..3"): ("from low to high",),
    (*VARY, "rudder-elevator.left=0..500"): ("a range in percent",),
    (*VARY, "rudder-elevator.left=nan..5"): ("a range in percent",),
    (*VARY, "rudder-elevator.left=a..b"): ("a range in percent",),
    (*VARY, "rudder-elevator.left=0..5", "--count", "1"): ("--count: got 1,", "2 to 201"),
    (*VARY, "rudder-elevator.left=0..5", "--count", "202"): ("--count: got 202,", "2 to 201"),
    (*VARY, "rudder-elevator.left=0..5", "--count", "-3"): ("--count: got -3,", "2 to 201"),
    (*VARY, "rudder-elevator.left=0..5", "--count", "many"): ("--count", "many"),
    ("fly", "--speed", "-100"): ("speed: got -100 %", "50 to 200"),
    ("fly", "--speed", "0"): ("50 to 200",),
    ("fly", "--speed", "nan"): ("50 to 200",),
    ("fly", "--speed", "fast"): ("--speed", "fast"),
    ("tune", "--step", "-0.5"): ("--step: got -0.5", "0 to 5"),
    ("tune", "--step", "6"): ("0 to 5",),
    ("tune", "--step", "nan"): ("0 to 5",),
    # runs
    ("compare",): ("two or more runs",),
    ("compare", "only-one"): ("two or more runs",),
    ("compare", "a", "b"): ("a: not a run folder",),
    ("compare", *"abcdefghijk"): ("11 runs", "at most 10"),
    ("view", "nothing", "--png", "x.png"): ("nothing: not a run folder",),
    ("view", "nothing", "--png", "x.jpg"): (".png",),
    # mistyped words
    ("tune", "--maneuvr", "level"): ("--maneuvr", "--maneuver"),
    ("fly", "--way", "hold"): ('"hold"', '"held"'),
    ("view", "x", "--angle", "abov"): ('"abov"', '"above"'),
    ("flyy",): ("flyy", "fly"),
    ("check", "corvane", "fenlark"): ("fenlark",),
    ("explore", "knife_edge"): ("--vary",),
    ("tune", "--out"): ("--out",),
}


@pytest.mark.parametrize("words", REFUSED, ids=" ".join)
def test_refused_in_one_line(words: tuple[str, ...], tmp_path: Path) -> None:
    done = sixdof_here(tmp_path, *words)
    assert done.code == 2, done
    assert done.out == "", "nothing on standard output"
    assert done.err.startswith("sixdof: ") and done.err.count("\n") == 1 and done.err.endswith("\n"), done.err
    for said in REFUSED[words]:
        assert said in done.err, done.err
    assert list(tmp_path.iterdir()) == [], "nothing written"


#: A piece of a sound aircraft file, what is put there instead, what the line must say.
BROKEN = {
    "no unit": ("total: 4.7 kg", "total: 4.7", ("mass.total", "unit")),
    "comma": ("total: 4.7 kg", "total: 4,7 kg", ("mass.total", "4,7 kg")),
    "wrong unit": ("total: 4.7 kg", "total: 4.7 m", ("mass.total",)),
    "negative": ("total: 4.7 kg", "total: -4.7 kg", ("mass.total",)),
    "typo": ("incidence: 0.3 deg", "incidense: 0.3 deg", ("incidense", "incidence")),
    "on is a word": ("brake: true", "brake: on", ("motor.brake",)),
    "key twice": ("invented: true", "invented: true\ninvented: true", ("invented",)),
    "missing": ("name: corvane\n", "", ("name",)),
    "another version": ("sixdof: 1 ", "sixdof: 2 ", ("sixdof",)),
    "tab": ("mass:\n", "mass:\n\t", ("corvane.yaml",)),
    "amount without a way": (
        "blends: []",
        'blends: [{source: rudder, target: elevator, left: "3 %"}]',
        ("radio.blends[0].left", "up"),
    ),
    "loop": (
        "blends: []",
        'blends: [{source: rudder, target: elevator, left: "3 % up", name: a, after: [b]},'
        ' {source: elevator, target: rudder, up: "3 % left", name: b, after: [a]}]',
        ("loop",),
    ),
    "cannot fly level": ("total: 4.7 kg", "total: 90 kg", ("mass.total", "no steady level flight")),
}


@pytest.mark.parametrize("name", BROKEN)
@pytest.mark.parametrize("command", [("check",), ("tune", *QUICK)], ids=lambda words: words[0])
def test_a_broken_aircraft_file(name: str, command: tuple[str, ...], tmp_path: Path) -> None:
    sound, broken, said = BROKEN[name]
    text = AIRCRAFT.read_text(encoding="utf-8")
    assert text.count(sound) == 1, sound
    (tmp_path / "corvane.yaml").write_text(text.replace(sound, broken), encoding="utf-8")
    before = everything_in(tmp_path)
    done = sixdof_here(tmp_path, command[0], "./corvane.yaml", *command[1:])
    assert done.code == 2 and done.out == "", done
    assert done.err.startswith("sixdof: corvane.yaml:") and done.err.count("\n") == 1, done.err
    for word in said:
        assert word in done.err, done.err
    assert everything_in(tmp_path) == before


MOVE = """sixdof_maneuver: 1
name: move
sides: none
phases:
  - {name: level, time: 1 s, measured: true}
"""
BROKEN_MOVES = {
    "dotted name": ("name: move", 'name: "a.b"', ("a.b", "letters")),
    "path for a name": ("name: move", "name: ../../away", ("away",)),
    "no measured phase": ("measured: true", "measured: false", ("measured",)),
    "unknown policy": ("measured: true", "measured: true, sticks: {rudder: holt}", ("holt", "hold")),
    "too much stick": ("measured: true", "measured: true, sticks: {rudder: 120 %}", ("120 %",)),
    "negative throttle": ("measured: true", "measured: true, sticks: {throttle: -5 %}", ("-5 %",)),
    "no time": ("time: 1 s, ", "", ("time",)),
    "endless": ("time: 1 s", "time: 999 s", ("time", "60 s")),
    "unknown side": ("sides: none", "sides: both", ("sides", "both")),
    "no phases": ("phases:\n  - {name: level, time: 1 s, measured: true}\n", "phases: []\n", ("phases",)),
    "too many phases": (
        "  - {name: level, time: 1 s, measured: true}\n",
        "  - {name: level, time: 1 s, measured: true}\n" * 21,
        ("phases",),
    ),
}


@pytest.mark.parametrize("name", BROKEN_MOVES)
def test_a_broken_maneuver_file(name: str, tmp_path: Path) -> None:
    sound, broken, said = BROKEN_MOVES[name]
    assert MOVE.count(sound) == 1
    (tmp_path / "move.yaml").write_text(MOVE.replace(sound, broken), encoding="utf-8")
    before = everything_in(tmp_path)
    done = sixdof_here(tmp_path, "fly", "--maneuver", "move.yaml", *QUICK)
    assert done.code == 2 and done.out == "", done
    assert done.err.startswith("sixdof: move.yaml:") and done.err.count("\n") == 1, done.err
    for word in said:
        assert word in done.err, done.err
    assert everything_in(tmp_path) == before


def test_the_sound_files_are_taken(tmp_path: Path) -> None:
    """The other side of the broken ones."""
    (tmp_path / "corvane.yaml").write_text(AIRCRAFT.read_text(encoding="utf-8"), encoding="utf-8")
    (tmp_path / "move.yaml").write_text(MOVE, encoding="utf-8")
    done = sixdof_here(tmp_path, "fly", "./corvane.yaml", "--maneuver", "move.yaml", *QUICK)
    assert done.code == 0 and done.err == ""


def test_a_run_of_a_search_and_one_of_an_exploration_do_not_compare(tmp_path: Path) -> None:
    assert sixdof_here(tmp_path, "fly", *QUICK, "--out", "flown").code == 0
    words = (*VARY, "rudder-elevator.left=0..5", "--count", "2", "--out", "explored")
    assert sixdof_here(tmp_path, *words).code == 0
    done = sixdof_here(tmp_path, "compare", "flown", "explored")
    assert done.code == 2 and done.err.count("\n") == 1 and "explored: has no maneuvers" in done.err
    done = sixdof_here(tmp_path, "view", "flown", "--flight", "knife_edge.lefft", "--png", "x.png")
    assert done.code == 2 and "did you mean knife_edge.left?" in done.err
    done = sixdof_here(tmp_path, "compare", "flown", "flown", "--out", "nowhere/x.png")
    assert done.code == 2 and done.err.count("\n") == 1 and "cannot be written" in done.err

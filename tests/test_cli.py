"""The command line: what each command prints, writes and imports."""

from __future__ import annotations

import json
import re
import shutil
import sys
from pathlib import Path
from unittest import mock

import pytest
from commanding import Done, end, everything_in, sixdof_here, start, start_in_terminal, start_python

from sixdof.runs import read_run
from sixdof.study.results import read_answer

INVENTED = "invented: do not dial this in"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A working directory."""
    return tmp_path_factory.mktemp("cli")


@pytest.fixture(scope="module")
def tuned(folder: Path) -> Done:
    """``sixdof tune``, as text."""
    return sixdof_here(folder, "tune", "--no-pictures", "--out", "bare-words")


@pytest.fixture(scope="module")
def tuned_all(folder: Path) -> Done:
    """The same, the whole of it."""
    return sixdof_here(folder, "tune", "--no-pictures", "--all", "--out", "all-words")


@pytest.fixture(scope="module")
def tuned_json(folder: Path) -> Done:
    """``sixdof tune fenlark --json``."""
    return sixdof_here(folder, "tune", "fenlark", "--json", "--no-pictures", "--out", "json")


@pytest.fixture(scope="module")
def explored(folder: Path) -> Done:
    words = ("--vary", "throttle-elevator.low=-6..2", "--count", "9", "--no-pictures", "--out", "dives")
    return sixdof_here(folder, "explore", "power_off_dive", *words)


def good_text(done: Done, *, invented: bool = True) -> None:
    """Ends well, fits 80 columns, nothing but text on standard output, nothing on standard error."""
    assert done.code == 0, done.err
    assert done.err == ""
    wide = [line for line in done.out.splitlines() if len(line) > 80]
    assert not wide, wide
    assert "\x1b" not in done.out, "no color where nobody sees it"
    assert "None" not in done.out and "nan" not in done.out
    if invented:
        assert INVENTED in done.out


# ---------------------------------------------------------------- tune


def test_tune_without_airplane_flies_a_demo_and_says_so(tuned: Done, tuned_all: Done) -> None:
    good_text(tuned)
    good_text(tuned_all)
    for done in (tuned, tuned_all):
        assert done.out.startswith(f"corvane; {INVENTED}; rate normal, ratios in steps of 0.5 %")
        assert "no airplane was named: this is the demo corvane" in done.out
    for words in (
        "right rudder: aileron",
        "left rudder: aileron",
        "closed throttle: elevator",
        "right aileron: rudder",
    ):
        assert re.search(rf"- {words} [\d.]+ % [A-Z]+ +\([\d.]+°", tuned_all.out), words
    for side in ("right", "left"):
        found = (
            rf"- {side} rudder: elevator ([\d.]+ % [A-Z]+ +\([\d.]+°|not found, the other sign is likelier)"
        )
        assert re.search(found, tuned_all.out), side
    for row in ("knife-edge", "four-point roll", "power-off dive", "roll reversal"):
        assert row in tuned_all.out
    assert tuned.out.rstrip().endswith("run: bare-words")


def test_the_answer_comes_first_and_is_short(tuned: Done, folder: Path) -> None:
    """At most 24 lines: what to do first, a line each blend and side, the cautions, and where the rest is."""
    lines = tuned.out.splitlines()
    assert len(lines) <= 24, len(lines)
    assert any(line.startswith("First: ") for line in lines[:4])
    head = next(i for i, line in enumerate(lines) if line.startswith("at full"))
    answer = read_run(str(folder / "bare-words")).answer
    for found, line in zip(answer.blends, lines[head + 1 :], strict=False):
        assert line.startswith(f"{found.ratio.words} "), line
        way = {"elevator": ("DOWN", "UP"), "aileron": ("LEFT", "RIGHT"), "rudder": ("LEFT", "RIGHT")}[
            found.target
        ]
        low, high = sorted((found.doubt.low_percent, found.doubt.high_percent))
        ends = [f"{abs(round(p))} {way[p > 0]}" for p in (low, high)]
        assert f"{ends[0]}..{ends[1]}" in line or ends[0 if high < 0 else 1] in line, (ends, line)
        if not found.found:
            assert f" {found.target} not found " in line and "°" not in line, line
            continue
        if abs(found.bare_degrees) < 5.0:
            assert f" {found.target} no need " in line and f" {abs(found.bare_degrees):.1f}° " in line, line
            continue
        assert f" {found.target} {abs(found.percent):g} % {way[found.percent > 0]} " in line, line
        degrees, left = (float(number) for number in re.findall(r"([\d.]+)°", line)[:2])
        assert degrees == pytest.approx(found.degrees, abs=0.006), line
        assert left == pytest.approx(abs(found.left_degrees), abs=0.06), line
    assert "more remarks with --all" in tuned.out


def test_no_word_is_cut_off_on_a_narrow_terminal(folder: Path) -> None:
    for columns in ("40", "20", "1"):
        words = ("tune", "-m", "power_off_dive", "--no-pictures", "--airplanes", "0")
        done = end(start_in_terminal(folder, int(columns), *words))
        assert done.code == 0, done
        text = " ".join(done.out.split())
        assert "elevator 2.5 % DOWN" in text and "…" not in text, (columns, text)


def test_tune_prints_the_cautions_where_someone_would_act(tuned: Done, tuned_all: Done) -> None:
    whole = " ".join(tuned_all.out.split())
    assert "A simulated ratio is a starting point, not a fact about your airplane." in whole
    for words in ("Propeller off or motor unplugged", "Flight 1 is the airplane bare", "away from people"):
        assert words in whole
    assert whole.index("right rudder: elevator") < whole.index("Propeller off")
    lines = tuned.out.splitlines()[-4:-1]
    short = " ".join(lines)
    for words in (
        "reversed sign",
        "Propeller off",
        "fly it bare",
        "half the ratio",
        "switch",
        "landing",
        "local law",
        "people",
    ):
        assert words in short, (words, short)


def test_tune_json_is_one_object_with_everything(tuned_json: Done, folder: Path) -> None:
    assert tuned_json.code == 0 and tuned_json.err == ""
    found = tuned_json.json
    assert tuned_json.out.endswith("}\n")
    assert found["schema"] == 2 and found["command"] == "tune" and found["run"] == "json"
    assert found["aircraft"]["name"] == "fenlark" and found["aircraft"]["invented"] is True
    ratios = {(b["source"], b["target"], b["side"]): b for b in found["blends"]}
    assert set(ratios) == {
        *((s, t, side) for s, t in (("rudder", "elevator"), ("rudder", "aileron"), ("aileron", "rudder"))
          for side in ("right", "left")),
        ("throttle", "elevator", "low"), ("flap", "elevator", "high"),
    }  # fmt: skip
    for (_, target, _), b in ratios.items():
        assert {"percent", "degrees", "words"} <= set(b)
        if (b["doubt"]["other_sign_percent"] or 0.0) > 50.0:
            assert b["words"].endswith("not found, the other sign is likelier")
            continue
        way = {"elevator": ("DOWN", "UP"), "aileron": ("LEFT", "RIGHT"), "rudder": ("LEFT", "RIGHT")}[target]
        assert f"{abs(b['percent']):g} % {way[b['percent'] > 0]}" in b["words"]
        assert f"({b['degrees']:.2f}°" in b["words"] and b["degrees"] > 0.0
    flights = {(m["name"], m["side"]): m for m in found["maneuvers"]}
    assert len(flights) == len(found["maneuvers"]) == 8
    keys = {"status", "scored", "deviation_before", "deviation_after", "drift_before", "drift_after"}
    for m in flights.values():
        assert keys <= set(m)
        # bare, this airplane rolls out of the knife-edge
        assert m["status"] == "finished" and m["scored"] is (m["name"] != "knife_edge")
    assert all("let go early" in flights["knife_edge", side]["status_before"] for side in ("right", "left"))
    assert {part["target"] for part in found["split"]} == {"elevator", "aileron"}
    assert found["warnings"][0] == "fenlark is an invented airplane: do not dial this in"
    assert found["cautions"]
    written = json.loads((folder / "json" / "result.json").read_text(encoding="utf-8"))
    assert {**written, "run": "json"} == found, "the same object is in the run folder"
    again = read_answer({k: v for k, v in written.items() if k != "schema"})
    assert json.loads(again.text()) == written, "read back and written again it is the same"


def test_text_and_json_tell_the_same_numbers(folder: Path, tuned_all: Done) -> None:
    found = json.loads((folder / "all-words" / "result.json").read_text(encoding="utf-8"))
    text = " ".join(tuned_all.out.split())
    for b in found["blends"]:
        assert b["words"] in text
    for m in found["maneuvers"]:
        assert f"{abs(m['drift_before']):.1f}° {abs(m['rate_before']):.1f} {m['words_before']}" in text
        assert f"{abs(m['drift_after']):.1f}° {abs(m['rate_after']):.1f} {m['words_after']}" in text
    for warning in found["warnings"][1:]:
        assert warning in text


def test_points_lost_are_added_up_for_flights_that_finished_both_ways(folder: Path, tuned: Done) -> None:
    """Each measured phase loses its worst error over 15 degrees; fenlark's unfinished knife-edges are left out."""
    found = json.loads((folder / "bare-words" / "result.json").read_text(encoding="utf-8"))
    bare = sum(m["points_before"] for m in found["maneuvers"])
    blended = sum(m["points_after"] for m in found["maneuvers"])
    assert bare > 3.0 * blended
    assert f"bare {bare:.1f}, blended {blended:.1f};" in " ".join(tuned.out.split())
    for m in found["maneuvers"]:
        if m["name"] in ("knife_edge", "power_off_dive"):  # one measured phase: points are its drift
            assert m["points_before"] == pytest.approx(abs(m["drift_before"]) / 15.0, rel=1e-4)


def test_a_coarser_step_and_another_rate_are_obeyed(folder: Path) -> None:
    words = (
        "tune",
        "--maneuver",
        "power_off_dive",
        "--step",
        "2",
        "--rate",
        "snap",
        "--no-pictures",
        "--json",
    )
    done = sixdof_here(folder, *words)
    found = done.json
    assert found["aircraft"]["rate"] == "snap" and found["step_percent"] == 2.0
    [blend] = found["blends"]
    assert blend["percent"] in (-2.0, 0.0), "more throw needs a smaller share of it"
    assert [m["name"] for m in found["maneuvers"]] == ["power_off_dive"] and found["split"] == []


def test_a_maneuver_file_of_ones_own(folder: Path, tuned: Done, tmp_path: Path) -> None:
    import sixdof.flight.script as home

    source = Path(home.__file__).parent.parent / "maneuvers" / "knife_edge.yaml"
    text = source.read_text(encoding="utf-8").replace("name: knife_edge", "name: my_edge")
    (tmp_path / "mine.yaml").write_text(text, encoding="utf-8")
    words = ("--maneuver", "mine.yaml", "--no-pictures", "--json")
    mine = sixdof_here(tmp_path, "tune", *words).json
    known = json.loads((folder / "bare-words" / "result.json").read_text(encoding="utf-8"))
    same = {(b["source"], b["target"], b["side"]): b["held_percent"] for b in known["blends"]}
    assert [m["name"] for m in mine["maneuvers"]] == ["my_edge", "my_edge"]
    for b in mine["blends"]:
        assert b["held_percent"] == pytest.approx(same[b["source"], b["target"], b["side"]], abs=1e-4)
    assert sixdof_here(tmp_path, "fly", *words).json["maneuvers"][0]["name"] == "my_edge"
    vary = ("--vary", "rudder-elevator.left=0..5", "--count", "2", "--no-pictures", "--json")
    done = sixdof_here(tmp_path, "explore", "mine.yaml", *vary)
    assert done.json["run"] == str(Path("runs") / "explore-my_edge-corvane")
    assert [m.name for m in read_run(str(tmp_path / done.json["run"])).maneuvers()] == ["my_edge"]


# ---------------------------------------------------------------- the other commands


@pytest.mark.parametrize("way", ["free", "held"])
def test_fly_with_blends(way: str, folder: Path) -> None:
    blends = ("--blend", "rudder-elevator.left=1.5", "-b", "rudder-aileron.left=4")
    done = sixdof_here(folder, "fly", "--way", way, *blends, "--no-pictures")
    good_text(done)
    assert f"one flight to each side, {way}" in " ".join(done.out.split())
    [row] = [line for line in done.out.splitlines() if re.match(r"left-rudder knife-edge +[-+]", line)]
    aileron, elevator, rudder = (float(cell) for cell in row.split()[-3:])
    assert rudder < -20.0, "left rudder"
    assert abs(aileron) < 1.0 and abs(elevator) < 1.0, "with the blends in, little or nothing is held"


def test_fly_bare_and_blended_differ_on_the_blended_side_only(folder: Path) -> None:
    def drift(*words: str) -> dict[str, float]:
        done = sixdof_here(folder, "fly", "--no-pictures", "--json", *words)
        assert done.code == 0 and done.err == ""
        return {m["side"]: m["drift_before"] for m in done.json["maneuvers"]}

    bare, blended = (
        drift(),
        drift("--blend", "rudder-aileron.left=4", "--blend", "rudder-elevator.left=1.5"),
    )
    assert blended["right"] == pytest.approx(bare["right"], abs=0.05)
    assert abs(blended["left"]) < 0.2 * abs(bare["left"])


def test_fly_obeys_the_speed(folder: Path) -> None:
    slow, fast = (
        sixdof_here(folder, "fly", "--speed", s, "--no-pictures", "--json").json["maneuvers"][0][
            "top_speed_m_s"
        ]
        for s in ("90", "120")
    )
    assert fast / slow == pytest.approx(120 / 90, rel=0.02)


def test_fly_uses_the_blends_of_the_file(tmp_path: Path) -> None:
    """Fenlark's own flap-elevator blend flies unless another is named."""
    words = ("fly", "fenlark", "--maneuver", "flaps_down", "--no-pictures", "--json")
    own = sixdof_here(tmp_path, *words).json["maneuvers"][0]["drift_before"]
    named = sixdof_here(tmp_path, *words, "--blend", "flap-elevator.high=-5").json["maneuvers"][0][
        "drift_before"
    ]
    none = sixdof_here(tmp_path, *words, "--blend", "flap-elevator.high=0").json["maneuvers"][0][
        "drift_before"
    ]
    assert abs(own - none) > 3.0
    assert own == pytest.approx(named, abs=0.6)  # its ramp is the one difference


def test_explore_shows_where_the_drift_is_least(explored: Done, folder: Path) -> None:
    good_text(explored)
    assert "6 % DOWN" in explored.out and "2 % UP" in explored.out
    assert re.search(r"least drift: [123] % DOWN, [0-3]\.\d°", explored.out), explored.out
    settings = read_run(str(folder / "dives")).answer.settings
    assert [s.percent for s in settings] == [-6.0, -5.0, -4.0, -3.0, -2.0, -1.0, 0.0, 1.0, 2.0]
    assert len(read_run(str(folder / "dives")).tracks()) == 9
    assert "Propeller off" in explored.out


def test_compare_two_airplanes(folder: Path, tuned: Done, tuned_json: Done) -> None:
    done = sixdof_here(folder, "compare", "bare-words", "json")
    good_text(done, invented=False)
    assert "not the same aircraft file" in done.out
    assert re.search(r"right-rudder knife-edge +\d\.\d° +\d+\.\d°", done.out)
    assert re.search(r"flaps down +- +\d+\.\d°", done.out)
    found = sixdof_here(folder, "compare", "bare-words", "json", "--json")
    rows = {(r["name"], r["side"]): r["drift"] for r in found.json["maneuvers"]}
    assert rows["flaps_down", "both"][0] is None and len(rows) == 8
    for m in read_run(str(folder / "bare-words")).answer.maneuvers:
        assert rows[m.name, m.side][0] == m.drift_after


@pytest.mark.parametrize("name", ["corvane", "fenlark", "tessel"])
def test_check_tells_what_each_stick_does(name: str, folder: Path) -> None:
    done = sixdof_here(folder, "check", name, "--all")
    good_text(done, invented=False)
    assert "is an invented airplane: do not dial this in" in done.out
    for words in ("Sticks", "Steady flight", "Modes at cruise", "Derivatives"):
        assert words in done.out
    found = sixdof_here(folder, "check", name, "--json").json
    assert found["name"] == name and len(found["sticks"]) >= 4
    assert any("right-rudder knife-edge" in line for line in found["trim"])


def test_check_draws_the_airplane(tmp_path: Path) -> None:
    done = sixdof_here(tmp_path, "check")
    good_text(done, invented=False)
    assert done.out.splitlines()[-1] == "picture: runs/check-corvane.png"
    assert list(everything_in(tmp_path)) == ["runs/check-corvane.png"]
    again = sixdof_here(tmp_path, "check", "--json", "--picture", "mine.png")
    assert again.json["picture"] == "mine.png" and (tmp_path / "mine.png").read_bytes()[1:4] == b"PNG"
    before = everything_in(tmp_path)
    assert sixdof_here(tmp_path, "check", "--json", "--no-picture").json["picture"] is None
    assert "picture" not in sixdof_here(tmp_path, "check", "--no-picture").out
    assert everything_in(tmp_path) == before
    assert sixdof_here(tmp_path, "list", "--json").json["runs"] == []
    refused = sixdof_here(tmp_path, "view", "check-corvane.png", "--png", "x.png")
    assert refused.code == 2 and "not a run folder" in refused.err


def test_a_picture_of_check_that_cannot_be_written_leaves_nothing(tmp_path: Path) -> None:
    done = sixdof_here(tmp_path, "check", "--picture", "nowhere/x.png")
    assert done.code == 2 and done.out == "" and done.err.count("\n") == 1, done
    assert done.err.startswith("sixdof: nowhere/x.png: cannot be written") and "--no-picture" in done.err
    assert not everything_in(tmp_path)
    (tmp_path / "runs").write_text("a file where the folder should be")
    done = sixdof_here(tmp_path, "check")
    assert done.code == 2 and done.err.startswith("sixdof: runs/check-corvane.png: cannot be written")


def test_list_and_schema(folder: Path, tuned: Done) -> None:
    done = sixdof_here(folder, "list")
    good_text(done, invented=False)
    for word in ("corvane", "fenlark", "knife_edge", "power_off_dive"):
        assert word in done.out
    found = sixdof_here(folder, "list", "--json").json
    assert {a["name"] for a in found["aircraft"]} >= {"corvane", "fenlark"}
    schema = sixdof_here(folder, "schema")
    assert schema.code == 0 and "mass" in schema.json["properties"]


@pytest.mark.parametrize(
    "command", ["tune", "fly", "explore", "compare", "view", "sheet", "check", "new", "list", "schema"]
)
def test_every_command_has_help_that_fits(command: str, folder: Path) -> None:
    done = sixdof_here(folder, command, "--help")
    assert done.code == 0 and done.out.startswith(f"Usage: sixdof {command}")
    assert all(len(line) <= 80 for line in done.out.splitlines())
    assert command in sixdof_here(folder, "--help").out


def test_example_of_every_option_in_help_is_taken(folder: Path) -> None:
    """What the help shows as an example must work: explore's range and fly's ratio."""
    text = sixdof_here(folder, "explore", "--help").out
    [vary] = re.findall(r"throttle-elevator\.low=\S+\d", text)
    assert (
        sixdof_here(folder, "explore", "power_off_dive", "--vary", vary, "--count", "2", "--no-pictures").code
        == 0
    )
    [blend] = re.findall(r"rudder-elevator\.left=\d+", sixdof_here(folder, "fly", "--help").out)
    assert sixdof_here(folder, "fly", "--blend", blend, "--no-pictures").code == 0


# ---------------------------------------------------------------- pictures


@pytest.mark.renders
def test_view_draws_a_picture(folder: Path, tuned: Done, tmp_path: Path) -> None:
    from PIL import Image

    png = tmp_path / "left.png"
    flights = ("--flight", "knife_edge.left", "--flight", "power_off_dive.both")
    done = sixdof_here(folder, "view", "bare-words", *flights, "--angle", "above", "--png", str(png))
    assert done.code == 0 and done.out.strip() == str(png)
    with Image.open(png) as picture:
        assert picture.width >= 600 and picture.height >= 400
        assert len(picture.convert("RGB").getcolors(1 << 24) or []) > 1000


@pytest.mark.renders
def test_a_run_holds_its_pictures(tmp_path: Path) -> None:
    done = sixdof_here(tmp_path, "tune", "--maneuver", "power_off_dive", "--out", "run")
    good_text(done)
    assert {p.name for p in (tmp_path / "run").glob("*.png")} == {"drift.png", "power_off_dive.both.png"}
    vary = ("--vary", "rudder-elevator.left=0..5", "--count", "2", "--out", "edges")
    good_text(sixdof_here(tmp_path, "explore", "knife_edge", *vary))
    assert {p.name for p in (tmp_path / "edges").glob("*.png")} == {
        "explore-left.png"
    }  # no ratio acts to the right
    good_text(sixdof_here(tmp_path, "compare", "run", "run", "--out", "both.png"), invented=False)
    assert (tmp_path / "both.png").stat().st_size > 5000


def test_without_a_renderer_all_numbers_come_and_one_line_says_why(tmp_path: Path) -> None:
    """A window system that cannot work: the probe crashes in its own process, the command does not."""
    words = ("tune", "--maneuver", "power_off_dive", "--out", "run", "--json")
    done = end(start(tmp_path, *words, VTK_DEFAULT_OPENGL_WINDOW="vtkOSOpenGLRenderWindow", DISPLAY=""))
    plain = sixdof_here(tmp_path, *words[:-2], "plain", "--json", "--no-pictures")
    assert done.code == 0
    assert {**done.json, "run": ""} == {**plain.json, "run": ""}
    if (tmp_path / "run" / "power_off_dive.both.png").exists():  # some machine where that window works
        assert done.err == ""
        return
    assert done.err.count("\n") == 1 and "pictures cannot be drawn here" in done.err
    assert (tmp_path / "run" / "drift.png").exists(), "plots need no renderer"


def test_without_a_renderer_view_ends_in_one_line(folder: Path, tuned: Done, tmp_path: Path) -> None:
    line = (
        "pictures cannot be drawn here (the renderer crashed); on Debian or Ubuntu: apt-get install libegl1"
    )
    png = tmp_path / "x.png"
    with mock.patch("sixdof.show.probe._usual_answer", return_value=line):
        done = sixdof_here(folder, "view", "bare-words", "--png", str(png))
        flown = sixdof_here(tmp_path, "fly", "--out", "run")
    assert done.code == 2 and done.out == "" and done.err == f"sixdof: {line}\n"
    assert not png.exists()
    assert flown.code == 0 and "knife-edge" in flown.out
    assert flown.err == f"no 3D picture: {line}\n" and (tmp_path / "run" / "drift.png").exists()


# ---------------------------------------------------------------- what is imported

IMPORTED = """
import json, sys
from sixdof.cli import main
heavy = ("numpy", "scipy", "numba", "pyvista", "vtkmodules", "matplotlib")
found = {}
for words in json.loads(sys.argv[1]):
    sys.argv = ["sixdof", *words]
    try:
        main()
        code = 0
    except SystemExit as end:
        code = end.code or 0
    found[" ".join(words)] = [code, [name for name in heavy if name in sys.modules]]
print(json.dumps(found), file=sys.stderr)
"""


def test_help_and_mistyped_words_import_nothing_heavy(tmp_path: Path) -> None:
    helps = [["--help"], ["--version"], [], ["tune", "--help"], ["explore", "--help"], ["view", "-h"]]
    typos = [
        ["tune", "--stp", "1"], ["frobnicate"], ["fly", "--way", "hold"], ["explore"], ["tune", "--step", "much"],
        ["fly", "a", "b"],
    ]  # fmt: skip
    done = end(start_python(tmp_path, IMPORTED, json.dumps(helps + typos)))
    found = json.loads(done.err.splitlines()[-1])
    for words in helps:
        assert found[" ".join(words)] == [0, []], words
    for words in typos:
        assert found[" ".join(words)] == [2, []], words
    lines = done.err.splitlines()[:-1]
    assert len(lines) == len(typos) and all(line.startswith("sixdof: ") for line in lines)
    assert "Did you mean --step?" in lines[0]
    assert everything_in(tmp_path) == {}


def test_the_installed_command_is_the_same(tmp_path: Path) -> None:
    command = shutil.which("sixdof", path=str(Path(sys.executable).parent))
    assert command is not None, "the package is installed with its command"
    code = "import subprocess, sys; sys.exit(subprocess.run(sys.argv[1:]).returncode)"
    done = end(start_python(tmp_path, code, command, "fly", "--sped", "3"))
    assert done.code == 2 and done.out == ""
    assert done.err == sixdof_here(tmp_path, "fly", "--sped", "3").err


@pytest.mark.parametrize("name", ["corvane", "fenlark", "tessel"])
def test_an_airplane_none_of_whose_relatives_is_stable_says_so_in_millimeters(
    name: str, tmp_path: Path
) -> None:
    """45 mm behind where it balances, all that fit the measurements diverge: nothing is found, and why comes first."""
    done = sixdof_here(tmp_path, "tune", name, "-c", "cg=45 mm aft", "--no-pictures")
    assert done.code == 0 and done.err == "", done
    text = " ".join(done.out.split())
    assert re.search(r"First: the CG is \d+ mm behind the neutral point", text), text
    assert "not found" in text and " UP.." not in text


def test_check_ends_with_the_command_that_comes_next(tmp_path: Path) -> None:
    done = sixdof_here(tmp_path, "check", "tessel", "-c", "cg=2 mm aft", "--no-picture")
    assert done.out.splitlines()[-1] == "next: sixdof tune tessel -c 'cg=2 mm aft'", done.out[-200:]

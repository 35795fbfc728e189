"""Notes on the command line: taken in, kept beside the aircraft file, known to the other commands, taken out again."""

from __future__ import annotations

import json
import re
import shutil
from html import unescape
from pathlib import Path

import pytest
from commanding import Done, refused, sixdof_here

import sixdof.learned as learned
import sixdof.runs as runs
from sixdof.airframe.load import find_airframe, load_airframe
from sixdof.files.errors import InputError
from sixdof.learning.notes import Pass, notes_from, read_notes
from sixdof.show.report_told import learn_report
from sixdof.study.results import LearnResult

SAMPLES = Path(find_airframe("corvane")).parent / "notes"
#: A notes file with every key there is.
WHOLE = """sixdof_notes: 1
aircraft: corvane
sha256: {sha}
rate: normal
flights:
  - flight: 7
    date: today
    helper: Ann
    wind: 5 kt
    switch: on
    blends: {{rudder-elevator.right: 3 % UP}}
    three_rolls: 3.1 s
    timed_pass: 100 m in 4 s, 4.2 s back
    resting_elevator: 1 mm up
    resting_aileron: 0.5 deg right
    resting_rudder: 1 mm left
    battery: 60 %
    cg: mark 2
    next_change: none
    passes:
      - {{maneuver: knife-edge, rudder: left, travel: right to left, passes: 2 of 3, helper_said: "slight came in, sank",
         roll: strong to left, seconds_to_45: 2.2 s, rudder_share: 40 %}}
      - {{maneuver: inverted, push: slight push, held_elevator: 4 % down}}
      - {{maneuver: inverted line, line: 6 s}}
      - {{maneuver: dive, pitch_than_last: less}}
      - {{maneuver: outside loop, goes: slight right}}
      - {{maneuver: turn entry, yaw: slight adverse}}
"""


@pytest.fixture(scope="module")
def taken(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder in which the first two files of notes of the demo were taken in."""
    folder = tmp_path_factory.mktemp("taken")
    for name in ("corvane-1", "corvane-2"):
        done = sixdof_here(folder, "learn", "corvane", name)
        assert done.code == 0 and not done.err.startswith("sixdof"), done
    return folder


def copy(taken: Path, tmp_path: Path) -> Path:
    shutil.copy(taken / "corvane.learned.json", tmp_path)
    return tmp_path


def lines_fit(done: Done) -> None:
    assert done.code == 0, done
    rows = done.out.splitlines()
    assert len(rows) <= 24 and max(map(len, rows)) <= 80, done.out


def test_a_report_says_what_the_notes_tell(taken: Path, tmp_path: Path) -> None:
    """What to dial in now, with its degrees by the throws of the file; each flight; ranges drawn as they are in the object."""
    folder = copy(taken, tmp_path)
    done = sixdof_here(folder, "learn", "corvane", "--out", "told", "--json")
    html = (folder / "told" / "report.html").read_text(encoding="utf-8")
    assert done.code == 0 and len(html.encode()) < 100_000 and "<script" not in html
    headings = re.findall(r"<h2>(.*?)</h2>", html)
    assert headings == [
        "What to dial in now", "Next note", "What changed, flight by flight", "How sure that is", "What notes cannot tell",
        "Before you act on this", "How to do it again",
    ]  # fmt: skip
    body = re.sub(r"<(style|svg)\b.*?</\1>", " ", html, flags=re.DOTALL)
    text = unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", body))).replace("\N{NO-BREAK SPACE}", " ")
    throw = {
        "elevator": (13.0, 13.0),
        "aileron": (17.5, 17.5),
    }  # of the file: up, down; the mean of both ailerons
    ways = {"elevator": ("DOWN", "UP"), "aileron": ("LEFT", "RIGHT")}
    figures = re.findall(r"<figure>.*?</figure>", html, flags=re.DOTALL)
    for row, figure in zip(done.json["ratios"], figures, strict=True):
        target, percent = row["target"], row["percent"]
        degrees = abs(percent) / 100.0 * throw[target][percent < 0.0]
        at = "closed throttle" if row["source"] == "throttle" else f"full {row['side']} rudder"
        assert f"{target} {abs(percent):g} % {ways[target][percent > 0.0]} {degrees:.2f}° at {at}" in text, (
            row
        )
        name = f"{row['source']}-{target}.{row['side']}"
        before = [row["before_low_percent"], row["before_high_percent"]]
        spans = [before, *([f["low_percent"][name], f["high_percent"][name]] for f in done.json["flights"])]
        assert spans[-1] == [row["low_percent"], row["high_percent"]]
        [points] = re.findall(r'<polygon class="range" points="([^"]+)"', figure)
        y = [float(point.partition(",")[2]) for point in points.split()]
        drawn = [low - high for high, low in zip(y[: len(spans)], reversed(y[len(spans) :]), strict=True)]
        assert [d / drawn[0] for d in drawn] == pytest.approx(
            [(high - low) / (before[1] - before[0]) for low, high in spans], abs=0.01
        )
    for flight in done.json["flights"]:
        assert (
            f"Flight {flight['flight']}, {flight['date']} set: {flight['set_to']} seen: {flight['seen']}"
            in text
        )
    assert done.json["next_notes"][0]["words"] in text and done.json["cannot_tell"][0] in text
    assert "it and the notes stand in inputs.yaml" in text
    run = runs.read_run(str(folder / "told"))
    assert isinstance(run.answer, LearnResult)
    more = learn_report(
        run.answer.model_copy(update={"rigging": ["the right wing drops"]}), run.airframe(), asked="x"
    )
    assert "<li>the right wing drops</li>" in more.partition("<h2>Of rigging")[2].partition("</section>")[0]


def test_learn_answers_in_a_screen_and_in_json(taken: Path) -> None:
    lines_fit(sixdof_here(taken, "learn", "corvane"))
    answer = sixdof_here(taken, "learn", "corvane", "--json").json
    assert answer["command"] == "learn" and answer["kept_in"] == "corvane.learned.json"
    assert {"ratios", "surprises", "next_notes"} <= answer.keys() and len(answer["ratios"]) == 5
    assert [flight["flight"] for flight in answer["flights"]] == [1, 2] and all(
        f["believed"] for f in answer["flights"]
    )
    right = answer["ratios"][0]
    assert right["percent"] > 2.0 and right["high_percent"] - right["low_percent"] < 8.0
    assert right["before_high_percent"] - right["before_low_percent"] > 15.0
    assert answer["served_percent"] > 30.0 > answer["served_before_percent"]
    assert answer["next_notes"][0]["left_degrees"] < answer["next_notes"][0]["now_degrees"]


def test_the_same_notes_give_the_same_bytes_whether_the_crowd_is_flown_again_or_kept(
    taken: Path, tmp_path: Path
) -> None:
    """The crowd out of the file, and flown anew after both files were taken in at once."""
    kept = sixdof_here(taken, "learn", "corvane", "--json").json
    anew = sixdof_here(tmp_path, "learn", "corvane", "corvane-1", "corvane-2", "--json").json
    for answer in (kept, anew):
        del answer["run"]
    assert kept == anew
    first, second = (json.loads((f / "corvane.learned.json").read_text())["layer"] for f in (taken, tmp_path))
    assert first == second


def test_the_other_commands_know_it_and_say_so(taken: Path) -> None:
    words = ("tune", "corvane", "-m", "knife_edge", "--airplanes", "100", "--no-pictures", "--json")
    with_notes, without = sixdof_here(taken, *words).json, sixdof_here(taken, *words, "--no-notes").json
    assert with_notes["learned"]["flights"] == 2 and "elevator.right" in with_notes["learned"]["told"]
    assert with_notes["learned"]["notes"]["corvane-1.yaml"] == (SAMPLES / "corvane-1.yaml").read_text()
    assert without["learned"] is None
    assert any("learned from 2 flights of notes" in text for text in with_notes["warnings"])
    for ours, bare in zip(with_notes["blends"], without["blends"], strict=True):
        spread = [b["doubt"]["high_percent"] - b["doubt"]["low_percent"] for b in (ours, bare)]
        assert spread[0] < 0.4 * spread[1], (ours, bare)
    told = sixdof_here(taken, "learn", "corvane", "--json").json["ratios"]
    for ours, ratio in zip(
        sorted(with_notes["blends"], key=lambda b: (b["side"] == "left", b["target"] == "aileron")),
        told,
        strict=False,
    ):
        assert ours["percent"] == pytest.approx(ratio["percent"], abs=1.5)
        assert ours["doubt"]["low_percent"] == pytest.approx(ratio["low_percent"], abs=1.5)
    for command in (
        ("check", "corvane", "--no-picture"),
        ("fly", "corvane", "-m", "level", "--no-pictures"),
        ("remedies", "corvane", "--over", "cg"),
    ):
        assert "learned from 2 flights of notes" in " ".join(sixdof_here(taken, *command).out.split()), (
            command
        )


def test_what_would_be_without_a_flight_keeps_nothing(taken: Path) -> None:
    before = (taken / "corvane.learned.json").read_bytes()
    done = sixdof_here(taken, "learn", "corvane", "--without", "2", "--json").json
    assert [flight["flight"] for flight in done["flights"]] == [1] and done["kept_in"] is None
    assert (taken / "corvane.learned.json").read_bytes() == before
    refused(sixdof_here(taken, "learn", "corvane", "--without", "9"), "--without 9", "there are 1, 2")


def test_undo_takes_out_what_came_in_last(taken: Path, tmp_path: Path) -> None:
    copy(taken, tmp_path)
    once = sixdof_here(tmp_path, "learn", "corvane", "--undo", "--json").json
    assert [flight["flight"] for flight in once["flights"]] == [1]
    assert sixdof_here(tmp_path, "learn", "corvane", "--undo").code == 0
    refused(sixdof_here(tmp_path, "learn", "corvane", "--undo"), "nothing was taken in")
    assert sixdof_here(tmp_path, "check", "corvane", "--no-picture", "--json").json["learned"] is None
    refused(sixdof_here(tmp_path, "learn", "corvane", "corvane-1", "--undo"), "--undo stands alone")


def test_a_file_of_the_same_name_replaces_the_one_taken_in(taken: Path, tmp_path: Path) -> None:
    copy(taken, tmp_path)
    grown = (SAMPLES / "corvane-2.yaml").read_text().replace("roll: slight left", "roll: nothing")
    (tmp_path / "corvane-2.yaml").write_text(grown)
    answer = sixdof_here(tmp_path, "learn", "corvane", "corvane-2.yaml", "--json").json
    assert len(answer["flights"]) == 2 and "roll nothing" in answer["flights"][1]["seen"]
    (tmp_path / "other.yaml").write_text(grown)
    refused(
        sixdof_here(tmp_path, "learn", "corvane", "other.yaml"),
        "other.yaml",
        "flight 2 stands in corvane-2.yaml already",
    )


def test_the_logbook(taken: Path) -> None:
    lines_fit(sixdof_here(taken, "log", "corvane", "--no-pictures"))
    whole = " ".join(sixdof_here(taken, "log", "corvane", "--all").out.split())
    assert (
        "right rudder elevator 6.5 % UP" in whole
        and "seen: right rudder: " in whole
        and "moderate to belly" in whole
    )
    [picture] = taken.glob("runs/log-corvane*/narrowing.png")
    assert picture.read_bytes()[:4] == b"\x89PNG"
    flights = sixdof_here(taken, "log", "corvane", "--no-pictures", "--json").json["flights"]
    widths = [sum(flight["within_percent"].values()) for flight in flights]
    assert widths[1] < widths[0]
    assert "log-corvane" in sixdof_here(taken, "list").out


def test_a_surprising_flight_is_said_and_moves_nothing(taken: Path, tmp_path: Path) -> None:
    copy(taken, tmp_path)
    before = sixdof_here(tmp_path, "learn", "corvane", "--json").json["ratios"]
    turned = """sixdof_notes: 1
aircraft: corvane
flights:
  - flight: 3
    helper: Mara
    wind: 2 m/s
    blends: {rudder-aileron.right: 5 % left, rudder-aileron.left: 6 % right}
    passes:
      - {maneuver: knife-edge, rudder: right, pitch: slight to belly, roll: violent right}
      - {maneuver: knife-edge, rudder: left, pitch: a hair to canopy, roll: violent left}
"""
    (tmp_path / "three.yaml").write_text(turned)
    done = sixdof_here(tmp_path, "learn", "corvane", "three.yaml")
    lines_fit(done)
    assert "fit fewer than 1 in 20 airplanes" in " ".join(done.out.split())
    assert "check side, switch, direction" in " ".join(done.out.split()) and "roll, " in done.out
    answer = sixdof_here(tmp_path, "learn", "corvane", "--json", "--out", "told").json
    assert (
        answer["ratios"] == before and not answer["flights"][2]["believed"] and len(answer["surprises"]) == 1
    )
    html = (tmp_path / "told" / "report.html").read_text(encoding="utf-8")
    assert answer["surprises"][0] in unescape(
        html.partition("<h2>What does not fit</h2>")[2].partition("<h2>")[0]
    )
    assert html.count('<circle class="hollow"') == len(answer["ratios"]), (
        "that flight has a hollow mark in each drawing"
    )


def test_notes_with_every_key_are_read(tmp_path: Path) -> None:
    airframe = load_airframe("corvane")
    (tmp_path / "all.yaml").write_text(
        WHOLE.format(sha=airframe.sha256[:12]).replace("strong to left", "strong left")
    )
    done = sixdof_here(tmp_path, "learn", "corvane", "all.yaml", "--all")
    assert done.code == 0, done
    for word in (
        "flight 7: outside loop, turn entry, resting elevator, resting aileron, resting rudder, three rolls",
        "flight 7: climbed, sank: ",
        "flight 7: the timed pass was flown at 24.4 m/s, ratios are learned for knife-edge at 27.5 m/s",
    ):
        assert word in " ".join(done.out.split())
    given = set().union(
        *(one.model_fields_set for one in read_notes(str(tmp_path / "all.yaml"), airframe).flights[0].passes)
    )
    assert set(Pass.model_fields) - given <= {"pitch", "about", "held_aileron", "roll_than_last"}


def test_csv_and_yaml_say_the_same() -> None:
    """The sample of flight 3, written as YAML by hand."""
    airframe = load_airframe("corvane")
    row = "      - {maneuver: knife-edge, rudder: %s, pitch: nothing, roll: nothing, held_elevator: %s, held_aileron: %s, rudder_share: %s}\n"
    text = (
        "aircraft: corvane\nflights:\n  - flight: 3\n    date: Sunday\n    helper: Mara\n    wind: 2 m/s\n    blends: "
        "{rudder-elevator.right: 4 % up, rudder-aileron.right: 4.5 % left, rudder-elevator.left: 4 % down, rudder-aileron.left: 6 % right}\n"
        "    passes:\n"
        + row % ("right", "1.5 % up", "0.5 % left", "50 %")
        + row % ("left", "0.5 % up", "0.5 % right", "67 %")
    )
    assert (
        notes_from(Path("three.yaml"), text.encode(), airframe).flights
        == read_notes("corvane-3.csv", airframe).flights
    )


# ---------------------------------------------------------------- bad input


BAD = [
    ("pitch: moderate to belly", "pitch: modrate to belly", "pitch", "did you mean moderate?"),
    ("pitch: moderate to belly", "pitch: moderate to the belly", "pitch", "to belly or to canopy"),
    ("pitch: moderate to belly", "pitch: moderate", "pitch", "expected a way"),
    ("pitch: nothing", "pitch: nothing to belly", "pitch", "nothing has no way"),
    ("pitch: nothing", "pitch: 3", "pitch", "expected words such as"),
    ("rudder: right ", "rudder: up ", "rudder", "expected 'right' or 'left'"),
    ("maneuver: dive", "maneuver: loop", "maneuver", "knife-edge, dive"),
    ("held_aileron: 3 % left", "held_aileron: 3 % up", "held_aileron", "does not say which way the aileron goes"),
    ("held_elevator: 3 % up", "held_elevator: 0.03", "held_elevator", "expected the stick in words"),
    ("rudder_share: 45 %", "rudder_share: 145 %", "rudder_share", "at most 100 %"),
    ("passes: 2 of 2", "passes: 3 of 2", "passes", '"2 of 2"'),
    ("travel: left to right", "travel: north", "travel", "left to right or right to left"),
    ("wind: 2 m/s", "wind: 2", "wind", "unit"),
    ("switch: on ", "switch: maybe ", "switch", "on, off"),
    ("blends: none ", "blends: {rudder-elevater.right: 3 % up} ", "blends", "rudder-elevator.right"),
    ("blends: none ", "blends: {rudder-elevator.right: 3 %} ", "blends", "does not say which way"),
    ("    blends: none ", "    # ", "blends", "this key is missing"),
    ("aircraft: corvane", "aircraft: tessel", "aircraft", "notes of tessel, not of corvane"),
    ("aircraft: corvane", "aircraft: corvane\nsha256: \"0123456789\"", "sha256", "another version of corvane's file"),
    ("aircraft: corvane", "aircraft: corvane\nrate: high", "rate", "no rate of this airplane; known here: normal, snap"),
    ("wind: 2 m/s", "resting_elevator: up", "resting_elevator", "where it rests"),
    ("wind: 2 m/s", "resting_elevator: 1 mm right", "resting_elevator", '"1 mm up" at the trailing edge, or "0.5 deg down"'),
    ("wind: 2 m/s", "resting_rudder: 90 mm left", "resting_rudder", "expected 0 to 50 mm"),
    ("wind: 2 m/s", "resting_rudder: 1 kg left", "resting_rudder", "a length or an angle with its unit"),
    ("wind: 2 m/s", "three_rolls: 0.1 s", "three_rolls", "at least 1 s"),
    ("wind: 2 m/s", "timed_pass: 4 s", "timed_pass", '"100 m in 4 s, 4.2 s back"'),
    ("wind: 2 m/s", "timed_pass: 100 m in 0.1 s, 4 s back", "timed_pass", "at least 0.5 s"),
    ("maneuver: dive ", "maneuver: inside loop ", "pitch", "a pass of inside loop does not tell this; it tells goes"),
    ("flight: 1", "flight: one", "flight", "a whole number"),
    ("        pitch: slight to canopy", "        about: lovely", "passes[2]", "says nothing"),
    ("        pitch: slight to canopy", "        roll: slight left", "roll", "does not tell this"),
    ("        pitch: slight to canopy", "        pitch: slight to canopy\n        rudder: left", "rudder", "has no side"),
    ("        rudder: right ", "        #", "passes[0]", "needs its side"),
    ("roll: moderate left", "helper_said: slight came in", "helper_said", "need the travel"),
    ("roll: moderate left", "seconds_to_45: 2 s", "seconds_to_45", "need the way it rolled"),
    ("roll: moderate left", "rol: moderate left", "rol", "did you mean roll?"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "key", "said"), BAD)
def test_bad_notes_get_one_line_with_file_line_and_key(old: str, new: str, key: str, said: str) -> None:
    text = (SAMPLES / "corvane-1.yaml").read_text()
    assert old in text
    with pytest.raises(InputError) as caught:
        notes_from(Path("bad.yaml"), text.replace(old, new, 1).encode(), load_airframe("corvane"))
    message = str(caught.value)
    assert message.startswith("bad.yaml:") and key in message and said in message, message
    line = int(message.split(":")[1])
    lines = text.replace(old, new, 1).splitlines()
    assert any(word in lines[line - 1] for word in (key.split("[")[0], "maneuver", "flight")), (
        message,
        lines[line - 1],
    )


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("aircraft,flight", "airplane,flight", "column airplane"),
        (
            "corvane,3,Sunday,Mara,2 m/s,knife-edge,left",
            "corvane,3,Sunday,Mara,2 m/s,knife-edge",
            "got 15 cells, expected 16",
        ),
        (
            "corvane,3,Sunday,Mara,2 m/s,knife-edge,left",
            "corvane,3,Monday,Mara,2 m/s,knife-edge,left",
            "date: another one",
        ),
        (
            "corvane,3,Sunday,Mara,2 m/s,knife-edge,left",
            "corvane,x,Sunday,Mara,2 m/s,knife-edge,left",
            "flight: got x",
        ),
        ("knife-edge,left,nothing", "knife-edge,left,nuthing", "did you mean nothing?"),
        ("Sunday", 'Sun"day', "4 % up"),
    ],
)
def test_bad_csv_gets_one_line(old: str, new: str, said: str) -> None:
    text = (SAMPLES / "corvane-3.csv").read_text()
    assert old in text
    try:
        found = notes_from(Path("bad.csv"), text.replace(old, new).encode(), load_airframe("corvane"))
    except InputError as error:
        assert str(error).startswith("bad.csv:") and said in str(error), error
    else:
        assert 'Sun"day' in found.flights[0].date


def test_wrong_encodings_missing_files_and_other_airplanes(tmp_path: Path) -> None:
    (tmp_path / "latin.yaml").write_bytes("aircraft: corvane\nflights: [] # sch\xf6n\n".encode("latin-1"))
    (tmp_path / "latin.csv").write_bytes(b"aircraft,flight\ncorv\xe4ne,1\n")
    (tmp_path / "empty.csv").write_bytes(b"")
    refused(sixdof_here(tmp_path, "learn", "corvane", "latin.yaml"), "latin.yaml:2", "UTF-8")
    refused(sixdof_here(tmp_path, "learn", "corvane", "latin.csv"), "latin.csv:2", "UTF-8")
    refused(sixdof_here(tmp_path, "learn", "corvane", "empty.csv"), "no passes")
    refused(sixdof_here(tmp_path, "learn", "corvane", "nowhere.yaml"), "nowhere.yaml", "cannot be read")
    refused(sixdof_here(tmp_path, "learn", "tessel", "corvane-1"), "notes of corvane, not of tessel")
    refused(sixdof_here(tmp_path, "log", "corvane"), "no notes were taken in yet")
    assert not list(tmp_path.glob("*.learned.json")) and not list(tmp_path.glob(".unfinished*"))


def test_what_was_learned_survives_a_write_that_fails(
    taken: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy(taken, tmp_path)
    before = (tmp_path / "corvane.learned.json").read_bytes()

    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(runs.Path, "replace", full)
    refused(
        sixdof_here(tmp_path, "learn", "corvane", "corvane-3.csv"),
        "No space left",
        "what was learned before is as it was",
    )
    assert (tmp_path / "corvane.learned.json").read_bytes() == before


@pytest.mark.parametrize("harm", ["cut", "numbers", "later"])
def test_a_damaged_book_is_said_in_one_line(taken: Path, tmp_path: Path, harm: str) -> None:
    path = copy(taken, tmp_path) / "corvane.learned.json"
    text = path.read_text()
    data = json.loads(text)
    data["layer"]["mean"] = [1.0]
    path.write_text(
        {
            "cut": text[:3000],
            "numbers": json.dumps(data),
            "later": text.replace('"sixdof_learned": 1', '"sixdof_learned": 2'),
        }[harm]
    )
    refused(
        sixdof_here(tmp_path, "check", "corvane", "--no-picture"),
        "corvane.learned.json",
        "learn again from your notes",
    )


def test_an_older_version_of_the_file_is_not_learned_from(taken: Path, tmp_path: Path) -> None:
    """Another version of the aircraft file: not used and said; its notes are taken over only when asked."""
    text = Path(find_airframe("corvane")).read_text()
    (tmp_path / "corvane.yaml").write_text(text)
    copy(taken, tmp_path)
    airframe = load_airframe(tmp_path / "corvane.yaml")
    assert learned.path_of(airframe) == tmp_path / "corvane.learned.json"
    (tmp_path / "corvane.yaml").write_text(text + "# repainted\n")
    done = sixdof_here(tmp_path, "check", "corvane", "--no-picture", "--json")
    assert done.json["learned"] is None and "older version of the aircraft file" in done.err
    refused(sixdof_here(tmp_path, "learn", "corvane", "corvane-3.csv"), "older version", "--keep")
    kept = sixdof_here(tmp_path, "learn", "corvane", "corvane-3.csv", "--keep", "--json").json
    assert len(kept["flights"]) == 3
    assert sixdof_here(tmp_path, "check", "corvane", "--no-picture", "--json").json["learned"]["flights"] == 3

"""What each command prints of the lopsided airplane, read as a person reads it; see ``reading``."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import reading
from commanding import Done, sixdof_here
from lopsided import FILE, airplane, throws, windows
from recomputing import about, errors_of, recomputed, slip

from sixdof.flight.trim import Trim, trim
from sixdof.physics.air import make_air

Told = tuple[Done, dict[str, Any]]
COMMANDS = {
    "tune": ("tune", FILE.name, "--airplanes", "20", "--no-pictures"),
    "fly": ("fly", FILE.name, "-m", "knife_edge", "--no-pictures"),
    "fly points": ("fly", FILE.name, "-m", "four_point_roll", "-b", "rudder-elevator.left=-3", "--no-pictures"),
    "explore": ("explore", "knife_edge", FILE.name, "--vary", "rudder-elevator.left=-8..4", "--count", "7", "--no-pictures"),
    "explore map": ("explore", "knife_edge", FILE.name, "--vary", "rudder-elevator.left=-8..4", "--vary", "cg=-6..6", "-b", "rudder-aileron.left=3", "--count", "7", "--no-pictures"),
    "explore band": ("explore", "knife_edge", FILE.name, "--vary", "rudder-aileron=-6..6", "--over", "speed=85..115", "--count", "7", "--no-pictures"),
    "explore change": ("explore", "power_off_dive", FILE.name, "--vary", "cg=-6..6", "--count", "5", "--no-pictures"),
    "remedies": ("remedies", FILE.name),
    "diagnose": ("diagnose", FILE.name),
    "check": ("check", FILE.name, "--no-picture"),
}  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A working folder with the airplane in it."""
    folder = tmp_path_factory.mktemp("reading")
    shutil.copy(FILE, folder)
    return folder


@pytest.fixture(scope="module")
def told(folder: Path) -> Callable[..., Told]:
    """A command's text, the whole of it if asked for, and its object."""
    objects: dict[str, dict[str, Any]] = {}
    texts: dict[tuple[str, bool], Done] = {}

    def run(name: str, out: str, *more: str) -> Done:
        done = sixdof_here(folder, *COMMANDS[name], *more, *(() if name == "check" else ("--out", out)))
        assert done.code == 0, done.err
        return done

    def ask(name: str, whole: bool = False) -> Told:
        out = name.replace(" ", "-")
        if (name, whole) not in texts:
            texts[name, whole] = run(name, f"{out}-all", "--all") if whole else run(name, out)
        if name not in objects:
            objects[name] = run(name, f"{out}-json", "--json").json
        return texts[name, whole], objects[name]

    return ask


@pytest.mark.parametrize("whole", [False, True], ids=["short", "whole"])
@pytest.mark.parametrize("command", COMMANDS)
def test_every_text_reads_well(told, command: str, whole: bool) -> None:
    """80 columns, nothing odd, degrees of the right side's throw, drifts that the object has, units."""
    text, found = told(command, whole)
    assert text.err == ""
    assert reading.too_wide(text.out) == []
    assert reading.wrong_letters(text.out) == []
    assert reading.wrong_degrees(text.out, throws()) == []
    assert reading.wrong_drifts(text.out, reading.drifts_of(found)) == []
    names = (
        r"^run: ",
        r"^next: ",
        r"^\W*C[A-Za-z0-9]+ [-\d]",
        r"^\W*short period [12]: ",
        r"^\W*wing 4\.45 at aspect ratio",
    )
    assert reading.without_unit(text.out, *names) == []


@pytest.mark.parametrize("command", [c for c in COMMANDS if c not in ("check", "remedies", "diagnose")])
def test_every_object_agrees_with_itself(told, command: str) -> None:
    """Percents, degrees, words, rates and points of an object."""
    assert reading.wrong_object(told(command)[1], throws(), windows) == []


@pytest.mark.parametrize("whole", [False, True], ids=["short", "whole"])
def test_tune_says_what_it_found(told, whole: bool) -> None:
    """Each ratio with its percent, word and side; every other amount beside one is a number of the object."""
    text, found = told("tune", whole)
    assert len(found["blends"]) == 8 and sum(b["percent"] != 0.0 for b in found["blends"]) >= 7
    worth = [b for b in found["blends"] if whole or abs(b["bare_degrees"]) >= 5.0]
    assert reading.unsaid(text.out, worth) == []
    assert reading.wrong_amounts(text.out, found["blends"]) == []
    said = [s for s in reading.amounts(text.out) if s.degrees is not None]
    assert len(said) >= (7 if whole else 4), "their degrees stand beside them"


def test_what_a_ratio_leaves_is_the_drift_that_it_cures(told, folder: Path) -> None:
    """Bare and blended of the term that the target moves, in the flight named, from the tracks; as printed too.

    An elevator moves the path toward canopy or belly, ailerons the roll, a rudder blend on ailerons the sideslip.
    """
    text, found = told("tune")
    term = {"elevator": "canopy", "aileron": "roll", "rudder": "sideslip"}
    with np.load(folder / "tune-json" / "tracks.npz") as tracks:
        columns = [str(name) for name in tracks["columns"]]
        for b in found["blends"]:
            maneuver, side = b["shown_by"].split(".")
            ours = [
                recomputed(
                    tracks[f"{b['shown_by']}.{kind}"], columns, maneuver, side, only=term[b["target"]]
                ).degrees
                for kind in ("bare", "blended")
            ]
            assert [b["bare_degrees"], b["left_degrees"]] == pytest.approx(ours, abs=0.01), b["words"]
            if abs(b["bare_degrees"]) < 5.0:  # no need, and only what is bare
                row = next(
                    r
                    for r in text.out.splitlines()
                    if r.startswith(f"{b['side']} {b['source']}") and b["target"] in r[15:]
                )
                assert "no need" in row and f"{abs(ours[0]):.1f}°" in row, row
                continue
            (row,) = [
                line for line in text.out.splitlines()
                if "→" in line and any((s.side, s.source, s.surface) == (b["side"], b["source"], b["target"]) for s in reading.amounts(line))
            ]  # fmt: skip
            before, after = re.findall(r"([\d.]+)→([\d.]+)°", row)[0]
            for said, value in ((before, ours[0]), (after, ours[1])):
                assert abs(float(said) - abs(value)) <= reading.half(len(said.partition(".")[2])) + 0.01, row


def test_degrees_used_are_those_of_the_rudder_flown(told, folder: Path) -> None:
    """Of a rudder blend: its degrees times the most rudder of the flights it was tuned on, from their tracks."""
    found = told("tune")[1]
    with np.load(folder / "tune-json" / "tracks.npz") as tracks:
        columns = [str(name) for name in tracks["columns"]]
        for b in found["blends"]:
            if b["source"] != "rudder" or not b["percent"]:
                continue
            sign = {"right": 1.0, "left": -1.0}[b["side"]]
            flown = [
                tracks[k]
                for k in tracks
                if k.startswith(("knife_edge", "four_point")) and k.endswith("blended")
            ]
            rudder = [
                sign * row[columns.index("command_rudder")]
                for track in flown for row in track if row[columns.index("measured")] >= 0.0
            ]  # fmt: skip
            assert b["degrees_used"] == pytest.approx(b["degrees"] * max(rudder), rel=0.03), b["words"]


@pytest.mark.parametrize("command", ["fly", "fly points"])
def test_fly_tells_errors_and_sticks_of_the_track(told, folder: Path, command: str) -> None:
    """Errors at the end of each measured phase from the attitude flown, sticks as its mean; the table rounds them."""
    text, found = told(command)
    ideals = {"fly": [(0, -90)], "fly points": [(0, 90), (0, 180), (0, 270), (0, 360)]}[command]
    rows = [re.findall(r"[-+]\d+\.\d(?!\d)", line) for line in text.out.splitlines() if line.count("°") == 4]
    assert len(rows) == len(found["phases"]) == 2 * len(ideals)
    with np.load(folder / f"{command.replace(' ', '-')}-json" / "tracks.npz") as tracks:
        columns = [str(name) for name in tracks["columns"]]
        keys = [key for key in tracks if key != "columns"]
        assert [key.split(".")[1] for key in keys] == ["right", "left"]
        printed = iter(zip(rows, found["phases"], strict=True))
        for key, sign in zip(keys, (1.0, -1.0), strict=True):
            track = [dict(zip(columns, values, strict=True)) for values in tracks[key]]
            for i, (climb, bank) in enumerate(ideals):
                at = [k for k, row in enumerate(track) if row["measured"] == i]
                ideal = about(1, climb) @ about(0, sign * bank)
                flown = [*track[at[0] : at[-1] + 1], *track[at[-1] + 1 : at[-1] + 2]]
                errors = np.array([[*errors_of(row, ideal), slip(row)] for row in flown])
                end = errors[-1] - np.array([*errors[0, :3], slip(track[0])])
                end[2] = (end[2] + 180.0) % 360.0 - 180.0
                row, phase = next(printed)
                told_errors = [phase[name] for name in ("canopy", "right_wing", "roll_right", "sideslip")]
                told_sticks = [phase[name] for name in ("aileron", "elevator", "rudder")]
                assert told_errors == pytest.approx(end, abs=0.02), (key, i)
                mean = [
                    100.0 * np.mean([track[k][f"command_{c}"] for k in at])
                    for c in ("aileron", "elevator", "rudder")
                ]
                assert told_sticks == pytest.approx(mean, abs=1.0), (key, i)  # of twelve samples
                assert [float(n) for n in row] == pytest.approx(told_errors + told_sticks, abs=0.0501), (
                    key,
                    i,
                )


def test_fly_tells_the_blends_of_the_file(told) -> None:
    """The eight amounts as the file writes them, with degrees of the side they go to."""
    said = [s for s in reading.amounts(told("fly")[0].out) if s.degrees is not None]
    found = {(s.side, s.source, s.surface): s.percent for s in said}
    assert found == {
        ("left", "rudder", "elevator"): 7.0, ("right", "rudder", "elevator"): -3.0,
        ("left", "rudder", "aileron"): 4.0, ("right", "rudder", "aileron"): -6.0,
        ("left", "aileron", "rudder"): -5.0, ("right", "aileron", "rudder"): 8.0,
        ("low", "throttle", "elevator"): -2.0, ("high", "flap", "elevator"): -9.0,
    }  # fmt: skip


def test_explore_rows_are_the_objects(told) -> None:
    """Each setting with its word, drift, rate and what it is called; the least is named once more."""
    text, found = told("explore")
    rows = re.findall(
        r"^ +([\d.]+) %(?: (UP|DOWN))? +left +([\d.]+)° +([\d.]+) +(to \w+) ", text.out, re.MULTILINE
    )
    assert len(rows) == len(found["settings"]) == 7
    for (percent, way, size, rate, words), s in zip(rows, found["settings"], strict=True):
        assert float(percent) * reading.SIGN.get(way, 0.0) == pytest.approx(s["percent"], abs=1e-9)
        assert float(size) == pytest.approx(abs(s["drift"]), abs=0.0501)
        assert float(rate) == pytest.approx(abs(s["drift"]) / 3.0, abs=0.0501), "over three seconds"
        assert s["drift"] * reading.DRIFT_SIGN[words] > 0.0
    least = min(found["settings"], key=lambda s: abs(s["drift"]))
    way = "UP" if least["percent"] > 0.0 else "DOWN"
    assert f"{abs(least['percent']):g} % {way}, {abs(least['drift']):.1f}° {least['words']}" in text.out


def test_remedies_signs_are_those_of_the_sticks(told) -> None:
    """The airplane as it is: what its steady knife-edges hold, over their rudder; and its trims."""
    found, plane = told("remedies")[1]["remedies"][0], airplane().plane
    assert found["changes"] == []
    for side, bank in (("right", -0.5 * np.pi), ("left", 0.5 * np.pi)):
        steady = trim(plane, make_air(), speed=25.0, bank=bank, height=120.0)
        for target in ("elevator", "aileron"):
            ratio = 100.0 * steady.sticks[target] / abs(steady.sticks["rudder"])
            assert found[f"{target}_{side}"] == pytest.approx(ratio, abs=0.5), (target, side)
    for channel in ("aileron", "elevator", "rudder"):
        assert found[f"trim_{channel}"] == pytest.approx(100.0 * float(plane[f"{channel}_trim"]), abs=0.01)


# ---------------------------------------------------------------- check


def surfaces_told(text: str) -> dict[str, float]:
    """Degrees of each surface in a sentence (+ down, left: ISO 1151), from percent and word by the file's throws."""
    return {
        said.surface: -0.01 * said.percent * throws()[said.surface, said.way]
        for said in reading.amounts(text)
    }


def surfaces_of(steady: Trim) -> dict[str, float]:
    """Degrees the surfaces stand at; the aileron as the mean of both panels' roll."""
    right, left, elevator, rudder = np.degrees(steady.targets[:4])
    return {"aileron": 0.5 * (right - left), "elevator": elevator, "rudder": rudder}


@pytest.mark.parametrize(
    ("start", "bank"), [("level", 0.0), ("right-rudder", -0.5 * np.pi), ("left-rudder", 0.5 * np.pi), ("inverted", np.pi)]
)  # fmt: skip
def test_steady_flights_say_where_the_surfaces_stand(told, start: str, bank: float) -> None:
    """Percent and word of each control become degrees by hand; the kernel's surfaces are at those.

    Knife-edge and inverted are told beyond the trim of level flight.
    """
    text, found = told("check")
    (line,) = [line for line in found["trim"] if line.startswith(start)]
    assert line in " ".join(text.out.split())
    plane, air = airplane().plane, make_air()
    said = surfaces_told(line)
    here = surfaces_of(trim(plane, air, speed=25.0, bank=bank, height=100.0))
    rest = (
        dict.fromkeys(here, 0.0)
        if start == "level"
        else surfaces_of(trim(plane, air, speed=25.0, height=100.0))
    )
    assert set(said) == ({"elevator"} if start == "inverted" else set(here))
    for surface, degrees in said.items():
        # a tenth of a percent of the throw was printed; trims to the other side have the other side's throw
        assert degrees == pytest.approx(
            here[surface] - rest[surface], abs=0.0006 * 40 + 0.35 * abs(rest[surface])
        ), surface
        assert abs(degrees) < 0.2 or degrees * (here[surface] - rest[surface]) > 0.0, surface


def test_trims_in_the_radio_are_told_as_the_file_has_them(told) -> None:
    (line,) = [line for line in told("check")[1]["trim"] if "in the radio" in line]
    assert {(s.surface, s.percent) for s in reading.amounts(line)} == {
        ("aileron", -2.0),
        ("elevator", 1.0),
        ("rudder", 3.0),
    }


def test_reasons_of_knife_edge_elevator_add_up(told) -> None:
    """Parts and their sum, with their words; what is small is left out."""
    lines = told("check")[1]["pitch_in_knife_edge"]
    assert len(lines) == 2
    for line in lines:
        total, *parts = re.findall(r"([\d.]+) % (up|down)", line)
        signed = [float(size) * reading.SIGN[way.upper()] for size, way in (total, *parts)]
        assert signed[0] == pytest.approx(sum(signed[1:]), abs=0.3), line


# ---------------------------------------------------------------- the other commands


def test_compare_shows_the_drifts_of_both_runs(told, folder: Path) -> None:
    """Sizes of the blended flights of one run, of the flights of the other; a dash where one flew no such maneuver."""
    (tune, _), (_, tuned), (_, flown) = told("tune"), told("tune"), told("fly")
    assert tune.code == 0
    done = sixdof_here(folder, "compare", "tune", "fly")
    assert done.code == 0 and reading.too_wide(done.out) == [] and reading.wrong_letters(done.out) == []
    rows = sixdof_here(folder, "compare", "tune", "fly", "--json").json["maneuvers"]
    assert [(r["name"], r["side"]) for r in rows] == [(m["name"], m["side"]) for m in tuned["maneuvers"]]
    for r, m in zip(rows, tuned["maneuvers"], strict=True):
        other = [
            f["drift_before"] for f in flown["maneuvers"] if (f["name"], f["side"]) == (m["name"], m["side"])
        ]
        assert r["drift"] == [m["drift_after"], other[0] if other else None]
    table = re.findall(r"^(.+?) +([\d.]+°|-) +([\d.]+°|-)$", done.out, re.MULTILINE)
    assert len(table) == len(rows)
    for (_, a, b), r in zip(table, rows, strict=True):
        for cell, drift in zip((a, b), r["drift"], strict=True):
            assert cell == "-" if drift is None else abs(float(cell[:-1]) - abs(drift)) <= 0.0501
    assert reading.unsaid(done.out, tuned["blends"]) == []
    assert reading.wrong_degrees(done.out, throws()) == []


@pytest.mark.parametrize("command", ["list", "new"])
def test_small_commands_read_well(folder: Path, command: str) -> None:
    done = sixdof_here(folder, *{"list": ["list"], "new": ["new", "plain"]}[command])
    assert done.code == 0 and done.err == ""
    assert reading.wrong_letters(done.out) == []
    if command == "new":
        assert "plain.yaml" in done.out and (folder / "plain.yaml").is_file()
        again = sixdof_here(folder, "check", "plain.yaml", "--no-picture")
        assert reading.too_wide(again.out) == []
    else:
        assert reading.too_wide(done.out) == []
        names = {m["name"] for m in sixdof_here(folder, "list", "--json").json["maneuvers"]}
        assert names >= {"knife_edge", "power_off_dive"} and all(name in done.out for name in names)


def test_validate_counts_what_it_lists(folder: Path) -> None:
    """Of several published numbers the nearest counts; a miss is further off than is allowed; the last line counts."""
    text = sixdof_here(folder, "validate", "--short")
    found = sixdof_here(folder, "validate", "--json").json
    assert text.code == 0, [line for line in text.out.splitlines() if "MISSED" in line]
    assert reading.too_wide(text.out) == [] and reading.wrong_letters(text.out) == []
    misses = 0
    for item in found["items"]:
        low, high = np.broadcast_to(item["published"], 2)
        off = item["ours"] - high if item["ours"] > high else min(item["ours"] - low, 0.0)
        assert item["difference"] == pytest.approx(off, rel=1e-9, abs=1e-12), item["item"]
        assert item["passed"] is bool(abs(off) <= item["tolerance"]), item["item"]
        assert item["passed"] or item["known"], "a miss has its reason"
        misses += abs(off) > item["tolerance"]
    n, sources = len(found["items"]), len({item["source"] for item in found["items"]})
    assert (misses, 0) == (found["known_misses"], found["missed"])
    said = f"{n} items from {sources} sources: {n - misses} agree, {misses} known misses, none unexplained"
    assert said in " ".join(text.out.split())


# ---------------------------------------------------------------- the reader itself


GOOD = " - right rudder: elevator 3 % UP (0.45°, at the rudder used in level\n   knife-edge 0.18°)\n"
BLEND = {"side": "right", "source": "rudder", "target": "elevator", "percent": 3.0}


def test_the_reader_takes_a_good_text() -> None:
    (said,) = reading.amounts(GOOD)
    assert (said.percent, said.surface, said.side, said.source, said.degrees) == (
        3.0,
        "elevator",
        "right",
        "rudder",
        "0.45",
    )
    assert reading.sentences(GOOD) == [" ".join(GOOD.split())]
    assert reading.wrong_degrees(GOOD, throws()) == reading.wrong_amounts(GOOD, [BLEND]) == []
    assert reading.unsaid(GOOD, [BLEND]) == reading.without_unit(GOOD) == []


@pytest.mark.parametrize(
    ("text", "check"),
    [
        (GOOD.replace("0.45", "0.33"), lambda t: reading.wrong_degrees(t, throws())),  # the other side's throw
        (GOOD.replace("UP", "DOWN"), lambda t: reading.wrong_degrees(t, throws())),
        (GOOD.replace("UP", "DOWN"), lambda t: reading.wrong_amounts(t, [BLEND])),
        (GOOD.replace("3 %", "2 %"), lambda t: reading.wrong_amounts(t, [BLEND])),
        (GOOD.replace("right", "left"), lambda t: reading.unsaid(t, [BLEND])),
        (GOOD.replace("0.18°", "0.18"), reading.without_unit),
        ("x" * 81, reading.too_wide),
        ("points: nan", reading.wrong_letters),
        ("level -0.0° off", reading.minus_zero),
        ("knife-edge right  20.8°   6.9  rolls left", lambda t: reading.wrong_drifts(t, [(20.8, 6.9, "rolls right")])),
        ("knife-edge right  20.8°   9.6  rolls right", lambda t: reading.wrong_drifts(t, [(20.8, 6.9, "rolls right")])),
        ("knife-edge right  20.8°   6.9  rolls right", lambda t: reading.wrong_drifts(t, [(-20.8, -6.9, "rolls right")])),
    ],
)  # fmt: skip
def test_the_reader_sees_what_is_wrong(text: str, check: Callable[[str], list[str]]) -> None:
    assert len(check(text)) == 1

"""Broken and nasty files through the command line: one line that names the file, or a right result.

Every case goes through the entry point of the command, in this process.  ``REFUSED`` tables give the
words that the line must say; ``TAKEN`` tables files that look odd and are right, and what comes of them.
"""

from __future__ import annotations

import io
import json
import math
import os
import random
import re
import shutil
import socket
import warnings
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from commanding import end, everything_in, refused, sixdof_here, start_python
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import sixdof
from sixdof.airframe.load import load_blends
from sixdof.airframe.template import new_text
from sixdof.files.errors import InputError, shown
from sixdof.flight.script import load_maneuver
from sixdof.runs import read_run

HERE = Path(__file__).parent
PLANE = (HERE.parent / "aircraft" / "corvane.yaml").read_text(encoding="utf-8")
FENLARK = (HERE.parent / "aircraft" / "fenlark.yaml").read_text(encoding="utf-8")
MANEUVERS = {
    path.stem: path.read_text(encoding="utf-8")
    for path in sorted((Path(sixdof.__file__).parent / "maneuvers").glob("*.yaml"))
}
BLENDS = (HERE / "files" / "blends.yaml").read_text(encoding="utf-8")
MOVE = "sixdof_maneuver: 1\nname: move\nsides: none\nphases:\n  - {name: level, time: 1 s, measured: true}\n"

#: How a file of each kind is given to the program; both say all they found as JSON.
COMMANDS = {
    "plane": ("check", "bad.yaml", "--no-picture", "--json"),
    "move": ("fly", "--maneuver", "bad.yaml", "--no-pictures", "--json"),
}
SOUND = {"plane": PLANE, "move": MOVE}


@pytest.fixture(scope="module", autouse=True)
def _compiled() -> None:
    """The first run of all remarks that it compiles; here no remark is allowed."""
    from sixdof.flight.fly import warm_up

    warm_up()


def strict_json(text: str) -> Any:
    """What a strict reader of JSON makes of a text: numbers that are not finite are none."""
    return json.loads(text, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))


def in_place_of(text: str, old: str, new: str) -> str:
    assert text.count(old) == 1, old
    return text.replace(old, new)


# ---------------------------------------------------------------- what no file may be

#: name -> (what the file becomes, given the text of a sound one; what the line says)
TEXTS: dict[str, tuple[Callable[[str], str | bytes], tuple[str, ...]]] = {
    "empty": (lambda t: b"", ("empty",)),
    "blank": (lambda t: "\n \n\n", ("empty",)),
    "only a remark": (lambda t: "# nothing\n", ("empty",)),
    "a word": (lambda t: "hello", ("expected a block of keys",)),
    "a number": (lambda t: "42", ("expected a block of keys",)),
    "nothing at all": (lambda t: "null", ("expected a block of keys",)),
    "a list": (lambda t: "- 1\n- 2\n", ("expected a block of keys",)),
    "an empty block": (lambda t: "{}", ("missing",)),
    "NUL inside": (lambda t: t[:40] + "\0" + t[40:], ("binary",)),
    "UTF-16": (lambda t: t.encode("utf-16"), ("binary",)),
    "UTF-32": (lambda t: t.encode("utf-32"), ("binary",)),
    "Latin-1": (lambda t: (t + "# für den Flug\n").encode("latin-1"), ("UTF-8",)),
    "a lone byte": (lambda t: t.encode() + b"\xff", ("UTF-8",)),
    "an overlong letter": (lambda t: t.encode() + b"# \xc0\xaf", ("UTF-8",)),
    "half a letter": (lambda t: t.encode() + b"# \xed\xa0\x80", ("UTF-8",)),
    "half a letter, escaped": (lambda t: t + 'more: "\\ud800"\n', ("half a character",)),
    "a bell": (lambda t: t + "# \x07\n", ("not text",)),
    "an escape sequence": (lambda t: t + "# \x1b[2J\n", ("not text",)),
    "a picture": (lambda t: b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", ("binary",)),
    "an archive": (lambda t: b"PK\x03\x04\x14\x00\x00\x00", ("binary",)),
    "10 MB": (lambda t: t + "# and so on\n" * 900_000, ("256 kB",)),
    "10 MB in one line": (lambda t: "a: " + "x" * 10_000_000, ("256 kB",)),
    "100 000 brackets": (lambda t: "[" * 100_000, ("nested deeper than 20 levels",)),
    "100 000 braces": (lambda t: "{a: " * 50_000, ("nested deeper than 20 levels",)),
    "100 000 dashes": (lambda t: "- " * 100_000, ("nested deeper than 20 levels",)),
    "deep by indenting": (lambda t: "".join(" " * i + "a:\n" for i in range(600)), ("nested deeper",)),
    "an anchor": (lambda t: t + "more: &a 3\n", ("anchor or alias",)),
    "an alias": (lambda t: t + "more: *a\n", ("anchor or alias",)),
    "a merge key": (lambda t: t + "<<: {name: other}\n", ("<<",)),
    "laughs by the billion": (
        lambda t: "a: &a [x]\n" + "".join(f"b{i}: &b{i} [*a,*a,*a]\n" for i in range(9)),
        ("anchor or alias",),
    ),
    "a tag": (lambda t: t + "more: !!float 3\n", ("tag",)),
    "a dangerous tag": (lambda t: t + "more: !!python/object/apply:os.system [ls]\n", ("tag",)),
    "a tag of binary": (lambda t: t + "more: !!binary aGk=\n", ("tag",)),
    "a directive": (lambda t: "%YAML 1.1\n---\n" + t, ("directive",)),
    "two documents": (lambda t: t + "---\n" + t, ("second document",)),
    "twice the same": (lambda t: t + t, ("already on line",)),
    "no end of a quote": (lambda t: t + 'more: "abc\n', ("not YAML",)),
    "no end of a bracket": (lambda t: t + "more: [1, 2\n", ("not YAML",)),
    "a bracket too many": (lambda t: t + "more: ]\n", ("not YAML",)),
    "a tab": (lambda t: t + "more:\n\tx: 1\n", ("not YAML", "tab")),
    "a list as a key": (lambda t: t + "? [a, b]\n: 3\n", ("expected a word",)),
    "an unknown key": (lambda t: t + "colour: red\n", ("colour", "unknown key")),
    "a key of spaces": (lambda t: t + '"   ": 3\n', ("unknown key",)),
    "a key of control characters": (lambda t: t + '"\\e[2J": 3\n', ("unknown key", "\\x1b")),
    "a key of 10 000 letters": (lambda t: t + "? " + "k" * 10_000 + "\n: 3\n", ("unknown key",)),
    "1000 unknown keys": (lambda t: t + "".join(f"k{i}: 1\n" for i in range(1000)), ("unknown key",)),
    "version 0": (lambda t: re.sub(r"(sixdof\w*): 1", r"\1: 0", t), ("sixdof", "got 0, expected")),
    "version 3": (lambda t: re.sub(r"(sixdof\w*): 1", r"\1: 3", t), ("sixdof", "got 3, expected")),
    "version true": (lambda t: re.sub(r"(sixdof\w*): 1", r"\1: true", t), ("sixdof", "got True, expected")),
    "version as text": (lambda t: re.sub(r"(sixdof\w*): 1", r'\1: "1"', t), ("sixdof", "got 1, expected")),
    "version 01": (lambda t: re.sub(r"(sixdof\w*): 1", r"\1: 01", t), ("sixdof", "leading zero")),
    "no version": (lambda t: re.sub(r"(sixdof\w*): 1.*\n", "", t), ("sixdof", "missing")),
    "a name of 100 letters": (lambda t: re.sub(r"name: \w+\n", f"name: {'n' * 100}\n", t, count=1), ("name",)),
    "a name of two lines": (lambda t: t.replace("name: ", 'name: "a\\nb" # ', 1), ("name",)),
    "a name that is none": (lambda t: re.sub(r"name: \w+\n", 'name: ""\n', t, count=1), ("name",)),
    "a name that is a number": (lambda t: re.sub(r"name: \w+\n", "name: 7\n", t, count=1), ("name",)),
    "cut in the middle": (lambda t: t[: int(len(t) * 0.6)], ("bad.yaml",)),
    "a run's result": (lambda t: '{"schema": 1, "command": "tune"}', ("schema", "unknown key")),
    "blends": (lambda t: BLENDS, ("unknown key",)),
}  # fmt: skip


@pytest.mark.parametrize("kind", COMMANDS)
@pytest.mark.parametrize("name", TEXTS)
def test_no_text_for_a_file(kind: str, name: str, tmp_path: Path) -> None:
    change, words = TEXTS[name]
    made = change(SOUND[kind])
    (tmp_path / "bad.yaml").write_bytes(made.encode() if isinstance(made, str) else made)
    before = everything_in(tmp_path)
    refused(sixdof_here(tmp_path, *COMMANDS[kind]), "bad.yaml", *words)
    assert everything_in(tmp_path) == before


def test_the_right_file_of_the_wrong_kind(tmp_path: Path) -> None:
    for kind, other in (("plane", MOVE), ("move", PLANE)):
        (tmp_path / "bad.yaml").write_text(other, encoding="utf-8")
        refused(sixdof_here(tmp_path, *COMMANDS[kind]), "bad.yaml:", "unknown key")


#: Odd and right: the same as the sound file.
SAME: dict[str, Callable[[str], str | bytes]] = {
    "two byte order marks": lambda t: b"\xef\xbb\xbf\xef\xbb\xbf" + t.encode(),
    "byte order mark": lambda t: b"\xef\xbb\xbf" + t.encode(),
    "lines of Windows": lambda t: t.replace("\n", "\r\n"),
    "lines of old": lambda t: t.replace("\n", "\r"),
    "document marks": lambda t: "---\n" + t + "...\n",
    "no line at the end": lambda t: t.rstrip("\n"),
    "blanks at the ends": lambda t: t.replace("\n", "   \n"),
    "100 kB of remarks": lambda t: t + "# and so on\n" * 8000,
    "letters of the world": lambda t: t + "# 飛行機 ✈ é\n",
}


@pytest.mark.parametrize("kind", COMMANDS)
@pytest.mark.parametrize("name", SAME)
def test_odd_and_right(kind: str, name: str, tmp_path: Path) -> None:
    results = []
    for made in (SOUND[kind], SAME[name](SOUND[kind])):
        (tmp_path / "bad.yaml").write_bytes(made.encode() if isinstance(made, str) else made)
        done = sixdof_here(tmp_path, *COMMANDS[kind])
        assert done.code == 0 and done.err == "", done
        found = strict_json(done.out)
        if kind == "move":
            run = read_run(str(tmp_path / found["run"]))
            assert [m.name for m in run.maneuvers()] == ["move"]
            kept = run.inputs["maneuvers/move.yaml"]
            assert kept.encode() == (tmp_path / "bad.yaml").read_bytes(), "the copy is the file"
        found.get("aircraft", {}).pop("sha256", None)
        results.append({k: v for k, v in found.items() if k != "run"})
    assert results[0] == results[1]


def _fifo(path: Path) -> None:
    os.mkfifo(path)


def _socket(path: Path) -> None:
    with socket.socket(socket.AF_UNIX) as end:
        end.bind(path.name)


#: What may stand where a file should be.
NO_FILES: dict[str, tuple[Callable[[Path], object], str]] = {
    "nothing": (lambda path: None, "No such file"),
    "a folder": (lambda path: path.mkdir(), "Is a directory"),
    "a pipe": (_fifo, "Not a plain file"),
    "a socket": (_socket, "cannot be read"),
    "an endless device": (lambda path: path.symlink_to("/dev/zero"), "Not a plain file"),
    "a link to itself": (lambda path: path.symlink_to(path.name), "symbolic links"),
    "a link to nowhere": (lambda path: path.symlink_to("nowhere"), "No such file"),
}


@pytest.mark.parametrize("kind", COMMANDS)
@pytest.mark.parametrize("name", NO_FILES)
def test_no_file(kind: str, name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    make, word = NO_FILES[name]
    make(tmp_path / "bad.yaml")
    refused(sixdof_here(tmp_path, *COMMANDS[kind]), "bad.yaml: cannot be read", word)


#: Runs commands on a file that is not there, which imports what they need, then on one that may not be read, as a
#: user who owns nothing.
UNREADABLE = """
import json, os, sys
from sixdof.cli import main

def run(words):
    sys.argv = ["sixdof", *words]
    try:
        main()
    except SystemExit as end:
        return end.code

commands = json.loads(sys.argv[1])
for words in commands:
    run(words)
os.close(os.open("bad.yaml", os.O_CREAT | os.O_WRONLY, 0))
if os.geteuid() == 0:
    os.chmod(".", 0o755)
    os.seteuid(65534)
print("now", file=sys.stderr)
print([run(words) for words in commands])
"""


def test_no_leave_to_read(tmp_path: Path) -> None:
    done = end(start_python(tmp_path, UNREADABLE, json.dumps(list(COMMANDS.values()))))
    lines = done.err.partition("now\n")[2].splitlines()
    assert json.loads(done.out) == [2] * len(COMMANDS), done
    for line in lines:
        assert line.startswith("sixdof: bad.yaml: cannot be read: Permission denied"), done.err
    assert len(lines) == len(COMMANDS)


def test_a_list_with_bad_files_among_the_airplanes(tmp_path: Path) -> None:
    """`list` says what is wrong with each and lists the others."""
    (tmp_path / "aircraft").mkdir()
    os.mkfifo(tmp_path / "aircraft" / "pipe.yaml")
    (tmp_path / "aircraft" / "bytes.yaml").write_bytes(b"\xff\xfe")
    (tmp_path / "aircraft" / "cunning.yaml").write_text('about: "[/bold] \\e[2J :smile:"\n')
    done = sixdof_here(tmp_path, "list", "--json")
    about = {row["name"]: row["about"] for row in done.json["aircraft"]}
    assert done.code == 0 and "corvane" in about
    assert "Not a plain file" in about["pipe"] and "UTF-8" in about["bytes"]
    assert sixdof_here(tmp_path, "list").out.count("[/bold] \\x1b[2J :smile:") == 1


# ---------------------------------------------------------------- values

TOTAL = "total: 4.7 kg"
#: what may be written for the mass -> what the line says beside mass.total
WRITTEN: dict[str, str] = {
    "4,7 kg": "decimal comma", "−4.7 kg": "minus sign", "–4.7 kg": "minus sign", "４.７ kg": "digits",
    "٤ kg": "digits", "4.7 m": "another kind of value", "4.7 kgs": "unknown unit", "4.7 KG": "write the unit as kg",
    "NaN kg": "finite", "-inf kg": "finite", "1e999 kg": "finite", "1e308 kg": "expected at most",
    "-4.7 kg": "more than 0 kg", "0 kg": "more than 0 kg", "-0 kg": "more than 0 kg", "1e-999 kg": "more than 0 kg",
    "4.7": "without a unit", "4 700 g": "4 700 g", "4'700 g": "4'700 g", "0x10 kg": "0x10 kg",
    "1_000 g": "1_000 g", "4.7 kg kg": "4.7 kg kg", "4 lb 17 oz": "0 to 16 oz", "4.7 kg 3 g": "two numbers",
    "[4.7 kg]": "got", "{a: 1}": "got", "": "got", "null": "got", "true": "got", "2026-11-25": "got",
    "1:30 kg": "got", "010 kg": "", "4.7e kg": "unknown unit", "kg": "got", "kg 4.7": "got", "4.7 °": "another kind",
    '"\\0 kg"': "got", '"4.7 kg\\n"': "", "9" * 400 + " kg": "got", ".nan": "finite", "0777": "leading zero",
    "9999999999999999999": "18 digits", "|\n    4.7 kg\n    and more": "", "4.7\u00a0kg": "", "4.7 k\u200bg": "unknown unit",
}  # fmt: skip
#: those of them that are the same mass, written oddly; the others are refused
RIGHT_MASS = {'"4.7 kg\\n"': 4.7, "010 kg": 10.0, "4.7\u00a0kg": 4.7}


@pytest.mark.parametrize("text", [t for t in WRITTEN if t not in RIGHT_MASS])
def test_no_mass(text: str, tmp_path: Path) -> None:
    made = in_place_of(PLANE, TOTAL, f"total: {text}")
    (tmp_path / "bad.yaml").write_text(made, encoding="utf-8")
    refused(sixdof_here(tmp_path, *COMMANDS["plane"]), "bad.yaml:16: mass.total", WRITTEN[text])


@pytest.mark.parametrize("text", ["4700 g", "+4.7 kg", "4.7e0 kg", "47.e-1 kg", "  4.7   kg ", *RIGHT_MASS])
def test_a_mass_written_oddly(text: str, tmp_path: Path) -> None:
    from sixdof.airframe.load import load_airframe

    path = tmp_path / "odd.yaml"
    path.write_text(in_place_of(PLANE, TOTAL, f"total: {text}"), encoding="utf-8")
    assert load_airframe(path).mass.m == pytest.approx(RIGHT_MASS.get(text, 4.7), rel=1e-12)


# ---------------------------------------------------------------- airplanes

WING = "- {span: 1000 mm, root_chord: 385 mm, tip_chord: 215 mm, sweep: 120 mm, dihedral: 1 deg}"
TAIL = "root: {aft: 1440 mm, up: 15 mm}"
[CG] = re.findall(r"cg: \{.*?\}", PLANE)
[CRUISE] = re.findall(r"cruise: .*?(?=,)", FENLARK)
NO_BLENDS = "blends: []"
BLEND = '{{source: rudder, target: elevator, left: "3 % up", name: b{}, after: [{}]}}'


def blends(count: int, after: Callable[[int], str] = lambda i: "") -> str:
    return "blends: [" + ", ".join(BLEND.format(i, after(i)) for i in range(count)) + "]"


def panels(*sizes: str) -> str:
    """Panels of "span dihedral", in mm and deg."""
    lines = [
        f"- {{span: {span} mm, root_chord: 215 mm, tip_chord: 215 mm, dihedral: {dihedral} deg}}"
        for span, dihedral in map(str.split, sizes)
    ]
    return "\n    ".join(lines)


#: name -> (a piece of the sound file, what stands there instead, what the line says)
PLANES: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "negative span": ("span: 1000 mm", "span: -1000 mm", ("wing.panels[0].span",)),
    "no span": ("span: 1000 mm", "span: 0 mm", ("wing.panels[0].span",)),
    "no chord": ("root_chord: 385 mm", "root_chord: 0 mm", ("wing.panels[0].root_chord",)),
    "negative chord": ("tip_chord: 215 mm", "tip_chord: -215 mm", ("wing.panels[0].tip_chord",)),
    "upright wing": ("dihedral: 1 deg", "dihedral: 90 deg", ("wing.panels[0].dihedral", "make the dihedral smaller")),
    "no panels": (f"panels:\n    {WING}", "panels: []", ("wing.panels",)),
    "1000 panels": (f"    {WING}\n", f"    {WING}\n" * 1000, ("wing.panels",)),
    "tail in the wing": (TAIL, "root: {aft: 640 mm, up: -35 mm}", ("tailplane",)),
    "tail ahead of the wing": (TAIL, "root: {aft: 100 mm, up: 15 mm}", ("tailplane", "behind the wing")),
    "fin ahead of the wing": ("root: {aft: 1400 mm, up: 60 mm}", "root: {aft: 10 mm, up: 60 mm}", ("fin",)),
    "wing a kilometer away": ("root: {aft: 500 mm", "root: {aft: 1001 m", ("wing.root.aft", "1000 m")),
    "aileron beyond the wing": ("outboard: 970 mm", "outboard: 1970 mm", ("controls.aileron.outboard",)),
    "aileron turned round": ("inboard: 130 mm, outboard: 970 mm", "inboard: 970 mm, outboard: 130 mm",
                             ("controls.aileron.outboard", "swap")),
    "rudder wider than the fin": ("rudder: {chord: 180 mm", "rudder: {chord: 480 mm", ("controls.rudder.chord",)),
    "no blades": ("blades: 2", "blades: 0", ("propeller.blades",)),
    "half a blade": ("blades: 2", "blades: 2.5", ("propeller.blades", "whole number")),
    "100 blades": ("blades: 2", "blades: 100", ("propeller.blades",)),
    "turns as one likes": ("turns: clockwise", "turns: both", ("propeller.turns", "clockwise")),
    "a motor of steam": ("kind: electric", "kind: steam", ("motor.kind", "electric")),
    "a motor beyond numbers": ("static_speed: 5900 rpm", "static_speed: 1e300 rpm", ("motor.static_speed", "most")),
    "a motor of no power": ("static_power: 2.2 kW", "static_power: 1e-300 W", ("motor.static_power", "least")),
    "standing motor": ("static_speed: 5900 rpm", "static_speed: 0 rpm", ("motor.static_speed",)),
    "throw beyond all": ("aileron: {up: 18 deg", "aileron: {up: 98 deg", ("rates.normal.aileron.up",)),
    "no throw": ("elevator: {up: 13 deg", "elevator: {up: 0 deg", ("rates.normal.elevator.up",)),
    "throw as a percent": ("elevator: {up: 13 deg", "elevator: {up: 13 %", ("rates.normal.elevator.up", "share")),
    "rates without a rate": (PLANE[PLANE.index("rates:") : PLANE.index("# As seen at")], "rates: {}\n", ("rates",)),
    "body of one station": (PLANE[PLANE.index("  - {aft: 150 mm, top") : PLANE.index("# Movable")], "", ("body",)),
    "body upside down": ("top: 215 mm, bottom: -165 mm", "top: -215 mm, bottom: 165 mm", ("body[3]",)),
    "body running back": ("aft: 750 mm, top", "aft: 150 mm, top", ("body[3]",)),
    "body without width": ("bottom: -165 mm, width: 150 mm", "bottom: -165 mm, width: -1 mm", ("body[3].width",)),
    "stall above cruise": ("stall: 11.5 m/s", "stall: 40 m/s", ("speeds",)),
    "never exceed below cruise": ("never_exceed: 55 m/s", "never_exceed: 5 m/s", ("speeds.never_exceed",)),
    "speed of light": ("stall: 11.5 m/s", "stall: 3e8 m/s", ("speeds",)),
    "wait without end": ("there: 2.5 s", "there: 1e9 s", ("speeds.full_throttle.there",)),
    "no load": ("g_positive: 10 g", "g_positive: 0 g", ("limits.g_positive",)),
    "negative load": ("g_negative: 8 g", "g_negative: -8 g", ("limits.g_negative",)),
    "no frame": ("frame: 20 ms", "frame: 0 ms", ("radio.frame",)),
    "a frame of an hour": ("frame: 20 ms", "frame: 1 h", ("radio.frame",)),
    "mode 5": ("stick_mode: 2", "stick_mode: 5", ("radio.stick_mode",)),
    "aft and up swapped for numbers": (CG, "cg: [672 mm, -10 mm]", ("mass.cg",)),
    "impossible inertia": ("Izz: 0.86 kg m2", "Izz: 86 kg m2", ("mass",)),
    "folded over": (WING, panels("500 80", "500 -80"), ("wing.panels[0].dihedral", "make the dihedral smaller")),
    "swept by 3 m": ("sweep: 120 mm", "sweep: 3000 mm", ("tailplane", "behind the wing")),
    "the wing a meter up and right": ("root: {aft: 500 mm", "root: {right: 1 m, aft: 500 mm", ("wing.root.right", "center line")),
    "two stations at one place": ("aft: 750 mm, top", "aft: 150 mm, top", ("body[3].aft", "nose to tail")),
    "1 gram": (TOTAL, "total: 1 g", ("mass.total", "so light that its path answers within")),
    "10 tonnes": (TOTAL, "total: 10000 kg", ("mass.total", "no steady level flight")),
    "kilograms for grams": (TOTAL, "total: 4700 kg", ("mass.total", "no steady level flight")),
    "wing stalled as it stands": ("incidence: 0.3 deg", "incidence: 30 deg", ("wing", "stalls")),
    "blend to itself": (NO_BLENDS, 'blends: [{source: rudder, target: rudder, left: "3 % left"}]', ("itself",)),
    "blend from nowhere": (NO_BLENDS, 'blends: [{source: gear, target: rudder, up: "3 % left"}]', ("source",)),
    "blend the wrong way": (NO_BLENDS, 'blends: [{source: rudder, target: elevator, left: "3 % left"}]', ("left",)),
    "blend without amount": (NO_BLENDS, "blends: [{source: rudder, target: elevator}]", ("no amount",)),
    "blend as a number": (NO_BLENDS, "blends: [{source: rudder, target: elevator, left: 3}]", ("left", "expected text")),
    "blend of a million": (NO_BLENDS, 'blends: [{source: rudder, target: elevator, left: "1e6 % up"}]', ("left",)),
    "blend of NaN": (NO_BLENDS, 'blends: [{source: rudder, target: elevator, left: "nan % up"}]', ("left",)),
    "blend after itself": (NO_BLENDS, blends(1, lambda i: "b0"), ("loop",)),
    "two in a loop": (NO_BLENDS, blends(2, lambda i: f"b{1 - i}"), ("loop",)),
    "fifty in a loop": (NO_BLENDS, blends(50, lambda i: f"b{(i + 1) % 50}"), ("loop",)),
    "after nobody": (NO_BLENDS, blends(2, lambda i: "b7"), ("b7", "after")),
    "twice the same blend": (NO_BLENDS, blends(1)[:-1] + ", " + blends(1)[9:], ("b0",)),
    "101 blends": (NO_BLENDS, blends(101), ("radio.blends", "at most 100")),
    "blends in a block": (NO_BLENDS, "blends: {a: 1}", ("radio.blends",)),
    "curve that runs back": (NO_BLENDS, 'blends: [{source: rudder, target: elevator, curve: '
                             '[[50 %, "0 % up"], [-50 %, "3 % up"]]}]', ("curve",)),
    "curve of one point": (NO_BLENDS, 'blends: [{source: rudder, target: elevator, curve: [[0 %, "0 % up"]]}]',
                           ("curve",)),
}  # fmt: skip


@pytest.mark.parametrize("name", PLANES)
def test_no_airplane(name: str, tmp_path: Path) -> None:
    old, new, words = PLANES[name]
    (tmp_path / "bad.yaml").write_text(in_place_of(PLANE, old, new), encoding="utf-8")
    before = everything_in(tmp_path)
    refused(sixdof_here(tmp_path, *COMMANDS["plane"]), "bad.yaml:", *words)
    assert everything_in(tmp_path) == before


#: A file of ruler, scale and stopwatch with all its optional lines, as `new` writes it.
MEASURED = in_place_of(new_text("bad").replace("#> ", ""), "cg: {aft: 466 mm, up: 0 mm}", "cg: {aft: 466 mm}")
#: as above, of the measured file
MEASUREMENTS: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "a tab for two blanks": ("  total: 1900 g", "\ttotal: 1900 g", ("not YAML", "tab")),
    "grams for kilograms": ("total: 1900 g", "total: 1900 kg", ("mass.total", "no steady level flight")),
    "hung at the CG": ("aft: 1280 mm, up: 40 mm, crosses", "aft: 466 mm, up: 0 mm, crosses", ("mass.hang",)),
    "hung on the line": ("aft: 1280 mm, up: 40 mm, crosses", "aft: 1280 mm, up: 0 mm, crosses", ("mass.hang.up",)),
    "hung without a mark": (", crosses: 466 mm}", "}", ("mass.hang.crosses", "missing")),
    "hung a kilometer up": ("aft: 1280 mm, up: 40 mm, crosses", "aft: 1280 mm, up: 2 km, crosses", ("mass.hang.up", "km")),
    "hung, and the height too": ("cg: {aft: 466 mm}", "cg: {aft: 466 mm, up: 3 mm}", ("mass.hang",)),
    "balanced on the line": ("at: 700 mm, side", "at: 0 mm, side", ("mass.balance.at",)),
    "balanced by nothing": ("weight: 5 g", "weight: 0 g", ("mass.balance.weight",)),
    "balanced by itself": ("weight: 5 g", "weight: 1900 g", ("speeds.cruise", "no steady level flight")),
    "balanced, and the place too": ("cg: {aft: 466 mm}", "cg: {aft: 466 mm, right: 3 mm}", ("mass.balance",)),
    "balanced on both sides": ("side: right}", "side: both}", ("mass.balance.side", "right")),
    "no swing": ("ten_swings: 24.0 s", "ten_swings: 0 s", ("mass.Ixx.ten_swings",)),
    "a swing of an hour": ("ten_swings: 24.0 s", "ten_swings: 1 h", ("mass.Ixx.ten_swings", "h")),
    "one swing for ten": ("ten_swings: 26.0 s", "ten_swings: 2.6 s", ("mass",)),
    "wires that meet": ("{wires_apart: 400 mm", "{wires_apart: 0 mm", ("mass.Ixx.wires_apart",)),
    "wires of no length": ("{wires_apart: 400 mm, wire_length: 1500 mm", "{wires_apart: 400 mm, wire_length: 0 mm",
                           ("mass.Ixx.wire_length",)),
    "wires left of each other": ("{wires_apart: 400 mm", "{wires_apart: -400 mm", ("mass.Ixx.wires_apart",)),
    "a swing and a number": ("{wires_apart: 400 mm,", "{value: 0.1 kg m2, wires_apart: 400 mm,", ("mass.Ixx", "value")),
    "a swing in a list": ("Ixx: {wires_apart: 400 mm, wire_length: 1500 mm, ten_swings: 24.0 s}",
                          "Ixx: [400 mm, 1500 mm, 24.0 s]", ("mass.Ixx",)),
    "passed in no time": ("there: 10.4 s", "there: 0 s", ("speeds.cruise.there",)),
    "passed in no time back": ("back: 9.6 s", "back: -9.6 s", ("speeds.cruise.back",)),
    "a course of no length": ("cruise: {distance: 200 m", "cruise: {distance: 0 m", ("speeds.cruise.distance",)),
    "a course around the world": ("cruise: {distance: 200 m", "cruise: {distance: 40000 km", ("speeds.cruise.distance", "km")),
    "one pass": (", back: 9.6 s}", "}", ("speeds.cruise.back", "missing")),
    "full throttle in a list": ("full_throttle: {distance: 200 m, there: 7.0 s, back: 6.6 s}",
                                "full_throttle: [7.0 s, 6.6 s]", ("speeds.full_throttle",)),
    "slower at full throttle": ("there: 7.0 s", "there: 70 s", ("speeds.full_throttle", "below the cruise")),
    "pulls nothing": ("static_thrust: 34 N", "static_thrust: 0 N", ("motor.static_thrust",)),
    "pulls a train": ("static_thrust: 34 N", "static_thrust: 1e9 N", ("motor.static_thrust", "most")),
    "camber and zero lift": ("camber: 0 %}", "camber: 0 %, zero_lift: -2 deg}", ("wing.section",)),
    "thicker than long": ("thickness: 13 %", "thickness: 130 %", ("wing.section.thickness",)),
    "hinged less than thrown": ("hinge: 35 deg", "hinge: 1 deg", ("rates", "hinge")),
    "a servo for nothing": ("  rudder: {slop: 0.1 deg}", "  gear: {slop: 0.1 deg}", ("servos.gear", "unknown key")),
    "a servo that stands": ("all: {rate: 300 deg/s", "all: {rate: 0 deg/s", ("servos.all.rate",)),
    "a name of the template": ('name: "bad"', 'name: "<name>', ("not YAML",)),
    "an arrow left in": ("total: 1900 g", "total: <1900 g>", ("mass.total",)),
    "a remark taken for a line": ("    #> hinge: 35 deg".replace("#> ", ""), "    > hinge: 35 deg", ("not YAML",)),
}  # fmt: skip


@pytest.mark.parametrize("name", MEASUREMENTS)
def test_no_measured_airplane(name: str, tmp_path: Path) -> None:
    old, new, words = MEASUREMENTS[name]
    (tmp_path / "bad.yaml").write_text(in_place_of(MEASURED, old, new), encoding="utf-8")
    before = everything_in(tmp_path)
    refused(sixdof_here(tmp_path, *COMMANDS["plane"]), "bad.yaml:", *words)
    assert everything_in(tmp_path) == before


def test_a_cruise_beyond_full_throttle_says_what_it_takes(tmp_path: Path) -> None:
    """The range of speeds that it flies level at is told, and by how much the throttle is short."""
    made = in_place_of(FENLARK, CRUISE, "cruise: 34 m/s")
    (tmp_path / "bad.yaml").write_text(made, encoding="utf-8")
    refused(
        sixdof_here(tmp_path, *COMMANDS["plane"]),
        ": speeds.cruise: no steady level flight at 34.0 m/s, which takes 1",
        "% of throttle; this airplane flies level from",
    )
    (tmp_path / "bad.yaml").write_text(in_place_of(FENLARK, CRUISE, "cruise: 31 m/s"), encoding="utf-8")
    assert sixdof_here(tmp_path, *COMMANDS["plane"]).code == 0


#: Absurd and legal, or surfaces in each other: name -> (sound file, piece, what stands there, what a warning says)
LEGAL: dict[str, tuple[str, str, str, str]] = {
    "flown at 2000 m/s": (PLANE, "there: 2.5 s, back: 2.7 s", "there: 50 ms, back: 50 ms", "full_throttle"),
    "a small propeller": (PLANE, "diameter: 20.5 in", "diameter: 140 mm", "does not go with the propeller"),
    "no sweep, no dihedral": (PLANE, "sweep: 120 mm, dihedral: 1 deg", "sweep: 0 mm, dihedral: 0 deg", "invented"),
    "a chain of 60 blends": (PLANE, NO_BLENDS, blends(60, lambda i: f"b{i - 1}" if i else ""), "invented"),
    "a wing of two thick gulls": (PLANE, WING, panels("500 60", "500 -60"), "invented"),
    "a panel of a hundredth": (PLANE, WING, f"{WING}\n    {panels('0.01 0')}", "invented"),
    "a tip without chord": (PLANE, "tip_chord: 215 mm", "tip_chord: 0.01 mm", "of the mean chord"),
    "tail at the wing's edge": (PLANE, TAIL, "root: {aft: 886 mm, up: -35 mm}", "tailplane.root.aft"),
    "fin in the wing": (PLANE, "root: {aft: 1400 mm, up: 60 mm}", "root: {aft: 600 mm, up: -40 mm}", "fin.root.aft"),
    "pulls tenfold": (MEASURED, "static_thrust: 34 N", "static_thrust: 340 N", "full_throttle"),
    "pitch for inches of inches": (MEASURED, "pitch: 7 in", "pitch: 70 in", "full_throttle"),
    "hung far behind": (MEASURED, "crosses: 466 mm", "crosses: 1400 mm", "mass.cg.up"),
}  # fmt: skip


@pytest.mark.parametrize("name", LEGAL)
def test_absurd_and_legal(name: str, tmp_path: Path) -> None:
    """It is checked, and a warning says what is odd; nothing in it is not a number."""
    plane, old, new, warning = LEGAL[name]
    (tmp_path / "bad.yaml").write_text(in_place_of(plane, old, new), encoding="utf-8")
    done = sixdof_here(tmp_path, *COMMANDS["plane"])
    assert done.code == 0 and done.err == "", done
    found = strict_json(done.out)
    assert any(warning in line for line in found["warnings"]), found["warnings"]


# ---------------------------------------------------------------- maneuvers

ONE = "  - {name: level, time: 1 s, measured: true}\n"
#: name -> (a piece of the sound maneuver, what stands there instead, what the line says)
MOVES: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "1000 phases": (ONE, ONE * 1000, ("phases", "at most 20")),
    "five measured": (ONE, ONE * 5, ("phases", "1 to 4")),
    "no time": ("time: 1 s", "time: 0 s", ("phases[0].time",)),
    "time back": ("time: 1 s", "time: -1 s", ("phases[0].time",)),
    "an hour": ("time: 1 s", "time: 1 h", ("phases[0].time",)),
    "61 s": ("time: 1 s", "time: 61 s", ("phases[0].time", "60 s")),
    "time in meters": ("time: 1 s", "time: 1 m", ("phases[0].time", "length")),
    "time with a comma": ("time: 1 s", 'time: "1,5 s"', ("phases[0].time", "decimal comma")),
    "never": ("time: 1 s", "time: nan s", ("phases[0].time",)),
    "for ever": ("time: 1 s", "time: inf s", ("phases[0].time",)),
    "bank without unit": ("time: 1 s", "time: 1 s, bank: 90", ("bank", "unit")),
    "bank beyond numbers": ("time: 1 s", "time: 1 s, bank: 1e400 deg", ("bank", "finite")),
    "no bank rate": ("time: 1 s", "time: 1 s, bank_rate: 0 deg/s", ("bank_rate",)),
    "infinite climb rate": ("time: 1 s", "time: 1 s, climb_rate: 1e9 deg/s", ("climb_rate",)),
    "underground": ("sides: none", "sides: none\nheight: -1 m", ("height",)),
    "in space": ("sides: none", "sides: none\nheight: 100000 m", ("height",)),
    "faster than all": ("sides: none", "sides: none\nspeed: 1000 %", ("speed",)),
    "standing still": ("sides: none", "sides: none\nspeed: 0 %", ("speed",)),
    "flown no way": ("sides: none", "sides: none\nflown: []", ("flown",)),
    "flown another way": ("sides: none", "sides: none\nflown: [sideways]", ("flown",)),
    "no errors": ("measured: true", "measured: true, errors: []", ("errors",)),
    "unknown error": ("measured: true", "measured: true, errors: [pitch]", ("errors",)),
    "unknown stick": ("measured: true", "measured: true, sticks: {gear: free}", ("gear",)),
    "stick of no size": ("measured: true", "measured: true, sticks: {rudder: nan %}", ("rudder",)),
    "stick too far": ("measured: true", "measured: true, sticks: {rudder: 1e3 %}", ("rudder",)),
    "sticks in a list": ("measured: true", "measured: true, sticks: [free]", ("sticks",)),
    "measured by a word": ("measured: true", "measured: perhaps", ("measured",)),
    "sides of the moon": ("sides: none", "sides: dark", ("sides",)),
    "name out of the folder": ("name: move", 'name: "../../move"', ("name",)),
    "phases in a block": ("phases:\n" + ONE, "phases: {a: 1}\n", ("phases",)),
    "phases of nothing": ("phases:\n" + ONE, "phases: [null]\n", ("phases[0]",)),
}  # fmt: skip


@pytest.mark.parametrize("name", MOVES)
def test_no_maneuver(name: str, tmp_path: Path) -> None:
    old, new, words = MOVES[name]
    (tmp_path / "bad.yaml").write_text(in_place_of(MOVE, old, new), encoding="utf-8")
    before = everything_in(tmp_path)
    refused(sixdof_here(tmp_path, *COMMANDS["move"]), "bad.yaml:", *words)
    assert everything_in(tmp_path) == before


@pytest.mark.parametrize(
    ("time", "rest", "seconds"),
    [("1e-300 s", "", 0.02), ("1 ms", "", 0.02), ("1 s", ", bank: 1e300 deg", 1.0)],
)
def test_a_maneuver_of_no_time_and_one_of_many_turns(
    time: str, rest: str, seconds: float, tmp_path: Path
) -> None:
    """Legal: it ends, its run is read again, and its track is as long as its phases."""
    (tmp_path / "bad.yaml").write_text(
        in_place_of(MOVE, "time: 1 s", f"time: {time}{rest}"), encoding="utf-8"
    )
    done = sixdof_here(tmp_path, *COMMANDS["move"])
    assert done.code == 0 and done.err == "", done
    [track] = read_run(str(tmp_path / strict_json(done.out)["run"])).tracks().values()
    assert len(track.values) <= seconds / 0.02 + 2


def test_a_maneuver_that_changes_while_it_is_flown_is_kept_as_it_was_flown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from sixdof.study import ask

    path = tmp_path / "bad.yaml"
    path.write_text(MOVE, encoding="utf-8")
    flown = ask.fly_batch

    def meanwhile(*args: Any, **more: Any) -> Any:
        path.write_text(MOVE.replace("1 s", "2 s"), encoding="utf-8")
        return flown(*args, **more)

    monkeypatch.setattr(ask, "fly_batch", meanwhile)
    done = sixdof_here(tmp_path, *COMMANDS["move"])
    assert path.read_text(encoding="utf-8") != MOVE
    assert read_run(str(tmp_path / done.json["run"])).inputs["maneuvers/move.yaml"] == MOVE


NAMES = [
    "a[/b] [red]x",
    ":smile:",
    "$\\frac{$",
    "%s %(a)s {0}",
    "'; rm -rf ~",
    "..",
    "-rf",
    "飛行機" * 26,
    "‮abc",
]


@pytest.mark.parametrize("name", NAMES)
def test_any_name_of_an_airplane_is_printed(name: str, tmp_path: Path) -> None:
    made = in_place_of(PLANE, "name: corvane\n", f"name: {json.dumps(name)}\n")
    (tmp_path / "bad.yaml").write_text(made, encoding="utf-8")
    done = sixdof_here(tmp_path, "fly", "./bad.yaml", "--no-pictures")
    assert done.code == 0 and done.err == "", done
    assert done.out.replace("\n", "").startswith(shown(name)[:40]), done.out[:200]
    [run] = (tmp_path / "runs").iterdir()
    assert read_run(str(run)).airframe().name == name
    assert sixdof_here(tmp_path, "compare", str(run), str(run)).code == 0


@pytest.mark.parametrize("out", ["o[/x]", "o :smile:", "a b", "-o", "ü✈"])
def test_any_name_of_a_run(out: str, tmp_path: Path) -> None:
    (tmp_path / "bad.yaml").write_text(MOVE, encoding="utf-8")
    done = sixdof_here(tmp_path, "fly", "-m", "bad.yaml", "--no-pictures", f"--out={out}")
    assert done.code == 0 and f"run: {out}" in done.out, done
    assert read_run(str(tmp_path / out)).tracks()


# ---------------------------------------------------------------- systematic slips

SPOTS = re.compile(r"(?<=[\s{:])-?[0-9][0-9.]*(?= ?(mm|kg|in|deg|rpm|N|kW|m/s|ms|%|s|m|g)\b)")


def slips(text: str, count: int, seed: int) -> list[str]:
    """So many seeded slips in a text: values scaled, lines lost, doubled, swapped, letters lost, cuts."""
    draw, made = random.Random(seed), []
    while len(made) < count:
        lines = text.split("\n")
        spot = draw.choice([m for m in SPOTS.finditer(text)])
        i, at = draw.randrange(len(lines) - 1), draw.randrange(len(text) - 1)
        new = draw.choice(
            ["0", "-1", "1e-9", "1e9", "1e300", f"-{spot[0]}", f"{spot[0]}0", f"0.0{spot[0]}", "1,5"]
        )
        made.append(
            draw.choice(
                [
                    text[: spot.start()] + new + text[spot.end() :],
                    text[: spot.start()] + new + text[spot.end() :],
                    "\n".join(lines[:i] + lines[i + 1 :]),
                    "\n".join(lines[: i + 1] + lines[i:]),
                    "\n".join([*lines[:i], lines[i + 1], lines[i], *lines[i + 2 :]]),
                    text[:at] + text[at + 1 :],
                    text[:at] + draw.choice("\t:{}[],&*!|>%@`'\"#- \u2212\u00a0\x85é") + text[at:],
                    text[:at],
                ]
            )
        )
    return made


def through_the_command(kind: str, text: str, folder: Path) -> int:
    """The exit code; fails unless the file is refused in one line or gives strict JSON and no remark."""
    (folder / "bad.yaml").write_text(text, encoding="utf-8", newline="")
    with warnings.catch_warnings():
        warnings.simplefilter("error", RuntimeWarning)
        done = sixdof_here(folder, *COMMANDS[kind])
    if done.code:
        refused(done, "bad.yaml")
        assert [path.name for path in folder.iterdir()] == ["bad.yaml"]
    else:
        assert done.err == ""
        found = strict_json(done.out)
        if "run" in found:
            read_run(str(folder / found["run"])).tracks()
            shutil.rmtree(folder / "runs")
    return done.code


@pytest.mark.parametrize(("plane", "seed"), [(PLANE, 1), (FENLARK, 2)], ids=["corvane", "fenlark"])
def test_slips_in_an_airplane(plane: str, seed: int, tmp_path: Path) -> None:
    codes = [through_the_command("plane", text, tmp_path) for text in slips(plane, 20, seed)]
    assert set(codes) == {0, 2}, "some fly, some are refused"


@pytest.mark.parametrize("name", MANEUVERS)
def test_slips_in_a_maneuver(name: str, tmp_path: Path) -> None:
    for text in slips(MANEUVERS[name], 5, len(name)):
        through_the_command("move", text, tmp_path)


@pytest.mark.study
def test_many_slips(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    codes: dict[str, list[int]] = {"plane": [], "move": []}
    for seed, text in enumerate((PLANE, FENLARK)):
        codes["plane"] += [through_the_command("plane", t, tmp_path) for t in slips(text, 600, 100 + seed)]
    for seed, text in enumerate(MANEUVERS.values()):
        codes["move"] += [through_the_command("move", t, tmp_path) for t in slips(text, 120, 200 + seed)]
    tables = (TEXTS, TEXTS, NO_FILES, NO_FILES, WRITTEN, PLANES, MEASUREMENTS, MOVES, RUNS)
    with capsys.disabled():
        print(f"\nbroken files in the tables of this module: {sum(map(len, tables))}")
        for kind, found in codes.items():
            print(f"\n{kind}: {len(found)} slips, {found.count(2)} refused in a line, {found.count(0)} flown")


# ---------------------------------------------------------------- runs


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A real run with a small maneuver."""
    folder = tmp_path_factory.mktemp("whole")
    (folder / "move.yaml").write_text(MOVE, encoding="utf-8")
    done = sixdof_here(folder, "fly", "-m", "move.yaml", "--no-pictures", "--out", "run")
    assert done.code == 0, done
    return folder / "run"


def npz(**arrays: Any) -> bytes:
    out = io.BytesIO()
    np.savez(out, **arrays)
    return out.getvalue()


def zipped(compression: int = zipfile.ZIP_STORED, **members: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", compression) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return out.getvalue()


def npy_of(shape: str, kind: str = "'<f8'") -> bytes:
    """A file of one array that says of itself what it likes."""
    head = f"{{'descr': {kind}, 'fortran_order': False, 'shape': {shape}, }}".ljust(117) + "\n"
    return b"\x93NUMPY\x01\x00" + len(head).to_bytes(2, "little") + head.encode()


def encrypted() -> bytes:
    """An archive whose entries say that they are encrypted."""
    raw = bytearray(zipped(**{"a.b.c.npy": npy_of("(0, 39)")}))
    for mark, place in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        raw[raw.index(mark) + place] |= 1
    return bytes(raw)


def result(**change: Any) -> Callable[[bytes], str]:
    return lambda raw: json.dumps({**json.loads(raw), **change})


T = "move.both.free"
#: name -> (file of the run, its new content given the old, what the line says)
RUNS: dict[str, tuple[str, Callable[[bytes], str | bytes], str]] = {
    "result: NaN": ("result.json", lambda r: r.replace(b'"drift_after": null', b'"drift_after": NaN'), "finite"),
    "result: Infinity": ("result.json", lambda r: r.replace(b'"drift_after": null', b'"drift_after": -Infinity'), "finite"),
    "result: 1e999": ("result.json", lambda r: r.replace(b'"drift_after": null', b'"drift_after": 1e999'), "finite"),
    "result: 5000 digits": ("result.json", lambda r: r.replace(b'"drift_after": null', b'"drift_after": ' + b"9" * 5000), "damaged"),
    "result: schema 0": ("result.json", result(schema=0), "schema: got 0"),
    "result: schema 1": ("result.json", result(schema=1), "schema: got 1"),
    "result: schema text": ("result.json", result(schema="1"), "schema"),
    "result: schema a list": ("result.json", result(schema=[[1]]), "schema"),
    "result: unknown key": ("result.json", result(more=1), "more"),
    "result: maneuvers a block": ("result.json", result(maneuvers={}), "maneuvers"),
    "result: maneuvers of nothing": ("result.json", result(maneuvers=[None]), "maneuvers.0"),
    "result: remedies of nothing": ("result.json", result(remedies=[None]), "remedies"),
    "result: changes a text": ("result.json", result(changes="cg"), "changes"),
    "result: no airplane": ("result.json", result(aircraft=None), "aircraft"),
    "result: a list": ("result.json", lambda r: "[1]", "schema"),
    "result: a text": ("result.json", lambda r: '"run"', "schema"),
    "result: two": ("result.json", lambda r: r + r, "damaged"),
    "result: deep": ("result.json", lambda r: '{"a":' * 100_000, "damaged"),
    "result: UTF-16": ("result.json", lambda r: r.decode().encode("utf-16"), "damaged"),
    "result: NUL": ("result.json", lambda r: r + b"\0", "damaged"),
    "result: 70 MB": ("result.json", lambda r: r + b" " * (70 * 2**20), "longer than 64 MB"),
    "inputs: a list": ("inputs.yaml", lambda r: "[1, 2]", "inputs.yaml"),
    "inputs: a tag": ("inputs.yaml", lambda r: "a: !!python/object/apply:os.system [ls]", "damaged"),
    "inputs: deep": ("inputs.yaml", lambda r: "[" * 2000, "damaged"),
    "inputs: laughs": ("inputs.yaml", lambda r: "a: &a [x]\nb: &b [*a, *a]\nc: [*b, *b]\n", "inputs.yaml"),
    "inputs: numbers as names": ("inputs.yaml", lambda r: "1: a\n", "inputs.yaml"),
    "inputs: a date": ("inputs.yaml", lambda r: "aircraft.yaml: 2026-11-25\n", "inputs.yaml"),
    "inputs: an impossible date": ("inputs.yaml", lambda r: "aircraft.yaml: 2026-13-45\n", "damaged"),
    "inputs: airplane empty": ("inputs.yaml", lambda r: "aircraft.yaml: ''\n", "inputs.yaml/aircraft.yaml:1: the file is empty"),
    "inputs: airplane NUL": ("inputs.yaml", lambda r: 'aircraft.yaml: "a\\0"\n', "binary"),
    "inputs: airplane a maneuver": ("inputs.yaml", lambda r: json.dumps({"aircraft.yaml": MOVE}), "aircraft.yaml"),
    "inputs: maneuver no name": ("inputs.yaml", lambda r: json.dumps({"aircraft.yaml": PLANE, "maneuvers/": ""}), "empty"),
    "inputs: maneuver up and away": ("inputs.yaml", lambda r: json.dumps({"aircraft.yaml": PLANE, "maneuvers/../..": "x"}), "maneuvers/../.."),
    "inputs: maneuver of NUL": ("inputs.yaml", lambda r: json.dumps({"aircraft.yaml": PLANE, "maneuvers/a\0b": "x"}), "maneuvers/a"),
    "inputs: maneuver name too long": ("inputs.yaml", lambda r: json.dumps({"aircraft.yaml": PLANE, "maneuvers/" + "a" * 300: "x"}), "maneuvers/a"),
    "inputs: unknown change": ("inputs.yaml", lambda r: r + b"changes.txt: wings=5 mm aft\n", "changes.txt: unknown change wings"),
    "inputs: change too far": ("inputs.yaml", lambda r: r + b"changes.txt: cg=5 km aft\n", "changes.txt"),
    "inputs: changes in a list": ("inputs.yaml", lambda r: r + b"changes.txt: [cg=5 mm aft]\n", "inputs.yaml"),
    "inputs: half a letter": ("inputs.yaml", lambda r: 'aircraft.yaml: "\\ud800"\n', "run"),
    "tracks: no archive": ("tracks.npz", lambda r: b"PK\x03\x04" + b"x" * 100, "damaged"),
    "tracks: one array": ("tracks.npz", lambda r: npy_of("(2, 39)") + bytes(2 * 39 * 8), "damaged"),
    "tracks: last byte lost": ("tracks.npz", lambda r: r[:-1], "damaged"),
    "tracks: half": ("tracks.npz", lambda r: r[: len(r) // 2], "damaged"),
    "tracks: zeros inside": ("tracks.npz", lambda r: r[:500] + bytes(200) + r[700:], "damaged"),
    "tracks: objects": ("tracks.npz", lambda r: npz(**{T: np.array([{}], dtype=object)}), "damaged"),
    "tracks: texts": ("tracks.npz", lambda r: npz(**{T: np.full((3, 39), "a")}), "not a track"),
    "tracks: complex": ("tracks.npz", lambda r: npz(**{T: np.zeros((3, 39), complex)}), "not a track"),
    "tracks: whole numbers": ("tracks.npz", lambda r: npz(**{T: np.zeros((3, 39), int)}), "not a track"),
    "tracks: one row": ("tracks.npz", lambda r: npz(**{T: np.zeros(39)}), "not a track"),
    "tracks: a scalar": ("tracks.npz", lambda r: npz(**{T: np.float64(3)}), "not a track"),
    "tracks: another width": ("tracks.npz", lambda r: npz(**{T: np.zeros((3, 38))}), "not a track"),
    "tracks: three sides": ("tracks.npz", lambda r: npz(**{T: np.zeros((3, 39, 2))}), "not a track"),
    "tracks: a name without dots": ("tracks.npz", lambda r: npz(a=np.zeros((3, 39))), "not a flight's name"),
    "tracks: a file that is no array": ("tracks.npz", lambda r: zipped(**{"a.b.c": b"hello"}), "not a flight's name"),
    "tracks: says 8 TB": ("tracks.npz", lambda r: zipped(**{f"{T}.npy": npy_of("(26843545600, 39)")}), "damaged"),
    "tracks: says -1 rows": ("tracks.npz", lambda r: zipped(**{f"{T}.npy": npy_of("(-1, 39)")}), "damaged"),
    "tracks: says words": ("tracks.npz", lambda r: zipped(**{f"{T}.npy": npy_of("(open('x'), 39)")}), "damaged"),
    "tracks: of no kind": ("tracks.npz", lambda r: zipped(**{f"{T}.npy": npy_of("(1, 39)", "'q' * 9")}), "damaged"),
    "tracks: fewer rows than said": ("tracks.npz", lambda r: zipped(**{f"{T}.npy": npy_of("(9, 39)")}), "damaged"),
    "tracks: encrypted": ("tracks.npz", lambda r: encrypted(), "damaged"),
    "tracks: 3 GB of zeros": ("tracks.npz", lambda r: bomb(), "GB"),
    "tracks: packed in another way": ("tracks.npz", lambda r: method_99(), "damaged"),
    "tracks: none": ("tracks.npz", lambda r: zipped(), "no flights to see"),
    "tracks: no rows": ("tracks.npz", lambda r: npz(**{T: np.zeros((0, 39))}), "nothing to see"),
}  # fmt: skip


def bomb() -> bytes:
    """A small archive that says of its one entry that it unpacks to 3 GB."""
    raw = bytearray(zipped(**{f"{T}.npy": npy_of("(2, 39)")}))
    at = raw.index(b"PK\x01\x02") + 24
    raw[at : at + 4] = (3 * 2**30).to_bytes(4, "little")
    return bytes(raw)


def method_99() -> bytes:
    raw = bytearray(zipped(**{f"{T}.npy": npy_of("(0, 39)")}))
    for mark, place in ((b"PK\x03\x04", 8), (b"PK\x01\x02", 10)):
        raw[raw.index(mark) + place] = 99
    return bytes(raw)


@pytest.mark.parametrize("name", RUNS)
def test_no_run(name: str, whole: Path, tmp_path: Path) -> None:
    run = Path(shutil.copytree(whole, tmp_path / "run"))
    file, change, word = RUNS[name]
    old = (run / file).read_bytes()
    made = change(old)
    made = made.encode() if isinstance(made, str) else made
    assert made != old
    (run / file).write_bytes(made)
    refused(sixdof_here(tmp_path, "view", "run", "--png", "x.png"), "run", word)
    assert [path.name for path in tmp_path.iterdir()] == ["run"]


@pytest.mark.parametrize("file", ["result.json", "inputs.yaml", "tracks.npz"])
@pytest.mark.parametrize("name", [n for n in NO_FILES if n not in ("nothing", "a link to nowhere")])
def test_no_file_in_a_run(
    file: str, name: str, whole: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = Path(shutil.copytree(whole, tmp_path / "run"))
    monkeypatch.chdir(run)
    (run / file).unlink()
    NO_FILES[name][0](run / file)
    refused(sixdof_here(tmp_path, "view", "run", "--png", "x.png"), "run: a damaged run")


def test_the_whole_run_is_read(whole: Path) -> None:
    """The other side of the damages."""
    run = read_run(str(whole))
    assert (
        list(run.tracks()) == [T] and run.airframe().name == "corvane" and run.maneuvers()[0].name == "move"
    )
    assert npz(**run.tracks())


# ---------------------------------------------------------------- any text at all

quick = settings(
    deadline=None, max_examples=30, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture]
)  # fmt: skip
slip = st.tuples(st.floats(0.0, 1.0), st.integers(0, 30), st.text(max_size=6))


def slipped(text: str, where: float, length: int, new: str) -> bytes:
    at = int(where * len(text))
    return (text[:at] + new + text[at + length :]).encode("utf-8", "surrogatepass")


def complains_or_not(load: Callable[[], object]) -> bool:
    """Whether it loaded; the complaint is one printable line."""
    try:
        load()
    except InputError as error:
        assert str(error).isprintable(), repr(str(error))
        return False
    return True


@quick
@given(name=st.sampled_from(sorted(MANEUVERS)), slip=slip)
def test_a_slip_in_a_maneuver(tmp_path: Path, name: str, slip: tuple[float, int, str]) -> None:
    path = tmp_path / "any.yaml"
    path.write_bytes(slipped(MANEUVERS[name], *slip))
    if complains_or_not(lambda: load_maneuver(str(path))):
        phases = load_maneuver(str(path)).phases
        assert all(0.0 < phase.time <= 60.0 and math.isfinite(phase.bank or 0.0) for phase in phases)


@quick
@given(content=st.text(max_size=200) | st.binary(max_size=200))
def test_any_text_for_a_maneuver_or_blends(tmp_path: Path, content: str | bytes) -> None:
    path = tmp_path / "any.yaml"
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8", "surrogatepass"))
    assert not complains_or_not(lambda: load_maneuver(str(path)))
    assert not complains_or_not(lambda: load_blends(path))


@quick
@given(slip=slip)
def test_a_slip_in_blends(tmp_path: Path, slip: tuple[float, int, str]) -> None:
    path = tmp_path / "any.yaml"
    path.write_bytes(slipped(BLENDS, *slip))
    if complains_or_not(lambda: load_blends(path)):
        assert all(abs(amount) <= 1.0 for spec in load_blends(path) for _, amount in spec.points)


@quick
@given(
    file=st.sampled_from(["result.json", "inputs.yaml", "tracks.npz"]), where=st.floats(0.0, 1.0),
    lost=st.integers(0, 40), new=st.binary(max_size=8),
)  # fmt: skip
def test_any_damage_of_a_run(whole: Path, file: str, where: float, lost: int, new: bytes) -> None:
    path = whole / file
    sound = path.read_bytes()
    at = int(where * len(sound))
    path.write_bytes(sound[:at] + new + sound[at + lost :])
    try:
        complains_or_not(lambda: read_run(str(whole)).tracks())
        complains_or_not(lambda: read_run(str(whole)).airframe())
        complains_or_not(lambda: read_run(str(whole)).maneuvers())
    finally:
        path.write_bytes(sound)

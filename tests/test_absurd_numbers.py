"""Numbers that can be read and make no sense: a thousand times too large, nothing, the other sign, a right angle.

Each ends in one sentence that names the file, or flies honestly; no traceback, no noise.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from commanding import Done, refused, sixdof_here

from sixdof.airframe.changes import changed
from sixdof.airframe.load import load_airframe
from sixdof.flight.airplane import Airplane

DEMOS = Path(__file__).parent.parent / "aircraft"
NAMES = ("corvane", "fenlark", "tessel")
#: A number with its unit, outside of remarks.
NUMBER = re.compile(
    r"(?<=[ {])(-?\d+(?:\.\d+)?)( (?:mm|cm|m|in|g|kg|deg|%|kg m2|g m2|rpm|N|kW|W|m/s|km/h|ms|s|deg/s)\b| %)"
)
WAYS = ("thousandfold", "nothing", "other sign", "right angle", "kilometer")


def odd(number: str, unit: str, way: str) -> str:
    """The text that stands in its place."""
    if way == "right angle":
        return "90 deg" if unit == " deg" else f"90{unit}"
    if way == "kilometer":
        return "1000 m" if unit in (" mm", " cm", " m", " in") else f"1000{unit}"
    factor = {"thousandfold": 1000.0, "nothing": 0.0, "other sign": -1.0}[way]
    return f"{float(number) * factor:.10g}{unit}"


def places(text: str) -> list[re.Match[str]]:
    """All numbers of a file."""
    starts = [m.start() for m in re.finditer("#.*", text)]
    ends = [m.end() for m in re.finditer("#.*", text)]
    return [
        m for m in NUMBER.finditer(text)
        if not any(a <= m.start() < b for a, b in zip(starts, ends, strict=True))
    ]  # fmt: skip


def spoiled(name: str, place: int, way: str) -> tuple[str, int]:
    """A demo with one number changed, and the line where it stands."""
    text = (DEMOS / f"{name}.yaml").read_text()
    found = places(text)[place]
    new = odd(found[1], found[2], way)
    return text[: found.start()] + new + text[found.end() :], text.count("\n", 0, found.start()) + 1


def cases() -> Iterator[tuple[str, int, str]]:
    for name in NAMES:
        for place in range(len(places((DEMOS / f"{name}.yaml").read_text()))):
            for way in WAYS:
                yield name, place, way


def judge(done: Done, path: Path) -> None:
    """One sentence that names the file, or an answer whose numbers are numbers."""
    assert "Traceback" not in done.err + done.out and "Warning" not in done.err, done
    if done.code == 2:
        refused(done, path.name)
        assert re.search(rf"{path.name}:\d+: ", done.err), done.err
        return
    assert done.code == 0, done
    assert "nan" not in re.findall(r"[a-z]+", done.out.lower()), done.out


def run(folder: Path, name: str, place: int, way: str, *words: str) -> None:
    path = folder / f"{name}-{place}-{way.replace(' ', '_')}.yaml"
    path.write_text(spoiled(name, place, way)[0])
    with warnings.catch_warnings():
        warnings.simplefilter("error")  # of numpy and scipy: as an answer it would be noise on the terminal
        judge(sixdof_here(folder, *(str(path) if word == "FILE" else word for word in words)), path)


#: A few of them by a fixed seed; all of them in the study.
SEED, CHECKED, FLOWN = 7, 24, 4


def some(count: int, seed: int) -> list[tuple[str, int, str]]:
    every = list(cases())
    return [every[i] for i in np.random.default_rng(seed).permutation(len(every))[:count]]


def test_check_takes_any_number(tmp_path: Path) -> None:
    for case in some(CHECKED, SEED):
        run(tmp_path, *case, "check", "FILE", "--no-picture")


@pytest.mark.parametrize(
    "words",
    [("fly", "FILE", "--no-pictures"), ("tune", "FILE", "-m", "knife_edge", "--airplanes", "20", "--no-pictures")],
    ids=["fly", "tune"],
)  # fmt: skip
def test_flights_take_any_number(words: tuple[str, ...], tmp_path: Path) -> None:
    for case in some(FLOWN, SEED + 1):
        run(tmp_path, *case, *words)


@pytest.mark.study
def test_check_takes_every_number(tmp_path: Path) -> None:
    for case in cases():
        run(tmp_path, *case, "check", "FILE", "--no-picture")


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("incidence: 0.3 deg", "incidence: 90 deg", "wing.incidence"),
        ("elevator: {up: 13 deg", "elevator: {up: 90 deg", "rates.normal.elevator.up"),
        ("down_thrust: 0.5 deg", "down_thrust: 90 deg", "propeller.down_thrust"),
        ("root: {aft: 500 mm, up: -35 mm}", "root: {aft: 500 mm, up: 1 km}", "wing.root.up"),
        ("root: {aft: 500 mm, up: -35 mm}", "root: {aft: 500 mm, up: 1000 m}", "wing.root.up"),
        ("total: 4.7 kg", "total: 4700 g m2", "mass.total"),
        ("dihedral: 1 deg", "dihedral: 90 deg", "wing.panels[0].dihedral"),
    ],
)
def test_the_key_is_named(old: str, new: str, key: str, tmp_path: Path) -> None:
    text = (DEMOS / "corvane.yaml").read_text()
    assert text.count(old) == 1
    (tmp_path / "mine.yaml").write_text(text.replace(old, new))
    line = text.count("\n", 0, text.index(old)) + 1
    refused(sixdof_here(tmp_path, "check", "mine.yaml", "--no-picture"), f"mine.yaml:{line}: {key}: ")


@pytest.mark.parametrize("name", NAMES)
def test_tune_where_no_airplane_that_fits_is_stable(name: str, tmp_path: Path) -> None:
    """The CG far aft: nothing is drawn, no range is given, and how far behind it is is said in millimeters."""
    airplane = Airplane(changed(load_airframe(name), {"cg": "60 mm aft"}))
    drawn = airplane.drawn(20)
    assert len(drawn.planes) == len(drawn.errors) == 0 and drawn.unstable == 1.0
    behind = -1e3 * airplane.static_margin * airplane.derivatives.c
    words = ("-c", "cg=60 mm aft", "-m", "roll_reversal", "--airplanes", "20", "--no-pictures", "--json")
    done = sixdof_here(tmp_path, "tune", name, *words)
    assert done.code == 0 and "Traceback" not in done.err, done
    assert all(blend["doubt"] is None for blend in done.json["blends"])
    assert f"{behind:.0f} mm behind the neutral point" in done.out

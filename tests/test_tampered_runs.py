"""Run folders that somebody edited: one line with exit code 2, or an honest answer; never a traceback."""

from __future__ import annotations

import io
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml
from commanding import Done, refused, sixdof_here

from sixdof.flight.frame import TRACK_NAMES

Damage = Callable[[Path], None]
_AT = {name: i for i, name in enumerate(TRACK_NAMES)}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A working directory with two finished runs, tuned and flown."""
    path = tmp_path_factory.mktemp("runs")
    short = ("-m", "knife_edge", "--no-pictures")
    assert sixdof_here(path, "tune", *short, "--airplanes", "0", "--out", "tuned").code == 0
    assert sixdof_here(path, "fly", *short, "--out", "flown").code == 0
    return path


@pytest.fixture
def here(folder: Path, tmp_path: Path) -> Path:
    """Copies of both, to be damaged."""
    for name in ("tuned", "flown"):
        shutil.copytree(folder / name, tmp_path / name)
    return tmp_path


def result(*keys: str | int, value: Any = None, gone: bool = False) -> Damage:
    """Put a value at a key of result.json, or take the key away."""

    def damage(run: Path) -> None:
        file = run / "result.json"
        data = at = json.loads(file.read_text())
        for key in keys[:-1]:
            at = at[key]
        if gone:
            del at[keys[-1]]
        else:
            at[keys[-1]] = value
        file.write_text(json.dumps(data))

    return damage


def tracks(change: Callable[[np.ndarray], np.ndarray], *, name: str | None = None) -> Damage:
    """Change the first track, or its name."""

    def damage(run: Path) -> None:
        with np.load(run / "tracks.npz") as packed:
            arrays = {key: packed[key] for key in packed.files}
        first = next(key for key in arrays if key != "columns")
        rows = change(arrays.pop(first).copy())
        raw = io.BytesIO()
        np.savez(raw, **{name or first: rows}, **arrays)
        (run / "tracks.npz").write_bytes(raw.getvalue())

    return damage


def put(column: str, number: float, rows: slice = slice(None)) -> Damage:
    def change(track: np.ndarray) -> np.ndarray:
        track[rows, _AT[column]] = number
        return track

    return tracks(change)


def inputs(name: str, change: Callable[[str], str | None]) -> Damage:
    """Change an embedded file, or take it away."""

    def damage(run: Path) -> None:
        file = run / "inputs.yaml"
        data = yaml.safe_load(file.read_text())
        text = change(data.pop(name))
        if text is not None:
            data[name] = text
        file.write_text(yaml.safe_dump(data))

    return damage


def slower(track: np.ndarray) -> np.ndarray:
    track[:, 0] *= 1000.0
    return track


def without_attitude(track: np.ndarray) -> np.ndarray:
    track[5, _AT["q0"] : _AT["q3"] + 1] = 0.0
    return track


#: Both `view` and `compare --out` read the tracks.
TRACKS: dict[str, Damage] = {
    "zero attitude": tracks(without_attitude),
    "reversed rows": tracks(lambda track: track[::-1].copy()),
    "time stands": put("time", 1.0),
    "time a thousand times": tracks(slower),
    "time not a number": put("time", np.nan, slice(3, 4)),
    "height without bound": put("down", -np.inf, slice(3, 4)),
    "on the moon": put("down", -3.8e8, slice(3, 4)),
    "all at one place": tracks(lambda track: np.where(np.isin(np.arange(track.shape[1]), (1, 2, 3)), 0.0, track)),
    "half a phase": put("phase", 0.5, slice(3, 4)),
    "a flight without a kind": tracks(lambda track: track, name="knife_edge.left."),
    "a flight without a side": tracks(lambda track: track, name="knife_edge..bare"),
    "a flight of three dots": tracks(lambda track: track, name="..."),
    "a side of its own": tracks(lambda track: track, name="knife_edge.up.bare"),
    "a sign without a number": tracks(lambda track: track, name="knife_edge.left.+x"),
    "one that steers": tracks(lambda track: track, name="knife_edge.left.\x1b[31m"),
}  # fmt: skip

#: Everything that reads a run reads its answer.
ANSWERS: dict[str, Damage] = {
    "blend target x": result("blends", 0, "target", value="x"),
    "blend source x": result("blends", 0, "source", value="x"),
    "blend side x": result("blends", 0, "side", value="x"),
    "blend without percent": result("blends", 0, "percent", gone=True),
    "percent of a word": result("blends", 0, "percent", value="much"),
    "percent beyond every number": result("blends", 0, "percent", value=1e999),
    "maneuver without a side": result("maneuvers", 0, "side", gone=True),
    "maneuver of a side x": result("maneuvers", 0, "side", value="x"),
    "maneuvers a number": result("maneuvers", value=7),
    "maneuver null": result("maneuvers", 0, value=None),
    "no aircraft": result("aircraft", gone=True),
    "no command": result("command", gone=True),
    "a command x": result("command", value="x"),
    "command of another": result("command", value="remedies"),
    "drift a word": result("maneuvers", 0, "drift_before", value="x"),
    "schema of tomorrow": result("schema", value=99),
    "a key more": result("more", value=1),
}  # fmt: skip

COPIES: dict[str, Damage] = {
    "no aircraft": inputs("aircraft.yaml", lambda text: None),
    "aircraft cut": inputs("aircraft.yaml", lambda text: text[:300]),
    "a maneuver cut": inputs("maneuvers/knife_edge.yaml", lambda text: text[:100]),
}  # fmt: skip


def view(here: Path, run: str) -> Done:
    return sixdof_here(here, "view", run, "--png", "picture.png")


def compare(here: Path, *more: str) -> Done:
    return sixdof_here(here, "compare", "tuned", "flown", *more)


@pytest.mark.parametrize("name", TRACKS)
def test_tracks_that_no_flight_left(name: str, here: Path) -> None:
    TRACKS[name](here / "tuned")
    for done in (view(here, "tuned"), compare(here, "--out", "drifts.png")):
        refused(done, "tuned")
    assert not list(here.glob("*.png"))


@pytest.mark.parametrize("name", ANSWERS)
def test_answers_that_no_command_gives(name: str, here: Path) -> None:
    ANSWERS[name](here / "tuned")
    for done in (view(here, "tuned"), compare(here), compare(here, "--json")):
        refused(done, "tuned")


@pytest.mark.parametrize("name", COPIES)
def test_copies_of_files_that_do_not_fit(name: str, here: Path) -> None:
    COPIES[name](here / "tuned")
    refused(view(here, "tuned"), "tuned")
    assert not list(here.glob("*.png"))


def test_texts_of_a_run_do_not_steer_the_terminal(here: Path) -> None:
    for run in ("tuned", "flown"):
        result("aircraft", "name", value="ok\x1b[31m\u202e")(here / run)
    done = compare(here)
    assert "\x1b" not in done.out + done.err and "\u202e" not in done.out + done.err
    assert done.code == 2 or "\\x1b[31m" in done.out


def test_runs_in_which_nothing_finished_are_compared_without_numbers(here: Path) -> None:
    """A picture without a drift is none; the table says that nothing finished."""
    for run in ("tuned", "flown"):
        for k, _ in enumerate(json.loads((here / run / "result.json").read_text())["maneuvers"]):
            for key in ("status", "status_before"):
                result("maneuvers", k, key, value="hit the ground")(here / run)
    done = compare(here)
    assert done.code in (0, 2) and "Traceback" not in done.err
    if done.code == 0:
        assert "\u00b0" not in done.out.split("Worst drift")[-1]
        assert "finished" in done.out
    else:
        refused(done, "finished")
    put("measured", -1.0)(here / "tuned")
    put("measured", -1.0)(here / "flown")
    done = compare(here, "--out", "drifts.png")
    assert "Traceback" not in done.err and done.code in (0, 2)

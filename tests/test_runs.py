"""Run folders: the same bytes again, whole or not at all, damage told in one line."""

from __future__ import annotations

import json
import math
import os
import shutil
import signal
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from commanding import end, everything_in, refused, runs_in, sixdof_here, start, start_python

from sixdof import Airplane
from sixdof.files.errors import InputError
from sixdof.files.rows import clean
from sixdof.runs import UNFINISHED, list_runs, read_run, whole_file
from sixdof.study.ask import explore, fly, tune
from sixdof.study.results import Aircraft, ExploreResult, read_answer
from sixdof.tuning.explore import Setting

#: A short search, without pictures.
SHORT = ("tune", "--maneuver", "power_off_dive", "--no-pictures")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A working directory with one finished run, ./runs/tune-corvane."""
    path = tmp_path_factory.mktemp("runs")
    assert sixdof_here(path, *SHORT).code == 0
    return path


@pytest.fixture
def run(folder: Path, tmp_path: Path) -> Path:
    """A copy of a finished run, to be damaged."""
    return Path(shutil.copytree(folder / "runs" / "tune-corvane", tmp_path / "run"))


# ---------------------------------------------------------------- the same bytes


def test_two_at_once_on_other_threads_end_whole_and_equal(folder: Path, tmp_path: Path) -> None:
    """Two searches at once into one folder, on one thread and on two, and the one made here.

    Kernels and linear algebra have their own threads; where one has one, the other has two.
    """
    processes = [
        start(tmp_path, *SHORT, NUMBA_NUM_THREADS=str(n), OPENBLAS_NUM_THREADS=str(3 - n)) for n in (1, 2)
    ]
    for process in processes:
        done = end(process)
        assert done.code == 0, done.err
    assert check_whole(tmp_path) == 2
    paths = sorted((tmp_path / "runs").iterdir())
    assert [path.name for path in paths] == ["tune-corvane", "tune-corvane-2"]
    paths.append(folder / "runs" / "tune-corvane")
    assert len({(path / "result.json").read_bytes() for path in paths}) == 1
    tracks = [read_run(str(path)).tracks() for path in paths]
    for name in tracks[0]:
        assert len({flown[name].values.tobytes() for flown in tracks}) == 1, name


def test_result_knows_nothing_of_clock_and_place(folder: Path, tmp_path: Path) -> None:
    assert sixdof_here(tmp_path, *SHORT, "--out", "elsewhere/named").code == 0
    first = (folder / "runs" / "tune-corvane" / "result.json").read_bytes()
    assert (tmp_path / "elsewhere" / "named" / "result.json").read_bytes() == first


def test_a_run_holds_what_it_was_made_from(folder: Path) -> None:
    run = read_run(str(folder / "runs" / "tune-corvane"))
    files = {p.name for p in run.path.iterdir()}
    assert files == {"inputs.yaml", "result.json", "timings.json", "tracks.npz"}
    assert run.airframe().sha256 == run.answer.aircraft.sha256
    assert [m.name for m in run.maneuvers()] == ["power_off_dive"]
    tracks = run.tracks()
    assert set(tracks) == {"power_off_dive.both.bare", "power_off_dive.both.blended"}
    timings = json.loads((run.path / "timings.json").read_text())
    assert timings["versions"]["numpy"] == np.__version__ and timings["seconds"]["work"] > 0.0


def test_an_answer_says_the_same_where_it_is_read_back() -> None:
    """All its numbers and words; 3 % of 17.5° is 0.525°, in floating point a little less, and never 0.52 here and 0.53 there."""
    plane = Airplane("corvane")
    explored = explore(plane, "power_off_dive", "throttle-elevator.low=-6..2", count=3)
    for answer in (fly(plane, "power_off_dive"), tune(plane, ["power_off_dive"], airplanes=20), explored):
        written = json.loads(answer.text())
        written.pop("schema")
        assert read_answer(written).text() == answer.text()
    [found] = tune(plane, ["power_off_dive"], airplanes=0).blends
    throw = plane.airframe.rates["normal"].aileron
    full = math.degrees(0.03 * 0.5 * (throw.up + throw.down))
    assert full < 0.525
    rows = [
        found.model_copy(update={"degrees": full}),
        found.__class__(**{**{k: getattr(found, k) for k in type(found).model_fields}, "degrees": full}),
    ]
    for row in rows:
        assert (
            "(0.53°" in row.words and row.__class__(**json.loads(json.dumps(clean(row.model_dump())))) == row
        )


def test_what_is_not_a_number_is_null() -> None:
    row = Setting(
        percent=1.0, side="both", status="went non-finite, after 0.1 s", scored=False, drift=math.nan, rate=math.inf,
        term="canopy", top_speed_m_s=-math.inf, height_used_m=0.1 + 0.2,
    )  # fmt: skip
    plane = Aircraft(name="x", sha256="0", invented=True, rate="normal")
    text = ExploreResult(
        aircraft=plane, maneuver="m", said="m", vary="rudder-elevator.left", settings=[row]
    ).text()
    found = json.loads(text, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))
    [setting] = found["settings"]
    assert [setting[k] for k in ("drift", "rate", "top_speed_m_s")] == [None, None, None]
    assert setting["height_used_m"] == 0.3 and found["schema"] == 2


# ---------------------------------------------------------------- whole or not at all


def check_whole(place: Path) -> int:
    """Every folder that a reader accepts is whole; how many there are."""
    whole = 0
    for path in runs_in(place):
        try:
            run = read_run(str(path))
        except InputError as error:
            assert "\n" not in str(error)
            continue
        whole += 1
        assert not path.name.startswith(UNFINISHED)
        assert {p.name for p in path.iterdir()} >= {
            "inputs.yaml",
            "result.json",
            "timings.json",
            "tracks.npz",
        }
        assert run.tracks() and run.airframe().name == "corvane"
    return whole


#: A command that says when it begins.
BEGUN = "from sixdof.cli import main; print('begun', flush=True); main()"


def test_interrupted_at_any_moment_leaves_nothing_half_done(tmp_path: Path) -> None:
    """Killed at any moment: in test_bad_days."""
    moments = np.random.default_rng(11).uniform(0.0, 1.4, 3)  # s; a whole command takes one to two
    processes = [(start_python(tmp_path, BEGUN, *SHORT), moment) for moment in moments]
    for process, _ in processes:
        assert process.stdout is not None and process.stdout.readline() == "begun\n"
    begun = time.monotonic()
    for process, moment in sorted(processes, key=lambda p: p[1]):
        time.sleep(max(0.0, begun + moment - time.monotonic()))
        process.send_signal(signal.SIGINT)
    for process, _ in processes:
        done = end(process)
        assert "Traceback" not in done.err, done.err
        assert done.code in (0, 130), done
        assert (done.code == 130) == ("interrupted" in done.err)
    check_whole(tmp_path)
    assert not list(tmp_path.rglob(f"{UNFINISHED}*"))


#: A command that is stopped just before it would call ``{call}``, in the middle of writing.
STOPPED = """
import os, pathlib, signal, sys, time
import numpy as np
import sixdof.runs
number = getattr(signal, sys.argv.pop())
def stop(*args, **kwargs):
    os.kill(os.getpid(), number)
    time.sleep(5)
{call} = stop
from sixdof.cli import main
main()
"""


@pytest.mark.parametrize("signal_name", ["SIGKILL", "SIGINT"])
def test_stopped_in_the_middle_of_writing(signal_name: str, tmp_path: Path) -> None:
    calls = ("np.savez_compressed", "pathlib.Path.rename")
    processes = [
        start_python(
            tmp_path,
            STOPPED.replace("{call}", call),
            *SHORT,
            "--airplanes",
            "0",
            "--out",
            f"out-{i}",
            signal_name,
        )
        for i, call in enumerate(calls)
    ]
    for process in processes:
        done = end(process)
        assert "Traceback" not in done.err
        assert done.code == (130 if signal_name == "SIGINT" else -signal.SIGKILL)
    assert check_whole(tmp_path) == 0
    left = [p.name for p in tmp_path.iterdir()]
    if signal_name == "SIGINT":
        assert left == []
    else:
        assert len(left) == 2 and all(name.startswith(UNFINISHED) for name in left)
        for name in left:
            with pytest.raises(InputError, match="never finished"):
                read_run(str(tmp_path / name))


def test_names_in_runs_are_never_taken_twice(folder: Path) -> None:
    before = everything_in(folder)
    done = sixdof_here(folder, *SHORT, "--json")
    assert done.code == 0
    path = Path(done.json["run"])
    try:
        assert path.name == "tune-corvane-2"
        after = everything_in(folder)
        assert {k: v for k, v in after.items() if path.name not in Path(k).parts} == before
    finally:
        shutil.rmtree(folder / path)


def test_a_name_with_slashes_stays_in_runs(tmp_path: Path) -> None:
    """The name of an airplane is free text; it must not lead out of ./runs."""
    text = (Path(__file__).parent.parent / "aircraft" / "corvane.yaml").read_text(encoding="utf-8")
    work = tmp_path / "a" / "b" / "c"
    work.mkdir(parents=True)
    (work / "mine.yaml").write_text(text.replace("name: corvane", 'name: "../../../away"'), encoding="utf-8")
    done = sixdof_here(work, "fly", "mine.yaml", "--no-pictures", "--json")
    assert done.code == 0
    assert (work / done.json["run"]).resolve().parent == (work / "runs").resolve()


# ---------------------------------------------------------------- --out


@pytest.mark.parametrize("taken", ["a folder", "an empty folder", "a file", "a link to nowhere"])
def test_an_out_that_exists_is_refused(taken: str, tmp_path: Path) -> None:
    out = tmp_path / "mine"
    if taken == "a file":
        out.write_text("keep me")
    elif taken == "a link to nowhere":
        out.symlink_to(tmp_path / "nowhere")
    else:
        out.mkdir()
        if taken == "a folder":
            (out / "result.json").write_text("keep me")
    before = everything_in(tmp_path)
    refused(sixdof_here(tmp_path, *SHORT, "--out", "mine"), "mine", "exists already")
    assert everything_in(tmp_path) == before and [p.name for p in tmp_path.iterdir()] == ["mine"]


@pytest.mark.parametrize(
    ("out", "word"),
    [
        ("file/run", "cannot be written"), ("x" * 300, "cannot be written"), (f"{UNFINISHED}mine", "kept"),
        ("/proc/nowhere/run", "cannot be written"), ("", "exists"),
    ],
)  # fmt: skip
def test_an_out_that_cannot_be_written_is_refused(out: str, word: str, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    refused(sixdof_here(tmp_path, *SHORT, "--out", out), word)
    assert [p.name for p in tmp_path.iterdir()] == ["file"]


# ---------------------------------------------------------------- damage


def garble(path: Path) -> None:
    data = bytearray(path.read_bytes())
    middle = len(data) // 2
    data[middle : middle + 200] = bytes(200)
    path.write_bytes(data)


def tracks_of(**arrays: np.ndarray) -> Callable[[Path], None]:
    return lambda run: np.savez(run / "tracks.npz", **arrays)


def edit(file: str, text: str) -> Callable[[Path], None]:
    def write(run: Path) -> None:
        (run / file).write_text(text, encoding="utf-8")

    return write


def with_result(change: Callable[[dict], object]) -> Callable[[Path], None]:
    def write(run: Path) -> None:
        result = json.loads((run / "result.json").read_text())
        change(result)
        (run / "result.json").write_text(json.dumps(result))

    return write


DAMAGES: dict[str, tuple[Callable[[Path], object], str]] = {
    "result missing": (lambda run: (run / "result.json").unlink(), "result.json is missing"),
    "inputs missing": (lambda run: (run / "inputs.yaml").unlink(), "inputs.yaml is missing"),
    "tracks missing": (lambda run: (run / "tracks.npz").unlink(), "tracks.npz is missing"),
    "result empty": (edit("result.json", ""), "damaged"),
    "result cut short": (edit("result.json", '{"schema": 2, "comm'), "damaged"),
    "result not a block": (edit("result.json", "3"), "schema"),
    "result nested": (edit("result.json", "[" * 100000), "damaged"),
    "result of nothing": (edit("result.json", '{"schema": 2}'), "command"),
    "result not text": (lambda run: (run / "result.json").write_bytes(b"\xff\xfe"), "damaged"),
    "another schema": (with_result(lambda r: r.update(schema=1)), "schema: got 1, expected 2"),
    "no schema": (with_result(lambda r: r.pop("schema")), "schema"),
    "a row without a name": (with_result(lambda r: r["maneuvers"][0].pop("name")), "maneuvers.0.name"),
    "a word for a number": (with_result(lambda r: r["blends"][0].update(percent="much")), "blends.0.percent"),
    "inputs empty": (edit("inputs.yaml", ""), "inputs.yaml"),
    "inputs not YAML": (edit("inputs.yaml", "a: [1"), "damaged"),
    "inputs of numbers": (edit("inputs.yaml", "aircraft.yaml: 3"), "inputs.yaml"),
    "inputs without airplane": (edit("inputs.yaml", "{}"), "aircraft.yaml is missing"),
    "airplane damaged": (edit("inputs.yaml", 'aircraft.yaml: "sixdof: 1"'), "aircraft.yaml"),
    "tracks empty": (lambda run: (run / "tracks.npz").write_bytes(b""), "damaged"),
    "tracks cut short": (
        lambda run: (run / "tracks.npz").write_bytes((run / "tracks.npz").read_bytes()[:3000]),
        "damaged",
    ),
    "tracks garbled": (lambda run: garble(run / "tracks.npz"), "damaged"),
    "tracks of another name": (tracks_of(a=np.zeros((3, 39))), "not a flight's name"),
    "tracks of another shape": (tracks_of(**{"power_off_dive.both.bare": np.zeros((3, 4))}), "not a track"),
    "tracks of objects": (tracks_of(**{"a.b.c": np.array([{}, {}], dtype=object)}), "damaged"),
}


@pytest.mark.parametrize("name", DAMAGES)
def test_a_damaged_run_is_refused_in_one_line(name: str, run: Path) -> None:
    damage, word = DAMAGES[name]
    damage(run)
    refused(sixdof_here(run.parent, "view", "run", "--png", "picture.png"), word)
    assert not (run.parent / "picture.png").exists()


def test_a_picture_never_takes_the_place_of_a_file_that_came_meanwhile(tmp_path: Path) -> None:
    path = tmp_path / "picture.png"
    with (
        pytest.raises(InputError, match="exists already"),
        whole_file(path, advice="choose another") as unfinished,
    ):
        unfinished.write_text("ours")
        path.write_text("theirs")
    assert everything_in(tmp_path) == {"picture.png": b"theirs"}


def test_undamaged_copies_can_be_read(run: Path) -> None:
    """The other side of the damages: the copy itself is sound."""
    assert read_run(str(run)).answer.command == "tune"
    assert sixdof_here(run.parent, "compare", "run", "run").code == 0


@pytest.mark.parametrize("name", ["nothing-here", "x" * 300, "a/b/c", ""])
def test_an_unknown_run_is_refused(name: str, tmp_path: Path) -> None:
    refused(sixdof_here(tmp_path, "view", name, "--png", "picture.png"), "not a run folder")


def test_runs_are_found_by_name_and_listed(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    half = Path("runs") / f"{UNFINISHED}half"
    shutil.copytree(Path("runs") / "tune-corvane", half)
    try:
        assert list_runs() == ["tune-corvane"]
        assert read_run("tune-corvane").path == Path("runs") / "tune-corvane"
        with pytest.raises(InputError, match="never finished"):
            read_run(half.name)
    finally:
        shutil.rmtree(half)


def test_nobody_waits_for_a_folder_that_cannot_be_read(run: Path) -> None:
    """A fifo in place of a file would block for ever; the folder in place of a file is told."""
    (run / "result.json").unlink()
    os.mkdir(run / "result.json")
    refused(sixdof_here(run.parent, "view", "run", "--png", "x.png"), "damaged")

"""Bad days: killed, two at once, full disks, nothing writable, no home, poor terminals; the same bytes again."""

from __future__ import annotations

import io
import os
import resource
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import pytest
from commanding import Done, end, everything_in, main_here, refused, runs_in, sixdof_here, start, start_python

import sixdof
from sixdof.files.errors import InputError
from sixdof.physics.compile import CACHE_FOLDER
from sixdof.runs import UNFINISHED, read_run

#: A cheap search with its run folder.
SHORT = ("tune", "--airplanes", "0", "--no-pictures", "-m", "knife_edge")
WHOLE = {"inputs.yaml", "result.json", "timings.json", "tracks.npz"}


@pytest.fixture(scope="module")
def made_here(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The result of a search in this process, whose kernels are now in the cache."""
    folder = tmp_path_factory.mktemp("here")
    done = sixdof_here(folder, *SHORT, "--out", "run")
    assert done.code == 0, done
    return (folder / "run" / "result.json").read_bytes()


def whole_runs(place: Path) -> list[Path]:
    """The folders that a reader takes for runs; fails where one of them is not whole."""
    whole = []
    for path in runs_in(place):
        try:
            run = read_run(str(path))
        except InputError as error:
            assert "\n" not in str(error)
            assert path.name.startswith(UNFINISHED), error
            continue
        assert {p.name for p in path.iterdir()} == WHOLE
        assert len(run.tracks()) == 4 and run.airframe().name == "corvane" and len(run.maneuvers()) == 1
        whole.append(path)
    return whole


# ---------------------------------------------------------------- killed

KILL_SOME = Path(__file__).with_name("kill_some.py")


def kill_some(place: Path, count: int, seed: int) -> dict[str, int]:
    """Kill so many searches, each at its random moment; each asks for a folder of its own."""
    done = end(
        subprocess.Popen(
            [sys.executable, KILL_SOME, place, str(count), str(seed)], text=True,
            stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        ),
        timeout=120.0 + 20.0 * count,
    )  # fmt: skip
    assert done.code == 0 and done.err == "", done
    found = done.json
    assert found.pop("else") == [], "killed, or it ended well"
    found["left unfinished"] = len(list(place.glob(f"{UNFINISHED}*")))
    found["whole"] = len(whole_runs(place))
    assert found["whole"] >= found["ended before"]
    return found


def test_killed_at_any_moment(made_here: bytes, tmp_path: Path) -> None:
    kill_some(tmp_path, 8, 5)
    for path in whole_runs(tmp_path):
        assert (path / "result.json").read_bytes() == made_here
    left = everything_in(tmp_path)
    name = next(f"out-{i}" for i in range(9) if not (tmp_path / f"out-{i}").exists())
    assert sixdof_here(tmp_path, *SHORT, "--out", name).code == 0, "the next one works"
    assert (tmp_path / name / "result.json").read_bytes() == made_here
    assert left.items() <= everything_in(tmp_path).items(), "and touches nothing"


@pytest.mark.study
def test_killed_fifty_times(made_here: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = kill_some(tmp_path, 50, 6)
    with capsys.disabled():
        print("\n50 kills:", ", ".join(f"{n} {what}" for what, n in found.items()))
    for path in whole_runs(tmp_path):
        assert (path / "result.json").read_bytes() == made_here


def test_what_a_killed_one_of_the_same_number_left_is_not_in_the_way(tmp_path: Path) -> None:
    """In a container every run may have the same process number."""
    for name in ("out", "tune-corvane"):
        for number in ("", f"-{os.getpid()}"):
            (tmp_path / f"{UNFINISHED}{name}{number}").mkdir()
            (tmp_path / "runs" / f"{UNFINISHED}{name}{number}").mkdir(parents=True)
    assert sixdof_here(tmp_path, *SHORT, "--out", "out").code == 0
    assert sixdof_here(tmp_path, *SHORT).code == 0
    assert {path.name for path in whole_runs(tmp_path)} == {"out", "tune-corvane"}


# ---------------------------------------------------------------- two at once; the same bytes


def test_two_at_once_into_one_folder(made_here: bytes, tmp_path: Path) -> None:
    """One comes too late and says so; that two find names of their own in ./runs stands in test_runs.

    Threads of kernels and of linear algebra differ; the bytes do not.
    """
    words = (*SHORT, "--out", "mine")
    pair = [
        start(tmp_path, *words, NUMBA_NUM_THREADS=n, OPENBLAS_NUM_THREADS=m)
        for n, m in (("1", "2"), ("2", "1"))
    ]
    first, second = sorted((end(process) for process in pair), key=lambda done: done.code)
    assert first.code == 0, first
    refused(second, "mine: exists already")
    assert [path.name for path in tmp_path.iterdir()] == ["mine"] and len(whole_runs(tmp_path)) == 1
    assert (tmp_path / "mine" / "result.json").read_bytes() == made_here


@pytest.mark.study
@pytest.mark.parametrize("threads", ["1", "2"])
def test_a_cold_compile_gives_the_same_bytes(
    threads: str, made_here: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    begun = time.perf_counter()
    cold = start(
        tmp_path, *SHORT, "--out", "cold",
        NUMBA_CACHE_DIR=str(tmp_path / "cache"), NUMBA_NUM_THREADS=threads, OPENBLAS_NUM_THREADS=threads,
    )  # fmt: skip
    done = end(cold)
    with capsys.disabled():
        print(f"\ncold compile on {threads} threads: {time.perf_counter() - begun:.1f} s")
    assert done.code == 0 and list((tmp_path / "cache").rglob("*.nbc")), done
    assert (tmp_path / "cold" / "result.json").read_bytes() == made_here


@pytest.mark.study
def test_the_whole_search_gives_the_same_bytes_on_any_threads(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """All maneuvers and the airplanes drawn from the doubt."""
    found = set()
    for n in ("1", "2"):
        for m in ("1", "2"):
            process = start(
                tmp_path, "tune", "--no-pictures", "--out", n + m, NUMBA_NUM_THREADS=n, OPENBLAS_NUM_THREADS=m
            )
            assert end(process).code == 0
            found.add((tmp_path / (n + m) / "result.json").read_bytes())
    with capsys.disabled():
        print(f"\nwhole search on 2 x 2 settings of threads: {len(found)} result")
    assert len(found) == 1


# ---------------------------------------------------------------- interrupted

#: An interrupt that falls where Python can only remark on it, as in the end of an object.
SWALLOWED = """
import os, signal, time, sixdof.cli
class Lost:
    def __del__(self):
        os.kill(os.getpid(), signal.SIGINT)
def run(words):
    Lost()
    for i in range(2000):
        time.sleep(0.01)
sixdof.cli._run = run
sixdof.cli.main()
"""


def test_an_interrupt_that_nobody_could_take_comes_again(tmp_path: Path) -> None:
    done = end(start_python(tmp_path, SWALLOWED))
    assert done.code == 130 and done.err.count("\n") == 1 and "interrupted" in done.err, done


# ---------------------------------------------------------------- full disks


@contextmanager
def files_of_at_most(size: int) -> Iterator[None]:
    """Every file that is written here meets a full disk after so many bytes."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@pytest.mark.parametrize("most", [1000, 5600, 60000], ids=["result", "inputs", "tracks"])
def test_a_disk_that_fills_up(most: int, made_here: bytes, tmp_path: Path) -> None:
    with files_of_at_most(most):
        refused(sixdof_here(tmp_path, *SHORT, "--out", "out"), "out: cannot be written")
    assert list(tmp_path.iterdir()) == []


def test_single_files_on_a_full_disk(tmp_path: Path) -> None:
    assert sixdof_here(tmp_path, *SHORT, "--out", "run").code == 0
    before = everything_in(tmp_path)
    for words in (("new", "mine"), ("check",), ("compare", "run", "run", "--out", "x.png")):
        with files_of_at_most(1000):
            refused(sixdof_here(tmp_path, *words), "cannot be written")
    assert everything_in(tmp_path) == before


def in_a_room_of_its_own(place: Path, mounts: str, *words: str, **variables: str) -> Done:
    """Run a command where `mounts` holds for it alone; skips where this is not allowed."""
    if (
        not shutil.which("unshare")
        or subprocess.run(["unshare", "-m", "true"], capture_output=True).returncode
    ):
        pytest.skip("no leave to mount")
    code = "from sixdof.cli import main; main()"
    script = f'{mounts} || exit 77; cd "{place}" && exec "$@"'
    done = subprocess.run(
        ["unshare", "-m", "sh", "-c", script, "sh", sys.executable, "-c", code, *words],
        env={**os.environ, **variables}, capture_output=True, text=True, check=False, timeout=300,
    )  # fmt: skip
    if done.returncode == 77:
        pytest.skip(f"no leave to mount: {done.stderr.strip()}")
    return Done(done.returncode, done.stdout, done.stderr)


def test_a_full_file_system(made_here: bytes, tmp_path: Path) -> None:
    mount = f'mount -t tmpfs -o size=64k none "{tmp_path}"'
    done = in_a_room_of_its_own(tmp_path, mount, *SHORT, "--out", "out")
    refused(done, "out: cannot be written (No space left on device)")


# ---------------------------------------------------------------- nothing writable, no home


def test_a_read_only_install_without_home(made_here: bytes, tmp_path: Path) -> None:
    """Kernels come from the private temporary folder, where a copy of the compiled ones lies."""
    assert CACHE_FOLDER is not None
    package = Path(sixdof.__file__).parent
    scratch = tmp_path / "scratch"
    private = scratch / f"sixdof-{os.getuid()}"
    private.mkdir(parents=True, mode=0o700)
    shutil.copytree(CACHE_FOLDER, private / Path(CACHE_FOLDER).name)
    mount = f'mount --bind "{package}" "{package}" && mount -o remount,bind,ro "{package}"'
    done = in_a_room_of_its_own(
        tmp_path, mount, *SHORT, "--out", "out",
        HOME="/proc/nowhere", XDG_CACHE_HOME="", TMPDIR=str(scratch), NUMBA_CACHE_DIR="",
    )  # fmt: skip
    assert done.code == 0 and done.err == "", done
    assert (tmp_path / "out" / "result.json").read_bytes() == made_here


@pytest.mark.study
def test_a_read_only_install_compiles_into_the_private_folder(
    made_here: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    package = Path(sixdof.__file__).parent
    mount = f'mount --bind "{package}" "{package}" && mount -o remount,bind,ro "{package}"'
    begun = time.perf_counter()
    done = in_a_room_of_its_own(
        tmp_path, mount, *SHORT, "--out", "out",
        HOME="/proc/nowhere", XDG_CACHE_HOME="", TMPDIR=str(tmp_path), NUMBA_CACHE_DIR="",
    )  # fmt: skip
    with capsys.disabled():
        print(f"\nread-only install, first run: {time.perf_counter() - begun:.1f} s")
    assert done.code == 0 and done.err.count("\n") == 1 and "compiling" in done.err, done
    assert list((tmp_path / f"sixdof-{os.getuid()}").rglob("*.nbc"))
    assert (tmp_path / "out" / "result.json").read_bytes() == made_here


def test_no_home(made_here: bytes, tmp_path: Path) -> None:
    """Without one, and with one where nothing can be written, where only matplotlib remarks on it."""
    variables = {
        k: v for k, v in os.environ.items() if k not in ("HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME")
    }
    days = ((("check", "--no-picture"), {}), (("check", "--picture", "x.png"), {"HOME": "/proc/nowhere"}))
    started = [
        subprocess.Popen(
            [sys.executable, "-c", "from sixdof.cli import main; main()", *words],
            cwd=tmp_path, env=variables | home, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        )
        for words, home in days
    ]  # fmt: skip
    homeless, blocked = (end(process) for process in started)
    for done in (homeless, blocked):
        assert done.code == 0 and "corvane" in done.out, done
    assert homeless.err == ""
    assert all("matplotlib" in line.lower() for line in blocked.err.splitlines()), blocked.err
    assert [path.name for path in tmp_path.iterdir()] == ["x.png"]


# ---------------------------------------------------------------- poor terminals


def piped(place: Path, target: str, *words: str, **variables: str) -> subprocess.CompletedProcess[str]:
    """Run with standard output into a file or device."""
    with open(target, "w") as out:
        return subprocess.run(
            [sys.executable, "-c", "from sixdof.cli import main; main()", *words], cwd=place,
            env={**os.environ, **variables}, stdout=out, stderr=subprocess.PIPE, text=True, check=False, timeout=120,
        )  # fmt: skip


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
@pytest.mark.parametrize("words", [("list",), ("list", "--json"), ("schema",)])
def test_output_into_a_full_device(words: Sequence[str], tmp_path: Path) -> None:
    done = piped(tmp_path, "/dev/full", *words)
    assert done.returncode == 2 and done.stderr.count("\n") == 1, done
    assert done.stderr.startswith("sixdof: ") and "No space left" in done.stderr


def test_a_reader_that_went_away(tmp_path: Path) -> None:
    code = "import time, sys; time.sleep(0.3); from sixdof.cli import main; main()"
    process = start_python(tmp_path, code, "schema")
    assert process.stdout is not None and process.stderr is not None
    process.stdout.close()
    assert process.stderr.read() == "" and process.wait(60) == 1
    process.stderr.close()


def test_a_terminal_of_few_letters(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Degrees and arrows become question marks; the run is whole, its result in full letters."""
    monkeypatch.chdir(tmp_path)
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="ascii") for _ in "oe")
    assert main_here(("fly", "--no-pictures", "--out", "mine"), out, err) == 0
    out.seek(0)
    err.seek(0)
    assert err.read() == "" and "?" in out.read()
    assert read_run(str(tmp_path / "mine")).tracks()


@pytest.mark.parametrize("words", [("new", "mine"), ("fly", "--no-pictures", "--out", "x"), ("view", "x")])
def test_a_folder_that_is_gone(
    words: Sequence[str], made_here: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "gone").mkdir()
    monkeypatch.chdir(tmp_path / "gone")
    (tmp_path / "gone").rmdir()
    out, err = io.StringIO(), io.StringIO()
    code = main_here(words, out, err)
    refused(Done(code, out.getvalue(), err.getvalue()))
    assert list(tmp_path.iterdir()) == []

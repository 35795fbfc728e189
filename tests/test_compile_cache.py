"""The cache of compiled kernels is never stale, and a read-only install still runs."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import sixdof
from sixdof.physics.compile import kernel_sources

_PRINT = "from sixdof.physics.rigid import angular_acceleration as f\nfrom sixdof.physics.record import new_plane\nprint(f(new_plane()[0], 0.0, 0.0, 0.0, 1.0, 2.0, 3.0))"


def _run(folder: Path, **environment: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", _PRINT],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1", **environment},
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout


def _copy(folder: Path) -> Path:
    """The two folders of kernels, alone."""
    package = folder / "sixdof"
    shutil.copytree(
        Path(sixdof.__file__).parent / "physics",
        package / "physics",
        ignore=shutil.ignore_patterns("__pycache__"),
    )
    (package / "__init__.py").write_text("")
    (package / "flight").mkdir()
    return package


def test_a_change_in_a_called_file_reaches_its_callers(tmp_path: Path) -> None:
    package = _copy(tmp_path)
    assert _run(tmp_path) == "(1.0, 2.0, 3.0)\n"
    # the caller, rigid.py, stays as it is; what it calls changes
    frames = package / "physics" / "frames.py"
    text = frames.read_text()
    before = "return ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx"
    assert before in text
    frames.write_text(
        text.replace(before, "return ay * bz - az * by - 10.0, az * bx - ax * bz, ax * by - ay * bx")
    )
    assert _run(tmp_path) == "(11.0, 2.0, 3.0)\n"


def test_runs_where_nothing_of_its_own_can_be_written(tmp_path: Path) -> None:
    package = _copy(tmp_path)
    # a file in the way of the package's cache folder, no home: the temporary folder serves
    (package / "physics" / "__pycache__").write_text("")
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    blocked = tmp_path / "blocked"
    blocked.write_text("")
    out = _run(tmp_path, HOME=str(blocked), XDG_CACHE_HOME=str(blocked), TMPDIR=str(scratch))
    assert out == "(1.0, 2.0, 3.0)\n"
    assert list(scratch.rglob("*.nbc"))


def test_kernels_take_nothing_from_files_that_the_cache_does_not_watch() -> None:
    watched = {f"sixdof.{path.parent.name}.{path.stem}" for path in kernel_sources()}
    for path in kernel_sources():
        for line in re.findall(r"^from (sixdof\.\S+) import ([^\n]*)", path.read_text(), flags=re.MULTILINE):
            assert line[0] in watched or line[1] == "Trim", (
                path.name,
                line,
            )  # Trim: the result of a front door

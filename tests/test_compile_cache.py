"""The cache of compiled kernels is never stale, and a read-only install still runs."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

import sixdof
import sixdof.physics.compile as compile_
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


def hostile(place: Path, how: str) -> None:
    """Let others into a folder."""
    if how == "writable":
        place.chmod(0o777)
    elif how == "of its group":
        place.chmod(0o775)
    else:
        os.chown(place, 65534, -1)


def owners() -> list[str]:
    return ["writable", "of its group"] + (["of another"] if os.getuid() == 0 else [])


@pytest.mark.parametrize("how", owners())
@pytest.mark.parametrize("depth", [0, 1, 2])
def test_a_folder_that_another_can_swap_holds_no_cache(
    how: str, depth: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    base = tmp_path / "above" / "between"
    leaf = base / compile_._sources_hash()
    leaf.mkdir(parents=True, mode=0o700)
    for path in (base, base.parent):
        path.chmod(0o700)
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(base))
    assert compile_._cache_folder() == str(leaf), "it is taken while it is ours alone"
    hostile((leaf, base, base.parent)[depth], how)
    assert compile_._cache_folder() != str(leaf)
    for name in ("TMPDIR", "XDG_CACHE_HOME"):
        monkeypatch.setenv(name, str(base))
    monkeypatch.setattr(tempfile, "tempdir", str(base))
    monkeypatch.setattr(compile_, "__file__", str(base / "physics" / "compile.py"))
    below = base / f"sixdof-{os.getuid()}" / leaf.name
    if depth:
        assert compile_._cache_folder() is None, "and nothing is better than that"
        assert not list(below.glob("*"))


def test_a_sticky_folder_above_is_as_good_as_any(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "tmp").mkdir()
    (tmp_path / "tmp").chmod(0o1777)
    base = tmp_path / "tmp" / "sixdof-x"
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(base))
    assert compile_._cache_folder() == str(base / compile_._sources_hash())
    assert base.stat().st_mode & 0o777 == 0o700
    hostile(base, "writable")
    assert compile_._cache_folder() != str(base / compile_._sources_hash())


def test_a_link_is_followed_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "real").mkdir(mode=0o700)
    (tmp_path / "link").symlink_to(tmp_path / "real")
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "link"))
    assert compile_._cache_folder() == str(tmp_path / "real" / compile_._sources_hash())


def test_kernels_take_nothing_from_files_that_the_cache_does_not_watch() -> None:
    watched = {f"sixdof.{path.parent.name}.{path.stem}" for path in kernel_sources()}
    for path in kernel_sources():
        for line in re.findall(r"^from (sixdof\.\S+) import ([^\n]*)", path.read_text(), flags=re.MULTILINE):
            assert line[0] in watched or line[1] == "Trim", (
                path.name,
                line,
            )  # Trim: the result of a front door

"""Run folders: written whole or not at all, and read back."""

from __future__ import annotations

import contextlib
import errno
import json
import math
import os
import platform
import re
import secrets
import shutil
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import ValidationError

from sixdof.airframe.changes import changed, read_changes
from sixdof.airframe.load import make_airframe
from sixdof.airframe.model import Airframe
from sixdof.files.errors import InputError, shown
from sixdof.files.rows import clean
from sixdof.files.yamlio import open_plain_file, parse_yaml
from sixdof.flight.fly import Track
from sixdof.flight.frame import TRACK_NAMES
from sixdof.flight.script import ManeuverFile, make_maneuver
from sixdof.flight.track import check_track
from sixdof.study.results import SCHEMA, Answer, read_answer

#: A folder of this prefix is not finished; readers refuse it.
UNFINISHED = ".unfinished-"
MOST_NAME = 60  # letters in a name made of an airplane's: file names end at 255 bytes, a letter has up to 4
MOST_RESULT = 64 * 2**20  # bytes; the longest exploration has 100 kB
MOST_TRACKS = 2 * 2**30  # bytes in memory; the usual run has a few MB


def plain_name(text: str) -> str:
    """A text as the name of a file: letters, digits and ``. + - _``, all else as one ``-``."""
    return re.sub(r"[^\w.+-]+", "-", text)[:MOST_NAME]


@contextmanager
def whole_file(path: Path, *, advice: str, over: bool = False) -> Iterator[Path]:
    """A path beside `path` to write to; what was written takes that name when it is whole, else it is gone.

    Raises
    ------
    InputError
        It exists and is not to be written over, or cannot be written; ends with `advice`.
    """
    unfinished = path.with_name(f"{UNFINISHED}{os.getpid()}-{path.name}")
    try:
        yield unfinished
        if not over and os.path.lexists(path):
            raise FileExistsError(errno.EEXIST, "exists already")
        unfinished.replace(path)
    except OSError as error:
        raise InputError(f"{path}: cannot be written ({reason(error)}); {advice}") from None
    finally:
        with contextlib.suppress(OSError):
            unfinished.unlink()


def reason(error: OSError) -> str:
    """What the operating system said, in its words."""
    return error.strerror or str(error) or type(error).__name__


def check_out(wanted: str | None) -> None:
    """Refuse a folder that cannot become a run, before anything is flown.

    Raises
    ------
    InputError
        It exists, its name is kept for unfinished runs, or it cannot be written.
    """
    if wanted is None:
        return
    target = Path(wanted)
    try:
        if target.exists() or target.is_symlink():
            raise InputError(f"{target}: exists already; choose another --out, or remove it")
        above = next(p for p in target.absolute().parents if p.exists())
    except OSError as error:
        raise InputError(f"{target}: cannot be written ({reason(error)}); choose another --out") from None
    if target.name.startswith(UNFINISHED):
        raise InputError(f"{target}: names in {UNFINISHED}... are kept for runs that were not finished")
    if not (above.is_dir() and os.access(above, os.W_OK | os.X_OK)):
        raise InputError(f"{target}: cannot be written ({above} takes no folder); choose another --out")


def write_run(
    answer: Answer,
    wanted: str | None,
    default: str,
    *,
    timings: dict[str, float],
    draw: Callable[[Path], dict[str, float]] | None = None,
) -> Path:
    """Write a run folder; it appears under its name only when it is whole.

    Parameters
    ----------
    answer : Answer
        Its JSON becomes ``result.json``, its tracks ``tracks.npz`` (name -> array (frames, columns), SI and
        rad), the texts of its inputs are embedded in ``inputs.yaml``.
    wanted : str, optional
        Folder asked for; must not exist yet.
    default : str
        Name in ``./runs`` otherwise; a number is added if it is taken.
    timings : dict
        Seconds by stage.
    draw : callable, optional
        Draws pictures into the unfinished folder; returns the seconds it took.

    Raises
    ------
    InputError
        The folder exists, or cannot be written.
    """
    import yaml

    check_out(wanted)
    target = Path("runs") / plain_name(default) if wanted is None else Path(wanted)
    folder = target.parent / f"{UNFINISHED}{target.name}-{os.getpid()}-{secrets.token_hex(3)}"
    try:
        folder.mkdir(parents=True)
    except OSError as error:
        raise InputError(f"{target}: cannot be written ({reason(error)}); choose another --out") from None
    try:
        (folder / "result.json").write_text(answer.text(), encoding="utf-8")
        (folder / "inputs.yaml").write_text(yaml.safe_dump(answer.inputs, sort_keys=True), encoding="utf-8")
        arrays: dict[str, Any] = {"columns": np.array(TRACK_NAMES)}
        arrays |= {name: track.values for name, track in answer.tracks.items()}
        np.savez_compressed(folder / "tracks.npz", **arrays)
        if draw:
            timings = {**timings, **draw(folder)}
        versions = {name: _version(name) for name in ("sixdof", "numpy", "scipy", "numba", "pyvista")}
        stamp = {"seconds": timings, "versions": versions, "python": platform.python_version()}
        (folder / "timings.json").write_text(json.dumps(clean(stamp), indent=1) + "\n", encoding="utf-8")
        return _settle(folder, target, free_to_rename=wanted is None)
    except OSError as error:
        raise InputError(f"{target}: cannot be written ({reason(error)}); choose another --out") from None
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _settle(folder: Path, target: Path, *, free_to_rename: bool) -> Path:
    """Rename the finished folder to its name; the next free number if that is taken."""
    number = 1
    while True:
        name = target if number == 1 else target.with_name(f"{target.name}-{number}")
        if not name.exists():
            try:
                folder.rename(name)
                return name
            except OSError:
                if not name.exists():
                    raise
        if not free_to_rename:
            raise InputError(f"{target}: exists already; choose another --out, or remove it")
        number += 1


def _version(name: str) -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"


@dataclass(frozen=True)
class Run:
    """A run that was read: its folder, its answer without tracks, and the texts it was flown from."""

    path: Path
    answer: Answer
    inputs: dict[str, str]

    def tracks(self) -> dict[str, Track]:
        """Tracks by name "maneuver.side.kind".

        Raises
        ------
        InputError
            Damaged.
        """
        path = self.path / "tracks.npz"
        try:
            with open_plain_file(path) as file, zipfile.ZipFile(file) as archive:
                size = sum(member.file_size for member in archive.infolist())
            if size > MOST_TRACKS:
                raise ValueError(
                    f"tracks.npz holds {size / 2**30:.1f} GB, at most {MOST_TRACKS >> 30} are read"
                )
            with open_plain_file(path) as file, np.load(file, allow_pickle=False) as arrays:
                tracks = {name: arrays[name] for name in arrays.files if name != "columns"}
        except Exception as error:  # the readers of damaged archives raise nearly everything
            raise _damaged(self.path, error) from None
        for name, track in tracks.items():
            if what := _no_track(name, track):
                raise _damaged(self.path, ValueError(f"tracks.npz: {name!r} {what}"))
        return {name: Track(track) for name, track in tracks.items()}

    def airframe(self) -> Airframe:
        """The airplane of the run, from the copy of its file and what was changed."""
        airframe = make_airframe(parse_yaml(*self._copy("aircraft.yaml")))
        try:
            return changed(airframe, read_changes(self.inputs.get("changes.txt", "").splitlines()))
        except InputError as error:
            raise _damaged(self.path, ValueError(f"inputs.yaml: changes.txt: {error}")) from None

    def maneuvers(self) -> list[ManeuverFile]:
        """The maneuvers of the run, from the copies of their files."""
        return maneuvers_in(self.inputs, self.path / "inputs.yaml")

    def _copy(self, name: str) -> tuple[Path, bytes]:
        """An embedded file: where complaints say it is, and its bytes."""
        if name not in self.inputs:
            raise _damaged(self.path, ValueError(f"inputs.yaml: {name} is missing"))
        return self.path / "inputs.yaml" / name, self.inputs[name].encode("utf-8", "surrogatepass")


def maneuvers_in(inputs: dict[str, str], place: Path = Path()) -> list[ManeuverFile]:
    """The maneuvers whose texts an answer or a run holds."""
    names = [name for name in inputs if name.startswith("maneuvers/")]
    return [make_maneuver(place / name, inputs[name].encode("utf-8", "surrogatepass")) for name in names]


def _no_track(name: str, track: Any) -> str:
    """Why something is not a track, or nothing."""
    if not re.fullmatch(r"[\w-]+\.(right|left|both)\.(bare|blended|free|held|[-+]\d+\.\d+)", name):
        return "is not a flight's name"
    if not isinstance(track, np.ndarray):
        return "is not a track"
    try:
        check_track(track)
    except ValueError as error:
        return f"is not a track: {error}"
    return ""


def _damaged(path: Path, error: Exception) -> InputError:
    said = next(iter(str(error).splitlines()), "") or type(error).__name__
    return InputError(f"{path}: a damaged run ({shown(said, 200)}); fly it again")


def read_run(text: str) -> Run:
    """Read a run folder by path, or by name in ``./runs``.

    Raises
    ------
    InputError
        Not there, not finished, or not a run.
    """
    import yaml

    path = Path(text)
    try:
        if not path.exists() and (Path("runs") / text).exists():
            path = Path("runs") / text
    except OSError as error:
        raise InputError(f"{path}: not a run folder ({error.strerror}); see `sixdof list`") from None
    if path.name.startswith(UNFINISHED):
        raise InputError(f"{path}: this run was never finished; fly it again")
    file = path / "result.json"
    try:
        result = json.loads(_text(file), parse_constant=_finite, parse_float=_finite)
        inputs = yaml.safe_load(_text(path / "inputs.yaml"))
        with open_plain_file(path / "tracks.npz") as packed, zipfile.ZipFile(packed):
            pass
    except (FileNotFoundError, NotADirectoryError) as error:
        raise InputError(
            f"{path}: not a run folder ({Path(error.filename).name} is missing); see `sixdof list`"
        ) from None
    except Exception as error:  # so do those of damaged texts
        raise _damaged(path, error) from None
    schema = result.get("schema") if isinstance(result, dict) else None
    if schema != SCHEMA:
        raise InputError(
            f"{file}: schema: got {shown(schema)}, expected {SCHEMA}: fly it again with this version"
        )
    if not (isinstance(inputs, dict) and all(isinstance(v, str) for pair in inputs.items() for v in pair)):
        raise _damaged(path, ValueError("inputs.yaml does not hold texts"))
    try:
        answer = read_answer({key: value for key, value in result.items() if key != "schema"})
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(map(str, first["loc"]))
        raise _damaged(path, ValueError(f"result.json: {where}: {first['msg']}")) from None
    return Run(path=path, answer=answer, inputs=inputs)


def _text(path: Path) -> str:
    with open_plain_file(path) as file:
        raw = file.read(MOST_RESULT + 1)
    if len(raw) > MOST_RESULT:
        raise ValueError(f"{path.name} is longer than {MOST_RESULT >> 20} MB")
    return raw.decode()


def _finite(text: str) -> float:
    if not math.isfinite(number := float(text)):
        raise ValueError(f"result.json: got {text[:20]}, expected a finite number")
    return number


def list_runs() -> list[str]:
    """Names of the runs in ``./runs``."""
    return sorted(
        p.parent.name for p in Path("runs").glob("*/result.json") if not p.parent.name.startswith(UNFINISHED)
    )

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
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from pydantic import BaseModel, ConfigDict, ValidationError

from sixdof.airframe.changes import changed, read_changes
from sixdof.airframe.load import make_airframe
from sixdof.airframe.model import Airframe
from sixdof.files.errors import InputError, shown
from sixdof.files.yamlio import open_plain_file, parse_yaml

if TYPE_CHECKING:
    from sixdof.flight.script import ManeuverFile

#: A folder of this prefix is not finished; readers refuse it.
UNFINISHED = ".unfinished-"
MOST_NAME = 60  # letters in a name made of an airplane's: file names end at 255 bytes, a letter has up to 4
MOST_RESULT = 64 * 2**20  # bytes; the longest exploration has 100 kB
MOST_TRACKS = 2 * 2**30  # bytes in memory; the usual run has a few MB


class _Row(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class AircraftRow(_Row):
    """Which airplane."""

    name: str
    sha256: str
    invented: bool
    rate: str


class DoubtRow(_Row):
    """How far a ratio can be trusted: eight in ten of the airplanes drawn from the doubt want low to high."""

    low_percent: float
    high_percent: float
    other_sign_percent: float | None
    airplanes: int
    because: dict[str, float]
    words: str


class BlendRow(_Row):
    """A ratio; percent in the target's own sense, + right aileron, up elevator, right rudder."""

    source: str
    target: str
    side: str
    percent: float
    degrees: float
    degrees_used: float
    words: str
    exact_percent: float | None
    held_percent: float | None
    steady_percent: float | None
    doubt: DoubtRow | None = None


class ManeuverRow(_Row):
    """A maneuver to one side; drifts in degrees of the worst term, signed."""

    name: str
    side: str
    status: str
    status_before: str
    scored: bool
    deviation_before: float
    deviation_after: float | None
    drift_before: float
    drift_after: float | None
    rate_before: float
    rate_after: float | None
    term_before: str
    term_after: str | None
    words_before: str
    words_after: str | None
    points_before: float
    points_after: float | None
    others: dict[str, float | None]
    travel_lost_s: float
    height_used_m: float | None
    top_speed_m_s: float | None
    top_g: float | None


class WindyRow(_Row):
    """A maneuver to one side over many airs: size of the worst drift [deg], mean and standard deviation."""

    name: str
    side: str
    drift_before: float | None
    spread_before: float | None
    finished_before_percent: float
    drift_after: float | None
    spread_after: float | None
    finished_after_percent: float


class WindyRatioRow(_Row):
    """What one held pass tells of a ratio in wind: its standard deviation, and passes for half a percent."""

    source: str
    target: str
    side: str
    spread_percent: float
    passes: int


class WindRow(_Row):
    """Bare and blended in many airs of a wind."""

    air: str
    airs: int
    maneuvers: list[WindyRow]
    ratios: list[WindyRatioRow]
    words: list[str]


class SplitRow(_Row):
    """Parts of a knife-edge ratio at cruise [% of the target's throw]; doubts: what two methods differ by."""

    target: str
    constant: float
    even: float
    odd: float
    constant_doubt: float
    even_doubt: float
    odd_doubt: float
    words: list[str]


class SettingRow(_Row):
    """One setting of an exploration."""

    percent: float
    side: str
    status: str
    scored: bool
    drift: float
    rate: float
    words: str
    top_speed_m_s: float | None
    height_used_m: float | None


class RemedyRow(_Row):
    """The airplane with some changes, re-trimmed and bare; percent with + up and right, degrees, points of ten.

    Ratios are those of held knife-edges, ``constant`` the constant part of their elevator; ``dive`` is toward
    canopy over the power-off dive, ``adverse`` the sideslip against the roll in the roll reversal.  All
    null where ``trouble`` says why it was not flown.
    """

    changes: list[str]
    words: str
    trouble: str
    elevator_right: float | None
    elevator_left: float | None
    aileron_right: float | None
    aileron_left: float | None
    constant: float | None
    dive: float | None
    adverse: float | None
    trim_aileron: float | None
    trim_elevator: float | None
    trim_rudder: float | None
    static_margin: float | None
    points: float | None


class BestRow(RemedyRow):
    """A set of changes as it flew, and what the single steps had promised."""

    expected_constant: float | None
    expected_dive: float | None


class Result(_Row):
    """What a command found; the same object that ``--json`` prints."""

    command: str
    aircraft: AircraftRow
    changes: list[str] = []
    air: str = "calm"
    step_percent: float | None = None
    airplanes: int = 0
    unstable_percent: float | None = None
    blends: list[BlendRow] = []
    flown_with: list[str] = []
    maneuvers: list[ManeuverRow] = []
    split: list[SplitRow] = []
    wind: WindRow | None = None
    settings: list[SettingRow] = []
    remedies: list[RemedyRow] = []
    best: BestRow | None = None
    warnings: list[str] = []
    cautions: list[str] = []

    def text(self, **more: Any) -> str:
        """JSON, numbers to six digits, what is not finite as null."""
        return json.dumps(_clean({"schema": 1, **self.model_dump(), **more}), indent=1) + "\n"


def _clean(value: Any) -> Any:
    if isinstance(value, float):
        return float(f"{value:.6g}") if math.isfinite(value) else None
    if isinstance(value, dict):
        return {k: _clean(v) for k, v in value.items()}
    if isinstance(value, list):
        return [_clean(v) for v in value]
    return value


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
    wanted: str | None,
    default: str,
    *,
    result: Result,
    inputs: dict[str, str],
    tracks: dict[str, np.ndarray],
    columns: tuple[str, ...],
    timings: dict[str, float],
    draw: Callable[[Path], dict[str, float]] | None = None,
) -> Path:
    """Write a run folder; it appears under its name only when it is whole.

    Parameters
    ----------
    wanted : str, optional
        Folder asked for; must not exist yet.
    default : str
        Name in ``./runs`` otherwise; a number is added if it is taken.
    result : Result
    inputs : dict
        Name of a file -> its text, embedded in ``inputs.yaml``.
    tracks : dict
        Name -> array (frames, columns), for ``tracks.npz``.
    columns : tuple of str
        Names of the columns of every track, with SI units and rad.
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
        (folder / "result.json").write_text(result.text(), encoding="utf-8")
        (folder / "inputs.yaml").write_text(yaml.safe_dump(inputs, sort_keys=True), encoding="utf-8")
        arrays: dict[str, Any] = {"columns": np.array(columns), **tracks}
        np.savez_compressed(folder / "tracks.npz", **arrays)
        if draw:
            timings = {**timings, **draw(folder)}
        versions = {name: _version(name) for name in ("sixdof", "numpy", "scipy", "numba", "pyvista")}
        stamp = {"seconds": timings, "versions": versions, "python": platform.python_version()}
        (folder / "timings.json").write_text(json.dumps(_clean(stamp), indent=1) + "\n", encoding="utf-8")
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


class Run(BaseModel):
    """A run that was read."""

    model_config = ConfigDict(arbitrary_types_allowed=True)

    path: Path
    result: dict[str, Any]
    inputs: dict[str, str]

    def tracks(self) -> dict[str, np.ndarray]:
        """Tracks by name "maneuver.side.kind", each (frames, columns).

        Raises
        ------
        InputError
            Damaged.
        """
        from sixdof.flight.frame import N_TRACK

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
            good = isinstance(track, np.ndarray) and track.dtype == float and track.shape[1:] == (N_TRACK,)
            if not good or name.count(".") < 2:
                raise _damaged(self.path, ValueError(f"tracks.npz: {name!r} is not a track"))
        return tracks

    def airframe(self) -> Airframe:
        """The airplane of the run, from the copy of its file and what was changed."""
        airframe = make_airframe(parse_yaml(*self._copy("aircraft.yaml")))
        try:
            return changed(airframe, read_changes(self.inputs.get("changes.txt", "").splitlines()))
        except InputError as error:
            raise _damaged(self.path, ValueError(f"inputs.yaml: changes.txt: {error}")) from None

    def maneuvers(self) -> list[ManeuverFile]:
        """The maneuvers of the run, from the copies of their files."""
        from sixdof.flight.script import make_maneuver

        return [make_maneuver(*self._copy(name)) for name in self.inputs if name.startswith("maneuvers/")]

    def _copy(self, name: str) -> tuple[Path, bytes]:
        """An embedded file: where complaints say it is, and its bytes."""
        if name not in self.inputs:
            raise _damaged(self.path, ValueError(f"inputs.yaml: {name} is missing"))
        return self.path / "inputs.yaml" / name, self.inputs[name].encode("utf-8", "surrogatepass")


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
    if schema != 1:
        raise InputError(f"{file}: schema: {schema!r} came; 1 is read here")
    if not (isinstance(inputs, dict) and all(isinstance(v, str) for pair in inputs.items() for v in pair)):
        raise _damaged(path, ValueError("inputs.yaml does not hold texts"))
    try:
        Result.model_validate({key: value for key, value in result.items() if key != "schema"})
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(map(str, first["loc"]))
        raise _damaged(path, ValueError(f"result.json: {where}: {first['msg']}")) from None
    return Run(path=path, result=result, inputs=inputs)


def _text(path: Path) -> str:
    with open_plain_file(path) as file:
        raw = file.read(MOST_RESULT + 1)
    if len(raw) > MOST_RESULT:
        raise ValueError(f"{path.name} is longer than {MOST_RESULT >> 20} MB")
    return raw.decode()


def _finite(text: str) -> float:
    if not math.isfinite(number := float(text)):
        raise ValueError(f"result.json: {text[:20]} came, a finite number is wanted")
    return number


def list_runs() -> list[str]:
    """Names of the runs in ``./runs``."""
    return sorted(
        p.parent.name for p in Path("runs").glob("*/result.json") if not p.parent.name.startswith(UNFINISHED)
    )

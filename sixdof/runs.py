"""Run folders: written whole or not at all, and read back."""

from __future__ import annotations

import json
import math
import os
import platform
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import BaseModel, ConfigDict

from sixdof.airframe.errors import InputError
from sixdof.airframe.load import load_airframe
from sixdof.airframe.model import Airframe

#: A folder of this prefix is not finished; readers refuse it.
UNFINISHED = ".unfinished-"


class _Row(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class AircraftRow(_Row):
    """Which airplane."""

    name: str
    sha256: str
    invented: bool
    rate: str


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
    height_used_m: float
    top_speed_m_s: float
    top_g: float


class SplitRow(_Row):
    """Parts of a knife-edge ratio in percentage points at cruise, with their doubt."""

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
    top_speed_m_s: float
    height_used_m: float


class Result(_Row):
    """What a command found; the same object that ``--json`` prints."""

    command: str
    aircraft: AircraftRow
    step_percent: float | None = None
    blends: list[BlendRow] = []
    maneuvers: list[ManeuverRow] = []
    split: list[SplitRow] = []
    settings: list[SettingRow] = []
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

    target = Path(wanted) if wanted else Path("runs") / default
    if wanted and target.exists():
        raise InputError(f"{target}: exists already; choose another --out, or remove it")
    folder = target.parent / f"{UNFINISHED}{target.name}-{os.getpid()}"
    try:
        folder.mkdir(parents=True)
    except OSError as error:
        raise InputError(f"{target}: cannot be written ({error.strerror}); choose another --out") from None
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
        raise InputError(f"{target}: cannot be written ({error.strerror}); choose another --out") from None
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
        """Tracks by name, each (frames, columns)."""
        with np.load(self.path / "tracks.npz", allow_pickle=False) as arrays:
            return {name: arrays[name] for name in arrays.files if name != "columns"}

    def airframe(self) -> Airframe:
        """The airplane of the run, from the copy of its file."""
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "aircraft.yaml"
            path.write_text(self.inputs["aircraft.yaml"], encoding="utf-8")
            return load_airframe(path)


def read_run(text: str) -> Run:
    """Read a run folder by path, or by name in ``./runs``.

    Raises
    ------
    InputError
        Not there, not finished, or not a run.
    """
    import yaml

    path = Path(text)
    if not path.exists() and (Path("runs") / text).exists():
        path = Path("runs") / text
    if path.name.startswith(UNFINISHED):
        raise InputError(f"{path}: this run was never finished; fly it again")
    file = path / "result.json"
    try:
        result = json.loads(file.read_text(encoding="utf-8"))
        inputs = yaml.safe_load((path / "inputs.yaml").read_text(encoding="utf-8"))
        with np.load(path / "tracks.npz", allow_pickle=False):
            pass
    except FileNotFoundError as error:
        raise InputError(
            f"{path}: not a run folder ({Path(error.filename).name} is missing); see `sixdof list`"
        ) from None
    except (OSError, ValueError, yaml.YAMLError) as error:
        raise InputError(f"{path}: a damaged run ({str(error).splitlines()[0]}); fly it again") from None
    if not isinstance(result, dict) or result.get("schema") != 1 or not isinstance(inputs, dict):
        raise InputError(
            f"{file}: schema: {result.get('schema') if isinstance(result, dict) else result!r} came; 1 is read here"
        )
    return Run(path=path, result=result, inputs=inputs)


def list_runs() -> list[str]:
    """Names of the runs in ``./runs``."""
    return sorted(
        p.parent.name for p in Path("runs").glob("*/result.json") if not p.parent.name.startswith(UNFINISHED)
    )

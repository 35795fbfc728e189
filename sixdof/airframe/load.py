"""Find an aircraft file by name and load it."""

from __future__ import annotations

import re
from pathlib import Path

from sixdof.airframe.blendfile import BlendsFile
from sixdof.airframe.blends import BlendSpec
from sixdof.airframe.model import Airframe, AirframeFile
from sixdof.airframe.plausible import remarks
from sixdof.files.errors import InputError, nearest, shown
from sixdof.files.validate import validate
from sixdof.files.yamlio import Document, read_bytes, read_yaml

__all__ = ["files_here", "find_airframe", "list_airframes", "load_airframe", "load_blends", "make_airframe"]

_PACKAGE = Path(__file__).resolve().parent.parent
_FOLDERS = (Path("aircraft"), _PACKAGE / "aircraft", _PACKAGE.parent / "aircraft")


def load_airframe(name_or_path: str | Path) -> Airframe:
    """Load an airplane.

    Parameters
    ----------
    name_or_path : str or Path
        A path, or a name looked up as ``NAME.yaml`` in the working folder, ``./aircraft``, the
        package and the source tree.

    Returns
    -------
    Airframe
        Frozen; SI, rad, body axes from the datum.

    Raises
    ------
    InputError
        In one line: where, what was found, what was expected.
    """
    return make_airframe(read_yaml(find_airframe(name_or_path)))


def make_airframe(document: Document) -> Airframe:
    """Airplane of a document, as `load_airframe` makes it.

    Raises
    ------
    InputError
    """
    form = validate(AirframeFile, document)
    return Airframe.model_construct(
        **dict(form),
        path=str(document.path),
        sha256=document.sha256,
        text=document.text,
        warnings=tuple(remarks(form)),
        lines=document.lines,
    )


def load_blends(path: str | Path) -> tuple[BlendSpec, ...]:
    """Load a file whose top key ``blends`` holds blends as an aircraft file's radio does."""
    return validate(BlendsFile, read_yaml(path)).blends


def list_airframes() -> list[tuple[str, str, str]]:
    """List the airplanes that a name finds: (name, path, about); a bad file says what is wrong."""
    found: dict[str, tuple[str, str, str]] = {}
    for path in (*files_here(), *(p for folder in _FOLDERS for p in sorted(folder.glob("*.yaml")))):
        if path.stem not in found:
            found[path.stem] = (path.stem, str(path), _about(path))
    return list(found.values())


def find_airframe(name_or_path: str | Path) -> Path:
    """Path of an aircraft file, by the look-up order of `load_airframe`."""
    text = str(name_or_path)
    path = Path(text)
    if isinstance(name_or_path, Path) or "/" in text or "\\" in text or path.suffix in (".yaml", ".yml"):
        return path
    for folder in (Path(), *_FOLDERS):
        candidate = folder / f"{text}.yaml"
        if _is_file(candidate):
            return candidate
    if text and _is_file(path):
        return path
    hint = nearest(text, [name for name, _, _ in list_airframes()])
    stop = "" if hint.endswith("?") else "."
    raise InputError(f"no airplane is called {shown(text)}; {hint}{stop} A path works as well")


def files_here() -> list[Path]:
    """Aircraft files that lie directly in the working folder."""
    return [path for path in sorted(Path().glob("*.yaml")) if _is_file(path) and _holds_a_wing(path)]


def _holds_a_wing(path: Path) -> bool:
    try:
        return re.search(rb"^wing:", read_bytes(path), flags=re.MULTILINE) is not None
    except InputError:
        return False


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def _about(path: Path) -> str:
    try:
        data = read_yaml(path).data
    except InputError as error:
        return str(error)
    about = data.get("about", "") if isinstance(data, dict) else ""
    return shown(" ".join(about.split()), most=2000) if isinstance(about, str) else ""

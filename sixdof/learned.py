"""What was learned of an airplane, kept beside its file: the notes word for word, and what was worked out of them.

``mine.learned.json`` lies beside ``mine.yaml``; of an airplane that comes with the package, in the working folder.
It holds every file of notes in the order in which it was taken in, so that the last one can be taken out again,
and belongs to one version of the aircraft file, by its hash.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.files.errors import InputError
from sixdof.files.yamlio import open_plain_file
from sixdof.flight.airplane import Airplane
from sixdof.flight.layer import Layer
from sixdof.flight.needs import NEEDS
from sixdof.learning.crowd import Prior, X
from sixdof.learning.logs import knife_edges, notes_text, read_log
from sixdof.learning.notes import Notes, notes_from, read_blends
from sixdof.runs import whole_file

__all__ = [
    "Book",
    "FlownLog",
    "kept_notes",
    "notes_of_log",
    "opened",
    "path_of",
    "read_book",
    "taken_in",
    "with_notes",
    "write_book",
]

VERSION = 1
_PACKAGE = Path(__file__).resolve().parent
_MOST_BYTES = 8 * 2**20
_ROOMS = ("files", "physics", "airframe", "estimate", "flight", "tuning", "learning")


class Book(NamedTuple):
    """What is kept.

    Attributes
    ----------
    path : Path
    sha256 : str
        Of the aircraft file it belongs to.
    taken : list of list of (str, str)
        What each `learn` took in: names of files of notes and their texts; a later text replaces an earlier one.
    prior : Prior, optional
        As long as this version of the program would find the same.
    layer : Layer, optional
    """

    path: Path
    sha256: str
    taken: list[list[tuple[str, str]]]
    prior: Prior | None = None
    layer: Layer | None = None

    @property
    def texts(self) -> dict[str, str]:
        """File of notes -> its text."""
        return {name: text for batch in self.taken for name, text in batch}

    def notes(self, airframe: Airframe) -> list[Notes]:
        """The notes, read again."""
        return [notes_from(Path(name), text.encode(), airframe) for name, text in self.texts.items()]


class FlownLog(NamedTuple):
    """A log to take in: its file, its map, the number of its flight, the ratios that were in force in words."""

    path: str
    map: str
    flight: int
    blends: str


def path_of(airframe: Airframe) -> Path:
    """Where what was learned of an airplane is kept."""
    path = Path(airframe.path)
    if path.resolve().parent in (_PACKAGE / "aircraft", _PACKAGE.parent / "aircraft"):
        path = Path(path.name)
    return path.with_suffix(".learned.json")


def read_book(airframe: Airframe) -> Book:
    """What is kept of an airplane; an empty book where nothing is.

    Raises
    ------
    InputError
        Damaged, or of a later version.
    """
    path = path_of(airframe)
    try:
        with open_plain_file(path) as file:
            raw = file.read(_MOST_BYTES + 1)
    except FileNotFoundError:
        return Book(path, airframe.sha256, [])
    except OSError as error:
        raise InputError(f"cannot be read: {error.strerror}", file=path) from None
    try:
        if len(raw) > _MOST_BYTES:
            raise ValueError("too long")
        data = json.loads(raw)
        if data["sixdof_learned"] != VERSION:
            raise InputError(
                f"sixdof_learned: got {data['sixdof_learned']!r}, expected {VERSION}: learn again from your notes",
                file=path,
            )
        taken = [[(str(name), str(text)) for name, text in batch] for batch in data["taken"]]
        prior = _prior(data["prior"]) if data["made_by"] == _made_by() and data["prior"] else None
        return Book(
            path, str(data["sha256"]), taken, prior, _layer(data["layer"], taken) if data["layer"] else None
        )
    except InputError:
        raise
    except Exception as error:  # whatever a damaged file brings about
        raise InputError(
            f"damaged ({type(error).__name__}): move it away, and learn again from your notes", file=path
        ) from None


def write_book(book: Book, airframe: Airframe) -> None:
    """Keep it, whole or not at all.

    Raises
    ------
    InputError
        It cannot be written.
    """
    data = {
        "sixdof_learned": VERSION, "aircraft": airframe.name, "sha256": airframe.sha256, "made_by": _made_by(),
        "taken": book.taken, "prior": _plain(book.prior), "layer": _plain(book.layer),
    }  # fmt: skip
    with whole_file(book.path, advice="what was learned before is as it was", over=True) as path:
        path.write_text(json.dumps(data) + "\n", encoding="utf-8")


def opened(airframe: Airframe, *, keep: bool = False) -> Book:
    """What is kept of this version of an aircraft file.

    Parameters
    ----------
    airframe : Airframe
    keep : bool
        Take over the notes of an older version.

    Raises
    ------
    InputError
        It belongs to an older version, and is not to be kept.
    """
    book = read_book(airframe)
    if book.sha256 == airframe.sha256:
        return book
    if not keep:
        raise InputError(
            f"{book.path}: belongs to an older version of the aircraft file ({book.sha256[:8]}, now {airframe.sha256[:8]}): if the "
            "airplane is still the one that was flown, --keep takes its notes over; else move it away"
        )
    return book._replace(sha256=airframe.sha256, prior=None, layer=None)


def taken_in(book: Book, new: Sequence[Notes], *, undo: bool = False) -> Book:
    """The book with more notes, or without those that were taken in last; not worked out yet.

    Raises
    ------
    InputError
        There is nothing to take out.
    """
    if undo:
        if not book.taken:
            raise InputError(f"{book.path}: nothing was taken in that could be taken out")
        return book._replace(taken=book.taken[:-1])
    batch = [(notes.name, notes.document.text) for notes in new]
    return book._replace(taken=[*book.taken, batch]) if batch else book


def notes_of_log(log: FlownLog, airframe: Airframe) -> tuple[Notes, list[str]]:
    """Notes of the knife-edges of a log, kept beside it, and what was found in words.

    Raises
    ------
    InputError
        By file, line and key; or the file of notes is there and says something else.
    """
    blends = read_blends(log.blends)
    path = Path(log.path)
    read = read_log(path, Path(log.map), airframe)
    edges, odd = knife_edges(read)
    text = notes_text(read, edges, odd, airframe, log.flight, blends)
    kept = path.with_name(f"{path.stem}-flight-{log.flight}.yaml")
    notes = notes_from(kept, text.encode(), airframe)
    if not kept.is_file() or kept.read_bytes() != text.encode():
        with whole_file(kept, advice="move it away, if the log is to be read again") as unfinished:
            unfinished.write_text(text, encoding="utf-8")
    return notes, [*(edge.words for edge in edges), *odd, f"written to {kept}"]


def with_notes(airplane: Airplane) -> tuple[Airplane, str]:
    """The airplane as notes tell it, and what to know where they are not used."""
    book = read_book(airplane.as_filed.airframe)
    if book.layer is None:
        return airplane, ""
    if book.sha256 != airplane.airframe.sha256:
        return airplane, (
            f"{book.path} belongs to an older version of the aircraft file and is not used: sixdof learn --keep takes its notes "
            "over, if the airplane is still the one that was flown"
        )
    return airplane.learned(book.layer), ""


def kept_notes(airplane: Airplane) -> tuple[list[Notes], Prior | None]:
    """Notes of the airplane as filed, none of another version of its file, and the crowd that they are read with."""
    airframe = airplane.as_filed.airframe
    book = read_book(airframe)
    return (book.notes(airframe), book.prior) if book.sha256 == airframe.sha256 else ([], None)


def _plain(row: Prior | Layer | None) -> dict[str, Any] | None:
    """Arrays as lists, for JSON; what notes said stands beside it already."""
    if row is None:
        return None
    fields = row._asdict() if isinstance(row, Prior) else {k: v for k, v in vars(row).items() if k != "notes"}
    return {
        name: value.tolist() if isinstance(value, np.ndarray) else value for name, value in fields.items()
    }


def _prior(data: dict[str, Any]) -> Prior:
    n, errors = len(X), tuple(map(str, data["errors"]))
    return Prior(
        float(data["share"]), _array(data["mean"], n), _array(data["root"], n, n), errors,
        _array(data["with_errors"], len(errors), n), _array(data["growth"], 2), _array(data["play"], 2), _array(data["scatter"], 2, 3), int(data["airplanes"]),
    )  # fmt: skip


def _layer(data: dict[str, Any], taken: Sequence[Sequence[tuple[str, str]]]) -> Layer:
    told, errors, draws = tuple(data["told"]), tuple(map(str, data["errors"])), data["draws"]
    if not told or not draws or not set(told) <= set(NEEDS):
        raise ValueError("told")
    return Layer(
        str(data["sha256"]), float(data["share"]), told, _array(data["mean"], len(told)), _array(draws, len(draws), len(told)),
        errors, _array(data["gain"], len(errors), len(told)), int(data["flights"]), {name: text for batch in taken for name, text in batch},
    )  # fmt: skip


def _array(value: Any, *shape: int) -> np.ndarray:
    found = np.array(value, float)
    if found.shape != shape or not np.isfinite(found).all():
        raise ValueError("numbers")
    return found


@cache
def _made_by() -> str:
    """Hash of the source that a prior follows from."""
    digest = hashlib.sha256()
    for room in _ROOMS:
        for path in sorted((_PACKAGE / room).rglob("*.py")) + sorted((_PACKAGE / room).rglob("*.yaml")):
            digest.update(path.read_bytes())
    for path in sorted((_PACKAGE / "maneuvers").glob("*.yaml")):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]

"""What was learned of an airplane, kept beside its file: the notes word for word, and what was worked out of them.

``mine.learned.json`` lies beside ``mine.yaml``; of an airplane that comes with the package, in the working folder.
It holds every file of notes in the order in which it was taken in, so that the last one can be taken out again,
and belongs to one version of the aircraft file, by its hash.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.files.errors import InputError
from sixdof.files.yamlio import open_plain_file
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import make_blends, read_ratio
from sixdof.flight.fly import pack_blends
from sixdof.flight.layer import Layer, Recorded
from sixdof.flight.needs import NEEDS
from sixdof.learning.crowd import Prior, X
from sixdof.learning.identify import Identified, LogTold, Overlay, identify
from sixdof.learning.logs import Log, knife_edges, missing_for_rates, notes_text, read_log, recording_of
from sixdof.learning.notes import Notes, notes_from, read_blends
from sixdof.runs import whole_file

__all__ = [
    "Book",
    "FlownLog",
    "FromLog",
    "from_log",
    "kept_notes",
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
    told : list of dict of str to LogTold
        For each of ``taken``: file of notes that was made of a log -> what the log told beside.
    log_prior : Prior, optional
        The same as ``prior``, of the airplane as its logs tell it.
    stale : bool
        Logs were worked out by another version of the program: what they told is lost.
    """

    path: Path
    sha256: str
    taken: list[list[tuple[str, str]]]
    prior: Prior | None = None
    layer: Layer | None = None
    told: Sequence[dict[str, LogTold]] = ()
    log_prior: Prior | None = None
    stale: bool = False

    @property
    def logs(self) -> list[LogTold]:
        """What logs told that are still taken in."""
        return list({name: one for batch in self.told for name, one in batch.items()}.values())

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
        fresh = data["made_by"] == _made_by()
        told = [{str(name): _told(one) for name, one in batch.items()} for batch in data.get("told", [])]
        priors = [_prior(data[key]) if fresh and data.get(key) else None for key in ("prior", "log_prior")]
        layer = _layer(data["layer"], taken) if data["layer"] else None
        if any(told) and not fresh:
            return Book(path, str(data["sha256"]), taken, stale=True)
        return Book(
            path, str(data["sha256"]), taken, priors[0], layer, told or [{} for _ in taken], priors[1]
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
        "taken": book.taken, "prior": _plain(book.prior), "layer": _plain(book.layer), "log_prior": _plain(book.log_prior),
        "told": [{name: _plain(one) for name, one in batch.items()} for batch in book.told],
    }  # fmt: skip
    with whole_file(book.path, advice="what was learned before is as it was", over=True) as path:
        path.write_text(json.dumps(data) + "\n", encoding="utf-8")


def opened(airframe: Airframe, *, keep: bool = False) -> Book:
    """What is kept of this version of an aircraft file.

    Parameters
    ----------
    airframe : Airframe
    keep : bool
        Take over the notes of an older version; what logs told is not.

    Raises
    ------
    InputError
        It belongs to an older version of the file, or of the program where logs were read, and is not to be kept.
    """
    book = read_book(airframe)
    if book.stale and not keep:
        raise InputError(
            f"{book.path}: what its logs told was worked out by another version of the program: --keep takes its notes over; then read "
            "the logs again with --log"
        )
    if book.sha256 == airframe.sha256:
        return book
    if not keep:
        raise InputError(
            f"{book.path}: belongs to an older version of the aircraft file ({book.sha256[:8]}, now {airframe.sha256[:8]}): if the "
            "airplane is still the one that was flown, --keep takes its notes over; else move it away"
        )
    return book._replace(sha256=airframe.sha256, prior=None, layer=None, log_prior=None)


def taken_in(
    book: Book, new: Sequence[Notes], *, undo: bool = False, told: Mapping[str, LogTold] | None = None
) -> Book:
    """The book with more notes and what a log told beside, or without those that were taken in last; not worked out yet.

    Raises
    ------
    InputError
        There is nothing to take out.
    """
    if undo:
        if not book.taken:
            raise InputError(f"{book.path}: nothing was taken in that could be taken out")
        return book._replace(
            taken=book.taken[:-1],
            told=book.told[:-1],
            log_prior=None if any(book.told[-1:]) else book.log_prior,
        )
    batch = [(notes.name, notes.document.text) for notes in new]
    if not batch:
        return book
    return book._replace(
        taken=[*book.taken, batch],
        told=[*book.told, dict(told or {})],
        log_prior=None if told else book.log_prior,
    )


class FromLog(NamedTuple):
    """What was found in a log: notes of its knife-edges, the same in words, and what else it told."""

    notes: Notes
    words: list[str]
    told: LogTold | None
    overlays: list[Overlay]


def from_log(
    log: FlownLog, airplane: Airplane, progress: Callable[[float, str], object] = lambda share, text: None
) -> FromLog:
    """Notes of a log, kept beside it: its knife-edges, or where it shows rates what those tell.

    Raises
    ------
    InputError
        By file, line and key; or the file of notes is there and says something else.
    """
    blends, airframe, path = read_blends(log.blends), airplane.airframe, Path(log.path)
    read = read_log(path, Path(log.map), airframe)
    edges, odd = knife_edges(read)
    # sticks held are in what the rates tell: they do not count twice
    text = notes_text(read, edges if read.attitude is None else (), odd, airframe, log.flight, blends)
    kept = path.with_name(f"{path.stem}-flight-{log.flight}.yaml")
    notes = notes_from(kept, text.encode(), airframe)
    words, told, overlays = [*(edge.words for edge in edges), *odd], None, []
    if read.attitude is None:
        words.append(
            f"more could be told with these columns too: {', '.join(missing_for_rates(read.values))}"
        )
    else:
        found = _identified(read, airplane, notes.flights[0].in_force, progress)
        told = LogTold(
            read.name, log.flight, len(found.used), found.aside.tolist(), found.gusts, found.recorded
        )
        overlays = found.overlays
    if not kept.is_file() or kept.read_bytes() != text.encode():
        with whole_file(kept, advice="move it away, if the log is to be read again") as unfinished:
            unfinished.write_text(text, encoding="utf-8")
    return FromLog(notes, [*words, f"written to {kept}"], told, overlays)


def _identified(
    read: Log, airplane: Airplane, force: Mapping[str, float], progress: Callable[[float, str], object]
) -> Identified:
    recording = recording_of(read, float(airplane.plane["frame"]))
    blends = pack_blends(make_blends([read_ratio(name) for name in force], list(force.values())))
    try:
        return identify(airplane.as_filed.unlearned, recording, blends=blends, progress=progress)
    except ValueError as error:
        raise InputError(f"{error}", file=read.name) from None


def with_notes(airplane: Airplane) -> tuple[Airplane, str]:
    """The airplane as notes tell it, and what to know where they are not used."""
    book = read_book(airplane.as_filed.airframe)
    if book.stale:
        return airplane, (
            f"{book.path}: what its logs told was worked out by another version of the program and is not used: read them again "
            "with sixdof learn --log"
        )
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


def _plain(row: object) -> dict[str, Any] | None:
    """Arrays as lists, for JSON; what notes said stands beside it already."""
    if row is None:
        return None
    fields = (
        row._asdict() if hasattr(row, "_asdict") else {k: v for k, v in vars(row).items() if k != "notes"}
    )
    return {
        name: value.tolist()
        if isinstance(value, np.ndarray)
        else _plain(value)
        if isinstance(value, Recorded)
        else value
        for name, value in fields.items()
    }


def _prior(data: dict[str, Any]) -> Prior:
    n, errors = len(X), tuple(map(str, data["errors"]))
    return Prior(
        float(data["share"]), _array(data["mean"], n), _array(data["root"], n, n), errors,
        _array(data["with_errors"], len(errors), n), _array(data["growth"], 2), _array(data["play"], 2), _array(data["scatter"], 2, 3), int(data["airplanes"]),
    )  # fmt: skip


def _layer(data: dict[str, Any], taken: Sequence[Sequence[tuple[str, str]]]) -> Layer:
    told, errors, draws = tuple(data["told"]), tuple(map(str, data["errors"])), data["draws"]
    recorded = _recorded(data["recorded"]) if data.get("recorded") else None
    if not (told or recorded) or not draws or not set(told) <= set(NEEDS):
        raise ValueError("told")
    return Layer(
        str(data["sha256"]), float(data["share"]), told, _array(data["mean"], len(told)), _array(draws, len(draws), len(told)),
        errors, _array(data["gain"], len(errors), len(told)), int(data["flights"]), {name: text for batch in taken for name, text in batch},
        recorded,
    )  # fmt: skip


def _recorded(data: dict[str, Any]) -> Recorded:
    errors = tuple(map(str, data["errors"]))
    m = len(errors)
    return Recorded(errors, _array(data["mean"], m), _array(data["root"], m, m), int(data["flights"]))


def _told(data: dict[str, Any]) -> LogTold:
    aside = _array(data["aside"], len(data["aside"])).tolist()
    return LogTold(
        str(data["log"]),
        int(data["flight"]),
        int(data["stretches"]),
        aside,
        float(data["gusts"]),
        _recorded(data["recorded"]),
    )


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

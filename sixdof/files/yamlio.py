"""A strict reader of YAML files.

Reads the event stream of PyYAML, so nothing is built that was not asked for:
YAML 1.2 core scalars only (``on``, ``yes``, ``12:30`` and ``1_000`` stay text,
``010`` is refused), one document, no duplicate keys, anchors, aliases, tags or
directives, no value that is not finite, and limits on size and depth.
"""

from __future__ import annotations

import errno
import hashlib
import math
import os
import re
import stat
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO

import yaml

from sixdof.files.errors import InputError, KeyPath, line_of, shown

__all__ = ["Document", "decoded", "open_plain_file", "parse_yaml", "read_bytes", "read_yaml"]

MOST_BYTES = 256 * 1024  # common practice, no source: a hundred times the demo files
MOST_DEPTH = 20  # the deepest key of an aircraft file lies at 6
MOST_DIGITS = 18  # an integer that every float64 and int64 can stand for

_NO_WAIT = getattr(os, "O_NONBLOCK", 0)

_NULL = re.compile(r"(~|null|Null|NULL|)")
_BOOLEAN = re.compile(r"(true|True|TRUE|false|False|FALSE)")
_LEADING_ZERO = re.compile(r"[-+]?0[0-9]+(\.[0-9]*)?([eE][-+]?[0-9]+)?")
_INTEGER = re.compile(r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_NOT_FINITE = re.compile(r"[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)")


@dataclass(frozen=True)
class Document:
    """A file that was read: plain data and where each key stands.

    Attributes
    ----------
    path : Path
        The file.
    data : dict, list or scalar
        Its content.
    sha256 : str
        Hash of its bytes.
    text : str
        They, as they are.
    lines : dict
        Key -> line, counted from 1.
    spans : dict
        Key of a plain value -> first character of it in `text`, and the one behind it.
    """

    path: Path
    data: Any
    sha256: str
    text: str = field(repr=False, default="")
    lines: dict[KeyPath, int] = field(repr=False, default_factory=dict)
    spans: dict[KeyPath, tuple[int, int]] = field(repr=False, default_factory=dict)

    def line(self, key: KeyPath) -> int:
        """Line of a key, counted from 1; of the nearest key above when it is not there."""
        return line_of(key, self.lines)

    def at(self, key: KeyPath) -> Any:
        """Value at a key; None when there is none."""
        value = self.data
        for part in key:
            if not isinstance(value, (dict, list)):
                return None
            try:
                value = value[part]  # type: ignore[index]
            except (KeyError, IndexError, TypeError):
                return None
        return value

    def error(self, key: KeyPath, message: str) -> InputError:
        """Make the complaint about the value at `key`."""
        return InputError(message, file=self.path, line=self.line(key), key=key)


def read_yaml(path: str | Path) -> Document:
    """Read a YAML file strictly.

    Raises
    ------
    InputError
        For whatever is wrong with the file, in one line with its place.
    """
    path = Path(path)
    return parse_yaml(path, read_bytes(path))


def parse_yaml(path: Path, raw: bytes) -> Document:
    """Read the bytes of a YAML file strictly; `path` is the file that complaints name.

    Raises
    ------
    InputError
    """
    return _Reader(path, raw).document()


def read_bytes(path: Path, *, most: int = MOST_BYTES) -> bytes:
    """Bytes of an input file, at most so many.

    Raises
    ------
    InputError
        Cannot be read, or is longer than any input file.
    """
    try:
        with open_plain_file(path) as file:
            raw = file.read(most + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(f"cannot be read: {reason}", file=path) from None
    if len(raw) > most:
        usual = "; an input file is a few kB" if most == MOST_BYTES else ""
        raise InputError(f"longer than {most // 1024} kB{usual}", file=path)
    return raw


def decoded(path: Path, raw: bytes) -> str:
    """Text of an input file, without a mark of the byte order; one that is not UTF-8 is refused with its line."""
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise InputError("not UTF-8 text; save the file as UTF-8", file=path, line=line) from None


def open_plain_file(path: Path) -> BinaryIO:
    """Open a file to read its bytes; never waits, as it would on a pipe or a terminal.

    Raises
    ------
    OSError
        Not there, not readable, not a plain file.
    """
    file = open(path, "rb", opener=lambda name, flags: os.open(name, flags | _NO_WAIT))  # noqa: SIM115
    if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
        file.close()
        raise OSError(errno.EINVAL, "Not a plain file", str(path))
    return file


class _Reader:
    """Turns the events of one file into plain data."""

    def __init__(self, path: Path, raw: bytes) -> None:
        self.path, self.raw = path, raw
        self.lines: dict[KeyPath, int] = {}
        self.spans: dict[KeyPath, tuple[int, int]] = {}
        self.key: KeyPath = ()

    def document(self) -> Document:
        events = self._events(self._text())
        event = next(events, None)
        if event is None:
            raise InputError("the file is empty; it begins with sixdof: 1", file=self.path, line=1)
        data = self._node(event, events)
        for _ in events:  # to the end of the file: a second document or trailing garbage is refused
            pass
        text = self.raw.decode()
        mark = len(text) - len(
            text.removeprefix("\ufeff")
        )  # of the byte order, which is not counted in spans
        spans = {key: (start + mark, end + mark) for key, (start, end) in self.spans.items()}
        return Document(self.path, data, hashlib.sha256(self.raw).hexdigest(), text, self.lines, spans)

    def _text(self) -> str:
        if b"\0" in self.raw:
            raise InputError("got a binary file, expected YAML text", file=self.path, line=1)
        return decoded(self.path, self.raw)

    def _events(self, text: str) -> Iterator[Any]:
        """Yield the events of the one document; refuse what is too deep, twice or not plain."""
        depth = documents = 0
        try:
            for event in yaml.parse(text, Loader=yaml.SafeLoader):
                if isinstance(event, yaml.DocumentStartEvent):
                    documents += 1
                    if documents > 1:
                        raise self._error(event, "found a second document; a file holds just one")
                    if event.version or event.tags:
                        raise self._error(event, "found a % directive; leave it out")
                elif isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
                    raise self._error(event, "found an anchor or alias (& or *); write the values out")
                elif isinstance(event, yaml.CollectionEndEvent):
                    depth -= 1
                    yield event
                elif isinstance(event, yaml.NodeEvent):
                    if event.tag is not None:  # type: ignore[attr-defined]
                        raise self._error(
                            event, "found a tag (!); write the plain value, or put it in quotes"
                        )
                    depth += isinstance(event, yaml.CollectionStartEvent)
                    if depth > MOST_DEPTH:
                        raise self._error(
                            event, f"nested deeper than {MOST_DEPTH} levels; check the brackets"
                        )
                    yield event
        except yaml.MarkedYAMLError as error:
            mark = error.problem_mark or error.context_mark
            tabs = "; indent with spaces, not tabs" if "\\t" in str(error.problem) else ""
            raise InputError(
                f"not YAML: {error.problem or error.context}{tabs}",
                file=self.path, line=mark.line + 1 if mark else 1, key=self.key,
            ) from None  # fmt: skip
        except yaml.reader.ReaderError as error:
            line = text.count("\n", 0, max(int(error.position), 0)) + 1
            raise InputError(
                f"found a character that is not text ({error.reason})", file=self.path, line=line
            ) from None
        except InputError:
            raise
        except (ValueError, OverflowError) as error:  # PyYAML on escapes and versions out of range
            raise InputError(f"not YAML: {error}", file=self.path, line=1, key=self.key) from None

    def _error(self, event: Any, message: str) -> InputError:
        return InputError(message, file=self.path, line=event.start_mark.line + 1, key=self.key)

    def _node(self, event: Any, events: Iterator[Any]) -> Any:
        self.lines.setdefault(self.key, event.start_mark.line + 1)
        if isinstance(event, yaml.ScalarEvent):
            marks: Any = event.start_mark, event.end_mark
            self.spans[self.key] = marks[0].index, marks[1].index
            return self._scalar(event)
        home = self.key
        if isinstance(event, yaml.SequenceStartEvent):
            items: list[Any] = []
            while not isinstance(event := next(events), yaml.SequenceEndEvent):
                self.key = (*home, len(items))
                items.append(self._node(event, events))
            self.key = home
            return items
        mapping: dict[str, Any] = {}
        while not isinstance(event := next(events), yaml.MappingEndEvent):
            self.key = home
            name = self._name(event)
            self.key = (*home, name)
            if name in mapping:
                first = self.lines[self.key]
                raise self._error(event, f"this key is already on line {first}; keep one of them")
            self.lines[self.key] = event.start_mark.line + 1
            mapping[name] = self._node(next(events), events)
        self.key = home
        return mapping

    def _name(self, event: Any) -> str:
        if not isinstance(event, yaml.ScalarEvent):
            raise self._error(event, "got a list or block as a key, expected a word")
        self._check_text(event)
        return event.value

    def _check_text(self, event: Any) -> None:
        if any("\ud800" <= c <= "\udfff" for c in event.value):
            raise self._error(event, "found half a character (a lone surrogate); write it whole")

    def _scalar(self, event: Any) -> Any:
        """Resolve a scalar by the YAML 1.2 core schema, less what is easily misread."""
        text: str = event.value
        self._check_text(event)
        if not event.implicit[0]:  # in quotes or a block: text
            return text
        if _NULL.fullmatch(text):
            return None
        if _BOOLEAN.fullmatch(text):
            return text.lower() == "true"
        if _LEADING_ZERO.fullmatch(text):
            plain = re.sub(r"^([-+]?)0+(?=[0-9])", r"\1", text)
            raise self._error(
                event, f'{shown(text)} has a leading zero; write {shown(plain)}, or "..." for text'
            )
        if _NOT_FINITE.fullmatch(text):
            raise self._error(event, f"{text} is not a finite number; write a number")
        if _INTEGER.fullmatch(text):
            if len(text) > MOST_DIGITS:
                raise self._error(event, f"{shown(text)} has more than {MOST_DIGITS} digits; write fewer")
            return int(text, 0 if text[:2] in ("0o", "0x") else 10)
        if _FLOAT.fullmatch(text):
            value = float(text)
            if not math.isfinite(value):
                raise self._error(event, f"{shown(text)} is not a finite number; write a smaller one")
            return value
        return text

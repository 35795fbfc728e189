"""The one exception that a bad input file raises."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

__all__ = ["InputError", "nearest", "printable", "shown"]

KeyPath = tuple[str | int, ...]


class InputError(ValueError):
    """A complaint about an input file: ``file:line: key.path: got X, expected Y``.

    Parameters
    ----------
    message : str
        What was found, what was expected and what to do, in one sentence.
    file : str or Path, optional
        The file the complaint is about.
    line : int, optional
        Its line, counted from 1; 0 when the complaint is about the whole file.
    key : tuple of str or int, optional
        Keys and list positions that lead to the value.
    """

    def __init__(self, message: str, *, file: str | Path = "", line: int = 0, key: KeyPath = ()) -> None:
        self.file, self.line, self.key = str(file), line, key
        where = f"{file}:{line}" if file and line else str(file)
        super().__init__(_one_line(": ".join(part for part in (where, key_text(key), message) if part)))


def line_of(key: KeyPath, lines: Mapping[KeyPath, int]) -> int:
    """Line of a key, counted from 1; of the nearest key above when it is not there."""
    while key and key not in lines:
        key = key[:-1]
    return lines.get(key, 1)


def key_text(key: KeyPath) -> str:
    """Write a key path the way people do: ``wing.panels[0].span``."""
    text = ""
    for part in key:
        text += f"[{part}]" if isinstance(part, int) else f".{shown(part)}"
    return text.removeprefix(".")


def shown(value: object, most: int = 60) -> str:
    """Show a value read from a file: printable, on one line, not too long."""
    text = _one_line(value if isinstance(value, str) else repr(value))
    return text if len(text) <= most else f"{text[:most]}..."


def nearest(word: str, known: list[str] | tuple[str, ...]) -> str:
    """Name the nearest known word, or list them all: the hint at the end of a complaint."""
    from difflib import get_close_matches

    lower = {name.lower(): name for name in known}
    found = get_close_matches(word.lower()[:60], list(lower), n=1, cutoff=0.6)
    if found:
        return f"did you mean {lower[found[0]]}?"
    return f"known here: {', '.join(known)}"


def printable(text: str, *, keep: str = "\n") -> str:
    """Write out whatever could steer a terminal or turn the reading direction: ``\\x1b[31m`` for a color.

    Everything that comes out of a file or a command passes here before it is shown.

    Parameters
    ----------
    text : str
    keep : str
        Characters that stay though they are not printable: line ends.
    """
    return "".join(c if c in keep or c.isprintable() else c.encode("unicode_escape").decode() for c in text)


def _one_line(text: str) -> str:
    return printable(text, keep="")

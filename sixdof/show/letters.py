"""Letters that a picture's font lacks are drawn in another font of this machine, or as a question mark."""

from __future__ import annotations

from functools import cache
from typing import Any

from sixdof.files.errors import printable

__all__ = ["one_font", "with_fonts"]

USUAL = "DejaVu Sans"  # comes with the plotting library
HOLLOW = "Last Resort"  # a font that has a box for every letter there is
UNKNOWN = "?"


def with_fonts(text: str) -> tuple[str, list[str]]:
    """Text for a plot, and the families to draw it in, each where those before it lack a letter.

    Letters that no font has become question marks; what could steer a terminal is written out.
    """
    text = printable(text)
    lacking = frozenset(text) - _letters(USUAL) - {"\n"}
    if not lacking:
        return text, [USUAL]
    family = _best(lacking)
    return _replaced(text, lacking - _letters(family)), [USUAL, family]


def one_font(text: str) -> tuple[str, str | None]:
    """Text for a scene, and the file of the one font that has most of it; None where any will do."""
    text = printable(text)
    if all(ord(letter) < 256 for letter in text):
        return text, None
    wanted = frozenset(text) - {"\n"}
    family = _best(wanted)
    return _replaced(text, wanted - _letters(family)), str(_fonts().findfont(family))


def _fonts() -> Any:
    from matplotlib import font_manager  # a scene in plain letters is drawn without it

    return font_manager


def _replaced(text: str, letters: frozenset[str]) -> str:
    return "".join(UNKNOWN if letter in letters else letter for letter in text)


@cache
def _best(wanted: frozenset[str]) -> str:
    """The family that has most of some letters; the usual one where none has more."""
    names = [font.name for font in _fonts().fontManager.ttflist if HOLLOW not in font.name]
    return max(dict.fromkeys([USUAL, *names]), key=lambda family: len(wanted & _letters(family)))


@cache
def _letters(family: str) -> frozenset[str]:
    """Letters that a family has in every weight."""
    fonts = [f for f in _fonts().fontManager.ttflist if f.name == family and f.style == "normal"]
    return frozenset.intersection(*(_letters_of(font.fname) for font in fonts)) if fonts else frozenset()


def _letters_of(file: str) -> frozenset[str]:
    try:
        return frozenset(map(chr, _fonts().get_font(file).get_charmap()))
    except (OSError, RuntimeError):  # a font that went away, or is none
        return frozenset()

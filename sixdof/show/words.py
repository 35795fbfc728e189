"""Text on a picture, at a share of its width and height."""

from __future__ import annotations

import textwrap
from typing import Any

import pyvista as pv

from sixdof.show.letters import one_font
from sixdof.show.palette import INK

__all__ = ["SPACING", "broken", "rewrite", "scale_words", "write"]

SPACING = 1.15  # of lines, so that letters of one do not touch the next


def write(
    plotter: pv.Plotter,
    text: str,
    at: tuple[float, float],
    *,
    name: str,
    size: float,
    color: str = INK,
    ground: str | None = None,
) -> Any:
    """Write text with its lower left corner at a place.

    Parameters
    ----------
    at : (float, float)
        From the left and from the bottom, as shares of the renderer in work.
    name : str
        A later text of the same name takes its place.
    size : float
        Points.
    ground : str, optional
        Color behind the text, so that nothing shows through.

    Returns
    -------
    pyvista.Text
        Its ``input`` is the text.
    """
    draw: Any = plotter  # the decorated method's type loses its first argument
    words = draw.add_text(
        " ", position=at, viewport=True, font_size=max(round(size), 1), color=color, name=name
    )
    rewrite(words, text)
    words.prop.SetLineSpacing(SPACING)
    if ground is not None:
        words.prop.background_color, words.prop.background_opacity = ground, 1.0
    return words


def rewrite(words: Any, text: str) -> None:
    """Give words that :func:`write` made another text; letters of any script, a formula of none."""
    text, font = one_font(text)
    words.input = text.replace("$", r"\$")
    if font is None:
        words.prop.font_family = "arial"
    else:
        words.prop.set_font_file(font)


def broken(plotter: pv.Plotter, text: str, size: float, wide: float) -> list[str]:
    """A text in lines, none of them wider than so many pixels."""
    words, measured = write(plotter, text, (0.0, 0.0), name="measured", size=size), [0.0, 0.0]
    words.GetSize(plotter.renderer, measured)
    plotter.remove_actor(words)
    if measured[0] <= wide:
        return [text]
    return textwrap.wrap(text, max(int(0.93 * len(text) * wide / measured[0]), 8), break_on_hyphens=False)


def scale_words(scale: int) -> str:
    """Say how large the airplane is drawn."""
    return f"airplane drawn {scale} times its size" if scale > 1 else "airplane drawn to scale"

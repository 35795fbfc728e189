"""Colors of every picture, and the words that go with them."""

from __future__ import annotations

__all__ = [
    "CANOPY",
    "FLIGHT_COLORS",
    "GRID",
    "GROUND",
    "IDEAL",
    "INK",
    "PALE_INK",
    "SKY",
    "UNDERSIDE",
    "WORDS",
]

# Colors are our own choice; bare and blended differ in hue and in lightness, so that
# they stay apart for every kind of color vision and on a gray printer.
BARE = "#d8692a"  # burnt orange
BLENDED = "#19588c"  # deep blue
OTHER = "#7a8a3a"  # moss
IDEAL = "#3d3d3d"
INK = "#22262b"  # text
PALE_INK = "#6b7178"  # axes, second lines of text
FAINT = "#e3e5e3"  # grid of plots
GRID = "#b9bfae"  # lines on the ground
GROUND = "#dfe3d2"
SKY = ("#f3f5f6", "#c9dbe6")  # bottom, top
PAPER = "#fbfcfc"  # behind words and small pictures
UNDERSIDE = "#f6efdc"  # ivory: every airplane is pale below
TOPSIDE = "#a8324a"  # of an airplane that belongs to no flight: crimson
CANOPY = "#161b22"
PROPELLER = "#4c5259"
CALLER = "#5b3a86"  # violet

#: Color of each kind of flight.
FLIGHT_COLORS = {"bare": BARE, "blended": BLENDED, "other": OTHER}
#: What each kind of flight is called in a legend; by its own label where there is no word.
WORDS = {"bare": "bare: no blends", "blended": "with blends", "other": ""}
#: Further colors for runs side by side, after bare and blended.
RUN_COLORS = (BARE, BLENDED, OTHER, "#8d4f8f", "#3f9a94")
#: Right and left rudder, where both stand in one drawing.
SIDE_COLORS = {"right": "#8d4f8f", "left": "#2b7f76"}

#: Colors of a range, from its low end to its high one.
_RANGE = (BLENDED, "#8d4f8f", BARE)


def shade(share: float) -> str:
    """Color of a place in a range, 0 at its low end and 1 at its high one."""
    half = min(int(2.0 * share), 1)
    return tint(_RANGE[half], _RANGE[half + 1], 2.0 * share - half)


def tint(color: str, other: str, share: float) -> str:
    """A color moved by a share of the way to another."""
    pairs = zip(rgb(color), rgb(other), strict=True)
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in pairs)


def rgb(color: str) -> tuple[int, int, int]:
    """Red, green and blue from 0 to 255 of a color written as ``#rrggbb``."""
    return int(color[1:3], 16), int(color[3:5], 16), int(color[5:7], 16)

"""Lengths, speeds and heights in the units of whoever reads them."""

from __future__ import annotations

import math
from typing import Literal

from sixdof.files.units import to_unit

__all__ = ["Units", "chord_words", "edge_words", "height_words", "speed_words", "travel"]

Units = Literal["metric", "inch"]


def travel(chord: float, angle: float) -> float:
    """How far a trailing edge moves from neutral on a ruler held upright, t = c sin(angle) [m].

    ``chord`` behind the hinge [m], ``angle`` [rad].
    """
    return chord * math.sin(angle)


def edge_words(length: float, units: Units) -> str:
    """A travel of a trailing edge [m]: ``0.51 mm``, ``12.3 mm``, ``0.020 in``."""
    if units == "inch":
        inches = abs(to_unit(length, "in", "length"))
        return f"{inches:.3f} in" if inches < 0.1 else f"{inches:.2f} in"
    mm = abs(to_unit(length, "mm", "length"))
    return f"{mm:.2f} mm" if mm < 1.0 else f"{mm:.1f} mm"


def chord_words(length: float, units: Units) -> str:
    """A length by ruler [m]."""
    if units == "inch":
        return f"{to_unit(length, 'in', 'length'):.2f} in"
    return f"{to_unit(length, 'mm', 'length'):.0f} mm"


def speed_words(speed: float, units: Units) -> str:
    """An airspeed [m/s]."""
    if units == "inch":
        return f"{to_unit(speed, 'mph', 'speed'):.0f} mph"
    return f"{speed:.0f} m/s"


def height_words(height: float, units: Units) -> str:
    """A height over the field [m], to 5 ft."""
    if units == "inch":
        return f"{5.0 * round(to_unit(height, 'ft', 'length') / 5.0):.0f} ft"
    return f"{height:.0f} m"

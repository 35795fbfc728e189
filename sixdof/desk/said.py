"""What the page says, taken out of its messages: of the right kind, short, and within limits."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from sixdof.files.errors import InputError

__all__ = ["Ask", "ask", "percent", "ratios", "text", "texts"]

Said = dict[str, Any]


class Ask(NamedTuple):
    """What is to be flown.

    Attributes
    ----------
    maneuver : str
        A name.
    speed : float
        Share of the speed it is tuned at.
    rudder : float or None
        Where it stands while the sticks are let go, a share; None: where the pilot left it.
    wind : str
        ``4 m/s from the right``; empty for none.
    """

    maneuver: str
    speed: float = 1.0
    rudder: float | None = None
    wind: str = ""


def ask(said: Said) -> Ask:
    """What is to be flown.

    Raises
    ------
    InputError
    """
    rudder = None if said.get("rudder") is None else 0.01 * percent(said, "rudder", 0.0, 100.0)
    speed = 0.01 * percent(said, "speed", 50.0, 200.0, usual=100.0)
    return Ask(text(said, "maneuver"), speed, rudder, text(said, "wind", most=60))


def text(said: Said, key: str, *, most: int = 1000) -> str:
    """A text, empty where there is none.

    Raises
    ------
    InputError
    """
    value = said.get(key, "")
    if not isinstance(value, str) or len(value) > most:
        raise InputError(f"{key}: expected a short text")
    return value


def texts(said: Said, key: str) -> list[str]:
    """A few short texts.

    Raises
    ------
    InputError
    """
    values = said.get(key, [])
    if (
        not isinstance(values, list)
        or len(values) > 20
        or not all(isinstance(v, str) and len(v) < 200 for v in values)
    ):
        raise InputError(f"{key}: expected a few short texts")
    return values


def ratios(said: Said) -> dict[str, float]:
    """Name of a ratio -> percent.

    Raises
    ------
    InputError
    """
    found = said.get("ratios", {})
    if not isinstance(found, dict) or len(found) > 20:
        raise InputError("ratios: expected a few, a percent each")
    return {name: percent(found, name, -100.0, 100.0) for name in found}


def percent(said: Said, key: str, least: float, most: float, *, usual: float = math.nan) -> float:
    """A number between two ends.

    Raises
    ------
    InputError
    """
    value = said.get(key, usual)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not least <= value <= most:
        raise InputError(f"{key}: expected {least:g} to {most:g} percent")
    return float(value)

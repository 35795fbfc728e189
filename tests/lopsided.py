"""What the tests of printed numbers share: the lopsided airplane, and its file read with no code of the package."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from sixdof.flight.airplane import Airplane

FILE = Path(__file__).parent / "files" / "lopsided.yaml"
MANEUVERS = Path(__file__).resolve().parent.parent / "sixdof" / "maneuvers"


@cache
def airplane(rate: str = "normal") -> Airplane:
    """The airplane, estimated and trimmed once for all tests of a module."""
    return Airplane(str(FILE), rate) if rate else Airplane(str(FILE))


@cache
def as_written(path: Path = FILE) -> Any:
    """A YAML file as a plain dictionary of texts, by PyYAML alone."""
    return yaml.load(path.read_text(encoding="utf-8"), yaml.BaseLoader)


def number(text: str) -> float:
    """The number at the head of "39 deg" or "-1.5 deg"."""
    return float(text.split()[0])


def throws(rate: str = "normal", path: Path = FILE) -> Mapping[tuple[str, str], float]:
    """Full throws [deg] by surface and way, as they stand in a file: ("elevator", "UP") -> 15.

    A blend into the ailerons moves one up and one down: its throw is the mean of both.
    """
    found = as_written(path)["rates"][rate]
    out = {
        (surface, way.upper()): number(text)
        for surface, ways in found.items()
        for way, text in ways.items()
        if way != "expo"
    }
    mean = 0.5 * (out["aileron", "UP"] + out["aileron", "DOWN"])
    return {**out, ("aileron", "LEFT"): mean, ("aileron", "RIGHT"): mean}


def windows(maneuver: str) -> list[float]:
    """Lengths [s] that the measured phases of a maneuver file may have, in tenths up to the longest."""
    phases = as_written(MANEUVERS / f"{maneuver}.yaml")["phases"]
    ends = [
        (number(p["time"]), number(p.get("up_to", p["time"]))) for p in phases if p.get("measured") == "true"
    ]
    return [least + k / 10.0 for least, most in ends for k in range(round(10.0 * (most - least)) + 1)]

"""What stands on the set-up sheet, as rows: numbers for programs, sentences for people."""

from __future__ import annotations

import json
from typing import Literal

from sixdof.field.card import FlightCard
from sixdof.field.measures import Units
from sixdof.files.rows import Number, Row, clean
from sixdof.study.results import SCHEMA, Aircraft

__all__ = ["BlendToSet", "SetUpSheet", "SideToSet", "Throw"]


class SideToSet(Row):
    """One ratio to dial in, or why there is none.

    Attributes
    ----------
    name : str
        ``rudder-elevator.right``.
    found : bool
        Whether there is a ratio; if not, ``percent`` and what follows from it are NaN or empty.
    words : str
        ``right rudder: elevator 3 % UP``.
    percent, degrees, edge_mm : float
        At full source: of the target's throw, its angle, the travel of its trailing edge.
    degrees_used, edge_used_mm : float
        The same at the most the flights used of the source.
    half_percent : float
        For the first flight.
    now_percent : float
        What is in the radio now.
    at_full, at_used, half, now, bench, bare, sure, mind : str
        A sentence each.
    """

    name: str
    found: bool
    words: str
    percent: Number
    degrees: Number
    edge_mm: Number
    degrees_used: Number
    edge_used_mm: Number
    half_percent: Number
    now_percent: float
    at_full: str = ""
    at_used: str = ""
    half: str = ""
    now: str = ""
    bench: str = ""
    bare: str = ""
    sure: str = ""
    mind: str = ""


class BlendToSet(Row):
    """A blend with its sides: shape, ramp and gate in words, the phases of flight in which it is off."""

    title: str
    sides: list[SideToSet]
    shape: str
    ramp: str
    gate: str
    off_in: list[str]
    off: str
    off_short: str
    beware: str


class Throw(Row):
    """Full throws of a surface at the rate: ``up 15.0° (19.4 mm), down 11.0° (14.3 mm)``."""

    channel: str
    words: str
    measured: str
    expo: str
    differential: str
    servo: str


class SetUpSheet(Row):
    """All that stands on the paper, in words; what ``sixdof sheet --json`` prints.

    Attributes
    ----------
    run : str
    first : str
        What to do before anything is dialed in.
    speed : str
        Where the ratios of knife-edge hold.
    percent : list of str
        What a percent means here.
    others : list of str
        Blends in the radio now that nothing was found for.
    cautions : list of str
    card : FlightCard
    """

    command: Literal["sheet"] = "sheet"
    run: str
    aircraft: Aircraft
    changes: list[str]
    units: Units
    sticks: str
    first: str
    speed: str
    percent: list[str]
    blends: list[BlendToSet]
    others: list[str]
    throws: list[Throw]
    linkage: list[str]
    cautions: list[str]
    card: FlightCard

    def text(self, **more: object) -> str:
        """JSON, numbers to six digits, what is not known as null."""
        return json.dumps(clean({"schema": SCHEMA, **self.model_dump(), **more}), indent=1) + "\n"

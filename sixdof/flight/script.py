"""A maneuver to one side, flown one way, as records for the loop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from sixdof.flight.frame import MAX_MEASURED, MAX_PHASES
from sixdof.flight.maneuver import (
    CLIMB_RATE,
    ERROR_NAMES,
    ManeuverFile,
    Phase,
    Until,
    list_maneuvers,
    load_maneuver,
    make_maneuver,
    maneuver_path,
    policy,
)
from sixdof.flight.pilot import AT_BANK, AT_CLIMB, AT_HEADING, AT_HEIGHT, AT_SPEED, PHASE_DTYPE
from sixdof.physics.channels import CHANNELS, NUMBER

__all__ = [
    "ERROR_NAMES",
    "ManeuverFile",
    "Script",
    "frames_of",
    "list_maneuvers",
    "load_maneuver",
    "make_maneuver",
    "make_script",
    "maneuver_path",
    "settled",
    "sides_of",
]


@dataclass(frozen=True)
class Script:
    """A maneuver to one side, flown one way, as records for the loop.

    Attributes
    ----------
    maneuver : ManeuverFile
    side, way : str
        ``side`` is "right", "left" or "both"; ``way`` is "held" or "free".
    phases : records (MAX_PHASES,)
        As many count as the maneuver has.
    height : float [m]
    speed : float
        Share of what ``speed_of`` names; :func:`sixdof.flight.speed.entry_speed` makes m/s of it.
    bank : float [rad]
        It begins in steady level flight with.
    """

    maneuver: ManeuverFile
    side: str
    way: str
    phases: np.ndarray
    height: float
    speed: float
    bank: float = 0.0

    @property
    def name(self) -> str:
        """Name of the maneuver."""
        return self.maneuver.name

    @property
    def words(self) -> str:
        """Maneuver and side as people say them: "right-rudder knife-edge"."""
        return self.maneuver.words(self.side)

    @property
    def tunes(self) -> tuple[str, ...]:
        """Blends that this maneuver judges, "rudder-elevator"."""
        return self.maneuver.tunes

    @property
    def speed_of(self) -> str:
        """What the speed is a share of."""
        return self.maneuver.speed_of

    @property
    def n_phases(self) -> int:
        """How many phases there are."""
        return len(self.maneuver.phases)

    @property
    def measured(self) -> tuple[str, ...]:
        """Names of the measured phases."""
        return tuple(phase.name for phase in self.maneuver.phases if phase.measured)

    @property
    def window(self) -> np.ndarray:
        """Length of each measured phase [s], array (MAX_MEASURED,), 0 where there is none."""
        out = np.zeros(MAX_MEASURED)
        for phase in self.phases[: self.n_phases]:
            if phase["measured"] >= 0:
                out[phase["measured"]] = phase["duration"]
        return out

    @property
    def scored(self) -> np.ndarray:
        """Which errors count in each measured phase, array (MAX_MEASURED, 4)."""
        out = np.zeros((MAX_MEASURED, 4))
        for phase in self.phases[: self.n_phases]:
            if phase["measured"] >= 0:
                out[phase["measured"]] = phase["score"]
        return out

    def scored_for(self, blend: str) -> np.ndarray:
        """Which errors each measured phase judges a blend by, array (MAX_MEASURED, 4)."""
        out = np.zeros((MAX_MEASURED, 4))
        measured = [phase for phase in self.maneuver.phases if phase.measured]
        for row, phase in zip(out, measured, strict=False):
            row[:] = [e in phase.judges.get(blend, ()) for e in ERROR_NAMES]
        return out

    def judged(self, blend: str) -> tuple[str, ...]:
        """Errors that a blend is judged by in any phase, in the order of :data:`ERROR_NAMES`; () where in none."""
        return tuple(ERROR_NAMES[i] for i in np.flatnonzero(self.scored_for(blend).any(axis=0)))


def frames_of(scripts: Sequence[Script], frame: float) -> int:
    """Radio frames [s] that the longest of some scripts takes, or some more."""
    longest = max((float(np.sum(s.phases["duration"][: s.n_phases])) for s in scripts), default=0.0)
    return int(longest / frame) + MAX_PHASES


def make_script(maneuver: ManeuverFile, side: str, way: str, *, speed: float | None = None) -> Script:
    """Records of a maneuver for one side ("right", "left" or "both") and way ("held", "free").

    The file stands for the right side: right rudder, rolling or turning right.  ``speed`` stands in place of
    the file's, a share of the same: ``0.8 * maneuver.speed`` is four fifths of the file's whatever that is.
    """
    sign = -1.0 if side == "left" else 1.0
    phases = np.zeros(MAX_PHASES, PHASE_DTYPE)
    phases["measured"] = -1
    number = 0
    for record, (before, phase, after) in zip(phases, maneuver.path_of_phases(), strict=False):
        record["duration"] = phase.time
        record["must_reach"] = phase.must_reach
        record["climb"], record["bank"], record["heading"] = (
            after.climb,
            sign * after.bank,
            sign * after.heading,
        )
        record["climb_rate"], record["radius"] = phase.climb_rate or CLIMB_RATE, phase.radius or 0.0
        record["bank_rate"], record["heading_rate"] = phase.bank_rate, phase.heading_rate or 0.0
        level = before.climb == after.climb and after.level
        record["keep_height"] = level if phase.keep_height is None else phase.keep_height
        record["switch"] = 1.0
        if phase.until is not None:
            _set_end(record, phase.until, sign)
        _set_sticks(record, phase, way, sign)
        if phase.measured:
            record["measured"] = number
            record["score"] = [float(e in phase.scored) for e in ERROR_NAMES]
            number += 1
    return Script(maneuver, side, way, phases, maneuver.height, maneuver.speed if speed is None else speed)


def settled(script: Script, seconds: float) -> Script:
    """The first measured phase of a script alone, for so long, begun in the steady level flight at its bank."""
    first = int(np.argmax(script.phases["measured"] == 0))
    alone = script.maneuver.model_copy(update={"phases": script.maneuver.phases[first : first + 1]})
    phases = np.roll(script.phases, -first)
    phases["duration"][0] = seconds
    return replace(script, maneuver=alone, phases=phases, bank=float(phases["bank"][0]))


def _set_end(record: np.void, until: Until, sign: float) -> None:
    """Write what ends a phase before its time; an angle is reached from where the phase begins."""
    key, value = until.key, until.value
    if key in ("bank", "heading", "climb"):
        record["until"] = {"bank": AT_BANK, "heading": AT_HEADING, "climb": AT_CLIMB}[key]
        record["until_value"] = value * (1.0 if key == "climb" else sign)
        return
    record["until_way"] = -1.0 if key in ("height_lost", "speed_below") else 1.0
    record["until"] = AT_HEIGHT if key.startswith("height") else AT_SPEED
    record["until_value"] = -value if key == "height_lost" else value


def _set_sticks(record: np.void, phase: Phase, way: str, sign: float) -> None:
    for channel in CHANNELS:
        number, value = policy(getattr(phase.sticks, channel), channel, held=way == "held")
        record["policy"][NUMBER[channel]] = number
        record["value"][NUMBER[channel]] = value * (sign if channel in ("aileron", "rudder") else 1.0)


def sides_of(maneuver: ManeuverFile) -> tuple[str, ...]:
    """Sides a maneuver is flown to."""
    return ("both",) if maneuver.sides == "none" else ("right", "left")

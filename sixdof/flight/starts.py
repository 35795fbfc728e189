"""Can a maneuver begin?  Asked before anything is flown."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sixdof.files.errors import InputError
from sixdof.files.yamlio import parse_yaml
from sixdof.flight.airplane import Airplane
from sixdof.flight.level import level_speeds, range_words
from sixdof.flight.maneuver import ManeuverFile, is_own
from sixdof.flight.speed import entry_speed
from sixdof.flight.trim import trim_batch
from sixdof.physics.air import make_air

__all__ = ["check_starts"]

_SLACK = 1.25  # a cruise nearer to the slowest level flight is itself odd; common practice, no source


def check_starts(airplane: Airplane, maneuvers: Sequence[ManeuverFile], share: float = 1.0) -> None:
    """Refuse a maneuver that cannot begin in steady level flight.

    Parameters
    ----------
    airplane : Airplane
    maneuvers : sequence of ManeuverFile
    share : float
        Of each maneuver's own speed that is flown.

    Raises
    ------
    InputError
        Blames the asked share, where the maneuver's own speed would do; ``speeds.cruise`` of the aircraft
        file, where the speed is a share of that; the maneuver's ``speed``, where it is the flyer's own
        maneuver and the cruise speed is as it should be.
    """
    plane, air = airplane.plane, make_air()
    for maneuver in maneuvers:
        speeds = float(entry_speed(plane, maneuver, air)) * np.array([share, 1.0])
        level = trim_batch(np.array([plane]), air, speed=speeds, height=maneuver.height)[0]
        asked, usual = level["reachable"] != 0
        if asked:
            continue
        known = level_speeds(plane, height=maneuver.height)
        said = "this airplane has none at all" if known is None else range_words(known)
        none = f"no steady level flight at {speeds[0]:.1f} m/s to begin from; {said}"
        if usual:
            raise InputError(f"speed {100.0 * share:g} %: {maneuver.name}: {none}")
        good_cruise = known is not None and airplane.airframe.speeds.cruise >= _SLACK * known[0]
        if maneuver.speed_of != "cruise" or (good_cruise and not is_own(maneuver.path)):
            raise parse_yaml(maneuver.path, maneuver.text.encode()).error(("speed",), none)
        text = f"{maneuver.name} is flown at {100.0 * maneuver.speed * share:g} % of it, with {none}"
        raise airplane.airframe.blame(f"{text}: check the number and its unit", "speeds", "cruise")

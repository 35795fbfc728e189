"""Can a maneuver begin?  Asked before anything is flown."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sixdof.files.errors import InputError
from sixdof.flight.script import ManeuverFile
from sixdof.flight.speed import entry_speed
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air

__all__ = ["check_starts"]


def check_starts(planes: np.ndarray, maneuvers: Sequence[ManeuverFile], share: float = 1.0) -> None:
    """Refuse a maneuver that cannot begin in steady level flight.

    Parameters
    ----------
    planes : records (1,)
    maneuvers : sequence of ManeuverFile
    share : float
        Of each maneuver's speed that is flown.

    Raises
    ------
    InputError
    """
    cruise = float(planes["cruise"][0])
    for maneuver in maneuvers:
        speed = float(entry_speed(planes[0], maneuver, make_air())) * share
        if not trim(planes[0], make_air(), speed=speed, height=maneuver.height).reachable:
            way = "faster" if speed < cruise else "slower"
            text = f"no steady level flight at {speed:.1f} m/s to begin with; a {way} one is needed"
            if share != 1.0:
                raise InputError(f"speed {100.0 * share:g} %: {text}")
            raise InputError(text, file=maneuver.path, key=("speed",))

"""A maneuver under the ceiling of a site: how high it begins, how long its sticks stay let go."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from sixdof.files.errors import InputError
from sixdof.files.fields import Quantity
from sixdof.flight.fly import fly_batch
from sixdof.flight.maneuver import LANDING
from sixdof.flight.script import ManeuverFile, make_script, sides_of
from sixdof.physics.air import G0

__all__ = ["CEILING", "pull_out", "read_ceiling", "under_ceiling"]

#: What models may climb to where nothing else is said, 400 ft [m]; common practice, no source.
CEILING = 120.0
#: Height that is left when the airplane flies level again [m]; common practice, no source.
FLOOR = 15.0
#: Load factor of a firm pull-out, at most this share of what the airframe withstands; common practice, no source.
PULL_OUT, OF_LIMIT = 5.0, 2.0 / 3.0
_CEILING = Quantity("length", least="30 m", most="2000 m")
_HIGHER = 500.0  # m, enough to see how much height a maneuver would take


def read_ceiling(text: str) -> float:
    """Read ``"100 m"`` or ``"300 ft"`` [m].

    Raises
    ------
    InputError
    """
    try:
        return _CEILING.read(text)
    except ValueError as error:
        raise InputError(f"--ceiling: {error}") from None


def pull_out(speed: np.ndarray, climb: np.ndarray, load: float) -> np.ndarray:
    """Height lost until a sinking path is level, pulled at a constant load factor n [m].

    V (n - cos climb) does not change where only gravity does work: at the bottom it is V1 (n - 1), and the
    height is (V1^2 - V^2) / 2g.  From V' = -g sin climb and V climb' = g (n - cos climb), divided.

    Parameters
    ----------
    speed : array [m/s]
    climb : array [rad]
        Nothing is lost where it is not below zero.
    load : float
        More than 1.
    """
    bottom = (load - np.cos(climb)) / (load - 1.0)
    return np.where(climb < 0.0, speed**2 * (bottom**2 - 1.0) / (2.0 * G0), 0.0)


def under_ceiling(
    planes: np.ndarray, maneuver: ManeuverFile, ceiling: float = CEILING, *, share: float = 1.0
) -> ManeuverFile:
    """The maneuver begun as high as it says and the ceiling allows, its last phase as long as fits.

    One that stays level, or lands, just begins under it.  Any other is flown once, bare: its highest point lies under the
    ceiling, and when it is over there is the height to pull out and :data:`FLOOR` more.

    Parameters
    ----------
    planes : records (1,)
    maneuver : ManeuverFile
        It begins as high as it can where it says no height.
    ceiling : float [m]
        Above the field.
    share : float
        Of the maneuver's own speed that is flown.

    Raises
    ------
    InputError
        It does not fit, though its last phase is as short as its file says.
    """
    own = maneuver.height if "height" in maneuver.model_fields_set else ceiling
    if maneuver.stays_level or maneuver.part == LANDING:
        return maneuver.model_copy(update={"height": min(maneuver.height, ceiling)})
    least, most = maneuver.phases[-1].time, maneuver.phases[-1].up_to or maneuver.phases[-1].time
    gained, need = _flown(planes, maneuver, most, min(own, ceiling), share)
    height = min(own, ceiling - gained)
    if need(least) + FLOOR > height:
        if math.isinf(need(least)):  # for lack of height?
            gained, need = _flown(planes, maneuver, least, ceiling + _HIGHER, share)
        takes = gained + need(least) + FLOOR
        if math.isfinite(takes):  # else it ends bare wherever it begins, and tells so itself
            raise InputError(_refused(maneuver, height, ceiling, takes))
    tenths = [k / 10.0 for k in range(math.ceil(10.0 * least), math.floor(10.0 * most) + 1)]
    seconds = max((s for s in tenths if need(s) + FLOOR <= height), default=least)
    return _lasting(maneuver, seconds).model_copy(update={"height": height})


def _refused(maneuver: ManeuverFile, height: float, ceiling: float, takes: float) -> str:
    """Why it does not fit, and what would do."""
    why = f"{maneuver.name} takes {5.0 * math.ceil(takes / 5.0):.0f} m, its pull-out and {FLOOR:.0f} m to spare included"
    if maneuver.height < ceiling and height == maneuver.height:
        return f"{why}; it begins at {height:.0f} m: give its file another height"
    return f"{why}; the ceiling is {ceiling:.0f} m: give --ceiling where your site allows more"


def _lasting(maneuver: ManeuverFile, seconds: float) -> ManeuverFile:
    """The maneuver with a last phase of so many seconds."""
    *phases, last = maneuver.phases
    return maneuver.model_copy(update={"phases": (*phases, last.model_copy(update={"time": seconds}))})


def _flown(
    planes: np.ndarray, maneuver: ManeuverFile, seconds: float, height: float, share: float
) -> tuple[float, Callable[[float], float]]:
    """Height gained [m], and as a function of the seconds in the last phase how much lies below the start, pull-out
    included [m]; infinite once the bare flight has ended."""
    flown = _lasting(maneuver, seconds).model_copy(update={"height": height})
    scripts = [make_script(flown, side, "free", speed=share * flown.speed) for side in sides_of(flown)]
    flights = fly_batch(planes, scripts, keep_tracks=True)
    load = min(PULL_OUT, max(OF_LIMIT * float(planes["g_positive"][0]), 1.5))
    gained, rows = 0.0, []
    for track in flights.tracks:
        if len(track) < 2:
            continue
        time, down, speed = (track.column(name) for name in ("time", "down", "speed"))
        climb = -np.arcsin(np.clip(np.gradient(down, time) / speed, -1.0, 1.0))
        last = track.column("phase") == len(flown.phases) - 1
        since = np.where(last, time - np.min(time[last], initial=math.inf), -math.inf)
        rows.append((since, height + down + pull_out(speed, climb, load)))
        gained = max(gained, round(float(np.max(-down)) - height))

    def need(after: float) -> float:
        if any(since[-1] < after - 1.5 * float(planes["frame"][0]) for since, _ in rows):
            return math.inf
        return max((float(np.max(below[since <= after])) for since, below in rows), default=0.0)

    return gained, need

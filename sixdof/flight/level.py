"""Level flight that a file takes for granted and its airplane does not have: which key is to blame."""

from __future__ import annotations

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.files.errors import InputError, KeyPath
from sixdof.flight.pack import static_margin
from sixdof.flight.steady import UNKNOWNS
from sixdof.flight.trim import trim_batch
from sixdof.physics.air import make_air

__all__ = ["level_speeds", "no_cruise", "range_words"]

_SPEEDS = np.geomspace(2.0, 200.0, 121)  # m/s, 4 % apart: slower and faster than any model
_STICKS = ("aileron", "elevator", "rudder", "throttle")
_MARGIN = (
    -0.3,
    0.5,
)  # mean chords from CG to neutral point that are flown at all; common practice, no source
_LOADING = (10.0, 200.0)  # N/m2; common practice, no source


def level_speeds(plane: np.void, *, height: float) -> tuple[float, float] | None:
    """Slowest and fastest steady level flight [m/s] inside the travel of all sticks; None if there is none."""
    level = trim_batch(np.array([plane]), make_air(), speed=_SPEEDS, height=height)[0]
    known = _SPEEDS[level["reachable"] != 0]
    return (float(known[0]), float(known[-1])) if len(known) else None


def no_cruise(airframe: Airframe, plane: np.void, *, height: float) -> InputError:
    """The complaint that there is no steady level flight at the cruise speed of a file, by its likeliest key."""
    said = f"no steady level flight at {airframe.speeds.cruise:.1f} m/s"
    balance = _balance(plane)
    if balance:
        return airframe.blame(f"{said}: {balance}", "mass", "cg")
    known = level_speeds(plane, height=height)
    if known is not None:
        (level,) = trim_batch(np.array([plane]), make_air(), speed=airframe.speeds.cruise, height=height)[0]
        throttle = float(level["unknowns"][UNKNOWNS.index("throttle")])
        if level["converged"] and throttle > 1.0:
            said += f", which takes {100.0 * throttle:.0f} % of throttle"
        cure = "make the change smaller" if airframe.changes else "check the number and its unit"
        return airframe.blame(f"{said}; {range_words(known)}: {cure}", "speeds", "cruise")
    key, why = _never_level(airframe, plane, height)
    return airframe.blame(f"{said} or any other speed: {why}", *key)


def _balance(plane: np.void) -> str:
    """What is wrong with the CG where no such airplane is flown; else nothing."""
    (margin,) = static_margin(np.array([plane]))
    if _MARGIN[0] <= margin <= _MARGIN[1]:
        return ""
    way = "ahead of" if margin > 0.0 else "behind"
    away = f"{1e3 * abs(margin) * float(plane['c']):.0f} mm {way} the neutral point (power off)"
    slip = ": was it measured from the wing instead of the datum?" if margin > 0.0 else ";"
    return f"the CG is {away}{slip} check it, and the places and sizes of wing and tail"


def range_words(known: tuple[float, float]) -> str:
    """``this airplane flies level from 11 to 41 m/s``."""
    return f"this airplane flies level from {known[0]:.3g} to {known[1]:.3g} m/s"


def _never_level(airframe: Airframe, plane: np.void, height: float) -> tuple[KeyPath, str]:
    """The likeliest key, and what is wrong, where no speed gives level flight: by the stick that is furthest out."""
    loading = float(plane["mass"]) * 9.81 / airframe.wing.area
    if not _LOADING[0] <= loading <= _LOADING[1]:
        return ("mass", "total"), (
            f"each m2 of wing carries {loading:.3g} N, {_LOADING[0]:g} to {_LOADING[1]:g} N is usual; "
            "check the weight, the size of the wing and their units"
        )
    level = trim_batch(np.array([plane]), make_air(), speed=_SPEEDS, height=height)[0]
    found = level["converged"] != 0
    if not np.any(found):
        return (
            "mass",
            "cg",
        ), "nothing balances it; check the CG, the sizes of wing and tail, and their units"
    columns = [UNKNOWNS.index(stick) for stick in _STICKS]
    out = np.abs(level["unknowns"][found][:, columns])
    best = int(np.argmin(np.max(out, axis=1)))
    stick = _STICKS[int(np.argmax(out[best]))]
    where = (
        f"at best, at {_SPEEDS[found][best]:.0f} m/s, it takes {100.0 * float(np.max(out[best])):.0f} % of "
    )
    return {
        "aileron": (("mass", "cg"), f"{where}full aileron; check the CG to the side"),
        "elevator": (("mass", "cg"), f"{where}full elevator; check the CG and the elevator's throws"),
        "rudder": (("propeller", "right_thrust"), f"{where}full rudder; check the thrust line and the fin"),
        "throttle": (
            ("motor", "static_speed"), f"{where}full throttle; check motor, propeller and weight, and their units",
        ),
    }[stick]  # type: ignore[return-value]  # fmt: skip

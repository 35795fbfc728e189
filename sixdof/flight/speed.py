"""The speed a maneuver begins at, for each airplane its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sixdof.physics.air import density, gravity

if TYPE_CHECKING:
    from sixdof.flight.maneuver import ManeuverFile
    from sixdof.flight.script import Script

__all__ = ["entry_speed", "stalling_speed"]


def stalling_speed(planes: np.ndarray | np.void, air: np.void, height: float) -> np.ndarray:
    """Slowest level flight, flaps up and without help from the propeller: sqrt(2 m g / (rho S CL)) [m/s].

    CL is that of the whole airplane at ``alpha_stall``, where its lift stops growing in a straight line,
    elevator in the middle.

    Parameters
    ----------
    planes : records (n,)
        Or one record.
    air : record
    height : float [m]
        Above the field.

    Returns
    -------
    array (n,)
        Or one number; NaN where there is no lift at that angle.
    """
    return _speed_at(planes, air, height, planes["CL0"] + planes["CLa"] * planes["alpha_stall"])


def entry_speed(planes: np.ndarray | np.void, maneuver: ManeuverFile | Script, air: np.void) -> np.ndarray:
    """Speed that a maneuver begins at and holds [m/s].

    Parameters
    ----------
    planes : records (n,)
        Or one record.
    maneuver : ManeuverFile or Script
        Its ``speed`` is a share of what its file names: cruise, the stalling speed, or the speed of
        level flight at a lift coefficient of 1.
    air : record

    Returns
    -------
    array (n,)
        Or one number.
    """
    of = maneuver.speed_of
    if of == "cruise":
        return planes["cruise"] * maneuver.speed
    if of == "stall":
        return stalling_speed(planes, air, maneuver.height) * maneuver.speed
    return _speed_at(planes, air, maneuver.height, 1.0) * maneuver.speed


def _speed_at(
    planes: np.ndarray | np.void, air: np.void, height: float, CL: np.ndarray | float
) -> np.ndarray:
    """Speed of level flight at a lift coefficient, lift alone against the weight."""
    weight = planes["mass"] * gravity(air, height)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.sqrt(2.0 * weight / (density(air, air["elevation"] + height) * planes["S"] * CL))

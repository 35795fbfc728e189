"""What an airplane needs in the steady flights that a flyer trims out: sticks, and so ratios, with which nothing drifts."""

from __future__ import annotations

import math

import numpy as np

from sixdof.flight.knife_edge import SIDES, knife_edges
from sixdof.flight.steady import UNKNOWNS
from sixdof.flight.trim import trim_batch
from sixdof.physics.air import make_air

__all__ = ["DIVE", "NEEDS", "RATIOS", "dive_sticks", "needs"]

#: Ratios of knife-edge by side, elevator first, then that of the dive.
DIVE = "throttle-elevator.low"
RATIOS = (*(f"rudder-{target}.{side}" for side in SIDES for target in ("elevator", "aileron")), DIVE)
#: Columns of :func:`needs`: sticks that hold level knife-edge, + up, right; that of the dive; the share of the rudder.
#: Divided by a small share a ratio has tails that mean nothing, so sticks it is.
NEEDS = (
    *(f"{target}.{side}" for side in SIDES for target in ("elevator", "aileron")),
    "elevator.dive",
    *(f"rudder.{side}" for side in SIDES),
)


def needs(planes: np.ndarray, share: float) -> np.ndarray:
    """What airplanes need, array (n, len(NEEDS)): shares of full throw, of the rudder the logarithm; NaN where nothing
    inside the travel does.

    Parameters
    ----------
    planes : records (n,)
    share : float
        Of the cruise speed, at which knife-edge is flown.
    """
    edge = knife_edges(planes, share * planes["cruise"])
    pairs = np.stack((edge.elevator, edge.aileron), axis=2)
    dive = dive_sticks(planes, speed=planes["cruise"])[:, UNKNOWNS.index("elevator")]
    return np.column_stack((pairs.reshape(len(planes), -1), dive, np.log(np.abs(edge.rudder))))


def dive_sticks(planes: np.ndarray, *, speed: np.ndarray | float, height: float = 100.0) -> np.ndarray:
    """Sticks that keep a vertical dive with closed throttle straight, array (n, unknowns): hardly ones of its speed.

    Parameters
    ----------
    planes : records (n,)
    speed : float or array (n,) [m/s]
    height : float [m]

    Returns
    -------
    array (n, len(UNKNOWNS))
        NaN where the travel of the sticks does not keep it straight.
    """
    speed = np.broadcast_to(speed, planes.shape)[:, None]
    dive = trim_batch(
        planes, make_air(), speed=speed, climb=-0.5 * math.pi, height=height, throttle=0.0, gains=True
    )[:, 0]
    return np.where(dive["reachable"][:, None] != 0, dive["unknowns"], np.nan)

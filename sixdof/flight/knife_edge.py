"""Steady level knife-edge of many airplanes at once: what a pilot holds there."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from sixdof.flight.trim import trim_batch
from sixdof.physics.air import make_air

__all__ = [
    "HEIGHT",
    "MOST_RUDDER",
    "SIDES",
    "Hold",
    "KnifeEdge",
    "fastest_tried",
    "knife_edges",
    "where_it_holds",
]

#: Sides in the order of all arrays here, by the rudder applied.
SIDES = ("right", "left")
#: Height over the field [m].
HEIGHT = 120.0
_LITTLE = 0.02  # of the rudder: less carries nothing
#: Rudder that leaves some to steer with, common practice, no source; faster speeds that are tried, shares of cruise.
MOST_RUDDER = 0.7
_STEP, _FASTEST = 0.01, 1.6


class KnifeEdge(NamedTuple):
    """Steady level knife-edges, arrays (n, 2): right rudder, then left.

    Attributes
    ----------
    aileron, elevator, rudder : array
        Sticks beyond the trims, + right, up, right; NaN where it does not hold.
    beta : array [rad]
        Sideslip.
    """

    aileron: np.ndarray
    elevator: np.ndarray
    rudder: np.ndarray
    beta: np.ndarray

    @property
    def holds(self) -> np.ndarray:
        """Where some rudder inside its travel, with all other sticks inside theirs, carries it level."""
        return np.isfinite(self.rudder)

    def ratios(self, target: str) -> np.ndarray:
        """What full rudder would add to a target for the stick that is held, a share; NaN where it does not hold."""
        return getattr(self, target) / np.abs(self.rudder)


def knife_edges(
    planes: np.ndarray, speed: np.ndarray | float, *, height: float = HEIGHT, g: float | None = None
) -> KnifeEdge:
    """Trim airplanes in level knife-edge to both sides.

    Parameters
    ----------
    planes : records (n,)
    speed : float or array (n,) [m/s]
    height : float [m]
    g : float, optional [m/s2]
        Another weight: less of it needs less rudder.
    """
    air = make_air() if g is None else make_air(g=g)
    bank = np.array([-0.5, 0.5]) * math.pi
    speeds = np.broadcast_to(speed, planes.shape)[:, None]
    steady = trim_batch(planes, air, speed=speeds, bank=bank, height=height)
    found = steady["unknowns"]  # alpha, beta, then the sticks
    rudder = found[..., 4]
    holds = (steady["reachable"] != 0) & (rudder * np.array([1.0, -1.0]) > _LITTLE)
    return KnifeEdge(*(np.where(holds, found[..., i], np.nan) for i in (2, 3, 4, 1)))


class Hold(NamedTuple):
    """Where an airplane is flown in knife-edge.

    Attributes
    ----------
    share : float
        Of its cruise speed.
    rudder : array (2,)
        What it takes there, a share of the travel; NaN on a side that nothing inside the travel holds.
    """

    share: float
    rudder: np.ndarray


def fastest_tried(plane: np.void) -> float:
    """Largest share of cruise at which knife-edge is looked for, inside what the airplane may fly."""
    return max(min(_FASTEST, 0.95 * float(plane["never_exceed"] / plane["cruise"])), 1.0)


def where_it_holds(plane: np.void, share: float | None = None) -> Hold:
    """Cruise, where at most :data:`MOST_RUDDER` holds level knife-edge on both sides; else the slowest speed above where it does.

    Where no speed does, the one that holds on more sides, with the least rudder; cruise where none holds.

    Parameters
    ----------
    plane : record
    share : float, optional
        Of the cruise speed, at this one speed instead.
    """
    shares = np.arange(1.0, fastest_tried(plane) + 1e-9, _STEP) if share is None else np.array([share])
    found = knife_edges(np.repeat(np.array([plane]), len(shares)), shares * plane["cruise"])
    rudder = np.abs(found.rudder)
    easy = np.flatnonzero((rudder <= MOST_RUDDER).all(axis=1))
    if easy.size:
        best = int(easy[0])
    else:
        best = int(np.lexsort((np.nan_to_num(rudder, nan=9.0).max(axis=1), -found.holds.sum(axis=1)))[0])
    return Hold(float(shares[best]), rudder[best])

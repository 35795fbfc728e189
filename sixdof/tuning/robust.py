"""The ratios to begin with in knife-edge: those that serve all airplanes best that fit the measurements.

Let go, an airplane drifts as its needed ratios r differ from the ones k it flies with: drift = J (k - r), almost
exactly (0.1 deg after a second).  J, by canopy and roll, is the airplane's own.  The pair k (elevator, aileron)
of a side makes the mean of |J (k - r)|^2 over the airplanes least: sum(J'J) k = sum(J'J r).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from sixdof.flight.blends import Ratio
from sixdof.flight.knife_edge import SIDES, knife_edges
from sixdof.flight.script import ManeuverFile, make_script, settled
from sixdof.flight.speed import entry_speed
from sixdof.physics.air import make_air
from sixdof.tuning.bench import Bench
from sixdof.tuning.held import without_slop

__all__ = ["SIDES", "TARGETS", "Crowd", "crowd_of", "knife_edge_ratios"]

TARGETS = ("elevator", "aileron")
#: What is watched of a drift, in the order of the errors of a flight: canopy and roll.
_WATCHED = (0, 2)
_SECONDS = 1.0
_STEP = 0.01  # of a ratio, either way


class Crowd(NamedTuple):
    """Airplanes in level knife-edge to both sides (n, 2): right rudder, then left.

    Attributes
    ----------
    needed : array (n, 2, 2)
        Ratios with which nothing drifts, a share of the target's throw: elevator, aileron.
    rudder : array (n, 2)
        Share of the rudder that holds it level; NaN, as all else, where nothing does.
    gains : array (n, 2, 2, 2) [rad]
        Drift toward canopy and in roll after a second, by elevator and aileron.
    """

    needed: np.ndarray
    rudder: np.ndarray
    gains: np.ndarray

    @property
    def holds(self) -> np.ndarray:
        """Which hold on which side, and are known in all."""
        return np.isfinite(self.gains).all(axis=(2, 3)) & np.isfinite(self.needed).all(axis=2)

    def best(self) -> np.ndarray:
        """The pair of ratios of each side that leaves least in the mean, array (2, 2); NaN where none holds."""
        best = np.full((len(SIDES), len(TARGETS)), np.nan)
        for side, holds in enumerate(self.holds.T):
            if holds.any():
                J, r = self.gains[holds, side], self.needed[holds, side]
                weight = np.einsum("nji,njk->nik", J, J)
                best[side] = np.linalg.solve(weight.sum(axis=0), np.einsum("nij,nj->i", weight, r))
        return best

    def helped(self, ratios: np.ndarray) -> np.ndarray:
        """Share of the airplanes that hold which drift less with ratios (2, 2) than bare, array (2,)."""
        bare = np.einsum("nsij,nsj->nsi", self.gains, self.needed)
        left = np.einsum("nsij,nsj->nsi", self.gains, ratios - self.needed)
        less = np.linalg.norm(left, axis=2) < np.linalg.norm(bare, axis=2)
        return np.sum(less & self.holds, axis=0) / np.maximum(self.holds.sum(axis=0), 1)


def crowd_of(planes: np.ndarray, maneuver: ManeuverFile) -> Crowd:
    """What many airplanes need in level knife-edge, and how they drift with other ratios.

    Parameters
    ----------
    planes : records (n,)
    maneuver : ManeuverFile
        A level knife-edge that judges both blends of the rudder.
    """
    planes = without_slop(planes)
    steady = knife_edges(planes, entry_speed(planes, maneuver, make_air()), height=maneuver.height)
    needed = np.stack([steady.ratios(target) for target in TARGETS], axis=2)
    typical = np.nan_to_num(np.nanmedian(needed, axis=0)) if steady.holds.any() else np.zeros((2, 2))
    ratios = [Ratio("rudder", target, side) for side in SIDES for target in TARGETS]
    scripts = [settled(make_script(maneuver, side, "free"), _SECONDS) for side in SIDES]
    bench = Bench(planes, scripts, ratios)
    rows = [typical + sign * _STEP * unit for unit in np.eye(2) for sign in (1.0, -1.0)]
    flights = bench.fly(np.reshape(rows, (len(rows), -1)))
    ends = flights.errors[:, 0, -1, _WATCHED].reshape(
        len(planes), 2, 2, len(SIDES), 2
    )  # plane, target, sign, side, error
    done = flights.finished.reshape(len(planes), -1, len(SIDES)).all(axis=1)
    gains = np.moveaxis(ends[:, :, 0] - ends[:, :, 1], 1, 3) / (2.0 * _STEP)
    gains[~(done & steady.holds)] = np.nan
    return Crowd(needed, np.abs(steady.rudder), gains)


def knife_edge_ratios(
    planes: np.ndarray, maneuver: ManeuverFile, ratios: Sequence[Ratio]
) -> tuple[np.ndarray, np.ndarray]:
    """Ratios of the rudder that steady level knife-edge needs, and the share of the rudder there, arrays (n, ratios)."""
    steady = knife_edges(planes, entry_speed(planes, maneuver, make_air()), height=maneuver.height)
    needed = [steady.ratios(ratio.target)[:, SIDES.index(ratio.side)] for ratio in ratios]
    used = [np.abs(steady.rudder)[:, SIDES.index(ratio.side)] for ratio in ratios]
    return np.stack(needed, axis=1), np.stack(used, axis=1)

"""Flights of some scripts with many sets of ratios, all in one batch."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sixdof.flight.fly import Flights, fly_batch, pack_blends, starts_for
from sixdof.flight.loop import SAMPLES
from sixdof.flight.mixing import BLEND_DTYPE
from sixdof.flight.script import Script
from sixdof.physics.air import AIR_DTYPE, make_air
from sixdof.tuning.deviation import weighted_errors
from sixdof.tuning.unknowns import Unknown, make_blends


class Bench:
    """Flights of some scripts with many sets of ratios, by one plane or many, all in one batch."""

    def __init__(self, planes: np.ndarray, scripts: Sequence[Script], unknowns: Sequence[Unknown]) -> None:
        self.planes, self.scripts, self.unknowns = planes, list(scripts), list(unknowns)
        self.airs = np.array([make_air()], AIR_DTYPE)
        self.starts = starts_for(planes, self.scripts, self.airs[0])
        self._rows = 1

    def fly(self, amounts: np.ndarray, *, keep_tracks: bool = False) -> Flights:
        """Fly every script with every row of amounts (k, unknowns) and every plane; :meth:`flight` numbers them."""
        planes, rows, scripts = len(self.planes), len(amounts), len(self.scripts)
        index = np.array([
            [p, s, k * scripts + s, 0] for p in range(planes) for k in range(rows) for s in range(scripts)
        ]).reshape(-1, 4)  # fmt: skip
        self._rows = rows
        return fly_batch(
            self.planes, self.scripts, blends=self._sets(amounts), index=index,
            airs=self.airs, starts=self.starts, keep_tracks=keep_tracks,
        )  # fmt: skip

    def flight(self, k: int, s: int, *, plane: int = 0) -> int:
        """Number of the flight of row k of amounts, script s and a plane in the last batch."""
        return (plane * self._rows + k) * len(self.scripts) + s

    def finished(self, flights: Flights, plane: int) -> bool:
        """Whether all flights of a plane finished."""
        size = self._rows * len(self.scripts)
        return bool(np.all(flights.finished[plane * size : (plane + 1) * size]))

    def _sets(self, amounts: np.ndarray) -> np.ndarray:
        """A set of blends for each row of amounts and script: those the maneuver speaks about."""
        most = max((len(s.tunes) for s in self.scripts), default=1) or 1
        sets = np.zeros((len(amounts) * len(self.scripts), most), BLEND_DTYPE)
        for k, row in enumerate(amounts):
            for s, script in enumerate(self.scripts):
                mine = [i for i, u in enumerate(self.unknowns) if u.blend in script.tunes]
                specs = make_blends([self.unknowns[i] for i in mine], [row[i] for i in mine])
                if specs:
                    sets[k * len(self.scripts) + s, : len(specs)] = pack_blends(specs)
        return sets

    def residuals(self, flights: Flights, k: int, share: float, *, plane: int = 0) -> np.ndarray:
        """Scored errors of row k over the first share of each window, one vector."""
        n = max(round(share * SAMPLES), 1)
        parts = []
        for s, script in enumerate(self.scripts):
            errors = weighted_errors(flights, self.flight(k, s, plane=plane), script)[:, :n]
            parts.append(errors.ravel() / math.sqrt(n * len(script.measured)))
        return np.concatenate(parts)

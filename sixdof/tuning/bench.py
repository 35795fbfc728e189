"""Flights of some scripts with many sets of ratios, all in one batch."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sixdof.airframe.blends import BlendSpec
from sixdof.flight.blends import Ratio, make_blends
from sixdof.flight.fly import Flights, fly_batch, pack_blends, starts_for
from sixdof.flight.frame import SAMPLES
from sixdof.flight.gusts import Wind, airs_of
from sixdof.flight.mixing import BLEND_DTYPE
from sixdof.flight.script import Script
from sixdof.physics.air import make_air
from sixdof.tuning.deviation import weighted_errors


class Bench:
    """Flights of some scripts with many sets of ratios, by one plane or many, all in one batch.

    In calm air, or in gust samples of a day: ``seeds`` of them, the same for all planes and ratios; before them, with
    ``calm_too``, calm air.
    """

    def __init__(
        self, planes: np.ndarray, scripts: Sequence[Script], ratios: Sequence[Ratio],
        *, wind: Wind | None = None, seeds: Sequence[int] = (1,), calm_too: bool = False,
    ) -> None:  # fmt: skip
        self.planes, self.scripts, self.ratios = planes, list(scripts), list(ratios)
        self.airs, self.gusts = airs_of(planes[0], self.scripts, wind=wind, seeds=seeds)
        if calm_too:
            airs, _ = airs_of(planes[0], self.scripts)
            still = np.zeros((len(airs), *self.gusts.shape[1:]))
            self.airs, self.gusts = np.concatenate((airs, self.airs)), np.concatenate((still, self.gusts))
        self.starts = starts_for(planes, self.scripts, make_air())
        self._days, self._rows = len(seeds) + calm_too, 1

    def fly(
        self,
        amounts: np.ndarray,
        *,
        beside: Sequence[BlendSpec] = (),
        keep_tracks: bool = False,
        finer: int = 1,
    ) -> Flights:
        """Fly every script with every row of amounts (k, ratios), every plane and air; :meth:`flight` numbers them.

        ``beside``: blends that are on in all of them; ``finer``: times as many steps as usual.
        """
        sets = self._sets(amounts)
        if beside:
            sets = np.concatenate((sets, pack_blends(beside)[None].repeat(len(sets), axis=0)), axis=1)
        return self.fly_sets(sets, keep_tracks=keep_tracks, finer=finer)

    def fly_sets(self, sets: np.ndarray, *, keep_tracks: bool = False, finer: int = 1) -> Flights:
        """The same with sets of blends (rows * scripts, blends), one for each script of each row."""
        sizes = (len(self.planes), self._days, len(sets) // len(self.scripts), len(self.scripts))
        plane, day, row, script = np.indices(sizes).reshape(4, -1)
        scripts = len(self.scripts)
        self._rows = sizes[2]
        return fly_batch(
            self.planes, self.scripts, blends=sets,
            index=np.stack((plane, script, row * scripts + script, day * scripts + script), axis=1),
            airs=self.airs, gusts=self.gusts, starts=self.starts, keep_tracks=keep_tracks,
            finer=finer,
        )  # fmt: skip

    def flight(self, k: int, s: int, *, plane: int = 0, day: int = 0) -> int:
        """Number of the flight of row k of amounts, script s, a plane and an air in the last batch."""
        return ((plane * self._days + day) * self._rows + k) * len(self.scripts) + s

    def finished(self, flights: Flights, plane: int) -> bool:
        """Whether all flights of a plane finished."""
        size = self._days * self._rows * len(self.scripts)
        return bool(np.all(flights.finished[plane * size : (plane + 1) * size]))

    def _sets(self, amounts: np.ndarray) -> np.ndarray:
        """A set of blends for each row of amounts and script: those the maneuver speaks about."""
        most = max((len(s.tunes) for s in self.scripts), default=1) or 1
        sets = np.zeros((len(amounts) * len(self.scripts), most), BLEND_DTYPE)
        for k, row in enumerate(amounts):
            for s, script in enumerate(self.scripts):
                mine = [i for i, ratio in enumerate(self.ratios) if ratio.blend in script.tunes]
                specs = make_blends([self.ratios[i] for i in mine], [row[i] for i in mine])
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

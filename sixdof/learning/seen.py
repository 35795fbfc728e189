"""What was seen in flight, as chances: each kind of note tells how likely it is of an airplane x."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.special import ndtr

from sixdof.flight.knife_edge import SIDES
from sixdof.learning.crowd import GUST_WIND, SECONDS, Prior, X
from sixdof.learning.scale import EDGES, JUDGMENT, chances

__all__ = [
    "AXES",
    "MODEL",
    "OF_MODEL",
    "PUSH_EDGES",
    "Airplanes",
    "Gauge",
    "Note",
    "Seen",
    "Than",
    "Word",
    "airplanes",
    "growing",
    "log_normal",
    "scatter_in",
]

#: What is watched in knife-edge, in the order of the rows of J.
AXES = ("canopy", "roll")
#: Ends of the words for the push that inverted flight takes, violent pull to violent push; shares of the elevator,
#: common practice, no source.
PUSH_EDGES = np.array([-np.inf, -0.25, -0.12, -0.06, -0.03, -0.01, 0.01, 0.03, 0.06, 0.12, 0.25, np.inf])
#: What scatters, in the order of :attr:`sixdof.learning.crowd.Prior.scatter`.
SCATTERS = ("canopy", "roll", "dive")
#: The model's own error [deg/s], and the part of it that grows with the whole drift: flown against J (k - r), computed.
MODEL, OF_MODEL = 0.3, 0.15


class Airplanes(NamedTuple):
    """Points x by their meaning, first axis n.

    Attributes
    ----------
    needed : array (n, 2, 2)
        Ratios by side, elevator and aileron.
    J : array (n, 2, 2, 2) [deg/s]
        Canopy and roll by elevator and aileron, over three seconds.
    rudder : array (n, 2)
        Share that holds level knife-edge.
    dive, dive_gain : array (n,)
        Ratio, and canopy by it [deg/s].
    push : array (n,)
        Stick that carries it inverted, + up.
    decay : array (n,) [1/s]
        Of an inverted line of 45°.
    play : array (2,)
        Half of the play of elevator and aileron, shares of throw: so much of what the sticks are let go by never
        reaches the surface.
    """

    needed: np.ndarray
    J: np.ndarray
    rudder: np.ndarray
    dive: np.ndarray
    dive_gain: np.ndarray
    push: np.ndarray
    decay: np.ndarray
    play: np.ndarray

    def rates(self, axis: str, side: int, in_force: np.ndarray) -> np.ndarray:
        """Drift with ratios in force [deg/s], array (n,)."""
        if axis == "dive":
            return self.dive_gain * _less(in_force - self.dive, self.play[0])
        off = _less(in_force - self.needed[:, side], self.play / self.rudder[:, side, None])
        return np.einsum("nj,nj->n", self.J[:, side, AXES.index(axis)], off)

    @property
    def ratios(self) -> np.ndarray:
        """Needed ratios in the order of :data:`sixdof.flight.needs.RATIOS`, array (n, 5)."""
        return np.column_stack((self.needed.reshape(len(self.needed), -1), self.dive))


def _less(off: np.ndarray, play: np.ndarray) -> np.ndarray:
    """What is left of a difference that play swallows a part of."""
    return np.sign(off) * np.maximum(np.abs(off) - play, 0.0)


def airplanes(x: np.ndarray, play: np.ndarray) -> Airplanes:
    """Points (n, len(X)) by their meaning."""
    at = {name: x[:, i] for i, name in enumerate(X)}
    J = np.empty((len(x), 2, 2, 2))
    for s, side in enumerate(SIDES):
        canopy, roll = np.exp(at[f"canopy.{side}"]), np.exp(at[f"roll.{side}"])
        J[:, s, 0, 0], J[:, s, 0, 1] = canopy, at[f"canopy by aileron.{side}"] * roll
        J[:, s, 1, 0], J[:, s, 1, 1] = at[f"roll by elevator.{side}"] * canopy, roll
    rudder = np.exp(x[:, 5:7])
    return Airplanes(
        x[:, :4].reshape(-1, 2, 2) / rudder[:, :, None], np.degrees(J) / SECONDS, rudder, x[:, 4],
        np.degrees(np.exp(at["dive canopy"])), at["push"], at["decay"], play,
    )  # fmt: skip


@dataclass(frozen=True)
class Seen:
    """Something seen in a pass.

    Attributes
    ----------
    about : str
        In words: "roll, left rudder".
    line : int
        Of the file it stands in, and ``file`` that file.
    helper : int
        Whose scale.
    """

    about: str
    file: str
    line: int
    helper: int


@dataclass(frozen=True)
class Word(Seen):
    """A word: one of the categories ``said`` of :data:`EDGES` for a drift on an axis ("canopy", "roll", "dive"), or of
    the push; ``scatter``: standard deviation of what was to be seen [deg/s]."""

    said: tuple[int, ...]
    axis: str
    side: int
    in_force: np.ndarray
    scatter: float

    def expected(self, these: Airplanes) -> np.ndarray:
        """What such airplanes would have shown, in the unit of the words' ends, array (n,)."""
        return -these.push if self.axis == "push" else these.rates(self.axis, self.side, self.in_force)

    def chances(self, these: Airplanes, f: np.ndarray) -> np.ndarray:
        """Of all words, array (n, words)."""
        if self.axis == "push":
            return chances(self.expected(these), 0.01, f, PUSH_EDGES)
        axes = AXES if self.axis in AXES else (self.axis,)
        rates = {axis: these.rates(axis, self.side, self.in_force) for axis in axes}
        whole = np.linalg.norm(list(rates.values()), axis=0)
        return chances(
            rates[self.axis], np.hypot(math.hypot(self.scatter, MODEL), OF_MODEL * whole), f, EDGES
        )

    def log_chance(self, these: Airplanes, f: np.ndarray) -> np.ndarray:
        """Logarithm of the chance of this word, array (n,)."""
        return np.log(self.chances(these, f)[:, list(self.said)].sum(axis=1))


@dataclass(frozen=True)
class Than(Seen):
    """A drift smaller than on the flight before (``way`` -1), larger (1) or the same (0), where no word says how large."""

    way: int
    axis: str
    side: int
    in_force: np.ndarray
    before: np.ndarray
    scatter: float

    def log_chance(self, these: Airplanes, f: np.ndarray) -> np.ndarray:
        """Logarithm of its chance, array (n,)."""
        now, last = (np.abs(these.rates(self.axis, self.side, k)) for k in (self.in_force, self.before))
        off = (now - last) / np.hypot(
            JUDGMENT * np.hypot(now, last), math.sqrt(2.0) * math.hypot(self.scatter, MODEL)
        )
        chance = ndtr(self.way * off) if self.way else 2.0 * ndtr(-np.abs(off))
        return np.log(0.05 + 0.9 * chance)


@dataclass(frozen=True)
class Gauge(Seen):
    """A number: ``kind`` is elevator or aileron (stick held, a share), rudder (logarithm of its share), seconds (roll
    drift [deg/s] by the time to 45°), push (stick) or line (one over seconds)."""

    value: float
    sigma: float
    kind: str
    side: int
    in_force: np.ndarray

    def expected(self, these: Airplanes) -> np.ndarray:
        """What such airplanes would have shown, array (n,)."""
        if self.kind in ("elevator", "aileron"):
            target = ("elevator", "aileron").index(self.kind)
            left = these.needed[:, self.side, target] - self.in_force[target]
            return left * these.rudder[:, self.side]
        if self.kind == "rudder":
            return np.log(these.rudder[:, self.side])
        if self.kind == "seconds":
            return these.rates("roll", self.side, self.in_force)
        return these.push if self.kind == "push" else these.decay

    def log_chance(self, these: Airplanes, f: np.ndarray) -> np.ndarray:
        """Logarithm of its density, array (n,)."""
        return log_normal(self.value, self.expected(these), self.sigma)


Note = Word | Than | Gauge


def log_normal(value: np.ndarray | float, mean: np.ndarray, sigma: float) -> np.ndarray:
    """Logarithm of the normal density."""
    return -0.5 * ((value - mean) / sigma) ** 2 - math.log(sigma * math.sqrt(2.0 * math.pi))


def scatter_in(prior: Prior, axis: str, wind: float, passes: int) -> float:
    """Standard deviation of the drift seen in so many passes in the gusts of a wind [m/s]; [deg/s].

    Gusts average out over passes; what play and the way of letting go leave is the same in each.
    """
    calm, windy = prior.scatter[:, SCATTERS.index(axis)]
    gusts = max(windy**2 - calm**2, 0.0) * (wind / GUST_WIND) ** 2
    return float(np.sqrt(calm**2 + gusts / passes))


def growing(seconds: float, prior: Prior) -> float:
    """Roll drift [deg/s over three seconds] of an airplane that has rolled 45° after so many seconds."""
    return 45.0 / SECONDS * (SECONDS / seconds) ** float(prior.growth[1])

"""Whether what a flight showed is to be expected of the airplanes that fit all flights before it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from scipy.special import logsumexp

from sixdof.learning.seen import Airplanes, Gauge, Note, Than, Word, log_normal
from sixdof.learning.update import Posterior

__all__ = ["LEAST", "Surprise", "surprise"]

#: Chance below which notes are not believed before they were flown again.
LEAST = 0.05
_WRITERS = 400


class Surprise(NamedTuple):
    """How surprising a flight's notes are.

    Attributes
    ----------
    chance : float
        Of notes as unlikely as these, or more, by airplanes that fit the flights before.
    about : str
        The most surprising of them: "roll, left rudder".
    alone : float
        The chance of that one by itself.
    """

    chance: float
    about: str
    alone: float


def surprise(before: Posterior, seen: Sequence[Note], *, seed: int = 0) -> Surprise | None:
    """All notes of a flight scored jointly: the tail of their probability, by simulated notes; None for none.

    Each airplane that fits so far writes its own notes of the same passes; the score of notes is the logarithm of
    their mean chance over all these airplanes, the writer left out: the flyer's own is not among them either.
    """
    scored = [one for one in seen if not isinstance(one, Than)]
    if not scored:
        return None
    generator = np.random.Generator(np.random.Philox(key=[seed, 29]))
    these, n = before.airplanes, len(before.x)
    writers = np.arange(0, n, max(n // _WRITERS, 1))
    own, simulated = np.zeros((len(scored), n)), np.zeros((len(scored), len(writers), n))
    for i, one in enumerate(scored):
        own[i], simulated[i] = _scores(one, these, before.scale[:, one.helper], writers, generator)
    simulated[:, np.arange(len(writers)), writers] = -np.inf
    chance = _tail(own.sum(axis=0), simulated.sum(axis=0))
    groups: dict[str, list[int]] = {}
    for i, one in enumerate(scored):
        groups.setdefault(_group(one), []).append(i)
    alone = {
        about: _tail(own[mine].sum(axis=0), simulated[mine].sum(axis=0)) for about, mine in groups.items()
    }
    worst = min(alone, key=lambda about: alone[about])
    return Surprise(chance, worst, alone[worst])


def _group(one: Word | Gauge) -> str:
    """What is named: the axis and side that a note speaks of."""
    axis = {"held elevator": "pitch", "held aileron": "roll", "seconds to 45": "roll"}
    what, comma, where = one.about.partition(", ")
    return f"{axis.get(what, what)}{comma}{where}"


def _scores(
    one: Word | Gauge, these: Airplanes, f: np.ndarray, writers: np.ndarray, generator: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """Log chance of a note by each airplane (n,), and of what some of them would write (rows) by each (columns)."""
    if isinstance(one, Gauge):
        mean = one.expected(these)
        notes = mean[writers] + one.sigma * generator.standard_normal(len(writers))
        return log_normal(one.value, mean, one.sigma), log_normal(notes[:, None], mean, one.sigma)
    chances = one.chances(these, f)
    said = np.sum(np.cumsum(chances[writers], axis=1) < generator.random(len(writers))[:, None], axis=1)
    table = np.log(chances.T)  # words, airplanes
    return one.log_chance(these, f), table[np.minimum(said, len(table) - 1)]


def _tail(own: np.ndarray, simulated: np.ndarray) -> float:
    n = len(own)
    scores = logsumexp(simulated, axis=1) - np.log(n - 1)
    return float((1 + np.sum(scores <= logsumexp(own) - np.log(n))) / (1 + len(scores)))

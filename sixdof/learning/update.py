"""Bayes: what is likely of an airplane, given what was seen.

Unknown are u, standard normal: the whitened x of :mod:`sixdof.learning.crowd`, and for each helper the logarithm of
his scale.  Found by its most likely point and curvature there, then importance sampling with a heavy tail:
Student's t with 6 degrees of freedom and 1.8 times the covariance, mixed with 15 % of the prior, adapted three times.
Where few draws carry all the weight, slice sampling takes over (elliptical: I. Murray, R. Adams, D. MacKay, 2010).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from scipy.optimize import minimize
from scipy.special import gammaln

from sixdof.learning.crowd import Prior
from sixdof.learning.scale import HELPER
from sixdof.learning.seen import Airplanes, Note, airplanes

__all__ = ["DRAWS", "Posterior", "update"]

#: Equally likely draws that are given back.
DRAWS = 800
_SAMPLES, _ADAPTED, _FEW = 3000, 3, 30.0
_FREEDOM, _WIDER, _PRIOR = 6.0, 1.8, 0.15
_CHAINS, _SWEEPS = 80, 60

LogDensity = Callable[[np.ndarray], np.ndarray]


class Posterior(NamedTuple):
    """Equally likely draws of what fits the notes.

    Attributes
    ----------
    x : array (n, len(X))
    scale : array (n, helpers)
        Of each helper.
    play : array (2,)
        Of :class:`sixdof.learning.crowd.Prior`.
    effective : float
        How many independent draws these are worth; 0 where slices were sampled.
    """

    x: np.ndarray
    scale: np.ndarray
    play: np.ndarray
    effective: float

    @property
    def airplanes(self) -> Airplanes:
        """The draws by their meaning."""
        return airplanes(self.x, self.play)


def update(prior: Prior, seen: Sequence[Note], *, helpers: int = 1, seed: int = 0) -> Posterior:
    """What fits the notes.

    Parameters
    ----------
    prior : Prior
    seen : sequence of Word, Than or Gauge
        Without any, the prior itself.
    helpers : int
    seed : int
    """
    m = len(prior.mean) + helpers
    generator = np.random.Generator(np.random.Philox(key=[seed, 13]))

    def density(u: np.ndarray) -> np.ndarray:
        return -0.5 * np.einsum("ni,ni->n", u, u) + _likelihood(prior, seen, u)

    if not seen:
        u, effective = generator.standard_normal((DRAWS, m)), float(DRAWS)
    else:
        u, effective = _sample(density, generator, m)
    return Posterior(_x(prior, u), _scale(prior, u), prior.play, effective)


def _x(prior: Prior, u: np.ndarray) -> np.ndarray:
    return prior.mean + np.einsum("nj,ij->ni", u[:, : len(prior.mean)], prior.root)


def _scale(prior: Prior, u: np.ndarray) -> np.ndarray:
    return np.exp(HELPER * u[:, len(prior.mean) :])


def _likelihood(prior: Prior, seen: Sequence[Note], u: np.ndarray) -> np.ndarray:
    """Logarithm of the chance of all notes, array (n,)."""
    these, f = airplanes(_x(prior, u), prior.play), _scale(prior, u)
    total = np.zeros(len(u))
    for one in seen:
        total += one.log_chance(these, f[:, one.helper])
    return total


def _sample(density: LogDensity, generator: np.random.Generator, m: int) -> tuple[np.ndarray, float]:
    mean, covariance = _most_likely(density, generator, m)
    for _ in range(_ADAPTED):
        u, of_tail = _draw(mean, covariance, generator)
        weight = density(u) - np.logaddexp(
            np.log(1.0 - _PRIOR) + of_tail,
            np.log(_PRIOR) - 0.5 * (np.einsum("ni,ni->n", u, u) + m * np.log(2.0 * np.pi)),
        )
        weight = np.exp(weight - weight.max())
        weight /= weight.sum()
        effective = 1.0 / float(np.sum(weight**2))
        if effective < _FEW:
            break
        mean = np.einsum("n,ni->i", weight, u)
        covariance = np.einsum("n,ni,nj->ij", weight, u - mean, u - mean)
    if effective < _FEW:
        return _slices(density, mean, covariance, generator), 0.0
    steps = (np.arange(DRAWS) + generator.random()) / DRAWS
    return u[np.minimum(np.searchsorted(np.cumsum(weight), steps), len(u) - 1)], effective


def _most_likely(
    density: LogDensity, generator: np.random.Generator, m: int
) -> tuple[np.ndarray, np.ndarray]:
    """The most likely point and the covariance that its curvature tells."""
    first = generator.standard_normal((2000, m)) * np.linspace(0.3, 1.0, 2000)[:, None]
    start = first[np.argmax(density(first))]
    eye, step = np.eye(m), 1e-3

    def slope(u: np.ndarray) -> np.ndarray:
        both = density(np.concatenate((u + step * eye, u - step * eye)))
        return -(both[:m] - both[m:]) / (2.0 * step)

    def value(u: np.ndarray) -> float:
        return -float(density(u[None])[0])

    best = minimize(value, start, jac=slope, method="BFGS", options={"maxiter": 60}).x
    curvature = np.stack([(slope(best + 0.05 * row) - slope(best - 0.05 * row)) / 0.1 for row in eye])
    values, vectors = np.linalg.eigh(0.5 * (curvature + curvature.T))
    return best, np.einsum("ij,j,kj->ik", vectors, 1.0 / np.maximum(values, 0.7), vectors)


def _draw(
    mean: np.ndarray, covariance: np.ndarray, generator: np.random.Generator
) -> tuple[np.ndarray, np.ndarray]:
    """Draws of the tail mixed with the prior, and the tail's log density of each."""
    m = len(mean)
    root = np.linalg.cholesky(_WIDER * covariance + 1e-9 * np.eye(m))
    normal = generator.standard_normal((_SAMPLES, m))
    chi = generator.chisquare(_FREEDOM, _SAMPLES)
    u = mean + np.einsum("nj,ij->ni", normal, root) * np.sqrt(_FREEDOM / chi)[:, None]
    of_prior = generator.random(_SAMPLES) < _PRIOR
    u[of_prior] = generator.standard_normal((int(of_prior.sum()), m))
    return u, _log_t(u, mean, root)


def _log_t(u: np.ndarray, mean: np.ndarray, root: np.ndarray) -> np.ndarray:
    m, n = len(mean), _FREEDOM
    off = np.linalg.solve(root, (u - mean).T)
    constant = (
        gammaln(0.5 * (n + m)) - gammaln(0.5 * n) - 0.5 * m * np.log(n * np.pi) - np.log(np.diag(root)).sum()
    )
    return constant - 0.5 * (n + m) * np.log1p(np.sum(off**2, axis=0) / n)


def _slices(
    density: LogDensity, mean: np.ndarray, covariance: np.ndarray, generator: np.random.Generator
) -> np.ndarray:
    """Elliptical slices about a normal approximation, many chains side by side; array (DRAWS, m)."""
    m = len(mean)
    root = np.linalg.cholesky(_WIDER * covariance + 1e-9 * np.eye(m))

    def beyond(v: np.ndarray) -> np.ndarray:  # what is left of the density beside that normal
        return density(mean + np.einsum("nj,ij->ni", v, root)) + 0.5 * np.einsum("ni,ni->n", v, v)

    v = 0.5 * generator.standard_normal((_CHAINS, m))
    now, kept = beyond(v), []
    for sweep in range(_SWEEPS):
        other = generator.standard_normal(v.shape)
        least = now + np.log(generator.random(_CHAINS))
        angle = 2.0 * np.pi * generator.random(_CHAINS)
        low, high = angle - 2.0 * np.pi, angle.copy()
        todo = np.ones(_CHAINS, bool)
        for _ in range(60):
            new = v * np.cos(angle)[:, None] + other * np.sin(angle)[:, None]
            value = beyond(new)
            done = todo & (value >= least)
            v[done], now[done] = new[done], value[done]
            todo &= ~done
            if not todo.any():
                break
            low, high = np.where(angle < 0.0, angle, low), np.where(angle >= 0.0, angle, high)
            angle = np.where(todo, low + (high - low) * generator.random(_CHAINS), 0.0)
        if sweep >= _SWEEPS - DRAWS // _CHAINS * 3 and sweep % 3 == 0:
            kept.append(v.copy())
    return mean + np.einsum("nj,ij->ni", np.concatenate(kept)[-DRAWS:], root)

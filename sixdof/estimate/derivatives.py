"""Derivatives of an airplane, with doubt, source and shares."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sixdof.estimate.doubt import NAMES
from sixdof.physics.terms import TERM_NAMES

__all__ = ["NAMES", "Derivatives", "draw", "moved"]


@dataclass(frozen=True)
class Derivatives:
    """Values of all terms and shape parameters about the reference point.

    Attributes
    ----------
    value : array (n,)
        In the order of :data:`NAMES`.
    doubt : array (n, errors)
        What one standard deviation of each independent error does to the values.
    errors : tuple of str
        What the errors are.
    source : tuple of str
        Where each value comes from.
    components : tuple of str
    shares : array (n, components)
        What each component contributes to each term.
    residual : dict
        Coefficient -> what the terms leave of the loads they were fitted to, root mean square over
        that of the loads; empty where nothing was fitted.
    S, b, c : float [m2], [m], [m]
        Reference area, span, chord.
    point : tuple of float [m]
        Reference point, body axes from the datum.
    remarks : tuple of str
        What was found odd on the way, in words.
    """

    value: np.ndarray
    doubt: np.ndarray
    errors: tuple[str, ...]
    source: tuple[str, ...]
    components: tuple[str, ...]
    shares: np.ndarray
    residual: dict[str, float]
    S: float
    b: float
    c: float
    point: tuple[float, float, float]
    remarks: tuple[str, ...] = ()

    def __getitem__(self, name: str) -> float:
        return float(self.value[NAMES.index(name)])

    @property
    def covariance(self) -> np.ndarray:
        """Array (n, n)."""
        return self.doubt @ self.doubt.T

    @property
    def sigma(self) -> np.ndarray:
        """Standard deviations, array (n,)."""
        return np.sqrt(np.sum(self.doubt**2, axis=1))

    def share(self, name: str) -> dict[str, float]:
        """What each component contributes to a term; those that do not are left out."""
        row = self.shares[NAMES.index(name)]
        return {component: float(part) for component, part in zip(self.components, row, strict=True) if part}

    @property
    def neutral_point(self) -> float:
        """Where the lift of angle of attack acts, x from the datum [m]."""
        return self.point[0] + self["Cma"] / self["CLa"] * self.c


def moved(known: Derivatives, errors: np.ndarray, component: str) -> Derivatives:
    """The same off by so many standard deviations in each error (len(known.errors),); the difference is a component."""
    value = draw(known, errors[None])[0]
    shares = np.concatenate((known.shares, (value - known.value)[:, None]), axis=1)
    return replace(known, value=value, shares=shares, components=(*known.components, component))


#: Shape parameters of either sign.
_EITHER = ("CLmind", "stream_alpha0", "tail_alpha0", "fin_beta0")


def draw(known: Derivatives, errors: np.ndarray) -> np.ndarray:
    """Values of airplanes that are off by so many standard deviations in each independent error.

    Shape parameters that are positive stay so, but for angles and the lift of least drag.  The numbers of an
    airplane do not depend on its company.

    Parameters
    ----------
    known : Derivatives
    errors : array (n, len(known.errors))
        Standard normal numbers, :func:`sixdof.estimate.doubt.normals`.

    Returns
    -------
    array (n, len(NAMES))
    """
    drawn = np.tile(known.value, (len(errors), 1))
    for off, move in zip(
        errors.T, known.doubt.T, strict=True
    ):  # no product of matrices: its sums depend on n
        drawn += off[:, None] * move
    stays = np.array([name not in TERM_NAMES and name not in _EITHER for name in NAMES])
    positive = stays & (known.value > 0.0)
    drawn[:, positive] = np.maximum(drawn[:, positive], 0.2 * known.value[positive])
    return drawn

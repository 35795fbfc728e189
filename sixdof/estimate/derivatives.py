"""Derivatives of an airplane with their source."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sixdof.airframe.errors import InputError
from sixdof.airframe.model import Airframe
from sixdof.physics.terms import SHAPE, TERM_NAMES

NAMES: tuple[str, ...] = (*TERM_NAMES, *SHAPE)


@dataclass(frozen=True)
class Derivatives:
    """Values of all terms and shape parameters about the reference point.

    Attributes
    ----------
    value : array (n,)
        In the order of :data:`NAMES`.
    sigma : array (n,)
        Standard deviation, NaN where nobody said.
    source : tuple of str
    S, b, c : float [m2], [m], [m]
        Reference area, span, chord.
    point : tuple of float [m]
        Reference point, body axes from the datum.
    """

    value: np.ndarray
    sigma: np.ndarray
    source: tuple[str, ...]
    S: float
    b: float
    c: float
    point: tuple[float, float, float]

    def __getitem__(self, name: str) -> float:
        return float(self.value[NAMES.index(name)])


def estimate_derivatives(airframe: Airframe) -> Derivatives:
    """Derivatives of an airframe, from its file.

    Raises
    ------
    InputError
        The file carries none, or not all.
    """
    given = airframe.derivatives
    if given is None:
        raise InputError(
            f"{airframe.path}: derivatives: missing; add a `derivatives:` block with source, reference and values"
        )
    if not given.complete:
        raise InputError(
            f"{airframe.path}: derivatives: not marked complete; list all terms that are not zero and add `complete: true`"
        )
    value = np.array([0.0] * len(TERM_NAMES) + [default for default, _ in SHAPE.values()])
    sigma = np.full(len(NAMES), np.nan)
    source = ["not given: zero"] * len(TERM_NAMES) + ["default"] * len(SHAPE)
    for name, entry in given.values.items():
        i = NAMES.index(name)
        value[i] = entry.value
        sigma[i] = np.nan if entry.sigma is None else entry.sigma
        source[i] = entry.source or given.source
    ref = airframe.reference
    return Derivatives(value, sigma, tuple(source), ref.area, ref.span, ref.chord, ref.point)

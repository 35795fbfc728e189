"""What somebody saw of an airplane, against what the one of its file would show, and how likely that makes each cause.

A cause of amount a, normal about nothing, shows the mean m = expected + a d; it is read with errors of its own, with some that
grow with m (a word is judged, and by a scale), and the estimate may be off.  The chance of what was seen is the integral of
its normal density over a, by the trapezoidal rule; over that of a = 0 it is the Bayes factor (any textbook), whatever else a
careful builder has left.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from scipy.linalg import block_diag

from sixdof.flight.airplane import Airplane
from sixdof.tuning.causes import CAUSES, FARTHEST, covariance_of

__all__ = ["Evidence", "Weighed", "moves_of", "one_way_slopes", "weigh"]

#: Amounts at which a cause is tried; even, so that nothing is not among them.
_PLACES = 48

#: Causes that are changes of the airframe -> the error that leaves the same.
_SAME = {"cg": "CG fore and aft", "cg-height": "CG up and down", "tip-weight": "CG to the side",
         "down-thrust": "thrust line down", "right-thrust": "thrust line to the right"}  # fmt: skip


class Evidence(NamedTuple):
    """Some numbers that were seen.

    Attributes
    ----------
    left : array (n,)
        Seen less expected.
    expected : array (n,)
    does : dict of str to array (2, n)
        What a unit [SI] of each cause does to them, toward + and toward -.
    seen : array (n, n)
        Covariance of how well they are seen.
    moves : array (errors, n)
        What a standard deviation of each error does; no rows where the estimate is not doubted.
    errors : tuple of str
        Which they are.
    judged, scaled : array (n,)
        Of what happens, the standard deviation of the judgment of each, and of the scale that all words share.
    """

    left: np.ndarray
    expected: np.ndarray
    does: dict[str, np.ndarray]
    seen: np.ndarray
    moves: np.ndarray
    judged: np.ndarray
    scaled: np.ndarray
    errors: tuple[str, ...]

    def doubt(self, cause: str) -> np.ndarray:
        """Covariance (n, n) of what the estimate and the builder leave open, but for a cause itself."""
        own = CAUSES[cause].error or _SAME.get(cause, "")
        return covariance_of(self.moves[[name != own for name in self.errors]])

    def __add__(self, other: Evidence) -> Evidence:  # type: ignore[override]
        """Both together: read each by itself, off by the same errors."""
        does = {name: np.concatenate((self.does[name], other.does[name]), axis=1) for name in self.does}
        return Evidence(
            np.concatenate((self.left, other.left)), np.concatenate((self.expected, other.expected)), does,
            block_diag(self.seen, other.seen), np.concatenate((self.moves, other.moves), axis=1),
            np.concatenate((self.judged, other.judged)), np.concatenate((self.scaled, other.scaled)), self.errors,
        )  # fmt: skip

    def log_density(self, move: np.ndarray, doubt: np.ndarray) -> float:
        """Logarithm of the density of what was seen, of an airplane that shows so much more (n,) than expected."""
        size = self.expected + move
        covariance = self.seen + doubt + np.diag(self.judged**2 * (size**2 + np.diag(doubt)))
        root = np.linalg.cholesky(covariance + np.outer(self.scaled * size, self.scaled * size))
        off = np.linalg.solve(root, self.left - move)
        return -0.5 * float(off @ off) - float(np.log(np.diag(root)).sum())


class Weighed(NamedTuple):
    """A cause by its chance.

    Attributes
    ----------
    name : str
    amount : float
        In the mean [SI], toward the likelier of its two ways.
    sure : float
        Chance that it is off [%].
    """

    name: str
    amount: float
    sure: float


def weigh(evidence: Evidence, steps: Mapping[str, float], *, usual: float = 2.0) -> list[Weighed]:
    """Causes by their chance, the likeliest first; before anything was seen one of them was off, each as likely as the others.

    Parameters
    ----------
    evidence : Evidence
    steps : mapping of str to float
        Usual step of each cause [SI].
    usual : float
        How many steps a builder is usually off, standard deviation.
    """
    grid = np.linspace(-FARTHEST, FARTHEST, _PLACES)
    weight = np.exp(-0.5 * grid**2)
    weight /= weight.sum()
    found = []
    for name, (more, less) in evidence.does.items():
        doubt, a = evidence.doubt(name), grid * usual * steps[name]
        none = evidence.log_density(np.zeros_like(evidence.left), doubt)
        moves = (np.nan_to_num(more if x > 0.0 else less) * x for x in a.tolist())
        chance = weight * np.exp(
            np.minimum([evidence.log_density(move, doubt) - none for move in moves], 300.0)
        )
        way = np.sign(a) == np.sign(np.sum(np.sign(a) * chance))
        odds = float(chance.sum()) / (len(evidence.does) - 1)
        found.append(
            Weighed(name, float(np.average(a[way], weights=chance[way])), 100.0 * odds / (1.0 + odds))
        )
    return sorted(found, key=lambda one: -one.sure)


def one_way_slopes(
    moved: Sequence[tuple[str, float]], shown: np.ndarray, now: np.ndarray
) -> dict[str, np.ndarray]:
    """What a unit of each cause does, toward + and toward -; a way that was not flown is taken to be as the other one.

    Parameters
    ----------
    moved : sequence of (str, float)
        Cause and amount [SI].
    shown : array (len(moved), n)
        What airplanes off by these show.
    now : array (n,)
        What the one shows that is off by nothing.
    """
    does: dict[str, np.ndarray] = {}
    for (name, amount), row in zip(moved, shown, strict=True):
        slope = (row - now) / amount
        does.setdefault(name, np.stack((slope, slope)))[0 if amount > 0.0 else 1] = slope
    return does


def moves_of(airplane: Airplane, shown: np.ndarray, flies: np.ndarray) -> np.ndarray:
    """What a standard deviation of each error does, array (errors, n).

    Parameters
    ----------
    airplane : Airplane
    shown : array (k, n)
        What the airplanes of :meth:`Airplane.one_error_at_a_time` show.
    flies : array (2 errors,) of bool
        Which they are.
    """
    seen = np.full((len(flies), shown.shape[1]), np.nan)
    seen[flies] = shown
    half = len(airplane.errors)
    return 0.5 * (seen[:half] - seen[half:])

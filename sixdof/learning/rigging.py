"""What notes tell of rigging: their words and numbers as evidence for what may be off that no file states.

Of knife-edge, dive and inverted flight it is what was learned of the sticks that an airplane needs (:mod:`sixdof.learning.learn`),
whatever blends were in force; of the other tests of the trimming sequence what they showed.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sixdof.flight.airplane import Airplane
from sixdof.flight.needs import NEEDS
from sixdof.learning.crowd import Prior, X, fly_crowd
from sixdof.learning.learn import Learned
from sixdof.learning.told import Told
from sixdof.learning.update import Posterior
from sixdof.tuning.diagnose import Flown, evidence_of
from sixdof.tuning.evidence import Evidence, moves_of, one_way_slopes
from sixdof.tuning.sequence import Saw

__all__ = ["evidence_of_notes", "tests_of"]

#: Columns of x that go with the errors nearly in a straight line: sticks; and the share of a variance that is left of what
#: notes tell something of.
_COLUMNS = [X.index(name) for name in (*NEEDS, "push", "decay")]
_TELLS = 0.7


def tests_of(told: Sequence[Told]) -> list[Saw]:
    """What tests of the trimming sequence showed, each once: the mean of all flights, each as well as it was read."""
    seen: dict[str, list[Saw]] = {}
    for saw in (saw for one in told for saw in one.tests):
        seen.setdefault(saw.name, []).append(saw)
    found = []
    for name, saws in seen.items():
        weight = np.array([saw.sigma for saw in saws]) ** -2.0
        mean = float(np.average([saw.value for saw in saws], weights=weight))
        judged = saws[0].judged / len(saws) ** 0.5
        found.append(Saw(name, mean, float(weight.sum()) ** -0.5, judged, saws[0].scaled))
    return found


def evidence_of_notes(airplane: Airplane, flown: Flown, prior: Prior, learned: Learned) -> Evidence:
    """All that the believed flights of some notes tell, against what the airplane of the file would have shown.

    Parameters
    ----------
    airplane : Airplane
        As its file says, without what notes tell.
    flown : Flown
        How that flies, and off by each cause.
    prior : Prior
    learned : Learned
        From that prior.
    """
    rows, value, variance = _told(prior, learned.now)
    planes, flies = airplane.one_error_at_a_time()
    x, _ = fly_crowd(airplane, np.concatenate((airplane.planes, flown.planes, planes)), prior.share)
    shown = np.einsum("ij,nj->ni", rows, x[:, _COLUMNS] - prior.mean[_COLUMNS])
    known = np.isfinite(shown[0])  # all or none: whether the airplane of the file can fly them
    real, moved, doubted = np.split(shown[:, known], [1, 1 + len(flown.planes)])
    slopes, nothing = one_way_slopes(flown.moved, moved[1:], moved[0]), np.zeros(int(known.sum()))
    of_sticks = Evidence(
        value[known] - real[0], real[0], slopes, np.diag(variance[known]), moves_of(airplane, doubted, flies), nothing, nothing,
        airplane.errors,
    )  # fmt: skip
    return of_sticks + evidence_of(airplane, flown, tests_of([step.told for step in learned.believed]))


def _told(prior: Prior, now: Posterior) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """What notes tell of the sticks that an airplane needs, as readings that are independent of each other.

    With x = mean + L w, w standard normal before the notes, and of covariance S after them, a direction v of S with
    eigenvalue l was read with variance l / (1 - l) at (mean of w along v) / (1 - l) (normal with normal, any textbook).

    Returns
    -------
    rows : array (k, len(_COLUMNS))
        Reading = rows (x - mean), of the directions that notes tell of.
    value, variance : array (k,)
    """
    L = np.linalg.cholesky(prior.root[_COLUMNS] @ prior.root[_COLUMNS].T)
    w = np.linalg.solve(L, (now.x[:, _COLUMNS] - prior.mean[_COLUMNS]).T)
    left, directions = np.linalg.eigh(np.cov(w))
    told = left < _TELLS
    left, directions = left[told], directions[:, told]
    value = directions.T @ w.mean(axis=1) / (1.0 - left)
    return np.linalg.solve(L.T, directions).T, value, left / (1.0 - left)

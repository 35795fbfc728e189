"""The words for how large a tendency is: a scale of ours, to be calibrated; what a word says of a rate.

Words are in deg/s of drift with the sticks let go for three seconds (for 2 m models at 25 m/s).  A helper's scale
is not known: all rates are taken times f, ln f normal with 0.336.  A word is a category of f times the rate, seen
with gusts, model and judgment; now and then it slips to its neighbor, or is a slip of the tongue altogether.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from scipy.special import ndtr

from sixdof.tuning.sequence import SIZES as ENDS

__all__ = ["EDGES", "HELPER", "JUDGMENT", "SIZES", "chances", "middle"]

#: Word -> what it ends at [deg/s].
SIZES = {**ENDS, "violent": np.inf}
#: Ends of the eleven categories, violent one way to violent the other way.
EDGES = np.array([*(-most for most in reversed(SIZES.values())), *SIZES.values()])
#: Standard deviation of ln f of a helper, and of a judgment, of what is seen; tried, no source.
HELPER, JUDGMENT = 0.336, 0.35
#: Chances that a word is the one meant, each neighbor, any.
_MEANT, _NEIGHBOR, _ANY = 0.88, 0.05, 0.02


def middle(said: Sequence[int], edges: np.ndarray) -> tuple[float, float]:
    """What neighboring words say as a number: the middle between their ends, and the standard deviation of all between.

    The outermost words end at 5/3 of where they begin.
    """
    ends = np.nan_to_num(
        edges[[min(said), max(said) + 1]], posinf=5.0 / 3.0 * edges[-2], neginf=5.0 / 3.0 * edges[1]
    )
    return float(ends.mean()), float(np.ptp(ends)) / math.sqrt(12.0)


def chances(
    rate: np.ndarray, noise: np.ndarray | float, f: np.ndarray | float, edges: np.ndarray
) -> np.ndarray:
    """Chance of each word, array (n, len(edges) - 1).

    Parameters
    ----------
    rate : array (n,)
        What happens, in the unit of ``edges``.
    noise : float or array (n,)
        Standard deviation of what gusts and model add.
    f : float or array (n,)
        Scale of the helper.
    edges : array
    """
    seen = f * rate
    s = np.hypot(f * noise, JUDGMENT * seen)[:, None]
    meant = np.diff(ndtr((edges - seen[:, None]) / s), axis=1)
    said = (_MEANT + _NEIGHBOR * np.isin(np.arange(meant.shape[1]), (0, meant.shape[1] - 1))) * meant
    said[:, 1:] += _NEIGHBOR * meant[:, :-1]
    said[:, :-1] += _NEIGHBOR * meant[:, 1:]
    return said + _ANY / meant.shape[1]

"""What acts on an airplane and no logger shows: gusts, and where play and steps leave the surfaces.

Both are taken as numbers at knots in time with straight lines between, normal with a known covariance; what they do to
a stretch is linear in them, so the covariance of what is left of a fit is known, colors included.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from scipy.linalg import block_diag

from sixdof.flight.gusts import scales
from sixdof.learning.recording import Stretches

__all__ = ["Unseen", "unseen_in", "wander"]

#: Between knots [s]: of gusts, of where a surface stands; for so long that goes on.
_GUST, _SURFACE, _STANDS = 0.12, 0.12, 1.0
#: How large each is tried [m/s], [rad/s], share of the stick.
_SPEED, _TURN, _STICK = 0.05, 0.02, 0.005


#: How sensors wander beside their noise, for so long [s], at knots [s]: attitude [rad], speed [m/s], height [m]; what small
#: ones do in maneuvers, common practice, no source.
_WANDERS, _SENSOR = 5.0, 1.0
_BY = {3: math.radians(1.5), 4: math.radians(1.5), 5: math.radians(1.5), 6: 0.7, 7: 1.0}


class Unseen(NamedTuple):
    """Inputs of each stretch that nobody saw, and how large they are.

    Attributes
    ----------
    gusts : array (stretches, inputs, rows + 1, 6)
        Each gust input as tried; the first ``inputs``.
    sticks : array (stretches, others, rows, 5)
        The sticks with each of the others.
    root : array (inputs + others, inputs + others)
        Of the covariance, over what is tried; of gusts in a wind of 1 m/s.
    """

    gusts: np.ndarray
    sticks: np.ndarray
    root: np.ndarray


def unseen_in(stretches: Stretches, plane: np.void) -> Unseen:
    """Gusts and surfaces of stretches of a flight of a plane.

    Notes
    -----
    Gusts by the correlations of Dryden's spectra (:mod:`sixdof.flight.gusts`): exp(-t/T) along the ground, as the same sum
    serves for what comes across it; of the air's rolling only what its spectrum has at rest counts, since it is over
    sooner than a knot.
    """
    frame, rows = float(plane["frame"]), stretches.sticks.shape[1] - stretches.lead
    V, height = float(np.median(stretches.shown[..., 7])), float(np.median(stretches.height))
    time = frame * np.arange(rows + 1)
    knots = np.arange(0.0, time[-1] + _GUST, _GUST)
    hats = np.maximum(1.0 - np.abs(time - knots[:, None]) / _GUST, 0.0)  # (knots, rows + 1)
    sigma_u, sigma_w, L_u, L_w = scales(1.0, height)
    apart = np.abs(knots[:, None] - knots)
    along, upright = (sigma**2 * np.exp(-apart * V / L) for sigma, L in ((sigma_u, L_u), (sigma_w, L_w)))
    rolling = _rolling(sigma_w, L_w, V, float(plane["b"])) * np.eye(len(knots))

    forward, growth = _forward(stretches, rows), np.gradient(hats, frame, axis=1)
    gusts = np.zeros((len(stretches.first), 4, len(knots), rows + 1, 6))
    for axis in range(3):
        gusts[:, axis, :, :, axis] = _SPEED * hats
        # met at V, a gust that grows turns the air: q = -dw/dx, r = dv/dx
        turning = np.cross(forward, np.eye(3)[axis])
        gusts[:, axis, :, :, 3:] = _SPEED / V * growth[:, :, None] * turning[:, None]
    gusts[:, 3, :, :, 3:] = _TURN * hats[:, :, None] * forward[:, None]

    ends = np.arange(0.0, time[-1] + _SURFACE, _SURFACE)
    moved = np.maximum(1.0 - np.abs(time[:-1] - ends[:, None]) / _SURFACE, 0.0)
    own = stretches.sticks[:, stretches.lead :]
    sticks = np.repeat(own[:, None, None], 3, axis=1).repeat(len(ends), axis=2)
    lasts = [np.exp(-np.abs(ends[:, None] - ends) / T) for T in (10.0 * _STANDS, _STANDS, 0.1 * _STANDS)]
    stands, together = [], np.mean(lasts, axis=0)
    for i, channel in enumerate(("aileron", "elevator", "rudder")):
        inward = -np.sign(own[:, :1, i] + 1e-9)  # a stick at its end goes no further
        sticks[:, i, :, :, i] += _STICK * inward[:, None] * moved
        stands.append((_stands(plane, channel) / _STICK) ** 2 * together)
    covariance = block_diag(
        along / _SPEED**2, along / _SPEED**2, upright / _SPEED**2, rolling / _TURN**2, *stands
    )
    n = len(stretches.first)
    return Unseen(
        gusts.reshape(n, -1, rows + 1, 6), sticks.reshape(n, -1, rows, 5),
        np.linalg.cholesky(covariance + 1e-9 * np.diag(np.diag(covariance)) + 1e-12 * np.eye(len(covariance))),
    )  # fmt: skip


def wander(rows: int, columns: int, step: float) -> np.ndarray:
    """What sensors add that wander, each at its knots by a standard normal number: array (rows * columns, inputs).

    Parameters
    ----------
    rows, columns : int
        Of :meth:`Stretches.difference`.
    step : float [s]
        From row to row.
    """
    time = step * np.arange(rows)
    knots = np.arange(0.0, time[-1] + _SENSOR, _SENSOR)
    hats = np.maximum(1.0 - np.abs(time[:, None] - knots) / _SENSOR, 0.0)
    root = np.linalg.cholesky(np.exp(-np.abs(knots[:, None] - knots) / _WANDERS))
    found = np.zeros((rows, columns, len(_BY), len(knots)))
    for i, (column, size) in enumerate(_BY.items()):
        found[:, column, i] = size * np.einsum("rk,kj->rj", hats, root)
    return found.reshape(rows * columns, -1)


def _rolling(sigma_w: float, L_w: float, V: float, b: float) -> float:
    """Variance of the air's rolling [rad2/s2] at knots that has the density of its spectrum at rest."""
    gain = 0.8 / V * (math.pi / (4.0 * b)) ** (1.0 / 3.0) / L_w ** (2.0 / 3.0)
    return sigma_w**2 * gain * math.pi / _GUST


def _stands(plane: np.void, channel: str) -> float:
    """Standard deviation of where a surface stands, as a share of the stick: half its play either way, its steps."""
    full = {"aileron": "aileron_up", "elevator": "elevator_up", "rudder": "rudder_right"}[channel]
    off = 0.5 * (plane[f"{channel}_slop"] + plane[f"{channel}_step"])
    return max(off / float(plane[full]), 1e-4)


def _forward(stretches: Stretches, rows: int) -> np.ndarray:
    """Unit vector ahead of the airplane in the world, array (stretches, rows + 1, 3)."""
    q = stretches.shown[:, stretches.lead :, :4]
    q = np.concatenate((q, q[:, -1:]), axis=1)[:, : rows + 1]
    a, b, c, d = np.moveaxis(q, -1, 0)
    return np.stack((1.0 - 2.0 * (c * c + d * d), 2.0 * (b * c + a * d), 2.0 * (b * d - a * c)), axis=-1)

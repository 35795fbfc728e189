"""Steady flight: the sticks, throttle and attitude that leave nothing accelerating."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sixdof.flight.steady import STEADY_DTYPE, UNKNOWNS, steady_flight, trim_many
from sixdof.physics.compile import parallel_for


@dataclass(frozen=True)
class Trim:
    """A steady flight.

    Attributes
    ----------
    state : array (19,), targets : array (6,)
    alpha, beta, climb, bank : float [rad]
    sticks : dict
        Commands beyond the trims: aileron, elevator, rudder (+ right, up, right), throttle.
    converged : bool
        Nothing accelerates.
    reachable : bool
        ... and every stick stays inside its travel.
    """

    state: np.ndarray
    targets: np.ndarray
    alpha: float
    beta: float
    climb: float
    bank: float
    sticks: dict[str, float]
    converged: bool
    reachable: bool

    @property
    def speed(self) -> float:
        """Speed [m/s]."""
        return float(np.linalg.norm(self.state[3:6]))


def trim(
    plane: np.void,
    air: np.void,
    *,
    speed: float,
    climb: float = 0.0,
    bank: float = 0.0,
    turn: float = 0.0,
    height: float = 100.0,
    flap: float = 0.0,
    throttle: float | None = None,
) -> Trim:
    """Solve a steady flight by Newton's method.

    Parameters
    ----------
    plane, air : records
    speed : float [m/s]
    climb, bank : float [rad]
        Of the path; bank of the canopy about it (pi inverted, +-pi/2 knife-edge).
    turn : float [rad/s]
        0 straight; a level turn needs g tan(bank) / speed.
    flap : float
        Command, 0 to 1.
    throttle : float, optional
        Fixed throttle (0: glide); then the climb angle is found instead of the throttle.

    Returns
    -------
    Trim
    """
    asked = math.nan if throttle is None else throttle
    steady = _ask((1,), speed, climb, bank, turn, height, flap, asked)[0]
    steady_flight(plane, air, steady)
    return found_trim(steady)


def trim_batch(
    planes: np.ndarray,
    air: np.void,
    *,
    speed: np.ndarray | float,
    climb: np.ndarray | float = 0.0,
    bank: np.ndarray | float = 0.0,
    turn: np.ndarray | float = 0.0,
    height: np.ndarray | float = 100.0,
    flap: np.ndarray | float = 0.0,
    throttle: np.ndarray | float = math.nan,
    gains: bool = False,
) -> np.ndarray:
    """Solve the steady flights of many airplanes at once, on every core.

    Parameters
    ----------
    planes : records (n_planes,)
    air : record
    speed, climb, bank, turn, height, flap, throttle : float or array
        As in :func:`trim`, each broadcast to (n_planes, m); a throttle of NaN is looked for.
    gains : bool
        At the throttle and the climb given, on a straight path along which the speed grows.

    Returns
    -------
    records (n_planes, m) of :data:`sixdof.flight.steady.STEADY_DTYPE`
        Always: what was not found says so in ``converged`` and ``reachable``.
    """
    numbers = (speed, climb, bank, turn, height, flap, throttle, float(gains))
    shape = np.broadcast_shapes((len(planes), 1), *(np.shape(number) for number in numbers))
    steady = _ask(shape, *numbers)
    airs = np.array([air])
    parallel_for(steady.size, lambda first, stride: trim_many(planes, airs, steady, first, stride), worth=16)
    return steady


def _ask(shape: tuple[int, ...], *numbers: np.ndarray | float) -> np.ndarray:
    """Records of steady flights that are asked for, in the order of the arguments of :func:`trim`."""
    steady = np.zeros(shape, STEADY_DTYPE)
    for name, number in zip(STEADY_DTYPE.names or (), numbers, strict=False):
        steady[name] = number
    return steady


def found_trim(steady: np.void) -> Trim:
    """A solved record as the result for people."""
    unknowns = dict(zip(UNKNOWNS, steady["unknowns"].tolist(), strict=True))
    return Trim(
        state=steady["state"].copy(),
        targets=steady["targets"].copy(),
        alpha=unknowns["alpha"],
        beta=unknowns["beta"],
        climb=unknowns["climb"],
        bank=float(steady["bank"]),
        sticks={name: unknowns[name] for name in UNKNOWNS[2:6]},
        converged=bool(steady["converged"]),
        reachable=bool(steady["reachable"]),
    )

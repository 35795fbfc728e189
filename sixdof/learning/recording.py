"""A recorded flight: what a logger showed, cut into stretches, and how noisy it is."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sixdof.flight.recorded import SEEN

__all__ = ["EVERY", "Recording", "Stretches", "cut", "noise_of", "times_turn", "turn_of"]

#: A stretch [s], and what is flown before it with attitude and rates put back to those shown, for what no logger shows.
LENGTH, LEAD = 3.0, 1.0
#: Frames from one row that is compared to the next; those of the lead are put back each.
EVERY, BACK = 2, 5
#: Least noise that is believed: rates [rad/s], attitude [rad], speed [m/s], height [m], propeller speed (relative).
_LEAST = np.array([0.004] * 3 + [0.004] * 3 + [0.2, 0.2, 0.005])


class Recording(NamedTuple):
    """A flight as a logger showed it, a row a radio frame.

    Attributes
    ----------
    time : array (n,) [s]
    sticks : array (n, 5)
        Aileron, elevator, rudder in [-1, 1], flap, throttle in [0, 1].
    attitude : array (n, 4)
        Quaternion, body to world.
    rates : array (n, 3) [rad/s]
        p, q, r.
    speed : array (n,) [m/s]
        Through the air; or over the ground, across only.
    height : array (n,) [m]
        Over the field.
    propeller : array (n,) [rad/s], optional
    known : bool array (n,)
        False in a gap.
    surfaces : bool
        The sticks are those whose surfaces were recorded: curves and blends are in them.
    ground : bool
        The speed is that over the ground.
    """

    time: np.ndarray
    sticks: np.ndarray
    attitude: np.ndarray
    rates: np.ndarray
    speed: np.ndarray
    height: np.ndarray
    propeller: np.ndarray | None
    known: np.ndarray
    surfaces: bool = False
    ground: bool = False

    @property
    def through_air(self) -> np.ndarray:
        """Speed through the air [m/s], array (n,): of one over the ground a guess, by climb and the wind that a turn shows.

        The wind is that of the least squares of speed = V + wind along the heading, over all that is flown level.
        """
        if not self.ground:
            return self.speed
        a, b, c, d = self.attitude.T
        ahead = np.stack((1.0 - 2.0 * (c * c + d * d), 2.0 * (b * c + a * d)), axis=1)
        frame = float(np.median(np.diff(self.time)))
        step = max(round(0.5 / frame), 1)
        padded = np.pad(self.height, step, mode="edge")
        climb = (padded[2 * step :] - padded[: -2 * step]) / (2.0 * step * frame)
        level = self.known & (np.abs(climb) < 0.2 * self.speed)
        rows = np.column_stack((np.ones(len(ahead)), ahead))[level]
        # a second counts once, give or take 3 m/s; a wind is 4 m/s or so where no turn shows it
        weight = frame / 3.0**2
        precision = weight * np.einsum("ni,nj->ij", rows, rows) + np.diag((1e-6, 1.0 / 16.0, 1.0 / 16.0))
        wind = np.linalg.solve(precision, weight * np.einsum("ni,n->i", rows, self.speed[level]))[1:]
        return np.maximum(np.hypot(self.speed, climb) - np.einsum("ni,i->n", ahead, wind), 0.1)


class Stretches(NamedTuple):
    """Stretches with what comes before each, first axis the stretches, then rows; as in :class:`Recording`.

    Attributes
    ----------
    first : array (n,) [s]
        When each begins, after its lead.
    lead : int
        Rows of it.
    sticks : array (n, rows, 5)
    shown : array (n, rows, 8)
        Attitude, rates, speed through the air.
    speed : array (n, rows) [m/s]
        As it was recorded; ``ground``: over the ground.
    height : array (n, rows) [m]
    propeller : array (n, rows) [rad/s], optional
    """

    first: np.ndarray
    lead: int
    sticks: np.ndarray
    shown: np.ndarray
    speed: np.ndarray
    height: np.ndarray
    propeller: np.ndarray | None
    ground: bool

    def part(self, rows: slice) -> Stretches:
        """Some of them."""
        propeller = None if self.propeller is None else self.propeller[rows]
        return Stretches(
            self.first[rows], self.lead, self.sticks[rows], self.shown[rows], self.speed[rows], self.height[rows], propeller, self.ground
        )  # fmt: skip

    def speed_of(self, seen: np.ndarray, wind: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The speed that would be recorded of what is seen (..., len(SEEN)) in a wind (north, east) [m/s], array (...); and how it grows with that wind, array (2, ...)."""
        q, u = SEEN.index("q0"), SEEN.index("u")
        velocity = np.moveaxis(seen[..., u : u + 3], -1, 0)
        if not self.ground:
            speed = np.sqrt(np.sum(velocity**2, axis=0))
            return speed, np.zeros((2, *speed.shape))
        a, b, c, d = np.moveaxis(seen[..., q : q + 4], -1, 0)
        turned = np.stack((
            [1.0 - 2.0 * (c * c + d * d), 2.0 * (b * c - a * d), 2.0 * (b * d + a * c)],
            [2.0 * (b * c + a * d), 1.0 - 2.0 * (b * b + d * d), 2.0 * (c * d - a * b)],
        ))  # fmt: skip
        over = np.sum(turned * velocity, axis=1) + wind.reshape(2, *[1] * (seen.ndim - 1))
        speed = np.sqrt(np.sum(over**2, axis=0))
        return speed, over / np.maximum(speed, 0.1)

    def difference(self, seen: np.ndarray, wind: np.ndarray) -> np.ndarray:
        """What was shown less what is seen: rates [rad/s], turn about body axes [rad], speed [m/s], height [m], ln of the propeller's speed.

        Parameters
        ----------
        seen : array (..., stretches, rows, len(SEEN))
            Of :func:`sixdof.flight.recorded.follow`, every :data:`EVERY` frames from the end of the lead on.
        wind : array (2,) [m/s]
            North, east: of a speed over the ground.
        """
        at = {name: i for i, name in enumerate(SEEN)}
        q, rates, down = at["q0"], at["p"], at["down"]
        rows = slice(self.lead, None, EVERY)
        shown = self.shown[:, rows]
        parts = [
            shown[..., 4:7] - seen[..., rates : rates + 3],
            turn_of(seen[..., q : q + 4], shown[..., :4]),
            (self.speed[:, rows] - self.speed_of(seen, wind)[0])[..., None],
            (self.height[:, rows] + seen[..., down])[..., None],
        ]
        if self.propeller is not None:
            own = np.maximum(seen[..., at["propeller"]], 1.0)
            parts.append(np.log(self.propeller[:, rows] / own)[..., None])
        return np.concatenate(parts, axis=-1)


def cut(recording: Recording, frame: float, slowest: float) -> Stretches:
    """Stretches without a gap and nowhere slower than that [m/s], one after the other."""
    lead, length = BACK * round(LEAD / frame / BACK), round(LENGTH / frame)
    rows, first, at = lead + length, [], 0
    through_air = recording.through_air
    fine = recording.known & (through_air > slowest)
    while at + rows <= len(fine):
        bad = np.flatnonzero(~fine[at : at + rows])
        if len(bad):
            at += int(bad[-1]) + 1
            continue
        first.append(at)
        at += length
    take = np.array(first, int)[:, None] + np.arange(rows)
    shown = np.concatenate((recording.attitude, recording.rates, through_air[:, None]), axis=1)
    propeller = None if recording.propeller is None else recording.propeller[take]
    return Stretches(
        recording.time[take[:, lead]], lead, recording.sticks[take], shown[take], recording.speed[take], recording.height[take],
        propeller, recording.ground,
    )  # fmt: skip


def noise_of(recording: Recording) -> np.ndarray:
    """Standard deviation of the noise of each column of :meth:`Stretches.difference`, by second differences of neighbors.

    The median of |N(0, 1)| is 0.6745, and y - 2 y' + y'' has the variance 6.
    """

    def noise(y: np.ndarray) -> float:
        steps = np.diff(y[recording.known], n=2)
        return float(np.median(np.abs(steps))) / (0.6745 * np.sqrt(6.0))

    attitude = [2.0 * noise(column) for column in recording.attitude.T]
    columns = [
        *(noise(column) for column in recording.rates.T), *[max(attitude)] * 3, noise(recording.speed), noise(recording.height)
    ]  # fmt: skip
    if recording.propeller is not None:
        columns.append(noise(np.log(np.maximum(recording.propeller, 1.0))))
    return np.maximum(columns, _LEAST[: len(columns)])


def turn_of(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Small turn from attitude a to b about body axes [rad], array (..., 3), of quaternions (..., 4)."""
    w, x, y, z = np.moveaxis(a, -1, 0)
    W, X, Y, Z = np.moveaxis(np.broadcast_to(b, a.shape), -1, 0)
    real = w * W + x * X + y * Y + z * Z
    turn = np.stack(
        (w * X - x * W - y * Z + z * Y, w * Y + x * Z - y * W - z * X, w * Z - x * Y + y * X - z * W), axis=-1
    )
    return 2.0 * turn * np.where(real < 0.0, -1.0, 1.0)[..., None]


def times_turn(q: np.ndarray, turn: np.ndarray) -> np.ndarray:
    """Attitude q (..., 4) turned about body axes by a small turn (..., 3) [rad]."""
    x, y, z = np.moveaxis(0.5 * turn, -1, 0)
    a, b, c, d = np.moveaxis(np.broadcast_to(q, (*turn.shape[:-1], 4)), -1, 0)
    turned = np.stack(
        (
            a - b * x - c * y - d * z,
            a * x + b + c * z - d * y,
            a * y - b * z + c + d * x,
            a * z + b * y - c * x + d,
        ),
        axis=-1,
    )
    return turned / np.linalg.norm(turned, axis=-1, keepdims=True)

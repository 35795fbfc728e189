"""What a recorded flight tells of an airplane: of its errors, by the equations to begin with, then by what came out.

Unknown are the airplane's independent errors, each a standard normal number before, its trims, how far off the sensors
are; and of each stretch how it began.  What gusts, play and servo steps did is unknown too, and goes on in time: it is
integrated over, so that what a fit leaves may have the colors that they give it.  Output error with free initial states
(Jategaonkar, Flight Vehicle System Identification, chapters 4 and 5, from memory), weighed by the covariance that the
inputs nobody saw make; a test shows how much too much is claimed without it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
from scipy.optimize import minimize_scalar
from threadpoolctl import threadpool_limits

from sixdof.flight.airplane import Airplane
from sixdof.flight.layer import Recorded
from sixdof.flight.recorded import SEEN, follow
from sixdof.flight.speed import stalling_speed
from sixdof.learning.recording import BACK, EVERY, Recording, Stretches, cut, noise_of, times_turn
from sixdof.learning.unseen import Unseen, unseen_in, wander
from sixdof.physics.air import make_air

__all__ = ["Identified", "LogTold", "Overlay", "combined", "identify"]

#: Stretches that tell something at least; wind [m/s] whose gusts no model is flown in: then something else is wrong.
_FEWEST, _MOST_GUSTS = 4, 12.0
#: Standard deviations: of a trim off the computed one [share of throw]; of sensors that are off: rates [rad/s], attitude
#: (about x, y) [rad], speed [m/s] and relative; of the wind north and east [m/s], which counts for a speed over the ground.
_TRIM = 0.15
_OFF = np.array([0.02, 0.02, 0.02, 0.03, 0.03, 0.5, 0.03, 4.0, 4.0])
#: The same of how a stretch begins: u, v, w [m/s], attitude [rad], rates [rad/s], ln of the propeller's speed, height [m].
_BEGINS = np.array([3.0] * 3 + [0.05] * 3 + [0.3] * 3 + [0.1, 5.0])
_STEP = 0.002  # what a slope is taken over, in standard deviations: small, for what a roll adds up
_SLOWEST = 1.15  # times the stalling speed: below it the stall's blend decides
_CHUNK = 12  # stretches flown at once
#: Longest step of the search and step that is none, in standard deviations; steps at most.
_MOST, _CLOSE, _PASSES = 2.0, 0.02, 10
_UNFIT = 3.0  # times what chance leaves: such a stretch is set aside
#: Standard deviations are this much larger than the linear fit says, and never below a share of what was doubted: tried on
#: hidden airplanes, whose model is ours; no real one's form is known better.
_WIDER, _LEAST = 1.2, 0.03
_CHANNELS = ("aileron", "elevator", "rudder")


class Overlay(NamedTuple):
    """A stretch as it was shown and as it is simulated now.

    Attributes
    ----------
    words : str
        Why it is shown.
    time : array (n,) [s]
    shown, simulated : array (n, 4)
        Rates p, q, r [rad/s], speed [m/s].
    """

    words: str
    time: np.ndarray
    shown: np.ndarray
    simulated: np.ndarray


class Identified(NamedTuple):
    """What a recorded flight tells.

    Attributes
    ----------
    recorded : Recorded
    gusts : float [m/s]
        Wind whose gusts explain what the fit leaves.
    used, aside : array (n,) [s]
        When the stretches that count begin, and those that do not fit.
    overlays : list of Overlay
    """

    recorded: Recorded
    gusts: float
    used: np.ndarray
    aside: np.ndarray
    overlays: list[Overlay]


class LogTold(NamedTuple):
    """A log that was taken in, as it is kept: its file, the number of its flight, and what it told.

    Attributes
    ----------
    log : str
    flight : int
    stretches : int
    aside : list of float [s]
    gusts : float [m/s]
    recorded : Recorded
    """

    log: str
    flight: int
    stretches: int
    aside: list[float]
    gusts: float
    recorded: Recorded


class _Fit(NamedTuple):
    """Where the search stands, in standard deviations: errors and trims, sensors, how each stretch begins."""

    own: np.ndarray
    sensors: np.ndarray
    begins: np.ndarray

    @property
    def wind(self) -> np.ndarray:
        """North, east [m/s]."""
        return self.sensors[-2:] * _OFF[-2:]

    @property
    def shared(self) -> np.ndarray:
        """What all stretches have in common."""
        return np.concatenate((self.own, self.sensors))


class _Sums(NamedTuple):
    """Of each stretch, over the noise: slopes J of the differences by what all share, then by how it begins, then the
    differences themselves; and effects A of what nobody saw.  ``flown``: whether it stays where the model holds; one that
    does not tells nothing."""

    JJ: np.ndarray
    AJ: np.ndarray
    AA: np.ndarray
    flown: np.ndarray
    values: int


class _Told(NamedTuple):
    """Of each stretch, how it begins taken out: information H and slope h, the weighed square that is left, ln det of the
    covariance; and what moves its beginning."""

    H: np.ndarray
    h: np.ndarray
    square: np.ndarray
    spread: np.ndarray
    inverse: np.ndarray
    pull: np.ndarray
    cross: np.ndarray

    def after(self, step: np.ndarray) -> np.ndarray:
        """The weighed square after a step of what all share."""
        return self.square - 2.0 * self.h @ step + np.einsum("q,sqr,r->s", step, self.H, step)


class _Bench(NamedTuple):
    """An airplane, the stretches it flew, and the first state of each (n, 19)."""

    airplane: Airplane
    blends: np.ndarray | None
    curves: bool
    stretches: Stretches
    starts: np.ndarray

    def planes(self, own: np.ndarray) -> np.ndarray:
        """Records of errors and trims (n, errors + 3), without play and steps."""
        plane, m = self.airplane.plane, len(self.airplane.errors)
        planes = self.airplane.apply(own[:, :m])
        for column, channel in zip(own[:, m:].T, _CHANNELS, strict=True):
            planes[f"{channel}_trim"] = plane[f"{channel}_trim"] + _TRIM * column
        for channel in (*_CHANNELS, "flap"):
            planes[f"{channel}_slop"] = planes[f"{channel}_step"] = 0.0
        for channel in _CHANNELS if not self.curves else ():
            planes[f"{channel}_expo"] = 0.0
        planes["longest_step"] = plane["longest_step"]
        return planes

    def chunks(self) -> Iterator[tuple[slice, _Bench]]:
        """Some stretches after the other."""
        for first in range(0, len(self.starts), _CHUNK):
            rows = slice(first, first + _CHUNK)
            yield rows, self._replace(stretches=self.stretches.part(rows), starts=self.starts[rows])

    def begun(self, begins: np.ndarray) -> np.ndarray:
        """First states, array (..., stretches, 19), of how stretches begin (..., stretches, 11)."""
        off = begins * _BEGINS
        x = np.broadcast_to(self.starts, (*off.shape[:-1], 19)).copy()
        x[..., 3:6] += off[..., :3]
        x[..., 6:10] = times_turn(self.starts[:, 6:10], off[..., 3:6])
        x[..., 10:13] += off[..., 6:9]
        x[..., 18] *= np.exp(off[..., 9])
        return x

    def seen(
        self,
        planes: np.ndarray,
        sticks: np.ndarray,
        starts: np.ndarray,
        index: np.ndarray,
        gusts: np.ndarray | None = None,
    ) -> np.ndarray:
        """Flights by groups of one for each stretch, array (groups, stretches, rows, len(SEEN))."""
        found = follow(planes, sticks, starts, index, every=EVERY, blends=self.blends, gusts=gusts)
        return found.reshape(-1, len(self.starts), *found.shape[1:])


def identify(
    airplane: Airplane,
    recording: Recording,
    *,
    blends: np.ndarray | None = None,
    progress: Callable[[float, str], object] = lambda share, text: None,
) -> Identified:
    """Fit an airplane's errors to a recorded flight.

    Parameters
    ----------
    airplane : Airplane
        As filed, without what notes tell.
    recording : Recording
        A row a radio frame.
    blends : records (n,), optional
        In force; default: none, as where surfaces were recorded.
    progress : callable

    Returns
    -------
    Identified

    Raises
    ------
    ValueError
        In words, where it tells nothing: too few stretches, or nothing that such an airplane could have flown.
    """
    with threadpool_limits(limits=1, user_api="blas"):
        plane = airplane.plane
        slowest = _SLOWEST * float(stalling_speed(plane, make_air(), 50.0))
        stretches = cut(recording, float(plane["frame"]), slowest)
        if len(stretches.first) < _FEWEST:
            raise ValueError(
                f"{len(stretches.first)} stretches of 4 s without a gap and faster than {slowest:.1f} m/s, expected {_FEWEST} at least"
            )
        starts = np.zeros((len(stretches.first), 19))
        bench = _Bench(
            airplane, None if recording.surfaces else blends, not recording.surfaces, stretches, starts
        )
        return _identify(bench, noise_of(recording), progress)


def combined(recorded: Sequence[Recorded]) -> Recorded | None:
    """What several recorded flights tell together: information adds up; None of none."""
    if not recorded:
        return None
    m = len(recorded[0].errors)
    added, pull = np.zeros((m, m)), np.zeros(m)
    for one in recorded:
        precision = np.linalg.inv(one.root @ one.root.T)
        added += precision - np.eye(m)
        pull += precision @ one.mean
    covariance = np.linalg.inv(np.eye(m) + added)
    return Recorded(
        recorded[0].errors,
        covariance @ pull,
        np.linalg.cholesky(covariance),
        sum(one.flights for one in recorded),
    )


def _identify(bench: _Bench, noise: np.ndarray, progress: Callable[[float, str], object]) -> Identified:
    airplane, stretches = bench.airplane, bench.stretches
    progress(0.0, "equations")
    bench, own = _by_equations(bench, np.concatenate((airplane.believed, np.zeros(3))))
    fit = _Fit(own, np.zeros(len(_OFF)), np.zeros((len(stretches.first), len(_BEGINS))))
    unseen = unseen_in(stretches, airplane.plane)
    for k in range(_PASSES):
        progress(0.1 + 0.9 * k / _PASSES, "what came out")
        if k in (0, 2):
            effects = _effects(bench, fit, unseen, noise)
        sums = _sums(bench, fit, effects, noise)
        if k in (0, 1, 2, 4):
            gusts, keep = _gusts(sums, fit, unseen)
        told = _told(sums, fit, unseen, gusts)
        step, precision = _step(told, fit, keep)
        part = min(1.0, _MOST / float(np.abs(step).max()))
        moved = part * np.einsum(
            "sbc,sc->sb", told.inverse, told.pull - np.einsum("sqb,q->sb", told.cross, step)
        )
        fit = _Fit(
            fit.own + part * step[: len(own)], fit.sensors + part * step[len(own) :], fit.begins + moved
        )
        if not np.isfinite(step).all() or gusts > _MOST_GUSTS or np.count_nonzero(keep) < _FEWEST:
            raise ValueError(
                "nothing that this airplane could have flown: check signs and units of the map, and the aircraft file"
            )
        if np.abs(step).max() < _CLOSE and k > 2:
            break
    m = len(airplane.errors)
    root = _widened(np.linalg.inv(precision)[:m, :m])
    return Identified(
        Recorded(airplane.errors, fit.own[:m], root, 1), gusts, stretches.first[keep], stretches.first[~keep],
        _overlays(bench, fit, told.after(0.0 * step)),
    )  # fmt: skip


def _by_equations(bench: _Bench, own: np.ndarray) -> tuple[_Bench, np.ndarray]:
    """Errors and trims by what the equations make of each tenth of a second, and so how each stretch begins."""
    s, n = bench.stretches, len(bench.starts)
    starts = np.zeros((n, 19))
    starts[:, 2], starts[:, 3], starts[:, 6:13] = (
        -np.maximum(s.height[:, 0], 1.0),
        s.shown[:, 0, 7],
        s.shown[:, 0, :7],
    )
    starts[:, 18] = 0.5 * bench.airplane.plane["motor_no_load"] if s.propeller is None else s.propeller[:, 0]

    def seen(own: np.ndarray) -> np.ndarray:
        planes = bench.planes(own)
        found = follow(
            planes, s.sticks, starts, _index(len(planes), n), every=BACK, blends=bench.blends, shown=s.shown
        )
        return found.reshape(len(planes), n, -1, len(SEEN))

    rates, settled = slice(SEEN.index("p"), SEEN.index("p") + 3), s.lead // BACK + 1
    for _ in range(3):
        found = seen(np.vstack((own, own + _STEP * np.eye(len(own)))))[:, :, settled:, rates]
        left, slopes = s.shown[:, ::BACK][:, settled:, 4:7] - found[0], (found[1:] - found[0]) / _STEP
        size = np.nanmedian(np.abs(left), axis=(0, 1)) / 0.6745
        A, y = (slopes / size).reshape(len(own), -1).T, np.clip(left / size, -3.0, 3.0).ravel()
        fine = np.isfinite(A).all(axis=1) & np.isfinite(y)
        A, y = 0.5 * A[fine], 0.5 * y[fine]  # neighbors go together: a quarter of them counts
        own = own + np.clip(np.linalg.solve(A.T @ A + np.eye(len(own)), A.T @ y - own), -_MOST, _MOST)
    last, begins = seen(own[None])[0][:, s.lead // BACK], s.shown[:, s.lead]
    velocity = last[:, SEEN.index("u") : SEEN.index("u") + 3]
    starts[:, 2] = -np.maximum(s.height[:, s.lead], 1.0)
    starts[:, 3:6] = velocity * (begins[:, 7] / np.linalg.norm(velocity, axis=1))[:, None]
    starts[:, 6:13], starts[:, 13:18] = begins[:, :7], last[:, -5:]
    starts[:, 18] = last[:, SEEN.index("propeller")] if s.propeller is None else s.propeller[:, s.lead]
    fine = np.isfinite(starts).all(axis=1)
    if not fine.all():
        starts[~fine, 3:6] = begins[~fine, 7:8] * (1.0, 0.0, 0.0)
        starts = np.where(np.isfinite(starts), starts, 0.0)
    return bench._replace(starts=starts), own


def _index(planes: int, n: int, *, starts: int = 1) -> np.ndarray:
    """Every plane in every stretch, then the first plane with the other starts; array (flights, 4)."""
    stretch = np.arange(n)
    rows = [np.stack((0 * stretch + i, stretch, stretch, 0 * stretch), axis=1) for i in range(planes)]
    rows += [np.stack((0 * stretch, stretch, stretch + k * n, 0 * stretch), axis=1) for k in range(1, starts)]
    return np.concatenate(rows)


def _effects(bench: _Bench, fit: _Fit, unseen: Unseen, noise: np.ndarray) -> list[np.ndarray]:
    """What each input that nobody saw does to each stretch over the noise: chunk by chunk, array (stretches, values, inputs)."""
    found, planes = [], bench.planes(fit.own[None])
    for rows, part in bench.chunks():
        s, n, gusts, others = part.stretches, len(part.starts), unseen.gusts[rows], unseen.sticks[rows]
        own, at = s.sticks[:, s.lead :], np.arange(n)
        sticks = np.concatenate((own, others.reshape(-1, *own.shape[1:])))
        airs = np.concatenate((0.0 * gusts[:1, 0], gusts.reshape(-1, *gusts.shape[2:])))
        inputs, more = gusts.shape[1], others.shape[1]
        index = [np.stack((0 * at, at, at, 0 * at), axis=1)]
        index += [np.stack((0 * at, at, at, 1 + at * inputs + k), axis=1) for k in range(inputs)]
        index += [np.stack((0 * at, n + at * more + k, at, 0 * at), axis=1) for k in range(more)]
        seen = part.seen(planes, sticks, part.begun(fit.begins[rows]), np.concatenate(index), airs)
        off = s.difference(seen, fit.wind) / noise
        effect = np.moveaxis(off[0] - off[1:], 0, -1).reshape(n, -1, inputs + more)
        effect = np.einsum("svi,ij->svj", effect, unseen.root, optimize=True)
        steps, columns = off.shape[2:]
        sensors = wander(steps, columns, EVERY * float(planes["frame"][0])) / np.tile(noise, steps)[:, None]
        found.append(np.concatenate((effect, np.broadcast_to(sensors, (n, *sensors.shape))), axis=2))
    return found


def _sums(bench: _Bench, fit: _Fit, effects: Sequence[np.ndarray], noise: np.ndarray) -> _Sums:
    """Slopes by flights that are off by a little in one thing each."""
    P, B = len(fit.own), len(_BEGINS)
    JJ, AJ, AA, flown = [], [], [], []
    planes = bench.planes(np.vstack((fit.own, fit.own + _STEP * np.eye(P))))
    little = np.concatenate((np.zeros((1, B)), _STEP * np.eye(B)[:-1]))[:, None]  # the height is only read
    for (rows, part), A in zip(bench.chunks(), effects, strict=True):
        s, n = part.stretches, len(part.starts)
        starts = part.begun(fit.begins[rows] + little).reshape(-1, 19)
        seen = part.seen(planes, s.sticks[:, s.lead :], starts, _index(len(planes), n, starts=B))
        off = s.difference(seen, fit.wind)
        sensors, height = _read_off(s, seen[0], fit.wind, off.shape[1:])
        known = np.einsum(
            "k,k...->...", fit.sensors[:-2], sensors[:-2]
        )  # the wind is in the difference already
        left = off[0] - known - fit.begins[rows, -1:, None] * height[0]
        own, begins = off[1 : P + 1], off[P + 1 :]
        slopes = ((off[0] - own) / _STEP, sensors, (off[0] - begins) / _STEP, height, left[None])
        J = np.moveaxis(np.concatenate(slopes) / noise, 0, -1)
        J = J.reshape(n, -1, J.shape[-1])
        fine = np.isfinite(J).all(axis=(1, 2)) & np.isfinite(A).all(axis=(1, 2)) & _holds(seen[0], planes[0])
        J, A = (np.where(fine[:, None, None], rows_, 0.0) for rows_ in (J, A))
        flown.append(fine)
        JJ.append(J.transpose(0, 2, 1) @ J)
        AJ.append(A.transpose(0, 2, 1) @ J)
        AA.append(A.transpose(0, 2, 1) @ A)
    return _Sums(
        np.concatenate(JJ), np.concatenate(AJ), np.concatenate(AA), np.concatenate(flown), J.shape[1]
    )


def _holds(seen: np.ndarray, plane: np.void) -> np.ndarray:
    """Which stretches (n, rows, len(SEEN)) stay at angles at which the model holds, array (n,)."""
    u, v, w = np.moveaxis(seen[..., SEEN.index("u") : SEEN.index("u") + 3], -1, 0)
    alpha, beta = np.arctan2(w, u), np.arctan2(v, np.hypot(u, w))
    holds = (
        (plane["alpha_min"] <= alpha) & (alpha <= plane["alpha_max"]) & (np.abs(beta) <= plane["beta_max"])
    )
    return holds.all(axis=1)


def _read_off(
    s: Stretches, seen: np.ndarray, wind: np.ndarray, shape: tuple[int, ...]
) -> tuple[np.ndarray, np.ndarray]:
    """What sensors off by a standard deviation, and the wind, add to differences, array (9, *shape); what a height does (1, *shape)."""
    sensors, height = np.zeros((len(_OFF), *shape)), np.zeros((1, *shape))
    speed, by_wind = s.speed_of(seen, wind)
    for k, column in enumerate((0, 1, 2, 3, 4, 6)):
        sensors[k, ..., column] = _OFF[k]
    sensors[6, ..., 6] = _OFF[6] * speed  # the recorded one is noisy and would pull
    sensors[7:, ..., 6] = _OFF[7:].reshape(2, *[1] * speed.ndim) * by_wind
    height[..., 7] = _BEGINS[-1]
    return sensors, height


def _told(sums: _Sums, fit: _Fit, unseen: Unseen, gusts: float) -> _Told:
    """Weighed with V^-1 by Woodbury's identity, V the noise and what gusts of that wind and play add to it."""
    size = np.ones(sums.AA.shape[-1])
    size[: unseen.gusts.shape[1]] = gusts
    AA, AJ = size[:, None] * sums.AA * size + np.eye(len(size)), size[:, None] * sums.AJ
    W = sums.JJ - AJ.transpose(0, 2, 1) @ np.linalg.solve(AA, AJ)
    P, B = len(fit.shared), len(_BEGINS)
    cross, y = W[:, :P, P : P + B], W[:, :, -1]
    own = W[:, P : P + B, P : P + B] + np.eye(B)
    inverse, pull = np.linalg.inv(own), y[:, P : P + B] - fit.begins
    gain = cross @ inverse
    return _Told(
        W[:, :P, :P] - gain @ cross.transpose(0, 2, 1), y[:, :P] - np.einsum("sqb,sb->sq", gain, pull),
        y[:, -1] - np.einsum("sb,sbc,sc->s", pull, inverse, pull) + np.sum(fit.begins**2, axis=1),
        np.linalg.slogdet(AA)[1] + np.linalg.slogdet(own)[1], inverse, pull, cross,
    )  # fmt: skip


def _step(told: _Told, fit: _Fit, keep: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Step of what all share, and its precision."""
    precision = told.H[keep].sum(axis=0) + np.eye(len(fit.shared))
    return np.linalg.solve(precision, told.h[keep].sum(axis=0) - fit.shared), precision


def _gusts(sums: _Sums, fit: _Fit, unseen: Unseen) -> tuple[float, np.ndarray]:
    """Wind [m/s] whose gusts make what is left likeliest, and which stretches fit then."""

    def left(wind: float) -> tuple[np.ndarray, np.ndarray]:
        told = _told(sums, fit, unseen, wind)
        return told.after(_step(told, fit, sums.flown)[0]), np.where(sums.flown, told.spread, 0.0)

    def unlikely(log: float) -> float:
        square, spread = left(math.exp(log))
        return float(np.sum(np.minimum(square, _UNFIT * sums.values) + spread))

    found = minimize_scalar(
        unlikely, bounds=(math.log(0.02), math.log(2.0 * _MOST_GUSTS)), method="bounded", options={"xatol": 0.05},
    )  # fmt: skip
    gusts = math.exp(float(found.x))
    return gusts, sums.flown & (left(gusts)[0] < _UNFIT * (sums.values - len(_BEGINS)))


def _widened(covariance: np.ndarray) -> np.ndarray:
    """Root of the covariance of standard normal errors, no narrower than may be claimed and no wider than before."""
    values, vectors = np.linalg.eigh(covariance)
    values = np.clip(_WIDER**2 * values + _LEAST**2, 0.0, 1.0)
    return np.linalg.cholesky(np.einsum("ij,j,kj->ik", vectors, values, vectors))


def _overlays(bench: _Bench, fit: _Fit, square: np.ndarray) -> list[Overlay]:
    """The stretch that fits worst, one in the middle of the fit, and those with most of each rate; each once."""
    s, order = bench.stretches, np.argsort(square)
    most = np.argmax(np.abs(s.shown[:, s.lead :, 4:7]).max(axis=1), axis=0)
    chosen: dict[int, str] = {}
    for i, words in ((order[-1], "fits worst"), (order[len(order) // 2], "an ordinary one"),
                     *zip(most, ("most roll", "most pitch", "most yaw"), strict=True)):  # fmt: skip
        chosen.setdefault(int(i), words)
    planes, starts, off = bench.planes(fit.own[None]), bench.begun(fit.begins), fit.sensors * _OFF
    found, frame, p = [], float(bench.airplane.plane["frame"]), SEEN.index("p")
    for i, words in chosen.items():
        index, sticks = np.zeros((1, 4), np.int64), s.sticks[i : i + 1, s.lead :]
        [seen] = follow(planes, sticks, starts[i : i + 1], index, every=1, blends=bench.blends)
        speed = s.speed_of(seen, fit.wind)[0] * (1.0 + off[6]) + off[5]
        time = s.first[i] + frame * np.arange(len(seen))
        shown = np.column_stack((s.shown[i, s.lead :, 4:7], s.speed[i, s.lead :]))
        found.append(Overlay(words, time, shown, np.column_stack((seen[:, p : p + 3] + off[:3], speed))))
    return found

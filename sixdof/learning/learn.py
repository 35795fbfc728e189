"""From notes to ratios: flight by flight, what is believed, what it tells, what to note next."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from threadpoolctl import threadpool_limits

from sixdof.flight.knife_edge import SIDES
from sixdof.flight.layer import Layer, Recorded
from sixdof.flight.needs import DIVE, NEEDS, RATIOS
from sixdof.learning.crowd import SECONDS, Prior, X
from sixdof.learning.notes import Notes
from sixdof.learning.seen import AXES, Airplanes
from sixdof.learning.surprise import LEAST, Surprise, surprise
from sixdof.learning.told import Told, helpers_of, tell
from sixdof.learning.update import Posterior, update

__all__ = ["SEEN", "Candidate", "Learned", "Step", "best_ratios", "drifts", "layer_of", "learn", "next_notes"]

#: Drift in three seconds below which nobody sees it [deg].
SEEN = 5.0
#: Noise that a word or a number has for the choice of the next note: [deg/s], of the value, of sticks.
_WORD, _OF_WORD, _STICK, _RUDDER = 0.8, 0.45, 0.015, 0.15


class Step(NamedTuple):
    """A flight and what it did.

    Attributes
    ----------
    told : Told
    surprise : Surprise or None
    believed : bool
        Whether its notes count.
    again : bool
        A flight set aside before was borne out by this one.
    posterior : Posterior
        After it.
    """

    told: Told
    surprise: Surprise | None
    believed: bool
    again: bool
    posterior: Posterior


class Learned(NamedTuple):
    """What is known before any note, flight by flight, and in the end."""

    before: Posterior
    steps: list[Step]
    helpers: list[str]

    @property
    def now(self) -> Posterior:
        """After the last flight."""
        return self.steps[-1].posterior if self.steps else self.before

    @property
    def believed(self) -> list[Step]:
        """Flights whose notes count."""
        return [step for step in self.steps if step.believed]


@threadpool_limits.wrap(limits=1, user_api="blas")
def learn(prior: Prior, files: Sequence[Notes], *, without: Sequence[int] = ()) -> Learned:
    """Take in the notes of some files, flight by flight.

    A flight whose notes fit fewer than 1 in 20 airplanes is set aside; where the next one fits it, both are believed.

    Parameters
    ----------
    prior : Prior
    files : sequence of Notes
    without : sequence of int
        Numbers of flights to leave out.
    """
    helpers = helpers_of(files)
    before = now = update(prior, [], helpers=len(helpers))
    counted: list[Told] = []
    aside: list[int] = []  # steps that are not believed
    steps: list[Step] = []
    for told in tell(files, prior, helpers):
        if told.flight.flight in without:
            continue
        found, again = surprise(now, told.seen), False
        odd = found is not None and found.chance < LEAST
        if odd and aside:
            first = steps[aside[-1]].told
            both = update(prior, _seen([*counted, first]), helpers=len(helpers))
            fits = surprise(both, told.seen)
            if fits is not None and fits.chance >= LEAST:
                steps[aside[-1]] = steps[aside[-1]]._replace(believed=True)
                counted.append(first)
                aside.pop()
                odd, again = False, True
        if not odd:
            counted.append(told)
            now = update(prior, _seen(counted), helpers=len(helpers))
        else:
            aside.append(len(steps))
        steps.append(Step(told, found, not odd, again, now))
    return Learned(before, steps, helpers)


def _seen(flights: Sequence[Told]) -> list:
    return [one for told in flights for one in told.seen]


def best_ratios(these: Airplanes) -> np.ndarray:
    """Ratios that leave least drift in the mean of all these airplanes, array (len(RATIOS),)."""
    pairs = []
    for side in range(len(SIDES)):
        J, r = these.J[:, side], these.needed[:, side]
        weight = np.einsum("nji,njk->nik", J, J)
        pairs.append(np.linalg.solve(weight.sum(axis=0), np.einsum("nij,nj->i", weight, r)))
    weight = these.dive_gain**2
    return np.array([*np.concatenate(pairs), np.sum(weight * these.dive) / np.sum(weight)])


def drifts(these: Airplanes, ratios: np.ndarray) -> np.ndarray:
    """Drift in three seconds with ratios (len(RATIOS),), array (n, 5) [deg]: canopy and roll by side, then the dive."""
    edges = [these.rates(axis, s, ratios[2 * s : 2 * s + 2]) for s in range(len(SIDES)) for axis in AXES]
    return SECONDS * np.stack([*edges, these.rates("dive", -1, ratios[RATIOS.index(DIVE)])], axis=1)


def told_needs(steps: Sequence[Step]) -> tuple[str, ...]:
    """Needs that believed flights speak of: the sticks of each side flown in knife-edge, that of the dive."""
    found = []
    kinds = {
        (getattr(one, "axis", ""), getattr(one, "kind", ""), getattr(one, "side", -1))
        for step in steps
        for one in step.told.seen
    }
    for name in NEEDS:
        side = next((s for s, word in enumerate(SIDES) if name.endswith(f".{word}")), -1)
        if any(k[2] == side for k in kinds) and (side >= 0 or any(k[2] < 0 for k in kinds)):
            found.append(name)
    return tuple(found)


def layer_of(
    prior: Prior, learned: Learned, sha256: str, notes: dict[str, str], recorded: Recorded | None = None
) -> Layer | None:
    """What is laid over the airplane; None where no flight is believed and none was recorded."""
    told = told_needs(learned.believed)
    if not told and recorded is None:
        return None
    draws = learned.now.x[:, [X.index(name) for name in told]]
    return Layer(
        sha256, prior.share, told, draws.mean(axis=0), draws, prior.errors, prior.gain(told), sum(bool(step.told.flight.passes) for step in learned.believed), notes, recorded
    )  # fmt: skip


class Candidate(NamedTuple):
    """A note that could be taken next: what, and how much of the drift that is left it would leave unknown.

    Attributes
    ----------
    words : str
    left : float
        Root mean square of drift in three seconds that stays unknown [deg], by now ``now``.
    """

    words: str
    now: float
    left: float


def next_notes(posterior: Posterior, ratios: np.ndarray) -> list[Candidate]:
    """Notes by what they are expected to tell, the best first; ``ratios`` are those that would be flown."""
    these, f = posterior.airplanes, posterior.scale[:, 0]
    targets = drifts(these, ratios)
    now = float(np.sqrt(np.mean(targets.var(axis=0))))
    found = []
    for words, signals, noises in _candidates(these, f, ratios):
        y, noise = np.stack(signals, axis=1), np.array(noises)
        off, both = y - y.mean(axis=0), targets - targets.mean(axis=0)
        Cyy = np.einsum("ni,nj->ij", off, off) / len(y) + np.diag(noise**2)
        Cty = np.einsum("nt,ni->ti", both, off) / len(y)
        told = np.einsum("ti,ij,tj->t", Cty, np.linalg.inv(Cyy), Cty)
        left = np.maximum(targets.var(axis=0) - told, 0.0)
        found.append(Candidate(words, now, float(np.sqrt(np.mean(left)))))
    return sorted(found, key=lambda one: one.left)


def _candidates(these: Airplanes, f: np.ndarray, ratios: np.ndarray):
    """Words, what would be read by each airplane, and how noisy that is."""

    def word(axis: str, side: int, k: np.ndarray) -> tuple[np.ndarray, float]:
        rate = these.rates(axis, side, k)
        return f * rate, float(np.hypot(_WORD, _OF_WORD * np.sqrt(np.mean(rate**2))))

    for s, side in enumerate(SIDES):
        k = ratios[2 * s : 2 * s + 2]
        words = [word(axis, s, k) for axis in AXES]
        yield f"{side} rudder, sticks let go: words for pitch and roll", *zip(*words, strict=True)
        sticks = [(these.needed[:, s, t] - k[t]) * these.rudder[:, s] for t in range(2)]
        held = [_STICK, _STICK]
        yield f"{side} rudder, held: elevator and aileron stick in percent", sticks, held
        yield (
            f"{side} rudder, held: both sticks and the share of the rudder",
            [*sticks, np.log(these.rudder[:, s])],
            [*held, _RUDDER],
        )
    dive = word("dive", -1, ratios[RATIOS.index(DIVE)])
    yield "power-off dive, elevator let go: a word for pitch", [dive[0]], [dive[1]]
    yield "inverted level flight: the elevator held, in percent", [these.push], [_STICK]

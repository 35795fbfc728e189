"""A hidden airplane, its pilot and a helper on the ground: flights in gusts, written down as notes.

What is hidden is drawn from the errors of an airplane, rigging included, by seeds the learner never uses.  Words and
held sticks come from flights with servos as they are; the helper has a scale of his own, misjudges, and slips.
"""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import NamedTuple

import numpy as np

from sixdof import Airplane
from sixdof.estimate.doubt import ERRORS
from sixdof.flight.gusts import airs_of, read_wind
from sixdof.flight.knife_edge import SIDES, knife_edges
from sixdof.flight.needs import NEEDS, RATIOS
from sixdof.flight.script import load_maneuver, make_script
from sixdof.learning.crowd import SECONDS, Prior, fly_each
from sixdof.learning.learn import best_ratios, learn
from sixdof.learning.notes import notes_from
from sixdof.learning.scale import EDGES, SIZES

WORDS = list(SIZES)
SLIP, ANY = 0.05, 0.02
STEP = 0.005
#: One standard deviation of the slope of the downwash.
_DOWNWASH = -next(error.terms["tail_alpha"][1] for error in ERRORS if error.name == "downwash")
#: First steps of the hand rule on the elevator, by word; a third of that on the aileron; halved when the way turns.
BY_HAND = {"nothing": 0.0, "a hair": 0.01, "slight": 0.025, "moderate": 0.05, "strong": 0.10, "violent": 0.15}


class Crew(NamedTuple):
    """Hidden airplanes with a helper each.

    Attributes
    ----------
    airplane : Airplane
        As the learner knows it.
    planes : records (n,)
    scale : array (n,)
        Of each helper.
    share : float
        Of cruise at which knife-edge is flown.
    """

    airplane: Airplane
    planes: np.ndarray
    scale: np.ndarray
    share: float


class Shown(NamedTuple):
    """What each hidden airplane showed in a flight, first axis n, then side: drift rates (canopy, roll) [deg/s], sticks
    held (elevator, aileron), rudder share; NaN where the pass came to nothing."""

    rates: np.ndarray
    held: np.ndarray
    rudder: np.ndarray


def hire(
    airplane: Airplane, prior: Prior, n: int, *, seed: int, shift: float = 0.0, downwash: float = 0.0, scale: float = 1.0
) -> Crew:  # fmt: skip
    """Hidden airplanes that hold knife-edge.

    ``shift`` is more elevator needed on both sides than the learner's airplanes need in the mean, ``downwash`` the share
    by which their downwash lies about another slope than his, ``scale`` is what helpers' scales lie about.
    """
    drawn = airplane.drawn(3 * n, seed=seed)
    z = drawn.errors.copy()
    if shift:
        share = np.exp(prior.mean[5:7])
        z += prior.gain(NEEDS[:4]) @ np.array([shift * share[0], 0.0, shift * share[1], 0.0])
    z[:, airplane.errors.index("downwash")] += (
        downwash * (1.0 - float(airplane.plane["tail_alpha"])) / _DOWNWASH
    )
    planes = airplane._flying(airplane.apply(z))[0] if shift or downwash else drawn.planes
    steady = knife_edges(planes, prior.share * planes["cruise"])
    holds = steady.holds.all(axis=1) & (np.abs(steady.rudder) < 0.9).all(axis=1)
    f = scale * np.exp(0.336 * np.random.default_rng(seed).standard_normal(n))
    return Crew(airplane, planes[holds][:n], f[: int(holds.sum())], prior.share)


def flown(crew: Crew, ratios: np.ndarray, *, wind: float, number: int, passes: int = 1) -> Shown:
    """The mean of so many passes of each hidden airplane with its own ratios (n, 2, 2) to each side, free and held."""
    shown = [_pass(crew, ratios, wind=wind, number=number + 100 * k) for k in range(passes)]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # a side of which every pass came to nothing
        return Shown(*(np.nanmean(rows, axis=0) for rows in zip(*shown, strict=True)))


def _pass(crew: Crew, ratios: np.ndarray, *, wind: float, number: int) -> Shown:
    """Once to each side, free and held, each in gusts of its own."""
    n = len(crew.planes)
    rates, held, rudder = np.full((n, 2, 2), np.nan), np.full((n, 2, 2), np.nan), np.full((n, 2), np.nan)
    edge = load_maneuver("knife_edge").faster(crew.share)
    for s, side in enumerate(SIDES):
        for way in ("free", "held"):
            script = make_script(edge, side, way)
            air = {}
            if wind:
                seeds = 1 + np.arange(n) + n * (4 * number + 2 * s + (way == "held"))
                day = read_wind(f"{wind} m/s from ahead")
                airs, gusts = airs_of(crew.planes[0], [script], wind=day, seeds=seeds.tolist())
                air = {"airs": airs, "gusts": gusts}
            flights = fly_each(crew.planes, script, RATIOS[2 * s : 2 * s + 2], ratios[:, s][:, None], **air)
            seen = (flights.ends["status"] == 0) | (flights.ends["status"] == 1)
            if way == "free":
                errors = flights.errors[:, 0][:, :, [0, 2]]
                worst = np.take_along_axis(errors, np.abs(errors).argmax(axis=1)[:, None], axis=1)[:, 0]
                rates[seen, s] = np.degrees((errors[:, -1] if wind else worst)[seen]) / SECONDS
            else:
                sticks = flights.commands[:, 0].mean(axis=1)
                held[seen, s], rudder[seen, s] = sticks[seen][:, [1, 0]], np.abs(sticks[seen, 2])
    return Shown(rates, held, rudder)


def drift_in_calm(crew: Crew, ratios: np.ndarray) -> np.ndarray:
    """Worst of canopy and roll to either side, three seconds free in calm air [deg], array (n,); NaN if it never began."""
    return SECONDS * np.abs(flown(crew, ratios, wind=0.0, number=0).rates).max(axis=(1, 2))


def word(rate: float, f: float, dice: np.random.Generator) -> int:
    """Category a helper says."""
    seen = f * rate * (1.0 + 0.35 * dice.standard_normal())
    said = int(np.searchsorted(EDGES, seen)) - 1
    luck = dice.random()
    if luck < 2 * SLIP:
        said += 1 if luck < SLIP else -1
    elif luck < 2 * SLIP + ANY:
        said = int(dice.integers(11))
    return min(max(said, 0), 10)


def words_for(category: int, low: str, high: str) -> str:
    size = abs(category - 5)
    return WORDS[0] if size == 0 else f"{WORDS[size]} {high if category > 5 else low}"


def write_down(
    crew: Crew, i: int, ratios: np.ndarray, shown: Shown, said: np.ndarray, number: int,
    *, told_wind: float, sticks: bool, passes: int, dice: np.random.Generator,
) -> str:  # fmt: skip
    """A flight of one hidden airplane as YAML, without its head."""
    force = ", ".join(
        f"{name}: {abs(100 * k):.1f} % {(('down', 'up') if 'elevator' in name else ('left', 'right'))[int(k > 0)]}"
        for name, k in zip(RATIOS[:4], ratios[i].ravel(), strict=True)
        if k
    )
    lines = [
        f"  - flight: {number}",
        f"    wind: {told_wind} m/s",
        f"    blends: {'{' + force + '}' if force else 'none'}",
        "    passes:",
    ]
    for s, side in enumerate(SIDES):
        row = [f"maneuver: knife-edge, rudder: {side}, passes: {passes} of {passes}"]
        if np.isfinite(shown.rates[i, s]).all():
            row.append(
                f"pitch: {words_for(said[i, s, 0], 'to belly', 'to canopy')}, roll: {words_for(said[i, s, 1], 'left', 'right')}"
            )
        if sticks and np.isfinite(shown.held[i, s]).all():
            luck = dice.standard_normal(2), dice.standard_normal(2)
            read = shown.held[i, s] + (0.15 * shown.held[i, s] * luck[0] + 0.01 * luck[1]) / np.sqrt(passes)
            el, ail = np.round(200 * read) / 2
            share = round(100 * shown.rudder[i, s] * np.exp(0.15 * dice.standard_normal()))
            row.append(
                f"held_elevator: {abs(el)} % {'up' if el > 0 else 'down'}, held_aileron: {abs(ail)} % {'right' if ail > 0 else 'left'}"
            )
            row.append(f"rudder_share: {min(share, 100)} %")
        if len(row) > 1:
            lines.append(f"      - {{{', '.join(row)}}}")
    return "\n".join(lines) + "\n" if len(lines) > 4 else ""


class Study(NamedTuple):
    """Drifts in calm after each flight (flights + 1, n): learned, by hand; with exactly what each needs in steady flight (n,);
    how often a range held what it is to hold."""

    learned: np.ndarray
    by_hand: np.ndarray
    own: np.ndarray
    coverage: dict[int, float]
    flagged: float


def study(
    crew: Crew,
    prior: Prior,
    *,
    flights: int = 4,
    sticks: bool = True,
    wind: float = 2.0,
    told_wind: float = 2.0,
    passes: int = 1,
    seed: int = 0,
) -> Study:
    """Fly, note, learn, change, fly again."""
    n, dice = len(crew.planes), np.random.default_rng([seed, 5])
    truth = knife_edges(crew.planes, crew.share * crew.planes["cruise"])
    needed = np.stack((truth.ratios("elevator"), truth.ratios("aileron")), axis=2)
    texts = [f"sixdof_notes: 1\naircraft: {crew.airplane.airframe.name}\nflights:\n"] * n
    by_learning, by_hand, step = np.zeros((n, 2, 2)), np.zeros((n, 2, 2)), np.ones((n, 2, 2))
    last = np.zeros((n, 2, 2))
    learned, hand = [drift_in_calm(crew, by_learning)], [drift_in_calm(crew, by_hand)]
    inside: dict[int, list[np.ndarray]] = {80: [], 90: []}
    flags = []
    for number in range(1, flights + 1):
        shown = flown(crew, by_learning, wind=wind, number=number, passes=passes)
        said = np.array(
            [
                [[word(r, crew.scale[i], dice) if r == r else 5 for r in side] for side in shown.rates[i]]
                for i in range(n)
            ]
        )
        for i in range(n):
            texts[i] += write_down(
                crew,
                i,
                by_learning,
                shown,
                said,
                number,
                told_wind=told_wind,
                sticks=sticks,
                passes=passes,
                dice=dice,
            )
            if texts[i].endswith("flights:\n"):
                continue
            notes = notes_from(Path("twin.yaml"), texts[i].encode(), crew.airplane.airframe)
            found = learn(prior, [notes])
            flags.append(not found.steps[-1].believed)
            by_learning[i] = STEP * np.round(best_ratios(found.now.airplanes)[:4].reshape(2, 2) / STEP)
            for level, rows in inside.items():
                low, high = np.quantile(
                    found.now.airplanes.ratios[:, :4], [0.5 - level / 200, 0.5 + level / 200], axis=0
                )
                rows.append((needed[i].ravel() >= low) & (needed[i].ravel() <= high))
        learned.append(drift_in_calm(crew, by_learning))
        other = flown(crew, by_hand, wind=wind, number=number, passes=passes)
        for i, s, axis in np.ndindex(n, 2, 2):
            if np.isfinite(other.rates[i, s, axis]):
                category = word(other.rates[i, s, axis], crew.scale[i], dice) - 5
                way = np.sign(category)
                if way * last[i, s, axis] < 0:
                    step[i, s, axis] /= 2
                last[i, s, axis] = way or last[i, s, axis]
                by_hand[i, s, axis] -= (
                    way * step[i, s, axis] * BY_HAND[WORDS[abs(category)]] * (1.0, 1.0 / 3.0)[axis]
                )
        hand.append(drift_in_calm(crew, np.round(by_hand / STEP) * STEP))
    return Study(
        np.array(learned), np.array(hand), drift_in_calm(crew, needed), {level: float(np.mean(rows)) for level, rows in inside.items()}, float(np.mean(flags))
    )  # fmt: skip


def served(drifts: np.ndarray, below: float = 5.0) -> np.ndarray:
    """Share below so many degrees after each number of flights [%]; one that never begins is not."""
    return 100.0 * np.mean(np.nan_to_num(drifts, nan=99.0) < below, axis=1)

"""Airplanes with one fault that their file does not state, and what is diagnosed from their flights alone.

The faults are put in as errors of the table of errors where there is one, not as the diagnosis looks for them.
"""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
from flying import ideal_servos

from sixdof.flight.airplane import Airplane
from sixdof.flight.gusts import read_wind
from sixdof.flight.knife_edge import SIDES
from sixdof.flight.needs import NEEDS, needs
from sixdof.flight.pack import set_trims
from sixdof.learning.crowd import Prior, prior_of
from sixdof.learning.learn import learn
from sixdof.learning.notes import TESTS, notes_from
from sixdof.learning.readers import WAYS
from sixdof.learning.rigging import evidence_of_notes
from sixdof.study.ask import sequence_of
from sixdof.tuning.causes import step_of
from sixdof.tuning.diagnose import (
    Battery,
    Flown,
    Named,
    evidence_of,
    fly_all,
    likely_causes,
    name_causes,
    seen_by,
)
from sixdof.tuning.sequence import READ, READ_REST, READ_SHARE, Saw, read_saw, size_words

DEG = math.radians(1.0)


class Fault(NamedTuple):
    """A cause, its way, and how it is put in: an error or a change, so much of it [SI]."""

    name: str
    way: float
    error: str
    amount: float
    per: float = 1.0  # amount of a standard deviation


def faults(airplane: Airplane) -> dict[str, Fault]:
    """Thirteen of them, by what they are called; sizes are two usual steps or what a builder may well leave."""
    chord = airplane.derivatives.c
    step = {name: step_of(name, airplane) for name in ("cg", "cg-height", "tip-weight", "tailplane-height")}
    return {
        "CG forward": Fault("cg", -1, "CG fore and aft", 2.0 * step["cg"], 0.007 * chord),
        "CG aft": Fault("cg", 1, "CG fore and aft", -1.2 * step["cg"], 0.007 * chord),
        "CG low": Fault("cg-height", -1, "CG up and down", 2.0 * step["cg-height"], 0.015 * chord),
        "thrust line up": Fault("down-thrust", -1, "thrust line down", -DEG, 0.5 * DEG),
        "thrust line down": Fault("down-thrust", 1, "thrust line down", DEG, 0.5 * DEG),
        "thrust line left": Fault("right-thrust", -1, "thrust line to the right", -DEG, 0.5 * DEG),
        "thrust line right": Fault("right-thrust", 1, "thrust line to the right", DEG, 0.5 * DEG),
        "heavy right tip": Fault("tip-weight", 1, "", 2.0 * step["tip-weight"]),
        "twisted wing": Fault("twist", 1, "twist of the wing", 0.6 * DEG, 0.3 * DEG),
        "unequal elevator halves": Fault("elevator-halves", 1, "unequal elevator halves", DEG, 0.5 * DEG),
        "tail too high": Fault("tailplane-height", 1, "", 2.0 * step["tailplane-height"]),
        "too much dihedral": Fault("dihedral", 1, "", 1.5 * DEG),
        "wing incidence": Fault("wing-incidence", 1, "incidence of the wing as built", 0.5 * DEG, 0.3 * DEG),
    }  # fmt: skip


@cache
def airplane_of(demo: str) -> Airplane:
    return Airplane(demo)


@cache
def expected(demo: str) -> tuple[Flown, Battery]:
    """How the airplane of the file flies, with all that may be changed."""
    airplane = airplane_of(demo)
    files, _, _ = sequence_of(airplane)
    flown = fly_all(airplane, files)
    return flown, flown.battery


@cache
def plane_of(demo: str, fault: str, share: float = 1.0) -> np.ndarray:
    """The airplane with a fault, or a share of it, trimmed; its servos as they are."""
    airplane = airplane_of(demo)
    row = faults(airplane)[fault]
    if not row.error:
        return airplane.changed({row.name: share * row.amount}).planes
    z = airplane.believed.copy()
    z[airplane.errors.index(row.error)] += share * row.amount / row.per
    planes = airplane.apply(z[None])
    assert set_trims(planes, airplane.airframe.speeds.cruise).all()
    return planes


def saws(battery: Battery, seen: np.ndarray, *, words: bool, spread: np.ndarray | float = 0.0) -> list[Saw]:
    """What somebody would write down: numbers, or the words for their sizes; rates of roll are timed, trims read."""
    rows = []
    for tendency, value, more in zip(battery.asked, seen, np.broadcast_to(spread, seen.shape), strict=True):
        if not np.isfinite(value):
            continue
        rests = tendency.error == "rests"
        saw = Saw(tendency.name, float(value), READ_REST if rests else math.hypot(READ, READ_SHARE * value))
        if words and not rests and tendency.part != "throws":
            saw = read_saw(f"{tendency.name}={size_words(value)} {tendency.ways[bool(value < 0.0)]}")
        rows.append(saw if rests else saw._replace(sigma=math.hypot(saw.sigma, more)))
    return rows


def named(demo: str, fault: str, *, wind: str = "", passes: int = 1, words: bool = False) -> list[Named]:
    """Causes by the flights of an airplane with a fault; in gusts the mean of some passes."""
    flown, battery = expected(demo)
    airplane, plane = airplane_of(demo), plane_of(demo, fault)
    if not wind:
        return _named(airplane, flown, saws(battery, battery.fly(plane)[0], words=words))
    first = 1 + 100 * list(faults(airplane)).index(fault)
    seen = battery.fly(plane, wind=read_wind(wind), samples=range(first, first + passes))[0]
    spread = _spread(demo, wind) / math.sqrt(passes)
    return _named(airplane, flown, saws(battery, seen, words=words, spread=spread))


def _named(airplane: Airplane, flown: Flown, rows: list[Saw]) -> list[Named]:
    evidence = evidence_of(airplane, flown, rows, doubted=False)
    return name_causes(airplane, flown, evidence, seen_by(flown, rows)[0])[0]


@cache
def _spread(demo: str, wind: str) -> np.ndarray:
    """What gusts do to one pass, standard deviation over twenty others."""
    battery, planes = expected(demo)[1], ideal_servos(airplane_of(demo).planes)
    passes = [battery.fly(planes, wind=read_wind(wind), samples=[5000 + k])[0] for k in range(20)]
    return np.nanstd(passes, axis=0)


def written(demo: str, plane: np.ndarray, *, wind: str = "", first: int = 1) -> str:
    """A flight of notes of a hidden airplane: words for what is let go, sticks for what is held, degrees for what rests."""
    _, battery = expected(demo)
    air = {"wind": read_wind(wind), "samples": range(first, first + 2)} if wind else {}
    seen = dict(zip((t.name for t in battery.asked), battery.fly(plane, **air)[0].tolist(), strict=True))  # type: ignore[arg-type]
    need = dict(zip(NEEDS, needs(plane, prior_for(demo).share)[0].tolist(), strict=True))
    rows = [
        f"{{maneuver: knife-edge, rudder: {side}, held_elevator: {_way(100.0 * need[f'elevator.{side}'], 'up', 'down', '%')}, "
        f"held_aileron: {_way(100.0 * need[f'aileron.{side}'], 'right', 'left', '%')}, "
        f"rudder_share: {min(100.0 * math.exp(need[f'rudder.{side}']), 100.0):.0f} %}}"
        for side in SIDES
    ]
    rows.append(f"{{maneuver: dive, pitch: {_word(seen['dive'], 'pitch')}}}")
    rows.append(
        f"{{maneuver: inverted, held_elevator: {_way(100.0 * float(plane['inverted_elevator'][0]), 'up', 'down', '%')}}}"
    )
    for name, keys in TESTS.items():
        words = [
            f"{key}: {_word(seen[row.name], key)}"
            for key, row in keys.items()
            if np.isfinite(seen.get(row.name, np.nan))
        ]
        rows += [f"{{maneuver: {name}, {', '.join(words)}}}"] if words else []
    rests = "".join(
        f"    resting_{channel}: {_way(seen[f'resting {channel}'], *ways, 'deg')}\n"
        for channel, ways in (
            ("elevator", ("up", "down")),
            ("aileron", ("right", "left")),
            ("rudder", ("right", "left")),
        )
    )
    body = "".join(f"      - {row}\n" for row in rows)
    return f"aircraft: {demo}\nflights:\n  - flight: 1\n    wind: {'2 m/s' if wind else '0.1 m/s'}\n    blends: none\n{rests}    passes:\n{body}"


def _way(value: float, high: str, low: str, unit: str) -> str:
    return f"{abs(value):.1f} {unit} {high if value > 0.0 else low}"


def _word(rate: float, key: str) -> str:
    size = size_words(rate)
    return size if size == "nothing" else f"{size} {WAYS[key][int(rate > 0.0)]}"


@cache
def prior_for(demo: str) -> Prior:
    return prior_of(airplane_of(demo), airplanes=400)


def likely(demo: str, text: str) -> list[Named]:
    """What notes make likely to be off."""
    airplane, (flown, _) = airplane_of(demo), expected(demo)
    notes = notes_from(Path("noted.yaml"), text.encode(), airplane.airframe)
    learned = learn(prior_for(demo), [notes])
    assert learned.believed, text
    return likely_causes(airplane, flown, evidence_of_notes(airplane, flown, prior_for(demo), learned))


__all__ = ["Fault", "airplane_of", "expected", "faults", "likely", "named", "plane_of", "saws", "written"]

"""Airplanes with one fault that their file does not state, and what is diagnosed from their flights alone.

The faults are put in as errors of the table of errors where there is one, not as the diagnosis looks for them.
"""

from __future__ import annotations

import math
from functools import cache
from typing import NamedTuple

import numpy as np
from flying import ideal_servos

from sixdof.flight.airplane import Airplane
from sixdof.flight.gusts import read_wind
from sixdof.flight.pack import set_trims
from sixdof.study.ask import sequence_of
from sixdof.tuning.causes import step_of
from sixdof.tuning.diagnose import Battery, Flown, Named, fly_all, name_causes
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
        return name_causes(airplane, flown, saws(battery, battery.fly(plane)[0], words=words), doubted=False)[
            0
        ]
    first = 1 + 100 * list(faults(airplane)).index(fault)
    seen = battery.fly(plane, wind=read_wind(wind), samples=range(first, first + passes))[0]
    spread = _spread(demo, wind) / math.sqrt(passes)
    return name_causes(airplane, flown, saws(battery, seen, words=words, spread=spread), doubted=False)[0]


@cache
def _spread(demo: str, wind: str) -> np.ndarray:
    """What gusts do to one pass, standard deviation over twenty others."""
    battery, planes = expected(demo)[1], ideal_servos(airplane_of(demo).planes)
    passes = [battery.fly(planes, wind=read_wind(wind), samples=[5000 + k])[0] for k in range(20)]
    return np.nanstd(passes, axis=0)


__all__ = ["Fault", "airplane_of", "expected", "faults", "named", "plane_of", "saws"]

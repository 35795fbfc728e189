"""One ratio over a range: a maneuver flown at every setting, in one batch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sixdof.files.errors import InputError
from sixdof.flight.gusts import Wind
from sixdof.flight.script import load_maneuver, make_script, sides_of
from sixdof.tuning.bench import Bench
from sixdof.tuning.deviation import Drift, drift
from sixdof.tuning.unknowns import Unknown, activity, read_unknown

#: What a target is there to cure.
CURED = {"elevator": "canopy", "aileron": "roll", "rudder": "sideslip"}


@dataclass(frozen=True)
class Setting:
    """A maneuver at one setting.

    Attributes
    ----------
    amount : float
        The ratio, as a share.
    side, status : str
    scored : bool
    drift : Drift
    top_speed, height_used : float [m/s], [m]
    track : array (frames, N_TRACK)
    """

    amount: float
    side: str
    status: str
    scored: bool
    drift: Drift
    top_speed: float
    height_used: float
    track: np.ndarray


def read_range(text: str) -> tuple[Unknown, float, float]:
    """Read ``throttle-elevator.low=-6..2``: the ratio and its range as shares.

    Raises
    ------
    InputError
    """
    name, equals, span = text.partition("=")
    unknown = read_unknown(name.strip())
    low, dots, high = span.partition("..")
    try:
        first, last = float(low) / 100.0, float(high) / 100.0
    except ValueError:
        first = last = 0.0
    if not (equals and dots and first < last and max(abs(first), abs(last)) <= 1.0):
        raise InputError(f"{text!r}: a range in percent from low to high is wanted, as {name}=-6..2")
    return unknown, first, last


def explore(
    planes: np.ndarray, maneuver: str, unknown: Unknown, amounts: Sequence[float],
    *, wind: Wind | None = None, seed: int = 1,
) -> list[Setting]:  # fmt: skip
    """Fly a maneuver, sticks let go, with each amount of one ratio and no other blend, all in the same air.

    The drift told is that of the term the ratio's target can cure, see :data:`CURED`.

    Returns
    -------
    list of Setting
        By side, then amount; sides in which the ratio never acts are left out.
    """
    file = load_maneuver(maneuver)
    if unknown.blend not in file.tunes:
        fitting = ", ".join(file.tunes) or "none"
        raise InputError(f"{unknown.blend} says nothing about {maneuver}; the blends that do: {fitting}")
    scripts = [make_script(file, side, "free") for side in sides_of(file)]
    bench = Bench(planes, scripts, [unknown], wind=wind, seeds=[seed])
    flights = bench.fly(np.array(amounts)[:, None], keep_tracks=True)
    found = []
    for s, script in enumerate(scripts):
        if np.max(activity(unknown, flights.commands[s :: len(scripts), : len(script.measured)])) < 0.02:
            continue
        for k, amount in enumerate(amounts):
            i = k * len(scripts) + s
            end = flights.ends[i]
            found.append(
                Setting(
                    amount=float(amount),
                    side=script.side,
                    status=flights.status(i),
                    scored=bool(flights.finished[i]),
                    drift=drift(flights, i, script, only=CURED[unknown.target]),
                    top_speed=float(end["top_speed"]),
                    height_used=float(end["height_used"]),
                    track=flights.tracks[i].values,
                )
            )
    return found

"""One ratio over a range: a maneuver flown at every setting, in one batch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

import numpy as np
from pydantic import computed_field

from sixdof.files.errors import InputError
from sixdof.files.rows import Number, Row
from sixdof.flight.blends import Ratio, activity, read_ratio
from sixdof.flight.fly import Track
from sixdof.flight.gusts import Wind
from sixdof.flight.script import ManeuverFile, make_script, sides_of
from sixdof.tuning.bench import Bench
from sixdof.tuning.deviation import TERM_WORDS, drift

__all__ = ["Setting", "explore_ratio", "read_range"]

#: A ratio acts where its source comes out at least so far, share.
_ACTS = 0.02
#: Usual step of a radio's ratios, share.
_STEP = 0.005


class Setting(Row):
    """A maneuver at one setting of a ratio; the drift is the worst of the errors that tell of its blend [deg], [deg/s]."""

    percent: float
    side: str
    status: str
    scored: bool
    drift: Number
    rate: Number
    term: str
    top_speed_m_s: Number
    height_used_m: Number

    @computed_field  # type: ignore[prop-decorator]
    @property
    def words(self) -> str:
        """Which way it drifts."""
        return TERM_WORDS[self.term][self.drift > 0.0]


def read_range(text: str, count: int) -> tuple[Ratio, list[float]]:
    """Read ``throttle-elevator.low=-6..2``: the ratio, and so many amounts from end to end.

    They lie on the steps of a radio, half a percent, unless they are closer together.

    Raises
    ------
    InputError
    """
    name, equals, span = text.partition("=")
    ratio = read_ratio(name)
    low, dots, high = span.partition("..")
    try:
        first, last = float(low) / 100.0, float(high) / 100.0
    except ValueError:
        first = last = 0.0
    if not (equals and dots and first < last and max(abs(first), abs(last)) <= 1.0):
        raise InputError(f"got {text!r}, expected a range in percent from low to high, as {ratio.name}=-6..2")
    if not 2 <= count <= 201:
        raise InputError(f"--count: got {count}, expected 2 to 201 settings")
    amounts = np.linspace(first, last, count)
    if (last - first) / (count - 1) >= _STEP:
        amounts = np.unique(np.round(amounts / _STEP)) * _STEP
    return ratio, amounts.tolist()


def explore_ratio(
    planes: np.ndarray, maneuver: ManeuverFile, ratio: Ratio, amounts: Sequence[float],
    *, beside: Mapping[Ratio, float] = MappingProxyType({}), wind: Wind | None = None, seed: int = 1,
) -> tuple[list[Setting], list[Track]]:  # fmt: skip
    """Fly a maneuver, sticks let go, with each amount of one ratio and none beside it but those named, all in the same air.

    Parameters
    ----------
    planes : records (1,)
    maneuver : ManeuverFile
    ratio : Ratio
    amounts : sequence of float
        Shares.
    wind : Wind, optional
    seed : int
        Which sample of its gusts.

    Returns
    -------
    settings : list of Setting
        By side, then amount; sides in which the ratio never acts are left out.
    tracks : list of Track

    Raises
    ------
    InputError
        The maneuver says nothing about this blend, or the ratio acts nowhere in it.
    """
    if ratio.blend not in maneuver.tunes:
        fitting = ", ".join(maneuver.tunes) or "none"
        raise InputError(f"{maneuver.name} says nothing about {ratio.blend}; the blends it judges: {fitting}")
    scripts = [make_script(maneuver, side, "free") for side in sides_of(maneuver)]
    bench = Bench(planes, scripts, [ratio, *beside], wind=wind, seeds=[seed])
    flights = bench.fly(np.array([[a, *beside.values()] for a in amounts]), keep_tracks=True)
    settings, tracks = [], []
    for s, script in enumerate(scripts):
        if np.max(activity(ratio, flights.commands[s :: len(scripts), : len(script.measured)])) < _ACTS:
            continue
        for k, amount in enumerate(amounts):
            i = bench.flight(k, s)
            end, told = flights.ends[i], drift(flights, i, script, only=script.judged(ratio.blend))
            settings.append(
                Setting(
                    percent=100.0 * float(amount), side=script.side, status=flights.status(i),
                    scored=bool(flights.finished[i]), drift=told.degrees, rate=told.rate, term=told.term,
                    top_speed_m_s=float(end["top_speed"]), height_used_m=float(end["height_used"]),
                )
            )  # fmt: skip
            tracks.append(flights.tracks[i])
    if not settings:
        raise InputError(
            f"{ratio.name}: in {maneuver.name} the {ratio.source} never goes to that side while the sticks are let go, "
            "so no setting acts"
        )
    return settings, tracks

"""What the page flies: a maneuver bare and with the ratios of the sliders, or with a change, as its player takes it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any, NamedTuple

from sixdof.airframe.changes import change_words, read_changes
from sixdof.airframe.describe import full_throw
from sixdof.desk.said import Ask
from sixdof.files.errors import InputError, shown
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import Ratio, make_blends, read_ratio
from sixdof.flight.knife_edge import where_it_holds
from sixdof.flight.maneuver import KNIFE_EDGE, Phase
from sixdof.flight.mixing import stick_for
from sixdof.flight.script import ManeuverFile, load_maneuver
from sixdof.show.charts import drift_chart
from sixdof.show.chosen import names_in, said_of, shown_flights
from sixdof.show.flow import Share, Stream, flow_chart
from sixdof.show.flown import ShownFlight, measured_from
from sixdof.show.hull import Hull, loft_airframe
from sixdof.show.packed import packed
from sixdof.show.palette import BLENDED
from sixdof.show.stage import LEAD, set_stage
from sixdof.study.ask import fly
from sixdof.study.results import FlyResult

__all__ = ["asked_file", "replayed"]


def asked_file(airplane: Airplane, ask: Ask) -> ManeuverFile:
    """The maneuver as it is asked for; knife-edge at the speed where the airplane holds it.

    Raises
    ------
    InputError
        No such maneuver.
    """
    if "/" in ask.maneuver or "\\" in ask.maneuver or "." in ask.maneuver:
        raise InputError(f"no maneuver is called {shown(ask.maneuver)}")
    file = load_maneuver(ask.maneuver)
    share = _ready(airplane).share if file.part == KNIFE_EDGE else 1.0
    file = file.faster(ask.speed * share)
    if ask.rudder is None:
        return file
    stick = 100.0 * stick_for(ask.rudder, airplane.airframe.rates[airplane.rate].rudder.expo)
    phases = tuple(_with_rudder(p, f"{stick:g} %") if _keeps_rudder(p) else p for p in file.phases)
    return file.model_copy(update={"phases": phases})


class _Ready(NamedTuple):
    """What stays from flight to flight: its hull, and the share of cruise at which it holds knife-edge."""

    hull: Hull
    share: float


@lru_cache(maxsize=12)
def _ready(airplane: Airplane) -> _Ready:
    return _Ready(loft_airframe(airplane.airframe), where_it_holds(airplane.plane).share)


@lru_cache(maxsize=4)
def _bare(airplane: Airplane, ask: Ask, text: str) -> FlyResult:
    """The first flight: while the ratios alone are moved, and not the ``text`` of the maneuver, it stays the same."""
    return fly(airplane, asked_file(airplane, ask), blends=[], wind=ask.wind or None)


def _with_rudder(phase: Phase, stick: str) -> Phase:
    return phase.model_copy(update={"sticks": phase.sticks.model_copy(update={"rudder": stick})})


def _keeps_rudder(phase: Phase) -> bool:
    return phase.measured and phase.sticks.rudder == "keep"


def replayed(
    airplane: Airplane, ask: Ask, ratios: Mapping[str, float], changes: Sequence[str] = (), *, has: str = ""
) -> dict[str, Any]:
    """Stages of a maneuver to each side, a chart each, what it drifts in words, what the sticks add as a flow, and of which
    airplane all that is.

    Parameters
    ----------
    airplane : Airplane
    ask : Ask
    ratios : mapping of str to float
        "rudder-elevator.left" -> percent, of the second flight; without these and without changes there is none.
    changes : sequence of str
        Of the airframe, for the second flight: "cg=5 mm aft".
    has : str
        Which airplane's shape the page has already: it is left out then.

    Raises
    ------
    InputError
    """
    specs = make_blends(
        [read_ratio(name) for name in ratios], [0.01 * percent for percent in ratios.values()]
    )
    other = airplane.changed(read_changes(list(changes))) if changes else airplane
    file = asked_file(airplane, ask)
    flown = {"bare": _bare(airplane, ask, file.text)}
    if ratios or changes:
        flown["blended"] = fly(other, asked_file(other, ask), blends=specs, wind=ask.wind or None)
    tracks = {
        f"{key.removesuffix('.free')}.{kind}": track
        for kind, result in flown.items()
        for key, track in result.tracks.items()
    }
    words = _apart(airplane, other)
    hull, stages, charts = _ready(airplane).hull, [], []
    for name in names_in(tracks):
        flights = [f.since(measured_from(f.track) - LEAD) for f in shown_flights(tracks, [name], [file])]
        flights = [_changed(f, words) if words else f for f in flights]
        said = said_of(file.name, name.partition(".")[2], [file])
        if flights:
            stages.append(set_stage(airplane.airframe, flights, title=said, hull=hull))
            charts.append(drift_chart(flights, said))
    last = flown.get("blended", flown["bare"])
    which = f"{airplane.airframe.sha256[:12]} {airplane.airframe.changes}"
    return {
        "player": packed(stages) | ({"hull": []} if has == which else {}),
        "airplane": which,
        "charts": charts,
        "words": _words(flown, " and ".join(filter(None, (words, "these ratios" if ratios else "")))),
        "rudder": _rudder(load_maneuver(ask.maneuver), last),
        "flow": flow_chart(_streams(other, last, file.sides, ratios)) if ratios else "",
    }


def _apart(airplane: Airplane, other: Airplane) -> str:
    """What is changed of the other one, in words."""
    before = dict(airplane.airframe.changes)
    more = {name: amount - before.get(name, 0.0) for name, amount in other.airframe.changes}
    return ", ".join(change_words(name, amount) for name, amount in more.items() if amount)


def _changed(flight: ShownFlight, words: str) -> ShownFlight:
    """The second flight by what was changed."""
    return replace(flight, kind="other", label=words, color=BLENDED) if flight.kind == "blended" else flight


def _words(flown: Mapping[str, FlyResult], second: str) -> list[str]:
    told = [[_ends(row) for row in result.maneuvers] for result in flown.values()]
    said = [row.said for row in flown["bare"].maneuvers]
    if len(told) == 1:
        return [f"{name}: {bare} bare" for name, bare in zip(said, *told, strict=True)]
    return [
        f"{name}: {bare} bare, {other} with {second}" for name, bare, other in zip(said, *told, strict=True)
    ]


def _ends(row: Any) -> str:
    said = f"{abs(row.drift_before):.1f}° {row.words_before}"
    return said if row.status == "finished" else f"{said} ({row.status})"


def _rudder(file: ManeuverFile, flown: FlyResult) -> list[float]:
    """How far out the rudder was on each side [%], where it is one to choose."""
    chosen = file.sides == "rudder" and any(map(_keeps_rudder, file.phases))
    return [abs(phase.rudder) for phase in flown.phases] if chosen else []


def _streams(airplane: Airplane, flown: FlyResult, sides: str, ratios: Mapping[str, float]) -> list[Stream]:
    """Sticks with what they add; a rudder that holds a side, as it was while that was measured."""
    used = {phase.flight.partition(".")[2]: abs(phase.rudder) / 100.0 for phase in reversed(flown.phases)}
    streams: dict[str, tuple[Ratio, list[Share]]] = {}
    for name, percent in ratios.items():
        ratio, amount = read_ratio(name), 0.01 * percent
        throw = full_throw(airplane.airframe, airplane.rate, ratio.target, amount)
        streams.setdefault(ratio.words, (ratio, []))[1].append(Share(ratio.target, amount, throw))
    return [
        Stream(
            words,
            ratio.source,
            used[ratio.side] if (ratio.source, sides) == ("rudder", "rudder") else math.nan,
            shares,
        )
        for words, (ratio, shares) in streams.items()
    ]

"""A maneuver flown bare and with the ratios of the sliders, as the player of the page takes it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sixdof.files.errors import InputError, shown
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import make_blends, read_ratio
from sixdof.flight.script import ManeuverFile, load_maneuver
from sixdof.show.charts import drift_chart
from sixdof.show.chosen import names_in, said_of, shown_flights
from sixdof.show.flown import measured_from
from sixdof.show.hull import loft_airframe
from sixdof.show.packed import packed
from sixdof.show.stage import LEAD, set_stage
from sixdof.study.ask import fly

__all__ = ["replayed"]


def replayed(
    airplane: Airplane, maneuver: str, ratios: Mapping[str, float], *, speed: float = 1.0
) -> dict[str, Any]:
    """Stages of a maneuver to each side, a chart each, and what it drifts in words.

    Parameters
    ----------
    airplane : Airplane
    maneuver : str
        A name.
    ratios : mapping of str to float
        "rudder-elevator.left" -> percent.
    speed : float
        Share of the maneuver's own.

    Raises
    ------
    InputError
    """
    if "/" in maneuver or "\\" in maneuver or "." in maneuver:
        raise InputError(f"no maneuver is called {shown(maneuver)}")
    file: ManeuverFile = load_maneuver(maneuver)
    specs = make_blends(
        [read_ratio(name) for name in ratios], [0.01 * percent for percent in ratios.values()]
    )
    bare, blended = (fly(airplane, file, blends=blends, speed=speed) for blends in ([], specs))
    tracks = {
        f"{key.removesuffix('.free')}.{kind}": track
        for kind, flown in (("bare", bare), ("blended", blended))
        for key, track in flown.tracks.items()
    }
    hull, stages, charts = loft_airframe(airplane.airframe), [], []
    for name in names_in(tracks):
        flights = [f.since(measured_from(f.track) - LEAD) for f in shown_flights(tracks, [name], [file])]
        said = said_of(file.name, name.partition(".")[2], [file])
        if flights:
            stages.append(set_stage(airplane.airframe, flights, title=said, hull=hull))
            charts.append(drift_chart(flights, said))
    words = [
        f"{one.said}: {_ends(one)} bare, {_ends(other)} with these ratios"
        for one, other in zip(bare.maneuvers, blended.maneuvers, strict=True)
    ]
    return {"player": packed(stages), "charts": charts, "words": words}


def _ends(row: Any) -> str:
    said = f"{abs(row.drift_before):.1f}° {row.words_before}"
    return said if row.status == "finished" else f"{said} ({row.status})"

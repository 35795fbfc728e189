"""Flights of an answer or a run, as pictures take them: their labels, colors and ideal lines."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sixdof.flight.fly import Track
from sixdof.flight.script import ManeuverFile
from sixdof.show.flown import ShownFlight, straight_on
from sixdof.show.palette import shade

__all__ = ["file_of", "names_in", "path_counts", "said_of", "shown_flight", "shown_flights"]


def said_of(name: str, side: str, files: Sequence[ManeuverFile]) -> str:
    """``right-rudder knife-edge``."""
    file = file_of(name, files)
    return file.words(side) if file else name.replace("_", " ")


def file_of(name: str, files: Sequence[ManeuverFile]) -> ManeuverFile | None:
    return next((file for file in files if file.name == name), None)


def path_counts(name: str, files: Sequence[ManeuverFile]) -> bool:
    file = file_of(name, files)
    return file is None or file.path_counts


def shown_flights(
    tracks: dict[str, Track], names: list[str], files: Sequence[ManeuverFile]
) -> list[ShownFlight]:
    """Flights named "maneuver.side" out of the tracks of a run, bare before blended."""
    shown = []
    for name in names:
        mine = [(k, t.values) for k, t in tracks.items() if k.startswith(f"{name}.") and len(t.values) >= 2]
        settings = [float(kind) for key, _ in mine if (kind := key.split(".", 2)[2])[0] in "+-"]
        if len(mine) > 4:  # an exploration: its ends and its middle
            mine = [mine[0], mine[len(mine) // 2], mine[-1]]
        shown += [shown_flight(key, track, files, settings) for key, track in mine]
    return shown


def shown_flight(
    key: str, track: np.ndarray, files: Sequence[ManeuverFile], settings: Sequence[float]
) -> ShownFlight:
    """A flight by its key "maneuver.side.kind"; the kind of an exploration is one of its settings [%]."""
    maneuver, side, kind = key.split(".", 2)
    file = file_of(maneuver, files)
    label, color = said_of(maneuver, side, files), ""
    if kind[0] in "+-":
        label, low, high = f"{float(kind):+g} %".replace("+0 ", "0 "), min(settings), max(settings)
        color = shade((float(kind) - low) / (high - low) if high > low else 0.5)
    elif kind not in ("bare", "blended"):
        label = f"{label}, {kind}"
    nose = not path_counts(maneuver, files)
    return ShownFlight(
        label=label, track=track, kind=kind if kind in ("bare", "blended") else "other",  # type: ignore[arg-type]
        ideal=None if nose else straight_on(track), color=color, nose=nose,
        phases=tuple(phase.name for phase in file.phases) if file else (),
    )  # fmt: skip


def names_in(tracks: dict[str, Track]) -> list[str]:
    return list(dict.fromkeys(".".join(key.split(".")[:2]) for key in tracks))

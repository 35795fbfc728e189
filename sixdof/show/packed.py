"""A stage as JSON for the player of a page: numbers as binary float32, in base64."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from typing import Any

import numpy as np

from sixdof.flight.frame import TRACK_NAMES
from sixdof.show.cameras import PLAYED, Camera
from sixdof.show.flown import NOT_COUNTED, READOUTS, SURFACES, ShownFlight, phase_name
from sixdof.show.hull import Hull, paints
from sixdof.show.lines import Label, Line, Solid
from sixdof.show.loft import Mesh
from sixdof.show.palette import SKY
from sixdof.show.stage import Stage

__all__ = ["packed"]

#: Columns of a track that a page takes along.
COLUMNS = (
    "time", "north", "east", "down", "q0", "q1", "q2", "q3", *SURFACES, "speed",
    "toward_canopy", "toward_wing", "roll", "sideslip", "phase", "measured",
)  # fmt: skip
_AT = [TRACK_NAMES.index(name) for name in COLUMNS]


def packed(stages: Sequence[Stage]) -> dict[str, Any]:
    """Stages of one airplane as one JSON object."""
    return {
        "columns": COLUMNS,
        "views": PLAYED,
        "sky": SKY,
        "readouts": [readout._asdict() for readout in READOUTS],
        "not_counted": NOT_COUNTED,
        "length": stages[0].hull.length if stages else 0.0,
        "hull": _hull(stages[0].hull) if stages else [],
        "stages": [_stage(stage) for stage in stages],
    }


def _stage(stage: Stage) -> dict[str, Any]:
    return {
        "title": stage.title, "scale": stage.scale, "begin": stage.begin, "end": stage.end,
        "flights": [_flight(flight) for flight in stage.flights],
        "lines": [_line(line) for line in stage.lines],
        "solids": [_solid(solid) for solid in stage.solids],
        "labels": [_label(label) for label in stage.labels],
        "cameras": {view: _camera(stage.standpoint(view)) for view in PLAYED},
    }  # fmt: skip


def _flight(flight: ShownFlight) -> dict[str, Any]:
    last = int(np.max(flight.track[:, TRACK_NAMES.index("phase")]))
    return {
        "words": flight.words, "paints": paints(flight.color), "rows": _floats(flight.track[:, _AT]),
        "phases": [phase_name(flight, number) for number in range(last + 1)],
    }  # fmt: skip


def _hull(hull: Hull) -> list[dict[str, Any]]:
    return [
        {"name": name, "channel": part.channel, "hinge": part.hinge.tolist(), "axis": part.axis.tolist(), **_mesh(part.mesh)}
        for name, part in hull.parts.items()
    ]  # fmt: skip


def _mesh(mesh: Mesh) -> dict[str, str]:
    faces = np.ascontiguousarray(mesh.faces, "<u2")
    return {"points": _floats(mesh.points), "faces": _text(faces), "paint": _text(mesh.paint.astype("u1"))}


def _solid(solid: Solid) -> dict[str, Any]:
    return {"name": solid.name, "color": solid.color, **_mesh(solid.mesh)}


def _line(line: Line) -> dict[str, Any]:
    points = line.points
    form = {"ends": _floats(line.ends)} if points is None else {"points": _floats(points)}
    return {"name": line.name, "color": line.color, "radius": line.radius, **form}


def _label(label: Label) -> dict[str, Any]:
    return {"words": label.words, "at": label.at.tolist(), "color": label.color}


def _camera(camera: Camera) -> dict[str, Any]:
    return {
        "eye": camera.eye.tolist(), "at": camera.at.tolist(), "up": camera.up.tolist(), "angle": camera.angle,
        "tall": camera.tall, "follows": camera.follows,
    }  # fmt: skip


def _floats(values: np.ndarray) -> str:
    return _text(np.ascontiguousarray(values, "<f4"))


def _text(array: np.ndarray) -> str:
    return base64.b64encode(array.tobytes()).decode("ascii")

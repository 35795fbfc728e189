"""The stage: all that is to be seen of some flights, as numbers, colors and words; every picture is drawn from it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.show.cameras import Camera, View, beside, fit, standing, view_of
from sixdof.show.flown import (
    SURFACES,
    ShownFlight,
    column,
    measured_from,
    measured_rows,
    position,
    rotation,
    row_at,
    value,
    way_through_air,
)
from sixdof.show.ground import Field, scene_matrix, to_scene
from sixdof.show.hull import Hull, loft_airframe
from sixdof.show.lines import Label, Line, Solid, dashes, path
from sixdof.show.palette import INK, PALE_INK, tint
from sixdof.tuning.found import SEEN

__all__ = [
    "LEAD",
    "Stage",
    "drawn_scale",
    "ideal_lines",
    "nose_marks",
    "nose_words",
    "set_stage",
    "track_line",
]

LEAD = 2.0  # s shown ahead of the measured phase
_SCALES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30)
_SHARE = 1 / 11  # of the longest way shown that a drawn airplane spans
_AROUND = 0.9  # lengths as drawn, to each side of the airplane, that one who goes along sees
_RADIUS = 0.0010  # of a track, over the longest way shown
_ANOTHER = 0.03  # of its length, from the end of one ideal line to that of another
_NOSE_EVERY = 0.25  # s between two looks at the nose against the path
_NOSE_LENGTH = 0.16  # of those lines, over the longest way shown
_SHAPE = 16 / 9  # width over height for which views from one place are made


@dataclass(frozen=True)
class Stage:
    """Flights on their field.

    Attributes
    ----------
    title : str
    hull : Hull
        The airplane, in body axes.
    flights : tuple of ShownFlight
        At 25 rows a second.
    scale : int
        How many times its size the airplane is drawn.
    field : Field
    low, high : array (3,) [m]
        Corners of the box around what the flights are about: from a little ahead of their measured phase on.
    begin, end : float [s]
        Of that.
    lines, solids, labels
        All that does not move.
    """

    title: str
    hull: Hull
    flights: tuple[ShownFlight, ...]
    scale: int
    field: Field
    low: np.ndarray
    high: np.ndarray
    begin: float
    end: float
    lines: tuple[Line, ...]
    solids: tuple[Solid, ...]
    labels: tuple[Label, ...]

    def placements(self, number: int, time: float) -> dict[str, np.ndarray]:
        """Where every part of the airplane of a flight is at a time [s]: matrices (4, 4), body axes to scene axes."""
        row = row_at(self.flights[number].track, time)
        body, angles = scene_matrix(row, self.scale), angles_of(row)
        return {
            name: body @ part.turn(angles[part.channel]) if part.channel else body
            for name, part in self.hull.parts.items()
        }

    def middle(self, time: float) -> np.ndarray:
        """Middle of the airplanes at a time (3,), scene axes [m]."""
        return to_scene(np.mean([position(row_at(flight.track, time)) for flight in self.flights], axis=0))

    def standpoint(self, view: View) -> Camera:
        """The camera of a view as it stands before anything has moved."""
        if view == "caller":
            return standing(self.field.eyes, self.middle(self.begin))
        if view == "along":
            return beside(self.middle(self.begin), _AROUND * self.scale * self.hull.length)
        return view_of(view, self.low, self.high, _SHAPE)

    def camera(self, view: View, time: float) -> Camera:
        """The camera of a view at a time [s]."""
        return self.standpoint(view).following(self.middle(time))

    def field_camera(self, shape: float) -> Camera:
        """The whole field from where a bird would see it; ``shape`` is width over height."""
        return fit(*self.field.box, (-0.86, 0.42, -0.36), (0.0, 0.0, 1.0), shape=shape)


def drawn_scale(airframe: Airframe, length: float) -> int:
    """How many times its size to draw the airplane along a way of some length [m] to read its attitude."""
    return max((s for s in _SCALES if s <= _SHARE * length / airframe.wing.span), default=1)


def set_stage(
    airframe: Airframe,
    flights: Sequence[ShownFlight],
    *,
    title: str = "",
    lead: float | None = LEAD,
    hull: Hull | None = None,
) -> Stage:
    """Put flights on a stage.

    Parameters
    ----------
    airframe : Airframe
    flights : sequence of ShownFlight
    title : str
        Default: the airplane, and the labels of the flights.
    lead : float [s], optional
        How much counts as shown ahead of the first measured phase; None shows the whole flight.
    hull : Hull, optional
        That of the airframe, where it is at hand.

    Raises
    ------
    ValueError
        No flight.
    """
    if not flights:
        raise ValueError("got no flight, expected at least one")
    thin = tuple(flight.thinned() for flight in flights)
    begins = [f.start if lead is None else max(f.start, measured_from(f.track) - lead) for f in thin]
    shown = [f.track[column(f.track, "time") >= b - 1e-9] for f, b in zip(thin, begins, strict=True)]
    points = to_scene(np.concatenate([position(rows) for rows in shown]))
    low, high = points.min(axis=0), points.max(axis=0)
    length = float(np.max(high - low))
    scale, radius = drawn_scale(airframe, length), max(_RADIUS * length, 0.02)
    field = Field.under([flight.track for flight in thin], shown)
    lines = field.lines()
    for number, flight in enumerate(thin):
        lines += [track_line(flight, number, flight.track, radius), shadow(flight, number)]
    lines += ideal_lines(thin, radius)
    lines += nose_marks(thin, length)
    reach = 0.6 * scale * airframe.wing.span
    return Stage(
        title or f"{airframe.name}: {', '.join(dict.fromkeys(f.label for f in thin))}",
        hull or loft_airframe(airframe), thin, scale, field, low - reach, high + reach,
        min(begins), max(flight.end for flight in thin),
        tuple(lines), tuple(field.solids()), tuple(field.labels()),
    )  # fmt: skip


def angles_of(row: np.ndarray) -> dict[str, float]:
    """Angles of the movable surfaces [rad] of a row, by channel."""
    return {name: value(row, name) for name in SURFACES}


def track_line(flight: ShownFlight, number: int, rows: np.ndarray, radius: float) -> Line:
    """The way flown in some rows."""
    return Line(f"track-{number}", path(to_scene(position(rows))), flight.color, radius)


def shadow(flight: ShownFlight, number: int) -> Line:
    """The way flown as it lies on the ground."""
    points = to_scene(position(flight.track)) * (1.0, 1.0, 0.0) + (0.0, 0.0, 0.15)
    return Line(f"shadow-{number}", path(points), flight.color)


def ideal_lines(flights: Sequence[ShownFlight], radius: float) -> list[Line]:
    """The ideal lines, dashed, and how far off them a path ends that turns evenly by what people see at the end.

    A flight has a line of its own where it began another way than those before it.
    """
    drawn: list[Line] = []
    known: list[np.ndarray] = []
    for number, flight in enumerate(flights):
        if flight.ideal is None:
            continue
        line = to_scene(np.asarray(flight.ideal, float))
        length = float(np.linalg.norm(line[-1] - line[0]))
        near = _ANOTHER * length
        if length <= 0.0 or any(np.linalg.norm(line[-1] - other[-1]) < near for other in known):
            continue
        known.append(line)
        drawn.append(
            Line(f"ideal-{number}", dashes(line, 10.0 * radius), tint(flight.color, INK, 0.6), 0.6 * radius)
        )
        if np.max(column(flight.track, "measured")) <= 0:  # of several phases, errors count anew in each
            drawn.append(Line(f"tolerance-{number}", _tolerance(flight, line, length), PALE_INK))
    return drawn


def _tolerance(flight: ShownFlight, line: np.ndarray, length: float) -> np.ndarray:
    """Four edges of it, to canopy, belly and both wings, and the circle at its end."""
    ahead = (line[-1] - line[0]) / length
    wing = to_scene(rotation(measured_rows(flight.track)[0])[:, 1])
    across = wing - (wing @ ahead) * ahead
    across /= np.linalg.norm(across)
    upward = np.cross(across, ahead)
    s = np.linspace(0.0, length, 13)
    off = 0.5 * math.radians(SEEN) * s**2 / length
    edges = [
        path(line[0] + s[:, None] * ahead + off[:, None] * v) for v in (across, -across, upward, -upward)
    ]
    turns = np.linspace(0.0, 2.0 * np.pi, 37)[:, None]
    ring = path(line[-1] + off[-1] * (np.cos(turns) * across + np.sin(turns) * upward))
    return np.concatenate([*edges, ring])


def nose_marks(flights: Sequence[ShownFlight], length: float) -> list[Line]:
    """Where the nose points and where the airplane goes through the air, for flights in which that counts.

    Parameters
    ----------
    length : float [m]
        Of the longest way shown.
    """
    lines, reach = [], _NOSE_LENGTH * length
    for number, flight in enumerate(flights):
        if not flight.nose:
            continue
        rows = measured_rows(flight.track)
        times = column(rows, "time")
        picked = [row_at(flight.track, t) for t in np.arange(times[0], times[-1] + 1e-9, _NOSE_EVERY)]
        at = to_scene(np.array([position(row) for row in picked]))
        nose = to_scene(np.array([rotation(row)[:, 0] for row in picked]))
        goes = to_scene(np.array([way_through_air(row) for row in picked]))
        ways = [dashes(np.array([a, a + reach * g]), 0.05 * reach) for a, g in zip(at, goes, strict=True)]
        lines += [
            Line(f"nose-{number}", np.stack([at, at + reach * nose], axis=1), flight.color, 0.0012 * length),
            Line(f"goes-{number}", np.concatenate(ways), INK, 0.0008 * length),
        ]
    return lines


def nose_words(flight: ShownFlight) -> str:
    """``; nose up to 4.4° left of the path``, where that counts."""
    if not flight.nose:
        return ""
    slip = column(measured_rows(flight.track), "sideslip")
    most = float(slip[np.argmax(np.abs(slip))])
    return f"; nose up to {abs(math.degrees(most)):.1f}° {'left' if most > 0.0 else 'right'} of the path"

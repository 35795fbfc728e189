"""Lifting surfaces and body: what a flyer measures with a ruler.

The file gives distances from the datum - by convention the center line at the
propeller plane (the back plate of the spinner) - as ``aft``, ``up`` and
``right``; the models hold body axes relative to it: x forward, y right, z down.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Annotated, ClassVar

import numpy as np
from pydantic import AfterValidator, Field, model_validator

from sixdof.files.fields import (
    Aft,
    Angle,
    Distance,
    Length,
    Model,
    Point,
    Share,
    SignedShare,
    Size,
    SmallAngle,
    Up,
    ZeroLift,
    complaint,
)

__all__ = ["CAMBER_AT", "Body", "Fin", "Panel", "Section", "Station", "Surface", "Ventral", "body_at"]

CAMBER_AT = 0.4  # where a camber line is highest, share of the chord; common practice (four-digit sections)


class Section(Model):
    """Wing section: thickness and camber as shares of the chord.

    The file may give ``zero_lift``, the angle of attack without lift (negative for the usual
    cambered section), in place of ``camber``, which is then that of a four-digit mean line.
    """

    thickness: Share
    camber: SignedShare = 0.0
    zero_lift: ZeroLift | None = None

    @model_validator(mode="after")
    def _one_of_two(self) -> Section:
        if self.zero_lift is None:
            return self
        if "camber" in self.model_fields_set:
            raise complaint("camber and zero_lift say the same thing; keep one of them", "zero_lift")
        object.__setattr__(self, "camber", self.zero_lift / zero_lift_per_camber())
        return self


def zero_lift_per_camber() -> float:
    """Zero-lift angle [rad] of a four-digit mean line over its camber.

    Thin-airfoil theory (any textbook): -1/pi ∫ dz/dx (cos t - 1) dt over 0..pi, x = (1 - cos t)/2,
    with dz/dx = 2 (m - x)/m² ahead of the highest point m and 2 (m - x)/(1 - m)² behind it.
    """
    m = CAMBER_AT
    k = 1.0 - 2.0 * m

    def integral(t: float) -> float:  # of (cos t - k)(cos t - 1)
        return t / 2.0 + math.sin(2.0 * t) / 4.0 - (1.0 + k) * math.sin(t) + k * t

    ahead, whole = integral(math.acos(k)), integral(math.pi)
    return -(ahead / m**2 + (whole - ahead) / (1.0 - m) ** 2) / math.pi


class Panel(Model):
    """One panel of one side, from its root to its tip.

    ``sweep`` is the set-back of the tip's leading edge, positive aft; ``washout``
    is positive when the tip's leading edge is turned down.
    """

    span: Size
    root_chord: Size
    tip_chord: Size
    sweep: Length = 0.0
    dihedral: Angle = 0.0
    washout: SmallAngle = 0.0


class Surface(Model):
    """Wing or tailplane: panels of the right side, drawn through to the center line."""

    root: Point
    incidence: SmallAngle = 0.0
    section: Section
    panels: Annotated[tuple[Panel, ...], Field(min_length=1, max_length=20)]

    _sides: ClassVar[int] = 2
    _up: ClassVar[float] = 0.0  # which way the panels run: 0 to the side, 1 up, -1 down

    @model_validator(mode="after")
    def _on_the_center_line(self) -> Surface:
        if self.root[1] != 0.0:
            raise complaint(
                "the root lies off the center line; draw the panel through to it", "root", "right"
            )
        return self

    @property
    def area(self) -> float:
        """Area [m2] as seen from above, both sides; of a fin as seen from the side."""
        return self._sides * sum(_width(p) * (p.root_chord + p.tip_chord) / 2 for p in self.panels)

    @property
    def span(self) -> float:
        """Span [m], tip to tip; the height of a fin."""
        return self._sides * sum(_width(p) for p in self.panels)

    @property
    def mean_chord(self) -> float:
        """Mean aerodynamic chord [m], ∫ c² dy / ∫ c dy."""
        squares = sum(
            _width(p) * (p.root_chord**2 + p.root_chord * p.tip_chord + p.tip_chord**2) / 3
            for p in self.panels
        )
        return self._sides * squares / self.area

    @property
    def quarter_chord(self) -> tuple[float, float, float]:
        """Quarter point of the mean aerodynamic chord, on the center plane: body axes from the datum [m]."""
        back, down = -self.root[0], 0.0
        moment_x = moment_z = 0.0
        for p in self.panels:
            rise = self._up * _width(p) if self._up else p.span * math.sin(p.dihedral)
            moment_x += _moment(p, back + p.root_chord / 4, back + p.sweep + p.tip_chord / 4)
            moment_z += _moment(p, down, down - rise)
            back, down = back + p.sweep, down - rise
        half = self.area / self._sides
        return (-moment_x / half, 0.0, self.root[2] + moment_z / half)


class Fin(Surface):
    """Fin with rudder: the panels run up from the root."""

    _sides: ClassVar[int] = 1
    _up: ClassVar[float] = 1.0


class Ventral(Fin):
    """Fin below the body: the panels run down from the root."""

    _up: ClassVar[float] = -1.0


class Station(Model):
    """One cross-section of the body: where it is, its top, bottom and width."""

    x: Aft = Field(alias="aft")
    top: Up
    bottom: Up
    width: Distance

    @model_validator(mode="after")
    def _upright(self) -> Station:
        if self.top > self.bottom:
            raise complaint("the top lies below the bottom; both are heights above the datum", "top")
        return self


def _nose_to_tail(stations: tuple[Station, ...]) -> tuple[Station, ...]:
    for number, (ahead, behind) in enumerate(pairwise(stations), start=1):
        if behind.x >= ahead.x:
            raise complaint(
                "this station is not behind the one before; list them nose to tail", number, "aft"
            )
    return stations


Body = Annotated[tuple[Station, ...], Field(min_length=2, max_length=200), AfterValidator(_nose_to_tail)]


def body_at(body: Body, x: float | np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Top and bottom (z, down from the datum) and width of the body at x [m]; beyond its ends, those of the ends."""
    back = [-station.x for station in body]
    top, bottom, width = zip(*((s.top, s.bottom, s.width) for s in body), strict=True)
    return np.interp(-x, back, top), np.interp(-x, back, bottom), np.interp(-x, back, width)


def _width(panel: Panel) -> float:
    """Span of a panel seen from above [m]."""
    return panel.span * math.cos(panel.dihedral)


def _moment(panel: Panel, at_root: float, at_tip: float) -> float:
    """∫ c f dy over one side of a panel, chord c and f both linear from root to tip."""
    c1, c2 = panel.root_chord, panel.tip_chord
    return _width(panel) / 6 * (2 * c1 * at_root + c1 * at_tip + c2 * at_root + 2 * c2 * at_tip)

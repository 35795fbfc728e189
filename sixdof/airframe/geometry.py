"""Mass, lifting surfaces and body: what a flyer measures with scale and ruler.

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

from sixdof.airframe.fields import (
    Aft,
    Angle,
    Distance,
    Inertia,
    InertiaProduct,
    Length,
    Mass,
    Model,
    Point,
    Share,
    SignedShare,
    Size,
    Up,
    complaint,
)

__all__ = ["Body", "Fin", "MassProperties", "Panel", "Section", "Station", "Surface", "Ventral"]

_ROUNDING = 1e-9  # relative slack of the triangle rule: a flat plate lies exactly on it


class MassProperties(Model):
    """Ready to fly, batteries in, tank as flown; inertias about the CG in body axes.

    Products are Ixz = ∫ x z dm and alike, so the inertia tensor has -Ixz.
    """

    m: Mass = Field(alias="total")
    cg: Point
    Ixx: Inertia
    Iyy: Inertia
    Izz: Inertia
    Ixz: InertiaProduct = 0.0
    Ixy: InertiaProduct = 0.0
    Iyz: InertiaProduct = 0.0

    @model_validator(mode="after")
    def _possible(self) -> MassProperties:
        """No body has one moment of inertia above the sum of the others."""
        for name in ("Ixx", "Iyy", "Izz"):
            value = getattr(self, name)
            others = self.Ixx + self.Iyy + self.Izz - value
            if value > others * (1 + _ROUNDING):
                raise complaint(
                    f"{value:g} kg m2 is more than the other two together ({others:g} kg m2), "
                    "which no body can have; measure or swing again",
                    name,
                )
        tensor = np.array([
            [self.Ixx, -self.Ixy, -self.Ixz],
            [-self.Ixy, self.Iyy, -self.Iyz],
            [-self.Ixz, -self.Iyz, self.Izz],
        ])  # fmt: skip
        low, middle, high = np.linalg.eigvalsh(tensor)
        if low <= 0.0 or high > (low + middle) * (1 + _ROUNDING):
            raise complaint("the products Ixz, Ixy, Iyz are too large for these moments; make them smaller")
        return self


class Section(Model):
    """Wing section, as shares of the chord."""

    thickness: Share
    camber: SignedShare = 0.0


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
    washout: Angle = 0.0


class Surface(Model):
    """Wing or tailplane: panels of the right side, drawn through to the center line."""

    root: Point
    incidence: Angle = 0.0
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


def _width(panel: Panel) -> float:
    """Span of a panel seen from above [m]."""
    return panel.span * math.cos(panel.dihedral)


def _moment(panel: Panel, at_root: float, at_tip: float) -> float:
    """∫ c f dy over one side of a panel, chord c and f both linear from root to tip."""
    c1, c2 = panel.root_chord, panel.tip_chord
    return _width(panel) / 6 * (2 * c1 * at_root + c1 * at_tip + c2 * at_root + 2 * c2 * at_tip)

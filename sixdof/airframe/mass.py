"""Mass, balance and moments of inertia: what a flyer finds with scale, plumb line and stopwatch."""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import model_validator

from sixdof.files.fields import (
    INERTIA,
    InertiaProduct,
    Length,
    Mass,
    Measured,
    Model,
    Quantity,
    Size,
    Time,
    complaint,
    words,
)
from sixdof.physics.constants import G0

__all__ = ["MassForm", "MassProperties"]

_ROUNDING = 1e-9  # relative slack of the triangle rule: a flat plate lies exactly on it
_AXES = ("Ixx", "Iyy", "Izz")

InertiaSource = Literal["given", "swing", "usual"]
#: Relative standard deviation of a moment of inertia by where it is from.  A swing carries the air that
#: moves with the model: up to 25 % for small ones (Lehmkuehler, Wong & Verstraete, Aeronautical
#: Journal 2016, abstract), so it goes into the doubt and is not corrected.  The others are ours, no source.
INERTIA_SIGMA: dict[InertiaSource, float] = {"given": 0.05, "swing": 0.15, "usual": 0.3}


class MassProperties(Model):
    """Ready to fly, batteries in, tank as flown; inertias about the CG in body axes.

    Products are Ixz = ∫ x z dm and alike, so the inertia tensor has -Ixz.

    Attributes
    ----------
    m : float [kg]
    cg : tuple of float [m]
        Body axes from the datum.
    Ixx, Iyy, Izz, Ixz, Ixy, Iyz : float [kg m2]
    inertia_source : tuple of str
        Where Ixx, Iyy, Izz are from: "given", by a "swing" on two lines, or from the "usual" radii.
    """

    m: float
    cg: tuple[float, float, float]
    Ixx: float
    Iyy: float
    Izz: float
    Ixz: float = 0.0
    Ixy: float = 0.0
    Iyz: float = 0.0
    inertia_source: tuple[InertiaSource, InertiaSource, InertiaSource] = ("given", "given", "given")

    @property
    def inertia_sigma(self) -> tuple[float, float, float]:
        """Standard deviations of Ixx, Iyy, Izz as shares of them."""
        roll, pitch, yaw = self.inertia_source
        return (INERTIA_SIGMA[roll], INERTIA_SIGMA[pitch], INERTIA_SIGMA[yaw])

    @model_validator(mode="after")
    def _possible(self) -> MassProperties:
        self.check_possible()
        return self

    def check_possible(self) -> None:
        """Refuse a moment of inertia above the sum of the others, which no body has."""
        for name in _AXES:
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


class Swing(Model):
    """A swing about the upright axis, hung on two parallel lines at equal distances from the CG."""

    wires_apart: Size
    wire_length: Size
    ten_swings: Time

    def inertia(self, m: float) -> float:
        """I = m g d² T² / (16 π² L) [kg m2]: d between the wires, L their length, T one swing to and fro.

        Public notes on measuring with a bifilar pendulum; any mechanics textbook.
        """
        T = self.ten_swings / 10.0
        return m * G0 * self.wires_apart**2 * T**2 / (16.0 * math.pi**2 * self.wire_length)


Moment = Annotated[float | Swing, Measured(INERTIA, Swing, lambda swing: swing)]
Radius = Annotated[float, Quantity("share", least="5 %", most="100 %")]


class Radii(Model):
    """Radii of gyration: roll of the half span, pitch of the half length, yaw of the mean of both.

    The defaults are our guess for model airplanes; full-size ones with one propeller have
    .25/.38/.39 (Raymer, Aircraft Design, Table 16.1, second-hand), a sport model had .30 to .34 in
    roll (University of Minnesota parameter file, second-hand).
    """

    roll: Radius = 0.30
    pitch: Radius = 0.45
    yaw: Radius = 0.45

    def inertias(self, m: float, b: float, L: float) -> tuple[float, float, float]:
        """m (b R_x/2)², m (L R_y/2)², m ((b + L) R_z/4)² [kg m2]: b the span, L nose to tail [m]."""
        return (
            m * (b * self.roll / 2.0) ** 2,
            m * (L * self.pitch / 2.0) ** 2,
            m * ((b + L) * self.yaw / 4.0) ** 2,
        )


class Center(Model):
    """The CG as the file gives it: from balancing on two fingers, and ``up`` as far as known."""

    aft: Length
    up: Length | None = None
    right: Length = 0.0


class Hang(Model):
    """Hung freely by one point: where the plumb line below it crosses the center line."""

    aft: Length
    up: Length
    crosses: Length

    def height(self, aft: float) -> float:
        """Height [m] of the CG, which lies on the plumb line, at its known distance aft [m].

        The line from (aft, up) of the point to (crosses, 0) on the center line.
        """
        return self.up * (aft - self.crosses) / (self.aft - self.crosses)

    @model_validator(mode="after")
    def _tells_the_height(self) -> Hang:
        if abs(self.up) < 5e-3:
            raise complaint(
                "hung by a point on the center line, the plumb line crosses it right there and says "
                "nothing; hang it by a point above or below the center line", "up",
            )  # fmt: skip
        if abs(self.aft - self.crosses) < 20e-3:
            raise complaint(
                "the plumb line runs straight across the center line, which says nothing about the "
                "height; hang it by a point further ahead or aft of the CG", "crosses",
            )  # fmt: skip
        return self


class Balance(Model):
    """The weight on a wing that levels the model, held by its center line at nose and tail."""

    weight: Mass
    at: Size
    side: Annotated[Literal["left", "right"], words("left", "right")]

    def cg_right(self, m: float) -> float:
        """CG [m] to the right without that weight: opposite to it, m g y + w g at = 0."""
        y = -self.weight * self.at / m
        return y if self.side == "right" else -y


class MassForm(Model):
    """Scale, balance and swings as the file gives them."""

    total: Mass
    cg: Center
    hang: Hang | None = None
    balance: Balance | None = None
    Ixx: Moment | None = None
    Iyy: Moment | None = None
    Izz: Moment | None = None
    radii: Radii = Radii()
    Ixz: InertiaProduct = 0.0
    Ixy: InertiaProduct = 0.0
    Iyz: InertiaProduct = 0.0

    def to_mass(self, beside: dict[str, Any]) -> MassProperties:
        """Work out the CG and the inertias from the file, given span and length of the airplane."""
        wing, body = beside.get("wing"), beside.get("body")
        b = wing.span if wing else 1.0  # a refused wing stops the loading anyway
        L = body[0].x - body[-1].x if body else 1.0
        usual = self.radii.inertias(self.total, b, L)
        moments, sources = zip(*(self._moment(*pair) for pair in zip(_AXES, usual, strict=True)), strict=True)
        return MassProperties(
            m=self.total, cg=self._cg(), inertia_source=sources, Ixz=self.Ixz, Ixy=self.Ixy, Iyz=self.Iyz,
            **dict(zip(_AXES, moments, strict=True)),
        )  # fmt: skip

    def _moment(self, name: str, usual: float) -> tuple[float, InertiaSource]:
        given: float | Swing | None = getattr(self, name)
        if given is None:
            return usual, "usual"
        if isinstance(given, Swing):
            return given.inertia(self.total), "swing"
        return given, "given"

    def _cg(self) -> tuple[float, float, float]:
        """Body axes from the datum [m]."""
        up, right = self.cg.up, self.cg.right
        if self.hang is not None:
            if up is not None:
                raise complaint("cg.up and hang both give the height of the CG; keep one of them", "hang")
            up = self.hang.height(self.cg.aft)
        if up is None:
            raise complaint("this key is missing; add it, or the block hang of a hang test", "cg", "up")
        if self.balance is not None:
            if "right" in self.cg.model_fields_set:
                raise complaint(
                    "cg.right and balance both say which wing is heavy; keep one of them", "balance"
                )
            right = self.balance.cg_right(self.total)
        return (0.0 - self.cg.aft, right, 0.0 - up)

"""Servo arm, pushrod and horn as a plane linkage: how far a surface goes, and what the air asks of the servo.

All is seen along the hinge line with the pushrod, at neutral, as the x axis from the servo to the surface; arm
and horn stand up from their pivots to it.  A servo that pushes turns both the same way.
"""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import model_validator

from sixdof.files.fields import Length, Model, Quantity, Size, Torque, complaint, words

__all__ = ["Horn", "Linkage", "Linkages", "deflection", "gearing", "hinge_moment_slopes", "throws_of"]

ServoAngle = Annotated[float, Quantity("angle", above="0 deg", most="90 deg")]
Lean = Annotated[float, Quantity("angle", least="-60 deg", most="60 deg")]


class Horn(Model):
    """The hole of the horn from the hinge line: square to the pushrod and along it [m]; which side of the surface it is on."""

    high: Size
    aft: Length = 0.0


class _Upright(Horn):
    side: Annotated[Literal["top", "bottom"], words("top", "bottom")]


class _Sideways(Horn):
    side: Annotated[Literal["left", "right"], words("left", "right")]


class _UpDown(Model):
    up: ServoAngle
    down: ServoAngle


class _LeftRight(Model):
    left: ServoAngle
    right: ServoAngle


class _DownOnly(Model):
    down: ServoAngle


class Linkage(Model):
    """A servo's linkage to one surface [m, rad].

    Attributes
    ----------
    arm : float
        Servo shaft to the hole of the pushrod.
    lean : float
        Of the arm at neutral from square to the pushrod, + toward the surface.
    rod : float
        Pushrod from hole to hole.
    horn : Horn
    travel : model
        How far the servo turns at full stick by the way the surface goes.
    torque : float, optional [N m]
        At which the servo stalls.
    halves : int, optional
        Halves of the surface that the servo moves; left out, both of an elevator and one panel of all else.
    """

    arm: Size
    lean: Lean = 0.0
    rod: Size
    horn: Horn
    travel: Model
    torque: Torque | None = None
    halves: Literal[1, 2] | None = None

    @model_validator(mode="after")
    def _reaches(self) -> Linkage:
        for way, turn in self.turns.items():
            if math.isnan(deflection(self, turn)):
                raise complaint(
                    f"the linkage locks before the servo has turned {math.degrees(abs(turn)):.3g} deg; give it less travel, "
                    "a shorter arm or a longer horn, or measure again",
                    "travel", way,
                )  # fmt: skip
        return self

    @property
    def turns(self) -> dict[str, float]:
        """Way of the surface -> turn of the servo [rad], + pushes; a pull brings the surface to its horn's side."""
        pulled = {"top": "up", "bottom": "down"}.get(self.horn.side, self.horn.side)  # type: ignore[attr-defined]
        return {way: -turn if way == pulled else turn for way, turn in self.travel}


class UpDownLinkage(Linkage):
    """Of an elevator, or of each aileron."""

    horn: _Upright
    travel: _UpDown


class LeftRightLinkage(Linkage):
    """Of a rudder."""

    horn: _Sideways
    travel: _LeftRight


class DownLinkage(Linkage):
    """Of a flap; neutral is up."""

    horn: _Upright
    travel: _DownOnly


class Linkages(Model):
    """The linkages that were measured."""

    aileron: UpDownLinkage | None = None
    elevator: UpDownLinkage | None = None
    rudder: LeftRightLinkage | None = None
    flap: DownLinkage | None = None


def deflection(linkage: Linkage, turn: float) -> float:
    """Turn of the surface [rad] for a turn of the servo [rad], + both where the servo pushes; NaN where it locks.

    The hole P of the arm lies on a circle about the shaft, that of the horn, Q, on one about the hinge, and the
    pushrod keeps |PQ|: with D from the hinge to P, D . Q = (D^2 + R^2 - rod^2) / 2 (the law of cosines), on the
    side of D where Q is at neutral.
    """
    R, mu, D = _placed(linkage, turn)
    distance = math.hypot(*D)
    cosine = (distance**2 + R**2 - linkage.rod**2) / (2.0 * R * distance)
    if abs(cosine) >= 1.0:
        return math.nan
    psi = math.atan2(*D) + math.acos(cosine)  # from upright, like mu; D points to the servo, Q is further aft
    along = math.sin(psi) * R - D[0], math.cos(psi) * R - D[1]
    arm = linkage.lean + turn
    if along[0] * math.cos(arm) - along[1] * math.sin(arm) <= 0.0:  # the arm has come into line with the rod
        return math.nan
    return psi - mu


def gearing(linkage: Linkage, turn: float) -> float:
    """Degrees of the surface for each degree of the servo, at a turn of it [rad].

    The speeds of both holes along the pushrod are alike.
    """
    R, mu, D = _placed(linkage, turn)
    psi, arm = mu + deflection(linkage, turn), linkage.lean + turn
    x, y = math.sin(psi) * R - D[0], math.cos(psi) * R - D[1]
    return (
        linkage.arm * (x * math.cos(arm) - y * math.sin(arm)) / (R * (x * math.cos(psi) - y * math.sin(psi)))
    )


def _placed(linkage: Linkage, turn: float) -> tuple[float, float, tuple[float, float]]:
    """Length of the horn and its angle from upright, and D: from the hinge to the hole of the turned arm."""
    r, lean, horn = linkage.arm, linkage.lean, linkage.horn
    hole = r * (math.sin(lean + turn) - math.sin(lean)), r * (math.cos(lean + turn) - math.cos(lean))
    D = hole[0] - (linkage.rod - horn.aft), hole[1] + horn.high
    return math.hypot(horn.high, horn.aft), math.atan2(horn.aft, horn.high), D


def throws_of(linkage: Linkage) -> dict[str, float]:
    """How far the surface goes at full stick [rad], by the way it goes."""
    return {way: abs(deflection(linkage, turn)) for way, turn in linkage.turns.items()}


def hinge_moment_slopes(share: float) -> tuple[float, float]:
    """Hinge moment of a plain flap over q and its own chord squared, per rad of alpha and of its deflection.

    Thin-airfoil theory (Glauert; Houghton & Carpenter, Aerodynamics for Engineering Students, section 4.5.1,
    read): its load by alpha, 4 (1 + cos t)/sin t, and by deflection, integrated about the hinge at cos h = 2 F - 1.

    Parameters
    ----------
    share : float
        F, chord of the flap over that of the section.
    """
    h = math.acos(2.0 * share - 1.0)
    behind = math.pi - h
    alpha = behind * (math.cos(h) - 0.5) + math.sin(h) * (1.0 - 0.5 * math.cos(h))
    own = math.sin(h) * (behind * math.cos(h) + math.sin(h)) / (2.0 * math.pi)
    return -alpha / share**2, -(behind / math.pi * alpha + own) / share**2

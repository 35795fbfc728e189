"""Rates, servos and what is in the radio now: throws, expo, trims, frame, blends."""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from sixdof.airframe.blendfile import Blends
from sixdof.airframe.blends import amount
from sixdof.files.fields import (
    Delay,
    Frame,
    Model,
    ReadAs,
    Share,
    SignedShare,
    Slop,
    Throw,
    Turning,
    Word,
    complaint,
    words,
)
from sixdof.physics.channels import CHANNELS

__all__ = ["USUAL_SERVOS", "Output", "Radio", "Rate", "Rates", "Servo", "Servos"]


class UpDown(Model):
    """Throws of the elevator, or of each aileron panel."""

    up: Throw
    down: Throw
    expo: Share = 0.0


class LeftRight(Model):
    """Throws of the rudder."""

    left: Throw
    right: Throw
    expo: Share = 0.0


class DownOnly(Model):
    """Throw of the flap."""

    down: Throw


_NO_FLAP = DownOnly.model_construct(down=0.0)


class Rate(Model):
    """Full throws at one rate switch position [rad, positive], with expo as a share."""

    aileron: UpDown
    elevator: UpDown
    rudder: LeftRight
    flap: DownOnly = _NO_FLAP


Rates = Annotated[dict[Word, Rate], Field(min_length=1, max_length=20)]


class ServoForm(Model):
    """A servo as the file gives it: what is left out comes from ``all``."""

    rate: Turning | None = None
    lag: Delay | None = None
    step: Share | None = None
    slop: Slop | None = None


class Servo(Model):
    """A servo with its linkage, as seen at the surface.

    ``rate`` is the turning speed of the surface [rad/s], ``lag`` the time constant
    [s], ``step`` the smallest move as a share of full throw, ``slop`` the play [rad].
    """

    rate: float
    lag: float
    step: float
    slop: float


class Servos(Model):
    """One servo a channel."""

    aileron: Servo
    elevator: Servo
    rudder: Servo
    flap: Servo


#: Surfaces of a sport model with common servos; the flap slowed to 2 s.  Common practice, no source.
_USUAL = Servo(rate=math.radians(300.0), lag=0.02, step=0.002, slop=math.radians(0.06))
USUAL_SERVOS = Servos(
    aileron=_USUAL,
    elevator=_USUAL,
    rudder=_USUAL,
    flap=_USUAL.model_copy(update={"rate": math.radians(15.0)}),
)


class ServosForm(Model):
    """Servos as the file gives them: one for all, and what differs by channel."""

    all: ServoForm = ServoForm()
    aileron: ServoForm = ServoForm()
    elevator: ServoForm = ServoForm()
    rudder: ServoForm = ServoForm()
    flap: ServoForm = ServoForm()

    def to_servos(self) -> Servos:
        """Fill each channel from ``all``; lag, step and slop that nobody gives are 0."""
        return Servos(**{name: self._servo(name) for name in Servos.model_fields})

    def _servo(self, name: str) -> Servo:
        own: ServoForm = getattr(self, name)
        values: dict[str, Any] = {}
        for key in Servo.model_fields:
            given = [getattr(form, key) for form in (own, self.all) if getattr(form, key) is not None]
            if not given and key == "rate":
                raise complaint("this key is missing; give it here, or for every channel", "all", key)
            values[key] = given[0] if given else 0.0
        return Servo(**values)


class TrimsForm(Model):
    """Trims in words: "1 % up"."""

    aileron: Word = "0 %"
    elevator: Word = "0 %"
    rudder: Word = "0 %"

    def to_shares(self) -> dict[str, float]:
        """Shares of full throw, + right aileron, up elevator, right rudder."""
        shares = {}
        for channel in TrimsForm.model_fields:
            try:
                shares[channel] = amount(getattr(self, channel), channel)
            except ValueError as error:
                raise complaint(str(error), channel) from None
        return shares


def _no_trims() -> dict[str, float]:
    return TrimsForm().to_shares()


class Output(Model):
    """An output that is on or off by a stick: a glow driver, smoke, lights.

    On while ``source`` is below (or above) a share of its travel; off again only when it has come back by the
    ``hysteresis``, so that it does not flicker.
    """

    name: Word
    source: Annotated[str, words(*CHANNELS)]
    below: SignedShare | None = None
    above: SignedShare | None = None
    hysteresis: Share = 0.05

    @model_validator(mode="after")
    def _one_limit(self) -> Output:
        if (self.below is None) == (self.above is None):
            raise complaint('an output has one limit: below: "33 %" or above: "50 %"')
        return self

    @property
    def said(self) -> str:
        """``smoke: on while the throttle is above 50 %, off again 5 % below that``."""
        limit, way, back = (
            (self.above, "above", "below") if self.above is not None else (self.below, "below", "above")
        )
        return (
            f"{self.name}: on while the {self.source} is {way} {100.0 * float(limit or 0.0):.3g} %, off again "
            f"{100.0 * self.hysteresis:.3g} % {back} that"
        )


class Radio(Model):
    """What is in the radio now, and how its flyer measures."""

    frame: Frame = 0.02  # s, common practice, no source
    stick_mode: Literal[1, 2, 3, 4] = 2
    units: Annotated[Literal["metric", "inch"], words("metric", "inch")] = "metric"
    blends: Blends = ()
    outputs: Annotated[tuple[Output, ...], Field(max_length=20)] = ()
    trims: Annotated[dict[str, float], ReadAs(TrimsForm, TrimsForm.to_shares)] = Field(
        default_factory=_no_trims
    )

"""The aircraft file as one frozen model: SI, rad, body axes from the datum."""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from sixdof.airframe.derivatives import Reference, StatedDerivatives
from sixdof.airframe.geometry import Body, Fin, Surface, Ventral
from sixdof.airframe.linkage import Linkages
from sixdof.airframe.mass import MassForm, MassProperties
from sixdof.airframe.plausible import refuse_crossing
from sixdof.airframe.radio import USUAL_SERVOS, Radio, Rates, Servos, ServosForm
from sixdof.files.errors import InputError, KeyPath, key_text, line_of
from sixdof.files.fields import (
    SPEED,
    Choice,
    Distance,
    Force,
    Inertia,
    LoadFactor,
    Measured,
    Model,
    MoreThanWhole,
    Point,
    Power,
    ReadAs,
    ReadBeside,
    Share,
    Size,
    SmallAngle,
    Speed,
    Text,
    Throw,
    Time,
    Turning,
    Version,
    Word,
    complaint,
    words,
)

__all__ = [
    "Airframe",
    "AirframeFile",
    "Control",
    "Controls",
    "Limits",
    "Motor",
    "Propeller",
    "Speeds",
    "schema",
]

_FAR = 2.0  # spans of the wing from the datum to a root, at most; common practice, no source
_UPRIGHT = 0.5  # share of its panels' length that a wing spans, at least; common practice, no source
_RULER = 1.02  # slack of a span measured along a sweeping or tilted edge


class Control(Model):
    """A movable surface: mean chord behind the hinge, and from where to where it runs [m].

    Distances are from the center line; for the rudder from the root of the fin.  ``gap`` tells
    whether the hinge line is taped over, ``hinge`` the largest angle it allows either way [rad].
    """

    chord: Size
    inboard: Distance = 0.0
    outboard: Size
    gap: Annotated[Literal["sealed", "open"], words("sealed", "open")] = "sealed"
    hinge: Throw | None = None

    @model_validator(mode="after")
    def _outward(self) -> Control:
        if self.outboard <= self.inboard:
            raise complaint("the outboard end is not outside of the inboard end; swap them", "outboard")
        return self


class Controls(Model):
    """The movable surfaces."""

    aileron: Control
    elevator: Control
    rudder: Control
    flap: Control | None = None


class Propeller(Model):
    """Propeller; thrust-line angles turn the shaft's front end down and to the right.

    ``blade_chord`` is the widest chord of a blade, by ruler.
    """

    diameter: Size
    pitch: Size
    blades: Annotated[int, Field(strict=True, ge=1, le=12)]
    clockwise: Annotated[bool, Choice({"clockwise": True, "counterclockwise": False})] = Field(alias="turns")
    position: Point
    down_thrust: SmallAngle = 0.0
    right_thrust: SmallAngle = 0.0
    inertia: Inertia
    blade_chord: Size | None = None

    @model_validator(mode="after")
    def _slender(self) -> Propeller:
        most = 0.25 * self.diameter
        if self.blade_chord is not None and self.blade_chord > most:
            raise complaint(
                f"the blade is wider than a quarter of the diameter, {most * 1e3:.0f} mm; "
                "give the widest chord of one blade",
                "blade_chord",
            )
        return self


class Motor(Model):
    """Motor with its speed controller, or engine.

    ``no_load`` is the speed with the propeller unloaded over the static one,
    ``idle`` the share of the unloaded speed at closed throttle.
    """

    kind: Annotated[str, words("electric", "engine")]
    static_speed: Turning
    static_thrust: Force | None = None
    static_power: Power | None = None
    no_load: MoreThanWhole = 1.25  # common practice, no source
    idle: Share = 0.0
    brake: Annotated[bool, Field(strict=True)] = False


class Passes(Model):
    """A measured course flown level both ways, straight along the wind or in no wind."""

    distance: Size
    there: Time
    back: Time

    def airspeed(self) -> float:
        """Mean of the two ground speeds [m/s]: the wind along the course cancels."""
        return (self.distance / self.there + self.distance / self.back) / 2.0


TimedSpeed = Annotated[float, Measured(SPEED, Passes, Passes.airspeed)]


class Speeds(Model):
    """Airspeeds [m/s]: where it is trimmed, level at full throttle, where it stalls, and its limit.

    ``stall`` that is left out is None and left to be estimated; ``never_exceed`` is then filled in.
    """

    cruise: TimedSpeed
    full_throttle: TimedSpeed | None = None
    stall: Speed | None = None
    never_exceed: Speed = 0.0

    @model_validator(mode="after")
    def _ordered(self) -> Speeds:
        fastest = max(self.full_throttle or 0.0, 1.4 * self.cruise)
        if "never_exceed" not in self.model_fields_set:  # common practice, no source
            object.__setattr__(self, "never_exceed", 1.5 * fastest)
        if self.stall is not None and self.cruise <= self.stall:
            raise complaint("the cruise speed is below the stall speed; it must be faster", "cruise")
        if self.full_throttle is not None and self.full_throttle < self.cruise:
            raise complaint(
                "the full-throttle speed is below the cruise speed; time the passes again", "full_throttle"
            )
        if self.never_exceed <= self.cruise:
            raise complaint(
                "the never-exceed speed is below the cruise speed; it must be faster", "never_exceed"
            )
        return self


class Limits(Model):
    """Load factors the airframe is built for, both as positive numbers."""

    g_positive: LoadFactor
    g_negative: LoadFactor


#: What sport models are commonly built for; common practice, no source.
USUAL_LIMITS = Limits.model_construct(g_positive=6.0, g_negative=4.0)


class AirframeFile(Model):
    """What an aircraft file holds; lengths from the datum, by convention the propeller plane."""

    sixdof: Version
    name: Word
    about: Text = ""
    invented: Annotated[bool, Field(strict=True)] = False
    wing: Surface
    tailplane: Surface
    fin: Fin
    ventral: Ventral | None = None
    body: Body
    mass: Annotated[MassProperties, ReadBeside(MassForm, MassForm.to_mass)]  # after wing and body
    controls: Controls
    propeller: Propeller
    motor: Motor
    rates: Rates
    servos: Annotated[Servos, ReadAs(ServosForm, ServosForm.to_servos)] = USUAL_SERVOS
    linkage: Linkages = Linkages()
    speeds: Speeds
    limits: Limits = USUAL_LIMITS
    radio: Radio = Radio()
    derivatives: StatedDerivatives | None = None

    @model_validator(mode="after")
    def _fits_together(self) -> AirframeFile:
        self.check_fit()
        return self

    def check_fit(self) -> None:
        """Refuse parts that cannot belong to one airplane."""
        reach = 2.0 * sum(panel.span for panel in self.wing.panels)
        if self.wing.span < _UPRIGHT * reach:
            steepest = max(range(len(self.wing.panels)), key=lambda i: abs(self.wing.panels[i].dihedral))
            raise complaint(
                f"the wing spans {self.wing.span:.3g} m with panels {reach:.3g} m long; make the dihedral smaller",
                "wing", "panels", steepest, "dihedral",
            )  # fmt: skip
        for name in ("wing", "tailplane", "fin"):
            x, _, z = getattr(self, name).root
            for key, distance in (("aft", -x), ("up", -z)):
                if abs(distance) > _FAR * reach:
                    raise complaint(
                        f"{distance:.4g} m is more than {_FAR:g} spans of the wing from the datum; check it and its unit",
                        name, "root", key,
                    )  # fmt: skip
        for name in ("tailplane", "fin"):
            if getattr(self, name).quarter_chord[0] >= self.wing.quarter_chord[0]:
                raise complaint(
                    f"the {name} is not behind the wing; only tails behind the wing are supported", name
                )
        refuse_crossing(self.wing, self.tailplane)
        self._surfaces_fit()
        self._throws_fit()

    def _throws_fit(self) -> None:
        """Every rate moves the flap if there is one, and nothing further than its hinge allows."""
        for name, rate in self.rates.items():
            if self.controls.flap is not None and rate.flap.down == 0.0:
                raise complaint(
                    "this key is missing; the airplane has a flap, so give its throw", "rates", name, "flap"
                )
            for channel in ("aileron", "elevator", "rudder", "flap"):
                control: Control | None = getattr(self.controls, channel)
                if control is None or control.hinge is None:
                    continue
                for way, throw in getattr(rate, channel):
                    if way != "expo" and throw > control.hinge + 1e-9:
                        raise complaint(
                            f"{math.degrees(throw):.3g} deg is a throw larger than the hinge allows "
                            f"({math.degrees(control.hinge):.3g} deg); make it smaller, or free the hinge "
                            f"and correct controls.{channel}.hinge",
                            "rates", name, channel, way,
                        )  # fmt: skip

    def _surfaces_fit(self) -> None:
        """Each movable surface lies on the fixed one it belongs to."""
        homes = {"aileron": self.wing, "flap": self.wing, "elevator": self.tailplane, "rudder": self.fin}
        for name, home in homes.items():
            control: Control | None = getattr(self.controls, name)
            reach = sum(panel.span for panel in home.panels)
            if control and control.outboard > reach * _RULER:
                raise complaint(f"the surface ends outside its panel, which reaches {reach * 1e3:.0f} mm",
                                "controls", name, "outboard")  # fmt: skip
            if control and control.chord >= max(panel.root_chord for panel in home.panels):
                raise complaint("the surface is wider than the panel it hangs on", "controls", name, "chord")


class Airframe(AirframeFile):
    """An airplane that was loaded.

    Attributes
    ----------
    path : str
        The file it was loaded from.
    sha256 : str
        Hash of that file.
    text : str
        That file as it was read.
    warnings : tuple of str
        What its flyer should know before believing a flight.
    changes : tuple of (str, float)
        What was changed since, by name and amount in SI: :mod:`sixdof.airframe.changes`.
    as_filed : Airframe, optional
        The airplane before that.
    lines : dict
        Where each key stands in the file: key path -> line.
    """

    path: str = ""
    sha256: str = ""
    text: str = Field(default="", repr=False)
    warnings: tuple[str, ...] = ()
    changes: tuple[tuple[str, float], ...] = ()
    as_filed: Airframe | None = None
    lines: dict[KeyPath, int] = Field({}, repr=False)

    def blame(self, message: str, *key: str | int) -> InputError:
        """Make the complaint about what stands at a key, or belongs there, with the oddest thing that may be behind it."""
        if self.changes:
            said = ", ".join(f"{name} changed" for name, _ in self.changes)
            message = f"{message} ({said})"
        odd = [text for text in self.warnings if "is usual" in text and not text.startswith(key_text(key))]
        if odd:
            message = f"{message}; odd beside it: {odd[0]}"
        return InputError(message, file=self.path, line=line_of(key, self.lines), key=key)

    @property
    def default_rate(self) -> str:
        """Name of the first rate of the file."""
        return next(iter(self.rates))

    @property
    def reference(self) -> Reference:
        """What the coefficients refer to: as the file says, else area, span and mean chord of the wing.

        Its point is then the quarter point of that chord.  A change does not move it.
        """
        if self.as_filed is not None:
            return self.as_filed.reference
        if self.derivatives is not None and self.derivatives.reference is not None:
            return self.derivatives.reference
        wing = self.wing
        return Reference.model_construct(
            area=wing.area, span=wing.span, chord=wing.mean_chord, point=wing.quarter_chord
        )


def schema() -> dict[str, Any]:
    """JSON Schema of the aircraft file, for editors that complete YAML."""
    made = AirframeFile.model_json_schema()
    _drop_inner_defaults(made)
    return made


def _drop_inner_defaults(node: Any) -> None:
    """Take away defaults in SI from values that the file writes as text."""
    if isinstance(node, dict):
        if not isinstance(node.get("default", ""), str) and node.get("type") != "boolean":
            del node["default"]
        for child in node.values():
            _drop_inner_defaults(child)
    elif isinstance(node, list):
        for child in node:
            _drop_inner_defaults(child)

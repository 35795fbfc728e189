"""The aircraft file as one frozen model: SI, rad, body axes from the datum."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from sixdof.airframe.derivatives import Derivatives
from sixdof.airframe.fields import (
    Angle,
    Choice,
    Distance,
    Force,
    Inertia,
    LoadFactor,
    Model,
    MoreThanWhole,
    Point,
    Power,
    ReadAs,
    Share,
    Size,
    Speed,
    Text,
    Turning,
    Word,
    complaint,
    words,
)
from sixdof.airframe.geometry import Body, Fin, MassProperties, Surface, Ventral
from sixdof.airframe.radio import Radio, Rates, Servos, ServosForm

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

_RULER = 1.02  # slack of a span measured along a sweeping or tilted edge


class Control(Model):
    """A movable surface: mean chord behind the hinge, and from where to where it runs [m].

    Distances are from the center line; for the rudder from the root of the fin.
    """

    chord: Size
    inboard: Distance = 0.0
    outboard: Size

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
    down_thrust: Angle = 0.0
    right_thrust: Angle = 0.0
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
    no_load: MoreThanWhole
    idle: Share = 0.0
    brake: Annotated[bool, Field(strict=True)] = False


class Speeds(Model):
    """Airspeeds [m/s]: where it is trimmed, where it stalls, what it must not exceed."""

    cruise: Speed
    stall: Speed
    never_exceed: Speed

    @model_validator(mode="after")
    def _ordered(self) -> Speeds:
        if self.cruise <= self.stall:
            raise complaint("the cruise speed is below the stall speed; it must be faster", "cruise")
        if self.never_exceed <= self.cruise:
            raise complaint(
                "the never-exceed speed is below the cruise speed; it must be faster", "never_exceed"
            )
        return self


class Limits(Model):
    """Load factors the airframe is good for, both as positive numbers."""

    g_positive: LoadFactor
    g_negative: LoadFactor


class AirframeFile(Model):
    """What an aircraft file holds; lengths from the datum, by convention the propeller plane."""

    sixdof: Literal[1]
    name: Word
    about: Text = ""
    invented: Annotated[bool, Field(strict=True)] = False
    mass: MassProperties
    wing: Surface
    tailplane: Surface
    fin: Fin
    ventral: Ventral | None = None
    body: Body
    controls: Controls
    propeller: Propeller
    motor: Motor
    rates: Rates
    servos: Annotated[Servos, ReadAs(ServosForm, ServosForm.to_servos)]
    speeds: Speeds
    limits: Limits
    radio: Radio = Radio()
    derivatives: Derivatives | None = None

    @model_validator(mode="after")
    def _fits_together(self) -> AirframeFile:
        for name in ("tailplane", "fin"):
            if getattr(self, name).quarter_chord[0] >= self.wing.quarter_chord[0]:
                raise complaint(
                    f"the {name} is not behind the wing; only tails behind the wing are known", name
                )
        self._surfaces_fit()
        for name, rate in self.rates.items():
            if self.controls.flap is not None and rate.flap.down == 0.0:
                raise complaint(
                    "this key is missing; the airplane has a flap, so give its throw", "rates", name, "flap"
                )
        return self

    def _surfaces_fit(self) -> None:
        """Each movable surface lies on the fixed one it belongs to."""
        homes = {"aileron": self.wing, "flap": self.wing, "elevator": self.tailplane, "rudder": self.fin}
        for name, home in homes.items():
            control: Control | None = getattr(self.controls, name)
            reach = sum(panel.span for panel in home.panels)
            if control and control.outboard > reach * _RULER:
                raise complaint(f"the surface ends outside of its panel, which reaches {reach * 1e3:.0f} mm",
                                "controls", name, "outboard")  # fmt: skip
            if control and control.chord >= max(panel.root_chord for panel in home.panels):
                raise complaint("the surface is wider than the panel it hangs on", "controls", name, "chord")


class Airframe(AirframeFile):
    """An airplane that was loaded.

    Attributes
    ----------
    path : str
        The file it came from.
    sha256 : str
        Hash of that file.
    warnings : tuple of str
        What its flyer should know before believing a flight.
    """

    path: str = ""
    sha256: str = ""
    warnings: tuple[str, ...] = ()

    @property
    def default_rate(self) -> str:
        """Name of the first rate of the file."""
        return next(iter(self.rates))


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

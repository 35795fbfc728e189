"""The optional block of known derivatives, all or some, keyed by the table of terms.

Signs are those of ISO 1151: a positive deflection gives a negative moment about
its axis (elevator trailing edge down, rudder trailing edge left, right aileron
down).
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, create_model, model_validator

from sixdof.files.errors import shown
from sixdof.files.fields import (
    AnyAngle,
    Area,
    Length,
    Model,
    Number,
    Point,
    ReadAs,
    Size,
    Text,
    complaint,
    words,
)
from sixdof.physics.terms import SHAPE, TERMS

__all__ = ["Derivative", "Reference", "StatedDerivatives"]

#: signs that hold for any airplane with its tail behind the wing: term -> (sign, why)
_SIGNS: dict[str, tuple[int, str]] = {
    "CLde": (+1, "elevator down lifts the tail"),
    "Cmde": (-1, "elevator down pushes the nose down"),
    "Clda": (-1, "the positive aileron, right one down, rolls to the left"),
    "CYdr": (+1, "rudder to the left pushes the tail to the right"),
    "Cndr": (-1, "rudder to the left yaws to the left"),
    "Clp": (-1, "roll is damped"),
    "Cmq": (-1, "pitch is damped"),
    "Cnr": (-1, "yaw is damped"),
    "CLa": (+1, "more angle of attack gives more lift"),
}


class Derivative(Model):
    """A value, its standard deviation and where they come from; per rad, or SI for shapes."""

    value: Number
    sigma: Number | None = None
    source: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def _bare(cls, data: Any) -> Any:
        return data if isinstance(data, (dict, Derivative)) else {"value": data}

    @model_validator(mode="after")
    def _doubt(self) -> Derivative:
        if self.sigma is not None and self.sigma < 0.0:
            raise complaint(f"got {self.sigma}, expected a standard deviation of 0 or more", "sigma")
        return self

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: Any, handler: Any) -> Any:
        block = handler(schema)
        value = handler.resolve_ref_schema(block)["properties"]["value"]
        return {"anyOf": [{k: v for k, v in value.items() if k != "title"}, block]}


class _AngleValue(Derivative):
    value: AnyAngle
    sigma: AnyAngle | None = None


class _LengthValue(Derivative):
    value: Length
    sigma: Length | None = None


def _kind(name: str) -> type[Derivative]:
    meaning = SHAPE.get(name, (0.0, ""))[1]
    if "[rad]" in meaning:
        return _AngleValue
    return _LengthValue if "[m]" in meaning else Derivative


_FIELDS: dict[str, Any] = {name: (_kind(name) | None, None) for name in (*(t.name for t in TERMS), *SHAPE)}
ValuesForm = create_model("ValuesForm", __base__=Model, **_FIELDS)


def _given(form: Any) -> dict[str, Derivative]:
    return {name: getattr(form, name) for name in _FIELDS if getattr(form, name) is not None}


class Reference(Model):
    """What the coefficients refer to: area [m2], span [m], chord [m], moment point [m]."""

    area: Area
    span: Size
    chord: Size
    point: Point


class StatedDerivatives(Model):
    """Known derivatives of the airplane, about the reference point.

    Attributes
    ----------
    source : str
        Source of the values that do not name their own.
    reference : Reference or None
        None: that of the airframe itself, `Airframe.reference`.
    complete : bool
        Whether a term that is not listed is zero; else it is left to be estimated.
    power : {"off", "cruise"}
        The propeller's power setting when the values were taken.
    values : dict
        Name of a term -> Derivative.
    """

    source: Text
    reference: Reference | None = None
    complete: Annotated[bool, Field(strict=True)] = False
    power: Annotated[Literal["off", "cruise"], words("off", "cruise")] = "off"
    values: Annotated[dict[str, Derivative], ReadAs(ValuesForm, _given)]

    @model_validator(mode="after")
    def _signs(self) -> StatedDerivatives:
        rudder = self.number("Cndr") * self.number("CYdr")
        if rudder > 0.0:
            raise complaint(
                "Cndr and CYdr have the same sign, but a fin behind the CG has Cndr * CYdr < 0; check the "
                "sign convention of the set (positive rudder is trailing edge left: CYdr > 0, Cndr < 0)",
                "values", "Cndr",
            )  # fmt: skip
        for name, (sign, why) in _SIGNS.items():
            signed = self.number(name) * sign
            if name in self.values and (signed < 0.0 or (name == "CLa" and signed == 0.0)):
                expected = "more than 0" if name == "CLa" else "0 or more" if sign > 0 else "0 or less"
                raise complaint(
                    f"got {shown(str(self.number(name)))}, expected {expected}: {why}", "values", name
                )
        return self

    def number(self, name: str) -> float:
        """Value of a term; 0 when the file does not give it."""
        return self.values[name].value if name in self.values else 0.0

    def pitch_stiffness_at(self, point: tuple[float, float, float]) -> float | None:
        """Cma about another point, such as the CG; None when the file does not give enough.

        The lift acts at the reference point along -z; about a point dx further forward it adds
        the moment -dx * lift (x forward in both).
        """
        if self.reference is None or not {"CLa", "Cma"} <= set(self.values):
            return None
        ahead = point[0] - self.reference.point[0]
        return self.number("Cma") - self.number("CLa") * ahead / self.reference.chord

"""Building blocks of the file models: values with units, points, words, complaints.

A model field has the type it has once loaded (SI, rad, body axes); its
annotation says how the file writes it and carries the JSON Schema of that
form.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, GetCoreSchemaHandler, model_validator
from pydantic_core import PydanticCustomError, core_schema

from sixdof.files.errors import KeyPath, nearest, shown
from sixdof.files.units import UNITS, read_quantity

__all__ = ["Measured", "Model", "Quantity", "ReadAs", "ReadBeside", "complaint"]

MOST_THROW = "60 deg"  # beyond it a hinged surface is a brake; common practice, no source


def complaint(message: str, *key: str | int) -> PydanticCustomError:
    """Make an error about the value at `key` below the model (or value) being checked."""
    return PydanticCustomError("complaint", "{message}", {"message": message, "key": key})


class Model(BaseModel):
    """Base of every model: frozen, and unknown keys are refused with the nearest known one."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    @model_validator(mode="before")
    @classmethod
    def _known_keys(cls, data: Any) -> Any:
        if isinstance(data, cls):
            return data
        known = [info.alias or name for name, info in cls.model_fields.items()]
        if not isinstance(data, dict):
            raise complaint(f"got {shown(data)}, expected a block of keys: {', '.join(known)}")
        for key in data:
            if key in known:
                continue
            if re.match(r"[0-9]", str(key)):
                raise complaint("got a number as a key; a decimal comma? write a point: 0.31 m", key)
            raise complaint(f"unknown key; {nearest(str(key), known)}", key)
        return data


@dataclass(frozen=True)
class Quantity:
    """Annotation of a float that the file writes as text with a unit.

    Parameters
    ----------
    kind : str
        A key of `sixdof.files.units.UNITS`.
    sign : float
        What one unit in the file counts inside: -1 for "aft" and "up" in body axes.
    above, least, most : str, optional
        Limits, written as the file would.
    """

    kind: str
    sign: float = 1.0
    above: str = ""
    least: str = ""
    most: str = ""

    def read(self, value: Any) -> float:
        """Turn what the file gives into SI and rad."""
        si = read_quantity(value, self.kind)
        if self.above and si <= read_quantity(self.above, self.kind):
            raise ValueError(f"got {shown(value)}, expected more than {self.above}")
        if self.least and si < read_quantity(self.least, self.kind):
            raise ValueError(f"got {shown(value)}, expected at least {self.least}")
        if self.most and si > read_quantity(self.most, self.kind):
            raise ValueError(f"got {shown(value)}, expected at most {self.most}")
        return self.sign * si + 0.0  # no negative zero

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> Any:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        units = list(UNITS[self.kind])
        return {
            "type": "string",
            "description": f"{self.kind} with its unit: {', '.join(units)}",
            "examples": [f"1.5 {units[0]}"],
        }


@dataclass(frozen=True)
class ReadAs:
    """Annotation of a value that the file writes in the form of `form`.

    Errors keep the place of the key inside that form, and the JSON Schema is its schema.
    """

    form: Any
    convert: Callable[[Any], Any]

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> Any:
        return core_schema.no_info_after_validator_function(
            self.convert,
            handler.generate_schema(self.form),
            serialization=core_schema.plain_serializer_function_ser_schema(lambda value: value),
        )


@dataclass(frozen=True)
class ReadBeside:
    """As `ReadAs`, for a value that needs the ones above it in the same block.

    `convert` also gets those, by name; one that was refused is not among them.
    """

    form: Any
    convert: Callable[[Any, dict[str, Any]], Any]

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> Any:
        return core_schema.with_info_after_validator_function(
            lambda form, info: self.convert(form, info.data),
            handler.generate_schema(self.form),
            serialization=core_schema.plain_serializer_function_ser_schema(lambda value: value),
        )


@dataclass(frozen=True)
class Measured:
    """Annotation of a value that the file writes as a text with its unit, or as what was measured.

    Parameters
    ----------
    quantity : Quantity
        Reads the text.
    form : type
        Model of the block of measurements.
    convert : callable
        Makes the value of that model.
    """

    quantity: Quantity
    form: Any
    convert: Callable[[Any], Any]

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> Any:
        return core_schema.no_info_wrap_validator_function(self._read, handler.generate_schema(self.form))

    def _read(self, value: Any, read_form: Callable[[Any], Any]) -> Any:
        return self.convert(read_form(value)) if isinstance(value, dict) else self.quantity.read(value)

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        return {"anyOf": [self.quantity.__get_pydantic_json_schema__(None, None), handler(schema)]}


# Limits far outside of any model airplane: they keep the arithmetic of a nonsense file finite.
Length = Annotated[float, Quantity("length", least="-1000 m", most="1000 m")]
Distance = Annotated[float, Quantity("length", least="0 mm", most="1000 m")]
Size = Annotated[float, Quantity("length", least="0.01 mm", most="1000 m")]
Aft = Annotated[float, Quantity("length", sign=-1.0, least="-1000 m", most="1000 m")]
Up = Annotated[float, Quantity("length", sign=-1.0, least="-1000 m", most="1000 m")]
Area = Annotated[float, Quantity("area", above="0 m2", most="100000 m2")]
Mass = Annotated[float, Quantity("mass", above="0 kg", most="100000 kg")]
INERTIA = Quantity("moment of inertia", above="0 kg m2", most="1000000 kg m2")
Inertia = Annotated[float, INERTIA]
InertiaProduct = Annotated[float, Quantity("moment of inertia", least="-1000000 kg m2", most="1000000 kg m2")]
Angle = Annotated[float, Quantity("angle", least="-90 deg", most="90 deg")]
#: Of a surface or a shaft to the center line, as a builder sets it.
SmallAngle = Annotated[float, Quantity("angle", least="-30 deg", most="30 deg")]
ZeroLift = Annotated[float, Quantity("angle", least="-15 deg", most="15 deg")]
Throw = Annotated[float, Quantity("angle", above="0 deg", most=MOST_THROW)]
Slop = Annotated[float, Quantity("angle", least="0 deg", most="10 deg")]
AnyAngle = Annotated[float, Quantity("angle")]
SPEED = Quantity("speed", above="0 m/s", least="0.01 m/s", most="1000 m/s")
Speed = Annotated[float, SPEED]
Time = Annotated[float, Quantity("time", least="1 ms", most="1000 s")]
Turning = Annotated[float, Quantity("turning speed", above="0 deg/s", least="0.01 deg/s", most="1000000 rpm")]
Delay = Annotated[float, Quantity("time", least="0 s", most="5 s")]
Frame = Annotated[float, Quantity("time", least="1 ms", most="100 ms")]
Force = Annotated[float, Quantity("force", above="0 N", least="0.0001 N", most="1000000 N")]
Power = Annotated[float, Quantity("power", above="0 W", least="0.0001 W", most="1000000 kW")]
Torque = Annotated[float, Quantity("torque", above="0 N m", most="10000 N m")]
Share = Annotated[float, Quantity("share", least="0 %", most="100 %")]
SignedShare = Annotated[float, Quantity("share", least="-100 %", most="100 %")]
MoreThanWhole = Annotated[float, Quantity("share", above="100 %", most="300 %")]
LoadFactor = Annotated[float, Quantity("load factor", above="0 g", most="100 g")]
Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
_ONE_LINE = r"^[^\x00-\x1f\x7f-\x9f\u2028\u2029]+$"
Word = Annotated[str, Field(strict=True, min_length=1, max_length=80, pattern=_ONE_LINE)]
Text = Annotated[str, Field(strict=True, max_length=2000)]


def _no_boolean(value: Any) -> Any:
    if isinstance(value, bool):
        raise ValueError(f"got {value}, expected 1")
    return value


#: Version of a file's format; in Python, true equals 1.
Version = Annotated[Literal[1], BeforeValidator(_no_boolean)]


class PointForm(Model):
    """A point as the file gives it: distances from the datum."""

    aft: Length
    up: Length
    right: Length = 0.0

    def to_body(self) -> tuple[float, float, float]:
        """Body axes (x forward, y right, z down) relative to the datum [m]."""
        return (0.0 - self.aft, self.right, 0.0 - self.up)


Point = Annotated[tuple[float, float, float], ReadAs(PointForm, PointForm.to_body)]


class Choice:
    """Annotation of a value that the file writes as one of a few words."""

    def __init__(self, words: Mapping[str, Any]) -> None:
        self.words = words

    def read(self, word: Any) -> Any:
        if isinstance(word, str) and word in self.words:
            return self.words[word]
        raise ValueError(f"got {shown(word)}; {nearest(str(word), list(self.words))}")

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> Any:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        return {"enum": list(self.words)}


def words(*names: str) -> Choice:
    """Make the annotation of a word out of `names`."""
    return Choice({name: name for name in names})


def key_of(error: Mapping[str, Any]) -> KeyPath:
    """Key path of one pydantic error, with the keys a complaint adds."""
    own = error.get("ctx", {}).get("key", ()) if error["type"] == "complaint" else ()
    return (*error["loc"], *own)

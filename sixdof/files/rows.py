"""What results are made of: frozen rows that are written as JSON and read back, and remarks."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated, Any, Literal, Self, get_args

from pydantic import BaseModel, BeforeValidator, ConfigDict, model_validator

__all__ = ["KINDS", "Kind", "Number", "Remark", "Row", "clean"]

#: A number that may be unknown: NaN inside, null in JSON.
Number = Annotated[float, BeforeValidator(lambda value: math.nan if value is None else value)]


class Row(BaseModel):
    """A row of a result: frozen, no other keys than its own; what is worked out from the others is worked out anew.

    Its numbers hold the six digits that are written, so that a row read back is the row, and says the same: 0.525 is not
    0.52 where it was found and 0.53 where it is read.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    @model_validator(mode="before")
    @classmethod
    def _as_written(cls, data: Any) -> Any:
        if not isinstance(data, dict):
            return data
        return {
            key: _six_digits(value) for key, value in data.items() if key not in cls.model_computed_fields
        }

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """A copy with some fields of another value, they too as they are written."""
        return super().model_copy(update=_six_digits(dict(update or {})), deep=deep)


#: What a remark is about; decides where it is shown, the weightiest first.
Kind = Literal["invented", "changed", "learned", "balance", "hold", "flight", "ratio", "sign", "split", "file", "estimate", "speed",
               "small", "lore", "option", "blend", "wind"]  # fmt: skip
KINDS: tuple[Kind, ...] = get_args(Kind)


class Remark(Row):
    """Something one should know.

    Attributes
    ----------
    kind : str
        One of :data:`KINDS`.
    about : str
        The key of the file, the flight ("knife_edge.left") or the ratio ("rudder-elevator.left") it
        speaks of; empty where it is the airplane.
    text : str
        A sentence.
    """

    kind: Kind
    about: str
    text: str


def _six_digits(value: Any) -> Any:
    """A value with its numbers to six digits, also those in plain lists and tables."""
    if isinstance(value, float):
        return float(f"{value:.6g}")
    if type(value) is dict:
        return {k: _six_digits(v) for k, v in value.items()}
    if type(value) in (list, tuple):
        return type(value)(_six_digits(v) for v in value)
    return value


def clean(value: Any) -> Any:
    """A value for JSON: numbers to six digits, what is not finite as None."""
    if isinstance(value, float):
        return _six_digits(value) if math.isfinite(value) else None
    if isinstance(value, dict):
        return {k: clean(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [clean(v) for v in value]
    return value

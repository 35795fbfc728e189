"""From a document to a model, with every complaint in one line and in its place."""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from sixdof.airframe.errors import InputError, shown
from sixdof.airframe.fields import key_of
from sixdof.airframe.yamlio import Document

__all__ = ["validate"]

M = TypeVar("M", bound=BaseModel)

_WANTED = {
    "float_type": "a plain number is wanted",
    "finite_number": "a finite number is wanted",
    "int_type": "a whole number is wanted",
    "int_from_float": "a whole number is wanted",
    "int_parsing": "a whole number is wanted",
    "bool_type": "true or false is wanted",
    "string_type": "a text is wanted; put it in quotes",
    "tuple_type": "a list is wanted",
    "list_type": "a list is wanted",
    "dict_type": "a block of keys is wanted",
}


def validate(kind: type[M], document: Document) -> M:
    """Check a document against a model.

    Parameters
    ----------
    kind : type
        The pydantic model the document must fit.
    document : Document
        What `read_yaml` gave.

    Returns
    -------
    instance of `kind`

    Raises
    ------
    InputError
        About the first thing that is wrong; says how many more there are.
    """
    try:
        return kind.model_validate(document.data)
    except ValidationError as error:
        raise _first(error.errors(include_url=False), document) from None


def _first(errors: list[Any], document: Document) -> InputError:
    places = sorted(errors, key=lambda error: document.line(key_of(error)))
    first = places[0]
    more = f" (and {len(errors) - 1} more)" if len(errors) > 1 else ""
    return document.error(key_of(first), _message(first) + more)


def _message(error: Any) -> str:
    if error["type"] == "missing":
        return "this key is missing; add it"
    message = error["msg"].removeprefix("Value error, ")
    if error["type"] in ("complaint", "value_error"):
        return message
    return f"{shown(error['input'])} came; {_WANTED.get(error['type'], message)}"

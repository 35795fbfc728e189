"""From a document to a model, with every complaint in one line and in its place."""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from sixdof.files.errors import InputError, shown
from sixdof.files.fields import key_of
from sixdof.files.yamlio import Document

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
    "string_pattern_mismatch": "one line of text is wanted",
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
    """Make the complaint about the uppermost error; a list is only blamed when its items are good."""
    keys = [key_of(error) for error in errors]
    above = {key[:depth] for key in keys for depth in range(len(key))}
    own = [i for i, key in enumerate(keys) if key not in above]
    first = min(own, key=lambda i: document.line(keys[i]))
    key = keys[first]
    while key and not isinstance(document.at(key[:-1]), (dict, list)):
        key = key[:-1]  # a value in short form has no keys of its own
    more = f" (and {len(own) - 1} more)" if len(own) > 1 else ""
    return document.error(key, _message(errors[first]) + more)


def _message(error: Any) -> str:
    kind, message = error["type"], error["msg"].removeprefix("Value error, ")
    if kind == "missing":
        return "this key is missing; add it"
    if kind in ("complaint", "value_error"):
        return message
    if kind == "too_short":
        return (
            f"{error['ctx']['actual_length']} came; a list of at least {error['ctx']['min_length']} is wanted"
        )
    if kind == "too_long":
        return f"too many came; a list of at most {error['ctx']['max_length']} is wanted"
    return f"{shown(error['input'])} came; {_WANTED.get(kind, message)}"

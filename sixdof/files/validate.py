"""From a document to a model, with every complaint in one line and in its place."""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from sixdof.files.errors import InputError, shown
from sixdof.files.fields import key_of
from sixdof.files.yamlio import Document

__all__ = ["validate"]

M = TypeVar("M", bound=BaseModel)

_EXPECTED = {
    "float_type": "a plain number",
    "finite_number": "a finite number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "int_parsing": "a whole number",
    "bool_type": "true or false",
    "string_type": "text in quotes",
    "string_pattern_mismatch": "one line of text",
    "tuple_type": "a list",
    "list_type": "a list",
    "dict_type": "a block of keys",
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
            f"got a list of {error['ctx']['actual_length']}, expected at least {error['ctx']['min_length']}"
        )
    if kind == "too_long":
        return f"got too long a list, expected at most {error['ctx']['max_length']}"
    if kind == "literal_error":
        return f"got {shown(error['input'])}, expected {error['ctx']['expected']}"
    if kind not in _EXPECTED:
        return f"got {shown(error['input'])}; {message}"
    return f"got {shown(error['input'])}, expected {_EXPECTED[kind]}"

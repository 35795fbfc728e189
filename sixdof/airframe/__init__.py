"""The aircraft file: strict YAML with units in, one frozen SI model out."""

from sixdof.airframe.blends import BlendSpec
from sixdof.airframe.errors import InputError
from sixdof.airframe.load import list_airframes, load_airframe, load_blends
from sixdof.airframe.model import Airframe, schema
from sixdof.airframe.validate import validate
from sixdof.airframe.yamlio import Document, read_yaml

__all__ = [
    "Airframe",
    "BlendSpec",
    "Document",
    "InputError",
    "list_airframes",
    "load_airframe",
    "load_blends",
    "read_yaml",
    "schema",
    "validate",
]

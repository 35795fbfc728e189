"""The commented aircraft file that a newcomer fills in, in millimeters or in inches."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Literal

from sixdof.files.errors import InputError, shown
from sixdof.files.units import read_quantity, to_unit

__all__ = ["new_text", "write_new"]

Units = Literal["metric", "inch"]

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}")
_PLACE = re.compile(r"<(-?[0-9.]+) ([a-zA-Z/ ]+)>")

#: metric unit of the template -> kind, unit beside inches, decimals there
_INCH: dict[str, tuple[str, str, int]] = {
    "mm": ("length", "in", 2),
    "m": ("length", "ft", 0),
    "g": ("mass", "oz", 1),
    "m/s": ("speed", "mph", 0),
    "N": ("force", "lbf", 1),
    "N m": ("torque", "oz in", 0),
}


def new_text(name: str, units: Units = "metric") -> str:
    """Text of an aircraft file for an airplane called `name`, its numbers invented.

    The template marks each value as ``<750 mm>``, which is written in either system.
    """
    text = Path(__file__).with_name("new.yaml").read_text(encoding="utf-8")
    text = _PLACE.sub(lambda found: _written(found[1], found[2], units), text)
    return text.replace("<name>", name).replace("<units>", units)


def write_new(name: str, units: Units = "metric") -> Path:
    """Write the file of a new airplane, whole or not at all.

    Parameters
    ----------
    name : str
        Name of the airplane, ``.yaml`` is added; a folder before it must exist.
    units : {"metric", "inch"}

    Returns
    -------
    Path

    Raises
    ------
    InputError
        An invalid name, a file that already exists, or one that cannot be written.
    """
    path = Path(name.removesuffix(".yaml") + ".yaml")
    if not _NAME.fullmatch(path.stem):
        raise InputError(f"got {shown(name)}, expected a name of at most 40 letters, digits, - and _")
    text = new_text(path.stem, units)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            try:
                file.write(text)
                file.flush()
            except BaseException:
                path.unlink()
                raise
    except FileExistsError:
        raise InputError(f"{path}: exists already; choose another name, or move it away") from None
    except OSError as error:
        raise InputError(f"{path}: cannot be written ({error.strerror})") from None
    return path


def _written(number: str, unit: str, units: str) -> str:
    if units == "metric":
        return f"{number} {unit}"
    kind, other, decimals = _INCH[unit]
    value = round(to_unit(read_quantity(f"{number} {unit}", kind), other, kind), decimals) + 0.0
    return f"{value:.{decimals}f} {other}"

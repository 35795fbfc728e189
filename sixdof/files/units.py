"""One table of units and a strict reader: ``"310 mm"``, ``"4 lb 6 oz"``, ``"90 km/h"``.

Files speak in the units people measure in; everything inside is SI and rad.
A value without its unit is refused, and so is whatever could be read in two
ways (a decimal comma, a minus sign that is not the ASCII hyphen).
"""

from __future__ import annotations

import math
import re

from sixdof.physics.constants import G0

__all__ = ["UNITS", "read_quantity", "to_unit"]

_POUND, _FOOT, _REVOLUTION = 0.45359237, 0.3048, 2.0 * math.pi  # exact by definition: kg, m, rad

#: kind of quantity -> unit -> size in SI (or rad); the first unit is the one shown in examples
UNITS: dict[str, dict[str, float]] = {
    "length": {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": _FOOT / 12, "ft": _FOOT},
    "area": {"m2": 1.0, "dm2": 1e-2, "in2": (_FOOT / 12) ** 2},
    "mass": {"kg": 1.0, "g": 1e-3, "lb": _POUND, "oz": _POUND / 16},
    "angle": {"deg": math.pi / 180, "rad": 1.0},
    "speed": {"m/s": 1.0, "km/h": 1 / 3.6, "kt": 1852 / 3600, "mph": 5280 * _FOOT / 3600},
    "turning speed": {"deg/s": math.pi / 180, "rpm": _REVOLUTION / 60, "rad/s": 1.0},
    "moment of inertia": {"kg m2": 1.0, "g m2": 1e-3},
    "time": {"s": 1.0, "ms": 1e-3},
    "force": {
        "N": 1.0,
        "kgf": G0,
        "gf": G0 * 1e-3,
        "lbf": _POUND * G0,
        "ozf": _POUND * G0 / 16,
    },
    "power": {"W": 1.0, "kW": 1e3},
    "torque": {"N m": 1.0, "N cm": 1e-2, "kg cm": G0 * 1e-2, "oz in": _POUND / 16 * G0 * _FOOT / 12},
    "share": {"%": 1e-2},
    "load factor": {"g": 1.0},
}

_COMPOUND = {("lb", "oz"): 16, ("ft", "in"): 12}  # how many of the second make one of the first
_OTHER_NAMES = {
    "°": "deg", "degrees": "deg", "degree": "deg", "kph": "km/h", "kmh": "km/h", "lbs": "lb", '"': "in",
    "inch": "in", "inches": "in", "'": "ft", "m²": "m2", "m^2": "m2", "kg m²": "kg m2", "kg m^2": "kg m2",
    "kgm2": "kg m2", "Nm": "N m", "Ncm": "N cm", "kgf cm": "kg cm", "ozf in": "oz in", "sec": "s", "percent": "%", "metre": "m", "meter": "m",
}  # fmt: skip
_MOST_CHARACTERS = 80
_NUMBER = r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?"
_UNIT = r"""(?:[^\W\d_]|[%°'"])[^-+.]*?"""
_PART = re.compile(rf"({_NUMBER})\s*({_UNIT})?(?=\s+[-+.0-9]|\s*$)")


def read_quantity(value: object, kind: str) -> float:
    """Read a value with its unit.

    Parameters
    ----------
    value : object
        What the file gave: text such as ``"310 mm"``; anything else is refused.
    kind : str
        A key of `UNITS`: the kind of quantity expected.

    Returns
    -------
    float [SI, rad, share 0..1]

    Raises
    ------
    ValueError
        With what was found, what was expected and an example.
    """
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise ValueError(f"got {_shown(value)}, {_expected(kind)}")
    if not isinstance(value, str):
        raise ValueError(f"got {value} without a unit, {_expected(kind, f'{value}')}")
    text = value.strip()
    if len(text) > _MOST_CHARACTERS:
        raise ValueError(f"got {_shown(text)}..., {_expected(kind)}")
    _refuse_look_alikes(text, kind)
    parts = _split(text, kind)
    number, unit = parts[0]
    total = abs(_number(number, text, kind)) * _size(unit, text, kind)
    if len(parts) > 1:
        total += _remainder(parts, text, kind)
    if not math.isfinite(total):
        raise ValueError(f"{_shown(text)} is not a finite number; {_expected(kind)}")
    return -total if number.startswith("-") else total


def to_unit(value: float, unit: str, kind: str) -> float:
    """Turn an SI value of a kind into `unit`, for printing."""
    return value / UNITS[kind][unit]


def _split(text: str, kind: str) -> list[tuple[str, str]]:
    """Take the text apart into numbers with their units."""
    if not text:
        raise ValueError(f"got an empty text, {_expected(kind)}")
    parts, rest = [], text
    while rest:
        match = _PART.match(rest)
        if not match:
            raise ValueError(f"got {_shown(text)}, {_expected(kind)}")
        parts.append((match[1], match[2] or ""))
        rest = rest[match.end() :].lstrip()
    return parts


def _number(number: str, text: str, kind: str) -> float:
    value = float(number)
    if not math.isfinite(value):
        raise ValueError(f"{_shown(text)} is not a finite number; {_expected(kind)}")
    return value


def _size(unit: str, text: str, kind: str) -> float:
    """Size of `unit` in SI; refuse a missing, unknown or wrong one."""
    unit = " ".join(unit.split())
    if unit in UNITS[kind]:
        return UNITS[kind][unit]
    if not unit:
        raise ValueError(f"got {_shown(text)} without a unit, {_expected(kind, text)}")
    other = _OTHER_NAMES.get(unit.lower(), unit)
    if other not in UNITS[kind]:
        other = next((known for known in UNITS[kind] if known.lower() == unit.lower()), other)
    if other in UNITS[kind]:
        raise ValueError(f"got {_shown(text)}; write the unit as {other}")
    kinds = [known for known, units in UNITS.items() if other in units]
    found = (
        f"{_shown(text)} is another kind of value: {kinds[0]}"
        if kinds
        else f"{_shown(text)} has an unknown unit"
    )
    raise ValueError(f"{found}; {_expected(kind)}")


def _remainder(parts: list[tuple[str, str]], text: str, kind: str) -> float:
    """Read the second half of ``4 lb 6 oz`` or ``3 ft 2 in``."""
    (first, unit), (second, small) = parts[0], parts[1]
    count = _COMPOUND.get((unit, small))
    if count is None or len(parts) > 2:
        raise ValueError(f"got {_shown(text)}; two numbers go together only as in 4 lb 6 oz or 3 ft 2 in")
    value = _number(second, text, kind)
    if not first.lstrip("+-").isdigit() or second[0] in "+-" or value >= count:
        raise ValueError(f"got {_shown(text)}; write a whole number of {unit} and 0 to {count} {small}")
    return value * _size(small, text, kind)


def _refuse_look_alikes(text: str, kind: str) -> None:
    """Refuse text that people read as one number and a computer as another."""
    if re.search(r"[0-9],[0-9]", text):
        point = re.sub(r"(?<=[0-9]),(?=[0-9])", ".", text)
        raise ValueError(f"{_shown(text)} has a decimal comma; write {_shown(point)}")
    if re.search("[\u2010-\u2015\u2212\ufe63\uff0d]", text):
        plain = re.sub("[\u2010-\u2015\u2212\ufe63\uff0d]", "-", text)
        raise ValueError(
            f"{_shown(text)} has a minus sign that is not the ASCII hyphen; write {_shown(plain)}"
        )
    if any(c.isdigit() and not c.isascii() and c not in "\u00b2\u00b3" for c in text):
        raise ValueError(f"{_shown(text)} has digits that are not plain 0 to 9; {_expected(kind)}")
    if re.match(r"[-+]?\.?(nan|inf|infinity)\b", text, re.IGNORECASE):
        raise ValueError(f"{_shown(text)} is not a finite number; {_expected(kind)}")


def _expected(kind: str, number: str = "") -> str:
    unit = next(iter(UNITS[kind]))
    number = number.strip() if re.fullmatch(r"[-+]?[0-9]+(\.[0-9]*)?", number.strip()) else ""
    example = f"{number[:20] or '1.5'} {unit}"
    article = "an" if kind[0] in "aeiou" else "a"
    return f'expected {article} {kind} with its unit ({", ".join(UNITS[kind])}), for example "{example}"'


def _shown(value: object) -> str:
    text = value if isinstance(value, str) else repr(value)
    return f'"{text[:60]}"'

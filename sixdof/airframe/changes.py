"""What a flyer would rather change in the airframe than blend away: a closed table, and the changed airplane.

A change has a name, an amount and a way: ``cg=5 mm aft``, ``wing-incidence=+0.25 deg``.  Inside it is one
signed number in SI, positive toward the first of its two ways.  Usual steps are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic_core import PydanticCustomError

from sixdof.airframe.geometry import Surface
from sixdof.airframe.model import Airframe
from sixdof.airframe.plausible import remarks
from sixdof.files.errors import InputError, key_text, nearest, shown
from sixdof.files.units import UNITS, read_quantity, to_unit

__all__ = [
    "CHANGES",
    "Change",
    "change_text",
    "change_words",
    "changed",
    "find_change",
    "flown_with",
    "read_changes",
    "usual_step",
]

#: Mean chord [m] and mass [kg] of the airplane that the usual steps belong to; they scale with both.
_CHORD, _MASS = 0.3, 4.7
#: Largest amount of one change: a length over the mean chord, an angle [rad], a mass over the total.
_MOST = {"length": 1.0, "angle": math.radians(10.0), "mass": 0.1}


@dataclass(frozen=True)
class Change:
    """A row of the table.

    Attributes
    ----------
    kind, unit : str
        Kind of quantity, and the unit people measure it in.
    step : float
        Usual step, in that unit.
    ways : tuple of str
        What people write for + and for -.
    words : tuple of str
        How it is said, with ``{}`` for the amount, for + and for -.
    signed : bool
        May be written with a + or - in place of its way.
    update : callable
        Airframe and amount [SI] to the parts of the airframe it replaces.
    """

    kind: str
    unit: str
    step: float
    ways: tuple[str, str]
    words: tuple[str, str]
    signed: bool
    update: Callable[[Airframe, float], dict[str, Any]]


def changed(airframe: Airframe, amounts: Mapping[str, str | float]) -> Airframe:
    """Change an airplane; the one in the file is kept as ``as_filed``.

    Parameters
    ----------
    airframe : Airframe
    amounts : mapping
        Name in :data:`CHANGES` -> amount with its way as people write it, or signed in SI.

    Returns
    -------
    Airframe
        Checked as a loaded one is; its warnings are those of the changed airplane.

    Raises
    ------
    InputError
        Unknown name, bad amount, or an impossible airplane.
    """
    new = airframe
    done = dict(airframe.changes)
    for name, text in amounts.items():
        change = find_change(name)
        amount = _read_amount(name, change, text, airframe) if isinstance(text, str) else float(text)
        scale = {"length": airframe.wing.mean_chord, "mass": airframe.mass.m}.get(change.kind, 1.0)
        if not abs(amount) <= _MOST[change.kind] * scale * (1.0 + 1e-9):
            most = to_unit(_MOST[change.kind] * scale, change.unit, change.kind)
            raise InputError(
                f"change {name}: got {change_text(name, amount)}, expected at most {most:.3g} {change.unit}"
            )
        try:
            new = new.model_copy(update=change.update(new, amount))
            new.mass.check_possible()
            new.check_fit()
        except PydanticCustomError as error:
            where = key_text((error.context or {}).get("key", ()))
            raise InputError(f"change {change_text(name, amount)}: {where}: {error.message()}") from None
        done[name] = done.get(name, 0.0) + amount
    if not amounts:
        return airframe
    before, after = set(remarks(airframe)), list(remarks(new))
    warnings = [w for w in airframe.warnings if w in after or w not in before]
    warnings += [w for w in after if w not in before]
    return new.model_copy(
        update={
            "changes": tuple(done.items()),
            "as_filed": airframe.as_filed or airframe,
            "warnings": tuple(warnings),
        }
    )


def read_changes(texts: Iterable[str]) -> dict[str, str]:
    """Take ``cg=5 mm aft`` apart, name by name.

    Raises
    ------
    InputError
        No ``=``, an unknown name, or one given twice.
    """
    found: dict[str, str] = {}
    for text in texts:
        name, equals, amount = (part.strip() for part in text.partition("="))
        change = find_change(name)
        if not (equals and amount):
            raise InputError(f"change {shown(text)}: expected an amount, as in {name}={_example(change)}")
        if name in found:
            raise InputError(f"change {name} is given twice; give it once")
        found[name] = amount
    return found


def change_text(name: str, amount: float) -> str:
    """A change as it is written: ``cg=5 mm aft``; what :func:`read_changes` reads."""
    change = CHANGES[name]
    return f"{name}={to_unit(abs(amount), change.unit, change.kind):.6g} {change.unit} {change.ways[amount < 0.0]}"


def change_words(name: str, amount: float) -> str:
    """A change as it is said: ``CG 5 mm further aft``."""
    change = CHANGES[name]
    number = f"{to_unit(abs(amount), change.unit, change.kind):.3g}"
    return change.words[amount < 0.0].format(
        f"{number}°" if change.kind == "angle" else f"{number} {change.unit}"
    )


def flown_with(airframe: Airframe) -> list[str]:
    """What was changed, a remark that goes with whatever was flown; nothing for an airplane as filed."""
    if not airframe.changes:
        return []
    said = ", ".join(change_words(name, amount) for name, amount in airframe.changes)
    return [f"flown with: {said} (re-trimmed)"]


def usual_step(name: str, airframe: Airframe) -> float:
    """Usual step of a change on an airplane of this size [SI]; lengths scale with its chord, weights with its mass."""
    change = CHANGES[name]
    scale = {"length": airframe.wing.mean_chord / _CHORD, "mass": airframe.mass.m / _MASS}.get(change.kind)
    step = change.step if scale is None else float(f"{change.step * scale:.1g}")
    return step * UNITS[change.kind][change.unit]


def find_change(name: str) -> Change:
    """Row of the table; :class:`InputError` with the nearest name if there is none."""
    if name not in CHANGES:
        raise InputError(f"unknown change {shown(name) or '(no name)'}; {nearest(name, list(CHANGES))}")
    return CHANGES[name]


def _example(change: Change) -> str:
    return f"{change.step:g} {change.unit} {change.ways[0]}"


def _read_amount(name: str, change: Change, text: str, airframe: Airframe) -> float:
    """Signed amount [SI] of a text; a length may also be given in percent of the mean chord."""
    number, _, way = text.strip().rpartition(" ")
    if way in change.ways:
        sign = 1.0 if way == change.ways[0] else -1.0
    elif change.signed and text.strip()[:1] in ("+", "-"):
        number, sign = text.strip(), 1.0
    else:
        number, sign = "", 0.0
    if not number or (way in change.ways and number.lstrip()[:1] in ("+", "-")):
        signed = f", or with its sign: +{change.step:g} {change.unit}" if change.signed else ""
        raise InputError(
            f"change {name}: got {shown(text)}, expected {_example(change)} or "
            f"{change.step:g} {change.unit} {change.ways[1]}{signed}"
        )
    try:
        if change.kind == "length" and number.rstrip().endswith("%"):
            return sign * read_quantity(number, "share") * airframe.wing.mean_chord
        return sign * read_quantity(number, change.kind)
    except ValueError as error:
        raise InputError(f"change {name}: {error}") from None


# ---------------------------------------------------------------- what each of them does


def _cg(airframe: Airframe, aft: float) -> dict[str, Any]:
    """Weight moved inside the body: mass and moments of inertia stay what they are."""
    x, y, z = airframe.mass.cg
    return {"mass": airframe.mass.model_copy(update={"cg": (x - aft, y, z)})}


def _cg_height(airframe: Airframe, up: float) -> dict[str, Any]:
    x, y, z = airframe.mass.cg
    return {"mass": airframe.mass.model_copy(update={"cg": (x, y, z - up)})}


def _tip_weight(airframe: Airframe, weight: float) -> dict[str, Any]:
    """A weight at the quarter chord of a tip, right of it positive: the CG goes there, the inertias grow.

    About the CG of both, I = I1 + mu (d² 1 - d d'), mu = m w/(m + w), d from CG to weight (parallel axes).
    """
    mass, w = airframe.mass, abs(weight)
    tip = _tip(airframe.wing)
    place = (tip[0], math.copysign(tip[1], weight), tip[2])
    x, y, z = (p - c for p, c in zip(place, mass.cg, strict=True))
    share = w / (mass.m + w)
    mu = share * mass.m
    moved = {
        "m": mass.m + w,
        "cg": tuple(c + share * d for c, d in zip(mass.cg, (x, y, z), strict=True)),
        "Ixx": mass.Ixx + mu * (y * y + z * z),
        "Iyy": mass.Iyy + mu * (x * x + z * z),
        "Izz": mass.Izz + mu * (x * x + y * y),
        "Ixz": mass.Ixz + mu * x * z,
        "Ixy": mass.Ixy + mu * x * y,
        "Iyz": mass.Iyz + mu * y * z,
    }
    return {"mass": mass.model_copy(update=moved)}


def _tip(wing: Surface) -> tuple[float, float, float]:
    """Quarter chord of the right tip, body axes from the datum [m]."""
    back = sum(p.sweep for p in wing.panels) + 0.25 * wing.panels[-1].tip_chord
    rise = sum(p.span * math.sin(p.dihedral) for p in wing.panels)
    return (wing.root[0] - back, 0.5 * wing.span, wing.root[2] - rise)


def _incidence(part: str) -> Callable[[Airframe, float], dict[str, Any]]:
    def update(airframe: Airframe, more: float) -> dict[str, Any]:
        surface: Surface = getattr(airframe, part)
        return {part: surface.model_copy(update={"incidence": surface.incidence + more})}

    return update


def _height(part: str) -> Callable[[Airframe, float], dict[str, Any]]:
    def update(airframe: Airframe, up: float) -> dict[str, Any]:
        surface: Surface = getattr(airframe, part)
        x, y, z = surface.root
        return {part: surface.model_copy(update={"root": (x, y, z - up)})}

    return update


def _thrust_line(angle: str) -> Callable[[Airframe, float], dict[str, Any]]:
    def update(airframe: Airframe, more: float) -> dict[str, Any]:
        propeller = airframe.propeller
        return {"propeller": propeller.model_copy(update={angle: getattr(propeller, angle) + more})}

    return update


def _dihedral(airframe: Airframe, more: float) -> dict[str, Any]:
    """All panels of the wing."""
    wing = airframe.wing
    panels = tuple(p.model_copy(update={"dihedral": p.dihedral + more}) for p in wing.panels)
    return {"wing": wing.model_copy(update={"panels": panels})}


def _differential(airframe: Airframe, more: float) -> dict[str, Any]:
    """Up throw beyond the down throw, at every rate: half of it more up, half of it less down."""
    rates = {}
    for name, rate in airframe.rates.items():
        throw = rate.aileron
        turned = {"up": throw.up + 0.5 * more, "down": throw.down - 0.5 * more}
        if min(turned.values()) <= 0.0:
            smallest = math.degrees(min(throw.up, throw.down))
            raise PydanticCustomError(
                "complaint",
                "{message}",
                {"message": f"a throw of {smallest:.3g} deg cannot be reduced that much", "key": ("rates", name, "aileron")},
            )  # fmt: skip
        rates[name] = rate.model_copy(update={"aileron": throw.model_copy(update=turned)})
    return {"rates": rates}


_MORE = ("more", "less")
_UP = ("up", "down")

#: All changes there are.
CHANGES: dict[str, Change] = {
    "cg": Change("length", "mm", 5, ("aft", "forward"), ("CG {} further aft", "CG {} further forward"), False, _cg),
    "cg-height": Change("length", "mm", 5, _UP, ("CG {} higher", "CG {} lower"), False, _cg_height),
    "tip-weight": Change("mass", "g", 10, ("right", "left"), ("{} in the right tip", "{} in the left tip"), False, _tip_weight),
    "wing-incidence": Change(
        "angle", "deg", 0.25, _MORE, ("wing incidence {} more", "wing incidence {} less"), True, _incidence("wing")
    ),
    "tailplane-incidence": Change(
        "angle", "deg", 0.25, _MORE, ("tailplane incidence {} more", "tailplane incidence {} less"), True, _incidence("tailplane")
    ),
    "down-thrust": Change("angle", "deg", 0.5, _MORE, ("down-thrust {} more", "down-thrust {} less"), True, _thrust_line("down_thrust")),
    "right-thrust": Change(
        "angle", "deg", 0.5, _MORE, ("right-thrust {} more", "right-thrust {} less"), True, _thrust_line("right_thrust")
    ),
    "dihedral": Change("angle", "deg", 0.5, _MORE, ("dihedral {} more", "dihedral {} less"), True, _dihedral),
    "differential": Change(
        "angle", "deg", 1, _MORE, ("aileron differential {} more", "aileron differential {} less"), True, _differential
    ),
    "wing-height": Change("length", "mm", 10, _UP, ("wing {} higher", "wing {} lower"), False, _height("wing")),
    "tailplane-height": Change("length", "mm", 10, _UP, ("tailplane {} higher", "tailplane {} lower"), False, _height("tailplane")),
}  # fmt: skip

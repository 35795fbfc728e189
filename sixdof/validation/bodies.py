"""Airplanes with a plain body, for the checks of what the body does."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from sixdof.airframe.geometry import Station
from sixdof.airframe.load import load_airframe
from sixdof.airframe.model import Airframe
from sixdof.estimate.body import body_loads, body_parts
from sixdof.estimate.lattice import Conditions

STEP = 1e-3
LENGTH, DIAMETER = 1.6, 0.2  # m, of the bodies below; fineness 8
S, SPAN, CHORD = 0.6, 2.0, 0.3


_PACKAGE = Path(__file__).resolve().parent.parent


@cache
def demo(name: str) -> Airframe:
    """An airplane of the package, whatever lies in the working directory."""
    inside, beside = (folder / "aircraft" / f"{name}.yaml" for folder in (_PACKAGE, _PACKAGE.parent))
    return load_airframe(inside if inside.exists() else beside)


def spheroid(x: np.ndarray, length: float = LENGTH, diameter: float = DIAMETER) -> np.ndarray:
    return diameter * np.sqrt(np.clip(1.0 - (2.0 * x / length - 1.0) ** 2, 0.0, None))


def box(x: np.ndarray) -> np.ndarray:
    return np.full_like(x, DIAMETER)


def tapered(x: np.ndarray) -> np.ndarray:
    """As bodies of models are: blunt in front, slender behind."""
    return DIAMETER * np.interp(x / LENGTH, [0.0, 0.15, 0.5, 1.0], [0.5, 0.85, 1.0, 0.25])


def airplane(
    height: Callable[[np.ndarray], np.ndarray],
    width: Callable[[np.ndarray], np.ndarray] | None = None,
    *,
    length: float = LENGTH,
    stations: int = 121,
    quarter: float = 0.35,
    chord: float = 0.35,
    wing_up: float = 0.0,
    dihedral: float = 0.0,
    incidence: float = 0.0,
    span: float = SPAN,
) -> Airframe:
    """Body of that height and width over x from the nose, its middle on the datum.

    quarter : where the quarter point of the wing's root lies, share of the length
    chord, wing_up : of the wing [m]
    """
    x = np.linspace(0.0, length, stations)
    body = tuple(
        Station.model_construct(x=-float(a), top=-0.5 * float(h), bottom=0.5 * float(h), width=float(w))
        for a, h, w in zip(x, height(x), (width or height)(x), strict=True)
    )
    file = demo("corvane")
    panel = file.wing.panels[0].model_copy(
        update={
            "root_chord": chord,
            "tip_chord": chord,
            "sweep": 0.0,
            "dihedral": dihedral,
            "span": 0.5 * span,
        }
    )
    section = file.wing.section.model_copy(update={"camber": 0.0})
    wing = file.wing.model_copy(
        update={
            "root": (-quarter * length + 0.25 * chord, 0.0, -wing_up),
            "panels": (panel,),
            "section": section,
            "incidence": incidence,
        }
    )
    tail = file.tailplane.model_copy(
        update={
            "root": (-0.92 * length, 0.0, 0.0),
            "panels": (
                panel.model_copy(
                    update={"span": 0.1 * length, "root_chord": 0.08 * length, "tip_chord": 0.08 * length}
                ),
            ),
        }
    )
    return file.model_copy(update={"body": body, "wing": wing, "tailplane": tail})


def loads(
    airframe: Airframe,
    *,
    point: tuple[float, float, float] = (-0.5 * LENGTH, 0.0, 0.0),
    part: str | None = None,
    upwash: Callable[[np.ndarray], np.ndarray] | None = None,
    **flow: Any,
) -> np.ndarray:
    """Coefficients (n, 6) of the body or one part of it, S, SPAN, CHORD."""
    args: dict[str, Any] = dict(S=S, b=SPAN, c=CHORD, point=point, upwash=upwash)
    if part is None:
        return body_loads(airframe, Conditions(**flow), **args)
    return body_parts(airframe, Conditions(**flow), **args)[part]


def slope(airframe: Airframe, coefficient: str, factor: str, **more: Any) -> float:
    """First derivative by one factor of the flow, at rest otherwise."""
    i = ("CX", "CY", "CZ", "Cl", "Cm", "Cn").index(coefficient)
    both = loads(airframe, **{factor: np.array([STEP, -STEP]), **more})[:, i]
    return float(both[0] - both[1]) / (2.0 * STEP)

"""Derivatives of a whole airplane as published sets have them: from geometry, about the CG, in stability axes."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from sixdof.airframe.load import load_airframe
from sixdof.estimate.assemble import from_geometry
from sixdof.estimate.derivatives import NAMES
from sixdof.flight.airplane import Airplane
from sixdof.physics.aero import aerodynamics
from sixdof.validation.check import Check

FILES = Path(__file__).parent / "airplanes"
RHO, V = 1.225, 20.0  # do not matter: everything is a coefficient
#: Half steps of angles [rad] and of rates hat.
STEP = 1e-4
#: What a set identified in flight without a term of its own for alpha-dot has as Cmq.
WHOLE_DAMPING = "Cmq + Cmad"
_MOVED = {
    **dict.fromkeys(("a", "q", "de"), ("CL", "Cm")),
    **dict.fromkeys(("b", "p", "r", "da", "dr"), ("CY", "Cl", "Cn")),
}


def coefficients(
    plane: np.void, *, a=0.0, b=0.0, p=0.0, q=0.0, r=0.0, da=0.0, de=0.0, dr=0.0
) -> dict[str, float]:
    """Coefficients about the CG, no propeller; moments and rates in stability axes, the side force with the drag.

    a, b : alpha, beta [rad]; p, q, r : rates hat; da, de, dr : surfaces [rad].
    """
    S, span, c = plane["S"], plane["b"], plane["c"]
    ca, sa = math.cos(a), math.sin(a)
    air = (V * math.cos(b) * ca, V * math.sin(b), V * math.cos(b) * sa)
    p, q, r = (2.0 * V / length * hat for length, hat in ((span, p), (c, q), (span, r)))
    X, Y, Z, L, M, N, _, Z_rate, M_rate = aerodynamics(
        plane, RHO, *air, p * ca - r * sa, q, r * ca + p * sa, da, -da, de, dr, 0.0, 0.0, 0.0
    )
    qS = 0.5 * RHO * V**2 * S
    per_rate = 2.0 * V / c
    return {
        "CL": (X * sa - Z * ca) / qS, "CY": Y / qS,
        "Cl": (L * ca + N * sa) / (qS * span), "Cm": M / (qS * c), "Cn": (N * ca - L * sa) / (qS * span),
        "CLad": -Z_rate / qS * per_rate, "Cmad": M_rate / (qS * c) * per_rate,
    }  # fmt: skip


def derivatives(plane: np.void, *, CL: float) -> dict[str, float]:
    """CLa, CYb, Cmde and so on at the angle of attack that gives CL with surfaces centered."""
    low, high = (coefficients(plane, a=a)["CL"] for a in (0.0, 0.01))
    alpha = (CL - low) / (high - low) * 0.01
    out = {name: coefficients(plane, a=alpha)[name] for name in ("CLad", "Cmad")}
    for factor, moved in _MOVED.items():
        at = {"a": alpha, factor: alpha if factor == "a" else 0.0}
        up, down = (coefficients(plane, **at | {factor: at[factor] + s * STEP}) for s in (1.0, -1.0))
        out |= {axis + factor: (up[axis] - down[axis]) / (2.0 * STEP) for axis in moved}
    return out | {WHOLE_DAMPING: out["Cmq"] + out["Cmad"]}


@cache
def chain(name: str, CL: float, tailplane: float = 1.0) -> dict[str, tuple[float, float]]:
    """Value and standard deviation, by the doubts of the estimate, of an airplane of ``airplanes/``.

    tailplane : factor on what the tailplane adds, as its dynamic pressure has it
    """
    airframe = load_airframe(FILES / f"{name}.yaml")
    known = from_geometry(airframe)
    more = (tailplane - 1.0) * known.shares[:, known.components.index("tailplane")]
    known = replace(known, value=known.value + more)
    plane = Airplane(airframe, known=known, lore=False).plane

    def found(value: np.ndarray) -> dict[str, float]:
        for term, number in zip(NAMES, value, strict=True):
            plane[term] = number
        return derivatives(plane, CL=CL)

    center = found(known.value)
    moves = [found(known.value + move) for move in known.doubt.T]
    return {k: (v, math.sqrt(sum((m[k] - v) ** 2 for m in moves))) for k, v in center.items()}


def geometry_checks(
    row: Callable[..., Check],
    name: str,
    CL: float,
    published: Mapping[str, float | tuple[float, float]],
    known: Mapping[str, str],
    ours: Mapping[str, str] | None = None,
) -> list[Check]:
    """Published derivatives of an airplane of ``airplanes/`` against ours from its geometry, 30 %.

    ours : what a set calls otherwise -> what it is here
    """
    called = ours or {}
    why = "published sets of one airplane differ by 10 to 40 %"
    return [
        row(f"{term} from geometry", value, lambda term=term: chain(name, CL)[called.get(term, term)][0], share=0.30, why=why,
            known=known.get(term, ""))
        for term, value in published.items()
    ]  # fmt: skip

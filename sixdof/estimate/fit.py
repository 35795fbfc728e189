"""The term table fitted to the loads of surfaces and body over a grid of flow and deflections.

Every component is fitted by the same least squares, so that what a component contributes to a term
(its share) adds up to the term.  Only terms that the symmetry of the airplane allows are fitted.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.estimate.lattice import COEFFICIENTS, Conditions, Loads
from sixdof.physics.terms import TERM_NAMES, TERMS

__all__ = ["FITTED", "Fit", "fit_terms", "grid"]

#: Terms that the loads of the grid determine; the others are zero by symmetry, or have a home of
#: their own (drag, angle-of-attack rate).
FITTED: tuple[str, ...] = (
    "CL0", "CLa", "CLq", "CLde", "CLdf", "CLds",
    "CYb", "CYb3", "CYp", "CYr", "CYda", "CYdr",
    "Clb", "Clba", "Clp", "Clr", "ClrCL", "Clda", "Cldr",
    "Cm0", "Cma", "Cmq", "Cmde", "Cmdf", "Cmds", "Cmb2", "Cmdr2", "Cmbdr",
    "Cnb", "Cnb3", "Cnp", "CnpCL", "Cnr", "Cnda", "CndaCL", "Cndads", "Cndr",
)  # fmt: skip

#: Angles of the grid [deg]: where model airplanes fly, knife-edge included.
_ALPHAS = (-6.0, -2.0, 2.0, 6.0, 10.0)
_BETAS = (7.0, 14.0, 22.0)
_IN_SIDESLIP = (-1.0, 4.0)
_DEFLECTION = 8.0
_RUDDERS = (-16.0, 16.0)
#: Rates of the grid, p b/2V and alike.
_RATE = 0.04


@dataclass(frozen=True)
class Fit:
    """Terms fitted to loads.

    Attributes
    ----------
    shares : array (terms, components)
        In the order of TERMS; their sum over the components is the value of the term.
    residual : dict
        Coefficient -> root mean square of what the terms leave, over that of the loads.
    """

    shares: np.ndarray
    residual: dict[str, float]


def grid(airframe: Airframe) -> Conditions:
    """Flow and deflections that tell the terms apart; sideslip from the right only, the left mirrors it."""
    rows: list[dict[str, float]] = []
    d = math.radians(_DEFLECTION)
    for alpha in map(math.radians, _ALPHAS):
        at = {"alpha": alpha}
        rows += [at, at | {"qhat": _RATE}, at | {"qhat": -_RATE}]
        rows += [at | {"phat": _RATE}, at | {"rhat": _RATE}, at | {"da": d}, at | {"dr": d}]
        rows += [at | {"de": d}, at | {"de": -d}, at | {"ds": d}, at | {"ds": -d}]
        rows += [at | {"da": d, "ds": 0.5 * d}, at | {"da": d, "ds": -0.5 * d}]
        if airframe.controls.flap is not None:
            rows += [at | {"df": d}, at | {"df": 2.0 * d}]
    for beta in map(math.radians, _BETAS):
        for alpha in map(math.radians, _IN_SIDESLIP):
            at = {"alpha": alpha, "beta": beta}
            rows += [at, *(at | {"dr": math.radians(dr)} for dr in _RUDDERS)]
    names = [field.name for field in fields(Conditions)]
    return Conditions(**{name: np.array([row.get(name, 0.0) for row in rows]) for name in names})


def fit_terms(conditions: Conditions, loads: Loads, efficiency: Mapping[str, float]) -> Fit:
    """Least squares of the fitted terms, coefficient by coefficient and component by component.

    Parameters
    ----------
    conditions : Conditions
    loads : Loads
        Of all components under these conditions.
    efficiency : mapping of float
        Dynamic pressure at a component over that of the free flow; 1 if not given.
    """
    names = [field.name for field in fields(Conditions)]
    factor = dict(zip(names, conditions.table().T, strict=True))
    wind = loads.wind * np.array([efficiency.get(name, 1.0) for name in loads.components])[:, None]
    shares, residual = np.zeros((len(TERMS), len(loads.components))), {}
    for coefficient in ("CL", "CY", "Cl", "Cm", "Cn"):
        terms = [i for i, term in enumerate(TERMS) if term.coefficient == coefficient and term.name in FITTED]
        columns = np.stack([_product(TERMS[i].factors, factor) for i in terms], axis=1)
        used = np.any(columns != 0.0, axis=0)
        y = wind[:, :, COEFFICIENTS.index(coefficient)]
        found = np.linalg.lstsq(columns[:, used], y, rcond=None)[0]
        shares[np.array(terms)[used]] = found
        left = (y - columns[:, used] @ found).sum(axis=1)
        residual[coefficient] = float(np.sqrt(np.mean(left**2) / max(np.mean(y.sum(axis=1) ** 2), 1e-30)))
        if coefficient == "CL":
            value = shares.sum(axis=1)
            factor["CL"] = sum(
                value[i] * _product(TERMS[i].factors, factor)
                for i in terms
                if "hat" not in "".join(TERMS[i].factors)
            )
    return Fit(shares, residual)


def _product(factors: tuple[str, ...], value: Mapping[str, np.ndarray]) -> np.ndarray:
    out = np.ones_like(value["alpha"])
    for name in factors:
        out = out * value[name]
    return out


def row(name: str) -> int:
    """Place of a term in the table."""
    return TERM_NAMES.index(name)

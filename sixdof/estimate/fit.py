"""The term table fitted to the loads of surfaces and body over a grid of flow and deflections.

Every component is fitted by the same least squares, so that what a component contributes to a term
(its share) adds up to the term.  Only terms that the symmetry of the airplane allows are fitted to the
grid; those of an airplane that is not straight (CY0, Cl0, Cn0) come by themselves, per angle that a surface
stands off (:func:`fit_rigging`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.estimate.lattice import COEFFICIENTS, Conditions, Lattice, Loads, solve
from sixdof.physics.terms import TERM_NAMES, TERMS

__all__ = ["FITTED", "RIGGING", "Fit", "fit_rigging", "fit_terms", "grid"]

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

#: What may be built otherwise than drawn, an angle each of :class:`sixdof.estimate.lattice.Conditions`, and
#: the coefficients that it moves.
RIGGING: dict[str, tuple[str, ...]] = {
    "split": ("CY", "Cl", "Cn"),
    "twist": ("CY", "Cl", "Cn"),
    "wing": ("CL", "Cm"),
    "tailplane": ("CL", "Cm"),
    "fin": ("CY", "Cl", "Cn"),
}
#: Angles of attack about those of knife-edge and level flight, and how far a surface stands off there [deg].
#: From -6 to 10 deg all changes little but side force and yaw of a twisted wing, which are small.
_FLOWN, _OFF = (-2.0, 2.0), 1.0


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


def fit_rigging(
    lattice: Lattice, efficiency: Mapping[str, float], effectiveness: Mapping[str, float]
) -> np.ndarray:
    """What a surface that stands off its angle does to the constant terms, CL0 to Cn0, per rad.

    Parameters
    ----------
    lattice : Lattice
    efficiency : mapping of float
        As of :func:`fit_terms`.
    effectiveness : mapping of float
        As of :func:`sixdof.estimate.lattice.solve`.

    Returns
    -------
    array (RIGGING, terms, components)
        Shares, in the order of TERMS; zero but for the constant terms.
    """
    alpha = np.tile(np.radians(_FLOWN), 2)
    off = math.radians(_OFF) * np.sign(np.arange(4) - 1.5)
    rows = np.kron(np.eye(len(RIGGING)), off)  # one angle at a time, one way and the other
    conditions = Conditions(np.tile(alpha, len(RIGGING)), **dict(zip(RIGGING, rows, strict=True)))
    wind = solve(lattice, conditions, effectiveness=effectiveness).wind
    wind = wind * np.array([efficiency.get(name, 1.0) for name in lattice.components])[:, None]
    per_rad = np.einsum("ascw,s->acw", wind.reshape(len(RIGGING), 4, -1, 6), off) / np.sum(off**2)
    shares = np.zeros((len(RIGGING), len(TERMS), len(lattice.components)))
    for i, coefficients in enumerate(RIGGING.values()):
        for coefficient in coefficients:
            shares[i, TERM_NAMES.index(f"{coefficient}0")] = per_rad[i, :, COEFFICIENTS.index(coefficient)]
    return shares


def _product(factors: tuple[str, ...], value: Mapping[str, np.ndarray]) -> np.ndarray:
    out = np.ones_like(value["alpha"])
    for name in factors:
        out = out * value[name]
    return out

"""How an estimate, values that a file states and a change make one set of derivatives."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from sixdof.airframe.derivatives import StatedDerivatives
from sixdof.airframe.model import Airframe
from sixdof.estimate.assemble import from_geometry
from sixdof.estimate.derivatives import NAMES, Derivatives
from sixdof.physics.air import G0, RHO0
from sixdof.physics.terms import SHAPE, TERM_NAMES

__all__ = ["estimate_derivatives", "layer"]


def estimate_derivatives(airframe: Airframe, *, as_filed: Airframe | None = None) -> Derivatives:
    """Derivatives of an airframe: from its geometry, and what its file states in their place.

    Parameters
    ----------
    airframe : Airframe
    as_filed : Airframe, optional
        The airplane as its file has it, where ``airframe`` is that with something changed; default
        ``airframe.as_filed``.  What the file states then moves as the estimate does.
    """
    given, as_filed = airframe.derivatives, as_filed or airframe.as_filed
    if given is None:
        return from_geometry(airframe)
    if as_filed is not None:
        estimate, at_file = from_geometry(airframe), from_geometry(as_filed)
    else:
        estimate, at_file = _nothing(airframe) if given.complete else from_geometry(airframe), None
    stream = _stream_at_cruise(airframe, at_file or estimate) if given.power == "cruise" else 0.0
    return layer(estimate, given, at_file, stream=stream)


def layer(
    estimate: Derivatives, given: StatedDerivatives, at_file: Derivatives | None, *, stream: float = 0.0
) -> Derivatives:
    """Stated values laid over an estimate: estimate + (stated - estimate at the file's own geometry).

    Parameters
    ----------
    estimate : Derivatives
        Of the airplane as it is now.
    given : Derivatives of the file
        With ``complete``, terms that it does not list count as stated to be zero.
    at_file : Derivatives or None
        The estimate at the file's own geometry; None if that is the same.
    stream : float
        Dynamic pressure of the slipstream beyond that of the free flow, over the latter, when the stated
        values were taken; it is removed from them, since flights add it again.
    """
    base = at_file or estimate
    stated = {name: entry.value for name, entry in given.values.items()}
    if stream:
        stated = _power_off(stated, base, stream)
    if given.complete:
        default = dict.fromkeys(TERM_NAMES, 0.0) | {name: value for name, (value, _) in SHAPE.items()}
        stated = default | stated
    value, source = estimate.value.copy(), list(estimate.source)
    doubt = np.hstack((estimate.doubt, np.zeros((len(NAMES), len(given.values)))))
    shares = np.hstack((estimate.shares, np.zeros((len(NAMES), 1))))
    for name, number in stated.items():
        row = NAMES.index(name)
        shares[row, -1] = number - base.value[row]
        value[row] += shares[row, -1]
        doubt[row] = 0.0
        entry = given.values.get(name)
        source[row] = (entry.source if entry else None) or (given.source if entry else "not given")
    for column, (name, entry) in enumerate(given.values.items(), start=estimate.doubt.shape[1]):
        doubt[NAMES.index(name), column] = entry.sigma or 0.0
    return Derivatives(
        value, doubt, (*estimate.errors, *(f"{name} as stated" for name in given.values)), tuple(source),
        (*estimate.components, "as stated"), shares, estimate.residual,
        estimate.S, estimate.b, estimate.c, estimate.point, estimate.remarks,
    )  # fmt: skip


def _nothing(airframe: Airframe) -> Derivatives:
    """All zero, in the reference of the file: what a complete set is laid over."""
    ref, n = airframe.reference, len(NAMES)
    return Derivatives(
        np.zeros(n), np.zeros((n, 0)), (), ("not given",) * n, (), np.zeros((n, 0)), {},
        ref.area, ref.span, ref.chord, ref.point,
    )  # fmt: skip


def _stream_at_cruise(airframe: Airframe, known: Derivatives) -> float:
    """(q_s - q)/q in level cruise, where thrust is drag: momentum theory, T/(q A)."""
    q = 0.5 * RHO0 * airframe.speeds.cruise**2
    CL = airframe.mass.m * G0 / (q * known.S)
    stated = airframe.derivatives.values if airframe.derivatives else {}
    CD0, CDk = (stated[name].value if name in stated else known[name] for name in ("CD0", "CDk"))
    return (CD0 + CDk * CL**2) * known.S / (0.25 * math.pi * airframe.propeller.diameter**2)


def _power_off(stated: Mapping[str, float], base: Derivatives, stream: float) -> dict[str, float]:
    """Stated values less what the slipstream adds to them (the sums of :mod:`sixdof.physics.aero`, small angles)."""

    def of(name: str) -> float:
        return stated.get(name, base[name])

    tail, fin = stream * of("immersion_tailplane"), stream * of("immersion_fin")
    straighter = (math.sqrt(1.0 + stream) - 1.0) / stream  # angles of the flow count less than deflections
    out = dict(stated)
    for name in ("CLde", "Cmde"):
        if name in out:
            out[name] /= 1.0 + tail
    for name in ("CYdr", "Cldr", "Cndr"):
        if name in out:
            out[name] /= 1.0 + fin
    for axis in ("CL", "Cm"):
        if axis + "a" in out:
            de = out.get(axis + "de", base[axis + "de"])
            out[axis + "a"] -= straighter * tail * de * of("tail_alpha") / of("tau_elevator")
    for axis in ("CY", "Cl", "Cn"):
        if axis + "b" in out:
            out[axis + "b"] += straighter * fin * out.get(axis + "dr", base[axis + "dr"]) / of("tau_rudder")
    return out

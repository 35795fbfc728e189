"""What pitches an airplane in steady flight, component by component: "what makes it tuck?"."""

from __future__ import annotations

import math

import numpy as np

from sixdof.estimate.derivatives import NAMES, Derivatives
from sixdof.flight.trim import Trim
from sixdof.physics.aero import aerodynamics
from sixdof.physics.air import density, make_air
from sixdof.physics.propulsion import propeller
from sixdof.physics.terms import TERMS

__all__ = ["pitch_budget"]

#: What the terms do not hold: parts of it, each what a plane without these numbers lacks ...
_POWER: dict[str, tuple[str, ...]] = {
    "swirl on the tailplane": ("swirl_tailplane",),
    "propeller in crossflow": ("prop_crossflow_force", "prop_crossflow_moment"),
}
#: ... and the name of the rest.
REST = "thrust line and slipstream"


def pitch_budget(plane: np.void, known: Derivatives, steady: Trim, level: Trim) -> dict[str, float]:
    """What a steady flight takes more of than level flight, component by component.

    Parameters
    ----------
    plane : record
        Packed from ``known``.
    known : Derivatives
    steady, level : Trim
        A steady flight of that plane, and the level one it is trimmed for.

    Returns
    -------
    dict
        Component -> share of full up elevator that holds against it: positive where the component
        pulls toward the belly.  They add up to the elevator that is held.
    """
    now, before = (_needs(plane, known, flight) for flight in (steady, level))
    return {name: value - before[name] for name, value in now.items()}


def _needs(plane: np.void, known: Derivatives, steady: Trim) -> dict[str, float]:
    """Up elevator, trim included, that each component asks for about the CG."""
    U, V, W = steady.state[3:6]
    ail_right, ail_left, de, dr = steady.state[13:17]
    factor = {
        "alpha": math.atan2(W, U),
        "beta": math.atan2(V, math.hypot(U, W)),
        "da": _soften(0.5 * (ail_right - ail_left), plane["saturation_aileron"]),
        "ds": 0.5 * (ail_right + ail_left),
        "dr": _soften(dr, plane["saturation_rudder"]),
    }
    arm = float(plane["ref_x"] / plane["c"])  # of the lift ahead of the CG
    power = float(plane["Cmde"]) + arm * float(plane["CLde"])
    full = power * _soften(-plane["elevator_up"], plane["saturation_elevator"])
    out = dict.fromkeys(known.components, 0.0)
    for term in TERMS:
        if term.coefficient not in ("CL", "Cm") or "de" in term.factors:
            continue
        product = math.prod(factor.get(name, 0.0) for name in term.factors)
        product *= 1.0 if term.coefficient == "Cm" else arm
        for component, part in zip(known.components, known.shares[NAMES.index(term.name)], strict=True):
            out[component] -= part * product / full
    out |= {name: -part / full for name, part in _of_power(plane, steady).items()}
    out[REST] = power * _soften(de, plane["saturation_elevator"]) / full - sum(out.values())
    return out


def _of_power(plane: np.void, steady: Trim) -> dict[str, float]:
    """Pitching moment coefficients about the CG of the parts of :data:`_POWER`."""
    rho = float(density(make_air(), -steady.state[2]))
    u, v, w = steady.state[3:6]
    rates, surfaces = steady.state[10:13], steady.state[13:18]

    def moment(*missing: str) -> float:
        other = plane.copy()
        for name in missing:
            other[name] = 0.0
        pull = propeller(other, rho, u, v, w, *rates, steady.state[18], steady.targets[5])
        return float(pull[4] + aerodynamics(other, rho, u, v, w, *rates, *surfaces, *pull[7:9])[4])

    per = 0.5 * rho * steady.speed**2 * float(plane["S"] * plane["c"])
    return {name: (moment() - moment(*numbers)) / per for name, numbers in _POWER.items()}


def _soften(deflection: float, saturation: float) -> float:
    return float(deflection / math.sqrt(1.0 + (deflection / saturation) ** 2))

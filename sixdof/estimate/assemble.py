"""Derivatives from what was measured: surfaces, body, drag, stall, slipstream and propeller put together."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple, cast

import numpy as np
from threadpoolctl import threadpool_limits

from sixdof.airframe.derivatives import Reference
from sixdof.airframe.geometry import Fin, Station, Surface, Ventral
from sixdof.airframe.model import Airframe, Controls, Speeds
from sixdof.estimate.body import body_parts, fin_in_sideslip
from sixdof.estimate.derivatives import Derivatives
from sixdof.estimate.doubt import NAMES, OF_TERMS, moves
from sixdof.estimate.drag import DOUBT, aileron_yaw, broadside, control_drag, drag_build_up, induced_factor
from sixdof.estimate.fit import RIGGING, Fit, fit_rigging, fit_terms, grid
from sixdof.estimate.interference import without_interference
from sixdof.estimate.lattice import Conditions, Lattice, Loads, lattice_of, solve
from sixdof.estimate.panels import sheets_of
from sixdof.estimate.passes import drag_from_passes
from sixdof.estimate.propeller import estimate_propeller
from sixdof.estimate.section import (
    FLAP_SMALL,
    GAP,
    SATURATION,
    SectionData,
    section,
    stall_angles,
    wing_cl_max,
)
from sixdof.estimate.stream import stream_shape
from sixdof.physics.air import G0, RHO0
from sixdof.physics.terms import SHAPE, TERM_NAMES

__all__ = ["from_geometry"]

#: Dynamic pressure at tailplane and fin over that of the free flow, behind wing and body; common practice, no
#: source (0.85 to 1).  With .95 pitch damping, elevator and stiffness of two light airplanes came out a tenth
#: too large (Navion; Roskam, airplane A).
_TAILPLANE, _FIN = 0.90, 0.95
#: Viscosity of air [m2/s] at 15 C at sea level, standard atmosphere (from memory).
_NU = 1.461e-5
#: Pitch from sideslip that no method gives, what fin and tailplane do to each other included
#: (:mod:`sixdof.estimate.interference`): most models tuck in knife-edge and need 2 to 6 % of up elevator at full rudder
#: (common practice, no source); with it the demos need 3 % in the mean of both sides.
_TUCK = -0.12
#: Range beyond the stall and in sideslip where the terms still describe the airplane [rad].
_PAST_STALL, _BETA = math.radians(5.0), math.radians(32.0)
#: Share of the propeller's torque that wing and tail take back, and of its swirl that is left at the
#: fin; perhaps a half each, no source.
_TORQUE_BACK, _SWIRL = 0.5, 0.5

_LATTICE = "vortex lattice"
_SOURCES = {
    "CLad": "downwash lag", "Cmad": "downwash lag",
    "CD0": "drag build-up", "CDk": "span and friction", "CDb2": "vortex lattice, crossflow",
    "CDda2": "plain flaps (R&M 2622)", "CDde2": "plain flaps (R&M 2622)", "CDdr2": "plain flaps (R&M 2622)",
    "CDdf": "plain flaps (R&M 2622)", "Cmb2": "vortex lattice, and the usual tuck of models in knife-edge (common practice, no source)",
    "Cndads": "vortex lattice, plain flaps (R&M 2622)", "alpha_stall": "section data by Reynolds number", "alpha_plate": "section data by Reynolds number",
    "CD90": "flat plate (NASA CP-2230)", "alpha_min": "stall", "alpha_max": "stall", "beta_max": "usual",
    "CLmind": "camber",
    **{name: "plain flaps (DATCOM 6.1.1.1)" for name in SHAPE if name.startswith("saturation")},
    **{name: "slipstream geometry" for name in ("immersion_tailplane", "immersion_fin", "immersion_angle",
                                                "stream_lift", "stream_alpha0", "stream_arm")},
    **{name: _LATTICE for name in ("tau_elevator", "tau_rudder", "tail_alpha0", "tail_alpha")},
    **{name: "measured" for name in ("fin_arm", "tail_arm")},
    "swirl_recovered": "a half, no source", "torque_recovered": "a half, no source",
}  # fmt: skip


class _Shape(NamedTuple):
    """All that the loads on surfaces and body depend on; of an airframe, under the same names."""

    wing: Surface
    tailplane: Surface
    fin: Fin
    ventral: Ventral | None
    body: tuple[Station, ...]
    controls: Controls
    speeds: Speeds
    reference: Reference


@lru_cache(maxsize=64)
def _fitted(shape: _Shape) -> tuple[dict[str, SectionData], Lattice, Conditions, Loads, Fit, np.ndarray]:
    """Sections, lattice, and the terms fitted to the loads, those of surfaces off their angle too; cached, so that
    weight or power alone costs no lattice."""
    airframe = cast(Airframe, shape)  # it reads nothing else of one
    ref, V = airframe.reference, airframe.speeds.cruise
    S, b, c, point = ref.area, ref.span, ref.chord, ref.point
    surfaces = {"wing": airframe.wing, "tailplane": airframe.tailplane, "fin": airframe.fin}
    if airframe.ventral is not None:
        surfaces["ventral"] = airframe.ventral
    data = {
        name: section(s.section.thickness, s.section.camber, V * s.mean_chord / _NU)
        for name, s in surfaces.items()
    }
    sheets = sheets_of(
        airframe, chordwise=5, spanwise=16, section_slope={name: d.slope for name, d in data.items()}
    )
    controls = airframe.controls
    left = {
        name: FLAP_SMALL * (GAP[name] if getattr(controls, name).gap == "open" else 1.0)
        for name in ("aileron", "elevator", "rudder", "flap")
        if getattr(controls, name) is not None
    }
    conditions = grid(airframe)
    lattice = lattice_of(sheets, S=S, b=b, c=c, point=point)
    loads = without_interference(lattice, conditions, solve(lattice, conditions, effectiveness=left))
    parts = body_parts(airframe, conditions, S=S, b=b, c=c, point=point)
    body = np.stack((parts["pitch"] + parts["yaw"], parts["crossflow"], parts["roll"]), axis=1)
    loads = Loads(
        (*loads.components, "body", "crossflow", "wing on body"),
        np.concatenate((loads.body, body), axis=1), loads.alpha, loads.beta, loads.circulation,
    )  # fmt: skip
    efficiency = {"tailplane": _TAILPLANE, "fin": _FIN, "ventral": _FIN}
    fit = fit_terms(conditions, loads, efficiency)
    return data, lattice, conditions, loads, fit, fit_rigging(lattice, efficiency, left)


@threadpool_limits.wrap(limits=1, user_api="blas")
def from_geometry(airframe: Airframe) -> Derivatives:
    """All terms and shape parameters of an airframe from its measurements alone.

    About `Airframe.reference`, at its cruise speed near the sea, power off.

    Returns
    -------
    Derivatives
    """
    ref, V = airframe.reference, airframe.speeds.cruise
    S, b, c, point = ref.area, ref.span, ref.chord, ref.point
    wing, tail = airframe.wing, airframe.tailplane
    shape_of = {field: getattr(airframe, field) for field in _Shape._fields}
    data, lattice, conditions, loads, fit, rigging = _fitted(_Shape(**shape_of))

    components = (*loads.components, "usual tuck", "rest")
    shares = np.zeros((len(NAMES), len(components)))
    shares[: len(TERM_NAMES), : len(loads.components)] = fit.shares
    place = {name: i for i, name in enumerate(NAMES)}
    column = {name: i for i, name in enumerate(components)}
    shares[place["Cmb2"], column["usual tuck"]] = _TUCK
    for name in ("CYb", "CYb3", "Clb", "Clba", "Cnb", "Cnb3"):  # sidewash: the fin alone feels it
        shares[place[name], column["fin"]] *= fin_in_sideslip(airframe) / _FIN

    # the tailplane by itself: how much of the angle of attack the downwash leaves
    step = math.radians(2.0)
    low, high = solve(lattice.part("tailplane"), Conditions(alpha=np.array([-step, step]))).total[:, 0]
    slope = _TAILPLANE * (high - low) / (2.0 * step)
    tail_alpha = shares[place["CLa"], column["tailplane"]] / slope
    behind = point[0] - tail.quarter_chord[0]
    lag = 2.0 * slope * (1.0 - tail_alpha) * behind / c
    shares[place["CLad"], column["tailplane"]] = lag
    shares[place["Cmad"], column["tailplane"]] = -lag * behind / c

    drag = drag_build_up(airframe, S=S, rho=RHO0, V=V)
    for name, part in drag.items():
        shares[place["CD0"], column[name]] = part
    shares[place["CDk"], column["wing"]] = CDk = induced_factor(airframe, sum(drag.values()))
    scale, drag_sigma, remarks = _least_drag(airframe, sum(drag.values()), CDk, S)
    shares[place["CD0"]] *= scale
    shares[place["CDb2"]] = _sideslip_drag(conditions, loads, len(components))
    shares[place["Cndads"], column["wing"]] += aileron_yaw(airframe, S=S, b=b)
    for name, value in control_drag(airframe, S=S).items():
        home = {"aileron": "wing", "elevator": "tailplane", "rudder": "fin", "flap": "wing"}[name]
        if name == "flap":  # linear in the deflection, right at the full one
            value *= max(rate.flap.down for rate in airframe.rates.values())
        shares[
            place[{"aileron": "CDda2", "elevator": "CDde2", "rudder": "CDdr2", "flap": "CDdf"}[name]],
            column[home],
        ] = value

    propeller = estimate_propeller(airframe.propeller, airframe.motor)
    value = shares.sum(axis=1)
    term = dict(zip(NAMES, value, strict=True))
    A = wing.span**2 / wing.area
    CD90, CLmax = broadside(A), wing_cl_max(data["wing"].cl_max, _sweep(airframe))
    if term["CL0"] >= CLmax:
        bent = -data["wing"].zero_lift > abs(wing.incidence)  # its camber lifts more than its incidence
        raise airframe.blame(
            f"lift coefficient {term['CL0']:.2f} at zero angle of attack, {CLmax:.2f} is where the wing stalls; "
            "check its incidence and camber",
            *(("wing", "section") if bent else ("wing", "incidence")),
        )
    stall, plate = stall_angles(CLmax, CL0=term["CL0"], CLa=term["CLa"], CD90=CD90)
    fin = shares[place["CYb"], column["fin"]]
    shape = {
        "CLmind": 0.5 * term["CL0"], "alpha_stall": stall, "alpha_plate": plate, "CD90": CD90,
        "alpha_min": -stall - _PAST_STALL, "alpha_max": stall + _PAST_STALL, "beta_max": _BETA,
        "saturation_aileron": SATURATION, "saturation_elevator": SATURATION, "saturation_rudder": SATURATION,
        "tau_elevator": shares[place["CLde"], column["tailplane"]] / slope,
        "tau_rudder": shares[place["CYdr"], column["fin"]] / max(-fin, 1e-6),
        "tail_alpha0": shares[place["CL0"], column["tailplane"]] / slope, "tail_alpha": tail_alpha,
        "fin_arm": point[0] - airframe.fin.quarter_chord[0], "tail_arm": behind,
        "swirl_recovered": _SWIRL, "torque_recovered": _TORQUE_BACK,
        "prop_crossflow_force": propeller.crossflow_force,
        "prop_crossflow_moment": propeller.crossflow_moment,
        **stream_shape(airframe, zero_lift=data["wing"].zero_lift, slope=data["wing"].slope, S=S),
    }  # fmt: skip
    timed = {"CD0": "drag build-up, and passes timed at full throttle"} if scale != 1.0 else {}
    blade = {f"prop_{item}": propeller.source[item] for item in ("crossflow_force", "crossflow_moment")}
    source = [(_SOURCES | blade | timed).get(name, _LATTICE) for name in NAMES]
    for name, (default, _) in SHAPE.items():
        value[place[name]] = shape.get(name, default)
    measured = {"CD0": drag_sigma} | {
        f"prop_{item}": propeller.sigma[item] for item in ("crossflow_force", "crossflow_moment")
    }
    built = _as_built(rigging, lattice.components, slope=slope, fin=fin)
    doubt = moves(value, shares, components, built=built, measured=measured)
    return Derivatives(
        value, doubt, tuple(e.name for e in OF_TERMS), tuple(source), components, shares, fit.residual,
        S, b, c, point, remarks,
    )  # fmt: skip


def _as_built(rigging: np.ndarray, components: tuple[str, ...], *, slope: float, fin: float) -> np.ndarray:
    """What each angle that a surface stands off does to terms and shape parameters, array (RIGGING, n) [1/rad].

    slope : lift slope of the tailplane by itself; fin : side force of the fin by sideslip, negative.
    """
    out = np.zeros((len(RIGGING), len(NAMES)))
    out[:, : len(TERM_NAMES)] = rigging.sum(axis=2)
    place = {name: i for i, name in enumerate(NAMES)}
    out[:, place["CLmind"]] = 0.5 * out[:, place["CL0"]]
    out[:, place["tail_alpha0"]] = rigging[:, place["CL0"], components.index("tailplane")] / slope
    out[:, place["fin_beta0"]] = rigging[:, place["CY0"], components.index("fin")] / min(fin, -1e-6)
    out[list(RIGGING).index("wing"), place["stream_alpha0"]] = 1.0
    return out


def _least_drag(
    airframe: Airframe, built: float, CDk: float, S: float
) -> tuple[float, float, tuple[str, ...]]:
    """Factor on the drag that was built up, its relative doubt, and remarks: the build-up and what timed
    passes say, each by its weight."""
    V = airframe.speeds.full_throttle
    if V is None:
        return 1.0, DOUBT, ()
    mass = (airframe.as_filed or airframe).mass  # whose passes were timed
    CL = mass.m * G0 / (0.5 * RHO0 * V * V * S)
    passes = drag_from_passes(airframe, S=S, lift_drag=CDk * CL**2)
    doubted = (
        f"speeds.full_throttle: {V:.1f} m/s does not go with the propeller and a drag coefficient of about {built:.3f}; "
        "check the static speed, diameter and pitch, or time the passes again"
    )
    if passes is None:
        return 1.0, DOUBT, (doubted,)
    CD0, sigma = passes
    weight = DOUBT**2 / (DOUBT**2 + sigma**2)
    odd = abs(math.log(CD0 / built)) > 2.5 * math.hypot(DOUBT, sigma)
    return (CD0 / built) ** weight, DOUBT * math.sqrt(1.0 - weight), (doubted,) if odd else ()


def _sideslip_drag(conditions: Conditions, loads: Loads, width: int) -> np.ndarray:
    """CDb2 by component: drag in sideslip beyond that without, controls centered.

    Side forces have no part in it (they are along body y).
    """
    table = conditions.table()
    centered = ~table[:, 2:].any(axis=1)
    straight, aside = centered & (loads.beta == 0.0), centered & (loads.beta > 0.0)
    CD = loads.wind[..., 1]
    alpha = loads.alpha
    order = np.argsort(alpha[straight])
    out = np.zeros(width)
    for i in range(len(loads.components)):
        base = np.interp(alpha[aside], alpha[straight][order], CD[straight, i][order])
        b2 = loads.beta[aside] ** 2
        out[i] = float(np.sum((CD[aside, i] - base) * b2) / np.sum(b2**2))
    return out


def _sweep(airframe: Airframe) -> float:
    """Sweep of the quarter line of the wing [rad]."""
    panels = airframe.wing.panels
    back = sum(p.sweep + 0.25 * (p.tip_chord - p.root_chord) for p in panels)
    return math.atan2(back, 0.5 * airframe.wing.span)

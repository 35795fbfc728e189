"""Derivatives from what was measured: surfaces, body, drag, stall, slipstream and propeller put together."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
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
from sixdof.estimate.fin import FIN_IN_PITCH, fin_in_pitch
from sixdof.estimate.fit import RIGGING, Fit, fit_rigging, fit_terms, grid
from sixdof.estimate.interference import without_interference
from sixdof.estimate.lattice import Conditions, Lattice, Loads, lattice_of, solve
from sixdof.estimate.panels import sheets_of
from sixdof.estimate.passes import drag_from_passes
from sixdof.estimate.propeller import PropellerEstimate, estimate_propeller
from sixdof.estimate.section import (
    FLAP_SMALL,
    GAP,
    SATURATION,
    SectionData,
    section,
    stall_angles,
    wing_cl_max,
)
from sixdof.estimate.stream import stream_shape, tail_in_stream
from sixdof.physics.air import G0, RHO0
from sixdof.physics.terms import SHAPE, TERM_NAMES

__all__ = ["from_geometry"]

#: Dynamic pressure at tailplane and fin over that of the free flow, behind wing and body.  The tailplane's is the usual
#: one of Raymer's .85 to .95 (16.3, from memory); with .95 pitch damping, elevator and stiffness of two light airplanes
#: came out a tenth too large (Navion; Roskam, airplane A).  The fin's: common practice, no source.
_TAILPLANE, _FIN = 0.90, 0.95
#: Viscosity of air [m2/s] at 15 C at sea level, standard atmosphere (from memory).
_NU = 1.461e-5
#: Range beyond the stall and in sideslip where the terms still describe the airplane [rad].
_PAST_STALL, _BETA = math.radians(5.0), math.radians(32.0)
#: Share of the propeller's torque that wing and tail take back, and of its swirl that is left at the
#: tail; perhaps a half each, no source.
_TORQUE_BACK, _SWIRL = 0.5, 0.5
#: One standard deviation of the downwash over the angle of attack.  DATCOM 4.4.1 and our lattice differ by .02 to .08
#: behind plain wings; the wake that sinks with the downwash, which ours does not, leaves .02 to .03 less of it to a
#: tailplane below the wing and .03 to .05 more to one above (computed).
_DOWNWASH = 0.06
#: Angle of attack [rad] either way that tells what the tailplane does by itself.
_STEP = math.radians(2.0)

#: Where the drag of each control is booked.
_CONTROL_DRAG: dict[str, tuple[str, str]] = {
    "aileron": ("CDda2", "wing"), "elevator": ("CDde2", "tailplane"), "rudder": ("CDdr2", "fin"), "flap": ("CDdf", "wing"),
}  # fmt: skip
_LATTICE = "vortex lattice"
_SOURCES = {
    "CLad": "downwash lag", "Cmad": "downwash lag",
    "CD0": "drag build-up", "CDk": "span and friction", "CDb2": "vortex lattice, crossflow, suction of the fin",
    "CDda2": "plain flaps (R&M 2622)", "CDde2": "plain flaps (R&M 2622)", "CDdr2": "plain flaps (R&M 2622)",
    "CDdf": "plain flaps (R&M 2622)", "CDbdr": "suction and induced drag of the fin",
    **dict.fromkeys(("Cmb2", "Cmbdr", "Cmdr2"), "vortex lattice, suction and drag of the fin"),
    "Cmb2": "vortex lattice, suction and drag of the fin",
    "Cndads": "vortex lattice, plain flaps (R&M 2622)", "alpha_stall": "section data by Reynolds number", "alpha_plate": "section data by Reynolds number",
    "CD90": "flat plate (NASA CP-2230)", "alpha_min": "stall", "alpha_max": "stall", "beta_max": "usual",
    "CLmind": "camber",
    **{name: "plain flaps (DATCOM 6.1.1.1)" for name in SHAPE if name.startswith("saturation")},
    **{name: "slipstream geometry" for name in ("immersion_tailplane", "immersion_fin", "immersion_angle",
                                                "stream_lift", "stream_alpha0", "stream_arm", "stream_half_width", "tail_half_span")},
    **{name: "measured" for name in ("fin_arm", "tail_arm")},
    **dict.fromkeys(("swirl_recovered", "swirl_tailplane", "torque_recovered"), "a half, no source"),
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


class _Fitted(NamedTuple):
    """What the loads say, before anything depends on weight or power."""

    data: dict[str, SectionData]
    lattice: Lattice
    conditions: Conditions
    loads: Loads
    fit: Fit
    rigging: np.ndarray
    tail_slope: float
    """Lift slope of the tailplane by itself."""
    tail_load: tuple[np.ndarray, np.ndarray]
    """Middles of its strips [m], and the lift of each by angle of attack over its width."""


@dataclass(frozen=True)
class _Book:
    """Terms by component, as they are built up.

    Attributes
    ----------
    components : tuple of str
    shares : array (NAMES, components)
    """

    components: tuple[str, ...]
    shares: np.ndarray

    def of(self, term: str, component: str) -> float:
        return float(self.shares[NAMES.index(term), self.components.index(component)])

    def add(self, term: str, component: str, value: float) -> None:
        self.shares[NAMES.index(term), self.components.index(component)] += value

    def scale(self, term: str, factor: float, component: str | None = None) -> None:
        column = slice(None) if component is None else self.components.index(component)
        self.shares[NAMES.index(term), column] *= factor


@lru_cache(maxsize=64)
def _fitted(shape: _Shape) -> _Fitted:
    """Sections, lattice, and the terms fitted to the loads, those of surfaces off their angle too; known
    already where only weight or power changed."""
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
    left, conditions = _left(airframe.controls), grid(airframe)
    lattice = lattice_of(sheets, S=S, b=b, c=c, point=point)
    loads = without_interference(lattice, conditions, solve(lattice, conditions, effectiveness=left))
    parts = body_parts(airframe, conditions, S=S, b=b, c=c, point=point)
    body = np.stack((parts["pitch"] + parts["yaw"], parts["crossflow"], parts["roll"]), axis=1)
    loads = Loads(
        (*loads.components, "body", "crossflow", "wing on body"),
        np.concatenate((loads.body, body), axis=1), loads.alpha, loads.beta, loads.circulation,
    )  # fmt: skip
    efficiency = {"tailplane": _TAILPLANE, "fin": _FIN, "ventral": _FIN}
    return _Fitted(
        data, lattice, conditions, loads, fit_terms(conditions, loads, efficiency),
        fit_rigging(lattice, efficiency, left), *_tail_alone(lattice),
    )  # fmt: skip


def _left(controls: Controls) -> dict[str, float]:
    """Share of the thin-aerofoil effect that viscosity and gaps leave to each control."""
    return {
        name: FLAP_SMALL * (GAP[name] if getattr(controls, name).gap == "open" else 1.0)
        for name in ("aileron", "elevator", "rudder", "flap")
        if getattr(controls, name) is not None
    }


def _tail_alone(lattice: Lattice) -> tuple[float, tuple[np.ndarray, np.ndarray]]:
    """Lift slope of the tailplane by itself, and its load along the span."""
    tail = lattice.part("tailplane")
    loads = solve(tail, Conditions(alpha=np.array([-_STEP, _STEP])))
    low, high = loads.total[:, 0]
    y, strip = np.unique(np.round(tail.control[:, 1], 9), return_inverse=True)
    load = np.bincount(strip.reshape(-1), loads.circulation[1] - loads.circulation[0])
    return _TAILPLANE * float(high - low) / (2.0 * _STEP), (y, load)


@threadpool_limits.wrap(limits=1, user_api="blas")
def from_geometry(airframe: Airframe) -> Derivatives:
    """All terms and shape parameters of an airframe from its measurements alone.

    About `Airframe.reference`, at its cruise speed near the sea, power off.

    Returns
    -------
    Derivatives
    """
    ref = airframe.reference
    fitted = _fitted(_Shape(**{field: getattr(airframe, field) for field in _Shape._fields}))
    propeller = estimate_propeller(airframe.propeller, airframe.motor)
    components = (*fitted.loads.components, *FIN_IN_PITCH, "rest")
    book = _Book(components, np.zeros((len(NAMES), len(components))))
    book.shares[: len(TERM_NAMES), : len(fitted.loads.components)] = fitted.fit.shares
    _add_sidewash(book, airframe)
    _add_downwash_lag(book, airframe, fitted)
    drag_sigma, timed, remarks = _add_drag(book, airframe, fitted)
    _add_fins(book, airframe)

    value = book.shares.sum(axis=1)
    shape = _shape(airframe, fitted, book, propeller)
    for name, (default, _) in SHAPE.items():
        value[NAMES.index(name)] = shape.get(name, default)
    crossflow = ("crossflow_force", "crossflow_moment")
    blade = {f"prop_{item}": propeller.source[item] for item in crossflow}
    source = tuple((_SOURCES | blade | timed).get(name, _LATTICE) for name in NAMES)
    doubt = moves(
        value, book.shares, components,
        built=_as_built(fitted.rigging, fitted.lattice.components, slope=fitted.tail_slope, fin=book.of("CYb", "fin")),
        measured={"CD0": drag_sigma, "Cma": _DOWNWASH * _behind(airframe) / ref.chord * fitted.tail_slope}
        | {f"prop_{item}": propeller.sigma[item] for item in crossflow},
    )  # fmt: skip
    return Derivatives(
        value, doubt, tuple(e.name for e in OF_TERMS), source, components, book.shares, fitted.fit.residual,
        ref.area, ref.span, ref.chord, ref.point, remarks,
    )  # fmt: skip


def _add_sidewash(book: _Book, airframe: Airframe) -> None:
    """What wing and body leave of sideslip at the fin, which alone feels it."""
    for term in ("CYb", "CYb3", "Clb", "Clba", "Cnb", "Cnb3"):
        book.scale(term, fin_in_sideslip(airframe) / _FIN, "fin")


def _tail_alpha(book: _Book, fitted: _Fitted) -> float:
    """How much of the angle of attack the downwash leaves at the tailplane."""
    return book.of("CLa", "tailplane") / fitted.tail_slope


def _behind(airframe: Airframe) -> float:
    """How far the tailplane stands behind the reference point [m]."""
    return airframe.reference.point[0] - airframe.tailplane.quarter_chord[0]


def _add_downwash_lag(book: _Book, airframe: Airframe, fitted: _Fitted) -> None:
    """Angle-of-attack rate: the tailplane meets the downwash of a moment ago."""
    behind, c = _behind(airframe), airframe.reference.chord
    lag = 2.0 * fitted.tail_slope * (1.0 - _tail_alpha(book, fitted)) * behind / c
    book.add("CLad", "tailplane", lag)
    book.add("Cmad", "tailplane", -lag * behind / c)


def _add_drag(
    book: _Book, airframe: Airframe, fitted: _Fitted
) -> tuple[float, dict[str, str], tuple[str, ...]]:
    """Drag of everything, and what drag yaws; relative doubt of the least drag, its source, and remarks."""
    ref = airframe.reference
    S, b = ref.area, ref.span
    drag = drag_build_up(airframe, S=S, rho=RHO0, V=airframe.speeds.cruise)
    CDk = induced_factor(airframe, sum(drag.values()))
    for name, part in drag.items():
        book.add("CD0", name, part)
    scale, sigma, remarks = _least_drag(airframe, sum(drag.values()), CDk, S)
    book.scale("CD0", scale)
    book.add("CDk", "wing", CDk)
    for name, part in zip(
        fitted.loads.components, _sideslip_drag(fitted.conditions, fitted.loads), strict=True
    ):
        book.add("CDb2", name, part)
    book.add("Cndads", "wing", aileron_yaw(airframe, S=S, b=b))
    _add_profile_yaw(book, fitted.data["wing"])
    controls = control_drag(airframe, S=S)
    if "flap" in controls:  # linear in the deflection, right at the full one
        controls["flap"] *= max(rate.flap.down for rate in airframe.rates.values())
    for name, (term, home) in _CONTROL_DRAG.items():
        if name in controls:
            book.add(term, home, controls[name])
    timed = {"CD0": "drag build-up, and passes timed at full throttle"} if scale != 1.0 else {}
    return sigma, timed, remarks


def _add_profile_yaw(book: _Book, data: SectionData) -> None:
    """Yaw by the profile drag of a wing that rolls by lift: down-going aileron, down-going wing.

    Strip by strip cd = cd_min + k (cl - cl_min)^2: what the lift of a strip grows by costs 2 k (CL - CL_min) times as
    much drag, so a roll by lift yaws the other way by that share of itself.
    """
    CLmin = 0.5 * float(book.shares[NAMES.index("CL0")].sum())
    for roll, yaw, by_lift in (("Clda", "Cnda", "CndaCL"), ("Clp", "Cnp", "CnpCL")):
        share = -2.0 * data.cd_k * book.of(roll, "wing")
        book.add(by_lift, "wing", share)
        book.add(yaw, "wing", -share * CLmin)


def _add_fins(book: _Book, airframe: Airframe) -> None:
    """Suction and induced drag of the fins, and what both and the drag of the rudder pitch."""
    ref = airframe.reference
    for name in ("fin", "ventral") if airframe.ventral is not None else ("fin",):
        own = {term: book.of(term, name) for term in ("CYb", "CYdr", "Clb", "Cldr", "CDdr2")}
        fin = getattr(airframe, name)
        aspect = fin.span**2 / fin.area
        terms = fin_in_pitch(own, area=fin.area, aspect=aspect, S=ref.area, b=ref.span, c=ref.chord)
        for component, parts in terms.items():
            for term, value in parts.items():
                book.add(term, component, value)


def _shape(
    airframe: Airframe, fitted: _Fitted, book: _Book, propeller: PropellerEstimate
) -> dict[str, float]:
    """Shape parameters: stall, throws, tail, slipstream, propeller."""
    wing, data, slope = airframe.wing, fitted.data["wing"], fitted.tail_slope
    term: Mapping[str, float] = dict(zip(NAMES, book.shares.sum(axis=1), strict=True))
    CD90, CLmax = broadside(wing.span**2 / wing.area), wing_cl_max(data.cl_max, _sweep(airframe))
    if term["CL0"] >= CLmax:
        bent = -data.zero_lift > abs(wing.incidence)  # its camber lifts more than its incidence
        raise airframe.blame(
            f"lift coefficient {term['CL0']:.2f} at zero angle of attack, {CLmax:.2f} is where the wing stalls; "
            "check its incidence and camber",
            *(("wing", "section") if bent else ("wing", "incidence")),
        )
    stall, plate = stall_angles(CLmax, CL0=term["CL0"], CLa=term["CLa"], CD90=CD90)
    point = airframe.reference.point
    return {
        "CLmind": 0.5 * term["CL0"], "alpha_stall": stall, "alpha_plate": plate, "CD90": CD90,
        "alpha_min": -stall - _PAST_STALL, "alpha_max": stall + _PAST_STALL, "beta_max": _BETA,
        "saturation_aileron": SATURATION, "saturation_elevator": SATURATION, "saturation_rudder": SATURATION,
        "tau_elevator": book.of("CLde", "tailplane") / slope,
        "tau_rudder": book.of("CYdr", "fin") / max(-book.of("CYb", "fin"), 1e-6),
        "tail_alpha0": book.of("CL0", "tailplane") / slope, "tail_alpha": _tail_alpha(book, fitted),
        "fin_arm": point[0] - airframe.fin.quarter_chord[0],
        "tail_arm": point[0] - airframe.tailplane.quarter_chord[0],
        "swirl_recovered": _SWIRL, "swirl_tailplane": _SWIRL, "torque_recovered": _TORQUE_BACK,
        "prop_crossflow_force": propeller.crossflow_force,
        "prop_crossflow_moment": propeller.crossflow_moment,
        **stream_shape(airframe, zero_lift=data.zero_lift, slope=data.slope, S=airframe.reference.area),
        **tail_in_stream(airframe, *fitted.tail_load),
    }  # fmt: skip


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


def _sideslip_drag(conditions: Conditions, loads: Loads) -> np.ndarray:
    """CDb2 by component: drag in sideslip beyond that without, controls centered.

    Side forces have no part in it (they are along body y).
    """
    table = conditions.table()
    centered = ~table[:, 2:].any(axis=1)
    straight, aside = centered & (loads.beta == 0.0), centered & (loads.beta > 0.0)
    CD = loads.wind[..., 1]
    alpha = loads.alpha
    order = np.argsort(alpha[straight])
    out = np.zeros(len(loads.components))
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

"""The closed list of aerodynamic terms.

One row a term: the coefficient it adds to, its name in files and records, the
factors it multiplies, and what it means.  The table drives the keys of the
aircraft file, the fields of the plane record and (later) the columns of the
fit; the sums in :mod:`sixdof.physics.aero` are written out by hand and a test
holds them to this table.

Factors (angles in rad, surfaces in the ISO 1151 sense: positive deflection
gives a negative moment): ``alpha``, ``beta``, ``phat`` = p b / 2V, ``qhat`` =
q c / 2V, ``rhat`` = r b / 2V, ``alphadot`` = alpha-rate c / 2V, ``da`` aileron
(right minus left trailing edge down, halved), ``ds`` aileron mean (both down),
``de`` elevator, ``dr`` rudder, ``df`` flap, ``CL`` the lift coefficient of the
linear range.
"""

from __future__ import annotations

from typing import NamedTuple


class Term(NamedTuple):
    """One aerodynamic term: ``coefficient += value * product(factors)``."""

    name: str
    coefficient: str
    factors: tuple[str, ...]
    meaning: str


def _t(name: str, coefficient: str, factors: str, meaning: str) -> Term:
    return Term(name, coefficient, tuple(factors.split()), meaning)


TERMS: tuple[Term, ...] = (
    # lift, along the wind axis
    _t("CL0", "CL", "", "lift at zero angle of attack"),
    _t("CLa", "CL", "alpha", "lift slope"),
    _t("CLq", "CL", "qhat", "lift from pitch rate"),
    _t("CLad", "CL", "alphadot", "lift from angle-of-attack rate"),
    _t("CLde", "CL", "de", "lift from elevator"),
    _t("CLdf", "CL", "df", "lift from flap"),
    _t("CLds", "CL", "ds", "lift from both ailerons moving together"),
    # drag, along -V
    _t("CD0", "CD", "", "drag at the least-drag lift"),
    _t("CDk", "CD", "CL-CLmind CL-CLmind", "induced drag, by (CL - CLmind) squared"),
    _t("CDa", "CD", "alpha", "drag by angle of attack, for sets given so"),
    _t("CDa2", "CD", "alpha alpha", "drag by angle of attack squared, for sets given so"),
    _t("CDb2", "CD", "beta beta", "drag from sideslip"),
    _t("CDda2", "CD", "da da", "drag from aileron"),
    _t("CDde", "CD", "de", "drag linear in elevator, for sets given so"),
    _t("CDde2", "CD", "de de", "drag from elevator"),
    _t("CDdr2", "CD", "dr dr", "drag from rudder"),
    _t("CDbdr", "CD", "beta dr", "drag from rudder in sideslip"),
    _t("CDdf", "CD", "df", "drag from flap"),
    # side force, along body y, without the drag component
    _t("CY0", "CY", "", "side force of an airplane that is not straight"),
    _t("CYb", "CY", "beta", "side force from sideslip"),
    _t("CYb3", "CY", "beta beta beta", "side force from sideslip, crossflow on the body"),
    _t("CYp", "CY", "phat", "side force from roll rate"),
    _t("CYr", "CY", "rhat", "side force from yaw rate"),
    _t("CYda", "CY", "da", "side force from aileron"),
    _t("CYdr", "CY", "dr", "side force from rudder"),
    # rolling moment
    _t("Cl0", "Cl", "", "roll of an airplane that is not straight"),
    _t("Clb", "Cl", "beta", "dihedral effect"),
    _t("Clba", "Cl", "beta alpha", "dihedral effect changed by angle of attack"),
    _t("Clp", "Cl", "phat", "roll damping"),
    _t("Clr", "Cl", "rhat", "roll from yaw rate"),
    _t("ClrCL", "Cl", "rhat CL", "roll from yaw rate, grows with lift"),
    _t("Clda", "Cl", "da", "aileron power"),
    _t("Cldr", "Cl", "dr", "roll from rudder"),
    _t("Clbdr", "Cl", "beta dr", "roll from rudder in sideslip, the same for both rudders"),
    _t("Cldr2", "Cl", "dr dr", "roll from rudder, the same for both rudders"),
    # pitching moment
    _t("Cm0", "Cm", "", "pitching moment at zero angle of attack"),
    _t("Cma", "Cm", "alpha", "pitch stiffness"),
    _t("Cmq", "Cm", "qhat", "pitch damping"),
    _t("Cmad", "Cm", "alphadot", "pitch damping from downwash lag"),
    _t("Cmde", "Cm", "de", "elevator power"),
    _t("Cmdf", "Cm", "df", "pitch from flap"),
    _t("Cmds", "Cm", "ds", "pitch from both ailerons moving together"),
    _t("Cmb2", "Cm", "beta beta", "pitch from sideslip, the same for both sides"),
    _t("Cmb4", "Cm", "beta beta beta beta", "pitch from sideslip at large angles"),
    _t("Cmdr2", "Cm", "dr dr", "pitch from rudder, the same for both sides"),
    _t("Cmbdr", "Cm", "beta dr", "pitch from rudder in sideslip"),
    # yawing moment
    _t("Cn0", "Cn", "", "yaw of an airplane that is not straight"),
    _t("Cnb", "Cn", "beta", "weathercock stability"),
    _t("Cnb3", "Cn", "beta beta beta", "weathercock stability at large angles"),
    _t("Cnp", "Cn", "phat", "yaw from roll rate"),
    _t("CnpCL", "Cn", "phat CL", "yaw from roll rate, grows with lift"),
    _t("Cnr", "Cn", "rhat", "yaw damping"),
    _t("Cnda", "Cn", "da", "yaw from aileron"),
    _t("CndaCL", "Cn", "da CL", "adverse yaw, grows with lift"),
    _t("Cndads", "Cn", "da ds", "yaw from aileron differential"),
    _t("Cndr", "Cn", "dr", "rudder power"),
)

TERM_NAMES: tuple[str, ...] = tuple(term.name for term in TERMS)

#: Parameters of the shape of the model that are not factors of a sum:
#: name -> (default, meaning).  Angles in rad.
SHAPE: dict[str, tuple[float, str]] = {
    "CLmind": (0.0, "lift coefficient of least drag"),
    "alpha_stall": (10.0, "angle of attack where the wing begins to let go [rad]; 10 rad = never"),
    "alpha_plate": (11.0, "angle of attack where only the flat plate is left [rad]"),
    "CD90": (1.2, "drag coefficient of the flat plate broadside"),
    "alpha_min": (-10.0, "the model holds from this angle of attack [rad] ..."),
    "alpha_max": (10.0, "... to this one [rad]"),
    "beta_max": (10.0, "the model holds to this sideslip either way [rad]"),
    "saturation_aileron": (1e9, "deflection that halves the squared effectiveness [rad]"),
    "saturation_elevator": (1e9, "the same for the elevator [rad]"),
    "saturation_rudder": (1e9, "the same for the rudder [rad]"),
    "immersion_tailplane": (0.0, "share of the tailplane in the slipstream, flow from ahead"),
    "immersion_fin": (0.0, "share of the fin in the slipstream, flow from ahead"),
    "immersion_angle": (
        0.25,
        "flow angle that halves the immersion [rad]: radius of the slipstream over its way",
    ),
    "stream_half_width": (
        0.5,
        "half width of the slipstream at the height of the tailplane, over its radius",
    ),
    "tail_half_span": (1e9, "half span of the tailplane over the radius of the slipstream"),
    "tail_load_0": (
        1.0,
        "lift along the tailplane by powers of y over that radius; 1 in all inside the stream ...",
    ),
    "tail_load_2": (0.0, "... with flow from ahead: the square"),
    "tail_load_8": (0.0, "the eighth power"),
    "tail_swirl": (0.0, "share of the tailplane's lift inside, times that radius over .7 of the propeller's"),
    "swirl_tailplane": (0.5, "share of the propeller's swirl that reaches the tailplane"),
    "stream_lift": (0.0, "lift slope of the part of the wing in the slipstream, flow from ahead"),
    "stream_alpha0": (0.0, "angle of attack of that part at alpha 0 [rad]"),
    "stream_arm": (0.0, "distance of the propeller ahead of that part [m]"),
    "tau_elevator": (0.55, "change of tailplane angle worth one rad of elevator"),
    "tau_rudder": (0.60, "change of fin angle worth one rad of rudder"),
    "tail_alpha0": (0.0, "angle of attack of the tailplane at alpha 0 [rad]"),
    "fin_beta0": (0.0, "sideslip of the fin at beta 0, of one that does not stand straight [rad]"),
    "tail_alpha": (0.6, "change of tailplane angle of attack per alpha, 1 - downwash slope"),
    "fin_arm": (0.0, "distance of the fin behind the reference point [m], for its own yaw-rate angle"),
    "tail_arm": (0.0, "distance of the tailplane behind the reference point [m]"),
    "swirl_recovered": (0.5, "share of the propeller's swirl that reaches the fin"),
    "torque_recovered": (0.0, "share of the propeller's torque that wing and tail take back from the swirl"),
    "prop_crossflow_force": (0.1, "in-plane force of the propeller, blade area form (kappa_N)"),
    "prop_crossflow_moment": (0.08, "thrust offset of the propeller in crossflow (kappa_M)"),
}

"""The hand-written sums of the aerodynamics against the table of terms, evaluated in plain Python."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import plane_of

from sixdof.physics.aero import aerodynamics
from sixdof.physics.record import PLANE_DTYPE
from sixdof.physics.terms import SHAPE, TERM_NAMES, TERMS

RHO, S, B, C = 1.2, 0.5, 1.6, 0.3
FORCES = ("X", "Y", "Z", "L", "M", "N")
RATES = ("X_rate", "Z_rate", "M_rate")

ANGLE = st.floats(-0.6, 0.6)
MOTION = st.fixed_dictionaries(
    {
        "speed": st.floats(5.0, 40.0),
        "alpha": ANGLE,
        "beta": ANGLE,
        **{name: st.floats(-3.0, 3.0) for name in "pqr"},
        **{name: ANGLE for name in ("ail_right", "ail_left", "de", "dr", "df")},
    }
)
# no factor is zero, no two are alike
EXAMPLE = dict(
    speed=21.0, alpha=0.21, beta=-0.17, p=1.3, q=-0.9, r=0.7, ail_right=0.31, ail_left=-0.13, de=-0.23, dr=0.19, df=0.37
)  # fmt: skip


def by_table(values, m, alphadot=0.0):
    """Forces and moments of the table, reference point at the CG."""
    V, alpha, beta = m["speed"], m["alpha"], m["beta"]
    factors = {
        "alpha": alpha,
        "beta": beta,
        "phat": m["p"] * B / (2.0 * V),
        "qhat": m["q"] * C / (2.0 * V),
        "rhat": m["r"] * B / (2.0 * V),
        "alphadot": alphadot * C / (2.0 * V),
        "da": 0.5 * (m["ail_right"] - m["ail_left"]),
        "ds": 0.5 * (m["ail_right"] + m["ail_left"]),
        "de": m["de"],
        "dr": m["dr"],
        "df": m["df"],
    }
    static = sum(
        values.get(t.name, 0.0) * math.prod(factors[f] for f in t.factors)
        for t in TERMS
        if t.coefficient == "CL" and not {"qhat", "alphadot"} & set(t.factors)
    )
    factors["CL"] = static
    factors["CL-CLmind"] = static - values.get("CLmind", 0.0)
    total = dict.fromkeys(("CL", "CD", "CY", "Cl", "Cm", "Cn"), 0.0)
    for t in TERMS:
        total[t.coefficient] += values.get(t.name, 0.0) * math.prod(factors[f] for f in t.factors)
    qS = 0.5 * RHO * V * V * S
    along = np.array([math.cos(alpha) * math.cos(beta), math.sin(beta), math.sin(alpha) * math.cos(beta)])
    lift = np.array([math.sin(alpha), 0.0, -math.cos(alpha)])
    force = qS * (total["CL"] * lift - total["CD"] * along + total["CY"] * np.array([0.0, 1.0, 0.0]))
    moment = qS * np.array([B * total["Cl"], C * total["Cm"], B * total["Cn"]])
    return np.concatenate([force, moment])


def by_kernel(values, m, alphadot=0.0):
    """The same by the compiled sums; speed and angles are those at the reference point."""
    plane = plane_of(1.0, (1.0, 1.0, 1.0), S, B, C, **values)
    V, alpha, beta = m["speed"], m["alpha"], m["beta"]
    velocity = V * np.array(
        [math.cos(alpha) * math.cos(beta), math.sin(beta), math.sin(alpha) * math.cos(beta)]
    )
    velocity -= np.cross([m[name] for name in "pqr"], [values.get(f"ref_{axis}", 0.0) for axis in "xyz"])
    surfaces = [m[name] for name in ("ail_right", "ail_left", "de", "dr", "df")]
    out = np.array(aerodynamics(plane, RHO, *velocity, m["p"], m["q"], m["r"], *surfaces, 0.0, 0.0))
    by_rate = np.array([out[6], 0.0, out[7], 0.0, out[8], 0.0])
    return out[:6] + alphadot * by_rate


def _close(found, wanted, what):
    scale = np.max(np.abs(wanted)) + 1e-9
    np.testing.assert_allclose(found, wanted, rtol=1e-9, atol=1e-9 * scale, err_msg=what)


@pytest.mark.parametrize("name", TERM_NAMES)
def test_every_term_alone(name):
    """Each term by itself, lift beside it so that factors by CL are alive, moves what the table says."""
    lift = {"CL0": 0.3, "CLa": 4.0, "CLmind": 0.1}
    values = lift | {name: 0.7}
    wanted = by_table(values, EXAMPLE, alphadot=0.8)
    rest = by_table(lift | {name: lift.get(name, 0.0)}, EXAMPLE, alphadot=0.8)
    assert np.max(np.abs(wanted - rest)) > 1e-3, f"{name} does nothing in the example: a poor test"
    _close(by_kernel(values, EXAMPLE, alphadot=0.8), wanted, name)


@settings(max_examples=60, deadline=None)
@given(MOTION, st.randoms(use_true_random=False))
def test_all_terms_together(motion, random):
    """Random values of all terms at random motion."""
    values = {name: random.uniform(-1.0, 1.0) for name in (*TERM_NAMES, "CLmind")}
    alphadot = random.uniform(-2.0, 2.0)
    _close(by_kernel(values, motion, alphadot), by_table(values, motion, alphadot), "all")


@settings(max_examples=30, deadline=None)
@given(MOTION, st.sampled_from(TERM_NAMES), st.floats(-2.0, 2.0))
def test_any_term_at_any_motion(motion, name, value):
    """One term at a time, anywhere."""
    values = {"CL0": 0.2, "CLa": 3.0, name: value}
    _close(by_kernel(values, motion, 0.5), by_table(values, motion, 0.5), name)


def test_record_has_the_table():
    """Every term and shape parameter is a field, and no term is named twice."""
    assert len(set(TERM_NAMES)) == len(TERM_NAMES)
    assert {*TERM_NAMES, *SHAPE} <= set(PLANE_DTYPE.names)


def test_finite_at_rest():
    """At V = 0 nothing is infinite, and spinning in still air has no force."""
    values = {name: 1.0 for name in TERM_NAMES}
    out = by_kernel(values, EXAMPLE | {"speed": 0.0}, 1.0)
    assert np.all(np.isfinite(out)) and np.max(np.abs(out)) < 1e-6, out


def test_reference_point_moves_the_moment():
    """Same motion of a reference point behind and above the CG: the same forces, moments r x F more."""
    values = {"CL0": 0.6, "CD0": 0.05, "CYb": -0.5, "Cm0": 0.1}
    reference = np.array([-0.11, 0.02, -0.03])
    plain = by_kernel(values, EXAMPLE)
    moved = by_kernel(values | dict(zip(("ref_x", "ref_y", "ref_z"), reference, strict=True)), EXAMPLE)
    np.testing.assert_allclose(moved[:3], plain[:3], rtol=1e-12)
    np.testing.assert_allclose(moved[3:], plain[3:] + np.cross(reference, plain[:3]), rtol=1e-9)
    rates = {"CLad": 2.0, "Cmad": -3.0}
    a, b = (by_kernel(rates | extra, EXAMPLE, 1.0) for extra in ({}, {"ref_x": -0.11, "ref_z": -0.03}))
    np.testing.assert_allclose(b[4], a[4] + np.cross([-0.11, 0.0, -0.03], a[:3])[1], rtol=1e-9)


def test_saturation_brings_less():
    """At the saturation deflection 1/sqrt(2) of the linear effect is left, same either way."""
    for name, term, surface in (
        ("elevator", "Cmde", "de"),
        ("rudder", "Cndr", "dr"),
    ):
        values = {term: -1.0, f"saturation_{name}": 0.4}
        full = by_table({term: -1.0}, EXAMPLE | {surface: 0.4})
        _close(by_kernel(values, EXAMPLE | {surface: 0.4}), full / math.sqrt(2.0), name)
        _close(by_kernel(values, EXAMPLE | {surface: -0.4}), -full / math.sqrt(2.0), name)
    pair = {"ail_right": 0.4, "ail_left": -0.4}
    full = by_table({"Clda": -1.0}, EXAMPLE | pair)
    _close(
        by_kernel({"Clda": -1.0, "saturation_aileron": 0.4}, EXAMPLE | pair), full / math.sqrt(2.0), "aileron"
    )


def test_flat_plate_beyond_the_stall():
    """Deep stall: CL = CD90 sin cos, CD = CD0 + CD90 sin2; at 45 deg lift equals drag; smooth on the way."""
    values = {"CLa": 4.5, "CD0": 0.02, "alpha_stall": 0.22, "alpha_plate": 0.45, "CD90": 1.2}
    still = dict.fromkeys(EXAMPLE, 0.0) | {"speed": 20.0}
    qS = 0.5 * RHO * 20.0**2 * S

    def lift_drag(alpha):
        X, _, Z, *_ = by_kernel(values, still | {"alpha": alpha})
        ca, sa = math.cos(alpha), math.sin(alpha)
        return (X * sa - Z * ca) / qS, (-X * ca - Z * sa) / qS

    CL, CD = lift_drag(math.pi / 4.0)
    assert abs(CL - 0.6) < 1e-9 and abs(CD - 0.62) < 1e-9, (CL, CD)
    CL, CD = lift_drag(math.pi / 2.0)
    assert abs(CL) < 1e-9 and abs(CD - 1.22) < 1e-9, (CL, CD)
    assert abs(lift_drag(0.2)[0] - 0.9) < 1e-9, "linear until the stall"
    alphas = np.linspace(-1.6, 1.6, 3201)
    jumps = np.abs(np.diff([lift_drag(a) for a in alphas], axis=0))
    assert jumps.max() < 0.012, jumps.max()

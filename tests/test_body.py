"""What the body does: symmetries, balances, the directions things must go."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import agree

from sixdof.estimate.body import DOUBT, body_loads, body_parts, spheroid_factor, wing_body_roll, wing_flow
from sixdof.estimate.lattice import Conditions
from sixdof.validation.bodies import (
    CHORD,
    DIAMETER,
    LENGTH,
    SPAN,
    S,
    airplane,
    box,
    demo,
    loads,
    slope,
    spheroid,
    tapered,
)

TAPERED = airplane(tapered, lambda x: 0.8 * tapered(x), wing_up=0.05)
angles = st.floats(-1.5, 1.5)
rates = st.floats(-0.3, 0.3)


def _ones(x: np.ndarray) -> np.ndarray:
    return np.ones_like(x)


@given(alpha=angles, beta=angles, phat=rates, qhat=rates, rhat=rates)
@settings(max_examples=60, deadline=None)
def test_mirrored_flow_gives_mirrored_loads(alpha, beta, phat, qhat, rhat):
    """To the last bit, and finite everywhere."""
    here = loads(TAPERED, alpha=alpha, beta=beta, phat=phat, qhat=qhat, rhat=rhat)[0]
    mirrored = loads(TAPERED, alpha=alpha, beta=-beta, phat=-phat, qhat=qhat, rhat=-rhat)[0]
    assert np.isfinite(here).all(), here
    assert (mirrored == here * [1, -1, 1, -1, 1, -1]).all(), (here, mirrored)


@given(alpha=angles, beta=angles)
@settings(max_examples=30, deadline=None)
def test_nothing_acts_along_x_and_crossflow_brakes(alpha, beta):
    """With the wing's flow away, separated crossflow takes power from the sideward motion."""
    small = airplane(spheroid, chord=1e-3)
    found = loads(small, part="crossflow", upwash=_ones, alpha=alpha, beta=beta)[0]
    sideward = found[1] * math.sin(beta) + found[2] * math.sin(alpha) * math.cos(beta)
    assert found[0] == 0.0 and sideward <= 0.0, found
    assert loads(TAPERED, alpha=alpha, beta=beta)[0, 0] == 0.0


def test_parts_are_the_whole():
    flow = Conditions(alpha=np.array([0.1, -0.3]), beta=np.array([0.2, 0.4]), rhat=0.05)
    args = dict(S=S, b=SPAN, c=CHORD, point=(-0.6, 0.0, 0.0))
    parts = body_parts(TAPERED, flow, **args)
    whole = body_loads(TAPERED, flow, **args)
    assert set(parts) == set(DOUBT) and whole.shape == (2, 6)
    np.testing.assert_allclose(sum(parts.values()), whole, rtol=0, atol=1e-15)


@given(alpha=angles, beta=angles, dx=st.floats(-0.5, 0.5), dz=st.floats(-0.2, 0.2))
@settings(max_examples=30, deadline=None)
def test_moments_follow_the_reference_point(alpha, beta, dx, dz):
    """Without turning, another point only takes the moments of the forces along.

    The wing's share of the side force, which carries no roll, and the wing-body roll are left out.
    """
    first, second = (-0.7, 0.0, 0.02), (-0.7 + dx, 0.0, 0.02 + dz)
    mid = airplane(tapered)
    a = loads(mid, point=first, alpha=alpha, beta=beta)[0]
    b = loads(mid, point=second, alpha=alpha, beta=beta)[0]
    size = [SPAN, CHORD, SPAN]
    moment = np.cross(np.subtract(first, second), a[:3])
    np.testing.assert_allclose(b[3:] * size, a[3:] * size + moment, rtol=0, atol=1e-9)


@given(scale=st.floats(0.2, 5.0), alpha=angles, beta=angles, qhat=rates, rhat=rates)
@settings(max_examples=30, deadline=None)
def test_coefficients_do_not_know_the_size(scale, alpha, beta, qhat, rhat):
    """An airplane twice as large has the same coefficients at the same angles and rate hats."""

    def at(k: float) -> np.ndarray:
        plane = airplane(
            lambda x: k * tapered(x / k), length=k * LENGTH, chord=0.35 * k, wing_up=0.05 * k, span=SPAN * k
        )
        flow = Conditions(alpha=alpha, beta=beta, qhat=qhat, rhat=rhat)
        return body_loads(plane, flow, S=S * k**2, b=SPAN * k, c=CHORD * k, point=(-0.7 * k, 0.0, 0.0))[0]

    np.testing.assert_allclose(at(scale), at(1.0), rtol=1e-5, atol=1e-9)


def test_crossflow_on_a_box_is_its_drag():
    """Constant height: .65 x 1.4 h L/S sin2 beta, at the middle of its side."""
    beta = 0.4
    found = loads(airplane(box, wing_up=0.0), part="crossflow", beta=beta)[0]
    agree("CY", found[1], -0.65 * 1.4 * DIAMETER * LENGTH / S * math.sin(beta) ** 2, share=1e-6)
    agree("Cn", found[5], 0.0, within=1e-9)
    agree("Cl", found[3], 0.0, within=1e-9)


def test_crossflow_on_a_round_body_does_not_know_its_direction():
    """Sideslip, angle of attack or both: the same force across the body, against the motion."""
    small = airplane(spheroid, chord=1e-6)
    total, forces = 0.5, []
    for roll in np.radians([0.0, 30.0, 45.0, 90.0]):
        v, w = math.sin(total) * math.cos(roll), math.sin(total) * math.sin(roll)
        flow = dict(beta=math.asin(v), alpha=math.atan2(w, math.cos(total)))
        found = loads(small, part="crossflow", upwash=_ones, **flow)[0]
        np.testing.assert_allclose(found[1] * math.sin(roll), found[2] * math.cos(roll), rtol=0, atol=2e-5)
        forces.append(math.hypot(found[1], found[2]))
    np.testing.assert_allclose(forces, forces[0], rtol=1e-4)


def test_a_deep_belly_rolls_with_the_sideslip():
    """What lies below the reference point is pushed to the left by a wind from the right: roll to the right."""
    file = demo("corvane")
    low = tuple(s.model_copy(update={"top": 0.0, "bottom": 0.2}) for s in file.body)
    deep = file.model_copy(update={"body": low})
    flow = Conditions(beta=0.4)
    found = body_parts(deep, flow, S=0.6, b=2.0, c=0.3, point=(-0.6, 0.0, 0.0))["crossflow"][0]
    assert found[3] > 0.0 and found[1] < 0.0, found
    agree("arm [m]", -found[3] * 2.0 / found[1], 0.1, within=1e-9)


def test_body_unsettles_and_damps():
    """Against the weathercock and the pitch stiffness; the rear, moving sideward, damps the yaw."""
    assert slope(TAPERED, "Cn", "beta") < 0.0
    assert slope(TAPERED, "Cm", "alpha") > 0.0
    assert slope(TAPERED, "CY", "beta") < 0.0
    assert slope(TAPERED, "Cn", "rhat") < 0.0


def test_sideslip_at_the_tail_by_yaw_rate_is_sideslip():
    """Crossflow of a body that turns about its middle: none on average, a braking moment for sure."""
    for turn in (-0.3, 0.3):
        found = loads(airplane(box), part="crossflow", rhat=turn)[0]
        agree("CY", found[1], 0.0, within=1e-9)
        assert found[5] * turn < 0.0, found


@pytest.mark.parametrize("wing_up", [-0.1, -0.05, 0.05, 0.1])
def test_wing_height_rolls(wing_up):
    """High wings add dihedral effect, low ones take it away, wings off the body count as touching it."""
    found = wing_body_roll(airplane(tapered, wing_up=wing_up), b=SPAN)
    assert found * wing_up < 0.0, found
    agree("mirrored", wing_body_roll(airplane(tapered, wing_up=-wing_up), b=SPAN), -found, within=1e-9)
    # the nose is thinner than the middle: 0.3 m is well clear of the body everywhere
    off, farther = (wing_body_roll(airplane(tapered, wing_up=up), b=SPAN) for up in (0.3, 0.5))
    agree("clear of the body", farther, off, within=1e-12)
    assert abs(found) <= abs(off) + 1e-12


def test_wing_body_roll_enters_the_loads():
    high = airplane(tapered, wing_up=0.1, dihedral=0.05)
    agree("Cl", slope(high, "Cl", "beta", part="roll"), wing_body_roll(high, b=SPAN), share=1e-9)


def test_high_and_low_wings_add_side_force():
    mid, high, low = (
        slope(airplane(tapered, wing_up=up), "CY", "beta", part="yaw") for up in (0.0, 0.3, -0.3)
    )
    agree("high over mid", high / mid, 1.85, share=1e-6)
    agree("low over mid", low / mid, 1.5, share=1e-6)


@given(station=st.integers(0, 6), more=st.floats(-2e-3, 2e-3))
@settings(max_examples=40, deadline=None)
def test_two_millimeters_of_body_do_not_move_the_stability(station, more):
    """The place where potential flow ends does not jump between stations."""
    file = demo("corvane")
    changed = list(file.body)
    changed[station] = changed[station].model_copy(update={"top": changed[station].top + more})
    new = file.model_copy(update={"body": tuple(changed)})
    before, after = (slope(plane, "Cn", "beta") for plane in (file, new))
    agree("Cnb", after, before, share=0.04)


def test_flow_of_the_wing():
    """None far ahead, more toward the leading edge; behind, from nothing to less than the free stream's."""
    plane = airplane(tapered)
    leading, chord = plane.wing.root[0], plane.wing.panels[0].root_chord
    factor = wing_flow(plane)
    ahead = factor(leading + chord * np.array([0.0, 0.2, 0.5, 1.0, 3.0, 300.0]))
    assert (np.diff(ahead) < 0.0).all() and ahead[0] < 3.0, ahead
    agree("far ahead", ahead[-1], 1.0, within=1e-3)
    behind = factor(np.linspace(leading - chord, plane.tailplane.quarter_chord[0], 5))
    agree("at the trailing edge", behind[0], 0.0, within=1e-12)
    assert (np.diff(behind) > 0.0).all() and 0.4 < behind[-1] < 0.8, behind


def test_the_wing_turns_the_flow_along_its_chord():
    """A given upwash is used ahead and behind, and along the wing it is not asked."""
    plane = airplane(tapered)
    leading = plane.wing.root[0]
    trailing = leading - plane.wing.panels[0].root_chord

    def only_there(x: np.ndarray) -> np.ndarray:
        return np.where((x <= leading) & (x >= trailing), 1e6, 0.0)

    agree("Cma", slope(plane, "Cm", "alpha", part="pitch", upwash=only_there), 0.0, within=1e-9)
    doubled = slope(plane, "Cm", "alpha", part="pitch", upwash=lambda x: 2.0 * _ones(x))
    single = slope(plane, "Cm", "alpha", part="pitch", upwash=_ones)
    agree("doubled", doubled, 2.0 * single, share=1e-9)


def test_a_wing_without_lift_bends_no_flow():
    """At the angle of attack where the wing carries nothing, its upwash does not matter."""
    plane = airplane(tapered, incidence=0.03)
    first, second = (loads(plane, alpha=-0.03, upwash=f)[0] for f in (None, lambda x: 3.0 * _ones(x)))
    np.testing.assert_allclose(first, second, rtol=0, atol=1e-6)
    assert abs(first[4]) > 1e-4, first


@given(fineness=st.floats(1.0, 40.0))
def test_spheroid_factor_lies_between_sphere_and_needle(fineness):
    found = spheroid_factor(fineness)
    assert -1e-9 <= found < 1.0 and spheroid_factor(fineness * 1.1) > found

"""The vortex lattice of a whole airplane: signs, mirror images, sums, convergence, odd planforms."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import DEG, agree

from sixdof.airframe.geometry import Panel, Surface, Ventral
from sixdof.airframe.load import load_airframe
from sixdof.estimate.interference import without_interference
from sixdof.estimate.lattice import (
    COEFFICIENTS,
    Conditions,
    build_lattice,
    induced_velocity,
    lattice_of,
    solve,
)
from sixdof.estimate.panels import flap_wash, sheets_of
from sixdof.validation.planforms import derivative

AIRCRAFT = Path(__file__).parents[1] / "aircraft"
PLANES = ("corvane", "fenlark")


@cache
def airframe(name):
    return load_airframe(AIRCRAFT / f"{name}.yaml")


@cache
def lattice_of_plane(name, spanwise=16, chordwise=5):
    return build_lattice(airframe(name), spanwise=spanwise, chordwise=chordwise)


@pytest.mark.parametrize("name", PLANES)
def test_signs(name):
    """Stable where these airplanes are, and every surface does what ISO 1151 says."""
    lattice = lattice_of_plane(name)
    for coefficient, by, sign in (
        ("CL", "alpha", 1), ("Cm", "alpha", -1), ("Cm", "qhat", -1), ("CL", "qhat", 1),
        ("CY", "beta", -1), ("Cl", "beta", -1), ("Cn", "beta", 1),
        ("Cl", "phat", -1), ("Cl", "rhat", 1), ("Cn", "rhat", -1), ("CY", "rhat", 1),
        ("Cl", "da", -1), ("CL", "ds", 1), ("CL", "de", 1), ("Cm", "de", -1),
        ("CY", "dr", 1), ("Cn", "dr", -1),
    ):  # fmt: skip
        found = derivative(lattice, coefficient, by)
        assert found * sign > 0.0, f"{coefficient} by {by}: {found:.4f}"
    flap = derivative(lattice, "CL", "df")
    assert flap > 0.5 if name == "fenlark" else flap == 0.0


@pytest.mark.parametrize("name", PLANES)
@pytest.mark.parametrize("kept", [("wing", "tailplane"), ("tailplane",), ("fin",)])
def test_a_part_is_what_is_built_of_it_alone(name, kept):
    sheets = sheets_of(airframe(name), chordwise=3, spanwise=8, section_slope={})
    how = {"S": 0.6, "b": 2.0, "c": 0.3, "point": (-0.7, 0.0, 0.0)}
    flow = Conditions(alpha=np.array([0.0, 0.1, 0.1]), qhat=np.array([0.01, 0.0, 0.0]), da=0.1)
    part = solve(lattice_of(sheets, **how).part(*kept), flow)
    alone = solve(lattice_of([s for s in sheets if s.name in kept], **how), flow)
    assert part.components == alone.components == kept
    np.testing.assert_allclose(part.body, alone.body, atol=1e-12)


@pytest.mark.parametrize("name", PLANES)
def test_fin_and_tailplane_push_each_other_sideways_only(name):
    """Side force, roll and yaw stay; lift, drag and pitch are those without a fin, straight ahead the very ones."""
    lattice = lattice_of_plane(name)
    flow = Conditions(
        alpha=0.05, beta=np.array([0.0, 0.2, -0.2, 0.0, 0.2]), dr=np.array([0.0, 0.0, 0.0, 0.2, 0.2])
    )
    whole = solve(lattice, flow)
    counted = without_interference(lattice, flow, whole)
    tail, fin = (whole.components.index(part) for part in ("tailplane", "fin"))
    np.testing.assert_array_equal(counted.body[..., [1, 3, 5]], whole.body[..., [1, 3, 5]])
    np.testing.assert_array_equal(
        counted.body[:, whole.components.index("wing")], whole.body[:, whole.components.index("wing")]
    )
    assert not counted.body[:, fin, [0, 2, 4]].any()
    pitch = counted.body[:, tail, 4]
    agree("Cm, from the right and the left", pitch[1], pitch[2], within=1e-9)
    agree("Cm, rudder straight ahead", pitch[3], pitch[0], within=1e-9)
    agree("Cm, rudder in sideslip", pitch[4], pitch[1], within=1e-9)
    agree("Cm, straight ahead", pitch[0], whole.body[0, tail, 4], within=1e-9)


def test_camber_and_incidence():
    """Zero-lift angle -2.07 deg at 2 % camber at .4 (textbook, four-digit mean line), 3 %; the whole turned, 1 %."""
    plane = airframe("corvane")

    def zero_lift(camber, incidence):
        section = plane.wing.section.model_copy(update={"camber": camber})
        wing = plane.wing.model_copy(update={"section": section, "incidence": incidence})
        tailplane = plane.tailplane.model_copy(update={"incidence": incidence})
        lattice = build_lattice(plane.model_copy(update={"wing": wing, "tailplane": tailplane}))
        lift = solve(lattice, Conditions(alpha=np.array([0.0, DEG]))).wind[..., 0]
        lift = lift[:, 0] if camber else lift.sum(axis=1)
        return -lift[0] / (lift[1] - lift[0])  # deg

    agree("camber", zero_lift(0.02, 0.0), -2.07, share=0.03, source="thin-aerofoil theory, textbook")
    agree("incidence", zero_lift(0.0, 2.0 * DEG), -2.0, share=0.01, source="by definition")


@pytest.mark.parametrize("name", PLANES)
def test_mirror_image(name):
    rng = np.random.default_rng(3)
    flow = dict(zip(("alpha", "beta", "phat", "qhat", "rhat", "da", "ds", "de", "dr", "df"),
                    rng.uniform(-0.3, 0.3, (10, 5)), strict=True))  # fmt: skip
    image = {k: -v if k in ("beta", "phat", "rhat", "da", "dr") else v for k, v in flow.items()}
    lattice = lattice_of_plane(name)
    here, there = solve(lattice, Conditions(**flow)).wind, solve(lattice, Conditions(**image)).wind
    np.testing.assert_allclose(there, here * (1, 1, -1, -1, 1, -1), atol=1e-8)


def test_one_by_one_is_all_at_once():
    """Grouping by wind direction changes nothing; total is the sum of the components; deflections by side."""
    lattice = lattice_of_plane("corvane")
    alpha, beta = np.array([0.1, 0.0, 0.1, -0.1]), np.array([0.0, 0.2, 0.0, 0.2])
    together = solve(lattice, Conditions(alpha=alpha, beta=beta, da=[0.0, 0.1, 0.2, 0.3], phat=0.02))
    for i, da in enumerate((0.0, 0.1, 0.2, 0.3)):
        alone = solve(lattice, Conditions(alpha=alpha[i], beta=beta[i], da=da, phat=0.02))
        np.testing.assert_allclose(alone.body[0], together.body[i], atol=1e-13)
    np.testing.assert_allclose(together.total, together.wind.sum(axis=1), atol=0)
    assert together.components == ("wing", "tailplane", "fin")


def test_axes():
    """Lift, drag and side force put back to body axes as the flight model does give the body forces."""
    loads = solve(lattice_of_plane("corvane"), Conditions(alpha=0.2, beta=0.4, dr=0.3))
    CL, CD, CY = loads.wind[0, :, :3].T
    ca, sa, cb, sb = math.cos(0.2), math.sin(0.2), math.cos(0.4), math.sin(0.4)
    X, Y, Z = loads.body[0, :, :3].T
    np.testing.assert_allclose(CL * sa - CD * ca * cb, X, atol=1e-14)
    np.testing.assert_allclose(CY - CD * sb, Y, atol=1e-14)
    np.testing.assert_allclose(-CL * ca - CD * sa * cb, Z, atol=1e-14)


def test_reference_point():
    """Moments about another point differ by lever x force."""
    plane, flow = airframe("corvane"), Conditions(alpha=0.1, beta=0.1, dr=0.2)
    here = lattice_of_plane("corvane")
    shift = np.array([0.1, 0.02, -0.05])
    there = build_lattice(plane, point=here.point + shift)
    a, b = solve(here, flow).body.sum(axis=1)[0], solve(there, flow).body.sum(axis=1)[0]
    lengths = np.array([here.b, here.c, here.b])
    np.testing.assert_allclose(b[:3], a[:3], atol=1e-13)
    np.testing.assert_allclose(b[3:] * lengths, a[3:] * lengths - np.cross(shift, a[:3]), atol=1e-13)


def test_effectiveness():
    """A share left by viscosity scales the effect of small deflections, per condition."""
    lattice = lattice_of_plane("corvane")
    flow = Conditions(dr=np.array([0.01, 0.01]), da=np.array([0.01, 0.01]))
    loads = solve(lattice, flow, effectiveness={"rudder": np.array([1.0, 0.8]), "aileron": 0.5}).total
    whole = solve(lattice, flow).total
    rudder = solve(lattice, Conditions(dr=0.01)).total[0]
    agree("rudder", loads[0, 5] - loads[1, 5], 0.2 * rudder[5], share=0.01, source="by definition")
    agree(
        "aileron",
        loads[0, 3] - rudder[3],
        0.5 * (whole[0, 3] - rudder[3]),
        share=0.01,
        source="by definition",
    )


def test_fin_in_the_body_and_ventral_fin():
    """The body closes the root of the fin: more side force, not more than a full image brings; a ventral rolls back."""
    plane = airframe("corvane")
    closed = derivative(lattice_of_plane("corvane"), "CY", "beta")
    free = derivative(build_lattice(plane, through_body=False), "CY", "beta")
    assert 1.2 < closed / free < 2.0, f"closed {closed:.4f}, free {free:.4f}"
    panel = Panel.model_construct(
        span=0.15, root_chord=0.3, tip_chord=0.2, sweep=0.1, dihedral=0.0, washout=0.0
    )
    ventral = Ventral.model_construct(
        root=(-1.45, 0.0, 0.05), incidence=0.0, section=plane.fin.section, panels=(panel,)
    )
    h = np.array([-1e-3, 1e-3])
    loads = solve(build_lattice(plane.model_copy(update={"ventral": ventral})), Conditions(beta=h))
    assert loads.components == ("wing", "tailplane", "fin", "ventral")
    below = np.diff(loads.wind[:, 3], axis=0)[0] / 2e-3
    assert below[2] < -0.03 and below[5] > 0.01 and below[3] > 0.001, below
    assert np.diff(loads.total[:, 5])[0] / 2e-3 > derivative(lattice_of_plane("corvane"), "Cn", "beta")


def test_hinge_weights():
    """The whole chord hinged is a turned plate; the sum over a 2-D lattice is thin-aerofoil lift and moment."""
    np.testing.assert_allclose(flap_wash(np.array([1.0]), 5), 1.0, atol=1e-10)
    E = np.array([0.1, 0.25, 0.4, 0.7])
    h = np.arccos(2.0 * E - 1.0)
    for n in (1, 2, 3, 8):
        vortex, control = (np.arange(n) + 0.25) / n, (np.arange(n) + 0.75) / n
        wash = 1.0 / (2.0 * np.pi * (control[:, None] - vortex))
        gamma = np.linalg.solve(wash, flap_wash(E, n).T)
        np.testing.assert_allclose(gamma.sum(axis=0) / np.pi, 1.0 - (h - np.sin(h)) / np.pi, rtol=1e-9)
        if n > 1:
            moment = -2.0 * (vortex - 0.25) @ gamma
            np.testing.assert_allclose(moment, -0.5 * np.sin(h) * (1.0 - np.cos(h)), rtol=2e-5)


def test_downwash_is_what_the_tail_feels():
    """A small tailplane keeps the share of its lift that the downwash of the wing alone leaves: 0.01."""
    plane = airframe("corvane")
    panel = Panel.model_construct(
        span=0.05, root_chord=0.02, tip_chord=0.02, sweep=0.0, dihedral=0.0, washout=0.0
    )
    h = np.array([-1e-3, 1e-3])

    def lift(incidence, **flow):
        tail = plane.tailplane.model_copy(update={"panels": (panel,), "incidence": incidence})
        return solve(build_lattice(plane.model_copy(update={"tailplane": tail})), Conditions(**flow)).wind[
            :, 1, 0
        ]

    kept = np.diff(lift(0.0, alpha=h))[0] / (lift(1e-3) - lift(-1e-3))[0]
    sheets = sheets_of(plane, chordwise=5, spanwise=16, section_slope={})
    wing = lattice_of(sheets[:1], S=0.6, b=2.0, c=0.3, point=(0.0, 0.0, 0.0))
    root = plane.tailplane.root
    at = np.array([(root[0] - 0.015, y, root[2]) for y in np.linspace(-0.04, 0.04, 9)])
    down = induced_velocity(wing, solve(wing, Conditions(alpha=h)), at)[:, :, 2].mean(axis=1)
    agree("share kept", kept, 1.0 - np.diff(down)[0] / 2e-3, within=0.01, source="by definition")


CONVERGED = (
    ("CL", "alpha"), ("Cm", "alpha"), ("CL", "qhat"), ("Cm", "qhat"), ("Cm", "de"), ("CL", "ds"),
    ("CY", "beta"), ("Cn", "beta"), ("Cl", "phat"), ("Cn", "rhat"), ("Cl", "da"), ("CY", "dr"), ("Cn", "dr"),
)  # fmt: skip


def test_converged():
    """Working lattice within 2 % of the value extrapolated with twice the strips and panels."""
    work, fine = lattice_of_plane("corvane"), lattice_of_plane("corvane", 32, 10)
    h, found = np.array([-1e-3, 1e-3]), {}
    for lattice in (work, fine):
        flow = {
            by: np.zeros((9, 2)) for by in ("alpha", "beta", "phat", "qhat", "rhat", "da", "ds", "de", "dr")
        }
        for row, by in enumerate(flow):
            flow[by][row] = h
        total = solve(lattice, Conditions(**{k: v.ravel() for k, v in flow.items()})).total.reshape(9, 2, 6)
        slopes = (total[:, 1] - total[:, 0]) / 2e-3
        found[lattice is fine] = {by: slopes[row] for row, by in enumerate(flow)}
    for coefficient, by in CONVERGED:
        i = COEFFICIENTS.index(coefficient)
        coarse, better = found[False][by][i], found[True][by][i]
        agree(f"{coefficient} by {by}", coarse, 2.0 * better - coarse, share=0.02, source="extrapolated")


_panel = st.builds(
    Panel.model_construct,
    span=st.floats(0.05, 2.0),
    root_chord=st.floats(0.05, 0.8),
    tip_chord=st.floats(0.02, 0.8),
    sweep=st.floats(-0.5, 0.8),
    dihedral=st.floats(-0.5, 1.5),
    washout=st.floats(-0.1, 0.2),
)


@settings(max_examples=40, deadline=None)
@given(
    panels=st.lists(_panel, min_size=1, max_size=3).map(tuple),
    up=st.floats(-0.3, 0.3),
    tail_up=st.floats(-0.3, 0.5),
    angles=st.tuples(st.floats(-0.5, 0.5), st.floats(-0.8, 0.8)),
    through=st.booleans(),
)
def test_any_planform_gives_numbers(panels, up, tail_up, angles, through):
    """Wings of any outline, tail in any height, wake through the tail or not: finite and mirror-true."""
    plane = airframe("corvane")
    changed = plane.wing.model_copy(update={"panels": panels, "root": (plane.wing.root[0], 0.0, -up)})
    assert isinstance(changed, Surface)
    tail = plane.tailplane.model_copy(update={"root": (plane.tailplane.root[0], 0.0, -tail_up)})
    lattice = build_lattice(plane.model_copy(update={"wing": changed, "tailplane": tail}), spanwise=4, chordwise=2,
                            through_body=through)  # fmt: skip
    alpha, beta = angles
    loads = solve(lattice, Conditions(alpha=[alpha, alpha, 0.0], beta=[beta, -beta, 0.0], qhat=0.01, de=0.1))
    assert np.isfinite(loads.body).all() and np.isfinite(loads.circulation).all()
    scale = np.abs(loads.body).max()
    np.testing.assert_allclose(loads.body[1], loads.body[0] * (1, -1, 1, -1, 1, -1), atol=1e-6 * scale)

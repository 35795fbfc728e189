"""Swirl on the tailplane in sideslip, and the fin in pitch: signs by geometry, sums by strips, loads by a lattice."""

from __future__ import annotations

import math

import numpy as np
import pytest
from support import DEG, agree, plane_of

from sixdof.airframe.load import load_airframe
from sixdof.estimate.assemble import from_geometry
from sixdof.estimate.fin import FIN_IN_PITCH, fin_in_pitch
from sixdof.estimate.lattice import Conditions, build_lattice, solve
from sixdof.estimate.stream import tail_in_stream
from sixdof.flight.airplane import Airplane
from sixdof.flight.budget import pitch_budget
from sixdof.flight.trim import trim
from sixdof.physics.aero import aerodynamics
from sixdof.physics.air import make_air
from sixdof.physics.propulsion import propeller
from sixdof.validation.tail_in_swirl import in_the_wash, mean_angle

DEMOS = ("corvane", "fenlark", "tessel")
RHO, V, S, B, C = 1.2, 20.0, 0.6, 1.9, 0.32
#: A tailplane of even load, 1.5 radii of the stream to each side.
HALF = 1.5
EVEN = dict(
    CLde=0.3, Cmde=-1.0, tau_elevator=0.5, immersion_tailplane=0.4, immersion_angle=0.2, stream_half_width=1.0,
    tail_half_span=HALF, tail_load_0=0.5, tail_swirl=0.8, swirl_tailplane=0.5,
)  # fmt: skip


def _tail(**more):
    return plane_of(4.5, (0.3, 0.5, 0.7), S, B, C, **{**EVEN, **more})


def _moments(plane, beta, swirl, *, de=0.0, stream=1.5 * V):
    v = (V * math.cos(beta), V * math.sin(beta), 0.0)
    return np.array(aerodynamics(plane, RHO, *v, 0.0, 0.0, 0.0, 0.0, 0.0, de, 0.0, 0.0, stream, swirl)[:6])


def test_swirl_pitches_up_in_right_rudder_knife_edge():
    """Propeller clockwise from behind: its air goes right above the axis, down on the right, left below, up on the left.

    Right rudder turns the nose right, so the air comes from the left (beta < 0) and carries the stream to the
    right.  The right half of the tailplane then stands in the left half of the stream, where the air goes up; the
    left half of the tailplane stands in no stream.  Air from below lifts the tail: nose down, toward the belly.
    Left rudder: the left half stands in the right half of the stream, air from above, nose up.
    """
    swirl = 0.1  # clockwise: to the right above the axis, see propeller_loads
    right_rudder, left_rudder = (_moments(_tail(), beta, swirl) for beta in (-14 * DEG, 14 * DEG))
    assert right_rudder[4] < 0.0 < left_rudder[4]
    assert right_rudder[2] < 0.0 < left_rudder[2], "up is -z: the tail is lifted, pressed down"
    agree("odd", right_rudder[4], -left_rudder[4], share=1e-9)
    agree("none straight ahead", _moments(_tail(), 0.0, swirl)[4], 0.0, within=1e-9)
    agree("roll", right_rudder[3], 0.0, within=1e-9)


def test_swirl_of_a_whole_airplane_is_against_the_crossflow_of_its_propeller():
    """TN 1474 and REFERENCES alike have the swirl of one sense; the thrust offset in crossflow has the other."""
    plane, air = Airplane("corvane").plane, make_air()
    level = trim(plane, air, speed=27.0)
    for bank in (-0.5 * math.pi, 0.5 * math.pi):
        knife = trim(plane, air, speed=27.0, bank=bank)
        parts = pitch_budget(plane, Airplane("corvane").derivatives, knife, level)
        assert parts["swirl on the tailplane"] * parts["propeller in crossflow"] < 0.0
        assert parts["swirl on the tailplane"] * bank < 0.0, (
            "right rudder (bank < 0): toward the belly, up elevator"
        )
        agree("sum", sum(parts.values()), knife.sticks["elevator"] - level.sticks["elevator"], within=0.02)


def test_propeller_reversed_is_the_mirror():
    """Everything mirrored, the propeller too: the same pitch at the sideslip of the other sign."""
    swirls = []
    for turn in (1.0, -1.0):
        plane = plane_of(4.5, (0.3, 0.5, 0.7), S, B, C, prop_D=0.5, prop_pitch=0.3, prop_turn=turn, **EVEN)
        plane["ct"], plane["cq"] = 0.05, 0.004
        v = (V * math.cos(0.2), turn * V * math.sin(0.2), 0.0)
        pull = propeller(plane, RHO, *v, 0.0, 0.0, 0.0, 600.0, 0.8)
        swirls.append((pull[8], _moments(plane, turn * 0.2, pull[8], stream=pull[7])))
    (one, right), (other, left) = swirls
    assert one > 0.0
    agree("swirl", other, -one, share=1e-12)
    assert abs(right[4]) > 1e-3
    np.testing.assert_allclose(left, right * [1, -1, 1, -1, 1, -1], atol=1e-12)


@pytest.mark.parametrize("name", DEMOS)
def test_demo_with_its_propeller_reversed_flies_the_mirrored_knife_edge(name):
    """Elevator of right rudder with the propeller one way is that of left rudder with the other."""
    air, held = make_air(), {}
    for turn in (1.0, -1.0):
        plane = Airplane(name).plane
        plane["axis_y"] = 0.0  # right-thrust is no mirror image
        plane["axis_x"] = math.sqrt(1.0 - float(plane["axis_z"]) ** 2)
        plane["prop_turn"] *= turn
        for trimmed in ("aileron_trim", "rudder_trim"):
            plane[trimmed] *= turn
        for bank in (-1.0, 1.0):
            knife = trim(plane, air, speed=float(plane["cruise"]), bank=bank * 0.5 * math.pi)
            held[turn, bank] = [knife.sticks[s] for s in ("elevator", "aileron", "rudder")]
    for bank in (-1.0, 1.0):
        np.testing.assert_allclose(held[-1.0, -bank], np.multiply(held[1.0, bank], [1, -1, -1]), atol=2e-3)
    assert abs(held[1.0, 1.0][0] - held[1.0, -1.0][0]) > 0.002, "the sides differ"


@pytest.mark.parametrize("beta", [0.03, 0.12, 0.2, 0.3, 0.5])
@pytest.mark.parametrize("strips", [50, 400])
def test_closed_form_is_the_sum_over_strips(beta, strips):
    """Strips of a tailplane of even load inside the displaced tube, one by one; fewer are less exact."""
    stream = 1.5 * V
    aside = 2.0 * V / (stream + V)
    d = -math.tan(aside * beta) / 0.2
    y = (np.arange(strips) + 0.5) / strips * 2.0 * HALF - HALF
    inside = np.abs(y - d) < 1.0  # radii of the stream, at the height of its middle
    load = 0.5 * 2.0 * HALF / strips
    angle = -0.5 * 0.1 * 0.8 * np.sum((y - d) * inside * load)
    q_s = 0.5 * RHO * stream**2
    M = _moments(_tail(), beta, 0.1)[4]
    within = 3.0 / strips * 0.5 * 0.1 * 0.8 * q_s * S * C / 0.5
    agree("M", M, q_s * S * C * -1.0 * angle / 0.5, within=within + 0.01 * abs(M))
    # what the slipstream adds to the elevator fades by the same strips
    de = -0.1
    more = _moments(_tail(), beta, 0.0, de=de)[4] - _moments(_tail(), beta, 0.0, de=de, stream=0.0)[4]
    left = more / ((q_s - 0.5 * RHO * V**2) * S * C * -1.0 * 0.4 * de)
    agree("immersed", left, np.sum(inside * load), within=3.0 / strips + 0.005)


def test_no_swirl_while_the_tube_lies_inside_an_even_load():
    """Up-going and down-going halves even out until the tube reaches a tip; most is felt about there."""
    by = [_moments(_tail(), b, 0.1)[4] for b in (0.05, 0.5 * 0.2 * 1.25, 1.0 * 0.2 * 1.25, 1.5 * 0.2 * 1.25)]
    agree("inside", by[0], 0.0, within=1e-9)
    assert by[1] < 0.2 * max(by)
    assert max(by) == by[3]


@pytest.mark.parametrize("name", DEMOS)
def test_swirl_against_the_lattice_in_that_wash(name):
    """The vortex lattice of the tailplane, its panels tilted as the swirl turns the air there (computed).

    Each strip is given the mean of the air over its width; the finer the lattice, the nearer.
    """
    coarse, fine = (
        np.array([in_the_wash(name, spanwise, d) for d in np.linspace(0.3, 2.4, 15)]) for spanwise in (16, 60)
    )
    most = np.max(fine[:, 0])
    assert np.max(np.abs(fine[:, 0] - fine[:, 1])) < 0.04 * most, fine / most
    rms = [np.sqrt(np.mean((rows[:, 0] - rows[:, 1]) ** 2)) for rows in (coarse, fine)]
    assert rms[1] < rms[0] and rms[1] < 0.02 * most


def test_few_strips_of_the_lattice_are_enough():
    """Half and twice the strips of the estimate: the numbers that stand for the load change by 2 %."""
    airframe = load_airframe("corvane")
    found = []
    for spanwise in (8, 16, 32):
        tail = build_lattice(airframe, chordwise=5, spanwise=spanwise).part("tailplane")
        loads = solve(tail, Conditions(alpha=np.array([-0.03, 0.03])))
        y, strip = np.unique(np.round(tail.control[:, 1], 9), return_inverse=True)
        load = np.bincount(strip.reshape(-1), loads.circulation[1] - loads.circulation[0])
        numbers = tail_in_stream(airframe, y, load)
        found.append([mean_angle(numbers, d) for d in (0.6, 1.2, 1.8)])
    np.testing.assert_allclose(found[1], found[2], rtol=0.025)
    np.testing.assert_allclose(found[0], found[2], rtol=0.06)


# ---------------------------------------------------------------- the fin in pitch


def test_fin_force_stands_across_the_wind():
    """Suction alone takes and gives no power: X u + Y v = 0, whatever fin and rudder do; and it acts at the height h."""
    fin = {"CYb": -0.45, "CYdr": 0.25, "Clb": -0.45 * 0.2 / B, "Cldr": 0.25 * 0.2 / B, "CDdr2": 0.0}
    terms = fin_in_pitch(fin, area=0.1, aspect=1.5, S=S, b=B, c=C)["fin suction"]
    own = {name: fin[name] for name in ("CYb", "CYdr", "Clb", "Cldr")}
    for beta, dr in ((0.1, 0.0), (0.2, 0.1), (-0.2, -0.3)):
        values = dict(own)
        for name, value in terms.items():
            values[name] = values.get(name, 0.0) + value
        plane = plane_of(4.5, (0.3, 0.5, 0.7), S, B, C, CD90=0.0, **values)
        v = (V * math.cos(beta), V * math.sin(beta), 0.0)
        X, Y, _, L, M, _ = aerodynamics(plane, RHO, *v, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, dr, 0.0, 0.0, 0.0)[:6]
        side = 0.5 * RHO * V**2 * S * (fin["CYb"] * beta + fin["CYdr"] * dr)
        parts = 0.5 * RHO * V**2 * S * (abs(fin["CYb"] * beta) + abs(fin["CYdr"] * dr))
        agree("Y", Y, side, within=0.03 * parts)  # beta^2 of the rudder's part is not taken back
        agree("X", X, -side * math.tan(beta), within=0.03 * parts * abs(beta))
        agree("M", M, -0.2 * X, within=0.03 * 0.2 * parts * abs(beta))
        agree("L", L, 0.2 * side, share=1e-6)


def test_forward_for_a_fin_that_weathercocks_backward_for_a_rudder_that_holds():
    """Air from the left, force of the fin to the right, tilted forward; right rudder against it, to the left, tilted back."""
    for beta, dr, forward in ((-0.2, 0.0, True), (-0.2, -0.6, False)):
        fin = {"CYb": -0.45, "CYdr": 0.25, "Clb": -0.05, "Cldr": 0.03, "CDdr2": 0.0}
        terms = fin_in_pitch(fin, area=0.1, aspect=1.5, S=S, b=B, c=C)["fin suction"]
        drag = terms["CDb2"] * beta**2 + terms["CDbdr"] * beta * dr
        pitch = terms["Cmb2"] * beta**2 + terms["Cmbdr"] * beta * dr
        assert (drag < 0.0) == forward
        assert (pitch < 0.0) == forward, "a pull forward above the CG puts the nose down"


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize(("beta", "dr"), [(10, 0), (15, 0), (-15, -14), (0, 14)])
def test_fin_by_itself_against_lifting_line_and_lattice(name, beta, dr):
    """Force along the body of the lattice of the fin without its neighbors: -CY tan(beta) - CY^2 S/(S_f pi A_f).

    The lattice closes the root of the fin in the body, which adds to its span: A_f then is 1.2 to 1.35 times that of
    the fin measured (computed).  Lifting line, elliptic: e = 1.
    """
    airframe = load_airframe(name)
    lattice = build_lattice(airframe, chordwise=5, spanwise=24).part("fin")
    b, d = beta * DEG, dr * DEG
    X, Y = solve(lattice, Conditions(beta=b, dr=d)).body[0, 0, :2]
    fin, S = airframe.fin, airframe.wing.area
    A = 1.25 * fin.span**2 / fin.area
    scale = abs(Y * math.tan(b)) + Y * Y * S / (fin.area * math.pi * A)
    agree("X", X, -Y * math.tan(b) - Y * Y * S / (fin.area * math.pi * A), within=0.2 * scale)


@pytest.mark.parametrize("name", DEMOS)
def test_force_along_the_body_is_that_of_the_whole_lattice(name):
    """Suction and induced drag of the estimate against the fin among its neighbors, sidewash apart."""
    airframe = load_airframe(name)
    known = from_geometry(airframe)
    lattice = build_lattice(airframe, chordwise=8, spanwise=24)
    beta, dr = np.radians([10.0, 15.0, -15.0, 0.0]), np.radians([0.0, 0.0, -14.0, 14.0])
    loads = solve(lattice, Conditions(beta=beta, dr=dr))
    X, Y = (loads.body[:, loads.components.index("fin"), i] for i in range(2))
    fin, S = airframe.fin, known.S
    terms = known.share("CDdr2")
    k = terms["fin induced drag"] / known.share("CYdr")["fin"] ** 2
    A = S / (fin.area * math.pi * k)
    assert 1.0 <= A / (fin.span**2 / fin.area) <= 1.85, (
        "Raymer 16.4.6: half as much again, by end plates (second hand)"
    )
    scale = np.abs(Y * np.tan(beta)) + k * Y**2
    assert np.all(np.abs(X - (-Y * np.tan(beta) - k * Y**2)) < 0.25 * scale), (
        X,
        -Y * np.tan(beta) - k * Y**2,
    )


@pytest.mark.parametrize("name", DEMOS)
def test_what_the_fin_does_in_pitch_has_a_name(name):
    known = from_geometry(load_airframe(name))
    assert set(FIN_IN_PITCH) <= set(known.components)
    assert known.share("Cmb2")["fin suction"] < 0.0 < known.share("Cmdr2")["rudder drag"]
    height = known.share("Cmdr2")["rudder drag"] / known["CDdr2"] * known.c
    assert 0.02 < height < load_airframe(name).fin.span

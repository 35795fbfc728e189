"""From sticks to surfaces: signs in words, blends that do nothing or come in slowly, gates, lost travel."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import DEG, plane_of

from sixdof.flight import mixing
from sixdof.flight.mixing import BLEND_DTYPE, amount_at, curve, mix, stick_for, throws
from sixdof.physics.aero import aerodynamics
from sixdof.physics.channels import AILERON, ELEVATOR, FLAP, NUMBER, RUDDER, THROTTLE

FRAME = 0.02  # s
STICK = st.floats(-1.0, 1.0)
STICKS = st.tuples(STICK, STICK, STICK, st.floats(0.0, 1.0), st.floats(0.0, 1.0))


def plane_with_throws(**more):
    """Every throw different, so that no two can be mixed up; flaps that are down in a frame."""
    throw = dict(
        aileron_up=0.30, aileron_down=0.25, elevator_up=0.40, elevator_down=0.35,
        rudder_left=0.50, rudder_right=0.55, flap_down=0.60, flap_rate=100.0,
    )  # fmt: skip
    return plane_of(2.0, (0.1, 0.1, 0.2), 0.4, 1.5, 0.27, **{**throw, **more})


def blend_of(source, target, points, **more):
    """One blend: points are (position, amount)."""
    blend = np.zeros(1, BLEND_DTYPE)[0]
    blend["source"], blend["target"], blend["points"] = NUMBER[source], NUMBER[target], len(points)
    for i, (position, amount) in enumerate(points):
        blend["position"][i], blend["amount"][i] = position, amount
    blend["on"], blend["gate"] = 1, -1
    for name, value in more.items():
        blend[name] = value
    return blend


class Radio:
    """What lasts from frame to frame."""

    def __init__(self, plane, *blends):
        self.plane = plane
        self.blends = np.array([tuple(blend) for blend in blends], BLEND_DTYPE)
        self.level, self.added = np.full(len(blends), -1.0), np.zeros(len(blends))
        self.held, self.commands, self.targets, self.lost = np.zeros(5), np.zeros(5), np.zeros(6), np.zeros(4)

    def frame(self, *sticks, switch=1.0, mixer=mix):
        mixer(
            self.plane, self.blends, np.array(sticks, float), self.level, self.added, switch, FRAME,
            self.held, self.commands, self.targets, self.lost,
        )  # fmt: skip
        return self.targets.copy()


def moments(plane, targets):
    """L, M, N of surfaces at these targets, 20 m/s straight ahead."""
    return aerodynamics(plane, 1.2, 20.0, 0.0, 0.0, 0.0, 0.0, 0.0, *targets[:5], 0.0, 0.0)[3:6]


CONTROLS = dict(Clda=-0.2, Cmde=-0.9, Cndr=-0.08)  # ISO 1151: positive deflection, negative moment


def test_right_aileron_raises_the_right_panel_and_rolls_right():
    plane = plane_with_throws(**CONTROLS)
    right, left, *rest, _ = Radio(plane).frame(1.0, 0.0, 0.0, 0.0, 0.0)
    assert (right, left) == (-0.30, 0.25), (
        "right panel up by its full up throw, left one down by its down throw"
    )
    assert rest == [0.0, 0.0, 0.0]
    assert moments(plane, [right, left, 0.0, 0.0, 0.0])[0] > 0.0
    right, left, *_ = Radio(plane).frame(-1.0, 0.0, 0.0, 0.0, 0.0)
    assert (right, left) == (0.25, -0.30)
    assert moments(plane, [right, left, 0.0, 0.0, 0.0])[0] < 0.0


def test_up_elevator_lifts_its_trailing_edge_and_the_nose():
    plane = plane_with_throws(**CONTROLS)
    up, down = (Radio(plane).frame(0.0, stick, 0.0, 0.0, 0.0) for stick in (1.0, -1.0))
    assert up[2] == -0.40 and down[2] == 0.35, "negative is trailing edge up"
    assert moments(plane, up)[1] > 0.0 > moments(plane, down)[1]


def test_right_rudder_moves_its_trailing_edge_right_and_the_nose():
    plane = plane_with_throws(**CONTROLS)
    right, left = (Radio(plane).frame(0.0, 0.0, stick, 0.0, 0.0) for stick in (1.0, -1.0))
    assert right[3] == -0.55 and left[3] == 0.50, "negative is trailing edge right"
    assert moments(plane, right)[2] > 0.0 > moments(plane, left)[2]


def test_flap_and_throttle():
    targets = Radio(plane_with_throws()).frame(0.0, 0.0, 0.0, 0.5, 0.7)
    assert targets[4] == pytest.approx(0.30) and targets[5] == 0.7
    assert tuple(targets[:4]) == (0.0, 0.0, 0.0, 0.0)


def test_what_reads_the_flap_moves_in_time_with_it():
    """0.6 rad at 6 rad/s: down in 5 frames of 20 ms, up again in as many."""
    radio = Radio(plane_with_throws(flap_rate=6.0), blend_of("flap", "elevator", [(0, 0), (1, -1)]))
    for lever, shares in ((1.0, (0.2, 0.4, 0.6, 0.8, 1.0, 1.0)), (0.0, (0.8, 0.6, 0.4, 0.2, 0.0, 0.0))):
        for share in shares:
            targets = radio.frame(0.0, 0.0, 0.0, lever, 0.0)
            assert targets[4] == pytest.approx(0.60 * share) and targets[2] == pytest.approx(0.35 * share)


@pytest.mark.parametrize("target", ["aileron", "elevator", "rudder"])
@pytest.mark.parametrize("amount", [0.2, -0.2])
def test_a_blend_adds_in_the_target_s_own_sense(target, amount):
    """+ is right aileron, up elevator, right rudder, as a share of the full throw that way."""
    plane = plane_with_throws()
    blended = Radio(
        plane, blend_of("rudder" if target != "rudder" else "aileron", target, [(-1, amount), (1, amount)])
    )
    by_stick = np.zeros(5)
    by_stick[NUMBER[target]] = amount
    np.testing.assert_allclose(blended.frame(0, 0, 0, 0, 0), Radio(plane).frame(*by_stick), atol=1e-15)


@settings(max_examples=50, deadline=None)
@given(
    STICKS,
    st.sampled_from(["aileron", "elevator", "rudder", "flap", "throttle"]),
    st.sampled_from(["aileron", "elevator", "rudder", "flap"]),
)
def test_zero_blend_is_no_blend(sticks, source, target):
    """No amount, no points, not on, or switched off: bit for bit the plain radio."""
    plane = plane_with_throws(aileron_expo=0.3, elevator_trim=0.1, rudder_step=0.01, elevator_slop=0.004)
    plain = Radio(plane)
    wanted = plain.frame(*sticks)
    live = [(-1.0, -0.3), (0.0, 0.0), (1.0, 0.2)]
    for blend, switch in (
        (blend_of(source, target, [(-1.0, 0.0), (1.0, 0.0)]), 1.0),
        (blend_of(source, target, []), 1.0),
        (blend_of(source, target, live, on=0), 1.0),
        (blend_of(source, target, live), 0.0),
        (blend_of(source, target, live, gate=THROTTLE, gate_low=2.0, gate_high=3.0), 1.0),
    ):
        radio = Radio(plane, blend)
        assert np.array_equal(radio.frame(*sticks, switch=switch), wanted), blend
        assert np.array_equal(radio.lost, plain.lost)


@settings(max_examples=50, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(-1.0, 1.0), st.floats(-0.5, 0.5)),
        min_size=2,
        max_size=9,
        unique_by=lambda p: round(p[0], 3),
    ),
    STICK,
)
def test_points_are_joined_by_straight_lines(points, position):
    points = sorted(points)
    blend = blend_of("rudder", "elevator", points)
    wanted = np.interp(position, [p for p, _ in points], [a for _, a in points])
    assert abs(amount_at(blend, position) - wanted) < 1e-12


def test_v_and_straight_blends():
    """A V gives up elevator for both rudders, a straight line up for one and down for the other."""
    v = blend_of("rudder", "elevator", [(-1, 0.05), (0, 0), (1, 0.05)])
    line = blend_of("rudder", "elevator", [(-1, -0.05), (0, 0), (1, 0.05)])
    plane = plane_with_throws()
    for side in (-1.0, 1.0):
        assert Radio(plane, v).frame(0, 0, side, 0, 0)[2] == pytest.approx(-0.05 * 0.40)
    assert Radio(plane, line).frame(0, 0, 1, 0, 0)[2] == pytest.approx(-0.05 * 0.40)
    assert Radio(plane, line).frame(0, 0, -1, 0, 0)[2] == pytest.approx(0.05 * 0.35)


def test_lost_travel_is_counted():
    """Asked for more than the end: the surface stops there and the time is counted."""
    blend = blend_of("rudder", "elevator", [(-1, 0.2), (0, 0), (1, 0.2)])
    radio = Radio(plane_with_throws(), blend)
    for _ in range(10):
        targets = radio.frame(0.0, 0.9, 1.0, 0.0, 0.0)
    assert targets[2] == -0.40
    np.testing.assert_allclose(radio.lost, [0.0, 10 * FRAME, 0.0, 0.0])
    radio.frame(0.0, 0.7, 1.0, 0.0, 0.0)
    np.testing.assert_allclose(radio.lost, [0.0, 10 * FRAME, 0.0, 0.0])
    down = blend_of("throttle", "flap", [(0, -0.1), (1, -0.1)])
    radio = Radio(plane_with_throws(), down)
    assert radio.frame(0, 0, 0, 0.05, 0)[4] == 0.0 and radio.lost[3] == FRAME


def test_trim_uses_up_travel():
    radio = Radio(plane_with_throws(aileron_trim=0.2))
    assert radio.frame(0.0, 0, 0, 0, 0)[0] == pytest.approx(-0.2 * 0.30)
    assert radio.frame(0.9, 0, 0, 0, 0)[0] == pytest.approx(-0.30)
    assert radio.lost[0] == FRAME


def test_switch_ramps_in_and_out():
    """With a ramp of 0.5 s the blend comes in by 4 % a frame of 20 ms, and goes out so."""
    radio = Radio(plane_with_throws(), blend_of("rudder", "elevator", [(-1, 0.1), (1, 0.1)], ramp=0.5))
    radio.frame(0, 0, 0, 0, 0, switch=0.0)
    levels = []
    for switch in [1.0] * 30 + [0.0] * 30:
        found = radio.frame(0, 0, 0, 0, 0, switch=switch)[2]
        levels.append(radio.level[0])
        assert found == pytest.approx(-0.1 * 0.40 * levels[-1])
    wanted = [min(0.04 * (k + 1), 1.0) for k in range(30)] + [
        max(1.0 - 0.04 * (k + 1), 0.0) for k in range(30)
    ]
    np.testing.assert_allclose(levels, wanted, atol=1e-12)


def test_blend_that_is_on_at_the_start_is_fully_in():
    radio = Radio(plane_with_throws(), blend_of("rudder", "elevator", [(-1, 0.1), (1, 0.1)], ramp=2.0))
    assert radio.frame(0, 0, 0, 0, 0)[2] == pytest.approx(-0.1 * 0.40)


def test_gate_opens_and_shuts():
    """Throttle to elevator, gated at idle: nothing above it; a ramp softens the gate."""
    blend = blend_of(
        "throttle", "elevator", [(0, -0.03), (1, -0.03)], gate=THROTTLE, gate_low=0.0, gate_high=0.1
    )
    radio = Radio(plane_with_throws(), blend)
    assert radio.frame(0, 0, 0, 0, 0.05)[2] == pytest.approx(0.03 * 0.35)
    assert radio.frame(0, 0, 0, 0, 0.10)[2] == pytest.approx(0.03 * 0.35)
    assert radio.frame(0, 0, 0, 0, 0.11)[2] == 0.0
    blend["ramp"] = 0.2
    radio = Radio(plane_with_throws(), blend)
    radio.frame(0, 0, 0, 0, 1.0)
    assert radio.frame(0, 0, 0, 0, 0.0)[2] == pytest.approx(0.1 * 0.03 * 0.35)


def test_what_a_blend_reads():
    """After the curve unless it says before; trims only where they count; sums only where ordered."""
    points = [(-1.0, -1.0), (1.0, 1.0)]
    plane = plane_with_throws(rudder_expo=0.5, rudder_trim=0.1)
    half = curve(0.5, 0.5)
    assert half == pytest.approx(0.3125)

    def elevator(*blends):
        return -Radio(plane, *blends).frame(0, 0, 0.5, 0, 0)[2] / 0.40

    assert elevator(blend_of("rudder", "elevator", points)) == pytest.approx(half)
    assert elevator(blend_of("rudder", "elevator", points, reads_stick=1)) == pytest.approx(0.5)
    assert elevator(blend_of("rudder", "elevator", points, counts_trim=1)) == pytest.approx(half + 0.1)
    more = blend_of("aileron", "rudder", [(-1.0, 0.2), (1.0, 0.2)])
    assert elevator(more, blend_of("rudder", "elevator", points)) == pytest.approx(half)
    assert elevator(more, blend_of("rudder", "elevator", points, after=0b1)) == pytest.approx(half + 0.2)
    other = blend_of("aileron", "rudder", [(-1.0, 0.3), (1.0, 0.3)])  # stands before it too, but is not named
    assert elevator(other, more, blend_of("rudder", "elevator", points, after=0b10)) == pytest.approx(
        half + 0.2
    )


@settings(max_examples=50, deadline=None)
@given(STICK, st.floats(0.0, 0.9))
def test_stick_for_undoes_the_curve(stick, expo):
    assert abs(stick_for(curve(stick, expo), expo) - stick) < 1e-6
    assert curve(1.0, expo) == pytest.approx(1.0) and curve(-1.0, expo) == pytest.approx(-1.0)


@settings(max_examples=50, deadline=None)
@given(STICKS)
def test_mirrored_sticks_mirror_the_surfaces(sticks):
    """With even rudder throws, left and right sticks are mirror images."""
    plane = plane_with_throws(rudder_left=0.55, aileron_expo=0.2)
    blend = blend_of("rudder", "elevator", [(-1, 0.05), (0, 0), (1, 0.05)])
    a, e, r, f, t = sticks
    here, there = Radio(plane, blend).frame(a, e, r, f, t), Radio(plane, blend).frame(-a, e, -r, f, t)
    np.testing.assert_allclose(there, [here[1], here[0], here[2], -here[3], here[4], here[5]], atol=1e-15)


def test_slop_of_each_surface_is_its_own():
    plane = plane_with_throws(elevator_slop=2.0 * DEG)
    radio = Radio(plane)
    targets = radio.frame(0.1, 0.1, 0.1, 0.1, 0.0)
    assert targets[2] == pytest.approx(-0.1 * 0.40 + 1.0 * DEG)
    np.testing.assert_allclose(targets[[0, 1, 3, 4]], [-0.03, 0.025, -0.055, 0.06])
    assert radio.frame(0, 0.1 - 0.5 * DEG / 0.40, 0, 0, 0)[2] == targets[2], "inside the slop nothing moves"


@pytest.mark.parametrize("channel", ["aileron", "elevator", "rudder", "flap"])
def test_slop_belongs_to_one_channel(channel):
    """Each surface keeps back half of the slop of its own channel and of no other."""
    sticks = (0.5, 0.5, 0.5, 0.5, 0.0)
    plain = Radio(plane_with_throws()).frame(*sticks)
    loose = Radio(plane_with_throws(**{f"{channel}_slop": 0.02})).frame(*sticks)
    rows = {"aileron": [0, 1], "elevator": [2], "rudder": [3], "flap": [4]}[channel]
    wanted = np.zeros(6)
    wanted[rows] = -0.01 * np.sign(plain[rows])
    np.testing.assert_allclose(loose - plain, wanted, atol=1e-15)


@pytest.mark.parametrize("source", ["aileron", "elevator", "rudder"])
def test_sums_and_trims_are_those_of_the_source(source):
    """A blend onto the flap reads trim and sum of its own source."""
    trims = {"aileron_trim": 0.01, "elevator_trim": 0.02, "rudder_trim": 0.04}
    plane, line = plane_with_throws(**trims), [(0.0, 0.0), (1.0, 1.0)]
    sticks = dict(aileron=0.1, elevator=0.2, rudder=0.4)
    reads = blend_of(source, "flap", line, after=0b111, counts_trim=1)
    before = [
        blend_of("throttle", target, [(0.0, amount), (1.0, amount)])
        for target, amount in (("aileron", 0.05), ("elevator", 0.06), ("rudder", 0.07))
    ]
    added = dict(aileron=0.05, elevator=0.06, rudder=0.07)
    found = Radio(plane, *before, reads).frame(*sticks.values(), 0.0, 0.0)[4] / 0.60
    assert found == pytest.approx(sticks[source] + trims[f"{source}_trim"] + added[source])


def test_compiled_against_plain_python(monkeypatch):
    """The mixer as plain Python: the same targets, levels and lost time, bit for bit within rounding."""
    plane = plane_with_throws(
        aileron_expo=0.3, rudder_expo=0.2, elevator_trim=0.05, rudder_slop=0.01, aileron_step=0.003
    )
    blends = (
        blend_of("rudder", "elevator", [(-1, 0.3), (0, 0), (1, 0.2)], ramp=0.3, counts_trim=1),
        blend_of("rudder", "aileron", [(-1, -0.2), (1, 0.2)], gate=FLAP, gate_low=0.0, gate_high=0.5),
        blend_of("aileron", "rudder", [(-1, -0.1), (1, 0.1)], after=0b10),
    )
    rng = np.random.default_rng(5)
    frames = [
        (np.clip(rng.uniform(-1.6, 1.6, 3), -1, 1), rng.uniform(0, 1, 2), float(rng.integers(2)))
        for _ in range(40)
    ]
    fast, slow = Radio(plane, *blends), Radio(plane, *blends)
    wanted = [fast.frame(*s, *t, switch=w) for s, t, w in frames]
    for module in (mixing,):
        for name in ("amount_at", "curve", "throws", "clip", "held_target"):
            monkeypatch.setattr(module, name, getattr(module, name).py_func)
    found = [slow.frame(*s, *t, switch=w, mixer=mix.py_func) for s, t, w in frames]
    np.testing.assert_allclose(found, wanted, atol=1e-14)
    np.testing.assert_allclose(slow.level, fast.level, atol=1e-14)
    np.testing.assert_allclose(slow.lost, fast.lost, atol=1e-14)
    assert fast.lost.max() > 0.0


def test_throws_is_the_linkage_of_the_mixer():
    """The trim solver and the mixer ask the same linkage."""
    plane, out = plane_with_throws(), np.zeros(6)
    throws(plane, 0.3, -0.4, 0.5, 0.6, out)
    np.testing.assert_allclose(Radio(plane).frame(0.3, -0.4, 0.5, 0.6, 0.0), out)
    assert (AILERON, ELEVATOR, RUDDER) == (0, 1, 2)

"""What a flyer measures becomes mass, CG, inertia and speeds: worked by hand, and by a second way."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import agree
from test_airframe_load import edited

from sixdof.airframe.geometry import Section
from sixdof.airframe.load import load_airframe
from sixdof.airframe.mass import MassForm
from sixdof.airframe.model import Passes
from sixdof.estimate.panels import camber_slope
from sixdof.files.errors import InputError
from sixdof.physics.constants import G0

MOMENTS = "  Ixx: 0.28 kg m2    # roll\n  Iyy: 0.62 kg m2    # pitch\n  Izz: 0.86 kg m2    # yaw\n"
SPEEDS = """speeds:
  cruise: 27.5 m/s
  full_throttle: {distance: 100 m, there: 2.5 s, back: 2.7 s}
  stall: 11.5 m/s
  never_exceed: 55 m/s"""
LIMITS = "limits: {g_positive: 10 g, g_negative: 8 g}   # both as positive numbers\n"
CG = "cg: {aft: 666 mm, up: -10 mm}        # 36 % of the mean chord"


def mass(**given):
    """Mass properties of a form, beside an airplane of 1 m span and length."""
    return MassForm.model_validate({"total": "2 kg", "cg": {"aft": "400 mm", "up": "0 mm"}, **given}).to_mass(
        {}
    )


def refused(tmp_path, *changes, key, says):
    path = edited(tmp_path, *changes)
    with pytest.raises(InputError) as caught:
        load_airframe(path)
    text = str(caught.value)
    assert "\n" not in text and text.startswith(f"{path}:")
    place, _, message = text.removeprefix(f"{path}:").partition(f": {key}: ")
    assert says in message, text
    last = key.rsplit(".", 1)[-1]
    assert last in path.read_text(encoding="utf-8").splitlines()[int(place) - 1], text


# ------------------------------------------------------------------ inertia


def swing_of(inertia, m, apart, length):
    """Ten swings, by the torsion of two wires: I w² = m g (d/2)²/L, its own derivation."""
    return 10.0 * 2.0 * math.pi / math.sqrt(m * G0 * (apart / 2.0) ** 2 / length / inertia)


@given(st.floats(0.05, 0.09), st.floats(0.2, 1.5), st.floats(0.5, 4.0))
def test_a_swing_gives_back_the_inertia(inertia, apart, length):
    time = swing_of(inertia, 2.0, apart, length)
    swing = {"wires_apart": f"{apart!r} m", "wire_length": f"{length!r} m", "ten_swings": f"{time!r} s"}
    found = mass(Ixx=swing, Iyy=swing, Izz="0.06 kg m2")
    agree("Ixx", found.Ixx, inertia, share=1e-9, source="swing computed from it")
    assert found.Iyy == found.Ixx
    assert found.inertia_source == ("swing", "swing", "given")
    assert found.inertia_sigma == (0.15, 0.15, 0.05)


def test_a_swing_against_a_bar_worked_by_hand():
    """Uniform bar, 2 kg, 1 m, m l²/12 = .1667 kg m2, hung by its ends on lines of 1 m swings as
    2 pi sqrt(L/(3 g)) = 1.1584 s, whatever the bar (textbook)."""
    swing = {"wires_apart": "1 m", "wire_length": "1 m", "ten_swings": "11.584 s"}
    agree(
        "bar", mass(Izz=swing, Ixx="0.1 kg m2", Iyy="0.1 kg m2").Izz, 2.0 / 12.0, share=1e-4, source="m l²/12"
    )


def test_left_out_moments_come_from_the_usual_radii(tmp_path):
    """By hand for 4.7 kg, span 1.9997 m (panels at 1 deg), length 1.8 m."""
    found = load_airframe(edited(tmp_path, (MOMENTS, ""))).mass
    b, L = 2.0 * math.cos(math.radians(1.0)), 1.8
    agree("Ixx", found.Ixx, 4.7 * (0.30 * b / 2.0) ** 2, share=1e-12, source="m (b R/2)²")
    agree("Iyy", found.Iyy, 4.7 * (0.45 * L / 2.0) ** 2, share=1e-12, source="m (L R/2)²")
    agree("Izz", found.Izz, 4.7 * (0.45 * (b + L) / 4.0) ** 2, share=1e-12, source="m ((b + L) R/4)²")
    assert found.inertia_source == ("usual",) * 3 and found.inertia_sigma == (0.3,) * 3


def test_radii_of_a_full_size_airplane():
    """NAVION, Seckel & Morris 1971, second-hand: 2948 lb, I 1284, 2773, 3235 slug ft², radii .224, .400, .390
    with span 33.4 ft and length 27.5 ft (from memory)."""
    slug = 14.593903
    form = MassForm.model_validate(
        {"total": "2948 lb", "cg": {"aft": "0 m", "up": "0 m"},
         "radii": {"roll": "22.4 %", "pitch": "40.0 %", "yaw": "39.0 %"}}
    )  # fmt: skip
    ft = 0.3048
    found = form.radii.inertias(form.total, 33.4 * ft, 27.5 * ft)
    for name, value, printed in zip(("Ixx", "Iyy", "Izz"), found, (1284.0, 2773.0, 3235.0), strict=True):
        agree(
            name,
            value / (slug * ft**2),
            printed,
            share=0.01,
            source="Seckel & Morris, three digits of radius",
        )


def test_given_radii_and_one_given_moment(tmp_path):
    path = edited(tmp_path, (MOMENTS, "  Ixx: 0.28 kg m2\n  radii: {pitch: 40 %}\n"))
    found = load_airframe(path).mass
    assert found.Ixx == 0.28 and found.inertia_source == ("given", "usual", "usual")
    agree("Iyy", found.Iyy, 4.7 * (0.40 * 1.8 / 2.0) ** 2, share=1e-12, source="m (L R/2)²")


def test_a_swing_no_body_can_have_is_refused(tmp_path):
    swing = "{wires_apart: 800 mm, wire_length: 1.5 m, ten_swings: 60 s}"
    refused(
        tmp_path,
        ("Izz: 0.86 kg m2", f"Izz: {swing}"),
        key="mass.Izz",
        says="more than the other two together",
    )


@pytest.mark.parametrize(
    ("swing", "key", "says"),
    [
        ("{wires_apart: 800 mm, wire_length: 1.5 m}", "ten_swings", "this key is missing"),
        ("{wires_apart: 800 mm, wire_length: 1.5 m, ten_swing: 20 s}", "ten_swing", "did you mean ten_swings?"),
        ("{wires_apart: 0 mm, wire_length: 1.5 m, ten_swings: 20 s}", "wires_apart", "expected at least 0.01 mm"),
        ("{wires_apart: 800 mm, wire_length: 1.5 m, ten_swings: 20}", "ten_swings", "without a unit, expected"),
        ("{wires_apart: 800 mm, wire_length: 1.5 s, ten_swings: 20 s}", "wire_length", "another kind of value"),
    ],
)  # fmt: skip
def test_bad_swing(tmp_path, swing, key, says):
    path = edited(tmp_path, ("Izz: 0.86 kg m2", f"Izz: {swing}"))
    with pytest.raises(InputError) as caught:
        load_airframe(path)
    assert f": mass.Izz.{key}: " in str(caught.value) and says in str(caught.value)


# ------------------------------------------------------------------ balance


def test_lateral_balance_arithmetic():
    """14 g at .9 m is .124 N m (common arithmetic of the trade), on 4.7 kg 2.68 mm of CG."""
    balance = {"weight": "14 g", "at": "900 mm", "side": "right"}
    found = mass(total="4.7 kg", balance=balance)
    agree("moment", -found.cg[1] * 4.7 * G0, 0.124, within=0.0005, source="14 g at 0.9 m")
    agree("cg right", found.cg[1], -0.014 * 0.9 / 4.7, share=1e-12, source="needed on the right: CG is left")
    assert mass(total="4.7 kg", balance={**balance, "side": "left"}).cg[1] == -found.cg[1] > 0.0


def test_the_weight_brings_the_common_cg_to_the_center_line():
    found = mass(balance={"weight": "20 g", "at": "0.6 m", "side": "left"})
    assert found.m * found.cg[1] + 0.020 * -0.6 == pytest.approx(0.0, abs=1e-15)


@given(
    aft=st.integers(300, 500), up=st.integers(-80, 80), at=st.integers(700, 1500), above=st.integers(10, 200)
)
def test_hang_test_gives_back_the_height(aft, up, at, above):
    """A body free to turn about one point comes to rest with its CG below it: on the plumb line."""
    cg, point = np.array([aft, up], float), np.array([at, above], float)
    toward = cg - point
    if abs(toward[1]) < 1.0:
        return  # parallel to the center line, crosses nowhere
    crosses = point[0] - point[1] * toward[0] / toward[1]  # line meets height 0
    crosses = float(crosses)
    if abs(at - crosses) < 20.0 or abs(crosses) > 1e5:
        return
    found = mass(
        cg={"aft": f"{aft} mm"}, hang={"aft": f"{at} mm", "up": f"{above} mm", "crosses": f"{crosses!r} mm"}
    )
    assert found.cg == pytest.approx((-aft / 1e3, 0.0, -up / 1e3), abs=1e-9)


def test_hang_test_worked_by_hand(tmp_path):
    """Hung 1800 aft, 60 up; the CG 672 aft, 10 below: slope 70/1128, center line met at 1800 - 60/.062057."""
    path = edited(tmp_path, (CG, "cg: {aft: 672 mm}\n  hang: {aft: 1800 mm, up: 60 mm, crosses: 833.14 mm}"))
    agree("height", -load_airframe(path).mass.cg[2], -0.010, within=1e-6, source="similar triangles")


@pytest.mark.parametrize(
    ("changes", "key", "says"),
    [
        (((CG, "cg: {aft: 672 mm}"),), "mass.cg", "add it, or the block hang"),
        (((CG, f"{CG}\n  hang: {{aft: 1.8 m, up: 60 mm, crosses: 817 mm}}"),), "mass.hang", "keep one of them"),
        (((CG, "cg: {aft: 672 mm}\n  hang: {aft: 1.8 m, up: 0 mm, crosses: 817 mm}"),), "mass.hang.up", "above or below"),
        (((CG, "cg: {aft: 672 mm}\n  hang: {aft: 820 mm, up: 60 mm, crosses: 817 mm}"),), "mass.hang.crosses", "further ahead or aft"),
        (((CG, "cg: {aft: 672 mm, up: 0 mm, right: 0 mm}\n  balance: {weight: 5 g, at: 1 m, side: left}"),), "mass.balance", "keep one of them"),
        (((CG, f"{CG}\n  balance: {{weight: 5 g, at: 1 m, side: lefft}}"),), "mass.balance.side", "did you mean left?"),
        (((CG, f"{CG}\n  balance: {{weight: 5 g, side: left}}"),), "mass.balance", "missing"),
    ],
)  # fmt: skip
def test_bad_balance(tmp_path, changes, key, says):
    path = edited(tmp_path, *changes)
    with pytest.raises(InputError) as caught:
        load_airframe(path)
    text = str(caught.value)
    assert "\n" not in text and f": {key}" in text and says in text, text


# ------------------------------------------------------------------ section, controls


@given(st.floats(-12.0, 12.0))
def test_zero_lift_angle_becomes_camber(degrees):
    """Thin-airfoil integral over the mean line of the panels, summed in small steps."""
    section = Section.model_validate({"thickness": "12 %", "zero_lift": f"{degrees!r} deg"})
    t = (np.arange(20000) + 0.5) / 20000 * math.pi
    slope = section.camber * camber_slope((1.0 - np.cos(t)) / 2.0)
    found = -np.mean(slope * (np.cos(t) - 1.0))
    agree(
        "zero-lift angle", math.degrees(found), degrees, within=1e-6, share=1e-5, source="thin-airfoil theory"
    )


def test_camber_of_a_common_section():
    """Two percent of camber at .4: -2.07 deg (textbook, four-digit mean line)."""
    found = Section.model_validate({"thickness": "12 %", "zero_lift": "-2.07 deg"}).camber
    agree("camber", found, 0.02, share=0.005, source="thin-airfoil theory, textbook")


def test_camber_and_zero_lift_together_are_refused(tmp_path):
    refused(
        tmp_path, ("camber: 0.2 %}", "camber: 0.2 %, zero_lift: -2 deg}"),
        key="wing.section.zero_lift", says="keep one of them",
    )  # fmt: skip


def test_gap_and_hinge(tmp_path):
    old = "elevator: {chord: 75 mm, inboard: 20 mm, outboard: 320 mm}"
    new = old[:-1] + ", gap: open, hinge: 25 deg}"
    controls = load_airframe(edited(tmp_path, (old, new))).controls
    assert (controls.elevator.gap, controls.aileron.gap, controls.aileron.hinge) == ("open", "sealed", None)
    assert controls.elevator.hinge == pytest.approx(math.radians(25.0))
    refused(
        tmp_path, (old, new.replace("open", "opne")), key="controls.elevator.gap", says="did you mean open?"
    )
    refused(
        tmp_path, (old, new.replace("25", "20")),
        key="rates.snap.elevator.up", says="25 deg is a throw larger than the hinge allows (20 deg); make it smaller",
    )  # fmt: skip


# ------------------------------------------------------------------ speeds, limits, what is left out


@given(st.floats(8.0, 60.0), st.floats(0.0, 7.0), st.floats(50.0, 500.0))
def test_wind_along_the_course_cancels(speed, wind, distance):
    times = {"there": distance / (speed + wind), "back": distance / (speed - wind)}
    passes = Passes.model_validate(
        {"distance": f"{distance!r} m", **{k: f"{t!r} s" for k, t in times.items()}}
    )
    agree("airspeed", passes.airspeed(), speed, share=1e-9, source="computed with wind")


def test_timed_speeds_and_filled_in_limits(tmp_path):
    timed = (
        "speeds:\n  cruise: {distance: 200 m, there: 10 s, back: 8 s}\n"
        "  full_throttle: {distance: 200 m, there: 6 s, back: 5 s}"
    )
    airplane = load_airframe(edited(tmp_path, (SPEEDS, timed), (LIMITS, "")))
    assert airplane.speeds.cruise == pytest.approx(22.5)
    assert airplane.speeds.full_throttle == pytest.approx(200 / 12 + 20)
    assert airplane.speeds.stall is None
    assert airplane.speeds.never_exceed == pytest.approx(1.5 * (200 / 12 + 20))
    assert (airplane.limits.g_positive, airplane.limits.g_negative) == (6.0, 4.0)
    speed, load = airplane.warnings
    assert speed.startswith("speeds.never_exceed: left out, 55 m/s taken") and "guess" in speed
    assert load.startswith("limits: left out, 6 g and -4 g taken") and "guess" in load


def test_never_exceed_from_cruise_alone(tmp_path):
    speeds = load_airframe(
        edited(tmp_path, (SPEEDS, "speeds: {cruise: 25 m/s, full_throttle: 30 m/s}"))
    ).speeds
    assert speeds.never_exceed == pytest.approx(1.5 * 1.4 * 25.0)


@pytest.mark.parametrize(
    ("new", "key", "says"),
    [
        ("{cruise: 25 m/s, full_throttle: 20 m/s}", "full_throttle", "below the cruise speed"),
        ("{cruise: {distance: 200 m, there: 8 s}}", "cruise.back", "this key is missing"),
        ("{cruise: {distance: 200 m, there: 8 s, back: 0 s}}", "cruise.back", "expected at least 1 ms"),
        ("{cruise: {distance: 200 s, there: 8 s, back: 8 s}}", "cruise.distance", "another kind of value: time"),
        ("{cruise: {distance: 100 m, there: 20 s, back: 20 s}, stall: 6 m/s}", "cruise", "below the stall speed"),
    ],
)  # fmt: skip
def test_bad_speeds(tmp_path, new, key, says):
    path = edited(tmp_path, (SPEEDS, f"speeds: {new}"))
    with pytest.raises(InputError) as caught:
        load_airframe(path)
    assert f": speeds.{key}: " in str(caught.value) and says in str(caught.value)


def test_full_throttle_beyond_the_limit_warns(tmp_path):
    new = "speeds: {cruise: 25 m/s, full_throttle: 60 m/s, never_exceed: 55 m/s}"
    (warning,) = load_airframe(edited(tmp_path, (SPEEDS, new))).warnings
    assert "55.0 m/s" in warning and "60.0 m/s" in warning


def test_servos_and_no_load_may_be_left_out(tmp_path):
    text = edited(tmp_path).read_text(encoding="utf-8")
    start, end = text.index("servos:\n"), text.index("speeds:\n")
    path = tmp_path / "bare.yaml"
    kept = [line for line in (text[:start] + text[end:]).splitlines() if not line.startswith("  no_load")]
    path.write_text("\n".join(kept) + "\n", encoding="utf-8")
    airplane = load_airframe(path)
    assert airplane.motor.no_load == 1.25
    assert airplane.servos.aileron == airplane.servos.rudder
    assert 0.0 < airplane.servos.flap.rate < airplane.servos.aileron.rate

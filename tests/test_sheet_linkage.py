"""Arm, pushrod and horn: the plane linkage against closed forms and a numeric solve; the hinge moment against panels."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from test_airframe_load import edited

from sixdof.airframe.describe import linkage_words
from sixdof.airframe.linkage import (
    UpDownLinkage,
    deflection,
    gearing,
    hinge_moment_slopes,
    throws_of,
)
from sixdof.airframe.load import load_airframe
from sixdof.airframe.plausible import servo_torques
from sixdof.files.errors import InputError

MM, DEG = 1e-3, math.pi / 180.0
LINKAGE = """
linkage:
  elevator:
    arm: 12 mm
    lean: 4 deg
    rod: 200 mm
    horn: {high: 20 mm, aft: 3 mm, side: bottom}
    travel: {up: 23 deg, down: 22 deg}
    torque: 2 N m
radio:"""


def linkage(
    arm: float, lean: float, rod: float, high: float, aft: float, up: float = 20.0, down: float = 20.0
) -> UpDownLinkage:
    """Lengths in mm, angles in degrees; the horn is below, so a pull moves the surface down."""
    return UpDownLinkage.model_validate({
        "arm": f"{arm!r} mm", "lean": f"{lean!r} deg", "rod": f"{rod!r} mm",
        "horn": {"high": f"{high!r} mm", "aft": f"{aft!r} mm", "side": "bottom"},
        "travel": {"up": f"{up!r} deg", "down": f"{down!r} deg"},
    })  # fmt: skip


def solved(one: UpDownLinkage, turn: float) -> float:
    """The same by root finding on the length of the pushrod, in complex numbers about the hinge of the surface."""
    arm, horn = one.arm * np.exp(1j * (np.pi / 2 - one.lean)), complex(one.horn.aft, one.horn.high)
    shaft = -arm + complex(one.horn.aft - one.rod, one.horn.high)  # the hinge is the origin

    def stretch(delta: float) -> float:
        rod = horn * np.exp(-1j * delta) - (shaft + arm * np.exp(-1j * turn))
        return float(abs(rod)) - one.rod

    return float(brentq(stretch, -1.0, 1.0, xtol=1e-14))


sizes = st.floats(8.0, 25.0)
shapes = st.builds(
    linkage, sizes, st.floats(-15, 15), st.floats(60, 900), st.floats(12.0, 30.0), st.floats(-5, 5),
    st.just(5.0), st.just(5.0),
)  # fmt: skip


@settings(deadline=None, max_examples=60)
@given(shapes, st.floats(-25.0, 25.0))
def test_it_is_the_numeric_solution(one: UpDownLinkage, degrees: float) -> None:
    ours = deflection(one, degrees * DEG)
    if not math.isnan(ours) and abs(ours) < 0.9:
        assert ours == pytest.approx(solved(one, degrees * DEG), abs=1e-9)
        step = 1e-6
        slope = (deflection(one, degrees * DEG + step) - deflection(one, degrees * DEG - step)) / (2.0 * step)
        assert gearing(one, degrees * DEG) == pytest.approx(slope, rel=1e-5, abs=1e-7)


@settings(deadline=None, max_examples=60)
@given(shapes)
def test_small_angles_follow_the_closed_form(one: UpDownLinkage) -> None:
    """To second order, expanded by hand from |PQ| = rod.

    The gearing is k = r cos(lean) / high; what it makes of differential is
    (k^2 tan(mu) - k tan(lean) - (r sin(lean) - k aft)^2 / (rod high)) / 2 per rad squared.
    """
    r, high, aft = one.arm, one.horn.high, one.horn.aft
    k = r * math.cos(one.lean) / high
    sway = r * math.sin(one.lean) - k * aft
    second = 0.5 * (k**2 * aft / high - k * math.tan(one.lean) - sway**2 / (one.rod * high))
    h = 1e-3
    up, down = deflection(one, h), deflection(one, -h)
    assert (up - down) / (2.0 * h) == pytest.approx(k, rel=1e-4)
    assert (up + down) / (2.0 * h * h) == pytest.approx(second, abs=2e-4 * (1.0 + abs(second)))


def test_a_long_pushrod_moves_straight() -> None:
    """Then r (sin(lean + turn) - sin(lean)) = R (sin(mu + delta) - sin(mu)), which is solved by hand."""
    one = linkage(14.0, 10.0, 900_000.0, 22.0, 4.0)
    r, R, mu, lean = 14.0, math.hypot(22.0, 4.0), math.atan2(4.0, 22.0), 10.0 * DEG
    for turn in (-30 * DEG, -5 * DEG, 25 * DEG):
        straight = math.asin(math.sin(mu) + r / R * (math.sin(lean + turn) - math.sin(lean))) - mu
        assert deflection(one, turn) == pytest.approx(straight, abs=1e-6)


def test_a_parallelogram_turns_as_the_servo_does() -> None:
    one = linkage(20.0, 0.0, 300.0, 20.0, 0.0)
    assert deflection(one, 0.4) == pytest.approx(0.4, abs=1e-12) and gearing(one, 0.4) == pytest.approx(1.0)


def test_a_horn_behind_the_hinge_line_makes_differential() -> None:
    """A push turns it through its highest point: its lever along the pushrod shrinks, so it goes further that way.

    The horn is below: a push moves the surface up.
    """
    found = throws_of(linkage(12.0, 0.0, 500.0, 20.0, 5.0))
    assert found["up"] > 1.05 * found["down"]
    turned = throws_of(linkage(12.0, 0.0, 500.0, 20.0, -5.0))
    assert turned["down"] > 1.05 * turned["up"]


@pytest.mark.parametrize("share", [0.15, 0.3, 0.5, 0.9])
def test_hinge_moment_against_vortices(share: float) -> None:
    """Lumped vortices on a bent plate (quarter and three-quarter points; Katz & Plotkin, section 11.1.1, from memory).

    Nothing is shared with the closed form but thin-airfoil theory itself.
    """
    n = 2000
    edges = 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, n + 1)))
    edges[np.argmin(np.abs(edges - (1.0 - share)))] = 1.0 - share
    length = np.diff(edges)
    vortex, control = edges[:-1] + 0.25 * length, edges[:-1] + 0.75 * length
    on_flap = control > 1.0 - share
    influence = 1.0 / (2.0 * np.pi * (control[:, None] - vortex))
    for slope, angle in zip(hinge_moment_slopes(share), (np.ones(n), on_flap.astype(float)), strict=True):
        load = 2.0 * np.linalg.solve(influence, angle)  # lift over q, by panel
        about = np.sum((load * (vortex - (1.0 - share)))[on_flap])
        assert slope == pytest.approx(-about / share**2, rel=0.01)


def test_all_of_a_plate_that_turns_is_a_plate_at_an_angle() -> None:
    """Lift 2 pi alpha at the quarter point: pi/2 about the leading edge."""
    assert hinge_moment_slopes(1.0 - 1e-12) == pytest.approx([-math.pi / 2.0] * 2, rel=1e-4)


def test_what_a_file_says_of_a_linkage(tmp_path) -> None:
    """Throws both ways, what the servo's torque is worth: the moment worked out here from the file's numbers."""
    airframe = load_airframe(edited(tmp_path, ("\nradio:", LINKAGE)))
    one = airframe.linkage.elevator
    assert one is not None and one.turns == pytest.approx({"up": 23 * DEG, "down": -22 * DEG})
    up, down = solved(one, 23 * DEG), -solved(one, -22 * DEG)
    assert throws_of(one) == pytest.approx({"up": up, "down": down}, abs=1e-9)
    [words] = linkage_words(airframe)
    assert f"moves it {up / DEG:.1f}° up, {down / DEG:.1f}° down" in words
    assert "1° of servo is 0.60°" in words  # 12 cos(4°) / 20
    # both halves 300 mm long and 75 mm wide, half of a tailplane of 180 to 120 mm, at 38.5 m/s
    speed, needed = servo_torques(airframe, "elevator")
    passes = 0.5 * (100.0 / 2.5 + 100.0 / 2.7)
    assert speed == pytest.approx(passes)
    chord = 2.0 / 3.0 * (0.18**2 + 0.18 * 0.12 + 0.12**2) / (0.18 + 0.12)
    moment = 0.5 * 1.225 * passes**2 * 0.6 * 0.075**2 * -hinge_moment_slopes(0.075 / chord)[1]
    slope = (solved(one, 23 * DEG) - solved(one, 22.99 * DEG)) / (0.01 * DEG)
    assert needed["up"] == pytest.approx(moment * up * slope, rel=1e-3)
    assert not [text for text in airframe.warnings if text.startswith("linkage")], (
        "within a degree and strong"
    )


def test_throws_that_a_linkage_does_not_make_are_said(tmp_path) -> None:
    short = LINKAGE.replace("arm: 12 mm", "arm: 10 mm")
    airframe = load_airframe(edited(tmp_path, ("\nradio:", short)))
    told = [text for text in airframe.warnings if text.startswith("linkage.elevator: makes")]
    made = throws_of(airframe.linkage.elevator)  # type: ignore[arg-type]
    assert abs(made["up"] / DEG - 13.0) > 1.0 and abs(made["down"] / DEG - 13.0) > 1.0
    assert [f"{made[way] / DEG:.1f} deg {way}" in text for way, text in zip(made, told, strict=True)] == [
        True
    ] * 2
    assert all("rates.normal.elevator." in text and "13 deg, which is flown" in text for text in told)


def test_a_weak_servo_is_said(tmp_path) -> None:
    weak = LINKAGE.replace("2 N m", "0.3 N m")
    [told] = [t for t in load_airframe(edited(tmp_path, ("\nradio:", weak))).warnings if "torque" in t]
    assert "of a servo that stalls at 0.3 N m" in told and told.startswith("linkage.elevator.torque: ")


@pytest.mark.parametrize(
    ("old", "new", "key", "says"),
    [
        ("travel: {up: 23", "travel: {up: 88", "linkage.elevator.travel.up", "locks before the servo has turned 88 deg"),
        ("arm: 12 mm", "arm: 12", "linkage.elevator.arm", "without a unit"),
        ("side: bottom", "side: left", "linkage.elevator.horn.side", "top, bottom"),
        ("2 N m", "2 N", "linkage.elevator.torque", "another kind of value: force"),
        ("  elevator:\n    arm", "  elevators:\n    arm", "linkage.elevators", "did you mean elevator?"),
        ("lean: 4 deg", "lean: 80 deg", "linkage.elevator.lean", "at most 60 deg"),
    ],
)  # fmt: skip
def test_no_linkage(tmp_path, old: str, new: str, key: str, says: str) -> None:
    path = edited(tmp_path, ("\nradio:", LINKAGE.replace(old, new)))
    with pytest.raises(InputError) as caught:
        load_airframe(path)
    assert f": {key}: " in str(caught.value) and says in str(caught.value)

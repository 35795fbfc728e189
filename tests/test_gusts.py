"""Flights through wind and gusts: the same air for all, and what it does to what one sees."""

from __future__ import annotations

import math

import numpy as np
import pytest
from commanding import sixdof_here
from flying import ideal_servos, mirrored, planes_of, search
from hypothesis import given, settings
from hypothesis import strategies as st
from support import attitude, rates_in_gust, state_of

from sixdof.files.errors import InputError
from sixdof.flight.fly import fly_batch
from sixdof.flight.frame import TRACK_NAMES, crabbed
from sixdof.flight.gusts import Wind, airs_of, dryden, read_bump, read_wind
from sixdof.flight.script import load_maneuver, make_script
from sixdof.physics.air import make_air
from sixdof.tuning.windy import in_wind

KNOT = 1852.0 / 3600.0


@pytest.fixture(scope="module")
def planes():
    return planes_of("corvane")


@pytest.fixture(scope="module")
def scripts():
    return [make_script(load_maneuver("knife_edge"), side, "free") for side in ("right", "left")]


def in_air(planes, scripts, finer=1, **day):
    airs, gusts = airs_of(planes[0], scripts, **day)
    n = len(airs)
    index = np.array([[0, i % len(scripts), 0, i] for i in range(n)])
    return fly_batch(planes, scripts, index=index, airs=airs, gusts=gusts, keep_tracks=True, finer=finer)


# ---------------------------------------------------------------- the air


def test_an_air_is_a_function_of_time_and_its_number():
    """Whatever other numbers are asked for, and however long."""
    one = dryden(5.0, 100.0, 25.0, 2.0, seeds=[7], frame=0.02, rows=300)[0]
    many = dryden(5.0, 100.0, 25.0, 2.0, seeds=[1, 7, 3], frame=0.02, rows=900)
    assert np.array_equal(one, many[1, :300])
    assert not np.allclose(many[0], many[2])


def test_every_airplane_and_ratio_meets_the_same_air(planes, scripts):
    """Scripts of the same height and speed share an air; a batch has the same one as a flight by itself."""
    day = read_wind("5 m/s from the left")
    _, gusts = airs_of(planes[0], scripts, wind=day, seeds=[4, 5])
    assert np.array_equal(gusts[0], gusts[1])
    _, alone = airs_of(planes[0], scripts[:1], wind=day, seeds=[5])
    assert np.array_equal(gusts[2], alone[0])


@pytest.mark.parametrize(
    ("text", "toward"), [("4 m/s", (-1, 0)), ("4 m/s from behind", (1, 0)), ("4 m/s from right", (0, -1))]
)
def test_where_it_comes_from(planes, scripts, text, toward):
    """Mean of the air over many numbers; 1.6 times the wind at 6 m, at the height of the maneuver."""
    airs, gusts = airs_of(planes[0], scripts, wind=read_wind(text), seeds=range(1, 41))
    height = scripts[0].height
    north = airs["wind_north"] + airs["shear_north"] * height + gusts[:, :, 0].mean()
    east = airs["wind_east"] + airs["shear_east"] * height + gusts[:, :, 1].mean()
    assert north.mean() == pytest.approx(1.6 * 4.0 * toward[0], abs=0.3)
    assert east.mean() == pytest.approx(1.6 * 4.0 * toward[1], abs=0.3)


@pytest.mark.parametrize(
    ("reader", "text", "said"),
    [
        (read_wind, "4", "without a unit"),
        (read_wind, "4 m/s from below", "got from 'below'"),
        (read_wind, "-4 m/s from ahead", "0 or more"),
        (read_wind, "50 m/s", "0 to 15 m/s"),
        (read_wind, "", "--wind"),
        (read_bump, "3 m/s from below", "expected its time"),
        (read_bump, "3 m/s from below at noon", "--gust"),
        (read_bump, "3 m/s from below at 90 s", "0 to 60 s"),
    ],
)
def test_what_is_not_a_wind_is_said(reader, text, said):
    with pytest.raises(InputError, match=said):
        reader(text)


@settings(max_examples=200)
@given(st.text(max_size=40))
def test_any_text_is_read_or_refused(text):
    for reader in (read_wind, read_bump):
        try:
            reader(text)
        except InputError as error:
            assert "\n" not in str(error)


def test_turning_of_the_air_goes_with_its_speed():
    """Air that turns at q, r has the speed (q, r) x ahead in front: w grows ahead as q falls, v as r grows."""
    V, frame = 25.0, 0.02
    gust = dryden(5.0, 100.0, V, 0.01, seeds=[3], frame=frame, rows=4000)[0]
    ahead = np.gradient(gust[:, 1:3], V * frame, axis=0)  # of v and w, in the frozen air flown through
    turning = np.cross(gust[:, 3:], [1.0, 0.0, 0.0])
    for i in (0, 1):
        assert np.corrcoef(turning[:, 1 + i], ahead[:, i])[0, 1] > 0.8


@pytest.mark.parametrize("bank", [0.0, 0.5 * np.pi, 2.0])
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_an_airplane_that_turns_with_the_air_is_not_damped(planes, bank, axis):
    """Rates of body and air alike, at any bank: the air's moments are those at rest."""
    plane, day = planes[0].copy(), make_air(rho=1.2)
    for name in ("ref_x", "ref_y", "ref_z"):
        plane[name] = 0.0
    plane["prop_D"] = 0.0
    plane["CLad"] = plane["Cmad"] = 0.0  # which go by the motion alone
    plane["Ixz"] = plane["Jxz"] = 0.0  # about one principal axis: no gyroscopic moment
    plane["Jxx"], plane["Jzz"] = 1.0 / plane["Ixx"], 1.0 / plane["Izz"]
    x = state_of(down=-100.0, u=25.0, v=0.5, w=1.0, euler=(bank, 0.0, 0.0))
    still = rates_in_gust(plane, day, x, np.zeros(6), np.zeros(6))
    turning = x.copy()
    turning[10 + axis] = 0.4
    air = attitude(x).apply(turning[10:13])
    with_it = rates_in_gust(plane, day, turning, np.zeros(6), np.array([0.0, 0.0, 0.0, *air]))
    against = rates_in_gust(plane, day, turning, np.zeros(6), np.zeros(6))
    assert with_it[10 + axis] == pytest.approx(still[10 + axis], abs=1e-9)
    assert abs(against[10 + axis] - still[10 + axis]) > 0.1


@pytest.mark.parametrize("place", ["ahead", "behind", "the right", "the left"])
def test_yawing_air_goes_with_the_gust_across_whatever_the_wind(planes, scripts, place):
    """Flown north, air that turns at r blows r x ahead to the right in front."""
    plane = planes[0].copy()
    plane["b"] = 0.01  # a span that evens out nothing
    _, [gust, _] = airs_of(plane, scripts, wind=read_wind(f"5 m/s from {place}"), seeds=[3])
    ahead = np.gradient(gust[:, 1], float(plane["cruise"] * plane["frame"]))
    found = np.corrcoef(gust[:, 5], ahead)[0, 1]
    assert found > 0.8, f"correlation {found:.2f}"


# ---------------------------------------------------------------- flights


def in_steady_wind(planes, scripts, north, east, finer=1):
    """Every script in a wind that is the same everywhere [m/s, from where it blows to]."""
    airs, gusts = airs_of(planes[0], scripts)
    airs["wind_north"], airs["wind_east"] = north, east
    index = np.array([[0, i, 0, i] for i in range(len(scripts))])
    return fly_batch(planes, scripts, index=index, airs=airs, gusts=gusts, keep_tracks=True, finer=finer)


@pytest.mark.parametrize(("north", "east"), [(0.0, 5.0), (-4.0, -8.0), (6.0, 3.0)])
def test_the_pilot_crabs_and_keeps_the_line_over_the_ground(planes, scripts, north, east):
    """Hands on, a crosswind moves a level pass and a knife-edge by less than a meter off where they go in calm air.

    Unless the nose is turned into it, 5 m/s are 75 m in 15 s.
    """
    held = [make_script(load_maneuver(name), side, "held") for name, side in (("level", "both"), ("knife_edge", "left"))]  # fmt: skip
    calm, windy = in_steady_wind(planes, held, 0.0, 0.0), in_steady_wind(planes, held, north, east)
    speed = float(planes[0]["cruise"])
    for a, b in zip(calm.tracks, windy.tracks, strict=True):
        assert np.max(np.abs(b.column("east") - a.column("east"))) < 1.0
        over_ground = math.sqrt(speed**2 - east**2) + north
        assert b.column("north")[-1] / b.column("time")[-1] == pytest.approx(over_ground, rel=0.02)
        turned = nose(b) - nose(a)
        assert turned == pytest.approx(-math.asin(east / speed), abs=math.radians(0.1))  # into the wind


def nose(track) -> float:
    """Where it points as it begins [rad], right of the line."""
    q0, q1, q2, q3 = track.values[0, 7:11]
    return math.atan2(2.0 * (q0 * q3 + q1 * q2), 1.0 - 2.0 * (q2 * q2 + q3 * q3))


def test_in_calm_air_nobody_crabs_to_the_bit():
    attitude = (0.31, -0.62, 0.71, 0.12)
    assert crabbed(*attitude, 0.0) == attitude and crabbed(*attitude, -0.0) == attitude


def test_what_is_judged_is_the_way_over_the_ground(planes, scripts):
    """Errors of a free knife-edge are the angles of its way over the ground off the line, as its positions have it."""
    flights = in_steady_wind(planes, scripts, -5.0, 6.0)
    for flight, track in enumerate(flights.tracks):
        rows = track.values[track.column("measured") >= 0]
        go = np.diff(rows[:, 1:4], axis=0)[[0, -1]]
        heading, climb = np.arctan2(go[:, 1], go[:, 0]), np.arcsin(-go[:, 2] / np.linalg.norm(go, axis=1))
        canopy = -1.0 if flight == 0 else 1.0  # left wing down with right rudder: the canopy is to the left
        assert np.ptp(heading) * np.sign(heading[1] - heading[0]) * canopy == pytest.approx(rows[-1, 30], abs=math.radians(0.3))  # fmt: skip
        assert climb[1] - climb[0] == pytest.approx(-canopy * rows[-1, 31], abs=math.radians(0.3))


def test_wind_from_ahead_turns_the_way_over_the_ground_by_more(planes, scripts):
    """What turns the way through the air by an angle turns that over the ground by V/(V - wind) of it; the air is the same."""
    wind, speed = 8.0, float(planes[0]["cruise"])
    calm, windy = (
        in_steady_wind(planes, scripts[1:], 0.0, 0.0, 4),
        in_steady_wind(planes, scripts[1:], -wind, 0.0, 4),
    )
    a, b = calm.errors[0, 0, -1], windy.errors[0, 0, -1]
    assert b[0] / a[0] == pytest.approx(speed / (speed - wind), rel=0.03)
    assert b[2] == pytest.approx(a[2], abs=math.radians(0.5)) and b[3] == pytest.approx(a[3], abs=math.radians(0.1))  # fmt: skip
    drift = windy.tracks[0].column("north")[-1] - calm.tracks[0].column("north")[-1]
    assert drift == pytest.approx(-wind * calm.tracks[0].column("time")[-1], abs=1.0)


def test_a_loop_of_a_radius_is_round_over_the_ground(planes):
    """As far as this pilot makes it: within a meter of a circle, which at the rate of calm air it leaves by 2.5 m."""
    loop = make_script(load_maneuver("inside_loop"), "both", "held")
    loop.phases["radius"] = 20.0
    [track] = in_steady_wind(planes, [loop], -8.0, 0.0).tracks
    rows = track.column("measured") >= 0
    north, up = track.column("north")[rows], -track.column("down")[rows]
    middle = np.linalg.lstsq(
        np.stack([2.0 * north, 2.0 * up, np.ones(rows.sum())], axis=1), north**2 + up**2, rcond=None
    )[0]
    assert np.ptp(np.hypot(north - middle[0], up - middle[1])) < 1.0


def test_a_bump_from_below_is_felt_when_it_comes(planes):
    """Lift of a bump from below: the load factor rises by about its angle times CLa, and only after it began."""
    script = make_script(load_maneuver("level"), "both", "held")
    calm = in_air(planes, [script]).tracks[0]
    bumped = in_air(planes, [script], bump=read_bump("2 m/s from below at 3 s")).tracks[0]
    before = calm.column("time") < 3.0
    more = bumped.column("load_factor")[: len(calm.values)] - calm.column("load_factor")
    assert np.max(np.abs(more[: before.sum() - 1])) < 1e-12
    plane = planes[0]
    V, rho = float(plane["cruise"]), 1.211
    whole = 0.5 * rho * V * float(plane["S"] * plane["CLa"]) * 2.0 / (float(plane["mass"]) * 9.80665)
    assert 0.3 * whole < np.max(more) < 1.1 * whole


def test_nobody_sees_a_gust_only_what_it_does(planes):
    """The flow jumps when the air does; what is measured, and the pilot's sticks, only begin to change."""
    script = make_script(load_maneuver("level"), "both", "held")
    airs, gusts = airs_of(planes[0], [script], bump=read_bump("0 m/s from the left at 0 s"))
    gusts[0, 150:, :2] = -4.0, 3.0  # from ahead and from the left
    track = fly_batch(planes, [script], airs=airs, gusts=gusts, keep_tracks=True).tracks[0]
    jump = {name: abs(track.column(name)[150] - track.column(name)[149]) for name in TRACK_NAMES}
    assert jump["speed"] > 3.5
    for name in ("toward_wing", "toward_canopy", "sideslip", "roll"):
        assert jump[name] < np.radians(0.5), name
    for name in ("stick_rudder", "stick_aileron", "stick_elevator"):
        assert jump[name] < 0.01, name
    assert np.ptp(track.column("sideslip")[150:200]) > np.radians(1.0)


def test_mirror_image_in_mirrored_air(planes, scripts):
    """Airplane, side, wind and gusts seen in a mirror: the same flight seen in it."""
    airs, gusts = airs_of(planes[0], scripts[:1], wind=read_wind("6 m/s from the right"))
    index = np.zeros((1, 4), np.int64)
    flight = fly_batch(ideal_servos(planes), scripts[:1], index=index, airs=airs, gusts=gusts)
    airs = airs.copy()
    airs["wind_east"] *= -1.0
    airs["shear_east"] *= -1.0
    image = fly_batch(
        ideal_servos(mirrored(planes)), scripts[1:], index=index, airs=airs,
        gusts=gusts * [1.0, -1.0, 1.0, -1.0, 1.0, -1.0],
    )  # fmt: skip
    np.testing.assert_allclose(image.errors, flight.errors * [1.0, -1.0, -1.0, -1.0], atol=1e-8)
    assert np.max(np.abs(flight.errors)) > 0.1


def test_spread_grows_with_the_wind(planes):
    """3 kt is next to nothing against what a flyer sees, 15 kt as large as a slight drift (1 to 3 deg/s)."""
    edge = [load_maneuver("knife_edge")]
    tuning = search(planes, edge)
    spreads = []
    for knots in (3.0, 15.0):
        day = Wind(knots * KNOT, (0.0, -1.0, 0.0), "")
        drifts, told = in_wind(planes, tuning.ratios, edge, day, range(1, 41))
        spreads.append(max(d.spread_before for d in drifts))
        for t in told:
            spread = round(t.spread_percent, 1)  # as people read it
            assert t.passes == max(1, math.ceil(round((spread / 0.5) ** 2, 9))), t
        for d in drifts:
            assert d.drift_after < d.drift_before
    assert max(t.passes for t in told) > 1
    assert spreads[0] < 2.0
    assert 3.0 < spreads[1] < 9.0


def test_same_numbers_twice(planes, scripts):
    day = {"wind": read_wind("6 m/s from the right"), "seeds": range(1, 9)}
    one, two = in_air(planes, scripts, **day), in_air(planes, scripts, **day)
    assert one.errors.tobytes() == two.errors.tobytes()
    assert all(a.values.tobytes() == b.values.tobytes() for a, b in zip(one.tracks, two.tracks, strict=True))


# ---------------------------------------------------------------- commands


def test_fly_in_wind_says_so_and_repeats(tmp_path):
    words = ["fly", "--wind", "4 m/s from the right", "--no-pictures", "--json"]
    first, again, other = (
        sixdof_here(tmp_path, *words, "--sample", number).json for number in ("3", "3", "4")
    )
    assert first["air"] == "wind of 4 m/s from the right, sample 3 of its gusts"
    assert first["maneuvers"] == again["maneuvers"] != other["maneuvers"]


def test_fly_tells_points_with_blends_and_without(tmp_path):
    """Of the same flights by themselves; in words too."""
    words = ["fly", "--wind", "4 m/s", "--no-pictures"]
    bare = sixdof_here(tmp_path, *words, "--json").json
    blended = sixdof_here(tmp_path, *words, "-b", "rudder-aileron.left=4", "--json").json
    assert bare["bare_points"] == {}
    for one, other in zip(bare["maneuvers"], blended["maneuvers"], strict=True):
        assert blended["bare_points"][f"{one['name']}.{one['side']}"] == one["points_before"]
        assert other["points_before"] == pytest.approx(abs(other["drift_before"]) / 15.0, abs=1e-3)
    assert blended["maneuvers"][1]["points_before"] < bare["maneuvers"][1]["points_before"]
    text = sixdof_here(tmp_path, *words, "-b", "rudder-aileron.left=4").out
    left = blended["maneuvers"][1]["points_before"], bare["maneuvers"][1]["points_before"]
    assert f"loses {left[0]:.1f} points (without blends {left[1]:.1f} points), a point each 15°" in text


def test_tune_in_wind_tells_spread_and_passes(tmp_path):
    words = ["tune", "-m", "knife_edge", "--airplanes", "0", "--no-pictures"]
    calm = sixdof_here(tmp_path, *words, "--json").json
    windy = sixdof_here(tmp_path, *words, "--wind", "4 m/s", "--samples", "10", "--json").json
    assert windy["blends"] == calm["blends"]  # tuned in calm air
    assert windy["wind"]["samples"] == 10
    assert {(m["name"], m["side"]) for m in windy["wind"]["maneuvers"]} == {
        ("knife_edge", "right"),
        ("knife_edge", "left"),
    }
    assert all(0.0 < m["spread_before"] < 10.0 for m in windy["wind"]["maneuvers"])
    for m in windy["wind"]["maneuvers"]:  # one measured phase: a point for each 15 deg of the worst term
        assert m["points_before"] == pytest.approx(m["drift_before"] / 15.0, abs=1e-3)
        assert m["points_after"] == pytest.approx(m["drift_after"] / 15.0, abs=1e-3)
    bare, blended = (
        sum(m[f"points_{when}"] for m in windy["wind"]["maneuvers"]) for when in ("before", "after")
    )
    said = f"points lost in this wind, by the way over the ground, 1 per 15°: bare {bare:.1f}, blended {blended:.1f}"
    assert said in windy["wind"]["words"]
    assert len(windy["wind"]["ratios"]) == 4
    text = sixdof_here(tmp_path, *words, "--wind", "4 m/s", "--samples", "10").out
    assert "In wind: 4 m/s from ahead, 10 samples" in text
    assert max(map(len, text.splitlines())) <= 80


@pytest.mark.parametrize(
    "words", [["fly", "--sample", "0"], ["tune", "--samples", "1"], ["fly", "--gust", "3 m/s"], ["explore", "knife_edge", "--vary", "rudder-elevator.left=0..1", "--wind", "x"]]
)  # fmt: skip
def test_bad_air_is_one_line(tmp_path, words):
    done = sixdof_here(tmp_path, *words)
    assert done.code == 2
    assert done.err.count("\n") == 1 and done.err.startswith("sixdof: ")
    assert not list(tmp_path.iterdir())

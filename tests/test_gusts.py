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
from sixdof.flight.frame import TRACK_NAMES
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


def test_steady_wind_changes_nothing_through_the_air(planes, scripts):
    """Without gusts and shear the path through the air is the same, over the ground it is not.

    The steps are those of the speed over the ground, so to rounding in the limit of fine ones only; 0.01 deg in usual ones.
    """
    airs, gusts = airs_of(planes[0], scripts)
    airs["wind_north"], airs["wind_east"] = -3.0, 5.0
    index = np.array([[0, 0, 0, 0], [0, 1, 0, 1]])
    for finer, within in ((1, math.radians(0.01)), (4, 1e-9)):
        calm = in_air(planes, scripts, finer=finer)
        windy = fly_batch(planes, scripts, index=index, airs=airs, gusts=gusts, keep_tracks=True, finer=finer)
        np.testing.assert_allclose(windy.errors, calm.errors, atol=within)
    a, b = calm.tracks[0], windy.tracks[0]
    moved = (b.column("east") - a.column("east")) / np.maximum(a.column("time"), 0.02)
    np.testing.assert_allclose(moved[50:], 5.0, atol=1e-6)


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

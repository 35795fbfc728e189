"""Ratios found three ways, what they bring, what they are made of; the demo airplanes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from flying import DEMOS, mirrored, planes_of, search

from sixdof.airframe.blends import WAYS
from sixdof.airframe.load import load_airframe
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import ratios_of, read_ratio
from sixdof.flight.maneuver import EntrySpeed
from sixdof.flight.pack import set_trims
from sixdof.flight.script import load_maneuver
from sixdof.tuning.deviation import TERM_WORDS
from sixdof.tuning.explore import explore_ratio
from sixdof.tuning.found import Flown, FoundRatio
from sixdof.tuning.held import held_ratios
from sixdof.tuning.search import Tuning
from sixdof.tuning.split import Split, split

POINT = 1.0  # percent
MANEUVERS = ("knife_edge", "four_point_roll", "power_off_dive", "roll_reversal")
STATED = Path(__file__).parent / "files" / "stated.yaml"  # derivatives by hand, with strong adverse yaw


@cache
def tuned(name: str) -> Tuning:
    """One search an airplane, shared by the tests."""
    if name == "stated":  # its adverse yaw is so strong that it is flown at cruise
        files = [
            load_maneuver(m).model_copy(update={"entry": EntrySpeed(1.0)})
            if m == "roll_reversal"
            else load_maneuver(m)
            for m in MANEUVERS
        ]
        return search(Airplane(load_airframe(STATED)).planes, files)
    planes = planes_of(name)
    return tune(planes, [*MANEUVERS, "flaps_down"] if name == "fenlark" else MANEUVERS)


def tune(planes: np.ndarray, names: Sequence[str], *, step: float = 0.005) -> Tuning:
    return search(planes, [load_maneuver(name) for name in names], step=step)


def ratio(tuning: Tuning, name: str) -> FoundRatio:
    return next(r for r in tuning.ratios if r.ratio.name == name)


def flown(name: str, *maneuvers: str) -> list[Flown]:
    return [m for m in tuned(name).maneuvers if not maneuvers or m.name in maneuvers]


def window(m: Flown) -> float:
    """Longest time the sticks are let go [s], as the maneuver's file has it."""
    return max(phase.time for phase in load_maneuver(m.name).phases if phase.measured)


def retrimmed(name: str, **changes: float) -> np.ndarray:
    """A demo airplane with some fields changed, trimmed again at its cruise."""
    planes = planes_of(name, **changes)
    norm = float(np.sqrt(planes["axis_x"] ** 2 + planes["axis_y"] ** 2 + planes["axis_z"] ** 2)[0])
    for axis in ("axis_x", "axis_y", "axis_z"):
        planes[axis] /= norm
    assert set_trims(planes, float(planes["cruise"][0])).all()
    return planes


def parts(planes: np.ndarray, target: str = "elevator") -> Split:
    found = split(planes[0], target)
    assert found is not None
    return found


RUDDER = [f"rudder-{t}.{s}" for t in ("elevator", "aileron") for s in ("right", "left")]

# ---------------------------------------------------------------- three ways to the same ratio


@pytest.mark.parametrize("which", RUDDER)
@pytest.mark.parametrize("name", DEMOS)
def test_held_flight_and_steady_trim_agree(name: str, which: str) -> None:
    """The stick a pilot holds, over the rudder, is the ratio of the steady knife-edge: sign and size."""
    r = ratio(tuned(name), which)
    assert abs(r.held_percent - r.steady_percent) <= 0.5 * POINT, (
        f"held {r.held_percent:.4f}, steady trim {r.steady_percent:.4f}"
    )
    assert abs(r.steady_percent) <= 0.5 * POINT or r.held_percent * r.steady_percent > 0.0


@pytest.mark.parametrize("which", RUDDER)
@pytest.mark.parametrize("name", DEMOS)
def test_search_agrees_with_both(name: str, which: str) -> None:
    r = ratio(tuned(name), which)
    for found, way in ((r.held_percent, "held"), (r.steady_percent, "steady trim")):
        assert abs(r.exact_percent - found) <= 1.5 * POINT, f"tuned {r.exact_percent:.4f}, {way} {found:.4f}"
        assert abs(r.percent - found) <= 1.5 * POINT, f"rounded {r.percent:.4f}, {way} {found:.4f}"


@pytest.mark.parametrize("name", DEMOS)
def test_rounding_is_to_the_step_of_the_radio(name: str) -> None:
    for r in tuned(name).ratios:
        assert round(r.percent / 0.5) == pytest.approx(r.percent / 0.5)
        assert abs(r.percent - r.exact_percent) <= 0.25 + 1e-9


@pytest.mark.parametrize("name", DEMOS)
def test_exploring_finds_the_same_throttle_elevator(name: str) -> None:
    """Dives over a range of settings: drift goes through zero where the search and the pilot put it."""
    r = ratio(tuned(name), "throttle-elevator.low")
    amounts = np.linspace(-0.06, 0.02, 33)
    dive, low = load_maneuver("power_off_dive"), read_ratio("throttle-elevator.low")
    settings, _ = explore_ratio(planes_of(name), dive, low, amounts)
    drifts = np.array([s.drift for s in settings])
    assert all(s.scored for s in settings) and [s.percent for s in settings] == pytest.approx(100.0 * amounts)
    assert drifts[0] < -10.0 < 10.0 < drifts[-1]
    near = np.abs(drifts) < 10.0  # a straight line through the middle: servo steps make small stairs
    slope, offset = np.polyfit(amounts[near], drifts[near], 1)
    zero = -100.0 * offset / slope
    for way in ("percent", "exact_percent", "held_percent"):
        assert abs(getattr(r, way) - zero) <= 0.5 * POINT, f"{way} {getattr(r, way):.2f}, explored {zero:.2f}"


def test_held_ratios_do_not_depend_on_who_else_is_tuned() -> None:
    planes, maneuver = planes_of("corvane"), load_maneuver("knife_edge")
    together = held_ratios(planes, [maneuver], ratios_of(["rudder-elevator", "rudder-aileron"]))
    alone = held_ratios(planes, [maneuver], ratios_of(["rudder-elevator"]))
    np.testing.assert_array_equal(alone, together[:, :2])


def test_tuning_again_in_another_order_gives_the_same_bits() -> None:
    again = tune(planes_of("corvane"), ["power_off_dive", "knife_edge"])
    other = tune(planes_of("corvane"), ["knife_edge", "power_off_dive"])
    assert [m.name for m in again.maneuvers] == ["power_off_dive", "knife_edge", "knife_edge"]
    for a in again.ratios:
        b = ratio(other, a.ratio.name)
        assert (a.percent, a.exact_percent) == (b.percent, b.exact_percent)


# ---------------------------------------------------------------- what the ratios bring


@pytest.mark.parametrize("name", DEMOS)
def test_every_flight_to_every_side_is_there_and_finished(name: str) -> None:
    flights = [(m.name, m.side) for m in flown(name)]
    assert set(flights) >= {
        *((m, s) for m in ("knife_edge", "four_point_roll", "roll_reversal") for s in ("right", "left")),
        ("power_off_dive", "both"),
    }
    assert len(flights) == len(set(flights)) == len(tuned(name).tracks)
    for m in flown(name):
        what = f"{m.name} {m.side}: {m.status_before} -> {m.status}"
        rolls_out = name == "fenlark" and m.name == "knife_edge"  # bare, beyond 45 degrees
        assert m.status == "finished" and (m.status_before != "finished") == rolls_out, what
        assert m.scored != rolls_out, what


@pytest.mark.parametrize("name", DEMOS)
def test_tuned_drift_stays_small(name: str) -> None:
    most = {"corvane": 2.5, "fenlark": 3.0, "tessel": 4.5}[
        name
    ]  # half a step of tessel's aileron rolls 3 deg
    for m in flown(name, "knife_edge", "power_off_dive", "four_point_roll"):
        what = f"{m.name} {m.side}: {m.drift_before:.2f} -> {m.drift_after:.2f} deg"
        assert abs(m.drift_after) <= most, what
        assert abs(m.drift_before) >= (2.0 if name == "tessel" else 4.0), f"nothing to tune in {what}"
        assert abs(m.rate_after) * window(m) == pytest.approx(abs(m.drift_after), rel=1e-5)


def test_tuned_flaps_do_not_pull() -> None:
    [m] = flown("fenlark", "flaps_down")
    assert abs(m.drift_after) < 5.0 < abs(m.drift_before) / 10.0, (
        f"{m.drift_before:.2f} -> {m.drift_after:.2f} deg"
    )


def test_tuned_roll_reversal_has_a_third_of_the_sideslip() -> None:
    for m in flown("stated", "roll_reversal"):
        factor = abs(m.drift_before / m.drift_after)
        assert m.term_before == "sideslip"
        assert factor >= 2.9, f"{m.side}: {factor:.2f} times smaller"


@pytest.mark.parametrize("name", DEMOS)
def test_tuned_is_never_worse_than_bare(name: str) -> None:
    for m in flown(name):
        assert m.deviation_after <= m.deviation_before, (m.name, m.side)


@pytest.mark.parametrize("name", DEMOS)
def test_reversed_blend_is_worse_than_none(name: str) -> None:
    for m in flown(name):
        other = m.others["reversed"]
        seen = abs(m.drift_before) > 1.0  # less than what anyone sees may go either way
        assert other is None or not seen or abs(other) > abs(m.drift_before), (m.name, m.side)


def test_coarse_steps_never_make_it_worse() -> None:
    """A radio that knows only tens of percent: better no blend at all than a wrong one."""
    tuning = tune(planes_of("corvane"), ["knife_edge", "power_off_dive"], step=0.10)
    for names in ({"knife_edge"}, {"power_off_dive"}):
        mine = [m for m in tuning.maneuvers if m.name in names]
        before, after = (sum(getattr(m, f"deviation_{w}") ** 2 for m in mine) for w in ("before", "after"))
        assert after <= before


def test_drift_and_words_tell_the_same_way() -> None:
    """Bare, fenlark rolls left in left-rudder knife-edge: less than zero, and so it is said."""
    for m in (*flown("corvane"), *flown("fenlark")):
        assert m.words_before == TERM_WORDS[m.term_before][m.drift_before > 0.0]
        assert m.words_after == TERM_WORDS[m.term_after][m.drift_after > 0.0]
    left = next(m for m in flown("fenlark", "knife_edge") if m.side == "left")
    track = tuned("fenlark").tracks["knife_edge", "left"][0]
    measured = track.column("measured") >= 0.0
    assert left.words_before == "rolls left" and track.column("roll")[measured][-1] < 0.0


def test_words_say_percent_way_and_degrees() -> None:
    airframe, r = load_airframe("corvane"), ratio(tuned("corvane"), "rudder-elevator.right")
    words = r.words
    assert r.percent
    degrees = math.degrees(0.01 * r.percent * airframe.rates["normal"].elevator.up)
    way = "UP" if r.percent > 0.0 else "DOWN"
    assert words.startswith(f"right rudder: elevator {abs(r.percent):g} % {way} ({abs(degrees):.2f}°")


# ---------------------------------------------------------------- mirror, split


@pytest.mark.parametrize("name", DEMOS)
def test_mirrored_airplane_swaps_the_ratios(name: str) -> None:
    """Propeller the other way round: what the right rudder needed, the left one needs."""
    straight = tuned(name)
    image = tune(mirrored(planes_of(name)), list(dict.fromkeys(m.name for m in straight.maneuvers)))
    for r in straight.ratios:
        u = r.ratio
        other = ratio(image, f"{u.blend}.{ {'left': 'right', 'right': 'left'}.get(u.side, u.side) }")
        sign = 1.0 if u.target == "elevator" else -1.0
        for way in ("exact_percent", "held_percent", "steady_percent", "percent"):
            a, b = getattr(r, way), getattr(other, way)
            assert b == pytest.approx(sign * a, abs=2e-3, nan_ok=True), (u.blend, u.side, way)
    right, left = (ratio(straight, f"rudder-elevator.{s}").exact_percent for s in ("right", "left"))
    assert abs(right - left) > 0.5 * POINT, "an airplane with equal sides shows nothing here"


@pytest.mark.parametrize("target", ["elevator", "aileron"])
@pytest.mark.parametrize("name", DEMOS)
def test_split_sums_to_the_ratios(name: str, target: str) -> None:
    part = parts(planes_of(name), target)
    for side, sign in (("right", 1.0), ("left", -1.0)):
        steady = ratio(tuned(name), f"rudder-{target}.{side}").steady_percent
        assert part.constant + part.even + sign * part.odd == pytest.approx(steady, abs=1e-2)
    image = parts(mirrored(planes_of(name)), target)
    sign = 1.0 if target == "elevator" else -1.0
    assert image.constant == pytest.approx(sign * part.constant, abs=1e-4)
    assert image.even == pytest.approx(sign * part.even, abs=1e-4)
    assert image.odd == pytest.approx(-sign * part.odd, abs=1e-4)


#: What was changed -> the part that must move, and the ones that must not (by less than a fifth of it).
CHANGES = {
    "CG 5 mm forward": ({"ref_x": -0.005, "prop_x": -0.005}, "constant", ("even", "odd")),
    "pitch from sideslip": ({"Cmb2": -0.03}, "even", ("constant", "odd")),
    "pitch from rudder": ({"Cmdr2": -0.03}, "even", ("constant", "odd")),
    "propeller in crossflow": ({"prop_crossflow_moment": 0.02}, "odd", ("constant", "even")),
}


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("name", DEMOS)
def test_a_change_moves_its_own_part(name: str, change: str) -> None:
    changes, moved, still = CHANGES[change]
    planes = planes_of(name)
    before = parts(planes)
    after = parts(retrimmed(name, **{k: float(planes[k][0]) + v for k, v in changes.items()}))
    step = {part: getattr(after, part) - getattr(before, part) for part in ("constant", "even", "odd")}
    assert abs(step[moved]) > 0.3 * POINT, step
    # the angle of attack at cruise moves with the CG too: 22 % with fenlark
    most = 0.25 if name == "fenlark" and change == "CG 5 mm forward" else 0.2
    for part in still:
        assert abs(step[part]) < most * abs(step[moved]), step


@pytest.mark.parametrize("name", DEMOS)
def test_pitching_moment_is_only_trim(name: str) -> None:
    """Cm0 follows the same law as the elevator: trimmed again, the knife-edge hardly knows of it.
    Left untrimmed it asks for one elevator at any rudder: the constant part, and no odd one."""
    before, more = parts(planes_of(name)), float(planes_of(name)["Cm0"][0]) + 0.005
    trimmed, untrimmed = parts(retrimmed(name, Cm0=more)), parts(planes_of(name, Cm0=more))
    for part in ("constant", "even", "odd"):
        assert abs(getattr(trimmed, part) - getattr(before, part)) < 0.4 * POINT
    step = {part: getattr(untrimmed, part) - getattr(before, part) for part in ("constant", "even", "odd")}
    assert step["constant"] < -0.5 * POINT, "nose up asks for down elevator"
    # the two knife-edges need unequal rudder, so one elevator is another ratio to each side
    left, right = -planes_of(name)["knife_rudder_left"][0], planes_of(name)["knife_rudder_right"][0]
    unequal = step["constant"] * (left - right) / (left + right)
    assert abs(untrimmed.odd - trimmed.odd - unequal) < 0.1 * POINT, (step, unequal)


def test_an_airplane_without_a_propellers_sides_has_equal_ratios() -> None:
    """No swirl, torque, crossflow or side thrust: a V for the elevator, a straight line for the aileron."""
    planes = retrimmed(
        "corvane",
        swirl_recovered=0.0,
        swirl_tailplane=0.0,
        torque_recovered=1.0,
        prop_crossflow_moment=0.0,
        axis_y=0.0,
    )
    assert (
        abs(parts(planes).odd) < 0.02 and abs(parts(planes, "aileron").even) < 0.02
    )  # what is believed of its rigging
    tuning = tune(planes, ["knife_edge"])
    for target, sign in (("elevator", 1.0), ("aileron", -1.0)):
        right, left = (ratio(tuning, f"rudder-{target}.{s}") for s in ("right", "left"))
        assert (
            right.steady_percent == pytest.approx(sign * left.steady_percent, abs=0.03)
            and abs(right.steady_percent) > 0.5 * POINT
        )
        # what is left of the roll in, where the propeller is a gyroscope
        assert right.held_percent == pytest.approx(sign * left.held_percent, abs=0.2 * POINT)


# ---------------------------------------------------------------- common practice, no source


@pytest.mark.parametrize("name", DEMOS)
def test_common_practice_knife_edge_wants_opposite_aileron_and_no_more_than_15_percent(name: str) -> None:
    """Common practice, no source: most airplanes roll with the rudder; 15 % is the most that a rudder blend
    should be asked for.  A wing in the middle without dihedral hardly rolls.  Most also tuck; these do not
    (tests/published/test_trade_signs.py)."""
    amount = {
        (target, side): ratio(tuned(name), f"rudder-{target}.{side}").percent
        for target in ("elevator", "aileron")
        for side in ("right", "left")
    }
    opposite = WAYS["aileron"]["left"] * (amount["aileron", "right"] - amount["aileron", "left"]) / 2.0
    assert abs(opposite) < 2.5 * POINT if name == "tessel" else 0.0 < opposite <= 15.0, amount
    assert max(map(abs, amount.values())) <= 15.0, amount


@pytest.mark.parametrize("name", DEMOS)
def test_common_practice_power_off_dive_wants_down_elevator(name: str) -> None:
    """Common practice, no source: pulls to the canopy, cured by 1 to 3 % down at idle."""
    [dive] = flown(name, "power_off_dive")
    assert dive.words_before == "to canopy"
    assert -3.0 <= ratio(tuned(name), "throttle-elevator.low").percent <= -1.0


@pytest.mark.parametrize(
    ("name", "least", "most"), [("stated", 10.0, 40.0), *((n, 5.0, 40.0) for n in DEMOS)]
)
def test_common_practice_rudder_goes_with_the_aileron(name: str, least: float, most: float) -> None:
    """Common practice, no source: the nose swings against the roll, rudder with the aileron cures it;
    10 to 40 % where it is slow enough that adverse yaw shows, at 1.3 times the stalling speed."""
    for side, sign in (("right", 1.0), ("left", -1.0)):
        assert least < sign * ratio(tuned(name), f"aileron-rudder.{side}").percent < most
    for m in flown(name, "roll_reversal"):
        assert m.words_before == ("nose left" if m.side == "right" else "nose right")


def test_common_practice_flaps_want_down_elevator() -> None:
    """Common practice, no source: flaps balloon; 2 to 15 % down a notch, and 20 degrees are two."""
    [flaps] = flown("fenlark", "flaps_down")
    assert flaps.words_before == "to canopy"
    assert -30.0 <= ratio(tuned("fenlark"), "flap-elevator.high").percent <= -4.0


@pytest.mark.parametrize("name", DEMOS)
def test_common_practice_nose_heavy_pulls_to_the_canopy(name: str) -> None:
    """Common practice, no source: a CG further forward drifts more to the canopy in the dive."""
    planes, low = planes_of(name), read_ratio("throttle-elevator.low")
    forward = {k: float(planes[k][0]) - 0.005 for k in ("ref_x", "prop_x")}
    usual, heavy = (
        explore_ratio(p, load_maneuver("power_off_dive"), low, [0.0])[0][0].rate
        for p in (planes, retrimmed(name, **forward))
    )
    assert heavy > usual + 1.0


def test_what_the_step_costs_is_told() -> None:
    """Little on the demos, where a servo that rounds the other way may part two flights; degrees where a light propeller is
    flown in steps that it does not bear."""
    assert all(0.0 < tuned(name).step_error < 0.8 for name in DEMOS)
    planes = planes_of("corvane")
    planes["prop_inertia"] /= 8.0  # one step a frame all the same
    assert tune(planes, ["knife_edge"]).step_error > 1.0

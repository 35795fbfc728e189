"""What lowering the flaps asks of the elevator, whatever the speed itself asks for."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from flying import columns, ideal_servos, planes_of, search
from hypothesis import given, settings
from hypothesis import strategies as st
from support import agree

from sixdof.flight.blends import read_ratio
from sixdof.flight.gusts import read_wind
from sixdof.flight.maneuver import EntrySpeed, ManeuverFile
from sixdof.flight.script import load_maneuver, make_script
from sixdof.flight.speed import entry_speed
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air
from sixdof.tuning.bench import Bench
from sixdof.tuning.deviation import drift
from sixdof.tuning.explore import explore_ratio
from sixdof.tuning.held import flap_ratios, held_ratios
from sixdof.tuning.search import Tuning

FLAP = read_ratio("flap-elevator.high")
POINT = 0.01
#: Speed of the flaps [deg/s]: down in 4, 2 and less than 0.1 s.
RATES = (5.0, 10.0, 300.0)


def maneuver() -> ManeuverFile:
    return load_maneuver("flaps_down")


def plane(**values: float) -> np.ndarray:
    return ideal_servos(planes_of("fenlark", **values))


@cache
def tuned(rate: float) -> Tuning:
    return search(plane(flap_rate=math.radians(rate)), [maneuver()])


def asked_for(planes: np.ndarray, file: ManeuverFile) -> float:
    """Elevator of steady level flight with flaps down, less that with flaps up: two trims."""
    speed = float(entry_speed(planes, file, make_air())[0])
    up, down = (
        trim(planes[0], make_air(), speed=speed, height=file.height, flap=flap).sticks["elevator"]
        for flap in (0.0, 1.0)
    )
    return down - up


@pytest.mark.parametrize("rate", RATES)
def test_ratio_is_what_flaps_add_to_the_elevator(rate: float) -> None:
    planes = plane(flap_rate=math.radians(rate))
    [found] = tuned(rate).ratios
    assert found.amount == pytest.approx(asked_for(planes, maneuver()), abs=0.25 * POINT + 1e-9)
    assert found.held_percent == found.steady_percent == found.exact_percent


@pytest.mark.parametrize("rate", RATES)
def test_the_flight_confirms_it(rate: float) -> None:
    """Drifts over a range of settings end at nothing where the two trims say, flaps slow or fast."""
    planes = plane(flap_rate=math.radians(rate))
    amounts = np.linspace(-0.30, -0.10, 21)
    _, tracks = explore_ratio(planes, maneuver(), FLAP, amounts)
    left = [float(columns(track, "toward_canopy")[-1, 0]) for track in tracks]
    crossing = float(np.interp(0.0, left, amounts))
    assert left == sorted(left) and crossing == pytest.approx(asked_for(planes, maneuver()), abs=1.0 * POINT)
    [flown] = tuned(rate).maneuvers
    assert flown.scored and abs(flown.drift_after) < 5.0 < 30.0 < abs(flown.drift_before)


@settings(max_examples=12, deadline=None)
@given(st.floats(0.05, 25.0), st.floats(0.55, 1.2))
def test_less_flap_asks_for_less(throw: float, share: float) -> None:
    """In proportion, at any speed: a degree of flap can never ask for what the speed asks for."""
    file = maneuver().model_copy(update={"entry": EntrySpeed(share)})
    planes, full = plane(flap_down=math.radians(throw)), plane(flap_down=math.radians(20.0))
    [[held]], [[whole]] = (held_ratios(p, [file], [FLAP]) for p in (planes, full))
    assert held == pytest.approx(whole * throw / 20.0, rel=0.15)
    assert held == pytest.approx(asked_for(planes, file), abs=1e-9)


def test_flaps_that_hardly_move_leave_slow_flight_alone() -> None:
    """The elevator that the speed asks for is kept while it is let go, and does not count while it is held."""
    slow = maneuver().model_copy(update={"entry": EntrySpeed(0.55)})
    planes = plane(flap_down=math.radians(0.1))
    bench = Bench(planes, [make_script(slow, "both", "free")], [FLAP])
    assert bench.starts["sticks"][0, 0, 1] > 0.04, "nothing to keep"
    assert abs(drift(bench.fly(np.zeros((1, 1))), 0, bench.scripts[0]).degrees) < 1.0
    still = read_wind("0.01 m/s from ahead")
    [[flown]] = held_ratios(planes, [slow], [FLAP], wind=still)
    assert abs(flown) < 0.5 * POINT


def test_a_pilot_who_holds_it_asks_for_about_as_much() -> None:
    """Flown, not trimmed; he is late behind flaps that move, so somewhat less."""
    planes, still = plane(), read_wind("0.01 m/s from ahead")
    [[flown]] = held_ratios(planes, [maneuver()], [FLAP], wind=still)
    assert 0.8 < flown / asked_for(planes, maneuver()) < 1.0


@pytest.mark.parametrize("rate", RATES)
def test_the_blend_moves_in_time_with_the_flap(rate: float) -> None:
    planes = plane(flap_rate=math.radians(rate))
    bench = Bench(planes, [make_script(maneuver(), "both", "free")], [FLAP])
    [track] = bench.fly(np.array([[-0.2]]), keep_tracks=True).tracks
    flap, elevator, measured = columns(track, "flap", "elevator", "measured").T
    moved = elevator[measured >= 0.0] - elevator[measured < 0.0][-1]
    part = moved / (0.2 * planes["elevator_down"][0])  # the first of it is spent on the way through the trim
    down = flap[measured >= 0.0] / planes["flap_down"][0]
    assert down[-1] > 0.7 and np.max(np.abs(part - down)) < (0.5 if rate > 100.0 else 0.05)


def test_flaps_that_take_more_elevator_than_there_is_have_no_ratio() -> None:
    weak = plane(elevator_down=0.02)
    assert np.isnan(flap_ratios(weak, FLAP, speed=0.75 * weak["cruise"], height=120.0)).all()


def test_elevator_to_trim_by_the_two_equations_of_the_textbook() -> None:
    """Lift and pitching moment do not change: CLa a + CLde de + CLdf df = 0, Cma a + Cmde de + Cmdf df = 0, about the CG
    (elevator angle to trim, Etkin and Reid, Dynamics of Flight, chapter 2, from memory).  In level flight the slipstream
    does the rest."""
    planes = plane()
    p, aft = planes[0], float(planes["ref_x"][0] / planes["c"][0])
    CL = np.array([p["CLa"], p["CLde"], p["CLdf"]])
    Cm = np.array([p["Cma"], p["Cmde"], p["Cmdf"]]) + aft * CL
    _, de = np.linalg.solve(np.stack([CL[:2], Cm[:2]]), -p["flap_down"] * np.array([CL[2], Cm[2]]))
    for what, share, throttle in (("gliding", 0.02, 0.0), ("level, with power", 0.06, None)):
        up, down = (
            trim(p, make_air(), speed=17.6, flap=flap, height=120.0, throttle=throttle).targets[2]
            for flap in (0.0, 1.0)
        )
        agree(f"elevator for flaps [rad], {what}", down - up, de, share=share, source="two equations")

"""Maneuvers under the ceiling of a site: height to pull out, windows that fit, refusals; the ratio of a short dive."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from commanding import sixdof_here
from flying import DEMOS, columns, fly_with, ideal_servos, maneuver_file, planes_of, search
from scipy.integrate import solve_ivp
from scipy.optimize import root
from support import agree, plane_of

from sixdof.files.errors import InputError
from sixdof.flight.blends import read_ratio
from sixdof.flight.ceiling import FLOOR, PULL_OUT, pull_out, read_ceiling, under_ceiling
from sixdof.flight.fly import fly_batch
from sixdof.flight.maneuver import ManeuverFile
from sixdof.flight.script import load_maneuver, make_maneuver, make_script
from sixdof.flight.steady import STEADY_DTYPE, steady_state
from sixdof.physics.air import G0, make_air
from sixdof.physics.motion import accelerations
from sixdof.physics.record import N_STATE
from sixdof.tuning.explore import explore_ratio
from sixdof.tuning.held import dive_ratios, settles_late

LOW = read_ratio("throttle-elevator.low")
SECONDS = (1.5, 3.0)  # of the dive, as its file has it


def dive() -> ManeuverFile:
    return load_maneuver("power_off_dive")


# ---------------------------------------------------------------- the pull-out


@pytest.mark.parametrize(
    ("speed", "climb", "load"), [(34.0, -90.0, 5.0), (20.0, -60.0, 3.0), (28.0, -10.0, 1.5)]
)
def test_pull_out_by_equations_of_motion(speed: float, climb: float, load: float) -> None:
    """A point that gravity and a lift of n weights move, until its path is level (Runge-Kutta of scipy)."""

    def rates(t: float, y: np.ndarray) -> list[float]:
        V, gamma, _ = y
        return [-G0 * math.sin(gamma), G0 * (load - math.cos(gamma)) / V, V * math.sin(gamma)]

    def level(t: float, y: np.ndarray) -> float:
        return float(y[1])

    level.terminal = True  # type: ignore[attr-defined]
    flown = solve_ivp(
        rates, (0.0, 60.0), [speed, math.radians(climb), 0.0], events=level, rtol=1e-10, atol=1e-10
    )
    found = float(pull_out(np.array(speed), np.array(math.radians(climb)), load))
    agree(
        "height of the pull-out [m]",
        found,
        -flown.y_events[0][0][2],
        share=1e-6,
        source="equations of motion",
    )


def test_a_path_that_does_not_sink_needs_no_pull_out() -> None:
    assert np.array_equal(pull_out(np.full(3, 30.0), np.radians([0.0, 20.0, 90.0]), 4.0), np.zeros(3))


# ---------------------------------------------------------------- what fits


@pytest.mark.parametrize("ceiling", [120.0, 150.0, 250.0])
@pytest.mark.parametrize("name", DEMOS)
def test_a_dive_fits_with_its_pull_out_and_lasts_as_long_as_that_allows(name: str, ceiling: float) -> None:
    planes = planes_of(name)
    file = under_ceiling(planes, dive(), ceiling)
    seconds = file.phases[-1].time
    assert SECONDS[0] <= seconds <= SECONDS[1] and file.height == ceiling

    def spare(file: ManeuverFile) -> float:
        flights = fly_with(planes, [make_script(file, "both", "free")])
        (before, _), (down, speed) = columns(flights.tracks[0], "down", "speed")[-2:]
        climb = -math.asin((down - before) / (0.02 * speed))
        load = min(PULL_OUT, 2.0 / 3.0 * float(planes["g_positive"][0]))
        assert flights.finished[0]
        return -down - float(pull_out(speed, climb, load))

    assert spare(file) > FLOOR - 1.0  # what falls in a frame
    if seconds < SECONDS[1]:
        last = file.phases[-1]
        longer = file.model_copy(
            update={"phases": (*file.phases[:-1], last.model_copy(update={"time": seconds + 0.2}))}
        )
        assert spare(longer) < FLOOR + 1.0


@pytest.mark.parametrize("name", DEMOS)
def test_more_ceiling_more_time(name: str) -> None:
    times = [
        under_ceiling(planes_of(name), dive(), c).phases[-1].time for c in (120.0, 135.0, 150.0, 200.0, 400.0)
    ]
    assert times == sorted(times) and times[0] < times[-1] == SECONDS[1]


@pytest.mark.parametrize("name", DEMOS)
def test_what_does_not_fit_is_refused_and_the_height_it_names_is_enough(name: str) -> None:
    planes = planes_of(name)
    with pytest.raises(
        InputError, match=r"power_off_dive takes \d+ m, .*; the ceiling is 70 m: give --ceiling"
    ) as found:
        under_ceiling(planes, dive(), 70.0)
    takes = float(str(found.value).split("takes ")[1].split(" m")[0])
    assert 70.0 < takes <= 120.0 and under_ceiling(planes, dive(), takes).phases[-1].time >= SECONDS[0]
    with pytest.raises(InputError):
        under_ceiling(planes, dive(), takes - 6.0)


def test_a_faster_dive_takes_more_height() -> None:
    planes = planes_of("fenlark")
    usual, fast = (under_ceiling(planes, dive(), share=share).phases[-1].time for share in (1.0, 1.15))
    assert fast < usual


@pytest.mark.parametrize("name", ["knife_edge", "four_point_roll", "roll_reversal", "flaps_down", "level"])
def test_what_stays_level_only_begins_lower(name: str) -> None:
    file = load_maneuver(name)
    assert file.stays_level and file.height <= 120.0
    assert under_ceiling(planes_of("fenlark"), file) == file
    assert under_ceiling(planes_of("fenlark"), file, 60.0) == file.model_copy(update={"height": 60.0})


def test_a_climb_has_its_top_under_the_ceiling(tmp_path: Path) -> None:
    phases = (
        "- {name: level, time: 1 s, sticks: {throttle: hold}}\n"
        "- {name: up, time: 1 s, climb: 45 deg, climb_rate: 60 deg/s, sticks: {throttle: 100 %}}\n"
        "- {name: line, time: 1 s, measured: true, sticks: {throttle: 100 %}}\n"
    )
    file = load_maneuver(str(maneuver_file(tmp_path, "upline", phases)))
    planes = planes_of("corvane")
    fitted = under_ceiling(planes, file, 100.0)
    [track] = fly_batch(planes, [make_script(fitted, "both", "free")], keep_tracks=True).tracks
    assert 50.0 < fitted.height < 95.0 and float(np.max(-track.column("down"))) == pytest.approx(
        100.0, abs=1.0
    )
    assert under_ceiling(planes, file, 500.0).height == file.height == 120.0, "its file says how high"


def test_a_file_that_begins_too_low_is_told_so(tmp_path: Path) -> None:
    mine = tmp_path / "low.yaml"
    mine.write_text(
        dive().text.replace("speed:", "height: 80 m\nspeed:").replace("name: power_off_dive", "name: low")
    )
    with pytest.raises(
        InputError, match=r"low takes \d+ m, .*; it begins at 80 m: give its file another height"
    ):
        under_ceiling(planes_of("corvane"), load_maneuver(str(mine)), 200.0)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("up_to: 3 s", "up_to: 1 s"),
        ("    measured: true\n", ""),
        ("time: 0.6 s", "time: 0.6 s\n    measured: true\n    up_to: 1 s"),
    ],
)
def test_up_to_is_for_a_last_measured_phase(old: str, new: str) -> None:
    text = dive().text
    assert old in text
    with pytest.raises(InputError, match="up_to"):
        make_maneuver(
            Path("mine.yaml"),
            text.replace(old, new).replace("    judges: {throttle-elevator: [canopy]}\n", "").encode(),
        )


def test_the_ceiling_as_people_give_it(tmp_path: Path) -> None:
    assert read_ceiling("300 ft") == pytest.approx(91.44)
    words = ("fly", "-m", "power_off_dive", "--no-pictures", "--json", "--ceiling")
    low, high = (sixdof_here(tmp_path, *words, height).json for height in ("120 m", "250 m"))
    assert [row["start_height_m"] for row in (low["maneuvers"][0], high["maneuvers"][0])] == [120.0, 250.0]
    assert any("power-off dive from 120 m: measured for 1." in text for text in low["warnings"])
    assert not any("measured for" in text for text in high["warnings"])
    for command in (
        ("tune", "-m", "power_off_dive"),
        ("explore", "power_off_dive", "--vary", "throttle-elevator.low=-2..0"),
    ):
        done = sixdof_here(tmp_path, *command, "--no-pictures", "--ceiling", "60 m")
        assert done.code == 2 and "the ceiling is 60 m" in done.err
    assert (
        "--ceiling: got 5 m, expected at least 30 m" in sixdof_here(tmp_path, "fly", "--ceiling", "5 m").err
    )


# ---------------------------------------------------------------- the ratio of a short dive


@pytest.mark.parametrize("name", DEMOS)
def test_the_short_dive_has_the_ratio_of_the_long_one(name: str) -> None:
    """Where the drift goes through zero, let go for 1.5 to 2.5 s and for 3 s; and the steady dive."""
    planes, amounts = ideal_servos(planes_of(name)), np.linspace(-0.06, 0.02, 33)
    found = []
    for ceiling in (120.0, 400.0):
        settings, _ = explore_ratio(planes, under_ceiling(planes, dive(), ceiling), LOW, amounts)
        assert all(setting.scored for setting in settings)
        found.append(100.0 * float(np.interp(0.0, [setting.drift for setting in settings], amounts)))
    steady = 100.0 * float(dive_ratios(planes, LOW, speed=25.0, height=80.0)[0])
    assert found == pytest.approx([steady, steady], abs=0.6) and found[0] == pytest.approx(found[1], abs=0.3)
    [tuned] = search(planes, [under_ceiling(planes, dive())]).ratios
    assert tuned.percent == pytest.approx(steady, abs=0.25 + 1e-6)


@pytest.mark.parametrize("speed", [15.0, 25.0, 35.0])
@pytest.mark.parametrize("name", DEMOS)
def test_steady_dive_by_another_solver(name: str, speed: float) -> None:
    """No acceleration across a vertical path, no turning, a propeller that windmills evenly (root of scipy)."""
    plane, air = planes_of(name)[0], make_air()
    asked, x, targets, rates = np.zeros(1, STEADY_DTYPE)[0], np.empty(N_STATE), np.empty(6), np.empty(N_STATE)
    asked["speed"], asked["height"] = speed, 80.0

    def left(z: np.ndarray) -> np.ndarray:
        alpha, beta, aileron, elevator, rudder, propeller = z
        unknowns = np.array([alpha, beta, aileron, elevator, rudder, 0.0, -0.5 * math.pi, 100.0 * propeller])
        steady_state(plane, asked, unknowns, x, targets)
        accelerations(plane, air, x, targets, rates)
        across = np.cross(x[3:6], rates[3:6])[1:] / speed
        return np.concatenate([across, rates[10:13], rates[18:19] / 100.0])

    solved = root(
        left, [0.0, 0.0, 0.0, 0.0, 0.0, 0.01 * 0.9 * float(plane["motor_no_load"])], method="hybr", tol=1e-12
    )
    assert solved.success
    found = float(dive_ratios(np.array([plane]), LOW, speed=speed, height=80.0)[0])
    assert found == pytest.approx(solved.x[3], abs=1e-5)


def test_steady_dive_without_a_propeller_is_two_straight_lines() -> None:
    """Neither lift nor pitching moment: CL0 + CLa a + CLde de = 0 and Cm0 + Cma a + Cmde de = 0."""
    terms = dict(CL0=0.2, CLa=4.8, CLde=0.4, Cm0=0.03, Cma=-0.6, Cmde=-1.1)
    more = dict(CD0=0.03, CYb=-0.3, Cnb=0.1, Clb=-0.05, Clda=-0.2, Cndr=-0.08, g_positive=6.0)
    plane = plane_of(2.0, (0.1, 0.1, 0.2), 0.4, 1.5, 0.27, **terms, **more)
    t = terms
    _, de = np.linalg.solve([[t["CLa"], t["CLde"]], [t["Cma"], t["Cmde"]]], [-t["CL0"], -t["Cm0"]])
    found = float(dive_ratios(np.array([plane]), LOW, speed=20.0, height=80.0)[0])
    full = plane["elevator_up"] if de < 0.0 else plane["elevator_down"]
    agree("elevator of the dive", found, -de / full, share=1e-6, source="plain algebra")


def test_only_a_vertical_dive_with_closed_throttle_settles_so() -> None:
    text = dive().text
    assert settles_late(LOW, dive()) and not settles_late(read_ratio("throttle-elevator.high"), dive())
    for old, new in (("climb: -90", "climb: -60"), ("measured: true", "measured: true\n    bank: 0 deg")):
        other = make_maneuver(Path("other.yaml"), text.replace(old, new).encode())
        assert settles_late(LOW, other) == (old != "climb: -90")
    part_throttle = "elevator: test, throttle: 20 %".join(text.rsplit("elevator: test, throttle: 0 %", 1))
    assert not settles_late(LOW, make_maneuver(Path("other.yaml"), part_throttle.encode()))

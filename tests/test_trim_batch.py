"""Many airplanes trimmed at once: each as it is alone, on any number of threads, flagged where there is no trim."""

from __future__ import annotations

import math

import numba
import numpy as np
import pytest
from support import agree
from test_trim import model

from sixdof.airframe.load import load_airframe
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import ratios_of
from sixdof.flight.fly import fly_batch, starts_for
from sixdof.flight.pack import set_trims
from sixdof.flight.script import load_maneuver, make_script
from sixdof.flight.steady import least_step
from sixdof.flight.trim import trim, trim_batch
from sixdof.physics.air import make_air
from sixdof.tuning.bench import Bench
from sixdof.tuning.held import held_ratios

AIR = make_air()
WRITTEN = (
    "aileron_trim", "elevator_trim", "rudder_trim", "cruise", "roll_rate", "canopy_rate", "wing_rate",
    "inverted_elevator", "knife_rudder_left", "knife_rudder_right",
)  # fmt: skip


def drawn(n: int) -> np.ndarray:
    """A demo airplane with mass and some terms drawn anew, the same at each call."""
    planes = np.repeat(Airplane(load_airframe("corvane")).planes, n)
    random = np.random.default_rng(7)
    for name in ("mass", "Cma", "Cnb", "CYb", "Clda", "Cmde", "Cndr", "Cmb2"):
        planes[name] *= 1.0 + 0.1 * random.standard_normal(n)
    return planes


def on_threads(n: int, work):
    before = numba.get_num_threads()
    numba.set_num_threads(n)
    try:
        return work()
    finally:
        numba.set_num_threads(before)


def test_batch_is_the_single_trims():
    """Planes times banks in one batch: the very states and sticks of each alone, glides among them."""
    planes = drawn(5)
    speed, bank = np.linspace(20.0, 28.0, 5)[:, None], np.array([0.0, 0.5 * math.pi, math.pi, 0.0])
    throttle = np.array([math.nan, math.nan, math.nan, 0.2])
    many = trim_batch(planes, AIR, speed=speed, bank=bank, throttle=throttle)
    assert many.shape == (5, 4) and many["converged"].any()
    for i, j in np.ndindex(many.shape):
        given = None if math.isnan(throttle[j]) else float(throttle[j])
        one = trim(planes[i], AIR, speed=float(speed[i, 0]), bank=float(bank[j]), throttle=given)
        assert (one.converged, one.reachable) == (
            bool(many["converged"][i, j]),
            bool(many["reachable"][i, j]),
        )
        np.testing.assert_allclose(many["state"][i, j], one.state, rtol=1e-12, atol=1e-12)
        np.testing.assert_allclose(many["unknowns"][i, j, 2:6], list(one.sticks.values()), atol=1e-12)


def test_many_are_trimmed_as_each_alone():
    planes, cruise = drawn(6), np.linspace(20.0, 26.0, 6)
    alone = planes.copy()
    assert set_trims(planes, cruise).all()
    for i, speed in enumerate(cruise):
        untrimmed = alone[i].copy()
        for channel in ("aileron", "elevator", "rudder"):
            untrimmed[f"{channel}_trim"] = 0.0
        level = trim(untrimmed, AIR, speed=float(speed))
        assert set_trims(alone[i : i + 1], float(speed)).all()
        agree("elevator trim", alone["elevator_trim"][i], level.sticks["elevator"], within=0.0)
    for name in WRITTEN:
        np.testing.assert_allclose(planes[name], alone[name], rtol=1e-9, atol=1e-12, err_msg=name)


def test_set_trims_leaves_level_flight_hands_off():
    planes = drawn(4)
    set_trims(planes, 24.0)
    level = trim_batch(planes, AIR, speed=24.0)[:, 0]
    np.testing.assert_allclose(level["unknowns"][:, 2:5], 0.0, atol=1e-7)


def test_unreachable_is_flagged_and_the_others_are_not_touched_by_it():
    """One too heavy to fly among good ones, and one whose coefficients are not numbers."""
    planes = drawn(4)
    alone = planes.copy()
    planes["mass"][1] *= 50.0
    planes["CL0"][2] = math.nan
    before = planes.copy()
    np.testing.assert_array_equal(set_trims(planes, 24.0), [True, False, False, True])
    set_trims(alone, 24.0)
    for name in WRITTEN:
        np.testing.assert_array_equal(planes[name][[0, 3]], alone[name][[0, 3]], err_msg=name)
        wanted = np.zeros(2) if name.endswith("_trim") else before[name][[1, 2]]
        np.testing.assert_array_equal(planes[name][[1, 2]], wanted, err_msg=name)


def test_threads_do_not_matter():
    one, two = drawn(40), drawn(40)
    on_threads(1, lambda: set_trims(one, 24.0))
    on_threads(min(2, numba.config.NUMBA_NUM_THREADS), lambda: set_trims(two, 24.0))
    assert one.tobytes() == two.tobytes()


def test_starts_are_the_level_flights_of_the_scripts():
    """Scripts of two speeds, one of them twice; each plane at its own cruise, sticks as that trim says."""
    planes = drawn(3)
    set_trims(planes, np.array([22.0, 24.0, 26.0]))
    file = load_maneuver("knife_edge")
    scripts = [
        make_script(file, "right", "free"), make_script(file, "right", "free", speed=0.8),
        make_script(file, "left", "free"),
    ]  # fmt: skip
    starts = starts_for(planes, scripts, AIR)
    for i, j in np.ndindex(3, 3):
        speed = float(planes["cruise"][i]) * scripts[j].speed
        level = trim(planes[i], AIR, speed=speed, height=scripts[j].height)
        agree("speed", starts["speed"][i, j], speed, within=1e-12)
        np.testing.assert_allclose(starts["state"][i, j], level.state, rtol=1e-12, atol=1e-12)
        for k, (name, command) in enumerate(level.sticks.items()):
            expo = 0.0 if name == "throttle" else float(planes[f"{name}_expo"][i])
            stick = float(starts["sticks"][i, j, (0, 1, 2, 4)[k]])
            agree(name, (1.0 - expo) * stick + expo * stick**3, command, within=1e-12)


def test_stick_that_does_nothing_keeps_its_value():
    """A straight airplane without rudder effect still trims, its rudder stick untouched."""
    plane = model(prop_D=0.0, ideal_thrust=90.0, Cn0=0.0, CYdr=0.0, Cndr=0.0, Cldr=0.0)
    steady = trim(plane, AIR, speed=25.0, climb=0.1)
    assert steady.reachable, steady
    agree("rudder", steady.sticks["rudder"], 0.0, within=0.0)


@pytest.mark.parametrize("n", [6, 7])
def test_least_step_solves(n):
    """Against numpy: regular systems, badly scaled ones, and ones with a zero or a dependent column."""
    random = np.random.default_rng(n)
    R, step = np.empty((7, 8)), np.empty(7)
    for case in range(60):
        A, b = random.standard_normal((n, n)), random.standard_normal(n)
        A *= 10.0 ** random.uniform(-3.0, 3.0, n)
        dead = int(random.integers(n))
        if case % 3 == 1:
            A[:, dead] = 0.0
        if case % 3 == 2:
            dead = n - 1
            A[:, dead] = 2.0 * A[:, 0] - A[:, 3] * (np.linalg.norm(A[:, 0]) / np.linalg.norm(A[:, 3]))
        work = np.zeros((7, 8))
        work[:n, :n], work[:n, n] = A, b
        least_step(work, n, R, step)
        if case % 3 == 0:
            size = np.linalg.norm(A, axis=0)
            wanted = np.linalg.solve(A / size, b) / size
            np.testing.assert_allclose(step[:n] * size, wanted * size, rtol=1e-9, atol=1e-9)
            continue
        agree("step of the column left out", step[dead], 0.0)
        left = np.delete(A, dead, axis=1)
        size = np.linalg.norm(left, axis=0)
        wanted = np.linalg.lstsq(left / size, b)[0]
        np.testing.assert_allclose(np.delete(step[:n], dead) * size, wanted, rtol=1e-8, atol=1e-8)


def test_bench_of_many_planes_flies_each_as_alone():
    """Every plane, row and script at its number in the batch; ratios of held flights plane by plane."""
    planes, file = drawn(3), load_maneuver("knife_edge")
    set_trims(planes, 30.0)  # fast enough that each of them carries itself in knife-edge
    ratios = ratios_of(["rudder-elevator"])
    scripts = [make_script(file, side, "free") for side in ("right", "left")]
    amounts = np.array([[0.0, 0.0], [0.05, -0.03]])
    bench = Bench(planes, scripts, ratios)
    together = bench.fly(amounts)
    assert len(together.ends) == 12
    for p in range(3):
        single = Bench(planes[p : p + 1], scripts, ratios)
        alone = single.fly(amounts)
        for k, side in np.ndindex(2, 2):
            mine, own = bench.flight(k, side, plane=p), single.flight(k, side)
            np.testing.assert_array_equal(together.errors[mine], alone.errors[own])
            np.testing.assert_array_equal(together.commands[mine], alone.commands[own])
    first, second = (together.errors[bench.flight(0, 0, plane=p)] for p in (0, 1))
    assert np.max(np.abs(first - second)) > 1e-4, "the planes differ"
    each = held_ratios(planes, [file], ratios)
    assert each.shape == (3, 2) and np.ptp(each[:, 0]) > 1e-4
    for p in range(3):
        np.testing.assert_array_equal(each[p : p + 1], held_ratios(planes[p : p + 1], [file], ratios))


def test_plane_of_its_own_flies_the_default_batch():
    """Two planes, no index: the first flies, on a start that was trimmed for it."""
    planes = drawn(2)
    set_trims(planes, 24.0)
    scripts = [make_script(load_maneuver("knife_edge"), "right", "free")]
    np.testing.assert_array_equal(fly_batch(planes, scripts).errors, fly_batch(planes[:1], scripts).errors)


@pytest.mark.parametrize("name", ["corvane", "fenlark", "tessel"])
def test_level_flight_is_found_up_to_full_throttle_and_beyond(name: str) -> None:
    """The throttle it takes only grows with speed, and only up to full throttle can it be flown."""
    [plane] = planes = Airplane(load_airframe(name)).planes
    level = trim_batch(planes, AIR, speed=float(plane["cruise"]) * np.arange(0.9, 1.7, 0.05))[0]
    throttle = level["unknowns"][:, 5]
    assert level["converged"].all(), level["converged"]
    assert np.all(np.diff(throttle) > 0.0) and throttle[0] < 0.8 and throttle[-1] > 1.0, throttle
    assert np.array_equal(level["reachable"] != 0, throttle <= 1.0), throttle

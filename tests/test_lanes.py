"""Flights side by side: a flight has the same bits alone, in any lane and in any company."""

from __future__ import annotations

import dataclasses

import numba
import numpy as np
import pytest
from flying import blend
from support import fly, state_of, targets_of

from sixdof.airframe.load import load_airframe
from sixdof.flight import fly as fly_module
from sixdof.flight.airplane import Airplane
from sixdof.flight.fly import Flights, fly_batch, fly_pieces, pack_blends
from sixdof.flight.script import load_maneuver, make_script
from sixdof.physics.air import AIR_DTYPE, make_air
from sixdof.physics.lanes import LANES, LANES_DTYPE, air_at, new_lanes, numbers_of, plane_at
from sixdof.physics.motion import rk4_step
from sixdof.physics.record import PLANE_DTYPE


@pytest.fixture(scope="module")
def batch():
    """Planes, scripts, airs and blends that all differ.

    The second script is short, the third plane soon leaves its range, the second set of blends runs out of travel.
    Each plane takes another number of steps a frame.
    """
    planes = np.concatenate([Airplane(load_airframe("corvane")).planes] * 3)
    planes["mass"] *= [1.0, 1.1, 0.9]
    planes["beta_max"][2] = 0.05
    planes["longest_step"] = 0.02, 0.01, 0.006
    scripts = [make_script(load_maneuver("knife_edge"), side, "free") for side in ("right", "left")]
    phases = scripts[1].phases.copy()
    phases["duration"] *= 0.3
    phases["must_reach"] = 0
    scripts[1] = dataclasses.replace(scripts[1], phases=phases)
    airs = np.array([make_air(), make_air(wind=(3.0, -2.0, 0.0), shear=(0.01, 0.0))], AIR_DTYPE)
    gusts = np.random.default_rng(3).normal(0.0, 0.5, (2, 600, 6)) * [1.0, 1.0, 1.0, 0.05, 0.05, 0.05]
    gusts[0] = 0.0
    sets = np.stack(
        [pack_blends([blend("rudder", "elevator", left, 0.02, ramp=1.0)]) for left in (0.01, -2.0)]
    )
    return planes, scripts, airs, gusts, sets


#: Plane, script, blends and air of the flights.
INDEX = [[p, s, (p + s + a) % 2, a] for p in range(3) for s in range(2) for a in range(2)]


def _flown(batch, index) -> Flights:
    planes, scripts, airs, gusts, sets = batch
    index = np.array(index)
    return fly_batch(planes, scripts, blends=sets, index=index, airs=airs, gusts=gusts, keep_tracks=True)


def _bytes(flights: Flights, i: int) -> tuple[bytes, ...]:
    parts = (flights.errors[i], flights.commands[i], flights.ends[i], flights.tracks[i].values)
    return tuple(part.tobytes() for part in parts)


def test_same_bits_in_any_company(batch):
    alone = [_bytes(_flown(batch, [row]), 0) for row in INDEX]
    together = _flown(batch, INDEX)
    assert len({together.status(i) for i in range(12)}) > 1, "all end alike: nothing tells lanes apart"
    lost = together.ends["lost_elevator"]
    assert np.any(lost > 0.0) and np.any(lost == 0.0), f"travel lost {lost}: nothing tells lanes apart"
    rng = np.random.default_rng(5)
    for order in (
        np.arange(12),
        np.arange(12)[::-1],
        rng.permutation(12)[:7],
        rng.integers(0, 12, 9),
        [3, 8],
    ):
        found = _flown(batch, [INDEX[k] for k in order])
        for place, k in enumerate(order):
            assert _bytes(found, place) == alone[k], f"flight {k} at place {place} of {list(order)}"


def test_same_bits_in_pieces(batch):
    """Whatever their size, and in the order of the index."""
    planes, scripts, airs, gusts, sets = batch
    index = np.array(INDEX)
    whole = _flown(batch, index)
    for size in (1, 5, 100):
        pieces = list(
            fly_pieces(planes, scripts, index=index, size=size, blends=sets, airs=airs, gusts=gusts)
        )
        assert max(len(piece.ends) for piece in pieces) <= size
        for name in ("errors", "commands", "ends"):
            together = np.concatenate([getattr(piece, name) for piece in pieces])
            assert together.tobytes() == getattr(whole, name).tobytes(), (name, size)


def test_same_bits_on_one_thread(batch):
    many, before = _flown(batch, INDEX), numba.get_num_threads()
    numba.set_num_threads(1)
    try:
        one = _flown(batch, INDEX)
    finally:
        numba.set_num_threads(before)
    assert [_bytes(one, i) for i in range(12)] == [_bytes(many, i) for i in range(12)]


def test_a_thread_flies_its_own_flights_and_no_others(batch, monkeypatch):
    """One of three: flights 1, 4, 7 and 10."""
    monkeypatch.setattr(fly_module, "parallel_for", lambda n, work: work(1, 3))
    flown = np.flatnonzero(_flown(batch, INDEX).ends["time"])
    assert flown.tolist() == [1, 4, 7, 10]


def test_a_lane_that_is_lost_disturbs_no_other():
    """Not-a-number in one lane, as an airplane that is over may leave it, stays there."""
    plane = Airplane(load_airframe("corvane")).planes[0]
    x = state_of(down=-100.0, u=22.0, w=0.5, euler=(0.2, 0.1, 0.0), propeller=600.0)
    targets = targets_of(elevator=-0.02, throttle=0.6)
    wanted = fly(plane, make_air(), x, targets, time=0.1, steps=20)
    for lost in range(LANES):
        planes, airs, work = new_lanes(plane, make_air(), x, 0.1 / 20)
        work["targets"] = targets[:, None]
        work["x"][:, lost] = np.nan
        for _ in range(20):
            rk4_step(planes, airs, work, LANES)
        for n in range(LANES):
            found = work["x"][:, n]
            assert np.isnan(found[3]) if n == lost else found.tobytes() == wanted.tobytes()


def test_columns_read_as_records():
    """Every field of every lane, the tables too."""
    planes, airs = np.zeros(LANES, PLANE_DTYPE), np.zeros(LANES, AIR_DTYPE)
    rng = np.random.default_rng(1)
    numbers_of(planes)[:], numbers_of(airs)[:] = (
        rng.random((LANES, 1)) + np.arange(numbers_of(planes).shape[1]),
        2.0,
    )
    airs["g"] = np.arange(LANES)
    columns = np.ascontiguousarray(numbers_of(planes).T)
    for n in range(LANES):
        record = plane_at(columns, n)
        for name in PLANE_DTYPE.names:
            found = record[name][:, 0] if record[name].ndim else record[name]
            np.testing.assert_array_equal(found, planes[n][name], err_msg=name)
        assert air_at(np.ascontiguousarray(numbers_of(airs).T), n)["g"] == n
    assert LANES_DTYPE["x"].shape == (19, LANES)

"""Blends as flown: what reaches the surfaces, when, and what is lost at the end of the travel."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from flying import blend, columns, fly_with, ideal_servos, maneuver_file, planes_of, script

from sixdof.airframe.blends import BlendSpec, Gate
from sixdof.airframe.load import load_airframe, load_blends
from sixdof.flight.fly import Flights, fly_batch, pack_blends
from sixdof.flight.script import Script

FRAME = 0.02  # s


@pytest.fixture
def planes() -> np.ndarray:
    """A demo with ideal servos and plain numbers: trims, expo, unlike throws up and down, quick flaps."""
    return ideal_servos(
        planes_of(
            "fenlark", aileron_trim=0.02, elevator_trim=-0.05, rudder_trim=0.04,
            aileron_expo=0.2, elevator_expo=0.3, rudder_expo=0.4, elevator_up=0.30, elevator_down=0.25,
            rudder_left=0.5, rudder_right=0.4, flap_rate=10.0, alpha_max=10.0, alpha_min=-10.0, beta_max=10.0,
        )
    )  # fmt: skip


def still(folder: Path, time: float = 0.6, **sticks: str) -> Script:
    """Sticks put to fixed places and left there."""
    places = {"aileron": "0 %", "elevator": "0 %", "rudder": "0 %", "throttle": "keep", **sticks}
    text = ", ".join(f"{k}: {v}" for k, v in places.items())
    name = "still" + "".join(c if c.isalnum() else "_" for c in text)
    return script(
        maneuver_file(folder, name, f"- {{name: still, time: {time} s, measured: true, sticks: {{{text}}}}}\n"),
        "both", "held",
    )  # fmt: skip


def expo(stick: float, share: float) -> float:
    return (1.0 - share) * stick + share * stick**3


def asked(flights: Flights, planes: np.ndarray, i: int = 0) -> dict[str, float]:
    """Where the surfaces stand at the end, as shares of their throws in the flyer's sense, trims taken off."""
    plane, track = planes[0], flights.tracks[i]
    right, left, elevator, rudder, flap = columns(
        track, "aileron_right", "aileron_left", "elevator", "rudder", "flap"
    )[-1]
    aileron = -right / plane["aileron_up"] if right < 0.0 else -right / plane["aileron_down"]
    other = left / plane["aileron_down"] if right < 0.0 else left / plane["aileron_up"]
    assert aileron == pytest.approx(other, abs=1e-6), "both panels must follow the same command"
    return {
        "aileron": aileron - plane["aileron_trim"],
        "elevator": -elevator / plane["elevator_up" if elevator < 0.0 else "elevator_down"]
        - plane["elevator_trim"],
        "rudder": -rudder / plane["rudder_right" if rudder < 0.0 else "rudder_left"] - plane["rudder_trim"],
        "flap": flap / plane["flap_down"],
    }


def reached(planes: np.ndarray, sticks: Script, *specs: BlendSpec) -> dict[str, float]:
    return asked(fly_with(planes, [sticks], list(specs)), planes)


def near(value: float) -> object:
    return pytest.approx(value, abs=2e-6)


# ---------------------------------------------------------------- amounts, sides, senses


def test_an_amount_goes_the_targets_own_way(planes: np.ndarray, tmp_path: Path) -> None:
    """Plus is right aileron, up elevator, right rudder, flap down; the trailing edge shows it."""
    sticks = still(tmp_path, rudder="50 %", aileron="10 %")
    bare = columns(fly_with(planes, [sticks]).tracks[0], "aileron_right", "elevator", "rudder")[-1]
    specs = [
        blend("rudder", "aileron", 0.0, 0.2),
        blend("rudder", "elevator", 0.0, 0.2),
        blend("aileron", "rudder", 0.0, 0.3),
    ]
    more = columns(fly_with(planes, [sticks], specs).tracks[0], "aileron_right", "elevator", "rudder")[-1]
    assert np.all(more < bare), "right aileron up, elevator up, rudder right are negative deflections"
    rudder, aileron = expo(0.5, 0.4), expo(0.1, 0.2)
    found = reached(planes, sticks, *specs)
    assert found["aileron"] == near(aileron + 0.2 * rudder)
    assert found["elevator"] == near(0.2 * rudder)
    assert found["rudder"] == near(rudder + 0.3 * aileron), "blends do not read each other"


@pytest.mark.parametrize("target", ["aileron", "elevator"])
def test_a_side_of_zero_stays_untouched(target: str, planes: np.ndarray, tmp_path: Path) -> None:
    one_side = blend("rudder", target, 0.0, 0.25)
    for place in ("-60 %", "60 %"):
        sticks = still(tmp_path, rudder=place)
        bare, blended = fly_with(planes, [sticks]), fly_with(planes, [sticks], [one_side])
        same = bare.tracks[0].values.tobytes() == blended.tracks[0].values.tobytes()
        assert same == (place == "-60 %"), place


def test_both_sides_have_their_own_ratio(planes: np.ndarray, tmp_path: Path) -> None:
    spec, rudder = blend("rudder", "elevator", -0.10, 0.30), expo(0.5, 0.4)
    assert reached(planes, still(tmp_path, rudder="50 %"), spec)["elevator"] == near(0.30 * rudder)
    assert reached(planes, still(tmp_path, rudder="-50 %"), spec)["elevator"] == near(-0.10 * rudder)


def test_two_blends_on_one_target_add_up(planes: np.ndarray, tmp_path: Path) -> None:
    sticks = still(tmp_path, rudder="50 %", flap="100 %")
    flaps = BlendSpec(source="flap", target="elevator", points=((0.0, 0.0), (1.0, -0.2)), ramp=0.0)
    found = reached(planes, sticks, blend("rudder", "elevator", 0.0, 0.3), flaps)
    assert found["elevator"] == near(0.3 * expo(0.5, 0.4) - 0.2)


def test_a_curve_is_straight_between_its_points_and_level_beyond(planes: np.ndarray, tmp_path: Path) -> None:
    points = ((-0.8, 0.3), (-0.4, 0.1), (0.0, 0.0), (0.3, 0.0), (0.6, 0.24))
    spec = BlendSpec(source="rudder", target="elevator", points=points, ramp=0.0, reads="stick")
    for stick, amount in (
        (-100, 0.3), (-80, 0.3), (-60, 0.2), (-20, 0.05), (20, 0.0), (45, 0.12), (60, 0.24), (100, 0.24),
    ):  # fmt: skip
        found = reached(planes, still(tmp_path, rudder=f"{stick} %"), spec)
        assert found["elevator"] == near(amount), stick


def test_a_curve_keeps_all_the_points_a_file_may_give(planes: np.ndarray, tmp_path: Path) -> None:
    """21 points of a zigzag: every one of them reaches the surface."""
    path = tmp_path / "zigzag.yaml"
    rows = [f'["{10 * i - 100} %", "{20 * (i % 2)} % up"]' for i in range(21)]
    path.write_text(
        "blends:\n  - {source: rudder, target: elevator, reads: stick, ramp: 0 s, curve: ["
        + ", ".join(rows) + "]}\n", encoding="utf-8",
    )  # fmt: skip
    specs = load_blends(path)
    sticks = [still(tmp_path, rudder=f"{place} %") for place in (-100, -90, 10, 20, 85, 90, 100)]
    flights = fly_with(planes, sticks, specs)
    found = [asked(flights, planes, i)["elevator"] for i in range(len(sticks))]
    assert found == near([0.0, 0.2, 0.2, 0.0, 0.1, 0.2, 0.0])  # type: ignore[arg-type]


# ---------------------------------------------------------------- what a blend reads


def test_reads_the_command_or_the_stick(planes: np.ndarray, tmp_path: Path) -> None:
    """Expo softens the middle: 50 % of stick is 35 % of command."""
    sticks = still(tmp_path, rudder="50 %")
    assert expo(0.5, 0.4) == pytest.approx(0.35)
    for reads, position in (("command", 0.35), ("stick", 0.5)):
        found = reached(planes, sticks, blend("rudder", "elevator", 0.0, 0.2, reads=reads))
        assert found["elevator"] == near(0.2 * position), reads


def test_counts_trim_or_not(planes: np.ndarray, tmp_path: Path) -> None:
    """Rudder stick at rest, 4 % of right trim: only a blend that counts the trim acts."""
    sticks = still(tmp_path)
    for counts, amount in ((False, 0.0), (True, 0.5 * 0.04)):
        found = reached(planes, sticks, blend("rudder", "elevator", 0.0, 0.5, counts_trim=counts))
        assert found["elevator"] == near(amount), counts


def test_after_reads_what_another_blend_added(planes: np.ndarray, tmp_path: Path) -> None:
    sticks = still(tmp_path, aileron="40 %", elevator="20 %")
    first = blend("aileron", "elevator", 0.0, 0.5, name="first")
    aileron, elevator = expo(0.4, 0.2), expo(0.2, 0.3)
    for after, seen in (((), elevator), (("first",), elevator + 0.5 * aileron)):
        second = blend("elevator", "rudder", 0.0, 0.3, name="second", after=after)
        for specs in ([first, second], [second, first]):
            found = reached(planes, sticks, *specs)
            assert found["rudder"] == near(0.3 * seen), (after, [s.name for s in specs])
            assert found["elevator"] == near(elevator + 0.5 * aileron)


def test_after_sees_the_named_blends_and_no_others(planes: np.ndarray, tmp_path: Path) -> None:
    sticks = still(tmp_path, aileron="40 %", rudder="50 %", elevator="20 %")
    named = blend("aileron", "elevator", 0.0, 0.5, name="named")
    other = blend("rudder", "elevator", 0.0, 0.4, name="other")
    reader = blend("elevator", "flap", 0.0, 0.3, name="reader", after=("named",), reads="stick")
    for specs in ([named, other, reader], [reader, other, named], [other, named, reader]):
        found = reached(planes, sticks, *specs)
        assert found["flap"] == near(0.3 * (0.2 + 0.5 * expo(0.4, 0.2))), [s.name for s in specs]


def test_a_chain_of_three_is_mixed_in_its_order(planes: np.ndarray, tmp_path: Path) -> None:
    chain = [
        blend("elevator", "rudder", 0.0, 0.5, name="c", after=("b",)),
        blend("aileron", "elevator", 0.0, 0.5, name="b", after=("a",)),
        blend("rudder", "aileron", 0.0, 0.5, name="a"),
    ]
    rudder = expo(0.8, 0.4)
    found = reached(planes, still(tmp_path, rudder="80 %"), *chain)
    assert found["aileron"] == near(rudder / 2.0)
    assert found["elevator"] == near(rudder / 4.0)
    assert found["rudder"] == near(rudder + rudder / 8.0)


# ---------------------------------------------------------------- switch, gate, ramp


def test_a_blend_switched_off_changes_no_bit(planes: np.ndarray, tmp_path: Path) -> None:
    sticks = still(tmp_path, rudder="50 %")
    off = blend("rudder", "elevator", 0.3, 0.3, switch="off")
    bare, blended = fly_with(planes, [sticks]), fly_with(planes, [sticks], [off])
    assert bare.tracks[0].values.tobytes() == blended.tracks[0].values.tobytes()


@pytest.mark.parametrize(
    ("gate", "opens_at_idle"),
    [(Gate(channel="throttle", below="15 %"), True), (Gate(channel="throttle", above="15 %"), False)],
)
@pytest.mark.parametrize("ramp", [0.0, 0.5])
def test_gate_and_ramp(
    gate: Gate, opens_at_idle: bool, ramp: float, planes: np.ndarray, tmp_path: Path
) -> None:
    """Throttle cut and opened again: the amount comes in and goes out in a straight line of ``ramp``."""
    sticks = "aileron: 0 %, elevator: 0 %, rudder: 50 %"
    phases = "".join(
        f"- {{name: {name}, time: 1.2 s, measured: true, sticks: {{{sticks}, throttle: {throttle} %}}}}\n"
        for name, throttle in (("power", 60), ("idle", 0), ("again", 60))
    )
    chopped = script(maneuver_file(tmp_path, "chop", phases), "both", "held")
    spec = blend("rudder", "elevator", 0.0, 0.4, gate=gate, ramp=ramp)
    flights = fly_with(planes, [chopped], [spec])
    track, plane = flights.tracks[0], planes[0]
    elevator = -track.column("elevator") / np.where(
        track.column("elevator") < 0.0, plane["elevator_up"], plane["elevator_down"]
    )
    full = 0.4 * expo(0.5, 0.4)
    share = (elevator - plane["elevator_trim"]) / full
    throttle = track.column("command_throttle")
    idle = (throttle <= 0.15) == opens_at_idle
    changes = [0, *(np.flatnonzero(np.diff(idle)) + 1), len(idle)]
    assert len(changes) == 4
    lag = 0.24 + ramp  # servo and ramp together are through by then
    for first, last in pairwise(changes):
        open_ = bool(idle[first])
        settled = share[first + round(lag / FRAME) : last]
        if first > 0 or ramp == 0.0:
            assert settled == pytest.approx(float(open_), abs=2e-3)
        if first > 0 and ramp:
            half = share[first + round(0.5 * ramp / FRAME)]
            assert half == pytest.approx(0.5, abs=0.06)
            steps = np.diff(share[first + 5 : first + round(ramp / FRAME)])
            assert np.abs(steps - np.mean(steps)).max() < 0.01, "a straight line"
    if ramp:  # a gate that is open from the start does not ramp in
        assert share[20] == pytest.approx(float(idle[0]), abs=2e-3)


# ---------------------------------------------------------------- the end of the travel


def test_travel_lost_is_recorded_and_the_surface_stops(planes: np.ndarray, tmp_path: Path) -> None:
    sticks = still(tmp_path, time=2.0, elevator="90 %", rudder="100 %")
    spec = blend("rudder", "elevator", 0.0, 0.5)
    bare, blended = fly_with(planes, [sticks]), fly_with(planes, [sticks], [spec])
    assert bare.ends["lost_elevator"][0] == 0.0
    assert blended.ends["lost_elevator"][0] == pytest.approx(2.0, abs=0.25)  # less the way of the sticks
    assert blended.ends["lost_aileron"][0] == 0.0
    assert asked(blended, planes)["elevator"] == near(1.0 - planes["elevator_trim"][0])
    assert asked(bare, planes)["elevator"] == near(expo(0.9, 0.3))


def test_flap_stops_at_its_rest(planes: np.ndarray, tmp_path: Path) -> None:
    """A blend asks for flaps up beyond their rest: nothing moves, the loss is recorded."""
    flights = fly_with(planes, [still(tmp_path, elevator="50 %")], [blend("elevator", "flap", 0.0, -0.3)])
    assert asked(flights, planes)["flap"] == near(0.0)
    assert flights.ends["lost_flap"][0] > 0.4


# ---------------------------------------------------------------- blends of the file


def test_blends_of_the_aircraft_file_fly() -> None:
    """The demo's flap-elevator blend, 5 % down at full flap, moves the elevator's trailing edge down."""
    airframe = load_airframe("fenlark")
    planes = ideal_servos(planes_of("fenlark"))
    scripts = [script("flaps_down", "both")]
    bare = fly_batch(planes, scripts, keep_tracks=True)
    blended = fly_batch(planes, scripts, blends=pack_blends(airframe.radio.blends)[None], keep_tracks=True)
    before, after = (flight.tracks[0].column("elevator")[-1] for flight in (bare, blended))
    share = before / planes["elevator_up"][0]  # trim and stick hold a little up
    assert -0.05 < share < 0.0
    assert after == pytest.approx((share + 0.05) * planes["elevator_down"][0], rel=0.02)

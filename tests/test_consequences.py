"""What a set of blends does to the whole sequence, and what is warned of."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from commanding import sixdof_here
from faults import airplane_of
from reading import too_wide, wrong_letters

from sixdof.airframe.blends import BlendSpec, Gate
from sixdof.flight.blends import read_blends
from sixdof.flight.fly import fly_batch, pack_blends
from sixdof.flight.script import make_script, sides_of
from sixdof.study.ask import diagnose, sequence_of
from sixdof.tuning.consequences import Consequences, consequences
from sixdof.tuning.held import without_slop

TUNED = (
    "rudder-elevator.right=3",
    "rudder-aileron.right=-4",
    "rudder-aileron.left=5",
    "throttle-elevator.low=-2.5",
)


@cache
def of(*texts: str) -> Consequences:
    return told(read_blends(texts))


def told(specs: list[BlendSpec]) -> Consequences:
    airplane = airplane_of("corvane")
    return consequences(airplane, specs, sequence_of(airplane)[0], [])


def line(source: str, target: str, low: float, high: float, **more: object) -> BlendSpec:
    least = 0.0 if source == "throttle" else -1.0
    return BlendSpec(source=source, target=target, points=((least, low), (1.0, high)), **more)  # type: ignore[arg-type]


def test_what_was_tuned_is_better_on_and_worse_reversed() -> None:
    found = of(*TUNED)
    assert any("left-rudder knife-edge" in text for text in found.better) and any(
        "dive" in text for text in found.better
    )
    assert any("knife-edge" in text or "dive" in text for text in found.reversed)
    for text in [*found.better, *found.worse, *found.reversed]:
        now, before = map(float, re.findall(r"([\d.]+) °/s, without ([\d.]+)", text)[0])
        assert abs(now - before) >= 0.9, "what tells"
        assert (now < before) == (text in found.better)


def test_points_of_the_sequence_are_those_of_its_flights() -> None:
    """By flying each test alone, bare and blended, with the worst error of each measured phase over 15°."""
    found, airplane = of(*TUNED), airplane_of("corvane")
    lost = {"bare": 0.0, "blended": 0.0}
    for file in sequence_of(airplane)[0]:
        if file.part == "throws":
            continue
        for side in sides_of(file):
            script = make_script(file, side, "free")
            both = {}
            for when, specs in (("bare", []), ("blended", read_blends(TUNED))):
                flights = fly_batch(without_slop(airplane.planes), [script], blends=pack_blends(specs)[None])
                counted = np.abs(flights.errors[0]) * script.scored[: len(script.measured), None]
                both[when] = float(np.degrees(counted.max(axis=(1, 2))).sum()) / 15.0 if flights.finished[0] else None  # fmt: skip
            if None not in both.values():
                lost = {when: lost[when] + both[when] for when in lost}
    assert (found.points_bare, found.points_with) == pytest.approx((lost["bare"], lost["blended"]), rel=1e-5)
    assert found.points_with < found.points_bare


def test_left_on_for_landing() -> None:
    flags = of("throttle-elevator.low=-8").flags
    assert any(
        f.startswith("left on near the ground: ") and f.endswith("switch off throttle-elevator")
        for f in flags
    )
    assert not any("near the ground" in f for f in of("aileron-rudder.right=1").flags)


def test_a_straight_line_from_the_throttle_spoils_level_flight() -> None:
    straight = line("throttle", "elevator", -0.04, 0.0)
    gated = straight.model_copy(update={"gate": Gate(channel="throttle", below="15 %")})
    said = "spoils level flight: gate it"
    assert any(said in flag for flag in told([straight]).flags)
    assert not any(said in flag for flag in told([gated]).flags)
    assert not any(said in flag for flag in of("throttle-elevator.low=-4").flags)


@pytest.mark.parametrize(
    ("spec", "flag"),
    [
        (line("rudder", "elevator", 0.2, 0.2), "20 % is more than the 15 % a blend should cure"),
        (
            line("rudder", "elevator", 0.004, 0.004),
            "0.05° at most is hardly more than the slop of the servo, 0.04°",
        ),
        (
            line("rudder", "elevator", -0.03, 0.03, counts_trim=True),
            "the trim of the rudder moves the elevator too",
        ),
        (line("rudder", "elevator", -0.03, 0.03, reads="stick"), "reads the stick before rates and expo"),
        (
            line("rudder", "elevator", -0.03, 0.03, after=("aileron-rudder",)),
            "reads what aileron-rudder adds",
        ),
    ],
)
def test_what_a_blend_by_itself_is_warned_of(spec: BlendSpec, flag: str) -> None:
    plain = line("rudder", "elevator", -0.03, 0.03)
    assert any(flag in text for text in told([spec]).flags)
    assert not any(flag in text for text in told([plain]).flags)


def test_travel_that_runs_out_in_rolls() -> None:
    """Much elevator added with the rudder, up: what holds a slow roll against it runs into its stop."""
    found = diagnose(
        airplane_of("corvane"), blends=read_blends(["rudder-elevator.right=60", "rudder-elevator.left=60"])
    )
    assert found.consequences is not None
    assert any(
        re.search(r"roll to the (right|left): the (elevator|rudder) is at its stop", f)
        for f in found.consequences.flags
    )


def test_right_at_one_speed_only() -> None:
    assert any(f.startswith(("at 80%", "at 120%")) for f in of(*TUNED).flags)


def test_it_is_said_in_24_lines(tmp_path: Path) -> None:
    words = [w for text in TUNED for w in ("-b", text)]
    done = sixdof_here(tmp_path, "diagnose", "corvane", *words)
    assert done.code == 0 and len(done.out.splitlines()) <= 24
    assert not too_wide(done.out) and not wrong_letters(done.out)
    assert done.out.index("! left on") < done.out.index("worse: ") < done.out.index("better: ")
    found = sixdof_here(tmp_path, "diagnose", "corvane", *words, "--json").json
    assert found["consequences"]["flags"] and found["flown_with"]

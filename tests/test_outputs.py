"""Outputs that are on or off by a stick."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from commanding import sixdof_here
from hypothesis import given
from hypothesis import strategies as st

from sixdof.airframe.load import load_airframe
from sixdof.airframe.radio import Output
from sixdof.flight.airplane import Airplane
from sixdof.flight.fly import Track
from sixdof.flight.frame import N_TRACK, TRACK_NAMES
from sixdof.flight.outputs import on_times, when_words
from sixdof.study.ask import fly

DEMO = (Path(__file__).parent.parent / "aircraft" / "corvane.yaml").read_text(encoding="utf-8")
OUTPUTS = (
    "  outputs:\n    - {name: glow driver, source: throttle, below: 33 %}\n"
    "    - {name: smoke, source: throttle, above: 50 %, hysteresis: 10 %}\n"
)


def track(*throttle: float) -> Track:
    values = np.zeros((len(throttle), N_TRACK))
    values[:, TRACK_NAMES.index("stick_throttle")] = throttle
    values[:, TRACK_NAMES.index("time")] = 0.02 * np.arange(len(throttle))
    return Track(values)


def test_on_beyond_its_limit_and_off_only_when_it_has_come_back() -> None:
    smoke = Output(name="smoke", source="throttle", above="50 %", hysteresis="10 %")
    flown = track(0.4, 0.6, 0.45, 0.39, 0.45, 0.6, 0.6)
    assert on_times(smoke, flown) == [(0.02, 0.06), pytest.approx((0.10, 0.12))]
    assert when_words(smoke, flown).startswith("smoke on from 0.0 to 0.1 s, 0.1 to 0.1 s")
    glow = Output(name="glow driver", source="throttle", below="33 %")
    assert on_times(glow, track(0.4, 0.3, 0.36, 0.39)) == [pytest.approx((0.02, 0.06))]
    assert when_words(glow, track(0.4, 0.5)) == "glow driver never on" and on_times(glow, track()) == []


@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=60), st.floats(0.0, 0.3))
def test_it_never_flickers_within_the_hysteresis(sticks: list[float], hysteresis: float) -> None:
    """Between two times on the stick has come back by all of it."""
    output = Output(name="x", source="throttle", above="50 %", hysteresis=f"{100.0 * hysteresis:.6f} %")
    spans = on_times(output, track(*sticks))
    for (_, off), (on, _) in pairwise(spans):
        between = sticks[round(off / 0.02) : round(on / 0.02)]
        assert min(between) <= 0.5 - hysteresis + 1e-6


def test_a_dive_has_the_glow_driver_on_and_the_file_says_so(tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text(DEMO.replace("  blends: []", "  blends: []\n" + OUTPUTS.rstrip(), 1))
    assert [o.name for o in load_airframe(path).radio.outputs] == ["glow driver", "smoke"]
    flown = fly(Airplane(str(path)), "power_off_dive")
    glow, smoke = flown.outputs
    assert glow.startswith("power-off dive: glow driver on from ") and smoke.startswith(
        "power-off dive: smoke "
    )
    told = sixdof_here(tmp_path, "check", "mine.yaml", "--all", "--no-picture")
    assert "smoke: on while the throttle is above 50 %, off again 10 % below that" in " ".join(
        told.out.split()
    )
    assert (
        "glow driver on from"
        in sixdof_here(tmp_path, "fly", "mine.yaml", "-m", "power_off_dive", "--no-pictures").out
    )


@pytest.mark.parametrize(
    ("old", "new", "word"),
    [
        ("below: 33 %", "below: 33 %, above: 50 %", "one limit"),
        (", below: 33 %", "", "one limit"),
        ("throttle, below", "thrttle, below", "throttle"),
    ],
)
def test_an_output_that_cannot_be_is_said(tmp_path: Path, old: str, new: str, word: str) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text(DEMO.replace("  blends: []", "  blends: []\n" + OUTPUTS.rstrip().replace(old, new, 1), 1))
    done = sixdof_here(tmp_path, "check", "mine.yaml", "--no-picture")
    assert (
        done.code == 2 and word in done.err and "radio.outputs[0]" in done.err and done.err.count("\n") == 1
    )

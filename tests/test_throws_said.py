"""Unequal throws: what the file gives up and down, left and right is what moves, and what is said."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from commanding import sixdof_here
from flying import columns, fly_with, ideal_servos, maneuver_file, script
from lopsided import FILE, airplane, as_written, number, throws

SURFACES = ("aileron_right", "aileron_left", "elevator", "rudder", "flap")
#: stick and side -> which surface goes which way (ISO 1151: down, and left, are positive) by which throw.
MOVES = {
    ("aileron", "100 %"): {"aileron_right": (-1, "aileron", "UP"), "aileron_left": (+1, "aileron", "DOWN")},
    ("aileron", "-100 %"): {"aileron_right": (+1, "aileron", "DOWN"), "aileron_left": (-1, "aileron", "UP")},
    ("elevator", "100 %"): {"elevator": (-1, "elevator", "UP")},
    ("elevator", "-100 %"): {"elevator": (+1, "elevator", "DOWN")},
    ("rudder", "100 %"): {"rudder": (-1, "rudder", "RIGHT")},
    ("rudder", "-100 %"): {"rudder": (+1, "rudder", "LEFT")},
    ("flap", "100 %"): {"flap": (+1, "flap", "DOWN")},
}


def test_no_two_throws_are_the_same() -> None:
    """Else a swap would not be seen."""
    for rate in ("normal", "snap"):
        given = [throw for (_, way), throw in throws(rate).items() if way in ("UP", "DOWN")]
        given += [throws(rate)["rudder", way] for way in ("LEFT", "RIGHT")]
        assert len(set(given)) == len(given)


@pytest.mark.parametrize("rate", ["normal", "snap"])
@pytest.mark.parametrize(("stick", "position"), MOVES)
def test_full_stick_moves_the_surface_as_the_file_says(
    tmp_path: Path, rate: str, stick: str, position: str
) -> None:
    """Flown: a stick goes to its end, and the surface with it, trims taken out."""
    phases = f"  - {{name: go, time: 3 s, measured: true, sticks: {{{stick}: {position}}}}}\n"
    planes = ideal_servos(airplane(rate).planes)
    for channel in ("aileron", "elevator", "rudder"):
        planes[f"{channel}_trim"] = 0.0
    planes["flap_rate"] = 10.0
    for limit in ("never_exceed", "alpha_max", "beta_max"):
        planes[limit] = 1e9
    planes["alpha_min"] = -1e9
    made = script(maneuver_file(tmp_path, "full_stick", phases), side="both")
    flights = fly_with(planes, [made])
    moved = np.degrees(columns(flights.tracks[0], *SURFACES))
    for surface, (sign, channel, way) in MOVES[stick, position].items():
        column = moved[:, SURFACES.index(surface)]
        reached = column[np.argmax(sign * column)]
        assert reached == pytest.approx(sign * throws(rate)[channel, way], abs=0.05), (surface, way)


@pytest.mark.parametrize("rate", ["normal", "snap"])
def test_record_holds_each_throw_in_its_place(rate: str) -> None:
    plane, given = airplane(rate).plane, throws(rate)
    for channel, ways in {
        "aileron": "up down",
        "elevator": "up down",
        "rudder": "left right",
        "flap": "down",
    }.items():
        for way in ways.split():
            degrees = float(np.degrees(plane[f"{channel}_{way}"]))
            assert degrees == pytest.approx(given[channel, way.upper()], abs=1e-12), (channel, way)


@pytest.mark.parametrize("rate", ["normal", "snap"])
def test_sticks_are_told_with_their_own_throw(tmp_path: Path, rate: str) -> None:
    """``check``: seen on the bench, each stick's end with the degrees that stand in the file."""
    report = sixdof_here(tmp_path, "check", str(FILE), "--no-picture", "--json", "--rate", rate).json
    given, lines = throws(rate), report["sticks"]

    def told(start: str) -> str:
        (line,) = [line for line in lines if line.startswith(start)]
        return line

    for side, other in (("right", "left"), ("left", "right")):
        line = told(f"{side} aileron")
        assert f"{side} aileron goes UP {given['aileron', 'UP']:.1f}°" in line
        assert f"{other} aileron goes DOWN {given['aileron', 'DOWN']:.1f}°" in line
        assert line.endswith(f"rolls {side}")
        line = told(f"{side} rudder")
        assert f"goes {side.upper()} {given['rudder', side.upper()]:.1f}°" in line
        assert line.endswith(f"nose goes {side}")
    for way, stick in (("up", "back"), ("down", "forward")):
        line = told(f"{way} elevator")
        assert stick in line and f"goes {way.upper()} {given['elevator', way.upper()]:.1f}°" in line
        assert line.endswith(f"nose goes {way}")
    assert f"go DOWN {given['flap', 'DOWN']:.1f}°" in told("flap")
    assert "counterclockwise" in told("throttle"), "as the file has it"


@pytest.mark.parametrize("rate", ["normal", "snap"])
def test_blends_of_the_file_are_told_in_degrees_of_their_own_side(tmp_path: Path, rate: str) -> None:
    """Percent of the file times the throw of the side it goes to, worked out by hand."""
    report = sixdof_here(tmp_path, "check", str(FILE), "--no-picture", "--json", "--rate", rate).json
    lines, given, seen = report["blends"], throws(rate), 0
    for blend in as_written()["radio"]["blends"]:
        source, target = blend["source"], blend["target"]
        for side in ("left", "right", "low", "high"):
            if side not in blend:
                continue
            percent, _, way = blend[side].split()
            start = {"low": "throttle at 0 %", "high": "flap at 100 %"}.get(side, f"full {side} {source}")
            (line,) = [line for line in lines if line.startswith(f"{start}: {target} ")]
            match = re.search(rf"{target} {percent} % {way.upper()} \(([\d.]+)°\)", line)
            assert match, line
            degrees = 0.01 * number(percent) * given[target, way.upper()]
            assert float(match[1]) == pytest.approx(degrees, abs=0.00501), line
            seen += 1
    assert seen == len(lines) == 8

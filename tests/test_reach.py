"""How long a gust is, which way the pilot steers against sideslip, how far trims reach."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from flying import columns, fly_with, ideal_servos, maneuver_file, script
from lopsided import airplane

from sixdof.flight.fly import fly_batch
from sixdof.flight.gusts import airs_of, read_bump
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air

FRAME = 0.02  # s
CRUISE = 25.0  # m/s, as the file has it


# ---------------------------------------------------------------- the gust


def test_a_gust_is_25_chords_long_and_swells_as_a_cosine() -> None:
    """U/2 (1 - cos(2 pi s / 25 C)), C the mean geometric chord: 14 CFR 23.333(c)(2), from memory.

    The file's wing has a root of 385 mm and a tip of 215 mm.
    """
    chord = 0.5 * (0.385 + 0.215)
    lasts = 25.0 * chord / CRUISE  # s
    flown = script("knife_edge")
    _, gusts = airs_of(airplane().plane, [flown], bump=read_bump("3 m/s from the left at 2 s"))
    time, blown = FRAME * np.arange(gusts.shape[1]), gusts[0]
    assert not np.any(blown[:, [0, 2, 3, 4, 5]]), "to the right, and it turns nothing"
    side = blown[:, 1]
    assert np.all(side >= 0.0), "from the left is toward the east"
    # area under it: half its top times its length; a sum over frames is exact but for its ends
    length = float(np.sum(side)) * FRAME / (0.5 * 3.0)
    assert length == pytest.approx(lasts, rel=0.04)
    middle = float(np.sum(side * time) / np.sum(side))
    assert middle == pytest.approx(2.0 + 0.5 * length, abs=0.5 * FRAME), "it begins when it was said"
    inside = (time > 2.0) & (time < 2.0 + length)
    assert np.all((side > 0.0) == inside)
    assert float(side.max()) == pytest.approx(3.0, rel=0.02)
    at_quarter = float(np.interp(2.0 + 0.25 * length, time, side))
    assert at_quarter == pytest.approx(1.5, abs=0.1), "half its top at a quarter of its length"


def test_an_airplane_feels_it_for_so_long() -> None:
    """Flown: the gust's velocity, from the speed that is felt and the velocity over the ground."""
    flown = script("level", side="both")
    airs, gusts = airs_of(airplane().plane, [flown], bump=read_bump("3 m/s from ahead at 3 s"))
    flights = fly_batch(airplane().planes, [flown], airs=airs, gusts=gusts, keep_tracks=True)
    time, speed, *ground = columns(flights.tracks[0], "time", "speed", "u", "v", "w").T
    gust = speed - np.sqrt(sum(v**2 for v in ground))
    length = float(np.sum(gust)) * FRAME / (0.5 * 3.0)
    assert length == pytest.approx(25.0 * 0.3 / CRUISE, rel=0.04)
    assert np.all(np.abs(gust[(time < 3.0) | (time > 3.0 + 1.1 * length)]) < 1e-6)


# ---------------------------------------------------------------- the pilot


@pytest.mark.parametrize("off", [0.15, -0.15])
def test_no_sideslip_brings_sideslip_down(tmp_path: Path, off: float) -> None:
    """An airplane whose rudder is trimmed to one side slips; the pilot's foot takes that out, to either side.

    Sideslip from the velocity in body axes: sin beta = v / V (ISO 1151-1).
    """
    slips = {}
    for policy in ("free", "no sideslip"):
        phases = (
            f'  - {{name: foot, time: 14 s, sticks: {{rudder: "{policy}", throttle: keep}}}}\n'
            f'  - {{name: see, time: 1 s, measured: true, sticks: {{rudder: "{policy}", throttle: keep}}}}\n'
        )
        planes = ideal_servos(airplane().planes)
        planes["rudder_trim"] += off
        made = script(maneuver_file(tmp_path, "no_slip", phases), side="both")
        flights = fly_with(planes, [made])
        assert flights.status(0) == "finished"
        u, v, w, foot = columns(flights.tracks[0], "u", "v", "w", "stick_rudder").T
        beta = np.degrees(np.arcsin(v / np.sqrt(u**2 + v**2 + w**2)))
        slips[policy] = beta, float(np.mean(foot[-50:]))
    free, steered = slips["free"][0], slips["no sideslip"][0]
    left_alone = float(np.mean(free[-50:]))
    # rudder to the right turns the nose right, and the wind comes from the left: v < 0
    assert abs(left_alone) > 2.0 and left_alone * off < 0.0
    assert abs(float(np.mean(steered[-50:]))) < 0.4 * abs(left_alone)
    assert slips["no sideslip"][1] * off < 0.0, "a foot against the trim"


# ---------------------------------------------------------------- trims


@pytest.mark.parametrize("channel", ["aileron", "elevator", "rudder"])
@pytest.mark.parametrize("end", [1.0, -1.0])
def test_a_trim_reaches_as_far_as_full_stick_and_no_further(channel: str, end: float) -> None:
    """A flight that wants 10 to 90 % of a control to the trim's side: the stick makes up what the trim is off.

    Where the trim stands at its end the stick is still inside its travel, so that only the trim can be out of
    reach.  A surface has no further to go than its throw, whoever asks: that is all a trim can be.
    """
    plane, air = airplane().plane, make_air()
    for each in ("aileron", "elevator", "rudder"):
        plane[f"{each}_trim"] = 0.0
    # knife-edge wants rudder, a nose-down moment wants elevator, a CG to one side wants aileron
    if channel == "rudder":
        bank = -0.5 * math.pi * end
        wants = trim(plane, air, speed=CRUISE, bank=bank)
    else:
        for step in np.linspace(0.0, 0.08, 41):
            side = plane.copy()
            if channel == "aileron":
                side["ref_y"] += 5.0 * end * step  # m, the CG far to one side of the lift
            else:
                side["Cm0"] += -end * step
            wants, bank = trim(side, air, speed=CRUISE), 0.0
            if wants.sticks[channel] * end > 0.2:
                plane = side
                break
    share = wants.sticks[channel]
    assert wants.reachable and 0.1 < share * end < 0.9, share
    for trimmed, within in ((0.5, True), (0.99, True), (1.01, False), (1.05, False)):
        plane[f"{channel}_trim"] = end * trimmed
        found = trim(plane, air, speed=CRUISE, bank=bank)
        assert found.converged
        assert found.sticks[channel] == pytest.approx(share - end * trimmed, abs=1e-6)
        assert abs(found.sticks[channel]) < 1.0, "the stick is inside its travel"
        assert found.reachable is within, (channel, trimmed)

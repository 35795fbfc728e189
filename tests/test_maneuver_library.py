"""The maneuvers that come with the package, flown by the demos: each finishes or says why not, and shows what it says."""

from __future__ import annotations

import re
from functools import cache

import numpy as np
import pytest
from flying import DEMOS, ideal_servos, planes_of

from sixdof.flight.airplane import Airplane
from sixdof.flight.ceiling import CEILING, under_ceiling
from sixdof.flight.fly import Flights, fly_batch
from sixdof.flight.script import Script, list_maneuvers, load_maneuver, make_script, sides_of

NAMES = [name for name, _ in list_maneuvers()]
#: demo, maneuver -> why it does not finish.
WHY = {
    (
        "corvane",
        "full_throw_loop",
    ): "left the model's range: angle of attack",  # full elevator stalls the wing
    ("tessel", "full_throw_loop"): "left the model's range: angle of attack",
    ("fenlark", "knife_edge"): "let go early at 45° of bank error",  # a trainer's dihedral rolls it out
}


@cache
def flown(demo: str, name: str) -> tuple[list[Script], Flights]:
    """A maneuver under the ceiling of a usual site, every side and way."""
    planes = planes_of(demo)
    file = under_ceiling(planes, load_maneuver(name))
    scripts = [make_script(file, side, way) for way in file.flown for side in sides_of(file)]
    return scripts, fly_batch(planes, scripts, keep_tracks=True)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("demo", DEMOS)
def test_it_finishes_or_says_why_not(demo: str, name: str) -> None:
    scripts, flights = flown(demo, name)
    for i, script in enumerate(scripts):
        status = flights.status(i)
        if script.way == "free" and (why := WHY.get((demo, name))):
            assert status.startswith(why)
            continue
        assert status == "finished", (script.side, script.way, status)
        top = float(np.max(-flights.tracks[i].column("down")))
        low = float(flights.ends["lowest"][i])
        assert low > 1.5
        if script.way == "free" and not script.maneuver.stays_level:
            assert top < CEILING + 5.0, "its highest point as the ceiling allows"
        if script.maneuver.part == "landing":
            assert low < 12.0, "near the ground is where it is flown"


@pytest.mark.parametrize("name", NAMES)
def test_the_head_of_the_file_says_what_it_takes(name: str) -> None:
    """Height used, top speed and load of the demo, told to whoever flies it."""
    _, flights = flown("corvane", name)
    text = load_maneuver(name).text
    found = re.search(
        r"^# Corvane: height (\d+) m, speed (\d+) m/s, (-?[\d.]+) to (-?[\d.]+) g\.$", text, re.M
    )
    assert found is not None
    ends = flights.ends
    used = max(float(np.ptp(track.column("down"))) for track in flights.tracks)
    took = [used, ends["top_speed"].max(), ends["low_g"].min(), ends["top_g"].max()]
    for said, number, spare in zip(found.groups(), took, (2.0, 1.0, 0.2, 0.2), strict=True):
        assert float(said) == pytest.approx(number, abs=spare, rel=0.05)


def ends_at(name: str, **changes: str) -> np.ndarray:
    """Errors of the demo at the end of the first measured phase [deg], (sides, 4), its airframe changed."""
    planes = ideal_servos(Airplane("corvane").changed(changes).planes)
    file = load_maneuver(name)
    scripts = [make_script(file, side, "free") for side in sides_of(file)]
    return np.degrees(fly_batch(planes, scripts).errors[:, 0, -1])


#: change, maneuver, error, which way it goes: +1 is to canopy, to the right wing, rolls right.
#: What flyers say of each; common practice, no source.
SHOWS = [
    ({"cg": "10 mm forward"}, "inverted", 0, +1),  # nose-heavy: drops, on its back toward the canopy
    ({"cg": "10 mm forward"}, "power_off_dive", 0, +1),
    ({"cg": "10 mm forward"}, "fast_dive", 0, +1),
    ({"cg": "10 mm forward"}, "inverted_45", 0, +1),
    ({"down-thrust": "+1 deg"}, "throttle_chop", 0, +1),  # too much of it: the chop lifts the nose
    ({"down-thrust": "+1 deg"}, "throttle_burst", 0, -1),
    ({"down-thrust": "+1 deg"}, "vertical_upline", 0, -1),
    ({"right-thrust": "+1 deg"}, "vertical_upline", 1, +1),
    ({"tip-weight": "30 g right"}, "hard_pull", 2, +1),  # the heavy wing drops on pulls
    ({"tip-weight": "30 g right"}, "inside_loop", 1, +1),  # loops wander toward it
    ({"tip-weight": "30 g right"}, "hard_push", 2, -1),  # and rises on pushes
    ({"tip-weight": "30 g right"}, "outside_loop", 1, +1),
    ({"tip-weight": "30 g right"}, "inverted_release", 2, -1),  # on its back right is the other way about
    ({"dihedral": "+2 deg"}, "rudder_pulse", 2, +1),  # right rudder rolls it right
]  # fmt: skip


@pytest.mark.parametrize(("changes", "name", "error", "way"), SHOWS)
def test_it_shows_what_it_is_there_for(changes: dict[str, str], name: str, error: int, way: int) -> None:
    moved = (ends_at(name, **changes) - ends_at(name))[0, error]
    assert way * moved > 0.3, f"{moved:.2f}"

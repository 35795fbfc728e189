"""Signs and sizes that flyers know, on airplanes estimated from geometry.

All of it common practice, no source: knife-edge and rudder of most precision and sport aerobatic models.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import brentq
from support import agree

from sixdof.airframe.load import load_airframe
from sixdof.airframe.model import Airframe
from sixdof.estimate.derivatives import NAMES
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import read_ratio
from sixdof.flight.knife_edge import knife_edges
from sixdof.flight.lore import likelihood
from sixdof.flight.trim import trim
from sixdof.physics.air import G0, make_air
from sixdof.tuning.held import flap_ratios
from sixdof.validation.chain import coefficients

DEMOS = ("corvane", "fenlark", "tessel")
PRACTICE = "common practice, no source"
STEP = 0.02  # m


def _raised(airframe: Airframe, part: str, by: float) -> Airframe:
    if part == "cg":
        x, y, z = airframe.mass.cg
        return airframe.model_copy(update={"mass": airframe.mass.model_copy(update={"cg": (x, y, z - by)})})
    surface = getattr(airframe, part)
    x, y, z = surface.root
    return airframe.model_copy(update={part: surface.model_copy(update={"root": (x, y, z - by)})})


@cache
def held(name: str, part: str = "cg", by: float = 0.0) -> dict[str, np.ndarray]:
    """By physics alone, steady knife-edge at cruise, (right, left): elevator over rudder used, + up; aileron over rudder; rudder."""
    return steady_ratios(Airplane(_raised(load_airframe(name), part, by), lore=False).plane)


def steady_ratios(plane: np.void) -> dict[str, np.ndarray]:
    """:func:`held` of a plane record."""
    steady = [
        trim(plane, make_air(), speed=plane["cruise"], bank=-side * 0.5 * math.pi, height=120.0)
        for side in (1.0, -1.0)
    ]
    assert all(s.converged for s in steady)
    rudder, elevator, aileron = (
        np.array([s.sticks[c] for s in steady]) for c in ("rudder", "elevator", "aileron")
    )
    return {"elevator": elevator / np.abs(rudder), "aileron": aileron / rudder, "rudder": rudder}


@pytest.mark.parametrize("name", DEMOS)
def test_high_tail_tucks(name):
    """Tailplane high: toward belly, so more up elevator is held; low: toward canopy."""
    low, here, high = (held(name, "tailplane", by)["elevator"].mean() for by in (-STEP, 0.0, STEP))
    assert low < here < high, f"up elevator over rudder: low {low:.4f}, as is {here:.4f}, high {high:.4f}"


@pytest.mark.parametrize("name", DEMOS)
def test_high_wing_rolls_with_the_rudder(name):
    """Wing high: proverse, so more opposite aileron is held; low: adverse."""
    low, here, high = (held(name, "wing", by)["aileron"].mean() for by in (-STEP, 0.0, STEP))
    assert high < here < low, f"aileron over rudder: low {low:.4f}, as is {here:.4f}, high {high:.4f}"


@pytest.mark.parametrize("name", DEMOS)
def test_height_of_the_cg(name):
    """The weight, hanging on the line of side force, rolls: aileron by plain arithmetic; lower CG, more opposite.

    Practice says 4 points of rudder-aileron a centimeter; these three, strong in aileron, have 1.4 to 2.4.
    """
    up, down = held(name, "cg", 0.01), held(name, "cg", -0.01)
    found = 0.5 * (up["aileron"] - down["aileron"]).mean()
    plane = Airplane(load_airframe(name)).planes[0]
    power = (
        -plane["Clda"]
        * 0.6125
        * plane["cruise"] ** 2
        * plane["S"]
        * plane["b"]
        * 0.5
        * (plane["aileron_up"] + plane["aileron_down"])
    )
    by_hand = plane["mass"] * G0 * 0.01 / power / np.abs(up["rudder"]).mean()
    agree("aileron over rudder a centimeter", found, by_hand, share=0.25, source="arithmetic")
    assert 0.01 < found < 0.08, f"{100.0 * found:.1f} points a centimeter, {PRACTICE}: 4"


@pytest.mark.parametrize("name", DEMOS)
def test_by_physics_alone_down_elevator_is_needed(name):
    """What is known by itself, swirl and fin included, misses the trade's 2 to 6 % up; it is not tuned away, but
    said.  It lies within two of our standard deviations."""
    by_itself = 100.0 * held(name)["elevator"].mean()
    airplane = Airplane(name, lore=False)
    plane = airplane.plane
    plane["Cmb2"] -= float(airplane.derivatives.sigma[NAMES.index("Cmb2")])
    doubt = 100.0 * steady_ratios(plane)["elevator"].mean() - by_itself
    assert by_itself < 0.0 < 4.0 - by_itself < 2.0 * doubt, (
        f"{by_itself:.1f} %, {PRACTICE}: 4, doubt {doubt:.1f}"
    )


@pytest.mark.parametrize("name", ["corvane", "tessel"])
def test_what_flyers_know_is_believed_of_aerobatic_layouts(name):
    """What is flown lies between physics and the trade's 4 %, and balances as estimated; the airplanes drawn need up more
    often than down, where physics alone has most of them down."""
    airplane = Airplane(name)
    flown, alone = (
        100.0 * steady_ratios(airplane.plane)["elevator"].mean(),
        100.0 * held(name)["elevator"].mean(),
    )
    assert alone + 5.0 < flown < 4.0, f"{flown:.1f} against {alone:.1f} %, {PRACTICE}: 4"
    agree("static margin", airplane.static_margin, airplane.by_physics.static_margin, within=1e-4)
    up = {}
    for drawn in (airplane, airplane.by_physics):
        needed = (
            knife_edges(drawn.drawn(300).planes, airplane.airframe.speeds.cruise)
            .ratios("elevator")
            .mean(axis=1)
        )
        up[drawn.lore] = float(np.mean(needed[np.isfinite(needed)] > 0.0))
    assert up[True] > 0.6 > 0.35 > up[False], up


def test_flyers_say_nothing_of_a_cambered_shoulder_wing():
    airplane = Airplane("fenlark")
    assert not airplane.believed.any() and airplane.plane.tobytes() == airplane.by_physics.plane.tobytes()


def test_a_change_is_judged_by_physics_after_what_flyers_know_of_the_airplane_as_filed():
    """Else a CG moved aft would be pulled back to what flyers find on the unchanged one."""
    airplane = Airplane("corvane")
    moved = airplane.changed({"cg": "5 mm aft"})
    assert np.array_equal(moved.believed, airplane.believed) and moved.errors == airplane.errors
    ours = steady_ratios(moved.plane)["elevator"].mean() - steady_ratios(airplane.plane)["elevator"].mean()
    alone = (
        steady_ratios(moved.by_physics.plane)["elevator"].mean()
        - steady_ratios(airplane.by_physics.plane)["elevator"].mean()
    )
    agree(
        "up elevator more by 5 mm [points]", 100.0 * ours, 100.0 * alone, within=0.5, source="physics alone"
    )
    assert alone > 0.01


def test_likelihood_is_the_density_that_is_said():
    """.8 of Student's t with 4 degrees of freedom about 4 %, scale 2.5 %, and .2 anywhere within 20 %: SciPy's density."""
    needed = np.array([-0.5, -0.2, -0.05, 0.0, 0.04, 0.1, 0.19, 0.3])
    density = 0.8 * stats.t.pdf((needed - 0.04) / 0.025, 4) / 0.025 + 0.2 * stats.uniform.pdf(
        needed, -0.2, 0.4
    )
    found = likelihood(needed)
    np.testing.assert_allclose(found, density / density[4], rtol=1e-9)
    with_none = likelihood(np.append(needed, np.nan))
    assert with_none[-1] == pytest.approx(np.mean(found)) and np.array_equal(with_none[:-1], found)
    assert np.array_equal(likelihood(np.array([np.nan])), [1.0])


@pytest.mark.parametrize("name", DEMOS)
def test_propeller_in_crossflow_makes_the_sides_differ(name):
    """Clockwise from behind, the left rudder's knife-edge goes further to the belly: 5 to 9 points, here 4 to 13.

    So the propeller by itself; its swirl on the tailplane takes back more than all of it.
    """
    plane = Airplane(name, lore=False).plane
    plane["swirl_tailplane"] = 0.0
    right, left = steady_ratios(plane)["elevator"]
    agree("left less right [points]", 100.0 * (left - right), 8.5, within=4.5, source=PRACTICE)
    with_swirl = held(name)["elevator"]
    assert with_swirl[1] - with_swirl[0] < left - right


@pytest.mark.parametrize("name", DEMOS)
def test_rudder_kick_rolls_the_same_way(name):
    """Right rudder, the nose swung until the yaw is balanced, rolls right: the dihedral effect wins over the fin."""
    plane = Airplane(load_airframe(name)).planes[0]
    alpha = plane["mass"] * G0 / (0.6125 * plane["cruise"] ** 2 * plane["S"]) / plane["CLa"]
    at = {"a": alpha, "dr": -math.radians(10.0)}  # right is negative
    beta = brentq(lambda beta: coefficients(plane, b=beta, **at)["Cn"], -0.5, 0.0)
    roll = coefficients(plane, b=beta, **at)["Cl"]
    assert roll > 0.0, f"Cl {roll:.5f} at sideslip {math.degrees(beta):.1f} deg; {PRACTICE}"


def test_high_wing_asks_for_more_down_elevator_with_flaps():
    """Flaps pitch the airplane up, the more the higher the wing sits: their drag pulls back above the CG."""
    flaps = read_ratio("flap-elevator.high")

    def asked(by: float) -> float:
        planes = Airplane(_raised(load_airframe("fenlark"), "wing", by)).planes
        return float(flap_ratios(planes, flaps, speed=0.75 * planes["cruise"], height=120.0)[0])

    low, here, high = (asked(by) for by in (-STEP, 0.0, STEP))
    assert high < here < low < 0.0, f"elevator, + up: low {low:.4f}, as is {here:.4f}, high {high:.4f}"

"""One table of errors and what it makes of an airplane: each sign and size worked out another way."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from flying import DEMOS, mirrored
from lopsided import airplane as lopsided
from support import DEG, agree, rates_of, state_of, targets_of

from sixdof.airframe.derivatives import StatedDerivatives as Given
from sixdof.airframe.load import load_airframe
from sixdof.airframe.model import Airframe
from sixdof.estimate.doubt import ERRORS, NAMES, OF_TERMS
from sixdof.estimate.layers import estimate_derivatives
from sixdof.estimate.propeller import estimate_propeller
from sixdof.flight.airplane import Airplane
from sixdof.flight.pack import set_trims
from sixdof.physics.aero import aerodynamics
from sixdof.physics.air import G0, make_air
from sixdof.physics.record import PLANE_DTYPE
from sixdof.physics.terms import TERM_NAMES

STATED = Path(__file__).parent / "files" / "stated.yaml"
PRACTICE = "common practice, no source"
#: Errors of an airplane that is not the same on both sides; seen in a mirror they change sign.
SIDEWAYS = {
    "twist of the wing", "unequal elevator halves", "fin out of line", "thrust line to the right", "CG to the side",
}  # fmt: skip


@cache
def plane_of(name: str) -> Airplane:
    return lopsided() if name == "lopsided" else Airplane(str(STATED) if name == "stated" else name)


def off(airplane: Airplane, **amounts: float) -> np.ndarray:
    """Standard deviations (1, errors) of these errors, underscores for spaces; the others zero."""
    z = np.zeros((1, len(airplane.errors)))
    for error, amount in amounts.items():
        z[0, airplane.errors.index(error.replace("_", " "))] = amount
    return z


def made(airplane: Airplane, **amounts: float) -> np.void:
    """The airplane with these errors, not trimmed."""
    return airplane.apply(off(airplane, **amounts))[0]


def move(airplane: Airplane, term: str, **amounts: float) -> float:
    """What errors do to a term or parameter of the record."""
    return float(made(airplane, **amounts)[term] - made(airplane)[term])


def pushed(plane: np.void, *, speed: float = 0.0, spin: float = 0.0) -> np.ndarray:
    """Forces [N] and moments [N m] about the CG from what it does at once, level, controls centered, throttle open."""
    x = state_of(u=speed, propeller=spin)
    rate = rates_of(plane, make_air(rho=1.225), x, targets_of(throttle=1.0))
    force = plane["mass"] * (rate[3:6] - [0.0, 0.0, G0])
    return np.concatenate((force, tensor_of(plane, "I") * OFF_AXIS @ rate[10:13]))


OFF_AXIS = 2.0 * np.eye(3) - 1.0  # products of inertia stand in the tensor with a minus


def tensor_of(plane: np.void, letter: str) -> np.ndarray:
    """Moments and products "I", or the inverse tensor "J", array (3, 3)."""
    return np.array([[plane[letter + "".join(sorted(i + j))] for i in "xyz"] for j in "xyz"])


# ---------------------------------------------------------------- the table


def test_every_error_is_named_once_sized_and_has_a_source() -> None:
    assert len({error.name for error in ERRORS}) == len(ERRORS)
    for error in ERRORS:
        assert error.source and (error.components or error.terms or error.built or error.parts), error
        assert bool(error.components) == (error.relative > 0.0), error


@pytest.mark.parametrize("name", [*DEMOS, "lopsided", "stated"])
def test_no_error_is_the_airplane_itself(name: str) -> None:
    airplane = plane_of(name)
    planes = airplane.apply(np.zeros((3, len(airplane.errors))))
    assert planes.dtype == PLANE_DTYPE
    nominal = planes.copy()
    assert set_trims(nominal, airplane.airframe.speeds.cruise).all()
    for plane in nominal:
        assert plane.tobytes() == airplane.by_physics.plane.tobytes()
    believed = airplane.apply(airplane.believed[None])
    assert set_trims(believed, airplane.airframe.speeds.cruise).all()
    assert believed[0].tobytes() == airplane.plane.tobytes()


@pytest.mark.parametrize("name", [*DEMOS, "lopsided"])
def test_every_error_moves_something(name: str) -> None:
    airplane = plane_of(name)
    planes = airplane.apply(np.eye(len(airplane.errors)))
    still = [
        e for e, p in zip(airplane.errors, planes, strict=True) if p.tobytes() == made(airplane).tobytes()
    ]
    no_flap = airplane.airframe.controls.flap is None
    known = airplane.airframe.derivatives
    stated_away = (
        set() if known is None else {f"{n} as stated" for n, v in known.values.items() if not v.sigma}
    )
    assert set(still) <= stated_away | ({"flap power"} if no_flap else set()), still


@pytest.mark.parametrize("name", ["fenlark", "lopsided"])
def test_covariance_is_the_sum_of_what_each_error_does(name: str) -> None:
    """By way of the airplanes that each error makes, one at a time, against the table's columns."""
    airplane = plane_of(name)
    known, n = airplane.derivatives, len(airplane.errors)
    planes = airplane.apply(np.concatenate((np.eye(n), -np.eye(n))))
    values = np.stack([planes[term] for term in TERM_NAMES], axis=1)
    columns = 0.5 * (values[:n] - values[n:])
    total = sum(np.outer(column, column) for column in columns)
    np.testing.assert_allclose(total, known.covariance[: len(TERM_NAMES), : len(TERM_NAMES)], atol=1e-14)
    np.testing.assert_allclose(np.sqrt(np.diag(known.covariance)), known.sigma, rtol=1e-12)


def test_first_airplanes_are_the_same_in_any_company() -> None:
    airplane = plane_of("corvane")
    few, many = airplane.drawn(17, seed=4), airplane.drawn(90, seed=4)
    assert few.planes.tobytes() == many.planes[: len(few.planes)].tobytes()
    assert few.errors.tobytes() == many.errors[: len(few.errors)].tobytes()
    for i in (0, 5, 16):
        again = airplane.apply(many.errors[i : i + 1])
        set_trims(again, airplane.airframe.speeds.cruise)
        assert again.tobytes() == many.planes[i : i + 1].tobytes()
    assert few.names == airplane.errors


def test_inertia_of_drawn_airplanes_is_that_of_a_body() -> None:
    for name in (*DEMOS, "lopsided"):
        for plane in plane_of(name).drawn(60).planes:
            inertia = tensor_of(plane, "I") * OFF_AXIS
            np.testing.assert_allclose(inertia @ tensor_of(plane, "J"), np.eye(3), atol=1e-9)
            least, middle, most = np.linalg.eigvalsh(inertia)
            assert least > 0.0 and most <= (least + middle) * (1.0 + 1e-6), name


@pytest.mark.parametrize("name", DEMOS)
def test_inertia_grows_about_its_own_axis_by_how_it_came(name: str) -> None:
    """5 % where it is given, 15 % swung, 30 % by usual radii; products keep their share of both axes."""
    plain, sizes = plane_of(name).airframe, {"given": 0.05, "swing": 0.15, "usual": 0.3}
    mass = plain.mass.model_copy(update={"Ixz": 0.1 * plain.mass.Ixx})
    airplane = Airplane(plain.model_copy(update={"mass": mass}), known=plane_of(name).derivatives)
    was = made(airplane)
    for way, field, came in zip(
        ("roll", "pitch", "yaw"), ("Ixx", "Iyy", "Izz"), mass.inertia_source, strict=True
    ):
        less = airplane.apply(off(airplane, **{f"inertia_in_{way}": -0.1}))[0]  # small: a body can have it
        for other in ("Ixx", "Iyy", "Izz"):
            expected = math.exp(-0.1 * sizes[came]) if other == field else 1.0
            agree(f"{other} by {way}", less[other] / was[other], expected, share=1e-12, source=came)
        share = [p["Ixz"] / math.sqrt(p["Ixx"] * p["Izz"]) for p in (was, less)]
        agree("share of the product", share[1], share[0], share=1e-12)


def test_each_item_of_the_propeller_is_its_own() -> None:
    """Thrust on the scale 3 %, speed 1 % squared: standing still 3.6 % more; of power 5 and 3 times 1 %: 5.8."""
    airplane = plane_of("corvane")
    was = made(airplane)
    for item, column, size in (("ct", "ct", math.hypot(3.0, 2.0)), ("cp", "cq", math.hypot(5.0, 3.0))):
        more = made(airplane, **{f"propeller:_static_{item}": 1.0})
        other = "cq" if column == "ct" else "ct"
        agree(
            f"static {item}",
            more[column][0] / was[column][0],
            math.exp(0.01 * size),
            share=1e-9,
            source=PRACTICE,
        )
        agree("the other", more[other][0], was[other][0], share=1e-12, source="measured apart")
    later = made(airplane, **{"propeller:_zero_thrust": 1.0})
    ends = [
        float(np.interp(0.0, -p["ct"], np.linspace(0.0, 1.0, len(p["ct"])))) for p in (was, later)
    ]  # over V / sqrt(V^2 + (nD)^2)
    J = [s / math.sqrt(1.0 - s * s) for s in ends]
    agree("thrust ends later", J[1] / J[0], math.exp(0.055), share=0.005, source="six measured propellers")


def test_small_errors_together_are_their_sum() -> None:
    """Sticks that trim an airplane with all errors at once, small, against those of each alone."""
    airplane = plane_of("corvane")
    n = len(airplane.errors)
    z = 0.02 * np.random.default_rng(1).standard_normal(n)
    planes = airplane.apply(np.concatenate((0.1 * np.eye(n), -0.1 * np.eye(n), z[None])))
    assert set_trims(planes, airplane.airframe.speeds.cruise).all()
    for channel in ("aileron", "elevator", "rudder"):
        trims = planes[f"{channel}_trim"]
        slope = (trims[:n] - trims[n : 2 * n]) / 0.2
        size = float(np.sqrt(np.sum((slope * z) ** 2)))
        agree(
            f"{channel} trim",
            trims[-1] - airplane.by_physics.plane[f"{channel}_trim"],
            float(slope @ z),
            within=0.01 * size,
        )
        assert size > 1e-5


def test_propellers_all_at_once_are_the_same_one_by_one() -> None:
    frame = plane_of("tessel").airframe
    items = ("static_ct", "static_cp", "zero_thrust", "zero_power")
    factors = np.exp(0.2 * np.random.default_rng(3).standard_normal((50, len(items))))
    together = estimate_propeller(
        frame.propeller, frame.motor, factors=dict(zip(items, factors.T, strict=True))
    )
    for i, row in enumerate(factors):
        alone = estimate_propeller(
            frame.propeller, frame.motor, factors=dict(zip(items, map(float, row), strict=True))
        )
        np.testing.assert_allclose(together.ct[i], alone.ct, rtol=1e-13, atol=1e-16)
        np.testing.assert_allclose(together.cq[i], alone.cq, rtol=1e-13, atol=1e-16)
        for field in (*items, "crossflow_moment"):
            agree(field, getattr(together, field)[i], getattr(alone, field), share=1e-13)


# ---------------------------------------------------------------- the mirror


def image_of(airframe: Airframe) -> Airframe:
    """An airframe with a plane of symmetry seen in a mirror: propeller and thrust line the other way."""
    mass, propeller = airframe.mass, airframe.propeller
    assert mass.cg[1] == mass.Ixy == mass.Iyz == propeller.position[1] == 0.0
    turned = {"right_thrust": -propeller.right_thrust, "clockwise": not propeller.clockwise}
    return airframe.model_copy(update={"propeller": propeller.model_copy(update=turned)})


@pytest.mark.parametrize("name", DEMOS)
def test_errors_seen_in_a_mirror_make_the_airplane_seen_in_a_mirror(name: str) -> None:
    airplane = plane_of(name)
    throws = airplane.airframe.rates[airplane.rate]
    assert throws.rudder.left == throws.rudder.right
    image = Airplane(image_of(airplane.airframe), airplane.rate)
    assert set(airplane.errors) >= SIDEWAYS
    sign = np.array([-1.0 if error in SIDEWAYS else 1.0 for error in airplane.errors])
    z = np.random.default_rng(8).standard_normal((20, len(sign)))
    expected, found = mirrored(airplane.apply(z)), image.apply(sign * z)
    for field in PLANE_DTYPE.names or ():
        if not field.startswith(("roll_rate", "knife")):  # not set yet
            np.testing.assert_allclose(found[field], expected[field], rtol=1e-12, atol=1e-15, err_msg=field)
    straight = airplane.apply(np.where(sign < 0.0, 0.0, z))
    for field in ("CY0", "Cl0", "Cn0", "fin_beta0", "ref_y"):
        assert np.all(straight[field] == 0.0) and np.all(expected[field] != 0.0), field


# ---------------------------------------------------------------- rigging: the wing


def wing_strips(airframe: Airframe) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Places [m], chords [m] and widths [m] of 400 strips of the right half, from the file's panels alone."""
    y, chord, width, start = [], [], [], 0.0
    for panel in airframe.wing.panels:
        f = (np.arange(400) + 0.5) / 400
        y.append(start + f * panel.span * math.cos(panel.dihedral))
        chord.append(panel.root_chord + f * (panel.tip_chord - panel.root_chord))
        width.append(np.full(400, panel.span * math.cos(panel.dihedral) / 400))
        start += panel.span * math.cos(panel.dihedral)
    return np.concatenate(y), np.concatenate(chord), np.concatenate(width)


@pytest.mark.parametrize("name", DEMOS)
def test_more_incidence_on_the_right_rolls_left_as_strips_say(name: str) -> None:
    """0.15 deg more on the right, as much less on the left: 0.3 deg between the halves.

    The right half lifts more: it rolls left, p < 0.  It rolls until each side's strips feel as much from
    rolling, p y/V, as from the twist: sum of c y (twist + p y/V) = 0, whatever the lift slope.
    """
    airplane = plane_of(name)
    ref = airplane.airframe.reference
    y, c, w = wing_strips(airplane.airframe)
    expected = -0.15 * DEG * float(np.sum(c * y * w) / np.sum(c * y * y * w)) * 0.5 * ref.span
    Cl0 = move(airplane, "Cl0", twist_of_the_wing=1.0)
    assert Cl0 < 0.0
    # the tail damps the rolling and not the twist; the load of rolling lies further out
    agree("p b/2V", -Cl0 / airplane.derivatives["Clp"], expected, share=0.15, source="strips")
    plain, twisted = (pushed(p, speed=20.0) for p in (made(airplane), made(airplane, twist_of_the_wing=1.0)))
    agree("L [N m]", (twisted - plain)[3], 0.5 * 1.225 * 20.0**2 * ref.area * ref.span * Cl0, share=0.05)


@pytest.mark.parametrize("name", DEMOS)
def test_wing_and_tail_set_up_together_are_the_body_set_down(name: str) -> None:
    """Both by 0.3 deg: lift and pitch are those that wing and tail have from 0.3 deg of angle of attack."""
    airplane = plane_of(name)
    both = {"incidence_of_the_wing_as_built": 1.0, "incidence_of_the_tailplane_as_built": 1.0}
    for constant, slope, limit in (("CL0", "CLa", 0.03), ("Cm0", "Cma", 0.08)):
        share = airplane.derivatives.share(slope)
        expected = 0.3 * DEG * (share["wing"] + share["tailplane"])
        agree(constant, move(airplane, constant, **both), expected, share=limit, source="by angle of attack")


@pytest.mark.parametrize("name", DEMOS)
def test_incidence_as_built(name: str) -> None:
    """Wing up: more lift, and downwash that takes from the tail; tailplane up: nose down by lift times arm."""
    airplane = plane_of(name)
    known, frame = airplane.derivatives, airplane.airframe
    wing, tail = ({f"incidence_of_the_{s}_as_built": 1.0} for s in ("wing", "tailplane"))
    assert move(airplane, "CL0", **wing) > 0.0
    downwash = -move(airplane, "tail_alpha0", **wing) / (0.3 * DEG)
    agree("downwash by angle", downwash, 1.0 - known["tail_alpha"], share=0.1, source="by angle of attack")
    agree("angle of the tail", move(airplane, "tail_alpha0", **tail), 0.3 * DEG, share=0.03, source="0.3 deg")
    arm = (frame.wing.quarter_chord[0] - frame.tailplane.quarter_chord[0]) / known.c
    lift = 0.3 * DEG * known["CLde"] / known["tau_elevator"]
    assert move(airplane, "Cm0", **tail) < 0.0
    agree("Cm0", move(airplane, "Cm0", **tail), -lift * arm, share=0.15, source="tail lift times arm")


# ---------------------------------------------------------------- rigging: the tail


@pytest.mark.parametrize("name", DEMOS)
def test_a_fin_turned_left_yaws_left_like_a_rudder(name: str) -> None:
    """Trailing edge left by 0.5 deg, the air pushes it right: Y > 0, nose left, N < 0.

    By definition a rudder by one rad is worth tau of a fin; 30 % for tau, which has the sidewash in it.
    """
    airplane = plane_of(name)
    known, error = airplane.derivatives, {"fin_out_of_line": 1.0}
    rudder = 0.5 * DEG / known["tau_rudder"]
    assert move(airplane, "CY0", **error) > 0.0 > move(airplane, "Cn0", **error)
    agree("Cn0", move(airplane, "Cn0", **error), known["Cndr"] * rudder, share=0.3, source="rudder")
    agree("CY0", move(airplane, "CY0", **error), known["CYdr"] * rudder, share=0.3, source="rudder")
    arm = -move(airplane, "Cn0", **error) / move(airplane, "CY0", **error)
    behind = (known.point[0] - airplane.airframe.fin.quarter_chord[0]) / known.b
    agree("arm over span", arm, behind, share=0.15, source="measured")
    # the slipstream blows harder on it: as much more as on its share that stands in it
    plain, turned = made(airplane), made(airplane, **error)
    speed, stream = 20.0, 30.0

    def blown(plane: np.void, slipstream: float) -> float:
        return aerodynamics(plane, 1.225, speed, 0.0, 0.0, *[0.0] * 8, slipstream, 0.0)[1]

    still = blown(turned, 0.0) - blown(plain, 0.0)
    more = blown(turned, stream) - blown(plain, stream) - still
    wanted = still * plain["immersion_fin"] * (stream**2 / speed**2 - 1.0)
    fin = turned["fin_beta0"] * airplane.derivatives.share("CYb")["fin"] / move(airplane, "CY0", **error)
    agree("more in the slipstream [N]", more, wanted * fin, share=0.005, source="dynamic pressure")
    agree("share of the fin alone", fin, 1.0, within=0.15)


@pytest.mark.parametrize("name", DEMOS)
def test_unequal_elevator_halves_roll_as_half_the_elevator_each_way(name: str) -> None:
    """Right half 0.25 deg down, left as much up: the right lifts more, it rolls left.

    At most by half of what the elevator lifts, each half a quarter of the tail's span out; the halves
    spoil each other's lift at the middle, and the fin above them takes some back.
    """
    airplane = plane_of(name)
    known = airplane.derivatives
    out = 0.25 * airplane.airframe.tailplane.span / known.b
    most = -0.25 * DEG * known["CLde"] * out
    found = move(airplane, "Cl0", unequal_elevator_halves=1.0)
    assert most < found < 0.25 * most < 0.0, (most, found)
    # above the tail more suction on the right than on the left pushes the fin right, the nose left
    assert move(airplane, "CY0", unequal_elevator_halves=1.0) > 0.0
    assert move(airplane, "Cn0", unequal_elevator_halves=1.0) < 0.0
    for term in ("CL0", "Cm0"):
        assert move(airplane, term, unequal_elevator_halves=1.0) == 0.0


# ---------------------------------------------------------------- thrust line and balance


@pytest.mark.parametrize("name", DEMOS)
def test_half_a_degree_of_thrust_line_is_its_sine_at_the_arm(name: str) -> None:
    """Right: pulls the nose right, N > 0; down: pulls it down, M < 0; T from the scale, standing still."""
    airplane = plane_of(name)
    frame = airplane.airframe
    T = frame.motor.static_thrust
    assert T is not None
    ahead = frame.propeller.position[0] - frame.mass.cg[0]
    right, down = frame.propeller.right_thrust, frame.propeller.down_thrust
    plain = pushed(made(airplane), spin=frame.motor.static_speed)
    to_the_right = pushed(made(airplane, thrust_line_to_the_right=1.0), spin=frame.motor.static_speed) - plain
    downward = pushed(made(airplane, thrust_line_down=1.0), spin=frame.motor.static_speed) - plain
    Y = T * math.cos(down) * (math.sin(right + 0.5 * DEG) - math.sin(right))
    Z = T * (math.sin(down + 0.5 * DEG) - math.sin(down))
    agree("Y [N]", to_the_right[1], Y, share=0.01, source="T sin 0.5 deg")
    agree("N [N m]", to_the_right[5], ahead * Y, share=0.02, source="that at the arm")
    agree("Z [N]", downward[2], Z, share=0.01, source="T sin 0.5 deg")
    agree("M [N m]", downward[4], -ahead * Z, share=0.05, source="that at the arm")
    assert to_the_right[5] > 0.0 > downward[4]


def test_a_cg_to_the_side_is_the_weight_at_the_arm() -> None:
    """14 g at 0.9 m is 0.124 N m (common practice, no source), held by aileron: right weight, left stick."""
    airplane = plane_of("corvane")
    known, frame = airplane.derivatives, airplane.airframe
    aside = 0.014 * 0.9 / frame.mass.m
    one = float(made(airplane)["ref_y"] - made(airplane, CG_to_the_side=1.0)["ref_y"])
    agree(
        "one standard deviation [mm]",
        1e3 * one,
        1e3 * 0.002 * known.c,
        share=1e-9,
        source="0.2 % of the chord",
    )
    planes = airplane.apply(np.concatenate((off(airplane), off(airplane, CG_to_the_side=aside / one))))
    planes["prop_y"] = 0.0  # the thrust's own moment left out
    assert set_trims(planes, frame.speeds.cruise).all()
    aileron = (
        float(np.diff(planes["aileron_trim"])[0]) * 0.5 * (planes["aileron_up"] + planes["aileron_down"])[0]
    )
    q = 0.5 * 1.225 * frame.speeds.cruise**2
    moment = q * known.S * known.b * known["Clda"] * aileron
    assert aileron < 0.0
    # 1.213 kg/m3 at 100 m; the rudder helps a little
    agree("moment [N m]", moment, 0.124, share=0.05, source=f"14 g at 0.9 m, {PRACTICE}")


@pytest.mark.parametrize("name", DEMOS)
def test_where_the_weight_hangs(name: str) -> None:
    """Forward: nose down, up elevator, by lift times the way; down: the thrust above it pulls the nose down."""
    airplane = plane_of(name)
    known, frame = airplane.derivatives, airplane.airframe
    plain = made(airplane)
    forward, low = made(airplane, CG_fore_and_aft=1.0), made(airplane, CG_up_and_down=1.0)
    way = 0.007 * known.c
    agree("forward [m]", plain["ref_x"] - forward["ref_x"], way, share=1e-9, source="0.7 % of the chord")
    agree("down [m]", plain["ref_z"] - low["ref_z"], 0.015 * known.c, share=1e-9, source="1.5 % of the chord")
    planes = np.array([plain, forward, low])
    set_trims(planes, frame.speeds.cruise)
    assert planes["elevator_trim"][1] > planes["elevator_trim"][0]
    T = frame.motor.static_thrust
    assert T is not None
    spin = frame.motor.static_speed
    M = (pushed(low, spin=spin) - pushed(plain, spin=spin))[4]
    agree("M [N m]", M, -0.015 * known.c * T, share=0.05, source="thrust times the way")


# ---------------------------------------------------------------- airplanes that are not straight


@pytest.mark.parametrize("name", DEMOS)
def test_drawn_airplanes_are_not_straight_and_fly_hands_off(name: str) -> None:
    planes = plane_of(name).drawn(60, seed=2).planes
    nominal = plane_of(name).plane
    for field in ("CY0", "Cl0", "Cn0", "fin_beta0", "axis_y", "axis_z", "aileron_trim", "rudder_trim"):
        values = planes[field]
        assert len(np.unique(values)) == len(values), field
        assert abs(values.mean() - nominal[field]) < 4.0 * values.std() / math.sqrt(len(values)), field


def test_a_file_may_say_that_it_is_not_straight() -> None:
    """Stated constants reach the record, their doubt with them; they need sticks, to the side that they say."""
    plain = load_airframe("fenlark")
    said = {"Cl0": {"value": 0.004, "sigma": 0.001}, "Cn0": {"value": -0.003}, "CY0": {"value": 0.002}}
    crooked = plain.model_copy(
        update={"derivatives": Given.model_validate({"source": "a test", "values": said})}
    )
    airplane = Airplane(crooked)
    for term, entry in said.items():
        assert airplane.plane[term] == pytest.approx(entry["value"], abs=1e-15)
        row = airplane.derivatives.doubt[NAMES.index(term)]
        agree(f"sigma of {term}", float(np.sqrt(row @ row)), entry.get("sigma", 0.0), within=1e-15)
    # rolls right, yaws left by itself: left aileron, right rudder, by the powers of both
    d = airplane.derivatives
    was = Airplane(plain).plane
    found = np.array(
        [
            (airplane.plane["aileron_trim"] - was["aileron_trim"])
            * 0.5
            * (was["aileron_up"] + was["aileron_down"]),
            (airplane.plane["rudder_trim"] - was["rudder_trim"]) * was["rudder_right"],
        ]
    )
    assert found[0] < 0.0 < found[1]
    # a right stick is a negative surface, and sideslip takes part: so only the order of size
    agree("aileron [rad]", found[0], said["Cl0"]["value"] / d["Clda"], share=0.5)
    agree("rudder [rad]", found[1], said["Cn0"]["value"] / d["Cndr"], share=0.5)


def test_what_is_not_stated_keeps_its_rigging() -> None:
    """A file that states the dihedral effect says nothing of twist and fin."""
    plain = load_airframe("fenlark")
    stated = estimate_derivatives(
        plain.model_copy(
            update={"derivatives": Given.model_validate({"source": "a test", "values": {"Clb": -0.05}})}
        )
    )
    was = estimate_derivatives(plain)
    n = len(OF_TERMS)
    for term in ("CY0", "Cl0", "Cn0", "fin_beta0"):
        row = NAMES.index(term)
        assert was.sigma[row] > 0.0
        assert stated.doubt[row, :n].tobytes() == was.doubt[row].tobytes()


def test_straight_by_the_fit_and_not_by_the_table() -> None:
    """Rigging alone moves the constants of side force, roll and yaw."""
    known = estimate_derivatives(load_airframe("corvane"))
    rigging = {error.name for error in ERRORS if error.built}
    assert rigging == SIDEWAYS - {"thrust line to the right", "CG to the side"} | {
        "incidence of the wing as built", "incidence of the tailplane as built",
    }  # fmt: skip
    for term in ("CY0", "Cl0", "Cn0"):
        assert known[term] == 0.0
        moved = {e for e, x in zip(known.errors, known.doubt[NAMES.index(term)], strict=True) if x}
        assert moved == SIDEWAYS & rigging, term


def test_airplane_keeps_what_it_worked_out() -> None:
    """Applying errors leaves the airplane as it was."""
    airplane = plane_of("corvane")
    before = airplane.plane.tobytes()
    airplane.apply(np.full((2, len(airplane.errors)), 1.5))
    assert airplane.plane.tobytes() == before

"""Invariants of the propeller estimate over all sizes, measurements and factors."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from flying import DEMOS
from hypothesis import given
from hypothesis import strategies as st

from sixdof.airframe.load import load_airframe
from sixdof.airframe.model import Motor, Propeller
from sixdof.estimate.propeller import ITEMS, PropellerEstimate, estimate_propeller, motor_line
from sixdof.files.errors import InputError
from sixdof.physics.air import RHO0
from sixdof.physics.record import PROP_POINTS

S = np.linspace(0.0, 1.0, PROP_POINTS)


def _propeller(diameter: float, ratio: float, blades: int, chord: float | None = None) -> Propeller:
    width = {} if chord is None else {"blade_chord": f"{chord * diameter} m"}
    return Propeller.model_validate({
        "diameter": f"{diameter} m", "pitch": f"{ratio * diameter} m", "blades": blades, "turns": "clockwise",
        "position": {"aft": "0 mm", "up": "0 mm"}, "inertia": "1 g m2",
    } | width)  # fmt: skip


def _motor(rpm: float, **static: str) -> Motor:
    return Motor.model_validate(
        {"kind": "electric", "static_speed": f"{rpm} rpm", "no_load": "130 %"} | static
    )


propellers = st.builds(
    _propeller,
    st.floats(0.1, 1.0),
    st.floats(0.25, 1.3),
    st.integers(1, 6),
    st.none() | st.floats(0.03, 0.2),
)


@st.composite
def measured(draw: st.DrawFn) -> tuple[Propeller, Motor]:
    """Propeller and motor, with static thrust and power or without, up to a third off what is usual."""
    propeller, rpm = draw(propellers), draw(st.floats(1000.0, 30000.0))
    usual, n = estimate_propeller(propeller, _motor(rpm)), rpm / 60.0
    static: dict[str, str] = {}
    off = st.floats(0.75, 1.33)
    if draw(st.booleans()):
        static["static_thrust"] = f"{draw(off) * usual.static_ct * RHO0 * n**2 * propeller.diameter**4} N"
    if draw(st.booleans()):
        static["static_power"] = f"{draw(off) * usual.static_cp * RHO0 * n**3 * propeller.diameter**5} W"
    return propeller, _motor(rpm, **static)


factors = st.dictionaries(st.sampled_from(ITEMS), st.floats(0.8, 1.25))


def _numbers(estimate: PropellerEstimate) -> dict[str, float]:
    return {item: getattr(estimate, item) for item in ITEMS}


@given(measured(), factors)
def test_finite_falling_and_of_the_right_sign(pair: tuple[Propeller, Motor], drawn: dict[str, float]):
    """Thrust over s falls up to zero power, changes sign where it says, as torque does; all finite."""
    found = estimate_propeller(*pair, factors=drawn)
    assert all(math.isfinite(v) and v > 0.0 for v in _numbers(found).values()), _numbers(found)
    assert np.isfinite(found.ct).all() and np.isfinite(found.cq).all()
    assert found.zero_thrust < found.zero_power
    ends = [J / math.hypot(1.0, J) for J in (found.zero_thrust, found.zero_power)]
    assert (np.diff(found.ct[ends[1] > S]) < 0.0).all(), found.ct
    for table, end in zip((found.ct, found.cq), ends, strict=True):
        assert (table[end > S] > 0.0).all() and (table[end < S] < 0.0).all(), (end, table)


@given(propellers, st.floats(1000.0, 30000.0))
def test_never_more_power_out_than_in(propeller: Propeller, rpm: float):
    """Thrust times speed never exceeds shaft power, nor shaft power of a turned propeller what it brakes."""
    found = estimate_propeller(propeller, _motor(rpm))
    thrust_power = found.ct * S
    shaft_power = found.cq * 2.0 * math.pi * np.sqrt(1.0 - S**2)
    assert (thrust_power <= shaft_power + 1e-12).all(), shaft_power - thrust_power
    assert math.sqrt(2.0 / math.pi) * found.static_ct**1.5 <= 0.76 * found.static_cp


@given(measured(), st.sampled_from(ITEMS), st.floats(0.9, 1.1))
def test_a_factor_scales_its_item(pair: tuple[Propeller, Motor], item: str, factor: float):
    """A factor scales its item, and leaves alone what is not figured from it."""
    follow = {
        "static_ct": {"static_cp", "zero_power"},
        "zero_thrust": {"static_cp", "zero_power", "crossflow_moment"},
    }
    plain, scaled = (_numbers(estimate_propeller(*pair, factors=f)) for f in ({}, {item: factor}))
    assert scaled[item] == pytest.approx(factor * plain[item]) or item == "zero_power"
    for other in set(ITEMS) - {item} - follow.get(item, set()):
        assert scaled[other] == plain[other], other
    if item == "zero_power":
        assert scaled[item] == pytest.approx(max(factor * plain[item], 1.02 * plain["zero_thrust"]))


@given(measured())
def test_measurements_are_kept_and_shrink_the_doubt(pair: tuple[Propeller, Motor]):
    """Static thrust and power come out as they went in; what is measured is doubted less."""
    propeller, motor = pair
    found, blind = estimate_propeller(*pair), estimate_propeller(propeller, _motor(5000.0))
    n, D = motor.static_speed / (2.0 * math.pi), propeller.diameter
    assert set(found.sigma) == set(found.source) == set(ITEMS)
    assert all(0.0 < s < 0.5 for s in found.sigma.values())
    for item, value, unit in (
        ("static_ct", motor.static_thrust, RHO0 * n**2 * D**4),
        ("static_cp", motor.static_power, RHO0 * n**3 * D**5),
    ):
        if value is not None:
            assert getattr(found, item) * unit == pytest.approx(value)
            assert found.sigma[item] < 0.7 * blind.sigma[item]
            assert "measured" in found.source[item]


def test_unknown_factor():
    with pytest.raises(ValueError, match="zero_trust"):
        estimate_propeller(_propeller(0.3, 0.6, 2), _motor(8000.0), factors={"zero_trust": 1.0})


@pytest.mark.parametrize("name", DEMOS)
def test_motor_holds_the_static_speed(name: str):
    """At full throttle and static speed the motor gives just the torque of the propeller."""
    airframe = load_airframe(name)
    found = estimate_propeller(airframe.propeller, airframe.motor)
    no_load, stiffness = motor_line(airframe.propeller, airframe.motor, found.static_cp)
    n = airframe.motor.static_speed / (2.0 * math.pi)
    torque = found.cq[0] * RHO0 * n**2 * airframe.propeller.diameter**5
    assert stiffness * (no_load - airframe.motor.static_speed) == pytest.approx(torque)


def test_blade_chord_is_read_and_refused(tmp_path):
    """A wide blade turns up in the estimate; one above a quarter of the diameter is refused in its line."""
    plain = load_airframe("corvane")
    with open(plain.path, encoding="utf-8") as file:
        text = file.read()
    found: list[Any] = []
    for chord in ("45 mm", "150 mm"):
        path = tmp_path / f"{chord[:2]}.yaml"
        path.write_text(text.replace("blade_chord: 33 mm", f"blade_chord: {chord}"))
        try:
            airframe = load_airframe(path)
            found.append(estimate_propeller(airframe.propeller, airframe.motor))
        except InputError as error:
            found.append(str(error))
    usual = estimate_propeller(plain.propeller.model_copy(update={"blade_chord": None}), plain.motor)
    share = 45e-3 / (0.202 * 0.5 * 20.5 * 25.4e-3)
    assert found[0].crossflow_force == pytest.approx(share * usual.crossflow_force)
    assert "measured chord" in found[0].source["crossflow_force"]
    assert "propeller.blade_chord" in found[1] and "quarter of the diameter, 130 mm" in found[1], found[1]

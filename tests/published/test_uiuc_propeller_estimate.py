"""Propellers estimated by what five others say, and their doubt: ``sixdof/validation/uiuc_propeller_estimate.py``."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from support import agree

import sixdof.estimate.propeller as module
from sixdof.airframe.model import Motor
from sixdof.estimate.propeller import estimate_propeller
from sixdof.validation.planes import INCH
from sixdof.validation.uiuc_propeller_estimate import (
    BLADES,
    MISSES,
    SIX,
    Measured,
    bare,
    curves,
    drag_coefficient,
    estimate_of,
    propeller_of,
    turning_drag,
)

READ = "measured, read"
COMPUTED = "computed from measured rows"
SIZES = ("thrust and power", "thrust", "power", "nothing")


def _spread(p: Measured, measured: str, J: np.ndarray) -> np.ndarray:
    """Standard deviations of CT and CP at J, by what the doubt of each item changes."""
    variance = np.zeros((2, J.size))
    for item, sigma in estimate_of(p, measured).sigma.items():
        up, down = (
            np.array(curves(estimate_of(p, measured, **{item: f}), J)) for f in (1.0 + sigma, 1.0 - sigma)
        )
        variance += (0.5 * (up - down)) ** 2
    return np.sqrt(variance)


def _fitted(known: list[Measured]) -> dict[str, Any]:
    """The numbers of the estimate, as these propellers say."""
    means = np.mean([_numbers(p) for p in known], axis=0)
    shapes = [_shape([(p.J / end(p), C(p) / C(p)[0]) for p in known]) for C, end in (
        (lambda p: p.CT, lambda p: p.zero_thrust), (lambda p: p.CP, lambda p: p.zero_power))]  # fmt: skip
    return dict(
        zip(("_ZERO_THRUST", "_SLOPE", "_POWER", "_PROFILE"), means, strict=True),
        _THRUST_SHAPE=shapes[0],
        _POWER_SHAPE=shapes[1],
    )


def _numbers(p: Measured) -> tuple[float, ...]:
    J0, end, ct, cp = p.zero_thrust, p.zero_power, p.CT[0], p.CP[0]
    slope = 1.2 * ct / J0  # at zero thrust
    return (
        J0 / (p.pitch / p.diameter),
        ct / (J0 - math.sqrt(2.0 * ct / math.pi)),
        cp / (ct * J0),
        slope * (end - J0) * end,
    )


def _shape(curves: list[tuple[np.ndarray, np.ndarray]]) -> tuple[float, ...]:
    """Coefficients of (1 - x)(1 + c1 x + c2 x^2 + c3 x^3), from the highest; each curve counts the same."""
    left, right = [], []
    for x, share in curves:
        weight = (1.0 - x) / math.sqrt(x.size)
        left.append(weight[:, None] * np.minimum(x, 1.0)[:, None] ** [3, 2, 1])
        right.append(share / math.sqrt(x.size) - weight)
    return (*np.linalg.lstsq(np.vstack(left), np.hstack(right), rcond=None)[0], 1.0)


@pytest.fixture
def by_the_others(monkeypatch: pytest.MonkeyPatch, name: str) -> Measured:
    """The propeller, with the estimate's numbers from the other five."""
    for key, value in _fitted([p for other, p in SIX.items() if other != name]).items():
        monkeypatch.setattr(module, key, value)
    # what was estimated by all six, or will be by five, is nobody else's
    monkeypatch.setattr(module, "_usual_estimate", module._usual_estimate.__wrapped__)
    return SIX[name]


def test_numbers_are_the_means_of_the_six():
    """Every number of the estimate to its digits; the shapes as curves, within 2 % of the static value."""
    found = _fitted(list(SIX.values()))
    for key, digits in (("_ZERO_THRUST", 0.01), ("_SLOPE", 0.005), ("_POWER", 0.005), ("_PROFILE", 0.001)):
        agree(key, getattr(module, key), found[key], within=digits, source=COMPUTED)
    for key in ("_THRUST_SHAPE", "_POWER_SHAPE"):
        for x in np.linspace(0.1, 1.0, 10):
            of = [(1.0 - x) * np.polyval(shape, x) for shape in (getattr(module, key), found[key])]
            agree(f"{key} at {x:.1f}", *of, within=0.02, source=COMPUTED)


@pytest.mark.parametrize("measured", SIZES)
@pytest.mark.parametrize("name", SIX)
def test_zero_thrust_and_standstill(by_the_others, name, measured):
    """Zero thrust within 10 %; static CT and CP within twice their doubt."""
    p = by_the_others
    found = estimate_of(p, measured)
    agree("zero thrust", found.zero_thrust, p.zero_thrust, share=0.10, source=READ)
    agree("zero power", found.zero_power, p.zero_power, share=0.10, source=READ)
    agree("static CT", found.static_ct, p.CT[0], share=2.0 * found.sigma["static_ct"], source=READ)
    sigma = _spread(p, measured, p.J[:1])[1, 0]
    agree("static CP", found.static_cp, p.CP[0], within=2.0 * sigma, source=READ)


@pytest.mark.parametrize("name", SIX)
def test_anchoredcurves(by_the_others, name):
    """With static thrust and power measured: CT and CP within 10 % of the static value, but for MISSES."""
    p = by_the_others
    for what, found, read in zip(
        ("CT", "CP"), curves(estimate_of(p, SIZES[0]), p.J), (p.CT, p.CP), strict=True
    ):
        limit = MISSES.get((name, what), 0.10) * read[0]
        worst = np.argmax(abs(found - read))
        agree(f"{what} at J {p.J[worst]:.2f}", found[worst], read[worst], within=limit, source=READ)


@pytest.mark.parametrize("measured", SIZES)
@pytest.mark.parametrize("name", SIX)
def test_curves_within_their_doubt(by_the_others, name, measured):
    """Over the whole run CT and CP are off by 2 standard deviations in the mean at most, 2.5 at worst."""
    p = by_the_others
    off = np.array(curves(estimate_of(p, measured), p.J)) - (p.CT, p.CP)
    off /= np.maximum(_spread(p, measured, p.J), 1e-4)  # of what was read, the last digit
    for what, z in zip(("CT", "CP"), off, strict=True):
        mean, worst = math.sqrt(np.mean(z**2)), np.max(abs(z))
        assert mean < 2.0 and worst < 2.5, f"{what}: {mean:.2f} in the mean, {worst:.2f} at worst"


def test_freely_turning_drag():
    """A flat-pitch propeller drags more turning than stopped."""
    found = estimate_of(bare(11, 3.8), "nothing")
    stopped, C_D = drag_coefficient(found, 1.0), turning_drag(bare(11, 3.8), "nothing")
    assert stopped < C_D, f"flat pitch: turning {C_D:.3f}, stopped {stopped:.3f}"


def test_stopped_propeller_drives():
    """The torque of a stopped blade is its drag on an arm by its pitch."""
    D, pitch, widest, *_ = BLADES["10x7"]
    made = propeller_of(D * INCH, pitch * INCH, blade_chord=f"{widest * D * INCH / 2} m")
    motor = Motor.model_validate({"kind": "electric", "static_speed": "6000 rpm", "no_load": "130 %"})
    found = estimate_propeller(made, motor)
    agree("arm of the drag", found.cq[-1] / found.ct[-1], pitch / D / (2.0 * math.pi), share=1e-12)


def test_third_blade():
    """2 blades become 3: thrust grows less than area."""
    two, three = (
        estimate_propeller(
            propeller_of(11 * INCH, 5.5 * INCH, blades=blades),
            Motor.model_validate({"kind": "engine", "static_speed": "9000 rpm", "no_load": "130 %"}),
        )
        for blades in (2, 3)
    )
    assert 1.2 < three.static_ct / two.static_ct < 1.5

"""Propellers estimated from their size: UIUC Propeller Database, Vols 1-3 (Brandt, Deters, Ananda, Dantsker, Selig).

Rows of the fastest run of six propellers, every third one, and the static row nearest in rpm (read).  Blade
geometry of five (read), its integrals computed.  Each propeller is estimated by what the other five say.

What the size alone leaves open was found before as 3 to 34 % in CT and 2 to 26 % in CP; 10 % is the aim where
a static measurement anchors the curve.  Five of the six hold it in CT, four in CP: MISSES says who does not, and by how much.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
import pytest
from support import agree

import sixdof.estimate.propeller as module
from sixdof.airframe.model import Motor, Propeller
from sixdof.estimate.blades import broadside, crossflow
from sixdof.estimate.propeller import PropellerEstimate, estimate_propeller
from sixdof.physics.air import RHO0
from sixdof.physics.record import PROP_POINTS

READ = "measured, read"
COMPUTED = "computed from measured rows"
INCH = 0.0254  # m


class Measured(NamedTuple):
    """A propeller in its run: J, CT, CP in columns, J = 0 first."""

    diameter: float  # m
    pitch: float  # m
    n: float  # 1/s
    J: np.ndarray
    CT: np.ndarray
    CP: np.ndarray

    @property
    def zero_thrust(self) -> float:
        """Advance ratio of zero thrust, by a line through the last rows."""
        return _zero(self.J, self.CT)

    @property
    def zero_power(self) -> float:
        """The same of zero power: every run stops short of it."""
        return _zero(self.J, self.CP)


def _zero(J: np.ndarray, C: np.ndarray) -> float:
    slope, start = np.polyfit(J[-3:], C[-3:], 1)
    return float(-start / slope)


def _rows(diameter: float, pitch: float, rpm: float, *rows: tuple[float, float, float]) -> Measured:
    return Measured(diameter * INCH, pitch * INCH, rpm / 60.0, *np.array(rows).T)


SIX = {
    "carbon 12x6": _rows(12, 6, 6014,
        (0.000, 0.0902, 0.0295), (0.112, 0.0839, 0.0305), (0.174, 0.0765, 0.0307), (0.235, 0.0694, 0.0300),
        (0.295, 0.0610, 0.0285), (0.336, 0.0556, 0.0276), (0.374, 0.0495, 0.0262), (0.396, 0.0464, 0.0255),
        (0.454, 0.0368, 0.0227), (0.514, 0.0259, 0.0188), (0.574, 0.0141, 0.0140), (0.634, 0.0016, 0.0086),
        (0.653, -0.0029, 0.0065)),
    "carbon 14x8": _rows(14, 8, 5007,
        (0.000, 0.1179, 0.0429), (0.109, 0.1143, 0.0438), (0.173, 0.1106, 0.0449), (0.238, 0.1039, 0.0452),
        (0.301, 0.0957, 0.0453), (0.345, 0.0891, 0.0449), (0.384, 0.0816, 0.0437), (0.405, 0.0785, 0.0432),
        (0.463, 0.0673, 0.0403), (0.525, 0.0552, 0.0363), (0.587, 0.0430, 0.0313), (0.649, 0.0298, 0.0252),
        (0.712, 0.0155, 0.0178), (0.771, 0.0005, 0.0093)),
    "10x7": _rows(10, 7, 6524,
        (0.000, 0.1139, 0.0512), (0.084, 0.1112, 0.0524), (0.157, 0.1071, 0.0532), (0.224, 0.1027, 0.0536),
        (0.290, 0.0972, 0.0538), (0.353, 0.0913, 0.0538), (0.397, 0.0865, 0.0536), (0.419, 0.0837, 0.0532),
        (0.465, 0.0756, 0.0513), (0.530, 0.0618, 0.0464), (0.595, 0.0469, 0.0392), (0.669, 0.0314, 0.0305),
        (0.734, 0.0195, 0.0234), (0.797, 0.0075, 0.0156), (0.869, -0.0063, 0.0063)),
    "11x5.5": _rows(11, 5.5, 6001,
        (0.000, 0.0890, 0.0319), (0.088, 0.0859, 0.0333), (0.154, 0.0815, 0.0342), (0.220, 0.0747, 0.0346),
        (0.284, 0.0621, 0.0324), (0.349, 0.0481, 0.0282), (0.392, 0.0395, 0.0250), (0.419, 0.0354, 0.0235),
        (0.462, 0.0279, 0.0204), (0.528, 0.0172, 0.0160), (0.592, 0.0060, 0.0106),
        (0.637, -0.0020, 0.0064)),
    "9x6": _rows(9, 6, 6708,
        (0.000, 0.1169, 0.0516), (0.095, 0.1129, 0.0527), (0.169, 0.1081, 0.0536), (0.242, 0.1022, 0.0541),
        (0.311, 0.0950, 0.0539), (0.382, 0.0859, 0.0535), (0.428, 0.0771, 0.0511), (0.453, 0.0699, 0.0483),
        (0.505, 0.0571, 0.0427), (0.573, 0.0431, 0.0358), (0.648, 0.0293, 0.0285), (0.719, 0.0161, 0.0208),
        (0.788, 0.0034, 0.0125), (0.836, -0.0060, 0.0057)),
    "sport 11x7": _rows(11, 7, 5997,
        (0.000, 0.1204, 0.0541), (0.090, 0.1180, 0.0548), (0.156, 0.1146, 0.0560), (0.218, 0.1097, 0.0571),
        (0.285, 0.1035, 0.0578), (0.353, 0.0965, 0.0585), (0.396, 0.0904, 0.0578), (0.417, 0.0877, 0.0574),
        (0.462, 0.0803, 0.0558), (0.527, 0.0676, 0.0515), (0.594, 0.0526, 0.0447), (0.655, 0.0397, 0.0380),
        (0.723, 0.0267, 0.0307), (0.789, 0.0139, 0.0224), (0.876, -0.0026, 0.0102)),
}  # fmt: skip
#: Worst difference over the static value where 10 % is not held.  The 11x5.5 loses thrust suddenly at J .25 to
#: .4 (low Reynolds number); the sport propeller has 6 % more pitch than the others let expect.
MISSES = {("11x5.5", "CT"): 0.11, ("11x5.5", "CP"): 0.17, ("sport 11x7", "CP"): 0.19}
SIZES = ("thrust and power", "thrust", "power", "nothing")


def _propeller(diameter: float, pitch: float, **more: Any) -> Propeller:
    return Propeller.model_validate({
        "diameter": f"{diameter} m", "pitch": f"{pitch} m", "blades": 2, "turns": "clockwise",
        "position": {"aft": "0 mm", "up": "0 mm"}, "inertia": "1 g m2",
    } | more)  # fmt: skip


def _estimate(p: Measured, measured: str, **factors: float) -> PropellerEstimate:
    """Estimate a propeller when thrust, power, both or nothing was measured standing still."""
    motor: dict[str, Any] = {"kind": "electric", "static_speed": f"{60.0 * p.n} rpm", "no_load": "130 %"}
    if "thrust" in measured:
        motor["static_thrust"] = f"{p.CT[0] * RHO0 * p.n**2 * p.diameter**4} N"
    if "power" in measured:
        motor["static_power"] = f"{p.CP[0] * RHO0 * p.n**3 * p.diameter**5} W"
    return estimate_propeller(_propeller(p.diameter, p.pitch), Motor.model_validate(motor), factors=factors)


def _curves(estimate: PropellerEstimate, J: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """CT and CP of the tables."""
    s, square = np.linspace(0.0, 1.0, PROP_POINTS), 1.0 + J**2
    at = J / np.sqrt(square)
    return np.interp(at, s, estimate.ct) * square, np.interp(at, s, estimate.cq) * square * 2.0 * math.pi


def _spread(p: Measured, measured: str, J: np.ndarray) -> np.ndarray:
    """Standard deviations of CT and CP at J, by what the doubt of each item changes."""
    variance = np.zeros((2, J.size))
    for item, sigma in _estimate(p, measured).sigma.items():
        up, down = (
            np.array(_curves(_estimate(p, measured, **{item: f}), J)) for f in (1.0 + sigma, 1.0 - sigma)
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
    found = _estimate(p, measured)
    agree("zero thrust", found.zero_thrust, p.zero_thrust, share=0.10, source=READ)
    agree("zero power", found.zero_power, p.zero_power, share=0.10, source=READ)
    agree("static CT", found.static_ct, p.CT[0], share=2.0 * found.sigma["static_ct"], source=READ)
    sigma = _spread(p, measured, p.J[:1])[1, 0]
    agree("static CP", found.static_cp, p.CP[0], within=2.0 * sigma, source=READ)


@pytest.mark.parametrize("name", SIX)
def test_anchored_curves(by_the_others, name):
    """With static thrust and power measured: CT and CP within 10 % of the static value, but for MISSES."""
    p = by_the_others
    for what, found, read in zip(
        ("CT", "CP"), _curves(_estimate(p, SIZES[0]), p.J), (p.CT, p.CP), strict=True
    ):
        limit = MISSES.get((name, what), 0.10) * read[0]
        worst = np.argmax(abs(found - read))
        agree(f"{what} at J {p.J[worst]:.2f}", found[worst], read[worst], within=limit, source=READ)


@pytest.mark.parametrize("measured", SIZES)
@pytest.mark.parametrize("name", SIX)
def test_curves_within_their_doubt(by_the_others, name, measured):
    """Over the whole run CT and CP are off by 2 standard deviations in the mean at most, 2.5 at worst."""
    p = by_the_others
    off = np.array(_curves(_estimate(p, measured), p.J)) - (p.CT, p.CP)
    off /= np.maximum(_spread(p, measured, p.J), 1e-4)  # of what was read, the last digit
    for what, z in zip(("CT", "CP"), off, strict=True):
        mean, worst = math.sqrt(np.mean(z**2)), np.max(abs(z))
        assert mean < 2.0 and worst < 2.5, f"{what}: {mean:.2f} in the mean, {worst:.2f} at worst"


def _drag_coefficient(estimate: PropellerEstimate, s: float) -> float:
    """Drag on disc area: -T / (1/2 rho V^2 A)."""
    table = np.interp(s, np.linspace(0.0, 1.0, PROP_POINTS), estimate.ct)
    return float(-8.0 * table / (math.pi * s**2))


def test_freely_turning_drag():
    """Drag coefficient of a freely turning slow-fly propeller on its disc: .21 to .36, each +-25 %.

    Printed: four such propellers, extrapolated by .07 to .11 in J; which ones is not printed.  Taken here:
    the 11x3.8, whose blade was measured.  The estimate stays at the low end (.16).  For an 11x4.7 it says
    .11, which misses: the blades of the six are less draggy than a slow-fly's.
    """
    p = Measured(11 * INCH, 3.8 * INCH, 80.0, *np.zeros((3, 1)))
    found = _estimate(p, "nothing")
    C_D = _drag_coefficient(found, found.zero_power / math.hypot(1.0, found.zero_power))
    assert 0.75 * 0.21 < C_D < 1.25 * 0.36, f"found {C_D:.3f}, printed .21 to .36 +-25 %"
    stopped = _drag_coefficient(found, 1.0)
    assert stopped < C_D, f"flat pitch: turning {C_D:.3f}, stopped {stopped:.3f}"


@pytest.mark.parametrize("name", SIX)
def test_freely_turning_drag_of_the_six(name):
    """The same of the six, from their own rows: -8 CT / (pi J^2), CT along the line of its last rows to CP = 0."""
    p = SIX[name]
    J = p.zero_power
    slope = np.polyfit(p.J[-3:], p.CT[-3:], 1)[0]
    read = -8.0 * slope * (J - p.zero_thrust) / (math.pi * J**2)
    found = _estimate(p, "thrust and power")
    C_D = _drag_coefficient(found, found.zero_power / math.hypot(1.0, found.zero_power))
    agree("drag coefficient", C_D, read, share=0.35, source="extrapolated rows")


# blade: diameter, pitch [in], widest c/R (read); 2/pi int (c/R) cos, (5.7/pi) int (c/R) sin, (5.7/pi) int (c/R) x cos
BLADES = {
    "10x7": (10, 7, 0.202, 0.0712, 0.1030, 0.1083),
    "11x5.5": (11, 5.5, 0.190, 0.0704, 0.0757, 0.1055),
    "9x6": (9, 6, 0.223, 0.0813, 0.1061, 0.1249),
    "slow-fly 11x3.8": (11, 3.8, 0.228, 0.0947, 0.0638, 0.1540),
    "sport 11x7": (11, 7, 0.167, 0.0678, 0.0931, 0.1037),
}


@pytest.mark.parametrize("blade", BLADES)
def test_blades_from_size_and_chord(blade):
    """Integrals over five measured blades: within 15 % by the usual width (20 % for the slow-fly), 14 % by the chord."""
    D, pitch, widest, *integrals = BLADES[blade]
    for chord, limit in ((None, 0.20 if "slow" in blade else 0.15), (f"{widest * D * INCH / 2} m", 0.14)):
        propeller = _propeller(D * INCH, pitch * INCH, **({"blade_chord": chord} if chord else {}))
        stamped = propeller.pitch / propeller.diameter
        force, moment = crossflow(
            propeller, stamped
        )  # zero thrust at the stamped pitch: no correction for it
        found = (broadside(propeller), force, moment / 0.75)  # less the share its own inflow takes
        for what, a, b in zip(("broadside", "kappa_N", "kappa_M"), found, integrals, strict=True):
            agree(f"{what}, chord {chord}", a, b, share=limit, source="measured geometry, integrals computed")


def test_stopped_drag():
    """Stopped: blade area seen from ahead times 1.0 to 1.2 (Hoerner, from memory), and its torque drives."""
    D, pitch, widest, seen, *_ = BLADES["10x7"]
    propeller = _propeller(D * INCH, pitch * INCH, blade_chord=f"{widest * D * INCH / 2} m")
    motor = Motor.model_validate({"kind": "electric", "static_speed": "6000 rpm", "no_load": "130 %"})
    found = estimate_propeller(propeller, motor)
    C_D = _drag_coefficient(found, 1.0) / seen
    assert 1.0 < C_D < 1.2, f"on blade area: found {C_D:.3f}, from memory 1.0 to 1.2"
    agree("arm of the drag", found.cq[-1] / found.ct[-1], pitch / D / (2.0 * math.pi), share=1e-12)


def test_third_blade():
    """2 blades become 3: the trade takes an inch of diameter off an 11 in propeller at the same power.

    (11/10)^5 = 1.6 in power coefficient (common practice, no source); thrust grows less than area.
    """
    two, three = (
        estimate_propeller(
            _propeller(11 * INCH, 5.5 * INCH, blades=blades),
            Motor.model_validate({"kind": "engine", "static_speed": "9000 rpm", "no_load": "130 %"}),
        )
        for blades in (2, 3)
    )
    agree("CP, 3 over 2", three.static_cp / two.static_cp, 1.61, share=0.15, source="common practice")
    assert 1.2 < three.static_ct / two.static_ct < 1.5

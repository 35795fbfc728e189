"""Propellers estimated from their size: UIUC Propeller Database, Vols 1-3 (Brandt, Deters, Ananda, Dantsker, Selig).

Rows of the fastest run of six propellers, every third one, and the static row nearest in rpm (read).  Blade geometry of
five (read), its integrals computed.  Here each propeller is estimated by the numbers that all six gave; the tests do
it by the other five, where MISSES says who does not hold 10 %, and by how much.

What the size alone leaves open was found before as 3 to 34 % in CT and 2 to 26 % in CP; 10 % is the aim where a static
measurement anchors the curve.
"""

from __future__ import annotations

import math
from functools import partial
from typing import Any, NamedTuple

import numpy as np

from sixdof.airframe.model import Motor, Propeller
from sixdof.estimate.blades import broadside, crossflow
from sixdof.estimate.propeller import PropellerEstimate, estimate_propeller
from sixdof.physics.air import RHO0
from sixdof.physics.record import PROP_POINTS
from sixdof.validation.check import Check
from sixdof.validation.planes import INCH


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
#: Worst difference over the static value where 10 % is not held by what the other five say.  The 11x5.5 loses thrust
#: suddenly at J .25 to .4 (low Reynolds number); the sport propeller has 6 % more pitch than the others let expect.
MISSES = {("11x5.5", "CT"): 0.11, ("11x5.5", "CP"): 0.17, ("sport 11x7", "CP"): 0.19}
# blade: diameter, pitch [in], widest c/R (read); 2/pi int (c/R) cos, (5.7/pi) int (c/R) sin, (5.7/pi) int (c/R) x cos
BLADES = {
    "10x7": (10, 7, 0.202, 0.0712, 0.1030, 0.1083),
    "11x5.5": (11, 5.5, 0.190, 0.0704, 0.0757, 0.1055),
    "9x6": (9, 6, 0.223, 0.0813, 0.1061, 0.1249),
    "slow-fly 11x3.8": (11, 3.8, 0.228, 0.0947, 0.0638, 0.1540),
    "sport 11x7": (11, 7, 0.167, 0.0678, 0.0931, 0.1037),
}

#: Drag of freely turning slow-fly propellers on their discs, extrapolated by .07 to .11 in J, each +-25 %; which ones
#: is not printed.  Taken here: the 11x3.8, whose blade was measured.
TURNING = (0.21, 0.36)
#: Of a stopped one on its blade area seen from ahead, Hoerner (memory).
STOPPED = (1.0, 1.2)
#: 2 blades become 3: an inch of diameter off an 11 in propeller at the same power, (11/10)^5 in CP (practice).
THIRD_BLADE = 1.61


def propeller_of(diameter: float, pitch: float, **more: Any) -> Propeller:
    return Propeller.model_validate({
        "diameter": f"{diameter} m", "pitch": f"{pitch} m", "blades": 2, "turns": "clockwise",
        "position": {"aft": "0 mm", "up": "0 mm"}, "inertia": "1 g m2",
    } | more)  # fmt: skip


def estimate_of(p: Measured, measured: str, **factors: float) -> PropellerEstimate:
    """Estimate a propeller when thrust, power, both or nothing was measured standing still."""
    motor: dict[str, Any] = {"kind": "electric", "static_speed": f"{60.0 * p.n} rpm", "no_load": "130 %"}
    if "thrust" in measured:
        motor["static_thrust"] = f"{p.CT[0] * RHO0 * p.n**2 * p.diameter**4} N"
    if "power" in measured:
        motor["static_power"] = f"{p.CP[0] * RHO0 * p.n**3 * p.diameter**5} W"
    return estimate_propeller(propeller_of(p.diameter, p.pitch), Motor.model_validate(motor), factors=factors)


def curves(estimate: PropellerEstimate, J: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """CT and CP of the tables."""
    s, square = np.linspace(0.0, 1.0, PROP_POINTS), 1.0 + J**2
    at = J / np.sqrt(square)
    return np.interp(at, s, estimate.ct) * square, np.interp(at, s, estimate.cq) * square * 2.0 * math.pi


def drag_coefficient(estimate: PropellerEstimate, s: float) -> float:
    """Drag on disc area: -T / (1/2 rho V^2 A)."""
    table = np.interp(s, np.linspace(0.0, 1.0, PROP_POINTS), estimate.ct)
    return float(-8.0 * table / (math.pi * s**2))


def worst(name: str, which: int) -> float:
    """Largest difference of CT (0) or CP (1) over the run, share of the static value; thrust and power measured."""
    p = SIX[name]
    found, read = curves(estimate_of(p, "thrust and power"), p.J)[which], (p.CT, p.CP)[which]
    return float(np.max(np.abs(found - read)) / read[0])


def turning_drag(p: Measured, measured: str) -> float:
    """Drag coefficient of the estimated propeller, turning freely, on its disc."""
    found = estimate_of(p, measured)
    return drag_coefficient(found, found.zero_power / math.hypot(1.0, found.zero_power))


def turning_drag_read(p: Measured) -> float:
    """The same from its own rows: -8 CT/(pi J^2), CT along the line of the last ones to CP = 0."""
    slope = np.polyfit(p.J[-3:], p.CT[-3:], 1)[0]
    return float(-8.0 * slope * (p.zero_power - p.zero_thrust) / (math.pi * p.zero_power**2))


def bare(diameter: float, pitch: float) -> Measured:
    """A propeller of this size [in] of which nothing was measured but 4800 rpm."""
    return Measured(diameter * INCH, pitch * INCH, 80.0, *np.zeros((3, 1)))


def checks() -> list[Check]:
    """Curves anchored by a static measurement; blades; drag; a third blade."""
    return [*_curves_of_six(), *_blades(), *_drags(), _third_blade()]


#: By the numbers of all six, as these are shipped.
_KNOWN = {
    ("11x5.5", "CP"): "loses thrust and power suddenly at J .25 to .4 (low Reynolds number)",
    ("sport 11x7", "CP"): "6 % more pitch than the others let expect",
}
_READ = "Propellers from size and a static point, UIUC database"


def _curves_of_six() -> list[Check]:
    row = partial(Check, _READ, tag="read")
    rows = []
    for name, p in SIX.items():
        found = partial(estimate_of, p, "thrust and power")
        why = "the aim for an estimate"
        rows.append(
            row(
                f"{name}: J of no thrust", p.zero_thrust, lambda f=found: f().zero_thrust, share=0.10, why=why
            )
        )
        rows.append(
            row(f"{name}: J of no power", p.zero_power, lambda f=found: f().zero_power, share=0.10, why=why)
        )
        for which, said in enumerate(("CT", "CP")):
            known = _KNOWN.get((name, said), "")
            item = f"{name}: {said}, worst over static"
            rows.append(row(item, 0.0, partial(worst, name, which), within=0.10, why=why, known=known))
    return rows


def _blades() -> list[Check]:
    """Integrals over five measured blades, by the usual width and by the chord."""
    row = partial(Check, "Blades from size and chord, UIUC blade geometry", tag="computed")
    rows = []
    for name, (D, pitch, widest, *integrals) in BLADES.items():
        for chord, limit in ((None, 0.20 if "slow" in name else 0.15), (f"{widest * D * INCH / 2} m", 0.14)):
            made = propeller_of(D * INCH, pitch * INCH, **({"blade_chord": chord} if chord else {}))
            # zero thrust at the stamped pitch: no correction for it
            force, moment = crossflow(made, made.pitch / made.diameter)
            found = (broadside(made), force, moment / 0.75)  # less the share its own inflow takes
            for what, ours, value in zip(("area", "kappa_N", "kappa_M"), found, integrals, strict=True):
                item = f"{name}{', by chord' if chord else ''}: {what}"
                rows.append(row(item, value, ours, share=limit, why="one shape for all blades"))
    return rows


def _drags() -> list[Check]:
    row = partial(Check, "Drag of turning and stopped propellers", tag="computed")
    why = "extrapolated rows, each +-25 %"
    rows = [
        row("slow-fly 11x3.8, turning", TURNING, partial(turning_drag, bare(11, 3.8), "nothing"), share=0.25, why=why),
        row("slow-fly 11x4.7, turning", TURNING, partial(turning_drag, bare(11, 4.7), "nothing"), share=0.25, why=why,
            known="the blades of the six are less draggy than a slow-fly's"),
    ]  # fmt: skip
    for name, p in SIX.items():
        find = partial(turning_drag, p, "thrust and power")
        rows.append(row(f"{name}, turning", turning_drag_read(p), find, share=0.35, why="extrapolated rows"))
    D, pitch, widest, seen, *_ = BLADES["10x7"]

    def stopped() -> float:
        made = propeller_of(D * INCH, pitch * INCH, blade_chord=f"{widest * D * INCH / 2} m")
        motor = Motor.model_validate({"kind": "electric", "static_speed": "6000 rpm", "no_load": "130 %"})
        return drag_coefficient(estimate_propeller(made, motor), 1.0) / seen

    return [*rows, row("10x7, stopped, on blade area", STOPPED, stopped, tag="memory")]


def _third_blade() -> Check:
    def ratio() -> float:
        two, three = (
            estimate_propeller(
                propeller_of(11 * INCH, 5.5 * INCH, blades=blades),
                Motor.model_validate({"kind": "engine", "static_speed": "9000 rpm", "no_load": "130 %"}),
            )
            for blades in (2, 3)
        )
        return three.static_cp / two.static_cp

    why = "a rule of the trade"
    return Check("Third blade (common practice, no source)", "CP of 3 blades over 2", THIRD_BLADE, ratio, "practice",
                 share=0.15, why=why)  # fmt: skip

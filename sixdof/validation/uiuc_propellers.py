"""Propellers: UIUC Propeller Database, Vols 1-3 (Brandt, Deters, Ananda, Dantsker, Selig), and momentum theory.

Measured rows and blade geometry read.  Induced velocity: Selig & Ananda, UIUC AE 15-01, 2015, eq. 10 (read).  Thrust,
slipstream, swirl and in-plane force of the 10x7 at 6000 rpm at the sea, computed by an independent program from these
rows.

How the model makes its propeller: thrust and torque by tables; a uniform disc by momentum theory; in crossflow an
in-plane force and a pitching moment by two lumped blade constants, kappa_N and kappa_M.
"""

from __future__ import annotations

import math
from functools import cache, partial
from typing import Any

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from sixdof.airframe.model import Motor, Propeller
from sixdof.estimate.blades import crossflow
from sixdof.estimate.propeller import estimate_propeller
from sixdof.physics.air import RHO0
from sixdof.physics.propulsion import propeller
from sixdof.physics.record import PROP_POINTS
from sixdof.validation.check import Check
from sixdof.validation.planes import INCH, plane_of

RPS = 100.0  # 6000 rpm

# 10x7 in, 6015-6020 rpm (J = 0: between 5938 and 6231 rpm, .114 as used in the computed rows): J, CT, CP
MEASURED_10X7 = np.array([
    (0.0, 0.114, 0.0511), (0.097, 0.1096, 0.0522), (0.145, 0.1070, 0.0527), (0.192, 0.1041, 0.0530),
    (0.24, 0.1005, 0.0532), (0.29, 0.0964, 0.0534), (0.338, 0.0920, 0.0534), (0.384, 0.0873, 0.0533),
    (0.433, 0.0801, 0.0522), (0.477, 0.0718, 0.0498), (0.504, 0.0656, 0.0476), (0.548, 0.0553, 0.0431),
    (0.601, 0.0431, 0.0368), (0.647, 0.0341, 0.0318), (0.697, 0.0249, 0.0265), (0.748, 0.0156, 0.0209),
    (0.795, 0.0068, 0.0152), (0.846, -0.0025, 0.0088), (0.868, -0.0071, 0.0059),
])  # fmt: skip
# J: CT, T [N], v [m/s], slipstream [m/s], q ratio, swirl at .7 R [deg], in-plane force C_Y' per rad
ROWS_10X7 = {
    0.0: (0.114, 5.8, 6.8, 13.7, None, 11.0, None),
    0.3: (0.0955, 4.9, 3.5, 14.7, 3.7, 7.0, 0.155),
    0.5: (0.0665, 3.4, 1.9, 16.5, 1.68, 4.2, 0.119),
    0.7: (0.0244, 1.2, 0.55, 18.9, 1.13, 1.6, 0.105),
}
# 11x5.5 in blade: r/R, c/R, angle [deg]
BLADE_11X55 = np.array([
    (0.15, 0.124, 41.11), (0.2, 0.146, 41.01), (0.25, 0.167, 34.01), (0.3, 0.18, 28.76), (0.35, 0.188, 24.78),
    (0.4, 0.19, 21.7), (0.45, 0.189, 19.4), (0.5, 0.184, 17.65), (0.55, 0.175, 16.19), (0.6, 0.164, 15.03),
    (0.65, 0.151, 14.1), (0.7, 0.136, 13.26), (0.75, 0.121, 12.61), (0.8, 0.105, 12.0), (0.85, 0.09, 11.34),
    (0.9, 0.077, 10.55), (0.95, 0.053, 9.33), (1.0, 0.029, 8.07),
])  # fmt: skip
# the same propeller, 6000 rpm: J, CT
MEASURED_11X55 = {0.2: 0.0772, 0.3: 0.0585, 0.4: 0.0382, 0.5: 0.0219}

#: Cm of a clockwise propeller of 16 and 20 in at 25 m/s and 15 deg of sideslip; blade elements of the 11x5.5 scaled
#: (computed); the airplane and the thrust behind it are not printed.
TWO_METERS = {16: -0.0043, 20: -0.0071}


def alone(D: float, pitch: float, J: np.ndarray, CT: np.ndarray, CP: np.ndarray, **more: float) -> np.void:
    """Plane of nothing but a propeller with these curves; clockwise seen from behind."""
    plane = plane_of(1.0, (1.0, 1.0, 1.0), 1.0, 1.0, 1.0, prop_D=D, prop_pitch=pitch, **more)
    s = np.linspace(0.0, 1.0, PROP_POINTS)
    at = np.minimum(s / np.sqrt(np.maximum(1.0 - s**2, 1e-12)), J[-1])
    share = 1.0 / (1.0 + at**2)
    plane["ct"] = PchipInterpolator(J, CT)(at) * share
    plane["cq"] = PchipInterpolator(J, CP)(at) * share / (2.0 * math.pi)
    return plane


def eleven_by_five(D: float) -> np.void:
    """11x5.5 scaled to another diameter; its torque matters to nothing asked here."""
    J = np.array([0.0, *MEASURED_11X55, 0.6])
    return alone(D, 0.5 * D, J, np.array([0.089, *MEASURED_11X55.values(), 0.0045]), np.full(J.size, 0.02))


def run(
    plane: np.void, V: float, beta: float = 0.0, n: float = RPS, throttle: float = 0.0
) -> dict[str, float]:
    """What the propeller does at speed V [m/s], sideslip [rad] and n turns a second."""
    names = ("X", "Y", "Z", "L", "M", "N", "omega_rate", "slipstream", "swirl")
    values = propeller(
        plane, RHO0, V * math.cos(beta), V * math.sin(beta), 0.0, 0.0, 0.0, 0.0, 2.0 * math.pi * n, throttle
    )
    return dict(zip(names, values, strict=True))


def ten_by_seven(**more: float) -> np.void:
    """The measured 10x7."""
    return alone(10 * INCH, 7 * INCH, *MEASURED_10X7.T, **more)  # type: ignore[arg-type]


def sized(diameter: float, pitch: float, **more: Any) -> Propeller:
    """Two-bladed propeller of this size [in], without its chord."""
    return Propeller.model_validate({
        "diameter": f"{diameter} in", "pitch": f"{pitch} in", "blades": 2, "turns": "clockwise",
        "position": {"aft": "0 mm", "up": "0 mm"}, "inertia": "1 g m2",
    } | more)  # fmt: skip


def blade_elements(
    D: float, V: float, n: float, beta: float, thrust: float, own_inflow: bool
) -> tuple[float, float, float]:
    """Thrust, in-plane force and pitching moment by blade elements, one revolution of two blades.

    Lift slope 5.7 (common practice, no source), no drag; uniform induced velocity by momentum, and with
    ``own_inflow`` what each place of the disc adds to it by its own change of thrust, 2 rho (V + 2v) dv;
    the angle from zero lift is the blade's own plus what makes the thrust right.
    """
    R, omega = 0.5 * D, 2.0 * math.pi * n
    along, across = V * math.cos(beta), V * math.sin(beta)
    induced = 0.5 * (-along + math.sqrt(along**2 + 2.0 * thrust / (RHO0 * math.pi * R * R)))
    x, chord, angle = BLADE_11X55.T
    r, c, theta = (x * R)[:, None], (chord * R)[:, None], np.radians(angle)[:, None]
    psi = np.linspace(0.0, 2.0 * math.pi, 72, endpoint=False)[None, :]

    def strips(camber: float, across: float, more: np.ndarray | float) -> tuple[np.ndarray, np.ndarray]:
        # clockwise from behind: a blade pointing up (psi 0) moves to the right, into air that comes from there
        U_t, U_p = omega * r + across * np.cos(psi), along + induced + more
        phi = np.arctan2(U_p, U_t)
        lift = 0.5 * RHO0 * (U_t**2 + U_p**2) * c * 5.7 * (theta + camber - phi)
        return lift * np.cos(phi), lift * np.sin(phi)

    def per_turn(part: np.ndarray) -> float:
        return float(np.trapezoid((2.0 * part).mean(axis=1), r[:, 0]))

    a, b = (per_turn(strips(camber, 0.0, 0.0)[0]) for camber in (0.0, 0.1))
    camber = 0.1 * (thrust - a) / (b - a)
    straight, more = strips(camber, 0.0, 0.0)[0], np.zeros((x.size, psi.size))
    for _ in range(40 if own_inflow else 0):
        change = (strips(camber, across, more)[0] - straight) / (math.pi * r)  # of two blades, per disc area
        more = 0.5 * (more + change / (2.0 * RHO0 * (along + 2.0 * induced)))
    pull, drag = strips(camber, across, more)
    # a pull high on the disc lowers the nose
    return per_turn(pull), per_turn(-drag * np.cos(psi)), per_turn(-pull * r * np.cos(psi))


def sized_crossflow(D: float) -> np.void:
    """The 11x5.5 at another diameter, its crossflow from size, widest chord and the measured zero thrust."""
    propeller = sized(D / INCH, 0.5 * D / INCH, blade_chord=f"{0.5 * D * BLADE_11X55[:, 1].max()} m")
    force, moment = crossflow(propeller, 0.626)
    plane = eleven_by_five(D)
    plane["prop_crossflow_force"], plane["prop_crossflow_moment"] = force, moment
    return plane


@cache
def _ten(J: float, beta: float = 0.0) -> dict[str, float]:
    return run(ten_by_seven(), J * RPS * 10 * INCH, beta)


@cache
def crossflow_of_11x55(J: float) -> dict[str, float]:
    """Air 10 deg from the right of a 16 in one at 90 turns a second: ours, and by blade elements."""
    D, n, beta = 16 * INCH, 90.0, math.radians(10.0)
    V = J * n * D
    thrust = MEASURED_11X55[J] * RHO0 * n**2 * D**4
    found = run(sized_crossflow(D), V, beta, n)
    pull, side, plain = blade_elements(D, V, n, beta, thrust, own_inflow=False)
    _, _, moment = blade_elements(D, V, n, beta, thrust, own_inflow=True)
    return {
        "Y": found["Y"],
        "M": found["M"],
        "pull": pull / thrust,
        "side": side,
        "moment": moment,
        "plain": plain,
    }


@cache
def two_meter_moment(inches: int) -> float:
    """Cm of a clockwise propeller of this size at 25 m/s and 15 deg of sideslip.

    Taken here, as it is not printed: 30 N, S 0.6 m2, chord 0.3 m.
    """
    V, beta, thrust = 25.0, math.radians(15.0), 30.0
    plane = sized_crossflow(inches * INCH)
    n = float(brentq(lambda n: run(plane, V, 0.0, n)["X"] - thrust, 60.0, 250.0))
    return run(plane, V, beta, n)["M"] / (0.5 * RHO0 * V**2 * 0.6 * 0.3)


@cache
def _from_size() -> tuple[np.ndarray, np.ndarray]:
    """Tables of the estimator from 10x7 and the static point."""
    CT, CP = MEASURED_10X7[0, 1:]
    thrust = CT * RHO0 * RPS**2 * (10 * INCH) ** 4
    power = CP * RHO0 * RPS**3 * (10 * INCH) ** 5
    motor = Motor.model_validate({
        "kind": "electric", "static_speed": "6000 rpm", "no_load": "130 %",
        "static_thrust": f"{thrust} N", "static_power": f"{power} W",
    })  # fmt: skip
    found = estimate_propeller(sized(10, 7), motor)
    return found.ct, found.cq * 2.0 * math.pi


def _sized_curve(which: int, J: float) -> float:
    s = J / math.sqrt(1.0 + J * J)
    return float(np.interp(s, np.linspace(0.0, 1.0, PROP_POINTS), _from_size()[which]) * (1.0 + J * J))


def _side_slope(J: float) -> float:
    """C_Y' on disc area, per rad."""
    beta, area, V = 0.02, 0.25 * math.pi * (10 * INCH) ** 2, J * RPS * 10 * INCH
    return -_ten(J, beta)["Y"] / (0.5 * RHO0 * V**2 * area * beta)


_row = partial(Check, "Propeller 10x7, UIUC database", tag="computed")


def checks() -> list[Check]:
    """Thrust, slipstream, swirl and in-plane force of the 10x7; crossflow of the 11x5.5."""
    return [*_straight(), *_from_size_and_static_point(), *_crossflow()]


def _straight() -> list[Check]:
    rows = []
    for J, (CT, T, v, stream, q, swirl, side) in ROWS_10X7.items():
        V, scale = J * RPS * 10 * INCH, RHO0 * RPS**2 * (10 * INCH) ** 4
        said = f"J {J:g}: "
        rows += [
            _row(f"{said}CT", CT, lambda J=J, scale=scale: _ten(J)["X"] / scale, within=5e-4,
                 why="interpolated between measured rows"),
            _row(f"{said}thrust", T, lambda J=J: _ten(J)["X"], unit="N", within=0.05),
            _row(f"{said}induced speed", v, lambda J=J, V=V: 0.5 * (_ten(J)["slipstream"] - V), unit="m/s",
                 within=0.005 if v < 1.0 else 0.05),
            _row(f"{said}slipstream", stream, lambda J=J: _ten(J)["slipstream"], unit="m/s", within=0.05),
        ]  # fmt: skip
        if q:
            digits = 0.005 if J > 0.4 else 0.05
            rows.append(
                _row(f"{said}q ratio", q, lambda J=J, V=V: (_ten(J)["slipstream"] / V) ** 2, within=digits)
            )
        why = "printed digits, and what guards of 0.1 m/s on both speeds take off"
        rows.append(
            _row(
                f"{said}swirl at .7 R",
                swirl,
                lambda J=J: math.degrees(_ten(J)["swirl"]),
                unit="deg",
                within=0.5,
                why=why,
            )
        )
        if side:
            why = "two lumped numbers for all blades"
            rows.append(
                _row(f"{said}in-plane force, CY'", side, partial(_side_slope, J), share=0.25, why=why)
            )
    return rows


def _from_size_and_static_point() -> list[Check]:
    """10 % of the static value; in-plane force of the usual blade, kappa_N (1 + v/V), 5 %."""
    rows = []
    why = "10 % of the static value, the aim for an estimate"
    static = MEASURED_10X7[0, 1:]
    for J, (CT, _, v, _, _, _, side) in ROWS_10X7.items():
        said = f"from its size, J {J:g}: "
        CP = float(np.interp(J, *MEASURED_10X7.T[[0, 2]]))
        rows.append(_row(f"{said}CT", CT, partial(_sized_curve, 0, J), within=0.10 * static[0], why=why))
        rows.append(
            _row(f"{said}CP", CP, partial(_sized_curve, 1, J), tag="read", within=0.10 * static[1], why=why)
        )
        if side:
            ours = crossflow(sized(10, 7), 0.832)[0] * (1.0 + v / (J * RPS * 10 * INCH))
            rows.append(_row(f"{said}CY'", side, ours, share=0.05, why="the usual blade"))
    return rows


def _crossflow() -> list[Check]:
    """The force of the plain form (one inflow all over the disc), which is what the fin rule agrees with; the moment
    with each side driving its own air: one working point stands for all, the usual blade for this one (8 % more), and
    its pitch, which is less toward hub and tip, for a constant one."""
    row = partial(Check, "Propeller 11x5.5 in crossflow, by blade elements", tag="computed")
    rows = []
    for J in MEASURED_11X55:
        of = partial(crossflow_of_11x55, J)
        why = "two lumped numbers for all blades"
        rows.append(
            row(f"J {J:g}: side force", of()["side"], lambda of=of: of()["Y"], unit="N", share=0.15, why=why)
        )
        rows.append(
            row(
                f"J {J:g}: pitching moment",
                of()["moment"],
                lambda of=of: of()["M"],
                unit="N m",
                share=0.25,
                why=why,
            )
        )
    growth = TWO_METERS[20] / TWO_METERS[16]

    def grown() -> float:
        return two_meter_moment(20) / two_meter_moment(16)

    why = "printed to two digits; thrust and airplane not printed"
    return [*rows, row("moment of 20 in over that of 16 in", growth, grown, share=0.05, why=why)]

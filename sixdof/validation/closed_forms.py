"""Closed forms of flight mechanics (any textbook; from memory), every number computed independently.

The sphere is NASA's, NASA/TM-2015-218675, Vol. II p. 12 (read).  The limits are the printed digits; where the form
is an approximation the row says so.
"""

from __future__ import annotations

import math
from functools import cache, partial

import numpy as np
from scipy.linalg import expm

from sixdof.flight.linear import linearize, modes
from sixdof.flight.trim import Trim
from sixdof.physics.air import G0, make_air
from sixdof.validation.check import Check
from sixdof.validation.murri_2015 import BRICK_INERTIA, sphere
from sixdof.validation.planes import DEG, attitude, fly, plane_of, state_of, steady_of, targets_of, velocity

RHO = 1.225  # kg/m3
AIR = make_air(rho=RHO)

TERMINAL = 357.90120  # m/s, of the sphere
FALLS = {10.0: (95.68380, 484.31704), 30.0: (241.99995, 3990.47242)}  # s: speed [m/s], fall [m]
APEX = (100.0, 9.943580, 490.934985)  # thrown up at [m/s]: time [s], height [m]
TURNED = (17.92530217, 17.74663279, 37.45322080)  # deg after 30 s at 10, 20, 30 deg/s
TOP = (9.46232, 3.04138)  # A 1, C 1.5, w3 2, w_perp .5: tilt [deg], turn of the axis [rad/s]
GROWTH = 0.558187  # of the brick about its middle axis, per rad turned
TURN, RADIUS = 0.4903325, 40.78865  # rad/s, m; level at 20 m/s and 45 deg
PHUGOID = {15.0: 6.7957, 20.0: 9.0610, 25.0: 11.3262}  # m/s: period [s], Lanchester 1908
# loading [N/m2], speed [m/s]: CY needed in level knife-edge, (W/S)/q
KNIFE_EDGE = {
    (50.0, 15.0): 0.36, (50.0, 20.0): 0.20, (50.0, 25.0): 0.13, (80.0, 15.0): 0.58, (80.0, 20.0): 0.33,
    (80.0, 25.0): 0.21,
}  # fmt: skip


def glider(**more: float) -> np.void:
    """A plain stable airplane of model size with a parabolic polar."""
    values: dict[str, float] = dict(
        CL0=0.2, CLa=4.5, CD0=0.03, CDk=0.05, Cm0=0.02, Cma=-0.6, Cmq=-10.0, Cmde=-0.9,
        CYb=-0.5, CYdr=0.2, Clb=-0.05, Clp=-0.45, Clr=0.1, Clda=-0.2, Cnb=0.07, Cnr=-0.12, Cndr=-0.08,
        ideal_thrust=60.0,
    )  # fmt: skip
    values.update(more)
    return plane_of(2.5, (0.08, 0.10, 0.17, 0.01), 0.40, 1.5, 0.27, **values)


def level_turn() -> tuple[np.void, Trim]:
    """20 m/s, 45 deg."""
    plane = glider()
    return plane, steady_of(plane, AIR, speed=20.0, bank=45.0 * DEG, turn=G0 * math.tan(45.0 * DEG) / 20.0)


def turning_top() -> tuple[np.ndarray, float]:
    """State of the top after a quarter turn in the body, and the time that takes [s]."""
    plane, time = plane_of(1.0, (1.0, 1.0, 1.5), 1.0, 1.0, 1.0), math.pi / 2.0
    return fly(plane, make_air(), state_of(p=0.5, r=2.0), targets_of(), time=time, steps=2000), time


_row = partial(Check, "Closed forms of flight mechanics (textbook)", tag="computed")


def checks() -> list[Check]:
    """Falling, turning, rolling, gliding, diving, the phugoid, knife-edge."""
    return [
        *_falling(),
        *_turning(),
        *_airplane(),
        *_rolling_against_yaw(),
        *_flaps(),
        *_long_waves(),
        *_knife_edge(),
    ]


@cache
def _fallen(time: float, up: float = 0.0) -> np.ndarray:
    return fly(sphere(0.1), AIR, state_of(w=-up), targets_of(), time=time, steps=2000)


def _speed_down(time: float, up: float = 0.0) -> float:
    return float(velocity(_fallen(time, up))[2])


def _falling() -> list[Check]:
    """v = vt tanh(g t/vt), depth (vt^2/g) ln cosh(g t/vt); apex (vt/g) atan(v0/vt), (vt^2/2g) ln(1 + v0^2/vt^2)."""
    rows = []
    for t, (speed, fallen) in FALLS.items():
        rows.append(
            _row(f"sphere falls {t:g} s: speed", speed, partial(_speed_down, t), unit="m/s", within=1e-5)
        )
        rows.append(
            _row(f"sphere falls {t:g} s: depth", fallen, lambda t=t: _fallen(t)[2], unit="m", within=1e-5)
        )
    v0, t, height = APEX
    rows.append(
        _row(
            "thrown up: speed at the apex", 0.0, lambda: velocity(_fallen(t, v0))[2], unit="m/s", within=1e-5
        )
    )
    rows.append(
        _row("thrown up: height of the apex", height, lambda: -_fallen(t, v0)[2], unit="m", within=1e-5)
    )
    return rows


@cache
def _turned() -> np.ndarray:
    plane = plane_of(1.0, (1.0, 1.0, 1.0), 1.0, 1.0, 1.0)
    start = state_of(p=10.0 * DEG, q=20.0 * DEG, r=30.0 * DEG)
    x = fly(plane, make_air(), start, targets_of(), time=30.0, steps=3000)
    return attitude(x).as_euler("ZYX", degrees=True)[::-1]


@cache
def _top() -> tuple[float, float]:
    """Tilt [deg] and turn [rad/s] of the axis about the angular momentum."""
    x, time = turning_top()
    unit = np.array([0.5, 0.0, 3.0]) / math.hypot(0.5, 3.0)
    before, after = np.array([0.0, 0.0, 1.0]), attitude(x).apply([0.0, 0.0, 1.0])
    a, b = (axis - (axis @ unit) * unit for axis in (before, after))
    turned = math.atan2(np.cross(a, b) @ unit, a @ b) % (2.0 * math.pi)
    return math.degrees(math.acos(after @ unit)), turned / time


def _growth() -> float:
    """The faster of two small disturbances of a turn about the middle axis."""
    A, B, C = BRICK_INERTIA
    plane = plane_of(1.0, (A, B, C), 1.0, 1.0, 1.0)
    ratio = math.sqrt(C * (C - B) / (A * (B - A)))  # p over r in the growing mode
    ends = [
        fly(plane, make_air(), state_of(p=1e-6 * ratio, q=1.0, r=r), targets_of(), time=4.0, steps=800)[12]
        for r in (-1e-6, 1e-6)
    ]
    return math.log(max(abs(r) for r in ends) / 1e-6) / 4.0


def _turning() -> list[Check]:
    """Attitude at constant rates; a top; growth about the middle axis; a level turn."""
    rows = [
        _row(f"30 s at 10, 20, 30 deg/s: {name}", value, lambda i=i: _turned()[i], unit="deg", within=1e-7)
        for i, (name, value) in enumerate(zip(("roll", "pitch", "yaw"), TURNED, strict=True))
    ]
    rows.append(_row("top: tilt of its axis", TOP[0], lambda: _top()[0], unit="deg", within=5e-6))
    rows.append(_row("top: turn of its axis", TOP[1], lambda: _top()[1], unit="rad/s", within=5e-6))
    why = "a small disturbance of finite size, flown for 4 rad"
    rows.append(_row("brick, middle axis: growth", GROWTH, _growth, unit="1/rad", share=1e-5, why=why))

    def diameter() -> float:
        plane, steady = level_turn()
        half = fly(plane, AIR, steady.state, steady.targets, time=math.pi / TURN, steps=2000)
        return math.hypot(*(half[:2] - steady.state[:2]))

    def rate() -> float:
        p, q, r = level_turn()[1].state[10:13]
        return math.sqrt(p * p + q * q + r * r)

    rows.append(
        _row("level turn 45 deg, 20 m/s: radius", RADIUS, lambda: diameter() / 2.0, unit="m", within=5e-5)
    )
    rows.append(_row("level turn 45 deg, 20 m/s: rate", TURN, rate, unit="rad/s", within=5e-8))
    return rows


def _airplane() -> list[Check]:
    """Roll, glide, dive: their textbook forms."""
    V, da = 20.0, 5.0 * DEG
    plain = plane_of(2.5, (0.08, 0.10, 0.17), 0.40, 1.5, 0.27, Clp=-0.45, Clda=-0.2)
    pole = RHO * V * 0.40 * 1.5**2 * -0.45 / (4.0 * 0.08)
    steady = -(-0.2 / -0.45) * (2.0 * V / 1.5) * da

    def rolling(t: float) -> float:
        surfaces = dict(aileron_right=da, aileron_left=-da)
        air = make_air(rho=RHO, g=0.0)
        return float(
            fly(plain, air, state_of(u=V, **surfaces), targets_of(**surfaces), time=t, steps=400)[10]
        )

    rows = [
        _row(f"roll rate {t:g} s after full aileron", steady * (1.0 - math.exp(pole * t)), partial(rolling, t),
             unit="rad/s", share=1e-7)
        for t in (0.05, 0.1, 1.0)
    ]  # fmt: skip
    k, CD0, weight, S = 0.05, 0.03, 2.5 * G0, 0.40
    flattest = 2.0 * math.sqrt(k * CD0)
    lift = weight * math.cos(math.atan(flattest))
    best = math.sqrt(2.0 * lift / (RHO * S * math.sqrt(CD0 / k)))

    def glide() -> float:
        return math.tan(-steady_of(glider(), AIR, speed=best, throttle=0.0).climb)

    rows.append(_row("flattest glide: sink over way", flattest, glide, share=1e-6))
    for degrees in (20.0, 45.0, 60.0):
        speed = math.sqrt(2.0 * weight * math.sin(degrees * DEG) / (RHO * S * CD0))

        def dive(speed: float = speed) -> float:
            return -steady_of(glider(CDk=0.0), AIR, speed=speed, throttle=0.0).climb / DEG

        rows.append(_row(f"power-off dive at {speed:.1f} m/s", degrees, dive, unit="deg", within=1e-6))
    vt = math.sqrt(2.0 * weight / (RHO * S * CD0))
    for t, share in ((8.0, 1e-8), (68.0, 1e-6)):

        def straight_down(t: float = t) -> float:
            start = state_of(euler=(0.0, -90.0 * DEG, 0.0))
            return float(
                fly(glider(CL0=0.0, Cm0=0.0), AIR, start, targets_of(), time=t, steps=round(60 * t))[3]
            )

        speed = vt * math.tanh(G0 * t / vt)
        rows.append(
            _row(f"vertical dive: speed after {t:g} s", speed, straight_down, unit="m/s", share=share)
        )
    return rows


def _rolling_against_yaw() -> list[Check]:
    """Sideslip as ailerons roll an airplane that yaws against them, without weight: the linear lateral equations.

    p' = (Lda da + Lp p)/Ix, r' = (Nda da + Np p + Nb b + Nr r)/Iz, b' = Yb b/(m V) - r, by the matrix exponential.
    """
    V, da, m, S, b, (Ix, Iz) = 12.0, 1.0 * DEG, 2.5, 0.40, 1.5, (0.08, 0.17)
    C = dict(
        CYb=-0.5,
        Clda=-0.2,
        Clp=-0.45,
        Cnda=0.012,
        Cnp=-0.08,
        Cnb=0.07,
        Cnr=-0.12,
        Cmq=-10.0,
        Cma=-0.6,
        CLa=4.5,
    )
    plane = plane_of(m, (Ix, 0.10, Iz), S, b, 0.27, **C)
    q, half = 0.5 * RHO * V**2, 0.5 * b / V
    A = np.array([
        [C["Clp"] * half / Ix, 0.0, 0.0, C["Clda"] * da / Ix],
        [C["Cnp"] * half / Iz, C["Cnr"] * half / Iz, C["Cnb"] / Iz, C["Cnda"] * da / Iz],
        [0.0, 0.0, C["CYb"] / (m * V * b), 0.0],
        np.zeros(4),
    ]) * q * S * b  # fmt: skip
    A[2, 1] = -1.0

    def sideslip(t: float) -> float:
        surfaces = dict(aileron_right=da, aileron_left=-da)
        x = fly(
            plane,
            make_air(rho=RHO, g=0.0),
            state_of(u=V, **surfaces),
            targets_of(**surfaces),
            time=t,
            steps=400,
        )
        return math.atan2(x[4], math.hypot(x[3], x[5])) / DEG

    why = "linear equations, small angles"
    return [
        _row(f"roll by aileron, {t:g} s: sideslip against it", float(expm(A * t)[2, 3]) / DEG, partial(sideslip, t),
             unit="deg", share=0.01, why=why)
        for t in (0.3, 1.0)
    ]  # fmt: skip


def _flaps() -> list[Check]:
    """Elevator that flaps add at one speed: lift and moment stay, CLa a + CLde de + CLdf df = Cma a + Cmde de + Cmdf df = 0."""
    plane = glider(CLde=0.4, CLdf=0.8, Cmdf=-0.2, flap_down=20.0 * DEG, elevator_down=30.0 * DEG)

    def added() -> float:
        up, down = (steady_of(plane, AIR, speed=15.0, flap=f, throttle=0.0).targets[2] for f in (0.0, 1.0))
        return float(down - up) / DEG

    df = 20.0 * DEG
    elevator = (4.5 * 0.2 - 0.6 * 0.8) * df / (4.5 * -0.9 + 0.6 * 0.4)  # Cramer's rule
    return [_row("flaps down, gliding: elevator added", elevator / DEG, added, unit="deg", share=1e-6)]


@cache
def lanchester(V: float) -> complex:
    """Phugoid of an airplane stiff in pitch with CD a hundredth of CL."""
    CL = 2.0 * 2.5 * G0 / (RHO * V**2 * 0.40)
    plane = glider(CL0=CL, CLa=4.5, CD0=0.01 * CL, CDk=0.0, Cm0=0.0, Cma=-60.0, Cmq=-20.0)
    return modes(linearize(plane, AIR, steady_of(plane, AIR, speed=V)))["phugoid"]


def _damping_ratio(V: float) -> float:
    return -lanchester(V).real / abs(lanchester(V))


def _long_waves() -> list[Check]:
    """Lanchester's limit: T = pi sqrt(2) V/g, damping CD/(sqrt2 CL)."""
    why = "the limit of an airplane infinitely stiff in pitch"
    rows = [
        _row(f"phugoid at {V:g} m/s: period", period, lambda V=V: 2.0 * math.pi / abs(lanchester(V)), unit="s",
             share=0.01, why=why)
        for V, period in PHUGOID.items()
    ]  # fmt: skip
    damping = 0.01 / math.sqrt(2.0)
    for V in PHUGOID:
        rows.append(
            _row(
                f"phugoid at {V:g} m/s: damping ratio",
                damping,
                partial(_damping_ratio, V),
                share=0.1,
                why=why,
            )
        )
    return rows


def _knife_edge() -> list[Check]:
    """The trim finds Y = (W/S)/q.

    Side force stands along body y, so it also holds the airplane back by Y sin(beta); the thrust that this takes
    carries T sin(beta), and both together are Y/cos(beta).
    """

    def side_force(loading: float, V: float) -> float:
        plane = glider(CL0=0.0, Cm0=0.0, Clb=0.0, CD0=0.0, CDk=0.0, CYb=-3.0, Cnb=0.08, Cndr=-0.16, CYdr=0.0)
        plane["mass"] = loading * plane["S"] / G0
        beta = steady_of(plane, AIR, speed=V, bank=90.0 * DEG).beta
        return 3.0 * beta / math.cos(beta)

    return [
        _row(
            f"knife-edge, {loading:g} N/m2, {V:g} m/s: CY", CY, partial(side_force, loading, V), within=0.005
        )
        for (loading, V), CY in KNIFE_EDGE.items()
    ]

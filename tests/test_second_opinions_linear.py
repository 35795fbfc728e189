"""Small pulses of the stick surfaces: the nonlinear airplane against its linear model, flown by the package `control`.

A and B are ours (``linearize``), their response is not: matrix exponentials of `control`.  The airplane flies its
full equations in 5 ms steps, with the surfaces in place at once and the propeller's speed held, as the linear model
has them.  Differences are shares of the peak of each quantity.
"""

from __future__ import annotations

import math

import control
import numpy as np
import pytest
from flying import DEMOS, planes_of
from support import DEG, fly

from sixdof.flight.linear import linearize
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air
from sixdof.physics.frames import euler_angles
from sixdof.validation import minnesota_2017

STEP, TIME, PULSE = 0.005, 2.5, 0.4  # s
#: Channels of B, what they move (of u, w, q, theta, v, p, r, phi), and how far: by so little nothing bends.
PULSES = {"aileron": (0, slice(4, 8)), "elevator": (1, slice(0, 4)), "rudder": (2, slice(4, 8))}
SIZE = 0.25 * DEG
#: Largest difference over the peak of the quantity.
LIMIT = 0.01


def _airplane(name):
    """Plane, air and speed: a demo at its cruise, or a published 1.27 m model at 17 m/s."""
    if name == "minnesota":
        return minnesota_2017.minnesota(0.05), make_air(rho=1.225), 17.0
    plane = planes_of(name)[0]
    return plane, make_air(), float(plane["cruise"])


def _pulse(t):
    """1 - cosine, then nothing."""
    return np.where(t < PULSE, 0.5 * SIZE * (1.0 - np.cos(2.0 * math.pi * t / PULSE)), 0.0)


def _eight(x):
    """u, w, q, theta, v, p, r, phi."""
    _, theta, phi = euler_angles(*x[6:10])
    return np.array([x[3], x[5], x[11], theta, x[4], x[10], x[12], phi])


def _flown(plane, air, steady, channel):
    """Deviations (8, times) of the full equations."""
    x, targets = steady.state.copy(), steady.targets.copy()
    surfaces, omega, rest = x[13:18].copy(), x[18], _eight(x)
    rows = [np.zeros(8)]
    for t in np.arange(0.0, TIME - 0.5 * STEP, STEP):
        moved = surfaces.copy()
        deflection = float(_pulse(t + 0.5 * STEP))
        moved += deflection * np.array(((1, -1, 0, 0, 0), (0, 0, 1, 0, 0), (0, 0, 0, 1, 0))[channel])
        x[13:18], targets[:5], x[18] = moved, moved, omega
        x = fly(plane, air, x, targets, time=STEP, steps=1)
        rows.append(_eight(x) - rest)
    return np.array(rows).T


@pytest.mark.parametrize("stick", PULSES)
@pytest.mark.parametrize("name", [*DEMOS, "minnesota"])
def test_linear_response(name, stick):
    """1 % of the peak of each of u, w, q, theta or v, p, r, phi, for 2.5 s."""
    plane, air, speed = _airplane(name)
    steady = trim(plane, air, speed=speed)
    assert steady.converged, steady
    linear = linearize(plane, air, steady)
    channel, own = PULSES[stick]
    t = np.arange(round(TIME / STEP) + 1) * STEP
    system = control.ss(linear.A, linear.B[:, [channel]], np.eye(8), np.zeros((8, 1)))
    theirs = control.forced_response(system, t, _pulse(t)).outputs.reshape(8, -1)[own]
    ours = _flown(plane, air, steady, channel)[own]
    off = np.max(np.abs(ours - theirs), axis=1) / np.max(np.abs(theirs), axis=1)
    names = np.array(["u", "w", "q", "theta", "v", "p", "r", "phi"])[own]
    text = ", ".join(f"{n} {100.0 * o:.2f} %" for n, o in zip(names, off, strict=True))
    assert np.all(off < LIMIT), f"{name}, {stick}: {text} of the peak, limit {100.0 * LIMIT:g} %"

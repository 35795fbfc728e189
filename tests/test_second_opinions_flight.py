"""Whole maneuvers with pilot and blends, integrated by scipy's DOP853 instead of our Runge-Kutta steps.

Pilot and mix are the very kernels, called once a radio frame from a loop of its own; between frames the equations are
integrated to 1e-10.  So this is a second opinion on the steps of time and on the order of events in a frame.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from flying import blend, fly_with, ideal_servos, planes_of, script
from scipy.integrate import solve_ivp
from support import rates_of

from sixdof.flight.fly import pack_blends, starts_for
from sixdof.flight.frame import TRACK_NAMES
from sixdof.flight.mixing import mix
from sixdof.flight.pilot import (
    DELAY,
    HEIGHT_GAIN,
    N_SEEN,
    SEEN_CANOPY,
    SEEN_ROLL,
    SEEN_SLIP,
    SEEN_SPEED,
    SEEN_WING,
    pilot,
)
from sixdof.physics.aero import flow_angles
from sixdof.physics.air import make_air
from sixdof.physics.frames import clip, path_errors, path_frame

BLENDS = (
    blend("rudder", "elevator", 0.06, 0.03, ramp=0.5),
    blend("rudder", "aileron", 0.04, -0.03),
    blend("aileron", "rudder", -0.05, 0.05),
)


def _by_dop853(planes, flown):
    """States (frames + 1, 19) at the start of each radio frame, and at the end."""
    plane, air = planes[0], make_air()
    blends = pack_blends(BLENDS)
    start = starts_for(planes, [flown], air)[0, 0]
    frame = float(plane["frame"])
    x = start["state"].copy()
    sticks, kept, smooth, integral = (start["sticks"].copy() for _ in range(4))
    held, commands, targets, lost = x[13:18].copy(), np.zeros(5), np.zeros(6), np.zeros(4)
    level, added = np.full(len(blends), -1.0), np.zeros(len(blends))
    memory = np.zeros((max(round(DELAY / frame), 1), N_SEEN))
    memory[:, SEEN_SPEED] = np.linalg.norm(x[3:6])
    base, bank, climb, rows = -x[2], 0.0, 0.0, []
    for phase in flown.phases[: flown.n_phases]:
        kept[:] = smooth
        for _ in range(max(round(phase["duration"] / frame), 1)):
            speed, _, beta, _, _ = flow_angles(*x[3:6])
            bank_step = clip(phase["bank"] - bank, -phase["bank_rate"] * frame, phase["bank_rate"] * frame)
            climb_step = clip(
                phase["climb"] - climb, -phase["climb_rate"] * frame, phase["climb_rate"] * frame
            )
            steer = climb
            if phase["keep_height"]:
                steer += clip(HEIGHT_GAIN * (base + x[2]) / max(speed, 1.0), -0.1, 0.1)
            ideal = path_frame(phase["heading"], steer, bank)
            canopy, wing, roll = path_errors(*ideal, *x[6:10], *x[3:6])
            seen = memory[len(rows) % len(memory)]
            moves = (
                math.sin(bank),
                math.cos(bank),
                math.cos(climb),
                bank_step / frame,
                climb_step / frame,
                0.0,
            )
            pilot(plane, phase, seen, *moves, start["speed"], frame, kept, integral, sticks)
            seen[[SEEN_CANOPY, SEEN_WING, SEEN_ROLL, SEEN_SPEED, SEEN_SLIP]] = canopy, wing, roll, speed, beta
            smooth += (sticks - smooth) * min(frame / 0.4, 1.0)
            mix(plane, blends, sticks, level, added, phase["switch"], frame, held, commands, targets, lost)
            rows.append(x)
            bank, climb = bank + bank_step, climb + climb_step
            x = _integrated(plane, air, x, targets.copy(), frame)
    return np.array([*rows, x])


def _integrated(plane, air, x, targets, frame):
    solution = solve_ivp(
        lambda t, y: rates_of(plane, air, y, targets),
        (0.0, frame),
        x,
        method="DOP853",
        rtol=1e-10,
        atol=1e-12,
    )
    assert solution.success
    x = solution.y[:, -1].copy()
    x[6:10] /= np.linalg.norm(x[6:10])
    return x


def _differences(planes, flown, finer=1):
    """Largest distance [m] and angle [deg] between the two flights."""
    flights = fly_with(planes, [flown], BLENDS, finer=finer)
    assert flights.finished[0], flights.status(0)
    first = TRACK_NAMES.index("north")
    ours = flights.tracks[0].values[:, first : first + 19]
    theirs = _by_dop853(planes, flown)
    assert len(ours) == len(theirs) and np.linalg.norm(np.ptp(ours[:, :3], axis=0)) > 50.0
    apart = np.linalg.norm(ours[:, :3] - theirs[:, :3], axis=1).max()
    same = np.sign(np.sum(ours[:, 6:10] * theirs[:, 6:10], axis=1))
    half = np.linalg.norm(ours[:, 6:10] - same[:, None] * theirs[:, 6:10], axis=1)
    return apart, math.degrees(2.0 * half.max())


FLIGHTS = [
    ("knife_edge", "left", "held"),
    ("four_point_roll", "right", "free"),
    ("power_off_dive", "both", "free"),
]


@pytest.mark.parametrize(("maneuver", "side", "way"), FLIGHTS)
@pytest.mark.parametrize("name", ["corvane", "tessel"])
def test_dop853_flies_the_same_maneuver(name, maneuver, side, way):
    """Smooth servos: 1 cm and 0.02 deg (0.4 mm and 0.003); in steps of a quarter 0.1 mm and 0.0001 deg."""
    planes, flown = ideal_servos(planes_of(name)), script(maneuver, side, way)
    for finer, most_apart, most_turned in ((1, 0.01, 0.02), (4, 1e-4, 1e-4)):
        apart, turned = _differences(planes, flown, finer)
        said = f"{1e3 * apart:.4f} mm, {turned:.6f} deg in steps finer by {finer}"
        assert apart < most_apart and turned < most_turned, said


def test_dop853_with_slop_and_steps():
    """Servos that move in steps round the other way now and then, for a frame: 3 cm and 0.05 deg (0.9 and 0.017)."""
    apart, turned = _differences(planes_of("corvane"), script("four_point_roll", "right", "free"), finer=4)
    assert apart < 0.03 and turned < 0.05, f"{1e3 * apart:.4f} mm, {turned:.6f} deg"

"""The one stepping loop: every flight of the package goes through here.

Frame by frame: see, pilot, mix, Runge-Kutta steps, ends, samples.
"""

from __future__ import annotations

import math

import numba
import numpy as np

from sixdof.flight.channels import AILERON
from sixdof.flight.mixing import mix
from sixdof.flight.pilot import (
    DELAY,
    FREE,
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
from sixdof.physics.air import gravity, wind
from sixdof.physics.compile import kernel
from sixdof.physics.frames import clip, path_errors, path_frame, to_body
from sixdof.physics.motion import rk4_step

MAX_PHASES = 20
MAX_MEASURED = 4
SAMPLES = 12  # of every measured phase, at fixed fractions
N_ERRORS = 4  # toward canopy, toward right wing, roll right, sideslip [rad]
CAP = math.radians(90.0)  # errors of an unfinished flight grow to here at most
LET_GO = math.radians(45.0)  # bank error at which a flyer takes the sticks back

(FINISHED, LET_GO_EARLY, GROUND, ALPHA_OUT, BETA_OUT, NOT_FINITE, NOT_REACHED, TOO_FAST) = range(8)

#: Columns of the track of a kept flight.
TRACK_NAMES = (
    "time", "north", "east", "down", "u", "v", "w", "q0", "q1", "q2", "q3", "p", "q", "r",
    "aileron_right", "aileron_left", "elevator", "rudder", "flap", "propeller",
    "stick_aileron", "stick_elevator", "stick_rudder", "stick_flap", "stick_throttle",
    "command_aileron", "command_elevator", "command_rudder", "command_flap", "command_throttle",
    "toward_canopy", "toward_wing", "roll", "sideslip",
    "phase", "measured", "speed", "alpha", "load_factor",
)  # fmt: skip
N_TRACK = len(TRACK_NAMES)

END_DTYPE = np.dtype(
    [
        ("status", "i8"),
        ("phase", "i8"),
        ("time", "f8"),  # s
        ("top_speed", "f8"),  # m/s
        ("top_g", "f8"),  # load factor along the canopy
        ("low_g", "f8"),
        ("lowest", "f8"),  # least height over the ground [m]
        ("height_used", "f8"),  # start less lowest [m]
        ("lost_aileron", "f8"),  # time asked for more than the travel [s]
        ("lost_elevator", "f8"),
        ("lost_rudder", "f8"),
        ("lost_flap", "f8"),
    ]
)

START_DTYPE = np.dtype([("state", "f8", (19,)), ("sticks", "f8", (5,)), ("speed", "f8")])


@kernel
def gust_at(gusts, row, part, gust):
    """Gust (6) at a part of the way from one row to the next."""
    last = gusts.shape[0] - 1
    a, b = min(row, last), min(row + 1, last)
    for i in range(6):
        gust[i] = gusts[a, i] + part * (gusts[b, i] - gusts[a, i])


@kernel
def fly_one(
    plane, air, gusts, phases, n_phases, blends, start, frame, substeps, errors, commands_at, end, track
):
    """Fly one script.

    Parameters
    ----------
    gusts : array (rows, 6) [m/s, rad/s]
        Velocity (north, east, down) and turning (p, q, r) of the air beyond the wind, a row at the
        start of each radio frame; the last row goes on.  No row: none.
    phases : records (MAX_PHASES,)
    blends : records (n,)
    start : record
        First state, as in calm air, sticks and the speed to hold.
    frame : float [s]
        Radio frame; ``substeps`` Runge-Kutta steps each.
    errors : array (MAX_MEASURED, SAMPLES, 4) [rad]
        Out: errors counted from the start of each measured phase.
    commands_at : array (MAX_MEASURED, SAMPLES, 5)
        Out: commands of the sticks at the same moments.
    end : record
        Out: how it ended.
    track : array (rows, N_TRACK)
        Out, a row a frame as far as it reaches; zero rows: none kept.
    """
    x = np.empty(19)
    slope = np.empty(19)
    stage = np.empty(19)
    total = np.empty(19)
    sticks = np.empty(5)
    kept = np.empty(5)
    smooth = np.empty(5)
    commands = np.zeros(5)
    integral = np.zeros(5)
    targets = np.zeros(6)
    gust = np.zeros(6)
    held = np.empty(5)
    lost = np.zeros(4)
    level = np.full(blends.shape[0], -1.0)
    added = np.zeros(blends.shape[0])
    delay = max(round(DELAY / frame), 1)
    memory = np.zeros((delay, N_SEEN))
    entry = np.zeros(N_ERRORS)
    now = np.zeros(N_ERRORS)
    last = np.zeros(N_ERRORS)
    for i in range(19):
        x[i] = start["state"][i]
    for i in range(5):
        sticks[i] = kept[i] = smooth[i] = integral[i] = start["sticks"][i]
        held[i] = x[13 + i]
    hold_speed = start["speed"]
    wn, we, wd = wind(air, -x[2])
    ax, ay, az = to_body(x[6], x[7], x[8], x[9], wn, we, wd)
    x[3], x[4], x[5] = x[3] + ax, x[4] + ay, x[5] + az
    dt = frame / substeps
    base = -x[2]
    climb = bank = heading = 0.0
    time = 0.0
    row = 0
    status = FINISHED
    top_speed = top_g = lowest = 0.0
    low_g = 10.0
    lowest = base
    done_phase = 0
    done_samples = 0
    n_frames_done = 0

    for ph in range(n_phases):
        phase = phases[ph]
        m = phase["measured"]
        n_frames = max(round(phase["duration"] / frame), 1)
        heading = phase["heading"]
        done_phase = ph
        done_samples = 0
        for i in range(5):
            kept[i] = smooth[i]
        k_next = 0
        for n in range(n_frames + 1):
            # see the motion through the mean wind: nobody sees a gust, only what it does
            wn, we, wd = wind(air, -x[2])
            ax, ay, az = to_body(x[6], x[7], x[8], x[9], wn, we, wd)
            U, V, W = x[3] - ax, x[4] - ay, x[5] - az
            speed, alpha, beta, _, _ = flow_angles(U, V, W)
            f0, f1, f2, f3 = path_frame(heading, climb, bank)
            canopy, wing, roll = path_errors(f0, f1, f2, f3, x[6], x[7], x[8], x[9], U, V, W)
            if n == 0:
                entry[0], entry[1], entry[2] = canopy, wing, roll
                if row == 0:
                    entry[3] = beta  # sideslip counts from level flight
                last[2] = 0.0
            turn = roll - entry[2] - last[2]
            turn -= 2.0 * math.pi * math.floor(turn / (2.0 * math.pi) + 0.5)
            now[0], now[1], now[2], now[3] = (
                canopy - entry[0],
                wing - entry[1],
                last[2] + turn,
                beta - entry[3],
            )
            n_frames_done = n
            # ends, in the flow with its gust
            felt, a_felt, b_felt = speed, alpha, beta
            if gusts.shape[0] > 0:
                gust_at(gusts, row, 0.0, gust)
                ax, ay, az = to_body(x[6], x[7], x[8], x[9], gust[0], gust[1], gust[2])
                felt, a_felt, b_felt, _, _ = flow_angles(U - ax, V - ay, W - az)
            if not (math.isfinite(speed) and math.isfinite(x[2]) and math.isfinite(x[10] + x[11] + x[12])):
                status = NOT_FINITE
                break
            if -x[2] <= 0.0:
                status = GROUND
                break
            if a_felt < plane["alpha_min"] or a_felt > plane["alpha_max"]:
                status = ALPHA_OUT
                break
            if abs(b_felt) > plane["beta_max"]:
                status = BETA_OUT
                break
            if felt > plane["never_exceed"]:
                status = TOO_FAST
                break
            if m >= 0 and phase["policy"][AILERON] == FREE and abs(now[2]) > LET_GO:
                status = LET_GO_EARLY
                break
            top_speed = max(top_speed, felt)
            lowest = min(lowest, -x[2])
            # samples of a measured phase
            if m >= 0:
                while k_next < SAMPLES and n >= round((k_next + 1) * n_frames / SAMPLES):
                    for j in range(N_ERRORS):
                        errors[m, k_next, j] = now[j]
                    for j in range(5):
                        commands_at[m, k_next, j] = commands[j]
                    k_next += 1
                    done_samples = k_next
            if n == n_frames:
                break
            for j in range(N_ERRORS):
                last[j] = now[j]
            # the ideal moves on
            bank_step = clip(phase["bank"] - bank, -phase["bank_rate"] * frame, phase["bank_rate"] * frame)
            climb_step = clip(
                phase["climb"] - climb, -phase["climb_rate"] * frame, phase["climb_rate"] * frame
            )
            # what the pilot steers by: the same, with the path bent back to the height of the start
            steer = climb
            if phase["keep_height"]:
                steer += clip(HEIGHT_GAIN * (base + x[2]) / max(speed, 1.0), -0.1, 0.1)
            f0, f1, f2, f3 = path_frame(heading, steer, bank)
            canopy, wing, roll = path_errors(f0, f1, f2, f3, x[6], x[7], x[8], x[9], U, V, W)
            slot = row % delay
            if row == 0:
                for j in range(delay):
                    memory[j, SEEN_SPEED] = speed
            seen = memory[slot]
            bank_rate, climb_rate = bank_step / frame, climb_step / frame
            pilot(plane, phase, seen, bank, bank_rate, climb_rate, hold_speed, frame, kept, integral, sticks)
            seen[SEEN_CANOPY], seen[SEEN_WING], seen[SEEN_ROLL] = canopy, wing, roll
            seen[SEEN_SPEED], seen[SEEN_SLIP] = speed, beta
            for i in range(5):
                smooth[i] += (sticks[i] - smooth[i]) * min(frame / 0.4, 1.0)
            mix(plane, blends, sticks, level, added, phase["switch"], frame, held, commands, targets, lost)
            # the track
            if row < track.shape[0]:
                track[row, 0] = time
                for i in range(19):
                    track[row, 1 + i] = x[i]
                for i in range(5):
                    track[row, 20 + i] = sticks[i]
                    track[row, 25 + i] = commands[i]
                for i in range(N_ERRORS):
                    track[row, 30 + i] = now[i]
                track[row, 34], track[row, 35] = ph, m
                track[row, 36], track[row, 37] = felt, a_felt
            bank += bank_step
            climb += climb_step
            # fly, and the load factor along the canopy, mean over the frame
            _, _, gz = to_body(x[6], x[7], x[8], x[9], 0.0, 0.0, gravity(air, -x[2]))
            before, turning = x[5], x[10] * x[4] - x[11] * x[3]
            for k in range(substeps):
                if gusts.shape[0] > 0:
                    gust_at(gusts, row, (k + 0.5) / substeps, gust)
                rk4_step(plane, air, x, targets, gust, dt, slope, stage, total)
            load = -((x[5] - before) / frame + turning - gz) / 9.80665
            top_g, low_g = max(top_g, load), min(low_g, load)
            if row < track.shape[0]:
                track[row, 38] = load
            row += 1
            time += frame
        if status == FINISHED and phase["must_reach"]:
            off = abs(canopy) + abs(wing) + abs(roll)
            if off > LET_GO:
                status = NOT_REACHED
        if status != FINISHED:
            break

    # what was not flown: each error goes on at its exit rate, at most to the cap
    if status != FINISHED:
        for ph in range(done_phase, n_phases):
            m = phases[ph]["measured"]
            if m < 0:
                continue
            n_frames = max(round(phases[ph]["duration"] / frame), 1)
            first = done_samples if ph == done_phase else 0
            for k in range(first, SAMPLES):
                for j in range(N_ERRORS):
                    value = CAP
                    if ph == done_phase and math.isfinite(now[j]) and math.isfinite(last[j]):
                        ahead = (k + 1) * n_frames / SAMPLES - n_frames_done
                        value = clip(now[j] + (now[j] - last[j]) * ahead, -CAP, CAP)
                    errors[m, k, j] = value
                for j in range(5):
                    commands_at[m, k, j] = commands[j]
    end["status"] = status
    end["phase"] = done_phase
    end["time"] = time
    end["top_speed"], end["top_g"], end["low_g"] = top_speed, top_g, low_g
    end["lowest"], end["height_used"] = lowest, base - lowest
    end["lost_aileron"], end["lost_elevator"], end["lost_rudder"], end["lost_flap"] = (
        lost[0],
        lost[1],
        lost[2],
        lost[3],
    )


@kernel(parallel=True)
def fly_many(
    planes, airs, gusts, scripts, n_phases, blends, starts, index, frame, substeps,
    errors, commands, ends, tracks,
):  # fmt: skip
    """Fly a batch, flights shared out over the cores; each writes only to its own rows.

    ``index`` (n, 5) picks plane, air with its gusts, script, set of blends and start of each flight.
    """
    for i in numba.prange(index.shape[0]):
        fly_one(
            planes[index[i, 0]],
            airs[index[i, 1]],
            gusts[index[i, 1]],
            scripts[index[i, 2]],
            n_phases[index[i, 2]],
            blends[index[i, 3]],
            starts[index[i, 4]],
            frame,
            substeps,
            errors[i],
            commands[i],
            ends[i],
            tracks[i],
        )

"""One flight, frame by frame: see, end?, sample, pilot, mix; and what is written when it is over."""

from __future__ import annotations

import math

import numpy as np

from sixdof.flight.mixing import mix
from sixdof.flight.pilot import (
    AT_BANK,
    AT_CLIMB,
    AT_HEADING,
    AT_HEIGHT,
    FREE,
    HEIGHT_GAIN,
    N_SEEN,
    NEVER,
    SEEN_CANOPY,
    SEEN_ROLL,
    SEEN_SLIP,
    SEEN_SPEED,
    SEEN_WING,
    pilot,
)  # fmt: skip
from sixdof.physics.aero import flow_angles
from sixdof.physics.air import gravity, wind
from sixdof.physics.channels import AILERON
from sixdof.physics.compile import kernel
from sixdof.physics.constants import G0
from sixdof.physics.frames import bent_up, clip, path_errors, path_frame, to_body
from sixdof.physics.lanes import LANES, LANES_DTYPE, air_at
from sixdof.physics.record import N_STATE

MAX_PHASES = 20
MAX_MEASURED = 4
SAMPLES = 12  # of every measured phase, at fixed fractions
N_ERRORS = 4  # toward canopy, toward right wing, roll right, sideslip [rad]
CAP = math.radians(90.0)  # errors of an unfinished flight grow to here at most
FASTEST_TURN = math.radians(180.0)  # of an ideal heading that follows its bank [rad/s]
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

START_DTYPE = np.dtype([("state", "f8", (19,)), ("sticks", "f8", (5,)), ("speed", "f8"), ("bank", "f8")])

#: What a flight in the air remembers from frame to frame, its state apart.
FLIGHT_DTYPE = np.dtype(
    [
        ("number", "i8"),  # in the batch, -1 none
        ("status", "i8"),
        ("phase", "i8"),
        ("n", "i8"),  # frame of the phase
        ("row", "i8"),  # frame of the flight
        ("samples", "i8"),  # taken of this phase
        ("time", "f8"),  # s
        ("base", "f8"),  # height of the start [m]
        ("speed", "f8"),  # to hold [m/s]
        ("since", "f8"),  # height at the start of the phase [m]
        ("way", "f8"),  # 1 or -1: what ends the phase is reached from below or from above
        ("heading", "f8"),  # of the ideal path [rad]
        ("climb", "f8"),
        ("bank", "f8"),
        ("w", "f8"),  # at the start of the frame [m/s]
        ("pull", "f8"),  # acceleration along body z there by turning, less gravity [m/s2]
        ("entry", "f8", (N_ERRORS,)),  # errors at the start of the phase
        ("now", "f8", (N_ERRORS,)),
        ("last", "f8", (N_ERRORS,)),  # a frame ago
        ("sticks", "f8", (5,)),
        ("kept", "f8", (5,)),
        ("smooth", "f8", (5,)),
        ("integral", "f8", (5,)),
        ("commands", "f8", (5,)),
        ("held", "f8", (5,)),
        ("lost", "f8", (4,)),
        ("top_speed", "f8"),
        ("top_g", "f8"),
        ("low_g", "f8"),
        ("lowest", "f8"),
    ]
)


#: Lanes with what a frame needs side by side.  Of the ideal path: its quaternion, sine and cosine of its bank, cosine
#: of its climb, the height to keep [m].  Seen: U, V, W [m/s], speed, angle of attack, sideslip; errors toward canopy,
#: right wing and roll right [rad] of the way over the ground, about the ideal path, then about the same bent back to the
#: height to keep; speed over the ground.
WORK_DTYPE = np.dtype([*LANES_DTYPE.descr, ("ideal", "f8", (8, LANES)), ("seen", "f8", (13, LANES))])


@kernel
def gust_at(gusts, row, part, gust):
    """Gust (6) at a part of the way from one row to the next."""
    last = gusts.shape[0] - 1
    a, b = min(row, last), min(row + 1, last)
    for i in range(6):
        gust[i] = gusts[a, i] + part * (gusts[b, i] - gusts[a, i])


@kernel
def growing(gusts, row, k, steps, gust, growth):
    """Gust (6) as step k of a frame begins, and how much it grows in that step (6)."""
    gust_at(gusts, row, (k + 1.0) / steps, growth)
    gust_at(gusts, row, k / steps, gust)
    for i in range(6):
        growth[i] -= gust[i]


@kernel
def frames_in(phase, frame):
    """Radio frames of a phase."""
    return max(round(phase["duration"] / frame), 1)


@kernel
def way_to(phase, heading, climb, bank):
    """From which side that is reached which ends a phase: 1 from below, -1 from above."""
    if phase["until_way"] != 0.0:
        return phase["until_way"]
    begins = bank if phase["until"] == AT_BANK else climb if phase["until"] == AT_CLIMB else heading
    return 1.0 if phase["until_value"] > begins else -1.0


@kernel
def is_met(phase, way, heading, climb, bank, canopy, wing, roll, gained, speed):
    """Whether that has come which ends a phase before its time.

    Parameters
    ----------
    way : float
        See :func:`way_to`.
    heading, climb, bank : float [rad]
        Of the ideal path.
    canopy, wing, roll : float [rad]
        What the airplane is off by; ``roll`` through whole turns.
    gained : float [m]
        Height since the phase began.
    speed : float
        Over the speed to hold.
    """
    until, value = phase["until"], speed
    if until == AT_BANK:
        value = bank + roll
    elif until == AT_HEADING:
        value = heading + (canopy * math.sin(bank) + wing * math.cos(bank)) / math.cos(climb)
    elif until == AT_CLIMB:
        value = climb + canopy * math.cos(bank) - wing * math.sin(bank)
    elif until == AT_HEIGHT:
        value = gained
    return way * (value - phase["until_value"]) >= 0.0


@kernel
def heading_rate(phase, bank, speed, g):
    """How fast the ideal heading moves [rad/s]: as the phase says, or as a bank turns level flight, g tan(bank) over the speed
    over the ground."""
    if phase["heading_rate"] > 0.0:
        return phase["heading_rate"]
    return min(abs(g * math.tan(bank)) / max(speed, 1.0), FASTEST_TURN)


@kernel
def see(airs, work, n):
    """See where the flight in lane n is: its motion through the mean wind, and how far off the ideal its way over the
    ground is.

    Nobody sees a gust, only what it does.

    Parameters
    ----------
    airs : array (fields, LANES)
        Numbers of the records, a column a flight.
    work : record
        :data:`WORK_DTYPE`: ``seen`` is written.
    n : int
    """
    x, ideal, seen = work["x"], work["ideal"], work["seen"]
    wn, we, wd = wind(air_at(airs, n), -x[2, n])
    ax, ay, az = to_body(x[6, n], x[7, n], x[8, n], x[9, n], wn, we, wd)
    U, V, W = x[3, n] - ax, x[4, n] - ay, x[5, n] - az
    speed, alpha, beta, _, _ = flow_angles(U, V, W)
    u, v, w = x[3, n], x[4, n], x[5, n]
    ground, _, _, _, _ = flow_angles(u, v, w)
    f0, f1, f2, f3 = ideal[0, n], ideal[1, n], ideal[2, n], ideal[3, n]
    bend = clip(HEIGHT_GAIN * (ideal[7, n] + x[2, n]) / max(ground, 1.0), -0.1, 0.1)
    b0, b1, b2, b3 = bent_up(f0, f1, f2, f3, ideal[4, n], ideal[5, n], ideal[6, n] * bend)
    seen[0, n], seen[1, n], seen[2, n], seen[3, n], seen[4, n], seen[5, n] = U, V, W, speed, alpha, beta
    seen[6, n], seen[7, n], seen[8, n] = path_errors(
        f0, f1, f2, f3, x[6, n], x[7, n], x[8, n], x[9, n], u, v, w
    )
    seen[9, n], seen[10, n], seen[11, n] = path_errors(
        b0, b1, b2, b3, x[6, n], x[7, n], x[8, n], x[9, n], u, v, w
    )
    seen[12, n] = ground


@kernel
def set_ideal(flight, ideal, heading, climb, bank):
    """Move the ideal path to these angles [rad]."""
    flight["heading"], flight["climb"], flight["bank"] = heading, climb, bank
    ideal[0], ideal[1], ideal[2], ideal[3] = path_frame(heading, climb, bank)
    ideal[4], ideal[5], ideal[6] = math.sin(bank), math.cos(bank), math.cos(climb)


@kernel
def crabbed(q0, q1, q2, q3, drift):
    """Attitude turned into the wind, about the vertical, by the angle whose sine is ``drift``: speed of the wind to the right
    of the line over that of the airplane."""
    sine = clip(drift, -1.0, 1.0)
    c = math.sqrt(0.5 + 0.5 * math.sqrt(1.0 - sine * sine))  # of half the angle
    s = -0.5 * sine / c
    return q0 * c - q3 * s, q1 * c - q2 * s, q2 * c + q1 * s, q3 * c + q0 * s


@kernel
def begin(air, start, number, flight, level, added, memory, ideal, x):
    """Put a flight at its start: state x (19), and what it remembers; crabbed, so that the wind leaves it on its line."""
    for i in range(N_STATE):
        x[i] = start["state"][i]
    wn, we, wd = wind(air, -x[2])
    x[6], x[7], x[8], x[9] = crabbed(
        x[6], x[7], x[8], x[9], we / math.sqrt(x[3] * x[3] + x[4] * x[4] + x[5] * x[5])
    )
    ax, ay, az = to_body(x[6], x[7], x[8], x[9], wn, we, wd)
    x[3], x[4], x[5] = x[3] + ax, x[4] + ay, x[5] + az
    flight["number"], flight["status"] = number, FINISHED
    flight["phase"] = flight["n"] = flight["row"] = flight["samples"] = 0
    flight["time"] = 0.0
    set_ideal(flight, ideal, 0.0, 0.0, start["bank"])
    ideal[7] = -x[2]
    flight["top_speed"], flight["top_g"], flight["low_g"] = 0.0, 0.0, 10.0
    flight["base"] = flight["lowest"] = -x[2]
    flight["speed"] = start["speed"]
    for i in range(N_ERRORS):
        flight["entry"][i] = flight["now"][i] = flight["last"][i] = 0.0
    for i in range(5):
        stick = start["sticks"][i]
        flight["sticks"][i] = flight["kept"][i] = flight["smooth"][i] = flight["integral"][i] = stick
        flight["commands"][i] = 0.0
        flight["held"][i] = x[13 + i]
    for i in range(4):
        flight["lost"][i] = 0.0
    for i in range(level.shape[0]):
        level[i], added[i] = -1.0, 0.0
    for k in range(memory.shape[0]):
        for j in range(N_SEEN):
            memory[k, j] = 0.0


@kernel
def how_it_ends(plane, flight, phase, gusts, gust, x, U, V, W, speed, alpha, beta):
    """How a flight ends here, :data:`FINISHED` where it goes on; speed and angle of attack in the flow with its gust.

    U, V, W, speed, alpha and beta are those through the mean wind.
    """
    felt, a_felt, b_felt = speed, alpha, beta
    if gusts.shape[0] > 0:
        gust_at(gusts, flight["row"], 0.0, gust)
        ax, ay, az = to_body(x[6], x[7], x[8], x[9], gust[0], gust[1], gust[2])
        felt, a_felt, b_felt, _, _ = flow_angles(U - ax, V - ay, W - az)
    status = FINISHED
    if not (math.isfinite(speed) and math.isfinite(x[2]) and math.isfinite(x[10] + x[11] + x[12])):
        status = NOT_FINITE
    elif -x[2] <= 0.0:
        status = GROUND
    elif a_felt < plane["alpha_min"] or a_felt > plane["alpha_max"]:
        status = ALPHA_OUT
    elif abs(b_felt) > plane["beta_max"]:
        status = BETA_OUT
    elif felt > plane["never_exceed"]:
        status = TOO_FAST
    elif phase["measured"] >= 0 and phase["policy"][AILERON] == FREE and abs(flight["now"][2]) > LET_GO:
        status = LET_GO_EARLY
    return status, felt, a_felt


@kernel
def take_samples(flight, m, n_frames, errors, commands_at):
    """Errors and commands of a measured phase at its fixed fractions, as far as it has come."""
    now, commands = flight["now"], flight["commands"]
    while flight["samples"] < SAMPLES:
        k = flight["samples"]
        if flight["n"] < round((k + 1) * n_frames / SAMPLES):
            break
        for j in range(N_ERRORS):
            errors[m, k, j] = now[j]
        for j in range(5):
            commands_at[m, k, j] = commands[j]
        flight["samples"] = k + 1


@kernel
def fly_on(
    plane, air, phase, blends, frame, flight, level, added, memory, ideal, seen, x, targets,
):  # fmt: skip
    """The pilot steers by the ideal, the blends make targets of the sticks, the ideal moves on.

    The ideal is a way over the ground, which crabbing keeps.  What turns it by an angle turns the way through the air by
    ``ground/speed`` of that.
    """
    row, bank, climb, heading = flight["row"], flight["bank"], flight["climb"], flight["heading"]
    side, upright, across = (
        ideal[4],
        ideal[5],
        ideal[6],
    )  # across: share of gravity that pulls across the path
    speed, beta, ground = seen[3], seen[5], seen[12]
    share = ground / speed
    bank_step = clip(phase["bank"] - bank, -phase["bank_rate"] * frame, phase["bank_rate"] * frame)
    most = (ground / phase["radius"] if phase["radius"] > 0.0 else phase["climb_rate"]) * frame
    climb_step = clip(phase["climb"] - climb, -most, most)
    heading_step = 0.0
    if phase["heading"] != heading:
        most = heading_rate(phase, bank, ground, gravity(air, -x[2])) * frame
        heading_step = clip(phase["heading"] - heading, -most, most)
    # the pilot steers by the same errors, with the path bent back to the height to keep
    steer = 9 if phase["keep_height"] else 6
    if row == 0:
        for k in range(memory.shape[0]):
            memory[k, SEEN_SPEED] = speed
    then, sticks = memory[row % memory.shape[0]], flight["sticks"]
    pilot(
        plane, phase, then, side, upright, across, bank_step / frame, share * (climb_step / frame),
        share * (across * heading_step / frame), flight["speed"], frame, flight["kept"], flight["integral"], sticks,
    )  # fmt: skip
    then[SEEN_CANOPY], then[SEEN_WING], then[SEEN_ROLL] = (
        share * seen[steer],
        share * seen[steer + 1],
        seen[steer + 2],
    )
    then[SEEN_SPEED], then[SEEN_SLIP] = speed, beta
    smooth = flight["smooth"]
    for i in range(5):
        smooth[i] += (sticks[i] - smooth[i]) * min(frame / 0.4, 1.0)
    mix(
        plane, blends, sticks, level, added, phase["switch"], frame, flight["held"], flight["commands"], targets,
        flight["lost"],
    )  # fmt: skip
    if bank_step != 0.0 or climb_step != 0.0 or heading_step != 0.0:
        set_ideal(flight, ideal, heading + heading_step, climb + climb_step, bank + bank_step)


@kernel
def write_row(row, flight, x, measured, speed, alpha):
    """A row of the track, all but its load factor."""
    row[0] = flight["time"]
    for i in range(N_STATE):
        row[1 + i] = x[i]
    for i in range(5):
        row[20 + i] = flight["sticks"][i]
        row[25 + i] = flight["commands"][i]
    for i in range(N_ERRORS):
        row[30 + i] = flight["now"][i]
    row[34], row[35] = flight["phase"], measured
    row[36], row[37] = speed, alpha


@kernel
def write_last(track, flight, x, measured, speed, alpha):
    """The row of the moment in which a flight ends: sticks, commands and load factor are those of the frame before."""
    row = flight["row"]
    if row < track.shape[0]:
        write_row(track[row], flight, x, measured, speed, alpha)
        track[row, 38] = track[max(row - 1, 0), 38]


@kernel
def look(
    plane, air, gusts, phases, n_phases, blends, frame, flight, level, added, memory, ideal, seen, gust, x, targets,
    errors, commands_at, track,
):  # fmt: skip
    """All that comes before the steps of a frame; False once the flight is over.

    Parameters
    ----------
    gusts : array (rows, 6) [m/s, rad/s]
        Velocity and turning of the air beyond the wind, each north, east, down; a row at the start of
        each radio frame, the last row goes on.  No row: none.
    phases : records (MAX_PHASES,)
    blends : records (n,)
    frame : float [s]
        Radio frame.
    flight : record
        :data:`FLIGHT_DTYPE`, moved on here.
    level, added : arrays (n,)
        Of the blends, see :func:`sixdof.flight.mixing.mix`.
    memory : array (delay, N_SEEN)
        What the pilot saw lately.
    ideal, seen : arrays (8,), (13,)
        See :data:`WORK_DTYPE`; the ideal is moved on here.
    gust : array (6)
        Work array.
    x : array (19)
    targets : array (6)
        Out: surfaces [rad] and throttle for this frame.
    errors, commands_at, track : arrays
        Out, see :func:`sixdof.flight.loop.fly_many`.
    """
    entry, now, last = flight["entry"], flight["now"], flight["last"]
    row, bank, climb, heading = flight["row"], flight["bank"], flight["climb"], flight["heading"]
    U, V, W, speed, alpha, beta = seen[0], seen[1], seen[2], seen[3], seen[4], seen[5]
    canopy, wing, roll = seen[6], seen[7], seen[8]
    while True:
        phase = phases[flight["phase"]]
        m, n, n_frames = phase["measured"], flight["n"], frames_in(phase, frame)
        if n == 0:
            flight["samples"] = 0
            flight["since"], flight["way"] = -x[2], way_to(phase, heading, climb, bank)
            for i in range(5):
                flight["kept"][i] = flight["smooth"][i]
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
        status, felt, a_felt = how_it_ends(plane, flight, phase, gusts, gust, x, U, V, W, speed, alpha, beta)
        if status != FINISHED:
            flight["status"] = status
            if status != NOT_FINITE:
                write_last(track, flight, x, m, felt, a_felt)
            return False
        flight["top_speed"] = max(flight["top_speed"], felt)
        flight["lowest"] = min(flight["lowest"], -x[2])
        if m >= 0:
            take_samples(flight, m, n_frames, errors, commands_at)
        met = phase["until"] != NEVER and is_met(
            phase, flight["way"], heading, climb, bank, canopy, wing, entry[2] + now[2],
            -x[2] - flight["since"], speed / flight["speed"],
        )  # fmt: skip
        if n < n_frames and not met:
            break
        # the phase is over
        missed = abs(canopy) + abs(wing) + abs(roll) > LET_GO or (phase["until"] != NEVER and not met)
        not_reached = phase["must_reach"] and missed
        if not_reached or flight["phase"] + 1 == n_phases:
            flight["status"] = NOT_REACHED if not_reached else FINISHED
            write_last(track, flight, x, m, felt, a_felt)
            return False
        flight["phase"], flight["n"] = flight["phase"] + 1, 0
    for j in range(N_ERRORS):
        last[j] = now[j]
    fly_on(
        plane, air, phase, blends, frame, flight, level, added, memory, ideal, seen, x, targets
    )  # fmt: skip
    if row < track.shape[0]:
        write_row(track[row], flight, x, m, felt, a_felt)
    _, _, gz = to_body(x[6], x[7], x[8], x[9], 0.0, 0.0, gravity(air, -x[2]))
    flight["w"], flight["pull"] = x[5], x[10] * x[4] - x[11] * x[3] - gz
    return True


@kernel
def step_on(flight, frame, x, track):
    """After the steps of a frame: the load factor along the canopy, mean over the frame, and the clock."""
    load = -((x[5] - flight["w"]) / frame + flight["pull"]) / G0
    flight["top_g"], flight["low_g"] = max(flight["top_g"], load), min(flight["low_g"], load)
    if flight["row"] < track.shape[0]:
        track[flight["row"], 38] = load
    flight["row"] += 1
    flight["n"] += 1
    flight["time"] += frame


@kernel
def close(phases, n_phases, frame, flight, errors, commands_at, end):
    """Write how a flight ended; what was not flown: each error goes on at its exit rate, at most to the cap."""
    now, last, done_phase = flight["now"], flight["last"], flight["phase"]
    if flight["status"] != FINISHED:
        for ph in range(done_phase, n_phases):
            m = phases[ph]["measured"]
            if m < 0:
                continue
            first = flight["samples"] if ph == done_phase else 0
            for k in range(first, SAMPLES):
                for j in range(N_ERRORS):
                    value = CAP
                    if ph == done_phase and math.isfinite(now[j]) and math.isfinite(last[j]):
                        ahead = (k + 1) * frames_in(phases[ph], frame) / SAMPLES - flight["n"]
                        value = clip(now[j] + (now[j] - last[j]) * ahead, -CAP, CAP)
                    errors[m, k, j] = value
                for j in range(5):
                    commands_at[m, k, j] = flight["commands"][j]
    end["status"], end["phase"], end["time"] = flight["status"], done_phase, flight["time"]
    end["top_speed"], end["top_g"], end["low_g"] = flight["top_speed"], flight["top_g"], flight["low_g"]
    end["lowest"], end["height_used"] = flight["lowest"], flight["base"] - flight["lowest"]
    lost = flight["lost"]
    end["lost_aileron"], end["lost_elevator"], end["lost_rudder"], end["lost_flap"] = (
        lost[0],
        lost[1],
        lost[2],
        lost[3],
    )

"""From sticks to surfaces, once a radio frame: curves, blends, trims, travel ends, linkage.

A blend adds an amount to its target **in the target's own sense** (+ right aileron,
up elevator, right rudder), as a share of the target's full throw in that direction,
interpolated between points over the position of its source.
"""

from __future__ import annotations

import numpy as np

from sixdof.physics.channels import AILERON, ELEVATOR, FLAP, RUDDER, THROTTLE
from sixdof.physics.compile import kernel
from sixdof.physics.frames import clip
from sixdof.physics.servo import held_target

MAX_POINTS = 21  # as many as an aircraft file may give

BLEND_DTYPE = np.dtype(
    [
        ("source", "i8"),
        ("target", "i8"),
        ("points", "i8"),  # how many of the points below count; 0: no blend
        ("position", "f8", (MAX_POINTS,)),
        ("amount", "f8", (MAX_POINTS,)),
        ("on", "i8"),  # obeys the blend switch; 0: switched off for good
        ("ramp", "f8"),  # time to come in or go out [s]
        ("gate", "i8"),  # channel that opens it, -1 none
        ("gate_low", "f8"),  # open while the channel stands between these
        ("gate_high", "f8"),
        ("counts_trim", "i8"),
        ("reads_stick", "i8"),  # before rates and expo
        ("after", "i8"),  # bit i: sees in its source what blend i, which stands before it, adds there
    ]
)


@kernel
def amount_at(blend, position):
    """Amount a blend adds at a position of its source: straight lines between the points."""
    n = blend["points"]
    xs = blend["position"]
    ys = blend["amount"]
    if position <= xs[0]:
        return ys[0]
    for i in range(1, n):
        if position <= xs[i]:
            share = (position - xs[i - 1]) / (xs[i] - xs[i - 1])
            return ys[i - 1] + share * (ys[i] - ys[i - 1])
    return ys[n - 1]


@kernel
def curve(stick, expo):
    """Command of a stick after its curve: a share of cubic."""
    return (1.0 - expo) * stick + expo * stick * stick * stick


@kernel
def stick_for(command, expo):
    """Stick position whose curve gives the command.

    Newton's method on a monotone cubic, from a straight line that is never short of the answer:
    from there on it only comes closer, each time by the square.
    """
    x = clip(command / (1.0 - expo + expo * command * command + 1e-12), -1.0, 1.0)
    for _ in range(40):
        move = (curve(x, expo) - command) / (1.0 - expo + 3.0 * expo * x * x + 1e-12)
        x -= move
        if abs(move) < 1e-9:
            break
    return clip(x, -1.0, 1.0)


@kernel
def sticks_for(commands, expos, sticks):
    """The same for many commands, arrays (n,)."""
    for i in range(commands.size):
        sticks[i] = stick_for(commands[i], expos[i])


@kernel
def throws(plane, aileron, elevator, rudder, flap, out):
    """Surfaces [rad] for commands in [-1, 1], flap [0, 1]: the linkage, the only place that knows signs."""
    up, down = plane["aileron_up"], plane["aileron_down"]
    out[0] = -up * aileron if aileron > 0.0 else -down * aileron
    out[1] = down * aileron if aileron > 0.0 else up * aileron
    out[2] = -plane["elevator_up"] * elevator if elevator > 0.0 else -plane["elevator_down"] * elevator
    out[3] = -plane["rudder_right"] * rudder if rudder > 0.0 else -plane["rudder_left"] * rudder
    out[4] = plane["flap_down"] * flap


@kernel
def mix(plane, blends, sticks, level, added, switch, dt, held, commands, targets, lost):
    """One radio frame: sticks to targets.

    Parameters
    ----------
    sticks : array (5,)
        Aileron, elevator, rudder in [-1, 1], flap, throttle in [0, 1].
    level : array (n_blends,)
        How far each blend has come in, moved on here; negative: not begun.
    added : array (n_blends,)
        Out: what each blend adds to its target.
    switch : float
        1 with the blend switch on, 0 off.
    dt : float [s]
        Radio frame.
    held : array (5,)
        Where slop left each surface [rad], moved on here.
    commands : array (5,)
        Commands after the curves, before blends; that of the flap is moved on here.
    targets : array (6,)
        Out: surfaces [rad] and throttle.
    lost : array (4,)
        Time [s] that aileron, elevator, rudder and flap each were commanded past full travel; added to.
    """
    trim_a, trim_e, trim_r = plane["aileron_trim"], plane["elevator_trim"], plane["rudder_trim"]
    commands[AILERON] = curve(sticks[AILERON], plane["aileron_expo"])
    commands[ELEVATOR] = curve(sticks[ELEVATOR], plane["elevator_expo"])
    commands[RUDDER] = curve(sticks[RUDDER], plane["rudder_expo"])
    # the flap goes down as fast as it can and no faster, so that what reads it moves in time with it
    flap_move = plane["flap_rate"] * dt / plane["flap_down"] if plane["flap_down"] > 0.0 else 1.0
    commands[FLAP] += clip(sticks[FLAP] - commands[FLAP], -flap_move, flap_move)
    commands[THROTTLE] = sticks[THROTTLE]
    a, e, r, f = commands[AILERON], commands[ELEVATOR], commands[RUDDER], commands[FLAP]
    for i in range(blends.shape[0]):
        blend = blends[i]
        if blend["points"] == 0:
            continue
        wanted = switch * blend["on"]
        gate = blend["gate"]
        if gate >= 0 and not (blend["gate_low"] <= commands[gate] <= blend["gate_high"]):
            wanted = 0.0
        step = dt / blend["ramp"] if blend["ramp"] > dt else 1.0
        level[i] = wanted if level[i] < 0.0 else level[i] + clip(wanted - level[i], -step, step)
        source = blend["source"]
        position = commands[source]
        if blend["reads_stick"]:
            position = sticks[source]
        for j in range(i):
            if blend["after"] >> j & 1 and blends[j]["target"] == source:
                position += added[j]
        if blend["counts_trim"]:
            position += (trim_a, trim_e, trim_r, 0.0, 0.0)[source]
        amount = level[i] * amount_at(blend, position)
        added[i] = amount
        target = blend["target"]
        if target == AILERON:
            a += amount
        elif target == ELEVATOR:
            e += amount
        elif target == RUDDER:
            r += amount
        else:
            f += amount
    a += trim_a
    e += trim_e
    r += trim_r
    lost[0] += dt if abs(a) > 1.0 else 0.0
    lost[1] += dt if abs(e) > 1.0 else 0.0
    lost[2] += dt if abs(r) > 1.0 else 0.0
    lost[3] += dt if f < 0.0 or f > 1.0 else 0.0
    throws(plane, clip(a, -1.0, 1.0), clip(e, -1.0, 1.0), clip(r, -1.0, 1.0), clip(f, 0.0, 1.0), targets)
    held[0] = held_target(targets[0], held[0], plane["aileron_slop"], plane["aileron_step"])
    held[1] = held_target(targets[1], held[1], plane["aileron_slop"], plane["aileron_step"])
    held[2] = held_target(targets[2], held[2], plane["elevator_slop"], plane["elevator_step"])
    held[3] = held_target(targets[3], held[3], plane["rudder_slop"], plane["rudder_step"])
    held[4] = held_target(targets[4], held[4], plane["flap_slop"], plane["flap_step"])
    for i in range(5):
        targets[i] = held[i]
    targets[5] = commands[THROTTLE]

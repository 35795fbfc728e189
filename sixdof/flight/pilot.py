"""The scripted pilot: what a practiced human does with the sticks, once a radio frame.

Sees the airplane a tenth of a second late, moves a stick at a limited rate, steers by
the same three errors that the deviation is made of (toward canopy, toward a wing, roll; of the way
over the ground, so that he crabs in wind),
and knows about how much rudder the airplane wants in knife-edge.
"""

from __future__ import annotations

import math

import numpy as np

from sixdof.flight.mixing import stick_for
from sixdof.physics.air import G0
from sixdof.physics.channels import AILERON, ELEVATOR, FLAP, RUDDER, THROTTLE
from sixdof.physics.compile import kernel
from sixdof.physics.frames import clip

#: What a phase asks of a stick.
FREE, FIXED, KEPT, HELD, SLIP = range(5)
#: What ends a phase before its time is up.
NEVER, AT_BANK, AT_HEADING, AT_CLIMB, AT_HEIGHT, AT_SPEED = range(6)

# A practiced human.  No source: chosen so that airplanes of 1 to 3 m settle without a swing.
DELAY = 0.10  # reaction [s]
STICK_SPEED = 5.0  # full throws a second
BANK_GAIN = 3.0  # roll rate asked per bank error [1/s]
PATH_GAIN = 1.5  # turn of the path asked per path error, by elevator [1/s]
WING_GAIN = 1.2  # the same by rudder, whose path answers later
INTEGRAL = 0.3  # of the gain, a second
WING_INTEGRAL = 0.12  # the same for the rudder: faster, it swings where the side force is weak
SLIP_GAIN = 0.6  # rudder per sideslip [1/rad], where sideslip is to be held at none
HEIGHT_GAIN = 0.35  # climb asked per height lost, over the speed [1/s]
FORGET = 0.2  # time in which a stick held for one attitude is let go in a roll [s]
SPEED_GAIN = 0.12  # throttle per m/s
MAX_ROLL = math.radians(300.0)  # roll rate a pilot asks for [rad/s]

#: Columns of what the pilot sees.
SEEN_CANOPY, SEEN_WING, SEEN_ROLL, SEEN_SPEED, SEEN_SLIP = range(5)
N_SEEN = 5

PHASE_DTYPE = np.dtype(
    [
        ("duration", "f8"),  # s, at most
        ("until", "i8"),  # what ends it before that
        ("until_value", "f8"),  # rad, m gained, or share of the speed held
        ("until_way", "f8"),  # 1 reached from below, -1 from above, 0 from where the phase begins
        ("measured", "i8"),  # number of the measured phase, -1 none
        ("must_reach", "i8"),  # the ideal attitude must be met at the end, and what ends it
        ("heading", "f8"),  # ideal path and bank at the end of the move [rad]
        ("climb", "f8"),
        ("bank", "f8"),
        ("radius", "f8"),  # of the path as it climbs [m]; 0: at the rate below
        ("climb_rate", "f8"),  # how fast the ideal moves there [rad/s]
        ("bank_rate", "f8"),
        ("heading_rate", "f8"),  # 0: as fast as the bank turns level flight
        ("keep_height", "i8"),  # steer the path to stay at the height of the start
        ("policy", "i8", (5,)),  # of aileron, elevator, rudder, flap, throttle
        ("value", "f8", (5,)),
        ("switch", "f8"),  # blend switch
        ("score", "f8", (4,)),  # which errors count: canopy, wing, roll, sideslip
    ]
)


@kernel
def pilot(
    plane, phase, seen, side, upright, across, bank_rate, climb_rate, yaw_rate, speed, dt, kept, integral, sticks
):  # fmt: skip
    """Move the sticks (5) for one radio frame, in place.

    Parameters
    ----------
    seen : array (5,)
        What the pilot saw a reaction time ago: errors toward canopy, right wing, roll right [rad], the first two as
        turns of the way through the air that undo them, airspeed [m/s], sideslip [rad].
    side, upright : float
        Sine and cosine of the ideal bank: right wing down, top rudder is left.
    across : float
        Share of gravity that pulls across the ideal path: cosine of its climb.
    bank_rate, climb_rate, yaw_rate : float [rad/s]
        How fast ideal bank and climb move, and the ideal path to the right before it is banked; the path through the air.
    speed : float [m/s]
        Speed to hold.
    kept : array (5,)
        Stick positions kept from the last phase.
    integral : array (5,)
        What the pilot has learned to hold, stick units; moved on here.
    """
    slower = plane["cruise"] / max(seen[SEEN_SPEED], 0.3 * plane["cruise"])
    # what of gravity the fuselage must carry, in g: all that does not go into turning the path
    wing_turn = yaw_rate * upright - climb_rate * side
    carried = across * side - seen[SEEN_SPEED] * wing_turn / G0
    knife = plane["knife_rudder_left"] if carried > 0.0 else plane["knife_rudder_right"]
    if bank_rate != 0.0:  # in a roll, what was held for the old attitude is let go
        integral[ELEVATOR] -= integral[ELEVATOR] * dt / FORGET
        integral[RUDDER] -= integral[RUDDER] * dt / FORGET
    for channel in range(5):
        policy = phase["policy"][channel]
        wanted = 0.0
        if policy == FIXED:
            wanted = phase["value"][channel]
        elif policy == KEPT:
            wanted = kept[channel]
        elif policy >= HELD:
            low, high = -1.0, 1.0
            if channel == AILERON:
                full = plane["roll_rate"] / slower
                rate = clip(bank_rate - BANK_GAIN * seen[SEEN_ROLL], -MAX_ROLL, MAX_ROLL)
                integral[channel] -= INTEGRAL * BANK_GAIN * seen[SEEN_ROLL] / full * dt
                wanted = rate / full + integral[channel]
            elif channel == ELEVATOR:
                full = plane["canopy_rate"] / slower
                integral[channel] -= INTEGRAL * PATH_GAIN * seen[SEEN_CANOPY] / full * dt
                turn = climb_rate * upright + yaw_rate * side - PATH_GAIN * seen[SEEN_CANOPY]
                wanted = turn / full + integral[channel]
                wanted += plane["inverted_elevator"] * 0.5 * (1.0 - upright) * (1.0 - abs(side))
            elif channel == RUDDER:
                full = plane["wing_rate"] / slower
                if policy == SLIP:
                    # wind from the right: right rudder brings the nose into it
                    integral[channel] += INTEGRAL * SLIP_GAIN * seen[SEEN_SLIP] * dt
                    wanted = SLIP_GAIN * seen[SEEN_SLIP] + integral[channel]
                else:
                    integral[channel] -= WING_INTEGRAL * WING_GAIN * seen[SEEN_WING] / full * dt
                    wanted = -WING_GAIN * seen[SEEN_WING] / full + integral[channel]
                    wanted += knife * abs(carried)
            elif channel == THROTTLE:
                low = 0.0
                lag = speed - seen[SEEN_SPEED]
                integral[channel] = clip(integral[channel] + 0.5 * SPEED_GAIN * lag * dt, 0.0, 1.0)
                wanted = SPEED_GAIN * lag + integral[channel]
            else:
                low = 0.0
                wanted = kept[channel]
            if channel <= RUDDER:
                integral[channel] = clip(integral[channel], -0.8, 0.8)
                expo = (plane["aileron_expo"], plane["elevator_expo"], plane["rudder_expo"])[channel]
                wanted = stick_for(clip(wanted, -1.0, 1.0), expo)
            wanted = clip(wanted, low, high)
        if policy == FREE and channel >= FLAP:
            wanted = kept[channel]
        move = STICK_SPEED * dt
        sticks[channel] += clip(wanted - sticks[channel], -move, move)

"""Channels of the transmitter and their numbers in records."""

from __future__ import annotations

AILERON, ELEVATOR, RUDDER, FLAP, THROTTLE = range(5)
CHANNELS = ("aileron", "elevator", "rudder", "flap", "throttle")
#: Those that move a surface.
SURFACES = CHANNELS[:THROTTLE]
NUMBER = {name: i for i, name in enumerate(CHANNELS)}

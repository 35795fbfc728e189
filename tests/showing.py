"""What the tests of pictures share: an airplane and made-up flights."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from sixdof.airframe.load import load_airframe
from sixdof.airframe.model import Airframe
from sixdof.flight.frame import TRACK_NAMES
from sixdof.show.flown import ShownFlight, straight_on

AIRCRAFT = Path(__file__).resolve().parent.parent / "aircraft"
PHASES = ("level", "roll in", "knife-edge")
_AT = {name: i for i, name in enumerate(TRACK_NAMES)}


def airplane(name: str = "corvane") -> Airframe:
    """A demo airplane."""
    return load_airframe(AIRCRAFT / f"{name}.yaml")


def knife_edge(
    drift: float, *, height: float = 100.0, speed: float = 25.0, frame: float = 0.02
) -> np.ndarray:
    """Track north: 1 s level, 1 s roll in to left wing down, 3 s knife-edge that turns west, its canopy's side.

    drift : float [rad/s]
        Turn of the path toward the canopy.
    """
    time = np.arange(0.0, 5.0, frame)
    track = np.zeros((len(time), len(TRACK_NAMES)))
    track[:, _AT["time"]] = time
    bank = -0.5 * np.pi * np.clip(time - 1.0, 0.0, 1.0)
    let_go = np.clip(time - 2.0, 0.0, None)
    heading = -drift * let_go
    track[:, _AT["q0"]] = np.cos(heading / 2) * np.cos(bank / 2)
    track[:, _AT["q1"]] = np.cos(heading / 2) * np.sin(bank / 2)
    track[:, _AT["q2"]] = np.sin(heading / 2) * np.sin(bank / 2)
    track[:, _AT["q3"]] = np.sin(heading / 2) * np.cos(bank / 2)
    track[:, _AT["u"]] = track[:, _AT["speed"]] = speed
    track[:, _AT["north"]] = np.cumsum(speed * frame * np.cos(heading)) - speed * frame
    track[:, _AT["east"]] = np.cumsum(speed * frame * np.sin(heading))
    track[:, _AT["down"]] = -height
    track[:, _AT["toward_canopy"]] = drift * let_go
    track[:, _AT["phase"]] = np.digitize(time, (1.0 - 1e-9, 2.0 - 1e-9))
    track[:, _AT["measured"]] = np.where(track[:, _AT["phase"]] == 2, 0.0, -1.0)
    track[:, _AT["rudder"]] = -0.5 * np.clip(time - 1.0, 0.0, 1.0)
    return track


def two_flights() -> list[ShownFlight]:
    """The same knife-edge bare and with blends."""
    bare, blended = knife_edge(0.10), knife_edge(0.01)
    return [
        ShownFlight("right-rudder knife-edge", bare, "bare", straight_on(bare), PHASES),
        ShownFlight("right-rudder knife-edge", blended, "blended", None, PHASES),
    ]

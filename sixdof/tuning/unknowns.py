"""The ratios that are looked for, and the blends they make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sixdof.airframe.blendfile import THROTTLE_BAND
from sixdof.airframe.blends import BlendSpec
from sixdof.files.errors import InputError, nearest
from sixdof.flight.channels import NUMBER

#: Blends that can be tuned, the sides of each, and the largest ratio that is looked at.
TUNABLE: dict[str, tuple[tuple[str, ...], float]] = {
    "rudder-elevator": (("right", "left"), 0.40),
    "rudder-aileron": (("right", "left"), 0.40),
    "aileron-rudder": (("right", "left"), 0.60),
    "throttle-elevator": (("low",), 0.25),
    "flap-elevator": (("high",), 0.60),
}


@dataclass(frozen=True)
class Unknown:
    """One ratio: what full ``source`` to its ``side`` adds to ``target``.

    The amount is a share of the target's full throw, in the target's own sense
    (+ right aileron, up elevator, right rudder).
    """

    source: str
    target: str
    side: str

    @property
    def blend(self) -> str:
        """Name of the blend, "rudder-elevator"."""
        return f"{self.source}-{self.target}"

    @property
    def most(self) -> float:
        """Largest amount looked at."""
        return TUNABLE[self.blend][1]


def unknowns_of(blends: Sequence[str]) -> list[Unknown]:
    """All ratios of the named blends."""
    return [Unknown(*name.split("-"), side) for name in blends for side in TUNABLE[name][0]]  # type: ignore[call-arg]


def read_unknown(text: str) -> Unknown:
    """Ratio named as "rudder-elevator.left".

    Raises
    ------
    InputError
        With the nearest known name.
    """
    known = [f"{u.blend}.{u.side}" for u in unknowns_of(list(TUNABLE))]
    if text not in known:
        raise InputError(f"{text!r} is not a ratio that can be varied; {nearest(text, known)}")
    blend, side = text.split(".")
    return Unknown(*blend.split("-"), side)  # type: ignore[call-arg]


def make_blends(unknowns: Sequence[Unknown], amounts: Sequence[float] | np.ndarray) -> list[BlendSpec]:
    """Blends with these amounts; sides nobody named add nothing."""
    found: dict[str, dict[str, float]] = {}
    for unknown, amount in zip(unknowns, amounts, strict=True):
        found.setdefault(unknown.blend, {})[unknown.side] = float(amount)
    specs = []
    for name, sides in found.items():
        source, target = name.split("-")
        if source == "throttle":
            points = ((0.0, sides.get("low", 0.0)), (THROTTLE_BAND, 0.0), (1.0, 0.0))
        elif source == "flap":
            points = ((0.0, 0.0), (0.5, 0.5 * sides.get("high", 0.0)), (1.0, sides.get("high", 0.0)))
        else:
            points = ((-1.0, sides.get("left", 0.0)), (0.0, 0.0), (1.0, sides.get("right", 0.0)))
        specs.append(BlendSpec(source=source, target=target, points=points, ramp=0.0))
    return specs


def activity(unknown: Unknown, commands: np.ndarray) -> np.ndarray:
    """How much of a ratio acts at given stick commands (..., 5): the amount's own weight, 0 to 1."""
    position = commands[..., NUMBER[unknown.source]]
    if unknown.side == "low":
        return np.clip(1.0 - position / THROTTLE_BAND, 0.0, 1.0)
    if unknown.side == "left":
        return np.maximum(-position, 0.0)
    return np.maximum(position, 0.0)

"""Wing sections of models."""

from __future__ import annotations

__all__ = ["zero_lift_angle"]


def zero_lift_angle(camber: float) -> float:
    """Angle of attack of no lift [rad]."""
    return -1.81 * camber

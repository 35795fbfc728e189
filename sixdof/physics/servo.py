"""A servo and its linkage as the surface shows it."""

from __future__ import annotations

from sixdof.physics.compile import kernel
from sixdof.physics.frames import clip


@kernel
def servo_rate(target, position, lag, rate):
    """Rate of a surface [rad/s] on its way to a target: first-order lag [s], limited speed [rad/s]."""
    return clip((target - position) / lag, -rate, rate)


@kernel
def held_target(target, held, slop, step):
    """Target a surface really gets: the servo's step, then slop that must be taken up first.

    All in rad.  ``held`` is where the last target left the surface.
    """
    if step > 0.0:
        target = step * round(target / step)
    return clip(held, target - 0.5 * slop, target + 0.5 * slop)

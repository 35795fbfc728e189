"""A servo and its linkage as the surface shows it."""

from __future__ import annotations

from sixdof.physics.compile import kernel
from sixdof.physics.frames import clip


@kernel
def servo_rate(target, position, lag, rate):
    """Rate of a surface [rad/s] on its way to a target: first-order lag [s], limited speed [rad/s]."""
    return clip((target - position) / lag, -rate, rate)


@kernel
def decay(x):
    """exp(-x) for x >= 0 without a library call: the series for x/256, squared eight times; within 1e-13."""
    y = -min(x, 40.0) / 256.0
    s = 1.0 + y / 9.0
    s = 1.0 + y / 8.0 * s
    s = 1.0 + y / 7.0 * s
    s = 1.0 + y / 6.0 * s
    s = 1.0 + y / 5.0 * s
    s = 1.0 + y / 4.0 * s
    s = 1.0 + y / 3.0 * s
    s = 1.0 + y / 2.0 * s
    s = 1.0 + y * s
    s *= s
    s *= s
    s *= s
    s *= s
    s *= s
    s *= s
    s *= s
    return s * s


@kernel
def servo_step(target, position, lag, rate, dt):
    """A surface on its way to a target for a time dt [s]: exactly what :func:`servo_rate` leads to.

    Returns
    -------
    middle, end : float [rad]
        Where it is at the end; and what must stand between start and end for Simpson's rule to give its mean,
        which in a smooth motion is where it is half-way.

    Notes
    -----
    Far from the target it runs at its full speed, until the distance that is left is rate * lag; from there
    on that fades as exp(-t / lag).
    """
    off = abs(target - position)
    way = 1.0 if target > position else -1.0
    running = min(max(off / rate - lag, 0.0), dt)
    left = off - rate * running
    fade = decay((dt - running) / lag)
    end = left * fade
    mean = (running * (off - 0.5 * rate * running) + lag * (left - end)) / dt
    return target - way * 0.25 * (6.0 * mean - off - end), target - way * end


@kernel
def held_target(target, held, slop, step):
    """Target a surface really gets: the servo's step, then slop that must be taken up first.

    All in rad.  ``held`` is where the last target left the surface.
    """
    if step > 0.0:
        target = step * round(target / step)
    return clip(held, target - 0.5 * slop, target + 0.5 * slop)

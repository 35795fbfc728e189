"""Cautions, shown where someone would act on a result.  Common practice, no source."""

from __future__ import annotations

#: Before a ratio is dialed in or flown.
BEFORE_FLYING: tuple[str, ...] = (
    "A simulated ratio is a starting point, not a fact about your airplane.",
    "Propeller off or motor unplugged while you set up the radio on the bench.",
    "A few percent move a trailing edge by tenths of a millimeter: set 30-50 % to see "
    "the direction, then set it back and read it aloud. A reversed sign can cost the model.",
    "Flight 1 is the airplane bare. If it does not do what was predicted, stop there.",
    "First flight with a blend: high, into the wind, one change, half the ratio, thumb "
    "on its switch. Check every control's direction before every flight.",
    "Know which blends must be off for landing, and which (flap-elevator) must stay on.",
    "Fly where it is allowed, by local law and your club's code, away from people.",
)

#: The same in three lines of a terminal; the whole with --all, and on paper.
IN_SHORT: tuple[str, ...] = (
    "A starting point, not a fact: a reversed sign can cost the model. Propeller off",
    "on the bench; fly it bare, then high, half the ratio, thumb on the switch; off",
    "for landing (flaps: on). By local law and club code, away from people.",
)

#: Before the airframe is changed, or flown after it.
BEFORE_CHANGING: tuple[str, ...] = (
    "One change at a time, in calm air, each test twice and in both directions, before the next.",
    "Propeller off or motor unplugged while you work on mounts, weights and linkages.",
    "Balance it again on the bench after every change. A CG behind the range the airplane is known to fly in "
    "can make it unflyable: go aft in small steps, high, on low rates, and stop when it gets touchy.",
    "What was shimmed, cut or weighted must be as straight and as strong as before: measure both sides, fix weights "
    "so that they cannot come loose.",
    "Trim it level again at the same throttle before you judge; a change that is not trimmed again looks like trim.",
)

#: The same in three lines.
CHANGING_IN_SHORT: tuple[str, ...] = (
    "One change at a time, propeller off while you work; balance and trim it again,",
    "CG aft only in small steps. Calm air, high, each test twice and both ways. By",
    "local law and club code, away from people.",
)

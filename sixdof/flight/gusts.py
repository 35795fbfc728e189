"""The air of a day: wind that grows with height, gusts as functions of time and a number alone.

Low-altitude forms of MIL-F-8785C (5 Nov 1980), sec. 3.7, as read in secondary documents; the standard
itself was not opened.  They were made for full-size aircraft: for a model, and below 3 m, they are a guide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sixdof.files.errors import InputError
from sixdof.files.units import read_quantity
from sixdof.flight.script import Script, frames_of
from sixdof.flight.speed import entry_speed
from sixdof.physics.air import AIR_DTYPE, make_air

__all__ = [
    "Bump",
    "Wind",
    "airs_of",
    "dryden",
    "one_minus_cosine",
    "read_bump",
    "read_wind",
    "scales",
    "wind_share",
]

_FOOT = 0.3048  # m
_ROUGHNESS = 0.15 * _FOOT  # short grass, as at a landing
_LOWEST, _HIGHEST = 10.0 * _FOOT, 1000.0 * _FOOT  # where the forms hold
_SETTLE = 6.0  # longest filter times until the start of the noise is forgotten
_CHORDS = 25.0  # length of a bump, as of the classic design gust

#: Where it comes from, as seen looking along the line flown: north, east, down of its velocity.
_FROM = {
    "ahead": (-1.0, 0.0, 0.0), "behind": (1.0, 0.0, 0.0), "the right": (0.0, -1.0, 0.0),
    "the left": (0.0, 1.0, 0.0), "above": (0.0, 0.0, 1.0), "below": (0.0, 0.0, -1.0),
}  # fmt: skip


@dataclass(frozen=True)
class Wind:
    """Wind with its gusts.

    Attributes
    ----------
    speed : float [m/s]
        Mean wind 20 ft (6 m) above the ground.
    toward : tuple of 3 float
        Unit vector of its velocity: north (along the line), east (right), down.
    words : str
        As people say it: ``4 m/s from the right``.
    """

    speed: float
    toward: tuple[float, float, float]
    words: str


@dataclass(frozen=True)
class Bump:
    """One gust, 1-cosine: its highest speed [m/s], unit vector, when it begins [s], and words."""

    speed: float
    toward: tuple[float, float, float]
    start: float
    words: str


def read_wind(text: str) -> Wind:
    """Read ``"4 m/s from the right"``; from ahead if nothing is said.

    Raises
    ------
    InputError
    """
    speed, toward, words = _read(text, "--wind", [name for name in _FROM if name not in ("above", "below")])
    if speed > 15.0:
        raise InputError(f"--wind {text!r}: expected 0 to 15 m/s, at 6 m above the ground")
    return Wind(speed, toward, words)


def read_bump(text: str) -> Bump:
    """Read ``"3 m/s from below at 4 s"``.

    Raises
    ------
    InputError
    """
    what, at, when = text.rpartition(" at ")
    if not at:
        raise InputError(f"--gust {text!r}: expected its time too, as in 3 m/s from below at 4 s")
    speed, toward, words = _read(what, "--gust", list(_FROM))
    try:
        start = read_quantity(when.strip(), "time")
    except ValueError as error:
        raise InputError(f"--gust {text!r}: {error}") from None
    if not (speed <= 15.0 and 0.0 <= start <= 60.0):
        raise InputError(f"--gust {text!r}: expected at most 15 m/s, and 0 to 60 s")
    return Bump(speed, toward, start, f"{words} at {' '.join(when.split())}")


def _read(text: str, option: str, known: list[str]) -> tuple[float, tuple[float, float, float], str]:
    amount, said, place = text.partition(" from ")
    place = " ".join(place.split()) if said else "ahead"
    place = f"the {place}" if place in ("right", "left") else place
    try:
        speed = read_quantity(amount.strip(), "speed")
    except ValueError as error:
        raise InputError(f"{option} {text!r}: {error}") from None
    if speed < 0.0:
        raise InputError(f"{option} {text!r}: expected 0 or more; say where it comes from instead")
    if place not in known:
        raise InputError(
            f"{option} {text!r}: got from {place!r}, expected from {', '.join(known[:-1])} or {known[-1]}"
        )
    return speed, _FROM[place], f"{' '.join(amount.split())} from {place}"


def wind_share(height: float) -> tuple[float, float]:
    """Mean wind over that at 20 ft, ln(h/z0) / ln(20 ft/z0), and its slope [1/m], at a height [m]."""
    height = min(max(height, _LOWEST / 3.0), _HIGHEST)
    scale = math.log(20.0 * _FOOT / _ROUGHNESS)
    return math.log(height / _ROUGHNESS) / scale, 1.0 / (height * scale)


def scales(speed: float, height: float) -> tuple[float, float, float, float]:
    """Strength and length of turbulence at low altitude.

    Parameters
    ----------
    speed : float [m/s]
        Mean wind at 20 ft.
    height : float [m]

    Returns
    -------
    sigma_u, sigma_w : float [m/s]
        Along the ground (sigma_v is sigma_u), and upright.
    L_u, L_w : float [m]
        The same (L_v is L_u).
    """
    h = min(max(height, _LOWEST), _HIGHEST) / _FOOT
    share = 0.177 + 0.000823 * h
    sigma_w = 0.1 * speed
    return sigma_w / share**0.4, sigma_w, h / share**1.2 * _FOOT, h * _FOOT


def dryden(
    speed: float, height: float, V: float, b: float, *, seeds: Sequence[int], frame: float, rows: int
) -> np.ndarray:
    """Gusts of Dryden's spectra, a row a radio frame.

    Parameters
    ----------
    speed : float [m/s]
        Mean wind at 20 ft.
    height, V, b : float [m], [m/s], [m]
        Of the flight, through the air, and of the span.
    seeds : sequence of int
        Numbers of gust samples; the same number gives the same gusts, whatever the rows and the other seeds.
    frame : float [s]
    rows : int

    Returns
    -------
    array (seeds, rows, 6) [m/s, rad/s]
        u along the flight, v to its right, w down; p, q, r: turning of the air about the same three.

    Notes
    -----
    White noise through the filters of the standard; noise of one-sided density 1 per rad/s has the
    variance pi/frame.  Filters in time by the trapezoidal rule.  The standard lays u along the mean wind;
    strengths and lengths are the same all along the ground, and what is met follows the flight, its turning too.
    """
    from scipy.signal import bilinear, lfilter  # takes a second to import: not needed in calm air

    sigma_u, sigma_w, L_u, L_w = scales(speed, height)
    T_u, T_w = L_u / V, L_w / V
    first = math.ceil(_SETTLE * max(T_u, T_w) / frame)
    noise = np.empty((len(seeds), 4, first + rows))
    for i, seed in enumerate(seeds):
        bits = np.random.Generator(np.random.Philox(key=seed))
        noise[i] = math.sqrt(math.pi / frame) * bits.standard_normal((first + rows, 4)).T

    def through(top: Sequence[float], bottom: Sequence[float], x: np.ndarray) -> np.ndarray:
        return lfilter(*bilinear(top, bottom, 1.0 / frame), x)

    def across(T: float, x: np.ndarray) -> np.ndarray:
        gain = math.sqrt(T / math.pi)
        return through([gain * math.sqrt(3.0) * T, gain], [T * T, 2.0 * T, 1.0], x)

    u = sigma_u * through([math.sqrt(2.0 * T_u / math.pi)], [T_u, 1.0], noise[:, 0])
    v = sigma_u * across(T_u, noise[:, 1])
    w = sigma_w * across(T_w, noise[:, 2])
    lag = 4.0 * b / (math.pi * V)
    p_gain = math.sqrt(0.8 / V) * (math.pi / (4.0 * b)) ** (1.0 / 6.0) / L_w ** (1.0 / 3.0)
    p = sigma_w * through([p_gain], [lag, 1.0], noise[:, 3])
    q = through([-1.0 / V, 0.0], [lag, 1.0], w)  # air that turns nose-up sinks ahead: q = -dw/dx
    r = through([1.0 / V, 0.0], [0.75 * lag, 1.0], v)
    return np.stack([u, v, w, p, q, r], axis=-1)[:, first:]


def one_minus_cosine(speed: float, start: float, length: float, time: np.ndarray) -> np.ndarray:
    """Gust speed [m/s], U/2 (1 - cos(2 pi (t - start)/length)) while it lasts; all times in s.

    The discrete gust of CS-23 and CS-25, from memory.
    """
    s = np.clip((time - start) / length, 0.0, 1.0)
    return 0.5 * speed * (1.0 - np.cos(2.0 * math.pi * s))


def airs_of(
    plane: np.void,
    scripts: Sequence[Script],
    *,
    wind: Wind | None = None,
    bump: Bump | None = None,
    seeds: Sequence[int] = (1,),
) -> tuple[np.ndarray, np.ndarray]:
    """Gust samples of a day for scripts: one for each seed and script, in that order.

    Returns
    -------
    airs : records (seeds * scripts,)
    gusts : array (seeds * scripts, rows, 6)
        North, along the line flown, east and down.  For :func:`sixdof.flight.fly.fly_batch`: a sample is a function of time, its seed and the script's
        height and speed, so that all ratios and airplanes meet the same.
    """
    frame, b, c = (float(plane[name]) for name in ("frame", "b", "c"))
    calm = wind is None and bump is None
    rows = 0 if calm else frames_of(scripts, frame)
    airs = np.full((len(seeds), len(scripts)), make_air(), AIR_DTYPE)
    gusts = np.zeros((len(seeds), len(scripts), rows, 6))
    flown = [(script.height, float(entry_speed(plane, script, make_air()))) for script in scripts]
    for height, V in dict.fromkeys(() if calm else flown):
        mine = [i for i, other in enumerate(flown) if other == (height, V)]
        if wind is not None:
            north, east, _ = wind.toward
            share, slope = wind_share(height)
            ground, shear = wind.speed * (share - slope * height), wind.speed * slope
            airs[:, mine] = make_air(
                wind=(ground * north, ground * east, 0.0), shear=(shear * north, shear * east)
            )
            found = dryden(wind.speed, height, V, b, seeds=seeds, frame=frame, rows=rows)
            gusts[:, mine] = found[:, None]
        if bump is not None:
            shape = one_minus_cosine(bump.speed, bump.start, _CHORDS * c / V, frame * np.arange(rows))
            gusts[:, mine, :, :3] += shape[:, None] * bump.toward
    return airs.reshape(-1), gusts.reshape(airs.size, rows, 6)

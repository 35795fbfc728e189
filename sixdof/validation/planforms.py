"""Plain wings and fins for the checks of the vortex lattice, mean chord 1 m, and their derivatives."""

from __future__ import annotations

from typing import Any

import numpy as np

from sixdof.estimate.lattice import COEFFICIENTS, Conditions, Lattice, lattice_of, solve
from sixdof.estimate.panels import Flap, Sheet, strip_edges

#: Half of the step of a central difference: rad, or rate hat.
STEP = 1e-3


def wing(
    aspect: float,
    *,
    taper: float = 1.0,
    sweep: float = 0.0,
    dihedral: float = 0.0,
    strips: int = 12,
    chordwise: int = 5,
    inset: bool = True,
    slope: float = 1.0,
    flap: tuple[str, float, float, float] | None = None,
) -> Lattice:
    """Straight-tapered wing, quarter line through the reference point at the root.

    sweep : of the quarter line [rad]
    flap : name, share of the chord, from and to as shares of the half span
    """
    half = aspect / 2.0
    kinks = [0.0, half]
    if flap:  # strips end where the flap ends
        kinks = sorted({0.0, *(round(half * f, 9) for f in flap[2:]), half})
    y = strip_edges(np.array(kinks), strips, tip_inset=inset)
    chord = 2.0 / (1.0 + taper) * (1.0 - (1.0 - taper) * y / half)
    right = np.column_stack((0.25 * chord - np.tan(sweep) * y, y * np.cos(dihedral), -y * np.sin(dihedral)))
    flaps: tuple[Flap, ...] = ()
    if flap:
        name, share, low, high = flap
        on = ((y[:-1] > low * half - 1e-6) & (np.append(y[1:-1], half) < high * half + 1e-6)).astype(float)
        shares, none = np.full(2 * len(on), share), np.zeros_like(on)
        if name == "aileron":
            flaps = (
                Flap("aileron_right", shares, np.concatenate((none, on))),
                Flap("aileron_left", shares, np.concatenate((on[::-1], none))),
            )
        else:
            flaps = (Flap(name, shares, np.concatenate((on[::-1], on))),)
    sheet = _mirrored("wing", right, chord, flaps, chordwise, slope)
    return lattice_of((sheet,), S=aspect, b=aspect, c=1.0, point=(0.0, 0.0, 0.0))


def outline(
    aspect: float,
    edges: np.ndarray,
    chord: np.ndarray,
    leading: np.ndarray,
    *,
    chordwise: int = 5,
    flaps: tuple[Flap, ...] = (),
) -> Lattice:
    """Flat wing of any outline: chord and x of the leading edge at the edges [m]; the area is 1 x aspect."""
    right = np.column_stack((leading, edges, np.zeros_like(edges)))
    sheet = _mirrored("wing", right, chord, flaps, chordwise, 1.0)
    return lattice_of((sheet,), S=aspect, b=aspect, c=1.0, point=(0.0, 0.0, 0.0))


def ellipse(aspect: float, *, strips: int = 12, chordwise: int = 5) -> Lattice:
    """Elliptic wing with a straight quarter line; ailerons of a quarter of the chord on the outer four tenths."""
    half = aspect / 2.0
    y = strip_edges(np.array([0.0, half]), strips)
    chord = 4.0 / np.pi * np.sqrt(1.0 - (y / half) ** 2)
    on, none, share = (y[1:] > 0.6 * half).astype(float), np.zeros(strips), np.full(2 * strips, 0.25)
    flaps = (
        Flap("aileron_right", share, np.concatenate((none, on))),
        Flap("aileron_left", share, np.concatenate((on[::-1], none))),
    )
    return outline(aspect, y, chord, 0.25 * chord, chordwise=chordwise, flaps=flaps)


def fin(
    height: float,
    *,
    strips: int = 7,
    chordwise: int = 5,
    tailplane: float | None = None,
    at: float = 0.0,
    mirrored: bool = False,
) -> Lattice:
    """Rectangular fin, chord 1 m, with a tailplane of equal chord.

    tailplane : its span [m]; at : its height above the root of the fin [m]
    mirrored : the fin and its image below the root
    """
    kinks = np.array([0.0, at, height] if at else [0.0, height])
    z = strip_edges(kinks, strips, root_inset=not mirrored and (tailplane is None or at > 0.0))
    if mirrored:
        z = np.concatenate((-z[:0:-1], z))
    up = np.column_stack((np.zeros_like(z), np.zeros_like(z), -z))
    sheets = [Sheet("fin", up, np.ones_like(z), np.zeros(len(z) - 1), chordwise=chordwise)]
    if tailplane is not None:
        y = strip_edges(np.array([0.0, tailplane / 2.0]), round(strips * tailplane / (2.0 * height)))
        right = np.column_stack((np.zeros_like(y), y, np.full_like(y, -at)))
        sheets.append(_mirrored("tailplane", right, np.ones_like(y), (), chordwise, 1.0))
    area = height * (2.0 if mirrored else 1.0)
    return lattice_of(sheets, S=area, b=height, c=1.0, point=(0.0, 0.0, 0.0))


def _mirrored(
    name: str, right: np.ndarray, chord: np.ndarray, flaps: tuple[Flap, ...], chordwise: int, slope: float
) -> Sheet:
    left = right[:0:-1] * (1.0, -1.0, 1.0)
    chords = np.concatenate((chord[:0:-1], chord))
    twist = np.zeros(len(chords) - 1)
    return Sheet(name, np.vstack((left, right)), chords, twist, 0.0, flaps, chordwise, slope)


def derivative(lattice: Lattice, coefficient: str, by: str, **at: float) -> float:
    """Central difference of a coefficient of the whole."""
    flow: dict[str, Any] = {**at, by: at.get(by, 0.0) + np.array([-STEP, STEP])}
    low, high = solve(lattice, Conditions(**flow)).total[:, COEFFICIENTS.index(coefficient)]
    return float(high - low) / (2.0 * STEP)

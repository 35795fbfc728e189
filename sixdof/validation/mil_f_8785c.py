"""MIL-F-8785C, *Flying Qualities of Piloted Airplanes*, 5 Nov 1980, sec. 3.7: wind and gusts at low altitude.

The standard was not opened: its forms were read in two secondary documents; the values here are computed from them.
Discrete gust: 1-cosine of CS-23 and CS-25, from memory.
"""

from __future__ import annotations

import math
from functools import cache, partial

import numpy as np
from scipy.signal import welch

from sixdof.flight.gusts import dryden, one_minus_cosine, scales, wind_share
from sixdof.validation.check import Check
from sixdof.validation.planes import FOOT

KNOT = 1852.0 / 3600.0  # m/s
#: Height [m], L_u [m] and sigma_u [m/s] at 15 kt.
TABLE = (
    (6.096, 43.77, 1.4887), (15.0, 93.57, 1.4205), (30.0, 152.46, 1.3267), (50.0, 202.29, 1.2296),
    (100.0, 262.79, 1.0649), (150.0, 287.19, 0.9582), (304.8, 304.80, 0.7717),
)  # fmt: skip
#: u/W20 by height [m], over 0.15 ft of roughness.
SHEAR = ((10.0, 1.1012), (30.0, 1.3257), (100.0, 1.5718))
#: Speed [m/s], height [m], span [m], frame [s], samples, rows and piece of the turbulence, W20 30 kt.
V, HEIGHT, SPAN, FRAME = 20.0, 30.0, 2.0, 0.02
AIRS, ROWS, PIECE = 144, 50_000, 8192
_FEWER = 24

_row = partial(Check, "Wind and gusts at low altitude, MIL-F-8785C", tag="second hand")
_SAMPLED = "sampled: four standard errors, and 1.5 % of filters in steps of a radio frame"


def checks() -> list[Check]:
    """Strength, length, mean wind, discrete gust; standard deviations and spectra of sampled turbulence."""
    rows = [
        _row("sigma_w at 15 kt", 0.7717, lambda: scales(15.0 * KNOT, 30.0)[1], unit="m/s", within=5e-5),
        _row("L_u less L_w at 1000 ft", 0.0, lambda: scales(1.0, 1000.0 * FOOT)[2] - 1000.0 * FOOT, unit="m",
             within=1e-9),
    ]  # fmt: skip
    for height, length, sigma in TABLE:
        found = scales(15.0 * KNOT, height)
        rows += [
            _row(f"L_u at {height:g} m", length, found[2], unit="m", within=0.005),
            _row(f"sigma_u at {height:g} m, 15 kt", sigma, found[0], unit="m/s", within=5e-5),
        ]
    rows += [
        _row(f"u/W20 at {height:g} m", share, wind_share(height)[0], within=5e-5) for height, share in SHEAR
    ]
    for part, share in ((0.25, 0.5), (0.5, 1.0), (0.75, 0.5), (1.0, 0.0)):
        found = one_minus_cosine(1.0, 2.0, 4.0, np.array([2.0 + 4.0 * part]))[0]
        rows.append(_row(f"1-cosine gust at {part:g} of its length", share, found, within=1e-12))
    rows.append(
        _row(
            "rms rolling gust, sigma 1.5 m/s, L 50 m, b 2 m",
            0.24476,
            _rolling,
            unit="rad/s",
            share=0.03,
            why=_SAMPLED,
        )
    )
    return rows + turbulence_checks(_FEWER)


def more_checks() -> list[Check]:
    """The spectra of more air, by octaves."""
    return turbulence_checks(AIRS, octaves=range(6))


def turbulence_checks(samples: int, octaves: range = range(2, 5)) -> list[Check]:
    """Standard deviations of u, v, w, and densities of all six by octaves from 0.2 rad/s, W20 30 kt at 30 m."""
    sigma_u, sigma_w, _, _ = scales(30.0 * KNOT, HEIGHT)
    rows = [
        _row(f"standard deviation of {name}, {samples} samples", published, partial(_deviation, samples, i), unit="m/s",
             share=0.015 + 0.2 / math.sqrt(samples), why=_SAMPLED)
        for i, (name, published) in enumerate((("u", sigma_u), ("v", sigma_u), ("w", sigma_w)))
    ]  # fmt: skip
    w, _ = _spectra(samples)
    for i, density in enumerate(densities(w)):
        for octave in octaves:
            low = 0.2 * 2.0**octave
            band = (w >= low) & (w < 2.0 * low)
            independent = np.sum(band) * samples * (ROWS // PIECE)
            unit = "m2/s" if i < 3 else "1/s"
            rows.append(
                _row(f"density of {'uvwpqr'[i]} from {low:.1f} rad/s, {samples} samples", float(np.mean(density[band])),
                     partial(_density, samples, i, octave), unit=unit, share=0.015 + 4.0 / math.sqrt(independent),
                     why=_SAMPLED)
            )  # fmt: skip
    return rows


def densities(w: np.ndarray) -> list[np.ndarray]:
    """One-sided spectra of u, v, w, p, q, r over w [rad/s], as the standard has them."""
    sigma_u, sigma_w, L_u, L_w = scales(30.0 * KNOT, HEIGHT)

    def across(sigma: float, L: float) -> np.ndarray:
        x = L * w / V
        return sigma**2 * L / (math.pi * V) * (1.0 + 3.0 * x**2) / (1.0 + x**2) ** 2

    u = sigma_u**2 * 2.0 * L_u / (math.pi * V) / (1.0 + (L_u * w / V) ** 2)
    p = sigma_w**2 / (V * L_w) * 0.8 * (math.pi * L_w / (4.0 * SPAN)) ** (1.0 / 3.0)
    tips = 1.0 + (4.0 * SPAN * w / (math.pi * V)) ** 2
    ends = 1.0 + (3.0 * SPAN * w / (math.pi * V)) ** 2
    aside, upright = across(sigma_u, L_u), across(sigma_w, L_w)
    return [u, aside, upright, p / tips, (w / V) ** 2 / tips * upright, (w / V) ** 2 / ends * aside]


@cache
def _air(samples: int) -> np.ndarray:
    return dryden(30.0 * KNOT, HEIGHT, V, SPAN, seeds=range(samples), frame=FRAME, rows=ROWS)


@cache
def _spectra(samples: int) -> tuple[np.ndarray, np.ndarray]:
    """Frequencies [rad/s] and one-sided densities (frequencies, 6) by Welch's method, mean of the samples."""
    frequency, found = welch(_air(samples), 1.0 / FRAME, nperseg=PIECE, axis=1)
    return 2.0 * math.pi * frequency, np.mean(found, axis=0) / (2.0 * math.pi)


def _density(samples: int, i: int, octave: int) -> float:
    w, found = _spectra(samples)
    low = 0.2 * 2.0**octave
    return float(np.mean(found[(w >= low) & (w < 2.0 * low), i]))


def _deviation(samples: int, i: int) -> float:
    return float(np.std(_air(samples)[..., i]))


def _rolling() -> float:
    found = dryden(15.0, 50.0, V, SPAN, seeds=range(10), frame=0.005, rows=ROWS)
    return float(np.std(found[..., 3]))

"""Wind and gusts at low altitude, of MIL-F-8785C (5 Nov 1980), sec. 3.7.

The standard was not opened: forms and spectra read in two secondary documents, values of the tables
computed from them.  Discrete gust: 1-cosine of CS-23 and CS-25, from memory.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.signal import welch

from sixdof.flight.gusts import dryden, one_minus_cosine, scales, wind_share
from tests.support import FOOT, agree

KNOT = 1852.0 / 3600.0

#: Height [m], L_u [m] and sigma_u [m/s] at 15 kt.
TABLE = [
    (6.096, 43.77, 1.4887), (15.0, 93.57, 1.4205), (30.0, 152.46, 1.3267), (50.0, 202.29, 1.2296),
    (100.0, 262.79, 1.0649), (150.0, 287.19, 0.9582), (304.8, 304.80, 0.7717),
]  # fmt: skip


@pytest.mark.parametrize(("height", "length", "sigma"), TABLE)
def test_strength_and_length(height, length, sigma):
    sigma_u, sigma_w, L_u, L_w = scales(15.0 * KNOT, height)
    agree("L_u [m]", L_u, length, within=0.006)
    agree("sigma_u [m/s]", sigma_u, sigma, within=6e-5)
    agree("sigma_w [m/s]", sigma_w, 0.7717, within=6e-5)
    agree("L_w [m]", L_w, height, within=1e-9)


def test_all_alike_at_1000_ft():
    sigma_u, sigma_w, L_u, L_w = scales(15.0 * KNOT, 1000.0 * FOOT)
    agree("sigma_u", sigma_u, sigma_w, share=1e-12)
    agree("L_u", L_u, L_w, share=1e-12)


@pytest.mark.parametrize(("height", "share"), [(10.0, 1.1012), (30.0, 1.3257), (100.0, 1.5718), (6.096, 1.0)])
def test_mean_wind_by_height(height, share):
    """u/W20 over 0.15 ft of roughness."""
    agree("u / W20", wind_share(height)[0], share, within=6e-5)
    slope = (wind_share(height + 1e-4)[0] - wind_share(height - 1e-4)[0]) / 2e-4
    agree("slope", wind_share(height)[1], slope, share=1e-6)


V, HEIGHT, SPAN, FRAME = 20.0, 30.0, 2.0, 0.02
SEEDS, ROWS, PIECE = 144, 50_000, 8192


@pytest.fixture(scope="module")
def gusts():
    """Forty hours of air, moderate turbulence."""
    return dryden(30.0 * KNOT, HEIGHT, V, SPAN, seeds=range(SEEDS), frame=FRAME, rows=ROWS)


def densities(w):
    """One-sided spectra of u, v, w, p, q, r over w [rad/s]."""
    sigma_u, sigma_w, L_u, L_w = scales(30.0 * KNOT, HEIGHT)

    def across(sigma, L):
        x = L * w / V
        return sigma**2 * L / (math.pi * V) * (1.0 + 3.0 * x**2) / (1.0 + x**2) ** 2

    u = sigma_u**2 * 2.0 * L_u / (math.pi * V) / (1.0 + (L_u * w / V) ** 2)
    p = sigma_w**2 / (V * L_w) * 0.8 * (math.pi * L_w / (4.0 * SPAN)) ** (1.0 / 3.0)
    tips = 1.0 + (4.0 * SPAN * w / (math.pi * V)) ** 2
    ends = 1.0 + (3.0 * SPAN * w / (math.pi * V)) ** 2
    upright, aside = across(sigma_w, L_w), across(sigma_u, L_u)
    return [u, aside, upright, p / tips, (w / V) ** 2 / tips * upright, (w / V) ** 2 / ends * aside]


def test_spectra_by_welch(gusts):
    """Each octave within 1.5 % (of the filters in steps of time) and four standard errors of the estimate."""
    frequency, found = welch(gusts, 1.0 / FRAME, nperseg=PIECE, axis=1)
    w, found = 2.0 * math.pi * frequency, np.mean(found, axis=0) / (2.0 * math.pi)
    for i, published in enumerate(densities(w)):
        for low in 0.2 * 2.0 ** np.arange(6):
            band = (w >= low) & (w < 2.0 * low)
            values = np.sum(band) * SEEDS * (ROWS // PIECE)
            agree(
                f"density of {'uvwpqr'[i]} from {low:.1f} rad/s", np.mean(found[band, i]), np.mean(published[band]),
                share=0.015 + 4.0 / math.sqrt(values),
            )  # fmt: skip


def test_variances(gusts):
    """Standard deviations; of u, v, w as published, of p by its closed form; the frame cuts off what is faster."""
    sigma_u, sigma_w, _, L_w = scales(30.0 * KNOT, HEIGHT)
    found = np.std(gusts, axis=(0, 1))
    rms_p = (
        sigma_w * math.sqrt(0.1 * math.pi**2 / (L_w * SPAN)) * (math.pi * L_w / (4.0 * SPAN)) ** (1.0 / 6.0)
    )
    agree("sigma_u [m/s]", found[0], sigma_u, share=0.02)
    agree("sigma_v [m/s]", found[1], sigma_u, share=0.02)
    agree("sigma_w [m/s]", found[2], sigma_w, share=0.02)
    agree("rms p [rad/s]", found[3], rms_p, share=0.04)
    assert np.max(np.abs(np.mean(gusts, axis=(0, 1)) / found)) < 0.05


def test_rms_of_rolling_gust():
    """sigma_w 1.5 m/s, L 50 m, b 2 m: .24476 rad/s (computed)."""
    found = dryden(15.0, 50.0, V, SPAN, seeds=range(40), frame=0.005, rows=50_000)
    agree("rms p [rad/s]", float(np.std(found[..., 3])), 0.24476, share=0.02)


def test_discrete_gust():
    """(U/2)(1 - cos(pi s/H)) over 2H."""
    time = np.array([0.9, 1.0, 1.25, 1.5, 1.75, 2.0, 2.5])
    np.testing.assert_allclose(
        one_minus_cosine(4.0, 1.0, 1.0, time), [0.0, 0.0, 2.0, 4.0, 2.0, 0.0, 0.0], atol=1e-12
    )

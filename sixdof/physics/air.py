"""The air an airplane flies in: density, gravity, wind."""

from __future__ import annotations

import numpy as np

from sixdof.physics.compile import kernel
from sixdof.physics.constants import G0

#: What the kernels know about the air.  SI.
AIR_DTYPE = np.dtype(
    [
        ("rho", "f8"),  # fixed density [kg/m3]; 0: standard atmosphere at the height flown
        ("elevation", "f8"),  # height of the world's origin above the sea, geometric [m]
        ("g", "f8"),  # gravity at the sea [m/s2]
        ("inverse_radius", "f8"),  # 1/m; 0: constant gravity
        ("wind_north", "f8"),  # velocity of the air at the world's origin [m/s]
        ("wind_east", "f8"),
        ("wind_down", "f8"),
        ("shear_north", "f8"),  # growth of the wind by height [1/s]
        ("shear_east", "f8"),
    ]
)

# U.S. Standard Atmosphere 1976 (NOAA-S/T 76-1562), constants from memory, agreed with Mechanical
# Engineers' Handbook vol. 4 table 6: rho0 [kg/m3], T0 [K], lapse [K/m of geopotential], radius [m].
RHO0 = 101325.0 * 28.9644e-3 / (8.31432 * 288.15)
T0 = 288.15
LAPSE = 6.5e-3
EARTH_RADIUS = 6356766.0
_EXPONENT = G0 * 28.9644e-3 / (8.31432 * LAPSE) - 1.0


def _binomial(exponent: float, n: int) -> tuple[float, ...]:
    terms, value = [], 1.0
    for k in range(n):
        terms.append(value)
        value *= (exponent - k) / (k + 1)
    return tuple(terms)


_B = _binomial(_EXPONENT, 11)


def make_air(
    *,
    rho: float = 0.0,
    elevation: float = 0.0,
    g: float = G0,
    radius: float = 0.0,
    wind: tuple[float, float, float] = (0.0, 0.0, 0.0),
    shear: tuple[float, float] = (0.0, 0.0),
) -> np.void:
    """Air record.

    Parameters
    ----------
    rho : float [kg/m3]
        Fixed density, or 0 for the standard atmosphere.
    elevation : float [m]
        Height of the field above the sea.
    g, radius : float [m/s2], [m]
        Gravity; with a radius it falls with the inverse square of the distance.
    wind, shear : velocity of the air (north, east, down) [m/s] at the field, and its
        growth with height (north, east) [1/s].
    """
    air = np.zeros(1, AIR_DTYPE)
    air[0] = (rho, elevation, g, 1.0 / radius if radius else 0.0, *wind, *shear)
    return air[0]


@kernel
def density(air, height):
    """Air density [kg/m3] at a geometric height above the sea [m], 0 to 11 km.

    The standard's power law (T/T0)^4.256 as its binomial series in 1 - T/T0, so no
    library call stands in the loop; within 1e-9 of the power up to 11 km.
    """
    geopotential = EARTH_RADIUS * height / (EARTH_RADIUS + height)
    x = -(LAPSE / T0) * geopotential
    s = _B[10]
    s = _B[9] + x * s
    s = _B[8] + x * s
    s = _B[7] + x * s
    s = _B[6] + x * s
    s = _B[5] + x * s
    s = _B[4] + x * s
    s = _B[3] + x * s
    s = _B[2] + x * s
    s = _B[1] + x * s
    s = _B[0] + x * s
    fixed = air["rho"]
    return fixed if fixed > 0.0 else RHO0 * s


@kernel
def gravity(air, height):
    """Gravity [m/s2] at a height above the sea [m]: constant, or inverse square."""
    ratio = 1.0 + height * air["inverse_radius"]
    return air["g"] / (ratio * ratio)


@kernel
def wind(air, height):
    """Velocity of the air, north, east, down [m/s], at a height above the field [m]."""
    return (
        air["wind_north"] + air["shear_north"] * height,
        air["wind_east"] + air["shear_east"] * height,
        air["wind_down"],
    )

"""*U.S. Standard Atmosphere, 1976*, NOAA-S/T 76-1562 / NASA-TM-X-74335 (constants from memory).

Densities computed independently from these constants; where a handbook row exists it agrees
(*Mechanical Engineers' Handbook* vol. 4, table 6, p. 12, read).  The model's height is geometric.
"""

from __future__ import annotations

from itertools import pairwise

import pytest
from support import agree

from sixdof.physics.air import EARTH_RADIUS, density, gravity, make_air

# geometric height [m] -> density [kg/m3], computed; the handbook's value, read
GEOMETRIC = {
    0.0: (1.22500, 1.2250),
    500.0: (1.16727, None),
    1000.0: (1.11166, 1.1117),
    2000.0: (1.00655, 1.0066),
    3000.0: (0.90925, 0.9093),
    5000.0: (0.73643, 0.7364),
}
# geopotential height [m] -> density [kg/m3], computed
GEOPOTENTIAL = {500.0: 1.16727, 1000.0: 1.11164, 2000.0: 1.00649, 3000.0: 0.90912, 5000.0: 0.73612}
DIGITS = 5e-6  # kg/m3, half of the last printed digit


@pytest.mark.parametrize("height", sorted(GEOMETRIC))
def test_coesa_1976_density(height):
    """1e-5 relative (or the last printed digit, where that is coarser), geometric height."""
    found = density(make_air(), height)
    computed, handbook = GEOMETRIC[height]
    agree(f"rho at {height:.0f} m", found, computed, within=max(DIGITS, 1e-5 * computed), source="computed")
    if handbook:
        agree(f"rho at {height:.0f} m", found, handbook, within=5e-5, source="Handbook vol. 4 table 6, read")


@pytest.mark.parametrize("height", sorted(GEOPOTENTIAL))
def test_coesa_1976_density_geopotential(height):
    """The same table entered by geopotential height."""
    geometric = EARTH_RADIUS * height / (EARTH_RADIUS - height)
    found, computed = density(make_air(), geometric), GEOPOTENTIAL[height]
    agree(
        f"rho at H = {height:.0f} m", found, computed, within=max(DIGITS, 1e-5 * computed), source="computed"
    )


def test_coesa_1976_series_is_the_power_law():
    """The binomial series that stands for the power law holds 1e-8 to 11 km."""
    for step in range(12):
        H = 1000.0 * step
        law = 1.225 * (1.0 - 6.5e-3 * H / 288.15) ** (9.80665 * 28.9644e-3 / (8.31432 * 6.5e-3) - 1.0)
        found = density(make_air(), EARTH_RADIUS * H / (EARTH_RADIUS - H))
        # 1.225 is the printed density at the sea, 1.2250 to five digits: 1e-6 relative
        agree(
            f"rho at H = {H:.0f} m over rho at the sea",
            found / density(make_air(), 0.0),
            law / 1.225,
            within=1e-8,
        )


def test_density_falls_with_height():
    """One published research model has the sign of the exponent wrong; its air gets denser."""
    air = make_air()
    values = [density(air, 200.0 * k) for k in range(40)]
    assert all(high < low for low, high in pairwise(values)), values


def test_fixed_density_and_gravity():
    """A fixed density counts at every height; gravity constant, or by the inverse square."""
    assert density(make_air(rho=1.3), 3000.0) == 1.3
    assert gravity(make_air(g=9.81), 3000.0) == 9.81
    agree("g one radius up", gravity(make_air(g=9.8, radius=6.4e6), 6.4e6), 2.45, within=1e-12)

"""U.S. Standard Atmosphere, 1976, beyond its table: ``sixdof/validation/coesa_1976.py``."""

from __future__ import annotations

from itertools import pairwise

from support import agree

from sixdof.physics.air import EARTH_RADIUS, density, gravity, make_air


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

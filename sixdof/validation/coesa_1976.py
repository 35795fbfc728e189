"""*U.S. Standard Atmosphere, 1976*, NOAA-S/T 76-1562 / NASA-TM-X-74335 (constants from memory).

Densities computed independently from these constants; where a handbook row exists it agrees (*Mechanical Engineers'
Handbook* vol. 4, table 6, p. 12, read).  The model's height is geometric.
"""

from __future__ import annotations

from functools import partial

from sixdof.physics.air import EARTH_RADIUS, density, make_air
from sixdof.validation.check import Check

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
#: Half of the last printed digit, or 1e-5 where that is more [kg/m3].
DIGITS, SHARE = 5e-6, 1e-5

_row = partial(Check, "U.S. Standard Atmosphere 1976", unit="kg/m3")


def checks() -> list[Check]:
    """Densities by geometric and by geopotential height."""
    rows = []
    for height, (computed, handbook) in GEOMETRIC.items():
        found = partial(density, make_air(), height)
        limit = max(DIGITS, SHARE * computed)
        rows.append(_row(f"density at {height:g} m", computed, found, tag="computed", within=limit))
        if handbook:
            rows.append(_row(f"density at {height:g} m, handbook", handbook, found, tag="read", within=5e-5))
    for height, computed in GEOPOTENTIAL.items():
        found = partial(density, make_air(), EARTH_RADIUS * height / (EARTH_RADIUS - height))
        limit = max(DIGITS, SHARE * computed)
        rows.append(
            _row(f"density at geopotential {height:g} m", computed, found, tag="computed", within=limit)
        )
    return rows

"""Spheroids moving through a perfect fluid.

Lamb, Hydrodynamics, 6th ed. 1932, art. 114: coefficients of inertia by exact integrals, from memory; the
table of k2 - k1 was computed from them apart from this code.
"""

from __future__ import annotations

import pytest
from support import agree

from sixdof.estimate.body import spheroid_factor

# length over diameter: k2 - k1
TABLE = {3: 0.682, 4: 0.778, 5: 0.835, 6: 0.872, 8: 0.916, 10: 0.940, 12: 0.954}


@pytest.mark.parametrize("fineness", TABLE)
def test_difference_of_inertia(fineness):
    agree(
        "k2 - k1",
        spheroid_factor(fineness),
        TABLE[fineness],
        within=0.0006,
        source="Lamb, art. 114, computed",
    )

"""Spheroids moving through a perfect fluid.

Lamb, Hydrodynamics, 6th ed. 1932, art. 114: coefficients of inertia by exact integrals, from memory; the table of
k2 - k1 was computed from them apart from this code.
"""

from __future__ import annotations

from functools import partial

from sixdof.estimate.body import spheroid_factor
from sixdof.validation.check import Check

# length over diameter: k2 - k1
TABLE = {3: 0.682, 4: 0.778, 5: 0.835, 6: 0.872, 8: 0.916, 10: 0.940, 12: 0.954}


def checks() -> list[Check]:
    """Difference of the coefficients of inertia."""
    row = partial(Check, "Spheroids, Lamb 1932, art. 114", tag="computed", within=0.0006)
    return [
        row(f"k2 - k1, length over diameter {fineness}", value, partial(spheroid_factor, fineness))
        for fineness, value in TABLE.items()
    ]

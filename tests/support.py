"""What tests share: values that must agree; planes and plain flying from ``sixdof.validation.planes``."""

from __future__ import annotations

from typing import Any

import numpy as np

from sixdof.physics.motion import state_derivative, velocity_in_air
from sixdof.physics.propulsion import advance, table
from sixdof.validation.planes import (
    DEG,
    FOOT,
    POUND_FORCE,
    SLUG,
    attitude,
    euler_deg,
    fly,
    plane_of,
    rates_of,
    state_of,
    targets_of,
    velocity,
    wrap_deg,
)

__all__ = [
    "DEG", "FOOT", "POUND_FORCE", "SLUG", "agree", "attitude", "euler_deg", "fly", "plane_of", "rates_in_gust",
    "rates_of", "state_of", "targets_of", "velocity", "wrap_deg",
]  # fmt: skip


def agree(
    what: str,
    found: Any,
    published: Any,
    *,
    within: float = 0.0,
    share: float = 0.0,
    source: str = "",
) -> None:
    """Fail, showing both, unless found is published within an absolute limit or a share of its size."""
    limit = within + share * abs(published)
    miss = abs(found - published)
    assert miss <= limit, (
        f"{what}: found {found:.10g}, published {published:.10g} ({source}), off {miss:.3g}, limit {limit:.3g}"
    )


def rates_in_gust(
    plane: np.void, air: np.void, x: np.ndarray, targets: np.ndarray, gust: np.ndarray
) -> np.ndarray:
    """Rates (19) of a state in a gust (6)."""
    s = advance(plane, *velocity_in_air(air, *x[2:10], *gust[:3]), *x[10:13], x[18])
    found = state_derivative(plane, air, *x, *targets, *gust, table(plane["ct"], s), table(plane["cq"], s))
    return np.array(found)

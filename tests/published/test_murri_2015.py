"""NASA's tumbling brick in closed form; the rest of the check-cases: ``sixdof/validation/murri_2015.py``."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import ellipj, ellipkinc
from support import DEG, agree

from sixdof.physics.air import make_air
from sixdof.validation.murri_2015 import BRICK_INERTIA, RATES, brick, tumble


@pytest.mark.parametrize("t", [1.0, 7.3, 17.384489272, 30.0])
def test_murri_2015_case_2_by_jacobi(t):
    """Jacobi's elliptic functions (textbook, from memory)."""
    A, B, C = BRICK_INERTIA
    w = RATES * DEG
    energy2 = float(BRICK_INERTIA @ w**2)
    momentum2 = float(BRICK_INERTIA**2 @ w**2)
    assert momentum2 > energy2 * B
    a1 = math.sqrt((energy2 * C - momentum2) / (A * (C - A)))
    a2 = math.sqrt((energy2 * C - momentum2) / (B * (C - B)))
    a3 = math.sqrt((momentum2 - energy2 * A) / (C * (C - A)))
    wp = math.sqrt((C - B) * (momentum2 - energy2 * A) / (A * B * C))
    k2 = (B - A) * (energy2 * C - momentum2) / ((C - B) * (momentum2 - energy2 * A))
    printed = "computed with an independent program"
    agree("a1 [deg/s]", a1 / DEG, 18.53103014, within=1e-8, source=printed)
    agree("a2 [deg/s]", a2 / DEG, 23.75582370, within=1e-8, source=printed)
    agree("a3 [deg/s]", a3 / DEG, 34.36902789, within=1e-8, source=printed)
    agree("modulus squared", k2, 0.335898037, within=1e-9, source=printed)
    u0 = ellipkinc(math.atan2(w[1] / a2, w[0] / a1), k2)
    sn, cn, dn, _ = ellipj(wp * t + u0, k2)
    x = tumble(brick(0.0), make_air(), t)
    for name, found, closed in zip(
        "pqr", x[10:13] / DEG, np.array([a1 * cn, a2 * sn, a3 * dn]) / DEG, strict=True
    ):
        agree(f"{name} [deg/s] at {t} s", found, closed, within=1e-6, source="Jacobi, closed form")

"""Newton and Euler for a rigid body with its full inertia tensor."""

from __future__ import annotations

from sixdof.physics.compile import kernel
from sixdof.physics.frames import cross


@kernel
def angular_acceleration(plane, p, q, r, L, M, N):
    """omega' [rad/s2] from I omega' = moment - omega x (I omega)."""
    hx = plane["Ixx"] * p - plane["Ixy"] * q - plane["Ixz"] * r
    hy = -plane["Ixy"] * p + plane["Iyy"] * q - plane["Iyz"] * r
    hz = -plane["Ixz"] * p - plane["Iyz"] * q + plane["Izz"] * r
    gx, gy, gz = cross(p, q, r, hx, hy, hz)
    L -= gx
    M -= gy
    N -= gz
    return (
        plane["Jxx"] * L + plane["Jxy"] * M + plane["Jxz"] * N,
        plane["Jxy"] * L + plane["Jyy"] * M + plane["Jyz"] * N,
        plane["Jxz"] * L + plane["Jyz"] * M + plane["Jzz"] * N,
    )

"""Small motions about a steady flight: matrices and modes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sixdof.flight.trim import Trim
from sixdof.physics.compile import kernel
from sixdof.physics.frames import euler_angles, path_frame
from sixdof.physics.motion import accelerations
from sixdof.physics.record import N_STATE

#: Half differences of u, w, q, theta, v, p, r, phi and of the controls: m/s, rad/s, rad.
_STEPS = np.array([1e-3, 1e-3, 1e-4, 1e-5, 1e-3, 1e-4, 1e-4, 1e-5, 1e-4, 1e-4, 1e-4, 1e-4])


@kernel
def small_motions(plane, air, state, targets, A, B):
    """Matrices A (8, 8) and B (8, 4) of :class:`Linear` about a steady state (19) with targets (6)."""
    z = np.empty(12)  # the eight states, then aileron, elevator, rudder, throttle
    x = np.empty(N_STATE)
    to = np.empty(6)
    rates = np.empty(N_STATE)
    heading, pitch, bank = euler_angles(state[6], state[7], state[8], state[9])
    for k in range(12):
        for sign in (-1.0, 1.0):
            for i in range(N_STATE):
                x[i] = state[i]
            for i in range(6):
                to[i] = targets[i]
            z[0], z[1], z[2], z[3] = state[3], state[5], state[11], pitch
            z[4], z[5], z[6], z[7] = state[4], state[10], state[12], bank
            z[8], z[9], z[10], z[11] = 0.0, targets[2], targets[3], targets[5]
            z[k] += sign * _STEPS[k]
            theta, phi, p, q, r = z[3], z[7], z[5], z[2], z[6]
            x[3], x[4], x[5] = z[0], z[4], z[1]
            x[6], x[7], x[8], x[9] = path_frame(heading, theta, phi)
            x[10], x[11], x[12] = p, q, r
            x[13] += z[8]
            x[14] -= z[8]
            x[15], x[16], to[5] = z[9], z[10], z[11]
            accelerations(plane, air, x, to, rates)
            theta_rate = q * math.cos(phi) - r * math.sin(phi)
            phi_rate = p + math.tan(theta) * (q * math.sin(phi) + r * math.cos(phi))
            found = (
                rates[3], rates[5], rates[11], theta_rate, rates[4], rates[10], rates[12], phi_rate
            )  # fmt: skip
            out, column = (A, k) if k < 8 else (B, k - 8)
            for i in range(8):
                before = 0.0 if sign < 0.0 else out[i, column]
                out[i, column] = before + sign * found[i] / (2.0 * _STEPS[k])


@dataclass(frozen=True)
class Linear:
    """x' = A x + B du about a steady flight.

    Attributes
    ----------
    A : array (8, 8)
        States u, w, q, theta, v, p, r, phi: SI and rad, Euler angles.
    B : array (8, 4)
        Per rad of aileron (ISO 1151), elevator, rudder; per unit of throttle.
    """

    A: np.ndarray
    B: np.ndarray

    @property
    def longitudinal(self) -> np.ndarray:
        """A over u, w, q, theta."""
        return self.A[:4, :4]

    @property
    def lateral(self) -> np.ndarray:
        """A over v, p, r, phi."""
        return self.A[4:, 4:]


def linearize(plane: np.void, air: np.void, steady: Trim) -> Linear:
    """Linear model by central differences; surfaces and propeller speed held."""
    A, B = np.empty((8, 8)), np.empty((8, 4))
    small_motions(plane, air, steady.state, steady.targets, A, B)
    return Linear(A, B)


def modes(linear: Linear) -> dict[str, complex]:
    """Eigenvalues [1/s] by the usual names; of a pair the one with positive imaginary part.

    A pair that has split into two real roots is called ``... 1`` and ``... 2``.
    """
    found: dict[str, complex] = {}

    def name_pair(label: str, roots: list[complex]) -> None:
        if abs(roots[0].imag) > 1e-9:
            found[label] = complex(roots[0].real, abs(roots[0].imag))
        else:
            found[f"{label} 1"], found[f"{label} 2"] = roots

    lon = sorted(np.linalg.eigvals(linear.longitudinal), key=abs, reverse=True)
    name_pair("short period", lon[:2])
    name_pair("phugoid", lon[2:])
    lat = list(np.linalg.eigvals(linear.lateral))
    real = sorted((z for z in lat if abs(z.imag) < 1e-9), key=abs)
    pair = [z for z in lat if abs(z.imag) >= 1e-9]
    if len(real) == 2:
        found["spiral"], found["roll"] = real
        name_pair("Dutch roll", pair)
    elif len(real) == 4:
        found["spiral"], found["roll"] = real[0], real[-1]
        name_pair("Dutch roll", real[1:3])
    else:
        pair.sort(key=abs)
        name_pair("spiral and roll", pair[:2])
        name_pair("Dutch roll", pair[2:])
    return found

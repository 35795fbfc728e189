"""Small motions about a steady flight: matrices and modes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial.transform import Rotation

from sixdof.flight.trim import Trim
from sixdof.physics.motion import accelerations
from sixdof.physics.record import N_STATE


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
    yaw, pitch, roll = Rotation.from_quat(steady.state[6:10], scalar_first=True).as_euler("ZYX")
    base = np.array([*steady.state[[3, 5, 11]], pitch, *steady.state[[4, 10, 12]], roll])
    controls = np.array([0.0, steady.targets[2], steady.targets[3], steady.targets[5]])
    x, rates = steady.state.copy(), np.zeros(N_STATE)
    targets = steady.targets.copy()

    def rate(z: np.ndarray, du: np.ndarray) -> np.ndarray:
        u, w, q, theta, v, p, r, phi = z
        x[3:6], x[10:13] = (u, v, w), (p, q, r)
        x[6:10] = Rotation.from_euler("ZYX", [yaw, theta, phi]).as_quat(scalar_first=True)
        x[13] = steady.state[13] + du[0]
        x[14] = steady.state[14] - du[0]
        x[15], x[16] = du[1], du[2]
        targets[5] = du[3]
        accelerations(plane, air, x, targets, rates)
        phi_rate = p + np.tan(theta) * (q * np.sin(phi) + r * np.cos(phi))
        theta_rate = q * np.cos(phi) - r * np.sin(phi)
        return np.array([rates[3], rates[5], rates[11], theta_rate, rates[4], rates[10], rates[12], phi_rate])

    def column(n: int, k: int, h: float) -> np.ndarray:
        dz, du = np.zeros(8), np.zeros(4)
        (dz if n == 8 else du)[k] = h
        return (rate(base + dz, controls + du) - rate(base - dz, controls - du)) / (2.0 * h)

    steps = np.array([1e-3, 1e-3, 1e-4, 1e-5, 1e-3, 1e-4, 1e-4, 1e-5])
    A = np.stack([column(8, k, steps[k]) for k in range(8)], axis=1)
    B = np.stack([column(4, k, 1e-4) for k in range(4)], axis=1)
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

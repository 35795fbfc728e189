"""Skins over cross-sections, as meshes with one paint number a face."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pyvista as pv

__all__ = ["join", "mirrored", "profile", "skin"]

TOP, BOTTOM, GLASS, METAL = range(4)  # paints
_POINTS = 14  # along one side of a section


def profile(start: float, end: float, thickness: float, camber: float) -> np.ndarray:
    """Closed outline of a stretch of a wing section, as shares of the chord.

    Parameters
    ----------
    start, end : float
        Stretch to take, 0 at the leading and 1 at the trailing edge.
    thickness, camber : float
        Greatest thickness and camber.

    Returns
    -------
    array (2 n, 2)
        Distance behind the leading edge and height: along the top from front to back, then
        along the bottom from back to front.

    Sources
    -------
    Half thickness: E. N. Jacobs, K. E. Ward, R. M. Pinkerton, NACA Report 460 (1933), equation of
    the four-digit family, last coefficient -0.1036 for a closed edge (common practice, no source).
    Camber line: two parabolas that meet at 40 % (from memory, same report).
    """
    x = start + (end - start) * 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, _POINTS)))
    half = (
        5.0 * thickness * (0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1036 * x**4)
    )
    m = 0.4
    ahead, behind = (2 * m * x - x**2) / m**2, (1 - 2 * m + 2 * m * x - x**2) / (1 - m) ** 2
    line = camber * np.where(x < m, ahead, behind)
    return np.r_[np.c_[x, line + half], np.c_[x, line - half][::-1]]


def skin(rings: np.ndarray, paint: np.ndarray) -> pv.PolyData:
    """Skin over closed rings of equal length, closed at both ends.

    Parameters
    ----------
    rings : array (m, n, 3) [m]
    paint : int array (n,) or (m - 1, n)
        Paint of the faces between point i and i + 1 of the rings.
    """
    center = rings.mean(axis=(0, 1))
    a, b = rings - center, np.roll(rings, -1, axis=1) - center
    if np.einsum("ijk,ijk->", a[:-1], np.cross(b[:-1], b[1:])) < 0.0:  # turn the faces outward
        rings, paint = rings[::-1], paint[::-1] if np.ndim(paint) == 2 else paint
    m, n, _ = rings.shape
    i, j = np.meshgrid(np.arange(m - 1), np.arange(n), indexing="ij")
    k = (j + 1) % n
    quads = np.stack([np.full_like(i, 4), i * n + j, i * n + k, (i + 1) * n + k, (i + 1) * n + j], axis=-1)
    ends = np.r_[n, np.arange(n)[::-1], n, (m - 1) * n + np.arange(n)]
    mesh = pv.PolyData(rings.reshape(-1, 3), np.r_[quads.reshape(-1), ends])
    paints = np.broadcast_to(paint, (m - 1, n)).reshape(-1)
    mesh.cell_data["paint"] = np.r_[paints, paints[0], paints[-1]].astype(np.uint8)
    return mesh


def mirrored(mesh: pv.PolyData) -> pv.PolyData:
    """The same on the other side of the center plane."""
    points = mesh.points * (1.0, -1.0, 1.0)
    sizes, flat = [], mesh.faces
    at = 0
    while at < len(flat):
        n = int(flat[at])
        sizes.append(np.r_[n, flat[at + 1 : at + 1 + n][::-1]])
        at += n + 1
    other = pv.PolyData(points, np.concatenate(sizes))
    other.cell_data["paint"] = mesh.cell_data["paint"].copy()
    return other


def join(meshes: Sequence[pv.PolyData]) -> pv.PolyData:
    """All of them as one mesh."""
    points, faces, paints, before = [], [], [], 0
    for mesh in meshes:
        flat = np.array(mesh.faces)
        at = 0
        while at < len(flat):
            n = int(flat[at])
            flat[at + 1 : at + 1 + n] = flat[at + 1 : at + 1 + n] + before
            at += n + 1
        before += mesh.n_points
        points.append(mesh.points)
        faces.append(flat)
        paints.append(mesh.cell_data["paint"])
    whole = pv.PolyData(np.concatenate(points), np.concatenate(faces))
    whole.cell_data["paint"] = np.concatenate(paints)
    return whole

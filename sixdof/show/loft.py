"""Skins over cross-sections, as meshes with one paint number a face."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pyvista as pv

__all__ = ["join", "mirrored", "skin"]

TOP, BOTTOM, GLASS, METAL = range(4)  # paints


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

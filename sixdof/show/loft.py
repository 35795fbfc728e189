"""Skins over cross-sections, as triangles with one paint number a face."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

__all__ = ["Mesh", "join", "mirrored", "skin"]

TOP, BOTTOM, GLASS, METAL = range(4)  # paints


class Mesh(NamedTuple):
    """Triangles.

    Attributes
    ----------
    points : array (n, 3) [m]
    faces : int array (m, 3)
        Corners, counterclockwise seen from outside.
    paint : int array (m,)
    """

    points: np.ndarray
    faces: np.ndarray
    paint: np.ndarray


def skin(rings: np.ndarray, paint: np.ndarray) -> Mesh:
    """Skin over closed rings of equal length, closed at both ends.

    Parameters
    ----------
    rings : array (m, n, 3) [m]
        Point i of a ring lies across from point n - 1 - i.
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
    around = np.stack([i * n + j, i * n + k, (i + 1) * n + k, (i + 1) * n + j], axis=-1).reshape(-1, 4)
    i = np.arange(n // 2 - 1)
    end = np.stack([i, n - 1 - i, n - 2 - i, i + 1], axis=-1)
    quads = np.r_[around, end, (m - 1) * n + end[:, ::-1]]
    paints = np.broadcast_to(paint, (m - 1, n)).reshape(-1)
    paints = np.r_[paints, np.repeat([paints[0], paints[-1]], len(end))]
    return Mesh(rings.reshape(-1, 3), quads[:, [0, 1, 2, 0, 2, 3]].reshape(-1, 3), np.repeat(paints, 2))


def mirrored(mesh: Mesh) -> Mesh:
    """The same on the other side of the center plane."""
    return Mesh(mesh.points * (1.0, -1.0, 1.0), mesh.faces[:, ::-1], mesh.paint)


def join(meshes: Sequence[Mesh]) -> Mesh:
    """All of them as one mesh."""
    first = np.cumsum([0, *(len(mesh.points) for mesh in meshes[:-1])])
    return Mesh(
        np.concatenate([mesh.points for mesh in meshes]),
        np.concatenate([mesh.faces + k for mesh, k in zip(meshes, first, strict=True)]),
        np.concatenate([mesh.paint for mesh in meshes]),
    )

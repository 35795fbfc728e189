"""Places to look from, as numbers alone: a picture is the same every time, and the same wherever it is drawn."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

__all__ = ["PLAYED", "VIEWS", "Camera", "View", "beside", "fit", "standing", "view_of"]

View = Literal["caller", "above", "along"]
#: Names of the views, and what each is.
VIEWS: dict[View, str] = {
    "caller": "from the caller's side",
    "above": "from straight above",
    "along": "from behind, along the flight line",
}

#: The same where flights are played: who stands turns the head, who goes along looks back at what comes.
PLAYED: dict[View, str] = {
    "caller": "from the caller's place",
    "above": "from straight above",
    "along": "going along beside it",
}

_OPEN = 26.0  # vertical angle of view [deg]
_ATTENTIVE = 18.0  # the same for one who stands and watches what flies [deg]
_MARGIN = 1.08  # of the picture around the box
_NEAR, _FAR = 0.05, 20.0  # what is drawn, over the distance looked at
_UP = (0.0, 0.0, 1.0)
_BESIDE = (-0.80, -0.52, -0.30)
_LOOKING = {  # direction of the eye, and what is up
    "caller": ((-1.0, 0.10, 0.10), _UP),
    "above": ((0.0, 0.0, -1.0), (-1.0, 0.0, 0.0)),
    "along": ((-0.42, 0.80, -0.30), _UP),
}


@dataclass(frozen=True)
class Camera:
    """Where the eye is and what it sees; scene axes.

    Attributes
    ----------
    eye, at : array (3,) [m]
    up : array (3,)
        What is up in the picture.
    angle : float [deg]
        Of view, vertical.
    tall : float [m]
        Half of the height of the picture, without perspective; 0 with it.
    follows : "nothing", "turns" or "travels"
        What it does as the airplane moves on: turn its head, or travel along.
    """

    eye: np.ndarray
    at: np.ndarray
    up: np.ndarray
    angle: float = _OPEN
    tall: float = 0.0
    follows: Literal["nothing", "turns", "travels"] = "nothing"

    def following(self, point: np.ndarray) -> Camera:
        """The camera when the airplane is at a point."""
        if self.follows == "turns":
            return replace(self, at=point)
        if self.follows == "travels":
            return replace(self, eye=self.eye + point - self.at, at=point)
        return self

    def matrix(self, shape: float) -> np.ndarray:
        """Scene axes to the picture, (4, 4), homogeneous: x right, y up, z away, each from -1 to 1.

        Parameters
        ----------
        shape : float
            Width over height.
        """
        ahead = self.at - self.eye
        ahead = ahead / float(np.linalg.norm(ahead))
        across = np.cross(ahead, self.up)
        across /= np.linalg.norm(across)
        turn = np.array([across, np.cross(across, ahead), -ahead])
        look = np.eye(4)
        look[:3, :3], look[:3, 3] = turn, -turn @ self.eye
        near, far = self.range
        out = np.zeros((4, 4))
        if self.tall:
            out[0, 0], out[1, 1], out[3, 3] = 1.0 / (self.tall * shape), 1.0 / self.tall, 1.0
            out[2, 2], out[2, 3] = -2.0 / (far - near), -(far + near) / (far - near)
        else:
            zoom = 1.0 / math.tan(math.radians(self.angle) / 2)
            out[0, 0], out[1, 1], out[3, 2] = zoom / shape, zoom, -1.0
            out[2, 2], out[2, 3] = -(far + near) / (far - near), -2.0 * far * near / (far - near)
        return out @ look

    def project(self, points: np.ndarray, shape: float) -> np.ndarray:
        """Places (n, 2) of points (n, 3) in the picture, from -1 to 1 to the right and up."""
        seen = np.c_[points, np.ones(len(points))] @ self.matrix(shape).T
        return np.asarray(seen[:, :2] / seen[:, 3:])

    @property
    def range(self) -> tuple[float, float]:
        """From where to where it sees [m]: not what is at its feet."""
        distance = float(np.linalg.norm(self.at - self.eye))
        return _NEAR * distance, _FAR * distance

    def pixels_a_meter(self) -> float:
        """How large a meter is where it looks, over half of the height of the picture."""
        if self.tall:
            return 1.0 / self.tall
        return 1.0 / (math.tan(math.radians(self.angle) / 2) * float(np.linalg.norm(self.at - self.eye)))


def standing(eye: np.ndarray, at: np.ndarray) -> Camera:
    """One who stands at a place and turns the head to where the airplane is."""
    return Camera(eye, at, np.array(_UP), _ATTENTIVE, follows="turns")


def beside(at: np.ndarray, reach: float) -> Camera:
    """One who goes along on the caller's side, a little ahead, and sees so far to each side of a place [m]."""
    around = fit(at - reach, at + reach, _BESIDE, _UP, shape=1.0)
    return replace(around, eye=around.eye + at - around.at, at=at, follows="travels")


def view_of(view: View, low: np.ndarray, high: np.ndarray, shape: float) -> Camera:
    """The camera of a view, so that a box fills the picture; arguments as of :func:`fit`.

    Raises
    ------
    ValueError
        No such view.
    """
    if view not in _LOOKING:
        raise ValueError(f"got view {view!r}, expected {', '.join(VIEWS)}")
    return fit(low, high, *_LOOKING[view], shape=shape, flat=view == "above")


def fit(
    low: np.ndarray, high: np.ndarray, looking: tuple[float, float, float], up: tuple[float, float, float],
    *, shape: float, flat: bool = False,
) -> Camera:  # fmt: skip
    """The camera that looks in a direction from where a box fits.

    Parameters
    ----------
    low, high : array (3,) [m]
        Corners of the box, scene axes.
    looking, up : (float, float, float)
        Direction of the eye, and what is up.
    shape : float
        Width over height of the picture.
    flat : bool
        Without perspective.
    """
    eye = np.array(looking) / np.linalg.norm(looking)
    across = np.cross(eye, up)
    across /= np.linalg.norm(across)
    upward = np.cross(across, eye)
    corners = np.array(
        [[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
    )
    middle = 0.5 * (low + high)
    deep, side, tall = ((corners - middle) @ v for v in (eye, across, upward))
    if flat:
        half = _MARGIN * max(float(np.abs(tall).max()), float(np.abs(side).max()) / shape)
        return Camera(middle - float(np.linalg.norm(high - low)) * eye, middle, np.array(up), tall=half)
    slope = math.tan(math.radians(_OPEN) / 2) / _MARGIN
    for _ in range(4):  # once it fits, shift to where the picture is evenly filled
        distance = float(np.max(np.maximum(np.abs(side) / shape, np.abs(tall)) / slope - deep))
        seen = distance + deep
        shift = [0.5 * float((v / seen).min() + (v / seen).max()) * distance for v in (side, tall)]
        middle = middle + shift[0] * across + shift[1] * upward
        side, tall = side - shift[0], tall - shift[1]
    return Camera(middle - distance * eye, middle, np.array(up))

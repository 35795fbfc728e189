"""The airplane of a file as meshes: fixed parts, movable surfaces on their hinges, propeller.

Body axes from the center of gravity [m]: x forward, y right, z down.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sixdof.airframe.geometry import Surface
from sixdof.airframe.model import Airframe, Control
from sixdof.show.body import body, propeller_disc
from sixdof.show.loft import Mesh, join, mirrored
from sixdof.show.palette import CANOPY, PROPELLER, UNDERSIDE, tint
from sixdof.show.surfaces import lofted

__all__ = ["Hull", "Part", "loft_airframe", "paints"]


@dataclass(frozen=True)
class Part:
    """A piece that moves as one.

    Attributes
    ----------
    mesh : Mesh
        Undeflected.
    channel : str
        Column of a track with its angle [rad]; empty for what does not move.
    hinge, axis : array (3,)
        A point of the hinge line and its direction; a positive angle turns right-handed about it.
    """

    mesh: Mesh
    channel: str
    hinge: np.ndarray
    axis: np.ndarray

    def turn(self, angle: float) -> np.ndarray:
        """Matrix (4, 4) that deflects the part by an angle [rad] (Rodrigues' formula)."""
        x, y, z = self.axis
        cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
        out = np.eye(4)
        out[:3, :3] += math.sin(angle) * cross + (1.0 - math.cos(angle)) * cross @ cross
        out[:3, 3] = self.hinge - out[:3, :3] @ self.hinge
        return out


@dataclass(frozen=True)
class Hull:
    """An airplane as parts by name: wing, tailplane, fin, body, propeller, aileron_right and so on."""

    parts: dict[str, Part]

    @property
    def length(self) -> float:
        """From spinner to tail [m]."""
        x = np.concatenate([part.mesh.points[:, 0] for part in self.parts.values()])
        return float(np.ptp(x))


def paints(topside: str) -> tuple[str, str, str, str]:
    """Color of each paint: topside as given, underside a pale tint of it, dark canopy, propeller."""
    return topside, tint(UNDERSIDE, topside, 0.2), CANOPY, PROPELLER


def loft_airframe(airframe: Airframe) -> Hull:
    """Build the meshes of an airplane from the measures of its file."""
    controls = airframe.controls
    parts: dict[str, Part] = {}
    both = {"aileron": controls.aileron} | ({"flap": controls.flap} if controls.flap else {})
    parts |= _two_sided("wing", airframe.wing, both)
    parts |= _two_sided("tailplane", airframe.tailplane, {"elevator": controls.elevator})
    parts |= _upright("fin", airframe.fin, {"rudder": controls.rudder})
    if airframe.ventral is not None:
        parts |= _upright("ventral", airframe.ventral, {})
    parts["body"] = _fixed(body(airframe))
    parts["propeller"] = _fixed(propeller_disc(airframe))
    cg = np.array(airframe.mass.cg)
    return Hull({
        name: Part(part.mesh._replace(points=part.mesh.points - cg), part.channel, part.hinge - cg, part.axis)
        for name, part in parts.items()
    })  # fmt: skip


def _fixed(mesh: Mesh) -> Part:
    return Part(mesh, "", np.zeros(3), np.array([0.0, 1.0, 0.0]))


def _two_sided(name: str, surface: Surface, controls: Mapping[str, Control]) -> dict[str, Part]:
    right = lofted(surface, controls)
    fixed = right.pop("")[0]
    parts = {name: _fixed(join([fixed, mirrored(fixed)]))}
    for control, (mesh, inner, outer) in right.items():
        axis = (outer - inner) / np.linalg.norm(outer - inner)
        flip = np.array([1.0, -1.0, 1.0])
        channels = ("aileron_right", "aileron_left") if control == "aileron" else (control, control)
        parts[f"{control}_right"] = Part(mesh, channels[0], inner, axis)
        parts[f"{control}_left"] = Part(mirrored(mesh), channels[1], inner * flip, -axis * flip)
    return parts


def _upright(name: str, surface: Surface, controls: Mapping[str, Control]) -> dict[str, Part]:
    made = lofted(surface, controls)
    parts = {name: _fixed(made.pop("")[0])}
    for control, (mesh, low, high) in made.items():
        parts[control] = Part(mesh, control, low, (low - high) / np.linalg.norm(low - high))
    return parts

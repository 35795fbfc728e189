"""Loads of the body alone, by strips along its length.

Three parts beside the vortex lattice of the surfaces: the potential flow about a slender body in
both planes, the crossflow that separates at large angles, and what wing and body do to each
other in roll.  Body axes: x forward, y right, z down; nothing acts along x, for the zero-angle
drag is in :mod:`sixdof.estimate.drag`.

Sources
-------
Munk, NACA TR 184, 1924, and Multhopp, NACA TM 1036, 1942, for the potential flow; Allen & Perkins,
NACA TR 1048, 1951, for the crossflow; DATCOM 5.2.1.1 and 5.2.2.1 for the side force and the roll
with the wing (all from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sixdof.airframe.geometry import Surface
from sixdof.airframe.model import Airframe
from sixdof.estimate.lattice import Conditions
from sixdof.estimate.section import zero_lift_angle

__all__ = [
    "DOUBT",
    "body_loads",
    "body_parts",
    "fin_in_sideslip",
    "spheroid_factor",
    "wing_body_roll",
    "wing_flow",
]

#: One standard deviation of each part over its value.  Yaw: NACA TN 636, 1938, warns that
#: interference dominates, our reading 30 % (abstract read); the others: common practice, no source.
DOUBT: dict[str, float] = {"pitch": 0.3, "yaw": 0.3, "crossflow": 0.3, "roll": 0.3}
#: Strips along the body, beside the cuts at stations and wing.
_STRIPS = 60
#: Drag coefficient of a section in crossflow: 1.2 round, 1.5 and more a box with sharp edges
#: (NACA TR 1048, NASA TR R-29, from memory); between them, a box with rounded edges, is our choice.
_CROSSFLOW = 1.4
#: Share of it that a body of fineness 5 to 10 has; NACA TR 1048: .6 to .7 (from memory).
_SHORTNESS = 0.65
#: Side force of body with wing over that of the body; DATCOM 5.2.1.1 (limits second hand):
#: 1 for a wing at half height, this much more at the top and at the bottom.
_HIGH, _LOW = 0.85, 0.5
#: Potential flow ends at x0/L = this + this * x1/L; DATCOM 4.2.1.1 (from memory).
_END = (0.378, 0.527)
#: Power of the fall in the mean that stands for the place x1 of steepest fall: high enough to find it,
#: low enough not to jump from one station to the next with a millimeter of height.
_STEEP = 8
#: Roll by sideslip from wing height; DATCOM 5.2.2.1, Raymer Eq. 16.46 (second hand).
_HEIGHT_ROLL = -1.2
#: Roll by sideslip that the body takes from the dihedral [1/deg2]; DATCOM 5.2.2.1 (from memory).
_DIHEDRAL_ROLL = -0.0005
#: The flow is cut this far [m] ahead of and behind an edge of the wing.
_HAIR = 1e-9


@dataclass(frozen=True)
class _Shape:
    """Body between its stations, and where the wing crosses it; x from the datum."""

    x: np.ndarray
    top: np.ndarray
    bottom: np.ndarray
    wide: np.ndarray
    leading: float
    trailing: float

    def height(self, x: np.ndarray) -> np.ndarray:
        return self._at(x, self.bottom - self.top)

    def width(self, x: np.ndarray) -> np.ndarray:
        return self._at(x, self.wide)

    def middle(self, x: np.ndarray) -> np.ndarray:
        return self._at(x, 0.5 * (self.bottom + self.top))

    def _at(self, x: np.ndarray, values: np.ndarray) -> np.ndarray:
        return np.interp(-np.asarray(x), -self.x, values)

    @property
    def length(self) -> float:
        return float(self.x[0] - self.x[-1])

    @property
    def grid(self) -> np.ndarray:
        return np.linspace(self.x[0], self.x[-1], _STRIPS + 1)

    @property
    def along_wing(self) -> np.ndarray:
        """Some places along the root chord of the wing."""
        return np.linspace(self.leading, self.trailing, 9)

    @property
    def diameter(self) -> float:
        """Of the circle that has the area of the largest section, an ellipse."""
        return float(np.sqrt(np.max((self.bottom - self.top) * self.wide)))

    @property
    def potential_end(self) -> float:
        """x where the potential flow about the sides ends."""
        edges = self.grid
        fall = np.maximum(-np.diff(self.height(edges) ** 2), 0.0)
        if not fall.any():
            return float(edges[-1])
        steepest = np.average(0.5 * (edges[1:] + edges[:-1]), weights=(fall / fall.max()) ** _STEEP)
        return float(edges[0] - _END[0] * self.length - _END[1] * (edges[0] - steepest))


def _shape(airframe: Airframe) -> _Shape:
    x, top, bottom, wide = np.array([(s.x, s.top, s.bottom, s.width) for s in airframe.body]).T
    root = airframe.wing
    return _Shape(x, top, bottom, wide, root.root[0], root.root[0] - root.panels[0].root_chord)


def spheroid_factor(fineness: float) -> float:
    """k2 - k1: what three-dimensional flow leaves of the slender-body moment of a spheroid of that length over diameter.

    Sources
    -------
    Lamb, Hydrodynamics, art. 114 (from memory).
    """
    f = max(fineness, 1.0 + 1e-3)
    e = math.sqrt(1.0 - 1.0 / f**2)
    log = math.log((1.0 + e) / (1.0 - e))
    alpha0 = 2.0 * (1.0 - e**2) / e**3 * (0.5 * log - e)
    beta0 = 1.0 / e**2 - (1.0 - e**2) / (2.0 * e**3) * log
    return beta0 / (2.0 - beta0) - alpha0 / (2.0 - alpha0)


def wing_flow(airframe: Airframe) -> Callable[[np.ndarray], np.ndarray]:
    """Flow angle along the body over the angle of attack, the wing's share included.

    Ahead of the wing that of one horseshoe vortex on its quarter line; behind the root it grows
    in a straight line from nothing to what the downwash leaves at the tailplane.

    Returns
    -------
    callable
        x [m], body axes from the datum -> 1 + d eps/d alpha.

    Sources
    -------
    Multhopp, NACA TM 1036, 1942, for the idea and the rear (from memory); the horseshoe stands for
    his curve ahead (about 1.6 at .2 and 1.17 at 1 root chord ahead, from memory).
    """
    wing = airframe.wing
    A, s = wing.span**2 / wing.area, 0.5 * wing.span
    CLa = 2.0 * math.pi * A / (2.0 + math.sqrt(A**2 + 4.0))  # Helmbold
    left = 1.0 - 2.0 * CLa / (math.pi * A)  # 1 - d eps/d alpha, far behind an elliptic wing
    leading, chord = wing.root[0], wing.panels[0].root_chord
    to_tail = leading - chord - airframe.tailplane.quarter_chord[0]

    def factor(x: np.ndarray) -> np.ndarray:
        x = np.asarray(x, dtype=float)
        d = np.maximum(x - leading, 0.0) + 0.25 * chord
        ahead = 1.0 + CLa * wing.mean_chord / (4.0 * math.pi * s) * (np.sqrt(s**2 + d**2) / d - 1.0)
        back = np.clip((leading - chord - x) / max(to_tail, _HAIR), 0.0, 1.0) * left
        return np.where(x >= leading, ahead, back)

    return factor


def body_parts(
    airframe: Airframe,
    conditions: Conditions,
    *,
    S: float,
    b: float,
    c: float,
    point: tuple[float, float, float] | np.ndarray,
    upwash: Callable[[np.ndarray], np.ndarray] | None = None,
) -> dict[str, np.ndarray]:
    """Loads of the body by part, as named in :data:`DOUBT`.

    Parameters
    ----------
    airframe : Airframe
    conditions : Conditions
        Deflections do not matter here.
    S, b, c : float [m2], [m], [m]
        Reference area, span, chord.
    point : three floats [m]
        Reference point, body axes from the datum.
    upwash : callable
        x [m] -> 1 + d eps/d alpha ahead of and behind the wing; :func:`wing_flow` if not given.
        Along the root chord of the wing it is not asked: there the wing turns the flow.

    Returns
    -------
    dict of array (n, 6)
        CX, CY, CZ over q S, Cl, Cm, Cn over q S b, q S c, q S b: body axes, about ``point``.

    Notes
    -----
    A slice of still air that the body passes has the sideward momentum rho A v per length,
    so the force is rho U d(A v)/dx, times k2 - k1; A is that of a circle as high (in pitch: as
    wide) as the body.  Its moment is Munk's, -2 (k2 - k1) q times the integral of A v/V, in pitch Multhopp's.
    The part of the side force that the wing adds acts at its quarter point (our choice).
    """
    alpha, beta, phat, qhat, rhat = (column[:, None] for column in conditions.table()[:, :5].T)
    U, V, W = np.cos(alpha) * np.cos(beta), np.sin(beta), np.sin(alpha) * np.cos(beta)
    p, q, r = 2.0 * phat / b, 2.0 * qhat / c, 2.0 * rhat / b
    body, wing = _shape(airframe), airframe.wing
    end = body.potential_end

    # edges of strips from the nose to the tail, the first and the last without area
    cuts = [*(body.leading + h for h in (_HAIR, -_HAIR)), *(body.trailing + h for h in (_HAIR, -_HAIR)), end]
    x = -np.sort(-np.clip(np.concatenate((body.grid, body.x, cuts)), body.x[-1], body.x[0]))
    solid = np.pad(np.ones_like(x), 1)
    x = np.pad(x, 1, mode="edge")
    side = 0.25 * math.pi * body.height(x) ** 2 * solid
    belly = 0.25 * math.pi * body.width(x) ** 2 * solid
    off_wing = (x > body.leading) | (x < body.trailing)
    factor = np.where(off_wing, (upwash or wing_flow(airframe))(x), 0.0)
    zero = math.tan(zero_lift_angle(wing.section.camber) - wing.incidence)

    # velocity of the strips through the air, over the airspeed
    dx, dz = x - point[0], body.middle(x) - point[2]
    v = V + r * dx - p * dz
    w = W + (factor - 1.0) * (W - zero * U) - q * dx * off_wing

    X, Z, middle = (0.5 * (along[1:] + along[:-1]) for along in (dx, dz, x))
    k = spheroid_factor(body.length / body.diameter)
    lift = -2.0 * k * U * np.diff(belly * w) / S
    push = -2.0 * k * U * np.diff(side * v) / S * (middle > end)
    added = (_interference(body, wing) - 1.0) * push.sum(axis=1, keepdims=True)
    # separated crossflow, along its own direction
    v, w = 0.5 * (v[:, 1:] + v[:, :-1]), 0.5 * (w[:, 1:] + w[:, :-1])
    drag = _SHORTNESS * _CROSSFLOW * np.hypot(v, w) * -np.diff(x) / S
    Y, down = -drag * body.height(middle) * v, -drag * body.width(middle) * w

    roll = np.zeros((len(alpha), 6))
    roll[:, 3] = wing_body_roll(airframe, b=b) * beta[:, 0]
    at_wing = np.array([wing.quarter_chord[0] - point[0]])
    yaw = _sum(push, 0.0 * push, X, Z, b, c) + _sum(added, 0.0 * added, at_wing, np.zeros(1), b, c)
    return {
        "pitch": _sum(0.0 * lift, lift, X, Z, b, c),
        "yaw": yaw,
        "crossflow": _sum(Y, down, X, Z, b, c),
        "roll": roll,
    }


def body_loads(
    airframe: Airframe,
    conditions: Conditions,
    *,
    S: float,
    b: float,
    c: float,
    point: tuple[float, float, float] | np.ndarray,
    upwash: Callable[[np.ndarray], np.ndarray] | None = None,
) -> np.ndarray:
    """Sum of :func:`body_parts`, array (n, 6): CX, CY, CZ, Cl, Cm, Cn in body axes about ``point``."""
    parts = body_parts(airframe, conditions, S=S, b=b, c=c, point=point, upwash=upwash)
    return np.sum(list(parts.values()), axis=0)


def wing_body_roll(airframe: Airframe, *, b: float) -> float:
    """Roll by sideslip that wing and body make together, d Cl/d beta [1/rad].

    A high wing gets more dihedral effect (negative), a low one less; wings above or below the
    body count as if they touched it.

    Sources
    -------
    DATCOM 5.2.2.1; Raymer, Eq. 16.46 (second hand): -1.2 sqrt(A) z (h + w)/b^2, and
    -.0005 A (d/b)^2 times the dihedral, per deg^2 (from memory).
    """
    body, wing = _shape(airframe), airframe.wing
    A = wing.span**2 / wing.area
    h, w = body.height(body.along_wing).mean(), body.width(body.along_wing).mean()
    z = 0.5 * h * _wing_height(body, wing)
    rise = sum(panel.span * math.sin(panel.dihedral) for panel in wing.panels)
    dihedral = math.atan2(rise, 0.5 * wing.span)
    per_rad2 = _DIHEDRAL_ROLL * (180.0 / math.pi) ** 2
    return float(_HEIGHT_ROLL * math.sqrt(A) * z * (h + w) / b**2 + per_rad2 * A * h * w / b**2 * dihedral)


def fin_in_sideslip(airframe: Airframe) -> float:
    """What wing and body leave of sideslip and dynamic pressure at the fin: (1 + d sigma/d beta) q_v/q.

    The flow around the body crosses over a high wing and turns with the sideslip at the fin, so that the fin
    sees less of it; under a low wing more.

    Sources
    -------
    DATCOM 5.4.1; Raymer, Eq. 16.51 (second hand, several):
    .724 + 3.06 (S_v/S)/(1 + cos sweep) + .4 z/d + .009 A, z the wing below the middle of the body.
    """
    body, wing, fin = _shape(airframe), airframe.wing, airframe.fin
    back = sum(p.sweep + 0.25 * (p.tip_chord - p.root_chord) for p in fin.panels)
    cosine = fin.span / math.hypot(fin.span, back)
    z = -0.5 * body.height(body.along_wing).mean() * _wing_height(body, wing)
    deep = float(np.max(body.bottom - body.top)) + _HAIR
    A = wing.span**2 / wing.area
    return float(0.724 + 3.06 * fin.area / wing.area / (1.0 + cosine) + 0.4 * z / deep + 0.009 * A)


def _wing_height(body: _Shape, wing: Surface) -> float:
    """Height of the wing over half that of the body, from the middle: 1 at the top, -1 at the bottom."""
    at = body.along_wing
    height = body.middle(at).mean() - wing.root[2]
    return float(np.clip(height / (0.5 * body.height(at).mean() + _HAIR), -1.0, 1.0))


def _interference(body: _Shape, wing: Surface) -> float:
    """K_i: side force of the body with the wing over that without."""
    place = _wing_height(body, wing)
    return 1.0 + _HIGH * max(place, 0.0) + _LOW * max(-place, 0.0)


def _sum(Y: np.ndarray, Z: np.ndarray, x: np.ndarray, z: np.ndarray, b: float, c: float) -> np.ndarray:
    """Coefficients (n, 6) of forces (n, strips) along y and z that act at x and z, on the center plane."""
    nothing = np.zeros(len(Y))
    return np.stack((nothing, Y.sum(axis=1), Z.sum(axis=1), -(Y @ z) / b, -(Z @ x) / c, (Y @ x) / b), axis=-1)

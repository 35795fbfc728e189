"""Body, canopy and propeller of a file as skins."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import PchipInterpolator

from sixdof.airframe.model import Airframe
from sixdof.show.loft import BOTTOM, GLASS, METAL, TOP, Mesh, join, skin
from sixdof.show.outlines import body_ring, propeller_axes

__all__ = ["body", "propeller_disc"]


def body(airframe: Airframe) -> Mesh:
    """Body over its stations, rounded between them; the canopy is painted on."""
    x = np.array([station.x for station in airframe.body])
    measures = np.array([(station.top, station.bottom, station.width) for station in airframe.body])
    front, back = _canopy(airframe)
    between = np.r_[np.linspace(x[0], x[-1], 41), x, front, back]
    along = np.unique(np.round(between, 6))[::-1]
    smooth = PchipInterpolator(x[::-1], measures[::-1])(along)
    rings = np.array([body_ring(a, *m) for a, m in zip(along, smooth, strict=True)])
    middle = 0.25 * (
        rings[:-1] + rings[1:] + np.roll(rings[:-1], -1, axis=1) + np.roll(rings[1:], -1, axis=1)
    )
    centers = 0.5 * (smooth[:, 0] + smooth[:, 1])
    paint = np.where(middle[:, :, 2] <= 0.5 * (centers[:-1] + centers[1:])[:, None], TOP, BOTTOM)
    n = rings.shape[1]
    over = np.minimum(np.arange(n), n - 1 - np.arange(n)) < n // 6  # the upper third of the round
    under_glass = (middle[:, :, 0] < front) & (middle[:, :, 0] > back) & np.roll(over, -1)[None, :]
    return skin(rings, np.where(under_glass, GLASS, paint))


def _canopy(airframe: Airframe) -> tuple[float, float]:
    """Where the canopy begins and ends, x [m].  The file does not say: it is put at the highest
    part of the body, or just ahead of a wing that lies on top; our choice, for show only."""
    stations = airframe.body
    length = stations[0].x - stations[-1].x
    highest = min(stations, key=lambda station: station.top)
    wing = airframe.wing.root
    near = min(stations, key=lambda station: abs(station.x - wing[0]))
    if wing[2] < near.top + 0.25 * (near.bottom - near.top):
        return min(wing[0] + 0.13 * length, stations[0].x), wing[0]
    return min(highest.x + 0.16 * length, stations[0].x), max(highest.x - 0.12 * length, stations[-1].x)


def propeller_disc(airframe: Airframe) -> Mesh:
    """Rim of the propeller disc, and a spinner."""
    propeller, nose = airframe.propeller, airframe.body[0]
    shaft, side, other = propeller_axes(propeller)
    at, radius = np.array(propeller.position), 0.5 * propeller.diameter
    turn = np.linspace(0.0, 2.0 * np.pi, 41)[:, None]
    out = np.cos(turn) * side + np.sin(turn) * other
    thick = 0.004 * propeller.diameter * shaft
    rim = np.stack([at + 0.95 * radius * out - thick, at + radius * out - thick,
                    at + radius * out + thick, at + 0.95 * radius * out + thick], axis=1)  # fmt: skip
    root = min(0.5 * nose.width, 0.5 * (nose.bottom - nose.top))
    steps = np.linspace(0.0, 0.98, 9)
    cone = np.array([at + 1.3 * root * s * shaft + root * (1.0 - s**2.2) * out[:-1] for s in steps])
    metal = np.array([METAL])
    return join([skin(rim, np.repeat(metal, 4)), skin(cone, np.repeat(metal, len(cone[0])))])

"""What of the airplane stands in the slipstream of its propeller, by geometry.

The slipstream is a round tube about the thrust line.  Momentum theory gives its speed in flight
(:mod:`sixdof.physics.propulsion`); here is what it meets.
"""

from __future__ import annotations

import math

import numpy as np

from sixdof.airframe.geometry import Surface
from sixdof.airframe.model import Airframe

__all__ = ["in_stream", "stream_shape"]

#: Radius of the developed slipstream over that of the propeller: .71 at standstill to 1 at no
#: thrust (momentum theory, R sqrt((V + v)/(V + 2v))); cruise lies near the upper end.
_CONTRACTED = 0.9
#: Lift that a narrow stream adds to a surface over that of the strip by itself: part of it leaks
#: into the slower air beside it.  Common practice, no source.
_NARROW = 0.7
#: Fine strips along the span.
_STRIPS = 400


def in_stream(airframe: Airframe, surface: Surface, *, upright: bool = False) -> float:
    """Area [m2] of a surface inside the slipstream, flow from ahead.

    Parameters
    ----------
    airframe : Airframe
    surface : Surface
        Wing, tailplane, or a fin with ``upright``.
    """
    R = _CONTRACTED * 0.5 * airframe.propeller.diameter
    _, axis_y, axis_z = airframe.propeller.position
    s = (np.arange(_STRIPS) + 0.5) / _STRIPS
    area = 0.0
    y, z = 0.0, surface.root[2]
    for panel in surface.panels:
        tilt = 0.5 * math.pi * surface._up if upright else panel.dihedral
        along, rise = panel.span * math.cos(tilt), panel.span * math.sin(tilt)
        chord = panel.root_chord + (panel.tip_chord - panel.root_chord) * s
        for side in (1.0,) if upright else (1.0, -1.0):
            off = np.hypot(side * (y + along * s) - axis_y, z - rise * s - axis_z)
            area += float(np.sum(chord * (off < R))) * panel.span / _STRIPS
        y, z = y + along, z - rise
    return area


def stream_shape(airframe: Airframe, *, zero_lift: float, slope: float, S: float) -> dict[str, float]:
    """Shape parameters of the slipstream: immersion of the tail, and the part of the wing behind it.

    Parameters
    ----------
    airframe : Airframe
    zero_lift : float [rad]
        Angle of no lift of the wing section, from its chord.
    slope : float [1/rad]
        Lift slope of the wing section.
    S : float [m2]
        Reference area.

    Returns
    -------
    dict
        ``immersion_tailplane``, ``immersion_fin``, ``immersion_angle`` [rad], ``stream_lift``,
        ``stream_alpha0`` [rad], ``stream_arm`` [m].

    Notes
    -----
    The tail is half out where the flow, turned by the angle, has carried the stream by its own radius
    on the way from the propeller.
    """
    propeller, wing, tail, fin = airframe.propeller, airframe.wing, airframe.tailplane, airframe.fin
    way = max(propeller.position[0] - tail.quarter_chord[0], propeller.diameter)
    return {
        "immersion_tailplane": _NARROW * in_stream(airframe, tail) / tail.area,
        "immersion_fin": _NARROW * in_stream(airframe, fin, upright=True) / fin.area,
        "immersion_angle": _CONTRACTED * 0.5 * propeller.diameter / way,
        "stream_lift": _NARROW * 0.5 * slope * in_stream(airframe, wing) / S,
        "stream_alpha0": wing.incidence - zero_lift,
        "stream_arm": propeller.position[0] - wing.quarter_chord[0],
    }

"""What of the airplane stands in the slipstream of its propeller, by geometry.

The slipstream is a round tube about the thrust line.  Momentum theory gives its speed in flight
(:mod:`sixdof.physics.propulsion`); here is what it meets.
"""

from __future__ import annotations

import math

import numpy as np

from sixdof.airframe.geometry import Surface
from sixdof.airframe.model import Airframe

__all__ = ["in_stream", "stream_shape", "tail_in_stream"]

#: Radius of the developed slipstream over that of the propeller: .71 at standstill to 1 at no
#: thrust (momentum theory, R sqrt((V + v)/(V + 2v))); cruise lies near the upper end.
_CONTRACTED = 0.9
#: Lift that a narrow stream adds to a surface over that of the strip by itself: part of it leaks
#: into the slower air beside it.  Common practice, no source.
_NARROW = 0.7
#: Fine strips along the span.
_STRIPS = 400
#: Radius of the propeller where its swirl is taken, over the whole (:mod:`sixdof.physics.propulsion`).
_SWIRL_AT = 0.7
#: Powers of y that stand for the load along the tailplane, whose ends are steep: its integrals then come within
#: 4 % of the most that the swirl does, as with 0, 2, 4, 6.
_POWERS = np.array([0, 2, 8])


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


def tail_in_stream(airframe: Airframe, y: np.ndarray, load: np.ndarray) -> dict[str, float]:
    """Shape parameters of the tailplane's strips that the slipstream meets as sideslip carries it along the span.

    Parameters
    ----------
    airframe : Airframe
    y : array (strips,) [m]
        Middles of even strips of the tailplane, from tip to tip.
    load : array (strips,)
        Lift of each by angle of attack, over its width, any unit.

    Returns
    -------
    dict
        ``stream_half_width``, ``tail_half_span``, ``tail_load_0``, ``_2``, ``_8``, ``tail_swirl``, see
        :func:`sixdof.physics.aero.tail_in_stream`; none where the slipstream passes above or below.

    Notes
    -----
    The swirl keeps the form it has at the propeller, + (y - d)/(.7 R), as far as the edge of the stream.
    """
    propeller, tail = airframe.propeller, airframe.tailplane
    R = _CONTRACTED * 0.5 * propeller.diameter
    off = (tail.quarter_chord[2] - propeller.position[2]) / R
    if abs(off) >= 1.0:
        return {"stream_half_width": 0.0}
    wide, half = math.sqrt(1.0 - off * off), 0.5 * tail.span / R
    powers = np.linalg.lstsq((y / (half * R))[:, None] ** _POWERS, load, rcond=None)[0] / half**_POWERS

    def lift_to(s: float) -> float:
        return float(np.sum(powers * s ** (_POWERS + 1) / (_POWERS + 1)))

    inside, whole = lift_to(min(wide, half)), lift_to(half)
    return {
        "stream_half_width": wide,
        "tail_half_span": half,
        **{f"tail_load_{k}": float(a / (2.0 * inside)) for k, a in zip(_POWERS, powers, strict=True)},
        "tail_swirl": inside / whole * _CONTRACTED / _SWIRL_AT,
    }

"""Propeller blades: how wide they usually are, and what they do in air from the side.

Crossflow v_c adds v_c cos(psi) to the speed Omega r of a blade that stands at azimuth psi from where it
meets the crossflow head on.  With lift 1/2 rho U^2 c a0 (theta - phi), inflow angle phi = U_p/U_t and
axial speed U_p = V + v, a strip pulls 1/2 rho c a0 (U_t^2 theta - U_t U_p) and holds back
1/2 rho c a0 (U_t U_p theta - U_p^2).  What v_c changes in these, times cos(psi), averaged over a
revolution (half) and summed over B blades:

- in-plane force B/4 rho a0 U_p v_c int c theta dr = 1/2 rho A kappa_N (V + v) v_c,
  kappa_N = B a0/(2 pi) int (c/R) sin(theta) dx;
- moment, with arm r and Omega r theta = V_0, the speed of zero thrust: B/4 rho a0 (2 V_0 - U_p) v_c
  int c r dr = 1/2 rho A R kappa (2 V_0 - V - v) v_c, kappa = B a0/(2 pi) int (c/R) x cos(theta) dx,
  where the cosine, like the sine above, is what large blade angles leave of the small-angle form.

This takes one inflow for the whole disc.  In truth the side that pulls harder drives its air faster
(momentum over its own strip, 2 rho (V + 2v) dv): that takes a quarter off the moment.  It would take as
much off the force, but the fin rule (Ribner, NACA TR 819 and 820, 1945, abstracts read) stands between
14 % above and 19 % below the plain form, so the force is left as it is and its doubt says so.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sixdof.airframe.model import Propeller

__all__ = ["CROSSFLOW_SIGMA", "broadside", "crossflow"]

#: Mean blade of five measured propellers (UIUC Propeller Database, Vol. 1, blade geometry, read;
#: mean computed): r/R, and chord over the widest one.
_X = np.array([0.15, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0])
_CHORD = np.array([0.692, 0.755, 0.915, 0.975, 0.974, 0.915, 0.808, 0.657, 0.473, 0.189])
#: Its widest chord over the radius; the five: 0.167 to 0.228.
_WIDEST = 0.202
#: Lift slope of a blade section [per rad] (common practice, no source).
_LIFT_SLOPE = 5.7
#: What is left of the moment when each side drives its own air: 0.72 to 0.77 (11x5.5 in blade at 16 and
#: 20 in, J 0.2 to 0.6, computed by blade elements).
_OWN_INFLOW = 0.75
#: Speed through the disc over that of zero thrust where the moment is matched: a fast cruise.
_WORKING_POINT = 0.8
#: Relative doubt of both: lift slope, inflow, planform (7 % with the widest chord given, 13 % without).
CROSSFLOW_SIGMA = {"crossflow_force": 0.3, "crossflow_moment": 0.35}

_STRIP = _CHORD * 0.5 * (np.diff(_X, prepend=_X[0]) + np.diff(_X, append=_X[-1]))  # trapezoids


def crossflow(propeller: Propeller, zero_thrust: Any) -> tuple[float, Any]:
    """kappa_N and kappa_M of :func:`sixdof.physics.propulsion.propeller_loads`.

    Parameters
    ----------
    propeller : Propeller
        Blades of constant pitch; the usual width where the file gives no chord.
    zero_thrust : float or array (n,)
        Advance ratio where the thrust ends: V_0 / (nD).

    Returns
    -------
    float, float or array (n,)
        In-plane force and thrust offset, blade area form.

    Notes
    -----
    The flight model counts the moment from the pitch P stamped on the blade, 2 V_pitch - V - v, where
    the blade counts from zero thrust.  So kappa_M is matched at V + v = 0.8 V_0; from V + v = 0.5 V_0 to
    V_0 the difference stays within 15 %.
    """
    slope = propeller.blades * _LIFT_SLOPE / (2.0 * math.pi) * _width(propeller)
    pitch = propeller.pitch / propeller.diameter
    sine, cosine = _angle(pitch)
    force = slope * float(_STRIP @ sine)
    through = _WORKING_POINT * zero_thrust
    true_over_stamped = (2.0 * zero_thrust - through) / np.maximum(2.0 * pitch - through, 0.1 * pitch)
    moment = slope * float(_STRIP @ (_X * cosine)) * _OWN_INFLOW * true_over_stamped
    return force, moment


def broadside(propeller: Propeller) -> float:
    """Share of the disc that the stopped blades cover, seen from ahead: B/pi int (c/R) cos(theta) dx."""
    _, cosine = _angle(propeller.pitch / propeller.diameter)
    return propeller.blades / math.pi * _width(propeller) * float(_STRIP @ cosine)


def _angle(pitch: float) -> tuple[np.ndarray, np.ndarray]:
    """Sine and cosine of the blade angle of constant pitch over diameter: tan(theta) = pitch / (pi x)."""
    tangent = pitch / math.pi
    length = np.hypot(tangent, _X)
    return tangent / length, _X / length


def _width(propeller: Propeller) -> float:
    """Widest chord over the radius."""
    chord = propeller.blade_chord
    return _WIDEST if chord is None else chord / (0.5 * propeller.diameter)

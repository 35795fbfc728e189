"""Drag of an airplane: what friction, form, lift and deflected controls cost.

Sources
-------
Flat-plate friction by Blasius and by Prandtl and Schlichting; form factors and excrescences as
handbooks have them (Torenbeek 1982; Raymer, ch. 12), all from memory; Young, R&M 2622, 1947, for the
controls (from memory).
"""

from __future__ import annotations

import math

import numpy as np

from sixdof.airframe.geometry import Fin, Surface, body_at
from sixdof.airframe.model import Airframe, Control

__all__ = ["DOUBT", "aileron_yaw", "broadside", "control_drag", "drag_build_up", "friction", "induced_factor"]

#: One standard deviation of the zero-lift drag over its value: what models of one shape differ by in
#: gear, gaps and finish; common practice, no source.
DOUBT = 0.2
#: Viscosity of air [Pa s] at 15 C, the standard atmosphere's (from memory).
_VISCOSITY = 1.789e-5
#: Share of the length where the flow turns turbulent: covered surfaces with hinge lines and a body
#: behind a propeller; common practice, no source.
_TRANSITION_SURFACE, _TRANSITION_BODY = 0.3, 0.05
#: Girth over height and width: between an ellipse (1.57) and a box (2); our choice.
_GIRTH = 1.75
#: Drag of the blunt end over its area; common practice, no source (0.1 to 0.15).
_BASE = 0.13
#: Wheels with their legs, over the reference area; common practice, no source (.004 to .008).
_GEAR = 0.006
#: Open hinge gaps, over the areas of the surfaces; common practice, no source.
_GAPS = 0.0015
#: Air for motor and speed controller, over the largest section of the body; common practice, no source.
_COOLING = 0.05
#: What the components add by their nearness, of their sum; common practice, no source (5 to 10 %).
_NEARNESS = 0.05
#: Growth of 1/e by viscosity over pi A CD0 (from memory).
_VISCOUS_LIFT = 0.38


def friction(reynolds: float, transition: float) -> float:
    """Friction coefficient of a plate that is laminar over the share ``transition`` of its length.

    Sources
    -------
    Blasius 1.328/sqrt(R); Prandtl and Schlichting .455/(log10 R)^2.58; the turbulent part loses what
    it would have had ahead of the transition (from memory).
    """

    def turbulent(R: float) -> float:
        return 0.455 / math.log10(R) ** 2.58

    before = max(transition * reynolds, 100.0)
    spared = max(turbulent(before) - 1.328 / math.sqrt(before), 0.0)
    return turbulent(reynolds) - transition * spared


def drag_build_up(airframe: Airframe, *, S: float, rho: float, V: float) -> dict[str, float]:
    """Zero-lift drag coefficient by component.

    Parameters
    ----------
    airframe : Airframe
    S : float [m2]
        Reference area.
    rho, V : float [kg/m3], [m/s]

    Returns
    -------
    dict
        ``wing``, ``tailplane``, ``fin``, ``ventral`` (if there), ``body``, and ``rest``: gear, gaps,
        cooling, nearness.  Without the propeller.
    """
    unit = rho * V / _VISCOSITY  # Reynolds number per length
    surfaces = {"wing": airframe.wing, "tailplane": airframe.tailplane, "fin": airframe.fin}
    if airframe.ventral is not None:
        surfaces["ventral"] = airframe.ventral
    parts = {name: _surface(airframe, surface, unit) / S for name, surface in surfaces.items()}
    parts["body"] = _body(airframe, unit) / S
    area = sum(surface.area for surface in surfaces.values())
    front = math.pi / 4.0 * max((s.bottom - s.top) * s.width for s in airframe.body)
    parts["rest"] = _GEAR + _GAPS * area / S + _COOLING * front / S + _NEARNESS * sum(parts.values())
    return parts


def _surface(airframe: Airframe, surface: Surface, unit: float) -> float:
    """Drag area [m2] of what of a surface lies outside of the body."""
    t = surface.section.thickness
    form = 1.0 + 2.0 * t + 60.0 * t**4
    root = surface.panels[0].root_chord
    hidden = 0.0
    if not isinstance(surface, Fin):
        top, bottom, width = map(float, body_at(airframe.body, surface.root[0] - 0.5 * root))
        if top <= surface.root[2] <= bottom:
            hidden = min(width * root, 0.5 * surface.area)
    wetted = 2.0 * (1.0 + 0.2 * t) * (surface.area - hidden)
    return friction(unit * surface.mean_chord, _TRANSITION_SURFACE) * form * wetted


def _body(airframe: Airframe, unit: float) -> float:
    """Drag area [m2] of the body, its blunt end included."""
    x, height, width = np.array([(-s.x, s.bottom - s.top, s.width) for s in airframe.body]).T
    length = float(x[-1] - x[0])
    fineness = length / math.sqrt(float(np.max(height * width)))
    form = 1.0 + 60.0 / fineness**3 + fineness / 400.0
    wetted = _GIRTH * float(np.trapezoid(height + width, x))
    base = math.pi / 4.0 * float(height[-1] * width[-1])
    return friction(unit * length, _TRANSITION_BODY) * form * wetted + _BASE * base


def induced_factor(airframe: Airframe, CD0: float) -> float:
    """k of CD = CD0 + k CL^2, of the wing.

    Sources
    -------
    1/e = 1/e_theory + .38 pi A CD0; e_theory = 1/(1 + f(taper) A) with f a polynomial through
    lifting-line charts of straight-tapered wings (Hörner, from memory).
    """
    wing = airframe.wing
    A = wing.span**2 / wing.area
    taper = min(wing.panels[-1].tip_chord / wing.panels[0].root_chord, 1.0)
    f = 0.0524 * taper**4 - 0.15 * taper**3 + 0.1659 * taper**2 - 0.0706 * taper + 0.0119
    return (1.0 + f * A) / (math.pi * A) + _VISCOUS_LIFT * CD0


def control_drag(airframe: Airframe, *, S: float) -> dict[str, float]:
    """Drag coefficient of deflected controls over the square of the deflection [1/rad2].

    ``aileron`` both sides together, ``elevator``, ``rudder``, ``flap`` (if there).

    Sources
    -------
    Young, R&M 2622, 1947: 1.7 (cf/c)^1.38 (Sf/S) sin^2 d, plain flaps (from memory); Sf is the area of
    the surface over the span of the flap.
    """
    c = airframe.controls
    homes: list[tuple[str, Control | None, Surface]] = [
        ("aileron", c.aileron, airframe.wing),
        ("elevator", c.elevator, airframe.tailplane),
        ("rudder", c.rudder, airframe.fin),
        ("flap", c.flap, airframe.wing),
    ]
    return {
        name: 1.7 * _flapped(surface, control) / S for name, control, surface in homes if control is not None
    }


def aileron_yaw(airframe: Airframe, *, S: float, b: float) -> float:
    """Yaw by the drag of unequal ailerons, Cn over da ds [1/rad2].

    The drag of a side goes with the square of its own deflection, ds + da right and ds - da left, and acts at
    the middle of the aileron; size as in :func:`control_drag`, half to as much again as the lattice has.
    """
    aileron = airframe.controls.aileron
    middle = 0.5 * (aileron.inboard + aileron.outboard)
    one = 0.5 * control_drag(airframe, S=S)["aileron"]
    return one * 4.0 * middle / b


def _flapped(surface: Surface, control: Control) -> float:
    """Integral of (cf/c)^1.38 c ds over the span of a control, all sides [m2]."""
    kinks = np.concatenate(([0.0], np.cumsum([p.span for p in surface.panels])))
    chords = [surface.panels[0].root_chord, *(p.tip_chord for p in surface.panels)]
    s = np.linspace(control.inboard, min(control.outboard, kinks[-1]), 41)
    chord = np.interp(s, kinks, chords)
    share = np.minimum(control.chord / chord, 1.0)
    sides = 1 if isinstance(surface, Fin) else 2
    return sides * float(np.trapezoid(share**1.38 * chord, s))


def broadside(aspect_ratio: float) -> float:
    """Drag coefficient CD90 of a plate across the flow.

    Sources
    -------
    Viterna & Corrigan, NASA CP-2230, 1982: 1.11 + .018 A for A below 50 (second hand).
    """
    return 1.11 + 0.018 * aspect_ratio

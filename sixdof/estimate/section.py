"""What viscosity makes of a section: slope, stall, drag; and of its hinge.

Smooth formulas through few numbers, good for 6 to 15 % thickness and Reynolds numbers of 6e4 to
1e6; thinner ones blend into a flat plate, which stalls early.

Sources
-------
Sheldahl & Klimas, SAND80-2114, 1981: 0012, 0015, 0021 (read in secondary copies); Lyon et al.,
LSATs Vol. 3, 1998: a section of 10 % with 5.5 % camber (summary read, its shape from memory); symmetric
sections of 10 to 15 % at 2e5 to 4e5 and a Clark Y at 2e5 (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

__all__ = [
    "FLAP_SMALL",
    "GAP",
    "SATURATION",
    "SectionData",
    "flap_effectiveness",
    "section",
    "stall_angles",
    "wing_cl_max",
    "zero_lift_angle",
]

#: Zero-lift angle [rad] and moment of the mean line per camber, highest at 40 % of the chord: thin-aerofoil
#: theory (computed); of the moment nine tenths are found in tunnels (common practice, no source).
_ZERO_LIFT, _CM0 = -1.811, 0.9 * -2.65
#: Share of the chord that the free shear layer of a plate needs to lose its leading-edge suction; set so
#: that a plate 1.9 % thick has the drag that Pelletier & Mueller, J. Aircraft 37, 2000, measured.
_SHARP = 0.02
#: CLmax of a wing over cl_max of its section, unswept; common practice, no source.
_WING = 0.9
#: The flat plate has taken over this far [rad] behind the stall; common practice, no source.
_LETTING_GO = math.radians(13.0)

#: What an unsealed gap leaves of a control (Raymer, ch. 16, second hand); the elevator and
#: the flap as the aileron (common practice, no source).
GAP: dict[str, float] = {"aileron": 0.85, "elevator": 0.85, "rudder": 0.80, "flap": 0.85}
#: Plain sealed flap of about 30 % chord: deflection [deg] and share of the thin-aerofoil effect, +-0.07;
#: DATCOM, figure 6.1.1.1-40 (from memory).
_FLAP_DEG = (0.0, 5.0, 10.0, 15.0, 20.0, 30.0, 40.0, 50.0)
_FLAP_LEFT = (0.88, 0.88, 0.87, 0.80, 0.70, 0.60, 0.51, 0.49)
#: The same as FLAP_SMALL / sqrt(1 + (deflection/SATURATION)^2), the form that flights use: best fit
#: to the table, worst miss 0.05 at 50 deg.
FLAP_SMALL, SATURATION = 0.894, math.radians(28.0)


@dataclass(frozen=True)
class SectionData:
    """A section at one Reynolds number.

    Attributes
    ----------
    slope : float [1/rad]
    zero_lift : float [rad]
    cl_max : float
    cd_min, cd_k : float
        cd = cd_min + cd_k (cl - cl of least drag)^2.
    cm0 : float
        About the quarter point.
    """

    slope: float
    zero_lift: float
    cl_max: float
    cd_min: float
    cd_k: float
    cm0: float


def zero_lift_angle(camber: float) -> float:
    """Angle of attack of no lift [rad] for the camber over the chord."""
    return _ZERO_LIFT * camber


def section(thickness: float, camber: float, reynolds: float, zero_lift: float | None = None) -> SectionData:
    """Section data from thickness, camber (over the chord) and Reynolds number.

    Parameters
    ----------
    thickness, camber : float
    reynolds : float
    zero_lift : float [rad]
        As measured; the moment then follows it instead of the camber.
    """
    alpha0 = zero_lift_angle(camber) if zero_lift is None else zero_lift
    R, t = reynolds / 1e5, thickness
    loss = 0.97 * t * R**-0.6
    upright = 1.4 / (1.0 + 0.75 * R**-0.52) / (1.0 + ((t - 0.125) / 0.2) ** 2)
    cl_max = upright + 10.5 * camber / (1.0 + (camber / 0.1) ** 4) ** 0.25
    return SectionData(
        slope=2.0 * math.pi / (1.0 + loss),
        zero_lift=alpha0,
        cl_max=0.5 * (cl_max + math.hypot(cl_max, 0.1)),  # never below zero
        cd_min=(0.0116 + 0.088 * t**2) * R**-0.25 + 3.0 * camber**2 * R**-1.6,
        cd_k=0.0153 * R**-0.33 + math.exp(-((t / _SHARP) ** 2)) / (2.0 * math.pi),
        cm0=_CM0 * alpha0 / _ZERO_LIFT,
    )


def wing_cl_max(cl_max: float, sweep: float = 0.0) -> float:
    """CLmax of a wing from that of its section; sweep of the quarter line [rad]."""
    return _WING * cl_max * math.cos(sweep)


def stall_angles(CLmax: float, *, CL0: float, CLa: float, CD90: float) -> tuple[float, float]:
    """Angles [rad] where the wing begins to stall, and where only the flat plate is left.

    So that the lift of :mod:`sixdof.physics.aero`, which passes from CL0 + CLa alpha to
    CD90 sin(alpha) cos(alpha) between them, has its highest value at CLmax.

    Raises
    ------
    ValueError
        The wing is past its stall at alpha 0.
    """
    share = np.linspace(0.0, 1.0, 201)
    plate = share**2 * (3.0 - 2.0 * share)

    def peak(start: float) -> float:
        alpha = start + _LETTING_GO * share
        lift = (1.0 - plate) * (CL0 + CLa * alpha) + plate * CD90 * np.sin(alpha) * np.cos(alpha)
        return float(lift.max()) - CLmax

    linear = (CLmax - CL0) / CLa
    if linear <= 0.0:
        raise ValueError(f"CLmax {CLmax:.3g} is not above the lift {CL0:.3g} at zero angle of attack")
    start = linear if peak(0.0) >= 0.0 else brentq(peak, 0.0, linear)
    return start, start + _LETTING_GO


_table = PchipInterpolator(np.radians(_FLAP_DEG), _FLAP_LEFT)


def flap_effectiveness(deflection: np.ndarray | float) -> np.ndarray:
    """Share of the thin-aerofoil effect that viscosity leaves to a plain sealed flap.

    Parameters
    ----------
    deflection : float or array [rad]
        Either way; beyond 50 deg as at 50 deg.
    """
    return _table(np.minimum(np.abs(deflection), math.radians(_FLAP_DEG[-1])))

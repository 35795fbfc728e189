"""What flyers know of the outcome, brought in once: as a likelihood on airplanes that all fit the measurements.

Models for aerobatics need 2 to 6 % of up elevator at full rudder in knife-edge (common practice, no source).
No physics here says so: the estimate asks for DOWN, with a doubt of ten percent and more.  So of the airplanes
that are drawn from the doubt those are kept that flyers would recognize, by chance:

    density of the mean m of both sides' needed elevator  =  .8 t4((m - 4 %) / 2.5 %) / 2.5 %  +  .2 / 40 %

where t4 is Student's density with 4 degrees of freedom: one model in five is taken to be none of which the lore
speaks, anywhere within 20 % up or down.  Airplanes that cannot hold knife-edge at cruise are kept as often as
those that can.  Calibration against published airplanes never sees it.
"""

from __future__ import annotations

import math

import numpy as np

from sixdof.airframe.model import Airframe

__all__ = ["FLYERS", "FLYERS_WITHIN", "apart", "is_aerobatic", "likelihood"]

#: What flyers find, mean of both sides, and its scale; shares of full elevator.
FLYERS, FLYERS_WITHIN = 0.04, 0.025
_NONE_OF_IT, _WIDEST = 0.2, 0.40
#: Student's density at the middle, 4 degrees of freedom.
_T4 = 0.375
#: An aerobatic layout: a nearly symmetric section, hardly any dihedral, the wing near the CG; common practice, no source.
_CAMBER, _DIHEDRAL, _OFF = 0.01, 0.055, 0.3


def is_aerobatic(airframe: Airframe) -> bool:
    """Whether the lore speaks of such airplanes: section, dihedral, height of the wing in mean chords from the CG."""
    wing = airframe.wing
    chord, span = wing.mean_chord, sum(panel.span for panel in wing.panels)
    dihedral = sum(panel.span * panel.dihedral for panel in wing.panels) / span
    height = airframe.mass.cg[2] - wing.quarter_chord[2]
    return abs(wing.section.camber) <= _CAMBER and abs(dihedral) <= _DIHEDRAL and abs(height) <= _OFF * chord


def apart(physics: float, sigma: float) -> float:
    """How many standard deviations lie between what physics asks for and what flyers find, shares."""
    return abs(physics - FLYERS) / math.hypot(sigma, FLYERS_WITHIN)


def likelihood(needed: np.ndarray) -> np.ndarray:
    """Density of what flyers find, over its largest, array (n,).

    Parameters
    ----------
    needed : array (n,)
        Elevator that full rudder needs in level knife-edge at cruise, mean of both sides, a share; NaN where
        it does not hold: such get the mean of the others.
    """
    t, anywhere = (needed - FLYERS) / FLYERS_WITHIN, _NONE_OF_IT / _WIDEST * (np.abs(needed) <= 0.5 * _WIDEST)
    lore = (1.0 - _NONE_OF_IT) * _T4 / FLYERS_WITHIN * (1.0 + t**2 / 4.0) ** -2.5
    most = (1.0 - _NONE_OF_IT) * _T4 / FLYERS_WITHIN + _NONE_OF_IT / _WIDEST
    density = (lore + anywhere) / most
    knows = np.isfinite(density)
    return np.where(knows, density, np.mean(density[knows]) if knows.any() else 1.0)

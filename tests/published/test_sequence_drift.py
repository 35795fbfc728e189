"""Drifts of the trimming sequence against the formula of the trade, where its assumptions hold.

Trimmed level at V0 and flown hands off at V on a path of climb gamma and bank phi, an airplane curves toward its canopy at
(g/V) SM/(SM + Delta) [(V/V0)^2 - cos(gamma) cos(phi)], Delta = -Cm_q rho S c/(4 m): common practice, no source; derived.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from support import agree

from sixdof.flight.fly import fly_batch
from sixdof.flight.pack import set_trims
from sixdof.flight.script import load_maneuver, make_script
from sixdof.physics.air import G0, density, make_air
from sixdof.validation.drift_hands_off import CMQ, C, M, S, precision

V0 = 25.0


@pytest.mark.parametrize("SM", [0.02, 0.03, 0.05])
def test_inverted_flight_of_the_sequence_curves_by_the_formula(SM: float) -> None:
    """On its back cos(phi) is -1: twice the curve of a knife-edge, as long as gravity has not changed speed and path."""
    plane = precision(SM)
    plane["alpha_stall"] = 0.3
    planes = np.array([plane])
    assert set_trims(planes, V0).all()
    planes["longest_step"] = 0.005  # it has no propeller that could be quick
    file = load_maneuver("inverted")
    flights = fly_batch(planes, [make_script(file, "both", "free")])
    canopy = np.degrees(flights.errors[0, 0, :, 0])  # a sample each quarter of a second
    found = (
        float(canopy[3] - canopy[1]) / 0.5
    )  # from .5 to 1 s: the short period has died out, the path is still level
    delta = -CMQ * float(density(make_air(), 120.0)) * S * C / (4.0 * M)
    formula = math.degrees(G0 / V0 * SM / (SM + delta) * 2.0)
    agree("inverted [deg/s]", found, formula, share=0.10, source="common practice, no source; derived")

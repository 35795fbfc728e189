"""The drift formula by hand, and the speed it is held to: ``sixdof/validation/drift_hands_off.py``."""

from __future__ import annotations

import pytest
from support import DEG, agree

from sixdof.physics.air import G0
from sixdof.validation.drift_hands_off import DELTA, DEPTH, DIVES, LINES, V_DIVE, rate, vertical_line

DERIVED = "common practice, no source; derived"


def test_knife_edge_drift_worked():
    """V = V0 = 25 m/s, SM 3 %, Delta .12: 4.5 deg/s."""
    agree("deg/s", rate(25.0, 25.0, 0.03, 0.0) / DEG, 4.5, within=0.05, source=DERIVED)


@pytest.mark.parametrize("SM", DIVES)
def test_dives_worked(SM):
    """14, 20, 29 deg are the formula at 28 m/s."""
    formula = G0 * DEPTH / V_DIVE**2 * SM / (SM + DELTA) / DEG
    agree("by the formula [deg]", formula, DIVES[SM], within=0.6, source=DERIVED)


@pytest.mark.parametrize(("V0", "V", "climb"), LINES)
def test_vertical_lines_keep_their_speed(V0, V, climb):
    agree("steady speed", vertical_line(V0, V, climb)[2], V, share=0.01)

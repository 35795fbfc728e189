"""Estimates of whole airplanes: what must not matter does not, and small changes do little."""

from __future__ import annotations

import numpy as np
import pytest
from support import agree

from sixdof.airframe.derivatives import Reference, StatedDerivatives
from sixdof.airframe.load import load_airframe
from sixdof.estimate.assemble import from_geometry
from sixdof.estimate.fin import FIN_IN_PITCH
from sixdof.flight.airplane import Airplane
from sixdof.validation.chain import derivatives

DEMOS = ("corvane", "fenlark", "tessel")


@pytest.mark.parametrize("name", DEMOS)
def test_reference_point_does_not_matter(name):
    """A point a tenth of the chord behind and a quarter below: the same airplane, but for what the terms cannot hold.

    The terms of a fit share out what they cannot follow a little differently, and only sideslip proper meets the
    sidewash at the fin, not that of a roll rate: two percent of the largest of each kind.
    """
    airframe = load_airframe(name)
    usual = airframe.reference
    x, y, z = usual.point
    moved = Reference.model_construct(
        area=usual.area,
        span=usual.span,
        chord=usual.chord,
        point=(x - 0.1 * usual.chord, y, z + 0.25 * usual.chord),
    )
    other = airframe.model_copy(
        update={
            "derivatives": StatedDerivatives.model_construct(
                source="", reference=moved, complete=False, values={}
            )
        }
    )
    a, b = (
        derivatives(Airplane(airframe, known=from_geometry(plane)).planes[0], CL=0.2)
        for plane in (airframe, other)
    )
    kinds = {"CL": 4.0, "CY": 0.8, "Cl": 0.4, "Cm": 8.0, "Cn": 0.2}
    for term, value in a.items():
        agree(term, b[term], value, within=0.02 * kinds[term[:2]], share=0.01, source="usual point")


@pytest.mark.parametrize("name", DEMOS)
def test_tailplane_past_the_root_of_the_fin(name):
    """Height of the tailplane by the millimeter: pitch from sideslip and rudder has no spike near the fin's root.

    What the fin's own force pitches goes with that force, which falls by a tenth there (its end plate comes off).
    """
    airframe = load_airframe(name)
    tail = airframe.tailplane
    x, y, _ = tail.root
    rows = []
    for up in np.arange(-0.012, 0.0121, 0.003):
        root = (x, y, airframe.fin.root[2] + up)
        here = airframe.model_copy(update={"tailplane": tail.model_copy(update={"root": root})})
        shares = [from_geometry(here).share(term) for term in ("Cmb2", "Cmdr2", "Cmbdr")]
        rows.append([sum(part for of, part in s.items() if of not in FIN_IN_PITCH) for s in shares])
    spread = np.ptp(rows, axis=0)
    assert np.all(spread < 0.02), f"largest less smallest of Cmb2, Cmdr2, Cmbdr: {spread}"

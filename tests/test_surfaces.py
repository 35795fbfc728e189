"""Derivatives of the surfaces alone, beside those a file states."""

from __future__ import annotations

import pytest

from sixdof.airframe.load import load_airframe
from sixdof.estimate.surfaces import surface_derivatives
from sixdof.physics.terms import TERM_NAMES


@pytest.mark.parametrize("name", ["corvane", "fenlark"])
def test_signs_and_sizes_are_those_of_the_file(name):
    """The demos were stated from handbook formulas: wing terms agree, the rest has the same sign."""
    airframe = load_airframe(name)
    found = surface_derivatives(airframe)
    stated = airframe.derivatives
    assert set(found) <= set(TERM_NAMES) | {"CYds"}
    for term, share in (("CLa", 0.10), ("Clp", 0.10)):
        assert found[term] == pytest.approx(stated.number(term), rel=share), term
    for term in ("Cmq", "CLde", "Cmde", "CYdr", "Cndr", "Clda", "Cnb", "Cnr", "CYb", "Clr"):
        assert found[term] * stated.number(term) > 0.0, (term, found[term], stated.number(term))
    assert ("CLdf" in found) == (airframe.controls.flap is not None)


def test_a_reference_of_another_size_scales_the_coefficients():
    airframe = load_airframe("corvane")
    reference = airframe.derivatives.reference
    larger = airframe.derivatives.model_copy(
        update={
            "reference": reference.model_copy(
                update={"area": 2.0 * reference.area, "span": 2.0 * reference.span}
            )
        }
    )
    found, doubled = (
        surface_derivatives(airframe),
        surface_derivatives(airframe.model_copy(update={"derivatives": larger})),
    )
    assert doubled["CLa"] == pytest.approx(found["CLa"] / 2.0)
    assert doubled["Clb"] == pytest.approx(found["Clb"] / 4.0)
    # the rate hat grows with the span as well
    assert doubled["Clp"] == pytest.approx(found["Clp"] / 8.0)


def test_without_stated_derivatives_there_is_no_reference():
    bare = load_airframe("corvane").model_copy(update={"derivatives": None})
    with pytest.raises(ValueError, match="derivatives block"):
        surface_derivatives(bare)

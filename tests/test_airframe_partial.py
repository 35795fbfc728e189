"""A derivatives block that is whole, partial, or not there."""

from __future__ import annotations

import jsonschema
import pytest
from test_airframe_load import AIRCRAFT, FILES, edited

from sixdof.airframe.load import load_airframe
from sixdof.airframe.model import schema
from sixdof.estimate.layers import estimate_derivatives
from sixdof.files.errors import InputError
from sixdof.files.yamlio import read_yaml

COMPLETE = "  complete: true       # a term that is not listed is zero\n"
REFERENCE = """  reference:
    area: 60 dm2
    span: 2 m
    chord: 308 mm
    point: {aft: 631 mm, up: -10 mm}   # 25 % of the mean chord, at the height of the CG
"""


def partial(tmp_path, values):
    text = (AIRCRAFT / "corvane.yaml").read_text(encoding="utf-8")
    path = tmp_path / "partial.yaml"
    path.write_text(f"{text}\nderivatives:\n  source: a test\n  values: {values}\n", encoding="utf-8")
    return path


def test_a_whole_block_leaves_unlisted_terms_at_zero():
    airplane = load_airframe(FILES / "stated.yaml")
    assert airplane.derivatives.complete and airplane.derivatives.power == "off"
    known = estimate_derivatives(airplane)
    assert known["CLmind"] == 0.0 and known["CLa"] == 4.78
    assert airplane.reference == airplane.derivatives.reference


def test_without_a_reference_that_of_the_wing_counts(tmp_path):
    airplane = load_airframe(edited(tmp_path, (REFERENCE, ""), demo="stated"))
    assert airplane.derivatives.reference is None and airplane.warnings == ()
    wing, known = airplane.wing, estimate_derivatives(airplane)
    assert (known.S, known.b, known.c) == (wing.area, wing.span, wing.mean_chord)
    assert known.point == wing.quarter_chord


@pytest.mark.parametrize("values", ["{Cmq: -10}", "{Cma: 0.5}", "{CLa: 4.5}", "{}", "{CLa: 4.5, Cma: 0.5}"])
def test_a_partial_block_loads_and_says_nothing_of_the_neutral_point(tmp_path, values):
    path = partial(tmp_path, values)
    airplane = load_airframe(path)
    assert not airplane.derivatives.complete and airplane.warnings == ()
    assert airplane.derivatives.pitch_stiffness_at(airplane.mass.cg) is None
    jsonschema.Draft202012Validator(schema()).validate(read_yaml(path).data)


def test_power_setting_of_the_values(tmp_path):
    path = edited(tmp_path, (COMPLETE, f"{COMPLETE}  power: cruise\n"), demo="stated")
    assert load_airframe(path).derivatives.power == "cruise"
    path = edited(tmp_path, (COMPLETE, f"{COMPLETE}  power: cruse\n"), demo="stated")
    with pytest.raises(InputError, match=r"derivatives\.power: got cruse; did you mean cruise\?"):
        load_airframe(path)
    path = edited(tmp_path, (COMPLETE, "  complete: yes\n"), demo="stated")
    with pytest.raises(InputError, match=r"derivatives\.complete: got yes, expected true or false"):
        load_airframe(path)


def test_signs_are_checked_in_a_partial_block_too(tmp_path):
    with pytest.raises(InputError, match=r"derivatives\.values\.Cmq: .*pitch is damped"):
        load_airframe(partial(tmp_path, "{Cmq: 10}"))

"""The table of units and its reader."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sixdof.files.units import UNITS, read_quantity, to_unit

PAIRS = [(kind, unit) for kind, units in UNITS.items() for unit in units]


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ("310 mm", "length", 0.31),
        ("0.31 m", "length", 0.31),
        ("12.2 in", "length", 0.30988),
        ("3 ft 2 in", "length", 0.9652),
        ("-3 ft 2 in", "length", -0.9652),
        ("12mm", "length", 0.012),
        ("  5   cm ", "length", 0.05),
        (".5 m", "length", 0.5),
        ("2e-1 m", "length", 0.2),
        ("4 lb 6 oz", "mass", 1.98446661875),
        ("4.7 kg", "mass", 4.7),
        ("30 g", "mass", 0.03),
        ("1.5 deg", "angle", 0.026179938779914945),
        ("3 %", "share", 0.03),
        ("-3%", "share", -0.03),
        ("25 m/s", "speed", 25.0),
        ("90 km/h", "speed", 25.0),
        ("55 mph", "speed", 24.5872),
        ("8200 rpm", "turning speed", 858.7019919812101),
        ("400 deg/s", "turning speed", 6.981317007977318),
        ("0.12 kg m2", "moment of inertia", 0.12),
        ("1.8 g m2", "moment of inertia", 0.0018),
        ("20 ms", "time", 0.02),
        ("0.3 s", "time", 0.3),
        ("35 N", "force", 35.0),
        ("3.5 kgf", "force", 34.323275),
        ("120 gf", "force", 1.176798),
        ("7.6 lbf", "force", 33.8064842759798),
        ("16 ozf", "force", 4.4482216152605),
        ("1.2 kW", "power", 1200.0),
        ("60 dm2", "area", 0.6),
        ("8 g", "load factor", 8.0),
    ],
)
def test_reads(text, kind, si):
    assert read_quantity(text, kind) == pytest.approx(si, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "kind", "says"),
    [
        (
            310,
            "length",
            'came without a unit; a length with its unit is wanted (mm, cm, m, in, ft), for example "310 mm"',
        ),
        ("310", "length", '"310" came without a unit'),
        ("0,31 m", "length", 'decimal comma; write "0.31 m"'),
        ("1,5", "length", 'decimal comma; write "1.5"'),
        ("\u22123 mm", "length", 'ASCII hyphen; write "-3 mm"'),
        ("\u20133 mm", "length", 'ASCII hyphen; write "-3 mm"'),
        ("\u0663 m", "length", "plain 0 to 9"),
        ("\uff13 m", "length", "plain 0 to 9"),
        ("3 kg", "length", "another kind of value: mass; a length"),
        ("3 g", "length", "another kind of value: mass"),
        ("25 deg", "turning speed", "another kind of value: angle"),
        ("nan mm", "length", "not a finite number"),
        ("inf m", "length", "not a finite number"),
        ("-Infinity m", "length", "not a finite number"),
        ("1e999 m", "length", "not a finite number"),
        ("1e307 kW", "power", "not a finite number"),
        ("3 parsec", "length", "a unit that is not known"),
        ("3\u00b0", "angle", "write the unit as deg"),
        ("3 MM", "length", "write the unit as mm"),
        ("0.12 kg m\u00b2", "moment of inertia", "write the unit as kg m2"),
        ("90 kph", "speed", "write the unit as km/h"),
        ("", "angle", "an empty text came; an angle"),
        ("long", "length", '"long" came; a length'),
        (None, "length", "a length with its unit"),
        (True, "length", "a length with its unit"),
        ([1], "length", "a length with its unit"),
        ("4 lb 18 oz", "mass", "0 to 16 oz"),
        ("4.5 lb 6 oz", "mass", "a whole number of lb"),
        ("4 lb -6 oz", "mass", "0 to 16 oz"),
        ("4 lb 6 oz 3 oz", "mass", "two numbers go together only"),
        ("6 oz 4 lb", "mass", "two numbers go together only"),
        ("1 m 20 cm", "length", "two numbers go together only"),
        ("3 - 4 mm", "length", "a length with its unit"),
    ],
)
def test_refuses_and_says_what_is_right(value, kind, says):
    with pytest.raises(ValueError) as caught:
        read_quantity(value, kind)
    assert says in str(caught.value)


@given(st.sampled_from(PAIRS), st.floats(-1e9, 1e9))
def test_round_trip(pair, number):
    kind, unit = pair
    si = read_quantity(f"{number!r} {unit}", kind)
    assert to_unit(si, unit, kind) == pytest.approx(number, rel=1e-14, abs=1e-300)
    assert math.copysign(1.0, si) == math.copysign(1.0, number) or number == 0.0


@given(st.integers(0, 5000), st.floats(0, 15.99), st.sampled_from(["", "-"]))
def test_pounds_and_ounces(pounds, ounces, sign):
    read = read_quantity(f"{sign}{pounds} lb {ounces:.3f} oz", "mass")
    assert abs(read) == pytest.approx((pounds * 16 + round(ounces, 3)) * 0.028349523125, rel=1e-12, abs=1e-15)
    assert read <= 0.0 if sign else read >= 0.0


@given(st.text(max_size=30), st.sampled_from(sorted(UNITS)))
def test_any_text_reads_finite_or_is_refused(text, kind):
    try:
        assert math.isfinite(read_quantity(text, kind))
    except ValueError as error:
        assert len(str(error)) > 10

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


SI = "SI brochure, 9th ed. 2019"
YARD = "international yard and pound agreement, 1 July 1959"
#: kind, unit -> so many of it make so much in SI, both exact, and who says so; sources from memory.
EXACT: dict[tuple[str, str], tuple[str, str, str]] = {
    ("length", "mm"): ("1000", "1", f"{SI}, table 7, prefixes"),
    ("length", "cm"): ("100", "1", f"{SI}, table 7"),
    ("length", "m"): ("1", "1", f"{SI}, sec. 2.3.1"),
    ("length", "in"): ("10000", "254", f"{YARD}: a yard is .9144 m, 36 inches"),
    ("length", "ft"): ("10000", "3048", f"{YARD}: a third of a yard"),
    ("area", "m2"): ("1", "1", SI),
    ("area", "dm2"): ("100", "1", f"{SI}, table 7: the prefix is squared with its unit"),
    ("area", "in2"): ("100000000", "64516", f"{YARD}: .0254 m squared"),
    ("mass", "kg"): ("1", "1", f"{SI}, sec. 2.3.1"),
    ("mass", "g"): ("1000", "1", f"{SI}, sec. 3"),
    ("mass", "lb"): ("100000000", "45359237", f"{YARD}: .453 592 37 kg"),
    ("mass", "oz"): ("1600000000", "45359237", "NIST Handbook 44, app. C: 16 ounces avoirdupois to the pound"),
    ("angle", "rad"): ("1", "1", f"{SI}, table 4"),
    ("angle", "deg"): ("180", "PI", f"{SI}, table 8: pi/180 rad"),
    ("speed", "m/s"): ("1", "1", f"{SI}, table 5"),
    ("speed", "km/h"): ("36", "10", f"{SI}, table 8: an hour is 3600 s"),
    ("speed", "kt"): ("3600", "1852", "First International Extraordinary Hydrographic Conference, Monaco 1929: a nautical mile is 1852 m"),
    ("speed", "mph"): ("36000000", "16093440", f"{YARD}: a mile is 1760 yards, 1609.344 m"),
    ("turning speed", "rad/s"): ("1", "1", f"{SI}, table 5"),
    ("turning speed", "deg/s"): ("180", "PI", f"{SI}, table 8"),
    ("turning speed", "rpm"): ("30", "PI", "ISO 80000-3: a revolution is 2 pi rad, a minute 60 s"),
    ("moment of inertia", "kg m2"): ("1", "1", f"{SI}, table 6"),
    ("moment of inertia", "g m2"): ("1000", "1", SI),
    ("time", "s"): ("1", "1", f"{SI}, sec. 2.3.1"),
    ("time", "ms"): ("1000", "1", f"{SI}, table 7"),
    ("force", "N"): ("1", "1", f"{SI}, table 4"),
    ("force", "kgf"): ("100000", "980665", "3rd CGPM 1901: standard gravity is 9.806 65 m/s2"),
    ("force", "gf"): ("100000000", "980665", "3rd CGPM 1901"),
    ("force", "lbf"): ("10000000000000", "44482216152605", f"3rd CGPM 1901 times {YARD}: 4.448 221 615 260 5 N"),
    ("force", "ozf"): ("160000000000000", "44482216152605", "a sixteenth of that"),
    ("power", "W"): ("1", "1", f"{SI}, table 4"),
    ("power", "kW"): ("1", "1000", f"{SI}, table 7"),
    ("torque", "N m"): ("1", "1", f"{SI}, table 4"),
    ("torque", "N cm"): ("100", "1", f"{SI}, table 7"),
    ("torque", "kg cm"): ("10000000", "980665", "a kgf, 3rd CGPM 1901, at a hundredth of a meter"),
    ("torque", "oz in"): ("1600000000000000000", str(44482216152605 * 254), "an ozf at an inch of 25.4 mm"),
    ("share", "%"): ("100", "1", f"{SI}, sec. 5.4.7: % is .01"),
    ("load factor", "g"): ("1", "1", "a multiple of the weight: a number"),
}  # fmt: skip


def test_every_unit_has_a_source():
    assert set(EXACT) == set(PAIRS)


@pytest.mark.parametrize(("kind", "unit"), PAIRS)
def test_every_unit_is_what_its_definition_says(kind, unit):
    """As a file writes it: so many of the unit, read, are so much in SI to rounding."""
    many, si, source = EXACT[kind, unit]
    expected = math.pi if si == "PI" else float(si)
    assert read_quantity(f"{many} {unit}", kind) == pytest.approx(expected, rel=4e-16 * 4), source
    assert to_unit(expected, unit, kind) == pytest.approx(float(many), rel=4e-16 * 4), source


@pytest.mark.parametrize(
    ("value", "kind", "says"),
    [
        (
            310,
            "length",
            'without a unit, expected a length with its unit (mm, cm, m, in, ft), for example "310 mm"',
        ),
        ("310", "length", 'got "310" without a unit'),
        ("0,31 m", "length", 'decimal comma; write "0.31 m"'),
        ("1,5", "length", 'decimal comma; write "1.5"'),
        ("\u22123 mm", "length", 'ASCII hyphen; write "-3 mm"'),
        ("\u20133 mm", "length", 'ASCII hyphen; write "-3 mm"'),
        ("\u0663 m", "length", "plain 0 to 9"),
        ("\uff13 m", "length", "plain 0 to 9"),
        ("3 kg", "length", "another kind of value: mass; expected a length"),
        ("3 g", "length", "another kind of value: mass"),
        ("25 deg", "turning speed", "another kind of value: angle"),
        ("nan mm", "length", "not a finite number"),
        ("inf m", "length", "not a finite number"),
        ("-Infinity m", "length", "not a finite number"),
        ("1e999 m", "length", "not a finite number"),
        ("1e307 kW", "power", "not a finite number"),
        ("3 parsec", "length", "an unknown unit"),
        ("3\u00b0", "angle", "write the unit as deg"),
        ("3 MM", "length", "write the unit as mm"),
        ("0.12 kg m\u00b2", "moment of inertia", "write the unit as kg m2"),
        ("90 kph", "speed", "write the unit as km/h"),
        ("", "angle", "got an empty text, expected an angle"),
        ("long", "length", 'got "long", expected a length'),
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

"""Slips of ruler and keyboard: what cannot be is refused in its place, what is odd is said in words."""

from __future__ import annotations

import math

import pytest
from test_airframe_load import edited

from sixdof.airframe.load import load_airframe
from sixdof.files.errors import InputError
from sixdof.flight.airplane import Airplane

TAIL = "{span: 320 mm, root_chord: 180 mm, tip_chord: 120 mm, sweep: 40 mm}"
WING = "{span: 1000 mm, root_chord: 385 mm, tip_chord: 215 mm, sweep: 120 mm, dihedral: 1 deg}"


@pytest.mark.parametrize(
    ("changes", "meets"),
    [
        # at the center line: wing to 885 aft at 35 below, the tailplane moved up to it
        ((("root: {aft: 1440 mm, up: 15 mm}", "root: {aft: 860 mm, up: -35 mm}"),), True),
        ((("root: {aft: 1440 mm, up: 15 mm}", "root: {aft: 860 mm, up: 115 mm}"),), False),  # well above
        ((("root: {aft: 1440 mm, up: 15 mm}", "root: {aft: 890 mm, up: -35 mm}"),), False),  # just behind
        # only further out: the wing swept back into it
        (
            (
                (WING, WING.replace("sweep: 120 mm, dihedral: 1 deg", "sweep: 700 mm")),
                ("root: {aft: 1440 mm, up: 15 mm}", "root: {aft: 1000 mm, up: -35 mm}"),
            ),
            True,
        ),
    ],
)
def test_tailplane_in_the_wing(tmp_path, changes, meets):
    path = edited(tmp_path, *changes)
    if not meets:
        load_airframe(path)
        return
    with pytest.raises(InputError) as caught:
        load_airframe(path)
    text = str(caught.value)
    place, _, message = text.removeprefix(f"{path}:").partition(": tailplane.root: ")
    assert path.read_text(encoding="utf-8").splitlines()[int(place) - 1] == changes[-1][1].join(["  ", ""])
    assert "runs into the wing" in message and "check the roots" in message and "\n" not in text


@pytest.mark.parametrize(
    ("old", "new", "key", "says"),
    [
        ("cg: {aft: 666 mm", "cg: {aft: 744 mm", "mass.cg.aft", "at 62 % of the mean chord"),
        ("cg: {aft: 666 mm", "cg: {aft: 453 mm", "mass.cg.aft", "at -33 % of the mean chord"),
        ("up: -10 mm}        #", "up: -250 mm}        #", "mass.cg.up", "outside the body"),
        (TAIL, TAIL.replace("320 mm", "320 in"), "tailplane", "% of the wing's"),
        (TAIL, TAIL.replace("mm", "cm"), "tailplane", "% of the wing's"),
        ("{span: 320 mm, root_chord: 400 mm, tip_chord: 220", "{span: 32 mm, root_chord: 400 mm, tip_chord: 220",
         "fin", "1.65 % of the wing's"),
        ("aft: 1800 mm, top: 60 mm", "aft: 18000 mm, top: 60 mm", "body", "% of the span long"),
        ("{aft: 750 mm, top: 215 mm, bottom: -165 mm, width: 150 mm}",
         "{aft: 750 mm, top: 215 mm, bottom: -165 mm, width: 150 cm}", "body", "75 % of the span wide"),
        ("total: 4.7 kg", "total: 47 kg", "mass.total", "768 N on each m2"),
        ("total: 4.7 kg", "total: 0.47 kg", "mass.total", "7.68 N on each m2"),
        ("diameter: 20.5 in", "diameter: 20.5 ft", "propeller.diameter", "347 % of the body's length"),
        ("stall: 11.5 m/s", "stall: 5 m/s", "speeds.stall", "a lift coefficient of 5"),
        ("root: {aft: 500 mm, up: -35 mm}", "root: {aft: 500 mm, up: -350 mm}", "wing.root.up", "mm below the body"),
        ("root: {aft: 500 mm, up: -35 mm}", "root: {aft: 500 mm, up: 350 mm}", "wing.root.up", "mm above the body"),
        ("root: {aft: 1440 mm, up: 15 mm}", "root: {aft: 1440 mm, up: 700 mm}", "tailplane.root.up", "mm above the body"),
        ("root: {aft: 1400 mm, up: 60 mm}", "root: {aft: 1400 mm, up: 160 mm}", "fin.root", "mm above the body"),
        ("root: {aft: 1400 mm, up: 60 mm}", "root: {aft: 1900 mm, up: 60 mm}", "fin.root", "behind the body"),
    ],
)  # fmt: skip
def test_odd_sizes_are_said_in_words(tmp_path, old, new, key, says):
    changes = [(old, new)]
    if key == "fin":  # the rudder goes with it
        changes.append(
            ("rudder: {chord: 180 mm, inboard: 0 mm, outboard: 320 mm}",
             "rudder: {chord: 180 mm, inboard: 0 mm, outboard: 32 mm}")
        )  # fmt: skip
    warnings = load_airframe(edited(tmp_path, *changes)).warnings
    found = [line for line in warnings if line.startswith(f"{key}:")]
    assert found, warnings
    assert says in found[0], found
    assert "\n" not in found[0] and any(word in found[0] for word in ("check", "measure")), found


@pytest.mark.parametrize(
    ("old", "new", "odd"),
    [
        ("inertia: 1.8 g m2", "inertia: 1.8 kg m2", "propeller.inertia: 47 kg m2"),
        ("static_speed: 5900 rpm", "static_speed: 590 rpm", "motor.static_thrust: thrust coefficient 11"),
    ],
)
def test_what_cannot_fly_is_refused_with_the_slip_behind_it(tmp_path, old, new, odd):
    """The complaint of the flight model names what suffers; the slip that is behind it stands on the same line."""
    with pytest.raises(InputError) as caught:
        _ = Airplane(load_airframe(edited(tmp_path, (old, new)))).planes
    text = str(caught.value)
    assert f"; odd beside it: {odd}" in text and "\n" not in text


def test_a_cg_that_was_measured_from_the_wing_is_asked_for(tmp_path):
    """166 for 666 mm aft of the datum, the wing's leading edge at 500 mm."""
    with pytest.raises(
        InputError,
        match=r"mass\.cg: .* ahead of the neutral point .* measured from the wing instead of the datum\?",
    ):
        _ = Airplane(load_airframe(edited(tmp_path, ("cg: {aft: 666 mm", "cg: {aft: 166 mm")))).planes


def test_a_fin_on_top_of_a_tailplane_is_no_slip(tmp_path):
    path = edited(
        tmp_path,
        ("root: {aft: 1400 mm, up: 60 mm}", "root: {aft: 1400 mm, up: 160 mm}"),
        ("root: {aft: 1440 mm, up: 15 mm}", "root: {aft: 1440 mm, up: 155 mm}"),
    )
    assert load_airframe(path).warnings == ()


@pytest.mark.parametrize("zero", ["root_chord: 180 mm", "tip_chord: 120 mm"])
@pytest.mark.parametrize("chord", ["0 mm", "-130 mm"])
def test_a_panel_without_chord_is_refused(tmp_path, zero, chord):
    key = zero.split(":")[0]
    path = edited(tmp_path, (TAIL, TAIL.replace(zero, f"{key}: {chord}")))
    with pytest.raises(
        InputError, match=rf"tailplane\.panels\[0\]\.{key}: got {chord}, expected at least 0.01 mm"
    ):
        load_airframe(path)


#: A plausible slip of ruler or keyboard: what stands there, what was meant, the key that is named, what is said.
SLIPS = {
    "the whole span for one side": (WING, WING.replace("1000 mm", "2000 mm"), "wing.panels", "one side is measured"),
    "root and tip changed over": (WING, WING.replace("385", "215", 1).replace("tip_chord: 215", "tip_chord: 385"), "wing.panels[0].tip_chord", "changed over"),
    "dihedral of both sides": (WING, WING.replace("dihedral: 1 deg", "dihedral: 10 deg"), "wing.panels[0].dihedral", "10 deg; -5 to 8"),
    "thickness for camber": ("thickness: 11 %, camber: 0.2 %", "thickness: 11 %, camber: 11 %", "wing.section.camber", "not the thickness"),
    "incidence of half a ruler": ("incidence: 0.3 deg", "incidence: 5 deg", "wing.incidence", "5 deg; -2 to 4"),
    "hinge line at the front": ("elevator: {chord: 75 mm", "elevator: {chord: 140 mm", "controls.elevator.chord", "behind the hinge line"),
    "millimeters for degrees": ("elevator: {up: 13 deg, down: 13 deg", "elevator: {up: 1.3 deg, down: 13 deg", "rates.normal.elevator.up", "1.3 deg; 4 to 55"),
    "a digit too many": ("Ixx: 0.28 kg m2", "Ixx: 1.28 kg m2", "mass.Ixx", "radius of gyration 26.1 % of the span"),
    "g cm2 taken for g m2": ("inertia: 1.8 g m2", "inertia: 180 g m2", "propeller.inertia", "10000 g cm2"),
    "watts of one cell": ("static_power: 2.2 kW", "static_power: 1.2 kW", "motor.static_power", "by momentum theory"),
    "ounces for newtons": ("static_thrust: 92 N", "static_thrust: 15 N", "motor.static_thrust", "thrust coefficient 0.0"),
    "tail half way": ("root: {aft: 1440 mm, up: 15 mm}", "root: {aft: 940 mm, up: 15 mm}", "tailplane", "its volume"),
}  # fmt: skip


@pytest.mark.parametrize("name", SLIPS)
def test_a_slip_is_remarked_on_at_its_key(tmp_path, name):
    old, new, key, says = SLIPS[name]
    warnings = load_airframe(edited(tmp_path, (old, new))).warnings
    assert any(w.startswith(f"{key}:") and says in w for w in warnings), warnings


@pytest.mark.parametrize("name", ["corvane", "fenlark", "tessel"])
def test_the_demos_have_no_slips(name):
    assert load_airframe(name).warnings == ()


def test_static_power_by_momentum_theory(tmp_path):
    """T^1.5 / sqrt(2 rho A) (actuator disc, any textbook) of 92 N through 20.5 in, by hand: 1.22 kW."""
    area = math.pi / 4.0 * (20.5 * 0.0254) ** 2
    least = 92.0**1.5 / math.sqrt(2.0 * 1.225 * area)
    warnings = load_airframe(edited(tmp_path, ("static_power: 2.2 kW", "static_power: 1.3 kW"))).warnings
    assert f"at least {100.0 * least / 1300.0:.0f} % of it" in next(w for w in warnings if "momentum" in w)


def test_the_trims_in_the_radio_are_held_against_ours(tmp_path):
    from sixdof import Airplane, check

    trims = ("  blends: []", '  trims: {elevator: "12 % up"}\n  blends: []')
    path = edited(tmp_path, trims)
    ours = 100.0 * float(Airplane(str(path)).plane["elevator_trim"])
    [remark] = [r for r in check(Airplane(str(path))).remarks if r.about == "radio.trims"]
    way = "up" if ours > 0 else "down"
    assert f"takes {abs(ours):.0f} % {way} of elevator, the radio holds 12 % up" in remark.text
    assert not [r for r in check(Airplane("corvane")).remarks if r.about == "radio.trims"]

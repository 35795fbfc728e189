"""Slips of ruler and keyboard: what cannot be is refused in its place, what is odd is said in words."""

from __future__ import annotations

import pytest
from test_airframe_load import edited

from sixdof.airframe.load import load_airframe
from sixdof.files.errors import InputError

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

"""Blends in words become points; signs, sides, names and order are checked."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sixdof.airframe.blends import WAYS, BlendSpec, amount
from sixdof.airframe.describe import blend_words
from sixdof.airframe.load import load_airframe, load_blends
from sixdof.files.errors import InputError

FILES = Path(__file__).parent / "files"
AIRCRAFT = Path(__file__).parent.parent / "aircraft"


def blends(tmp_path, *lines):
    path = tmp_path / "blends.yaml"
    path.write_text("blends:\n" + "".join(f"  - {{{line}}}\n" for line in lines), encoding="utf-8")
    return load_blends(path)


def test_file_of_blends():
    v_shape, roll, idle, curve = load_blends(FILES / "blends.yaml")
    assert v_shape == BlendSpec(
        source="rudder", target="elevator", points=((-1.0, 0.03), (0.0, 0.0), (1.0, 0.02))
    )
    assert v_shape.name == "rudder-elevator" and v_shape.switch == "on" and v_shape.ramp == 0.2
    assert (
        v_shape.reads == "command"
        and not v_shape.counts_trim
        and v_shape.gate is None
        and v_shape.after == ()
    )
    assert roll.points == ((-1.0, 0.02), (0.0, 0.0), (1.0, -0.02))
    assert (roll.switch, roll.ramp, roll.counts_trim, roll.reads) == ("off", 0.4, True, "stick")
    assert (roll.gate.channel, roll.gate.above, roll.gate.below) == ("throttle", 0.3, None)
    assert roll.after == ("rudder-elevator",)
    assert idle.points == ((0.0, -0.015), (0.15, 0.0), (1.0, 0.0))
    assert curve.points == ((-1.0, 0.04), (-0.5, 0.01), (0.0, 0.0), (1.0, -0.02))


def test_one_side_alone_leaves_the_other_at_zero(tmp_path):
    (one,) = blends(tmp_path, 'source: elevator, target: flap, down: "10 % down"')
    assert one.points == ((-1.0, 0.1), (0.0, 0.0), (1.0, 0.0))


def test_flap_rests_up_and_throttle_in_the_middle(tmp_path):
    flap, both = blends(
        tmp_path,
        'source: flap, target: elevator, high: "5 % down"',
        'source: throttle, target: rudder, low: "1 % left", high: "2 % right"',
    )
    assert flap.points == ((0.0, 0.0), (1.0, -0.05))
    assert both.points == ((0.0, -0.01), (0.15, 0.0), (0.85, 0.0), (1.0, 0.02))


@pytest.mark.parametrize(
    ("line", "key", "says"),
    [
        ('source: ruder, target: elevator, left: "3 % up"', "blends[0].source", "did you mean rudder?"),
        ('source: rudder, target: elevater, left: "3 % up"', "blends[0].target", "did you mean elevator?"),
        (
            'source: rudder, target: throttle, left: "3 % up"',
            "blends[0].target",
            "known here: aileron, elevator, rudder, flap",
        ),
        ('source: rudder, target: rudder, left: "3 % left"', "blends[0].target", "to itself"),
        ('source: rudder, target: elevator, lefft: "3 % up"', "blends[0].lefft", "did you mean left?"),
        ('source: rudder, target: elevator, up: "3 % up"', "blends[0].up", "its sides are left and right"),
        ('source: elevator, target: flap, left: "3 % up"', "blends[0].left", "its sides are down and up"),
        ('source: flap, target: elevator, low: "3 % up"', "blends[0].low", "flaps up is the rest position"),
        ("source: rudder, target: elevator", "blends[0]", "no amount; give left and right"),
        ('source: rudder, target: elevator, left: "-3 % up"', "blends[0].left", 'write "3 % down"'),
        ('source: rudder, target: elevator, left: "+3 % up"', "blends[0].left", 'write "3 % up"'),
        ('source: rudder, target: aileron, left: "-3 % left"', "blends[0].left", 'write "3 % right"'),
        ('source: rudder, target: elevator, left: "3 %"', "blends[0].left", '"3 % down" or "3 % up"'),
        (
            'source: rudder, target: elevator, left: "3 % left"',
            "blends[0].left",
            "which way the elevator goes",
        ),
        ('source: rudder, target: elevator, left: "3 % upp"', "blends[0].left", "did you mean up?"),
        ('source: rudder, target: elevator, left: "3 up"', "blends[0].left", "3 up"),
        ('source: rudder, target: elevator, left: "3,5 % up"', "blends[0].left", "decimal comma"),
        ('source: rudder, target: elevator, left: "\u22123 % up"', "blends[0].left", "ASCII hyphen"),
        ('source: rudder, target: elevator, left: "nan % up"', "blends[0].left", "not a finite number"),
        ('source: rudder, target: elevator, left: "120 % up"', "blends[0].left", "expected at most 100 %"),
        ("source: rudder, target: elevator, left: 3", "blends[0].left", "expected text"),
        (
            'source: rudder, target: elevator, left: "3 % up", switch: true',
            "blends[0].switch",
            "known here: on, off",
        ),
        (
            'source: rudder, target: elevator, left: "3 % up", ramp: 1',
            "blends[0].ramp",
            "without a unit, expected",
        ),
        (
            'source: rudder, target: elevator, left: "3 % up", reads: stik',
            "blends[0].reads",
            "did you mean stick?",
        ),
        (
            'source: rudder, target: elevator, left: "3 % up", gate: {channel: throttle}',
            "blends[0].gate",
            "a gate has one limit",
        ),
        (
            'source: rudder, target: elevator, left: "3 % up", gate: {channel: thrott, below: 15 %}',
            "blends[0].gate.channel",
            "did you mean throttle?",
        ),
        (
            'source: rudder, target: elevator, left: "3 % up", after: [x]',
            "blends[0].after[0]",
            "unknown blend x; known here: rudder-elevator",
        ),
        (
            'source: rudder, target: elevator, left: "3 % up", after: [rudder-elevatr]',
            "blends[0].after[0]",
            "did you mean rudder-elevator?",
        ),
        (
            'source: rudder, target: elevator, left: "3 % up", after: [rudder-elevator]',
            "blends[0].after",
            "in a loop (rudder-elevator -> rudder-elevator)",
        ),
        (
            'source: rudder, target: elevator, left: "3 % up", curve: [["0 %", "0 %"], ["9 %", "0 %"]]',
            "blends[0].left",
            "leave this one out",
        ),
        (
            'source: rudder, target: elevator, curve: [["0 %", "0 %"]]',
            "blends[0].curve",
            "got a list of 1, expected at least 2",
        ),
        (
            'source: rudder, target: elevator, curve: [["9 %", "0 %"], ["0 %", "0 %"]]',
            "blends[0].curve[1]",
            "from low to high",
        ),
        (
            'source: throttle, target: elevator, curve: [["-9 %", "0 %"], ["0 %", "0 %"]]',
            "blends[0].curve[0][0]",
            "outside 0 % to 100 %",
        ),
        (
            'source: rudder, target: elevator, curve: [["-9 %", "1 % left"], ["0 %", "0 %"]]',
            "blends[0].curve[0][1]",
            "which way the elevator",
        ),
        (
            'source: rudder, target: elevator, curve: [["-9 %", 3], ["0 %", "0 %"]]',
            "blends[0].curve[0][1]",
            "in words",
        ),
    ],
)
def test_bad_blend_is_refused_in_its_place(tmp_path, line, key, says):
    with pytest.raises(InputError) as caught:
        blends(tmp_path, line)
    text = str(caught.value)
    assert "\n" not in text
    assert text.startswith(f"{tmp_path / 'blends.yaml'}:2: {key}: ")
    assert says in text


def test_loops_and_double_names_across_blends(tmp_path):
    base = 'source: rudder, target: elevator, left: "3 % up"'
    with pytest.raises(InputError, match=r"blends\[1\]\.name: two blends are called rudder-elevator"):
        blends(tmp_path, base, base)
    with pytest.raises(InputError, match=r"blends\.yaml:3: blends\[1\]\.after: .*loop \(b -> c -> b\)"):
        blends(
            tmp_path, f"{base}, name: a", f"{base}, name: b, after: [a, c]", f"{base}, name: c, after: [b]"
        )
    chain = blends(
        tmp_path, f"{base}, name: a, after: [b]", f"{base}, name: b, after: [c]", f"{base}, name: c"
    )
    assert [blend.name for blend in chain] == ["a", "b", "c"]


def test_unknown_top_key_of_a_blends_file(tmp_path):
    path = tmp_path / "blends.yaml"
    path.write_text("blend: []\n")
    with pytest.raises(InputError, match=r"blends\.yaml:1: blend: .*did you mean blends\?"):
        load_blends(path)


@given(st.sampled_from(sorted(WAYS)), st.integers(0, 1000), st.sampled_from([-1, 1]))
def test_words_round_trip(target, tenths, sign):
    way = next(word for word, way_sign in WAYS[target].items() if way_sign == sign)
    assert amount(f"{tenths / 10} % {way}", target) == pytest.approx(sign * tenths / 1000)


@given(st.text(max_size=25), st.sampled_from(sorted(WAYS)))
def test_any_text_is_an_amount_or_refused(text, target):
    try:
        assert -1.0 <= amount(text, target) <= 1.0
    except ValueError as error:
        assert len(str(error)) > 10


def test_blend_words_give_percent_and_degrees():
    airplane = load_airframe(AIRCRAFT / "corvane.yaml")
    v_shape, roll, _, _ = load_blends(FILES / "blends.yaml")
    assert blend_words(v_shape, airplane, "normal") == [
        "full left rudder: elevator 3 % UP (0.39°)",
        "full right rudder: elevator 2 % UP (0.26°)",
    ]
    assert blend_words(roll, airplane, "normal")[0] == "full left rudder: aileron 2 % RIGHT (0.35°)"

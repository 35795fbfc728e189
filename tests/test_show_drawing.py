"""The drawing of an airplane: what it shows and where, by the objects of the figure."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from PIL import Image
from showing import airplane

from sixdof.airframe.geometry import Panel, Ventral
from sixdof.show.drawing import airframe_figure, draw_airframe
from sixdof.show.letters import with_fonts
from sixdof.show.measures import ends, margin_words, mean_chord_side, mm

VIEWS = ("above", "side", "front")
DEMOS = ("corvane", "fenlark")


def axes_of(figure):
    """Axes by name."""
    return {axes.get_label(): axes for axes in figure.axes}


def words_of(figure):
    """All words on the sheet, a line each."""
    return "\n".join(text.get_text() for text in axes_of(figure)["sheet"].texts)


def drawn(figure, name, view="sheet"):
    """Patches and lines of that name in a view."""
    axes = axes_of(figure)[view]
    return [artist for artist in (*axes.patches, *axes.lines) if artist.get_gid() == name]


def at(figure, view, aft, up_the_page):
    """Place on the sheet [pixel] of a point of a view [mm]."""
    return axes_of(figure)[view].transData.transform((aft, up_the_page))


def bare():
    """An airplane with nothing that may be left out: no ventral fin, no flap, nothing tilted, real."""
    corvane = airplane()
    straight = corvane.wing.model_copy(update={"incidence": 0.0})
    propeller = corvane.propeller.model_copy(update={"down_thrust": 0.0, "right_thrust": 0.0})
    return corvane.model_copy(
        update={"wing": straight, "propeller": propeller, "invented": False, "about": ""}
    )


def full():
    """An airplane with everything: ventral fin, flaps, five panels, washout, a CG off the center line."""
    fenlark = airplane("fenlark")
    panels = tuple(
        Panel.model_construct(
            span=0.2, root_chord=0.27 - 0.02 * k, tip_chord=0.25 - 0.02 * k, sweep=0.02,
            dihedral=math.radians(2.0 * k), washout=math.radians(0.5),
        ) for k in range(5)
    )  # fmt: skip
    ventral = Ventral.model_construct(
        root=(-0.95, 0.0, 0.02), incidence=0.0, section=fenlark.fin.section,
        panels=(Panel.model_construct(span=0.08, root_chord=0.12, tip_chord=0.06, sweep=0.04, dihedral=0.0, washout=0.0),),
    )  # fmt: skip
    mass = fenlark.mass.model_copy(update={"cg": (-0.381, 0.004, -0.005)})
    return fenlark.model_copy(
        update={"wing": fenlark.wing.model_copy(update={"panels": panels}), "ventral": ventral, "mass": mass}
    )


def balanced(airframe, x):
    """The same airplane with its CG at x, -10 mm above the datum."""
    return airframe.model_copy(
        update={"mass": airframe.mass.model_copy(update={"m": 4.7, "cg": (x, 0.0, 0.01)})}
    )


# ---------------------------------------------------------------- the file


@pytest.mark.parametrize("make", [bare, full])
def test_picture_is_written(make, tmp_path):
    draw_airframe(make(), tmp_path / "plane.png", neutral_point=-0.5, notes=["look here"])
    with Image.open(tmp_path / "plane.png") as image:
        assert image.format == "PNG" and image.size == (1600, 1100)
        pixels = np.asarray(image.convert("RGB"), int)
    assert (pixels.max(axis=2) - pixels.min(axis=2) > 40).mean() > 0.005, "some of it has a color"


def test_a_name_is_not_read_as_a_formula_and_may_have_any_letters(tmp_path, recwarn):
    odd = bare().model_copy(update={"name": "a $x^{2 plane 飛行機", "about": "$\\frac{"})
    draw_airframe(odd, tmp_path / "odd.png", notes=["$ and _"])
    assert not [str(w.message) for w in recwarn]
    assert with_fonts("a $x^{2 plane 飛行機")[0] in words_of(airframe_figure(odd))


def test_what_cannot_be_written_is_an_os_error(tmp_path):
    with pytest.raises(OSError):
        draw_airframe(bare(), tmp_path / "nowhere" / "plane.png")


# ---------------------------------------------------------------- views


@pytest.mark.parametrize("name", DEMOS)
def test_views_share_a_scale_and_are_aligned(name):
    figure = airframe_figure(airplane(name))
    figure.canvas.draw()
    axes = axes_of(figure)
    scales = []
    for view in VIEWS:
        box = axes[view].get_window_extent()
        scales += [box.width / np.ptp(axes[view].get_xlim()), box.height / np.ptp(axes[view].get_ylim())]
    assert scales == pytest.approx([scales[0]] * 6, rel=1e-6), "pixel a mm"
    assert axes["above"].get_xlim() == axes["side"].get_xlim(), "mm aft of the datum"
    assert axes["front"].get_ylim() == axes["side"].get_ylim(), "mm above the datum"
    assert at(figure, "above", 100.0, 0.0)[0] == pytest.approx(at(figure, "side", 100.0, 0.0)[0])
    assert at(figure, "front", 0.0, 50.0)[1] == pytest.approx(at(figure, "side", 0.0, 50.0)[1])


@pytest.mark.parametrize("make", [bare, full])
def test_outlines_reach_as_far_as_the_file_says(make):
    airframe = make()
    figure = airframe_figure(airframe)

    def reach(view, *names):
        points = np.concatenate([p.get_xy() for name in names for p in drawn(figure, name, view)])
        return points.min(axis=0), points.max(axis=0)

    wing = ("wing", "aileron", *(["flap"] if airframe.controls.flap else []))
    low, high = reach("above", *wing)
    assert high[1] == -low[1] == pytest.approx(500.0 * airframe.wing.span, abs=2.0)
    assert low[0] == pytest.approx(-1e3 * airframe.wing.root[0], abs=2.0)
    low, high = reach("side", "body", "tailplane", "elevator", "fin", "rudder", *wing)
    assert (-low[0], -high[0]) == pytest.approx([1e3 * x for x in ends(airframe)], abs=2.0)
    assert high[1] == pytest.approx(1e3 * (airframe.fin.span - airframe.fin.root[2]), abs=2.0)
    low, high = reach("front", "propeller")
    assert high[0] - low[0] == pytest.approx(1e3 * airframe.propeller.diameter, rel=0.01)
    for view in VIEWS:
        for name, there in (("flap", airframe.controls.flap), ("ventral", airframe.ventral)):
            assert bool(drawn(figure, name, view)) == bool(there), (name, view)
    assert len(drawn(figure, "hinge", "above")) >= 4 and not drawn(figure, "hinge", "front")


def test_right_wing_is_up_from_above_and_left_from_the_front():
    """A CG off to the right tells the sides."""
    airframe = full()
    figure = airframe_figure(airframe)
    plan, side = (patch.center for patch in drawn(figure, "CG"))
    assert plan == pytest.approx(at(figure, "above", 381.0, 4.0), abs=0.1)
    assert side == pytest.approx(at(figure, "side", 381.0, 5.0), abs=0.1)
    front = np.concatenate([p.get_xy() for p in drawn(figure, "aileron", "front")])
    assert "dihedral 0° to 8°" in words_of(figure) and front[:, 0].max() == -front[:, 0].min()


# ---------------------------------------------------------------- marks and words


@pytest.mark.parametrize("aft", [0.1, 0.3, 0.36, 0.381, 0.4, 0.9])
def test_neutral_point_is_drawn_where_told(aft):
    airframe = balanced(airplane("fenlark"), -0.381)
    figure = airframe_figure(airframe, neutral_point=-aft)
    for view, mark in zip(("above", "side"), drawn(figure, "neutral point"), strict=True):
        up = 0.0 if view == "above" else -1e3 * airframe.mass.cg[2]
        assert (mark.get_xdata()[0], mark.get_ydata()[0]) == pytest.approx(
            at(figure, view, 1e3 * aft, up), abs=0.1
        )
    words = words_of(figure)
    margin = 100.0 * (aft - 0.381) / 0.27
    assert f"neutral point {1e3 * aft:.0f} mm" in words
    assert f"static margin {margin:.1f}".rstrip("0").rstrip(".").replace("-", "\u2212") in words
    assert ("CG ahead" in words, "CG BEHIND" in words) == (margin > 0.0, margin < 0.0)


def test_neutral_point_far_off_or_unknown():
    far = airframe_figure(bare(), neutral_point=-9.0)
    assert not drawn(far, "neutral point") and "outside of this picture" in words_of(far)
    unknown = airframe_figure(bare())
    assert not drawn(unknown, "neutral point") and "neutral point" not in words_of(unknown)


def test_words_say_what_the_file_says():
    words = words_of(airframe_figure(balanced(airplane(), -0.653), notes=["the tail is huge"]))
    wing, tail = airplane().wing, airplane().tailplane
    arm = wing.quarter_chord[0] - tail.quarter_chord[0]
    volume = tail.area * arm / (wing.area * wing.mean_chord)
    for said in ("corvane", "invented airplane: do not dial this in", "span 2000 mm", "length 1800 mm", "60 dm²",
                 "mean chord 308 mm", "25 %", f"tail volume {volume:.2f}", "4.70 kg, 78 g/dm²", "653 mm aft of the datum",
                 "32 % of the mean chord", "521 mm × 330 mm (20.5 × 13 in), 2 blades", "wing incidence 0.3°",
                 "tailplane incidence 0°", "dihedral 1°", "thrust line\n2° right", "thrust line\n0.5° down",
                 "clockwise,\nseen from behind", "datum", "! the tail is huge"):  # fmt: skip
        assert said in words, said
    plain = words_of(airframe_figure(bare()))
    assert "invented" not in plain and "thrust line\n0°" in plain and "flap" not in plain
    more = words_of(airframe_figure(full()))
    for said in ("flap", "ventral fin", "washout 2.5°", "4 mm to the right"):
        assert said in more, said


def test_thrust_line_turns_to_the_side_of_its_words():
    tilted = bare().propeller.model_copy(
        update={"down_thrust": 0.1, "right_thrust": -0.05, "clockwise": False}
    )
    figure = airframe_figure(bare().model_copy(update={"propeller": tilted}))
    words = words_of(figure)
    assert "2.9° left" in words and "5.7° down" in words and "counterclockwise" in words
    for line, slope in zip(drawn(figure, "thrust line"), (0.05, 0.1), strict=True):
        (x0, x1), (y0, y1) = line.get_xdata(), line.get_ydata()
        assert x0 < x1 and (y1 - y0) / (x1 - x0) == pytest.approx(math.tan(slope), rel=0.01), (
            "left and down in front"
        )


def test_more_warnings_than_fit_are_not_hidden():
    words = words_of(airframe_figure(bare(), notes=[f"warning number {k}" for k in range(99)]))
    assert "warning number 0" in words and "warning number 98" not in words and "and more" in words


# ---------------------------------------------------------------- nothing on top of anything


def collisions(figure):
    """Words that lie on other words or reach out of the sheet."""
    figure.canvas.draw()
    texts = list(axes_of(figure)["sheet"].texts)
    for view in VIEWS:
        texts += [*axes_of(figure)[view].get_xticklabels(), *axes_of(figure)[view].get_yticklabels()]
    boxes = [(t.get_text(), t.get_window_extent()) for t in texts if t.get_visible() and t.get_text()]
    found = [name for name, b in boxes if b.x0 < 0 or b.y0 < 0 or b.x1 > 1600 or b.y1 > 1100]
    for (one, a), (two, b) in itertools.combinations(boxes, 2):
        if min(a.x1, b.x1) - max(a.x0, b.x0) > 1.0 and min(a.y1, b.y1) - max(a.y0, b.y0) > 1.0:
            found.append(f"{one!r} on {two!r}")
    return found


@pytest.mark.parametrize("make", [airplane, bare, full, lambda: airplane("fenlark")])
def test_no_words_lie_on_others(make):
    figure = airframe_figure(make(), neutral_point=-0.4, notes=["a long warning about many things " * 5] * 12)
    assert not collisions(figure)


@settings(deadline=None, max_examples=15, phases=(Phase.explicit, Phase.generate))
@given(
    span=st.floats(0.15, 2.0), chord=st.floats(0.08, 0.5), sweep=st.floats(-0.1, 0.5), number=st.integers(1, 8),
    bend=st.floats(-4.0, 6.0), wash=st.floats(0.0, 1.0), tilt=st.floats(-6.0, 6.0), margin=st.floats(-0.3, 0.3),
    pusher=st.booleans(), size=st.floats(0.3, 1.6),
)  # fmt: skip
def test_no_words_lie_on_others_whatever_the_airplane(
    span, chord, sweep, number, bend, wash, tilt, margin, pusher, size
):
    """Half span, chord and set-back of the wing, panels each bent and twisted more, thrust line, diameter."""
    airframe = airplane()
    panels = tuple(
        Panel.model_construct(
            span=span / number, root_chord=chord * (1.0 - 0.08 * k), tip_chord=chord * (0.92 - 0.08 * k),
            sweep=sweep / number, dihedral=math.radians(bend * k), washout=math.radians(wash),
        ) for k in range(number)
    )  # fmt: skip
    propeller = airframe.propeller.model_copy(
        update={"down_thrust": math.radians(tilt), "right_thrust": math.radians(-tilt / 2),
                "diameter": size * airframe.propeller.diameter,
                "position": (-0.95, 0.0, -0.1) if pusher else (0.0, 0.0, 0.0)}
    )  # fmt: skip
    wing = airframe.wing.model_copy(update={"panels": panels})
    made = airframe.model_copy(update={"wing": wing, "propeller": propeller})
    figure = airframe_figure(made, neutral_point=made.mass.cg[0] - margin * wing.mean_chord)
    assert not collisions(figure)


# ---------------------------------------------------------------- numbers


def test_mean_chord_of_a_straight_taper_lies_where_the_chord_is_as_long():
    wing = airplane().wing
    [panel] = wing.panels
    out = mean_chord_side(wing) / math.cos(panel.dihedral)
    local = panel.root_chord + (panel.tip_chord - panel.root_chord) * out / panel.span
    assert local == pytest.approx(wing.mean_chord, rel=1e-12)


def test_numbers_in_words():
    assert mm(1.2344) == "1234 mm" and mm(0.0042) == "4.2 mm" and mm(-0.03) == "\u221230 mm"
    corvane = airplane()
    at_cg = corvane.mass.cg[0]
    assert margin_words(corvane, at_cg) == "static margin 0 %, CG on it"
    behind = margin_words(corvane, at_cg + 0.1 * corvane.wing.mean_chord)
    assert behind == "static margin \u221210 %, CG BEHIND"

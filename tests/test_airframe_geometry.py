"""Areas, mean chords and quarter points against sums over thin strips and textbook forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from sixdof.airframe.geometry import Fin, Surface, Ventral
from sixdof.airframe.mass import MassForm

_mm = st.integers(20, 2000)
_panel = st.tuples(_mm, _mm, _mm, st.integers(-300, 500), st.integers(-20, 20))
_keys = ("span", "root_chord", "tip_chord", "sweep", "dihedral")


def surface(kind, panels, aft=500, up=100):
    units = ("mm", "mm", "mm", "mm", "deg")
    rows = [
        {key: f"{value} {unit}" for key, value, unit in zip(_keys, panel, units, strict=True)}
        for panel in panels
    ]
    root = {"aft": f"{aft} mm", "up": f"{up} mm"}
    return kind.model_validate({"root": root, "section": {"thickness": "10 %"}, "panels": rows})


def strips(panels, n=4000):
    """Chord, quarter point behind and above the root, and width of thin strips of one side [mm]."""
    columns, back, up = [], 0.0, 0.0
    for span, root, tip, sweep, dihedral in panels:
        s = (np.arange(n) + 0.5) / n
        chord = root + (tip - root) * s
        rise = span * math.sin(math.radians(dihedral))
        width = np.full(n, span * math.cos(math.radians(dihedral)) / n)
        columns.append((chord, back + sweep * s + chord / 4, up + rise * s, width))
        back, up = back + sweep, up + rise
    return [np.concatenate(column) for column in zip(*columns, strict=True)]


@given(st.lists(_panel, min_size=1, max_size=3))
def test_wing_against_thin_strips(panels):
    wing = surface(Surface, panels)
    chord, quarter, up, width = strips(panels)
    half = np.sum(chord * width)
    assert wing.area == pytest.approx(2e-6 * half, rel=1e-5)
    assert wing.span == pytest.approx(2e-3 * np.sum(width), rel=1e-9)
    assert wing.mean_chord == pytest.approx(1e-3 * np.sum(chord**2 * width) / half, rel=1e-5)
    x, y, z = wing.quarter_chord
    assert x == pytest.approx(-0.5 - 1e-3 * np.sum(chord * quarter * width) / half, abs=2e-5)
    assert y == 0.0
    assert z == pytest.approx(-0.1 - 1e-3 * np.sum(chord * up * width) / half, abs=2e-5)


def test_trapezoid_mean_chord_textbook():
    """(2/3) c (1 + t + t^2)/(1 + t); common textbook form, from memory."""
    wing = surface(Surface, [(1000, 400, 200, 0, 0)])
    t = 0.5
    assert wing.mean_chord == pytest.approx(2 / 3 * 0.4 * (1 + t + t * t) / (1 + t), rel=1e-12)


def test_fin_runs_up_and_ventral_down():
    fin, ventral = (surface(kind, [(300, 200, 200, 0, 0)]) for kind in (Fin, Ventral))
    assert fin.area == ventral.area == pytest.approx(0.06) and fin.span == pytest.approx(0.3)
    assert fin.quarter_chord == pytest.approx((-0.55, 0.0, -0.25))
    assert ventral.quarter_chord == pytest.approx((-0.55, 0.0, 0.05))


def mass(Ixx, Iyy, Izz, Ixz=0.0, Ixy=0.0, Iyz=0.0):
    names = {"Ixx": Ixx, "Iyy": Iyy, "Izz": Izz, "Ixz": Ixz, "Ixy": Ixy, "Iyz": Iyz}
    values = {name: f"{value!r} kg m2" for name, value in names.items()}
    form = MassForm.model_validate({"total": "5 kg", "cg": {"aft": "0 m", "up": "0 m"}, **values})
    return form.to_mass({})


_coordinates = st.lists(st.tuples(*[st.floats(-1, 1)] * 3), min_size=5, max_size=9)


@given(_coordinates)
def test_every_body_of_point_masses_is_possible(points):
    """A second way: inertias summed over point masses fit the rule, whatever the points."""
    r = np.array(points) + np.eye(9, 3)[: len(points)] * 1.5  # never all on one line
    r -= r.mean(axis=0)
    x, y, z = r.T
    body = mass(
        float(np.sum(y**2 + z**2)), float(np.sum(x**2 + z**2)), float(np.sum(x**2 + y**2)),
        float(np.sum(x * z)), float(np.sum(x * y)), float(np.sum(y * z)),
    )  # fmt: skip
    assert body.Ixz == pytest.approx(float(np.sum(x * z)))


@given(st.permutations([1.0, 1.0, 2.01]))
def test_triangle_rule_on_every_axis(moments):
    with pytest.raises(ValidationError, match="more than the other two together"):
        mass(*moments)


def test_triangle_rule_holds_for_principal_axes_too():
    """1, 1 with product .5 is .5 and 1.5, possible with 1.9; .8 makes .2 and 1.8, not possible with 1.5."""
    assert mass(1.0, 1.9, 1.0, Ixz=0.5).Ixz == 0.5
    with pytest.raises(ValidationError, match="too large"):
        mass(1.0, 1.5, 1.0, Ixz=0.8)
    with pytest.raises(ValidationError, match="too large"):
        mass(1.0, 1.0, 1.0, Ixy=1.2)

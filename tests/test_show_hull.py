"""The airplane as meshes against the measures of its file."""

import math

import numpy as np
import pytest
from showing import airplane

from sixdof.show.hull import loft_airframe, painted
from sixdof.show.loft import GLASS
from sixdof.show.outlines import profile


@pytest.mark.parametrize("name", ["corvane", "fenlark"])
def test_hull_has_the_span_and_length_of_the_file(name):
    airframe = airplane(name)
    hull = loft_airframe(airframe)
    for part, surface in (("wing", airframe.wing), ("tailplane", airframe.tailplane)):
        bounds = hull.parts[part].mesh.bounds
        assert bounds.y_max - bounds.y_min == pytest.approx(surface.span, abs=1e-4)
    body = hull.parts["body"].mesh.bounds
    assert body.x_max - body.x_min == pytest.approx(airframe.body[0].x - airframe.body[-1].x, abs=1e-4)
    assert body.y_max - body.y_min == pytest.approx(max(s.width for s in airframe.body), abs=1e-4)
    fin = hull.parts["fin"].mesh.bounds
    assert fin.z_max - fin.z_min == pytest.approx(airframe.fin.span, abs=1e-4)
    disc = hull.parts["propeller"].mesh.bounds
    assert disc.z_max - disc.z_min == pytest.approx(airframe.propeller.diameter, rel=0.01)
    assert hull.length == pytest.approx(airframe.body[0].x - airframe.body[-1].x, rel=0.1)


def test_hull_is_drawn_from_the_center_of_gravity():
    airframe = airplane()
    nose = loft_airframe(airframe).parts["body"].mesh.bounds.x_max
    assert nose == pytest.approx(airframe.body[0].x - airframe.mass.cg[0], abs=1e-6)


@pytest.mark.parametrize("name", ["corvane", "fenlark"])
def test_hull_is_its_own_mirror_image(name):
    hull = loft_airframe(airplane(name))
    for part, piece in hull.parts.items():
        if part == "propeller":  # thrust line
            continue
        other = part.replace("_right", "_LEFT").replace("_left", "_right").replace("_LEFT", "_left")
        points = hull.parts[other].mesh.points
        flipped = piece.mesh.points * (1.0, -1.0, 1.0)
        gaps = [np.min(np.linalg.norm(flipped - point, axis=1)) for point in points]
        assert max(gaps) < 1e-5, part


@pytest.mark.parametrize("name", ["corvane", "fenlark"])
def test_skins_face_outward(name):
    for part, piece in loft_airframe(airplane(name)).parts.items():
        mesh = piece.mesh.triangulate()
        a, b, c = mesh.points[mesh.faces.reshape(-1, 4)[:, 1:]].transpose(1, 0, 2)
        assert np.einsum("ij,ij->", a, np.cross(b, c)) > 0.0, part


def test_wing_planform_has_the_area_of_the_file():
    airframe = airplane("fenlark")
    hull = loft_airframe(airframe)
    seen = 0.0
    for name in ("wing", "aileron_right", "aileron_left", "flap_right", "flap_left"):
        mesh = hull.parts[name].mesh.triangulate()
        a, b, c = mesh.points[mesh.faces.reshape(-1, 4)[:, 1:]].transpose(1, 0, 2)
        seen += 0.25 * np.abs(np.cross(b - a, c - a)[:, 2]).sum()  # each is covered from above and from below
    assert seen == pytest.approx(airframe.wing.area, rel=0.01)


@pytest.mark.parametrize(
    ("part", "axis", "way"),
    [
        ("elevator_right", 2, 1),
        ("elevator_left", 2, 1),
        ("aileron_right", 2, 1),
        ("aileron_left", 2, 1),
        ("rudder", 1, -1),
    ],
)
def test_positive_deflection_is_trailing_edge_down_or_left(part, axis, way):
    piece = loft_airframe(airplane()).parts[part]
    still = piece.mesh.points
    edge = still[:, 0].argmin()
    moved = piece.mesh.transform(piece.turn(math.radians(20.0)), inplace=False).points
    assert way * (moved[edge, axis] - still[edge, axis]) > 0.02
    hinge = still[:, 0].argmax()
    assert np.linalg.norm(moved[hinge] - still[hinge]) < 0.01


def test_topside_underside_and_canopy_are_told_apart():
    mesh = loft_airframe(airplane()).posed({})
    colors = painted(mesh, "#204060")
    assert len(np.unique(colors, axis=0)) == 4
    glass = mesh.cell_data["paint"] == GLASS
    assert mesh.cell_centers().points[glass, 2].max() < 0.0  # above the center of gravity


def test_profile_has_the_thickness_asked_for():
    outline = profile(0.0, 1.0, 0.12, 0.0)
    assert outline[:, 1].max() - outline[:, 1].min() == pytest.approx(0.12, abs=0.001)
    assert outline[:, 0].min() == 0.0
    assert outline[:, 0].max() == 1.0

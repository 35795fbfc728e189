"""The airplane as meshes against the measures of its file."""

import math

import numpy as np
import pytest
from showing import airplane

from sixdof.show.hull import loft_airframe, paints
from sixdof.show.loft import GLASS
from sixdof.show.outlines import profile


def span(mesh, axis):
    """From end to end along an axis [m]."""
    return float(np.ptp(mesh.points[:, axis]))


@pytest.mark.parametrize("name", ["corvane", "fenlark"])
def test_hull_has_the_span_and_length_of_the_file(name):
    airframe = airplane(name)
    hull = loft_airframe(airframe)
    for part, surface in (("wing", airframe.wing), ("tailplane", airframe.tailplane)):
        assert span(hull.parts[part].mesh, 1) == pytest.approx(surface.span, abs=1e-4)
    body = hull.parts["body"].mesh
    assert span(body, 0) == pytest.approx(airframe.body[0].x - airframe.body[-1].x, abs=1e-4)
    assert span(body, 1) == pytest.approx(max(s.width for s in airframe.body), abs=1e-4)
    assert span(hull.parts["fin"].mesh, 2) == pytest.approx(airframe.fin.span, abs=1e-4)
    disc = hull.parts["propeller"].mesh
    assert span(disc, 2) == pytest.approx(airframe.propeller.diameter, rel=0.01)
    assert hull.length == pytest.approx(airframe.body[0].x - airframe.body[-1].x, rel=0.1)


def test_hull_is_drawn_from_the_center_of_gravity():
    airframe = airplane()
    nose = loft_airframe(airframe).parts["body"].mesh.points[:, 0].max()
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
        a, b, c = piece.mesh.points[piece.mesh.faces].transpose(1, 0, 2)
        assert np.einsum("ij,ij->", a, np.cross(b, c)) > 0.0, part


def test_wing_planform_has_the_area_of_the_file():
    airframe = airplane("fenlark")
    hull = loft_airframe(airframe)
    seen = 0.0
    for name in ("wing", "aileron_right", "aileron_left", "flap_right", "flap_left"):
        mesh = hull.parts[name].mesh
        a, b, c = mesh.points[mesh.faces].transpose(1, 0, 2)
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
    turn = piece.turn(math.radians(20.0))
    moved = still @ turn[:3, :3].T + turn[:3, 3]
    assert way * (moved[edge, axis] - still[edge, axis]) > 0.02
    hinge = still[:, 0].argmax()
    assert np.linalg.norm(moved[hinge] - still[hinge]) < 0.01


@pytest.mark.parametrize("name", ["corvane", "fenlark"])
def test_skins_are_closed(name):
    """Every edge belongs to two faces that run along it in opposite ways: no hole, no face twice."""
    for part, piece in loft_airframe(airplane(name)).parts.items():
        edges = np.concatenate([piece.mesh.faces[:, [i, (i + 1) % 3]] for i in range(3)])
        there, back = ({tuple(edge) for edge in way} for way in (edges, edges[:, ::-1]))
        assert len(there) == len(edges) and there == back, part


def test_topside_underside_and_canopy_are_told_apart():
    hull = loft_airframe(airplane())
    assert len(set(paints("#204060"))) == 4
    assert set(np.concatenate([part.mesh.paint for part in hull.parts.values()])) == {0, 1, 2, 3}
    body = hull.parts["body"].mesh
    assert body.points[body.faces[body.paint == GLASS], 2].mean(axis=1).max() < 0.0, "above the CG"


def test_profile_has_the_thickness_asked_for():
    outline = profile(0.0, 1.0, 0.12, 0.0)
    assert outline[:, 1].max() - outline[:, 1].min() == pytest.approx(0.12, abs=0.001)
    assert outline[:, 0].min() == 0.0
    assert outline[:, 0].max() == 1.0

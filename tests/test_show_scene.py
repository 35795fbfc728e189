"""The scene and its replay: what is in them, where, and that it can be drawn."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from PIL import Image
from showing import airplane, knife_edge, two_flights

from sixdof.flight.fly import Track
from sixdof.flight.frame import TRACK_NAMES
from sixdof.show.cameras import VIEWS, fit
from sixdof.show.chosen import shown_flights
from sixdof.show.film import save_gif
from sixdof.show.flown import ShownFlight, position, row_at
from sixdof.show.ground import CALLER_AWAY, Field, scene_matrix, to_scene
from sixdof.show.lines import Label, apart
from sixdof.show.palette import SKY, rgb
from sixdof.show.replay import Replay
from sixdof.show.scene import build_scene, save_png
from sixdof.show.stage import drawn_scale, ideal_lines, nose_marks, set_stage
from sixdof.show.viewer import KEYS, add_controls

pytestmark = pytest.mark.renders
SMALL = (480, 270)


def words(plotter, name):
    for renderer in plotter.renderers:
        if name in renderer.actors:
            return renderer.actors[name].input
    raise AssertionError(f"no text {name!r}")


def test_scene_holds_both_tracks_airplanes_legend_and_field():
    plotter = build_scene(airplane(), two_flights(), window_size=SMALL)
    main, corner = plotter.renderers[0].actors, plotter.renderers[2].actors
    assert {"track-0", "track-1", "ideal-0", "airplane-0-0", "airplane-1-0", "wall"} <= set(main)
    assert {"ground", "ground-lines", "flight-line", "caller", "track-0", "shadow-1"} <= set(corner)
    assert (
        len([name for name in main if name.startswith("airplane-0")]) == 6
    )  # 2 s ahead to the end, 1 s apart
    assert words(plotter, "legend-0") == "bare: no blends"
    assert words(plotter, "legend-1") == "with blends"
    assert "times its size" in words(plotter, "caption-0")
    assert "right-rudder knife-edge" in words(plotter, "title")


def test_track_lies_where_it_was_flown():
    flights = two_flights()
    plotter = build_scene(airplane(), flights, window_size=SMALL, lead=None)
    bounds = plotter.renderers[0].actors["track-0"].bounds
    points = to_scene(position(flights[0].track))
    assert bounds.y_max == pytest.approx(points[:, 1].max(), abs=1.0)
    assert bounds.x_min == pytest.approx(points[:, 0].min(), abs=1.0)
    assert 0.5 * (bounds.z_min + bounds.z_max) == pytest.approx(100.0, abs=0.1)


def test_one_time_draws_one_airplane_there():
    flights = two_flights()
    plotter = build_scene(airplane(), flights, time=3.0, window_size=SMALL)
    actors = plotter.renderers[0].actors
    assert [name for name in actors if name.startswith("airplane-0")] == ["airplane-0-0"]
    drawn = np.array(actors["airplane-0-0"].mapper.dataset.points)
    whole = set_stage(airplane(), flights)
    [wing] = [m for n, m in whole.placements(0, 3.0).items() if n == "wing"]
    middle = to_scene(position(row_at(flights[0].track, 3.0)))
    assert wing[:3, 3] == pytest.approx(middle)
    assert np.linalg.norm(drawn - middle, axis=1).max() < whole.scale * whole.hull.length
    assert np.ptp(drawn[:, 2]) == pytest.approx(whole.scale * airplane().wing.span, rel=0.05), "on its side"


@pytest.mark.parametrize("view", list(VIEWS))
def test_views_keep_what_is_shown_in_the_picture(view):
    flights = two_flights()
    plotter = build_scene(airplane(), flights, view=view, window_size=SMALL)
    renderer = plotter.renderers[0]
    for point in to_scene(position(flights[0].track[::25])):
        renderer.SetWorldPoint(*point, 1.0)
        renderer.WorldToDisplay()
        x, y, _ = renderer.GetDisplayPoint()
        assert 0.0 < x < SMALL[0]
        assert 0.0 < y < SMALL[1]


def test_caller_sees_north_to_the_right_and_stands_in_the_east():
    plotter = build_scene(airplane(), two_flights(), window_size=SMALL)
    camera = plotter.renderers[0].camera
    looking = np.subtract(camera.focal_point, camera.position)
    assert looking[0] < 0.0
    assert np.cross(looking, camera.up)[1] > 0.0
    assert Field.under([knife_edge(0.0)]).caller[0] == CALLER_AWAY
    above = build_scene(airplane(), two_flights(), view="above", window_size=SMALL).renderers[0].camera
    assert above.parallel_projection
    assert np.cross(np.subtract(above.focal_point, above.position), above.up)[1] > 0.0


def test_wrong_view_and_no_flight_are_refused():
    with pytest.raises(ValueError, match="expected caller, above, along"):
        build_scene(airplane(), two_flights(), view="inside")
    with pytest.raises(ValueError, match="got no flight"):
        build_scene(airplane(), [])


def test_scale_grows_with_the_way_shown():
    assert drawn_scale(airplane(), 10.0) == 1
    assert drawn_scale(airplane(), 125.0) == 5
    assert drawn_scale(airplane(), 1e6) == 30


def test_png_is_not_empty_and_comes_out_the_same_twice(tmp_path):
    paths = [save_png(tmp_path / f"{i}.png", airplane(), two_flights(), window_size=SMALL) for i in range(2)]
    assert paths[0].read_bytes() == paths[1].read_bytes()
    with Image.open(paths[0]) as image:
        assert image.size == SMALL
        pixels = np.asarray(image.convert("RGB"), int)
    warm = (pixels[..., 0] - pixels[..., 2]) > 60
    assert 0.002 < warm.mean() < 0.2  # the bare track and its airplanes
    sky = np.abs(pixels[5, -5] - rgb(SKY[1])).max()
    assert sky < 12


def test_place_puts_everything_where_it_was_at_a_time():
    flights = two_flights()
    replay = Replay(airplane(), flights, window_size=SMALL)
    replay.place(3.2)
    for number, flight in enumerate(flights):
        row = row_at(flight.track, 3.2)
        actors = replay.plotter.renderers[0].actors
        still = scene_matrix(row, replay.stage.scale)
        assert np.array(actors[f"airplane-{number}"].user_matrix) == pytest.approx(still)
        rudder = np.array(actors[f"airplane-{number}-rudder"].user_matrix)
        assert np.abs(rudder - still).max() > 0.1  # deflected
        said = words(replay.plotter, f"readout-{number}")
        assert "time: 3.2 s" in said
        assert "phase: knife-edge" in said
    pieces = [
        replay.plotter.renderers[0].actors[f"airplane-1{name}"] for name in ("", "-rudder", "-aileron_left")
    ]
    before = [piece.mapper.GetInput().GetMTime() for piece in pieces]
    replay.place(4.0)
    after = [piece.mapper.GetInput().GetMTime() for piece in pieces]
    assert before == after  # moved, not meshed anew
    replay.place(99.0)
    assert replay.time == replay.end


def test_replay_plays_pauses_steps_and_stops_at_the_end():
    replay = Replay(airplane(), two_flights(), window_size=SMALL)
    replay.tick(1.0)
    assert replay.time == 0.0
    replay.toggle()
    replay.tick(0.5)
    assert replay.time == 0.5
    for wanted in (1.0, 2.0, replay.end):
        replay.step(1)
        assert replay.time == pytest.approx(wanted)
    replay.step(-1)
    assert replay.time == 2.0
    replay.tick(99.0)
    assert not replay.playing
    replay.toggle()
    assert replay.time == replay.start


def test_replay_follows_the_airplane_along_the_line():
    replay = Replay(airplane(), two_flights(), window_size=SMALL)
    replay.look("along")
    before = np.array(replay.plotter.renderers[0].camera.position)
    replay.place(4.0)
    moved = np.array(replay.plotter.renderers[0].camera.position) - before
    assert moved[1] == pytest.approx(100.0, rel=0.05)


def test_controls_move_slider_with_time_and_every_key_is_bound():
    replay = Replay(airplane(), two_flights(), window_size=SMALL)
    frame = add_controls(replay)
    (slider,) = replay.plotter.widgets.slider_widgets
    assert slider.GetRepresentation().GetMaximumValue() == pytest.approx(replay.end)
    frame(0.3)
    assert replay.time == 0.0
    replay.toggle()
    frame(0.3)
    assert slider.GetRepresentation().GetValue() == pytest.approx(0.3)
    assert set(KEYS) <= set(replay.plotter.iren._key_press_event_callbacks)


def test_film_has_a_picture_for_every_moment(tmp_path):
    flights = [ShownFlight("knife-edge", knife_edge(0.1), "bare")]
    path = save_gif(tmp_path / "film.gif", airplane(), flights, window_size=(160, 90), pictures_a_second=2)
    with Image.open(path) as film:
        assert film.n_frames == 11  # 0 to 4.5 s, and the end
        assert film.info["duration"] == 500
        film.seek(10)
        assert film.info["duration"] > 1000, "where the test ends one may look"


def test_a_flight_that_comes_near_the_ground_shows_it():
    low = [ShownFlight("low pass", knife_edge(0.1, height=4.0), "bare")]
    for view in VIEWS:
        main = build_scene(airplane(), low, view=view, window_size=SMALL).renderers[0]
        if view != "above":  # it looks straight down on all there is
            assert main.actors["ground"].bounds.z_max == pytest.approx(0.0, abs=0.3), view
            main.SetWorldPoint(0.0, 100.0, 0.0, 1.0)
            main.WorldToDisplay()
            assert main.GetViewport()[1] * SMALL[1] < main.GetDisplayPoint()[1], "in the picture"
    slow = [ShownFlight("low pass", knife_edge(0.1, height=10.0, speed=10.0), "bare")]
    assert "ground" in build_scene(airplane(), slow, window_size=SMALL).renderers[0].actors
    high = build_scene(airplane(), two_flights(), window_size=SMALL).renderers[0]
    assert "ground" not in high.actors


@pytest.mark.parametrize("view", list(VIEWS))
def test_the_small_picture_and_the_words_hide_nothing(view):
    """Three rectangles that do not overlap."""
    plotter = build_scene(airplane(), two_flights(), view=view, window_size=SMALL)
    places = [renderer.GetViewport() for renderer in plotter.renderers]
    assert len(places) == 3
    for i, a in enumerate(places):
        for b in places[i + 1 :]:
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
    assert sum((p[2] - p[0]) * (p[3] - p[1]) for p in places) == pytest.approx(1.0)


@pytest.mark.parametrize("view", list(VIEWS))
def test_no_line_of_words_runs_out_of_its_place(view):
    """However long the title: as wide as the renderer says that each line is, and none over another."""
    title = "corvane, invented: right-rudder knife-edge; over the ground, in wind of 4 m/s from ahead"
    plotter = build_scene(airplane(), two_flights(), view=view, window_size=(1600, 900), title=title)
    words = plotter.renderers[1]
    width, tall = words.GetSize()
    boxes = {}
    for name, actor in words.actors.items():
        size = [0.0, 0.0]
        actor.GetSize(words, size)
        left, low = (share * whole for share, whole in zip(actor.position, (width, tall), strict=True))
        boxes[name] = (left, low, left + size[0], low + size[1])
        assert left >= 0.0 and left + size[0] <= width and low >= 0.0 and low + size[1] <= tall, (
            name,
            actor.input,
        )
    assert " ".join(words.actors[name].input for name in boxes if name.startswith("title")) == title
    for a, b in combinations(boxes.values(), 2):
        assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def test_labels_do_not_lie_over_each_other():
    camera = fit(
        np.array([0.0, 0.0, 0.0]), np.array([10.0, 100.0, 50.0]), (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), shape=2.0
    )
    labels = [Label(f"{y:.0f} m", np.array([0.0, y, 0.0]), "#000000") for y in np.arange(0.0, 100.0, 2.0)]
    kept = apart(labels, camera, (400, 200), 12.0)
    assert kept[0] == labels[0], "the first one wins"
    assert 3 < len(kept) < len(labels)
    x = 200.0 * camera.project(np.array([label.at for label in kept]), 2.0)[:, 0]
    widths = 0.5 * 12.0 * np.array([len(label.words) for label in kept])
    assert np.all(np.diff(x) > 0.5 * (widths[1:] + widths[:-1]))
    assert apart(labels[:2], camera, (40000, 20000), 12.0) == labels[:2], "where there is room, all"


def test_where_the_nose_counts_it_is_drawn_against_the_path():
    track = knife_edge(0.0)
    track[:, TRACK_NAMES.index("sideslip")] = np.where(track[:, 0] > 3.0, np.radians(4.0), 0.0)
    flights = [ShownFlight("roll reversal", track, "bare", nose=True)]
    plotter = build_scene(airplane(), flights, view="above", window_size=(1600, 900))
    assert {"nose-0", "goes-0"} <= set(plotter.renderers[0].actors)
    assert "nose up to 4.0° left of the path" in words(plotter, "legend-0"), "air from the right"
    marks = {line.name: line.ends for line in nose_marks(flights, 100.0)}
    nose, goes = (ends[-1, 1] - ends[-1, 0] for ends in marks.values())
    cosine = nose @ goes / np.linalg.norm(nose) / np.linalg.norm(goes)
    assert np.degrees(np.arccos(cosine)) == pytest.approx(4.0, abs=0.01)
    plain = build_scene(airplane(), two_flights(), window_size=SMALL)
    assert "nose-0" not in plain.renderers[0].actors


def test_the_tolerance_is_what_an_even_turn_of_five_degrees_flies_off():
    """Half the angle by the length: a path that turns evenly by a small angle ends so far off (closed form)."""
    flight = two_flights()[0]
    lines = {line.name: line.ends for line in ideal_lines([flight], 0.1)}
    line = to_scene(flight.ideal)
    off = np.linalg.norm(lines["tolerance-0"][-36:, 0] - line[-1], axis=1)
    length = np.linalg.norm(line[-1] - line[0])
    assert off == pytest.approx(0.5 * np.radians(5.0) * length)


def test_a_line_of_its_own_for_a_flight_that_began_another_way():
    bare, blended = two_flights()
    again = replace(blended, ideal=bare.ideal)
    elsewhere = replace(blended, ideal=bare.ideal + np.array([[0.0, 0.0, 0.0], [0.0, 9.0, 0.0]]))
    assert not any(line.name == "ideal-1" for line in ideal_lines([bare, again], 0.1))
    assert any(line.name == "ideal-1" for line in ideal_lines([bare, elsewhere], 0.1))


def test_flights_of_a_range_have_their_own_colors_and_names():
    tracks = {f"power_off_dive.both.{p:+.3f}": Track(knife_edge(0.01 * p)) for p in (-2.0, 0.0, 3.0)}
    shown = shown_flights(tracks, ["power_off_dive.both"], [])
    assert [flight.label for flight in shown] == ["-2 %", "0 %", "+3 %"]
    assert len({flight.color for flight in shown}) == 3
    plotter = build_scene(airplane(), shown, window_size=SMALL)
    assert [words(plotter, f"legend-{i}") for i in range(3)] == ["-2 %", "0 %", "+3 %"]
    colors = [plotter.renderers[0].actors[f"track-{i}"].prop.color.hex_rgb for i in range(3)]
    assert colors == [flight.color for flight in shown]


def test_the_caller_turns_the_head_and_sees_the_airplanes_not_the_own_feet():
    replay = Replay(airplane(), two_flights(), window_size=SMALL)
    for time in (0.5, 2.0, 4.5):
        replay.place(time)
        camera = replay.plotter.renderers[0].camera
        assert np.array(camera.position) == pytest.approx(replay.stage.field.eyes), "stands still"
        assert np.array(camera.focal_point) == pytest.approx(replay.stage.middle(time))
        picture = replay.picture()[: round(SMALL[1] * 0.7)].astype(int)
        violet = np.abs(picture - rgb("#5b3a86")).max(axis=-1) < 60
        assert violet.mean() < 0.01
        middle = picture[60:130, 180:300]
        assert ((middle[..., 0] - middle[..., 2]) > 50).any(), "the bare one, in the middle of the picture"

"""The report in a real browser, the network blocked: it plays, it agrees with Python, it can be read and printed."""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from browsing import CONTRAST, Browser
from showing import airplane, two_flights

from sixdof import Airplane
from sixdof.show.flown import position, row_at
from sixdof.show.ground import to_scene
from sixdof.show.page import Group, figures, page, replay, section
from sixdof.show.report import tune_report
from sixdof.show.stage import Stage, set_stage
from sixdof.study.ask import tune

pytestmark = pytest.mark.browser

PLAYER = "document.querySelector('#replay').player"
UNFOLD = "document.querySelectorAll('details').forEach((one) => { one.open = true; })"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    made = Browser()
    yield made
    made.close()


@pytest.fixture(scope="module")
def stage() -> Stage:
    return set_stage(airplane("fenlark"), two_flights())


@pytest.fixture(scope="module")
def small(stage: Stage, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A page of one maneuver made up by hand."""
    path, groups = tmp_path_factory.mktemp("page") / "small.html", [Group("knife-edge", two_flights())]
    path.write_text(
        page("small", [section("Replay", replay(groups)), figures(groups)], [stage]), encoding="utf-8"
    )
    return path


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A report as tune writes it."""
    tuned, path = Airplane("corvane"), tmp_path_factory.mktemp("report") / "report.html"
    answer = tune(tuned, airplanes=20)
    html = tune_report(answer, tuned.airframe, aircraft="corvane", asked="sixdof tune corvane")
    path.write_text(html, encoding="utf-8")
    return path


def test_it_opens_without_a_network_and_without_a_complaint(browser: Browser, report: Path) -> None:
    browser.open(report)
    assert browser.complaints() == []
    assert browser.requests() == [report.as_uri()], "the page alone"
    assert browser.run(f"{PLAYER}.stage.flights.length") == 2
    # the rule of the page forbids it to ask for anything
    assert browser.run("fetch('https://example.org/').then(() => 'came', () => 'refused')") == "refused"


def test_playing_moves_time_and_stops_at_the_end(browser: Browser, small: Path) -> None:
    browser.open(small)
    begin, end = browser.run(f"[{PLAYER}.stage.begin, {PLAYER}.stage.end]")
    browser.run("document.querySelector('.play').click()")
    browser.wait(f"{PLAYER}.time > {begin} + 0.05")
    assert browser.run("document.querySelector('.play').textContent") == "Pause"
    browser.run("document.querySelector('.play').click()")
    at = browser.run(f"{PLAYER}.time")
    clock = browser.run("document.querySelector('.clock').textContent")
    assert float(clock.removesuffix(" s")) == pytest.approx(at, abs=0.051), "and pausing halts it"
    browser.run(
        f"(s => {{ s.value = {end}; s.dispatchEvent(new Event('input')); }})(document.querySelector('input[type=range]'))"
    )
    assert browser.run(f"{PLAYER}.time") == pytest.approx(end)
    browser.run("document.querySelector('.play').click()")
    assert browser.run(f"{PLAYER}.time") == pytest.approx(begin, abs=0.3), "from the end it begins anew"
    browser.run(f"{PLAYER}.place({end} - 0.1)")
    browser.wait(f"!{PLAYER}.playing")
    assert browser.run(f"{PLAYER}.time") == pytest.approx(end), "at the end it stops"


def test_every_part_stands_where_python_puts_it(browser: Browser, small: Path, stage: Stage) -> None:
    """All parts of both airplanes, at rows, between rows and beyond the ends, within 1e-4 (m, and of the scaled axes)."""
    browser.open(small)
    worst = moved = 0.0
    for time in (stage.begin, 1.5, 2.0, 3.017, 4.4, stage.end, 99.0):
        seen = browser.run(f"{PLAYER}.placements({time})")
        for number in range(2):
            mine = stage.placements(number, time)
            assert len(seen[number]) == len(mine)
            for theirs, (name, matrix) in zip(seen[number], mine.items(), strict=True):
                worst = max(worst, float(np.abs(np.reshape(theirs, (4, 4)) - matrix).max()))
                moved = max(moved, float(np.abs(matrix - mine["body"]).max()) if name == "rudder" else 0.0)
    assert worst < 1e-4, worst
    assert moved > 0.1, "the rudder was deflected"


def test_every_view_sees_what_python_sees(browser: Browser, small: Path, stage: Stage) -> None:
    """Corners of what is shown, in each view at two times, within 1e-4 of half a picture."""
    browser.open(small)
    points = np.array([stage.low, stage.high, stage.middle(3.0)])
    shape = 16 / 9
    for view in ("caller", "above", "along"):
        for time in (stage.begin, 3.5):
            browser.run(f"{PLAYER}.look('{view}')")
            theirs = np.reshape(browser.run(f"{PLAYER}.seenBy({PLAYER}.camera({time}), {shape})"), (4, 4))
            seen = np.c_[points, np.ones(3)] @ theirs.T
            mine = stage.camera(view, time).project(points, shape)
            assert seen[:, :2] / seen[:, 3:] == pytest.approx(mine, abs=1e-4), view
    assert abs(stage.camera("caller", 3.5).project(stage.middle(3.5)[None], shape)).max() < 1e-9, (
        "it looks at them"
    )


def test_something_is_drawn_in_each_view_and_it_moves(browser: Browser, small: Path, tmp_path: Path) -> None:
    """Warm pixels, those of the bare airplane, in the picture; others after a second."""
    from PIL import Image

    browser.open(small, width=800, height=700)
    for view in ("caller", "above", "along"):
        shots = []
        for time in (2.5, 3.5):
            browser.run(
                f"{PLAYER}.look('{view}'), {PLAYER}.place({time}), document.querySelector('.picture').scrollIntoView()"
            )
            browser.picture(tmp_path / "x.png", whole=False)
            with Image.open(tmp_path / "x.png") as image:
                shots.append(np.asarray(image.convert("RGB"), int)[:440])
        warm = (shots[0][..., 0] - shots[0][..., 2]) > 70
        assert warm.sum() > 100, view
        assert (np.abs(shots[0] - shots[1]).max(axis=-1) > 40).sum() > 100, view


@pytest.mark.parametrize("view", ["caller", "above", "along"])
def test_a_track_lies_where_python_sees_it(browser: Browser, small: Path, stage: Stage, view: str) -> None:
    """Its color, at the place of a moment that was flown; paler where it is still to be flown."""
    browser.open(small)
    browser.run(f"{PLAYER}.look('{view}'), {PLAYER}.place(3.5)")
    width, height = browser.run(f"[{PLAYER}.canvas.width, {PLAYER}.canvas.height]")
    color = np.array([int(stage.flights[0].color[i : i + 2], 16) for i in (1, 3, 5)])
    found = {}
    for time in (2.9, 4.1):
        at = to_scene(position(row_at(stage.flights[0].track, time)))[None]
        across, up = stage.camera(view, 3.5).project(at, width / height)[0]
        x, y = round((across + 1.0) * width / 2.0), round((up + 1.0) * height / 2.0)
        assert 3 < x < width - 3 and 3 < y < height - 3
        block = browser.run(
            f"(({{ painter }}) => {{ const gl = painter.gl, all = new Uint8Array(196); {PLAYER}.paint();"
            f" gl.readPixels({x} - 3, {y} - 3, 7, 7, gl.RGBA, gl.UNSIGNED_BYTE, all); return [...all]; }})({PLAYER})"
        )
        pixels = np.reshape(block, (49, 4))
        off = np.abs(pixels[:, :3] / np.maximum(pixels[:, 3:], 1) - color / 255.0).max(axis=1)
        off[pixels[:, 3] == 0] = 1.0
        found[time] = off.min(), pixels[np.argmin(off), 3]
    assert found[2.9][0] < 0.2 and found[2.9][1] > 200, found
    if view != "above":  # where the ground shines through
        assert found[4.1][0] < 0.2 and 40 < found[4.1][1] < 200, found


def test_a_picture_is_few_calls(browser: Browser, small: Path) -> None:
    """One an airplane, one a line and two a track, ground and caller: what is slow where there is no graphics chip."""
    browser.open(small)
    calls, lines, flights, errors = browser.run(
        f"(({{ painter, stage }}) => {{ const gl = painter.gl, draw = gl.drawArrays.bind(gl); let n = 0;"
        " gl.drawArrays = (...what) => { n += 1; draw(...what); };"
        f" {PLAYER}.place(3.0); return [n, stage.lines.length, stage.flights.length, gl.getError()]; }})({PLAYER})"
    )
    assert calls == lines + 2 * flights + 2 and errors == 0


def test_edges_are_smooth_but_where_it_plays_too_slowly(browser: Browser, small: Path) -> None:
    """By the colors there are: edges between two colors have some in between.  What was slow once stays plain while it plays."""
    browser.open(small)
    colors = (
        "(({ painter, canvas }) => { const gl = painter.gl, all = new Uint8Array(4 * canvas.width * canvas.height);"
        f" {PLAYER}.paint(); gl.readPixels(0, 0, canvas.width, canvas.height, gl.RGBA, gl.UNSIGNED_BYTE, all);"
        f" return new Set(new Uint32Array(all.buffer)).size; }})({PLAYER})"
    )
    browser.run(f"{PLAYER}.look('along'), {PLAYER}.place(3.0)")
    still = browser.run(colors)
    browser.run(f"{PLAYER}.slowly = true, {PLAYER}.playing = true")
    plain = browser.run(colors)
    browser.run(f"{PLAYER}.playing = false")
    assert plain < 0.7 * still and browser.run(colors) == still
    for every, slowly in ((16, False), (60, True)):  # ms from picture to picture
        told = browser.run(
            f"((p) => {{ Object.assign(p, {{ slowly: false, pace: 0, playing: true, last: undefined }}); p.place(0);"
            f" for (let k = 0; k < 12; k++) p.tick({every} * k); p.playing = false; return p.slowly; }})({PLAYER})"
        )
        assert told is slowly, every


def test_the_cursor_stands_at_the_moment_shown(browser: Browser, small: Path) -> None:
    """On the screen, between the ends of the curves of the drawing; nowhere outside of the test."""
    browser.open(small)
    browser.run(f"{PLAYER}.place(1.0)")
    assert browser.run("getComputedStyle(document.querySelector('.cursor')).visibility") == "hidden"
    for time in (2.0, 3.5, 4.98):
        browser.run(f"{PLAYER}.place({time})")
        at, low, high = browser.run(
            "(() => { const box = document.querySelector('.chart .flight').getBoundingClientRect();"
            " return [document.querySelector('.cursor').getBoundingClientRect().left, box.left, box.right]; })()"
        )
        assert (at - low) / (high - low) == pytest.approx((time - 2.0) / 2.98, abs=0.01)
        assert browser.run("getComputedStyle(document.querySelector('.cursor')).visibility") == "visible"


def test_without_webgl_the_ways_stand_there(report: Path) -> None:
    plain = Browser("--disable-3d-apis")
    try:
        plain.open(report)
        assert plain.run(f"{PLAYER} === undefined")
        assert plain.complaints() == []
        still = plain.run("document.querySelector('#replay').innerHTML")
        assert "<polyline" in still and len(still) < 100_000
        assert plain.run("document.querySelector('#replay svg').getBoundingClientRect().width") > 200
    finally:
        plain.close()


@pytest.mark.parametrize("width", [390, 1280])
def test_it_fits_a_phone_and_a_desk(browser: Browser, report: Path, width: int) -> None:
    browser.open(report, width=width)
    browser.run(UNFOLD)
    assert browser.run("document.documentElement.scrollWidth") <= width
    small = "[...document.querySelectorAll('svg text')].map(t => t.getBoundingClientRect().height).filter(h => h && h < 9)"
    assert browser.run(small) == [], "letters one can read"


def test_headings_and_names_are_right(browser: Browser, report: Path) -> None:
    browser.open(report)
    levels = browser.run("[...document.querySelectorAll('h1,h2,h3,h4')].map(h => Number(h.tagName[1]))")
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(b - a <= 1 for a, b in pairwise(levels)), levels
    nameless = "[...document.querySelectorAll('button,input,select')].filter(e => !(e.labels?.length || e.ariaLabel || e.textContent.trim())).length"
    assert browser.run(nameless) == 0
    assert browser.run(
        "[...document.querySelectorAll('svg')].every(s => s.querySelector('title')?.textContent)"
    )
    assert browser.run(
        "[...document.querySelectorAll('table')].every(t => t.caption && t.querySelector('th'))"
    )
    assert browser.run("document.documentElement.lang") == "en"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_all_words_stand_out(browser: Browser, report: Path, scheme: str) -> None:
    """Contrast of 4.5 or more.  Source: W3C, Web Content Accessibility Guidelines 2.1 (2018), success criterion 1.4.3."""
    browser.open(report, scheme=scheme)
    browser.run(UNFOLD)
    found = browser.run(CONTRAST)
    assert len(found) > 300
    assert [pair for pair in found if pair[0] < 4.5] == []


def test_it_prints_on_a_few_pages_with_every_figure_whole(browser: Browser, report: Path) -> None:
    browser.open(report)
    pages = browser.printed().count(b"/Type /Page\n")
    assert 3 <= pages <= 8, pages
    browser.ask("Emulation.setEmulatedMedia", media="print")
    try:
        broken = "[...document.querySelectorAll('figure,.card,tr')].filter(e => getComputedStyle(e).breakInside !== 'avoid').length"
        assert browser.run(broken) == 0
        assert browser.run("document.querySelector('.play').getClientRects().length") == 0
        folded = "[...document.querySelectorAll('details li, details td, .sheet p')]"
        assert browser.run(f"{folded}.length") > 40, "remarks, numbers, the set-up sheet"
        assert browser.run(f"{folded}.every(e => e.checkVisibility())")
    finally:
        browser.ask("Emulation.setEmulatedMedia", media="")


def test_a_name_is_no_markup(browser: Browser, stage: Stage, tmp_path: Path) -> None:
    """What somebody calls an airplane or a run stands there as text, in the page and in what the player reads."""
    evil = "</script><script>window.hurt = 1</script><img src=x onerror='window.hurt = 2'>&amp;"
    flights = [flight.__class__(evil, flight.track, "other", color="#204060") for flight in two_flights()]
    groups = [Group(evil, flights)]
    path = tmp_path / "evil.html"
    staged = set_stage(airplane(), flights, title=evil)
    path.write_text(page(evil, [section(evil, replay(groups)), figures(groups)], [staged]), encoding="utf-8")
    browser.open(path)
    assert browser.complaints() == []
    assert browser.run("window.hurt") is None
    assert browser.run("document.querySelector('h2').textContent") == evil
    assert browser.run(f"{PLAYER}.stage.title") == evil
    assert (
        json.dumps(evil)[1:9]
        not in path.read_text(encoding="utf-8").split('id="stages"')[1].split("</script>")[0]
    )

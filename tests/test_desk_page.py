"""The desk in a real browser: measure, complain, correct, tune, slide, set up; with eyes for what a person sees."""

from __future__ import annotations

import json
import re
import time
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from browsing import CONTRAST, Browser
from desking import DEMO, NOTES, Wire

from sixdof.airframe.load import load_blends

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("page")


@pytest.fixture(scope="module")
def wire(folder: Path) -> Iterator[Wire]:
    (folder / "mine.yaml").write_text(DEMO, encoding="utf-8")
    desk = Wire(folder, "mine")
    yield desk
    desk.end()


@pytest.fixture(scope="module")
def browser(wire: Wire) -> Iterator[Browser]:
    made = Browser()
    made.open(f"http://127.0.0.1:{wire.port}/?token={wire.token}", width=1000, height=600)
    still(made)
    made.wait("document.getElementById('view').querySelector('svg') !== null")
    yield made
    made.close()


def still(browser: Browser, *, wanted: bool = True) -> None:
    """Whether its user wants nothing to move by itself."""
    value = "reduce" if wanted else "no-preference"
    browser.ask("Emulation.setEmulatedMedia", features=[{"name": "prefers-reduced-motion", "value": value}])


def typing(browser: Browser, key: str, text: str) -> None:
    """Type into a box and leave it."""
    browser.run(
        f"(() => {{ const box = document.getElementById('box {key}'); box.focus(); box.value = {text!r};"
        " box.dispatchEvent(new Event('change')); })()"
    )


def message(browser: Browser, key: str) -> str:
    return browser.run(f"document.getElementById('about {key}').textContent")


def told(browser: Browser) -> list[str]:
    """What the last flights did, a line each."""
    return browser.run("[...document.querySelectorAll('#flown-words li')].map((one) => one.textContent)")


def test_the_page_stands_without_a_complaint_and_asks_nobody_else(browser: Browser, wire: Wire) -> None:
    assert browser.complaints() == []
    assert all(url.startswith(f"http://127.0.0.1:{wire.port}/") for url in browser.requests())
    assert "token" not in browser.run("location.href"), "not left in the address"
    assert (
        browser.run("document.title") == "sixdof desk"
        and browser.run("document.documentElement.lang") == "en"
    )
    assert browser.run("document.querySelectorAll('.boxes input').length") > 80


def test_a_bad_value_is_said_at_its_box_and_a_good_one_is_saved_and_redrawn(
    browser: Browser, folder: Path
) -> None:
    before = browser.run("document.querySelector('#view .wing').innerHTML")
    typing(browser, "wing.panels[0].tip_chord", "12 furlongs")
    browser.wait("document.querySelector('.row.bad') !== null")
    assert "unknown unit" in message(browser, "wing.panels[0].tip_chord")
    assert browser.run("document.querySelector('.row.bad input').getAttribute('aria-invalid')") == "true"
    assert "tip_chord: 215 mm" in (folder / "mine.yaml").read_text()
    typing(browser, "wing.panels[0].tip_chord", "22,5 cm")
    browser.wait(
        "document.querySelector('.row.bad') === null && document.getElementById('state').textContent === 'saved'"
    )
    assert "tip_chord: 22.5 cm" in (folder / "mine.yaml").read_text() and "read as 22.5 cm" in message(
        browser, "wing.panels[0].tip_chord"
    )
    assert browser.run("document.querySelector('#view .wing').innerHTML") != before
    typing(browser, "wing.panels[0].span", "400")
    browser.wait("document.getElementById('complaint').textContent !== ''")
    assert browser.run("document.getElementById('complaint').textContent").startswith(
        "controls.aileron.outboard: "
    )
    for key, text in (("wing.panels[0].span", "1000 mm"), ("wing.panels[0].tip_chord", "215 mm")):
        typing(browser, key, text)
    browser.wait("document.getElementById('complaint').textContent === ''")
    time.sleep(0.3)
    assert (folder / "mine.yaml").read_text(encoding="utf-8") == DEMO


def test_a_tune_ends_in_words_sliders_fly_at_once_and_a_sheet_to_print(
    browser: Browser, wire: Wire, tmp_path: Path
) -> None:
    browser.wait(
        "document.getElementById('state').textContent !== '' && !/compiling|loading|starting/.test(document.getElementById('state').textContent)"
    )
    browser.run("document.getElementById('tune').click()")
    browser.wait(
        "!document.getElementById('verdict').hidden && document.querySelectorAll('#flown-words li').length === 2"
    )
    words = browser.run("document.getElementById('verdict').innerText")
    assert (
        "do not dial this in" in words
        and "First: " in words
        and "Propeller off" in words
        and "right rudder" in words
    )
    browser.wait("document.getElementById('replay').player !== undefined")
    bare = told(browser)[1]
    assert "bare" in bare and "with these ratios" in bare
    player = "document.getElementById('replay').player"
    track = browser.run(f"Array.from({player}.data.stages[1].flights[1].rows.slice(-40))")
    slide = "document.querySelector('#ratio-sliders input[data-name=\"rudder-aileron.left\"]')"
    took = browser.run(
        "(async () => { const times = []; for (const percent of [-3, 0, 3, 5, 6, 8]) {"
        f" const one = {slide}, before = {player}.data; one.value = percent; const begin = performance.now(); one.dispatchEvent(new Event('input'));"
        f" while ({player}.data === before) await new Promise((next) => setTimeout(next, 2));"
        " times.push(performance.now() - begin); } return times; })()"
    )
    assert len(took) == 6
    print(f"slider to drawn: {sorted(round(t) for t in took)} ms")
    assert browser.run(f"Array.from({player}.data.stages[1].flights[1].rows.slice(-40))") != track
    assert told(browser)[1] != bare
    assert browser.run(f"{slide}.parentElement.querySelector('output').textContent") == "8 % RIGHT"
    flow = browser.run("document.querySelector('#flow svg').textContent")
    assert "left rudder: elevator nothing, aileron 8 % RIGHT (1.40°)" in flow, flow
    browser.run("document.getElementById('reverse').click()")
    browser.wait(f"{slide}.parentElement.querySelector('output').textContent === '8 % LEFT'")
    kept = tmp_path / "kept.yaml"
    kept.write_text(browser.run("blendFile()"), encoding="utf-8")
    first, *rest = [spec for spec in load_blends(kept) if spec.name == "rudder-aileron"]
    assert first.points[:2] == ((-1.0, -0.08), (0.0, 0.0)) and not rest  # as the slider stands: 8 % left
    assert "do not dial this in" in kept.read_text(encoding="utf-8")
    assert {spec.name for spec in load_blends(kept)} >= {"throttle-elevator"}  # of the other maneuvers too
    assert "rudder no need" in words and "aileron-rudder" not in {spec.name for spec in load_blends(kept)}
    links = browser.run("[...document.querySelectorAll('#setup-links a')].map((one) => one.pathname)")
    assert len(links) == 2
    for link in links:
        status, _, body = wire.ask("GET", link)
        assert status == 200 and body[:15].lower() == b"<!doctype html>"
    assert [
        text for text in browser.complaints() if "400 (Bad Request)" not in text
    ] == []  # the value that was refused


def slid(browser: Browser, name: str, value: float) -> list[str]:
    """Move a slider; what the flight then does."""
    before = told(browser)
    browser.run(
        f"(s => {{ s.value = {value}; s.dispatchEvent(new Event('input')); }})(document.getElementById({name!r}))"
    )
    browser.wait(f"!flying && {said(name)} !== ''")
    now = told(browser)
    assert now != before, name
    return now


def said(name: str) -> str:
    return f"document.getElementById('{name}-said').textContent"


def pressed(browser: Browser, key: str) -> None:
    """A key of the keyboard, where the focus is."""
    text = {"Enter": "\r"}.get(key, "")
    for kind in ("keyDown", "keyUp"):
        browser.ask(
            "Input.dispatchKeyEvent", type=kind, key=key, code=key, text=text if kind == "keyDown" else ""
        )


def test_cg_speed_rudder_and_wind_are_flown_at_once_and_reset(browser: Browser) -> None:
    browser.run("document.getElementById('back').click()")
    browser.wait("!flying")
    found = told(browser)
    assert re.fullmatch(r"as held: right \d\d %, left \d\d %", browser.run(said("rudder")))
    for name, value, words in (("cg", 6, "6 mm aft"), ("speed", 90, "90 %"), ("rudder", 80, "80 %"), ("wind", 4, "4 m/s")):  # fmt: skip
        slid(browser, name, value)
        assert browser.run(said(name)) == words
    assert "80 % in this flight" in browser.run("document.querySelector('#flow svg').textContent")
    assert browser.run("document.getElementById('with').textContent") == "with the CG 6 mm aft", "of a tune"
    browser.run("document.getElementById('back').click()")
    browser.wait("!flying && !wanted")
    assert told(browser) == found and browser.run(said("wind")) == "calm"
    browser.run("fly(byId('trim-flown'), { ...asking(), changes: ['cg=9 m aft'] })")
    browser.wait("document.getElementById('replay').hidden")
    assert "expected at most" in told(browser)[0], "and no picture of another flight"
    browser.run("flown()")
    browser.wait("!document.getElementById('replay').hidden")
    assert told(browser) == found


def test_a_point_of_a_range_is_chosen_by_keys_and_sets_its_slider(browser: Browser) -> None:
    row = "document.querySelector('#ratio-sliders input[data-name=\"rudder-aileron.left\"]').parentElement"
    browser.run(f"{row}.querySelector('button').click()")
    browser.wait("document.querySelector('#explored [data-pick]') !== null")
    before = told(browser)
    browser.run("document.querySelector('#explored [tabindex=\"0\"]').focus()")
    first = browser.run("Number(document.activeElement.dataset.pick)")
    pressed(browser, "ArrowRight")
    chosen = browser.run("Number(document.activeElement.dataset.pick)")
    assert chosen == first + 1
    pressed(browser, "Enter")
    browser.wait(f"{row}.querySelector('output').textContent !== '4.5 % RIGHT' && !flying")
    assert browser.run(f"Number({row}.querySelector('input').value)") == chosen
    assert told(browser)[0] == before[0] and told(browser)[1] != before[1], "the left side alone"
    label = browser.run(
        "document.querySelector('#explored [aria-pressed=true], #explored [data-pick]').getAttribute('aria-label')"
    )
    assert re.match(r"\d+ %( LEFT| RIGHT)?: \d+\.\d° rolls", label), label
    browser.run(
        "real = asked, asked = async () => ({ charts: [''] }), explored().then(() => { asked = real; })"
    )
    browser.wait("document.getElementById('explored').textContent.includes('No flight comes to its end')")
    browser.run(f"{row}.querySelector('button').click()")
    browser.wait("document.getElementById('explored').childNodes.length === 0")


def test_from_what_one_would_see_to_its_cause_its_cure_and_its_flight(browser: Browser) -> None:
    browser.run("document.getElementById('see').click()")
    browser.wait("!document.getElementById('diagnosis').hidden")
    words = browser.run("document.getElementById('diagnosis').innerText")
    assert "First: " in words and "°/s" in words and "propeller off" in words and "static margin" in words
    rows = browser.run(
        "[...document.querySelectorAll('.finding')].map((one) => [one.innerText, one.querySelector('.length').offsetWidth])"
    )
    assert len(rows) >= 6
    rates = [float(re.search(r"([\d.]+) °/s", text)[1]) for text, _ in rows]  # type: ignore[index]
    wide = [pixels for _, pixels in rows]
    assert sorted(rates) == [rate for _, rate in sorted(zip(wide, rates, strict=True))], "longer is stronger"
    still(browser, wanted=False)
    browser.run(
        "[...document.querySelectorAll('.finding')].find((one) => one.innerText.startsWith('power-off dive')).click()"
    )
    browser.wait("document.querySelector('.causes #flown') !== null && !flying")
    assert told(browser) == [told(browser)[0]] and re.match(
        r"power-off dive: \d+\.\d° to canopy bare$", told(browser)[0]
    )
    player = "document.getElementById('replay').player"
    assert browser.run(f"{player}.stage.flights.length") == 1 and browser.run(f"{player}.playing")
    still(browser)
    assert "static margin (CG)" in browser.run("document.querySelector('.causes svg').textContent")
    remedies = "[...document.querySelectorAll('.causes button.remedy')]"
    browser.run(f"{remedies}.find((one) => one.innerText.startsWith('CG')).click()")
    browser.wait(f"{player}.stage.flights.length === 2")
    assert re.search(r"to canopy bare, \d+\.\d° to canopy with CG \d+ mm further aft$", told(browser)[0])
    browser.run(f"{remedies}.find((one) => one.innerText.startsWith('blend')).click()")
    browser.wait("document.getElementById('flown-words').innerText.includes('with these ratios')")
    assert not browser.run(f"{player}.playing"), "nor does it move where one wants it still"
    browser.run("asked('job').then((job) => diagnosed(job.answer))")
    browser.wait("document.querySelector('.causes #flown') === null")
    assert browser.run("document.getElementById('flown').hidden"), "told anew, the replay is not lost"


def test_a_size_of_a_change_is_chosen_and_flies(browser: Browser) -> None:
    browser.wait("document.querySelector('#sizes [data-pick]') !== null")
    marks = browser.run(
        "[...document.querySelectorAll('#sizes [data-pick]')].map((one) => one.getAttribute('aria-label'))"
    )
    assert "CG 10 mm further aft: 4.9° to belly" in marks and len(marks) == 18
    browser.run("document.getElementById('sizes').scrollIntoView()")
    x, y = browser.run(
        "(r => [r.x + r.width / 2, r.y + r.height / 2])(document.querySelector('[data-pick=\"power_off_dive|cg=10 mm aft\"]').getBoundingClientRect())"
    )
    for kind in ("mousePressed", "mouseReleased"):
        browser.ask("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)
    browser.wait("document.querySelector('#sizes-flown #flown') !== null && !flying")
    assert re.search(r"bare, \d+\.\d° to belly with CG 10 mm further aft$", told(browser)[0])


TICK = """(rows => { for (const [rudder, key, number, way] of rows) {
  const field = [...document.querySelectorAll('#tick-fields fieldset')].find((one) => one.dataset.key === key && one.dataset.rudder === rudder);
  field.querySelector('input').value = number;
  if (way) field.querySelector(`input[value="${way}"]`).checked = true; }
document.querySelector('#ticks [type=submit]').click(); })"""


def test_notes_are_ticked_narrow_the_ranges_flight_by_flight_and_are_taken_out_again(
    browser: Browser, folder: Path
) -> None:
    browser.run("document.querySelector('#ticks [type=submit]').click()")
    assert "nothing was ticked" in browser.run("document.getElementById('notes-failed').textContent")
    rows = [["right", "held_elevator", 2, "up"], ["right", "held_aileron", 3, "left"], ["right", "rudder_share", 42, ""],
            ["left", "held_elevator", 4, "up"], ["left", "held_aileron", 3, "right"], ["left", "rudder_share", 48, ""]]  # fmt: skip
    ends = []
    for flight in (1, 2):
        assert browser.run("document.getElementById('notes-flight').value") == str(flight)
        if flight == 1:
            browser.run(f"document.getElementById('notes-text').value = {NOTES!r}")
        else:
            browser.run(f"{TICK}({json.dumps(rows)})")
            text = browser.run("document.getElementById('notes-text').value")
            assert "flight: 2" in text and '"held_elevator":"2 % up"' in text and "blends: none" in text
        browser.run("document.getElementById('learn').click()")
        browser.wait(f"document.querySelectorAll('.flights-noted li').length === {flight} && document.getElementById('notes-flight').value === '{flight + 1}'")  # fmt: skip
        ys = browser.run(
            "[...document.querySelector('#lesson .range').points].map((p) => p.y)"
        )  # above from left to right, below back
        ends.append((ys[flight + 1] - ys[flight]) / (ys[-1] - ys[0]))
    words = browser.run("document.getElementById('lesson').innerText")
    assert "right rudder" in words and "chance of" in words and "The note to take next" in words
    assert ends[1] < ends[0] < 0.6, "narrower with every flight"
    assert "from-flight-1.yaml, flight-2.yaml" in browser.run("document.getElementById('kept').textContent")
    browser.run("document.getElementById('lesson').hidden = true; document.getElementById('tell').click()")
    browser.wait("!document.getElementById('lesson').hidden && !document.getElementById('undo').disabled")
    browser.run("document.getElementById('undo').click()")
    browser.wait("document.querySelectorAll('.flights-noted li').length === 1")
    browser.wait(
        "document.getElementById('undo').textContent === 'Take from-flight-1.yaml out' && !document.getElementById('undo').disabled"
    )
    browser.run("document.getElementById('undo').click()")
    browser.wait("document.getElementById('kept').textContent === 'No notes are kept yet.'")
    assert "No flight is in it" in browser.run("document.getElementById('lesson').innerText")
    assert browser.run("document.getElementById('notes-failed').textContent") == ""


def test_all_that_can_be_worked_has_a_name_and_headings_are_in_order(browser: Browser) -> None:
    browser.run("for (const one of document.querySelectorAll('details')) one.open = true")
    nameless = browser.run(
        "[...document.querySelectorAll('input, select, textarea, button')].filter((one) => !(one.labels?.length || one.ariaLabel || (one.tagName === 'BUTTON' && one.textContent.trim()))).length"
    )
    assert nameless == 0
    levels = browser.run(
        "[...document.querySelectorAll('h1, h2, h3, h4')].map((one) => Number(one.tagName[1]))"
    )
    assert levels[0] == 1 and levels.count(1) == 1 and levels.count(2) == 5
    assert all(b - a <= 1 for a, b in pairwise(levels)), levels
    drawings = "[...document.querySelectorAll('main svg')].filter((one) => !(one.querySelector('title')?.textContent || one.ariaLabel)).length"
    assert browser.run(drawings) == 0


def test_words_stand_out_in_light_and_dark_and_nothing_is_wider_than_a_phone(
    browser: Browser, tmp_path: Path
) -> None:
    """4.5 to 1.  Source: W3C, Web Content Accessibility Guidelines 2.2 (2023), success criterion 1.4.3."""
    for scheme in ("dark", "light"):
        browser.ask(
            "Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}]
        )
        found = browser.run(CONTRAST)
        assert len(found) > 300
        assert [pair for pair in found if pair[0] < 4.5] == [], scheme
    for width in (1280, 390):
        browser.ask("Emulation.setDeviceMetricsOverride", width=width, height=900, deviceScaleFactor=1, mobile=width < 600)  # fmt: skip
        wide = browser.run("document.documentElement.scrollWidth")
        assert wide <= width, f"{wide} at {width}"


def test_what_was_found_before_a_value_was_changed_says_so(browser: Browser) -> None:
    assert browser.run("document.querySelectorAll('.outdated').length") == 0
    for text in ("4.8 kg", "4.7 kg"):
        typing(browser, "mass.total", text)
        browser.wait(f"paper.texts['mass.total'] === {text!r}")
    marked = "[...document.querySelectorAll('.outdated')].map((one) => one.parentElement.id)"
    browser.wait(f"{marked}.length > 0")
    assert browser.run(marked) == ["diagnosis", "verdict", "lesson"], "once each"
    hull = "player.painter.hull(player.stage.flights[0].paints)"
    browser.run("flown()")
    browser.wait("!flying")
    browser.run(f"before = {hull}; flown()")
    browser.wait("!flying")
    assert browser.run(f"before === {hull}"), "the same airplane"
    typing(browser, "wing.panels[0].dihedral", "9 deg")
    browser.wait("paper.texts['wing.panels[0].dihedral'] === '9 deg'")
    browser.run("flown()")
    browser.wait("!flying")
    assert browser.run(f"before !== {hull}"), "it has another shape"


def test_a_new_airplane_is_begun_without_a_terminal(browser: Browser, folder: Path) -> None:
    browser.run(
        "(() => { document.getElementById('new-name').value = 'own'; document.getElementById('new').click(); })()"
    )
    browser.wait("document.getElementById('airplane').textContent === 'own'")
    gone = "['diagnosis', 'verdict', 'again', 'flown', 'lesson'].every((name) => document.getElementById(name).hidden)"
    browser.wait(gone)  # they were of another one
    assert (folder / "own.yaml").is_file()
    browser.wait("document.getElementById('open').value === 'own'")
    assert "incidence meter" in browser.run("document.querySelector('.how').textContent") or browser.run(
        "[...document.querySelectorAll('.how')].some((one) => one.textContent.includes('incidence meter'))"
    )

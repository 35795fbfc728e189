"""The desk in a real browser: measure, complain, correct, tune, slide, set up; with eyes for what a person sees."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from browsing import Browser
from test_desk import DEMO, NOTES, Wire

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
    made.open(f"http://127.0.0.1:{wire.port}/?token={wire.token}")
    made.wait("document.getElementById('view').querySelector('svg') !== null")
    yield made
    made.close()


def typing(browser: Browser, key: str, text: str) -> None:
    """Type into a box and leave it."""
    browser.run(
        f"(() => {{ const box = document.getElementById('box {key}'); box.focus(); box.value = {text!r};"
        " box.dispatchEvent(new Event('change')); })()"
    )


def message(browser: Browser, key: str) -> str:
    return browser.run(f"document.getElementById('about {key}').textContent")


def test_the_page_stands_without_a_complaint_and_asks_nobody_else(browser: Browser, wire: Wire) -> None:
    assert browser.complaints() == []
    assert all(url.startswith(f"http://127.0.0.1:{wire.port}/") for url in browser.requests())
    assert "token" not in browser.run("location.href"), "not left in the address"
    assert (
        browser.run("document.title") == "sixdof desk"
        and browser.run("document.documentElement.lang") == "en"
    )
    assert browser.run("document.querySelectorAll('.boxes input').length") > 80
    assert browser.run(
        "[...document.querySelectorAll('input, select')].every((one) => one.labels.length || one.ariaLabel)"
    )
    headings = browser.run("[...document.querySelectorAll('h1, h2, h3')].map((one) => one.tagName)")
    assert headings[0] == "H1" and headings.count("H1") == 1 and headings.count("H2") == 5


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
        "!document.getElementById('verdict').hidden && document.querySelectorAll('#again-words li').length === 2"
    )
    words = browser.run("document.getElementById('verdict').innerText")
    assert (
        "do not dial this in" in words
        and "First: " in words
        and "Propeller off" in words
        and "right rudder" in words
    )
    browser.wait("document.getElementById('replay').player !== undefined")
    bare = browser.run("document.querySelectorAll('#again-words li')[1].textContent")
    assert "bare" in bare and "with these ratios" in bare
    player = "document.getElementById('replay').player"
    track = browser.run(f"Array.from({player}.data.stages[1].flights[1].rows.slice(-40))")
    slide = "document.querySelector('#ratio-sliders input[data-name=\"rudder-aileron.left\"]')"
    took = browser.run(
        "(async () => { const times = []; for (let i = 0; i < 12; i++) {"
        f" const one = {slide}, before = {player}.data; one.value = i - 3; const begin = performance.now(); one.dispatchEvent(new Event('input'));"
        f" while ({player}.data === before) await new Promise((next) => setTimeout(next, 2));"
        " times.push(performance.now() - begin); } return times; })()"
    )
    assert len(took) == 12
    print(f"slider to drawn: {sorted(round(t) for t in took)} ms")
    assert browser.run(f"Array.from({player}.data.stages[1].flights[1].rows.slice(-40))") != track
    assert browser.run("document.querySelectorAll('#again-words li')[1].textContent") != bare
    said = browser.run(f"{slide}.nextElementSibling.textContent")
    assert said == "8 % RIGHT"
    browser.run("document.getElementById('reverse').click()")
    browser.wait(f"{slide}.nextElementSibling.textContent === '8 % LEFT'")
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
    for width in (1280, 390):
        browser.ask(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=900,
            deviceScaleFactor=1,
            mobile=width < 600,
        )
        wide = browser.run("document.documentElement.scrollWidth")
        assert wide <= width, f"{wide} at {width}"
        browser.picture(tmp_path / f"{width}.png")


def test_the_sequence_is_flown_and_told_in_words(browser: Browser) -> None:
    browser.run("document.getElementById('see').click()")
    browser.wait("!document.getElementById('diagnosis').hidden")
    words = browser.run("document.getElementById('diagnosis').innerText")
    assert "First: " in words and "°/s" in words and "propeller off" in words and "static margin" in words
    assert browser.run("document.querySelectorAll('#diagnosis tbody tr').length") >= 6


def test_notes_narrow_the_range_and_are_told(browser: Browser) -> None:
    browser.run(f"document.getElementById('notes-text').value = {NOTES!r}")
    browser.run("document.getElementById('learn').click()")
    browser.wait("!document.getElementById('lesson').hidden")
    words = browser.run("document.getElementById('lesson').innerText")
    assert "right rudder" in words and "chance of" in words and "The note to take next" in words
    browser.run("document.getElementById('undo').click()")
    browser.wait("!document.getElementById('undo').disabled")
    assert browser.run("document.getElementById('notes-failed').textContent") == ""


def test_words_stand_out_in_light_and_dark(browser: Browser) -> None:
    """4.5 to 1, WCAG 2.2 success criterion 1.4.3, of the words against the page behind them."""
    luminance = (
        "const light = (c) => { const [r, g, b] = c.match(/[\\d.]+/g).slice(0, 3).map((x) => { x = Number(x) / 255;"
        " return x <= 0.04045 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4; }); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };"
        " const back = (one) => { for (; one; one = one.parentElement) { const c = getComputedStyle(one).backgroundColor;"
        " if (!/, 0\\)$/.test(c) && c !== 'transparent') return c; } return 'rgb(255, 255, 255)'; };"
    )
    for scheme in ("light", "dark"):
        browser.ask(
            "Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}]
        )
        poor = browser.run(
            f"(() => {{ {luminance} const poor = []; for (const one of document.querySelectorAll('p, li, label, td, th, summary, button, a, h1, h2, h3, .message, output')) {{"
            " if (!one.innerText || !one.offsetParent || one.closest('.words') || one.classList.contains('skip') || one.disabled) continue;"
            " const a = light(getComputedStyle(one).color), b = light(back(one)), ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);"
            " if (ratio < 4.5) poor.push([one.innerText.slice(0, 40), ratio]); } return poor; })()"
        )
        assert poor == [], scheme
    browser.ask("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": "light"}])


def test_a_new_airplane_is_begun_without_a_terminal(browser: Browser, folder: Path) -> None:
    browser.run(
        "(() => { document.getElementById('new-name').value = 'own'; document.getElementById('new').click(); })()"
    )
    browser.wait("document.getElementById('airplane').textContent === 'own'")
    assert (folder / "own.yaml").is_file()
    browser.wait("document.getElementById('open').value === 'own'")
    assert "incidence meter" in browser.run("document.querySelector('.how').textContent") or browser.run(
        "[...document.querySelectorAll('.how')].some((one) => one.textContent.includes('incidence meter'))"
    )

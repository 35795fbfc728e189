"""The set-up sheet and the flight card: every number worked out again from the file and the run, by other arithmetic.

What the file of the lopsided airplane says is read as plain YAML (``lopsided``); the run's object as plain JSON.
"""

from __future__ import annotations

import json
import math
import re
import shutil
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import reading
from commanding import Done, refused, sixdof_here
from lopsided import FILE, as_written, number, throws

from sixdof.airframe.blends import amount
from sixdof.field.card import SIZES
from sixdof.field.page import page
from sixdof.field.plain import card_blocks, core_lines, sheet_blocks
from sixdof.field.rows import SetUpSheet
from sixdof.field.sheet import set_up_sheet
from sixdof.flight.blends import read_ratio
from sixdof.runs import read_run
from sixdof.study.remarks import size_words
from sixdof.study.results import TuneResult

CHORD = {name: number(row["chord"]) for name, row in as_written()["controls"].items()}  # mm
NAMES = ("right", "left", "low", "high")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a tune of the lopsided airplane, one of its copy in inches with linkages, and a flight."""
    folder = tmp_path_factory.mktemp("sheet")
    inch = FILE.read_text(encoding="utf-8").replace("stick_mode: 2", "stick_mode: 1\n  units: inch")
    (folder / "inch.yaml").write_text(inch, encoding="utf-8")
    usual = ("--airplanes", "20", "--no-pictures", "--out")
    for name, words in {
        "mm": ("tune", str(FILE), *usual),
        "in": ("tune", "inch.yaml", *usual),
        "level": ("fly", str(FILE), "-m", "level", "--no-pictures", "--out"),
    }.items():
        done = sixdof_here(folder, *words, name)
        assert done.code == 0, done.err
    return folder


@pytest.fixture(scope="module")
def made(folder: Path) -> dict[str, Any]:
    """``sheet --json``."""
    done = sixdof_here(folder, "sheet", "mm", "--json")
    assert done.code == 0 and done.err == "", done.err
    return done.json


@pytest.fixture(scope="module")
def run(folder: Path) -> dict[str, Any]:
    """The run's own object."""
    return json.loads((folder / "mm" / "result.json").read_text(encoding="utf-8"))


def sheet_with(folder: Path, **changes: Any) -> SetUpSheet:
    """The sheet of the run with its answer changed."""
    found = read_run(str(folder / "mm"))
    assert isinstance(found.answer, TuneResult)
    return set_up_sheet(found.answer.model_copy(update=changes), found.airframe(), "mm")


def sides(made: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {side["name"]: side for blend in made["blends"] for side in blend["sides"]}


def found_in(run: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Ratios of the run that have a percent, by name."""
    told = {f"{b['source']}-{b['target']}.{b['side']}": b for b in run["blends"]}
    return {name: b for name, b in told.items() if "not found" not in b["words"] and b["percent"]}


def way_of(b: dict[str, Any]) -> str:
    positive, negative = {"elevator": ("UP", "DOWN"), "flap": ("DOWN", "UP")}.get(
        b["target"], ("RIGHT", "LEFT")
    )
    return positive if b["percent"] > 0.0 else negative


def mm(chord: float, degrees: float) -> float:
    """t = c sin(angle), the arithmetic of the trade."""
    return chord * math.sin(math.radians(degrees))


def said(length: float) -> str:
    return f"{length:.2f} mm" if length < 1.0 else f"{length:.1f} mm"


# ---------------------------------------------------------------- numbers


def test_every_ratio_in_percent_degrees_and_millimeters(made, run) -> None:
    told = sides(made)
    assert len(found_in(run)) >= 6
    for name, b in found_in(run).items():
        side, way, target = told[name], way_of(b), b["target"]
        degrees = abs(b["percent"]) / 100.0 * throws()[target, way]
        assert side["found"] and side["percent"] == b["percent"]
        unseen = (
            b["bare_degrees"] is not None and abs(b["bare_degrees"]) < 5.0
        )  # what nobody would see, from the README
        leave = ", no need: leave it out" if unseen else ""
        assert side["words"].endswith(f"{target} {abs(b['percent']):g} % {way}{leave}")
        assert side["degrees"] == pytest.approx(degrees, rel=1e-4)
        assert side["edge_mm"] == pytest.approx(mm(CHORD[target], degrees), rel=1e-4)
        assert side["edge_used_mm"] == pytest.approx(mm(CHORD[target], b["degrees_used"]), rel=1e-4)
        if target != "aileron":
            assert (
                side["at_full"] == f"{degrees:.2f}°, trailing edge {way} {said(mm(CHORD[target], degrees))}"
            )


def test_the_used_share_is_said_in_degrees_and_millimeters(made, run) -> None:
    for name, b in found_in(run).items():
        side, target = sides(made)[name], b["target"]
        if b["used_percent"] > 99.5:
            assert side["at_used"] == ""
            continue
        where = "level knife-edge" if b["source"] == "rudder" else "the test"
        start = f"in {where}, {b['source']} {b['used_percent']:.0f} %: {b['degrees_used']:.2f}°, "
        assert side["at_used"].startswith(start), side["at_used"]
        if target != "aileron":
            assert side["at_used"] == f"{start}{way_of(b)} {said(mm(CHORD[target], b['degrees_used']))}"


def test_each_aileron_by_its_own_throw(made, run) -> None:
    """Their throws are 21 degrees up and 14 down: a blend to the left lifts the left one further than the right one drops."""
    up, down = throws()["aileron", "UP"], throws()["aileron", "DOWN"]
    told = [b for b in found_in(run).items() if b[1]["target"] == "aileron"]
    assert told and up != down
    for name, b in told:
        share = abs(b["percent"]) / 100.0
        rising, sinking = ("right", "left") if b["percent"] > 0.0 else ("left", "right")
        moved = f"{rising} UP {said(mm(CHORD['aileron'], share * up))}, {sinking} DOWN {said(mm(CHORD['aileron'], share * down))}"
        assert sides(made)[name]["at_full"].endswith(moved)


def test_bench_check_is_large_and_set_back(made, run) -> None:
    """At 40 %, or the ratio where that is larger, the same way as the ratio itself."""
    checked = 0
    for name, b in found_in(run).items():
        bench, way, target = sides(made)[name]["bench"], way_of(b), b["target"]
        if not bench:
            assert "no need" in sides(made)[name]["mind"]
            continue
        large = max(40.0, abs(b["percent"]))
        degrees = large / 100.0 * throws()[target, way]
        assert (
            bench.startswith(f"at {large:g} %, ") and f"({degrees:.1f}°)" in bench and "read aloud" in bench
        )
        if target != "aileron":
            assert f": {target} {way} {said(mm(CHORD[target], degrees))} (" in bench
        if large > abs(b["percent"]):
            assert f"back to {abs(b['percent']):g} % {way}, read aloud" in bench
        checked += 1
    assert checked >= 4


def test_bench_names_the_stick_of_the_mode(folder: Path, made) -> None:
    """Conventions of the trade: in mode 2 the left stick carries throttle and rudder, in mode 1 elevator and rudder."""
    bench = sides(made)["rudder-elevator.right"]["bench"]
    assert "right rudder (left stick to the right)" in bench
    assert made["sticks"] == "mode 2: left stick throttle and rudder, right stick elevator and aileron"
    other = sixdof_here(folder, "sheet", "in", "--json").json
    assert other["sticks"] == "mode 1: left stick elevator and rudder, right stick throttle and aileron"
    assert "closed throttle (right stick down)" in sides(other)["throttle-elevator.low"]["bench"]


@pytest.mark.parametrize(
    ("mode", "elevator", "throttle"),
    [(1, "left", "right"), (2, "right", "left"), (3, "left", "right"), (4, "right", "left")],
)
def test_stick_modes(mode: int, elevator: str, throttle: str) -> None:
    """Elevator and throttle lie on opposite sticks; the rudder is left in modes 1 and 2 (from memory, a convention)."""
    from sixdof.field.sheet import _STICKS

    left, right = _STICKS[mode]
    assert ("elevator" in left) == (elevator == "left") and ("throttle" in right) == (throttle == "right")
    assert ("rudder" in left) == (mode in (1, 2)) and ("aileron" in right) == (mode in (1, 2))
    assert sorted(left + right) == ["aileron", "elevator", "rudder", "throttle"]


def test_half_ratios_in_steps_of_the_radio(made, run) -> None:
    for name, b in found_in(run).items():
        half = sides(made)[name]["half_percent"]
        steps = half / run["step_percent"]
        assert steps == round(steps) and half * b["percent"] > 0.0
        assert (
            0.0 <= abs(b["percent"]) / 2.0 - abs(half) < run["step_percent"]
            or abs(half) == run["step_percent"]
        )


def test_change_from_what_is_in_the_radio(made, run) -> None:
    """The file's own blends, in words of the file, against what is to be set."""
    sign = {"up": 1, "down": -1, "right": 1, "left": -1}
    checked = 0
    for row in as_written()["radio"]["blends"]:
        for name in set(NAMES) & row.keys():
            percent, _, way = row[name].split()
            now = sign[way] * float(percent)
            b = found_in(run).get(f"{row['source']}-{row['target']}.{name}")
            side = sides(made)[f"{row['source']}-{row['target']}.{name}"]
            assert side["now_percent"] == pytest.approx(now)
            if b is None:
                continue
            by = b["percent"] - now
            target = {"elevator": ("UP", "DOWN")}.get(row["target"], ("RIGHT", "LEFT"))
            assert (
                side["now"]
                == f"in the radio now {percent} % {way.upper()}: change it by {abs(by):g} % {target[by < 0]}"
            )
            checked += 1
    assert checked >= 6


def test_where_it_holds_and_how_much_stick_that_is(made, run) -> None:
    """With expo e the command is (1 - e) x + e x^3 at stick x: its root by NumPy."""
    edge = run["knife_edge"]
    expo = number(as_written()["rates"]["normal"]["rudder"]["expo"]) / 100.0
    assert (
        f"level knife-edge at {edge['speed_m_s']:.0f} m/s ({edge['of_cruise_percent']:.0f} % of cruise)"
        in made["speed"]
    )
    for side in ("right", "left"):
        command = edge[f"{side}_percent"]
        roots = np.roots([expo, 0.0, 1.0 - expo, -command / 100.0])
        [stick] = [root.real for root in roots if abs(root.imag) < 1e-9]
        assert (
            f"{side} rudder at {command:.0f} % of its travel (stick {100.0 * stick:.0f} %)" in made["speed"]
        )


def test_throws_differential_expo(made) -> None:
    rows = {row["channel"]: row for row in made["throws"]}
    for channel, ways in as_written()["rates"]["normal"].items():
        row = rows[channel]
        for way, text in ways.items():
            if way == "expo":
                assert row["expo"] == text
            else:
                assert f"{way} {number(text):.1f}° ({said(mm(CHORD[channel], number(text)))})" in row["words"]
        assert row["measured"].endswith(f"{CHORD[channel]:.0f} mm")
    assert rows["aileron"]["differential"] == "down is 67 % of up"  # 14 of 21
    assert rows["rudder"]["servo"] == "step 0.08°, play 0.08°"  # 0.2 % of 39 degrees


def test_inches_are_the_same_lengths(folder: Path, made) -> None:
    other = sixdof_here(folder, "sheet", "in", "--json").json
    assert other["units"] == "inch" and " mm" not in json.dumps(other["blends"] + other["throws"])
    compared = 0
    for name, side in sides(made).items():
        inches = re.search(r"(?:UP|DOWN|LEFT|RIGHT) ([\d.]+) in", sides(other)[name]["at_full"])
        if inches and "aileron." not in name:
            digits = len(inches[1].partition(".")[2])
            assert float(inches[1]) == pytest.approx(side["edge_mm"] / 25.4, abs=0.51 * 10.0**-digits)
            compared += 1
    assert compared >= 4
    mph = (
        json.loads((folder / "in" / "result.json").read_text(encoding="utf-8"))["knife_edge"]["speed_m_s"]
        * 3600
        / 1609.344
    )
    assert f"at {mph:.0f} mph" in other["speed"]
    assert "enter at 395 ft" in other["card"]["changes"][0]["heights"]  # 120 m


# ---------------------------------------------------------------- words


def test_when_each_blend_is_off(made) -> None:
    """Rules of the trade (common practice, no source): rudder in a crosswind, yaw that reverses with lift, flaps that stay."""
    off = {blend["title"]: set(blend["off_in"]) for blend in made["blends"]}
    assert off["rudder to elevator"] == off["rudder to aileron"] == {"take-off", "landing"}
    assert off["aileron to rudder"] == {"rolls", "inverted", "vertical lines"}
    assert "landing" in off["throttle to elevator"] and off["flap to elevator"] == set()
    words = {blend["title"]: blend["off"] for blend in made["blends"]}
    assert words["flap to elevator"] == "stays ON, landing too, while the flap is down"
    assert words["rudder to elevator"] == "OFF for take-off, landing"


def test_bare_flight_is_told_with_side_sign_and_size(made, run) -> None:
    """What a ratio cures: canopy or belly by the elevator, roll by the aileron; its size by degrees a second."""
    flights = {f"{m['name']}.{m['side']}": m for m in run["maneuvers"]}
    words = {
        "elevator": ("to belly", "to canopy"),
        "aileron": ("rolls left", "rolls right"),
        "rudder": ("nose right", "nose left"),
    }
    for b in run["blends"]:
        m = flights[b["shown_by"]]
        bare = sides(made)[f"{b['source']}-{b['target']}.{b['side']}"]["bare"]
        assert bare.startswith(f"{m['said']}: {words[b['target']][b['bare_degrees'] > 0]}, ")
        seconds = m["drift_before"] / m["rate_before"]
        rate = abs(b["bare_degrees"]) / seconds
        size = next(
            w
            for w, most in zip(
                ("nothing", "a hair", "slight", "moderate", "strong", "violent"),
                (0.3, 1, 3, 6, 12, 1e9),
                strict=True,
            )
            if rate < most
        )
        assert bare.endswith(f", {size} ({abs(b['bare_degrees']):.0f}° in {seconds:.3g} s)")


def test_scale_of_words_is_one() -> None:
    for word, most in SIZES.items():
        assert size_words(most - 1e-6) == word
    assert size_words(max(SIZES.values())) == "violent"


def test_doubt_is_told(made, run) -> None:
    for b in run["blends"]:
        side = sides(made)[f"{b['source']}-{b['target']}.{b['side']}"]
        if side["found"]:
            assert (
                b["doubt"]["words"] in side["sure"]
                and f"other sign {b['doubt']['other_sign_percent']:.0f} %" in side["sure"]
            )


def test_a_ratio_not_found_is_not_printed_as_one(folder: Path) -> None:
    """The other sign is likelier: no percent of it anywhere, neither on the sheet, nor on the card, nor for the bench."""
    answer = read_run(str(folder / "mm")).answer
    assert isinstance(answer, TuneResult)
    unsure = [
        b.model_copy(update={"doubt": b.doubt.model_copy(update={"other_sign_percent": 60.0})})
        if b.doubt is not None and b.ratio.name == "rudder-aileron.right" else b
        for b in answer.blends
    ]  # fmt: skip
    sheet = sheet_with(folder, blends=unsure)
    [side] = [s for blend in sheet.blends for s in blend.sides if s.name == "rudder-aileron.right"]
    assert not side.found and math.isnan(side.percent) and not (side.half or side.bench or side.at_full)
    assert (
        side.words
        == "right rudder: no aileron ratio (the other sign is likelier): fly it bare and write down what you see"
    )
    assert side.now == "in the radio now 6 % LEFT: switch it off for the bare flight"
    lines = [line for block in sheet_blocks(sheet) for line in block.lines]
    lines = [line.replace(side.now, "") for line in lines]
    lines += [line for block in card_blocks(sheet.card) for line in block.lines] + core_lines(sheet)
    told = [
        s
        for line in lines
        for s in reading.amounts(line)
        if (s.side, s.source, s.surface) == ("right", "rudder", "aileron")
    ]
    assert not told, told
    assert all("rudder-aileron.right" not in change.in_force for change in sheet.card.changes)


def test_a_blend_smaller_than_a_step_is_said(folder: Path) -> None:
    answer = read_run(str(folder / "mm")).answer
    assert isinstance(answer, TuneResult)
    tiny = [
        b.model_copy(update={"percent": 0.5, "degrees": 0.075, "degrees_used": 0.02})
        if b.ratio.name == "rudder-elevator.right" else b
        for b in answer.blends
    ]  # fmt: skip
    [side] = [
        s
        for blend in sheet_with(folder, blends=tiny).blends
        for s in blend.sides
        if s.name == "rudder-elevator.right"
    ]
    assert "0.02° is less than the servo is sure of: step 0.03°, play 0.04°" in side.mind


# ---------------------------------------------------------------- the card


def test_flight_one_is_bare_in_the_order_of_worth(made, run) -> None:
    titles = [one["title"] for one in made["card"]["passes"]]
    assert titles == [
        "Knife-edge, held",
        "Knife-edge, let go",
        "Inverted, then the dive",
        "Only if the two sides disagree",
    ]
    dive = next(m for m in run["maneuvers"] if m["name"] == "power_off_dive")
    heights = [f"entered at {m['start_height_m']:.0f} m, broken off at {low:.0f} m" for m, low in (
        (run["maneuvers"][0], 0.5 * run["maneuvers"][0]["start_height_m"]),
        (dive, dive["start_height_m"] - dive["height_used_m"]),
    )]  # fmt: skip
    assert heights[0] in made["card"]["passes"][0]["how"] and heights[1] in made["card"]["passes"][2]["how"]
    keys = [[n["key"] for n in one["notes"]] for one in made["card"]["passes"]]
    assert keys[0] == ["held_elevator", "held_aileron", "rudder_share"] * 2
    assert keys[1] == ["pitch", "roll", "seconds_to_45", "passes"] * 2 and keys[2] == [
        "held_elevator",
        "pitch",
    ]


def test_what_holds_knife_edge_is_predicted(made, run) -> None:
    """The stick is the ratio times the rudder used."""
    expect = made["card"]["passes"][0]["expect"]
    for side, text in zip(("right", "left"), expect, strict=True):
        assert text.startswith(f"{side} rudder {run['knife_edge'][f'{side}_percent']:.0f} %")
        for name, b in found_in(run).items():
            if b["source"] == "rudder" and b["side"] == side:
                stick = b["percent"] * b["used_percent"] / 100.0
                assert f"{b['target']} {abs(round(stick, 1)):g} % {way_of(b)}" in text, name


def test_one_change_a_flight_with_heights_and_limits(made, run) -> None:
    flights = {f"{m['name']}.{m['side']}": m for m in run["maneuvers"]}
    worth: dict[str, list[dict[str, Any]]] = {}
    for b in found_in(run).values():
        if abs(b["bare_degrees"]) >= 5.0:
            worth.setdefault(f"{b['source']} to {b['target']}", []).append(b)
    changes = made["card"]["changes"]
    assert [c["title"] for c in changes] == list(worth) and [c["number"] for c in changes] == list(
        range(2, 2 + len(worth))
    )
    in_force: dict[str, str] = {}
    for change, ratios in zip(changes, worth.values(), strict=True):
        shown = [flights[b["shown_by"]] for b in ratios]
        entry, used = min(m["start_height_m"] for m in shown), max(m["height_used_m"] for m in shown)
        low = 0.5 * entry if all(m["level"] for m in shown) else min(0.5 * entry, entry - used)
        pull = "" if all(m["level"] for m in shown) else " and pull out"
        assert (
            change["heights"] == f"enter at {entry:.0f} m, uses {used:.0f} m, break off at {low:.0f} m{pull}"
        )
        g = min(m["least_g"] for m in shown), max(m["top_g"] for m in shown)
        assert (
            change["limits"]
            == f"up to {max(m['top_speed_m_s'] for m in shown):.0f} m/s, {g[0]:.1f} to {g[1]:.1f} g"
        )
        for b in ratios:
            name = f"{b['source']}-{b['target']}.{b['side']}"
            in_force[name] = f"{abs(sides(made)[name]['half_percent']):g} % {way_of(b)}"
        assert change["in_force"] == in_force, "this one and those before it"
    over = next(c for c in changes if c["title"] == "aileron to rudder")
    assert over["before"] == "first: more differential first", "60 % is more than a blend should cure"


# ---------------------------------------------------------------- the page


class Tags(HTMLParser):
    """Tags, attributes and text of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.words.append(data)


HOSTILE = "</title><script>alert(1)</script>\" onload='x' & {{7*7}} \u202e"


def test_hostile_names_stay_text(folder: Path) -> None:
    plain = sheet_with(folder)
    rows = plain.aircraft.model_copy(update={"name": HOSTILE, "rate": HOSTILE})
    nasty = page(
        plain.model_copy(update={"aircraft": rows, "run": HOSTILE, "first": HOSTILE, "changes": [HOSTILE]}),
        HOSTILE,
    )
    tame, wild = Tags(page(plain, "notes.yaml")), Tags(nasty)
    extra = [tag for tag, _ in wild.tags]
    extra.remove("p")  # the change
    assert sorted(extra) == sorted(tag for tag, _ in tame.tags), "no tag more than without it"
    assert {name for _, attrs in wild.tags for name in attrs} == {
        name for _, attrs in tame.tags for name in attrs
    }
    [form] = [attrs for tag, attrs in wild.tags if tag == "form"]
    assert form["data-aircraft"] == form["data-file"] == HOSTILE
    assert "<script>alert(1)</script>" in "".join(wild.words), "it stands there, as text"
    assert "\u202e" not in "".join(wild.words), "and turns no reading direction"


def test_the_page_needs_nothing_but_itself(folder: Path) -> None:
    done = sixdof_here(folder, "sheet", "mm", "--out", "mine.html")
    text = (folder / "mine.html").read_text(encoding="utf-8")
    assert done.code == 0 and "pages: mine.html" in done.out
    found = Tags(text)
    assert not [
        a for _, a in found.tags if {"src", "href", "srcset", "action", "style", "onclick"} & a.keys()
    ]
    assert not re.search(r"https?:|url\(|@import|//cdn", text)
    [rules] = [
        a["content"] or "" for tag, a in found.tags if a.get("http-equiv") == "Content-Security-Policy"
    ]
    assert rules.startswith("default-src 'none'") and "unsafe" not in rules
    assert [tag for tag, _ in found.tags if tag == "script"] == ["script"]
    assert sum("page" in (a.get("class") or "").split() for _, a in found.tags) == 2


def test_what_is_in_force_in_notes_is_what_was_set(folder: Path, made) -> None:
    """Blends of the notes are read back by the reader of blends: the same amounts with their sign."""
    flights = [
        a
        for _, a in Tags((folder / "mm" / "sheet.html").read_text(encoding="utf-8")).tags
        if "data-flight" in a
    ]
    assert flights[0]["data-blends"] == "none" and flights[0]["data-switch"] == "off"
    for attrs, change in zip(flights[1:], made["card"]["changes"], strict=True):
        assert attrs["data-flight"] == str(change["number"]) and attrs["data-switch"] == "on"
        told = json.loads(attrs["data-blends"] or "")
        assert told.keys() == change["in_force"].keys()
        for name, text in told.items():
            ratio = read_ratio(name)
            assert 100.0 * amount(text, ratio.target) == pytest.approx(sides(made)[name]["half_percent"])


def test_ratios_stand_on_the_page(folder: Path, made) -> None:
    words = " ".join(" ".join(Tags((folder / "mm" / "sheet.html").read_text(encoding="utf-8")).words).split())
    for side in sides(made).values():
        for key in ("words", "at_full", "at_used", "half", "now", "bench", "bare", "sure", "mind"):
            assert side[key] in words, (side["name"], key)


# ---------------------------------------------------------------- the command


def good(done: Done) -> str:
    assert done.code == 0 and done.err == "", done.err
    for complaint in (reading.too_wide, reading.wrong_letters, reading.minus_zero):
        assert not complaint(done.out), complaint(done.out)
    return done.out


def test_answer_on_one_screen_and_the_whole_on_request(folder: Path, made) -> None:
    core, whole = good(sixdof_here(folder, "sheet", "mm")), good(sixdof_here(folder, "sheet", "mm", "--all"))
    assert len(core.splitlines()) <= 24 and core.splitlines()[-1] == "pages: mm/sheet.html"
    assert "invented: do not dial this in" in core and "Propeller off" in core
    flat = " ".join(whole.split())
    for side in sides(made).values():
        assert side["words"] in " ".join(core.split())
        for key in ("words", "at_full", "bench", "bare", "sure"):
            assert side[key] in flat, (side["name"], key)
    assert "Flight 1, the airplane bare" in whole
    assert not reading.wrong_degrees(core, throws()), reading.wrong_degrees(core, throws())
    assert whole == good(sixdof_here(folder, "sheet", "mm", "--text"))


def test_amounts_of_the_text_have_the_signs_of_the_run(folder: Path, run) -> None:
    core = good(sixdof_here(folder, "sheet", "mm"))
    for text in core.splitlines():
        assert not reading.wrong_amounts(text, run["blends"])
    assert not reading.unsaid(
        core, [b for b in run["blends"] if "not found" not in b["words"] and b["percent"]]
    )


def test_the_same_run_makes_the_same_bytes(folder: Path) -> None:
    path = folder / "mm" / "sheet.html"
    first = path.read_bytes()
    assert sixdof_here(folder, "sheet", "mm").code == 0 and path.read_bytes() == first


def test_bad_input(folder: Path, tmp_path: Path) -> None:
    refused(sixdof_here(folder, "sheet", "nowhere"), "nowhere: not a run folder")
    refused(sixdof_here(folder, "sheet", "level"), "level: has no ratios to set (a run of `fly`)")
    refused(sixdof_here(folder, "sheet", "mm", "--out", "x.pdf"), "x.pdf", "ends in .html")
    refused(sixdof_here(folder, "sheet", "mm", "--out", "nowhere/x.html"), "cannot be written")
    (folder / "there.html").write_text("precious", encoding="utf-8")
    refused(sixdof_here(folder, "sheet", "mm", "--out", "there.html"), "exists already")
    assert (folder / "there.html").read_text(encoding="utf-8") == "precious"
    shutil.copytree(folder / "mm", tmp_path / "run")
    result = json.loads((tmp_path / "run" / "result.json").read_text(encoding="utf-8"))
    result["aircraft"]["rate"] = "high"
    (tmp_path / "run" / "result.json").write_text(json.dumps(result), encoding="utf-8")
    refused(sixdof_here(tmp_path, "sheet", "run"), "'high' is not in its file")

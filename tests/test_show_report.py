"""What a report says and draws, against the answer it was made of and the tracks themselves."""

from __future__ import annotations

import base64
import json
import math
import re
from html import unescape
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from commanding import sixdof_here
from showing import airplane, knife_edge, two_flights

from sixdof import Airplane
from sixdof.field.sheet import set_up_sheet
from sixdof.flight.frame import TRACK_NAMES
from sixdof.runs import maneuvers_in, read_run
from sixdof.show.answers import MOST_FLIGHTS
from sixdof.show.charts import drift_chart, setting_chart, track_chart
from sixdof.show.chosen import shown_flight
from sixdof.show.flown import RATE, ShownFlight, position, rotation, row_at
from sixdof.show.packed import COLUMNS, packed
from sixdof.show.report import explore_report, tune_report
from sixdof.show.stage import set_stage
from sixdof.study.ask import explore, fly, tune
from sixdof.study.results import TuneResult

LARGEST = 800_000  # bytes


@pytest.fixture(scope="module")
def tuned() -> tuple[TuneResult, str]:
    made = Airplane("fenlark")  # the demo with most flights
    answer = tune(made, airplanes=20)
    return answer, tune_report(answer, made.airframe, aircraft="fenlark", asked="sixdof tune 'fenlark'")


def text_of(html: str) -> str:
    """What is read on a page."""
    body = re.sub(r"<(script|style|svg)\b.*?</\1>", " ", html, flags=re.DOTALL)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", body))


def data_of(html: str) -> dict[str, Any]:
    [data] = re.findall(r'id="stages">(.*?)</script>', html, flags=re.DOTALL)
    return dict(json.loads(data))


def test_it_says_first_what_to_dial_in_then_what_it_buys_then_what_could_go_wrong_then_how_sure(
    tuned: Any,
) -> None:
    answer, html = tuned
    headings = re.findall(r"<h2>(.*?)</h2>", html)
    assert headings[:4] == ["What to dial in", "What it buys", "What could go wrong", "How sure that is"]
    assert headings[4:] == [
        "Replay",
        "Flights, the worst first",
        "At other speeds",
        "Set-up sheet",
        "Before you act on this",
        "How to do it again",
    ]
    text = text_of(html)
    assert "do not dial this in" in text and "sixdof tune &#x27;fenlark&#x27;" in text
    for found in answer.blends:
        if found.found and found.percent:
            way = re.search(r"(\d[\d.]* % [A-Z]+)", found.words)
            at = {"throttle": "closed throttle", "flap": ""}.get(
                found.source, f"full {found.side} {found.source}"
            )
            said = f"{found.target} {way[1]} {found.degrees:.2f}° at {at}" if way else ""
            if abs(found.bare_degrees) < 5.0:  # nobody would see it: not to be dialed in
                said = f"{found.target}: no need {abs(found.bare_degrees):.1f}° bare: less than anyone sees"
            assert said and said in text, found.words
            if found.source == "flap":
                assert "stays on" in text.partition(said)[2][:160] and "off for never" not in text
    for caution in answer.cautions:
        assert caution[:40] in text
    assert all(
        remark.text[:30].replace("'", "&#x27;") in text
        for remark in answer.of_kind("balance", "sign", "flight")
    )


def test_a_flight_is_called_by_the_rudder_applied(tuned: Any) -> None:
    answer, html = tuned
    shown = {m.said for m in answer.maneuvers}
    told = re.findall(r"of drift down to [\d.]+° \(([^)]*)\)", text_of(html))
    assert told and set(told) <= shown and any(name.endswith("-rudder knife-edge") for name in told)


def test_it_holds_the_set_up_sheet(tuned: Any) -> None:
    """Every line of every blend of the sheet, the same words; its cautions stand once."""
    answer, html = tuned
    sheet, text = set_up_sheet(answer, Airplane("fenlark").airframe, "x"), unescape(text_of(html))
    folded = unescape(text_of(html.partition("<h2>Set-up sheet</h2>")[2].partition("<h2>")[0]))
    for blend in sheet.blends:
        assert blend.title in folded and blend.shape in folded
        for side in blend.sides:
            lines = (side.words, side.at_full, side.half, side.bench, side.bare, side.sure, side.mind)
            assert all(line in folded for line in lines), side.words
    assert all(throw.words in folded for throw in sheet.throws)
    assert all(text.count(caution) == 1 for caution in sheet.cautions[1:])


def test_ratios_against_speed_are_those_of_steady_flight(tuned: Any) -> None:
    """In the drawing, in its numbers and at the speed of the tune against what the search found of the steady knife-edge."""
    answer, html = tuned
    here = min(answer.at_speeds, key=lambda row: abs(row.speed_m_s - answer.knife_edge.speed_m_s))
    assert here.speed_m_s == pytest.approx(answer.knife_edge.speed_m_s, rel=1e-5)
    assert here.rudder_right_percent == pytest.approx(answer.knife_edge.right_percent, rel=1e-4)
    assert here.rudder_left_percent == pytest.approx(answer.knife_edge.left_percent, rel=1e-4)
    section = html.partition("<h2>At other speeds</h2>")[2].partition("<h2>")[0]
    for target in ("elevator", "aileron"):
        figure = section.partition(f"<figcaption>right and left rudder: {target}</figcaption>")[2].partition(
            "</figure>"
        )[0]
        ticks = {
            float(v.replace("\u2212", "-")): float(y) - 3.5  # half a letter
            for y, v in re.findall(r'<text class="end"[^>]*y="([\d.]+)">([^<]*)<', figure)
        }
        (low, y_low), (high, y_high) = min(ticks.items()), max(ticks.items())
        curves = re.findall(r'<polyline class="flight"[^>]* points="([^"]+)"', figure)
        for side, curve in zip(("right", "left"), curves, strict=True):
            [steady] = [
                b.steady_percent
                for b in answer.blends
                if (b.source, b.target, b.side) == ("rudder", target, side)
            ]
            assert getattr(here, f"{target}_{side}_percent") == pytest.approx(steady, abs=1e-3), (
                target,
                side,
            )
            drawn = [
                low + (float(p.split(",")[1]) - y_low) / (y_high - y_low) * (high - low)
                for p in curve.split()
            ]
            known = [
                p for row in answer.at_speeds if not math.isnan(p := getattr(row, f"{target}_{side}_percent"))
            ]
            assert drawn[0] == pytest.approx(known[0], abs=0.4) and drawn[-1] == pytest.approx(
                known[-1], abs=0.4
            )


def test_other_speeds_stand_in_tables(tuned: Any) -> None:
    """What each flight drifts at 80 and at 120 % of the speed; what knife-edge needs at the speed of the tune."""
    answer, html = tuned
    section = text_of(html.partition("<h2>At other speeds</h2>")[2].partition("<h2>")[0])
    for m in answer.maneuvers:
        said = [
            "unfinished" if (drift := m.others[key]) is None else f"{abs(drift):.1f}° {m.others_words[key]}"
            for key in ("80% speed", "120% speed")
        ]
        assert f"{m.said} {' '.join(said)} " in section, m.said
    edge = answer.knife_edge
    needed = {(b.target, b.side): b.steady_percent for b in answer.blends if b.source == "rudder"}
    cells = [
        f"{abs(value):.4g} % {way}"
        for target, ways in (("elevator", ("DOWN", "UP")), ("aileron", ("LEFT", "RIGHT")))
        for side in ("right", "left")
        for value in [round(needed[target, side], 1)]
        for way in [ways[value > 0.0]]
    ]
    row = f"{edge.speed_m_s:.1f} {' '.join(cells)} {edge.right_percent:.0f} % {edge.left_percent:.0f} %"
    assert row in section, row


def test_it_is_small_and_shows_the_worst_flights_first(tuned: Any) -> None:
    answer, html = tuned
    assert len(html.encode()) <= LARGEST
    assert not re.search(r"https?://(?!www\.w3\.org)|src=|@import|url\(", html), "nothing from elsewhere"
    stages = data_of(html)["stages"]
    shown = [flight for stage in stages for flight in stage["flights"]]
    assert len(shown) <= MOST_FLIGHTS < len(answer.tracks)
    drifts = {m.said: abs(m.drift_before) for m in answer.maneuvers}
    told = [drifts[stage["title"]] for stage in stages]
    assert told == sorted(told, reverse=True)
    out = [said for said in drifts if said not in {stage["title"] for stage in stages}]
    assert max(drifts[said] for said in out) <= told[-1]
    assert all(said in text_of(html).partition("Left out")[2] for said in out)
    figures = html.partition("Flights, the worst first")[2].partition("<h2>")[0]
    captions = re.findall(r"<figcaption>(.*?)</figcaption>", figures)
    assert captions == [stage["title"] for stage in stages]


def test_what_is_packed_is_what_was_flown(tuned: Any) -> None:
    """Every row of the page lies on the track of the answer; 25 a second, the last one too."""
    answer, html = tuned
    data = data_of(html)
    stage = next(s for s in data["stages"] if s["title"] == "power-off dive")
    for flight, kind in zip(stage["flights"], ("bare", "blended"), strict=True):
        rows = np.frombuffer(base64.b64decode(flight["rows"]), "<f4").reshape(-1, len(COLUMNS))
        track = answer.tracks[f"power_off_dive.both.{kind}"].values
        assert rows[-1, 0] == pytest.approx(track[-1, 0])
        assert np.all(np.diff(rows[:-1, 0]) < 1.01 / RATE)
        for row in rows:
            there = track[np.argmin(np.abs(track[:, 0] - row[0]))]
            mine = there[[TRACK_NAMES.index(name) for name in COLUMNS]]
            quaternion = slice(4, 8)
            sign = np.sign(mine[quaternion] @ row[quaternion])
            mine[quaternion] *= sign
            assert row == pytest.approx(mine, abs=1e-4, rel=1e-6)


def test_thinning_keeps_ends_phases_and_attitudes() -> None:
    track = knife_edge(0.1)
    track[40:90, 7:11] *= -1.0  # the same attitude, written the other way
    phases = track[:, TRACK_NAMES.index("phase")]
    thin = ShownFlight("x", track).thinned()
    assert thin.start == 0.0 and thin.end == track[-1, 0]
    assert len(thin.track) <= RATE * thin.end + 2 * len(np.unique(phases)) + 2
    for phase in np.unique(phases):
        kept = thin.track[thin.track[:, TRACK_NAMES.index("phase")] == phase]
        assert kept[[0, -1], 0] == pytest.approx(track[phases == phase][[0, -1], 0]), (
            "both ends of each phase"
        )
    assert np.all(np.einsum("ij,ij->i", thin.track[1:, 7:11], thin.track[:-1, 7:11]) > 0.0)
    for time in np.arange(0.0, 4.9, 0.13):
        a, b = row_at(thin.track, time), row_at(track, time)
        assert rotation(a) == pytest.approx(rotation(b), abs=2e-3)
        assert position(a) == pytest.approx(position(b), abs=2e-3)


def test_the_drift_chart_ends_where_the_drift_does_and_says_where_a_moment_is() -> None:
    """Numbers of the drawing against those of the track: turn of 0.1 and 0.01 rad/s for three seconds."""
    svg = drift_chart(two_flights(), "knife-edge")
    values = [
        float(v.replace("\u2212", "-")) for v in re.findall(r'class="value"[^>]*>([+\u2212]?[\d.]+)°<', svg)
    ]
    end = 3.0 - 0.02
    assert values[:2] == [
        pytest.approx(np.degrees(0.1 * end), abs=0.06),
        pytest.approx(np.degrees(0.01 * end), abs=0.06),
    ]
    zero, left, right, second = (
        float(re.search(rf'data-{n}="([\d.]+)"', svg)[1]) for n in ("zero", "left", "right", "second")
    )  # type: ignore[index]
    assert zero == 2.0 and left + second * end == pytest.approx(right, abs=0.1)
    assert svg.count("<polyline") == 6
    nose = [ShownFlight("x", f.track, f.kind, nose=True) for f in two_flights()]
    assert drift_chart(nose, "x").count("<polyline") == 2, (
        "of a flight in which the nose counts, the nose alone"
    )
    unmeasured = knife_edge(0.1)
    unmeasured[:, TRACK_NAMES.index("measured")] = -1.0
    assert drift_chart([ShownFlight("x", unmeasured)], "x") == "", "nothing to draw, nothing drawn"


@pytest.mark.parametrize("maneuver", ["knife_edge", "power_off_dive", "four_point_roll"])
def test_what_a_drawing_ends_at_is_what_the_table_says(maneuver: str) -> None:
    """The last row of a track is the end of the test: its errors are those of the answer, and so are those of the drawing."""
    answer = fly(Airplane("corvane"), maneuver)
    for flown in answer.maneuvers:
        assert flown.status == "finished"
        key = f"{maneuver}.{flown.side}.free"
        end = [phase for phase in answer.phases if phase.flight == f"{maneuver}.{flown.side}"][-1]
        told = [end.canopy, end.right_wing, end.roll_right]
        last = answer.tracks[key].values[-1]
        there = [
            math.degrees(last[TRACK_NAMES.index(name)]) for name in ("toward_canopy", "toward_wing", "roll")
        ]
        assert there == pytest.approx(told, abs=1e-4)
        svg = drift_chart(
            [shown_flight(key, answer.tracks[key].values, maneuvers_in(answer.inputs), [])], "x"
        )
        drawn = [float(v.replace("\u2212", "-")) for v in re.findall(r'class="value"[^>]*>([^<]*)°<', svg)]
        assert drawn == pytest.approx(told, abs=0.0501)
        if maneuver == "knife_edge":
            worst = max(drawn, key=abs)
            assert worst == pytest.approx(flown.drift_before, abs=0.0501)


def test_meters_of_the_track_chart_are_equal_all_ways() -> None:
    """The scale bar against the length and the height of a path: 4 s at 25 m/s, 0.1 rad/s to the west."""
    flight = ShownFlight("x", knife_edge(0.1), "bare")
    svg = track_chart([flight], "x")
    meters = float(re.search(r"([\d.]+) m</text>", svg)[1])  # type: ignore[index]
    bar = float(re.search(r"m0-3h([\d.]+)m", svg)[1])  # type: ignore[index]
    lines = [
        np.array([p.split(",") for p in at.split()], float)
        for at in re.findall(r'<polyline class="flight"[^>]* points="([^"]+)"', svg)
    ]
    shown = flight.track[flight.track[:, 0] >= 1.0 - 1e-9]
    north, east, _ = np.ptp(position(shown), axis=0)
    side, above = lines
    assert np.ptp(side[:, 0]) / (bar / meters) == pytest.approx(north, rel=0.01)
    assert np.ptp(above[:, 1]) / (bar / meters) == pytest.approx(east, rel=0.03)
    assert above[-1, 1] < above[0, 1], "west of the line is farther out: up, as the caller looks"
    assert "ground" not in svg
    assert 'class="ground"' in track_chart([ShownFlight("x", knife_edge(0.1, height=3.0))], "x")


def test_the_setting_chart_leaves_out_what_did_not_finish() -> None:
    svg = setting_chart(
        [-2.0, 0.0, 2.0], [-4.0, float("nan"), 4.0], ["#111111"] * 3, ("to belly", "to canopy"), "x"
    )
    assert svg.count("<circle") == 2
    assert setting_chart([-2.0, 0.0], [float("nan")] * 2, ["#111111"] * 2, ("a", "b"), "x") == ""


def test_an_exploration_shows_its_ends_and_its_best() -> None:
    made = Airplane("corvane")
    answer = explore(made, "power_off_dive", "throttle-elevator.low=-6..2", count=17)
    html = explore_report(answer, made.airframe, asked="sixdof explore")
    least = min(answer.settings, key=lambda s: abs(s.drift))
    [stage] = data_of(html)["stages"]
    shown = [flight["words"] for flight in stage["flights"]]
    assert shown[0] == "-6 %" and shown[-1] == "+2 %" and f"{least.percent:+g} %" in shown and len(shown) == 5
    assert f"{abs(least.percent):g} % DOWN, {abs(least.drift):.1f}°" in text_of(html)
    assert len(html.encode()) <= LARGEST


def test_surfaces_on_the_page_are_those_of_the_hull() -> None:
    data = packed([set_stage(airplane("fenlark"), two_flights())])
    channels = {part["name"]: part["channel"] for part in data["hull"]}
    assert (
        channels["aileron_left"] == "aileron_left"
        and channels["flap_right"] == "flap"
        and channels["wing"] == ""
    )
    assert set(channels.values()) - {""} <= set(data["columns"])


def test_runs_hold_their_report_and_compare_writes_one(tmp_path: Path) -> None:
    done = sixdof_here(tmp_path, "tune", "--maneuver", "power_off_dive", "--airplanes", "0", "--out", "run")
    assert done.code == 0 and done.out.rstrip().endswith("run: run (open its report.html)")
    html = (tmp_path / "run" / "report.html").read_text(encoding="utf-8")
    assert "sixdof tune --maneuver power_off_dive --airplanes 0 --out run" in html
    assert 0.0 < json.loads((tmp_path / "run" / "timings.json").read_text())["seconds"]["report"] < 3.0
    bare = sixdof_here(
        tmp_path, "tune", "-m", "power_off_dive", "--airplanes", "0", "--no-pictures", "--out", "plain"
    )
    assert bare.code == 0 and not (tmp_path / "plain" / "report.html").exists()
    done = sixdof_here(tmp_path, "compare", "run", "run", "--out", "both.html")
    assert done.code == 0 and done.out.rstrip().endswith("both.html")
    both = (tmp_path / "both.html").read_text(encoding="utf-8")
    assert len(both.encode()) <= LARGEST and "Invented airplanes (A, B): do not dial this in." in text_of(
        both
    )
    [stage] = data_of(both)["stages"]
    assert [flight["words"] for flight in stage["flights"]] == ["A: run", "B: run"]
    blended = len(
        ShownFlight("x", read_run(str(tmp_path / "run")).tracks()["power_off_dive.both.blended"].values)
        .thinned()
        .track
    )
    assert len(base64.b64decode(stage["flights"][0]["rows"])) // (4 * len(COLUMNS)) <= blended
    again = sixdof_here(tmp_path, "compare", "run", "run", "--out", "both.html")
    assert again.code == 2 and "exists already" in again.err


def test_a_diagnosis_has_a_report_with_every_tendency_that_is_seen(tmp_path: Path) -> None:
    """Of the run's own object: each tendency and its first cure stand on the page, the change comes first."""
    done = sixdof_here(tmp_path, "diagnose", "--saw", "dive=6 to canopy", "--json", "--out", "run")
    html = (tmp_path / "run" / "report.html").read_text(encoding="utf-8")
    text = text_of(html).replace("&#x27;", "'")
    assert done.code == 0 and len(html.encode()) < LARGEST and "<script" not in html
    assert re.findall(r"<h2>(.*?)</h2>", html)[:2] == [
        "What to change first",
        "What you would see, in the order of trimming",
    ]
    assert "Cg" not in html
    seen = [row for row in done.json["findings"] if row["seen"]]
    assert seen and html.count("<h4>") == len(seen)
    assert all(f"{row['said']} {row['tendency']}, {row['sure_percent']:.0f} % sure" in text for row in seen)
    assert f"explains {done.json['causes'][0]['explains_percent']:.0f} %" in text

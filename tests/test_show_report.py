"""What a report says and draws, against the answer it was made of and the tracks themselves."""

from __future__ import annotations

import base64
import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from commanding import sixdof_here
from showing import airplane, knife_edge, two_flights

from sixdof import Airplane
from sixdof.flight.frame import TRACK_NAMES
from sixdof.runs import read_run
from sixdof.show.charts import drift_chart, setting_chart, track_chart
from sixdof.show.flown import RATE, ShownFlight, position, rotation, row_at
from sixdof.show.packed import COLUMNS, packed
from sixdof.show.report import MOST_FLIGHTS, explore_report, tune_report
from sixdof.show.stage import set_stage
from sixdof.study.ask import explore, tune
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
    for caution in answer.cautions:
        assert caution[:40] in text
    assert all(
        remark.text[:30].replace("'", "&#x27;") in text
        for remark in answer.of_kind("balance", "sign", "flight")
    )


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
    captions = re.findall(r"<figcaption>(.*?)</figcaption>", html.partition("Flights, the worst first")[2])
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
    thin = ShownFlight("x", track).thinned()
    assert thin.start == 0.0 and thin.end == track[-1, 0]
    assert len(thin.track) <= RATE * thin.end + 4
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
    assert json.loads((tmp_path / "run" / "timings.json").read_text())["seconds"]["report"] > 0.0
    bare = sixdof_here(
        tmp_path, "tune", "-m", "power_off_dive", "--airplanes", "0", "--no-pictures", "--out", "plain"
    )
    assert bare.code == 0 and not (tmp_path / "plain" / "report.html").exists()
    done = sixdof_here(tmp_path, "compare", "run", "run", "--out", "both.html")
    assert done.code == 0 and done.out.rstrip().endswith("both.html")
    both = (tmp_path / "both.html").read_text(encoding="utf-8")
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

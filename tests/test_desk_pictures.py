"""What the desk flies and draws to be chosen from: its words, signs and numbers are those of the flights."""

from __future__ import annotations

import base64
import math
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from desking import DEMO

from sixdof import Airplane
from sixdof.airframe.load import make_airframe
from sixdof.desk.choices import ratio_over_range, steps_of_change
from sixdof.desk.replay import replayed
from sixdof.desk.said import Ask
from sixdof.desk.verdict import diagnosis
from sixdof.files.errors import InputError
from sixdof.files.yamlio import parse_yaml
from sixdof.flight.knife_edge import where_it_holds
from sixdof.show.causes_chart import shares_chart
from sixdof.show.flow import Share, Stream, flow_chart
from sixdof.show.narrowing_chart import narrowing_charts
from sixdof.show.palette import BARE, BLENDED
from sixdof.show.svg import apart
from sixdof.study.ask import diagnose, tune
from sixdof.study.results import LearnedRatio, NotedFlight


@pytest.fixture(scope="module")
def corvane() -> Airplane:
    return Airplane("corvane")


def rows(answer: dict[str, Any], stage: int, flight: int, column: str) -> np.ndarray:
    """A column of a flight while it was measured."""
    columns = answer["player"]["columns"]
    data = base64.b64decode(answer["player"]["stages"][stage]["flights"][flight]["rows"])
    table = np.frombuffer(data, "<f4").reshape(-1, len(columns))
    return table[table[:, columns.index("measured")] >= 0, columns.index(column)]


# ---------------------------------------------------------------- flights


def test_what_the_sticks_add_is_said_as_a_tune_says_it(corvane: Airplane) -> None:
    answer = tune(corvane, ["knife_edge"], airplanes=0)
    ratios = {found.ratio.name: found.percent for found in answer.blends}
    flow = replayed(corvane, Ask("knife_edge"), ratios)["flow"]
    for found in answer.blends:
        share = found.words.partition(" (")[0].partition(": ")[2]
        [line] = [
            text for text in flow[: flow.index("</title>")].split("; ") if f"{found.ratio.words}: " in text
        ]
        said = f"{share} ({found.degrees:.2f}°)" if found.percent else f"{found.target} nothing"
        assert said in line, (line, found.words)
    assert re.findall(r"(\d\d) % in this flight", flow) == ["42", "47"], "the rudder that holds it"
    rolled = replayed(corvane, Ask("four_point_roll"), {"rudder-elevator.left": 3.0})["flow"]
    assert "3 % UP" in rolled and "in this flight" not in rolled, "where it goes both ways"


def test_a_rudder_of_ones_own_is_flown_to_each_side_from_where_the_test_begins(corvane: Airplane) -> None:
    held, more = (replayed(corvane, Ask("knife_edge", rudder=r), {}) for r in (None, 0.7))
    assert more["rudder"] == pytest.approx([70.0, 70.0], abs=0.1) and max(held["rudder"]) < 50.0
    for side, sign in ((0, -1.0), (1, 1.0)):  # right rudder is negative in ISO 1151
        angles = [rows(answer, side, 0, "rudder") for answer in (held, more)]
        assert np.all(np.sign(angles[0]) == sign) and abs(angles[1][-1]) > 1.3 * abs(angles[0][-1])
        assert angles[1][0] == pytest.approx(angles[0][0], abs=0.02), "it moves as the sticks are let go"
    assert replayed(corvane, Ask("power_off_dive"), {})["rudder"] == [], "there is none to choose"


def test_speed_is_a_share_of_where_knife_edge_holds() -> None:
    """Half as heavy again it holds above cruise alone, and is tuned there."""
    text = DEMO.replace("total: 4.7 kg", "total: 7 kg")
    heavy = Airplane(make_airframe(parse_yaml(Path("heavy.yaml"), text.encode())))
    share = where_it_holds(heavy.plane).share
    assert share > 1.05
    cruise = heavy.airframe.speeds.cruise
    for asked in (1.0, 0.9):
        speed = rows(replayed(heavy, Ask("knife_edge", speed=asked), {}), 0, 0, "speed")[0]
        assert speed == pytest.approx(asked * share * cruise, rel=0.05)


def test_a_change_is_flown_beside_the_airplane_without_it(corvane: Airplane) -> None:
    alone, both = (
        replayed(corvane, Ask("power_off_dive"), {}, changes) for changes in ((), ["cg=10 mm aft"])
    )
    [stage] = both["player"]["stages"]
    assert [flight["words"] for flight in stage["flights"]] == ["bare: no blends", "CG 10 mm further aft"]
    assert np.array_equal(rows(alone, 0, 0, "toward_canopy"), rows(both, 0, 0, "toward_canopy"))
    said = re.fullmatch(
        r"power-off dive: ([\d.]+)° to canopy bare, ([\d.]+)° to belly with CG 10 mm further aft",
        both["words"][0],
    )
    assert said and float(said[1]) == pytest.approx(
        math.degrees(rows(both, 0, 0, "toward_canopy")[-1]), abs=0.3
    )
    assert float(said[2]) == pytest.approx(-math.degrees(rows(both, 0, 1, "toward_canopy")[-1]), abs=0.3)
    moved = corvane.changed({"cg": "10 mm aft"})
    back = replayed(moved, Ask("power_off_dive"), {}, ["cg=10 mm forward"])
    assert back["words"][0].endswith("with CG 10 mm further forward"), (
        "what is changed, not what it adds up to"
    )


def test_wind_moves_both_flights(corvane: Airplane) -> None:
    calm, windy = (replayed(corvane, Ask("knife_edge", wind=w), {}) for w in ("", "4 m/s from the right"))
    assert calm["words"] != windy["words"]
    with pytest.raises(InputError, match="expected"):
        replayed(corvane, Ask("knife_edge", wind="a storm"), {})


# ---------------------------------------------------------------- to choose from


def picks(svg: str) -> dict[str, tuple[str, float, float]]:
    """Key of a point -> what it is called, and where it is."""
    found = re.findall(r'cx="([\d.]+)" cy="([\d.]+)" r="2.6" data-pick="([^"]*)" data-words="([^"]*)"', svg)
    return {key: (words, float(x), float(y)) for x, y, key, words in found}


def test_a_point_of_a_range_is_the_flight_it_stands_for(corvane: Airplane) -> None:
    [svg] = ratio_over_range(corvane, Ask("knife_edge"), "rudder-aileron.left", 10.0, {})
    points = picks(svg)
    for percent in (0.0, 2.0, 8.0):
        words, x, _ = points[f"{percent:g}"]
        assert x == pytest.approx(34.0 + 280.0 * (percent + 10.0) / 20.0, abs=0.1)
        [_, left] = replayed(corvane, Ask("knife_edge"), {"rudder-aileron.left": percent})["words"]
        assert f"{words.partition(': ')[2]} with these ratios" in left, (words, left)
    assert points["2"][0].startswith("2 % RIGHT: ") and points["-1"][0].startswith("1 % LEFT: ")
    assert points["8"][2] < points["0"][2], "right is up"
    aside = picks(ratio_over_range(corvane, Ask("knife_edge"), "rudder-elevator.left", 10.0, {"rudder-aileron.left": 4.5, "rudder-elevator.left": 9.0})[0])  # fmt: skip
    [_, left] = replayed(corvane, Ask("knife_edge"), {"rudder-elevator.left": 3.0, "rudder-aileron.left": 4.5})["words"]  # fmt: skip
    assert f"{aside['3'][0].partition(': ')[2]} with these ratios" in left, "others as they stand"
    slow = picks(ratio_over_range(corvane, Ask("knife_edge", speed=0.8), "rudder-aileron.left", 10.0, {})[0])
    assert slow["2"][0] != points["2"][0], "at the speed of the sliders"


def test_a_size_of_a_change_says_what_its_flight_does(corvane: Airplane) -> None:
    points = picks(steps_of_change(corvane, "cg"))
    assert len(points) == 18 and points["knife_edge|"][0].startswith("as it is: ")
    for size in ("10 mm aft", "10 mm forward"):
        words = points[f"power_off_dive|cg={size}"][0]
        [flown] = replayed(corvane, Ask("power_off_dive"), {}, [f"cg={size}"])["words"]
        told, seen = (re.search(r"([\d.]+)° (to \w+)", text.rpartition(", ")[2]) for text in (words, flown))
        assert told and seen and told[2] == seen[2]
        assert float(told[1]) == pytest.approx(float(seen[1]), abs=3.0), (
            "its servos have no slop, those of the flight do"
        )
    xs = [points[f"power_off_dive|{c}"][1] for c in ("cg=20 mm forward", "", "cg=20 mm aft")]
    assert xs == [34.0, 174.0, 314.0]
    with pytest.raises(InputError):
        steps_of_change(corvane, "wings")


def test_every_tendency_that_is_told_has_its_flight(corvane: Airplane) -> None:
    """The maneuver, the side, and the way it goes; drops and lifts are to canopy, as pictures say it."""
    told = diagnosis(diagnose(corvane))
    assert len(told["seen"]) >= 10 and told["changes"][0] == "cg"
    dives = 0
    for row in told["seen"]:
        flown = replayed(corvane, Ask(row["maneuver"]), {})
        assert len(flown["player"]["stages"]) >= (2 if row["side"] in ("right", "left", "mean") else 1), row
        assert 0.2 < row["length"] <= 1.0 and row["made_by"].startswith("<svg")
        if row["tendency"].startswith("to canopy"):
            dives += 1
            assert "to canopy" in flown["words"][0]
        for remedy in row["remedies"]:
            for name in remedy["ratios"]:
                assert remedy["words"].startswith("blend: ") and "." in name
    assert dives


# ---------------------------------------------------------------- drawings


def test_a_share_is_the_wider_the_more_it_is_and_none_is_dotted() -> None:
    def drawn(*amounts: float) -> str:
        shares = [Share("aileron", amount, math.radians(20.0)) for amount in amounts]
        return flow_chart([Stream("right rudder", "rudder", 0.42, shares)])

    svg = drawn(-0.03, 0.10, 0.0)
    thin, thick = (float(w) for w in re.findall(r'class="share" stroke-width="([\d.]+)"', svg))
    assert 1.5 < thin < thick and svg.count('class="none"') == 1
    assert ">3 % LEFT<" in svg and ">10 % RIGHT<" in svg and ">nothing<" in svg
    assert ">aileron 0.60°<" in svg and ">0.25° in this flight<" in svg and ">42 % in this flight<" in svg
    assert "<title>right rudder: aileron 3 % LEFT (0.60°), aileron 10 % RIGHT (2.00°), aileron nothing</title>" in svg  # fmt: skip
    end = flow_chart([Stream("closed throttle", "throttle", math.nan, [Share("elevator", -0.025, 0.2)])])
    assert "in this flight" not in end and ">2.5 % DOWN<" in end


@pytest.mark.parametrize("value", [5.0, -5.0])
def test_what_makes_a_tendency_lies_to_the_right_whatever_its_way(value: float) -> None:
    way = math.copysign(1.0, value)
    svg = shares_chart({"dihedral": 8.0 * way, "rudder": -4.0 * way}, value, "°/s", "x")
    lines = re.findall(r'--flight:(#\w+)" points="236,\d+ ([\d.]+),', svg)
    assert lines == [(BARE, "310"), (BLENDED, "199")]
    assert ">8.0 °/s<" in svg and ">4.0 °/s<" in svg


def test_lines_of_letters_do_not_touch() -> None:
    places = apart([20.0, 22.0, 23.0, 90.0], 6.0, 92.0)
    assert (
        places[0] == 20.0
        and apart([23.0, 20.0], 6.0, 92.0) == [31.0, 20.0]
        and all(b - a >= 11.0 for a, b in pairwise(places))
    )
    assert apart([90.0, 91.0, 92.0], 6.0, 92.0)[-1] <= 92.0 and apart([], 0.0, 1.0) == []


def test_ranges_narrow_from_left_to_right_and_a_flight_set_aside_is_hollow() -> None:
    ratio = LearnedRatio(
        source="rudder", target="elevator", side="right", told=True, before_percent=0.0, before_low_percent=-8.0,
        before_high_percent=12.0, percent=3.0, low_percent=1.0, high_percent=5.0, other_sign_percent=1.0,
    )  # fmt: skip
    name = ratio.ratio.name
    flights = [
        NotedFlight(flight=n, file="a.yaml", date="", set_to="bare", seen="", believed=believed, again=False, fits_percent=50.0,
                    most_surprising="", percent={name: 3.0}, low_percent={name: 3.0 - half}, high_percent={name: 3.0 + half},
                    within_percent={name: half}, served_percent=10.0)
        for n, believed, half in ((1, True, 4.0), (2, False, 4.0), (3, True, 2.0))
    ]  # fmt: skip
    [(said, svg)] = narrowing_charts(flights, [ratio])
    at = re.search(r'class="range" points="([^"]*)"', svg)
    assert said == "right rudder: elevator" and at
    ys = [float(p.split(",")[1]) for p in at[1].split()]
    wide = [low - high for high, low in zip(ys[:4], reversed(ys[4:]), strict=True)]
    assert [w / wide[0] for w in wide] == pytest.approx([1.0, 0.4, 0.4, 0.2], abs=0.01)
    assert svg.count('class="hollow"') == 1 and ">before<" in svg and ">3<" in svg and ">% UP<" in svg

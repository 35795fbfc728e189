"""Logs: a flight held in knife-edge, written as a logger would, gives its sticks back; bad files are refused by line."""

from __future__ import annotations

import math
import time
from pathlib import Path

import numpy as np
import pytest
import yaml
from commanding import refused, sixdof_here
from flying import columns, maneuver_file, planes_of

from sixdof.airframe.load import load_airframe
from sixdof.files.errors import InputError
from sixdof.flight.fly import Track, fly_batch
from sixdof.flight.gusts import airs_of, read_wind
from sixdof.flight.script import load_maneuver, make_script
from sixdof.learning.logs import Log, knife_edges, notes_text, read_log, standard_error
from sixdof.learning.notes import notes_from

STICKS = ("stick_elevator", "stick_aileron", "stick_rudder")
HELD = """  - {name: level, time: 2 s, sticks: {throttle: hold}}
  - {name: roll in, time: 1 s, bank: -90 deg, bank_rate: 120 deg/s, must_reach: true, sticks: {throttle: hold}}
  - {name: settle, time: 16 s, must_reach: true, sticks: {throttle: hold}}
  - {name: held, time: 1 s, measured: true, errors: [canopy, wing, roll], sticks: {aileron: test, elevator: test,
     rudder: keep, throttle: keep}, judges: {rudder-elevator: [canopy], rudder-aileron: [roll]}}
"""
MAP = """sixdof_log: 1
aircraft: corvane
columns:
  time: {column: t, unit: s}
  roll: {column: Roll, unit: deg, positive: right}
  height: {column: Alt, unit: m}
  stick_elevator: {column: Ele, unit: "%", positive: up}
  stick_aileron: {column: Ail, unit: "%", positive: right}
  stick_rudder: {column: Rud, unit: "%", positive: right}
"""
#: The same flight by another logger.
OTHER_MAP = """sixdof_log: 1
aircraft: corvane
separator: semicolon
columns:
  stick_rudder: {column: PWM4, center: 1520, full: 1100, positive: right}
  stick_elevator: {column: elevator degrees, center: 2, full: 24, positive: down}
  stick_aileron: {column: AilStk, unit: "%", positive: left}
  height: {column: baro, unit: ft}
  roll: {column: phi, unit: rad, positive: left}
  time: {column: clock, unit: ms}
"""


def held(folder: Path, wind: str | None = None) -> list[Track]:
    """A demo held in level knife-edge for 17 s, right rudder and left."""
    keys = {"sixdof_maneuver": "2", "sides": "rudder", "said": "held", "part": "knife-edge", "view": "above"}
    file = load_maneuver(str(maneuver_file(folder, "held", HELD, **keys)))
    planes, scripts = planes_of("corvane"), [make_script(file, side, "held") for side in ("right", "left")]
    airs, gusts = airs_of(planes[0], scripts, wind=None if wind is None else read_wind(wind), seeds=(4,))
    index = np.array([[0, 0, 0, 0], [0, 1, 0, 1]], np.int64)
    return fly_batch(planes, scripts, index=index, airs=airs, gusts=gusts, keep_tracks=True).tracks


def bank_of(track: Track) -> np.ndarray:
    """Bank, right wing down positive [rad]: the usual angle of the sequence yaw, pitch, roll (any textbook)."""
    q0, q1, q2, q3 = columns(track, "q0", "q1", "q2", "q3").T
    return np.arctan2(2.0 * (q0 * q1 + q2 * q3), 1.0 - 2.0 * (q1**2 + q2**2))


def by_another_logger(tracks: list[Track], rng: np.random.Generator) -> str:
    """Both flights as one CSV in other units and orders, noisy, at uneven times, 3 s apart, the clock at 20 minutes."""
    rows, clock = ["baro;phi;clock;battery;AilStk;PWM4;elevator degrees"], 1.2e6
    for track in tracks:
        t = track.column("time")
        for i in range(len(t)):
            if rng.random() < 0.3:  # lost
                continue
            el, ail, rud = columns(track, *STICKS)[i]
            height = (-track.column("down")[i] + rng.normal(0.0, 0.1)) / 0.3048
            phi = -bank_of(track)[i] + rng.normal(0.0, 0.01)
            cells = (height, phi, clock + 1e3 * t[i] + rng.uniform(-4.0, 4.0), 22.2, -100.0 * ail + rng.normal(0.0, 0.3),
                     1520.0 - 420.0 * rud + rng.normal(0.0, 1.0), 2.0 - 22.0 * el + rng.normal(0.0, 0.1))  # fmt: skip
            rows.append(";".join(f"{cell:.4f}" for cell in cells))
        clock += 1e3 * t[-1] + 3000.0
    return "\n".join(rows) + "\n"


def files(folder: Path, text: str | bytes, plan: str = MAP) -> list[str]:
    """Write a log and its map; the words of the command."""
    (folder / "mine.csv").write_bytes(text if isinstance(text, bytes) else text.encode())
    (folder / "map.yaml").write_text(plan, encoding="utf-8")
    return ["learn", "corvane", "--log", "mine.csv", "--map", "map.yaml", "--flight", "3", "--blends", "none"]


def read(folder: Path, text: str, plan: str = MAP) -> Log:
    files(folder, text, plan)
    return read_log(folder / "mine.csv", folder / "map.yaml", load_airframe("corvane"))


def plain(t: np.ndarray, **values: np.ndarray | float) -> str:
    """A log in the units of MAP: level knife-edge with right rudder unless said otherwise."""
    row = {"Roll": -90.0, "Alt": 50.0, "Ele": 3.0, "Ail": -2.0, "Rud": 45.0} | values
    cells = np.column_stack([t, *(np.broadcast_to(value, t.shape) for value in row.values())])
    return "\n".join(["t," + ",".join(row), *(",".join(f"{x:.6g}" for x in line) for line in cells)]) + "\n"


T = np.arange(0.0, 6.0, 0.02)


@pytest.fixture(scope="module")
def flown(tmp_path_factory: pytest.TempPathFactory) -> tuple[np.ndarray, str]:
    """Sticks held in still air (side, stick), and the log of the same in light gusts."""
    folder = tmp_path_factory.mktemp("flown")
    truth = np.array([columns(track, *STICKS)[-250:].mean(axis=0) for track in held(folder)])
    return truth, by_another_logger(held(folder, "2 m/s"), np.random.default_rng(5))


def test_sticks_held_come_back_out_of_another_loggers_file(
    flown: tuple[np.ndarray, str], tmp_path: Path
) -> None:
    truth, text = flown
    edges, odd = knife_edges(read(tmp_path, text, OTHER_MAP))
    assert [edge.side for edge in edges] == ["right", "left"] and odd == []
    for edge, sticks in zip(edges, truth, strict=True):
        assert edge.end - edge.start > 12.0
        for (mean, error), true in zip((edge.elevator, edge.aileron, edge.rudder), sticks, strict=True):
            assert abs(mean - true) < 3.0 * error
            assert error < (0.006 if abs(true) < 0.3 else 0.03)


def test_a_log_is_taken_in_as_notes_are(flown: tuple[np.ndarray, str], tmp_path: Path) -> None:
    """The file of notes it leaves, taken in by hand elsewhere, teaches the same."""
    truth, text = flown
    words = files(tmp_path, text, OTHER_MAP)
    done = sixdof_here(tmp_path, *words, "--json")
    assert done.code == 0, done.err
    notes = tmp_path / "mine-flight-3.yaml"
    [flight] = yaml.safe_load(notes.read_text())["flights"]
    assert flight["flight"] == 3 and flight["blends"] == "none"
    assert [one["rudder"] for one in flight["passes"]] == ["right", "left"]
    for one, sticks in zip(flight["passes"], truth, strict=True):
        assert float(one["rudder_share"].split()[0]) == pytest.approx(100.0 * abs(sticks[2]), abs=5.0)
        way = "right" if sticks[1] > 0.0 else "left"
        assert one["held_aileron"].endswith(way) and "mine.csv" in one["about"]
    by_hand = tmp_path / "by hand"
    by_hand.mkdir()
    again = sixdof_here(by_hand, "learn", "corvane", str(notes), "--json")
    assert again.code == 0, again.err
    assert len(done.json["flights"]) == 1 and done.json["flights"][0]["believed"]
    for key in ("flights", "ratios"):
        assert done.json[key] == again.json[key]
    notes.write_text(notes.read_text() + "# by hand\n")
    refused(sixdof_here(tmp_path, *words), "mine-flight-3.yaml", "exists already", "move it away")


def test_notes_of_a_log_keep_its_ratios_and_what_was_left_out(tmp_path: Path) -> None:
    airframe = load_airframe("corvane")
    log = read(tmp_path, plain(T, Roll=np.where(T < 3.0, -90.0, 90.0), Ele=-4.25))
    edges, odd = knife_edges(log)
    text = notes_text(log, edges, odd, airframe, 12, {"rudder-elevator.right": "3 % up"})
    [flight] = notes_from(Path("x.yaml"), text.encode(), airframe).flights
    assert flight.flight == 12 and flight.in_force == {"rudder-elevator.right": pytest.approx(0.03)}
    assert "right wing down, which left rudder carries" in flight.about
    [one] = flight.passes
    assert (one.held_elevator, one.held_aileron) == (pytest.approx(-0.0425, abs=6e-4), pytest.approx(-0.02))
    assert one.rudder == "right" and one.rudder_share == pytest.approx(0.45)


def test_ten_minutes_at_50_hz(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    t = np.arange(0.0, 600.0, 0.02)
    text = plain(t, Roll=np.where(t % 60.0 < 10.0, -90.0, 0.0))
    start = time.perf_counter()
    edges, _ = knife_edges(read(tmp_path, text))
    with capsys.disabled():
        print(f"\n10 minutes at 50 Hz read in {time.perf_counter() - start:.2f} s")
    assert (
        len(edges) == 10 and edges[3].start == pytest.approx(180.5) and edges[3].end == pytest.approx(189.48)
    )


# ---------------------------------------------------------------- uneven, late, wrapped, with gaps


def test_uneven_lines_and_slower_sensors_lie_on_straight_lines(tmp_path: Path) -> None:
    t = np.cumsum(np.random.default_rng(1).uniform(0.005, 0.03, 400)).round(4)
    t -= t[0]
    lines = plain(t, Alt=50.0 + 0.5 * t, Ele=t).splitlines()
    slow = [line if i % 5 == 1 or i == 0 else ",".join(("" if j == 2 else cell) for j, cell in enumerate(line.split(",")))
            for i, line in enumerate(lines)]  # fmt: skip
    log = read(tmp_path, "\n".join(slow))
    inside = log.known
    assert inside.mean() > 0.9
    assert log.values["height"][inside] == pytest.approx(50.0 + 0.5 * log.time[inside], abs=1e-3)
    assert log.values["stick_elevator"][inside] == pytest.approx(log.time[inside] / 100.0, abs=1e-6)


def test_a_gap_splits(tmp_path: Path) -> None:
    T = np.arange(0.0, 7.0, 0.02)
    gone = (T > 2.89) & (T < 3.59)
    both, _ = knife_edges(read(tmp_path, plain(T[~gone])))
    assert [edge.start for edge in both] == pytest.approx([0.5, 4.1], abs=0.021)
    assert [edge.end for edge in both] == pytest.approx([2.38, 6.48], abs=0.021)
    short = (T > 2.9) & (T < 3.3)
    [whole], _ = knife_edges(read(tmp_path, plain(T[~short])))
    assert whole.end > 6.4


def test_what_was_written_late_is_put_back(tmp_path: Path) -> None:
    late = MAP.replace("column: Ele,", "column: Ele, late: 0.4 s,")
    log = read(tmp_path, plain(T, Ele=T), late)
    inside = log.known
    assert log.values["stick_elevator"][inside] == pytest.approx((log.time[inside] + 0.4) / 100.0, abs=1e-6)
    assert not inside[log.time > T[-1] - 0.39].any()


def test_roll_is_read_across_the_turn_of_its_numbers(tmp_path: Path) -> None:
    t = np.arange(0.0, 6.0, 0.1)
    rolling = 100.0 * t
    log = read(tmp_path, plain(t, Roll=(rolling + 180.0) % 360.0 - 180.0))
    assert np.degrees(log.values["roll"]) == pytest.approx(100.0 * log.time, abs=1e-6)


@pytest.mark.parametrize(
    ("values", "found"),
    [
        ({}, 1), ({"Roll": -76.0}, 1), ({"Roll": -74.0}, 0), ({"Roll": -104.0}, 1), ({"Roll": -106.0}, 0), ({"Roll": 270.0}, 1),
        ({"Alt": 50.0 + 1.8 * T}, 1), ({"Alt": 50.0 - 2.2 * T}, 0), ({"Roll": np.where(T < 2.4, -90.0, 0.0)}, 0),
        ({"Roll": np.where(T < 2.6, -90.0, 0.0)}, 1),
    ],
)  # fmt: skip
def test_what_counts_as_level_knife_edge(
    values: dict[str, np.ndarray | float], found: int, tmp_path: Path
) -> None:
    log = read(tmp_path, plain(T, **values))
    if found:
        [edge], _ = knife_edges(log)
        assert edge.side == "right" and edge.rudder[0] == pytest.approx(0.45)
    else:
        with pytest.raises(InputError, match="no level knife-edge: bank within 15 deg"):
            knife_edges(log)


def test_where_bank_and_rudder_disagree_it_is_said(tmp_path: Path) -> None:
    first = T < 3.0
    log = read(tmp_path, plain(T, Roll=np.where(first, -90.0, 90.0)))
    edges, odd = knife_edges(log)
    assert [edge.side for edge in edges] == ["right"]
    assert odd == [
        "3.5 to 5.5 s: right wing down, which left rudder carries, but the rudder stick is at 45 % right; left out"
    ]
    edges, odd = knife_edges(
        read(tmp_path, plain(T, Roll=np.where(first, -90.0, 90.0), Rud=np.where(first, 45.0, -50.0)))
    )
    assert [edge.side for edge in edges] == ["right", "left"] and not odd


def test_standard_error_of_rows_whose_neighbors_go_together() -> None:
    """Of a first-order autoregressive row: sigma^2/n (1 + phi)/(1 - phi) of its mean for long rows (any textbook)."""
    rng, phi, n = np.random.default_rng(3), 0.9, 1000
    x = np.zeros((400, n + 200))
    for i in range(1, x.shape[1]):
        x[:, i] = phi * x[:, i - 1] + rng.normal(size=len(x))
    found = math.sqrt(np.mean([standard_error(row) ** 2 for row in x[:, 200:]]))
    assert found == pytest.approx(math.sqrt(1.0 / (1.0 - phi**2) / n * (1.0 + phi) / (1.0 - phi)), rel=0.08)
    assert found == pytest.approx(float(x[:, 200:].mean(axis=1).std()), rel=0.12)
    assert standard_error(np.full(50, 0.3)) == pytest.approx(0.0, abs=1e-12)


# ---------------------------------------------------------------- bad input

GOOD = plain(T)
LINES = GOOD.splitlines()


def with_line(number: int, line: str) -> str:
    """The good log with another line there, counted from 1."""
    return "\n".join([*LINES[: number - 1], line, *LINES[number:]]) + "\n"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (GOOD.replace("Rud", "Rudd", 1), ("map.yaml:9: columns.stick_rudder.column", "column Rud is not in mine.csv; did you mean Rudd?")),
        (GOOD.replace("Alt", "Rud", 1), ("map.yaml:6: columns.height.column", "is not in mine.csv")),
        (GOOD.replace("Alt", "Rud", 1).replace("Ele", "Alt", 1), ("map.yaml:7", "is not in mine.csv")),
        (GOOD.replace("Ail", "Rud,Ail", 1), ("map.yaml:9", "column Rud stands twice in mine.csv")),
        (GOOD.replace("t,Roll", "Roll,Roll", 1), ("map.yaml:4: columns.time.column", "is not in mine.csv")),
        (with_line(7, "0.1,nan,50,3,-2,45"), ("mine.csv:7: column Roll", "got nan", "expected a number")),
        (with_line(7, "0.1,-90,50,3,-2,1_0"), ("mine.csv:7: column Rud", "1_0")),
        (with_line(7, "0.1,-90,50,inf,-2,45"), ("mine.csv:7: column Ele",)),
        (with_line(7, ",-90,50,3,-2,45"), ("mine.csv:7: column t", "empty")),
        (with_line(7, "0.08,-90,50,3,-2,45"), ("mine.csv:7: column t", "goes from 0.08 to 0.08", "times that rise")),
        (with_line(7, "0.02,-90,50,3,-2,45"), ("mine.csv:7: column t", "goes from 0.08 to 0.02")),
        (with_line(7, "0.1,-90,50,3"), ("mine.csv:7: got 4 cells, expected 6",)),
        (with_line(7, '0.1,-90,50,3,-2,"45'), ("mine.csv", "not CSV")),
        (with_line(7, "0.1,-90,50,3,-2,4500"), ("mine.csv:7: column Rud, the stick rudder", "4500 %", "is its unit another one?")),
        (with_line(7, "0.1,-90,50000,3,-2,45"), ("mine.csv:7: column Alt, the height", "5e+04 m")),
        (plain(1000.0 * T), ("mine.csv:2: column t", "lines are 20 s apart", "is its unit another one?")),
        (plain(T / 1000.0), ("mine.csv:2: column t", "2e-05 s apart")),
        (plain(T, Roll=-1.57), ("mine.csv:2: column Roll, the roll", "never beyond 1.57 deg", "is its unit another one?")),
        (plain(T, Rud=0.45), ("mine.csv:2: column Rud", "never beyond 0.45 %")),
        (with_line(301, "200000,-90,50,3,-2,45"), ("mine.csv:301: column t", "hours")),
        (GOOD.encode("utf-16"), ("mine.csv:1: not UTF-8",)),
        (GOOD.replace("Roll", "Röll", 1).encode("latin-1"), ("mine.csv:1: not UTF-8",)),
        (LINES[0], ("mine.csv:1: no flight",)),
        ("", ("map.yaml:4", "is not in mine.csv")),
        ("\n".join([LINES[0], *(f"{t:.2f},-90,,3,-2,45" for t in T)]), ("mine.csv:2: column Alt, the height: empty",)),
        (plain(T, Roll=60.0), ("mine.csv: no level knife-edge: bank within 15 deg",)),
        (plain(T, Rud=-45.0), ("mine.csv: no level knife-edge", "is positive of roll or of stick_rudder the other way?")),
    ],
)  # fmt: skip
def test_a_bad_log_is_one_line(text: str | bytes, words: tuple[str, ...], tmp_path: Path) -> None:
    refused(sixdof_here(tmp_path, *files(tmp_path, text)), *words)
    assert not list(tmp_path.glob("mine-flight*")) and not list(tmp_path.glob("*.json"))


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (", unit: deg,", ", ", ("map.yaml:5: columns.roll.unit", "missing")),
        (", positive: up", "", ("map.yaml:7: columns.stick_elevator.positive", "missing")),
        ("unit: deg", "unit: grad", ("map.yaml:5: columns.roll.unit", "got grad", "rad")),
        ("unit: s}", "unit: m}", ("map.yaml:4: columns.time.unit", "did you mean ms?")),
        ('Ail, unit: "%",', "Ail,", ("map.yaml:8: columns.stick_aileron", "center: 1500 and full: 1940")),
        ('Ail, unit: "%",', "Ail, center: 1500,", ("map.yaml:8: columns.stick_aileron", "center: 1500 and full: 1940")),
        ('Ail, unit: "%",', "Ail, center: 5, full: 5,", ("map.yaml:8: columns.stick_aileron.full", "got 5 for both")),
        ("  height: {column: Alt, unit: m}\n", "", ("map.yaml:3: columns.height", "missing")),
        ("aircraft: corvane", "aircraft: tessel", ("map.yaml:2: aircraft", "tessel", "not of corvane")),
        ("sixdof_log: 1", "sixdof_log: 2", ("map.yaml:1: sixdof_log", "got 2")),
        ("columns:", "separator: blank\ncolumns:", ("map.yaml:3: separator", "semicolon")),
    ],
)  # fmt: skip
def test_a_bad_map_is_one_line(old: str, new: str, words: tuple[str, ...], tmp_path: Path) -> None:
    assert old in MAP
    refused(sixdof_here(tmp_path, *files(tmp_path, GOOD, MAP.replace(old, new))), *words)


@pytest.mark.parametrize(
    ("drop", "more", "words"),
    [
        ("--map", (), ("--log, --map, --flight and --blends",)),
        ("--blends", (), ("--log, --map, --flight and --blends",)),
        ("--flight", ("--flight", "0"), ("--flight: got 0",)),
        ("--blends", ("--blends", "rudder-elevator.right=3"), ("--blends", "rudder-elevator.right=3 % up")),
        ("--blends", ("--blends", "rudder-elevator.middle=3 % up"), ("--blends",)),
        ("--blends", ("--blends", "some"), ("--blends some", "none")),
        ("--log", ("--log", "other.csv"), ("other.csv: cannot be read",)),
        ("--map", ("--map", "other.yaml"), ("other.yaml: cannot be read",)),
    ],
)  # fmt: skip
def test_options_of_a_log(drop: str, more: tuple[str, ...], words: tuple[str, ...], tmp_path: Path) -> None:
    command = files(tmp_path, GOOD)
    at = command.index(drop)
    refused(sixdof_here(tmp_path, *command[:at], *command[at + 2 :], *more), *words)

"""Logs with rates: a hidden airplane is flown and recorded; its errors come back within what is claimed."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from commanding import refused, sixdof_here
from flying import columns, planes_of
from logging_flights import FLIGHT, MAP, STICKS, as_csv, recorded
from scipy.integrate import solve_ivp
from twins import drift_in_calm, hire

from sixdof import Airplane
from sixdof.airframe.load import load_airframe
from sixdof.flight.fly import fly_batch
from sixdof.flight.gusts import dryden
from sixdof.flight.knife_edge import knife_edges
from sixdof.flight.layer import Recorded
from sixdof.flight.pack import static_margin
from sixdof.flight.recorded import SEEN, follow
from sixdof.flight.script import load_maneuver, make_script
from sixdof.learned import read_book
from sixdof.learning import identify as module
from sixdof.learning.crowd import fly_crowd, prior_of
from sixdof.learning.identify import Overlay, combined, identify
from sixdof.learning.learn import best_ratios, drifts
from sixdof.learning.logs import read_log, recording_of
from sixdof.learning.recording import Recording, cut, noise_of, times_turn, turn_of
from sixdof.learning.seen import airplanes
from sixdof.learning.unseen import unseen_in
from sixdof.learning.update import update
from sixdof.show.fit_plot import fit_figure
from sixdof.study.learn import of_logs
from sixdof.study.results import RecordedFlight, ToldByLogs
from sixdof.study.tables import logs_table
from sixdof.study.words import log_line
from sixdof.tuning.held import without_slop

SEED = 4711  # never one of the learner's
SHORT = tuple(FLIGHT[i] for i in (1, 4, 5, 6, 10, 19))


@pytest.fixture(scope="module")
def corvane() -> Airplane:
    return Airplane("corvane")


@pytest.fixture(scope="module")
def hidden(corvane: Airplane) -> tuple[np.ndarray, np.ndarray]:
    """A hidden airplane, and by how much it is off in each error."""
    drawn = corvane.drawn(1, seed=SEED)
    return drawn.planes, drawn.errors[0]


def test_sticks_of_a_flight_fly_it_again() -> None:
    """What the pilot did is all there is to know, where surfaces have no play."""
    planes = without_slop(planes_of("corvane"))
    [track] = fly_batch(
        planes, [make_script(load_maneuver("four_point_roll"), "left", "held")], keep_tracks=True
    ).tracks
    start = np.zeros((1, 19))
    start[0, 2:13] = columns(track, *SEEN[:11])[0]
    start[0, 18] = track.column("propeller")[0]
    again = follow(planes, columns(track, *STICKS)[None], start, np.zeros((1, 4), np.int64), every=1)[0]
    assert again[:, :12] == pytest.approx(
        columns(track, *SEEN[:12]), abs=2e-4
    )  # trims found to 1e-9 of a share
    moving = np.abs(np.diff(columns(track, "aileron_right", "elevator", "rudder"), axis=0)).max(axis=0)
    behind = np.abs(again[:, [12, 14, 15]]).max(axis=0)  # a servo is behind what it is sent to
    assert np.all(behind > 0.5 * moving)


def test_a_flight_does_not_depend_on_its_company(corvane: Airplane) -> None:
    recording = recorded(corvane.planes, None, 1, FLIGHT[:2])
    s = cut(recording, 0.02, 10.0)
    n = len(s.first)
    starts = np.zeros((n, 19))
    starts[:, 2], starts[:, 3], starts[:, 6:13], starts[:, 18] = (
        -50.0,
        s.shown[:, 0, 7],
        s.shown[:, 0, :7],
        700.0,
    )
    index = np.stack((np.zeros(n, int), np.arange(n), np.arange(n), np.zeros(n, int)), axis=1)
    together = follow(corvane.planes, s.sticks, starts, index, every=2)
    alone = np.stack([follow(corvane.planes, s.sticks, starts, row[None], every=2)[0] for row in index])
    assert np.array_equal(together, alone) and np.isfinite(together).all()


def test_turns_are_those_of_body_axes() -> None:
    """Against plain integration of the attitude: half of q times (0, w)."""
    q0, w = (
        np.array([0.8, -0.2, 0.5, 0.2]) / np.linalg.norm([0.8, -0.2, 0.5, 0.2]),
        np.array([0.3, -0.4, 0.2]),
    )

    def rate(t: float, q: np.ndarray) -> np.ndarray:
        a, b, c, d = q
        p, y, r = w
        return 0.5 * np.array(
            [-b * p - c * y - d * r, a * p + c * r - d * y, a * y + d * p - b * r, a * r + b * y - c * p]
        )

    later = solve_ivp(rate, (0.0, 0.05), q0, rtol=1e-10, atol=1e-12).y[:, -1]
    assert turn_of(q0, later) == pytest.approx(0.05 * w, rel=1e-3)
    assert times_turn(q0, 0.05 * w) == pytest.approx(later, abs=1e-5)
    assert turn_of(q0, -later) == pytest.approx(0.05 * w, rel=1e-3)  # the same attitude


def test_noise_is_found_whatever_is_flown(corvane: Airplane) -> None:
    found = noise_of(recorded(corvane.planes, None, 3, SHORT))
    assert found[:3] == pytest.approx(np.radians(0.5), rel=0.15)
    assert np.radians(0.5) * 0.85 < found[3] < np.radians(0.5) * 1.5
    assert found[6:] == pytest.approx([0.3, 0.2, 0.005], rel=0.15)


def test_unseen_gusts_scatter_as_the_gusts_of_a_wind_do(corvane: Airplane) -> None:
    """Their covariance against the spread of Dryden's gusts themselves, made by filters: at rest and a second apart."""
    plane = corvane.plane
    s = cut(recorded(corvane.planes, None, 1, (("level", "both"), ("knife_edge", "right"))), 0.02, 10.0)
    unseen = unseen_in(s, plane)
    V, height = float(np.median(s.shown[..., 7])), float(np.median(s.height))
    made = dryden(
        1.0, height, V, float(plane["b"]), seeds=range(300), frame=0.02, rows=s.sticks.shape[1] - s.lead + 1
    )
    inputs = unseen.gusts.shape[1]
    covariance = (unseen.root @ unseen.root.T)[:inputs, :inputs]
    gusts = np.einsum("irc,ij->rcj", unseen.gusts[0], np.linalg.cholesky(covariance))
    for c, column in ((0, 0), (2, 2)):  # along the ground, upright
        for later in (0, 50):
            ours = float(np.dot(gusts[40, c], gusts[40 + later, c]))
            theirs = float(np.mean(made[:, 40, column] * made[:, 40 + later, column]))
            assert ours == pytest.approx(theirs, rel=0.3), (c, later)
    # rolling is over within a knot: what is left of it over a second
    ours = float(np.sum(gusts[20:70, 3].mean(axis=0) ** 2))
    assert ours == pytest.approx(float(np.var(made[:, 20:70, 3].mean(axis=1))), rel=0.4)


@pytest.mark.parametrize("wind", [None, "2 m/s"])
def test_a_hidden_airplane_comes_back(
    corvane: Airplane, hidden: tuple[np.ndarray, np.ndarray], wind: str | None
) -> None:
    """In still air and in gusts: what it needs within 3 sigma, most of what it does far better known, the gusts named."""
    planes, errors = hidden
    found = identify(corvane, recorded(planes, wind, 7, SHORT))
    covariance = found.recorded.root @ found.recorded.root.T
    sizes, ways = np.linalg.eigh(covariance)
    off = (ways.T @ (found.recorded.mean - errors)) / np.sqrt(sizes)
    known = sizes < 0.25
    assert np.count_nonzero(known) > 20 and len(found.used) >= 8 and len(found.aside) == 0
    assert np.mean(np.abs(off[known]) < 3.0) > 0.93 and np.sqrt(np.mean(off[known] ** 2)) < 1.6
    assert (
        np.sqrt(np.mean(((ways.T @ (corvane.believed - errors)) / np.sqrt(sizes))[known] ** 2)) > 4.0
    )  # a ruler alone
    assert found.gusts < 0.3 if wind is None else 1.0 < found.gusts < 4.0


def test_a_speed_over_the_ground_does_too(corvane: Airplane, hidden: tuple[np.ndarray, np.ndarray]) -> None:
    """Flown across a wind of 4 m/s, which has to be found: taken for a speed through the air it would fit far worse."""
    planes, errors = hidden
    recording = recorded(planes, "4 m/s from the right", 7, SHORT, ground=True)
    assert np.median(np.abs(recording.through_air - recording.speed)[recording.speed > 15.0]) < 2.0
    found = identify(corvane, recording).recorded
    sizes, ways = np.linalg.eigh(found.root @ found.root.T)
    off = (ways.T @ (found.mean - errors)) / np.sqrt(sizes)
    assert np.count_nonzero(sizes < 0.25) > 20 and np.mean(np.abs(off[sizes < 0.25]) < 3.0) > 0.93


def test_without_what_nobody_saw_too_much_is_claimed(
    corvane: Airplane, hidden: tuple[np.ndarray, np.ndarray], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Plain output error, as if gusts left white noise: its 90 % ranges hold far fewer."""
    planes, errors = hidden
    recording = recorded(planes, "3 m/s", 11, SHORT)

    def held(found: Recorded) -> float:
        sizes, ways = np.linalg.eigh(found.root @ found.root.T)
        off = (ways.T @ (found.mean - errors)) / np.sqrt(sizes)
        return float(np.mean(np.abs(off[sizes < 0.25]) < 1.645))

    honest = held(identify(corvane, recording).recorded)
    monkeypatch.setattr(module, "_gusts", lambda sums, fit, unseen: (1e-6, np.ones(len(sums.JJ), bool)))
    monkeypatch.setattr(module, "_WIDER", 1.0)
    monkeypatch.setattr(module, "_LEAST", 0.0)
    plain = held(identify(corvane, recording).recorded)
    assert honest > 0.75 and plain < honest - 0.2, (honest, plain)


@pytest.mark.parametrize(
    ("stick", "rows"), [(1, 25), (0, 15)], ids=["leaves the range", "far from what was shown"]
)
def test_a_stretch_that_cannot_be_flown_again_is_set_aside(corvane: Airplane, stick: int, rows: int) -> None:
    """A stick at its end that no airplane answered: half a second of elevator leaves the model, a third of aileron does not."""
    recording = recorded(corvane.planes, None, 3, SHORT)
    first = int(np.flatnonzero(~recording.known)[0]) + 250  # in the knife-edge after the roll
    sticks = recording.sticks.copy()
    sticks[first : first + rows, stick] = 1.0
    found = identify(corvane, recording._replace(sticks=sticks))
    assert 1 <= len(found.aside) <= 3 and len(found.used) >= 6
    assert np.all(np.abs(found.aside - recording.time[first]) < 4.1), (
        "the one with it, or its neighbor's lead"
    )


def test_what_is_said_of_a_log_and_what_it_told() -> None:
    row = RecordedFlight(flight=3, log="mine.csv", stretches=41, aside_seconds=[12.4, 300.0], gusts_m_s=1.94)
    assert log_line(row) == (
        "log of flight 3: 41 stretches of 3 s fit, gusts as of a wind of 1.9 m/s; set aside: those at 12, 300 s"
    )
    told = ToldByLogs(
        name="static margin", unit="% of the chord", before=3.7, before_sigma=2.5, now=2.5, now_sigma=0.3
    )
    hardly = told.model_copy(update={"now_sigma": 1.3})
    table = logs_table([told, hardly])
    assert table.rows[0] == ["static margin [% of the chord]", "3.7 ± 2.5", "2.5 ± 0.3"]
    assert list(table.bold) == [0], "bold where the doubt halved"


def test_the_picture_shows_both_in_the_units_it_names(tmp_path: Path) -> None:
    """A roll of 2 rad/s stands at 115 °/s, the simulated line over the logged one, speed in m/s."""
    time = np.linspace(10.0, 13.0, 20)
    shown = np.tile([2.0, -1.0, 0.5, 25.0], (20, 1))
    figure = fit_figure([Overlay("most roll", time, shown, 0.9 * shown)], title="corvane")
    axes = figure.axes
    assert [axis.get_ylabel() for axis in axes] == [
        "roll rate [°/s]",
        "pitch rate [°/s]",
        "yaw rate [°/s]",
        "speed [m/s]",
    ]
    for axis, value in zip(axes, (np.degrees(2.0), np.degrees(-1.0), np.degrees(0.5), 25.0), strict=True):
        logged, simulated = axis.get_lines()
        assert (logged.get_label(), simulated.get_label()) == ("logged", "simulated")
        assert logged.get_ydata()[0] == pytest.approx(value) and simulated.get_ydata()[0] == pytest.approx(
            0.9 * value
        )


def test_logs_add_up(corvane: Airplane) -> None:
    """Two flights that tell the same halve the variance; of nothing comes nothing."""
    m = len(corvane.errors)
    mean = np.linspace(-1.0, 1.0, m)
    one = Recorded(
        corvane.errors, 0.5 * mean, np.sqrt(0.5) * np.eye(m), 1
    )  # N(0, 1) and a reading of `mean`, sigma 1
    both = combined([one, one])
    assert both is not None and both.flights == 2
    assert both.root @ both.root.T == pytest.approx(np.eye(m) / 3.0) and both.mean == pytest.approx(
        mean * 2.0 / 3.0
    )
    assert combined([]) is None


def write(folder: Path, recording: Recording, plan: str = MAP) -> list[str]:
    (folder / "mine.csv").write_text(as_csv(recording), encoding="utf-8")
    (folder / "map.yaml").write_text(plan, encoding="utf-8")
    return ["learn", "corvane", "--log", "mine.csv", "--map", "map.yaml", "--flight", "1", "--blends", "none"]


def test_a_log_is_read_as_it_was_recorded(corvane: Airplane, tmp_path: Path) -> None:
    recording = recorded(corvane.planes, None, 5, SHORT)
    write(tmp_path, recording)
    log = read_log(tmp_path / "mine.csv", tmp_path / "map.yaml", load_airframe("corvane"))
    read = recording_of(log, 0.02)
    first = int(np.flatnonzero(~recording.known)[0])
    for name in ("sticks", "rates", "speed", "height"):
        assert getattr(read, name)[:first] == pytest.approx(getattr(recording, name)[:first], abs=0.02), name
    assert np.abs(turn_of(read.attitude[:first], recording.attitude[:first])).max() < 2e-3
    assert read.propeller[:first] == pytest.approx(recording.propeller[:first], rel=1e-3)  # type: ignore[index]


def test_a_log_teaches_what_three_flights_of_notes_would(
    corvane: Airplane, hidden: tuple[np.ndarray, np.ndarray], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The whole way: CSV in, ratios out; the hidden airplane then drifts below 5 deg, bare it does not; undone again."""
    planes, _ = hidden
    words = write(tmp_path, recorded(planes, "2 m/s", 7))
    text = sixdof_here(tmp_path, *words)
    assert text.code == 0, text.err
    done = sixdof_here(tmp_path, "learn", "corvane", "--json")
    [log], rows = done.json["logs"], {row["name"]: row for row in done.json["told_by_logs"]}
    assert log["flight"] == 1 and log["stretches"] >= 8 and 1.0 < log["gusts_m_s"] < 4.0
    truth = {
        "static margin": 100.0 * float(static_margin(planes)[0]),
        "roll by full aileron": float(np.degrees(planes["roll_rate"][0])),
    }
    for name, true in truth.items():
        row = rows[name]
        assert abs(row["now"] - true) < 3.0 * row["now_sigma"] < 3.0 * 0.5 * row["before_sigma"], (
            name,
            row,
            true,
        )
    monkeypatch.chdir(tmp_path)
    book = read_book(load_airframe("corvane"))
    assert book.log_prior is not None
    x, _ = fly_crowd(corvane, planes, book.log_prior.share)
    ratios = np.array([row["percent"] for row in done.json["ratios"]]) / 100.0
    these = airplanes(x, book.log_prior.play)
    assert np.abs(drifts(these, ratios)).max() < 5.0 < np.abs(drifts(these, 0.0 * ratios)).max()
    assert done.json["served_percent"] > 60.0 > done.json["served_before_percent"]
    check = sixdof_here(tmp_path, "check", "corvane", "--json")
    said = [remark["text"] for remark in check.json["remarks"]]
    assert any("learned from 1 log of flights (mine-flight-1.yaml)" in text for text in said), said
    assert not any("behind the neutral point" in text for text in said), "a log knows better"
    [told] = [line for line in check.json["balance"] if line.startswith("by its logs")]
    sigma = float(re.findall(r"give or take ([\d.]+) %", told)[0])
    assert abs(float(re.findall(r"is ([-\d.]+) %", told)[0]) - truth["static margin"]) < 3.0 * sigma < 3.0, (
        told
    )
    bare = sixdof_here(tmp_path, "check", "corvane", "--no-notes", "--json").json
    assert any("behind the neutral point" in remark["text"] for remark in bare["remarks"])
    assert "right rudder: elevator 3" not in text.out and "written to mine-flight-1.yaml" in text.out
    assert "log of flight 1: " in text.out and "stretches of 3 s fit, gusts as of a wind of" in text.out
    assert len(text.out.splitlines()) <= 26
    kept = tmp_path / "corvane.learned.json"
    was = kept.read_text()
    kept.write_text(re.sub(r'"made_by": "[0-9a-f]+"', '"made_by": "another"', was))
    refused(sixdof_here(tmp_path, "learn", "corvane"), "another version of the program")
    assert (
        "read them again"
        in sixdof_here(tmp_path, "check", "corvane").err + sixdof_here(tmp_path, "check", "corvane").out
    )
    kept.write_text(was)
    undone = sixdof_here(tmp_path, "learn", "corvane", "--undo", "--json")
    assert undone.json["logs"] == [] and undone.json["told_by_logs"] == []


@pytest.mark.parametrize(
    ("was", "instead", "says"),
    [
        ("{column: GyrX, unit: deg/s, positive: right}", "{column: GyrX, unit: deg/s, positive: left}", "roll_rate is not that of the attitude"),
        ("{column: GyrY, unit: deg/s", "{column: GyrY, unit: rad/s", "the pitch rate"),
        ("{column: Yaw, unit: deg, positive: right}", "{column: Yaw, unit: deg, positive: left}", "rate is not that of the attitude"),
        ('{column: Ele, unit: "%", positive: up}', '{column: Ele, unit: "%", positive: down}', "stick_elevator goes against"),
        ("unit: km/h, of: air", "unit: km/h, of: GPS", "of"),
        ("unit: km/h, of: air", "unit: km/h", "of"),
        ("column: RPM, unit: rpm", "column: RPM, unit: 1/min", "rpm"),
        ("column: Pitot", "column: GPS", "is not in"),
    ],
)  # fmt: skip
def test_a_map_that_turns_something_about_is_refused(
    corvane: Airplane, tmp_path: Path, was: str, instead: str, says: str
) -> None:
    assert was in MAP
    words = write(tmp_path, recorded(corvane.planes, None, 5, SHORT), MAP.replace(was, instead))
    refused(sixdof_here(tmp_path, *words), says)
    assert not list(tmp_path.glob("*.learned.json")) and not list(tmp_path.glob("*flight*"))


def test_another_airplanes_log_is_refused_or_told(corvane: Airplane, tmp_path: Path) -> None:
    """A log of a tessel under the name of a corvane: no such airplane could have flown that."""
    words = write(tmp_path, recorded(planes_of("tessel"), None, 5, SHORT))
    done = sixdof_here(tmp_path, *words, "--json")
    assert (
        done.code == 2 or done.json["logs"][0]["gusts_m_s"] > 4.0 or done.json["logs"][0]["aside_seconds"]
    ), done.out


@pytest.mark.study
@pytest.mark.parametrize("name", ["corvane", "tessel", "fenlark"])
def test_twins_with_a_logger(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Hidden airplanes, those of the twins that are noted, flown once with a logger in gusts of 2 m/s, and flown with what it
    tells in calm air, servos as they are; what is claimed of needed ratios; prints its figures."""
    airplane = Airplane(name)
    crew, drift, bare, exact, off, winds = (
        hire(airplane, prior_of(airplane), 20, seed=SEED),
        [],
        [],
        [],
        [],
        [],
    )
    for i in range(len(crew.planes)):
        found = identify(airplane, recorded(crew.planes[i : i + 1], "2 m/s", 100 + i))
        prior = prior_of(airplane.learned(of_logs(airplane, found.recorded, crew.share)), airplanes=500)
        now = update(prior, []).airplanes
        alone = crew._replace(planes=crew.planes[i : i + 1], share=prior.share)
        steady = knife_edges(alone.planes, prior.share * alone.planes["cruise"])
        needed = np.stack((steady.ratios("elevator"), steady.ratios("aileron")), axis=2)
        ratios = 0.005 * np.round(best_ratios(now)[:4].reshape(1, 2, 2) / 0.005)
        for rows, k in ((drift, ratios), (bare, 0.0 * ratios), (exact, needed)):
            rows.append(float(np.nan_to_num(drift_in_calm(alone, k), nan=99.0)[0]))
        off.append((needed[0].ravel() - now.ratios.mean(axis=0)[:4]) / now.ratios.std(axis=0)[:4])
        winds.append(found.gusts)
    off, below = np.abs(off), [100.0 * np.mean(np.array(rows) < 5.0) for rows in (drift, bare, exact)]  # type: ignore[assignment]
    worse = np.sum((np.array(drift) > np.array(bare)) & (np.array(drift) > 5.0))
    with capsys.disabled():
        print(
            f"\n{name}, one flight with a logger, {len(drift)} airplanes: below 5 deg {below[0]:.0f} % (bare {below[1]:.0f}, with "
            f"just what each needs {below[2]:.0f}), worse than bare {worse}; 80 % range {100 * np.mean(off < 1.2816):.0f} %, 90 % range "
            f"{100 * np.mean(off < 1.645):.0f} %; gusts told as of {np.median(winds):.1f} m/s",
            flush=True,
        )
    assert below[0] >= below[2] - 15.0 and below[0] > below[1] + 40.0 and np.mean(off < 1.645) >= 0.8

"""What notes of several tests tell of rigging: each cause with its chance, none that they do not bear out."""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest
from commanding import sixdof_here
from faults import airplane_of, faults, likely, plane_of, prior_for, written
from flying import DEMOS
from reading import too_wide, wrong_letters
from scipy.stats import multivariate_normal

from sixdof.files.errors import InputError
from sixdof.flight.script import load_maneuver
from sixdof.learning import rigging
from sixdof.learning.crowd import X
from sixdof.learning.notes import TESTS, Notes, notes_from
from sixdof.learning.readers import Resting, read_timed
from sixdof.learning.rigging import _COLUMNS, _told
from sixdof.learning.seen import Gauge
from sixdof.learning.told import tell, words_of
from sixdof.learning.update import update
from sixdof.tuning.causes import CAUSES
from sixdof.tuning.diagnose import Battery
from sixdof.tuning.evidence import _SAME as SAME
from sixdof.tuning.evidence import Evidence, weigh
from sixdof.tuning.sequence import TENDENCIES

#: Errors whose plus is the minus of their cause: forward, right and heavier right are +, aft, down and right are those of causes.
AGAINST = {"cg": -1.0, "cg-height": -1.0}
HEAD = "aircraft: corvane\nflights:\n  - flight: 1\n    wind: 2 m/s\n    blends: none\n"


def notes(text: str) -> Notes:
    return notes_from(Path("mine.yaml"), text.encode(), airplane_of("corvane").airframe)


# ---------------------------------------------------------------- chances


def evidence(left: list[float], does: dict[str, list[float]], **more: object) -> Evidence:
    """Numbers read to a half, expected to be nothing, without any doubt."""
    n = len(left)
    parts = {
        "left": np.array(left), "expected": np.zeros(n), "does": {k: np.stack((v, v)) for k, v in does.items()},
        "seen": 0.25 * np.eye(n), "moves": np.zeros((0, n)), "judged": np.zeros(n), "scaled": np.zeros(n), "errors": (),
    }  # fmt: skip
    return Evidence(**(parts | more))


def test_the_chance_of_a_cause_is_its_bayes_factor() -> None:
    """Density with the cause over that without, of the normal law itself; one of two causes is off before anything is seen."""
    y, d, s = [1.6, -0.7, 0.2], [2.0, -1.0, 0.5], 0.6
    found = {
        one.name: one
        for one in weigh(evidence(y, {"cg": d, "fin": [0.0, 0.0, 0.0]}), {"cg": 0.3, "fin": 0.3})
    }
    factor = multivariate_normal(cov=0.25 * np.eye(3) + s**2 * np.outer(d, d)).pdf(y) / multivariate_normal(
        cov=0.25 * np.eye(3)
    ).pdf(y)
    assert found["cg"].sure == pytest.approx(100.0 * factor / (1.0 + factor), abs=0.5)
    d = np.array(d)
    assert found["cg"].amount == pytest.approx(d @ y / 0.25 / (d @ d / 0.25 + 1.0 / s**2), rel=0.02)
    assert found["fin"].sure == pytest.approx(50.0)  # nothing is told of it: as before


def test_a_word_is_judged_by_what_happens_not_by_what_was_said() -> None:
    """Where nothing is expected a loud word is no excuse; where much is, it may be off by as much."""
    judged = np.full(1, 0.5)
    [of_nothing] = weigh(
        evidence([6.0], {"cg": [1.0], "fin": [0.0]}, judged=judged), {"cg": 2.0, "fin": 2.0}
    )[:1]
    [of_much] = weigh(
        evidence([6.0], {"cg": [1.0], "fin": [0.0]}, judged=judged, expected=np.full(1, 20.0)),
        {"cg": 2.0, "fin": 2.0},
    )[:1]
    assert of_nothing.name == "cg" and of_nothing.sure > 99.0 and of_much.sure < 60.0


def test_words_of_one_helper_are_off_together() -> None:
    """Everything twice as loud as expected is a scale; twice as loud one way and half the other is not."""
    loud = {"expected": np.array([4.0, 4.0]), "scaled": np.full(2, 0.5)}
    for left, fault in (([3.0, 3.0], False), ([3.0, -3.0], True)):
        does = {"cg": [1.0, 1.0 if not fault else -1.0], "fin": [0.0, 0.0]}
        cg = next(
            one for one in weigh(evidence(left, does, **loud), {"cg": 2.0, "fin": 2.0}) if one.name == "cg"
        )
        assert (cg.sure > 90.0) is fault, cg


def test_what_the_estimate_leaves_open_is_no_fault_but_a_fault_is_not_its_own_doubt() -> None:
    """A move that an error makes as well is hardly told; the error that is the cause itself does not explain it away."""
    rows = {"left": [3.0], "does": {"cg": [1.0], "differential": [0.0]}}
    moves = {"moves": np.array([[3.0]])}
    steps = {"cg": 1.0, "differential": 1.0}
    doubted = weigh(evidence(**rows, **moves, errors=("downwash",)), steps)
    own = weigh(evidence(**rows, **moves, errors=("CG fore and aft",)), steps)
    sure = [next(one.sure for one in found if one.name == "cg") for found in (doubted, own)]
    assert sure[0] < 50.0 < 95.0 < sure[1]


def test_evidence_adds_up() -> None:
    """Two readings of one error together are not those of two errors."""
    one = evidence([1.0], {"cg": [1.0], "fin": [0.0]}, moves=np.array([[2.0]]), errors=("downwash",))
    both = one + one
    assert both.doubt("cg") == pytest.approx(np.full((2, 2), 4.0))
    assert both.seen == pytest.approx(0.25 * np.eye(2))


def test_what_was_learned_is_given_back_as_it_was_read() -> None:
    """A number of one stick, learned, is one reading of that stick and of no other, as well as it was read."""
    prior, push = prior_for("corvane"), X.index("push")
    place, spreads = _COLUMNS.index(push), np.linalg.norm(prior.root[_COLUMNS], axis=1)
    value, sigma = float(prior.mean[push] + 1.2 * spreads[place]), 0.9 * float(spreads[place])
    now = update(prior, [Gauge("push", "f", 1, 0, value, sigma, "push", -1, np.zeros(2))])
    rows, read, variance = _told(prior, now)
    best = int(np.argmin(variance))
    shares = np.abs(rows[best] * spreads)
    assert np.delete(shares, place).max() < 0.5 * shares[place]
    scale = rows[best, place]
    assert read[best] / scale + prior.mean[push] == pytest.approx(value, abs=0.3 * spreads[place])
    assert math.sqrt(variance[best]) / abs(scale) == pytest.approx(sigma, rel=0.25)


# ---------------------------------------------------------------- what is read


def test_tests_of_the_sequence_are_noted_by_their_own_names() -> None:
    """Every word goes to one row of the table, its plus to the row's plus."""
    rows = [row.name for keys in TESTS.values() for row in keys.values()]
    assert len(set(rows)) == len(rows) and set(rows) <= {t.name for t in TENDENCIES}
    assert {"inside loop", "outside loop", "inverted release", "hard pull", "hard push", "upline"} <= set(
        TESTS
    )
    text = (
        HEAD
        + "    passes:\n      - {maneuver: hard pull, roll: moderate left}\n      - {maneuver: upline, goes: slight right}\n"
    )
    [told] = tell([notes(text)], prior_for("corvane"), ["helper"])
    assert [(saw.name, saw.value) for saw in told.tests] == [("hard pull", -4.5), ("upline yaw", 2.0)]
    assert told.seen == [], "they tell of no ratio"


def test_a_resting_surface_is_an_angle_by_its_chord() -> None:
    """A trailing edge moves by c sin(angle): 1.25 mm at 50 mm are 1.43 deg (asin, by hand)."""
    assert Resting(1.25e-3, "length").degrees(0.05) == pytest.approx(1.4325, abs=1e-4)
    text = (
        HEAD
        + "    resting_elevator: 1.25 mm down\n    resting_aileron: 0.6 deg left\n    passes:\n      - {maneuver: dive, pitch: nothing}\n"
    )
    [told] = tell([notes(text)], prior_for("corvane"), ["helper"])
    elevator, aileron = told.tests
    chord = airplane_of("corvane").airframe.controls.elevator.chord
    assert elevator.value == pytest.approx(-math.degrees(math.asin(1.25e-3 / chord)))
    assert elevator.sigma == pytest.approx(math.degrees(0.3e-3 / chord), rel=1e-6)
    assert (aileron.name, round(aileron.value, 6), aileron.sigma) == ("resting aileron", -0.6, 0.1)


def test_three_rolls_are_a_rate_of_roll() -> None:
    """The battery's own full rolls, timed: what they say of the first second is what it flew."""
    battery = Battery((load_maneuver("full_throw_roll"),))
    rate = battery.fly(airplane_of("corvane").planes)[0][[t.name for t in battery.asked].index("roll right")]
    seconds = 0.17 + 1080.0 / (rate / (1.0 - 0.17))
    text = (
        HEAD + f"    three_rolls: {seconds:.3f} s\n    passes:\n      - {{maneuver: dive, pitch: nothing}}\n"
    )
    [told] = tell([notes(text)], prior_for("corvane"), ["helper"])
    assert [saw.name for saw in told.tests] == ["roll right", "roll left"]
    assert told.tests[0].value == pytest.approx(rate, rel=1e-3)


def test_a_wind_along_the_pass_cancels() -> None:
    assert read_timed("100 m in 4 s, 5 s back") == pytest.approx(0.5 * (25.0 + 20.0))


def test_the_logbook_tells_what_was_seen_in_level_flight_too() -> None:
    data = {
        "passes": [{"maneuver": "upline", "goes": "slight right"}],
        "resting_rudder": "1 mm left",
        "three_rolls": "3.2 s",
    }
    assert words_of(data) == "upline: goes slight right; level: resting rudder 1 mm left, three rolls 3.2 s"
    assert words_of({"passes": data["passes"]}) == "upline: goes slight right"


def test_a_blend_that_acts_in_a_test_spoils_it() -> None:
    row = "    passes:\n      - {maneuver: hard pull, roll: slight left}\n      - {maneuver: rudder pulse, pitch: slight to belly}\n"
    for blends, left in (
        ("none", 2),
        ("{rudder-aileron.right: 3 % left}", 1),
        ("{throttle-elevator.low: 2 % down}", 0),
    ):
        [told] = tell(
            [notes(HEAD.replace("blends: none", f"blends: {blends}") + row)], prior_for("corvane"), ["helper"]
        )
        assert len(told.tests) == left and len(told.kept) == 2 - left
        assert all("fly it without" in text for text in told.kept)


def test_the_same_test_twice_is_its_mean() -> None:
    flight = "  - flight: {}\n    wind: 2 m/s\n    blends: none\n    passes:\n      - {{maneuver: hard pull, roll: {}}}\n"
    text = (
        "aircraft: corvane\nflights:\n" + flight.format(1, "slight left") + flight.format(2, "moderate left")
    )
    told = tell([notes(text)], prior_for("corvane"), ["helper"])
    first, second = (one.tests[0] for one in told)
    [mean] = rigging.tests_of(told)
    weight = np.array([first.sigma, second.sigma]) ** -2.0
    assert mean.value == pytest.approx(weight @ [-2.0, -4.5] / weight.sum()) and mean.sigma < min(
        first.sigma, second.sigma
    )


# ---------------------------------------------------------------- another rate


def test_notes_at_another_rate_count_by_what_deflects() -> None:
    """Corvane's elevator: 13 deg at normal, 25 at snap; ailerons 17.5 and 23.5 in the mean; the rudder the same."""
    body = "    passes:\n      - {maneuver: knife-edge, rudder: right, held_elevator: 2 % up, held_aileron: 3 % left, rudder_share: 50 %}\n"
    head = HEAD.replace(
        "blends: none", "blends: {rudder-elevator.right: 3 % up, throttle-elevator.low: 2 % down}"
    )
    three = head + "    three_rolls: 2 s\n" + body
    [snap] = notes(three.replace("aircraft: corvane", "aircraft: corvane\nrate: snap")).flights
    [same] = notes(three.replace("aircraft: corvane", "aircraft: corvane\nrate: normal")).flights
    [plain] = notes(three).flights
    assert same == plain
    assert snap.blends["rudder-elevator.right"] == pytest.approx(0.03 * 25.0 / 13.0)
    assert snap.blends["throttle-elevator.low"] == pytest.approx(-0.02 * 25.0 / 13.0)
    one = snap.passes[0]
    assert one.held_elevator == pytest.approx(0.02 * 25.0 / 13.0)
    assert one.held_aileron == pytest.approx(-0.03 * 23.5 / 17.5)
    assert one.rudder_share == pytest.approx(0.5)
    assert snap.three_rolls == pytest.approx(2.0 * 23.5 / 17.5)


def test_a_smaller_rudder_at_another_rate_is_a_larger_ratio() -> None:
    """A blend adds its full share at full source: with half the rudder, twice the elevator for each degree of it."""
    airframe = airplane_of("tessel").airframe
    first, other = (airframe.rates[name] for name in list(airframe.rates)[:2])
    name = list(airframe.rates)[1]
    text = f"aircraft: tessel\nrate: {name}\nflights:\n  - flight: 1\n    blends: {{rudder-elevator.left: 3 % up}}\n"
    text += "    passes:\n      - {maneuver: dive, pitch: nothing}\n"
    [flight] = notes_from(Path("t.yaml"), text.encode(), airframe).flights
    wanted = 0.03 * (other.elevator.up / first.elevator.up) / (other.rudder.left / first.rudder.left)
    assert flight.blends["rudder-elevator.left"] == pytest.approx(wanted)


def test_a_word_for_a_push_at_another_rate_is_refused() -> None:
    text = HEAD.replace("aircraft: corvane", "aircraft: corvane\nrate: snap")
    text += "    passes:\n      - {maneuver: inverted, push: slight push}\n"
    with pytest.raises(Exception, match=r"mine.yaml:8: .*push.*held_elevator"):
        notes(text)


# ---------------------------------------------------------------- hidden faults


@pytest.mark.parametrize("fault", ["heavy right tip", "twisted wing"])
def test_a_hidden_fault_is_named_from_notes(fault: str) -> None:
    hidden = faults(airplane_of("corvane"))[fault]
    [first] = likely("corvane", written("corvane", plane_of("corvane", fault)))
    assert first.name == hidden.name and first.amount * hidden.way > 0.0
    assert first.sure_percent > 90.0
    assert first.amount == pytest.approx(hidden.amount, rel=0.35)
    [other] = likely("corvane", written("corvane", plane_of("corvane", fault, -1.0)))
    assert other.name == hidden.name and other.amount * hidden.way < 0.0


def test_of_an_airplane_as_its_file_says_nothing_is_named() -> None:
    assert likely("corvane", written("corvane", airplane_of("corvane").planes)) == []


def test_notes_that_are_kept_are_asked_and_left_out_on_request(tmp_path: Path) -> None:
    """What was learned from notes comes first in `diagnose`, with its chance; with --no-notes it is not there."""
    (tmp_path / "mine.yaml").write_text(written("corvane", plane_of("corvane", "heavy right tip")))
    learned = sixdof_here(tmp_path, "learn", "corvane", "mine.yaml", "--all")
    assert "sixdof diagnose asks it what is off" in " ".join(learned.out.split())
    done = sixdof_here(tmp_path, "diagnose", "corvane")
    assert done.code == 0 and len(done.out.splitlines()) <= 24
    assert not too_wide(done.out) and not wrong_letters(done.out)
    text = " ".join(done.out.split())
    assert "by your notes, as the chance that it differs so from the file: right tip" in text
    assert "g in the left tip, then fly it again" in text
    found = sixdof_here(tmp_path, "diagnose", "corvane", "--json").json
    assert found["of_notes"] == 1 and found["noted"][0]["name"] == "tip-weight"
    assert found["noted"][0]["sure_percent"] > 90.0
    row = next(row for row in found["findings"] if row["name"] == "inverted release")
    assert row["value"] == -2.0, "what was noted, slight left, in place of what was flown"
    assert row["remedies"][0]["words"].endswith("in the left tip") or not row["seen"]
    without = sixdof_here(tmp_path, "diagnose", "corvane", "--no-notes", "--json").json
    assert without["of_notes"] == 0 and without["noted"] == []
    changed = sixdof_here(tmp_path, "diagnose", "corvane", "--change", "cg=3 mm aft", "--json").json
    assert changed["noted"] == [], "notes speak of the airplane as filed"


def test_the_readme_shows_what_the_samples_say(tmp_path: Path) -> None:
    readme = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")
    [shown] = re.findall(r"```text\n(by your notes.*?)```", readme, flags=re.DOTALL)
    learned = sixdof_here(
        tmp_path, "learn", "corvane", "corvane-1", "corvane-2", "corvane-3.csv", "corvane-4"
    )
    assert learned.code == 0 and len(learned.out.splitlines()) <= 24, learned
    assert "sixdof diagnose corvane says what is likely off" in " ".join(learned.out.split())
    assert " ".join(shown.split()) in " ".join(sixdof_here(tmp_path, "diagnose", "corvane").out.split())


@pytest.mark.study
def test_confusion_from_notes(capsys: pytest.CaptureFixture[str]) -> None:
    """Thirteen hidden faults, once and twice as large, written down as notes: what is named, and nothing that is wrong."""
    lines, right, wrong = [], 0, 0
    for demo in DEMOS:
        for fault, hidden in faults(airplane_of(demo)).items():
            for share in (1.0, 2.0):
                try:
                    plane = plane_of(demo, fault, share)
                    found = likely(demo, written(demo, plane))
                except (AssertionError, ValueError):
                    lines.append(f"{demo}: {fault} x {share:g} -> not flown, or set aside")
                    continue
                hit = [c for c in found if c.name == hidden.name and c.amount * hidden.way > 0.0]
                right, wrong = right + bool(hit), wrong + (bool(found) and not hit)
                words = "; ".join(f"{c.words} {c.sure_percent:.0f} %" for c in found)
                lines.append(f"{demo}: {fault} x {share:g} -> {words or 'nothing'}")
    with capsys.disabled():
        print("\n" + "\n".join(lines) + f"\nnamed {right}, wrong {wrong}")
    assert right >= 12 and wrong <= 0.1 * right


@pytest.mark.study
def test_what_is_named_of_airplanes_that_are_off_in_everything(capsys: pytest.CaptureFixture[str]) -> None:
    """Hidden corvanes drawn from all errors, rigging too, a flight of words in gusts each: named causes are off that way."""
    airplane = airplane_of("corvane")
    drawn = airplane.drawn(40, seed=4711)
    lines, alone, right, pairs, flown = [], 0, 0, 0, 0
    for i in range(len(drawn.planes)):
        try:
            found = likely(
                "corvane",
                written("corvane", drawn.planes[i : i + 1], wind="2 m/s from the left", first=1 + 10 * i),
            )
        except (AssertionError, InputError):
            continue  # set aside, or no knife-edge
        flown += 1
        for cause in found:
            error = CAUSES[cause.name].error or SAME.get(cause.name)
            if error is None:
                continue
            z = float(drawn.errors[i, drawn.names.index(error)]) * AGAINST.get(cause.name, 1.0)
            same = z * cause.amount > 0.0
            alone, right, pairs = (
                alone + (not cause.alike),
                right + (same and not cause.alike),
                pairs + bool(cause.alike),
            )
            lines.append(
                f"{i}: {cause.words} {cause.sure_percent:.0f} % (off by {z:+.1f} of what a builder leaves)"
            )
    with capsys.disabled():
        print(
            "\n"
            + "\n".join(lines)
            + f"\n{flown} flown; {alone} named alone, {right} of them that way; {pairs} in pairs"
        )
    assert alone >= 8 and right >= 0.85 * alone

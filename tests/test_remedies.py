"""What changes of the airframe do, against what flyers find at the field; and the command that tells it."""

from __future__ import annotations

import json
import math
import re
import shlex
from pathlib import Path

import numpy as np
import pytest
from commanding import sixdof_here
from flying import ideal_servos, script
from support import agree, rates_of

from sixdof.airframe.changes import CHANGES, changed, read_changes, usual_step
from sixdof.airframe.load import find_airframe, load_airframe
from sixdof.flight.airplane import Airplane
from sixdof.flight.fly import fly_batch
from sixdof.flight.script import load_maneuver
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air
from sixdof.tuning.deviation import drift
from sixdof.tuning.remedies import (
    LEAST_MARGIN,
    Changes,
    Variant,
    best_set,
    steps_over,
    usual_changes,
    variants,
)

DEMOS = ("corvane", "fenlark", "tessel")
NAMES = (
    "cg",
    "wing-incidence",
    "tailplane-incidence",
    "dihedral",
    "wing-height",
    "tailplane-height",
    "tip-weight",
)

MANEUVERS = [load_maneuver(name) for name in ("knife_edge", "power_off_dive", "roll_reversal")]

#: One airplane's variants: None as it is, else (name, +1 or -1) one usual step.
Found = dict[tuple[str, int] | None, Variant]


@pytest.fixture(scope="module", params=DEMOS)
def found(request) -> Found:
    airplane = Airplane(request.param)
    keys = [(name, sign) for name in NAMES for sign in (1, -1)]
    sets = [{}, *({name: sign * usual_step(name, airplane.airframe)} for name, sign in keys)]
    return dict(zip([None, *keys], variants(airplane, sets, MANEUVERS), strict=True))


def steps(found: Found, name: str, of) -> tuple[float, float, float]:
    """A number one step less, as it is, one step more."""
    return of(found[name, -1]), of(found[None]), of(found[name, 1])


def rises(numbers: tuple[float, float, float]) -> bool:
    return numbers[0] < numbers[1] < numbers[2]


def even(variant: Variant) -> float:
    """Elevator that both rudders ask for alike."""
    return 0.5 * float(variant.ratios[0] + variant.ratios[1])


def opposite(variant: Variant) -> float:
    """Aileron against the rudder's side: left with right rudder, right with left."""
    return 0.5 * float(variant.ratios[3] - variant.ratios[2])


@pytest.mark.parametrize(
    ("what", "of"),
    [
        ("static margin", lambda s: s.static_margin),
        ("resting elevator up", lambda s: s.trim_elevator),
        ("dive to canopy", lambda s: s.dive),
        ("constant part down", lambda s: -s.constant),
    ],
)
def test_the_cg_forward_gives_more_of(found: Found, what: str, of) -> None:
    """Common practice: nose-heavy is stable, wants up trim, and pulls to the canopy in the dive."""
    aft = steps(found, "cg", of)
    assert rises(aft[::-1]), (what, aft)


def test_the_cg_moves_the_margin_by_what_it_was_moved(found: Found) -> None:
    """5 mm on a chord of 308 mm are 1.6 % of static margin."""
    [text] = found["cg", 1].changes
    amount = float(text.removeprefix("cg=").removesuffix(" mm aft")) / 1e3
    assert 0.003 <= amount <= 0.006
    share = 0.01 * (found[None].static_margin - found["cg", 1].static_margin) / amount
    chords = {load_airframe(demo).wing.mean_chord for demo in DEMOS}
    assert any(share * chord == pytest.approx(1.0, rel=1e-4) for chord in chords), (share, chords)


def test_more_dihedral_asks_for_more_opposite_aileron(found: Found) -> None:
    """Common practice: dihedral makes rudder roll proverse."""
    numbers = steps(found, "dihedral", opposite)
    assert rises(numbers), numbers
    assert 1.0 < numbers[2] - numbers[1] < 10.0, numbers


def test_a_higher_wing_asks_for_more_opposite_aileron(found: Found) -> None:
    """Common practice: a high wing rolls proverse, a low one adverse."""
    numbers = steps(found, "wing-height", opposite)
    assert rises(numbers), numbers


def test_a_higher_tailplane_goes_to_the_belly(found: Found) -> None:
    """Common practice: a high tailplane tucks to the belly, a low one to the canopy; up elevator holds it."""
    numbers = steps(found, "tailplane-height", even)
    assert rises(numbers), numbers


@pytest.mark.parametrize(("name", "sign"), [("wing-incidence", -1.0), ("tailplane-incidence", 1.0)])
def test_incidence_moves_the_resting_elevator_and_nothing_else(found: Found, name: str, sign: float) -> None:
    """Common practice: once trimmed again, the resting elevator is the only sign of a wrong incidence."""
    trims = steps(found, name, lambda s: sign * s.trim_elevator)
    assert rises(trims), trims
    dives = steps(found, name, lambda s: s.dive)
    by_cg = steps(found, "cg", lambda s: s.dive)
    assert max(dives) - min(dives) < 0.1 * (max(by_cg) - min(by_cg)), (dives, by_cg)
    margins = steps(found, name, lambda s: s.static_margin)
    assert max(margins) - min(margins) < 0.2, margins


def test_a_heavy_right_tip_asks_for_left_aileron(found: Found) -> None:
    trims = steps(found, "tip-weight", lambda s: -s.trim_aileron)
    assert rises(trims), trims


@pytest.mark.parametrize("name", DEMOS)
def test_down_thrust_reaches_the_dive_by_the_trim_alone(name: str) -> None:
    """Without power the thrust line pushes nothing: what one more degree does is what the trim does."""
    airframe = load_airframe(name)
    before, after = (
        Airplane(airframe).planes,
        Airplane(changed(airframe, {"down-thrust": "1 deg more"})).planes,
    )
    old_trim = after.copy()
    for channel in ("aileron", "elevator", "rudder"):
        old_trim[f"{channel}_trim"] = before[f"{channel}_trim"]
    planes = ideal_servos(np.concatenate([before, after, old_trim]))
    dive = script("power_off_dive", "both")
    flights = fly_batch(planes, [dive], index=np.array([[i, 0, 0, 0] for i in range(3)]))
    as_is, trimmed, not_trimmed = (drift(flights, i, dive, only=["canopy"]).degrees for i in range(3))
    agree("dive on the old trim [deg]", not_trimmed, as_is, within=1.0)
    assert after["elevator_trim"][0] > before["elevator_trim"][0]  # up, against thrust that pulls down
    assert trimmed > as_is + 2.0, (as_is, trimmed)


@pytest.mark.parametrize("name", DEMOS)
def test_with_more_down_thrust_a_chop_lifts_the_nose_more(name: str) -> None:
    """Common practice: a chop that lifts the nose is too much down-thrust.  Pitch rate as the throttle closes."""
    airframe, air = load_airframe(name), make_air()
    lifts = []
    for amount in (-0.5, 0.5):
        plane = Airplane(changed(airframe, {"down-thrust": math.radians(amount)})).planes[0]
        steady = trim(plane, air, speed=airframe.speeds.cruise)
        slow, targets = steady.state.copy(), steady.targets.copy()
        targets[5] = 0.0
        slow[-1] *= 0.5  # the propeller at half its speed
        lifts.append(float(rates_of(plane, air, slow, targets)[11]))
    assert lifts[1] > lifts[0], lifts


@pytest.mark.parametrize("name", DEMOS)
def test_differential_yaws_into_the_roll(name: str) -> None:
    """Common practice: differential is against adverse yaw.  Yaw at full right aileron out of level flight."""
    airframe, air = load_airframe(name), make_air()
    turns = []
    for amount in (-2.0, 2.0):
        new = changed(airframe, {"differential": math.radians(amount)})
        plane = Airplane(new).planes[0]
        steady = trim(plane, air, speed=airframe.speeds.cruise)
        x = steady.state.copy()
        throw = new.rates[new.default_rate].aileron
        x[13] -= throw.up  # right aileron up, left one down
        x[14] += throw.down
        turns.append(float(rates_of(plane, air, x, steady.targets)[12]))
    assert turns[1] > turns[0], turns


Sets = tuple[Airplane, Variant, list[tuple[Changes, Variant]]]


@pytest.fixture(scope="module")
def fenlark() -> Sets:
    airplane = Airplane("fenlark")
    sets = usual_changes(airplane)
    now, *found = variants(airplane, [{}, *sets], MANEUVERS)
    return airplane, now, list(zip(sets, found, strict=True))


def test_every_change_is_flown_both_ways(fenlark: Sets) -> None:
    flown = {(name, a > 0.0) for sets, v in fenlark[2] for name, a in sets.items() if not v.trouble}
    assert flown == {(name, way) for name in CHANGES for way in (True, False)}


def test_alone_and_in_a_batch_is_the_same(fenlark: Sets) -> None:
    airplane, _, [(sets, among), *_others] = fenlark
    [alone] = variants(airplane, [sets], MANEUVERS)
    assert np.array_equal(alone.ratios, among.ratios) and alone.dive == among.dive


def test_the_best_set_brings_what_it_promises(fenlark: Sets) -> None:
    airplane, now, found = fenlark
    best = best_set(airplane, now, found, MANEUVERS)
    assert 1 <= len(best.changes) <= 3
    assert abs(best.dive) < 0.75 * abs(now.dive), (best.dive, now.dive)
    assert abs(best.constant) < 0.75 * abs(now.constant), (best.constant, now.constant)
    assert best.static_margin >= 100.0 * LEAST_MARGIN
    assert abs(best.constant - best.expected_constant) < 1.0
    for name, text in read_changes(best.changes).items():
        amount = changed(airplane.airframe, {name: text}).changes[0][1]
        halves = 2.0 * amount / usual_step(name, airplane.airframe)
        assert halves == pytest.approx(round(halves), abs=1e-9), (name, amount)


def test_where_nothing_is_wrong_nothing_is_changed(fenlark: Sets) -> None:
    airplane, now, found = fenlark

    def moved(v: Variant) -> Variant:
        return v.model_copy(update={"constant": v.constant - now.constant, "dive": v.dive - now.dive})

    best = best_set(airplane, moved(now), [(sets, moved(v)) for sets, v in found], MANEUVERS)
    assert best.changes == []


def test_a_change_that_cannot_be_flown_says_so() -> None:
    sets = [{}, {"wing-height": 0.1, "differential": math.radians(20.0)}]
    good, bad = variants(Airplane("corvane"), sets, MANEUVERS)
    assert good.trouble == "" and math.isfinite(good.dive)
    assert "at most 10 deg" in bad.trouble and math.isnan(bad.dive), bad


def test_steps_over_a_change_leave_out_the_middle() -> None:
    found = steps_over("cg", Airplane("corvane"), most=2)
    assert [round(s["cg"] * 1e3, 6) for s in found] == [-10.0, -5.0, 5.0, 10.0]


# ---------------------------------------------------------------- the command line


def test_the_command_prints_its_table_in_80_columns(tmp_path: Path) -> None:
    """With a name that another program might take for mark-up, and a file that a shell might run."""
    path = tmp_path / "$x.yaml"
    text = find_airframe("tessel").read_text(encoding="utf-8")
    path.write_text(text.replace("name: tessel\n", 'name: "a[/b] $x"\n'), encoding="utf-8")
    done = sixdof_here(tmp_path, "remedies", path.name, "--out", "run")
    assert done.code == 0 and max(map(len, done.out.splitlines())) <= 80, done.out
    assert done.out.startswith("a[/b] $x; invented") and "One change at a time" in done.out
    [line] = [line for line in done.out.splitlines() if line.startswith("next: ")]
    assert shlex.split(line)[1:5] == ["sixdof", "tune", path.name, "-c"], line
    kept = json.loads((tmp_path / "run" / "result.json").read_text())
    rows = kept["remedies"]
    assert rows[0]["words"] == "as it is" and len(rows) == 1 + 2 * len(CHANGES)
    lost = [(row["unfinished"], row["points"]) for row in rows[1:]]
    assert lost == sorted(lost)
    seen = sixdof_here(tmp_path, "view", "run", "--png", "x.png")
    assert seen.code == 2 and "no flights to see" in seen.err


def test_one_change_over_a_range(tmp_path: Path) -> None:
    found = sixdof_here(tmp_path, "remedies", "--over", "cg", "--json").json
    dives = {row["words"]: row["dive"] for row in found["remedies"]}
    assert dives["CG 10 mm further forward"] > dives["as it is"] > dives["CG 5 mm further aft"], dives
    assert found["best"] is None
    refused = sixdof_here(tmp_path, "remedies", "--over", "cgg")
    assert refused.code == 2 and "did you mean cg?" in refused.err


def test_a_changed_airplane_flies_and_is_compared_with_the_one_as_it_is(tmp_path: Path) -> None:
    dive = ("fly", "-m", "power_off_dive", "--no-pictures", "--out")
    sixdof_here(tmp_path, *dive, "bare")
    done = sixdof_here(tmp_path, *dive, "changed", "--change", "cg=5 mm aft", "-c", "dihedral=0.5 deg more")
    assert "changed and re-trimmed: CG 5 mm further aft, dihedral 0.5° more" in done.out, done.out
    kept = json.loads((tmp_path / "changed" / "result.json").read_text())
    assert "flown with: CG 5 mm further aft, dihedral 0.5° more (re-trimmed)" in kept["warnings"]
    from sixdof.runs import read_run

    again = read_run(str(tmp_path / "changed")).airframe()
    assert [name for name, _ in again.changes] == ["cg", "dihedral"]
    compared = sixdof_here(tmp_path, "compare", "bare", "changed")
    assert "B changed: corvane, CG 5 mm further aft" in compared.out, compared.out
    rows = sixdof_here(tmp_path, "compare", "bare", "changed", "--json").json["maneuvers"]
    assert rows[0]["drift"][0] > rows[0]["drift"][1] + 1.5, rows


def test_dives_of_unequal_length_are_compared_by_degrees_a_second(tmp_path: Path) -> None:
    """By the tracks: how long each was measured; degrees over that are what is printed, and drawn at the same moment."""
    dive = ("fly", "-m", "power_off_dive", "--no-pictures", "--out")
    for name, ceiling in (("low", "120 m"), ("high", "170 m")):
        assert sixdof_here(tmp_path, *dive, name, "--ceiling", ceiling).code == 0
    seconds, degrees = [], []
    for name in ("low", "high"):
        with np.load(tmp_path / name / "tracks.npz") as file:
            columns = {str(n): i for i, n in enumerate(file["columns"])}
            rows = next(file[key] for key in file if key != "columns")
        test = rows[rows[:, columns["measured"]] >= 0.0]
        seconds.append(test[-1, 0] - test[0, 0])
        degrees.append(math.degrees(test[-1, columns["toward_canopy"]]))
    assert seconds[1] > 1.2 * seconds[0]
    done = sixdof_here(tmp_path, "compare", "low", "high", "--out", "both.png")
    said = re.findall(r"power-off dive +([\d.]+) °/s +([\d.]+) °/s", done.out)
    assert [float(s) for s in said[0]] == pytest.approx(
        [d / s for d, s in zip(degrees, seconds, strict=True)], abs=0.0501
    )
    assert f"measured for {seconds[0]:.3g} / {seconds[1]:.3g} s, so degrees a second" in " ".join(
        done.out.split()
    )
    [row] = sixdof_here(tmp_path, "compare", "low", "high", "--json").json["maneuvers"]
    assert row["seconds"] == pytest.approx(seconds, abs=0.011) and not row["same_length"]
    html = sixdof_here(tmp_path, "compare", "low", "high", "--out", "both.html")
    assert html.code == 0 and "so degrees a second are compared" in (tmp_path / "both.html").read_text()
    [row] = sixdof_here(tmp_path, "compare", "low", "low", "--json").json["maneuvers"]
    assert row["same_length"] and " °/s" not in sixdof_here(tmp_path, "compare", "low", "low").out


@pytest.mark.parametrize("command", [("tune", "-m", "power_off_dive"), ("explore", "power_off_dive", "--vary", "throttle-elevator.low=-2..0", "--count", "2")])  # fmt: skip
def test_every_command_that_flies_takes_a_change(tmp_path: Path, command: tuple[str, ...]) -> None:
    plain = sixdof_here(tmp_path, *command, "--no-pictures", "--json").json
    moved = sixdof_here(tmp_path, *command, "--no-pictures", "--json", "--change", "cg=5 mm forward").json
    assert plain["changes"] == [] and moved["changes"] == ["CG 5 mm further forward"]
    key = "maneuvers" if command[0] == "tune" else "settings"
    rate = "rate_before" if command[0] == "tune" else "rate"
    assert moved[key][-1][rate] > plain[key][-1][rate] + 1.0


def test_a_cg_behind_the_neutral_point_is_said(tmp_path: Path) -> None:
    done = sixdof_here(tmp_path, "fly", "-m", "level", "--change", "cg=20 mm aft", "--no-pictures")
    assert "! the CG is " in done.out and "mm behind the neutral point" in done.out, done.out

"""Changes of an airframe: read, made, checked, estimated beside what the file states."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from commanding import sixdof_here
from hypothesis import given, settings
from hypothesis import strategies as st
from support import agree

from sixdof.airframe.changes import CHANGES, change_text, changed, read_changes, usual_step
from sixdof.airframe.load import find_airframe, load_airframe
from sixdof.airframe.model import Airframe
from sixdof.estimate.assemble import from_geometry
from sixdof.estimate.layers import estimate_derivatives
from sixdof.files.errors import InputError
from sixdof.flight.airplane import Airplane
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air

G = 9.80665


@pytest.fixture(scope="module")
def corvane() -> Airframe:
    return load_airframe("corvane")


#: text -> where it shows, and how much more that is
READ = {
    "cg=5 mm aft": (lambda a: a.mass.cg[0], -5e-3),
    "cg=5 mm forward": (lambda a: a.mass.cg[0], 5e-3),
    "cg=0.2 in aft": (lambda a: a.mass.cg[0], -5.08e-3),
    "cg-height=5 mm up": (lambda a: a.mass.cg[2], -5e-3),
    "tip-weight=10 g left": (lambda a: a.mass.m, 10e-3),
    "wing-incidence=+0.25 deg": (lambda a: a.wing.incidence, math.radians(0.25)),
    "tailplane-incidence=0.25 deg less": (lambda a: a.tailplane.incidence, -math.radians(0.25)),
    "down-thrust=-0.5 deg": (lambda a: a.propeller.down_thrust, -math.radians(0.5)),
    "right-thrust=0.5 deg more": (lambda a: a.propeller.right_thrust, math.radians(0.5)),
    "dihedral=0.5 deg more": (lambda a: a.wing.panels[-1].dihedral, math.radians(0.5)),
    "differential=1 deg more": (
        lambda a: a.rates["snap"].aileron.up - a.rates["snap"].aileron.down,
        math.radians(1.0),
    ),
    "wing-height=10 mm up": (lambda a: a.wing.root[2], -10e-3),
    "tailplane-height=10 mm down": (lambda a: a.tailplane.root[2], 10e-3),
}


@pytest.mark.parametrize("text", READ)
def test_a_change_is_made_where_it_says(corvane: Airframe, text: str) -> None:
    of, more = READ[text]
    new = changed(corvane, read_changes([text]))
    agree(text, of(new) - of(corvane), more, within=1e-12)
    assert new.as_filed is corvane and new.sha256 == corvane.sha256


def test_a_length_may_be_a_share_of_the_mean_chord(corvane: Airframe) -> None:
    new = changed(corvane, {"cg": "1 % aft"})
    agree("1 % aft", corvane.mass.cg[0] - new.mass.cg[0], 0.01 * corvane.wing.mean_chord, within=1e-12)


@settings(deadline=None)
@given(st.sampled_from(list(CHANGES)), st.floats(0.2, 3.0), st.sampled_from((1.0, -1.0)))
def test_what_is_written_is_read_back(name: str, steps: float, sign: float) -> None:
    airframe = load_airframe("corvane")
    amount = sign * steps * usual_step(name, airframe)
    once = changed(airframe, {name: amount})
    again = changed(airframe, read_changes([change_text(name, amount)]))
    found, wanted = again.changes[0][1], once.changes[0][1]
    assert found == pytest.approx(wanted, rel=1e-5), (change_text(name, amount), found, wanted)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("cgg=5 mm aft", "did you mean cg?"),
        ("dihedrl=1 deg more", "did you mean dihedral?"),
        ("cg", "cg=5 mm aft"),
        ("cg=5 mm", "5 mm aft or 5 mm forward"),
        ("cg=-5 mm aft", "5 mm aft or 5 mm forward"),
        ("cg=5 mm right", "5 mm aft or 5 mm forward"),
        ("cg=5 aft", "without a unit"),
        ("cg=5 deg aft", "another kind of value"),
        ("cg=nan mm aft", "cg"),
        ("cg=400 mm aft", "at most 308 mm"),
        ("wing-incidence=0.25 deg", "or with its sign"),
        ("wing-incidence=20 deg more", "at most 10 deg"),
        ("tip-weight=10 g up", "right"),
    ],
)
def test_a_bad_change_is_refused_in_one_line(tmp_path: Path, text: str, said: str) -> None:
    done = sixdof_here(tmp_path, "fly", "--change", text, "--no-pictures")
    assert done.code == 2 and done.out == "", (done.code, done.out)
    assert said in done.err and done.err.count("\n") == 1, done.err
    assert list(tmp_path.iterdir()) == []


def test_a_change_given_twice_is_refused() -> None:
    with pytest.raises(InputError, match="twice"):
        read_changes(["cg=5 mm aft", "cg=5 mm aft"])


def test_changes_add_up(corvane: Airframe) -> None:
    twice = changed(changed(corvane, {"cg": "5 mm aft"}), {"cg": "3 mm forward", "dihedral": "1 deg more"})
    assert [name for name, _ in twice.changes] == ["cg", "dihedral"] and twice.as_filed is corvane
    agree("both", twice.changes[0][1], 2e-3, within=1e-12)
    agree("CG", corvane.mass.cg[0] - twice.mass.cg[0], 2e-3, within=1e-12)


def test_what_can_be_no_airplane_is_refused(corvane: Airframe) -> None:
    """A hinge that does not allow the throw, and an aileron that would not go down any more."""
    aileron = corvane.controls.aileron.model_copy(update={"hinge": math.radians(24.2)})
    tight = corvane.model_copy(update={"controls": corvane.controls.model_copy(update={"aileron": aileron})})
    with pytest.raises(InputError, match="larger than the hinge allows"):
        changed(tight, {"differential": "1 deg more"})
    small = corvane.rates["normal"].aileron.model_copy(update={"down": math.radians(3.0)})
    rates = {"normal": corvane.rates["normal"].model_copy(update={"aileron": small})}
    with pytest.raises(InputError, match="cannot be reduced that much"):
        changed(corvane.model_copy(update={"rates": rates}), {"differential": "8 deg more"})


def test_warnings_are_those_of_the_changed_airplane(corvane: Airframe) -> None:
    new = changed(corvane, {"cg": "60 mm aft"})
    assert any("56 % of the mean chord" in line for line in new.warnings), new.warnings
    assert not any("of the mean chord" in line for line in corvane.warnings)


@pytest.mark.parametrize("way", ["right", "left"])
def test_tip_weight_is_a_point_mass_at_the_tip(corvane: Airframe, way: str) -> None:
    """Against the sums over two point-like bodies about their common CG."""
    new = changed(corvane, {"tip-weight": f"30 g {way}"}).mass
    old, w, wing = corvane.mass, 0.030, corvane.wing
    panel = wing.panels[0]
    tip = np.array(
        [
            wing.root[0] - panel.sweep - panel.tip_chord / 4,
            math.copysign(panel.span * math.cos(panel.dihedral), 1.0 if way == "right" else -1.0),
            wing.root[2] - panel.span * math.sin(panel.dihedral),
        ]
    )
    cg = (old.m * np.array(old.cg) + w * tip) / (old.m + w)
    assert np.allclose(new.cg, cg, atol=1e-12), (new.cg, cg)

    def tensor(mass) -> np.ndarray:
        return np.array(
            [
                [mass.Ixx, -mass.Ixy, -mass.Ixz],
                [-mass.Ixy, mass.Iyy, -mass.Iyz],
                [-mass.Ixz, -mass.Iyz, mass.Izz],
            ]
        )

    def point(m: float, at: np.ndarray) -> np.ndarray:
        d = at - cg
        return m * (d @ d * np.eye(3) - np.outer(d, d))

    wanted = tensor(old) + point(old.m, np.array(old.cg)) + point(w, tip)
    assert np.allclose(tensor(new), wanted, atol=1e-12), (tensor(new), wanted)


def test_14_g_at_900_mm_is_124_mN_m_at_any_speed(corvane: Airframe) -> None:
    """Common practice: 14 g at 0.9 m is 0.124 N m; so the aileron against it falls with the speed squared."""
    panel = corvane.wing.panels[0]
    shorter = panel.model_copy(update={"span": 0.9 / math.cos(panel.dihedral)})
    short = corvane.model_copy(
        update={
            "wing": corvane.wing.model_copy(update={"panels": (shorter,)}),
            "controls": corvane.controls.model_copy(
                update={"aileron": corvane.controls.aileron.model_copy(update={"outboard": 0.88})}
            ),
        }
    )
    heavy = changed(short, {"tip-weight": "14 g right"})
    agree("moment [N m]", heavy.mass.m * G * heavy.mass.cg[1], 0.124, within=0.0005, source="14 g at 0.9 m")
    bare, loaded = Airplane(short).planes[0], Airplane(heavy).planes[0]

    def against(speed: float) -> float:
        """Aileron held against the weight, times the dynamic pressure over that at 25 m/s."""
        sticks = [
            trim(plane, make_air(), speed=speed).sticks["aileron"] + float(plane["aileron_trim"])
            for plane in (loaded, bare)
        ]
        return (sticks[0] - sticks[1]) * (speed / 25.0) ** 2

    slow, fast = against(22.0), against(32.0)
    assert slow < 0.0 and slow == pytest.approx(fast, rel=0.05), (slow, fast)


@pytest.mark.parametrize("stated", ["Clb: -0.03", "Clb: -0.03, Cma: -0.2"])
def test_a_stated_value_moves_as_the_estimate_does(tmp_path: Path, stated: str) -> None:
    """estimate(changed) + (stated - estimate(as filed)); the others are the estimate."""
    text = find_airframe("corvane").read_text(encoding="utf-8")
    path = tmp_path / "known.yaml"
    path.write_text(f"{text}\nderivatives: {{source: a test, values: {{{stated}}}}}\n", encoding="utf-8")
    airframe = load_airframe(path)
    new = changed(airframe, {"dihedral": "1 deg more"})
    as_filed, moved = from_geometry(airframe), from_geometry(new)
    found = estimate_derivatives(new)
    agree("Clb", found["Clb"], moved["Clb"] - 0.03 - as_filed["Clb"], within=1e-12)
    assert found["Clb"] < -0.03
    agree("Cnb", found["Cnb"], moved["Cnb"], within=1e-12)


def test_only_surfaces_change_the_loads(corvane: Airframe) -> None:
    """Weight, thrust line and throws leave every term as it was, all but the arms of the tail."""
    before = estimate_derivatives(corvane)
    for name in ("cg", "cg-height", "tip-weight", "down-thrust", "right-thrust", "differential"):
        after = estimate_derivatives(changed(corvane, {name: usual_step(name, corvane)}))
        moved = {n for n in ("CLa", "Cma", "Clb", "Cnb", "CD0", "Cmde") if after[n] != before[n]}
        assert not moved, (name, moved)
    for name in ("wing-incidence", "tailplane-incidence", "dihedral", "wing-height", "tailplane-height"):
        after = estimate_derivatives(changed(corvane, {name: usual_step(name, corvane)}))
        assert np.max(np.abs(after.value - before.value)) > 1e-4, name

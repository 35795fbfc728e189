"""The claimed shares of published terms within our doubt, one airplane left out at a time; and what makes the doubt."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sixdof.airframe.load import load_airframe
from sixdof.estimate.assemble import _fitted, _Shape, from_geometry
from sixdof.estimate.derivatives import NAMES
from sixdof.estimate.lattice import Conditions, build_lattice, solve
from sixdof.estimate.section import FLAP_SMALL, GAP, section
from sixdof.physics.terms import TERM_NAMES
from sixdof.validation import calibration as calibrated
from sixdof.validation.calibration import GUESSED, KNOWN, PARTS, calibration, misses
from sixdof.validation.chain import FILES


@pytest.mark.parametrize("left_out", [True, False])
@pytest.mark.parametrize("part", PARTS)
def test_known_tails_lie_within_our_doubt(part: str, left_out: bool) -> None:
    """Of a normal error one standard deviation holds 68 %, two 95 %: neither boasting nor hiding."""
    found = calibration(*KNOWN, part=part, left_out=left_out)
    assert 55.0 <= found.one <= 80.0 and found.two >= 90.0, found


@pytest.mark.parametrize("name", KNOWN)
@pytest.mark.parametrize("part", PARTS)
def test_what_is_judged_has_no_say_in_the_sizes(
    name: str, part: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another published set of the judged airplane moves its own distances and nothing that they are measured by."""
    calibrated._left_out.cache_clear()
    before = calibrated._left_out(name, part)
    module = calibrated._MODULES[name]
    terms = [term for term in module.PUBLISHED if term[:2] in PARTS[part]]
    first, others = terms[0], np.arange(1, len(terms))
    calibrated._left_out.cache_clear()
    monkeypatch.setattr(module, "PUBLISHED", module.PUBLISHED | {first: 99.0})
    after = calibrated._left_out(name, part)
    monkeypatch.undo()
    calibrated._left_out.cache_clear()
    assert after[0] > before[0] + 5.0
    assert np.array_equal(after[others], before[others])
    other = next(known for known in KNOWN if known != name)
    assert not np.allclose(before, misses(name, part)), f"sizes are those of {other}"


def test_profile_drag_yaws_what_rolls_by_lift() -> None:
    """Yaw by the drag of the strips, cd = k cl^2, their lift by the lattice's circulation: Kutta and Joukowski, cl = 2 Gamma/(V c).

    What the estimate has beyond the lattice's own yaw, at a lift that all strips share.
    """
    airframe = load_airframe(FILES / "virginia.yaml")
    wing, CL, da = airframe.wing, 0.47, math.radians(5.0)
    k = section(wing.section.thickness, wing.section.camber, 15.0 * wing.mean_chord / 1.461e-5).cd_k
    left = {"aileron": FLAP_SMALL * GAP["aileron"]}
    slope = {
        "wing": section(wing.section.thickness, wing.section.camber, 15.0 * wing.mean_chord / 1.461e-5).slope
    }
    lattice = build_lattice(airframe, section_slope=slope).part("wing")
    up, down = solve(lattice, Conditions(da=np.array([da, -da])), effectiveness=left).circulation
    strips, rows = np.unique(np.round(lattice.control[:, 1], 9), return_inverse=True)
    more = np.bincount(rows.reshape(-1), up - down) / wing.mean_chord  # of the lift coefficient, by da
    edges = np.concatenate(([-0.5 * wing.span], 0.5 * (strips[1:] + strips[:-1]), [0.5 * wing.span]))
    drag = k * ((CL + more) ** 2 - (CL - more) ** 2) / 2.0 * np.diff(edges) * wing.mean_chord
    expected = float(np.sum(drag * strips)) / (wing.area * wing.span) / da  # right wing back: nose right

    found = from_geometry(airframe)
    bare = _fitted(_Shape(**{field: getattr(airframe, field) for field in _Shape._fields}))
    induced = bare.fit.shares[:, bare.loads.components.index("wing")]
    rows = [
        (found.share(name)["wing"] - induced[TERM_NAMES.index(name)]) * lift
        for name, lift in (("Cnda", 1.0), ("CndaCL", CL))
    ]
    least = 0.5 * found["CL0"]  # lift of least drag
    assert expected > 0.0
    assert sum(rows) == pytest.approx(expected * (CL - least) / CL, rel=0.06)
    turned = found.share("CnpCL")["wing"] - induced[TERM_NAMES.index("CnpCL")]
    assert turned == pytest.approx(rows[1] / CL * found.share("Clp")["wing"] / found.share("Clda")["wing"])


def test_downwash_is_as_doubtful_as_the_tailplane_is_large() -> None:
    """Less angle at the tailplane: less stiff by its slope and volume, and more lag."""
    for name in (*KNOWN, *GUESSED):
        airframe = load_airframe(FILES / f"{name}.yaml")
        known = from_geometry(airframe)
        move = dict(zip(NAMES, known.doubt[:, known.errors.index("downwash")], strict=True))
        stiffness = known.share("Cma")["tailplane"] / known["tail_alpha"]  # all the angle left
        assert move["tail_alpha"] == pytest.approx(-0.06)
        assert move["Cma"] == pytest.approx(move["tail_alpha"] * stiffness, rel=0.05)
        assert move["Cmad"] < 0.0 < move["CLad"]


@pytest.mark.study
def test_print_the_calibration(capsys: pytest.CaptureFixture[str]) -> None:
    """The table of DEVELOPERS.md."""
    with capsys.disabled():
        print()
        for names in (KNOWN, *((name,) for name in KNOWN), GUESSED, *((name,) for name in GUESSED)):
            for part in PARTS:
                table, out = (calibration(*names, part=part, left_out=left) for left in (False, True))
                print(
                    f"| {', '.join(names)} | {part} | {table.terms} | {table.one:.0f} / {table.two:.0f} % | {table.rms:.2f} "
                    f"| {out.one:.0f} / {out.two:.0f} % | {out.rms:.2f} |"
                )
    assert calibration(*KNOWN, part="lateral").terms == 26

"""Periods, damping and times of `check` against a linear model made here by other means.

Attitude is a small turning about body axes instead of Euler angles, slopes are differences of the equations of
motion taken here, and what is compared is the text.  Surfaces and propeller speed are held, as flyers feel it.
"""

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
from commanding import sixdof_here
from lopsided import FILE

from sixdof.flight.airplane import Airplane
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air
from sixdof.physics.motion import accelerations

LONGITUDINAL, LATERAL = (0, 2, 4, 7), (1, 3, 5, 6, 8)  # of u v w p q r and small turnings about x y z
HEIGHT = 100.0  # m
NUMBER = r"(-?\d+\.?\d*)"
SAID = {
    "oscillates": re.compile(rf"^(.+): period {NUMBER} s, damping ratio {NUMBER}"),
    "halves": re.compile(rf"^(.+): (?:falls to half in|time to half) {NUMBER} s"),
    "doubles": re.compile(rf"^(.+): (?:grows to twice in|time to double) {NUMBER} s"),
}


def turned(attitude: np.ndarray, turning: np.ndarray) -> np.ndarray:
    """Quaternion after one more small turning [rad] about body axes: the product with (1, turning / 2)."""
    w, v = attitude[0], attitude[1:]
    half = 0.5 * turning
    out = np.r_[w - v @ half, v + w * half + np.cross(v, half)]
    return out / np.linalg.norm(out)


def slopes(plane: np.void, speed: float) -> np.ndarray:
    """Matrix (9, 9) of small motions about level flight: slopes of u v w p q r and of the turnings."""
    air, rates = make_air(), np.empty(19)
    level = trim(plane, air, speed=speed, height=HEIGHT)
    accelerations(plane, air, level.state, level.targets, rates)
    assert np.max(np.abs(rates[[3, 4, 5, 10, 11, 12]])) < 1e-6, "level flight does not accelerate"

    def motion(x: np.ndarray) -> np.ndarray:
        state = level.state.copy()
        state[3:6] += x[:3]
        state[10:13] += x[3:6]
        state[6:10] = turned(state[6:10], x[6:])
        accelerations(plane, air, state, level.targets, rates)
        return np.r_[rates[3:6], rates[10:13], state[10:13]]

    step = 1e-5
    columns = [(motion(step * e) - motion(-step * e)) / (2.0 * step) for e in np.eye(9)]
    return np.stack(columns, axis=1)


def roots_by_name(A: np.ndarray) -> dict[str, complex]:
    """Roots [1/s] of the two planes of motion, by the names of textbooks; without the heading's zero."""
    slow, fast = np.split(
        np.array(sorted(np.linalg.eigvals(A[np.ix_(LONGITUDINAL, LONGITUDINAL)]), key=abs)), 2
    )
    lateral = sorted(np.linalg.eigvals(A[np.ix_(LATERAL, LATERAL)]), key=abs)
    assert abs(lateral[0]) < 1e-6, "a turn of the heading changes nothing"
    found: dict[str, complex] = {}
    for name, pair in (("phugoid", slow), ("short period", fast)):
        if abs(pair[0].imag) > 1e-9:
            found[name] = pair[np.argmax(pair.imag)]
        else:
            found |= {f"{name} 1": pair[1], f"{name} 2": pair[0]}
    real = [z for z in lateral[1:] if abs(z.imag) < 1e-9]
    assert len(real) == 2, "a spiral and a roll"
    found |= {"spiral": real[0], "roll": real[1]}
    found["Dutch roll"] = max(lateral, key=lambda z: z.imag)
    return found


def close(said: str, ours: float) -> bool:
    """Within what was printed, and a little for the slopes."""
    return abs(float(said) - ours) <= 0.51 * 10.0 ** -len(said.partition(".")[2]) + 2e-3 * abs(ours)


def agree(lines: list[str], roots: dict[str, complex]) -> set[str]:
    """Every line tells its root; which kinds of line there were."""
    kinds, names = set(), set()
    for line in lines:
        kind, match = next((k, m) for k, pattern in SAID.items() if (m := pattern.match(line)))
        root = roots[match[1]]
        if kind == "oscillates":
            # e^(s t) turns once in 2 pi / imag; damping ratio: of x'' + 2 zeta omega x' + omega^2 x = 0
            period, zeta = 2.0 * math.pi / root.imag, -root.real / math.hypot(root.real, root.imag)
            assert close(match[2], period) and close(match[3], zeta), (line, period, zeta)
        else:
            # half or twice of it is left where e^(s t) = 1/2 or 2
            time = math.log(0.5 if kind == "halves" else 2.0) / root.real
            assert root.imag == 0.0 and time > 0.0 and close(match[2], time), (line, time)
        kinds.add(kind)
        names.add(match[1])
    assert names == set(roots)
    return kinds


def of_check(folder: Path, path: Path) -> list[str]:
    return sixdof_here(folder, "check", str(path), "--no-picture", "--json").json["modes"]


def test_modes_of_the_lopsided_airplane(tmp_path: Path) -> None:
    """It halves, doubles and swings: all three ways of saying it."""
    plane = Airplane(str(FILE)).plane
    roots = roots_by_name(slopes(plane, 25.0))
    assert agree(of_check(tmp_path, FILE), roots) == set(SAID)


def test_a_swing_that_grows_has_a_negative_damping_ratio(tmp_path: Path) -> None:
    """The same airplane without damping in yaw, with a rolling that yaws it out of the turn, and dihedral."""
    path, text = tmp_path / "swings.yaml", FILE.read_text(encoding="utf-8")
    for term, value in {"Cnr": 0, "Cnp": -0.2, "Clb": -0.11, "CYb": -0.1, "CYr": 0, "Clp": -0.2}.items():
        text, changed = re.subn(rf"(?<=    {term}: )((?:{{value: )?)[-.\d]+", rf"\g<1>{value}", text)
        assert changed == 1
    path.write_text(text, encoding="utf-8")
    roots = roots_by_name(slopes(Airplane(str(path)).plane, 25.0))
    assert roots["Dutch roll"].real > 0.1
    lines = of_check(tmp_path, path)
    agree(lines, roots)
    assert any(re.match(r"Dutch roll: period .* damping ratio -0\.\d+", line) for line in lines)


def test_the_text_says_the_same_modes(tmp_path: Path) -> None:
    """Every line of the object is on the screen."""
    done = sixdof_here(tmp_path, "check", str(FILE), "--no-picture", "--all")
    text = " ".join(done.out.split())
    for line in of_check(tmp_path, FILE):
        assert line in text

"""How long a step may be: against the roots of the motion itself, and airplanes that no step follows."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from flying import DEMOS, ideal_servos, planes_of, script
from support import rates_of, state_of, targets_of

from sixdof.files.errors import InputError
from sixdof.flight.airplane import Airplane
from sixdof.flight.fly import fly_batch, steps_of
from sixdof.flight.linear import linearize, modes
from sixdof.flight.stiffness import LONGEST, longest_step, propeller_rate
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air
from sixdof.physics.record import STATE_NAMES

AIRCRAFT = Path(__file__).parent.parent / "aircraft"


def changed_file(folder: Path, name: str, change: Callable[[str], str]) -> Path:
    text = (AIRCRAFT / f"{name}.yaml").read_text(encoding="utf-8")
    assert change(text) != text
    path = folder / f"{name}.yaml"
    path.write_text(change(text), encoding="utf-8")
    return path


def with_propeller(inertia: str) -> Callable[[str], str]:
    return lambda text: text.replace("inertia: 1.8 g m2", f"inertia: {inertia}")


def hundredths(text: str) -> str:
    """All three moments of inertia a hundredth: no body has one that is more than the others together."""
    return re.sub(r"(I[xyz]{2}): ([\d.]+) kg m2", lambda m: f"{m[1]}: {0.01 * float(m[2]):.5f} kg m2", text)


@pytest.mark.parametrize("name", DEMOS)
def test_the_propeller_is_nowhere_quicker_than_said(name: str) -> None:
    """Slopes of its acceleration over its speed, by differences, from standstill to the never-exceed speed."""
    planes = planes_of(name)
    plane, row = planes[0], STATE_NAMES.index("propeller")

    def slope(V: float, omega: float, throttle: float) -> float:
        targets = targets_of(throttle=throttle)
        up, down = (
            rates_of(plane, make_air(rho=1.225), state_of(u=V, propeller=omega + d), targets)[row]
            for d in (0.5, -0.5)
        )
        return float(down - up)

    speeds, most = np.linspace(0.0, plane["never_exceed"], 12), 1.0 * plane["motor_no_load"]
    found = [slope(V, w, t) for V in speeds for w in np.linspace(1.0, most, 40) for t in (0.0, 0.5, 1.0)]
    said = propeller_rate(planes)[0]
    assert 0.6 * said < max(found) <= 1.02 * said, f"{max(found):.3g} of {said:.3g} 1/s"


@pytest.mark.parametrize("name", DEMOS)
def test_a_step_is_short_for_the_quickest_mode_at_the_highest_speed(name: str) -> None:
    """The quickest mode in level flight as fast as it goes, over the step: at most half of the method's 2.8."""
    planes, air = planes_of(name), make_air()
    for lighter in (1.0, 3.0):
        planes["Jxx"] *= lighter
        planes["Ixx"] /= lighter
        at_cruise = linearize(planes[0], air, trim(planes[0], air, speed=float(planes["cruise"][0]))).A
        (step,) = longest_step(planes, at_cruise[None])
        for share in (1.0, 1.4):
            steady = trim(planes[0], air, speed=share * float(planes["cruise"][0]))
            quickest = max(map(abs, modes(linearize(planes[0], air, steady)).values()))
            assert steady.converged and quickest * step < 1.4
        assert lighter == 1.0 or step < LONGEST


def test_steps_divide_the_frame() -> None:
    planes = np.repeat(planes_of("corvane"), 4)
    planes["longest_step"] = 0.02, 0.0199, 0.01, 0.003
    assert steps_of(planes).tolist() == [1, 2, 2, 7]
    planes["frame"] = 0.05
    assert steps_of(planes).tolist() == [3, 3, 5, 17]


def test_a_light_propeller_is_followed(tmp_path: Path) -> None:
    """A fortieth of the right inertia: many steps, and the same flight, for its speed is where it belongs either way."""
    light = Airplane(str(changed_file(tmp_path, "corvane", with_propeller("0.045 g m2"))))
    assert 10 <= steps_of(light.planes)[0] <= 16
    one, other = (
        fly_batch(ideal_servos(planes), [script("knife_edge", side) for side in ("right", "left")])
        for planes in (light.planes, planes_of("corvane"))
    )
    assert one.finished.all()
    assert np.max(np.abs(one.errors - other.errors)) < math.radians(1.0)


@pytest.mark.parametrize(
    ("change", "key", "said"),
    [
        (with_propeller("0.02 g m2"), "propeller.inertia", "its speed"),
        (lambda text: text.replace("total: 4.7 kg", "total: 4.7 g"), "mass.total", "its path"),
        (hundredths, "mass.Ixx", "its roll"),
    ],
)
def test_too_little_mass_or_inertia_is_refused_by_its_key(
    tmp_path: Path, change: Callable[[str], str], key: str, said: str
) -> None:
    path = changed_file(tmp_path, "corvane", change)
    with pytest.raises(InputError) as caught:
        _ = Airplane(str(path)).planes
    word = key.split(".")[1] + ":"
    (line,) = (i for i, row in enumerate(path.read_text(encoding="utf-8").splitlines()) if row.strip().startswith(word))  # fmt: skip
    text = str(caught.value)
    assert f"corvane.yaml:{line + 1}: {key}: " in text and said in text, text
    answers, least = map(float, re.findall(r"([\d.]+) ms", text))
    assert answers < least

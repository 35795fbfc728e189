"""How the package hangs together: what is passed about, how large the door is, what one row of a table does."""

from __future__ import annotations

import ast
import doctest
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from commanding import sixdof_here

import sixdof
from sixdof import Airplane
from sixdof.flight.blends import BLENDS, Blend, blend
from sixdof.study.ask import explore, fly, tune

PACKAGE = Path(sixdof.__file__).parent
#: How a parameter shows that it is one of an airplane's four parts.
PARTS = {
    "airframe": ({"airframe"}, {"Airframe"}), "derivatives": ({"known", "derivatives"}, {"Derivatives"}),
    "plane record": ({"plane", "planes"}, set()), "rate": ({"rate"}, set()),
}  # fmt: skip


def functions(folder: Path) -> Iterator[tuple[Path, ast.FunctionDef]]:
    for path in sorted(folder.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef):
                yield path, node


def parts_of(node: ast.FunctionDef) -> set[str]:
    """Which of the four parts of an airplane a function asks for one by one."""
    found = set()
    for arg in [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]:
        kind = ast.unparse(arg.annotation) if arg.annotation else ""
        for part, (names, kinds) in PARTS.items():
            if (arg.arg in names and kind not in ("float", "ChangeTexts")) or set(kind.split(" | ")) & kinds:
                found.add(part)
    return found


def test_nobody_carries_more_than_two_parts_of_an_airplane_about() -> None:
    """More than two of airframe, derivatives, plane record and rate: then pass the airplane."""
    many = {
        f"{path.name}:{node.name}": parts_of(node)
        for path, node in functions(PACKAGE)
        if path.name != "airplane.py" and len(parts_of(node)) > 2
    }
    assert not many, many


def test_the_counting_counts() -> None:
    [node] = ast.parse("def f(plane: np.void, airframe: Airframe, known: Derivatives, rate: str): ...").body
    assert isinstance(node, ast.FunctionDef) and len(parts_of(node)) == 4


def test_the_door_is_thin() -> None:
    """The command line parses, calls and prints: below 1850 lines, no body over 50."""
    files = list((PACKAGE / "cli").glob("*.py"))
    assert sum(len(f.read_text(encoding="utf-8").splitlines()) for f in files) < 1850
    for path, node in functions(PACKAGE / "cli"):
        body = node.body[1:] if ast.get_docstring(node) else node.body
        lines = body[-1].end_lineno - body[0].lineno + 1 if body else 0  # type: ignore[operator]
        assert lines <= 50, (path.name, node.name, lines)


def test_few_public_names_each_with_its_documentation() -> None:
    assert len(sixdof.__all__) <= 12
    for name in sixdof.__all__:
        text = getattr(sixdof, name).__doc__
        for part in ("Parameters\n", "Returns\n" if name != "Airplane" else "", "Raises\n", "Examples\n"):
            assert part in text, (name, part)


@pytest.mark.parametrize("name", sixdof.__all__)
def test_the_examples_of_public_names_run(name: str) -> None:
    home = sys.modules[getattr(sixdof, name).__module__]
    tests = doctest.DocTestFinder(recurse=False).find(getattr(sixdof, name), name, module=home)
    runner = doctest.DocTestRunner()
    tried = sum(runner.run(test).attempted for test in tests)
    assert tried and not runner.failures, name


def test_the_python_of_the_readme_runs_as_it_stands() -> None:
    text = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")
    [block] = re.findall(r"```python\n(.*?)```", text, flags=re.DOTALL)
    assert len(block.splitlines()) <= 14
    space: dict[str, object] = {}
    exec(block, space)
    track = space["track"]
    assert isinstance(space["roll"], np.ndarray) and len(space["roll"]) == len(track)  # type: ignore[arg-type]


CHOP = """sixdof_maneuver: 1
name: steady_dive
about: vertical dive, throttle closed; the rudder let go
sides: none
tunes: [throttle-rudder]
height: 350 m
speed: 70 %
flown: [free]
phases:
  - {name: level, time: 1 s, sticks: {throttle: hold}}
  - name: push over
    time: 2.6 s
    climb: -90 deg
    climb_rate: 45 deg/s
    keep_height: false
    sticks: {throttle: 0 %}
  - {name: settle, time: 2.4 s, keep_height: false, must_reach: true, sticks: {throttle: 0 %}}
  - name: dive
    time: 3 s
    keep_height: false
    measured: true
    errors: [sideslip]
    sticks: {rudder: test, throttle: 0 %}
"""


@pytest.fixture
def throttle_rudder() -> Iterator[None]:
    """A blend that the package does not have: a row of the table, for as long as a test runs."""
    BLENDS["throttle-rudder"] = Blend("throttle", "rudder", sides=("low",), most=0.3, off="landing")
    yield
    del BLENDS["throttle-rudder"]


@pytest.mark.usefixtures("throttle_rudder")
def test_a_row_and_a_maneuver_make_a_blend_tunable_flyable_explorable_and_sayable(tmp_path: Path) -> None:
    (tmp_path / "steady_dive.yaml").write_text(CHOP, encoding="utf-8")
    path = str(tmp_path / "steady_dive.yaml")
    airplane = Airplane("corvane")
    answer = tune(airplane, [path], airplanes=20, ceiling=350.0)
    [found] = answer.blends
    assert found.ratio.name == "throttle-rudder.low" and found.tested
    assert found.percent / 0.5 == pytest.approx(round(found.percent / 0.5))
    way = "RIGHT" if found.percent > 0 else "LEFT"
    if found.found and found.percent:
        assert found.words.startswith(f"closed throttle: rudder {abs(found.percent):g} % {way} (")
    # the same by looking: where the drift over a range goes through zero
    span = f"{found.exact_percent - 4:.0f}..{found.exact_percent + 4:.0f}"
    settings = explore(airplane, path, f"throttle-rudder.low={span}", count=17, ceiling=350.0).settings
    least = min(settings, key=lambda s: abs(s.drift))
    assert least.percent == pytest.approx(found.exact_percent, abs=0.75)
    assert {s.term for s in settings} == {"sideslip"}
    bare, with_it = (
        abs(fly(airplane, path, blends=specs, ceiling=350.0).maneuvers[0].drift_before)
        for specs in ((), [blend("throttle-rudder", {"low": found.exact_percent / 100.0})])
    )
    assert with_it < 0.5 * bare + 0.05, (bare, with_it)
    done = sixdof_here(
        tmp_path,
        "fly",
        "-m",
        "steady_dive.yaml",
        "-b",
        "throttle-rudder.low=2",
        "--ceiling",
        "350 m",
        "--no-pictures",
    )
    assert "rudder 2 % RIGHT" in done.out, done


def test_any_source_flies_to_any_target_and_files_of_blends_too(tmp_path: Path) -> None:
    words = ("fly", "-m", "level", "--no-pictures", "--json", "-b")
    [line] = sixdof_here(tmp_path, *words, "elevator-aileron.up=4").json["flown_with"]
    assert line.startswith("full up elevator: aileron 4 % RIGHT (")
    (tmp_path / "mine.yaml").write_text(
        "blends:\n  - {source: rudder, target: elevator, curve: [[-100 %, 6 % up], [-50 %, 1 % up], [0 %, 0 %], [100 %, 2 % up]],"
        " gate: {channel: throttle, below: 50 %}}\n"
    )
    lines = sixdof_here(tmp_path, *words, "mine.yaml").json["flown_with"]
    assert [line.partition(" (")[0] for line in lines] == [
        "full left rudder: elevator 6 % UP", "50 % left rudder: elevator 1 % UP", "full right rudder: elevator 2 % UP",
    ]  # fmt: skip


def test_a_blend_of_many_points_is_tuned_point_by_point() -> None:
    """A V with a point at half rudder: half as far out as the end, it needs about half as much there."""
    row = BLENDS["rudder-elevator"]
    spec = Blend("rudder", "elevator", knots={"half-left": -0.5}).points({"left": 0.08, "half-left": 0.03})
    assert spec == ((-1.0, 0.08), (-0.5, 0.03), (0.0, 0.0), (1.0, 0.0)) and row.knots == {}

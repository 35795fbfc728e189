"""`sixdof new`: the file loads as written and with every optional line, the same in both systems of units."""

from __future__ import annotations

import math
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from commanding import everything_in, sixdof_here

from sixdof.airframe.load import load_airframe
from sixdof.airframe.model import Airframe, schema
from sixdof.files.yamlio import read_yaml

UNITS = ("metric", "inch")


def made(folder: Path, units: str, *, optional: bool = False) -> Path:
    """Write the file with the command; ``optional`` takes the marks off the optional lines."""
    done = sixdof_here(folder, "new", units, "--units", units)
    assert (done.code, done.err) == (0, "") and f"sixdof check {units}.yaml" in done.out
    path = folder / f"{units}.yaml"
    if optional:
        text = path.read_text(encoding="utf-8").replace("#> ", "")
        text = re.sub(r"(cg: \{aft: [^,]+), up: [^}]+\}", r"\1}", text)  # as the file tells to do
        path.write_text(text, encoding="utf-8")
    return path


def numbers(value: Any, key: str = "") -> dict[str, float]:
    """All numbers of a loaded airplane by their place."""
    if isinstance(value, bool) or value is None or isinstance(value, str):
        return {}
    if isinstance(value, (int, float)):
        return {key: float(value)}
    items = value.items() if isinstance(value, dict) else enumerate(value)
    return {k: v for name, child in items for k, v in numbers(child, f"{key}.{name}").items()}


def fields(airplane: Airframe) -> dict[str, Any]:
    return {name: _plain(getattr(airplane, name)) for name in type(airplane).model_fields}


def _plain(value: Any) -> Any:
    if hasattr(value, "model_dump"):
        return {name: _plain(getattr(value, name)) for name in type(value).model_fields}
    if isinstance(value, dict):
        return {name: _plain(child) for name, child in value.items()}
    return [_plain(child) for child in value] if isinstance(value, (list, tuple)) else value


@pytest.mark.parametrize("optional", [False, True])
@pytest.mark.parametrize("units", UNITS)
def test_it_loads_without_a_warning(units: str, optional: bool, tmp_path: Path) -> None:
    path = made(tmp_path, units, optional=optional)
    airplane = load_airframe(path)
    assert airplane.name == units and airplane.invented and airplane.warnings == ()
    assert airplane.derivatives is None
    assert airplane.mass.inertia_source == (("swing" if optional else "usual"),) * 3
    data = read_yaml(path).data
    jsonschema.Draft202012Validator(schema()).validate(data)
    assert data == yaml.safe_load(path.read_text(encoding="utf-8")), "means the same to a plain reader"


@pytest.mark.parametrize("units", UNITS)
def test_it_is_short_lines_in_its_own_units(units: str, tmp_path: Path) -> None:
    text = made(tmp_path, units).read_text(encoding="utf-8")
    assert max(map(len, text.splitlines())) <= 80 and text.isascii()
    assert not re.search(r"<[^>]*>", text), "no place is left unfilled"
    values = re.sub(
        r"(?m)^\s*#(?!>).*$|14 in|7 in|g m2|[64] g\b", "", text
    )  # sizes printed on propellers; load factors
    alien = r"\d (in|oz|ft|mph|lbf)\b" if units == "metric" else r"\d (mm|g|m|m/s|N)\b"
    assert not re.search(alien, values), re.findall(rf".*{alien}.*", values)


@pytest.mark.parametrize("optional", [False, True])
def test_both_describe_the_same_airplane_within_rounding(optional: bool, tmp_path: Path) -> None:
    metric, inch = (numbers(fields(load_airframe(made(tmp_path, u, optional=optional)))) for u in UNITS)
    assert metric.keys() == inch.keys()
    for key, value in metric.items():
        # a hundredth of an inch, a tenth of an ounce on grams, a mile an hour
        near = 0.25 if ".speeds" in key else 2e-2 * abs(value) + 3e-4
        assert math.isclose(value, inch[key], abs_tol=near), f"{key}: {value} in mm, {inch[key]} in inches"


def test_what_it_says_about_dangers_is_there(tmp_path: Path) -> None:
    text = re.sub(r"\s*\n# ?", " ", made(tmp_path, "metric").read_text(encoding="utf-8"))
    for words in (
        "a propeller maims", "propeller off", "tied down", "nobody below", "away from people", "local law",
        "Leave this true until every number is yours", "t = c sin(angle)",
    ):  # fmt: skip
        assert words in text, words


def test_throw_table_and_example_are_right(tmp_path: Path) -> None:
    """t = c sin(angle): 50 mm and 20 deg are 17.1 mm (common arithmetic of the trade)."""
    text = made(tmp_path, "metric").read_text(encoding="utf-8")
    shares, degrees = (re.findall(r"[\d.]+", line) for line in re.findall(r"#   (?:t/c|deg) (.*)", text))
    assert [f"{math.sin(math.radians(float(d))):.2f}" for d in degrees] == shares and len(shares) == 7
    assert "17.1 mm on a chord of 50 mm are 20 deg" in text.replace("<", "")


def test_never_over_another_file(tmp_path: Path) -> None:
    assert sixdof_here(tmp_path, "new", "mine", "--json").json == {"written": "mine.yaml"}
    (tmp_path / "mine.yaml").write_text("precious", encoding="utf-8")
    before = everything_in(tmp_path)
    for name in ("mine", "mine.yaml", "./mine"):
        done = sixdof_here(tmp_path, "new", name)
        assert done.code == 2 and done.out == "" and done.err.count("\n") == 1
        assert "mine.yaml: exists already" in done.err
    assert everything_in(tmp_path) == before


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("",), "letters, digits, - and _"),
        (("two words",), "got two words, expected a name"),
        (("a" * 41,), "at most 40"),
        (("../",), "letters, digits, - and _"),
        (("nowhere/mine",), "nowhere/mine.yaml: cannot be written"),
        (("mine", "--units", "inches"), '"inch"'),
        ((), "requires an argument"),
    ],
)
def test_bad_names(words: tuple[str, ...], says: str, tmp_path: Path) -> None:
    done = sixdof_here(tmp_path, "new", *words)
    assert done.code == 2 and done.out == "" and done.err.count("\n") == 1, done
    assert says in done.err, done.err
    assert list(tmp_path.iterdir()) == [], "nothing written"


def test_a_name_that_yaml_would_take_for_something_else(tmp_path: Path) -> None:
    for name in ("7", "null", "true", "010"):
        assert sixdof_here(tmp_path, "new", name).code == 0
        assert load_airframe(tmp_path / f"{name}.yaml").name == name


def test_a_write_that_fails_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from sixdof.airframe import template

    monkeypatch.setattr(template, "new_text", lambda *_: "\ud800")  # cannot be encoded
    with pytest.raises(UnicodeEncodeError):
        template.write_new(str(tmp_path / "mine"))
    assert list(tmp_path.iterdir()) == []

"""The aircraft file: the demos load, every bad value is refused in its place, in one line."""

from __future__ import annotations

import hashlib
import math
from pathlib import Path

import jsonschema
import pytest
import yaml
from pydantic import ValidationError

from sixdof.airframe.describe import stick_words
from sixdof.airframe.load import list_airframes, load_airframe
from sixdof.airframe.model import schema
from sixdof.files.errors import InputError
from sixdof.files.yamlio import read_yaml

FILES = Path(__file__).parent / "files"
AIRCRAFT = Path(__file__).parent.parent / "aircraft"
DEMOS = ("corvane", "fenlark", "tessel")


def edited(tmp_path, *changes, demo="corvane"):
    """Write a demo file, or that with stated derivatives, with texts replaced; each must be there exactly once."""
    text = ((FILES if demo == "stated" else AIRCRAFT) / f"{demo}.yaml").read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} is {text.count(old)} times in {demo}"
        text = text.replace(old, new)
    path = tmp_path / "edited.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def line_of(path, part):
    return next(n for n, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1) if part in line)


@pytest.mark.parametrize("name", DEMOS)
def test_demo_loads(name):
    airplane = load_airframe(AIRCRAFT / f"{name}.yaml")
    assert airplane.name == name and airplane.invented and airplane.warnings == ()
    assert airplane.sha256 == hashlib.sha256(Path(airplane.path).read_bytes()).hexdigest()
    assert airplane.default_rate == next(iter(airplane.rates))


def test_values_arrive_in_si_and_body_axes():
    airplane = load_airframe(AIRCRAFT / "corvane.yaml")
    assert airplane.mass.m == 4.7
    assert airplane.mass.cg == pytest.approx((-0.666, 0.0, 0.010))
    assert airplane.wing.root == pytest.approx((-0.5, 0.0, 0.035))
    assert airplane.wing.panels[0].dihedral == pytest.approx(math.radians(1))
    assert airplane.body[3].x == pytest.approx(-0.75)
    assert airplane.body[3].top == pytest.approx(-0.215) and airplane.body[3].bottom == pytest.approx(0.165)
    assert airplane.propeller.clockwise is True
    assert airplane.propeller.diameter == pytest.approx(20.5 * 0.0254)
    assert airplane.propeller.inertia == pytest.approx(0.0018)
    assert airplane.motor.static_speed == pytest.approx(5900 * 2 * math.pi / 60)
    assert airplane.motor.no_load == pytest.approx(1.25) and airplane.motor.idle == 0.0
    assert airplane.rates["normal"].rudder.left == pytest.approx(math.radians(40))
    assert airplane.rates["normal"].aileron.expo == pytest.approx(0.2)
    assert airplane.rates["normal"].flap.down == 0.0
    assert airplane.limits.g_positive == 10.0
    assert airplane.radio.frame == 0.02
    assert airplane.derivatives is None


def test_stated_derivatives_arrive_with_unit_and_doubt():
    stated = load_airframe(FILES / "stated.yaml").derivatives
    assert stated.complete and stated.values["alpha_stall"].value == pytest.approx(math.radians(14))
    assert stated.values["Cma"].value == -0.43 and stated.values["Cma"].sigma == 0.2


def test_one_servo_for_all_and_an_exception():
    servos = load_airframe(AIRCRAFT / "corvane.yaml").servos
    assert servos.aileron == servos.elevator == servos.flap
    assert (
        servos.rudder.rate == pytest.approx(math.radians(400))
        and servos.rudder.lag == servos.aileron.lag == 0.015
    )


def test_loaded_airplane_is_frozen():
    airplane = load_airframe(AIRCRAFT / "fenlark.yaml")
    with pytest.raises(ValidationError, match="frozen"):
        airplane.mass.m = 1.0


@pytest.mark.parametrize(
    ("old", "new", "key", "says"),
    [
        ("total: 4.7 kg", "totl: 4.7 kg", "mass.totl", "unknown key; did you mean total?"),
        ("about: ", "abuot: ", "abuot", "did you mean about?"),
        (
            "total: 4.7 kg",
            "total: 4.7",
            "mass.total",
            'without a unit, expected a mass with its unit (kg, g, lb, oz), for example "4.7 kg"',
        ),
        ("total: 4.7 kg", "total: 4.7 mm", "mass.total", "another kind of value: length; expected a mass"),
        ("total: 4.7 kg", "total: 4,7 kg", "mass.total", 'decimal comma; write "4.7 kg"'),
        ("{aft: 666 mm, up", "{aft: 0,666 m, up", "mass.cg.666 m", "a decimal comma? write a point"),
        ("up: -10 mm}        #", "up: \u221210 mm}  #", "mass.cg.up", 'ASCII hyphen; write "-10 mm"'),
        ("total: 4.7 kg", "total: -4.7 kg", "mass.total", "got -4.7 kg, expected more than 0 kg"),
        ("total: 4.7 kg", "total: 0 kg", "mass.total", "expected more than 0 kg"),
        ("total: 4.7 kg", "total: nan kg", "mass.total", "not a finite number"),
        ("total: 4.7 kg", "total: inf kg", "mass.total", "not a finite number"),
        ("total: 4.7 kg", "total: .nan", "mass.total", "not a finite number"),
        ("total: 4.7 kg", "total: -.inf", "mass.total", "not a finite number"),
        ("total: 4.7 kg", "total: yes", "mass.total", 'got "yes", expected a mass'),
        ("total: 4.7 kg", "total: 12:30", "mass.total", 'got "12:30", expected a mass'),
        ("total: 4.7 kg", "total: 010", "mass.total", "leading zero"),
        ("total: 4.7 kg", "total: 4.7 kg\n  total: 4.8 kg", "mass.total", "already on line"),
        ("Ixx: 0.28 kg m2", "Ixx: -0.28 kg m2", "mass.Ixx", "expected more than 0"),
        (
            "Izz: 0.86 kg m2",
            "Izz: 0.91 kg m2",
            "mass.Izz",
            "0.91 kg m2 is more than the other two together (0.9 kg m2)",
        ),
        ("Ixx: 0.28 kg m2", "Ixx: 1.5 kg m2", "mass.Ixx", "more than the other two together"),
        (
            "Izz: 0.86 kg m2",
            "Izz: 0.86 kg m2\n  Ixz: 0.5 kg m2",
            "mass",
            "the products Ixz, Ixy, Iyz are too large",
        ),
        ("invented: true", "invented: on", "invented", "got on, expected true or false"),
        ("invented: true", "invented: 1", "invented", "got 1, expected true or false"),
        ("name: corvane", "name: 7", "name", "expected text"),
        ("sixdof: 1 ", "sixdof: 2 ", "sixdof", "got 2, expected 1"),
        ("{span: 1000 mm", "{span: 0 mm", "wing.panels[0].span", "expected at least 0.01 mm"),
        ("thickness: 11 %", "thickness: 0.11", "wing.section.thickness", "without a unit, expected"),
        ("thickness: 11 %", "thickness: 111 %", "wing.section.thickness", "expected at most 100 %"),
        (
            "root: {aft: 500 mm, up: -35 mm}",
            "root: {aft: 500 mm, up: -35 mm, right: 50 mm}",
            "wing.root.right",
            "off the center line",
        ),
        (
            "root: {aft: 500 mm, up: -35 mm}",
            "root: 500 mm",
            "wing.root",
            "expected a block of keys: aft, up, right",
        ),
        ("aft: 1050 mm", "aft: 700 mm", "body[4].aft", "not behind the one before; list them nose to tail"),
        (
            "{aft: 0 mm, top: 45 mm, bottom: -45 mm",
            "{aft: 0 mm, top: -46 mm, bottom: -45 mm",
            "body[0].top",
            "the top lies below the bottom",
        ),
        (
            "inboard: 130 mm, outboard: 970 mm",
            "inboard: 970 mm, outboard: 130 mm",
            "controls.aileron.outboard",
            "swap them",
        ),
        ("outboard: 970 mm", "outboard: 1970 mm", "controls.aileron.outboard", "reaches 1000 mm"),
        (
            "aileron: {chord: 75 mm",
            "aileron: {chord: 750 mm",
            "controls.aileron.chord",
            "wider than the panel",
        ),
        ("root: {aft: 1440 mm", "root: {aft: 200 mm", "tailplane", "not behind the wing"),
        ("blades: 2", "blades: two", "propeller.blades", "got two, expected a whole number"),
        ("turns: clockwise", "turns: clokwise", "propeller.turns", "did you mean clockwise?"),
        ("kind: electric", "kind: turbine", "motor.kind", "known here: electric, engine"),
        ("no_load: 125 %", "no_load: 90 %", "motor.no_load", "expected more than 100 %"),
        (
            "elevator: {up: 13 deg",
            "elevator: {up: 75 deg",
            "rates.normal.elevator.up",
            "expected at most 60 deg",
        ),
        (
            "elevator: {up: 13 deg",
            "elevator: {up: 0 deg",
            "rates.normal.elevator.up",
            "expected more than 0 deg",
        ),
        (
            "elevator: {up: 13 deg",
            "elevator: {up: -14 deg",
            "rates.normal.elevator.up",
            "expected more than 0 deg",
        ),
        (
            "elevator: {up: 13 deg",
            "elevator: {left: 14 deg",
            "rates.normal.elevator.left",
            "unknown key",
        ),
        ("  normal:\n    aileron", "  normal:\n    aielron", "rates.normal.aielron", "did you mean aileron?"),
        ("all: {rate: 350 deg/s, lag", "all: {lag", "servos.all.rate", "this key is missing; give it here"),
        (
            "all: {rate: 350 deg/s, lag: 15 ms",
            "all: {rate: 350 deg/s, lag: 15 m",
            "servos.all.lag",
            "another kind of value: length",
        ),
        ("stall: 11.5 m/s", "stall: 28 m/s", "speeds.cruise", "below the stall speed"),
        ("never_exceed: 55 m/s", "never_exceed: 20 m/s", "speeds.never_exceed", "below the cruise speed"),
        ("g_positive: 10 g", "g_positive: 10", "limits.g_positive", 'for example "10 g"'),
        ("stick_mode: 2", "stick_mode: 5", "radio.stick_mode", "got 5, expected 1, 2, 3 or 4"),
        ("blends: []", "trims: {elevator: 1 % upp}", "radio.trims.elevator", "did you mean up?"),
        ("blends: []", "trims: {elevator: -1 % up}", "radio.trims.elevator", 'write "1 % down"'),
        ("    CLq: 3.8", "    CLqq: 3.8", "derivatives.values.CLqq", "did you mean CLq?"),
        (
            "    CLq: 3.8",
            "    CLq: 3.8 deg",
            "derivatives.values.CLq",
            "got 3.8 deg, expected a plain number",
        ),
        ("    CLq: 3.8", "    CLq: true", "derivatives.values.CLq", "expected a plain number"),
        (
            "    alpha_stall: 14 deg",
            "    alpha_stall: 14",
            "derivatives.values.alpha_stall",
            "without a unit, expected",
        ),
        (
            "    alpha_max: 20 deg",
            "    alpha_max: 20 %",
            "derivatives.values.alpha_max",
            "another kind of value: share",
        ),
        (
            "    fin_arm: 0.90 m",
            "    fin_arm: 0.90",
            "derivatives.values.fin_arm",
            "without a unit, expected",
        ),
        (
            "sigma: 0.3,",
            "sigma: -0.3,",
            "derivatives.values.CLa.sigma",
            "expected a standard deviation of 0 or more",
        ),
        ("Cndr: {value: -0.115", "Cndr: {value: 0.115", "derivatives.values.Cndr", "Cndr * CYdr < 0"),
        (
            "Clp: {value: -0.44",
            "Clp: {value: 0.44",
            "derivatives.values.Clp",
            "expected 0 or less: roll is damped",
        ),
        ("Cmq: {value: -11.8", "Cmq: {value: 11.8", "derivatives.values.Cmq", "pitch is damped"),
        ("Cnr: {value: -0.15", "Cnr: {value: 0.15", "derivatives.values.Cnr", "yaw is damped"),
        (
            "CLa: {value: 4.78",
            "CLa: {value: -4.78",
            "derivatives.values.CLa",
            "more angle of attack gives more lift",
        ),
        ("CLa: {value: 4.78", "CLa: {value: 0", "derivatives.values.CLa", "more than 0"),
        ("Cmde: {value: -1.33", "Cmde: {value: 1.33", "derivatives.values.Cmde", "pushes the nose down"),
        ("area: 60 dm2", "area: 60 m", "derivatives.reference.area", "another kind of value: length"),
        ("name: corvane", 'name: "cor\\nvane"', "name", "expected one line of text"),
        (
            "    - {span: 320 mm, root_chord: 180 mm, tip_chord: 120 mm, sweep: 40 mm}",
            "      []",
            "tailplane.panels",
            "got a list of 0, expected at least 1",
        ),
    ],
)
def test_bad_value_is_refused_in_its_place(tmp_path, old, new, key, says):
    path = edited(tmp_path, (old, new), demo="stated" if key.startswith("derivatives") else "corvane")
    with pytest.raises(InputError) as caught:
        load_airframe(path)
    text = str(caught.value)
    assert "\n" not in text
    assert text.startswith(f"{path}:")
    place, message = text.removeprefix(f"{path}:").split(f": {key}: ")
    assert says in message
    changed = path.read_text(encoding="utf-8").splitlines()[int(place) - 1]
    home, last = key.rsplit(".", 1) if "." in key else ("", key)
    assert last.split("[")[0] in changed or home.rsplit(".", 1)[-1] in changed


def test_missing_key_and_how_many_more(tmp_path):
    path = edited(tmp_path, ("blades: 2", "# blades"), ("kind: electric", "# kind"))
    with pytest.raises(InputError, match=r"propeller\.blades: this key is missing; add it \(and 1 more\)"):
        load_airframe(path)


def test_flap_needs_a_throw_in_every_rate(tmp_path):
    rudder = "    rudder: {left: 22 deg, right: 22 deg, expo: 20 %}\n"
    path = edited(tmp_path, (f"{rudder}    flap: {{down: 20 deg}}\n", rudder), demo="fenlark")
    with pytest.raises(InputError, match=r"rates\.soft\.flap: .*give its throw"):
        load_airframe(path)


def test_no_whole_file_but_a_list_or_a_word(tmp_path):
    for content in ("- 1\n- 2\n", "word\n", "~\n"):
        path = tmp_path / "other.yaml"
        path.write_text(content)
        with pytest.raises(InputError, match=r"other\.yaml:1: got .*, expected a block of keys"):
            load_airframe(path)


@pytest.mark.parametrize(("aft", "behind"), [("662 mm", 3), ("682 mm", 23)])
def test_cg_behind_neutral_point_warns(tmp_path, aft, behind):
    """Neutral point by hand: 631 + 0.43/4.78 * 308 = 658.7 mm aft."""
    airplane = load_airframe(edited(tmp_path, ("cg: {aft: 653 mm", f"cg: {{aft: {aft}"), demo="stated"))
    (warning,) = airplane.warnings
    assert "behind the neutral point" in warning and "move weight forward" in warning
    found = float(warning.split(" mm ")[0].split()[-1])
    assert found == pytest.approx(float(aft.split()[0]) - 658.7, abs=1.01), f"found {found}, wanted {behind}"


def test_cg_before_neutral_point_does_not_warn(tmp_path):
    assert (
        load_airframe(edited(tmp_path, ("cg: {aft: 653 mm", "cg: {aft: 656 mm"), demo="stated")).warnings
        == ()
    )


def test_lookup_order(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "aircraft").mkdir()
    own = edited(tmp_path, ("total: 4.7 kg", "total: 4.1 kg"))
    assert load_airframe("corvane").mass.m == 4.7  # package or source tree
    own.rename(tmp_path / "aircraft" / "corvane.yaml")
    assert load_airframe("corvane").mass.m == 4.1  # ./aircraft comes first
    assert ("corvane", "aircraft/corvane.yaml") in [row[:2] for row in list_airframes()]
    (tmp_path / "aircraft" / "broken.yaml").write_text("a: [")
    assert "not YAML" in {name: about for name, _, about in list_airframes()}["broken"]


@pytest.mark.parametrize("name", ["corvan", "Corvane", "x", "", "nul\0", "a" * 5000, "corvane\n"])
def test_unknown_name(name):
    with pytest.raises(InputError) as caught:
        load_airframe(name)
    text = str(caught.value)
    assert "corvane" in text and "\n" not in text


def test_unknown_path():
    with pytest.raises(InputError, match="cannot be read"):
        load_airframe("no/such/plane.yaml")


@pytest.mark.parametrize("name", DEMOS)
def test_schema_accepts_the_demos(name):
    made = schema()
    jsonschema.Draft202012Validator.check_schema(made)
    jsonschema.Draft202012Validator(made).validate(read_yaml(AIRCRAFT / f"{name}.yaml").data)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("total: 4.7 kg", "totl: 4.7 kg"),
        ("total: 4.7 kg", "total: 4.7"),
        ("turns: clockwise", "turns: left"),
        ("blades: 2", "blades: two"),
        ("    CLq: 3.8", "    CLqq: 3.8"),
        ("    CLq: 3.8", "    CLq: some"),
        ("root: {aft: 500 mm, up: -35 mm}", "root: {aft: 500 mm}"),
        ("blends: []", "blends: [{source: rudder, target: sun, left: 3 % up}]"),
        ("sixdof: 1 ", "sixdof: 2 "),
    ],
)
def test_schema_refuses_what_the_loader_refuses(tmp_path, old, new):
    path = edited(tmp_path, (old, new), demo="stated" if "CLq" in old else "corvane")
    assert not jsonschema.Draft202012Validator(schema()).is_valid(read_yaml(path).data)
    with pytest.raises(InputError):
        load_airframe(path)


def test_demo_files_mean_the_same_to_a_plain_yaml_reader():
    """Nothing in the demos relies on our reading of scalars."""
    for name in DEMOS:
        path = AIRCRAFT / f"{name}.yaml"
        assert read_yaml(path).data == yaml.safe_load(path.read_text(encoding="utf-8"))


def test_stick_words():
    airplane = load_airframe(AIRCRAFT / "corvane.yaml")
    lines = stick_words(airplane, "normal")
    assert lines[0].startswith("propeller off or motor unplugged")
    assert (
        "right aileron stick: right aileron goes UP 18.0°, left aileron goes DOWN 17.0°; "
        "seen from behind the airplane rolls right" in lines
    )
    assert any(line.startswith("throttle: propeller off or motor unplugged") for line in lines)
    assert not any("flap" in line for line in lines)
    assert any(
        line.startswith("flap") for line in stick_words(load_airframe(AIRCRAFT / "fenlark.yaml"), "soft")
    )

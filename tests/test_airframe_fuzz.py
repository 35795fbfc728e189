"""Whatever is fed to the loader, it loads or raises InputError, nothing else."""

from __future__ import annotations

import copy
import json
import math
from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sixdof.airframe.load import load_airframe, load_blends
from sixdof.airframe.model import Airframe
from sixdof.airframe.template import new_text
from sixdof.files.errors import InputError

TEXT = (Path(__file__).parent.parent / "aircraft" / "fenlark.yaml").read_text(encoding="utf-8")
PLAIN = yaml.safe_load(TEXT)
quick = settings(deadline=None, max_examples=70, suppress_health_check=[HealthCheck.too_slow])


def paths_of(node, here=()):
    """Every key path of a tree."""
    items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, child in items:
        yield (*here, key)
        yield from paths_of(child, (*here, key))


PATHS = list(paths_of(PLAIN))
#: a new file with its optional lines: swings, hang test, lateral balance, timed passes
MEASURED = yaml.safe_load(new_text("any").replace("#> ", ""))
del MEASURED["mass"]["cg"]["up"]
MEASURED_PATHS = list(paths_of(MEASURED))
odd = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=12), st.just([]), st.just({}),
    st.sampled_from(["1 m", "-1 kg", "1e300 m", "1e-300 m", "0 %", "90 deg", "3 % up", "on", "", "0.01 mm"]),
    st.lists(st.integers(), max_size=3), st.dictionaries(st.text(max_size=5), st.integers(), max_size=2),
)  # fmt: skip


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return tmp_path_factory.mktemp("fuzz") / "any.yaml"


def loads_or_complains(load, path, content):
    """Load; True when it loaded.  A complaint is one printable line that names the file."""
    path.write_bytes(content)
    try:
        made = load(path)
    except InputError as error:
        text = str(error)
        assert "any.yaml" in text and text.isprintable()
        text.encode("utf-8")
        return False
    if isinstance(made, Airframe):
        for surface in (made.wing, made.tailplane, made.fin):
            assert surface.area > 0.0 and math.isfinite(sum(surface.quarter_chord) + surface.mean_chord)
    return True


@quick
@given(content=st.binary(max_size=200))
def test_any_bytes(path, content):
    assert not loads_or_complains(load_airframe, path, content)
    loads_or_complains(load_blends, path, b"blends:\n" + content)


@quick
@given(content=st.text(max_size=200))
def test_any_text(path, content):
    loads_or_complains(load_airframe, path, content.encode("utf-8", "surrogatepass"))


@quick
@given(content=st.text(alphabet="ab:-[]{},&*!|>'\"%@`#?~ \n\t0123.\\xuU", max_size=80))
def test_yaml_like_text(path, content):
    loads_or_complains(load_airframe, path, content.encode())
    loads_or_complains(load_airframe, path, f"sixdof: 1\nwing: {content}".encode())


@quick
@given(where=st.sampled_from(PATHS), value=odd)
def test_odd_value_anywhere_in_a_demo(path, where, value):
    plane = copy.deepcopy(PLAIN)
    node = plane
    for key in where[:-1]:
        node = node[key]
    node[where[-1]] = value
    loads_or_complains(load_airframe, path, json.dumps(plane).encode())


@quick
@given(where=st.sampled_from(MEASURED_PATHS), value=odd)
def test_odd_value_anywhere_among_measurements(path, where, value):
    plane = copy.deepcopy(MEASURED)
    node = plane
    for key in where[:-1]:
        node = node[key]
    node[where[-1]] = value
    loads_or_complains(load_airframe, path, json.dumps(plane).encode())


@quick
@given(where=st.sampled_from(PATHS))
def test_any_key_left_out_of_a_demo(path, where):
    plane = copy.deepcopy(PLAIN)
    node = plane
    for key in where[:-1]:
        node = node[key]
    del node[where[-1]]
    loads_or_complains(load_airframe, path, json.dumps(plane).encode())


@quick
@given(
    text=st.sampled_from([TEXT, new_text("any").replace("#> ", "")]), where=st.floats(0.0, 1.0),
    length=st.integers(0, 30), new=st.text(max_size=6),
)  # fmt: skip
def test_any_slip_of_the_editor(path, text, where, length, new):
    place = int(where * len(text))
    content = text[:place] + new + text[place + length :]
    loads_or_complains(load_airframe, path, content.encode("utf-8", "surrogatepass"))


def test_the_fuzz_starts_from_a_file_that_loads(path):
    assert loads_or_complains(load_airframe, path, json.dumps(PLAIN).encode())
    assert loads_or_complains(load_airframe, path, json.dumps(MEASURED).encode())

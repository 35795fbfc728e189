"""The strict YAML reader: what it takes, what it refuses, and that it says so in one line."""

from __future__ import annotations

import json
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sixdof.files.errors import InputError
from sixdof.files.yamlio import read_yaml

TEXT_THAT_STAYS = [
    "on",
    "off",
    "yes",
    "no",
    "y",
    "12:30",
    "1_000",
    "2026-11-25",
    "=",
    "<<",
    "nan",
    "inf",
    "0b1",
]


def read(tmp_path, content):
    path = tmp_path / "file.yaml"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_yaml(path)


def refused(tmp_path, content):
    with pytest.raises(InputError) as caught:
        read(tmp_path, content)
    text = str(caught.value)
    assert "\n" not in text and "file.yaml" in text
    return text


@pytest.mark.parametrize("word", TEXT_THAT_STAYS)
def test_traps_stay_text(tmp_path, word):
    assert read(tmp_path, f"key: {word}\n").data == {"key": word}


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("true", True),
        ("false", False),
        ("~", None),
        ("", None),
        ("12", 12),
        ("-3", -3),
        ("+.5", 0.5),
        ("1e3", 1000.0),
        ("0x1F", 31),
        ("0o17", 15),
        ("0", 0),
        ("0.5", 0.5),
        ('"12"', "12"),
        ("'true'", "true"),
        ("|\n  a\n", "a\n"),
    ],
)
def test_core_scalars(tmp_path, text, value):
    found = read(tmp_path, f"key: {text}").data["key"]
    assert found == value and type(found) is type(value)


def test_lines_of_keys(tmp_path):
    document = read(tmp_path, "a: 1\nb:\n  c: [1,\n    2]\n  d: {e: 3}\n")
    assert [document.line(key) for key in [("a",), ("b",), ("b", "c"), ("b", "c", 1), ("b", "d", "e")]] == [
        1,
        2,
        3,
        4,
        5,
    ]
    assert document.line(("b", "d", "not there", 3)) == 5
    assert document.line(("nowhere",)) == 1


def test_byte_order_mark_is_no_key(tmp_path):
    assert read(tmp_path, b"\xef\xbb\xbfa: 1\n").data == {"a": 1}


@pytest.mark.parametrize(
    ("content", "line", "says"),
    [
        ("a: 1\nb: 010\n", 2, "write 10"),
        ("a: -007\n", 1, "write -7"),
        ("a: 00.5\n", 1, "write 0.5"),
        ("a: 1\nb: .nan\n", 2, "not a finite number"),
        ("a: .inf\n", 1, "not a finite number"),
        ("a: -.INF\n", 1, "not a finite number"),
        ("a: 1e999\n", 1, "not a finite number"),
        ("a: " + "9" * 5000 + "\n", 1, "18 digits"),
        ("a: 1\nb: 2\na: 3\n", 3, "already on line 1"),
        ("a: {b: 1, b: 2}\n", 1, "a.b: this key is already"),
        ("a: &x 1\nb: *x\n", 1, "anchor or alias"),
        ("b: *x\n", 1, "anchor or alias"),
        ("a: !!python/name:os.system\n", 1, "tag"),
        ("a: !!float 3\n", 1, "tag"),
        ("a: ! 3\n", 1, "tag"),
        ("%YAML 1.1\n---\na: 1\n", 1, "directive"),
        ("a: 1\n---\nb: 2\n", 2, "a second document"),
        ("{a: 1} }\n", 1, "not YAML"),
        ("", 1, "empty"),
        ("# only a remark\n", 1, "empty"),
        ("a:\n\tb: 1\n", 2, "not tabs"),
        ("a: [1, 2\nb: 3\n", 2, "not YAML"),
        ("? [1, 2]\n: 3\n", 1, "expected a word"),
        (b"\x00\x01\x02", 1, "binary"),
        (b"PK\x03\x04\xff\xfe", 1, "UTF-8"),
        (b"a: 1\nb: \xff\n", 2, "UTF-8"),
        ("a: 1\nb: \x07\n", 2, "not text"),
        ('a: "\\uD800"\n', 1, "surrogate"),
        ('a: "\\UFFFFFFFF"\n', 1, "not YAML"),
    ],
)
def test_refused_with_line(tmp_path, content, line, says):
    text = refused(tmp_path, content)
    assert f"file.yaml:{line}: " in text and says in text


@pytest.mark.parametrize("opening", ["[", "{a: ", "- ", "[{a: ", "[\n"])
def test_deep_nesting_is_refused_fast(tmp_path, opening):
    start = time.perf_counter()
    text = refused(tmp_path, opening * 3000)
    assert "nested deeper than 20 levels" in text
    assert time.perf_counter() - start < 2.0


def test_twenty_levels_are_read(tmp_path):
    assert read(tmp_path, "[" * 20 + "]" * 20).data
    assert "nested deeper" in refused(tmp_path, "[" * 21 + "]" * 21)


def test_long_file_is_refused(tmp_path):
    assert "256 kB" in refused(tmp_path, "# " + "x" * 256 * 1024)


def test_missing_file_and_folder(tmp_path):
    for path in (tmp_path, tmp_path / "none.yaml"):
        with pytest.raises(InputError, match="cannot be read"):
            read_yaml(path)
    with pytest.raises(InputError, match="cannot be read"):
        read_yaml("nul\0.yaml")


_text = st.text(st.characters(exclude_categories=["Cs"], max_codepoint=0xFFFF), max_size=8)
_plain = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**12), 10**12) | st.floats(-1e300, 1e300) | _text,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(_text, inner, max_size=3),
    max_leaves=12,
)


@given(_plain)
def test_json_is_read_as_json_reads_it(tmp_path_factory, data):
    """YAML 1.2 contains JSON: a second, independent writer."""
    path = tmp_path_factory.getbasetemp() / "json.yaml"
    path.write_text(json.dumps(data), encoding="utf-8")
    assert read_yaml(path).data == data

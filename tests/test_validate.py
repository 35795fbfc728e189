"""`sixdof validate`: what it prints, and how it ends."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from commanding import Done, end, sixdof_here, start

from sixdof.validation import registry
from sixdof.validation.check import Check


@pytest.fixture(scope="module")
def text(tmp_path_factory: pytest.TempPathFactory) -> Done:
    """In a folder where names of airplanes mean something else, in a process of its own."""
    folder = tmp_path_factory.mktemp("elsewhere")
    (folder / "aircraft").mkdir()
    (folder / "aircraft" / "corvane.yaml").write_text("not an airplane", encoding="utf-8")
    return end(start(folder, "validate"))


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> dict:
    done = sixdof_here(tmp_path_factory.mktemp("json"), "validate", "--json")
    assert done.code == 0, done.err
    return done.json


def test_every_number_in_80_columns(text: Done) -> None:
    assert text.code == 0, text.err
    assert not text.err or text.err.startswith("first run:"), text.err
    assert not [line for line in text.out.splitlines() if len(line) > 80]
    assert "…" not in text.out and "nan" not in text.out and "MISSED" not in text.out
    assert text.out.count("\nitem ") >= 12
    assert re.search(r"2: brick, q at 30 s \[deg/s\] +-17.3975 +-17.3975 .* ok", text.out)


def test_last_line_counts(text: Done, found: dict) -> None:
    last = text.out.rstrip().splitlines()[-1]
    agree = sum(item["passed"] for item in found["items"])
    counts = [len(found["items"]), found["sources"], agree, found["known_misses"]]
    assert last == "{} items from {} sources: {} agree, {} known misses, none unexplained".format(*counts)


def test_enough_of_it(found: dict) -> None:
    assert len(found["items"]) >= 40 and len({item["source"] for item in found["items"]}) >= 12
    assert found["passed"] is True and found["missed"] == 0
    titles = " ".join({item["source"] for item in found["items"]})
    for name in (
        "NASA",
        "Nelson",
        "Etkin",
        "Virginia Tech",
        "Minnesota",
        "Atmosphere",
        "Glauert",
        "UIUC",
        "Roskam",
    ):
        assert name in titles


def test_each_item_adds_up(found: dict) -> None:
    for item in found["items"]:
        published = item["published"]
        low, high = published if isinstance(published, list) else (published, published)
        off = item["ours"] - min(max(item["ours"], low), high)
        assert math.isclose(off, item["difference"], abs_tol=1e-15), item
        assert item["passed"] is (abs(off) <= item["tolerance"]), item
        assert item["passed"] or item["known"], item
        assert item["tag"] in ("read", "second hand", "memory", "computed", "practice"), item


def test_known_misses_are_told_with_their_reason(text: Done, found: dict) -> None:
    known = [item for item in found["items"] if "known" in item]
    assert known and not any(item["passed"] for item in known)
    flat = " ".join(text.out.split("Known misses")[1].split())
    for item in known:
        assert item["known"] in flat, item


def test_short(tmp_path: Path, found: dict) -> None:
    done = sixdof_here(tmp_path, "validate", "--short")
    assert done.code == 0
    assert "tumbling" not in done.out and "NASA check-cases" in done.out
    assert len(done.out.splitlines()) < found["sources"] + 100


@pytest.fixture
def two(monkeypatch: pytest.MonkeyPatch) -> None:
    """One number that passes and one that does not."""
    good = Check("Somebody 1999", "right", 2.0, 2.001, "read", within=0.01)
    bad = Check("Somebody 1999", "wrong", 2.0, lambda: 2.1, "read", unit="m", within=0.01)
    none = Check("Nobody 2001", "no trim", 1.0, lambda: 1.0 / 0.0, "read", within=0.01)
    monkeypatch.setattr(registry, "checks_of", lambda module: [good, bad, none])
    monkeypatch.setattr(registry, "MODULES", ("somebody",))


def test_a_miss_fails(two: None, tmp_path: Path) -> None:
    done = sixdof_here(tmp_path, "validate")
    assert done.code == 1
    assert re.search(r"wrong \[m\] +2 +2\.1 +0\.1 +0\.01 MISSED", done.out)
    assert done.out.count("MISSED: ") == 2, "both sources again at the end"
    assert done.out.rstrip().endswith("3 items from 2 sources, 2 MISSED")


def test_a_miss_fails_in_json(two: None, tmp_path: Path) -> None:
    done = sixdof_here(tmp_path, "validate", "--json")
    assert done.code == 1 and done.json["passed"] is False and done.json["missed"] == 2
    by_item = {item["item"]: item for item in done.json["items"]}
    assert by_item["right"]["passed"] and not by_item["wrong"]["passed"]
    assert by_item["no trim"]["ours"] is None and not by_item["no trim"]["passed"]

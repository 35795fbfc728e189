"""Drift, rate, words and points of a run against what its tracks say; see ``recomputing``."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from commanding import sixdof_here
from lopsided import FILE
from recomputing import IDEAL, Worst, body_to_world, recomputed


@pytest.fixture(scope="module")
def tuned(tmp_path_factory: pytest.TempPathFactory) -> tuple[dict[str, Any], dict[str, np.ndarray]]:
    """``tune --json`` of the lopsided airplane, and its tracks."""
    folder = tmp_path_factory.mktemp("recomputed")
    done = sixdof_here(
        folder, "tune", str(FILE), "--airplanes", "0", "--no-pictures", "--json", "--out", "run"
    )
    assert done.code == 0, done.err
    with np.load(folder / "run" / "tracks.npz") as tracks:
        return done.json, dict(tracks)


def flights(tuned: tuple[dict[str, Any], dict[str, np.ndarray]]) -> list[tuple[dict[str, Any], str, Worst]]:
    """Rows of the object, "before" or "after", and what the track says."""
    found, tracks = tuned
    columns = [str(name) for name in tracks["columns"]]
    return [
        (m, when, recomputed(tracks[f"{m['name']}.{m['side']}.{kind}"], columns, m["name"], m["side"]))
        for m in found["maneuvers"]
        for when, kind in (("before", "bare"), ("after", "blended"))
    ]


def test_drift_rate_and_term_of_every_flight(tuned) -> None:
    found = flights(tuned)
    assert len(found) == 16 and {m["name"] for m, _, _ in found} == set(IDEAL)
    for m, when, ours in found:
        assert m["status"] == m["status_before"] == "finished"
        where = m["name"], m["side"], when
        assert m[f"drift_{when}"] == pytest.approx(ours.degrees, abs=0.01), where
        assert m[f"rate_{when}"] == pytest.approx(ours.degrees / ours.seconds, abs=0.01), where
        assert m[f"term_{when}"] == ours.term and m[f"words_{when}"] == ours.words, where


def test_points_of_every_flight(tuned) -> None:
    """A point of ten for each 15 degrees, of the worst term of each measured phase."""
    for m, when, ours in flights(tuned):
        assert m[f"points_{when}"] == pytest.approx(ours.points, abs=0.002), (m["name"], m["side"], when)
    bare, blended = (sum(m[f"points_{when}"] for m in tuned[0]["maneuvers"]) for when in ("before", "after"))
    assert blended < 0.3 * bare, "blends take most of them away"


def test_words_of_sideslip_are_those_of_the_nose(tuned) -> None:
    """Where the nose points, seen along the way flown with the canopy up: to the right of it, or to the left.

    Rolled by aileron alone the adverse yaw of this airplane swings the nose against the roll.
    """
    found, tracks = tuned
    columns = [str(name) for name in tracks["columns"]]

    def nose_right(values: np.ndarray) -> float:
        row = dict(zip(columns, values, strict=True))
        E = body_to_world(np.array([row[f"q{i}"] for i in range(4)]))
        way = E @ [row[n] for n in "uvw"]
        right = np.cross(way, -E[:, 2])  # north times up is east
        return math.degrees(math.asin(E[:, 0] @ right / np.linalg.norm(right)))

    rows = [m for m in found["maneuvers"] if m["name"] == "roll_reversal"]
    assert len(rows) == 2
    for m in rows:
        for when, kind in (("before", "bare"), ("after", "blended")):
            track = tracks[f"roll_reversal.{m['side']}.{kind}"]
            measured = track[track[:, columns.index("measured")] >= 0]
            swings = np.array([nose_right(values) for values in measured]) - nose_right(track[0])
            swing = swings[np.argmax(np.abs(swings))]
            # the nose turned in the plane of the wing, sideslip about the way: alike to a few percent
            assert abs(m[f"drift_{when}"]) == pytest.approx(abs(swing), rel=0.05), (m["side"], when)
            assert m[f"words_{when}"] == ("nose right" if swing > 0.0 else "nose left"), (m["side"], when)
        assert m["words_before"] == {"right": "nose left", "left": "nose right"}[m["side"]]

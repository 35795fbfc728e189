"""Twins: hidden airplanes are flown, noted, learned, flown again; how many end with a drift that nobody sees."""

from __future__ import annotations

import numpy as np
import pytest
from twins import Study, hire, served, study

from sixdof import Airplane
from sixdof.learning.crowd import prior_of

SEED = 4711  # never one of the learner's


def report(name: str, kind: str, found: Study) -> str:
    """A line of figures: share below 5 deg after each flight, ranges, flights set aside, airplanes that ended worse than bare."""
    bare, last = np.nan_to_num(found.learned[[0, -1]], nan=99.0)
    worse = np.sum((last > bare) & (last > 5.0))
    shares = (" ".join(f"{x:3.0f}" for x in served(rows)) for rows in (found.learned, found.by_hand))
    ranges = ", ".join(f"{level} % range {100 * share:.0f} %" for level, share in found.coverage.items())
    return (
        f"{name}, {kind}, {found.learned.shape[1]} airplanes: below 5 deg after 0, 1 .. flights learned {next(shares)} %, by hand "
        f"{next(shares)} %, with what each needs {served(found.own[None])[0]:.0f} %; {ranges}; set aside {100 * found.flagged:.0f} %; worse than bare {worse}"
    )


def test_three_flights_of_notes_serve_most_airplanes() -> None:
    """A fixed seed, few airplanes: more are served than before any note, and than by hand; the ranges hold what they say."""
    airplane = Airplane("corvane")
    prior = prior_of(airplane, airplanes=500)
    found = study(hire(airplane, prior, 14, seed=SEED), prior, flights=3)
    learned, by_hand = served(found.learned), served(found.by_hand)
    assert learned[3] >= 60.0 and learned[3] >= learned[0] + 50.0, report("corvane", "few", found)
    assert learned[3] >= by_hand[3], report("corvane", "few", found)
    assert np.nanmedian(found.learned[3]) < 0.2 * np.nanmedian(found.learned[0])
    assert 0.65 <= found.coverage[80] <= 0.95 and found.coverage[90] >= 0.75, found.coverage
    assert found.flagged < 0.25


KINDS = {
    "words, sticks and rudder": ({}, {}), "two passes a side": ({}, {"passes": 2}), "words alone": ({}, {"sticks": False}),
    "4 % more down needed than believed": ({"shift": -0.04}, {}), "helpers of double scale": ({"scale": 2.0}, {}),
    "gusts of 4 m/s, 2 told": ({}, {"wind": 4.0}), "downwash 40 % less than estimated": ({"downwash": -0.4}, {}),
    "all of these at once": ({"shift": -0.04, "downwash": -0.4, "scale": 2.0}, {"wind": 4.0}),
}  # fmt: skip


@pytest.mark.study
@pytest.mark.parametrize("name", ["corvane", "tessel", "fenlark"])
def test_twins(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Every kind of notes and of wrong prior; prints its figures."""
    airplane = Airplane(name)
    prior = prior_of(airplane)
    figures = {}
    for kind, (hidden, noted) in KINDS.items():
        n = 100 if kind == "words, sticks and rudder" else 40
        figures[kind] = study(hire(airplane, prior, n, seed=SEED, **hidden), prior, **noted)
        with capsys.disabled():
            print(f"\n{report(name, kind, figures[kind])}", flush=True)
    full = figures["words, sticks and rudder"]
    learned, by_hand = served(full.learned), served(full.by_hand)
    assert learned[3] >= by_hand[3] + 20.0 and learned[4] > learned[2]
    assert 0.70 <= full.coverage[80] <= 0.90 and 0.80 <= full.coverage[90] <= 0.97
    for kind, found in figures.items():
        assert served(found.learned)[4] > served(found.by_hand)[4] - 5.0, report(name, kind, found)

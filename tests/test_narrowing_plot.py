"""The picture of the logbook: ranges, ratios and what was flown stand where the numbers say."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure

from sixdof.flight.needs import RATIOS
from sixdof.show import narrowing_plot as module
from sixdof.study.results import LearnedRatio, NotedFlight


def flight(number: int, low: float, high: float, flown: float, *, believed: bool = True) -> NotedFlight:
    """A flight after which every ratio lies between the same ends."""
    each = dict.fromkeys
    return NotedFlight(
        flight=number, file="f", date="", set_to="", seen="", believed=believed, again=False, fits_percent=50.0, most_surprising="",
        within_percent=each(RATIOS, 0.5 * (high - low)), low_percent=each(RATIOS, low), high_percent=each(RATIOS, high),
        percent=each(RATIOS, 0.5 * (low + high)), set_percent={RATIOS[0]: flown}, served_percent=50.0,
    )  # fmt: skip


def ratio(name: str) -> LearnedRatio:
    blend, side = name.split(".")
    source, target = blend.split("-")
    return LearnedRatio(
        source=source, target=target, side=side, told=True, before_percent=1.0, before_low_percent=-9.0, before_high_percent=11.0,
        percent=4.5, low_percent=3.0, high_percent=6.0, other_sign_percent=0.0,
    )  # fmt: skip


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Figure:
    kept: list[Figure] = []
    monkeypatch.setattr(module, "save", lambda figure, path: kept.append(figure) or Path(path))
    flights = [flight(1, 1.0, 9.0, 0.0), flight(2, 3.0, 6.0, 5.0), flight(7, 3.0, 6.0, -4.5, believed=False)]
    module.narrowing_plot(tmp_path / "n.png", flights, [ratio(name) for name in RATIOS], title="corvane")
    return kept[0]


def test_every_ratio_has_its_panel_in_words(drawn: Figure) -> None:
    titles = [axes.get_title(loc="left") for axes in drawn.axes[:5]]
    assert titles[0] == "right rudder: now 4.5 % UP, range 3..6 UP"
    assert titles[1] == "right rudder: now 4.5 % RIGHT, range 3..6 RIGHT"
    assert [axes.get_ylabel() for axes in drawn.axes[:2]] == ["elevator [%, + up]", "aileron [%, + right]"]
    assert titles[4].startswith("closed throttle: now 4.5 % UP")


def test_ranges_ratios_and_what_was_flown_stand_at_their_numbers(drawn: Figure) -> None:
    axes = drawn.axes[0]
    bars = [line.get_ydata() for line in axes.lines if line.get_linewidth() == 7.0]
    assert np.array(bars).tolist() == [[-9.0, 11.0], [1.0, 9.0], [3.0, 6.0], [3.0, 6.0]]
    dots = [line.get_ydata()[0] for line in axes.lines if line.get_marker() == "o"]
    assert dots == [1.0, 5.0, 4.5, 4.5]
    diamonds = [(line.get_xdata()[0], line.get_ydata()[0]) for line in axes.lines if line.get_marker() == "D"]
    assert [y for _, y in diamonds] == [0.0, 5.0, -4.5]
    assert all(k - 0.5 < x < k for k, (x, _) in enumerate(diamonds, start=1)), (
        "flown before it was learned from"
    )
    others = [line.get_ydata()[0] for line in drawn.axes[2].lines if line.get_marker() == "D"]
    assert others == [0.0, 0.0, 0.0], "a ratio that was not set was flown as none"


def test_a_flight_set_aside_is_pale_and_says_so(drawn: Figure) -> None:
    axes = drawn.axes[0]
    assert [text.get_text() for text in axes.get_xticklabels()] == [
        "before",
        "flight 1",
        "flight 2",
        "flight 7\nset aside",
    ]
    bars = [line.get_color() for line in axes.lines if line.get_linewidth() == 7.0]
    assert len(set(bars[:3])) == 1 and bars[3] != bars[0]

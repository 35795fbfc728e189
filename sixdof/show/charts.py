"""Small drawings for a page, as SVG texts: drift against time, tracks from the side and from above, drift against a setting.

They are drawn 360 wide, for a phone; colors, letters and lines are those of ``page.css``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from sixdof.show.flown import ShownFlight, column, measured_from, position
from sixdof.show.ground import to_scene
from sixdof.show.palette import BARE, BLENDED, FAINT, INK, tint
from sixdof.show.svg import WIDTH, apart, chosen_by, dot, polyline, signed, svg, text
from sixdof.tuning.deviation import TERM_WORDS
from sixdof.tuning.found import SEEN

__all__ = [
    "Course",
    "Needed",
    "drift_chart",
    "map_chart",
    "narrowing_chart",
    "needs_chart",
    "setting_chart",
    "steps_chart",
    "track_chart",
]

_LEFT, _RIGHT, _TALL, _GAP = 34.0, 46.0, 78.0, 12.0  # margins, height of a panel, room between two
_TALLEST = 230.0  # of the tracks
_AHEAD = 1.0  # s shown ahead of the measured phase
_NEAR_GROUND = 12.0  # m: a drawing that comes so low shows the ground
_STEPS = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 45.0, 90.0)

#: Columns of a track that count where the path does, where the nose does; what they are called; key of the words for the sides.
_PATH = (("toward_canopy", "path", "canopy"), ("toward_wing", "path", "wing"), ("roll", "roll", "roll"))
_NOSE = (("sideslip", "nose", "sideslip"),)


class _Panel(NamedTuple):
    """A rectangle of a drawing in which a number goes up by an amount a pixel."""

    top: float
    scale: float
    middle: float

    def y(self, value: float) -> float:
        return self.middle - value * self.scale


class _Across(NamedTuple):
    """The width of a drawing, over which a setting goes from low to high."""

    low: float
    high: float

    def x(self, setting: float) -> float:
        return _LEFT + (WIDTH - _LEFT - _RIGHT) * (setting - self.low) / (self.high - self.low or 1.0)

    @property
    def where(self) -> str:
        """Attributes that say where a setting is, so that a page can mark it."""
        return f'data-left="{_LEFT:g}" data-right="{WIDTH - _RIGHT:g}" data-low="{self.low:g}" data-high="{self.high:g}"'

    def scale(self, y: float, unit: str) -> list[str]:
        """Numbers below it."""
        span = self.high - self.low
        step = next((s for s in (0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0) if span / s <= 9), 100.0)
        digits = 0 if step >= 1 else 1 if step == 0.5 else 2
        at = np.arange(math.ceil(self.low / step - 1e-9), self.high / step + 1e-9) * step
        return [text(self.x(s), y, signed(s, digits), "middle") for s in at] + [
            text(WIDTH - _RIGHT + 16.0, y, unit, "pale")
        ]


def drift_chart(flights: Sequence[ShownFlight], title: str) -> str:
    """Errors over the time since the test began, a panel an error; a band marks what nobody sees.

    Attributes ``data-zero``, ``data-left``, ``data-right`` and ``data-second`` say where a moment is, so that a replay can mark it.
    """
    rows = [_measured(flight.thinned()) for flight in flights]
    longest = max((float(r[-1, 0] - r[0, 0]) for r in rows if len(r)), default=0.0)
    if longest <= 0.0:
        return ""
    second = (WIDTH - _LEFT - _RIGHT) / longest
    parts, top = [], 4.0
    for name, word, sides in _NOSE if any(flight.nose for flight in flights) else _PATH:
        curves = [
            (_times(r), np.degrees(_error(r, name)), flight.color)
            for flight, r in zip(flights, rows, strict=True)
        ]
        parts += _panel(top, curves, word, TERM_WORDS[sides], second)
        top += _TALL + _GAP
    parts += _seconds(top - _GAP, longest, second)
    where = f'data-zero="{measured_from(flights[0].track):.2f}" data-left="{_LEFT:g}" data-right="{WIDTH - _RIGHT:g}" data-second="{second:.3f}"'
    return svg(parts, top + 16.0, f"{title}: drift against time", where)


def track_chart(flights: Sequence[ShownFlight], title: str) -> str:
    """What was flown from the side, as the caller sees it, and below it from above; one scale, meters equal all ways."""
    ways = [_shown(flight.thinned()) for flight in flights]
    lines = [(to_scene(flight.ideal), flight.color) for flight in flights if flight.ideal is not None]
    low, high = (f(np.concatenate([*ways, *(line for line, _ in lines)]), axis=0) for f in (np.min, np.max))
    grounded = low[2] < _NEAR_GROUND
    if grounded:
        low[2] = 0.0
    out, along, up = np.maximum(high - low, 1.0)
    scale = min((WIDTH - 24.0) / along, _TALLEST / (out + up))
    left = 12.0 + 0.5 * (WIDTH - 24.0 - along * scale)
    parts, top = [], 18.0
    views: list[tuple[str, int, float]] = [
        ("from the side, as the caller sees it", 2, up),
        ("from above", 0, out),
    ]
    for words, axis, tall in views:
        base = top + tall * scale

        def place(points: np.ndarray, axis: int = axis, base: float = base) -> np.ndarray:
            over = points[:, axis] - low[axis] if axis == 2 else high[axis] - points[:, axis]
            return np.c_[left + scale * (points[:, 1] - low[1]), base - scale * over]

        parts.append(text(12.0, top - 6.0, words, "pale"))
        if axis == 2 and grounded:
            parts.append(
                f'<rect class="ground" x="0" y="{base:.1f}" width="{WIDTH:g}" height="5"/>'
                + text(WIDTH - 4, base - 3, "ground", "pale end")
            )
        parts += [polyline(place(line), "ideal", color) for line, color in lines]
        for flight, points in zip(flights, ways, strict=True):
            at = place(points)
            parts.append(polyline(at, "flight", flight.color) + dot(at[-1], flight.color))
        top = base + 26.0
    meters = next(m for m in (100.0, 50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5) if m * scale < 110.0)
    y = top - 8.0
    parts.append(
        f'<path class="axis" d="M12 {y - 3:.1f}v6m0-3h{meters * scale:.1f}m0-3v6"/>'
        + text(18.0 + meters * scale, y + 3.5, f"{meters:g} m", "pale")
    )
    return svg(parts, top + 2.0, f"{title}: its way from the side and from above")


def setting_chart(
    settings: Sequence[float],
    drift: Sequence[float],
    colors: Sequence[str],
    words: tuple[str, str],
    title: str,
    names: Sequence[str] = (),
    *,
    unit: str = "%",
) -> str:
    """Drift at the end [deg] against a setting; NaN where a flight did not finish.

    Parameters
    ----------
    words : (str, str)
        What negative and positive drift are called.
    names : sequence of str, optional
        What each setting is called where a page lets one choose it; its key there is the setting.
    """
    known = [
        (x, y, c, name)
        for x, y, c, name in zip(settings, drift, colors, names or [""] * len(settings), strict=True)
        if math.isfinite(y)
    ]
    if not known:
        return ""
    tall, across = 2 * _TALL, _Across(min(settings), max(settings))
    panel, parts = _ruled(4.0, tall, [y for _, y, *_ in known], "drift", words)
    at = np.array([(across.x(x), panel.y(y)) for x, y, *_ in known])
    parts.append(polyline(at, "axis"))
    parts += [
        dot(p, c, chosen_by(f"{x:g}", name) if name else "")
        for p, (x, _, c, name) in zip(at, known, strict=True)
    ]
    parts += across.scale(tall + 18.0, unit)
    return svg(parts, tall + 24.0, title, across.where, role="group" if names else "img")


def map_chart(
    down: Sequence[float],
    across: Sequence[float],
    drift: Sequence[Sequence[float]],
    best: Sequence[int],
    title: str,
) -> str:
    """Sizes of a drift [deg] over two settings, a square each with its whole degrees, the best framed; NaN is a dash."""
    left, wide, tall = 34.0, (WIDTH - 40.0) / len(across), 20.0
    parts = []
    for i, row in enumerate(drift):
        y = (len(down) - 1 - i) * tall
        parts.append(text(left - 6.0, y + 14.0, f"{down[i]:g}", "end"))
        for j, value in enumerate(row):
            x, known = left + j * wide, math.isfinite(value)
            frame = f' stroke="{INK}" stroke-width="2"' if [i, j] == list(best) else ""
            at, side = f'x="{x:.1f}" y="{y + 1:.1f}"', f'width="{wide - 1:.1f}" height="{tall - 2:.1f}"'
            parts.append(f'<rect {at} {side} fill="{_heat(abs(value)) if known else "none"}"{frame}/>')
            if wide > 21.0:
                parts.append(text(x + 0.5 * wide, y + 14.0, f"{abs(value):.0f}" if known else "-", "middle"))
    under = len(down) * tall + 14.0
    every = max(1, math.ceil(34.0 / wide))
    parts += [
        text(left + (j + 0.5) * wide, under, f"{across[j]:g}", "middle") for j in range(0, len(across), every)
    ]
    return svg(parts, under + 6.0, title)


def _heat(size: float) -> str:
    """Color of a drift [deg]: blue where nobody sees it."""
    return (
        tint(BLENDED, FAINT, 0.4 + 0.1 * size)
        if size < SEEN
        else tint(FAINT, BARE, min((size - SEEN) / 25.0, 1.0))
    )


class Course(NamedTuple):
    """A number against the size of a change.

    Attributes
    ----------
    word : str
    ways : (str, str)
        What negative and positive are called.
    values : sequence of float
        NaN where there is none.
    seen : float
        From where on it matters.
    picks, names : sequence of str
        Keys of the points where a page lets one choose them, and what they are called.
    """

    word: str
    ways: tuple[str, str]
    values: Sequence[float]
    seen: float
    picks: Sequence[str]
    names: Sequence[str]


def steps_chart(
    sizes: Sequence[float], unit: str, ways: tuple[str, str], courses: Sequence[Course], title: str
) -> str:
    """What each size of a change leaves, a panel a number; ``ways`` are what negative and positive sizes are called."""
    across, parts, top = _Across(min(sizes), max(sizes)), [], 4.0
    for course in courses:
        known = [k for k, value in enumerate(course.values) if math.isfinite(value)]
        values = [course.values[k] for k in known]
        panel, drawn = _ruled(top, _TALL, values, course.word, course.ways, seen=course.seen, room=1.45)
        at = np.array([(across.x(sizes[k]), panel.y(course.values[k])) for k in known]).reshape(-1, 2)
        parts += [*drawn, polyline(at, "axis")]
        parts += [
            dot(p, BARE if sizes[k] == 0.0 else BLENDED, chosen_by(course.picks[k], course.names[k]))
            for p, k in zip(at, known, strict=True)
        ]
        top += _TALL + _GAP
    parts += across.scale(top + 4.0, unit)
    parts += [text(_LEFT, top + 17.0, f"\N{LEFTWARDS ARROW} {ways[0]}", "pale"),
              text(WIDTH - _RIGHT, top + 17.0, f"{ways[1]} \N{RIGHTWARDS ARROW}", "pale end")]  # fmt: skip
    return svg(parts, top + 22.0, title, across.where, role="group")


class Needed(NamedTuple):
    """A ratio against speed: what it is called, its color, what is needed at each speed [%], what is dialed in [%] if anything."""

    words: str
    color: str
    percents: Sequence[float]
    dialed: float | None


def needs_chart(
    speeds: Sequence[float], needed: Sequence[Needed], flown_at: float, ways: tuple[str, str], title: str
) -> str:
    """Ratios that are needed [%] against speed [m/s], dashed what is dialed in; NaN where nothing holds it.

    Parameters
    ----------
    flown_at : float [m/s]
        Where they were tuned.
    ways : (str, str)
        What negative and positive ratios are called.
    """
    values = [v for one in needed for v in (*one.percents, one.dialed or 0.0) if math.isfinite(v)]
    if not values:
        return ""
    tall, low, high = 1.6 * _TALL, min(speeds), max(speeds)
    wide = (WIDTH - _LEFT - _RIGHT) / (high - low)
    panel, parts = _ruled(4.0, tall, values, "%", ways, seen=0.0)
    at = _LEFT + wide * (flown_at - low)
    parts += [
        f'<path class="axis" d="M{at:.1f} 4V{4.0 + tall:.1f}"/>',
        text(at + 3.0, 12.0, "tuned here", "pale"),
    ]
    ends = []
    for one in needed:
        known = [
            (_LEFT + wide * (v - low), panel.y(p))
            for v, p in zip(speeds, one.percents, strict=True)
            if math.isfinite(p)
        ]
        if known:
            parts.append(polyline(np.array(known), "flight", one.color))
            ends.append((*known[-1], one))
        if one.dialed is not None:
            level = panel.y(one.dialed)
            parts.append(polyline(np.array([(_LEFT, level), (WIDTH - _RIGHT, level)]), "ideal", one.color))
    places = apart([y for _, y, _ in ends], 10.0, 4.0 + tall)
    parts += [
        text(x + 4.0, y + 3.5, one.words, "value", one.color)
        for (x, _, one), y in zip(ends, places, strict=True)
    ]
    step = next(s for s in (1.0, 2.0, 5.0, 10.0, 20.0) if (high - low) / s <= 8)
    for v in np.arange(math.ceil(low / step), high / step + 1e-9) * step:
        parts.append(text(_LEFT + wide * (v - low), tall + 17.0, f"{v:g}", "middle"))
    parts.append(text(WIDTH - _RIGHT + 12.0, tall + 17.0, "m/s", "pale"))
    return svg(parts, tall + 23.0, title)


def narrowing_chart(
    names: Sequence[str], chosen: Sequence[float], spans: Sequence[tuple[float, float]], believed: Sequence[bool],
    ways: tuple[str, str], title: str,
) -> str:  # fmt: skip
    """A ratio [%] and its range, flight by flight.

    Parameters
    ----------
    names : sequence of str
        Of the flights, what was before them first.
    chosen : sequence of float [%]
    spans : sequence of (float, float) [%]
    believed : sequence of bool
        A flight that is not has a hollow mark.
    ways : (str, str)
        What negative and positive ratios are called.
    """
    tall = 1.6 * _TALL
    panel, parts = _ruled(4.0, tall, [v for span in spans for v in span], "%", ways, seen=0.0)
    step = (WIDTH - _LEFT - _RIGHT - 24.0) / max(len(names) - 1, 1)
    x = [_LEFT + 12.0 + step * k for k in range(len(names))]
    edge = [
        *zip(x, (high for _, high in spans), strict=True),
        *reversed(list(zip(x, (low for low, _ in spans), strict=True))),
    ]
    points = " ".join(f"{at:.1f},{panel.y(v):.1f}" for at, v in edge)
    line = np.array([(at, panel.y(v)) for at, v in zip(x, chosen, strict=True)])
    parts += [f'<polygon class="range" points="{points}"/>', polyline(line, "flight", "var(--blended)")]
    for at, name, sure in zip(line, names, believed, strict=True):
        parts.append(dot(at, "var(--blended)", kind="end" if sure else "hollow"))
        parts.append(text(at[0], tall + 17.0, name, "middle"))
    parts.append(
        text(line[-1, 0] + 6.0, line[-1, 1] + 3.5, f"{signed(chosen[-1], 1)} %", "value", "var(--blended)")
    )
    return svg(parts, tall + 23.0, title)


# ---------------------------------------------------------------- pieces


def _measured(flight: ShownFlight) -> np.ndarray:
    """Rows from the first measured one to the last."""
    known = np.flatnonzero(column(flight.track, "measured") >= 0)
    return flight.track[known[0] : known[-1] + 1] if len(known) else flight.track[:0]


def _times(rows: np.ndarray) -> np.ndarray:
    return rows[:, 0] - rows[0, 0] if len(rows) else np.zeros(0)


def _error(rows: np.ndarray, name: str) -> np.ndarray:
    """An error, NaN between measured phases."""
    return np.where(column(rows, "measured") >= 0, column(rows, name), np.nan)


def _shown(flight: ShownFlight) -> np.ndarray:
    """Where it was (n, 3), scene axes, from a little ahead of the test on."""
    rows = flight.track[flight.track[:, 0] >= measured_from(flight.track) - _AHEAD]
    return to_scene(position(rows))


def _panel(
    top: float, curves: Sequence[tuple[np.ndarray, np.ndarray, str]], word: str, sides: tuple[str, str], second: float
) -> list[str]:  # fmt: skip
    values = np.concatenate([v for _, v, _ in curves])
    panel, parts = _ruled(top, _TALL, values[np.isfinite(values)], word, sides)
    ends = []
    for times, values, color in curves:
        finite = np.isfinite(values)
        for k in np.split(np.arange(len(times)), np.flatnonzero(np.diff(finite)) + 1):
            if len(k) and finite[k[0]]:
                parts.append(
                    polyline(
                        np.c_[_LEFT + second * times[k], np.array([panel.y(v) for v in values[k]])],
                        "flight",
                        color,
                    )
                )
        if finite.any():
            last = np.flatnonzero(finite)[-1]
            ends.append((_LEFT + second * float(times[last]), float(values[last]), color))
    return parts + _end_values(panel, top, ends)


def _ruled(
    top: float,
    tall: float,
    values: Sequence[float] | np.ndarray,
    word: str,
    sides: tuple[str, str],
    *,
    seen: float = SEEN,
    room: float = 1.15,
) -> tuple[_Panel, list[str]]:
    """A panel around zero with its lines, what both ways are called, and the band that nobody sees; ``room`` times the largest fits."""
    most = max(1.7 * seen, 1.0, *(room * abs(float(v)) for v in values)) if len(values) else 1.7 * seen
    panel = _Panel(top, 0.5 * tall / most, top + 0.5 * tall)
    step = next((s for s in _STEPS if most / s < 3.0), 180.0)
    right = WIDTH - _RIGHT
    band = panel.y(seen)
    parts = (
        [
            f'<rect class="band" x="{_LEFT:g}" y="{band:.1f}" width="{right - _LEFT:g}" height="{2 * (panel.middle - band):.1f}"/>'
        ]
        if seen
        else []
    )
    for k in range(-int(most / step), int(most / step) + 1):
        y = panel.y(k * step)
        parts.append(f'<path class="{"axis" if k == 0 else "grid"}" d="M{_LEFT:g} {y:.1f}H{right:g}"/>')
        parts.append(text(_LEFT - 4.0, y + 3.5, signed(k * step, 0 if step >= 1 else 1), "end"))
    for side, y in ((sides[1], top + 8.0), (sides[0], top + tall - 1.0)):
        parts.append(text(_LEFT + 4.0, y, side if side.startswith(word) else f"{word} {side}", "pale"))
    return panel, parts


def _end_values(panel: _Panel, top: float, ends: Sequence[tuple[float, float, str]]) -> list[str]:
    """The last value of each curve beside its end, none over another; of many, none."""
    parts = [dot((x, panel.y(v)), color) for x, v, color in ends]
    if len(ends) > 3:
        return parts
    places = apart([panel.y(value) for _, value, _ in ends], top + 6.0, top + _TALL)
    for (x, value, color), y in zip(ends, places, strict=True):
        parts.append(text(x + 5.0, y + 3.5, f"{signed(value, 1)}°", "value", color))
    return parts


def _seconds(y: float, longest: float, second: float) -> list[str]:
    step = next(s for s in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 60.0, 600.0) if longest / s <= 8)
    at = np.arange(0.0, longest + 1e-9, step)
    return [text(_LEFT + second * t, y + 13.0, f"{t:g}", "middle") for t in at] + [
        text(WIDTH - _RIGHT + 12.0, y + 13.0, "s", "pale")
    ]

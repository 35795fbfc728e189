"""One ratio over a band of something else, speed or a change of the airframe: what is best at each, and what one for all leaves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from sixdof.airframe.changes import CHANGES, change_words, find_change
from sixdof.files.errors import InputError, nearest
from sixdof.files.rows import Number, Row
from sixdof.files.units import UNITS
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import Ratio
from sixdof.flight.script import ManeuverFile
from sixdof.tuning.explore import Setting, explore_ratio

__all__ = ["Band", "BandRow", "Over", "band", "read_over"]

SPEED = "speed"
_VALUES = 5  # of the band that are flown


class BandRow(Row):
    """One place of the band, to one side: the ratio that leaves nothing there, what the one for all leaves [deg].

    NaN where no setting in the range leaves nothing, or a flight did not finish.
    """

    place: str
    side: str
    best_percent: Number
    left: Number


class Band(Row):
    """A ratio over a band of something else.

    Attributes
    ----------
    over : str
        "speed", or a change of the airframe.
    one_percent : dict of str to float
        Side -> the ratio that leaves least over the whole band; NaN where none finishes everywhere.
    rows : list of BandRow
        By side, then place.
    """

    over: str
    one_percent: dict[str, Number]
    rows: list[BandRow]


class Over(NamedTuple):
    """A band: what is moved, and to which values, a share of the speed or an amount [SI]."""

    name: str
    values: tuple[float, ...]

    def words(self, value: float) -> str:
        """``90 % of the speed``, ``CG 5 mm further aft``."""
        if self.name == SPEED:
            return f"{100.0 * value:.0f} % of the speed"
        return change_words(self.name, value) if value else "as it is"


def read_over(text: str) -> Over:
    """Read ``speed=80..120`` (percent of the maneuver's) or a change, ``cg=-6..6`` in its usual unit, + toward its first way.

    Raises
    ------
    InputError
    """
    name, equals, span = (part.strip() for part in text.partition("="))
    low, dots, high = span.partition("..")
    if name != SPEED and name not in CHANGES:
        raise InputError(
            f"--over: got {text!r}, expected a band of speed or of a change; {nearest(name, [SPEED, *CHANGES])}"
        )
    example = (
        "speed=80..120"
        if name == SPEED
        else f"{name}=-{find_change(name).step:g}..{find_change(name).step:g}"
    )
    try:
        first, last = float(low), float(high)
    except ValueError:
        first = last = math.nan
    if not (equals and dots and first < last):
        raise InputError(f"--over: got {text!r}, expected a band from low to high, as {example}")
    if name == SPEED:
        if not 50.0 <= first < last <= 200.0:
            raise InputError(f"--over: got {text!r}, expected 50 to 200 percent of the speed")
        return Over(name, tuple((0.01 * np.linspace(first, last, _VALUES)).tolist()))
    unit = UNITS[CHANGES[name].kind][CHANGES[name].unit]
    return Over(name, tuple((unit * np.linspace(first, last, _VALUES)).tolist()))


def band(
    airplane: Airplane, maneuver: ManeuverFile, ratio: Ratio, amounts: Sequence[float], over: Over
) -> Band:
    """Fly a maneuver with every amount of a ratio at every place of a band, in calm air, no other blend.

    Parameters
    ----------
    airplane : Airplane
    maneuver : ManeuverFile
    ratio : Ratio
    amounts : sequence of float
        Shares, ascending.
    over : Over

    Raises
    ------
    InputError
        As :func:`sixdof.tuning.explore.explore_ratio`; or a change that cannot be.
    """
    found: dict[str, list[list[Setting]]] = {}
    for value in over.values:
        speed = over.name == SPEED
        planes = airplane.planes if speed or not value else airplane.changed({over.name: value}).planes
        settings, _ = explore_ratio(planes, maneuver.faster(value) if speed else maneuver, ratio, amounts)
        for side in dict.fromkeys(s.side for s in settings):
            found.setdefault(side, []).append([s for s in settings if s.side == side])
    rows, one = [], {}
    for side, places in found.items():
        drift = np.array([[s.drift if s.scored else np.nan for s in place] for place in places])
        worst = np.max(np.abs(drift), axis=0)  # NaN where a flight did not finish
        least = int(np.nanargmin(worst)) if np.isfinite(worst).any() else -1
        one[side] = 100.0 * float(amounts[least]) if least >= 0 else math.nan
        for value, row in zip(over.values, drift, strict=True):
            rows.append(
                BandRow(
                    place=over.words(value), side=side, best_percent=100.0 * _zero(np.asarray(amounts), row),
                    left=float(row[least]) if least >= 0 else math.nan,
                )
            )  # fmt: skip
    return Band(over=over.name, one_percent=one, rows=rows)


def _zero(amounts: np.ndarray, drift: np.ndarray) -> float:
    """Amount at which a drift passes through nothing, between two that were flown; NaN where it does not."""
    for i in range(len(drift) - 1):
        a, b = drift[i], drift[i + 1]
        if a == 0.0 or a * b < 0.0:
            return float(amounts[i] + (amounts[i + 1] - amounts[i]) * (a / (a - b) if a != b else 0.0))
    return float(amounts[-1]) if len(drift) and drift[-1] == 0.0 else math.nan

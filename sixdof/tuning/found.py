"""What tuning finds, as rows: a maneuver bare and blended, a ratio, how far it can be trusted."""

from __future__ import annotations

import math
from typing import Literal

from pydantic import Field, computed_field, model_validator

from sixdof.airframe.blends import SIDES, TARGETS, amount_words
from sixdof.files.rows import Number, Row
from sixdof.flight.blends import Ratio, fades_at
from sixdof.tuning.deviation import TERM_WORDS

__all__ = ["HALF", "SEEN", "Flown", "FoundRatio", "RatioDoubt"]

#: Drift that people see, sticks let go for the time of a test [deg]; common practice, no source.
SEEN = 5.0
#: Of the airplanes that fit the measurements [%]: where more need the other sign, or cannot fly the test, there is no ratio.
HALF = 50.0


class Flown(Row):
    """A maneuver to one side, bare and blended; as flown alone where nothing is compared.

    Drifts are those of the worst term [deg], with its sign, and over the length of its phase [deg/s].

    Attributes
    ----------
    name, side : str
    said : str
        As people say it: "right-rudder knife-edge".
    status, status_before : str
        How the flights ended, with blends and bare.
    scored : bool
        Both finished: the numbers are of whole flights.
    deviation_before, deviation_after : float
        D, 1 is a point of ten throughout.
    others : dict
        Drift [deg] with the sign of every ratio reversed ("reversed"), with the blend switch thrown only as
        the sticks are let go ("switched on"), and at 80 and 120 % of the speed; None where the flight did
        not finish.
    points_before, points_after : float
        Points of ten by the published step of one per 15 deg.
    level : bool
        Whether the path is meant to be level.
    start_height_m : float
    travel_lost_s : float
        Time a blended control was asked for more than its travel.
    height_used_m, top_speed_m_s, top_g, least_g : float
        Of the blended flight.
    """

    name: str
    side: Literal["right", "left", "both"]
    said: str
    status: str
    status_before: str
    scored: bool
    deviation_before: Number
    deviation_after: Number | None
    drift_before: Number
    drift_after: Number | None
    rate_before: Number
    rate_after: Number | None
    term_before: str
    term_after: str | None
    others: dict[str, float | None] = Field(default_factory=dict)
    others_words: dict[str, str] = Field(default_factory=dict)
    points_before: Number
    points_after: Number | None
    level: bool
    start_height_m: float
    travel_lost_s: Number
    height_used_m: Number
    top_speed_m_s: Number
    top_g: Number
    least_g: Number

    @computed_field  # type: ignore[prop-decorator]
    @property
    def words_before(self) -> str:
        """Which way it drifts bare."""
        return TERM_WORDS[self.term_before][self.drift_before > 0.0]

    @computed_field  # type: ignore[prop-decorator]
    @property
    def words_after(self) -> str | None:
        """Which way it drifts with blends."""
        if self.term_after is None or self.drift_after is None:
            return None
        return TERM_WORDS[self.term_after][self.drift_after > 0.0]


class RatioDoubt(Row):
    """How far a ratio can be trusted: eight in ten of the airplanes drawn from the doubt need low to high.

    Attributes
    ----------
    target : str
    low_percent, high_percent : float
    used_low_percent, used_high_percent : float
        The same as the target's stick at the rudder used, or whatever the source is.
    other_sign_percent : float
        Share of the airplanes that need the other sign; NaN where the ratio is zero.
    airplanes : int
        That can fly the test.
    cannot_percent : float
        Share of the airplanes drawn that cannot.
    helps_percent : float
        Share of those that can which drift less with the ratios of this side than bare; NaN where not known.
    because : dict of str to float
        Errors that make most of the range, with their share of its variance, one at a time.
    """

    target: str
    low_percent: float
    high_percent: float
    used_low_percent: Number = math.nan
    used_high_percent: Number = math.nan
    other_sign_percent: Number
    airplanes: int
    cannot_percent: Number = math.nan
    helps_percent: Number = math.nan
    because: dict[str, float]

    @computed_field  # type: ignore[prop-decorator]
    @property
    def words(self) -> str:
        """``2 % DOWN to 9 % UP``; the smaller one first where both go one way."""
        low, high = round(self.low_percent) / 100.0, round(self.high_percent) / 100.0
        if low * high > 0.0:
            if high < 0.0:
                low, high = high, low
            return f"{abs(100.0 * low):.0f} to {amount_words(self.target, high)}"
        return f"{amount_words(self.target, low)} to {amount_words(self.target, high)}"


class FoundRatio(Row):
    """A ratio that was found; percent in the target's own sense, + right aileron, up elevator, right rudder.

    Attributes
    ----------
    source, target, side : str
    percent : float
        Rounded to the radio's step.
    degrees, degrees_used : float
        Of the target at full source, and at the most the flights used.
    exact_percent, held_percent, steady_percent : float
        Before rounding; from held flights; from steady flight, in knife-edge, in the dive or with flaps;
        in the latter two all are the same.  NaN where not known.
    used_percent : float
        Largest command of the source in the flights that tuned it.
    used_in : str
        What it was used in: "level knife-edge", or empty.
    tested : bool
        Whether a test that tells it could be flown; else the ratio is zero because nothing is known.
    given_up : str
        Why the ratios of its tests were given up, all together, when they were flown; empty where they were not.
    shown_by : str
        Name of the flight that shows best what it cures, "knife_edge.left".
    bare_degrees, left_degrees : float
        What that flight drifts in the term this ratio cures, bare and with blends.
    doubt : RatioDoubt, optional
    """

    source: str
    target: str
    side: str
    percent: float
    degrees: float
    degrees_used: float
    exact_percent: Number
    held_percent: Number
    steady_percent: Number
    used_percent: float
    used_in: str = ""
    tested: bool = True
    given_up: str = ""
    shown_by: str = ""
    bare_degrees: Number
    left_degrees: Number
    doubt: RatioDoubt | None = None

    @model_validator(mode="after")
    def _of_known_channels(self) -> FoundRatio:
        if self.source not in SIDES or self.target not in TARGETS or self.source == self.target:
            raise ValueError(f"no blend leads from {self.source!r} to {self.target!r}")
        if self.side not in (*SIDES[self.source], *self.ratio.row.knots):
            raise ValueError(f"the {self.source} has no side {self.side!r}")
        return self

    @property
    def ratio(self) -> Ratio:
        """Which ratio."""
        return Ratio(self.source, self.target, self.side)

    @property
    def amount(self) -> float:
        """As a share."""
        return self.percent / 100.0

    @property
    def found(self) -> bool:
        """Whether flights tell it, most airplanes can fly them, and its sign is likelier than the other one."""
        return (
            self.tested
            and not self.given_up
            and (self.doubt is None or not (self.is_unsure or self.doubt.cannot_percent > HALF))
        )

    @property
    def is_unsure(self) -> bool:
        """Whether the other sign is likelier."""
        return self.doubt is not None and self.doubt.other_sign_percent > HALF

    @property
    def is_seen(self) -> bool:
        """Whether anyone would see what it cures: a drift of :data:`SEEN` or more where it is shown."""
        return math.isnan(self.bare_degrees) or abs(self.bare_degrees) >= SEEN

    @computed_field  # type: ignore[prop-decorator]
    @property
    def words(self) -> str:
        """``right rudder: elevator 3 % UP (0.4°, at the rudder used in level knife-edge 0.2°)``."""
        if not self.tested:
            return f"{self.ratio.words}: {self.target} not found, no test of it could be flown"
        if not self.found:
            cannot = "most airplanes like it cannot fly the test"
            why = "the other sign is likelier" if self.is_unsure else self.given_up or cannot
            return f"{self.ratio.words}: {self.target} not found, {why}"
        start = f"{self.ratio.words}: {self.target} {amount_words(self.target, self.amount)}"
        if self.amount == 0.0:
            return start
        fades = fades_at(self.ratio)
        if fades is not None:
            return f"{start} ({self.degrees:.2f}°, fading to nothing at {100.0 * fades:.0f} % throttle)"
        if self.used_percent > 99.5:
            return f"{start} ({self.degrees:.2f}°)"
        where = f"used in {self.used_in}" if self.used_in else "used"
        return f"{start} ({self.degrees:.2f}°, at the {self.source} {where} {self.degrees_used:.2f}°)"

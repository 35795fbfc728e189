"""What each question's answer holds; the same object is printed as JSON, kept in a run and read back."""

from __future__ import annotations

import json
from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field, TypeAdapter, computed_field

from sixdof.airframe.blends import BlendSpec, amount_words
from sixdof.files.rows import KINDS, Number, Remark, Row, clean
from sixdof.flight.blends import Ratio, make_blends
from sixdof.flight.fly import Track
from sixdof.flight.layer import Layer
from sixdof.learning.crowd import Prior
from sixdof.tuning.band import Band
from sixdof.tuning.consequences import Consequences
from sixdof.tuning.diagnose import ChangeSet, Finding, Named
from sixdof.tuning.explore import Setting
from sixdof.tuning.found import Flown, FoundRatio
from sixdof.tuning.remedies import BestSet, Variant
from sixdof.tuning.split import Split
from sixdof.tuning.windy import Windy, WindyRatio

__all__ = [
    "SCHEMA", "Aircraft", "Answer", "CheckResult", "CompareResult", "DiagnoseResult", "ExploreResult", "FlyResult",
    "KnifeEdgeFlown", "LearnResult", "LearnedRatio", "LogResult", "Lore", "NextNote", "NotedFlight", "Notes", "Phase",
    "RemediesResult", "TuneResult", "WindResult", "read_answer",
]  # fmt: skip

#: Version of the JSON form; DEVELOPERS.md lists what changed.
SCHEMA = 2


class Aircraft(Row):
    """Which airplane."""

    name: str
    sha256: str
    invented: bool
    rate: str


class Notes(Row):
    """Notes of flights that an airplane was learned from.

    Attributes
    ----------
    flights : int
        That are believed.
    told : list of str
        What they tell of: ratios, and the share of the rudder that holds knife-edge.
    notes : dict of str to str
        File -> its text.
    """

    flights: int
    told: list[str]
    notes: dict[str, str]


class Answer(Row):
    """What every answer about an airplane holds.

    Attributes
    ----------
    aircraft : Aircraft
    changes : list of str
        What was changed of the airframe, in words.
    air : str
        What it was flown in: "calm", or the wind.
    remarks : list of Remark
        What one should know, the weightiest first.
    cautions : list of str
        What to mind before acting on it.
    learned : Notes, optional
        Notes that were taken in before.
    tracks : dict of str to Track
        "maneuver.side.kind" -> what happened, a row a radio frame; not in the JSON.
    inputs : dict of str to str
        Name of an input file -> its text; not in the JSON.
    """

    model_config = ConfigDict(arbitrary_types_allowed=True)

    command: str
    aircraft: Aircraft
    changes: list[str] = Field(default_factory=list)
    air: str = "calm"
    remarks: list[Remark] = Field(default_factory=list)
    cautions: list[str] = Field(default_factory=list)
    learned: Notes | None = None
    tracks: dict[str, Track] = Field(default_factory=dict, exclude=True, repr=False)
    inputs: dict[str, str] = Field(default_factory=dict, exclude=True, repr=False)

    @computed_field  # type: ignore[prop-decorator]
    @property
    def warnings(self) -> list[str]:
        """The texts of the remarks."""
        return [remark.text for remark in self.remarks]

    def of_kind(self, *kinds: str) -> list[Remark]:
        """Remarks of some kinds, the weightiest first."""
        mine = [remark for remark in self.remarks if not kinds or remark.kind in kinds]
        return sorted(mine, key=lambda remark: KINDS.index(remark.kind))

    def text(self, **more: Any) -> str:
        """JSON, numbers to six digits, what is not finite as null."""
        return json.dumps(clean({"schema": SCHEMA, **self.model_dump(), **more}), indent=1) + "\n"


class Phase(Row):
    """A measured phase of a flight: errors at its end [deg], sticks as its mean [%]."""

    flight: str
    phase: str
    canopy: Number
    right_wing: Number
    roll_right: Number
    sideslip: Number
    aileron: Number
    elevator: Number
    rudder: Number


class FlyResult(Answer):
    """One maneuver flown to each side."""

    command: Literal["fly"] = "fly"
    way: str
    flown_with: list[str]
    outputs: list[str] = Field(default_factory=list)
    maneuvers: list[Flown]
    phases: list[Phase]


class WindResult(Row):
    """Bare and blended in many samples of the gusts of a wind."""

    air: str
    samples: int
    maneuvers: list[Windy]
    ratios: list[WindyRatio]
    words: list[str]


class Lore(Row):
    """What physics alone asks for in level knife-edge at cruise, and what flyers know of such models.

    Attributes
    ----------
    right_percent, left_percent : float
        Elevator at full rudder that the airplane as estimated needs, + up.
    physics_percent, physics_sigma_percent : float
        Mean of both sides of the airplanes that fit the measurements: median, half of the middle 68 %.
    believed_percent : float
        The same with what flyers know: what is flown.
    apart : float
        How many standard deviations lie between the two.
    """

    right_percent: float
    left_percent: float
    physics_percent: float
    physics_sigma_percent: float
    believed_percent: float
    apart: float

    @computed_field  # type: ignore[prop-decorator]
    @property
    def words(self) -> str:
        """A sentence."""
        right, left, mean, believed = (
            amount_words("elevator", round(p, 1) / 100.0)
            for p in (self.right_percent, self.left_percent, self.physics_percent, self.believed_percent)
        )
        return (
            f"by physics alone full rudder needs elevator {right} (right) and {left} (left), the mean of both {mean} ± "
            f"{self.physics_sigma_percent:.0f} %; flyers find 2 to 6 % UP on such models (common practice, no source), so "
            f"{believed} is flown here"
        )


class KnifeEdgeFlown(Row):
    """Where knife-edge is flown, and the share of the rudder's travel that holds it level [%]; NaN where nothing does."""

    speed_m_s: float
    of_cruise_percent: float
    right_percent: Number
    left_percent: Number


class TuneResult(Answer):
    """Ratios, how sure they are, and what they bring.

    ``step_error_degrees``: largest difference of a drift when all was flown once more at half the integrator's step; none
    in older runs.
    """

    command: Literal["tune"] = "tune"
    step_percent: float
    airplanes: int
    unstable_percent: Number | None
    blends: list[FoundRatio]
    maneuvers: list[Flown]
    step_error_degrees: Number | None = None
    split: list[Split]
    knife_edge: KnifeEdgeFlown | None = None
    lore: Lore | None = None
    wind: WindResult | None = None

    def specs(self) -> list[BlendSpec]:
        """The blends with all ratios found, to fly with."""
        found = [blend for blend in self.blends if blend.found]
        return make_blends([blend.ratio for blend in found], [blend.amount for blend in found])

    @property
    def points(self) -> tuple[float, float]:
        """Points of ten lost bare and with blends, of the flights that finished both ways."""
        whole = [m for m in self.maneuvers if m.scored]
        return sum(m.points_before for m in whole), sum(m.points_after or 0.0 for m in whole)


class ExploreResult(Answer):
    """A maneuver over a range of one ratio; ``beside``: other ratios that were flown with each setting [%]."""

    command: Literal["explore"] = "explore"
    maneuver: str
    said: str
    vary: str
    beside: dict[str, float] = Field(default_factory=dict)
    settings: list[Setting]
    band: Band | None = None


class RemediesResult(Answer):
    """The airplane as it is and with each change; the fewest changes that help."""

    command: Literal["remedies"] = "remedies"
    over: str | None
    remedies: list[Variant]
    best: BestSet | None


class DiagnoseResult(Answer):
    """What a flyer would see in the trimming sequence, what makes it, what to change first.

    Attributes
    ----------
    flights : int
        How many were flown for it.
    findings : list of Finding
        Every tendency in the order of the sequence; what nobody would see says so.
    best : ChangeSet
        The few changes of the airframe that leave least of all tests.
    causes : list of Named
        What fits best of what no file states, by what somebody saw; empty where nobody told.
    flown_with : list of str
        The blends that were asked about, in words.
    consequences : Consequences or None
        What they do to the sequence; none where nobody asked.
    """

    command: Literal["diagnose"] = "diagnose"
    flights: int
    findings: list[Finding]
    best: ChangeSet
    saw: list[str] = Field(default_factory=list)
    causes: list[Named] = Field(default_factory=list)
    flown_with: list[str] = Field(default_factory=list)
    consequences: Consequences | None = None


class Derivative(Row):
    """A term of the flight model, per rad about the reference point, power off."""

    term: str
    value: Number
    sigma: Number
    source: str
    shares: dict[str, float]
    meaning: str


class Reference(Row):
    """What the derivatives refer to."""

    area_m2: float
    span_m: float
    chord_m: float
    point_m: tuple[float, float, float]


class CheckResult(Answer):
    """What a file says of an airplane, in words."""

    command: Literal["check"] = "check"
    name: str
    rate: str
    about: str
    file: str
    sticks: list[str]
    blends: list[str]
    balance: list[str]
    trim: list[str]
    modes: list[str]
    pitch_in_knife_edge: list[str]
    reference: Reference
    derivatives: list[Derivative]
    fit_residual: dict[str, float]
    made_of: list[str]


class LearnedRatio(Row):
    """A ratio before and after the notes; what is told is the one that serves all airplanes best that fit them.

    Attributes
    ----------
    target, source, side : str
    told : bool
        Whether notes speak of its test.
    before_percent, percent : float
        In steps of the radio.
    before_low_percent, before_high_percent, low_percent, high_percent : float
        Eight in ten airplanes need a ratio in between.
    other_sign_percent : Number
        Chance that the one needed has the other sign; NaN where the ratio is zero.
    """

    source: str
    target: str
    side: str
    told: bool
    before_percent: float
    before_low_percent: float
    before_high_percent: float
    percent: float
    low_percent: float
    high_percent: float
    other_sign_percent: Number

    @property
    def ratio(self) -> Ratio:
        """Its name and place."""
        return Ratio(self.source, self.target, self.side)  # type: ignore[arg-type]


class NotedFlight(Row):
    """A flight of notes: what was set, seen, learned.

    Attributes
    ----------
    flight : int
    file, date, set_to, seen : str
        Ratios in force and what was seen, in words.
    believed : bool
    again : bool
        It bore out a flight that was set aside.
    fits_percent : Number
        Chance of notes as unlikely as these by airplanes that fit the flights before; NaN for a flight without.
    most_surprising : str
    within_percent : dict of str to float
        Ratio -> half of the range, after it, that eight in ten airplanes need.
    served_percent : float
        Chance that both knife-edges stay below 5° in three seconds with the ratios after it.
    """

    flight: int
    file: str
    date: str
    set_to: str
    seen: str
    believed: bool
    again: bool
    fits_percent: Number
    most_surprising: str
    within_percent: dict[str, float]
    served_percent: float


class NextNote(Row):
    """A note to take next: what of the drift [deg in three seconds, root mean square] it would leave unknown, by now."""

    words: str
    now_degrees: float
    left_degrees: float


class LearnResult(Answer):
    """What notes of flights tell.

    Attributes
    ----------
    ratios : list of LearnedRatio
    flights : list of NotedFlight
    surprises, contradictions, cannot_tell, kept : list of str
        Sentences: notes that are not believed, that say two things; what no note tells; what is kept and not used.
    next_notes : list of NextNote
        The best first.
    served_before_percent, served_percent : float
        Chance that both knife-edges stay below 5° in three seconds: with the ratios before any note, and now.
    scale : dict of str to tuple of float
        Helper -> his degrees for one of ours: low, middle, high of eight in ten.
    prior, layer
        For the next time, and to lay over the airplane; not in the JSON.
    """

    command: Literal["learn"] = "learn"
    without: list[int]
    ratios: list[LearnedRatio]
    flights: list[NotedFlight]
    surprises: list[str]
    contradictions: list[str]
    cannot_tell: list[str]
    kept: list[str]
    next_notes: list[NextNote]
    served_before_percent: float
    served_percent: float
    scale: dict[str, tuple[float, float, float]]
    prior: Prior | None = Field(default=None, exclude=True, repr=False)
    layer: Layer | None = Field(default=None, exclude=True, repr=False)


class LogResult(Answer):
    """The logbook of an airplane: flight by flight what was set, seen, learned."""

    command: Literal["log"] = "log"
    flights: list[NotedFlight]
    ratios: list[LearnedRatio]


class Compared(Row):
    """A maneuver to one side in every run: degrees of the worst term, None where it has none."""

    name: str
    side: str
    said: str
    drift: list[float | None]


class CompareResult(Row):
    """Runs side by side."""

    command: Literal["compare"] = "compare"
    airplanes: list[str]
    blends: list[str]
    same_aircraft: bool
    maneuvers: list[Compared]

    def text(self, **more: Any) -> str:
        """JSON, numbers to six digits."""
        return json.dumps(clean({"schema": SCHEMA, **self.model_dump(), **more}), indent=1) + "\n"


_ANSWER: TypeAdapter[Answer] = TypeAdapter(
    Annotated[
        FlyResult
        | TuneResult
        | ExploreResult
        | RemediesResult
        | DiagnoseResult
        | CheckResult
        | LearnResult
        | LogResult,
        Field(discriminator="command"),
    ]
)


def read_answer(data: dict[str, Any]) -> Answer:
    """An answer out of its JSON object, without ``schema``.

    Raises
    ------
    pydantic.ValidationError
    """
    return _ANSWER.validate_python(data)

"""The trimming sequence in numbers: what a flyer sees in each of its tests, an airplane or many at once.

A tendency is one number of a test: how fast the airplane leaves what it was asked to fly, sticks let go, or where a
stick rests in level flight.  Tests to both sides are seen by the rudder applied or the way rolled: "with it" is +.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from sixdof.files.errors import InputError, nearest, shown
from sixdof.flight.fly import Flights
from sixdof.flight.frame import SAMPLES
from sixdof.flight.script import ERROR_NAMES, ManeuverFile, Script, make_script, sides_of
from sixdof.tuning.found import SEEN

__all__ = [
    "MANEUVERS",
    "TENDENCIES",
    "USUAL_ROLLS",
    "Saw",
    "Tendency",
    "is_seen",
    "of_flown",
    "read_saw",
    "scripts_of",
    "seen_in",
    "size_words",
]  # fmt: skip

#: Steps of what people call a drift [deg/s], sticks let go: our own scale, not calibrated yet.
SIZES = {"nothing": 0.3, "a hair": 1.0, "slight": 3.0, "moderate": 6.0, "strong": 12.0}
#: A drift that is seen though the test is over before it has grown to :data:`SEEN` [deg/s].
_QUICK = SIZES["moderate"]
#: How well a drift, a rate of roll and a resting stick are read: [deg/s] beside a share of it, [deg]; common practice, no source.
READ, READ_SHARE, READ_REST = 0.3, 0.05, 0.1
#: A violent drift is taken to be so much [deg/s].
_VIOLENT = 16.0
#: Full aileron, from the slow end of a low rate to the fast end of a high one [deg/s]; common practice, no source.
USUAL_ROLLS = (150.0, 400.0)
#: Resting stick that is seen, degrees of its surface; common practice, no source.
_RESTS = 1.5


def size_words(rate: float) -> str:
    """How large people call a drift [deg/s]."""
    return next((word for word, most in SIZES.items() if abs(rate) < most), "violent")


class Saw(NamedTuple):
    """What somebody saw in one test.

    Attributes
    ----------
    name : str
        Of the tendency.
    value, sigma : float [deg/s, deg]
        The number, and one standard deviation of how well it is read.
    judged, scaled : float
        Further ones, shares of what happens: of a judgment, and of a scale that all words of a helper share.
    """

    name: str
    value: float
    sigma: float
    judged: float = 0.0
    scaled: float = 0.0


class Tendency(NamedTuple):
    """A row of the table: one number that a test shows.

    Attributes
    ----------
    name : str
        What it is called in answers.
    part : str
        Part of the trimming sequence.
    said : str
        The test, in words.
    test : str
        Maneuver, or the channel whose stick rests.
    error : str
        One of :data:`sixdof.flight.script.ERROR_NAMES`, or "rests".
    ways : tuple of str
        What is said of + and of -.
    side : str
        "both", "right", "left", or "mean" of both sides, each seen by its own way.
    phase : int
        Which measured phase.
    share : float
        Of its time: what grows quickly is told before it is large.
    causes : tuple of str
        What is changed against it, mechanical first, in the order of :mod:`sixdof.tuning.causes`.
    blend : str
        What is left is blended away with, if anything.
    """

    name: str
    part: str
    said: str
    test: str
    error: str
    ways: tuple[str, str]
    side: str = "both"
    phase: int = 0
    share: float = 1.0
    causes: tuple[str, ...] = ()
    blend: str = ""

    @property
    def unit(self) -> str:
        """Of its numbers."""
        return "°" if self.error == "rests" else "°/s"

    def words(self, value: float) -> str:
        """``drops, 7.2 °/s (strong)``."""
        way = self.ways[value < 0.0]
        if self.error == "rests":
            return f"{way} {abs(value):.1f}°"
        if self.part == "throws":
            return f"{way} {abs(value):.0f} °/s"
        return f"{way} {abs(value):.1f} °/s ({size_words(value)})"


_CANOPY = ("to canopy", "to belly")
_NOSE = ("nose lifts", "nose drops")
_ROLL = ("rolls right", "rolls left")
_WING = ("goes right", "goes left")
_YAW = ("adverse yaw", "proverse yaw")
_WITH = ("rolls with the rudder", "rolls against the rudder")
_BALANCE = ("tip-weight", "twist", "elevator-halves")
_PITCH = ("cg", "wing-incidence", "tailplane-incidence", "down-thrust")

#: All of them, in the order of the sequence.
TENDENCIES: tuple[Tendency, ...] = (
    Tendency("resting elevator", "trims", "level, hands off", "elevator", "rests", ("elevator rests up", "elevator rests down"),
             causes=("wing-incidence", "tailplane-incidence", "cg")),
    Tendency("resting aileron", "trims", "level, hands off", "aileron", "rests", ("aileron rests right", "aileron rests left"),
             causes=_BALANCE),
    Tendency("resting rudder", "trims", "level, hands off", "rudder", "rests", ("rudder rests right", "rudder rests left"),
             causes=("fin", "right-thrust")),
    Tendency("roll right", "throws", "full aileron right", "full_throw_roll", "roll", ("rolls", "rolls"), "right"),
    Tendency("roll left", "throws", "full aileron left", "full_throw_roll", "roll", ("rolls", "rolls"), "left"),
    Tendency("inverted", "cg", "inverted, hands off", "inverted", "canopy", ("drops", "climbs"), causes=("cg",)),
    Tendency("inverted 45", "cg", "inverted 45° line", "inverted_45", "canopy", ("falls to level", "climbs"), causes=("cg",)),
    Tendency("dive", "dive", "power-off dive", "power_off_dive", "canopy", _CANOPY, causes=_PITCH, blend="throttle-elevator"),
    Tendency("fast dive", "dive", "faster dive", "fast_dive", "canopy", _CANOPY, causes=_PITCH, blend="throttle-elevator"),
    Tendency("upline yaw", "thrust line", "upline", "vertical_upline", "wing", _WING, causes=("right-thrust",),
             blend="throttle-rudder"),
    Tendency("upline pitch", "thrust line", "upline", "vertical_upline", "canopy", _CANOPY, causes=("down-thrust", "cg")),
    Tendency("upline roll", "thrust line", "upline", "vertical_upline", "roll", _ROLL, blend="throttle-aileron"),
    Tendency("slow upline yaw", "thrust line", "slowing upline", "vertical_upline", "wing", _WING, phase=1,
             causes=("right-thrust",)),
    Tendency("slow upline pitch", "thrust line", "slowing upline", "vertical_upline", "canopy", _CANOPY, phase=1,
             causes=("down-thrust",)),
    Tendency("chop", "thrust line", "throttle chop", "throttle_chop", "canopy", _NOSE, causes=("down-thrust",)),
    Tendency("chop roll", "thrust line", "throttle chop", "throttle_chop", "roll", _ROLL),
    Tendency("burst", "thrust line", "throttle burst", "throttle_burst", "canopy", _NOSE, causes=("down-thrust",)),
    Tendency("burst yaw", "thrust line", "throttle burst", "throttle_burst", "wing", _WING, causes=("right-thrust",)),
    Tendency("burst roll", "thrust line", "throttle burst", "throttle_burst", "roll", _ROLL, blend="throttle-aileron"),
    Tendency("inverted release", "balance", "inverted release", "inverted_release", "roll", _ROLL, causes=_BALANCE),
    Tendency("hard pull", "balance", "hard pull", "hard_pull", "roll", _ROLL, causes=_BALANCE),
    Tendency("hard push", "balance", "hard push", "hard_push", "roll", _ROLL, causes=_BALANCE),
    Tendency("inside loop", "balance", "inside loop", "inside_loop", "wing", _WING, causes=_BALANCE),
    Tendency("outside loop", "balance", "outside loop", "outside_loop", "wing", _WING, causes=_BALANCE),
    Tendency("level roll", "differential", "level roll", "roll_level", "sideslip", _YAW, "mean",
             causes=("differential",), blend="aileron-rudder"),
    Tendency("inverted roll", "differential", "roll from inverted", "roll_inverted", "sideslip", _YAW, "mean",
             causes=("differential",)),
    Tendency("upline half roll", "differential", "roll on the upline", "roll_upline", "sideslip", _YAW, "mean",
             causes=("differential",)),
    Tendency("turn entry", "differential", "turn entry, slow", "turn_entry", "sideslip", _YAW, "mean",
             causes=("differential",), blend="aileron-rudder"),
    Tendency("pulse roll", "rudder", "rudder pulse", "rudder_pulse", "roll", _WITH, "mean", causes=("dihedral",)),
    Tendency("pulse pitch", "rudder", "rudder pulse", "rudder_pulse", "canopy", _NOSE, "mean",
             causes=("tailplane-height",)),
    Tendency("knife-edge pitch right", "knife-edge", "right-rudder knife-edge", "knife_edge", "canopy", _CANOPY, "right",
             share=1.0 / 3.0, causes=(*_PITCH, "tailplane-height"), blend="rudder-elevator"),
    Tendency("knife-edge pitch left", "knife-edge", "left-rudder knife-edge", "knife_edge", "canopy", _CANOPY, "left",
             share=1.0 / 3.0, causes=(*_PITCH, "tailplane-height"), blend="rudder-elevator"),
    Tendency("knife-edge roll right", "knife-edge", "right-rudder knife-edge", "knife_edge", "roll", _WITH, "right",
             share=1.0 / 3.0, causes=("dihedral", "wing-height"), blend="rudder-aileron"),
    Tendency("knife-edge roll left", "knife-edge", "left-rudder knife-edge", "knife_edge", "roll", _WITH, "left",
             share=1.0 / 3.0, causes=("dihedral", "wing-height"), blend="rudder-aileron"),
    Tendency("flaps", "flaps", "flaps down", "flaps_down", "canopy", ("balloons", "sinks"), blend="flap-elevator"),
    Tendency("take-off pitch", "landing", "take-off climb", "takeoff_climb", "canopy", _NOSE),
    Tendency("take-off roll", "landing", "take-off climb", "takeoff_climb", "roll", _ROLL),
    Tendency("flare pitch right", "landing", "flare, right rudder", "crosswind_approach", "canopy", _NOSE, "right"),
    Tendency("flare pitch left", "landing", "flare, left rudder", "crosswind_approach", "canopy", _NOSE, "left"),
    Tendency("flare roll right", "landing", "flare, right rudder", "crosswind_approach", "roll", _WITH, "right"),
    Tendency("flare roll left", "landing", "flare, left rudder", "crosswind_approach", "roll", _WITH, "left"),
)  # fmt: skip
#: What is flown for them, in their order.
MANEUVERS: tuple[str, ...] = ("level", *dict.fromkeys(t.test for t in TENDENCIES if t.error != "rests"))

#: Seen in a mirror these errors change their way.
_MIRRORED = ("wing", "roll", "sideslip")
_RESTING = {"elevator": ("elevator_up", "elevator_down"), "aileron": ("aileron_up", "aileron_up"),
            "rudder": ("rudder_right", "rudder_left")}  # fmt: skip


def scripts_of(files: Sequence[ManeuverFile]) -> list[Script]:
    """Every maneuver to every side, sticks under test let go."""
    return [make_script(file, side, "free") for file in files for side in sides_of(file)]


def of_flown(files: Sequence[ManeuverFile]) -> list[Tendency]:
    """Rows of the table that some maneuvers show."""
    names = {file.name for file in files}
    return [t for t in TENDENCIES if t.error == "rests" or t.test in names]


def seen_in(
    planes: np.ndarray,
    scripts: Sequence[Script],
    flights: Flights,
    asked: Sequence[Tendency],
    *,
    sets: int = 1,
) -> np.ndarray:
    """What the flights of some airplanes show.

    Parameters
    ----------
    planes : records (n,)
    scripts : sequence of Script
    flights : Flights
        Plane by plane, set by set, script by script.
    asked : sequence of Tendency
    sets : int
        How often each airplane flew them all.

    Returns
    -------
    array (n * sets, len(asked)) [deg/s, deg]
        NaN where a flight was over before the time.
    """
    rows = len(planes) * sets
    errors = np.degrees(flights.errors).reshape(rows, len(scripts), *flights.errors.shape[1:])
    ends = flights.ends.reshape(rows, len(scripts))
    number = {(script.name, script.side): s for s, script in enumerate(scripts)}
    found = np.full((rows, len(asked)), np.nan)
    for j, tendency in enumerate(asked):
        if tendency.error == "rests":
            found[:, j] = np.repeat(_resting(planes, tendency.test), sets)
            continue
        sides = {"mean": ("right", "left")}.get(tendency.side, (tendency.side,))
        values = []
        for side in sides:
            s = number[tendency.test, side]
            sample = round(SAMPLES * tendency.share) - 1
            value = errors[:, s, tendency.phase, sample, ERROR_NAMES.index(tendency.error)]
            seconds = float(scripts[s].window[tendency.phase]) * (sample + 1) / SAMPLES
            over = ~_came_to(scripts[s], ends[:, s], tendency.phase, seconds)
            mirrored = side == "left" and tendency.error in _MIRRORED
            values.append(np.where(over, np.nan, (-value if mirrored else value) / seconds))
        found[:, j] = np.mean(values, axis=0)
    return found


def read_saw(text: str) -> Saw:
    """Read ``inverted=7 drops``, ``dive=moderate to canopy``, ``inside loop=nothing`` or ``resting elevator=2 up``.

    Degrees a second, or a word of :func:`size_words`; degrees of its surface where a stick rests.

    Raises
    ------
    InputError
        Unknown test, size or way, with what would be right.
    """
    name, _, told = (part.strip() for part in text.partition("="))
    tendency = next((t for t in TENDENCIES if t.name == name), None)
    if tendency is None:
        raise InputError(f"--saw {shown(text)}: {nearest(name, [t.name for t in TENDENCIES])}")
    size, _, way = told.partition(" ")
    size, way = ("a hair", way.removeprefix("hair").strip()) if size == "a" else (size, way.strip())
    value, sigma = _read_size(text, tendency, size)
    if tendency.part == "throws" or value == 0.0:
        return Saw(name, value, sigma)
    for sign, words in zip((1.0, -1.0), tendency.ways, strict=True):
        if way and (words == way or words.endswith(f" {way}")):
            return Saw(name, sign * value, sigma)
    raise InputError(
        f"--saw {shown(text)}: expected a way, as in {name}={size} {tendency.ways[0]}, or {tendency.ways[1]}"
    )


def _read_size(text: str, tendency: Tendency, size: str) -> tuple[float, float]:
    """Size and its standard deviation; a word stands for all between its ends alike."""
    ends = dict(zip((*SIZES, "violent"), zip((0.0, *SIZES.values()), (*SIZES.values(), 2.0 * _VIOLENT - SIZES["strong"]), strict=True), strict=True))  # fmt: skip
    rests = tendency.error == "rests"
    if size == "nothing":
        return 0.0, READ_REST if rests else READ
    if size in ends and not rests:
        low, high = ends[size]
        return 0.5 * (low + high), math.hypot(READ, (high - low) / math.sqrt(12.0))
    try:
        value = float(size)
    except ValueError:
        value = math.nan
    if not 0.0 <= value <= 2000.0:
        words = "degrees" if rests else f"degrees a second or one of {', '.join(ends)}"
        raise InputError(f"--saw {shown(text)}: got {shown(size)}, expected {words}")
    return value, READ_REST if rests else math.hypot(READ, READ_SHARE * value)


def is_seen(tendency: Tendency, value: float, seconds: float) -> bool:
    """Whether anyone would see it: so many degrees by the end of its test, or quick enough; a roll that is too fast or slow."""
    if tendency.part == "throws":
        return not USUAL_ROLLS[0] <= abs(value) <= USUAL_ROLLS[1]
    if tendency.error == "rests":
        return abs(value) >= _RESTS
    return abs(value) >= min(_QUICK, SEEN / seconds)


def _came_to(script: Script, ends: np.ndarray, measured: int, seconds: float) -> np.ndarray:
    """Which flights lasted until so long after a measured phase began."""
    finished = ends["status"] == 0
    phases = script.phases[: script.n_phases]
    number = int(np.flatnonzero(phases["measured"] == measured)[0])
    if phases["until"][:number].any():
        return finished
    begins = float(np.sum(phases["duration"][:number]))
    return finished | (ends["time"] > begins + seconds - 1e-6)


def _resting(planes: np.ndarray, channel: str) -> np.ndarray:
    """Where a surface rests in level flight, degrees in the sense of its stick."""
    trim = planes[f"{channel}_trim"]
    plus, minus = (planes[name] for name in _RESTING[channel])
    return np.degrees(trim * np.where(trim > 0.0, plus, minus))

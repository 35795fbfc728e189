"""What a flyer would see in each test of the trimming sequence, what makes it, and what to change first.

One batch flies them all: the airplane as it is, re-trimmed off by usual steps of every cause, lacking one group of its
terms after the other, with each blend, and as airplanes drawn from what is not known of it.  Servos are ideal, so
that a small change is not lost in slop and steps.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any, Literal, NamedTuple

import numpy as np
from pydantic import Field, computed_field
from scipy.optimize import lsq_linear

from sixdof.airframe.blends import amount_words
from sixdof.airframe.changes import CHANGES, change_text, change_words
from sixdof.files.errors import InputError
from sixdof.files.rows import Number, Row
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import BLENDS, Ratio, make_blends
from sixdof.flight.fly import fly_batch, pack_blends
from sixdof.flight.gusts import Wind, airs_of
from sixdof.flight.knife_edge import SIDES, knife_edges
from sixdof.flight.mixing import BLEND_DTYPE
from sixdof.flight.pack import set_trims, static_margin
from sixdof.flight.script import ManeuverFile
from sixdof.tuning.causes import (
    CAUSES,
    Fit,
    cosine,
    cure_words,
    fault_words,
    fit_causes,
    plane_with,
    rounded,
    step_of,
)
from sixdof.tuning.deviation import TOLERANCE
from sixdof.tuning.evidence import Evidence, Weighed, moves_of, one_way_slopes, weigh
from sixdof.tuning.held import without_slop
from sixdof.tuning.remedies import CHANGE_PRICE, LEAST_MARGIN, STEP_PRICE, bounds
from sixdof.tuning.sequence import (
    USUAL_ROLLS,
    Saw,
    Tendency,
    is_seen,
    of_flown,
    scripts_of,
    seen_in,
    size_words,
)

__all__ = [
    "Battery",
    "ChangeSet",
    "Finding",
    "Flown",
    "Named",
    "Remedy",
    "change_set",
    "cured_set",
    "evidence_of",
    "findings",
    "fly_all",
    "likely_causes",
    "name_causes",
    "seen_by",
]

#: Airplanes drawn from the doubt to say how sure a tendency is.
DRAWN = 60
#: Steps by which each cause is off, and the ratio that each blend is flown with.
STEPS, RATIO = 2.0, 0.04
#: Most usual steps of a remedy; least share of a tendency that it takes to be named [%]; side effects told from so much [deg/s].
MOST_STEPS, LEAST_HELP, SIDE = 3.0, 20.0, 1.0
#: What a set of changes may be made of, what can be done to a built airplane.
CANDIDATES = ("cg", "wing-incidence", "down-thrust", "right-thrust", "tip-weight", "differential")
#: One unit of what is left: what nobody sees, 5 deg in 3 s [deg/s].
UNIT = 5.0 / 3.0
MOST_CHANGES = 3

Progress = Callable[[float, str], None]


@dataclass(frozen=True)
class Battery:
    """What is flown of the sequence, and the numbers that it shows."""

    files: tuple[ManeuverFile, ...]

    @property
    def asked(self) -> list[Tendency]:
        """Rows of the table that these maneuvers show."""
        return of_flown(self.files)

    def fly(
        self, planes: np.ndarray, *, sets: np.ndarray | None = None, rows: np.ndarray | None = None,
        wind: Wind | None = None, samples: Sequence[int] = (1,),
    ) -> np.ndarray:  # fmt: skip
        """Fly all tests, sticks let go, in one batch.

        Parameters
        ----------
        planes : records (n,)
        sets : records (k, blends), optional
            Sets of blends; default: none.
        rows : int array (m, 2), optional
            Airplane and set of each sequence that is flown; default: every airplane without blends.
        wind : Wind, optional
        samples : sequence of int
            Which samples of its gusts; what is seen is their mean.

        Returns
        -------
        array (m, len(asked)) [deg/s, deg]
        """
        scripts = scripts_of(self.files)
        if rows is None:
            rows = np.stack((np.arange(len(planes)), np.zeros(len(planes), np.int64)), axis=1)
        airs, gusts = airs_of(planes[0], scripts, wind=wind, seeds=samples)
        row, day, script = np.indices((len(rows), len(samples), len(scripts))).reshape(3, -1)
        index = np.stack((rows[row, 0], script, rows[row, 1], day * len(scripts) + script), axis=1)
        flights = fly_batch(planes, scripts, blends=sets, index=index, airs=airs, gusts=gusts)
        found = seen_in(planes[rows[:, 0]], scripts, flights, self.asked, sets=len(samples))
        return found.reshape(len(rows), len(samples), -1).mean(axis=1)

    @property
    def flights(self) -> int:
        """How many flights one sequence takes."""
        return len(scripts_of(self.files))


class Flown(NamedTuple):
    """What the batch showed, tendencies in the order of ``battery.asked``.

    Attributes
    ----------
    now : array (n,)
        The airplane as it is [deg/s, deg].
    does : dict of str to array (2, n)
        What a unit [SI] of each cause does, toward + and toward -.
    lacks : dict of str to array (n,)
        What goes when a group of terms goes, re-trimmed.
    adds : dict of str to array (n,)
        What a ratio of 1 of each blend does, by the name of the ratio, or of the blend where its sides go together.
    drawn : array (m, n)
        Airplanes as likely.
    flights : int
    planes : records (1 + len(moved),)
        The airplane as it is, then off by one cause each, servos ideal.
    moved : list of (str, float)
        Which, and by how much [SI].
    """

    battery: Battery
    now: np.ndarray
    does: dict[str, np.ndarray]
    lacks: dict[str, np.ndarray]
    adds: dict[str, np.ndarray]
    drawn: np.ndarray
    flights: int
    planes: np.ndarray
    moved: list[tuple[str, float]]


# ---------------------------------------------------------------- groups of terms


def _at_neutral_point(planes: np.ndarray) -> None:
    ahead = static_margin(planes) * planes["c"]
    for name in ("ref_x", "prop_x"):
        planes[name] += ahead


def _through_cg(planes: np.ndarray) -> None:
    _without("axis_y", "axis_z", "prop_y", "prop_z")(planes)
    planes["axis_x"] = 1.0


def _no_swirl(planes: np.ndarray) -> None:
    planes["torque_recovered"] = 1.0
    _without("swirl_recovered", "swirl_tailplane")(planes)


def _without(*names: str) -> Callable[[np.ndarray], None]:
    def clear(planes: np.ndarray) -> None:
        for name in names:
            planes[name] = 0.0

    return clear


#: What an airplane is made to lack, to see what it does: static margin is one of them, not the cancelling parts of it.
GROUPS: dict[str, Callable[[np.ndarray], None]] = {
    "static margin (CG)": _at_neutral_point,
    "thrust line": _through_cg,
    "torque and swirl": _no_swirl,
    "slipstream on the tail": _without("immersion_tailplane", "immersion_fin", "stream_lift"),
    "propeller in crossflow": _without("prop_crossflow_force", "prop_crossflow_moment"),
    "fin, rudder and body in pitch": _without("Cmb2", "Cmb4", "Cmdr2", "Cmbdr"),
    "dihedral effect": _without("Clb", "Clba"),
    "roll of the rudder": _without("Cldr", "Clbdr", "Cldr2"),
    "yaw of the ailerons": _without("Cnda", "CndaCL", "Cndads"),
    "yaw of rolling": _without("Cnp", "CnpCL"),
    "flaps": _without("Cmdf", "CLdf"),
}


# ---------------------------------------------------------------- the batch


def _blends_flown(airplane: Airplane) -> dict[str, list[Ratio]]:
    """Ratios that are flown as one move, by its name."""
    moves: dict[str, list[Ratio]] = {}
    for blend in BLENDS.values():
        if "flap" in (blend.source, blend.target) and airplane.airframe.controls.flap is None:
            continue
        ratios = [Ratio(blend.source, blend.target, side) for side in blend.sides]
        moves |= {blend.name: ratios} if blend.name == "aileron-rudder" else {r.name: [r] for r in ratios}
    return moves


def _amounts(ratios: Sequence[Ratio], amount: float) -> list[float]:
    """Amounts of a move: the left of two sides that go together the other way."""
    return [-amount if len(ratios) > 1 and ratio.side == "left" else amount for ratio in ratios]


def fly_all(
    airplane: Airplane, files: Sequence[ManeuverFile], *, progress: Progress = lambda share, text: None
) -> Flown:
    """Fly the sequence with all that may be changed, in one batch.

    Parameters
    ----------
    airplane : Airplane
    files : sequence of ManeuverFile
        As they fit under the ceiling.
    """
    battery = Battery(tuple(files))
    planes, moved = [airplane.planes], []
    for k, name in enumerate(CAUSES):
        progress(0.5 * k / len(CAUSES), f"off by {name}, re-trimmed")
        for sign in (1.0,) if CAUSES[name].built else (1.0, -1.0):
            amount = sign * STEPS * step_of(name, airplane)
            try:
                planes.append(plane_with(airplane, name, amount))
                moved.append((name, amount))
            except InputError:
                continue
    lacking = []
    for name, lack in GROUPS.items():
        plane = airplane.planes
        lack(plane)
        if set_trims(plane, airplane.airframe.speeds.cruise)[0]:
            planes.append(plane)
            lacking.append(name)
    progress(0.6, "drawing airplanes from what is not known")
    drawn = airplane.drawn(DRAWN).planes
    every = without_slop(np.concatenate([*planes, drawn]))
    blends = _blends_flown(airplane)
    sets = np.zeros((1 + len(blends), 1), BLEND_DTYPE)
    sets[0] = pack_blends(())
    for k, ratios in enumerate(blends.values(), start=1):
        sets[k] = pack_blends(make_blends(ratios, _amounts(ratios, RATIO)))
    rows = [(p, 0) for p in range(len(every))] + [(0, k) for k in range(1, len(sets))]
    progress(0.8, f"{len(rows) * battery.flights} flights")
    seen = battery.fly(every, sets=sets, rows=np.array(rows))
    now, seen = seen[0], seen[1:]
    does = one_way_slopes(moved, seen[: len(moved)], now)
    seen = seen[len(moved) :]
    lacks = {name: now - row for name, row in zip(lacking, seen, strict=False)}
    seen = seen[len(lacking) :]
    adds = {name: (row - now) / RATIO for name, row in zip(blends, seen[len(drawn) :], strict=True)}
    return Flown(
        battery, now, does, lacks, adds, seen[: len(drawn)], len(rows) * battery.flights, every[: 1 + len(moved)], moved
    )  # fmt: skip


# ---------------------------------------------------------------- findings


class Remedy(Row):
    """Something to do against a tendency.

    Attributes
    ----------
    kind : str
        "airframe", "rigging" (no file states it), "built" (for the next airplane), "blend".
    words : str
    change : str
        As one would type it behind --change, or a ratio behind --blend; empty where neither can.
    removes_percent : float
        Of the tendency, by the partials.
    all_percent : float
        Of all tests together (root of the sum of squares), or of those of its part if that is less; below nothing where it
        spoils more than it cures.
    better, worse : list of str
        Other tests that it moves by so much that it tells.
    warning : str
        Why it may be the wrong cure.
    """

    kind: Literal["airframe", "rigging", "built", "blend"]
    words: str
    change: str
    removes_percent: float
    all_percent: float
    better: list[str]
    worse: list[str]
    warning: str = ""

    @computed_field  # type: ignore[prop-decorator]
    @property
    def side_effects(self) -> list[str]:
        """Worse first."""
        return [*(f"worse: {text}" for text in self.worse), *(f"better: {text}" for text in self.better)]


class Finding(Row):
    """A tendency: what a flyer would see in a test, what makes it, what to do.

    Attributes
    ----------
    name, part, said : str
        What it is called here; part of the sequence; the test in words.
    tendency : str
        "drops, 7.1 °/s (strong)".
    value, unit : float, str
    strength : str
        Our word for its size.
    seen : bool
        Whether anyone would see it.
    points : float
        Of ten, that it would lose by the published step of one per 15 deg; NaN where nothing drifts.
    sure_percent : float
        Of the airplanes that fit the measurements do the same, the same way and to be seen; or, if it is not seen, do not show it.
    shares : dict of str to float
        What goes when a group of terms goes, in the same unit, the largest first; they need not add up.
    remedies : list of Remedy
        In the order to try them.
    """

    name: str
    part: str
    said: str
    tendency: str
    value: Number
    unit: str
    strength: str
    seen: bool
    points: Number
    sure_percent: Number
    shares: dict[str, float]
    remedies: list[Remedy] = Field(default_factory=list)


def findings(
    airplane: Airplane, flown: Flown, now: np.ndarray | None = None, first: Named | None = None
) -> list[Finding]:
    """Every tendency of the sequence, in its order.

    Parameters
    ----------
    airplane : Airplane
    flown : Flown
    now : array (n,), optional
        What was seen in place of what was flown.
    first : Named, optional
        What fits that best: its cure comes first.
    """
    now = flown.now if now is None else now
    asked = flown.battery.asked
    seconds = _seconds(flown.battery)
    rows = []
    for j, (tendency, value) in enumerate(zip(asked, now.tolist(), strict=True)):
        known = math.isfinite(value)
        seen = known and is_seen(tendency, value, seconds[j])
        rows.append(
            Finding(
                name=tendency.name, part=tendency.part, said=tendency.said,
                tendency=tendency.words(value) if known else "not flown to its end", value=value, unit=tendency.unit,
                strength=size_words(value) if known and tendency.error != "rests" and tendency.part != "throws" else "",
                points=_points(tendency, value, seconds[j]), seen=seen, sure_percent=_sure(flown, j, value, seen, seconds[j]),
                shares=_shares(flown, j),
                remedies=_remedies(airplane, flown, j, now, first) if seen else [],
            )
        )  # fmt: skip
    return rows


def _seconds(battery: Battery) -> list[float]:
    """How long each tendency is looked at."""
    windows = {s.name: s.window for s in scripts_of(battery.files)}
    return [
        float(windows[t.test][t.phase]) if t.error != "rests" else math.inf for t in battery.asked
    ]  # all of its time: a share only tells early


def _sure(flown: Flown, j: int, value: float, seen: bool, seconds: float) -> float:
    tendency = flown.battery.asked[j]
    drawn = flown.drawn[:, j]
    drawn = drawn[np.isfinite(drawn)]
    if not len(drawn) or not math.isfinite(value):
        return math.nan
    same = [is_seen(tendency, d, seconds) and d * value > 0.0 for d in drawn.tolist()]
    hidden = [not is_seen(tendency, d, seconds) for d in drawn.tolist()]
    return 100.0 * float(np.mean(same if seen else hidden))


def _points(tendency: Tendency, value: float, seconds: float) -> float:
    """Points of ten by the published step, at the end of the test; full throws and resting sticks are not judged."""
    if tendency.error == "rests" or tendency.part == "throws":
        return math.nan
    return min(math.radians(abs(value)) * seconds / TOLERANCE, 10.0)


def _shares(flown: Flown, j: int) -> dict[str, float]:
    parts = {name: float(row[j]) for name, row in flown.lacks.items() if abs(row[j]) >= 0.1}
    return dict(sorted(parts.items(), key=lambda part: -abs(part[1])))


def _remedies(airplane: Airplane, flown: Flown, j: int, now: np.ndarray, first: Named | None) -> list[Remedy]:
    """The cure of what fits what was seen; mechanical ones in the order of the table, then the blend."""
    tendency, found = flown.battery.asked[j], []
    if tendency.part == "throws":
        return [_throw(abs(float(now[j])))]
    if first is not None:
        move = -_slope(flown, first.name, first.amount) * first.amount
        removes = -100.0 * float(move[j] / now[j])
        if removes >= LEAST_HELP:
            effects = _effects(flown, now, move, tendency)
            found.append(first.remedy.model_copy(update={"removes_percent": removes} | effects))
    for name in tendency.causes:
        if name not in flown.does or (first is not None and name == first.name):
            continue
        amount = _against(airplane, flown, name, j, float(now[j]))
        move = flown.does[name][0 if amount > 0.0 else 1] * amount
        removes = -100.0 * float(move[j] / now[j])
        if not removes >= LEAST_HELP:
            continue
        found.append(
            Remedy(
                kind="built" if CAUSES[name].built else "airframe" if name in CHANGES else "rigging",
                words=cure_words(name, -amount), change=change_text(name, amount) if name in CHANGES else "",
                removes_percent=removes, warning=_as_far(airplane, name, amount, removes),
                **_effects(flown, now, move, tendency),
            )
        )  # fmt: skip
    for name, row in flown.adds.items():
        if name.partition(".")[0] == tendency.blend and abs(row[j]) * RATIO >= 0.1:
            found += _blend_remedy(airplane, flown, name, j, now)
    return found


def _throw(rate: float) -> Remedy:
    """What is done about a roll that is too fast or too slow [deg/s]; the throw goes as the rate."""
    low, high = USUAL_ROLLS
    share = (low if rate < low else high) / rate
    words = f"{100.0 * share:.0f} % of the aileron throw: linkage holes first, then the rate, expo last"
    return Remedy(
        kind="airframe", words=words, change="", removes_percent=100.0, all_percent=0.0, better=[], worse=[]
    )


def _against(airplane: Airplane, flown: Flown, name: str, j: int, value: float) -> float:
    """Amount of a change [SI] that takes a tendency away, as far as is usual; 0 where it cannot."""
    step = step_of(name, airplane)
    low, high = bounds(name, airplane, MOST_STEPS)
    for sign, slopes in zip((1.0, -1.0), flown.does[name], strict=True):
        slope = float(slopes[j])
        if slope * value * sign < 0.0:
            return rounded(name, float(np.clip(-value / slope, low * step, high * step)))
    return 0.0


def _as_far(airplane: Airplane, name: str, amount: float, removes: float) -> str:
    """Why no more of it is meant."""
    if removes > 85.0:
        return ""
    if name == "cg" and amount > 0.0:
        return f"no further: a static margin below {100.0 * LEAST_MARGIN:.0f} % is touchy"
    return f"no more at once: {MOST_STEPS:.0f} usual steps"


def _blend_remedy(airplane: Airplane, flown: Flown, name: str, j: int, now: np.ndarray) -> list[Remedy]:
    ratios = _blends_flown(airplane)[name]
    row, ratio = ratios[0].row, ratios[0]
    amount = float(np.clip(-now[j] / flown.adds[name][j], -row.most, row.most))
    amount = round(200.0 * amount) / 200.0
    move = flown.adds[name] * amount
    removes = -100.0 * float(move[j] / now[j])
    if not removes >= LEAST_HELP:
        return []
    warnings = (
        [f"more than the {100.0 * row.cap:.0f} % a blend should cure: {row.first}"]
        if abs(amount) > row.cap
        else []
    )
    margin = flown.lacks.get("static margin (CG)")
    if (
        row.target == "elevator"
        and row.source == "rudder"
        and margin is not None
        and margin[j] / now[j] > 0.5
    ):
        warnings.append("most of it is the CG, which a blend hides at one speed only: move weight instead")
    said = f"{ratio.words}: {ratio.target} {amount_words(ratio.target, amount)}"
    if len(ratios) > 1:
        said = f"full {ratio.source}: {ratio.target} {100.0 * abs(amount):g} % {'with' if amount > 0.0 else 'against'} it"
    return [
        Remedy(
            kind="blend", words=said,
            change=f"{ratio.name}={100.0 * amount:g}", removes_percent=removes,
            warning="; ".join(warnings),
            **_effects(flown, now, move, flown.battery.asked[j]),
        )
    ]  # fmt: skip


def _effects(flown: Flown, now: np.ndarray, move: np.ndarray, own: Tendency | None = None) -> dict[str, Any]:
    """What it does to all tests together; the others that get worse or better by so much that it tells, at most three each."""
    better: list[tuple[float, str]] = []
    worse: list[tuple[float, str]] = []
    for tendency, before, change in zip(flown.battery.asked, now.tolist(), move.tolist(), strict=True):
        if tendency.error == "rests" or tendency.part == "throws" or tendency == own:
            continue
        more = abs(before + change) - abs(before)
        if math.isfinite(more) and abs(more) >= SIDE:
            text = f"{tendency.said} {tendency.ways[before + change < 0.0]} {abs(before + change):.0f} °/s, was {abs(before):.0f} °/s"
            (worse if more > 0.0 else better).append((abs(more), text))
    drifts = np.array([t.error != "rests" and t.part != "throws" for t in flown.battery.asked]) & np.isfinite(
        now + move
    )
    part = drifts & np.array([own is None or t.part == own.part for t in flown.battery.asked])
    return {"all_percent": min(_removed(now[mine], (now + move)[mine]) for mine in (drifts, part))} | {
        name: [text for _, text in sorted(rows, key=lambda row: -row[0])[:3]]
        for name, rows in (("better", better), ("worse", worse))
    }


# ---------------------------------------------------------------- what fits what somebody saw


class Named(Row):
    """A cause that no file states, by what somebody saw.

    Attributes
    ----------
    name, words : str
        "cg"; "CG 9 mm further forward": how it differs from the file.
    amount : float [SI]
        Positive toward the first way of its cause.
    explains_percent : float
        Of what was seen otherwise than expected (squared, over how well it is seen), if the estimate is right.
    sure_percent : float
        Chance that it is off, whatever the estimate and a careful builder leave open of all else.
    alike : list of str
        Causes that explain as much, and show so much alike (cosine above .95) that these tests do not tell them apart.
    remedy : Remedy
    """

    name: str
    words: str
    amount: float
    explains_percent: float
    sure_percent: float
    alike: list[str]
    remedy: Remedy


#: Cosine above which two causes are not told apart.
ALIKE = 0.95
#: Chance from which a cause is worth a word, and from which one, or all that are not told apart, are believed [%].
WORTH, LIKELY = 10.0, 50.0


def seen_by(flown: Flown, saws: Sequence[Saw]) -> tuple[np.ndarray, np.ndarray]:
    """What somebody saw of each tendency, NaN where nobody looked, and one standard deviation of it, arrays (n,)."""
    names = [tendency.name for tendency in flown.battery.asked]
    y, sigma = np.full(len(names), np.nan), np.ones(len(names))
    for saw in saws:
        if saw.name in names:
            y[names.index(saw.name)], sigma[names.index(saw.name)] = saw.value, saw.sigma
    return y, sigma


def evidence_of(airplane: Airplane, flown: Flown, saws: Sequence[Saw], *, doubted: bool = True) -> Evidence:
    """What somebody saw, against what the airplane of the file shows.

    Parameters
    ----------
    airplane : Airplane
        As its file says.
    flown : Flown
        How that flies.
    saws : sequence of Saw
    doubted : bool
        Whether the doubt of the estimate is flown too.
    """
    y, sigma = seen_by(flown, saws)
    by_name = {saw.name: saw for saw in saws}
    real = flown.battery.fly(airplane.planes)[0]  # servos as they are: the slopes alone are of ideal ones
    known = np.isfinite(y - real)
    moves = np.zeros((0, len(y)))
    if doubted:
        planes, flies = airplane.one_error_at_a_time()
        moves = moves_of(airplane, flown.battery.fly(without_slop(planes)), flies)
    judged, scaled = (
        np.array([getattr(by_name.get(t.name), what, 0.0) for t in flown.battery.asked])[known]
        for what in ("judged", "scaled")
    )
    return Evidence(
        (y - real)[known], real[known], {name: slopes[:, known] for name, slopes in flown.does.items()},
        np.diag(sigma[known] ** 2), moves[:, known], judged, scaled, airplane.errors if doubted else (),
    )  # fmt: skip


def name_causes(
    airplane: Airplane, flown: Flown, evidence: Evidence, y: np.ndarray
) -> tuple[list[Named], np.ndarray]:
    """Causes by how well each alone explains what was seen, and what is to be expected of every test with the first.

    Parameters
    ----------
    airplane : Airplane
        As its file says.
    flown : Flown
        How that flies.
    evidence : Evidence
    y : array (n,)
        What was seen of each tendency, NaN where nobody looked.

    Returns
    -------
    named : list of Named
        The best first.
    now : array (n,)
        What was seen; what would be seen with the first cause, where nobody looked.
    """
    known, does = np.isfinite(y), evidence.does
    steps = {name: step_of(name, airplane) for name in does}
    fits = fit_causes(evidence.left, does, steps, evidence.seen)
    if not fits:
        return [], np.where(known, y, flown.now)
    sure = {one.name: one.sure for one in weigh(evidence, steps)} if len(evidence.moves) else {}
    now = np.where(known, y, flown.now)
    named = [
        _named(
            airplane, flown, now, fit.name, fit.amount, explains=fit.explains, sure=sure.get(fit.name, math.nan),
            alike=[other.name for other in fits if other.gain > ALIKE * fit.gain and _alike(evidence, fit, other)],
        )
        for fit in fits
    ]  # fmt: skip
    first = fits[0]
    expected = flown.now + np.nan_to_num(_slope(flown, first.name, first.amount)) * first.amount
    return named, np.where(known, y, expected)


def likely_causes(airplane: Airplane, flown: Flown, evidence: Evidence) -> list[Named]:
    """Causes that are likelier off than not, whatever the estimate and the builder leave open, each by itself or together with
    those that it is not told apart from.

    Parameters
    ----------
    airplane : Airplane
        As its file says.
    flown : Flown
        How that flies.
    evidence : Evidence
    """
    steps = {name: step_of(name, airplane) for name in evidence.does}
    worth = [one for one in weigh(evidence, steps) if one.sure >= WORTH]
    alike = {one.name: [other for other in worth if _alike(evidence, one, other)] for one in worth}
    worth = [one for one in worth if one.sure + sum(other.sure for other in alike[one.name]) >= LIKELY]
    left = evidence.left

    def explains(one: Weighed) -> float:
        W = np.linalg.inv(evidence.seen + evidence.doubt(one.name))
        rest = left - _shows(evidence, one) * one.amount
        return 1.0 - float(rest @ W @ rest) / float(left @ W @ left)

    return [
        _named(
            airplane, flown, flown.now, one.name, one.amount, explains=explains(one), sure=one.sure,
            alike=[other.name for other in alike[one.name]],
        )
        for one in worth
    ]  # fmt: skip


def _named(
    airplane: Airplane, flown: Flown, now: np.ndarray, name: str, amount: float, *, explains: float, sure: float, alike: list[str],
) -> Named:  # fmt: skip
    """A cause in words, with its cure and what that does."""
    change = -rounded(name, amount)
    remedy = Remedy(
        kind="built" if CAUSES[name].built else "airframe" if name in CHANGES else "rigging",
        words=cure_words(name, -change), change=change_text(name, change) if name in CHANGES and change else "",
        removes_percent=100.0 * explains, **_effects(flown, now, -_slope(flown, name, amount) * amount),
    )  # fmt: skip
    return Named(
        name=name, words=fault_words(name, amount), amount=amount, explains_percent=100.0 * explains, sure_percent=sure,
        alike=alike, remedy=remedy,
    )  # fmt: skip


def _shows(evidence: Evidence, one: Fit | Weighed) -> np.ndarray:
    """What a unit of a cause does to what was seen, the way it is off; array (n,)."""
    return np.nan_to_num(evidence.does[one.name][0 if one.amount > 0.0 else 1])


def _alike(evidence: Evidence, one: Fit | Weighed, other: Fit | Weighed) -> bool:
    """Whether two causes show so much alike that what was seen does not tell them apart."""
    same = cosine(_shows(evidence, one), _shows(evidence, other), evidence.seen)
    return one.name != other.name and abs(same) > ALIKE


# ---------------------------------------------------------------- the set of changes


class ChangeSet(Row):
    """The few changes of the airframe that leave least of all tests, flown; and what is left for blends.

    Attributes
    ----------
    changes : list of str
        As one would type them; empty where none is worth its work.
    words : str
    removes_percent, promised_percent : float
        Of all tendencies together (root of the sum of squares), flown, and by the partials.
    static_margin : float [%]
    left : list of str
        Ratios that level knife-edge then needs.
    """

    changes: list[str]
    words: str
    removes_percent: float
    promised_percent: float
    static_margin: float
    left: list[str]


def change_set(airplane: Airplane, flown: Flown, *, speed: float) -> ChangeSet:
    """The few changes that leave least of all tests.

    Bounded least squares on the partials, for every choice of up to three changes, each with a price; the amounts
    are rounded to what people can make, and the set is flown.

    Parameters
    ----------
    airplane : Airplane
    flown : Flown
    speed : float [m/s]
        Of knife-edge.
    """
    y = flown.now / UNIT
    counts = _counts(flown) & np.isfinite(y)
    y = np.where(counts, y, 0.0)
    whole = least = float(y @ y)
    best: dict[str, float] = {}
    usable = [name for name in CANDIDATES if name in flown.does]
    limits = {name: bounds(name, airplane, MOST_STEPS) for name in usable}
    for names in (c for k in range(1, MOST_CHANGES + 1) for c in combinations(usable, k)):
        x = np.zeros(len(names))
        for _ in range(2):  # then with the slopes of the way that was found
            A = np.stack(
                [np.where(counts, np.nan_to_num(_slope(flown, n, v)), 0.0) * step_of(n, airplane) / UNIT for n, v in zip(names, x, strict=True)],
                axis=1,
            )  # fmt: skip
            low, high = np.array([limits[name] for name in names]).T
            if not np.all(high > low):
                break
            priced = np.concatenate([A, math.sqrt(STEP_PRICE * whole) * np.eye(len(names))])
            x = lsq_linear(priced, np.concatenate([-y, np.zeros(len(names))]), (low, high)).x
        else:
            rest = y + A @ x
            cost = float(rest @ rest) + whole * (STEP_PRICE * float(x @ x) + CHANGE_PRICE * len(names))
            if cost < least:
                least, best = cost, dict(zip(names, x.tolist(), strict=True))
    amounts = {n: rounded(n, x * step_of(n, airplane)) for n, x in best.items()}
    amounts = {n: a for n, a in amounts.items() if a}
    promised = y + sum((np.where(counts, np.nan_to_num(_slope(flown, n, a)), 0.0) * a / UNIT for n, a in amounts.items()), np.zeros_like(y))  # fmt: skip
    other = airplane.changed(amounts)
    after = promised
    if amounts:
        after = np.nan_to_num(np.where(counts, flown.battery.fly(without_slop(other.planes))[0], 0.0)) / UNIT
    return ChangeSet(
        changes=[change_text(*change) for change in amounts.items()],
        words=", ".join(change_words(*change) for change in amounts.items()),
        removes_percent=_removed(y, after), promised_percent=_removed(y, promised),
        static_margin=100.0 * other.static_margin, left=_left(other, speed),
    )  # fmt: skip


def cured_set(airplane: Airplane, first: Named, *, speed: float) -> ChangeSet:
    """The cure of a cause that no file states: then the airplane is as its file says."""
    change = first.remedy.change
    return ChangeSet(
        changes=[change] if change else [], words=first.remedy.words, removes_percent=first.explains_percent,
        promised_percent=first.explains_percent, static_margin=100.0 * airplane.static_margin, left=_left(airplane, speed),
    )  # fmt: skip


def _counts(flown: Flown) -> np.ndarray:
    """Which tendencies a set of changes is to bring down."""
    return np.array(
        [t.error != "rests" and not set(CANDIDATES).isdisjoint(t.causes) for t in flown.battery.asked]
    )


def _slope(flown: Flown, name: str, amount: float) -> np.ndarray:
    more, less = flown.does[name]
    return more if amount > 0.0 else less if amount < 0.0 else 0.5 * (more + less)


def _removed(before: np.ndarray, after: np.ndarray) -> float:
    size = float(np.linalg.norm(before))
    return 100.0 * (1.0 - float(np.linalg.norm(after)) / size) if size else 0.0


def _left(airplane: Airplane, speed: float) -> list[str]:
    """Ratios that level knife-edge needs, to the right and to the left."""
    edge = knife_edges(airplane.planes, speed)
    return [
        f"{side} rudder {target} {amount_words(target, round(100.0 * float(value)) / 100.0)}"
        for target in ("elevator", "aileron")
        for side, value in zip(SIDES, edge.ratios(target)[0], strict=True)
        if np.isfinite(value)
    ]

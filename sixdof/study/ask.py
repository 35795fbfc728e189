"""The questions one can ask of an airplane: fly, tune, explore, remedies, diagnose, compare; :mod:`sixdof.study.check` has one more.

Each is a pure function of what it is given.  ``progress(share, text)`` is told how far it is; what it raises
ends the work.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Literal

import numpy as np

from sixdof.airframe.blends import BlendSpec
from sixdof.airframe.changes import change_text, change_words, find_change
from sixdof.airframe.describe import blend_words
from sixdof.files.errors import InputError
from sixdof.files.rows import Remark
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import read_ratio
from sixdof.flight.ceiling import CEILING, read_ceiling, under_ceiling
from sixdof.flight.fly import Flights, fly_batch, pack_blends
from sixdof.flight.gusts import Bump, Wind, airs_of, read_bump, read_wind
from sixdof.flight.knife_edge import Hold, where_it_holds
from sixdof.flight.maneuver import KNIFE_EDGE
from sixdof.flight.outputs import when_words
from sixdof.flight.script import ManeuverFile, Script, load_maneuver, make_script, sides_of
from sixdof.flight.starts import check_starts
from sixdof.physics.channels import NUMBER
from sixdof.study.cautions import BEFORE_CHANGING, BEFORE_FLYING
from sixdof.study.remarks import (
    airplane_remarks,
    doubt_remarks,
    flight_remarks,
    hold_remarks,
    in_order,
    lore_remarks,
    lore_result,
    ratio_remarks,
    wind_result,
    window_remarks,
)
from sixdof.study.results import (
    Aircraft,
    Answer,
    Compared,
    CompareResult,
    DiagnoseResult,
    ExploreResult,
    FlyResult,
    KnifeEdgeFlown,
    Notes,
    Phase,
    RemediesResult,
    TuneResult,
)
from sixdof.tuning.band import band, read_over
from sixdof.tuning.consequences import ROLLS, consequences
from sixdof.tuning.diagnose import change_set, cured_set, findings, fly_all, name_causes
from sixdof.tuning.doubt import AIRPLANES, choose
from sixdof.tuning.explore import explore_ratio, read_range
from sixdof.tuning.remedies import FLOWN, best_set, steps_over, usual_changes, variants
from sixdof.tuning.search import flown_row, fly_chosen, seek
from sixdof.tuning.sequence import MANEUVERS, read_saw
from sixdof.tuning.split import split
from sixdof.tuning.windy import in_wind

__all__ = [
    "answer_about",
    "compare",
    "diagnose",
    "explore",
    "fly",
    "maneuvers_of",
    "read_air",
    "remedies",
    "sequence_of",
    "tune",
    "usual_maneuvers",
]

Progress = Callable[[float, str], None]
Maneuver = str | ManeuverFile


def _quiet(share: float, text: str) -> None:
    """Progress that nobody watches."""


def usual_maneuvers(airplane: Airplane) -> list[str]:
    """What `tune` flies unasked."""
    names = ["knife_edge", "four_point_roll", "power_off_dive", "roll_reversal"]
    return [*names, "flaps_down"] if airplane.airframe.controls.flap is not None else names


def fly(
    airplane: Airplane,
    maneuver: Maneuver,
    *,
    way: Literal["free", "held"] = "free",
    blends: Iterable[BlendSpec] | None = None,
    speed: float = 1.0,
    ceiling: float | str = CEILING,
    wind: Wind | str | None = None,
    gust: Bump | str | None = None,
    sample: int = 1,
    progress: Progress = _quiet,
) -> FlyResult:
    """Fly one maneuver to each side.

    Parameters
    ----------
    airplane : Airplane
    maneuver : str or ManeuverFile
        A name, the path of a file, or what :func:`sixdof.load_maneuver` gave.
    way : {"free", "held"}
        Free: after a settled entry the sticks under test are let go.  Held: the pilot keeps bank and path.
    blends : iterable of BlendSpec, optional
        Default: those of the aircraft file.
    speed : float
        Share of the maneuver's speed, 0.5 to 2.
    ceiling : float [m] or str
        Of the site, "100 m": nothing begins higher, and a dive is pulled out above the ground.
    wind, gust : Wind, Bump or str, optional
        "4 m/s from the right"; "3 m/s from below at 4 s".
    sample : int
        Which sample of the wind's gusts: the same number, the same gusts.
    progress : callable

    Returns
    -------
    FlyResult
        ``tracks["knife_edge.left.free"].column("roll")`` is an array [rad] over the radio frames.

    Raises
    ------
    InputError
        No such maneuver, or no steady flight to begin with.

    Examples
    --------
    >>> from sixdof import Airplane
    >>> flown = fly(Airplane("corvane"), "knife_edge", way="held")
    >>> [row.said for row in flown.maneuvers]
    ['right-rudder knife-edge', 'left-rudder knife-edge']
    >>> flown.tracks["knife_edge.left.held"].column("roll").ndim
    1
    """
    asked, (day, bump) = _maneuver(maneuver), read_air(wind, gust, sample)
    if not 0.5 <= speed <= 2.0:
        raise InputError(f"speed: got {100.0 * speed:g} %, expected 50 to 200 %")
    own = airplane.airframe.radio.blends
    specs = list(own if blends is None else blends)
    file = _fitting(airplane, asked, ceiling, speed)
    progress(0.1, file.name)
    scripts = [make_script(file, side, way, speed=file.speed * speed) for side in sides_of(file)]
    airs, gusts = airs_of(airplane.plane, scripts, wind=day, bump=bump, seeds=[sample])
    index = np.array([[0, s, 0, s] for s in range(len(scripts))])
    flights = fly_batch(
        airplane.planes, scripts, blends=pack_blends(specs)[None], index=index, airs=airs, gusts=gusts, keep_tracks=True
    )  # fmt: skip
    rows = [flown_row(flights, i, script) for i, script in enumerate(scripts)]
    remarks = [*flight_remarks(rows, airplane.airframe), *window_remarks(asked, file)]
    if blends is not None and own:
        text = "the blends in the file were switched off: only those named here are flown"
        remarks.append(Remark(kind="option", about="radio.blends", text=text))
    if bump and np.any(flights.ends["time"] <= bump.start):
        text = f"the gust comes at {bump.start:g} s: not every flight lasts so long"
        remarks.append(Remark(kind="wind", about="", text=text))
    return FlyResult(
        **answer_about(airplane, remarks, [file], _air_words(day, bump, sample)),
        way=way,
        outputs=[
            f"{script.words}: {when_words(output, flights.tracks[i])}"
            for output in airplane.airframe.radio.outputs
            for i, script in enumerate(scripts)
        ],
        flown_with=[line for spec in specs for line in blend_words(spec, airplane.airframe, airplane.rate)],
        maneuvers=rows,
        phases=[row for i, script in enumerate(scripts) for row in _phases(flights, i, script)],
        tracks={f"{s.name}.{s.side}.{way}": flights.tracks[i] for i, s in enumerate(scripts)},
    )


def tune(
    airplane: Airplane,
    maneuvers: Sequence[Maneuver] | None = None,
    *,
    speed: float | None = None,
    step: float = 0.005,
    airplanes: int = AIRPLANES,
    ceiling: float | str = CEILING,
    wind: Wind | str | None = None,
    samples: int = 40,
    progress: Progress = _quiet,
) -> TuneResult:
    """Find the ratio of each blend and side, how sure it is, and what it brings.

    Parameters
    ----------
    airplane : Airplane
    maneuvers : sequence of str or ManeuverFile, optional
        Default: :func:`usual_maneuvers`.
    speed : float, optional
        Share of cruise at which knife-edge is flown, 0.5 to 2; default: :func:`sixdof.flight.knife_edge.where_it_holds`.
    step : float
        Step of the radio's ratios, a share.
    airplanes : int
        How many airplanes are drawn from what is not known; 0 for none.
    ceiling : float [m] or str
        Of the site; see :func:`fly`.
    wind : Wind or str, optional
        Bare and blended are flown again in it; ratios are always tuned in calm air.
    samples : int
        In how many samples of its gusts.
    progress : callable

    Returns
    -------
    TuneResult
        ``blends`` holds a :class:`sixdof.tuning.found.FoundRatio` each, ``specs()`` what flies with them.

    Raises
    ------
    InputError
        A maneuver is unknown or judges no blend, or there is no steady flight to begin with.

    Examples
    --------
    >>> from sixdof import Airplane
    >>> found = tune(Airplane("corvane"), ["power_off_dive"], airplanes=0)
    >>> found.blends[0].words
    'closed throttle: elevator 2.5 % DOWN (0.33°, fading to nothing at 15 % throttle)'
    """
    asked = _all_different(maneuvers_of(maneuvers or usual_maneuvers(airplane)))
    files, remarks = _flyable(airplane, asked, ceiling, all_of_them=maneuvers is not None)
    remarks += [
        remark
        for file in files
        for whole in asked
        if whole.name == file.name
        for remark in window_remarks(whole, file)
    ]
    day, _ = read_air(wind, None, 1)
    planes = airplane.planes
    edge = None
    if any(file.part == KNIFE_EDGE for file in files):
        holds = where_it_holds(planes[0], speed)
        remarks += hold_remarks(planes[0], holds)
        files = _where_it_holds(files, holds)
        cruise = float(planes[0]["cruise"])
        right, left = (100.0 * holds.rudder).tolist()
        edge = KnifeEdgeFlown(
            speed_m_s=holds.share * cruise, of_cruise_percent=100.0 * holds.share, right_percent=right, left_percent=left
        )  # fmt: skip
    sought = seek(planes, files, progress=lambda share, text: progress(0.5 * share, text))
    drawn = None
    if airplanes:
        progress(0.5, f"{airplanes} airplanes drawn from the doubt")
        drawn = airplane.drawn(airplanes)
    chosen = [choose(airplane, drawn, group) for group in sought]
    tuning = fly_chosen(planes, sought, [group.amounts for group in chosen], step=step)
    order = {file.name: i for i, file in enumerate(files)}
    tuning.maneuvers.sort(key=lambda row: (order[row.name], row.side == "left"))
    doubts = [doubt for group in chosen for doubt in group.doubts]
    ratios = [r.model_copy(update={"doubt": d}) for r, d in zip(tuning.ratios, doubts, strict=True)]
    if drawn is not None:
        remarks += doubt_remarks(ratios, drawn, airplane)
    windy = None
    if day is not None:
        progress(0.8, f"{samples} samples of gusts")
        drifts, told = in_wind(planes, ratios, files, day, range(1, samples + 1))
        windy = wind_result(day.words, samples, drifts, told)
    parts = [
        split(planes[0], target, share=0.01 * edge.of_cruise_percent)
        for target in ("elevator", "aileron")
        if edge is not None
    ]
    splits = [part for part in parts if part is not None]
    lore = lore_result(airplane)
    remarks += lore_remarks(lore)
    remarks += ratio_remarks(ratios, tuning.maneuvers, splits, airplane)
    remarks += flight_remarks(tuning.maneuvers, airplane.airframe)
    return TuneResult(
        **answer_about(airplane, remarks, files),
        step_percent=100.0 * step,
        airplanes=0 if drawn is None else len(drawn.planes),
        unstable_percent=None if drawn is None else 100.0 * drawn.unstable,
        blends=ratios,
        maneuvers=tuning.maneuvers,
        step_error_degrees=tuning.step_error,
        split=splits,
        knife_edge=edge,
        lore=None if edge is None else lore,
        wind=windy,
        tracks={
            f"{name}.{side}.{kind}": track
            for (name, side), pair in tuning.tracks.items()
            for kind, track in zip(("bare", "blended"), pair, strict=True)
        },
    )


def explore(
    airplane: Airplane,
    maneuver: Maneuver,
    vary: str,
    *,
    over: str | None = None,
    beside: Mapping[str, float] | None = None,
    count: int = 17,
    ceiling: float | str = CEILING,
    wind: Wind | str | None = None,
    sample: int = 1,
    progress: Progress = _quiet,
) -> ExploreResult:
    """Fly a maneuver over a range of one ratio, sticks let go, no other blend unless it is named.

    Parameters
    ----------
    airplane : Airplane
    maneuver : str or ManeuverFile
    vary : str
        Ratio and range in percent, "throttle-elevator.low=-6..2".
    over : str, optional
        A band of something else, at five places of which the range is flown too, in calm air: "speed=80..120" (percent of the
        maneuver's), or a change of the airframe in its usual unit, "cg=-6..6".
    beside : mapping of str to float, optional
        Other ratios that are flown with each setting, percent; not over a band.
    count : int
        How many settings.
    ceiling : float [m] or str
        Of the site; see :func:`fly`.
    wind : Wind or str, optional
    sample : int
        Which sample of its gusts; all settings meet the same.
    progress : callable

    Returns
    -------
    ExploreResult

    Raises
    ------
    InputError
        Unknown maneuver or ratio, a ratio that it says nothing about, or one that never acts in it.

    Examples
    --------
    >>> from sixdof import Airplane
    >>> dives = explore(Airplane("corvane"), "power_off_dive", "throttle-elevator.low=-6..2", count=3)
    >>> [(setting.percent, setting.words) for setting in dives.settings]
    [(-6.0, 'to belly'), (-2.0, 'to canopy'), (2.0, 'to canopy')]
    """
    asked, (day, _) = _maneuver(maneuver), read_air(wind, None, sample)
    ratio, amounts = read_range(vary, count)
    file = _fitting(airplane, asked, ceiling)
    progress(0.1, file.name)
    place = None if over is None else read_over(over)
    if place is not None and beside:
        raise InputError("a band is flown with one ratio alone: leave out over, or the others beside it")
    others = {
        read_ratio(name): 0.01 * percent for name, percent in (beside or {}).items() if name != ratio.name
    }
    settings, tracks = explore_ratio(
        airplane.planes, file, ratio, amounts, beside=others, wind=day, seed=sample
    )
    progress(0.5, over or file.name)
    return ExploreResult(
        **answer_about(airplane, window_remarks(asked, file), [file], _air_words(day, None, sample)),
        maneuver=file.name,
        said=file.said,
        vary=ratio.name,
        beside={other.name: 100.0 * amount for other, amount in others.items()},
        settings=settings,
        band=None if place is None else band(airplane, file, ratio, amounts, place),
        tracks={f"{file.name}.{s.side}.{s.percent:+.3f}": t for s, t in zip(settings, tracks, strict=True)},
    )


def remedies(airplane: Airplane, *, over: str | None = None, progress: Progress = _quiet) -> RemediesResult:
    """Change the airframe instead of blending: what one usual step of each change does, re-trimmed.

    Parameters
    ----------
    airplane : Airplane
    over : str, optional
        One change, as "cg": several steps of it each way instead of one step of each.
    progress : callable

    Returns
    -------
    RemediesResult

    Raises
    ------
    InputError
        Unknown change.

    Examples
    --------
    >>> from sixdof import Airplane
    >>> found = remedies(Airplane("corvane"), over="cg")
    >>> found.remedies[1].words, found.remedies[1].dive > found.remedies[-1].dive
    ('CG 20 mm further forward', True)
    """
    if over is not None:
        find_change(over)
    usual = maneuvers_of(usual_maneuvers(airplane))
    files = [_fitting(airplane, next(file for file in usual if file.part == part)) for part in FLOWN]
    sets = usual_changes(airplane) if over is None else steps_over(over, airplane)
    now, *steps = variants(airplane, [{}, *sets], files, progress=progress)
    best = None
    if over is None:
        progress(0.9, "looking for the fewest changes")
        best = best_set(airplane, now, list(zip(sets, steps, strict=True)), files)
        steps.sort(key=lambda v: (bool(v.trouble), v.unfinished, v.points if v.points == v.points else 99.0))
    parts = answer_about(airplane, [], files) | {
        "cautions": [*BEFORE_CHANGING, BEFORE_FLYING[0], BEFORE_FLYING[-1]]
    }
    return RemediesResult(**parts, over=over, remedies=[now, *steps], best=best)


def diagnose(
    airplane: Airplane,
    *,
    saw: Iterable[str] = (),
    blends: Iterable[BlendSpec] = (),
    ceiling: float | str = CEILING,
    progress: Progress = _quiet,
) -> DiagnoseResult:
    """Fly the trimming sequence: what a flyer would see, what makes it, and what to change first.

    Parameters
    ----------
    airplane : Airplane
    saw : iterable of str
        What somebody saw of the real one, "inverted=strong drops", "dive=6 to canopy" (degrees a second), "resting
        elevator=2 up" (degrees): what may be wrong with it that its file does not say is looked for.
    blends : iterable of BlendSpec
        What these do to the whole sequence is told too: on, off and reversed.
    ceiling : float [m] or str
        Of the site; see :func:`fly`.
    progress : callable

    Returns
    -------
    DiagnoseResult
        ``findings`` in the order of the sequence, each with its ``remedies``, mechanical first.

    Raises
    ------
    InputError
        No steady flight to begin with, or something seen that no test shows.

    Examples
    --------
    >>> from sixdof import Airplane
    >>> found = diagnose(Airplane("corvane"), saw=["inverted=14 drops", "dive=10 to canopy", "upline pitch=1 to belly"])
    >>> found.flights > 200, found.causes[0].words
    (True, 'CG 11 mm further forward')
    """
    saw = list(saw)
    saws = [read_saw(text) for text in saw]
    files, holds, remarks = sequence_of(airplane, ceiling)
    flown = fly_all(airplane, files, progress=lambda share, text: progress(0.8 * share, text))
    named, now = name_causes(airplane, flown, saws) if saws else ([], flown.now)
    progress(0.9, "looking for the fewest changes")
    speed = holds.share * float(airplane.plane["cruise"])
    best = cured_set(airplane, named[0], speed=speed) if named else change_set(airplane, flown, speed=speed)
    specs, told = list(blends), None
    if specs:
        rolls, _ = _flyable(airplane, maneuvers_of(ROLLS), ceiling, all_of_them=False)
        told = consequences(airplane, specs, files, _where_it_holds(rolls, holds))
    cautions = BEFORE_FLYING if specs else [*BEFORE_CHANGING, BEFORE_FLYING[0], BEFORE_FLYING[-1]]
    parts = answer_about(airplane, remarks, files) | {"cautions": list(cautions)}
    return DiagnoseResult(
        **parts, flights=flown.flights + (told.flights if told else 0), consequences=told,
        flown_with=[line for spec in specs for line in blend_words(spec, airplane.airframe, airplane.rate)], findings=findings(airplane, flown, now, next(iter(named), None)), best=best,
        saw=saw, causes=named,
    )  # fmt: skip


def sequence_of(
    airplane: Airplane, ceiling: float | str = CEILING
) -> tuple[list[ManeuverFile], Hold, list[Remark]]:
    """The maneuvers of the trimming sequence as an airplane can fly them, and where it holds knife-edge."""
    flaps = airplane.airframe.controls.flap is not None
    asked = maneuvers_of([name for name in MANEUVERS if name != "flaps_down" or flaps])
    files, remarks = _flyable(airplane, asked, ceiling, all_of_them=False)
    holds = where_it_holds(airplane.plane)
    return _where_it_holds(files, holds), holds, [*remarks, *hold_remarks(airplane.plane, holds)]


def compare(answers: Sequence[Answer]) -> CompareResult:
    """Drift of every maneuver and side in every answer, as flown with its blends.

    Parameters
    ----------
    answers : sequence of TuneResult or FlyResult

    Returns
    -------
    CompareResult

    Raises
    ------
    InputError
        One of them has no maneuvers to compare.

    Examples
    --------
    >>> from sixdof import Airplane
    >>> corvane = Airplane("corvane")
    >>> both = compare([fly(corvane, "level"), fly(corvane.changed({"cg": "5 mm aft"}), "level")])
    >>> both.airplanes
    ['corvane', 'corvane, CG 5 mm further aft']
    """
    for answer in answers:
        if not getattr(answer, "maneuvers", None):
            raise InputError(f"a run of `{answer.command}` has no maneuvers to compare")
    rows: list[Any] = [getattr(answer, "maneuvers", []) for answer in answers]
    keys = list(dict.fromkeys((m.name, m.side, m.said) for mine in rows for m in mine))
    return CompareResult(
        airplanes=[_airplane_words(answer) for answer in answers],
        blends=[_blend_words(answer) for answer in answers],
        same_aircraft=len({answer.aircraft.sha256 for answer in answers}) <= 1,
        maneuvers=[
            Compared(name=name, side=side, said=said, drift=[_drift(mine, name, side) for mine in rows])
            for name, side, said in keys
        ],
    )


def _drift(rows: Sequence[Any], name: str, side: str) -> float | None:
    mine = next((m for m in rows if (m.name, m.side) == (name, side)), None)
    if mine is None or mine.status != "finished":
        return None
    return mine.drift_before if mine.drift_after is None else mine.drift_after


def _airplane_words(answer: Answer) -> str:
    said = ", ".join([answer.aircraft.name, *answer.changes])
    return said if answer.air == "calm" else f"{said}; in {answer.air}"


def _blend_words(answer: Answer) -> str:
    if isinstance(answer, TuneResult):
        found = [b.words.partition(" (")[0] for b in answer.blends if b.percent]
    else:
        found = answer.flown_with if isinstance(answer, FlyResult) else []
    return ", ".join(found) or "no blends"


def _maneuver(asked: Maneuver) -> ManeuverFile:
    return load_maneuver(asked) if isinstance(asked, str) else asked


def maneuvers_of(names: Sequence[Maneuver]) -> list[ManeuverFile]:
    """Maneuvers by name or path.

    Raises
    ------
    InputError
    """
    return [_maneuver(name) for name in names]


def _all_different(files: list[ManeuverFile]) -> list[ManeuverFile]:
    """Maneuvers to tune on, each once, each judging some blend."""
    for i, file in enumerate(files):
        if file.name in [other.name for other in files[:i]]:
            raise InputError(f"maneuver {file.name} was given twice; once is enough")
        if not file.tunes:
            raise InputError(f"maneuver {file.name} judges no blend; `sixdof fly` flies it")
    return files


def read_air(
    wind: Wind | str | None, gust: Bump | str | None, sample: int
) -> tuple[Wind | None, Bump | None]:
    if not 1 <= sample <= 1_000_000:
        raise InputError(f"sample: got {sample}, expected a number of a sample of gusts, 1 to 1000000")
    day = read_wind(wind) if isinstance(wind, str) else wind
    return day, read_bump(gust) if isinstance(gust, str) else gust


def _where_it_holds(files: list[ManeuverFile], holds: Hold) -> list[ManeuverFile]:
    """Knife-edge at the speed where it holds; without it where nothing does, unless it is all that is asked for."""
    if not np.isfinite(holds.rudder).any():
        files = [file for file in files if file.part != KNIFE_EDGE] or files
    return [file.faster(holds.share) if file.part == KNIFE_EDGE else file for file in files]


def _fitting(
    airplane: Airplane, file: ManeuverFile, ceiling: float | str = CEILING, share: float = 1.0
) -> ManeuverFile:
    """The maneuver as it fits under the ceiling of a site.

    Raises
    ------
    InputError
        It cannot begin there, or takes more height.
    """
    height = read_ceiling(ceiling) if isinstance(ceiling, str) else ceiling
    check_starts(airplane, [file], share)
    return under_ceiling(airplane.planes, file, height, share=share)


def _flyable(
    airplane: Airplane, files: list[ManeuverFile], ceiling: float | str, *, all_of_them: bool
) -> tuple[list[ManeuverFile], list[Remark]]:
    """The maneuvers that this airplane can fly under a ceiling; of the others a remark each, unless there are only
    such or all are wanted.

    Raises
    ------
    InputError
        None can begin.
    """
    good: list[ManeuverFile] = []
    bad: list[tuple[ManeuverFile, InputError]] = []
    for file in files:
        try:
            good.append(_fitting(airplane, file, ceiling))
        except InputError as error:
            bad.append((file, error))
    if not good or (bad and all_of_them):
        raise bad[0][1]
    return good, [
        Remark(kind="flight", about=file.name, text=f"{file.said} was left out: {error}")
        for file, error in bad
    ]


def _air_words(wind: Wind | None, bump: Bump | None, sample: int) -> str:
    """``wind of 4 m/s from the right, sample 3 of its gusts``; ``calm``."""
    said = [] if wind is None else [f"wind of {wind.words}, sample {sample} of its gusts"]
    said += [] if bump is None else [f"one gust of {bump.words}"]
    return "; ".join(said) or "calm"


def _phases(flights: Flights, i: int, script: Script) -> list[Phase]:
    """Measured phases of flight i."""
    rows = []
    for m, name in enumerate(script.measured):
        canopy, wing, roll, sideslip = np.degrees(flights.errors[i, m, -1]).tolist()
        sticks = 100.0 * np.mean(flights.commands[i, m], axis=0)
        rows.append(
            Phase(
                flight=f"{script.name}.{script.side}", phase=name,
                canopy=canopy, right_wing=wing, roll_right=roll, sideslip=sideslip,
                **{stick: float(sticks[NUMBER[stick]]) for stick in ("aileron", "elevator", "rudder")},
            )
        )  # fmt: skip
    return rows


def answer_about(
    airplane: Airplane, remarks: Iterable[Remark], files: Sequence[ManeuverFile], air: str = "calm"
) -> dict[str, Any]:
    """What every answer holds of an airplane."""
    airframe = airplane.airframe
    inputs = {"aircraft.yaml": airframe.text, **{f"maneuvers/{file.name}.yaml": file.text for file in files}}
    if airframe.changes:
        inputs["changes.txt"] = "".join(f"{change_text(*change)}\n" for change in airframe.changes)
    layer = airplane.as_filed.layer
    learned = None
    if layer is not None:
        learned = Notes(flights=layer.flights, told=list(layer.told), notes=layer.notes)
        inputs |= {f"notes/{name}": text for name, text in layer.notes.items()}
    return {
        "learned": learned,
        "aircraft": Aircraft(name=airframe.name, sha256=airframe.sha256, invented=airframe.invented, rate=airplane.rate),
        "changes": [change_words(name, amount) for name, amount in airframe.changes],
        "air": air,
        "remarks": in_order([*airplane_remarks(airplane), *remarks]),
        "cautions": [*(BEFORE_CHANGING if airframe.changes else ()), *BEFORE_FLYING],
        "inputs": inputs,
    }  # fmt: skip

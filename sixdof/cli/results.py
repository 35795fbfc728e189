"""From what was found to the one result object, and into a run folder."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np

from sixdof.airframe.changes import change_text, change_words, flown_with
from sixdof.airframe.model import Airframe
from sixdof.cli.setup import Clock
from sixdof.field.cautions import BEFORE_CHANGING, BEFORE_FLYING
from sixdof.files.errors import InputError
from sixdof.files.yamlio import read_bytes
from sixdof.flight.airplane import Drawn
from sixdof.flight.fly import Flights
from sixdof.flight.frame import TRACK_NAMES
from sixdof.flight.gusts import Wind
from sixdof.flight.script import ManeuverFile, Script, make_maneuver, maneuver_path
from sixdof.runs import (
    AircraftRow,
    BlendRow,
    DoubtRow,
    ManeuverRow,
    Result,
    SplitRow,
    WindRow,
    WindyRatioRow,
    WindyRow,
    write_run,
)
from sixdof.tuning.deviation import deviation, drift, points_lost
from sixdof.tuning.doubt import RatioDoubt
from sixdof.tuning.search import Ratio, Tuning
from sixdof.tuning.split import Split
from sixdof.tuning.windy import Windy, WindyRatio
from sixdof.tuning.words import degrees_of, range_words, ratio_words, split_words, windy_words


def make_result(command: str, airframe: Airframe, rate: str, **parts: Any) -> Result:

    row = AircraftRow(name=airframe.name, sha256=airframe.sha256, invented=airframe.invented, rate=rate)
    warnings = [f"{airframe.name} is an invented airplane: do not dial this in"] if airframe.invented else []
    parts.setdefault("warnings", warnings + flown_with(airframe) + list(airframe.warnings))
    parts.setdefault("cautions", [*(BEFORE_CHANGING if airframe.changes else ()), *BEFORE_FLYING])
    changes = [change_words(name, amount) for name, amount in airframe.changes]
    return Result(command=command, aircraft=row, changes=changes, **parts)


def tune_result(
    airframe: Airframe, rate: str, step: float, tuning: Tuning, found: list[Split], warnings: list[str],
    drawn: Drawn | None, doubts: list[RatioDoubt | None], wind: WindRow | None,
) -> Result:  # fmt: skip

    blends = []
    for r, doubt in zip(tuning.ratios, doubts or [None] * len(tuning.ratios), strict=True):
        full, used = degrees_of(r, airframe, rate)
        blends.append(
            BlendRow(
                source=r.unknown.source, target=r.unknown.target, side=r.unknown.side, percent=100.0 * r.amount,
                degrees=full, degrees_used=used, words=ratio_words(r, airframe, rate),
                exact_percent=100.0 * r.exact, held_percent=100.0 * r.held, steady_percent=100.0 * r.steady,
                doubt=None if doubt is None else _doubt_row(r, doubt),
            )
        )  # fmt: skip
    maneuvers = [
        ManeuverRow(
            name=m.script.name, side=m.script.side, status=m.status_after, status_before=m.status_before,
            scored=m.scored, deviation_before=m.deviation_before, deviation_after=m.deviation_after,
            drift_before=m.before.degrees, drift_after=m.after.degrees, rate_before=m.before.rate,
            rate_after=m.after.rate, term_before=m.before.term, term_after=m.after.term,
            words_before=m.before.words, words_after=m.after.words,
            points_before=m.points_before, points_after=m.points_after,
            others={key: None if d is None else d.degrees for key, d in m.others.items()},
            travel_lost_s=m.travel_lost, height_used_m=m.height_used, top_speed_m_s=m.top_speed, top_g=m.top_g,
        )
        for m in tuning.maneuvers
    ]  # fmt: skip
    parts = []
    for part in found:
        row = {key: value if key == "target" else 100.0 * value for key, value in asdict(part).items()}
        parts.append(SplitRow(words=split_words(part), **row))
    return make_result(
        "tune",
        airframe,
        rate,
        step_percent=step,
        airplanes=0 if drawn is None else len(drawn.planes),
        unstable_percent=None if drawn is None else 100.0 * drawn.unstable,
        blends=blends,
        maneuvers=maneuvers,
        split=parts,
        wind=wind,
        warnings=warnings,
    )


def wind_row(
    wind: Wind, airs: int, tuning: Tuning, drifts: list[Windy], told: list[WindyRatio | None]
) -> WindRow:
    """What :func:`sixdof.tuning.windy.in_wind` found."""
    return WindRow(
        air=wind.words,
        airs=airs,
        maneuvers=[
            WindyRow(
                name=d.name, side=d.side, drift_before=d.bare, spread_before=d.bare_spread,
                finished_before_percent=100.0 * d.bare_finished, drift_after=d.blended,
                spread_after=d.blended_spread, finished_after_percent=100.0 * d.blended_finished,
            )
            for d in drifts
        ],
        ratios=[
            WindyRatioRow(
                source=r.unknown.source, target=r.unknown.target, side=r.unknown.side,
                spread_percent=100.0 * t.spread, passes=t.passes,
            )
            for r, t in zip(tuning.ratios, told, strict=True) if t is not None
        ],
        words=windy_words(drifts, told, tuning.ratios, airs),
    )  # fmt: skip


def _doubt_row(ratio: Ratio, doubt: RatioDoubt) -> DoubtRow:
    return DoubtRow(
        low_percent=100.0 * doubt.low,
        high_percent=100.0 * doubt.high,
        other_sign_percent=100.0 * doubt.other_sign,
        airplanes=doubt.airplanes,
        because=dict(doubt.because),
        words=range_words(ratio.unknown.target, doubt),
    )


def flight_row(flights: Flights, i: int, script: Script) -> ManeuverRow:
    """Row of one flight as it was flown."""
    d, end = drift(flights, i, script), flights.ends[i]
    return ManeuverRow(
        name=script.name, side=script.side, status=flights.status(i), status_before=flights.status(i),
        scored=bool(flights.finished[i]), deviation_before=deviation(flights, i, script), deviation_after=None,
        drift_before=d.degrees, drift_after=None, rate_before=d.rate, rate_after=None, term_before=d.term,
        term_after=None, words_before=d.words, words_after=None, others={},
        points_before=points_lost(flights, i, script), points_after=None,
        travel_lost_s=float(max(end["lost_aileron"], end["lost_elevator"], end["lost_rudder"])),
        height_used_m=float(end["height_used"]), top_speed_m_s=float(end["top_speed"]), top_g=float(end["top_g"]),
    )  # fmt: skip


def save(
    out: str | None, default: str, result: Result, airframe: Airframe, maneuvers: dict[str, ManeuverFile],
    tracks: dict[str, np.ndarray], clock: Clock, draw: Callable[[Path], dict[str, float]] | None,
) -> Path:  # fmt: skip
    """Write the run folder with copies of the files it was flown from.

    ``maneuvers``: name or path as the command gave it -> what was flown.
    """
    aircraft = Path(airframe.path)
    inputs = {
        "aircraft.yaml": _as_flown(aircraft, lambda raw: hashlib.sha256(raw).hexdigest() == airframe.sha256)
    }
    if airframe.changes:
        inputs["changes.txt"] = "".join(f"{change_text(*change)}\n" for change in airframe.changes)
    for name, flown in maneuvers.items():
        path = maneuver_path(name)
        inputs[f"maneuvers/{flown.name}.yaml"] = _as_flown(
            path,
            lambda raw, path=path, flown=flown: make_maneuver(path, raw) == flown,  # type: ignore[misc]
        )
    return write_run(
        out,
        default,
        result=result,
        inputs=inputs,
        tracks=tracks,
        columns=TRACK_NAMES,
        timings=clock.seconds,
        draw=draw,
    )


def _as_flown(path: Path, same: Callable[[bytes], bool]) -> str:
    """Text of an input file, which must still be what was flown."""
    try:
        raw = read_bytes(path)
        if same(raw):
            return raw.decode()
    except InputError:
        pass
    raise InputError("changed or removed while it was flown; run again", file=path)

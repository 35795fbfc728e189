"""Pictures of an answer or a run; the numbers never wait for them."""

from __future__ import annotations

import os
import sys
import textwrap
from collections.abc import Sequence
from pathlib import Path
from time import perf_counter

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.files.errors import InputError, nearest
from sixdof.flight.airplane import Airplane
from sixdof.flight.script import ManeuverFile
from sixdof.learning.identify import Overlay
from sixdof.runs import Run, maneuvers_in, plain_name, whole_file
from sixdof.show.cameras import View
from sixdof.show.chosen import file_of, names_in, path_counts, said_of, shown_flights
from sixdof.show.flown import ShownFlight
from sixdof.study.results import (
    Answer,
    CompareResult,
    DiagnoseResult,
    ExploreResult,
    LearnResult,
    LogResult,
    TuneResult,
)
from sixdof.tuning.deviation import TERM_WORDS
from sixdof.tuning.explore import Map
from sixdof.tuning.found import SEEN

__all__ = [
    "check_picture",
    "draw_check",
    "draw_compare",
    "draw_diagnosis",
    "draw_explore",
    "draw_film",
    "draw_fit",
    "draw_flights",
    "draw_learned",
    "draw_log",
    "draw_tuning",
    "draw_view",
    "pick_flights",
    "scene_title",
    "title_of",
]  # fmt: skip


#: Name of the report in a run.
REPORT = "report.html"


def draw_log(folder: Path, *, answer: LogResult) -> dict[str, float]:
    """How far each ratio is still open, flight by flight; returns the seconds it took."""
    from sixdof.show.narrowing_plot import narrowing_plot

    start = perf_counter()
    title = f"{answer.aircraft.name}: what the notes leave open"
    narrowing_plot(folder / "narrowing.png", answer.flights, answer.ratios, title=title)
    return {"plots": perf_counter() - start}


def draw_fit(folder: Path, *, overlays: Sequence[Overlay], title: str) -> dict[str, float]:
    """Logged and simulated over one another; returns the seconds it took."""
    from sixdof.show.fit_plot import fit_plot

    start = perf_counter()
    fit_plot(folder / "log-and-model.png", overlays, title=title)
    return {"plots": perf_counter() - start}


def draw_flights(folder: Path, *, answer: Answer, airframe: Airframe, way: str = "free") -> dict[str, float]:
    """Drift over time of all flights, and one of them in 3D; returns the seconds it took."""
    start, files = perf_counter(), maneuvers_in(answer.inputs)
    _draw_drift(folder, answer, airframe, files, way)
    seconds = {"plots": perf_counter() - start}
    start = perf_counter()
    known = [name for name in names_in(answer.tracks) if shown_flights(answer.tracks, [name], files)]
    if not known:
        print("no 3D picture: no flight got off", file=sys.stderr)
        return seconds
    _draw_scene(folder, answer, airframe, files, known)
    return {**seconds, "scene": perf_counter() - start}


def draw_tuning(
    folder: Path, *, answer: TuneResult, airframe: Airframe, aircraft: str, asked: str
) -> dict[str, float]:
    """What :func:`draw_flights` draws, and the report; ``aircraft`` and ``asked`` as :func:`tune_report` takes them."""
    from sixdof.show.report import tune_report

    seconds = draw_flights(folder, answer=answer, airframe=airframe)
    start = perf_counter()
    html = tune_report(answer, airframe, aircraft=aircraft, asked=asked)
    (folder / REPORT).write_text(html, encoding="utf-8")
    return {**seconds, "report": perf_counter() - start}


def _draw_drift(
    folder: Path, answer: Answer, airframe: Airframe, files: Sequence[ManeuverFile], way: str
) -> None:
    from sixdof.show.plots import Drift, drift_plot, measured_errors

    curves: dict[str, dict[str, Drift]] = {"bare": {}, "blended": {}}
    for key, track in answer.tracks.items():
        maneuver, side, kind = key.split(".", 2)
        if len(track.values) >= 2 and path_counts(maneuver, files):
            drift = Drift(*measured_errors(track))
            if np.isfinite(drift.errors).any():
                curves.setdefault(kind, {})[said_of(maneuver, side, files)] = drift
    first = next((c for c in (curves["bare"], *curves.values()) if c), {})
    if not first:
        return
    what = "drift with the sticks let go" if way == "free" else "held by the pilot"
    title = f"{airframe.name}{' (invented)' if airframe.invented else ''}: {what}"
    title += "" if answer.air == "calm" else "\n" + textwrap.fill(f"in {answer.air}", 48)
    names = ("bare" if curves["bare"] else "as flown", "with blends")
    drift_plot(folder / "drift.png", first, curves["blended"], names=names, title=title)


def _draw_scene(
    folder: Path, answer: Answer, airframe: Airframe, files: Sequence[ManeuverFile], known: list[str]
) -> None:
    from sixdof.show.probe import NoRenderer
    from sixdof.show.scene import save_png

    picked = max(known, key=lambda name: _drifts(answer, name))
    maneuver, _, side = picked.partition(".")
    file = file_of(maneuver, files)
    view: View = file.view if file else "caller"
    try:
        save_png(
            folder / f"{picked}.png", airframe, shown_flights(answer.tracks, [picked], files),
            view=view, title=scene_title(airframe, answer.air, said_of(maneuver, side, files)),
        )  # fmt: skip
    except NoRenderer as error:
        print(f"no 3D picture: {error}", file=sys.stderr)


def _drifts(answer: Answer, flight: str) -> float:
    """How far a flight drifts bare [deg], as it is judged."""
    rows = getattr(answer, "maneuvers", ())
    return next((abs(m.drift_before) for m in rows if f"{m.name}.{m.side}" == flight), 0.0)


def scene_title(airframe: Airframe, air: str, what: str = "") -> str:
    """``corvane, invented: knife-edge; over the ground, in wind of 4 m/s from ahead``: the first of the air, without its number."""
    title = f"{airframe.name}, invented" if airframe.invented else airframe.name
    title += f": {what}" if what else ""
    return (
        title if air == "calm" else f"{title}; over the ground, in {air.partition(';')[0].partition(',')[0]}"
    )


def draw_explore(folder: Path, *, answer: ExploreResult, airframe: Airframe, asked: str) -> dict[str, float]:
    """Drift against the setting, and the tracks, a picture a side, or a map; and the report."""
    from sixdof.show.explore_plot import explore_plot
    from sixdof.show.report import explore_report, one_term, told_drifts

    start = perf_counter()
    if answer.map is not None:
        _draw_map(folder / "explore.png", answer, answer.map)
    for side in dict.fromkeys(s.side for s in answer.settings):
        [axis], mine = answer.axes, [s for s in answer.settings if s.side == side]
        one, (negative, positive) = one_term(mine), TERM_WORDS[mine[0].term]
        explore_plot(
            folder / (f"explore-{side}.png" if side != "both" else "explore.png"),
            [s.at for s in mine],
            np.radians(told_drifts(mine)).tolist(),
            [track.values for key, track in answer.tracks.items() if key.split(".")[1] == side],
            setting=axis.title,
            sides=(positive, negative) if one else None,
            title=f"{answer.said} over a range of {'one ratio' if axis.is_ratio else axis.said}",
        )
    seconds, start = {"plots": perf_counter() - start}, perf_counter()
    (folder / REPORT).write_text(explore_report(answer, airframe, asked=asked), encoding="utf-8")
    return {**seconds, "report": perf_counter() - start}


def _draw_map(path: Path, answer: ExploreResult, found: Map) -> None:
    from sixdof.show.map_plot import map_plot

    down, across = found.axes
    map_plot(
        path, down.values, across.values, found.drift, titles=(down.title, across.title), best=found.best, seen=SEEN,
        title=f"{answer.said}: {down.said} and {across.said}",
    )  # fmt: skip


def draw_diagnosis(folder: Path, *, answer: DiagnoseResult, asked: str) -> dict[str, float]:
    """The report; returns the seconds it took."""
    from sixdof.show.report_told import diagnose_report

    start = perf_counter()
    (folder / REPORT).write_text(diagnose_report(answer, asked=asked), encoding="utf-8")
    return {"report": perf_counter() - start}


def draw_learned(
    folder: Path, *, answer: LearnResult, airframe: Airframe, overlays: Sequence[Overlay], asked: str
) -> dict[str, float]:
    """The report of what notes tell, and the log over the airplane that was fitted to it; returns the seconds it took."""
    from sixdof.show.report_told import learn_report

    start = perf_counter()
    (folder / REPORT).write_text(learn_report(answer, airframe, asked=asked), encoding="utf-8")
    seconds = {"report": perf_counter() - start}
    if not overlays:
        return seconds
    title = f"{airframe.name}: what was logged, and the airplane fitted to it"
    return {**seconds, **draw_fit(folder, overlays=overlays, title=title)}


def draw_compare(path: Path, runs: list[Run], compared: CompareResult, asked: str) -> str:
    """Drifts of the runs side by side: a plot, or a report if the name ends in .html."""
    from sixdof.show.report import compare_report

    if path.suffix.lower() == ".html":
        with whole_file(path, advice="choose another --out") as unfinished:
            unfinished.write_text(compare_report(compared, runs, asked=asked), encoding="utf-8")
        return str(path)
    _plot_compared(path, runs, compared)
    return str(path)


def _plot_compared(path: Path, runs: list[Run], compared: CompareResult) -> None:
    from sixdof.show.plots import compare_plot, measured_errors

    table: dict[str, dict[str, list[float]]] = {run.path.name: {} for run in runs}
    tracks = [run.tracks() for run in runs]
    for row in compared.maneuvers:
        ends = {}
        for run, mine, drift in zip(runs, tracks, row.drift, strict=True):
            keys = [key for key in mine if key.startswith(f"{row.name}.{row.side}.")]
            if (
                drift is not None and keys and path_counts(row.name, run.maneuvers())
            ):  # bare comes before blended
                ends[run.path.name] = measured_errors(mine[keys[-1]])
        shortest = min((float(time[-1]) for time, _ in ends.values()), default=0.0)
        for name, (time, errors) in ends.items():
            said = row.said if row.same_length else f"{row.said}, after {shortest:.1f} s"
            last = len(time) - 1 if row.same_length else int(np.searchsorted(time, shortest - 1e-6))
            table[name][said] = [float(e) for e in errors[last]]
    if not any(table.values()):
        raise InputError("--out: no flight of these runs finished, so there is nothing to draw")
    with whole_file(path, advice="choose another --out") as unfinished:
        compare_plot(unfinished, table)


def check_picture(option: str, wanted: str | None, kinds: tuple[str, ...] = (".png",)) -> None:
    """Refuse a name with another ending, or one that is taken, before anything is computed."""
    if wanted is None:
        return
    if Path(wanted).suffix.lower() not in kinds:
        raise InputError(f"{option} {wanted}: give a name that ends in {' or '.join(kinds)}")
    if os.path.lexists(wanted):
        raise InputError(f"{wanted}: exists already; choose another {option}, or remove it")


def draw_check(wanted: str | None, airplane: Airplane, notes: Sequence[str]) -> str:
    """Draw the airplane of a file, by default into ``./runs``, where it takes the place of the last one."""
    from sixdof.show.drawing import draw_airframe

    airframe, known = airplane.airframe, airplane.derivatives
    path = Path("runs") / f"check-{plain_name(airframe.name)}.png" if wanted is None else Path(wanted)
    neutral_point = known.neutral_point if known["CLa"] > 0.0 else None
    with whole_file(
        path, advice="choose another --picture, or --no-picture", over=wanted is None
    ) as unfinished:
        if wanted is None:
            path.parent.mkdir(exist_ok=True)
        draw_airframe(airframe, unfinished, neutral_point=neutral_point, notes=notes)
    return str(path)


def title_of(run: Run, shown: Sequence[ShownFlight]) -> str:
    """What stands over flights of a run."""
    answer = run.answer
    labels = ", ".join(dict.fromkeys(flight.label.partition(",")[0] for flight in shown))
    what = f"{answer.said}, {answer.vary}" if isinstance(answer, ExploreResult) else labels
    return scene_title(run.airframe(), answer.air, what)


def draw_view(path: Path, run: Run, shown: Sequence[ShownFlight], angle: View) -> str:
    """Draw flights of a run in 3D."""
    from sixdof.show.scene import save_png

    with whole_file(path, advice="choose another --png") as unfinished:
        save_png(unfinished, run.airframe(), shown, view=angle, title=title_of(run, shown))
    return str(path)


def draw_film(path: Path, run: Run, shown: Sequence[ShownFlight], angle: View) -> str:
    """Film flights of a run, sized for a club's page."""
    from sixdof.show.film import save_gif

    with whole_file(path, advice="choose another --gif") as unfinished:
        save_gif(unfinished, run.airframe(), shown, view=angle, title=title_of(run, shown))
    return str(path)


def pick_flights(run: Run, wanted: list[str] | None) -> list[ShownFlight]:
    """The flights of a run by name, by default the first.

    Raises
    ------
    InputError
        No such flight, or one that ended before it began.
    """
    tracks = run.tracks()
    if not tracks:
        raise InputError(f"{run.path}: has no flights to see (a run of `{run.answer.command}`)")
    known = names_in(tracks)
    for name in wanted or []:
        if name not in known:
            raise InputError(f"{run.path}: has no flight {name!r}; {nearest(name, known)}")
    shown = shown_flights(tracks, wanted or known[:1], run.maneuvers())
    if not shown:
        raise InputError(
            f"{run.path}: {', '.join(wanted or known[:1])}: ended before it began; nothing to see"
        )
    return shown

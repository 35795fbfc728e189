"""Pictures of a run; the numbers never wait for them."""

from __future__ import annotations

import math
import os
import sys
import textwrap
from collections.abc import Sequence
from pathlib import Path
from time import perf_counter

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.estimate.derivatives import Derivatives
from sixdof.files.errors import InputError, nearest
from sixdof.flight.frame import TRACK_NAMES
from sixdof.flight.script import ManeuverFile
from sixdof.runs import Run, plain_name, whole_file
from sixdof.show.flown import ShownFlight, straight_on
from sixdof.tuning.deviation import TERM_WORDS
from sixdof.tuning.explore import Setting
from sixdof.tuning.unknowns import Unknown
from sixdof.tuning.words import SAID, maneuver_words

#: Maneuvers whose sideslip is what is measured: their path is no drift.
PATHLESS = ("roll_reversal",)


def _shown_flights(
    tracks: dict[str, np.ndarray], names: list[str], files: Sequence[ManeuverFile]
) -> list[ShownFlight]:
    """Flights named "maneuver.side" out of the tracks of a run, bare before blended."""

    phases = {file.name: tuple(phase.name for phase in file.phases) for file in files}
    shown = []
    for name in names:
        mine = [(k, t) for k, t in tracks.items() if k.startswith(f"{name}.") and len(t) >= 2]
        if len(mine) > 4:  # an exploration: its ends and its middle
            mine = [mine[0], mine[len(mine) // 2], mine[-1]]
        for key, track in mine:
            maneuver, side, kind = key.split(".", 2)
            label = maneuver_words(maneuver, side)
            if kind[0] in "+-":  # a setting of an exploration, in percent
                label = f"{float(kind):+g} %"
            elif kind not in ("bare", "blended"):
                label = f"{label}, {kind}"
            shown.append(
                ShownFlight(
                    label=label, track=track, kind=kind if kind in ("bare", "blended") else "other",  # type: ignore[arg-type]
                    ideal=straight_on(track), phases=phases.get(maneuver, ()),
                )
            )  # fmt: skip
    return shown


def _names(tracks: dict[str, np.ndarray]) -> list[str]:
    return list(dict.fromkeys(".".join(key.split(".")[:2]) for key in tracks))


def draw_flights(
    folder: Path,
    airframe: Airframe,
    files: Sequence[ManeuverFile],
    tracks: dict[str, np.ndarray],
    *,
    way: str = "free",
    air: str = "calm",
) -> dict[str, float]:
    """Drift over time of all flights, and one of them in 3D; returns the seconds it took."""
    from sixdof.show.cameras import View
    from sixdof.show.plots import Drift, drift_plot
    from sixdof.show.probe import NoRenderer
    from sixdof.show.scene import save_png

    start = perf_counter()
    curves: dict[str, dict[str, Drift]] = {"bare": {}, "blended": {}}
    for key, track in tracks.items():
        maneuver, side, kind = key.split(".", 2)
        if len(track) >= 2 and maneuver not in PATHLESS:
            curves.setdefault(kind, {})[maneuver_words(maneuver, side)] = Drift(*_measured(track))
    first = next((c for c in (curves["bare"], *curves.values()) if c), {})
    if first:
        what = "drift with the sticks let go" if way == "free" else "held by the pilot"
        title = f"{airframe.name}{' (invented)' if airframe.invented else ''}: {what}"
        title += "" if air == "calm" else "\n" + textwrap.fill(f"in {air}", 48)
        names = ("bare" if curves["bare"] else "as flown", "with blends")
        drift_plot(folder / "drift.png", first, curves["blended"], names=names, title=title)
    seconds = {"plots": perf_counter() - start}
    start = perf_counter()
    known = [name for name in _names(tracks) if _shown_flights(tracks, [name], files)]
    if not known:
        print("no 3D picture: no flight got off", file=sys.stderr)
        return seconds
    picked = "knife_edge.left" if "knife_edge.left" in known else known[0]
    try:
        view: View = "above" if picked.startswith("knife_edge") else "caller"
        title = scene_title(airframe, air)
        save_png(
            folder / f"{picked}.png",
            airframe,
            _shown_flights(tracks, [picked], files),
            view=view,
            title=title,
        )
    except NoRenderer as error:
        print(f"no 3D picture: {error}", file=sys.stderr)
    return {**seconds, "scene": perf_counter() - start}


def scene_title(airframe: Airframe, air: str, what: str = "") -> str:
    """``corvane, invented: knife-edge; over the ground, in wind of 4 m/s from ahead``: the first of the air, without its number."""
    title = f"{airframe.name}, invented" if airframe.invented else airframe.name
    title += f": {what}" if what else ""
    return (
        title if air == "calm" else f"{title}; over the ground, in {air.partition(';')[0].partition(',')[0]}"
    )


def _measured(track: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Time [s] and the three errors [rad] of the measured phases, with a gap between them."""
    at = {name: i for i, name in enumerate(TRACK_NAMES)}
    number = track[:, at["measured"]]
    rows = np.flatnonzero(number >= 0.0)
    if not len(rows):
        return np.array([0.0, 0.0]), np.full((2, 3), np.nan)
    first, last = rows[0], rows[-1] + 1
    time = track[first:last, at["time"]] - track[first, at["time"]]
    errors = track[first:last, at["toward_canopy"] : at["roll"] + 1].copy()
    errors[number[first:last] < 0.0] = np.nan
    return time, errors


def draw_explore(folder: Path, settings: list[Setting], unknown: Unknown, maneuver: str) -> dict[str, float]:

    from sixdof.show.explore_plot import explore_plot

    start = perf_counter()
    for side in dict.fromkeys(s.side for s in settings):
        mine = [s for s in settings if s.side == side]
        worst = max(mine, key=lambda s: abs(s.drift.degrees) if s.scored else -1.0).drift.term
        negative, positive = TERM_WORDS[worst]
        drifts = [math.radians(s.drift.degrees) if s.scored else np.nan for s in mine]
        explore_plot(
            folder / (f"explore-{side}.png" if side != "both" else "explore.png"),
            [100.0 * s.amount for s in mine],
            drifts,
            [s.track for s in mine],
            setting=f"{unknown.source} {unknown.side} → {unknown.target} [%, + {'up' if unknown.target == 'elevator' else 'right'}]",
            sides=(positive, negative),
            title=f"{SAID.get(maneuver, maneuver)} over a range of one ratio",
        )
    return {"plots": perf_counter() - start}


def draw_compare(path: Path, runs: list[Run]) -> str:

    from sixdof.show.plots import compare_plot

    table: dict[str, dict[str, list[float]]] = {}
    for run in runs:
        table[run.path.name] = {}
        for key, track in run.tracks().items():
            maneuver, side, kind = key.split(".", 2)
            if kind == "bare" or len(track) < 2 or maneuver in PATHLESS:
                continue
            _, errors = _measured(track)
            if np.isfinite(errors[-1]).all():
                table[run.path.name][maneuver_words(maneuver, side)] = [float(e) for e in errors[-1]]
    with whole_file(path, advice="choose another --out") as unfinished:
        compare_plot(unfinished, table)
    return str(path)


def check_picture(option: str, wanted: str | None) -> None:
    """Refuse a name that is not one of a picture, or is taken, before anything is worked out."""
    if wanted is None:
        return
    if Path(wanted).suffix.lower() != ".png":
        raise InputError(f"{option} {wanted}: give a name that ends in .png")
    if os.path.lexists(wanted):
        raise InputError(f"{wanted}: exists already; choose another {option}, or remove it")


def draw_check(wanted: str | None, airframe: Airframe, known: Derivatives, notes: Sequence[str]) -> str:
    """Draw the airplane of a file, by default into ``./runs``, where it takes the place of the last one."""
    from sixdof.show.drawing import draw_airframe

    path = Path("runs") / f"check-{plain_name(airframe.name)}.png" if wanted is None else Path(wanted)
    neutral_point = known.neutral_point if known["CLa"] > 0.0 else None
    notes = [note for note in notes if "is an invented airplane" not in note]  # said by the drawing itself
    with whole_file(
        path, advice="choose another --picture, or --no-picture", over=wanted is None
    ) as unfinished:
        if wanted is None:
            path.parent.mkdir(exist_ok=True)
        draw_airframe(airframe, unfinished, neutral_point=neutral_point, notes=notes)
    return str(path)


def pick_flights(run: Run, wanted: list[str] | None) -> list[ShownFlight]:

    tracks = run.tracks()
    known = _names(tracks)
    for name in wanted or []:
        if name not in known:
            raise InputError(f"{run.path}: has no flight {name!r}; {nearest(name, known)}")
    shown = _shown_flights(tracks, wanted or known[:1], run.maneuvers())
    if not shown:
        raise InputError(
            f"{run.path}: {', '.join(wanted or known[:1])}: ended before it began; nothing to see"
        )
    return shown

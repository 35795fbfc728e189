"""The search: held flights give the ratios, free flights refine them, steady flight checks them; then they are flown."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, cast

import numpy as np
from scipy.optimize import least_squares

from sixdof.flight.blends import BLENDS, Ratio, activity, ratios_of
from sixdof.flight.fly import Flights, Track
from sixdof.flight.maneuver import KNIFE_EDGE
from sixdof.flight.pack import full_throw
from sixdof.flight.script import ManeuverFile, Script, make_script, sides_of
from sixdof.flight.speed import entry_speed
from sixdof.physics.air import make_air
from sixdof.tuning.bench import Bench
from sixdof.tuning.deviation import Drift, deviation, drift, points_lost
from sixdof.tuning.found import Flown, FoundRatio
from sixdof.tuning.held import held_ratios, settles_late, steady_ratio, steady_ratios, without_slop

__all__ = ["Sought", "Tuning", "flown_row", "fly_chosen", "seek"]

#: Price of a ratio in units of error over tolerance, per percent: three hundredths of a degree.
PRICE = 0.03 / 15.0
#: Difference taken for a slope.
SLOPE_STEP = 0.005
#: Shares of all ratios that are tried where the whole of them brings nothing.
_LESS = (0.9, 0.75, 0.5)

Progress = Callable[[float, str], None]


@dataclass(frozen=True)
class Sought:
    """Ratios that belong together, and what the airplane asks of them.

    Attributes
    ----------
    maneuvers : list of ManeuverFile
        That judge them.
    ratios : list of Ratio
    exact, held, steady : array (len(ratios),)
        From free flights, before any rounding; from held flights; from the steady knife-edge.  NaN where not known.
    tested : array (len(ratios),) of bool
        Whether a flight tells it.
    """

    maneuvers: list[ManeuverFile]
    ratios: list[Ratio]
    exact: np.ndarray
    held: np.ndarray
    steady: np.ndarray
    tested: np.ndarray


@dataclass(frozen=True)
class Tuning:
    """What was flown with the ratios that were chosen.

    Attributes
    ----------
    ratios : list of FoundRatio
    maneuvers : list of Flown
    tracks : dict
        (maneuver, side) -> (bare track, blended track).
    step_error : float [deg]
        Largest difference of a drift, bare or blended, when all is flown once more at half the step.
    """

    ratios: list[FoundRatio]
    maneuvers: list[Flown]
    tracks: dict[tuple[str, str], tuple[Track, Track]]
    step_error: float


def seek(
    planes: np.ndarray,
    maneuvers: Sequence[ManeuverFile],
    *,
    progress: Progress = lambda share, text: None,
) -> list[Sought]:
    """Find the ratios that make an airplane fly some maneuvers purest.

    Parameters
    ----------
    planes : records (1,)
        :attr:`sixdof.flight.airplane.Airplane.planes`.
    maneuvers : sequence of ManeuverFile
    progress : callable
        Gets the share that is done and a line of text now and then; what it raises ends the search.
    """
    smooth, found = without_slop(planes), []
    groups = _groups(maneuvers)
    for number, (group, blends) in enumerate(groups):
        progress(number / len(groups), ", ".join(m.name.replace("_", " ") for m in group))
        ratios = ratios_of(blends)
        scripts = [make_script(m, side, "free") for m in group for side in sides_of(m)]
        (held,) = held_ratios(smooth, group, ratios)
        steady = np.array([_steady(planes, ratio, group) for ratio in ratios])
        telling = _telling(smooth, scripts, ratios, held)
        exact = (
            _refine(Bench(smooth, telling, ratios), np.nan_to_num(held)) if telling else np.zeros_like(held)
        )
        late = np.array([any(settles_late(r, m) for m in group if r.blend in m.tunes) for r in ratios])
        exact = np.where(late & np.isfinite(held), held, exact)
        tested = [
            any(_tells(script, ratio) for script in telling)
            and not (ratio.source == "rudder" and _level(group) and math.isnan(steady[i]))
            for i, ratio in enumerate(ratios)
        ]
        found.append(Sought(list(group), ratios, exact, held, steady, np.array(tested)))
    return found


def fly_chosen(
    planes: np.ndarray, sought: Sequence[Sought], chosen: Sequence[np.ndarray], *, step: float = 0.005
) -> Tuning:
    """Fly bare and with chosen ratios, rounded to the step of the radio, or with less of them where that is better.

    Parameters
    ----------
    planes : records (1,)
    sought : sequence of Sought
    chosen : sequence of array
        Ratios for each of ``sought``.
    step : float
        Step of the radio's ratios, as a share.
    """
    found, step_errors = Tuning([], [], {}, 0.0), [0.0]
    for mine, wanted in zip(sought, chosen, strict=True):
        scripts = [make_script(m, side, "free") for m in mine.maneuvers for side in sides_of(m)]
        bench = Bench(planes, scripts, mine.ratios)
        amounts, flights = _no_worse(bench, wanted, step)
        given_up = ""
        if not amounts.any() and np.any(np.abs(wanted) >= 0.5 * max(step, 1e-9)):
            with_them = bench.fly(wanted[None]).finished
            given_up = "flown with it it is no better" if with_them.all() else "no flight with it finishes"
        step_errors.append(_step_error(bench, amounts, flights))
        others = _others(bench, mine.maneuvers, amounts)
        n = len(scripts)
        for s, script in enumerate(scripts):
            row = flown_row(flights, s, script, n + s)
            found.maneuvers.append(row.model_copy(update=_others_of(others, s)))
            found.tracks[script.name, script.side] = (flights.tracks[s], flights.tracks[n + s])
        for i, ratio in enumerate(mine.ratios):
            told = _told(planes[0], ratio, float(amounts[i]), flights, scripts)
            exactly: dict[str, Any] = {
                f"{name}_percent": 100.0 * float(getattr(mine, name)[i])
                for name in ("exact", "held", "steady")
            }
            found.ratios.append(FoundRatio(**told, **exactly, tested=bool(mine.tested[i]), given_up=given_up))
    return replace(found, step_error=max(step_errors))


def _step_error(bench: Bench, amounts: np.ndarray, flights: Flights) -> float:
    """Largest difference of a drift [deg] at half the step; ``flights``: all scripts bare, then all of them blended."""
    halved = bench.fly(np.stack([np.zeros_like(amounts), amounts]), finer=2)
    return max(
        abs(drift(flights, i, script).degrees - drift(halved, i, script).degrees)
        for i, script in enumerate(2 * bench.scripts)
    )


def _level(group: Sequence[ManeuverFile]) -> ManeuverFile | None:
    """The maneuver of a group that is a knife-edge."""
    return next((m for m in group if m.part == KNIFE_EDGE), None)


def _steady(planes: np.ndarray, ratio: Ratio, group: Sequence[ManeuverFile]) -> float:
    """Ratio from the steady flight of a group of maneuvers, NaN where that tells nothing."""
    for test in group:
        if ratio.blend in test.tunes and settles_late(ratio, test):
            return float(steady_ratios(planes, ratio, test)[0])
    level = _level(group) or group[0]
    speed = float(entry_speed(planes[0], level, make_air()))
    return steady_ratio(planes[0], ratio, speed=speed, height=level.height)


def _told(
    plane: np.void, ratio: Ratio, amount: float, flights: Flights, scripts: Sequence[Script]
) -> dict[str, Any]:
    """Percent and degrees of a ratio, and what it cures in the flight that shows it best.

    ``flights``: all scripts bare, then all of them blended.
    """
    n, mine = len(scripts), [s for s, script in enumerate(scripts) if ratio.blend in script.tunes]
    used = max(float(np.max(activity(ratio, flights.commands[n + s]))) for s in mine)
    full = math.degrees(abs(amount) * full_throw(plane, ratio.target, amount))
    shows = next((s for s in mine if _tells(scripts[s], ratio)), mine[0])
    script = scripts[shows]
    bare, left = (
        drift(flights, f, script, only=script.judged(ratio.blend)).degrees for f in (shows, n + shows)
    )
    return {
        "source": ratio.source, "target": ratio.target, "side": ratio.side, "percent": 100.0 * amount,
        "degrees": full, "degrees_used": full * used, "used_percent": 100.0 * used,
        "used_in": f"level {script.maneuver.said}" if script.maneuver.part == KNIFE_EDGE else "",
        "shown_by": f"{script.name}.{script.side}", "bare_degrees": bare, "left_degrees": left,
    }  # fmt: skip


def _groups(maneuvers: Sequence[ManeuverFile]) -> list[tuple[list[ManeuverFile], list[str]]]:
    """Maneuvers and blends that speak about each other, each group by itself."""
    groups: list[tuple[list[ManeuverFile], set[str]]] = []
    for maneuver in maneuvers:
        if not maneuver.tunes:
            continue
        mine, names = [maneuver], set(maneuver.tunes)
        for group in [g for g in groups if g[1] & names]:
            groups.remove(group)
            mine, names = group[0] + mine, group[1] | names
        groups.append((mine, names))
    order = list(BLENDS)
    return [
        (m, sorted(n, key=lambda name: (order.index(name) if name in order else len(order), name)))
        for m, n in groups
    ]


def _refine(bench: Bench, first: np.ndarray) -> np.ndarray:
    """Least squares on free flights, over the first third of each window and then the whole."""
    most = np.array([ratio.row.most for ratio in bench.ratios])
    x = np.clip(first, -0.9 * most, 0.9 * most)
    for share in (1.0 / 3.0, 1.0):

        def value(x: np.ndarray, share: float = share) -> np.ndarray:
            errors = bench.residuals(bench.fly(x[None]), 0, share)
            return np.concatenate([errors, PRICE * 100.0 * x])

        def slope(x: np.ndarray, share: float = share) -> np.ndarray:
            n = len(x)
            rows = np.repeat(x[None], 2 * n, axis=0)
            rows[np.arange(n), np.arange(n)] += SLOPE_STEP
            rows[np.arange(n) + n, np.arange(n)] -= SLOPE_STEP
            flights = bench.fly(rows)
            errors = [
                (bench.residuals(flights, i, share) - bench.residuals(flights, n + i, share))
                / (2 * SLOPE_STEP)
                for i in range(n)
            ]
            return np.concatenate([np.stack(errors, axis=1), PRICE * 100.0 * np.eye(n)])

        x = least_squares(
            value, x, jac=slope, bounds=(-most, most), x_scale=0.05, xtol=1e-4, ftol=1e-4, max_nfev=15
        ).x
    return x


def _tells(script: Script, ratio: Ratio) -> bool:
    """Whether a script brings the source of a ratio out to its side."""
    mirrored = ratio.source in ("aileron", "rudder") and script.side != "both"
    return ratio.blend in script.tunes and (
        not mirrored or (ratio.position > 0.0) == (script.side == "right")
    )


def _telling(
    planes: np.ndarray, scripts: Sequence[Script], ratios: Sequence[Ratio], held: np.ndarray
) -> list[Script]:
    """Scripts that say something: flown to the end bare, or at least held by the pilot."""
    bare = Bench(planes, scripts, ratios).fly(np.zeros((1, len(ratios))))
    known = [ratio for ratio, amount in zip(ratios, held, strict=True) if np.isfinite(amount)]
    return [
        script
        for s, script in enumerate(scripts)
        if bare.finished[s] or any(_tells(script, ratio) for ratio in known)
    ]


def _no_worse(bench: Bench, exact: np.ndarray, step: float) -> tuple[np.ndarray, Flights]:
    """What was found, or less of all of it, or no blend at all, in steps of the radio: where most flights finish
    and leave least.

    With the servos' slop a flight can miss its entry that the ideal airplane of the search still made.

    Returns
    -------
    amounts : array (ratios,)
    flights : Flights
        All scripts bare, then all of them with these amounts; with tracks.
    """
    n = len(bench.scripts)

    def in_steps(amounts: np.ndarray) -> np.ndarray:
        return step * np.round(amounts / step) if step > 0.0 else amounts

    def worth(flights: Flights, first: int) -> tuple[int, float]:
        unfinished = n - int(np.sum(flights.finished[first : first + n]))
        return unfinished, sum(
            deviation(flights, first + s, script) ** 2 for s, script in enumerate(bench.scripts)
        )

    def against_bare(amounts: np.ndarray) -> Flights:
        return bench.fly(np.stack([np.zeros_like(amounts), amounts]), keep_tracks=True)

    whole = in_steps(exact)
    flights = against_bare(whole)
    bare, blended = worth(flights, 0), worth(flights, n)
    if blended[0] == 0 and blended <= bare:
        return whole, flights
    tries = np.stack([in_steps(share * exact) for share in (1.0, *_LESS, 0.0)])
    tried = bench.fly(tries)
    best = min(range(len(tries)), key=lambda i: worth(tried, i * n))
    return (whole, flights) if best == 0 else (tries[best], against_bare(tries[best]))


def _others(
    bench: Bench, group: Sequence[ManeuverFile], amounts: np.ndarray
) -> dict[str, list[Drift | None]]:
    """Drift with the sign reversed, switched on as the sticks are let go, at 80 and 120 % of the speed."""

    def drifts(flights: Flights, scripts: Sequence[Script]) -> list[Drift | None]:
        return [
            drift(flights, s, script) if flights.finished[s] else None for s, script in enumerate(scripts)
        ]

    def flown(scripts: Sequence[Script]) -> list[Drift | None]:
        return drifts(Bench(bench.planes, scripts, bench.ratios).fly(amounts[None]), scripts)

    found = {"reversed": drifts(bench.fly(-amounts[None]), bench.scripts)}
    found["switched on"] = flown([_switched_late(script) for script in bench.scripts])
    for share in (0.8, 1.2):
        faster = [make_script(m, side, "free", speed=share * m.speed) for m in group for side in sides_of(m)]
        found[f"{share:.0%} speed"] = flown(faster)
    return found


def _others_of(others: dict[str, list[Drift | None]], s: int) -> dict[str, Any]:
    """Those of script s, as fields of its row."""
    mine = {key: drifts[s] for key, drifts in others.items()}
    return {
        "others": {key: None if d is None else d.degrees for key, d in mine.items()},
        "others_words": {key: d.words for key, d in mine.items() if d is not None},
    }


def _switched_late(script: Script) -> Script:
    """The same script with the blend switch off outside of the measured phases."""
    phases = script.phases.copy()
    phases["switch"][phases["measured"] < 0] = 0.0
    return replace(script, phases=phases)


def flown_row(flights: Flights, i: int, script: Script, blended: int | None = None) -> Flown:
    """Row of flight i as it was flown, or bare beside the same script flown with blends."""
    last = i if blended is None else blended
    before, after, end = drift(flights, i, script), drift(flights, last, script), flights.ends[last]
    with_blends: dict[str, Any] = dict.fromkeys(
        ("deviation_after", "drift_after", "rate_after", "term_after", "points_after")
    )
    if blended is not None:
        with_blends = {
            "deviation_after": deviation(flights, last, script), "drift_after": after.degrees,
            "rate_after": after.rate, "term_after": after.term, "points_after": points_lost(flights, last, script),
        }  # fmt: skip
    return Flown(
        name=script.name, side=cast(Any, script.side), said=script.words,
        status=flights.status(last), status_before=flights.status(i),
        scored=bool(flights.finished[i] and flights.finished[last]),
        deviation_before=deviation(flights, i, script), drift_before=before.degrees, rate_before=before.rate,
        term_before=before.term, points_before=points_lost(flights, i, script), **with_blends,
        level=not bool(np.any(script.phases["climb"])), start_height_m=script.height,
        travel_lost_s=float(max(end["lost_aileron"], end["lost_elevator"], end["lost_rudder"])),
        height_used_m=float(end["height_used"]), top_speed_m_s=float(end["top_speed"]),
        top_g=float(end["top_g"]), least_g=float(end["low_g"]),
    )  # fmt: skip

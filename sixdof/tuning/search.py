"""The search: held flights give the ratios, free flights refine them, steady flight checks them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import least_squares

from sixdof.flight.channels import NUMBER
from sixdof.flight.fly import Flights, Track
from sixdof.flight.gusts import Wind
from sixdof.flight.script import ManeuverFile, Script, load_maneuver, make_script, sides_of
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air
from sixdof.tuning.bench import Bench
from sixdof.tuning.deviation import Drift, deviation, drift, points_lost
from sixdof.tuning.unknowns import Unknown, activity, make_blends, unknowns_of

#: Price of a ratio in units of error over tolerance, per percent: three hundredths of a degree.
PRICE = 0.03 / 15.0
#: Difference taken for a slope.
SLOPE_STEP = 0.005
#: Maneuvers of the main job.
MANEUVERS = ("knife_edge", "four_point_roll", "power_off_dive", "roll_reversal")

#: Shares of all ratios that are tried where the whole of them brings nothing.
_LESS = (0.9, 0.75, 0.5)

Progress = Callable[[str], None]


@dataclass(frozen=True)
class ManeuverResult:
    """One maneuver to one side, bare and blended.

    Attributes
    ----------
    script : Script
    status_before, status_after : str
        How the flights ended.
    scored : bool
        Both finished: the numbers are of whole flights.
    deviation_before, deviation_after : float
        D, 1 is a point of ten throughout.
    before, after : Drift
    points_before, points_after : float
        Points of ten by the published step of one per 15 deg.
    others : dict
        Drift with the sign of every ratio reversed ("reversed"), with the blend switch thrown only
        as the sticks are let go ("switched on"), and at 80 and 120 % of the speed; None where the
        flight did not finish.
    travel_lost : float [s]
        Time a blended control was asked for more than its travel.
    height_used, top_speed, top_g : float [m], [m/s], [g]
        Of the blended flight.
    """

    script: Script
    status_before: str
    status_after: str
    scored: bool
    deviation_before: float
    deviation_after: float
    before: Drift
    after: Drift
    points_before: float
    points_after: float
    others: dict[str, Drift | None]
    travel_lost: float
    height_used: float
    top_speed: float
    top_g: float


@dataclass(frozen=True)
class Ratio:
    """A ratio that was found.

    Attributes
    ----------
    unknown : Unknown
    amount : float
        Rounded to the radio's step.
    exact, held, steady : float
        Before rounding; from held flights; from the steady knife-edge trim.  NaN where not known.
    used : float
        Largest command of the source in the flights that tuned it, as a share.
    tested : bool
        Whether a test that tells it could be flown; else the amount is zero because nothing is known.
    """

    unknown: Unknown
    amount: float
    exact: float
    held: float
    steady: float
    used: float
    tested: bool = True


@dataclass(frozen=True)
class Tuning:
    """Everything :func:`tune` found.

    Attributes
    ----------
    ratios : list of Ratio
    maneuvers : list of ManeuverResult
    flights : dict
        (maneuver, side) -> (bare track, blended track).
    """

    ratios: list[Ratio]
    maneuvers: list[ManeuverResult]
    flights: dict[tuple[str, str], tuple[Track, Track]]

    def blends(self) -> list:
        """The blends with all ratios found."""
        return make_blends([r.unknown for r in self.ratios], [r.amount for r in self.ratios])


def held_ratios(
    planes: np.ndarray, maneuvers: Sequence[ManeuverFile], unknowns: Sequence[Unknown],
    *, wind: Wind | None = None, seeds: Sequence[int] = (1,),
) -> np.ndarray:  # fmt: skip
    """Ratios from held flights: the stick it takes over the source stick, NaN where nobody holds.

    The commands of all measured phases are fitted at once: the target's command is the sum of
    the amounts, each weighted by how far its source is out.

    Returns
    -------
    array (planes * airs, unknowns)
        Plane by plane; one air unless ``seeds`` asks for more.
    """
    scripts = [make_script(m, side, "held") for m in maneuvers if "held" in m.flown for side in sides_of(m)]
    top, bottom = np.zeros((2, len(planes) * len(seeds), len(unknowns)))
    if scripts:
        bench = Bench(planes, scripts, unknowns, wind=wind, seeds=seeds)
        flights = bench.fly(np.zeros((1, len(unknowns))))
        for p, s in np.ndindex(len(planes) * len(seeds), len(scripts)):
            f = p * len(scripts) + s
            if not flights.finished[f]:
                continue
            commands = flights.commands[f, : len(scripts[s].measured)]
            for i, unknown in enumerate(unknowns):
                if unknown.blend in scripts[s].tunes:
                    weight = activity(unknown, commands)
                    top[p, i] += float(np.sum(weight * commands[..., NUMBER[unknown.target]]))
                    bottom[p, i] += float(np.sum(weight**2))
    return np.where(bottom > 1e-6, top / np.maximum(bottom, 1e-6), np.nan)


def steady_ratio(plane: np.void, unknown: Unknown, *, speed: float, height: float) -> float:
    """Ratio from the steady level knife-edge, NaN if there is none inside the travel."""
    if unknown.source != "rudder":
        return math.nan
    side = 1.0 if unknown.side == "right" else -1.0
    steady = trim(plane, make_air(), speed=speed, bank=-0.5 * math.pi * side, height=height)
    rudder = steady.sticks["rudder"]
    if not steady.reachable or rudder * side < 0.02:
        return math.nan
    return steady.sticks[unknown.target] / abs(rudder)


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
    return [
        (m, sorted(n, key=lambda name: (name.split("-")[0] != "rudder", name != "rudder-elevator", name)))
        for m, n in groups
    ]


def _refine(bench: Bench, first: np.ndarray) -> np.ndarray:
    """Least squares on free flights, over the first third of each window and then the whole."""
    most = np.array([u.most for u in bench.unknowns])
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


def _tells(script: Script, unknown: Unknown) -> bool:
    return unknown.blend in script.tunes and (script.side == unknown.side or unknown.side in ("low", "high"))


def _telling(
    planes: np.ndarray, scripts: Sequence[Script], unknowns: Sequence[Unknown], held: np.ndarray
) -> list[Script]:
    """Scripts that say something: flown to the end bare, or at least held by the pilot."""
    bare = Bench(planes, scripts, unknowns).fly(np.zeros((1, len(unknowns))))
    known = [u for u, ratio in zip(unknowns, held, strict=True) if np.isfinite(ratio)]
    return [
        script
        for s, script in enumerate(scripts)
        if bare.finished[s] or any(_tells(script, unknown) for unknown in known)
    ]


def tune(
    planes: np.ndarray,
    names: Sequence[str] = MANEUVERS,
    *,
    step: float = 0.005,
    progress: Progress = lambda text: None,
) -> Tuning:
    """Find the ratios that make an airplane fly the named maneuvers purest.

    Parameters
    ----------
    planes : records (1,)
        :func:`sixdof.flight.pack.pack`.
    names : sequence of str
        Maneuvers.
    step : float
        Step of the radio's ratios, as a share.
    progress : callable
        Gets a line of text now and then.

    Returns
    -------
    Tuning
    """
    maneuvers = [load_maneuver(name) for name in names]
    plane = planes[0]
    smooth = without_slop(planes)
    ratios: list[Ratio] = []
    results: list[ManeuverResult] = []
    tracks: dict[tuple[str, str], tuple[Track, Track]] = {}
    for group, blends in _groups(maneuvers):
        progress(", ".join(m.name.replace("_", " ") for m in group))
        unknowns = unknowns_of(blends)
        scripts = [make_script(m, side, "free") for m in group for side in sides_of(m)]
        bench = Bench(planes, scripts, unknowns)
        (held,) = held_ratios(smooth, group, unknowns)
        telling = _telling(smooth, scripts, unknowns, held)
        exact = (
            _refine(Bench(smooth, telling, unknowns), np.nan_to_num(held)) if telling else np.zeros_like(held)
        )
        rounded = step * np.round(exact / step) if step > 0.0 else exact
        flights = bench.fly(np.stack([np.zeros_like(rounded), rounded]), keep_tracks=True)
        rounded, flights = _no_worse(bench, rounded, flights)
        others = _others(bench, planes, group, rounded)
        n = len(scripts)
        for s, script in enumerate(scripts):
            results.append(
                _compare(flights, s, n + s, script, {key: value[s] for key, value in others.items()})
            )
            tracks[script.name, script.side] = (flights.tracks[s], flights.tracks[n + s])
        for i, unknown in enumerate(unknowns):
            mine = [n + s for s, script in enumerate(scripts) if unknown.blend in script.tunes]
            used = max(float(np.max(activity(unknown, flights.commands[f]))) for f in mine)
            level = next((m for m in group if m.name == "knife_edge"), group[0])
            steady = steady_ratio(
                plane, unknown, speed=float(plane["cruise"]) * level.speed, height=level.height
            )
            tested = any(_tells(script, unknown) for script in telling)
            ratios.append(
                Ratio(unknown, float(rounded[i]), float(exact[i]), float(held[i]), steady, used, tested)
            )
    order = {maneuver.name: i for i, maneuver in enumerate(maneuvers)}
    results.sort(key=lambda r: (order[r.script.name], r.script.side == "left"))
    return Tuning(ratios, results, tracks)


def without_slop(planes: np.ndarray) -> np.ndarray:
    """The same airplanes with ideal servos: a search cannot feel its way through slop and steps.

    What is found is flown again with the servos as they are.
    """
    smooth = planes.copy()
    for channel in ("aileron", "elevator", "rudder", "flap"):
        smooth[f"{channel}_slop"] = smooth[f"{channel}_step"] = 0.0
    return smooth


def _no_worse(bench: Bench, amounts: np.ndarray, flights: Flights) -> tuple[np.ndarray, Flights]:
    """What was found, or less of all of it, or no blend at all: where most flights finish and leave least.

    With the servos' slop a flight can miss its entry that the ideal airplane of the search still made.
    """
    n = len(bench.scripts)

    def worth(flights: Flights, first: int) -> tuple[int, float]:
        unfinished = n - int(np.sum(flights.finished[first : first + n]))
        return unfinished, sum(
            deviation(flights, first + s, script) ** 2 for s, script in enumerate(bench.scripts)
        )

    bare, blended = worth(flights, 0), worth(flights, n)
    if blended[0] == 0 and blended <= bare:
        return amounts, flights
    shares = np.array([1.0, *_LESS, 0.0])
    tried = bench.fly(shares[:, None] * amounts)
    best = min(range(len(shares)), key=lambda i: worth(tried, i * n))
    if best == 0:
        return amounts, flights
    less = shares[best] * amounts
    return less, bench.fly(np.stack([np.zeros_like(less), less]), keep_tracks=True)


def _others(
    bench: Bench, planes: np.ndarray, group: Sequence[ManeuverFile], amounts: np.ndarray
) -> dict[str, list[Drift | None]]:
    """Drift with the sign reversed, switched on as the sticks are let go, at 80 and 120 % of the speed."""

    def drifts(flights: Flights, scripts: Sequence[Script]) -> list[Drift | None]:
        return [
            drift(flights, s, script) if flights.finished[s] else None for s, script in enumerate(scripts)
        ]

    found = {"reversed": drifts(bench.fly(-amounts[None]), bench.scripts)}
    late = [_switched_late(script) for script in bench.scripts]
    found["switched on"] = drifts(Bench(planes, late, bench.unknowns).fly(amounts[None]), late)
    for share in (0.8, 1.2):
        scripts = [make_script(m, side, "free", speed=share * m.speed) for m in group for side in sides_of(m)]
        flights = Bench(planes, scripts, bench.unknowns).fly(amounts[None])
        found[f"{share:.0%} speed"] = drifts(flights, scripts)
    return found


def _switched_late(script: Script) -> Script:
    """The same script with the blend switch off outside of the measured phases."""
    phases = script.phases.copy()
    phases["switch"][phases["measured"] < 0] = 0.0
    return replace(script, phases=phases)


def _compare(
    flights: Flights, bare: int, blended: int, script: Script, others: dict[str, Drift | None]
) -> ManeuverResult:
    end = flights.ends[blended]
    return ManeuverResult(
        script=script,
        status_before=flights.status(bare),
        status_after=flights.status(blended),
        scored=bool(flights.finished[bare] and flights.finished[blended]),
        deviation_before=deviation(flights, bare, script),
        deviation_after=deviation(flights, blended, script),
        before=drift(flights, bare, script),
        after=drift(flights, blended, script),
        points_before=points_lost(flights, bare, script),
        points_after=points_lost(flights, blended, script),
        others=others,
        travel_lost=float(max(end["lost_aileron"], end["lost_elevator"], end["lost_rudder"])),
        height_used=float(end["height_used"]),
        top_speed=float(end["top_speed"]),
        top_g=float(end["top_g"]),
    )

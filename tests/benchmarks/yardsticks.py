"""The stepping loop beside plain C, SciPy and Python; how it grows with flights and with their length."""

from __future__ import annotations

import dataclasses
from time import perf_counter

import numba
import numpy as np
from scipy.integrate import solve_ivp

from sixdof.airframe.load import load_airframe
from sixdof.flight.airplane import Airplane
from sixdof.flight.fly import fly_batch, starts_for
from sixdof.flight.script import Script, load_maneuver, make_script
from sixdof.physics.air import AIR_DTYPE, make_air
from sixdof.physics.motion import accelerations
from sixdof.physics.record import N_STATE
from tests.benchmarks.flights import AIRPLANE, FRAME, STEPS, evaluations, ten_seconds, two_blends
from tests.benchmarks.in_c import Recorded, c_loop, recorded
from tests.benchmarks.processes import run
from tests.benchmarks.table import Row, best

FLIGHTS = (1, 2, 4, 10, 40, 100, 1000, 10_000, 100_000)
SECONDS = (1, 2, 5, 10, 20, 50)
_SETS = 64
_PLAIN = """
from time import perf_counter
import numpy as np
from sixdof.physics.air import make_air
from sixdof.physics.motion import accelerations
from sixdof.physics.record import new_plane
x, out, plane, air = np.zeros(19), np.zeros(19), new_plane()[0], make_air()
x[3], x[6], plane["prop_D"], plane["CLa"] = 20.0, 1.0, 0.4, 5.0
start = perf_counter()
for _ in range(200):
    accelerations(plane, air, x, np.zeros(6), out)
print((perf_counter() - start) / 200)
"""


def measure_yardsticks() -> tuple[list[Row], dict[str, dict[str, float]]]:
    """Rows, and the points of the plot: times of a 10 s maneuver [ms], of an evaluation [ns] by flights, lengths."""
    planes, script, blends = Airplane(load_airframe(AIRPLANE)).planes, ten_seconds(), two_blends(_SETS)
    airs = np.array([make_air()], AIR_DTYPE)
    starts = starts_for(planes, [script], airs[0])
    gust = np.array([1.0, -1.0, 0.5, 0.05, 0.02, -0.03])
    flown = fly_batch(planes, [script], blends=blends[-1:], gusts=gust.reshape(1, 1, 6), keep_tracks=True)
    flight = recorded(planes[0], flown.tracks[0], blends[-1], FRAME)
    steps = 4 * STEPS * len(flight.states)

    maneuver: dict[str, float] = {}
    maneuver["plain Python"] = 1e3 * steps * float(run(_PLAIN, NUMBA_DISABLE_JIT="1")[1])
    maneuver["SciPy solve_ivp"], missed = _with_scipy(planes[0], airs[0], flight)
    in_c, compiler = c_loop()
    rows = [Row(f"10 s maneuver: {name}", value, "ms") for name, value in maneuver.items()]
    rows[0] = rows[0]._replace(note="right-hand side alone, from 200 evaluations")
    rows[1] = rows[1]._replace(
        note=f"compiled right-hand side, RK45 to 1e-9, {missed:.1g} off in the first second"
    )

    index = np.array([[0, 0, k, 0] for k in range(_SETS)])

    def batch(n: int) -> None:
        fly_batch(planes, [script], blends=blends, index=index[:n], starts=starts)

    seconds = {key: np.inf for key in ("C", "alone", 1, 2)}
    most = min(2, numba.config.NUMBA_NUM_THREADS)
    still = np.zeros(6)
    for _ in range(40):  # in turn, so that a busy moment of the machine meets all
        if in_c is not None:
            seconds["C"] = min(seconds["C"], best(lambda: in_c(planes[0], airs[0], flight, still, STEPS, FRAME), 2))  # fmt: skip
        for threads in range(1, most + 1):
            numba.set_num_threads(threads)
            seconds[threads] = min(seconds[threads], best(lambda: batch(_SETS), 1) / _SETS)
        seconds["alone"] = min(seconds["alone"], best(lambda: batch(1), 2))
    numba.set_num_threads(numba.config.NUMBA_NUM_THREADS)

    if in_c is None:
        rows.append(Row("10 s maneuver: C", np.nan, "ms", "", compiler))
    else:
        apart = np.max(np.abs(in_c(planes[0], airs[0], flight, gust, STEPS, FRAME) - flight.states))
        maneuver["C, one flight"] = 1e3 * seconds["C"]
        rows += [
            Row("10 s maneuver: C, right-hand side and steps alone", 1e3 * seconds["C"], "ms", "", compiler),
            Row("  worst state of it apart from ours, in a gust", apart, "", "<= 1e-9", "SI, 500 frames"),
        ]
    maneuver["ours, one flight"] = 1e3 * seconds["alone"]
    maneuver["ours, in a batch"] = 1e3 * seconds[1]
    rows += [
        Row("10 s maneuver: ours with pilot and blends, one", 1e3 * seconds["alone"], "ms"),
        Row(f"  one of {_SETS} side by side, 1 thread", 1e3 * seconds[1], "ms"),
        Row("  evaluation, its share of the loop included", 1e9 * seconds[1] / steps, "ns"),
        Row("  times the C loop, 1 thread", seconds["C"] / seconds[1], "times", ">= 2.5"),
    ]
    if most == 2:
        maneuver["ours, 2 threads"] = 1e3 * seconds[2]
        rows += [
            Row("  times the C loop, 2 threads", seconds["C"] / seconds[2], "times"),
            Row("  2 threads over 1", seconds[1] / seconds[2], "times", ">= 1.9"),
        ]

    by_flights = {}
    short = _shortened(script, 0.02)
    for n in FLIGHTS:
        many = np.zeros((n, 4), np.int64)
        many[:, 2] = np.arange(n) % _SETS

        def fly(many: np.ndarray = many) -> int:
            return evaluations(fly_batch(planes, [short], blends=blends, index=many, starts=starts))

        fly()
        start, repeats = perf_counter(), 1
        count = fly()
        repeats = max(1, min(300, int(0.5 / (perf_counter() - start))))
        by_flights[str(n)] = 1e9 * best(fly, repeats) / count
    rows += [
        Row(f"evaluation in a batch of {int(n):,}, all cores", by_flights[str(n)], "ns", "", note)
        for n, note in ((1, "0.2 s flights, call included"), (100, ""), (10_000, ""), (100_000, ""))
    ]

    level = make_script(load_maneuver("level"), "right", "held")
    by_length = {}
    for s in SECONDS:
        longer = _shortened(level, s / _length(level))
        by_length[str(s)] = 1e3 * best(lambda longer=longer: fly_batch(planes, [longer], starts=starts), 12)  # type: ignore[misc]
    rows.append(Row("level flight of 50 s", by_length["50"], "ms", "", f"of 1 s: {by_length['1']:.2g} ms"))
    return rows, {"maneuver_ms": maneuver, "evaluation_ns": by_flights, "level_ms": by_length}


def _length(script: Script) -> float:
    return float(np.sum(script.phases["duration"][: script.n_phases]))


def _shortened(script: Script, share: float) -> Script:
    """The same phases, each a share as long, none of which must be reached."""
    phases = script.phases.copy()
    phases["duration"] *= share
    phases["must_reach"] = 0
    return dataclasses.replace(script, phases=phases)


def _with_scipy(plane: np.void, air: np.void, flight: Recorded) -> tuple[float, float]:
    """Time [ms] of a maneuver by frames, from its first second; and its worst state apart from a finer one."""
    frames = round(1.0 / FRAME)
    out = np.empty(N_STATE)

    def fly(tolerance: float) -> np.ndarray:
        x = flight.states[0].copy()
        for targets in flight.targets[:frames]:

            def rates(_: float, y: np.ndarray, targets: np.ndarray = targets) -> np.ndarray:
                accelerations(plane, air, y, targets, out)
                return out.copy()

            x = solve_ivp(rates, (0.0, FRAME), x, rtol=tolerance, atol=tolerance).y[:, -1]
        return x

    seconds = best(lambda: fly(1e-9), 3)
    missed = float(np.max(np.abs(fly(1e-9) - fly(1e-12))))
    return 1e3 * seconds * len(flight.states) / frames, missed

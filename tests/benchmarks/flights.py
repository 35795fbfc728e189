"""The stepping loop: time an evaluation, a maneuver and a batch; what a step costs in exactness."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numba
import numpy as np

from sixdof.airframe.load import load_airframe
from sixdof.flight import fly as front
from sixdof.flight.airplane import Airplane
from sixdof.flight.fly import Flights, fly_batch, pack_scripts, starts_for
from sixdof.flight.frame import END_DTYPE, N_ERRORS, N_TRACK, SAMPLES
from sixdof.flight.loop import fly_many, new_works
from sixdof.flight.mixing import BLEND_DTYPE
from sixdof.flight.script import Script, load_maneuver, make_script
from sixdof.physics.air import AIR_DTYPE, make_air
from sixdof.physics.lanes import numbers_of
from tests.benchmarks.table import Row, best

AIRPLANE = "corvane"
BATCH = 400

FRAME, STEPS = 0.02, 1  # of the demo airplane: s, Runge-Kutta steps in it


def ten_seconds() -> Script:
    """Knife-edge to the right, let go, with the settling cut to make 10 s: 500 frames and steps."""
    script = make_script(load_maneuver("knife_edge"), "right", "free")
    phases = script.phases.copy()
    phases["duration"][: script.n_phases] = 1.0, 1.0, 5.0, 3.0
    return dataclasses.replace(script, phases=phases)


def two_blends(sets: int) -> np.ndarray:
    """Records (sets, 2) of rudder-elevator and rudder-aileron, each set a little different."""
    from sixdof.flight.blends import make_blends, ratios_of

    ratios = ratios_of(["rudder-elevator", "rudder-aileron"])
    out = np.zeros((sets, 2), BLEND_DTYPE)
    for row, share in zip(out, np.linspace(0.0, 0.02, sets), strict=True):
        row[:] = front.pack_blends(make_blends(ratios, [share] * len(ratios)))
    return out


def evaluations(flights: Flights) -> int:
    """Evaluations of ``state_derivative``: four a step."""
    frames = np.round(flights.ends["time"] / FRAME)
    return int(np.sum(frames) * (4 * STEPS))


def measure_speed() -> list[Row]:
    """Time of an evaluation, of one maneuver, and maneuvers a second on one and two threads."""
    planes, script, blends = Airplane(load_airframe(AIRPLANE)).planes, ten_seconds(), two_blends(BATCH)
    airs = np.array([make_air()], AIR_DTYPE)
    starts = starts_for(planes, [script], airs[0])
    one = fly_batch(planes, [script], blends=blends[-1:], starts=starts)
    assert one.finished.all(), one.status(0)

    # the kernel alone: what fly_batch hands it, made once
    phases, n_phases = pack_scripts([script])
    errors, commands = (np.zeros((1, 1, SAMPLES, k)) for k in (N_ERRORS, 5))
    ends, tracks = np.zeros(1, END_DTYPE), np.zeros((1, 0, N_TRACK))
    first = np.zeros((1, 5), np.int64)
    works = new_works(numbers_of(planes).shape[1], numbers_of(airs).shape[1], blends.shape[1], FRAME)

    def kernel_alone() -> None:
        fly_many(
            planes, numbers_of(planes), airs, numbers_of(airs), np.zeros((1, 0, 6)), phases, n_phases, blends[-1:],
            starts.reshape(-1), first, np.zeros(1, np.int64), FRAME, np.array([STEPS]), 0, 1, works, errors, commands, ends, tracks,
        )  # fmt: skip

    index = np.array([[0, 0, k, 0] for k in range(BATCH)])

    def batch() -> Flights:
        return fly_batch(planes, [script], blends=blends, index=index, starts=starts)

    most = numba.config.NUMBA_NUM_THREADS
    seconds, results = {1: np.inf, 2: np.inf}, {}
    for _ in range(8):  # in turn, so that a busy moment of the machine meets both
        for threads in (1, min(2, most)):
            numba.set_num_threads(threads)
            results[threads] = batch()
            seconds[threads] = min(seconds[threads], best(batch, 1))
    numba.set_num_threads(most)
    alone, many = results[1], results[min(2, most)]
    same = all(
        getattr(alone, a).tobytes() == getattr(many, a).tobytes() for a in ("errors", "commands", "ends")
    )
    front_door = best(lambda: fly_batch(planes, [script], blends=blends[-1:]), 20)
    ready = best(lambda: fly_batch(planes, [script], blends=blends[-1:], starts=starts), 50)
    rows = [
        Row("one evaluation of state_derivative", 1e9 * seconds[1] / evaluations(alone), "ns", "", "loop included"),
        Row("one 10 s maneuver, the kernel alone", 1e3 * best(kernel_alone, 50), "ms", "<= 3"),
        Row("  through fly_batch, start given", 1e3 * ready, "ms", "<= 3"),
        Row("  through fly_batch, trimmed there", 1e3 * front_door, "ms", "<= 3"),
        Row("  the same with its track kept", 1e3 * best(
            lambda: fly_batch(planes, [script], blends=blends[-1:], starts=starts, keep_tracks=True), 50), "ms"),
        Row("10 s maneuvers a second, 1 thread", BATCH / seconds[1], "/s"),
    ]  # fmt: skip
    if most >= 2:
        rows += [
            Row("10 s maneuvers a second, 2 threads", BATCH / seconds[2], "/s", ">= 800"),
            Row("  speed-up", seconds[1] / seconds[2], "times", ">= 1.8"),
            Row("  same bytes on 1 and 2 threads", float(same), "", "1", "1 yes, 0 no"),
        ]
    return rows


def measure_exactness() -> list[Row]:
    """Default steps against steps eight times finer; a servo's step can round the other way in a frame."""
    planes = Airplane(load_airframe(AIRPLANE)).planes
    ideal = planes.copy()
    for channel in ("aileron", "elevator", "rudder", "flap"):
        ideal[f"{channel}_slop"] = ideal[f"{channel}_step"] = 0.0
    far, turned = _step_error(planes)
    far_ideal, turned_ideal = _step_error(ideal)
    return [
        Row(
            "one step a frame against 8 times finer, place",
            far,
            "cm",
            "<= 1",
            "worst of two four-point rolls",
        ),
        Row("  attitude", turned, "deg", "<= 0.02"),
        Row("  place, servos without step and slop", far_ideal, "cm", "<= 1"),
        Row("  attitude", turned_ideal, "deg", "<= 0.02"),
    ]


def _step_error(planes: np.ndarray) -> tuple[float, float]:
    """Largest distance [cm] and angle [deg] at any time in the four-point rolls to both sides."""
    scripts = [make_script(load_maneuver("four_point_roll"), side, "free") for side in ("right", "left")]
    coarse, fine = (fly_batch(planes, scripts, finer=n, keep_tracks=True).tracks for n in (1, 8))
    far = turned = 0.0
    for a, b in zip(coarse, fine, strict=True):
        assert a.values.shape == b.values.shape
        apart = a.values[:, 1:4] - b.values[:, 1:4]
        cosine = np.abs(np.sum(a.values[:, 7:11] * b.values[:, 7:11], axis=1))
        far = max(far, 100.0 * float(np.max(np.linalg.norm(apart, axis=1))))
        turned = max(turned, float(np.max(2.0 * np.degrees(np.arccos(np.minimum(cosine, 1.0))))))
    return far, turned


def measure_order() -> list[Row]:
    """Order of the Runge-Kutta step on the smooth flight of the test of it."""
    import sys

    sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
    import test_physics_second_opinions as case
    from support import fly, state_of, targets_of

    plane, x, targets = case._pulsing_plane(), state_of(**case._START), targets_of(**case._TARGETS)
    x[13:15] = 0.02, -0.02
    air, wanted = make_air(wind=(3.0, -2.0, 0.0)), case._reference(plane, x, targets, 0.8)
    steps = np.array([20, 40, 80, 160])
    errors = [np.linalg.norm((fly(plane, air, x, targets, time=0.8, steps=n) - wanted)[:13]) for n in steps]
    slope = -np.polyfit(np.log(steps), np.log(errors), 1)[0]
    return [Row("order of the Runge-Kutta step", float(slope), "", ">= 3.8", "smooth flight")]

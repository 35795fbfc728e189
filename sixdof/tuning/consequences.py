"""What a set of blends does to the whole trimming sequence: what gets better, what gets worse, what to be warned of.

The sequence is flown without blends, with them and with every amount reversed; knife-edges at 80 and 120 % of their
speed too; point and slow rolls by a pilot who holds everything, for the travel that is lost.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sixdof.airframe.blends import BlendSpec
from sixdof.files.rows import Number, Row
from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import Blend, blend_row
from sixdof.flight.fly import fly_batch, no_blends, pack_blends
from sixdof.flight.maneuver import KNIFE_EDGE, LANDING
from sixdof.flight.mixing import stick_for
from sixdof.flight.pack import full_throw
from sixdof.flight.script import ManeuverFile, Script, make_script, sides_of
from sixdof.physics.channels import SURFACES
from sixdof.tuning.deviation import points_lost
from sixdof.tuning.diagnose import SIDE, Battery
from sixdof.tuning.held import without_slop
from sixdof.tuning.sequence import Tendency, is_seen, scripts_of

__all__ = ["ROLLS", "Consequences", "consequences"]

#: Rolls flown on all sticks, for the travel that is lost.
ROLLS = ("four_point_roll", "slow_roll")
#: Speeds of knife-edge beside its own, shares of it.
BAND = (0.8, 1.2)
#: Throttle between its ends, where level flight is: a blend that acts there spoils it.
_LEVEL_THROTTLE = (0.2, 0.8)
#: Travel lost that is spoken of [s].
_LOST = 0.05


class Consequences(Row):
    """What blends do to the sequence, on against off.

    Attributes
    ----------
    blends : list of str
        Their names.
    flags : list of str
        What to be warned of, the weightiest first.
    better, worse : list of str
        Tests that change by so much that it tells, the most first.
    reversed : list of str
        Tests that are worst when every sign is wrong.
    points_bare, points_with : float
        Points of ten that the tests lose without and with them by the published step of one per 15 deg, of those that
        finish both ways.
    flights : int
    """

    blends: list[str]
    flags: list[str]
    better: list[str]
    worse: list[str]
    reversed: list[str]
    points_bare: Number = math.nan
    points_with: Number = math.nan
    flights: int


def consequences(
    airplane: Airplane,
    specs: Sequence[BlendSpec],
    files: Sequence[ManeuverFile],
    rolls: Sequence[ManeuverFile],
) -> Consequences:
    """Fly the sequence with some blends, without and reversed.

    Parameters
    ----------
    airplane : Airplane
    specs : sequence of BlendSpec
    files : sequence of ManeuverFile
        The sequence as it fits.
    rolls : sequence of ManeuverFile
        Those of :data:`ROLLS` that can be flown.
    """
    battery, planes = Battery(tuple(files)), without_slop(airplane.planes)
    sets = np.stack(
        (no_blends(len(specs)), pack_blends(specs), pack_blends([_reversed(spec) for spec in specs]))
    )
    rows = np.array([[0, 0], [0, 1], [0, 2]])
    off, on, wrong = battery.fly(planes, sets=sets, rows=rows)
    asked = battery.asked
    effect = _changes(asked, off, on)
    flags = [
        *_landing(specs, asked, off, on),
        *(flag for spec in specs for flag in _of_one(airplane, spec)),
        *_lost(airplane, sets[:2], rolls),
        *_at_other_speeds(files, planes, sets[:2]),
    ]
    points_bare, points_with = _points(files, planes, sets[:2])
    return Consequences(
        points_bare=points_bare, points_with=points_with,
        blends=[spec.name for spec in specs], flags=flags,
        better=[text for more, text in effect if more < 0.0][::-1], worse=[text for more, text in effect if more > 0.0],
        reversed=[text for more, text in _changes(asked, off, wrong) if more > 0.0][:3],
        flights=battery.flights * 5 + 2 * len(_scripts(rolls)),
    )  # fmt: skip


def _points(files: Sequence[ManeuverFile], planes: np.ndarray, sets: np.ndarray) -> tuple[float, float]:
    """Points that all tests lose with each of two sets of blends, where both finish."""
    scripts = scripts_of([file for file in files if file.part != "throws"])
    n = len(scripts)
    index = np.array([[0, s, k, 0] for k in (0, 1) for s in range(n)])
    flights = fly_batch(planes, scripts, blends=sets, index=index)
    both = [s for s in range(n) if flights.finished[s] and flights.finished[n + s]]
    off, on = (sum(points_lost(flights, first + s, scripts[s]) for s in both) for first in (0, n))
    return off, on


def _reversed(spec: BlendSpec) -> BlendSpec:
    return spec.model_copy(update={"points": tuple((at, -amount) for at, amount in spec.points)})


def _changes(asked: Sequence[Tendency], off: np.ndarray, on: np.ndarray) -> list[tuple[float, str]]:
    """By how much each test is worse [deg/s] and in words, the worst first; those that tell."""
    found = []
    for tendency, before, after in zip(asked, off.tolist(), on.tolist(), strict=True):
        if tendency.error == "rests" or tendency.part == "throws":
            continue
        if math.isfinite(before) and not math.isfinite(after):
            found.append((math.inf, f"{tendency.said} cannot be flown to its end"))
        more = abs(after) - abs(before)
        if math.isfinite(more) and abs(more) >= SIDE:
            text = f"{tendency.said}: {tendency.ways[after < 0.0]} {abs(after):.1f} °/s, without {abs(before):.1f} °/s"
            found.append((more, text))
    return sorted(found, key=lambda row: -row[0])


# ---------------------------------------------------------------- what to be warned of


def _landing(
    specs: Sequence[BlendSpec], asked: Sequence[Tendency], off: np.ndarray, on: np.ndarray
) -> list[str]:
    """What is left on near the ground, by the tests flown there."""
    moved = [
        (abs(after - before), f"{t.said} {t.ways[after < 0.0]} {abs(after):.1f} °/s, without {abs(before):.1f} °/s")
        for t, before, after in zip(asked, off.tolist(), on.tolist(), strict=True)
        if t.part == LANDING and abs(after) - abs(before) >= SIDE
    ]  # fmt: skip
    if not moved:
        return []
    off_for = [spec.name for spec in specs if _row(spec).off == LANDING]
    rule = f"; switch off {', '.join(dict.fromkeys(off_for))}" if off_for else ""
    return [f"left on near the ground: {max(moved)[1]}{rule}"]


def _row(spec: BlendSpec) -> Blend:
    return blend_row(f"{spec.source}-{spec.target}")


def _of_one(airplane: Airplane, spec: BlendSpec) -> list[str]:
    """What a blend by itself is to be warned of: too large, ungated, too small to be made, moved by a trim."""
    plane, row = airplane.plane, _row(spec)
    flags = []
    largest = max((amount for _, amount in spec.points), key=abs)
    if abs(largest) > row.cap + 1e-9:
        flags.append(
            f"{spec.name}: {100.0 * abs(largest):.3g} % is more than the {100.0 * row.cap:.0f} % a blend should cure: {row.first}"
        )
    at, amounts = np.array(spec.points).T
    between = np.interp(np.linspace(*_LEVEL_THROTTLE, 7), at, amounts)
    if spec.source == "throttle" and spec.gate is None and np.abs(between).max() > 0.1 * abs(largest) > 0.0:
        flags.append(
            f"{spec.name}: acts between {_LEVEL_THROTTLE[0]:.0%} and {_LEVEL_THROTTLE[1]:.0%} of throttle and spoils level flight: gate it"
        )
    if spec.target in SURFACES and largest:
        degrees = math.degrees(abs(largest) * full_throw(plane, spec.target, largest))
        for what in ("slop", "step"):
            least = math.degrees(float(plane[f"{spec.target}_{what}"]))
            if degrees < 2.0 * least:
                flags.append(
                    f"{spec.name}: {degrees:.2f}° at most is hardly more than the {what} of the servo, {least:.2f}°"
                )
    if spec.counts_trim and spec.source in ("aileron", "elevator", "rudder"):
        moved = float(np.interp(plane[f"{spec.source}_trim"], at, amounts))
        flags.append(
            f"{spec.name}: the trim of the {spec.source} moves the {spec.target} too, now by {100.0 * abs(moved):.2g} %"
        )
    expo = float(plane[f"{spec.source}_expo"]) if spec.source in ("aileron", "elevator", "rudder") else 0.0
    if spec.reads == "stick" and expo:
        flags.append(
            f"{spec.name}: reads the stick before rates and expo: at a command of 50 % it sees {stick_for.py_func(0.5, expo):.0%} of stick"
        )
    if spec.after:
        flags.append(f"{spec.name}: reads what {', '.join(spec.after)} adds, and changes with it")
    return flags


def _scripts(rolls: Sequence[ManeuverFile]) -> list[Script]:
    return [make_script(file, side, "held") for file in rolls for side in sides_of(file)]


def _lost(airplane: Airplane, sets: np.ndarray, rolls: Sequence[ManeuverFile]) -> list[str]:
    """Travel lost in rolls flown on all sticks, with blends more than without."""
    scripts = _scripts(rolls)
    if not scripts:
        return []
    index = np.array([[0, s, k, 0] for k in (0, 1) for s in range(len(scripts))])
    ends = fly_batch(airplane.planes, scripts, blends=sets, index=index).ends.reshape(2, len(scripts))
    flags = []
    for channel in SURFACES:
        more = ends[1][f"lost_{channel}"] - ends[0][f"lost_{channel}"]
        worst = int(np.argmax(more))
        if more[worst] > _LOST:
            flags.append(
                f"{scripts[worst].words}: the {channel} is at its stop for {more[worst]:.1f} s more than without"
            )
    return flags


def _at_other_speeds(files: Sequence[ManeuverFile], planes: np.ndarray, sets: np.ndarray) -> list[str]:
    """Knife-edges that a blend cures at one speed and makes worse at another, the two worst."""
    found: list[tuple[float, str]] = []
    for share in BAND:
        battery = Battery(
            tuple(file.faster(share) for file in files if file.part == KNIFE_EDGE and "free" in file.flown)
        )
        if not battery.files:
            return []
        off, on = battery.fly(planes, sets=sets, rows=np.array([[0, 0], [0, 1]]))
        for tendency, before, after in zip(battery.asked, off.tolist(), on.tolist(), strict=True):
            if tendency.error == "rests" or not abs(after) - abs(before) >= SIDE:
                continue
            if is_seen(tendency, after, 3.0):
                found.append(
                    (
                        abs(after) - abs(before),
                        f"at {share:.0%} of the speed {tendency.said}: {tendency.ways[after < 0.0]} {abs(after):.1f} °/s, without {abs(before):.1f} °/s",
                    )
                )
    return [text for _, text in sorted(found, reverse=True)][:2]

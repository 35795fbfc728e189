"""Fly scripts: one flight with its track, or a batch of them on every core."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sixdof.airframe.blends import BlendSpec
from sixdof.files.errors import InputError
from sixdof.flight.frame import (
    END_DTYPE,
    MAX_PHASES,
    N_ERRORS,
    N_TRACK,
    SAMPLES,
    START_DTYPE,
    TRACK_NAMES,
)
from sixdof.flight.loop import fly_many, new_works
from sixdof.flight.mixing import BLEND_DTYPE, MAX_POINTS, sticks_for
from sixdof.flight.pilot import PHASE_DTYPE
from sixdof.flight.script import Script, frames_of
from sixdof.flight.speed import entry_speed
from sixdof.flight.trim import trim_batch
from sixdof.physics.air import AIR_DTYPE, make_air
from sixdof.physics.channels import NUMBER, THROTTLE
from sixdof.physics.compile import parallel_for
from sixdof.physics.lanes import numbers_of

MAX_BLENDS = 60

#: How a flight can end, as a sentence; in the order of the codes of the loop, and one that never began.
STATUS = (
    "finished",
    "let go early at 45° of bank error",
    "reached the ground",
    "left the model's range: angle of attack",
    "left the model's range: sideslip",
    "went non-finite",
    "phase target not reached",
    "left the model's range: faster than the never-exceed speed",
    "no steady level flight to begin with",
)
NOT_BEGUN = len(STATUS) - 1


@dataclass(frozen=True)
class Track:
    """What happened, a row a radio frame and one of the moment it ended.

    Attributes
    ----------
    values : array (frames, N_TRACK)
        Columns named by :data:`sixdof.flight.frame.TRACK_NAMES`; SI and rad.
    """

    values: np.ndarray

    def column(self, name: str) -> np.ndarray:
        """One column (frames,)."""
        return self.values[:, TRACK_NAMES.index(name)]

    def __len__(self) -> int:
        return len(self.values)


@dataclass(frozen=True)
class Flights:
    """A batch of flights: 1 kB each where one phase is measured, tracks apart.

    Attributes
    ----------
    errors : array (n, measured, SAMPLES, 4) [rad]
        As many measured phases as the script with most of them has: toward canopy, toward right wing, roll right (counted from the start of the measured
        phase) and sideslip, at fixed fractions of each measured phase.
    commands : array (n, measured, SAMPLES, 5)
        Stick commands at the same moments: aileron, elevator, rudder, flap, throttle.
    ends : records (n,)
        :data:`sixdof.flight.frame.END_DTYPE`.
    tracks : list of Track
        Empty unless asked for.
    """

    errors: np.ndarray
    commands: np.ndarray
    ends: np.ndarray
    tracks: list[Track]

    def status(self, i: int) -> str:
        """How flight i ended, in a sentence."""
        code, time = int(self.ends["status"][i]), float(self.ends["time"][i])
        return STATUS[code] if code in (0, NOT_BEGUN) else f"{STATUS[code]}, after {time:.1f} s"

    @property
    def finished(self) -> np.ndarray:
        """Which flights finished, array (n,) of bool."""
        return self.ends["status"] == 0


def pack_blends(specs: Sequence[BlendSpec]) -> np.ndarray:
    """Records of blends, in the order in which they must be mixed."""
    records = no_blends(len(specs))
    if len(specs) > MAX_BLENDS:
        raise InputError(f"radio.blends: got {len(specs)} blends, expected at most {MAX_BLENDS}")
    names: list[str] = []
    for record, spec in zip(records, _ordered(list(specs)), strict=False):
        points = spec.points[:MAX_POINTS]
        record["source"], record["target"] = NUMBER[spec.source], NUMBER[spec.target]
        record["points"] = len(points)
        record["position"][: len(points)] = [p[0] for p in points]
        record["amount"][: len(points)] = [p[1] for p in points]
        record["on"], record["ramp"] = spec.switch == "on", spec.ramp
        record["gate_low"], record["gate_high"] = -math.inf, math.inf
        if spec.gate is not None:
            record["gate"] = NUMBER[spec.gate.channel]
            if spec.gate.below is not None:
                record["gate_high"] = spec.gate.below
            if spec.gate.above is not None:
                record["gate_low"] = spec.gate.above
        record["counts_trim"] = spec.counts_trim
        record["reads_stick"] = spec.reads == "stick"
        record["after"] = sum(1 << i for i, name in enumerate(names) if name in spec.after)
        names.append(spec.name)
    return records


def no_blends(count: int) -> np.ndarray:
    """Records of so many blends that add nothing, to lie beside others in a batch."""
    records = np.zeros(max(count, 1), BLEND_DTYPE)
    records["gate"] = -1
    return records


def _ordered(specs: list[BlendSpec]) -> list[BlendSpec]:
    """Blends that read others after those; loops were refused when the file was loaded."""
    done: list[BlendSpec] = []
    while specs:
        names = {spec.name for spec in specs}
        ready = [spec for spec in specs if not names & set(spec.after) - {spec.name}]
        done += ready
        specs = [spec for spec in specs if spec not in ready]
        if not ready:
            raise ValueError("blends read each other in a loop")
    return done


def pack_scripts(scripts: Sequence[Script]) -> tuple[np.ndarray, np.ndarray]:
    """Phases (n, MAX_PHASES) and how many count (n,)."""
    phases = np.zeros((len(scripts), MAX_PHASES), PHASE_DTYPE)
    for row, script in zip(phases, scripts, strict=True):
        row[:] = script.phases
    return phases, np.array([s.n_phases for s in scripts], np.int64)


def fly_batch(
    planes: np.ndarray,
    scripts: Sequence[Script],
    *,
    blends: np.ndarray | None = None,
    index: np.ndarray | None = None,
    airs: np.ndarray | None = None,
    gusts: np.ndarray | None = None,
    starts: np.ndarray | None = None,
    keep_tracks: bool = False,
    finer: int = 1,
) -> Flights:
    """Fly many flights at once.

    Parameters
    ----------
    planes : records (n_planes,)
    scripts : sequence of Script
    blends : records (n_sets, n_blends), optional
        Default: none.
    index : int array (n, 4), optional
        Plane, script, set of blends and air of each flight; default: every script once with
        plane 0, blends 0, air 0.
    airs : records (n_airs,), optional
        Default: standard atmosphere, no wind.
    gusts : array (n_airs, rows, 6) [m/s, rad/s], optional
        Of each air, a row a radio frame (:mod:`sixdof.flight.gusts`); default: none.
    starts : records (n_planes, n_scripts), optional
        First states as in calm air, NaN where there is none; default: trimmed here.
    keep_tracks : bool
    finer : int
        Times as many steps of the integrator as the planes need.

    Returns
    -------
    Flights
        Always: a flight that ends badly says so in its status.
    """
    if airs is None:
        airs = np.array([make_air()], AIR_DTYPE)
    if blends is None:
        blends = pack_blends(())[None]
    if index is None:
        index = np.array([[0, i, 0, 0] for i in range(len(scripts))], np.int64)
    if gusts is None:
        gusts = np.zeros((len(airs), 0, 6))
    if starts is None:
        starts = starts_for(planes, scripts, airs[0])
    frame = float(planes["frame"][0])
    steps = finer * steps_of(planes)
    order = np.argsort(steps[index[:, 0]], kind="stable")
    n = len(index)
    full = np.empty((n, 5), np.int64)
    full[:, 0], full[:, 1], full[:, 2], full[:, 3] = index[:, 0], index[:, 3], index[:, 1], index[:, 2]
    full[:, 4] = index[:, 0] * len(scripts) + index[:, 1]
    phases, n_phases = pack_scripts(scripts)
    measured = max((len(script.measured) for script in scripts), default=1)
    errors = np.zeros((n, measured, SAMPLES, N_ERRORS))
    commands = np.zeros((n, measured, SAMPLES, 5))
    ends = np.zeros(n, END_DTYPE)
    tracks = np.zeros((n, frames_of(scripts, frame) if keep_tracks else 0, N_TRACK))
    inputs = (
        planes, numbers_of(planes), airs, numbers_of(airs), np.ascontiguousarray(gusts), phases, n_phases,
        np.ascontiguousarray(blends), np.ascontiguousarray(starts.reshape(-1)), full, order, frame, steps,
    )  # fmt: skip

    def work(first: int, stride: int) -> None:
        works = new_works(numbers_of(planes).shape[1], numbers_of(airs).shape[1], blends.shape[1], frame)
        fly_many(*inputs, first, stride, works, errors, commands, ends, tracks)

    parallel_for(n, work)
    ends["status"][np.isnan(starts["state"]).any(-1).reshape(-1)[full[:, 4]]] = NOT_BEGUN
    kept = [Track(t[t[:, TRACK_NAMES.index("speed")] > 0.0].copy()) for t in tracks] if keep_tracks else []
    return Flights(errors, commands, ends, kept)


def fly_pieces(
    planes: np.ndarray, scripts: Sequence[Script], *, index: np.ndarray, size: int = 50_000, **more: Any
) -> Iterator[Flights]:
    """Fly a batch of any size in the memory of a piece of it, for who keeps a few numbers of each.

    Parameters
    ----------
    planes, scripts, index, more
        As in :func:`fly_batch`.
    size : int
        Flights in a piece.

    Yields
    ------
    Flights
        Of the rows of ``index``, piece by piece; the same as in one batch.
    """
    airs = more.get("airs")
    starts = more.pop("starts", None)
    if starts is None:
        starts = starts_for(planes, scripts, make_air() if airs is None else airs[0])
    for first in range(0, len(index), size):
        yield fly_batch(planes, scripts, index=index[first : first + size], starts=starts, **more)


def steps_of(planes: np.ndarray) -> np.ndarray:
    """Runge-Kutta steps in a radio frame, that of the first plane, as each plane needs by itself; array (n,)."""
    return np.maximum(np.ceil(planes["frame"][:1] / planes["longest_step"] - 1e-9), 1.0).astype(np.int64)


def warm_up() -> None:
    """Load the compiled loop, or compile it on the first run."""
    from sixdof.physics.record import new_plane

    nothing = np.zeros((0, 4), np.int64)
    fly_batch(new_plane(), [], index=nothing, starts=np.zeros((1, 0), START_DTYPE))


def starts_for(planes: np.ndarray, scripts: Sequence[Script], air: np.void) -> np.ndarray:
    """First states and sticks: level flight of every plane at each script's speed and bank, records (n_planes, n_scripts).

    As in calm air: the loop adds the wind.  NaN where the sticks' travel allows no such flight.
    """
    air = air.copy()
    for name in ("wind_north", "wind_east", "wind_down", "shear_north", "shear_east"):
        air[name] = 0.0
    starts = np.zeros((len(planes), len(scripts)), START_DTYPE)
    if starts.size == 0:
        return starts
    asked = {(s.speed, s.speed_of, s.height, s.bank): s for s in scripts}
    which = [list(asked).index((s.speed, s.speed_of, s.height, s.bank)) for s in scripts]
    speed = np.stack([entry_speed(planes, script, air) for script in asked.values()], axis=1)
    height = np.array([script.height for script in asked.values()])
    bank = np.array([script.bank for script in asked.values()])
    level = trim_batch(planes, air, speed=speed, height=height, bank=bank)[:, which]
    starts["state"], starts["speed"], starts["bank"] = level["state"], level["speed"], level["bank"]
    starts["state"][level["reachable"] == 0] = np.nan
    found = level["unknowns"]  # alpha, beta, then the three commands and the throttle
    for i, channel in enumerate(("aileron", "elevator", "rudder")):
        sticks, expos = np.empty(starts.size), np.repeat(planes[f"{channel}_expo"], len(scripts))
        sticks_for(found[..., 2 + i].ravel(), expos, sticks)
        starts["sticks"][..., i] = sticks.reshape(starts.shape)
    starts["sticks"][..., THROTTLE] = np.clip(found[..., 5], 0.0, 1.0)
    return starts

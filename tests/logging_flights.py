"""A logger aboard a hidden airplane: a practice flight with its maneuvers, as CSV with noise, and its map."""

from __future__ import annotations

import numpy as np
from flying import columns

from sixdof.flight.fly import fly_batch
from sixdof.flight.gusts import airs_of, read_wind
from sixdof.flight.script import load_maneuver, make_script
from sixdof.learning.recording import Recording, times_turn

#: A flight for a logger: what moves every axis, fast and slow.
FLIGHT = (
    ("level", "both"), ("full_throw_roll", "right"), ("full_throw_roll", "left"), ("full_throw_loop", "both"),
    ("knife_edge", "right"), ("knife_edge", "left"), ("four_point_roll", "right"), ("slow_roll", "left"), ("inverted", "both"),
    ("vertical_upline", "both"), ("power_off_dive", "both"), ("hard_pull", "both"), ("hard_push", "both"),
    ("rudder_pulse", "right"), ("rudder_pulse", "left"), ("throttle_chop", "both"), ("throttle_burst", "both"),
    ("turn_entry", "right"), ("turn_entry", "left"), ("inside_loop", "both"), ("roll_reversal", "right"),
)  # fmt: skip
STICKS = tuple(f"stick_{name}" for name in ("aileron", "elevator", "rudder", "flap", "throttle"))
MAP = """sixdof_log: 1
aircraft: corvane
columns:
  time: {column: t, unit: s}
  roll: {column: Roll, unit: deg, positive: right}
  pitch: {column: Pitch, unit: deg, positive: up}
  heading: {column: Yaw, unit: deg, positive: right}
  roll_rate: {column: GyrX, unit: deg/s, positive: right}
  pitch_rate: {column: GyrY, unit: deg/s, positive: up}
  yaw_rate: {column: GyrZ, unit: deg/s, positive: right}
  speed: {column: Pitot, unit: km/h, of: air}
  height: {column: Alt, unit: m}
  propeller: {column: RPM, unit: rpm}
  stick_elevator: {column: Ele, unit: "%", positive: up}
  stick_aileron: {column: Ail, unit: "%", positive: right}
  stick_rudder: {column: Rud, unit: "%", positive: right}
  stick_throttle: {column: Thr, unit: "%"}
"""


def _wandering(rng: np.random.Generator, n: int, columns: int) -> np.ndarray:
    """What wanders for 5 s, standard deviation 1, array (n, columns)."""
    keep = np.exp(-0.02 / 5.0)
    found = np.empty((n, columns))
    found[0] = rng.standard_normal(columns)
    for i in range(1, n):
        found[i] = keep * found[i - 1] + np.sqrt(1.0 - keep * keep) * rng.standard_normal(columns)
    return found


def recorded(
    planes: np.ndarray,
    wind: str | None,
    seed: int,
    flight: tuple[tuple[str, str], ...] = FLIGHT,
    *,
    ground: bool = False,
) -> Recording:
    """A hidden airplane's flight as a logger shows it: gyro and attitude 0.5 deg, 0.3 deg/s and 2 % of the speed off, and wandering by 1 deg, .5 m/s, .7 m."""
    scripts = [make_script(load_maneuver(name), side, "held") for name, side in flight]
    airs, gusts = airs_of(planes[0], scripts, wind=None if wind is None else read_wind(wind), seeds=(seed,))
    index = np.array([[0, i, 0, i] for i in range(len(scripts))], np.int64)
    tracks = [
        track for track in fly_batch(planes, scripts, index=index, airs=airs, gusts=gusts, keep_tracks=True).tracks
        if len(track) > 10
    ]  # fmt: skip
    read = np.concatenate(
        [
            columns(track, *STICKS, "q0", "q1", "q2", "q3", "p", "q", "r", "speed", "down", "propeller")
            for track in tracks
        ]
    )
    known = np.ones(len(read), bool)
    known[np.cumsum([len(track) for track in tracks]) - 1] = False
    over = [np.hypot(*np.gradient(columns(track, "north", "east"), 0.02, axis=0).T) for track in tracks]
    rng = np.random.default_rng(seed)
    n = len(read)
    attitude = times_turn(
        read[:, 5:9], np.radians(0.5) * rng.standard_normal((n, 3)) + np.radians(1.0) * _wandering(rng, n, 3)
    )
    rates = (
        read[:, 9:12]
        + np.radians(0.5) * rng.standard_normal((n, 3))
        + np.radians(0.3) * rng.standard_normal(3)
    )
    speed = (
        (np.concatenate(over) if ground else read[:, 12]) * (1.0 + 0.02 * rng.standard_normal())
        + 0.3 * rng.standard_normal(n)
        + 0.5 * _wandering(rng, n, 1)[:, 0]
    )
    height, propeller = (
        -read[:, 13] + 0.2 * rng.standard_normal(n) + 0.7 * _wandering(rng, n, 1)[:, 0],
        read[:, 14] * (1.0 + 0.005 * rng.standard_normal(n)),
    )
    return Recording(
        0.02 * np.arange(n), read[:, :5], attitude, rates, speed, height, propeller, known, ground=ground
    )


def as_csv(recording: Recording) -> str:
    """The lines of such a logger; 1.5 s without any where it stopped between two maneuvers."""
    q0, q1, q2, q3 = recording.attitude.T
    heading = np.arctan2(2.0 * (q0 * q3 + q1 * q2), 1.0 - 2.0 * (q2 * q2 + q3 * q3))
    pitch = np.arcsin(np.clip(2.0 * (q0 * q2 - q3 * q1), -1.0, 1.0))
    roll = np.arctan2(2.0 * (q0 * q1 + q2 * q3), 1.0 - 2.0 * (q1 * q1 + q2 * q2))
    breaks = np.concatenate(([0.0], np.cumsum(1.5 * ~recording.known)[:-1]))
    assert recording.propeller is not None
    table = np.column_stack((
        recording.time + breaks, *np.degrees((roll, pitch, heading)), np.degrees(recording.rates), 3.6 * recording.speed,
        recording.height, recording.propeller * 30.0 / np.pi, 100.0 * recording.sticks[:, [1, 0, 2, 4]],
    ))  # fmt: skip
    head = "t,Roll,Pitch,Yaw,GyrX,GyrY,GyrZ,Pitot,Alt,RPM,Ele,Ail,Rud,Thr"
    return (
        "\n".join(
            [head, *(",".join(f"{x:.5g}" if i else f"{x:.2f}" for i, x in enumerate(line)) for line in table)]
        )
        + "\n"
    )

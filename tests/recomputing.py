"""Drift, rate, words and points of a flight, worked out again from its track with rotation matrices of our own.

Nothing of the package is asked: attitude and velocity come from ``tracks.npz``, the ideal path from what each
maneuver is called, the phases from the maneuver file read as plain YAML.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np
from lopsided import MANEUVERS, as_written, number

FRAME, SAMPLES, POINT = 0.02, 12, 15.0  # s; of a measured phase; degrees that lose a point
TERMS = ("canopy", "wing", "roll", "sideslip")
RIGHT_POSITIVE = {
    "canopy": {True: "to canopy", False: "to belly"},
    "wing": {True: "to right wing", False: "to left wing"},
    "roll": {True: "rolls right", False: "rolls left"},
    # velocity to the right of the nose: the nose points left of the way
    "sideslip": {True: "nose left", False: "nose right"},
}
#: Ideal path in the measured phases of a maneuver to the right: climb and bank [deg], None where it moves.
IDEAL: dict[str, list[tuple[float, float] | None]] = {
    "knife_edge": [(0, -90)],
    "four_point_roll": [(0, 90), (0, 180), (0, 270), (0, 360)],
    "power_off_dive": [(-90, 0)],
    "flaps_down": [(0, 0)],
    "roll_reversal": [None],
}


class Worst(NamedTuple):
    """Worst term of a flight [deg], over how long [s], and what it is; points lost."""

    degrees: float
    seconds: float
    term: str
    words: str
    points: float


def about(axis: int, degrees: float) -> np.ndarray:
    """Matrix of a turn about x, y or z."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    i, j = (axis + 1) % 3, (axis + 2) % 3
    out = np.eye(3)
    out[i, i] = out[j, j] = c
    out[i, j], out[j, i] = -s, s
    return out


def turn_to(a: np.ndarray, b: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Least turn that carries unit vector a to b: rotation vector [rad], and its matrix by Rodrigues."""
    axis = np.cross(a, b)
    sine = float(np.linalg.norm(axis))
    angle = math.atan2(sine, float(a @ b))
    axis = axis / sine if sine > 0.0 else axis
    K = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    return angle * axis, np.eye(3) + math.sin(angle) * K + (1.0 - math.cos(angle)) * K @ K


def body_to_world(q: np.ndarray) -> np.ndarray:
    """Matrix whose columns are the body axes in north, east, down: E = (s^2 - v.v) 1 + 2 v v' + 2 s [v x]."""
    s, v = q[0], q[1:]
    cross = np.array([[0, -v[2], v[1]], [v[2], 0, -v[0]], [-v[1], v[0], 0]])
    return (s * s - v @ v) * np.eye(3) + 2.0 * np.outer(v, v) + 2.0 * s * cross


def errors_of(row: Mapping[str, Any], ideal: np.ndarray) -> np.ndarray:
    """Toward canopy, toward right wing, roll right [deg] of one row from an ideal frame (columns: its axes)."""
    E = body_to_world(np.array([row[f"q{i}"] for i in range(4)]))
    V = np.array([row[n] for n in "uvw"])
    way, canopy = E @ V / np.linalg.norm(V), -E[:, 2]
    turn, carry = turn_to(ideal[:, 0], way)
    # a turn about the right wing lifts the way to the canopy, one about the belly's axis brings it to the right
    toward_canopy, toward_wing = turn @ ideal[:, 1], turn @ ideal[:, 2]
    carried = carry @ -ideal[:, 2]
    square = canopy - (canopy @ way) * way
    roll = math.atan2(float(way @ np.cross(carried, square)), float(carried @ square))
    return np.degrees([toward_canopy, toward_wing, roll])


def slip(row: Mapping[str, Any]) -> float:
    """Sideslip [deg]: sin beta = v / V."""
    return math.degrees(math.asin(row["v"] / math.sqrt(row["u"] ** 2 + row["v"] ** 2 + row["w"] ** 2)))


def recomputed(track: np.ndarray, columns: list[str], maneuver: str, side: str, *, only: str = "") -> Worst:
    """Worst scored term, or the worst of ``only`` one, at the samples of all measured phases; points they lose together."""
    rows = [dict(zip(columns, values, strict=True)) for values in track]
    level, sign = slip(rows[0]), -1.0 if side == "left" else 1.0
    start, worst, points = 0, (0.0, 1.0, ""), 0.0
    number_of = iter(IDEAL[maneuver])
    for phase in as_written(MANEUVERS / f"{maneuver}.yaml")["phases"]:
        # one that may last longer goes on to the end of the track, whose last row is the end
        frames = len(rows) - 1 - start if "up_to" in phase else round(number(phase["time"]) / FRAME)
        if phase.get("measured") == "true":
            at = next(number_of)
            ideal = np.eye(3) if at is None else about(1, at[0]) @ about(0, sign * at[1])
            found = np.array(
                [[*errors_of(row, ideal), slip(row)] for row in rows[start : start + frames + 1]]
            )
            found[:, 2] = np.unwrap(found[:, 2], period=360.0)
            found[:, :3] -= found[0, :3]
            found[:, 3] -= level
            picked = found[[round(frames * (k + 1) / SAMPLES) for k in range(SAMPLES)]]
            scored = phase.get("errors") or sorted(
                {e for judged in phase.get("judges", {}).values() for e in judged}
            )
            picked = np.where([term in scored and only in ("", term) for term in TERMS], picked, 0.0)
            k, term = np.unravel_index(int(np.argmax(np.abs(picked))), picked.shape)
            points += abs(float(picked[k, term])) / POINT
            if abs(picked[k, term]) > abs(worst[0]):
                worst = float(picked[k, term]), frames * FRAME, TERMS[term]
        start += frames
    degrees, seconds, name = worst
    return Worst(degrees, seconds, name, RIGHT_POSITIVE[name][degrees > 0.0], points)

"""What the tests of flights share: demo airplanes, their mirror images, scripts, maneuver files."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np

from sixdof.airframe.blends import BlendSpec
from sixdof.airframe.load import load_airframe
from sixdof.flight.airplane import Airplane
from sixdof.flight.fly import Flights, Track, fly_batch, pack_blends
from sixdof.flight.frame import TRACK_NAMES
from sixdof.flight.script import ManeuverFile, Script, load_maneuver, make_script
from sixdof.physics.terms import TERMS
from sixdof.tuning.search import Tuning, fly_chosen, seek

DEMOS = ("corvane", "fenlark", "tessel")
#: What changes sign when an airplane is seen in a mirror that stands along its plane of symmetry.
SIDEWAYS = {"beta", "phat", "rhat", "da", "dr"}


@cache
def _packed(name: str) -> bytes:
    planes = Airplane(load_airframe(name)).planes
    _packed.dtype = planes.dtype  # type: ignore[attr-defined]
    return planes.tobytes()


def planes_of(name: str, **values: float) -> np.ndarray:
    """Record of a demo airplane, array (1,), with these fields set otherwise; a copy of one's own."""
    data = _packed(name)
    planes = np.frombuffer(data, _packed.dtype).copy()  # type: ignore[attr-defined]
    for key, value in values.items():
        planes[key] = value
    return planes


def ideal_servos(planes: np.ndarray) -> np.ndarray:
    """The same airplane without slop and servo steps."""
    planes = planes.copy()
    for channel in ("aileron", "elevator", "rudder", "flap"):
        planes[f"{channel}_slop"] = planes[f"{channel}_step"] = 0.0
    return planes


def mirrored(planes: np.ndarray) -> np.ndarray:
    """The mirror image of an airplane: propeller the other way round, left and right changed over."""
    image = planes.copy()
    for term in TERMS:
        sideways = sum(factor in SIDEWAYS for factor in term.factors) % 2
        if sideways != (term.coefficient in ("CY", "Cl", "Cn")):
            image[term.name] *= -1.0
    for name in (
        "prop_turn",
        "axis_y",
        "prop_y",
        "ref_y",
        "fin_beta0",
        "Ixy",
        "Iyz",
        "Jxy",
        "Jyz",
        "aileron_trim",
        "rudder_trim",
    ):
        image[name] *= -1.0
    image["rudder_left"], image["rudder_right"] = planes["rudder_right"], planes["rudder_left"]
    image["knife_rudder_left"] = -planes["knife_rudder_right"]
    image["knife_rudder_right"] = -planes["knife_rudder_left"]
    return image


def script(maneuver: str | Path, side: str = "right", way: str = "free", **changes: float) -> Script:
    """A maneuver to one side; ``height``, ``speed`` in place of the file's."""
    made = make_script(load_maneuver(str(maneuver)), side, way)
    return dataclasses.replace(made, **changes)


def fly_with(
    planes: np.ndarray,
    scripts: list[Script],
    specs: list[BlendSpec] | tuple[BlendSpec, ...] = (),
    *,
    finer: int = 1,
) -> Flights:
    """All scripts with the same blends, tracks kept."""
    return fly_batch(planes, scripts, blends=pack_blends(specs)[None], keep_tracks=True, finer=finer)


def columns(track: Track, *names: str) -> np.ndarray:
    """Columns of a track (frames, len(names))."""
    return track.values[:, [TRACK_NAMES.index(name) for name in names]]


def blend(source: str, target: str, left: float, right: float, **more: object) -> BlendSpec:
    """Blend with one ratio a side, shares of the target's throw; in at once."""
    points = ((-1.0, left), (0.0, 0.0), (1.0, right))
    return BlendSpec(source=source, target=target, points=points, **{"ramp": 0.0, **more})  # type: ignore[arg-type]


def maneuver_file(folder: Path, name: str, phases: str, **keys: str) -> Path:
    """Write a maneuver file; ``phases`` is YAML, a list."""
    head = {"sixdof_maneuver": "1", "name": name, "sides": "none", "height": "120 m", **keys}
    path = folder / f"{name}.yaml"
    path.write_text("".join(f"{k}: {v}\n" for k, v in head.items()) + "phases:\n" + phases, encoding="utf-8")
    return path


def search(planes: np.ndarray, maneuvers: Sequence[ManeuverFile], *, step: float = 0.005) -> Tuning:
    """Ratios of an airplane taken at its word, and flown."""
    sought = seek(planes, maneuvers)
    found = fly_chosen(planes, sought, [np.where(mine.tested, mine.exact, 0.0) for mine in sought], step=step)
    order = [maneuver.name for maneuver in maneuvers]
    found.maneuvers.sort(key=lambda row: (order.index(row.name), row.side == "left"))
    return found

"""Other ways to fly the same equations: plain scalar C, SciPy's integrator, Python without compiling.

Each flies a maneuver by the surface targets that the package's own loop sent, so that only
right-hand side and stepping count, without pilot and blends.
"""

from __future__ import annotations

import ctypes
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from sixdof.flight.fly import Track
from sixdof.flight.mixing import mix
from sixdof.physics import air as atmosphere
from sixdof.physics.air import AIR_DTYPE
from sixdof.physics.record import N_STATE, PLANE_DTYPE, PROP_POINTS, TARGET_NAMES

SOURCE = Path(__file__).with_name("flight.c")
OPTIONS = ("-O3", "-march=native", "-ffp-contract=fast")


class Recorded(NamedTuple):
    """A flown maneuver: states at the start of each frame (n, 19) and the targets (n, 6) of the frame."""

    states: np.ndarray
    targets: np.ndarray


def recorded(plane: np.void, track: Track, blends: np.ndarray, frame: float) -> Recorded:
    """What a kept flight, its blend switch on, asked of the surfaces: its sticks mixed once more."""
    sticks = np.ascontiguousarray(track.values[:, 20:25])
    states = np.ascontiguousarray(track.values[:, 1 : 1 + N_STATE])
    held, targets = states[0, 13:18].copy(), np.zeros((len(sticks), len(TARGET_NAMES)))
    level, added = np.full(len(blends), -1.0), np.zeros(len(blends))
    commands, lost = np.zeros(5), np.zeros(4)
    for row, out in zip(sticks, targets, strict=True):
        mix(plane, blends, row, level, added, 1.0, frame, held, commands, out, lost)
    return Recorded(states, targets)


def _header() -> str:
    """The records as C structs, in the order of their dtypes, and the constants of the air."""
    plane = "".join(
        f"    double {name}{''.join(f'[{n}]' for n in PLANE_DTYPE[name].shape)};\n"
        for name in PLANE_DTYPE.names
    )
    day = "".join(f"    double {name};\n" for name in AIR_DTYPE.names)
    numbers = "".join(f"#define {name} {getattr(atmosphere, name)!r}\n" for name in ("RHO0", "T0", "LAPSE", "EARTH_RADIUS"))  # fmt: skip
    return (
        f"#define PROP_POINTS {PROP_POINTS}\n#define N_STATE {N_STATE}\n#define N_TARGET {len(TARGET_NAMES)}\n{numbers}"
        f"static const double B[] = {{{', '.join(map(repr, atmosphere._B))}}};\n"
        f"typedef struct {{\n{plane}}} Plane;\ntypedef struct {{\n{day}}} Air;\n"
    )


def c_loop() -> tuple[Callable[..., np.ndarray] | None, str]:
    """A function that flies in C, or None; and the compiler, or why there is none.

    The function takes plane, air, recorded targets, gust (6), substeps and frame [s] and returns the
    states (n, 19) at the start of each frame.
    """
    compiler = shutil.which("gcc") or shutil.which("cc")
    if compiler is None:
        return None, "no C compiler on the path"
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "records.h").write_text(_header())
        library = Path(folder, "flight.so")
        command = [compiler, *OPTIONS, "-std=gnu11", "-shared", "-fPIC", "-I", folder, str(SOURCE), "-o", str(library), "-lm"]  # fmt: skip
        done = subprocess.run(command, capture_output=True, text=True)
        if done.returncode:
            return None, f"{Path(compiler).name} failed: {done.stderr.strip().splitlines()[0]}"
        fly = ctypes.CDLL(str(library)).fly
    version = subprocess.run([compiler, "-dumpfullversion"], capture_output=True, text=True).stdout.strip()

    def address(array: np.ndarray) -> Any:
        return array.ctypes.data_as(ctypes.c_void_p)

    def flown(
        plane: np.void, air: np.void, flight: Recorded, gust: np.ndarray, substeps: int, frame: float
    ) -> np.ndarray:
        planes, airs = np.array([plane], PLANE_DTYPE), np.array([air], AIR_DTYPE)
        x, states = flight.states[0].copy(), np.empty_like(flight.states)
        fly(
            address(planes), address(airs), address(x), address(flight.targets), address(gust),
            len(states), substeps, ctypes.c_double(frame), address(states),
        )  # fmt: skip
        return states

    return flown, f"{Path(compiler).name} {version} {' '.join(OPTIONS)}"

"""Airplanes side by side: their numbers in columns, each column read as if it were a record.

A loop over the columns ("lanes") that is free of branches and library calls becomes vector
instructions: neighboring lanes lie side by side in memory.  Each lane does the arithmetic of one
flight alone, without fused or reordered operations, so it gets the same bits in any company.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numba
import numpy as np
from numba.core import cgutils
from numba.extending import intrinsic, overload

from sixdof.physics.air import AIR_DTYPE
from sixdof.physics.record import N_STATE, PLANE_DTYPE, SURFACE_ROWS, TARGET_NAMES

#: Flights stepped at once: as many numbers as a vector register of 256 bits holds.
LANES = 4
_BYTES = 8

#: States and work arrays of the Runge-Kutta step, targets of the frame, the gust as a step begins and how much it
#: grows in it, the length of the step [s], and 1 where it is taken, 0 where the frame is over already.
LANES_DTYPE = np.dtype(
    [(name, "f8", (N_STATE, LANES)) for name in ("x", "slope", "stage", "total")]
    + [(name, "f8", (len(SURFACE_ROWS), LANES)) for name in ("middle", "end")]
    + [(name, "f8", (6, LANES)) for name in ("gust", "growth", "felt")]
    + [
        ("targets", "f8", (len(TARGET_NAMES), LANES)),
        ("dt", "f8", (LANES,)),
        ("moves", "f8", (LANES,)),
        ("ct", "f8", (LANES,)),
        ("cq", "f8", (LANES,)),
    ]
)


def numbers_of(records: np.ndarray) -> np.ndarray:
    """Numbers (n, fields) of records (n,) that hold nothing but float64, without a copy."""
    return (
        np.ascontiguousarray(records).view(np.float64).reshape(len(records), records.dtype.itemsize // _BYTES)
    )


def new_lanes(
    plane: np.void, air: np.void, x: np.ndarray, dt: float
) -> tuple[np.ndarray, np.ndarray, np.void]:
    """Columns of one plane and its air, and work record, every lane at the state x (19), steps of dt [s]: for a flight alone."""
    columns = [
        np.ascontiguousarray(np.repeat(numbers_of(np.array([record], record.dtype)).T, LANES, axis=1))
        for record in (plane, air)
    ]
    work = np.zeros(1, LANES_DTYPE)[0]
    work["x"], work["dt"], work["moves"] = x[:, None], dt, 1.0
    return columns[0], columns[1], work


def _strided(dtype: np.dtype) -> np.dtype:
    """The record with its numbers ``LANES`` apart; a table (n,) becomes (n, LANES), its own column the first."""
    assert dtype.names is not None
    fields = [dtype.fields[name] for name in dtype.names]  # type: ignore[index]
    return np.dtype(
        {
            "names": dtype.names,
            "formats": [("f8", (*field[0].shape, LANES)) if field[0].shape else "f8" for field in fields],
            "offsets": [LANES * field[1] for field in fields],
        }
    )


def _reader(dtype: np.dtype) -> Callable[[np.ndarray, int], Any]:
    """Function (columns, lane) -> record; columns is an array (fields, LANES), C-contiguous."""
    strided = _strided(dtype)
    record = numba.from_dtype(strided)

    @intrinsic
    def compiled(typing, columns, lane):
        def code(context, builder, signature, arguments):
            start = cgutils.create_struct_proxy(columns)(context, builder, arguments[0]).data
            step = builder.mul(arguments[1], arguments[1].type(_BYTES))
            return cgutils.pointer_add(builder, start, step, context.get_value_type(record))

        return record(columns, lane), code

    def at(columns: np.ndarray, lane: int) -> Any:
        longer = np.append(columns, np.zeros(LANES))  # a table read from its last lane on ends behind it
        return np.ndarray((), strided, longer, _BYTES * lane)[()]

    @overload(at, jit_options={"forceinline": True})
    def _(columns, lane):
        return lambda columns, lane: compiled(columns, lane)

    return at


#: Plane or air in one lane.
plane_at = _reader(PLANE_DTYPE)
air_at = _reader(AIR_DTYPE)

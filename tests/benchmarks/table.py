"""Rows of the table, and the best of several measurements."""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter
from typing import Any, NamedTuple


class Row(NamedTuple):
    """One measurement beside its target, which is for the reader: nothing fails here."""

    name: str
    value: float
    unit: str
    target: str = ""
    note: str = ""


def best(work: Callable[[], Any], repeats: int) -> float:
    """Least time of several calls [s]; another program on the machine only ever adds to it."""
    times = []
    for _ in range(repeats):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return min(times)


def print_rows(rows: list[Row]) -> None:
    """Name, value, unit, target and note in columns."""
    for row in rows:
        number = f"{row.value:,.0f}" if abs(row.value) >= 1000.0 else f"{row.value:.3g}"
        print(
            f"{row.name:<49} {number:>8} {row.unit:<6} {row.target:<10} {row.note}".rstrip(),
            flush=True,
        )

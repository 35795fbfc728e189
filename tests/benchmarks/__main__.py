"""Measure everything, print the table, write ``runs/benchmarks.json`` and a picture of it.

Each number is the best of several: close other programs, or run it again and keep the better one.
"""

from __future__ import annotations

import json
import os
import platform
from datetime import datetime
from importlib.metadata import version

from tests.benchmarks.estimate import measure_estimate
from tests.benchmarks.flights import measure_exactness, measure_order, measure_speed
from tests.benchmarks.plot import plot_times
from tests.benchmarks.processes import ROOT, measure_commands, measure_memory, measure_start
from tests.benchmarks.table import Row, print_rows
from tests.benchmarks.yardsticks import measure_yardsticks


def _processor() -> str:
    try:
        with open("/proc/cpuinfo", encoding="utf-8") as lines:
            return next(line.split(":")[1].strip() for line in lines if line.startswith("model name"))
    except (OSError, StopIteration):
        return platform.processor() or platform.machine()


def main() -> None:
    """Measure, print as it goes, and keep."""
    machine = {
        "date": datetime.now().isoformat(timespec="seconds"),
        "processor": _processor(),
        "cores": os.cpu_count(),
        "python": platform.python_version(),
        **{name: version(name) for name in ("sixdof", "numpy", "numba")},
    }
    print(", ".join(f"{key} {value}" for key, value in machine.items()), flush=True)
    rows: list[Row] = []
    for measure in (
        measure_estimate, measure_speed, measure_exactness, measure_order, measure_memory, measure_start,
        measure_commands,
    ):  # fmt: skip
        found = measure()
        print_rows(found)
        rows += found
    found, points = measure_yardsticks()
    print_rows(found)
    rows += found
    out = ROOT / "runs" / "benchmarks.json"
    out.parent.mkdir(exist_ok=True)
    measured = {"machine": machine, "rows": [r._asdict() for r in rows], "points": points}
    out.write_text(json.dumps(measured, indent=1) + "\n")
    picture = out.with_suffix(".png")
    plot_times(points, f"{machine['date'][:10]}, {machine['processor']}, {machine['cores']} cores", picture)
    print(f"written to {out.relative_to(ROOT)} and {picture.relative_to(ROOT)}")


if __name__ == "__main__":
    main()

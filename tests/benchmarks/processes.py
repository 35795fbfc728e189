"""What needs a process of its own: compiling, starting, the command line, peak memory."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

from tests.benchmarks.table import Row

ROOT = Path(__file__).resolve().parent.parent.parent
_COMMAND = "import sys; from sixdof.cli import main; sys.argv[0] = 'sixdof'; main()"
_READY = """
from time import perf_counter
from sixdof.airframe.load import load_airframe
from sixdof.flight.fly import warm_up
from sixdof.flight.airplane import Airplane

start = perf_counter()
warm_up()
loop = perf_counter() - start
Airplane(load_airframe("corvane")).planes
print(loop, perf_counter() - start)
"""
_MEMORY = """
import os, resource, sys
import numpy as np
from sixdof.airframe.load import load_airframe
from sixdof.flight.fly import fly_pieces
from sixdof.flight.airplane import Airplane

from tests.benchmarks.flights import ten_seconds
def peak():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1 if sys.platform == "darwin" else 1024)
def now():
    try:
        with open("/proc/self/statm") as file:
            return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE")
    except OSError:
        return peak()
n, size, planes, script = int(sys.argv[1]), int(sys.argv[2]), Airplane(load_airframe("corvane")).planes, ten_seconds()
script.phases["duration"][:4] = 0.04, 0.04, 0.04, 0.24
script.phases["must_reach"] = 0
list(fly_pieces(planes, [script], index=np.zeros((8, 4), np.int64)))
before = now()
index = np.zeros((n, 4), np.int64)
for flights in fly_pieces(planes, [script], index=index, size=size):
    assert flights.finished.all()
print(sum(a.nbytes for a in (flights.errors, flights.commands, flights.ends)) / len(flights.ends), peak() - before)
"""


def run(code: str, *arguments: str, cwd: Path = ROOT, **environment: str) -> tuple[float, str]:
    """Seconds and standard output of Python code in a new process."""
    paths = os.pathsep.join(filter(None, (str(ROOT), os.environ.get("PYTHONPATH", ""))))
    start = perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments],
        env={**os.environ, "PYTHONPATH": paths, **environment},
        cwd=cwd,
        check=True,
        text=True,
        stdout=subprocess.PIPE,
    )
    return perf_counter() - start, done.stdout


def measure_memory() -> list[Row]:
    """Peak memory of batches that keep no tracks; what a flight takes does not depend on its length."""
    size, grown = map(float, run(_MEMORY, "100000", "100000")[1].split())
    _, in_pieces = map(float, run(_MEMORY, "1000000", "50000")[1].split())
    return [
        Row("a flight without track, its arrays", size / 1e3, "kB", "", "one measured phase"),
        Row("100,000 flights at once, growth of the process", grown / 1e6, "MB", "<= 500", "flown with short phases"),
        Row("1,000,000 flights in pieces of 50,000, growth", in_pieces / 1e6, "MB", "<= 500", "their index 32 MB of it"),
    ]  # fmt: skip


def measure_start() -> list[Row]:
    """First run with an empty cache, and a start with a full one."""
    with tempfile.TemporaryDirectory() as cache:
        runs = [run(_READY, NUMBA_CACHE_DIR=cache) for _ in range(3)]
    (cold, text), warm = runs[0], min(runs[1:])
    loop, ready = map(float, text.split())
    return [
        Row("first run: compile the loop", loop, "s", "", "empty cache"),
        Row("  the loop and the trim", ready, "s"),
        Row("  the whole process", cold, "s", "<= 40"),
        Row("warm start: the loop and the trim", float(warm[1].split()[1]), "s", "", "imports not counted"),
        Row("  the whole process", warm[0], "s"),
    ]


def measure_commands() -> list[Row]:
    """``tune`` by its own timings, and ``--help``."""
    runs = []
    with tempfile.TemporaryDirectory() as folder:
        for i in range(3):
            where = Path(folder) / str(i)
            wall, _ = run(_COMMAND, "tune", "corvane", "--out", str(where), "--json", cwd=ROOT)
            runs.append((wall, json.loads((where / "timings.json").read_text())["seconds"]))
    wall, seconds = min(runs[1:], key=lambda run: run[0])
    helped = min(run(_COMMAND, "--help")[0] for _ in range(5))
    notes = {"compile": "load the flight model", "work": "trim, search, re-fly, words"}
    targets = {"work": "<= 3"}
    return [
        Row("tune, warm: the whole process", wall, "s"),
        *(Row(f"  {k}", v, "s", targets.get(k, ""), notes.get(k, "")) for k, v in seconds.items()),
        Row("  imports, file, run folder", wall - sum(seconds.values()), "s"),
        Row("--help", helped, "s", "<= 0.5"),
    ]

"""Kill searches at random moments: ``python kill_some.py PLACE COUNT SEED``; says how many were killed, as JSON.

All that a search imports is imported once, and each search is a fork of that; no kernel has run before, so
that no thread is lost in forking.  Moments come from the whole length of a search, and two in five from the
time since the folder that is being written is there.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from pathlib import Path

import sixdof.cli
import sixdof.cli.text
import sixdof.runs
import sixdof.show.pictures
import sixdof.study.ask

SHORT = ("tune", "--airplanes", "0", "--no-pictures", "-m", "knife_edge")
AT_ONCE = 2
LONGEST, WRITING = 1.2, 0.03  # s: a search, and what it writes


def begin(place: Path, name: str) -> int:
    """Process number of a search for a run of that name."""
    if child := os.fork():
        return child
    os.chdir(place)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    sys.argv = ["sixdof", *SHORT, "--out", name]
    code = 1
    try:
        sixdof.cli.main()
        code = 0
    except SystemExit as end:
        code = int(end.code or 0)
    finally:
        os._exit(code)


def kill(place: Path, name: str, child: int, moment: float, writes: bool) -> None:
    """Kill a search when its moment has come."""
    due = None if writes else time.monotonic() + moment
    while due is None or time.monotonic() < due:
        if os.waitid(os.P_PID, child, os.WEXITED | os.WNOHANG | os.WNOWAIT):
            return
        if due is None and any(place.glob(f".unfinished-{name}-*")):
            due = time.monotonic() + moment
        time.sleep(0.001)
    os.kill(child, signal.SIGKILL)


def main(place: Path, count: int, seed: int) -> None:
    draw = random.Random(seed)
    codes: list[int] = []
    for first in range(0, count, AT_ONCE):
        mine = []
        for i in range(first, min(first + AT_ONCE, count)):
            writes = draw.random() < 0.4
            moment = draw.uniform(0.0, WRITING if writes else LONGEST)
            mine.append((f"out-{i}", begin(place, f"out-{i}"), moment, writes))
        for name, child, moment, writes in mine:
            kill(place, name, child, moment, writes)
        codes += [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for _, child, _, _ in mine]
    others = [code for code in codes if code not in (0, -signal.SIGKILL)]
    print(
        json.dumps({"killed": codes.count(-signal.SIGKILL), "ended before": codes.count(0), "else": others})
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))

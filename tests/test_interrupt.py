"""Ctrl-C while a library loads, at the very moment at which it would crash."""

from __future__ import annotations

import signal
import time
from pathlib import Path

import pytest
from commanding import end, runs_in, start_python

#: Like a compiled library that loads another: whatever happens in there comes out as something else.
OUTER = """
try:
    import inner
except BaseException:
    raise ImportError("half of it is loaded")
"""
INNER = """
import os, signal, time
os.kill(os.getpid(), signal.SIGINT)
time.sleep(0.2)
whole = True
"""
LOAD = """
import sys, time
sys.path.insert(0, ".")
from sixdof.cli.interrupt import take_interrupts
take_interrupts()
try:
    import outer
    time.sleep(20.0)
except KeyboardInterrupt:
    print("interrupted", sys.modules["inner"].whole, "outer" in sys.modules)
"""
#: A command that is interrupted just when a module begins to load.
COMMAND = """
import os, signal, sys

def interrupt(event, words):
    if event == "import" and words[0] == MODULE and not MODULES:
        MODULES.append(MODULE)
        os.kill(os.getpid(), signal.SIGINT)

MODULE, MODULES = sys.argv.pop(1), []
sys.addaudithook(interrupt)
from sixdof.cli import main
try:
    main()
finally:
    print("began", *MODULES)
"""


def test_a_library_is_loaded_whole_and_then_the_interrupt_comes(tmp_path: Path) -> None:
    (tmp_path / "outer.py").write_text(OUTER)
    (tmp_path / "inner.py").write_text(INNER)
    start = time.monotonic()
    done = end(start_python(tmp_path, LOAD))
    assert (done.code, done.out, done.err) == (0, "interrupted True True\n", "")
    assert time.monotonic() - start < 10.0, "what waits is woken"


@pytest.mark.parametrize("module", ["vtkmodules.vtkRenderingOpenGL2"])
def test_interrupted_while_the_renderer_loads(tmp_path: Path, module: str) -> None:
    done = end(start_python(tmp_path, COMMAND, module, "fly", "-m", "power_off_dive"))
    assert f"began {module}" in done.out
    assert (done.code, done.err) == (130, "sixdof: interrupted; nothing unfinished was kept\n")
    assert not list(runs_in(tmp_path))


def test_a_job_that_ignores_interrupts_goes_on_ignoring_them(tmp_path: Path) -> None:
    code = (
        "import os, signal; signal.signal(signal.SIGINT, signal.SIG_IGN)\n"
        "from sixdof.cli.interrupt import take_interrupts; take_interrupts()\n"
        "os.kill(os.getpid(), signal.SIGINT); print(signal.getsignal(signal.SIGINT).name)"
    )
    done = end(start_python(tmp_path, code))
    assert (done.code, done.out) == (0, f"{signal.SIG_IGN.name}\n")

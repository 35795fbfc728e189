"""Commands in this process and in one of their own."""

from __future__ import annotations

import contextlib
import io
import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TextIO
from unittest import mock

import sixdof.cli


@dataclass(frozen=True)
class Done:
    """What a command left: exit code, standard output, standard error."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The one JSON object on standard output."""
        return json.loads(self.out)


def sixdof_here(folder: Path, *words: str) -> Done:
    """Run a command in this process, as the entry point does, with ``folder`` as working directory."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.chdir(folder):
        code = main_here(words, out, err)
    return Done(code, out.getvalue(), err.getvalue())


def main_here(words: Sequence[str], out: TextIO, err: TextIO) -> int:
    """Exit code of a command in this process."""
    with (
        mock.patch.object(sys, "argv", ["sixdof", *words]), mock.patch.object(sys, "unraisablehook"),
        mock.patch.object(signal, "signal"),
        contextlib.redirect_stdout(out), contextlib.redirect_stderr(err),
    ):  # fmt: skip
        try:
            sixdof.cli.main()
        except SystemExit as end:
            return int(end.code or 0)
    return 0


def refused(done: Done, *words: str) -> None:
    """Exit code 2, nothing on standard output, one printable line on standard error that says so."""
    assert done.code == 2, done
    assert done.out == "" and done.err.startswith("sixdof: ") and done.err.count("\n") == 1, done
    assert done.err[:-1].isprintable() and "Traceback" not in done.err, done.err
    assert len(done.err) < 1000, done.err
    for word in words:
        assert word in done.err, (word, done.err)


def start(folder: Path, *words: str, **variables: str) -> subprocess.Popen[str]:
    """Start a command in a process of its own."""
    return start_python(folder, "from sixdof.cli import main; main()", *words, **variables)


def start_python(folder: Path, code: str, *words: str, **variables: str) -> subprocess.Popen[str]:
    """Start Python code in a process of its own; ``words`` are its ``sys.argv[1:]``."""
    return subprocess.Popen(
        [sys.executable, "-c", code, *words], cwd=folder, env={**os.environ, **variables}, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, preexec_fn=_take_interrupts,
    )  # fmt: skip


def start_in_terminal(folder: Path, columns: int, *words: str) -> subprocess.Popen[str]:
    """Start a command whose console takes its output for a terminal of so many columns, without color."""
    console = f"Console(stderr=error, width={columns}, markup=False, emoji=False, highlight=False, color_system=None)"
    code = (
        "from rich.console import Console; from sixdof.cli import main, setup\n"
        f"setup.make_console = lambda error=False: {console}\nmain()"
    )
    return start_python(folder, code, *words)


def _take_interrupts() -> None:
    """A background job of a shell ignores interrupts, and so would what it starts."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def end(process: subprocess.Popen[str], *, timeout: float = 120.0) -> Done:
    """Wait for a process."""
    out, err = process.communicate(timeout=timeout)
    return Done(process.returncode, out, err)


def everything_in(folder: Path) -> Mapping[str, bytes]:
    """All files below a folder with their bytes."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def runs_in(folder: Path) -> Iterator[Path]:
    """Folders that could be taken for runs, unfinished ones too."""
    for path in folder.rglob("*"):
        if path.is_dir() and any(path.glob("*.json")):
            yield path

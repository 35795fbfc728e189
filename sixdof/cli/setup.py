"""What commands share: a clock, a console, the airplane made ready."""

from __future__ import annotations

import re
import shlex
import sys
from pathlib import Path
from time import perf_counter
from typing import TYPE_CHECKING, Any, TypeVar

from rich.console import Console

from sixdof.files.errors import printable

if TYPE_CHECKING:
    from collections.abc import Callable

    from sixdof.flight.airplane import Airplane
    from sixdof.study.results import Answer

    A = TypeVar("A", bound=Answer)

DEMO = "corvane"


class Clock:
    """Seconds by stage."""

    def __init__(self) -> None:
        self.seconds: dict[str, float] = {}
        self._last = perf_counter()

    def lap(self, name: str) -> None:
        now = perf_counter()
        self.seconds[name] = self.seconds.get(name, 0.0) + now - self._last
        self._last = now


class _Paper(Console):
    """Console of a file or pipe: no spaces at the ends of lines."""

    def print(self, *objects: Any, **options: Any) -> None:
        with self.capture() as made:
            super().print(*objects, **options)
        self.file.write(printable(re.sub(" +$", "", made.get(), flags=re.MULTILINE)))


def make_console(*, error: bool = False) -> Console:
    """Console that prints texts as they are: a name with brackets or colons in it is no mark-up."""
    plain: dict[str, Any] = {"stderr": error, "markup": False, "emoji": False, "highlight": False}
    console = Console(**plain)
    return console if console.is_terminal else _Paper(**plain, width=80)


class Busy:
    """A line on a terminal's standard error while something runs; nothing elsewhere."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._status = make_console(error=True).status(text) if sys.stderr.isatty() else None

    def __enter__(self) -> Busy:
        if self._status:
            self._status.start()
        return self

    def __exit__(self, *_: object) -> None:
        if self._status:
            self._status.stop()

    def __call__(self, share: float, text: str) -> None:
        if self._status:
            self._status.update(f"{self._text}: {text} ({100.0 * share:.0f} %)")


def ready_airplane(
    aircraft: str | None, changes: list[str] | None, rate: str | None, clock: Clock, *, notes: bool = True
) -> Airplane:
    """The airplane that was asked for, changed, estimated and trimmed, as notes tell it; compiles on the first run and
    says so."""
    from sixdof.airframe.changes import changed, read_changes
    from sixdof.airframe.load import load_airframe
    from sixdof.flight.airplane import Airplane
    from sixdof.flight.fly import warm_up
    from sixdof.learned import with_notes
    from sixdof.physics.compile import is_compiled

    airframe = changed(load_airframe(DEMO if aircraft is None else aircraft), read_changes(changes or []))
    airplane = Airplane(airframe) if rate is None else Airplane(airframe, rate)
    if notes:
        airplane, why_not = with_notes(airplane)
        if why_not:
            print(f"sixdof: {why_not}", file=sys.stderr)
    if not is_compiled():
        print(
            "first run: compiling the flight model, about half a minute; later runs start at once",
            file=sys.stderr,
        )
    with Busy("getting the flight model ready"):
        warm_up()
        clock.lap("compile")
        _ = airplane.derivatives
        clock.lap("estimate")
        _ = airplane.planes
    return airplane


def asked() -> str:
    """The command as it was typed."""
    return shlex.join(["sixdof", *sys.argv[1:]])


def with_demo_named(answer: A, aircraft: str | None, command: str) -> A:
    """The answer, with a remark where nobody named an airplane."""
    if aircraft is not None:
        return answer
    from sixdof.airframe.load import files_here
    from sixdof.files.rows import Remark
    from sixdof.study.remarks import in_order

    here = [path.name for path in files_here()]
    text = f"no airplane was named: this is the demo {DEMO}"
    if here:
        text += f"; {' and '.join(here[:3])} {'lies' if len(here) == 1 else 'lie'} here: sixdof {command} {here[0]}"
    remark = Remark(kind="option", about="aircraft", text=text)
    return answer.model_copy(update={"remarks": in_order([remark, *answer.remarks])})


def save(
    answer: Answer,
    out: str | None,
    default: str,
    clock: Clock,
    draw: Callable[[Path], dict[str, float]] | None,
) -> str:
    """Write the run folder; returns its name."""
    from sixdof.runs import write_run

    return str(write_run(answer, out, default, timings=clock.seconds, draw=draw))

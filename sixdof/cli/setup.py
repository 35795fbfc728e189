"""What commands share: a clock, a console, the airplane made ready."""

from __future__ import annotations

import re
import sys
from time import perf_counter
from typing import TYPE_CHECKING, Any

from rich.console import Console

if TYPE_CHECKING:
    import numpy as np

    from sixdof.airframe.model import Airframe
    from sixdof.estimate.derivatives import Derivatives
    from sixdof.flight.gusts import Bump, Wind
    from sixdof.flight.script import ManeuverFile


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
        self.file.write(re.sub(" +$", "", made.get(), flags=re.MULTILINE))


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

    def __call__(self, text: str) -> None:
        if self._status:
            self._status.update(f"{self._text}: {text}")


def load_changed(aircraft: str, texts: list[str] | None) -> Airframe:
    """The airplane of a file, with what was changed by ``--change``."""
    from sixdof.airframe.changes import changed, read_changes
    from sixdof.airframe.load import load_airframe

    return changed(load_airframe(aircraft), read_changes(texts or []))


def ready_plane(airframe: Airframe, rate: str | None, clock: Clock) -> tuple[np.ndarray, str, Derivatives]:
    """Plane record at a rate and what is known of it; compiles on the first run and says so."""
    from sixdof.files.errors import InputError, nearest
    from sixdof.physics.compile import is_compiled

    rate = airframe.default_rate if rate is None else rate
    if rate not in airframe.rates:
        hint = nearest(rate, list(airframe.rates))
        raise InputError(f"rates: {rate!r} is not a rate of this file; {hint}", file=airframe.path)
    if not is_compiled():
        print(
            "first run: compiling the flight model, about half a minute; later runs start at once",
            file=sys.stderr,
        )
    from sixdof.estimate.layers import estimate_derivatives
    from sixdof.flight.airplane import Airplane
    from sixdof.flight.fly import warm_up
    from sixdof.flight.pack import static_margin

    with Busy("getting the flight model ready"):
        warm_up()
        clock.lap("compile")
        known = estimate_derivatives(airframe)
        clock.lap("estimate")
        planes = Airplane(airframe, rate).planes
    margin = float(static_margin(planes)[0])
    if airframe.changes and margin <= 0.0:
        print(
            f"changed like this the CG is {-1e3 * margin * float(planes['c'][0]):.0f} mm behind the neutral point "
            "(power off): the airplane diverges in pitch when let go",
            file=sys.stderr,
        )
    return planes, rate, known


def check_air(number: int) -> None:
    """The number of an air."""
    from sixdof.files.errors import InputError

    if not 1 <= number <= 1_000_000:
        raise InputError(f"--air {number}: the number of an air, 1 to 1000000, is wanted")


def air_words(wind: Wind | None, bump: Bump | None, number: int) -> str:
    """``wind of 4 m/s from the right, air number 3``; ``calm``."""
    said = [] if wind is None else [f"wind of {wind.words}, air number {number}"]
    said += [] if bump is None else [f"one gust of {bump.words}"]
    return "; ".join(said) or "calm"


def usual_maneuvers(airframe: Airframe) -> list[str]:
    names = ["knife_edge", "four_point_roll", "power_off_dive", "roll_reversal"]
    return [*names, "flaps_down"] if airframe.controls.flap is not None else names


def check_maneuvers(names: list[str], *, tuned: bool = False) -> list[ManeuverFile]:
    """The maneuvers, each once; with ``tuned`` only those that say something about a blend."""
    from sixdof.files.errors import InputError
    from sixdof.flight.script import load_maneuver

    files = [load_maneuver(name) for name in names]
    for i, file in enumerate(files):
        if file.name in [other.name for other in files[:i]]:
            raise InputError(f"maneuver {file.name} came twice; once is enough")
        if tuned and not file.tunes:
            raise InputError(f"maneuver {file.name} says nothing about any blend; `sixdof fly` flies it")
    return files


def check_starts(planes: np.ndarray, maneuvers: dict[str, ManeuverFile], share: float = 1.0) -> None:
    """Refuse a maneuver that cannot begin in steady level flight; ``share`` of its speed is flown.

    ``maneuvers``: name or path as the command gave it -> the maneuver.
    """
    from sixdof.files.errors import InputError
    from sixdof.flight.script import maneuver_path
    from sixdof.flight.trim import trim
    from sixdof.physics.air import make_air

    cruise = float(planes["cruise"][0])
    for name, maneuver in maneuvers.items():
        speed = cruise * maneuver.speed * share
        if not trim(planes[0], make_air(), speed=speed, height=maneuver.height).reachable:
            way = "faster" if speed < cruise else "slower"
            text = f"no steady level flight at {speed:.1f} m/s to begin with; a {way} one is wanted"
            if share != 1.0:
                raise InputError(f"--speed {100.0 * share:g}: {text}")
            raise InputError(text, file=maneuver_path(name), key=("speed",))


def read_blends(texts: list[str]) -> list[Any]:
    from sixdof.files.errors import InputError
    from sixdof.tuning.unknowns import make_blends, read_unknown

    unknowns, amounts = [], []
    for text in texts:
        name, _, value = text.partition("=")
        unknowns.append(read_unknown(name.strip()))
        try:
            amounts.append(float(value) / 100.0)
        except ValueError:
            raise InputError(f"--blend {text!r}: a percent is wanted, as {name}=3") from None
        if not abs(amounts[-1]) <= 1.0:
            raise InputError(f"--blend {text!r}: -100 to 100 percent is wanted")
    return make_blends(unknowns, amounts)

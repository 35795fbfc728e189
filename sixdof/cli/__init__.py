"""The command line: thin, typed commands; heavy imports happen inside them."""

from __future__ import annotations

import os
import sys
from _thread import interrupt_main
from io import TextIOWrapper
from pathlib import Path
from threading import Timer
from typing import Annotated, Any, Literal

from cyclopts import App, CycloptsError, Parameter

app = App(
    name="sixdof",
    help="Find the blends that make a model airplane fly purer, on a desk before risking the airframe.",
    help_epilogue="A simulated ratio is a starting point, not a fact about your airplane.",
    suppress_keyboard_interrupt=False,
)

DEMO = "corvane"
MOST_WORDS = 800  # letters of a complaint
View = Literal["caller", "above", "along"]
Json = Annotated[bool, Parameter(name="--json", negative=(), help="Print one JSON object instead of text.")]
Out = Annotated[str | None, Parameter(name="--out", help="Folder of the run; default ./runs/NAME.")]
RateName = Annotated[str | None, Parameter(name="--rate", help="Rate of the file whose throws count.")]
ChangeTexts = Annotated[
    list[str] | None,
    Parameter(
        name=["--change", "-c"],
        negative=(),
        help="Change the airframe first and trim it again, e.g. 'cg=5 mm aft'. May be given again.",
    ),
]
WindText = Annotated[
    str | None,
    Parameter(
        name="--wind",
        help="Wind at 6 m with its gusts, e.g. '4 m/s from the right' (ahead, behind, the left, the right).",
    ),
]
AirNumber = Annotated[
    int, Parameter(name="--air", help="Number of the air: the same number, the same gusts.")
]
Pictures = Annotated[bool, Parameter(name="--pictures", negative="--no-pictures", help="Draw pictures too.")]


def main() -> None:
    """Entry point: one line and exit code 2 for bad input, 130 when interrupted."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a letter that the terminal lacks is shown as ?
            stream.reconfigure(errors="replace")
    sys.unraisablehook = _interrupt_again
    try:
        _run(sys.argv[1:])
        sys.stdout.flush()
    except KeyboardInterrupt:
        print("sixdof: interrupted; nothing unfinished was kept", file=sys.stderr)
        sys.exit(130)
    except BrokenPipeError:
        _drop_output()
        sys.exit(1)
    except OSError as error:  # a full disk, no temporary folder
        _drop_output()
        _refuse(error)


def _drop_output() -> None:
    """Let what could not be written go nowhere, so that Python does not try again at its end."""
    if isinstance(sys.stdout, TextIOWrapper):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _run(words: list[str]) -> None:
    try:
        app(words, exit_on_error=False, print_error=False)
    except CycloptsError as error:
        _refuse(error)
    except ValueError as error:
        from sixdof.files.errors import InputError

        if not isinstance(error, InputError):
            raise
        _refuse(error)


def _refuse(error: Exception) -> None:
    text = " ".join(str(error).split())
    text = "".join(letter if letter.isprintable() else repr(letter)[1:-1] for letter in text)
    if len(text) > MOST_WORDS:  # somebody's endless word stands in it
        text = f"{text[:300]} ... {text[-300:]}"
    print(f"sixdof: {text}", file=sys.stderr)
    sys.exit(2)


def _interrupt_again(lost: Any) -> None:
    """An interrupt that fell into a place where Python can only remark on it comes again."""
    if lost.exc_type is KeyboardInterrupt:
        Timer(0.01, interrupt_main).start()
    else:
        sys.__unraisablehook__(lost)


# ---------------------------------------------------------------- commands


@app.command
def tune(
    aircraft: str = DEMO,
    *,
    maneuver: Annotated[list[str] | None, Parameter(name=["--maneuver", "-m"], negative=())] = None,
    step: float = 0.5,
    change: ChangeTexts = None,
    airplanes: int = 200,
    wind: WindText = None,
    airs: int = 40,
    rate: RateName = None,
    out: Out = None,
    pictures: Pictures = True,
    json: Json = False,
) -> None:
    """Find the ratio of each blend and side, and show what they bring.

    Parameters
    ----------
    aircraft
        Name or path of an aircraft file; without it an invented demo flies.
    maneuver
        Maneuvers to tune on; default knife_edge, four_point_roll, power_off_dive, roll_reversal,
        and flaps_down where there are flaps.
    step
        Step of the radio's ratios in percent.
    airplanes
        How many airplanes are drawn from what is not known, to tell how sure the ratios are; 0
        for none.
    airs
        With --wind: in how many different airs of it bare and blended are flown. Ratios are
        always tuned in calm air.
    """
    from sixdof.cli.setup import (
        Busy,
        Clock,
        check_maneuvers,
        check_starts,
        load_changed,
        ready_plane,
        usual_maneuvers,
    )
    from sixdof.files.errors import InputError
    from sixdof.flight.gusts import read_wind
    from sixdof.runs import check_out

    if not 0.0 <= step <= 5.0:
        raise InputError(f"--step {step:g}: a step of 0 to 5 percent is wanted")
    if not (airplanes == 0 or 20 <= airplanes <= 5000):
        raise InputError(f"--airplanes {airplanes}: 20 to 5000 airplanes are wanted, or 0 for none")
    if not 2 <= airs <= 1000:
        raise InputError(f"--airs {airs}: 2 to 1000 airs are wanted")
    day = None if wind is None else read_wind(wind)
    check_out(out)
    airframe = load_changed(aircraft, change)
    clock = Clock()
    names = maneuver or usual_maneuvers(airframe)
    files = check_maneuvers(names, tuned=True)
    planes, rate, known = ready_plane(airframe, rate, clock)
    flown = dict(zip(names, files, strict=True))
    check_starts(planes, flown)
    from sixdof.cli.pictures import draw_flights
    from sixdof.cli.results import save, tune_result, wind_row
    from sixdof.cli.text import print_tuning
    from sixdof.flight.airplane import Airplane
    from sixdof.tuning.doubt import doubt_of
    from sixdof.tuning.search import tune as search
    from sixdof.tuning.split import split
    from sixdof.tuning.windy import in_wind
    from sixdof.tuning.words import advice, doubt_advice

    with Busy("tuning") as busy:
        tuning = search(planes, names, step=step / 100.0, progress=busy)
        drawn, doubts = None, []
        if airplanes:
            busy(f"{airplanes} airplanes drawn from the doubt")
            drawn = Airplane(airframe, rate).drawn(airplanes)
            doubts = doubt_of(drawn, tuning.ratios, names)
        windy = None
        if day is not None:
            busy(f"{airs} airs")
            drifts, told = in_wind(planes, tuning.ratios, names, day, range(1, airs + 1))
            windy = wind_row(day, airs, tuning, drifts, told)
    found = [
        part
        for t in ("elevator", "aileron")
        if any(f.name == "knife_edge" for f in files) and (part := split(planes[0], t))
    ]
    warnings = advice(tuning, found, airframe, planes[0], rate)
    if drawn is not None:
        warnings += doubt_advice(tuning, doubts, drawn, known)
    clock.lap("work")
    result = tune_result(airframe, rate, step, tuning, found, warnings, drawn, doubts, windy)
    tracks = {
        f"{name}.{side}.{kind}": track.values
        for (name, side), pair in tuning.flights.items()
        for kind, track in zip(("bare", "blended"), pair, strict=True)
    }
    draw = (lambda folder: draw_flights(folder, airframe, files, tracks)) if pictures else None
    run = save(
        out,
        f"tune-{airframe.name}",
        result,
        airframe,
        flown,
        tracks,
        clock,
        draw,
    )
    if json:
        print(result.text(run=str(run)), end="")
        return
    print_tuning(result, run)


@app.command
def fly(
    aircraft: str = DEMO,
    *,
    maneuver: Annotated[str, Parameter(name=["--maneuver", "-m"])] = "knife_edge",
    way: Literal["free", "held"] = "free",
    blend: Annotated[list[str] | None, Parameter(name=["--blend", "-b"], negative=())] = None,
    speed: float = 100.0,
    wind: WindText = None,
    gust: str | None = None,
    air: AirNumber = 1,
    change: ChangeTexts = None,
    rate: RateName = None,
    out: Out = None,
    pictures: Pictures = True,
    json: Json = False,
) -> None:
    """Fly one maneuver to each side, with the blends you name.

    Parameters
    ----------
    aircraft
        Name or path of an aircraft file.
    maneuver
        A name that `sixdof list` shows, or a maneuver file.
    way
        free: the sticks under test are let go; held: the pilot keeps bank and path.
    blend
        A ratio in percent, + up, right: rudder-elevator.left=3. May be given again. Without any,
        the blends of the aircraft file fly.
    speed
        Percent of the maneuver's speed.
    gust
        One gust, 25 chords long, e.g. '3 m/s from below at 4 s' (also above).
    """
    import numpy as np

    from sixdof.cli.setup import (
        Clock,
        air_words,
        check_air,
        check_maneuvers,
        check_starts,
        load_changed,
        read_blends,
        ready_plane,
    )
    from sixdof.files.errors import InputError
    from sixdof.flight.gusts import airs_of, read_bump, read_wind
    from sixdof.runs import check_out

    check_out(out)
    day = None if wind is None else read_wind(wind)
    bump = None if gust is None else read_bump(gust)
    check_air(air)
    airframe = load_changed(aircraft, change)
    clock = Clock()
    [file] = check_maneuvers([maneuver])
    if not 50.0 <= speed <= 200.0:
        raise InputError(f"--speed {speed:g}: 50 to 200 percent is wanted")
    specs = read_blends(blend) if blend else list(airframe.radio.blends)
    planes, rate, _known = ready_plane(airframe, rate, clock)
    check_starts(planes, {maneuver: file}, speed / 100.0)
    from sixdof.airframe.describe import blend_words
    from sixdof.cli.pictures import draw_flights
    from sixdof.cli.results import flight_row, make_result, save
    from sixdof.cli.text import print_flights
    from sixdof.flight.fly import fly_batch, pack_blends
    from sixdof.flight.script import make_script, sides_of

    scripts = [make_script(file, side, way, speed=file.speed * speed / 100.0) for side in sides_of(file)]
    airs, gusts = airs_of(planes[0], scripts, wind=day, bump=bump, seeds=[air])
    index = np.array([[0, s, 0, s] for s in range(len(scripts))])
    flights = fly_batch(
        planes,
        scripts,
        blends=pack_blends(specs)[None],
        index=index,
        airs=airs,
        gusts=gusts,
        keep_tracks=True,
    )
    clock.lap("work")
    rows = [flight_row(flights, i, script) for i, script in enumerate(scripts)]
    words = [line for spec in specs for line in blend_words(spec, airframe, rate)]
    result = make_result(
        "fly", airframe, rate, maneuvers=rows, flown_with=words, air=air_words(day, bump, air)
    )
    if blend and airframe.radio.blends:
        result.warnings.append("the blends in the file were switched off: only those named here are flown")
    if bump and np.any(flights.ends["time"] <= bump.start):
        result.warnings.append(f"the gust comes at {bump.start:g} s: not every flight lasts so long")
    tracks = {f"{s.name}.{s.side}.{way}": flights.tracks[i].values for i, s in enumerate(scripts)}
    draw = (
        (lambda folder: draw_flights(folder, airframe, [file], tracks, way=way, air=result.air))
        if pictures
        else None
    )
    run = save(
        out, f"fly-{file.name}-{airframe.name}", result, airframe, {maneuver: file}, tracks, clock, draw
    )
    if json:
        print(result.text(run=str(run)), end="")
        return
    print_flights(result, flights, scripts, run)


@app.command
def explore(
    maneuver: str,
    aircraft: str = DEMO,
    *,
    vary: str,
    count: int = 17,
    wind: WindText = None,
    air: AirNumber = 1,
    change: ChangeTexts = None,
    rate: RateName = None,
    out: Out = None,
    pictures: Pictures = True,
    json: Json = False,
) -> None:
    """Fly a maneuver over a range of one ratio: drift and tracks against the setting.

    Parameters
    ----------
    maneuver
        A maneuver, e.g. power_off_dive.
    aircraft
        Name or path of an aircraft file.
    vary
        Ratio and range in percent: throttle-elevator.low=-6..2 (+ up, right; - down, left).
    count
        How many settings.
    """
    import numpy as np

    from sixdof.cli.setup import (
        Clock,
        air_words,
        check_air,
        check_maneuvers,
        check_starts,
        load_changed,
        ready_plane,
    )
    from sixdof.files.errors import InputError
    from sixdof.flight.gusts import read_wind
    from sixdof.runs import check_out
    from sixdof.tuning.explore import read_range

    check_out(out)
    day = None if wind is None else read_wind(wind)
    check_air(air)
    airframe = load_changed(aircraft, change)
    clock = Clock()
    [file] = check_maneuvers([maneuver])
    name = file.name
    if not 2 <= count <= 201:
        raise InputError(f"--count {count}: 2 to 201 settings are wanted")
    unknown, low, high = read_range(vary)
    planes, rate, _known = ready_plane(airframe, rate, clock)
    check_starts(planes, {maneuver: file})
    from sixdof.cli.pictures import draw_explore
    from sixdof.cli.results import make_result, save
    from sixdof.cli.text import print_settings
    from sixdof.runs import SettingRow
    from sixdof.tuning.explore import explore as sweep

    settings = sweep(planes, maneuver, unknown, list(np.linspace(low, high, count)), wind=day, seed=air)
    clock.lap("work")
    rows = [
        SettingRow(
            percent=100.0 * s.amount, side=s.side, status=s.status, scored=s.scored, drift=s.drift.degrees,
            rate=s.drift.rate, words=s.drift.words, top_speed_m_s=s.top_speed, height_used_m=s.height_used,
        )
        for s in settings
    ]  # fmt: skip
    result = make_result("explore", airframe, rate, settings=rows, air=air_words(day, None, air))
    tracks = {f"{name}.{s.side}.{100.0 * s.amount:+.3f}": s.track for s in settings}
    draw = (lambda folder: draw_explore(folder, settings, unknown, name)) if pictures else None
    run = save(
        out, f"explore-{name}-{airframe.name}", result, airframe, {maneuver: file}, tracks, clock, draw
    )
    if json:
        print(result.text(run=str(run)), end="")
        return
    print_settings(result, unknown, name, run)


@app.command
def remedies(
    aircraft: str = DEMO,
    *,
    over: str | None = None,
    change: ChangeTexts = None,
    rate: RateName = None,
    out: Out = None,
    json: Json = False,
) -> None:
    """Change the airframe instead of blending: what one usual step of each change does, re-trimmed.

    Parameters
    ----------
    aircraft
        Name or path of an aircraft file.
    over
        One change, as cg or down-thrust: several steps of it each way instead of one step of each.
    """
    from sixdof.airframe.changes import find_change
    from sixdof.cli.setup import Busy, Clock, load_changed, ready_plane
    from sixdof.runs import check_out

    check_out(out)
    airframe = load_changed(aircraft, change)
    if over is not None:
        find_change(over)
    clock = Clock()
    _, rate, _ = ready_plane(airframe, rate, clock)
    from sixdof.cli.remedies import print_remedies, remedies_result
    from sixdof.cli.results import save
    from sixdof.flight.script import load_maneuver
    from sixdof.tuning.remedies import FLOWN, best_set, standings, steps_over, usual_changes

    sets = usual_changes(airframe) if over is None else steps_over(over, airframe)
    with Busy("changing") as busy:
        now, *steps = standings(airframe, [{}, *sets], rate=rate, progress=busy)
        best = best_set(airframe, now, steps, rate=rate) if over is None else None
    clock.lap("work")
    result = remedies_result(airframe, rate, [now, *steps], best)
    flown = {name: load_maneuver(name) for name in FLOWN}
    run = save(out, f"remedies-{airframe.name}", result, airframe, flown, {}, clock, None)
    if json:
        print(result.text(run=str(run)), end="")
        return
    print_remedies(result, airframe, aircraft, run, over)


@app.command
def compare(*runs: str, out: str | None = None, json: Json = False) -> None:
    """Compare finished runs: their blends, and what each maneuver drifted.

    Parameters
    ----------
    runs
        Two or more run folders, or their names in ./runs.
    out
        Draw the drifts side by side into this file, a new one that ends in .png.
    """
    from sixdof.cli.pictures import check_picture, draw_compare
    from sixdof.cli.text import compared, print_compared
    from sixdof.files.errors import InputError
    from sixdof.runs import read_run

    if len(runs) < 2:
        raise InputError("compare: two or more runs are wanted; `sixdof list` shows what there is")
    if len(runs) > 10:
        raise InputError(f"compare: {len(runs)} runs came; at most 10 fit side by side")
    check_picture("--out", out)
    found = [read_run(name) for name in runs]
    for run in found:
        if not run.result["maneuvers"]:
            raise InputError(f"{run.path}: has no maneuvers to compare (a run of `{run.result['command']}`)")
    rows = compared(found)
    picture = draw_compare(Path(out), found) if out else None
    if json:
        import json as writer

        print(
            writer.dumps(
                {"runs": [str(r.path) for r in found], "maneuvers": rows, "picture": picture}, indent=1
            )
        )
        return
    print_compared(found, rows, picture)


@app.command
def view(
    run: str,
    *,
    flight: Annotated[list[str] | None, Parameter(name=["--flight", "-f"], negative=())] = None,
    angle: View = "caller",
    png: str | None = None,
) -> None:
    """See a run in 3D: a window to play it in, or a picture with --png.

    Parameters
    ----------
    run
        Run folder, or its name in ./runs.
    flight
        Flights of the run to show, as knife_edge.left; default the first maneuver.
    angle
        Where to look from.
    png
        Write a picture to this file, a new one, instead of opening a window.
    """
    from sixdof.cli.pictures import check_picture, pick_flights, scene_title
    from sixdof.files.errors import InputError
    from sixdof.runs import read_run, whole_file

    check_picture("--png", png)
    found = read_run(run)
    if not found.tracks():
        raise InputError(f"{found.path}: has no flights to see (a run of `{found.result['command']}`)")
    airframe = found.airframe()
    shown = pick_flights(found, flight)
    from sixdof.show.probe import NoRenderer

    try:
        if png:
            from sixdof.show.scene import save_png
            from sixdof.tuning.words import SAID

            names = dict.fromkeys(name.split(".")[0] for name in flight or list(found.tracks())[:1])
            what = ", ".join(SAID.get(name, name) for name in names)
            title = scene_title(airframe, found.result.get("air", "calm"), what)
            with whole_file(Path(png), advice="choose another --png") as unfinished:
                save_png(unfinished, airframe, shown, view=angle, title=title)
            print(png)
        else:
            from sixdof.show.viewer import open_viewer

            open_viewer(airframe, shown)
    except NoRenderer as error:
        raise InputError(str(error)) from None


@app.command
def check(
    aircraft: str = DEMO,
    *,
    change: ChangeTexts = None,
    rate: RateName = None,
    picture: str | None = None,
    no_picture: Annotated[bool, Parameter(name="--no-picture", negative=())] = False,
    json: Json = False,
) -> None:
    """Check an aircraft file: a drawing, what each stick does, trim, modes, derivatives.

    Parameters
    ----------
    aircraft
        Name or path of an aircraft file.
    picture
        File of the drawing, a new one; default ./runs/check-NAME.png, drawn anew each time.
    no_picture
        Draw nothing.
    """
    from sixdof.checking import check_airframe
    from sixdof.cli.pictures import check_picture, draw_check
    from sixdof.cli.setup import Clock, load_changed, ready_plane
    from sixdof.cli.text import print_check
    from sixdof.files.errors import InputError

    if picture is not None and no_picture:
        raise InputError(f"--picture {picture}: came with --no-picture; one of them is wanted")
    check_picture("--picture", picture)
    airframe = load_changed(aircraft, change)
    planes, rate, known = ready_plane(airframe, rate, Clock())
    report = check_airframe(airframe, planes, rate, known)
    report["picture"] = None if no_picture else draw_check(picture, airframe, known, report["warnings"])
    if json:
        import json as writer

        print(writer.dumps(report, indent=1))
        return
    print_check(report)


@app.command
def validate(
    *, short: Annotated[bool, Parameter(name="--short", negative=())] = False, json: Json = False
) -> None:
    """Hold the model to published numbers: NASA's check-cases, airplanes, wings, propellers, the air.

    Exit code 1 if any number is missed that is not a known miss, told with its reason.

    Parameters
    ----------
    short
        One line a source instead of every number.
    """
    from threadpoolctl import threadpool_limits

    from sixdof.cli.setup import Busy
    from sixdof.cli.validation import print_validation, say_first_run, validation_object
    from sixdof.validation.registry import checks_by_source

    say_first_run()
    with Busy("flying published cases") as busy, threadpool_limits(limits=1, user_api="blas"):
        sources = checks_by_source()
        for source, checks in sources.items():
            busy(source)
            for check in checks:
                _ = check.ours
    if json:
        import json as writer

        print(writer.dumps(validation_object(sources), indent=1))
    else:
        print_validation(sources, short=short)
    if any(check.missed for checks in sources.values() for check in checks):
        sys.exit(1)


@app.command
def new(name: str, *, units: Literal["metric", "inch"] = "metric", json: Json = False) -> None:
    """Write an aircraft file to fill in, which tells step by step what to measure and how.

    Parameters
    ----------
    name
        What the airplane is called; NAME.yaml is written, and never over another file.
    units
        Of its lengths and weights: mm and g, or inches and ounces.
    """
    from sixdof.airframe.template import write_new

    path = write_new(name, units)
    if json:
        import json as writer

        print(writer.dumps({"written": str(path)}, indent=1))
        return
    print(f"written: {path}; replace its numbers by your own, then: sixdof check {path}")


@app.command(name="list")
def list_(*, json: Json = False) -> None:
    """List airplanes, maneuvers and runs that a name finds."""
    from sixdof.airframe.load import list_airframes
    from sixdof.flight.script import list_maneuvers
    from sixdof.runs import list_runs

    airframes = [{"name": name, "path": path, "about": about} for name, path, about in list_airframes()]
    maneuvers = [{"name": name, "about": about} for name, about in list_maneuvers()]
    runs = list_runs()
    if json:
        import json as writer

        print(writer.dumps({"aircraft": airframes, "maneuvers": maneuvers, "runs": runs}, indent=1))
        return
    from rich.text import Text

    from sixdof.cli.setup import make_console

    console = make_console()
    for title, rows in (("Aircraft", airframes), ("Maneuvers", maneuvers)):
        console.print(f"{title}", style="bold")
        for row in rows:
            console.print(f"  {row['name']:<16} {row['about']}", no_wrap=True, overflow="ellipsis")
    console.print(Text.assemble(("Runs", "bold"), f"  {', '.join(runs) or 'none in ./runs'}"))


@app.command
def schema() -> None:
    """Print the JSON Schema of the aircraft file, so that an editor can complete it."""
    import json as writer

    from sixdof.airframe.model import schema as make

    print(writer.dumps(make(), indent=1))

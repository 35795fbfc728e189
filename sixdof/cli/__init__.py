"""The command line: thin, typed commands; heavy imports happen inside them."""

from __future__ import annotations

import os
import sys
from functools import partial
from io import TextIOWrapper
from pathlib import Path
from typing import Annotated, Literal

from cyclopts import App, CycloptsError, Parameter

from sixdof.cli.interrupt import ignore_interrupts, take_interrupts

app = App(
    name="sixdof",
    help="Find the blends that make a model airplane fly purer, on a desk before risking the airframe.",
    help_epilogue="A simulated ratio is a starting point, not a fact about your airplane.",
    suppress_keyboard_interrupt=False,
)

MOST_WORDS = 800  # letters of a complaint
View = Literal["caller", "above", "along"]
Json = Annotated[bool, Parameter(name="--json", negative=(), help="Print one JSON object instead of text.")]
Out = Annotated[str | None, Parameter(name="--out", help="Folder of the run; default ./runs/NAME.")]
RateName = Annotated[str | None, Parameter(name="--rate", help="Rate of the file whose throws count.")]
ChangeTexts = Annotated[list[str] | None, Parameter(
    name=["--change", "-c"], negative=(),
    help="Change the airframe first and trim it again, e.g. 'cg=5 mm aft'. May be given again.",
)]  # fmt: skip
CeilingText = Annotated[str, Parameter(help="Of the site; dives last as long as it allows, e.g. '300 ft'.")]
WindText = Annotated[str | None, Parameter(
    name="--wind",
    help="Wind at 6 m with its gusts, e.g. '4 m/s from the right' (ahead, behind, the left, the right).",
)]  # fmt: skip
Sample = Annotated[
    int, Parameter(name="--sample", help="Which sample of the wind's gusts: the same number, the same gusts.")
]
All = Annotated[bool, Parameter(name="--all", negative=(), help="Print the whole, not just the answer.")]
Aircraft = Annotated[str | None, Parameter(help="Name or path of an aircraft file; without it a demo flies.")]
NoNotes = Annotated[bool, Parameter(
    name="--no-notes", negative=(), help="Leave out what was learned from notes of flights.",
)]  # fmt: skip
Pictures = Annotated[bool, Parameter(name="--pictures", negative="--no-pictures", help="Draw pictures too.")]


def main() -> None:
    """Entry point: one line and exit code 2 for bad input, 130 when interrupted."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a letter that the terminal lacks is shown as ?
            stream.reconfigure(errors="replace")
    take_interrupts()
    try:
        _run(sys.argv[1:])
        sys.stdout.flush()
        ignore_interrupts()
    except KeyboardInterrupt:
        ignore_interrupts()
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
    from sixdof.files.errors import printable

    text = printable(" ".join(str(error).split()))
    if len(text) > MOST_WORDS:  # somebody's endless word stands in it
        text = f"{text[:300]} ... {text[-300:]}"
    print(f"sixdof: {text}", file=sys.stderr)
    sys.exit(2)


# ---------------------------------------------------------------- commands, in the order in which one needs them


@app.default
def begin() -> None:
    """Where to begin."""
    print(
        "sixdof finds the blends that make a model airplane fly purer, before you risk it.\n"
        "\n"
        "  sixdof tune            try it on an invented airplane\n"
        "  sixdof new mine        write mine.yaml: what to measure on your own, and how\n"
        "  sixdof check mine      does the file make sense? what does each stick do?\n"
        "  sixdof diagnose mine   what would it do, and what to change before any blend?\n"
        "  sixdof tune mine       which ratios, how sure, what to do first\n"
        "  sixdof sheet RUN       a set-up sheet and a flight card to take to the field\n"
        "  sixdof learn mine N    notes of the flights back in: the answer gets surer\n"
        "  sixdof desk mine       all of this in your browser\n"
        "  sixdof --help          all commands"
    )


@app.command(sort_key=1)
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


@app.command(sort_key=2)
def check(
    aircraft: Aircraft = None,
    *,
    change: ChangeTexts = None,
    rate: RateName = None,
    no_notes: NoNotes = False,
    picture: str | None = None,
    no_picture: Annotated[bool, Parameter(name="--no-picture", negative=())] = False,
    all_: All = False,
    json: Json = False,
) -> None:
    """Check an aircraft file: a drawing, what each stick does, balance, trim, modes, derivatives.

    Parameters
    ----------
    picture
        File of the drawing, a new one; default ./runs/check-NAME.png, drawn anew each time.
    no_picture
        Draw nothing.
    """
    from sixdof.cli.setup import DEMO, Clock, ready_airplane, with_demo_named
    from sixdof.files.errors import InputError
    from sixdof.show.pictures import check_picture, draw_check
    from sixdof.study.check import check as ask

    if picture is not None and no_picture:
        raise InputError(f"--picture {picture}: came with --no-picture; give one of them")
    check_picture("--picture", picture)
    airplane = ready_airplane(aircraft, change, rate, Clock(), notes=not no_notes)
    answer = with_demo_named(ask(airplane), aircraft, "check")
    notes = [remark.text for remark in answer.remarks if remark.kind not in ("invented", "option")]
    drawn = None if no_picture else draw_check(picture, airplane, notes)
    if json:
        print(answer.text(picture=drawn), end="")
        return
    from sixdof.cli.text import print_check
    from sixdof.study.words import named

    print_check(answer, drawn, named(aircraft or DEMO, change or []), all_=all_)


@app.command(sort_key=3)
def diagnose(
    aircraft: Aircraft = None,
    *,
    saw: Annotated[list[str] | None, Parameter(name="--saw", negative=())] = None,
    blend: Annotated[list[str] | None, Parameter(name=["--blend", "-b"], negative=())] = None,
    change: ChangeTexts = None,
    ceiling: CeilingText = "120 m",
    rate: RateName = None,
    no_notes: NoNotes = False,
    out: Out = None,
    all_: All = False,
    json: Json = False,
) -> None:
    """Fly the whole trimming sequence: what a flyer would see, what makes it, what to change first.

    Parameters
    ----------
    saw
        What you saw of the real one, e.g. 'inverted=strong drops', 'dive=6 to canopy' (degrees a second): what the file
        does not say is looked for. Names of the tests with --json. May be given again.
    blend
        What this does to the whole sequence: a ratio in percent, + up, right: rudder-elevator.left=3; or a file of
        blends. May be given again.
    """
    from sixdof.cli.setup import Busy, Clock, asked, ready_airplane, save, with_demo_named
    from sixdof.flight.blends import read_blends
    from sixdof.runs import check_out
    from sixdof.tuning.sequence import read_saw

    check_out(out)
    for text in saw or []:
        read_saw(text)
    specs = read_blends(blend or [])
    clock = Clock()
    airplane = ready_airplane(aircraft, change, rate, clock, notes=not no_notes)
    from sixdof.learned import kept_notes
    from sixdof.study.ask import diagnose as ask

    notes, prior = ((), None) if no_notes else kept_notes(airplane)
    with Busy("diagnosing") as busy:
        answer = ask(
            airplane, saw=saw or [], notes=notes, prior=prior, blends=specs, ceiling=ceiling, progress=busy
        )
    answer = with_demo_named(answer, aircraft, "diagnose")
    clock.lap("work")
    from sixdof.show.pictures import draw_diagnosis

    draw = partial(draw_diagnosis, answer=answer, asked=asked())
    run = save(answer, out, f"diagnose-{airplane.airframe.name}", clock, draw)
    if json:
        print(answer.text(run=run), end="")
        return
    from sixdof.cli.text import print_diagnosis

    print_diagnosis(answer, run, all_=all_)


@app.command(sort_key=4)
def remedies(
    aircraft: Aircraft = None,
    *,
    over: str | None = None,
    change: ChangeTexts = None,
    rate: RateName = None,
    no_notes: NoNotes = False,
    out: Out = None,
    all_: All = False,
    json: Json = False,
) -> None:
    """Change the airframe instead of blending: what one usual step of each change does, re-trimmed.

    Parameters
    ----------
    over
        One change, as cg or down-thrust: several steps of it each way instead of one step of each.
    """
    from sixdof.airframe.changes import find_change
    from sixdof.cli.setup import DEMO, Busy, Clock, ready_airplane, save, with_demo_named
    from sixdof.runs import check_out

    check_out(out)
    if over is not None:
        find_change(over)
    clock = Clock()
    airplane = ready_airplane(aircraft, change, rate, clock, notes=not no_notes)
    from sixdof.study.ask import remedies as ask

    with Busy("changing") as busy:
        answer = with_demo_named(ask(airplane, over=over, progress=busy), aircraft, "remedies")
    clock.lap("work")
    run = save(answer, out, f"remedies-{airplane.airframe.name}", clock, None)
    if json:
        print(answer.text(run=run), end="")
        return
    from sixdof.cli.text import print_remedies

    print_remedies(answer, airplane, aircraft or DEMO, run, all_=all_)


@app.command(sort_key=5)
def tune(
    aircraft: Aircraft = None,
    *,
    maneuver: Annotated[list[str] | None, Parameter(name=["--maneuver", "-m"], negative=())] = None,
    step: float = 0.5,
    speed: float | None = None,
    change: ChangeTexts = None,
    airplanes: int = 200,
    ceiling: CeilingText = "120 m",
    wind: WindText = None,
    samples: int = 40,
    rate: RateName = None,
    no_notes: NoNotes = False,
    out: Out = None,
    pictures: Pictures = True,
    all_: All = False,
    json: Json = False,
) -> None:
    """Find the ratio of each blend and side, how sure it is, and what it brings.

    Parameters
    ----------
    maneuver
        Maneuvers to tune on; default knife_edge, four_point_roll, power_off_dive, roll_reversal,
        and flaps_down where there are flaps.
    step
        Step of the radio's ratios in percent.
    speed
        Percent of cruise at which knife-edge is flown; default: cruise, or the slowest speed above it where
        at most 70 % of the rudder holds it.
    airplanes
        How many airplanes are drawn from what is not known, to tell how sure the ratios are; 0
        for none.
    samples
        With --wind: in how many samples of its gusts bare and blended are flown. Ratios are
        always tuned in calm air.
    """
    from sixdof.cli.setup import DEMO, Busy, Clock, asked, ready_airplane, save, with_demo_named
    from sixdof.files.errors import InputError
    from sixdof.runs import check_out

    if not 0.0 <= step <= 5.0:
        raise InputError(f"--step: got {step:g}, expected 0 to 5 percent")
    if speed is not None and not 50.0 <= speed <= 200.0:
        raise InputError(f"--speed: got {speed:g} %, expected 50 to 200 percent of cruise")
    if not (airplanes == 0 or 20 <= airplanes <= 5000):
        raise InputError(f"--airplanes: got {airplanes}, expected 20 to 5000, or 0 for none")
    if not 2 <= samples <= 1000:
        raise InputError(f"--samples: got {samples}, expected 2 to 1000")
    check_out(out)
    from sixdof.study.ask import maneuvers_of, read_air
    from sixdof.study.ask import tune as ask

    clock = Clock()
    read_air(wind, None, 1)
    files = maneuvers_of(maneuver) if maneuver else None
    airplane = ready_airplane(aircraft, change, rate, clock, notes=not no_notes)
    with Busy("tuning") as busy:
        answer = ask(
            airplane, files, speed=None if speed is None else speed / 100.0, step=step / 100.0, airplanes=airplanes,
            ceiling=ceiling, wind=wind, samples=samples, progress=busy,
        )  # fmt: skip
    answer = with_demo_named(answer, aircraft, "tune")
    clock.lap("work")
    from sixdof.show.pictures import draw_tuning
    from sixdof.study.words import named

    name = named(aircraft or DEMO, change or [])
    draw = partial(draw_tuning, answer=answer, airframe=airplane.airframe, aircraft=name, asked=asked())
    run = save(answer, out, f"tune-{airplane.airframe.name}", clock, draw if pictures else None)
    if json:
        print(answer.text(run=run), end="")
        return
    from sixdof.cli.text import print_tuning

    print_tuning(answer, run, name, all_=all_)


@app.command(sort_key=6)
def explore(
    maneuver: str,
    aircraft: Aircraft = None,
    *,
    vary: Annotated[list[str], Parameter(negative=())],
    over: Annotated[list[str] | None, Parameter(negative=())] = None,
    blend: Annotated[list[str] | None, Parameter(name=["--blend", "-b"], negative=())] = None,
    count: int | None = None,
    ceiling: CeilingText = "120 m",
    wind: WindText = None,
    sample: Sample = 1,
    change: ChangeTexts = None,
    rate: RateName = None,
    no_notes: NoNotes = False,
    out: Out = None,
    pictures: Pictures = True,
    all_: All = False,
    json: Json = False,
) -> None:
    """Fly a maneuver over a range of one ratio or change, or over a map of two: drift against the setting.

    Parameters
    ----------
    maneuver
        A maneuver, e.g. power_off_dive.
    vary
        A ratio and its range in percent: throttle-elevator.low=-6..2 (+ up, right; - down, left), rudder-aileron=0..9 for both
        sides alike; a change in its usual unit: cg=-10..10 (mm, + aft); speed=80..120. Given twice: a map.
    over
        The same at some places of a band: speed=80..120, throttle=40..100 or rudder=40..100 (percent), 'wind=3 m/s from the
        right', a change: cg=-6..6; given again: all at once; 'usual': speed, rudder and wind of an afternoon.
    blend
        A ratio in percent or a file of blends, on at every setting. May be given again.
    count
        How many settings; default 17 of a ratio, 9 of what moves the airplane or over several bands.
    """
    from sixdof.cli.setup import Busy, Clock, asked, ready_airplane, save, with_demo_named
    from sixdof.flight.blends import read_blends
    from sixdof.runs import check_out
    from sixdof.study.ask import explore as ask
    from sixdof.study.ask import maneuvers_of, read_air, read_explore

    check_out(out)
    clock = Clock()
    [file] = maneuvers_of([maneuver])
    read_air(wind, None, sample)
    read_explore(file, vary, over or (), count)
    specs = read_blends(blend) if blend else []
    airplane = ready_airplane(aircraft, change, rate, clock, notes=not no_notes)
    with Busy("exploring") as busy:
        answer = ask(
            airplane, file, vary, over=over or (), blends=specs, count=count, ceiling=ceiling, wind=wind, sample=sample,
            progress=busy,
        )  # fmt: skip
    answer = with_demo_named(answer, aircraft, f"explore {maneuver}")
    clock.lap("work")
    from sixdof.show.pictures import draw_explore

    draw = partial(draw_explore, answer=answer, airframe=airplane.airframe, asked=asked())
    name = f"explore-{file.name}-{airplane.airframe.name}"
    run = save(answer, out, name, clock, draw if pictures else None)
    if json:
        print(answer.text(run=run), end="")
        return
    from sixdof.cli.text import print_settings

    print_settings(answer, run, all_=all_)


@app.command(sort_key=7)
def fly(
    aircraft: Aircraft = None,
    *,
    maneuver: Annotated[str, Parameter(name=["--maneuver", "-m"])] = "knife_edge",
    way: Literal["free", "held"] = "free",
    blend: Annotated[list[str] | None, Parameter(name=["--blend", "-b"], negative=())] = None,
    speed: float = 100.0,
    ceiling: CeilingText = "120 m",
    wind: WindText = None,
    gust: str | None = None,
    sample: Sample = 1,
    change: ChangeTexts = None,
    rate: RateName = None,
    no_notes: NoNotes = False,
    out: Out = None,
    pictures: Pictures = True,
    all_: All = False,
    json: Json = False,
) -> None:
    """Fly one maneuver to each side, with the blends you name.

    Parameters
    ----------
    maneuver
        A name that `sixdof list` shows, or a maneuver file.
    way
        free: the sticks under test are let go; held: the pilot keeps bank and path.
    blend
        A ratio in percent, + up, right: rudder-elevator.left=3; or a file of blends with points,
        gates and switches: blends.yaml. May be given again. Without any, those of the aircraft file.
    speed
        Percent of the maneuver's speed.
    gust
        One gust, 25 chords long, e.g. '3 m/s from below at 4 s' (also above).
    """
    from sixdof.cli.setup import Busy, Clock, ready_airplane, save, with_demo_named
    from sixdof.flight.blends import read_blends
    from sixdof.runs import check_out
    from sixdof.study.ask import fly as ask
    from sixdof.study.ask import maneuvers_of, read_air

    check_out(out)
    clock = Clock()
    [file] = maneuvers_of([maneuver])
    read_air(wind, gust, sample)
    specs = read_blends(blend) if blend else None
    airplane = ready_airplane(aircraft, change, rate, clock, notes=not no_notes)
    with Busy("flying") as busy:
        answer = ask(
            airplane, file, way=way, blends=specs, speed=speed / 100.0, ceiling=ceiling, wind=wind, gust=gust,
            sample=sample, progress=busy,
        )  # fmt: skip
    answer = with_demo_named(answer, aircraft, "fly")
    clock.lap("work")
    from sixdof.show.pictures import draw_flights

    draw = partial(draw_flights, answer=answer, airframe=airplane.airframe, way=way) if pictures else None
    run = save(answer, out, f"fly-{file.name}-{airplane.airframe.name}", clock, draw)
    if json:
        print(answer.text(run=run), end="")
        return
    from sixdof.cli.text import print_flights

    print_flights(answer, run, all_=all_)


@app.command(sort_key=11)
def learn(
    aircraft: str,
    *notes: str,
    undo: Annotated[bool, Parameter(name="--undo", negative=())] = False,
    without: Annotated[list[int] | None, Parameter(name="--without", negative=())] = None,
    keep: Annotated[bool, Parameter(name="--keep", negative=())] = False,
    log: Annotated[str | None, Parameter(name="--log")] = None,
    map_: Annotated[str | None, Parameter(name="--map")] = None,
    flight: Annotated[int | None, Parameter(name="--flight")] = None,
    blends: Annotated[str | None, Parameter(name="--blends")] = None,
    step: float = 0.5,
    out: Out = None,
    all_: All = False,
    json: Json = False,
) -> None:
    """Learn from notes of flights which ratios the airplane asks for, how sure that is, and what to note next.

    Parameters
    ----------
    aircraft
        Name or path of an aircraft file. What is learned is kept beside it as NAME.learned.json, of a demo in the working
        folder; the other commands know it from then on.
    notes
        Files of notes, .yaml or .csv; one of a name that was taken in before replaces it. Without any: what is known.
    undo
        Take out again what was taken in last.
    without
        What would be known without this flight; nothing is kept. May be given again.
    keep
        Take over the notes of an older version of the aircraft file.
    log
        A log of one flight, CSV: its level knife-edges are written beside it as notes, and those are taken in; where it
        shows rates too, the airplane is fitted to what it did. It needs the three that follow.
    map
        A map of the log's columns with their units, YAML; the README shows one.
    flight
        Number of the flight in the log.
    blends
        Ratios that were in force: none, or 'rudder-elevator.right=3 % up, rudder-aileron.right=2 % right'.
    step
        Step of the radio's ratios in percent.
    """
    from sixdof.cli.learning import run_learn
    from sixdof.files.errors import InputError
    from sixdof.learned import FlownLog
    from sixdof.runs import check_out

    if not 0.0 <= step <= 5.0:
        raise InputError(f"--step: got {step:g}, expected 0 to 5 percent")
    if undo and (notes or without or log):
        raise InputError("--undo stands alone: it takes out what was taken in last")
    flown = None
    if log is not None and map_ is not None and flight is not None and blends is not None:
        if not 1 <= flight <= 9999:
            raise InputError(f"--flight: got {flight}, expected 1 to 9999")
        flown = FlownLog(log, map_, flight, blends)
    elif any(given is not None for given in (log, map_, flight, blends)):
        raise InputError("a log needs all of --log, --map, --flight and --blends")
    check_out(out)
    run_learn(
        aircraft,
        notes,
        log=flown,
        undo=undo,
        without=without or [],
        keep=keep,
        step=step / 100.0,
        out=out,
        all_=all_,
        json=json,
    )


@app.command(sort_key=12)
def log(
    aircraft: str, *, out: Out = None, pictures: Pictures = True, all_: All = False, json: Json = False
) -> None:
    """Show the logbook of an airplane: flight by flight what was set, seen and learned.

    Parameters
    ----------
    aircraft
        Name or path of an aircraft file that notes were taken in for.
    """
    from sixdof.cli.learning import run_log
    from sixdof.runs import check_out

    check_out(out)
    run_log(aircraft, out=out, pictures=pictures, all_=all_, json=json)


@app.command(sort_key=8)
def view(
    run: str,
    *,
    flight: Annotated[list[str] | None, Parameter(name=["--flight", "-f"], negative=())] = None,
    angle: View = "caller",
    png: str | None = None,
    gif: str | None = None,
) -> None:
    """See a run in 3D: a window to play it in, a picture with --png, a short film with --gif.

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
    gif
        Write a film of the test to this file, a new one.
    """
    from sixdof.files.errors import InputError
    from sixdof.runs import read_run
    from sixdof.show.pictures import check_picture, draw_film, draw_view, pick_flights, title_of
    from sixdof.show.probe import NoRenderer

    check_picture("--png", png)
    check_picture("--gif", gif, kinds=(".gif",))
    found = read_run(run)
    shown = pick_flights(found, flight)
    try:
        if png:
            print(draw_view(Path(png), found, shown, angle))
        if gif:
            print(draw_film(Path(gif), found, shown, angle))
        if not (png or gif):
            from sixdof.show.viewer import open_viewer

            open_viewer(found.airframe(), shown, title=title_of(found, shown))
    except NoRenderer as error:
        raise InputError(str(error)) from None


@app.command(sort_key=9)
def compare(*runs: str, out: str | None = None, json: Json = False) -> None:
    """Compare finished runs: their blends, and what each maneuver drifted.

    Parameters
    ----------
    runs
        Two or more run folders, or their names in ./runs.
    out
        Draw the drifts side by side into this file, a new one that ends in .png; one that ends in .html
        becomes a report with the flights.
    """
    from sixdof.cli.setup import asked
    from sixdof.files.errors import InputError
    from sixdof.runs import read_run
    from sixdof.show.pictures import check_picture, draw_compare
    from sixdof.study.ask import compare as ask

    if len(runs) < 2:
        raise InputError("compare: give two or more runs; `sixdof list` shows what there is")
    if len(runs) > 10:
        raise InputError(f"compare: got {len(runs)} runs; at most 10 fit side by side")
    check_picture("--out", out, kinds=(".png", ".html"))
    found = [read_run(name) for name in runs]
    for run in found:
        if not getattr(run.answer, "maneuvers", None):
            raise InputError(f"{run.path}: has no maneuvers to compare (a run of `{run.answer.command}`)")
    answer = ask([run.answer for run in found])
    picture = draw_compare(Path(out), found, answer, asked()) if out else None
    if json:
        print(answer.text(runs=[str(run.path) for run in found], picture=picture), end="")
        return
    from sixdof.cli.text import print_compared

    print_compared(answer, [run.path.name for run in found], picture)


@app.command(sort_key=10)
def sheet(
    run: str,
    *,
    out: str | None = None,
    all_: Annotated[bool, Parameter(name=["--all", "--text"], negative=())] = False,
    json: Json = False,
) -> None:
    """Make the set-up sheet and the flight card of a tune: two pages to print or to take along.

    Parameters
    ----------
    run
        Run folder of a tune, or its name in ./runs.
    out
        File of the pages, a new one that ends in .html; default sheet.html in the run, made anew each time.
    all_
        Print the whole text of both, not just the ratios.
    """
    from sixdof.field.pages import check_pages, sheet_of, write_pages
    from sixdof.runs import read_run

    check_pages(out)
    found = read_run(run)
    answer = sheet_of(found)
    written = write_pages(answer, found, out)
    if json:
        print(answer.text(pages=written), end="")
        return
    from sixdof.cli.text import print_sheet

    print_sheet(answer, written, all_=all_)


@app.command(name="list", sort_key=14)
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
    from sixdof.cli.setup import make_console
    from sixdof.cli.text import lead, wrapped
    from sixdof.files.errors import shown

    console = make_console()
    for title, rows in (("Aircraft", airframes), ("Maneuvers", maneuvers)):
        console.print(title, style="bold")
        for row in rows:
            text = f"  {shown(row['name']):<18} {shown(row['about'], 2000)}"
            console.print(text, no_wrap=True, overflow="ellipsis")
    console.print(lead("Runs", ""))
    wrapped(console, ", ".join(map(shown, runs)) or "none in ./runs", first="  ")


@app.command(sort_key=13)
def desk(
    aircraft: Aircraft = None,
    *,
    port: int = 8614,
    browser: Annotated[bool, Parameter(name="--browser", negative=["--no-browser"])] = True,
) -> None:
    """Open the page to measure, tune and set up on, in your browser, for this machine alone.

    Parameters
    ----------
    port
        Where it listens on 127.0.0.1.
    browser
        Open it; its address is printed either way.
    """
    from sixdof.desk.server import serve
    from sixdof.files.errors import InputError

    if not 1024 <= port <= 65535:
        raise InputError(f"--port: got {port}, expected 1024 to 65535")
    serve(aircraft, port=port, browser=browser)


@app.command(sort_key=15)
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
    from sixdof.cli.validation import print_validation, say_first_run
    from sixdof.validation.registry import checks_by_source, validation_object

    say_first_run()
    with Busy("flying published cases") as busy, threadpool_limits(limits=1, user_api="blas"):
        sources = checks_by_source()
        for i, (source, checks) in enumerate(sources.items()):
            busy(i / len(sources), source)
            for check in checks:
                _ = check.ours
    if json:
        import json as writer

        print(writer.dumps(validation_object(sources), indent=1))
    else:
        print_validation(sources, short=short)
    if any(check.missed for checks in sources.values() for check in checks):
        sys.exit(1)


@app.command(sort_key=16)
def schema() -> None:
    """Print the JSON Schema of the aircraft file, so that an editor can complete it."""
    import json as writer

    from sixdof.airframe.model import schema as make

    print(writer.dumps(make(), indent=1))

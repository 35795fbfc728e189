"""Notes of flights on the command line: taken in, shown, taken out again."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from rich.console import Console

from sixdof.airframe.blends import amount_words
from sixdof.cli.setup import Busy, Clock, asked, make_console, ready_airplane, save
from sixdof.cli.text import bullets, ending, headline, lead, print_table, remarks, wrapped
from sixdof.files.errors import InputError, shown
from sixdof.learned import Book, FlownLog, from_log, opened, taken_in, write_book
from sixdof.learning.notes import read_notes
from sixdof.study import tables
from sixdof.study.learn import learn as ask
from sixdof.study.learn import log as ask_log
from sixdof.study.results import LearnResult, LogResult
from sixdof.study.words import log_line

#: Flights of a logbook shown unasked, the last ones, and notes that could be next.
_FLIGHTS, _NEXT = 8, 2


def run_learn(
    aircraft: str, notes: Sequence[str], *, log: FlownLog | None, undo: bool, without: Sequence[int], keep: bool, step: float,
    out: str | None, all_: bool, json: bool,
) -> None:  # fmt: skip
    """Take notes in or out, work out what they tell, keep it and print it."""
    clock = Clock()
    airplane = ready_airplane(aircraft, None, None, clock, notes=False)
    airframe = airplane.airframe
    new = [read_notes(name, airframe) for name in notes]
    book = opened(airframe, keep=keep)
    found = None
    if log is not None:
        with Busy("reading the log") as busy:
            found = from_log(log, airplane, busy)
        new.append(found.notes)
    told = {found.notes.name: found.told} if found is not None and found.told is not None else None
    book = taken_in(book, new, undo=undo, told=told)
    with Busy("learning") as busy:
        answer = ask(
            airplane, book.notes(airframe), without=without, prior=book.prior, logs=book.logs, log_prior=book.log_prior, step=step,
            progress=busy,
        )  # fmt: skip
    clock.lap("work")
    if not without:
        write_book(
            book._replace(prior=answer.prior, layer=answer.layer, log_prior=answer.log_prior), airframe
        )
    from sixdof.show.pictures import draw_learned

    overlays = found.overlays if found is not None else ()
    draw = partial(draw_learned, answer=answer, airframe=airframe, overlays=overlays, asked=asked())
    run = save(answer, out, f"learn-{airframe.name}", clock, draw)
    if json:
        print(answer.text(run=run, kept_in=None if without else str(book.path)), end="")
        return
    if log is not None and found is not None:
        words = (
            found.words if all_ or found.told is None else found.words[-1:]
        )  # what the rates tell stands below
        bullets(make_console(), f"Found in {shown(log.path)}", words)
    _print_learned(answer, book, aircraft, run, all_=all_)


def run_log(aircraft: str, *, out: str | None, pictures: bool, all_: bool, json: bool) -> None:
    """Work the notes out again, flight by flight, and print them."""
    clock = Clock()
    airplane = ready_airplane(aircraft, None, None, clock)
    airframe = airplane.airframe
    book = opened(airframe)
    if not book.taken:
        raise InputError(f"{book.path}: no notes were taken in yet: sixdof learn {aircraft} NOTES")
    with Busy("reading the logbook") as busy:
        answer = ask_log(
            airplane,
            ask(
                airplane,
                book.notes(airframe),
                prior=book.prior,
                logs=book.logs,
                log_prior=book.log_prior,
                progress=busy,
            ),
        )
    clock.lap("work")
    from sixdof.show.pictures import draw_log

    run = save(
        answer, out, f"log-{airframe.name}", clock, partial(draw_log, answer=answer) if pictures else None
    )
    if json:
        print(answer.text(run=run), end="")
        return
    _print_log(answer, run, all_=all_)


def _print_learned(answer: LearnResult, book: Book, aircraft: str, run: str, *, all_: bool) -> None:
    console = make_console()
    believed = sum(flight.believed for flight in answer.flights)
    left_out = f", without flight {', '.join(map(str, answer.without))}" if answer.without else ""
    headline(console, answer, f"{believed} of {len(answer.flights)} flights believed{left_out}")
    print_table(console, tables.learned_table(answer))
    wrapped(
        console,
        f"chance that both knife-edges stay below 5° in 3 s: {answer.served_percent:.0f} % (with the ratios before the notes "
        f"{answer.served_before_percent:.0f} %); wrong: chance of the other sign",
    )
    for flown in answer.logs:
        wrapped(console, log_line(flown))
    for text in [*answer.surprises, *answer.contradictions][: None if all_ else 3]:
        wrapped(console, text, first="! ")
    best = answer.next_notes[: None if all_ else _NEXT]
    if best:
        wrapped(
            console,
            f"next note: {best[0].words} (leaves {best[0].left_degrees:.1f}° of {best[0].now_degrees:.1f}° of drift unknown)",
        )
    for one in best[1:]:
        wrapped(console, f"or {one.words} ({one.left_degrees:.1f}°)", first="  ", rest="    ")
    if all_ and answer.told_by_logs:
        print_table(console, tables.logs_table(answer.told_by_logs))
    if all_:
        _print_rest(console, answer)
        remarks(console, answer, all_=True)
    else:
        wrapped(console, f"cannot tell {answer.cannot_tell[0]}; more with --all")
        if answer.rigging:
            wrapped(
                console,
                f"tests of rigging were noted: sixdof diagnose {shown(aircraft)} says what is likely off",
            )
    if not answer.without:
        wrapped(
            console,
            f"kept in {shown(str(book.path))}: tune, fly and the others know it (not with --no-notes)",
        )
    ending(console, answer, run, all_=all_)


def _print_rest(console: Console, answer: LearnResult) -> None:
    """Flights, what notes cannot tell, what is kept, the helpers' scales."""
    print_table(console, tables.log_table(answer.flights, answer.ratios))
    bullets(console, "Cannot tell", answer.cannot_tell)
    if answer.rigging:
        bullets(console, "Of rigging, hardly of ratios: sixdof diagnose asks it what is off", answer.rigging)
    if answer.kept:
        bullets(console, "Kept with the notes, not used", answer.kept)
    scales = [
        f"{shown(name)}: what we call 1 °/s he calls {1.0 / middle:.1f} ({1.0 / high:.1f} to {1.0 / low:.1f})"
        for name, (low, middle, high) in answer.scale.items()
    ]
    bullets(console, "Scale of the helper (eight in ten)", scales)
    bullets(
        console, "By hand, where you step without this",
        ["'slight' is 2 to 3 % on the elevator, about 1 % on the aileron; half of it when the way turns (computed for 2 m models)"],
    )  # fmt: skip


def _print_log(answer: LogResult, run: str, *, all_: bool) -> None:
    console = make_console()
    headline(
        console, answer, f"logbook, {len(answer.flights)} flight{'s' if len(answer.flights) > 1 else ''}"
    )
    rows = answer.flights if all_ else answer.flights[-_FLIGHTS:]
    if all_:
        for row in rows:
            console.print(lead(f"flight {row.flight}", f" {shown(row.date)} ({shown(row.file)})"))
            wrapped(console, f"set: {row.set_to}", first="  ", rest="    ")
            wrapped(console, f"seen: {shown(row.seen, 2000)}", first="  ", rest="    ")
            wrapped(console, f"learned: {tables.belief(row)}", first="  ", rest="    ")
    elif len(rows) < len(answer.flights):
        console.print(f"{len(answer.flights) - len(rows)} earlier flights with --all")
    print_table(console, tables.log_table(rows, answer.ratios))
    console.print("± half of the range that eight in ten airplanes need [% of the target's throw];")
    console.print("below 5°: chance that both knife-edges stay below it with the ratios after it")
    for found in answer.ratios:
        if found.told and found.percent:
            said = amount_words(found.target, found.percent / 100.0)
            wrapped(console, f"{found.ratio.words}: {found.target} {said}", first=" - ", rest="   ")
    ending(console, answer, run, all_=all_)

"""What the page asks for, as plain data: one aircraft file, one tune at a time."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sixdof.airframe.load import files_here, find_airframe, list_airframes, make_airframe
from sixdof.desk.paper import edited, groups, key_of_box, save, typed
from sixdof.files.errors import InputError, key_text, shown
from sixdof.files.yamlio import Document, parse_yaml, read_yaml

if TYPE_CHECKING:
    from sixdof.desk.said import Ask
    from sixdof.flight.airplane import Airplane

__all__ = ["Busy", "Cancelled", "Desk"]


#: Airplanes kept ready for the sliders.
_KEPT = 12


class Busy(InputError):
    """Something else is at work."""


class Cancelled(Exception):
    """The page wants no more of it."""


class Desk:
    """The aircraft file that lies on the desk, and the work that is going on.

    Parameters
    ----------
    aircraft : str or None
        Name or path; without one, the first file of the working folder, else a demo.
    """

    def __init__(self, aircraft: str | None = None) -> None:
        here = [str(path) for path in files_here()]
        self.document = read_yaml(find_airframe(aircraft or (here[0] if here else "corvane")))
        self.ready = "starting"
        self._lock = threading.Lock()
        self._job: dict[str, Any] = {"running": False}
        self._cancel = threading.Event()
        self._ready: dict[tuple[str, ...], Airplane] = {}

    # ------------------------------------------------------------ getting ready

    def warm_up(self) -> None:
        """Load what flies, and compile it on the first run; the page is there before."""
        from sixdof.physics.compile import is_compiled

        self.ready = "loading the flight model"
        from sixdof.flight.fly import warm_up

        if not is_compiled():
            self.ready = "first run: compiling the flight model, about half a minute"
        warm_up()
        import sixdof.desk.choices
        import sixdof.study.check  # noqa: F401

        self.ready = ""
        import scipy.signal  # noqa: F401  for the first wind

    # ------------------------------------------------------------ the file

    def airplanes(self) -> list[dict[str, str]]:
        """What can be opened."""
        return [{"name": name, "about": about} for name, _, about in list_airframes()]

    def open(self, name: str) -> dict[str, Any]:
        """Lay another file on the desk, found by name only."""
        known = {row[0]: row[1] for row in list_airframes()}
        if name not in known:
            raise InputError(f"no airplane is called {shown(name)}")
        with self._lock:
            self.document = read_yaml(known[name])
        return self.paper()

    def new(self, name: str, units: str) -> dict[str, Any]:
        """A new file in the working folder."""
        from sixdof.airframe.template import write_new

        if "/" in name or "\\" in name or name.startswith("."):
            raise InputError(f"got {shown(name)}, expected a name of letters, digits, - and _")
        path = write_new(name, "inch" if units == "inch" else "metric")
        with self._lock:
            self.document = read_yaml(path)
        return self.paper()

    def paper(self) -> dict[str, Any]:
        """The file as boxes, what is wrong with it, and its three views."""
        from sixdof.show.threeview import three_view

        document, told = self.document, self._checked(self.document)
        airframe = told.pop("airframe", None)
        return {
            "file": str(document.path), "name": document.path.stem, "sha": document.sha256,
            "demo": not self._is_own(document.path), "inches": airframe is not None and airframe.radio.units == "inch",
            "groups": [
                {"title": g.title, "part": g.part, "help": g.help, "boxes": [b._asdict() for b in g.boxes]}
                for g in groups(document)
            ],
            "view": three_view(airframe) if airframe is not None else "",
        } | told  # fmt: skip

    def value(self, box: str, text: str, sha: str) -> dict[str, Any]:
        """Type a value into a box; it is saved unless it cannot stand there."""
        with self._lock:
            document = self.document
            if sha != document.sha256:
                raise Busy("the file was changed elsewhere; here it is as it is now")
            key = key_of_box(document, box)
            start, end = document.spans[key]
            written = typed(
                text, str(document.at(key)) if isinstance(document.at(key), str) else document.text[start:end]
            )
            new = edited(document, key, written)
            told = self._checked(new)
            if told["complaint"] and told["complaint"]["key"] == box:
                raise InputError(told["complaint"]["text"])
            if not self._is_own(new.path):
                new = self._copied(new)
            save(new, new.path)
            self.document = new
        return self.paper() | {"read": written}

    def _checked(self, document: Document) -> dict[str, Any]:
        """The first complaint about a file, else its remarks, each with the box it is about."""
        try:
            airframe = make_airframe(document)
        except InputError as error:
            text = (
                str(error)
                .removeprefix(f"{error.file}:{error.line}: ")
                .removeprefix(f"{key_text(error.key)}: ")
            )
            return {"complaint": {"key": key_text(error.key), "text": text}, "remarks": []}
        remarks = [text.partition(": ") for text in airframe.warnings]
        rows = [{"key": k if " " not in k else "", "text": t or k} for k, _, t in remarks]
        return {"complaint": None, "remarks": rows, "airframe": airframe}

    def _is_own(self, path: Path) -> bool:
        return path.resolve().parent == Path().resolve()

    def _copied(self, document: Document) -> Document:
        """A demo is copied to the working folder before it is written to."""
        path = Path(document.path.name)
        if path.exists():
            raise InputError(f"{path}: exists already in this folder; open that one")
        return parse_yaml(path, document.text.encode())

    # ------------------------------------------------------------ work that takes a while

    def job(self) -> dict[str, Any]:
        """How far it is, and its answer."""
        return {"ready": self.ready, **self._job}

    def cancel(self) -> dict[str, Any]:
        """Ask the work that is going on to stop."""
        self._cancel.set()
        return self.job()

    def tune(self, changes: list[str]) -> dict[str, Any]:
        """Begin to tune the airplane on the desk; one at a time."""
        airplane, name = self._airplane(changes), self.document.path.stem

        def work(progress: Callable[[float, str], None]) -> dict[str, Any]:
            from sixdof.desk.verdict import verdict
            from sixdof.field.pages import sheet_of, write_pages
            from sixdof.runs import read_run, write_run
            from sixdof.show.pictures import REPORT
            from sixdof.show.report import tune_report
            from sixdof.study.ask import tune

            def report(folder: Path) -> dict[str, float]:
                html = tune_report(answer, airplane.airframe, aircraft=name, asked=f"sixdof tune {name}")
                (folder / REPORT).write_text(html, encoding="utf-8")
                return {}

            answer = tune(airplane, progress=progress)
            run = str(write_run(answer, None, f"tune-{airplane.airframe.name}", timings={}, draw=report))
            found = read_run(run)
            write_pages(sheet_of(found), found, None)
            return verdict(answer, run, name, changes)

        return self._begin("tune", work)

    def diagnose(self, changes: list[str]) -> dict[str, Any]:
        """Begin to fly the trimming sequence."""
        airplane = self._airplane(changes)

        def work(progress: Callable[[float, str], None]) -> dict[str, Any]:
            from sixdof.desk.verdict import diagnosis
            from sixdof.learned import kept_notes
            from sixdof.study.ask import diagnose

            notes, prior = kept_notes(airplane)
            return diagnosis(diagnose(airplane, notes=notes, prior=prior, progress=progress)) | {
                "asked": changes
            }

        return self._begin("diagnose", work)

    def learn(self, name: str, text: str, *, undo: bool, keep: bool) -> dict[str, Any]:
        """Begin to take notes in, or the last ones out; without either, to work out what is kept."""
        from sixdof.flight.airplane import Airplane
        from sixdof.learned import opened, taken_in, write_book
        from sixdof.learning.notes import notes_from

        airframe = make_airframe(self.document)
        new = [notes_from(Path(Path(name).name), text.encode(), airframe)] if text.strip() else []
        book = taken_in(opened(airframe, keep=keep), new, undo=undo)
        if not book.taken and not undo:
            raise InputError("no notes yet: choose a file of the flight card, or write them here")

        def work(progress: Callable[[float, str], None]) -> dict[str, Any]:
            from sixdof.desk.verdict import lesson
            from sixdof.study.learn import learn

            answer = learn(
                Airplane(airframe),
                book.notes(airframe),
                prior=book.prior,
                logs=book.logs,
                log_prior=book.log_prior,
                progress=progress,
            )
            write_book(
                book._replace(prior=answer.prior, layer=answer.layer, log_prior=answer.log_prior), airframe
            )
            self._ready = {}
            return lesson(answer)

        return self._begin("learn", work)

    def logbook(self) -> dict[str, Any]:
        """What notes are kept, and what a flight may be noted of, to be ticked."""
        from sixdof.field.card import notes_to_take
        from sixdof.field.page import ticks
        from sixdof.learned import read_book

        airframe = make_airframe(self.document)
        book = read_book(airframe)
        known = book.notes(airframe) if book.sha256 == airframe.sha256 else []
        numbers = [flight.flight for notes in known for flight in notes.flights]
        return {
            "aircraft": airframe.name, "kept": list(book.texts), "last": [name for name, _ in book.taken[-1]] if book.taken else [],
            "next": max(numbers, default=0) + 1, "ticks": ticks(notes_to_take()),
        }  # fmt: skip

    def check(self) -> dict[str, Any]:
        """What `check` says, and the views with the neutral point."""
        from sixdof.show.threeview import three_view
        from sixdof.study.check import check

        airplane = self._airplane([])
        answer = check(airplane)
        return {
            "sha": self.document.sha256, "view": three_view(airplane.airframe, neutral_point=airplane.derivatives.neutral_point),
            "remarks": [{"key": r.about, "text": r.text} for r in answer.remarks if r.kind != "invented"],
            "balance": answer.balance, "trim": answer.trim, "sticks": answer.sticks,
        }  # fmt: skip

    def fly(
        self, ask: Ask, ratios: dict[str, float], changes: list[str], then: list[str], *, has: str
    ) -> dict[str, Any]:
        """Fly what is asked for bare and with these ratios [%], or with one more change, for the player."""
        from sixdof.desk.replay import replayed

        return replayed(self._airplane(changes), ask, ratios, then, has=has)

    def explore(
        self, ask: Ask, ratios: dict[str, float], changes: list[str], vary: str, most: float
    ) -> dict[str, Any]:
        """What drifts over a range of one ratio, the others as they are."""
        from sixdof.desk.choices import ratio_over_range

        return {"charts": ratio_over_range(self._airplane(changes), ask, vary, most, ratios)}

    def steps(self, changes: list[str], change: str) -> dict[str, Any]:
        """What each size of a change of the airframe leaves."""
        from sixdof.desk.choices import steps_of_change

        return {"chart": steps_of_change(self._airplane(changes), change)}

    def _airplane(self, changes: list[str]) -> Airplane:
        """The airplane on the desk with some changes; the last ones are kept ready."""
        from sixdof.airframe.changes import read_changes
        from sixdof.flight.airplane import Airplane
        from sixdof.learned import with_notes

        key = (self.document.sha256, *changes)
        if key not in self._ready:
            plain = self._ready.get(key[:1]) or with_notes(Airplane(make_airframe(self.document)))[0]
            self._ready = dict(list(self._ready.items())[-_KEPT:])
            self._ready[key[:1]] = plain
            self._ready[key] = plain.changed(read_changes(changes))
        return self._ready[key]

    def _begin(
        self, name: str, work: Callable[[Callable[[float, str], None]], dict[str, Any]]
    ) -> dict[str, Any]:
        with self._lock:
            if self._job["running"]:
                raise Busy("something is at work; wait for it, or cancel it")
            self._cancel.clear()
            self._job = {"running": True, "name": name, "share": 0.0, "text": "beginning"}

        def progress(share: float, text: str) -> None:
            if self._cancel.is_set():
                raise Cancelled
            self._job = self._job | {"share": share, "text": text}

        def run() -> None:
            done: dict[str, Any] = {"running": False, "name": name, "share": 1.0, "text": ""}
            try:
                done["answer"] = work(progress)
            except Cancelled:
                done["text"] = "cancelled; nothing was kept"
            except InputError as error:
                done["error"] = str(error)
            except Exception as error:
                done["error"] = f"this should not have happened: {type(error).__name__}: {error}"
            self._job = done

        threading.Thread(target=run, daemon=True).start()
        return self.job()

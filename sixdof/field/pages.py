"""From a run to its pages: the set-up sheet of a tune, written as one file."""

from __future__ import annotations

from pathlib import Path

from sixdof.field.page import page
from sixdof.field.rows import SetUpSheet
from sixdof.field.sheet import set_up_sheet
from sixdof.files.errors import InputError
from sixdof.runs import Run, plain_name, whole_file
from sixdof.study.results import TuneResult

__all__ = ["check_pages", "sheet_of", "write_pages"]


def check_pages(out: str | None) -> None:
    """Refuse a file that cannot become the pages.

    Raises
    ------
    InputError
    """
    if out is None:
        return
    path = Path(out)
    if path.suffix != ".html" or not path.stem:
        raise InputError(f"--out: got {out}, expected a file that ends in .html")
    try:
        if path.exists() or path.is_symlink():
            raise InputError(f"{path}: exists already; choose another --out, or remove it")
    except OSError as error:
        raise InputError(f"{path}: cannot be written ({error.strerror}); choose another --out") from None


def sheet_of(run: Run) -> SetUpSheet:
    """The set-up sheet of a run.

    Raises
    ------
    InputError
        Not a tune.
    """
    answer = run.answer
    if not isinstance(answer, TuneResult):
        raise InputError(
            f"{run.path}: has no ratios to set (a run of `{answer.command}`); give one of `tune`"
        )
    airframe = run.airframe()
    if answer.aircraft.rate not in airframe.rates:
        raise InputError(
            f"{run.path}: a damaged run (rate {answer.aircraft.rate!r} is not in its file); fly it again"
        )
    return set_up_sheet(answer, airframe, run.path.name)


def write_pages(sheet: SetUpSheet, run: Run, out: str | None) -> str:
    """Write the pages, whole or not at all; returns where.

    Raises
    ------
    InputError
        They cannot be written.
    """
    path = run.path / "sheet.html" if out is None else Path(out)
    text = page(sheet, f"notes-{plain_name(sheet.aircraft.name)}.yaml")
    with whole_file(path, advice="choose another --out", over=out is None) as unfinished:
        unfinished.write_text(text, encoding="utf-8")
    return str(path)

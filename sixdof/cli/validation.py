"""What `validate` prints: every source with its numbers, then one line a source, then what is missed."""

from __future__ import annotations

import math
import sys
from pathlib import Path

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from sixdof.cli.setup import make_console
from sixdof.cli.text import wrapped
from sixdof.validation.check import Check

Sources = dict[str, list[Check]]


def say_first_run() -> None:
    """A remark if the kernels that the checks call are still to be compiled."""
    from sixdof.physics.compile import CACHE_FOLDER

    if CACHE_FOLDER is None or not any(Path(CACHE_FOLDER).rglob("linear.small_motions*.nbc")):
        print("first run: compiling, about half a minute; later runs start at once", file=sys.stderr)


def print_validation(sources: Sources, *, short: bool) -> None:
    """All items with the reasons of their tolerances (not with ``short``), one line a source, the misses with their reasons, the sum."""
    console = make_console()
    if not short:
        console.print("A letter says why more is allowed than the printed digits.\n")
        for source, rows in sources.items():
            console.print(source, style="bold")
            _print_rows(console, rows)
            console.print()
    _print_sources(console, sources)
    checks = [check for rows in sources.values() for check in rows]
    known = [check for check in checks if check.known_miss]
    if known:
        console.print("\nKnown misses, and why", style="bold")
        console.print(_rows([], header=True))
        for source, reason in dict.fromkeys((check.source, check.known) for check in known):
            mine = [check for check in known if (check.source, check.known) == (source, reason)]
            wrapped(console, f"{source}: {reason}", first=" - ", rest="   ")
            console.print(_rows(mine, header=False))
    missed = [check for check in checks if check.missed]
    for source in dict.fromkeys(check.source for check in missed):
        console.print(f"\nMISSED: {source}", style="bold red")
        _print_rows(console, [check for check in missed if check.source == source])
    agree = sum(check.passed for check in checks)
    text = f"{len(checks)} items from {len(sources)} sources: {agree} agree, {len(known)} known misses, "
    text += f"{len(missed)} MISSED" if missed else "none unexplained"
    console.print(f"\n{text}", style="bold")


def _print_rows(console: Console, checks: list[Check]) -> None:
    """Their table, and below it why tolerances are wider than the printed digits."""
    console.print(_rows(checks))
    for reason, letter in _reasons(checks).items():
        wrapped(console, reason, first=f" {letter} ", rest="   ")


def _reasons(checks: list[Check]) -> dict[str, str]:
    """Each reason of a tolerance, with the letter it is marked by."""
    found = dict.fromkeys(check.why for check in checks if check.why)
    return dict(zip(found, "abcdefghijklmnopqrstuvwxyz", strict=False))


def _table(columns: tuple[tuple[str, int], ...], header: bool = True) -> Table:
    """Columns of fixed widths, so that the tables below each other are one; the first may take several lines."""
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=0, show_edge=False, show_header=header)
    for i, (name, width) in enumerate(columns):
        justify = "right" if name and i else "left"
        table.add_column(name, justify=justify, width=width, no_wrap=i > 0)  # type: ignore[arg-type]
    return table


#: Columns of the table of items; together with the spaces between them they fill a line of 80.
_COLUMNS = (("item", 34), ("published", 10), ("ours", 10), ("off", 7), ("allowed", 7), ("", 7))


def _rows(checks: list[Check], *, header: bool = True) -> Table:
    table, letters = _table(_COLUMNS, header), _reasons(checks) if header else {}
    for check in checks:
        item = f"{check.item} [{check.unit}]" if check.unit else check.item
        said = "ok" if check.passed else "known" if check.known else "MISSED"
        table.add_row(
            Text(item), _published(check), _number(check.ours), _small(check.difference), _small(check.tolerance),
            f"{said} {letters.get(check.why, '')}",
            style="bold red" if check.missed else None,
        )  # fmt: skip
    return table


def _published(check: Check) -> str:
    """The number; of several the least and the greatest, one below the other."""
    if not isinstance(check.published, tuple):
        return _number(check.published)
    return "\n".join(_number(end) for end in check.published)


def _number(value: float) -> str:
    """At most ten characters."""
    text = f"{value:.6g}"
    return text if len(text) <= 10 else f"{value:.4g}"


def _small(value: float) -> str:
    """At most seven characters."""
    if value == 0.0 or not math.isfinite(value) or 1e-3 <= abs(value) < 1e4:
        return f"{value:.2g}" if not abs(value) >= 100.0 else f"{value:.0f}"
    mantissa, _, power = f"{value:.0e}".partition("e")
    return f"{mantissa}e{int(power)}"


def _print_sources(console: Console, sources: Sources) -> None:
    """One line a source: how many items, and the largest difference over its tolerance."""
    table = _table((("source", 57), ("items", 5), ("worst", 6), ("", 8)))
    for source, rows in sources.items():
        known = sum(check.known_miss for check in rows)
        missed = sum(check.missed for check in rows)
        said = f"{missed} MISSED" if missed else f"{known} known" if known else "ok"
        held = [
            abs(check.difference) / check.tolerance
            for check in rows
            if not check.known_miss and check.tolerance
        ]
        table.add_row(
            Text(source), str(len(rows)), f"{100.0 * max(held):.0f} %" if held else "", said,
            style="bold red" if missed else None,
        )  # fmt: skip
    console.print(table)
    console.print(
        Text(" worst: the largest difference over what is allowed, known misses left out"), soft_wrap=True
    )

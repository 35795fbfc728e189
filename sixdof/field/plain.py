"""Sheet and card as lines of plain text: a first word each is what stands out, the rest hangs below it."""

from __future__ import annotations

from typing import NamedTuple

from sixdof.field.card import FlightCard, Note
from sixdof.field.rows import BlendToSet, SetUpSheet, SideToSet
from sixdof.files.errors import shown

__all__ = ["Block", "card_blocks", "core_lines", "headline_of", "sheet_blocks"]


class Block(NamedTuple):
    """A title and the lines below it."""

    title: str
    lines: list[str]


def headline_of(sheet: SetUpSheet) -> str:
    """Which airplane, which rate."""
    invented = "; invented: do not dial this in" if sheet.aircraft.invented else ""
    changed = f"; changed: {', '.join(sheet.changes)}" if sheet.changes else ""
    return f"{shown(sheet.aircraft.name)}{invented}; rate {shown(sheet.aircraft.rate)}{changed}"


def core_lines(sheet: SetUpSheet) -> list[str]:
    """A line a ratio: words, degrees, travel of the trailing edge (of one aileron), when it is off."""
    return [_core(side, blend) for blend in sheet.blends for side in blend.sides]


def _core(side: SideToSet, blend: BlendToSet) -> str:
    if not side.found:
        source, _, rest = side.words.partition(": no ")
        return f"{source}: no {rest.split()[0]} ratio; fly it bare and write down"
    if not side.percent or not side.half:
        return side.words
    at = ", ".join(side.at_full.replace("trailing edge ", "").split(", ")[:2])
    return f"{side.words} = {at}; {blend.off_short}"


def sheet_blocks(sheet: SetUpSheet) -> list[Block]:
    """The set-up sheet."""
    throws = [
        f"{t.channel} {t.words}, {t.measured}"
        + (f"; expo {t.expo}" if t.expo else "")
        + (f"; differential: {t.differential}" if t.differential else "")
        + f"; servo {t.servo}"
        for t in sheet.throws
    ]
    return [
        Block("First", [sheet.first]),
        *(Block(blend.title, _blend_lines(blend)) for blend in sheet.blends),
        Block("Where and what", [line for line in (sheet.speed, *sheet.percent, sheet.sticks) if line]),
        *([Block("In the radio now", sheet.others)] if sheet.others else []),
        Block("Throws at full stick", [*throws, *sheet.linkage]),
        Block("Before you act on this", sheet.cautions),
    ]


def _blend_lines(blend: BlendToSet) -> list[str]:
    lines = [line for side in blend.sides for line in _side_lines(side)]
    if blend.shape:
        lines += [
            f"shape: {blend.shape}; gate: {blend.gate}; ramp: {blend.ramp}",
            f"{blend.off}; {blend.beware}".removesuffix("; "),
        ]
    return lines


def _side_lines(side: SideToSet) -> list[str]:
    head = f"{side.words}" + (f" = {side.at_full}" if side.at_full else "")
    more = [side.at_used, side.half, side.now]
    lines = [f"{head}; {'; '.join(m for m in more if m)}".removesuffix("; ")]
    lines += [f"  bench, propeller off: {side.bench}"] if side.bench else []
    lines += [f"  bare: {side.bare}"] if side.bare else []
    lines += [f"  {'; '.join(s for s in (side.sure, side.mind) if s)}"] if side.sure or side.mind else []
    return lines


def card_blocks(card: FlightCard) -> list[Block]:
    """The flight card."""
    blocks = [Block("Flight 1, the airplane bare", [card.stop, card.scale])]
    for k, one in enumerate(card.passes):
        lines = [one.how, *(f"predicted: {text}" for text in one.expect)]
        notes = [_blank(note) for note in one.notes]
        blocks.append(Block(f"{'abcd'[k]}) {one.title}", [*lines, *notes]))
    for change in card.changes:
        blocks.append(
            Block(
                f"Flight {change.number}, one change: {change.title}",
                [
                    *([change.before] if change.before else []), f"set {change.set_to}", f"fly {change.fly}; {change.heights}; {change.limits}",
                    change.switch, change.watch,
                ],
            )
        )  # fmt: skip
    return [*blocks, Block("After each", [card.after])]


def _blank(note: Note) -> str:
    """A place to write in: ``right: elevator ____ % up / down``."""
    unit = {"stick": " %", "percent": " %", "seconds": " s", "passes": " of ___ passes"}.get(note.kind, "")
    ways = f" {' / '.join(note.ways)}" if note.ways else ""
    return f"[ ] {note.label} ______{unit}{ways}"

"""Sheet and card as one HTML file of two printed pages, which needs nothing but itself.

Every text passes :func:`html.escape`; style and script are let through by their hashes and nothing else is.
"""

from __future__ import annotations

import base64
import hashlib
import html
import json
from collections.abc import Iterable, Mapping
from pathlib import Path

from sixdof.field.card import Change, FlightCard, Note, Pass
from sixdof.field.rows import BlendToSet, SetUpSheet, SideToSet, Throw
from sixdof.files.errors import printable, shown
from sixdof.flight.blends import PHASES
from sixdof.tuning.sequence import SIZES

__all__ = ["page", "ticks", "what_to_set"]

_HERE = Path(__file__).parent
_BOX = '<span class="box"></span> '
_WORDS = (*SIZES, "violent")


def page(sheet: SetUpSheet, notes_name: str) -> str:
    """The whole page; ``notes_name`` is what the file of notes is called."""
    style, script = (_HERE.joinpath(name).read_text(encoding="utf-8") for name in ("page.css", "card.js"))
    rules = f"default-src 'none'; style-src {_hash(style)}; script-src {_hash(script)}; base-uri 'none'; form-action 'none'"
    name = shown(sheet.aircraft.name)
    return (
        f'<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_text(rules)}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{_text(name)}: set-up sheet and flight card</title>\n<style>{style}</style>\n</head>\n<body>\n"
        f"{_sheet(sheet)}\n{_card(sheet, notes_name)}\n<script>{script}</script>\n</body>\n</html>\n"
    )


def _text(text: str) -> str:
    """A text on the page: no mark-up, and nothing that turns the reading direction."""
    return html.escape(printable(text))


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _lines(tag: str, texts: Iterable[str], kind: str = "") -> str:
    """An element for each text that is not empty."""
    start = f'<{tag} class="{kind}">' if kind else f"<{tag}>"
    return "".join(f"{start}{_text(text)}</{tag}>\n" for text in texts if text)


# ---------------------------------------------------------------- the sheet


def _top(title: str, sheet: SetUpSheet) -> str:
    aircraft = sheet.aircraft
    invented = '<span class="warn">invented airplane: do not dial this in</span>' if aircraft.invented else ""
    which = f"rate {shown(aircraft.rate)}, run {shown(sheet.run)}, file {aircraft.sha256[:8]}"
    return f'<header class="top"><h1>{title}: {_text(shown(aircraft.name))}</h1>{invented}<small>{_text(which)}</small></header>\n'


def _sheet(sheet: SetUpSheet) -> str:
    changed = f"changed and re-trimmed: {', '.join(sheet.changes)}" if sheet.changes else ""
    return (
        f'<section class="page" id="sheet">\n{_top("Set-up sheet", sheet)}'
        f'<p class="first"><b>First:</b> {_text(sheet.first)}</p>\n{_lines("p", [changed])}{what_to_set(sheet, "h2")}'
        f'<ul class="cautions small">{_lines("li", sheet.cautions)}</ul>\n</section>'
    )  # fmt: skip


def what_to_set(sheet: SetUpSheet, heading: str) -> str:
    """Blends, what a percent is, throws and linkages of a sheet, under headings of a tag."""
    also = "; ".join(text for text in (sheet.sticks, *sheet.others) if text)
    throws = "".join(
        f"<p><b>{_text(t.channel)}</b> {_text(t.words)}<br>{_text('; '.join(_throw(t)))}</p>"
        for t in sheet.throws
    )
    return (
        f'<div class="blends">\n{"".join(_blend(blend, heading) for blend in sheet.blends)}</div>\n'
        f'<div class="small">{_lines("p", [sheet.speed, ". Example: ".join(sheet.percent), also])}</div>\n'
        f'<div class="throws small">{throws}</div>\n<div class="small">{_lines("p", sheet.linkage)}</div>\n'
    )


def _throw(throw: Throw) -> list[str]:
    parts = (("expo", throw.expo), ("differential:", throw.differential), ("servo", throw.servo))
    return [throw.measured, *(f"{name} {text}" for name, text in parts if text)]


def _blend(blend: BlendToSet, heading: str) -> str:
    phases = ", ".join(f"{phase} <b>{'OFF' if phase in blend.off_in else 'on'}</b>" for phase in PHASES)
    set_ = (
        f'<p class="small">{_text(blend.shape)}; gate {_text(blend.gate)}; ramp {_text(blend.ramp)}</p>\n'
        f'<p class="phases">switch: {phases}</p>\n{_lines("p", [blend.beware], "small")}'
        if blend.shape else ""
    )  # fmt: skip
    return f'<section class="blend"><{heading}>{_text(blend.title)}</{heading}>\n{"".join(map(_side, blend.sides))}{set_}</section>\n'


def _side(side: SideToSet) -> str:
    at = "; ".join(text for text in (side.at_full, side.at_used) if text)
    radio = "; ".join(text for text in (side.half, side.now) if text)
    bench = f"<p>{_BOX}bench, propeller off: {_text(side.bench)}</p>" if side.bench else ""
    bare = f"bare flight: {side.bare}" if side.bare else ""
    return (
        f'<div class="side"><p class="big">{_text(side.words)}</p>{_lines("p", [at])}'
        f'<div class="small">{_lines("p", [radio])}{bench}{_lines("p", [bare, side.sure, side.mind])}</div></div>\n'
    )


# ---------------------------------------------------------------- the card


def _card(sheet: SetUpSheet, notes_name: str) -> str:
    card, aircraft = sheet.card, sheet.aircraft
    data = {"aircraft": aircraft.name, "sha256": aircraft.sha256, "rate": aircraft.rate, "file": notes_name}
    attributes = " ".join(f'data-{key}="{html.escape(value)}"' for key, value in data.items())
    passes = "".join(_pass("abcdefgh"[k], one) for k, one in enumerate(card.passes))
    when = "".join(
        f'<label>{name} <input type="text" name="{name}" placeholder="{hint}"></label>'
        for name, hint in (
            ("date", ""),
            ("helper", ""),
            ("wind", "5 mph" if sheet.units == "inch" else "2 m/s"),
        )
    )
    return (
        f'<form class="page" id="card" {attributes}>\n{_top("Flight card", sheet)}<p>{when}</p>\n'
        f'<section data-flight="1" data-switch="off" data-blends="none"><h2>Flight 1: the airplane bare</h2>\n'
        f'<p class="stop">{_text(card.stop)}</p>\n<p class="small">{_text(card.scale)}</p>\n{passes}</section>\n'
        f"{_changes(card)}"
        '<p class="screen"><button type="submit">Save what was ticked as a file of notes</button></p>\n</form>'
    )


def _pass(letter: str, one: Pass) -> str:
    expect = f"predicted: {'; '.join(one.expect)}" if one.expect else ""
    words = [note for note in one.notes if note.kind == "word"]
    sides = {
        side: [n for n in one.notes if n.rudder == side and n not in words] for side in ("right", "left", "")
    }
    columns = "".join(f"<div>{''.join(map(_note, notes))}</div>" for notes in sides.values() if notes)
    return (
        f'<div class="flight"><p>{_BOX}<span class="letter">{letter}) {_text(one.title)}:</span> {_text(one.how)}</p>\n'
        f'{_lines("p", [expect], "small")}{"".join(map(_note, words))}<div class="pair">{columns}</div></div>\n'
    )


def _changes(card: FlightCard) -> str:
    if not card.changes:
        return '<p class="stop">No blend is set yet: after flight 1, learn from the notes first.</p>\n'
    flights = "".join(map(_change, card.changes))
    return f'<h2>Then one change a flight</h2>\n<div class="changes">{flights}</div>\n{_lines("p", [card.after], "small")}'


def _change(change: Change) -> str:
    blends = html.escape(json.dumps({name: text.lower() for name, text in change.in_force.items()}))
    lines = [
        change.before,
        f"fly {change.fly}; {change.heights}; {change.limits}",
        change.switch,
        change.watch,
    ]
    return (
        f'<div class="flight small" data-flight="{change.number}" data-switch="on" data-blends="{blends}">'
        f"<p>{_BOX}<b>Flight {change.number}, {_text(change.title)}:</b> set {_text(change.set_to)}</p>\n"
        f"{_lines('p', lines)}{''.join(map(_note, change.notes))}</div>\n"
    )


def _note(note: Note) -> str:
    """A fieldset: number, sizes and ways as its kind has them."""
    group = f"{note.maneuver}-{note.rudder}-{note.key}".replace(" ", "-")
    parts = []
    if note.kind in ("stick", "percent", "seconds", "passes"):
        parts.append(_number("", note.label))
        parts.append({"seconds": " s ", "passes": " of "}.get(note.kind, " % "))
    if note.kind == "passes":
        parts.append(f"{_number('2', f'{note.label}, of how many')} passes")
    if note.kind == "word":
        parts += [_radio(f"{group}-size", "size", word) for word in _WORDS]
    parts += [_radio(f"{group}-way", "way", way) for way in note.ways]
    data = " ".join(
        f'data-{key}="{_text(getattr(note, key))}"' for key in ("maneuver", "rudder", "key", "kind")
    )
    return f"<fieldset {data}><legend>{_text(note.label)}</legend>{''.join(parts)}</fieldset>\n"


def ticks(groups: Mapping[str, Iterable[Note]]) -> str:
    """Notes to tick, under a heading each."""
    return "".join(
        f'<section><h3>{_text(title)}</h3>\n<div class="ticks">{"".join(map(_note, notes))}</div></section>\n'
        for title, notes in groups.items()
    )


def _number(which: str, label: str) -> str:
    return f'<input type="number" min="0" step="any" data-part="number{which}" aria-label="{_text(label)}">'


def _radio(group: str, part: str, value: str) -> str:
    return f'<label><input type="radio" name="{_text(group)}" data-part="{part}" value="{_text(value)}">{_text(value)}</label>'

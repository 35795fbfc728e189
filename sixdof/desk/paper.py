"""An aircraft file as boxes to fill in: the file stays the truth, and all but the value that is typed stays as it is."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

from sixdof.files.errors import InputError, KeyPath, key_text, line_of, shown
from sixdof.files.yamlio import Document, parse_yaml

__all__ = ["Box", "Group", "edited", "groups", "key_of_box", "typed"]

#: Top keys of a file -> title of their group, in the order in which one measures.
_TITLES: dict[str, str] = {
    **dict.fromkeys(("name", "about", "invented"), "The airplane"),
    "wing": "Wing", "tailplane": "Tailplane", "fin": "Fin", "ventral": "Ventral fin", "body": "Body",
    "controls": "Movable surfaces", "mass": "Weight and balance",
    **dict.fromkeys(("propeller", "motor"), "Power"),
    "rates": "Throws", "servos": "Servos",
    **dict.fromkeys(("speeds", "limits"), "Speeds and limits"),
    "radio": "What is in the radio now", "derivatives": "Derivatives that are stated",
}  # fmt: skip
#: Ends of a key -> what is to be measured.
_LABELS: dict[str, str] = {
    "root.aft": "leading edge at the center line, aft of the datum",
    "root.up": "leading edge at the center line, above it",
    "root_chord": "chord at the inner end", "tip_chord": "chord at the tip",
    "span": "length of the panel, one side", "sweep": "leading edge of the tip behind the inner one",
    "dihedral": "dihedral", "washout": "washout", "incidence": "incidence to the center line",
    "section.thickness": "thickness of the section", "section.camber": "camber of the section",
    "section.zero_lift": "angle of no lift of the section",
    "total": "weight, ready to fly", "cg.aft": "CG, aft of the datum", "cg.up": "CG, above the center line",
    "cg.right": "CG, to the right", "top": "top above the center line", "bottom": "bottom above the center line",
    "width": "full width", "aft": "aft of the datum", "chord": "mean chord behind the hinge",
    "inboard": "begins, from the center line", "outboard": "ends, from the center line",
    "diameter": "diameter", "pitch": "pitch", "position.aft": "disc, aft of the datum",
    "position.up": "disc, above the center line", "down_thrust": "down-thrust", "right_thrust": "right-thrust",
    "static_speed": "full throttle, standing: speed", "static_thrust": "full throttle, standing: thrust",
    "static_power": "full throttle, standing: power at the shaft",
    "cruise": "cruise, where it is trimmed", "never_exceed": "never faster than",
    "g_positive": "load factor, positive", "g_negative": "load factor, negative", "stick_mode": "stick mode",
    "about": "in a line", "invented": "its numbers are invented",
}  # fmt: skip
_OF_SURFACES = ("aileron", "elevator", "rudder", "flap")
_UNIT = re.compile(r"[-+]?[0-9.,]+ *(.*)", re.DOTALL)
_COMMA = re.compile(r"([-+]?[0-9]+),([0-9]+)(?![0-9.,])")
_PLAIN = re.compile(r"[-+A-Za-z0-9_.%/²°\"' ]+")


class Box(NamedTuple):
    """One value: its key as people write it, what it is, and its text as it stands in the file."""

    key: str
    label: str
    text: str


class Group(NamedTuple):
    """What is measured together: a title, how to measure (the comment above it in the file), its boxes."""

    title: str
    part: str
    help: str
    boxes: list[Box]


def groups(document: Document) -> list[Group]:
    """All plain values of a file in groups, in the order in which one measures."""
    found: dict[str, Group] = {}
    for key in document.spans:
        if key == ("sixdof",) or str(key[0]) not in _TITLES:
            continue
        title = _TITLES[str(key[0])]
        group = found.setdefault(title, Group(title, str(key[0]), _comment(document, key[:1]), []))
        group.boxes.append(Box(key_text(key), _label(key), _plain(document, key)))
    order = list(dict.fromkeys(_TITLES.values()))
    return sorted(found.values(), key=lambda group: order.index(group.title))


def key_of_box(document: Document, box: str) -> KeyPath:
    """Key of a box by its text.

    Raises
    ------
    InputError
    """
    for key in document.spans:
        if key_text(key) == box:
            return key
    raise InputError(f"{shown(box)} is no value of this file")


def typed(text: str, before: str) -> str:
    """A value as it is written into the file: a decimal comma as a point, the unit of before where none was typed.

    Raises
    ------
    InputError
        A comma that may stand for thousands, or nothing at all.

    Examples
    --------
    >>> typed("0,31", "300 mm"), typed("12.5 in", "300 mm"), typed("20", "18 deg")
    ('0.31 mm', '12.5 in', '20 deg')
    """
    text = " ".join(text.split())
    if not text:
        raise InputError("got nothing, expected a value")
    if match := _COMMA.match(text):
        if len(match[2]) == 3:
            raise InputError(
                f"got {shown(text)}: is that {match[1]}.{match[2]} or {match[1]}{match[2]}? write a point"
            )
        text = f"{match[1]}.{match[2]}{text[match.end() :]}"
    unit, old = _UNIT.fullmatch(text), _UNIT.fullmatch(before)
    if unit and old and not unit[1] and old[1]:
        text = f"{text} {old[1]}"
    return text


def edited(document: Document, key: KeyPath, text: str) -> Document:
    """The document with another text at a plain value; all other bytes stay.

    Raises
    ------
    InputError
        The text cannot stand there.
    """
    start, end = document.spans[key]
    old = document.text[start:end]
    if not _PLAIN.fullmatch(text) or old[:1] in "\"'" or text[:1] in "\"'-% ":
        written = '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
        if re.fullmatch(r"-?[0-9][-+A-Za-z0-9_.%/²° ]*", text) and old[:1] not in "\"'":
            written = text
    else:
        written = text
    new = parse_yaml(document.path, (document.text[:start] + written + document.text[end:]).encode())
    if set(new.spans) != set(document.spans):
        raise InputError(f"got {shown(text)}, expected one plain value")
    return new


def _plain(document: Document, key: KeyPath) -> str:
    start, end = document.spans[key]
    value = document.at(key)
    return value if isinstance(value, str) else document.text[start:end]


def _label(key: KeyPath) -> str:
    names = [str(part) for part in key if isinstance(part, str)]
    last = next(
        (_LABELS[end] for n in (2, 1) if (end := ".".join(names[-n:])) in _LABELS),
        names[-1].replace("_", " "),
    )
    number = next((part for part in reversed(key) if isinstance(part, int)), None)
    which = ""
    if names[0] == "body":
        which = f"section {int(number or 0) + 1}: "
    elif number is not None and "panels" in names:
        which = f"panel {int(number) + 1}: " if number else ""
    elif names[0] in ("controls", "servos") and len(names) > 2:
        which = f"{names[1]}: "
    elif names[0] == "rates" and len(names) > 3:
        which = f"{names[1]}, {names[2]} "
    elif names[0] in ("speeds", "mass") and len(names) > 2 and names[1] not in ("cg",):
        which = f"{names[1].replace('_', ' ')}: "
    return f"{which}{last}"


def _comment(document: Document, key: KeyPath) -> str:
    """The comment right above a key, as paragraphs."""
    lines = document.text.splitlines()
    first = last = line_of(key, document.lines) - 1
    while first and lines[first - 1].startswith("#") and not lines[first - 1].startswith("#>"):
        first -= 1
    text = "\n".join(line.lstrip("#").strip() for line in lines[first:last])
    return re.sub(r"(?<!\n)\n(?![\n])(?=\S)", " ", text)  # lines that were wrapped


def save(document: Document, path: Path) -> None:
    """Write the text of a document, whole or not at all."""
    from sixdof.runs import whole_file

    with whole_file(path, advice="it was left as it was", over=True) as unfinished:
        unfinished.write_text(document.text, encoding="utf-8", newline="")

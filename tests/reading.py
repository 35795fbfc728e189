"""Reads what the commands print, as a person would, and says what is wrong with it.

Nothing of the package is asked: texts are taken apart here, percents become degrees by the throws of a plain
YAML file (``lopsided.throws``), words become signs by the tables below.  Every function returns complaints, a
sentence each; an empty list is a good text.  Layouts may change: what is read is "elevator 3 % UP (0.4°)" and
"20.8° rolls right", wherever they stand.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

#: Sign of a word, in the sense of the object's numbers: + up elevator, right, flap down.
SIGN = {"UP": 1.0, "DOWN": -1.0, "RIGHT": 1.0, "LEFT": -1.0}
#: What a drift with its sign is called.
DRIFT_SIGN = {
    "to canopy": 1.0, "to belly": -1.0, "to right wing": 1.0, "to left wing": -1.0,
    "rolls right": 1.0, "rolls left": -1.0, "nose left": 1.0, "nose right": -1.0,
}  # fmt: skip
SIDE_OF = {"closed": "low", "full": "high"}

_NUMBER = r"\d+(?:\.\d+)?"
_DRIFT_WORDS = "|".join(DRIFT_SIGN)
_WAY = r"up|down|left|right"
_AMOUNT = re.compile(
    # 13 DOWN..4 UP, 2..9 DOWN
    rf"(?P<low>{_NUMBER})(?: (?P<low_way>{_WAY}))?\.\.(?P<high>{_NUMBER}) (?P<high_way>{_WAY})\b|"
    # 3 % UP, 3 % UP (0.4°), 16 to 20 % UP
    rf"(?:(?P<first>{_NUMBER}) to )?(?P<percent>{_NUMBER}) % (?P<way>{_WAY})\b"
    rf"(?:[ (,=]*(?P<degrees>{_NUMBER})°(?!/s)(?!\s*(?:{_NUMBER})?\s*(?:{_DRIFT_WORDS})))?",
    re.IGNORECASE,
)
_SURFACE = re.compile(r"\b(aileron|elevator|rudder|flap)\b", re.IGNORECASE)
_SOURCE = re.compile(
    r"\b(?:full )?(?P<side>right|left|closed|full)[ -](?P<source>rudder|aileron|throttle|flap)\b"
    r"(?=[^%]*?\b(?:aileron|elevator|rudder|flap)\b)|(?P<at>throttle at 0 %|flap at 100 %)",
    re.IGNORECASE,
)
_DRIFT = re.compile(
    rf"(?P<degrees>{_NUMBER})°\)?(?:\s+\(?(?P<rate>{_NUMBER})(?:\s*°/s\)?)?)?,?\s+(?P<words>{_DRIFT_WORDS})"
)
_UNITS = (
    r"\s?(?:%|°|mm\b|cm\b|m\b|m/s|m2|kg|g\b|s\b|ms\b|N\b|N/m2|W\b|kW|V\b|in\b|ft\b|rpm|deg|x\d|"
    r"(?:of|in|airplanes|flights|airs|times|points?|settings|passes|sources|items|frames|lines|changes|more)\b)"
)
_BARE_NUMBER = re.compile(
    rf"(?<![\w.,/=+-])[-+\u2212]?{_NUMBER}(?![\w.]*\d)(?!{_UNITS})(?!(?: to |-){_NUMBER}{_UNITS})"
)
#: What stands before a number that needs no unit.
_UNITLESS = (
    "ratio",
    "Flight",
    "lost",
    "bare",
    "blended",
    "1 per",
    "each",
    "step of",
    "differ by",
    "schema",
    "±",
)


class Said(NamedTuple):
    """An amount in a text: signed percent, surface and source ("" if not said), degrees (None), the sentence."""

    percent: float
    digits: int
    way: str
    surface: str
    side: str
    source: str
    degrees: str | None
    sentence: str


def is_row(line: str) -> bool:
    """Of a table: a gap of two blanks or more."""
    return re.search(r"\S {2,}(?=\S)", line) is not None


def sentences(text: str, width: int = 80) -> list[str]:
    """Lines of a text with those put together that were wrapped; rows of tables stay as they are.

    A line goes on from the one before where it hangs two blanks or more, and where its first word did not fit there.
    """
    out: list[str] = []
    before = ""
    for line in text.splitlines():
        first = line.split(" ", 1)[0]
        hangs = line.startswith("  ")
        full = bool(first) and len(before) + 1 + len(first) >= width
        if line.strip() and before.strip() and not is_row(line) and not is_row(before) and (hangs or full):
            out[-1] = f"{out[-1]} {line.strip()}"
        elif line.strip():
            out.append(line.strip())
        before = line
    return out


def amounts(text: str) -> list[Said]:
    """All amounts in words: "16 to 20 % UP" is two of them."""
    out = []
    for sentence in sentences(text):
        for match in _AMOUNT.finditer(sentence):
            head = sentence[: match.start()]
            surfaces = _SURFACE.findall(head)
            sources = [m for m in _SOURCE.finditer(sentence) if m.end() <= match.start()]
            side = source = ""
            if sources and sources[-1]["at"]:
                source, _, _ = sources[-1]["at"].partition(" ")
                side = {"throttle": "low", "flap": "high"}[source]
            elif sources:
                source, side = sources[-1]["source"].lower(), sources[-1]["side"].lower()
                side = SIDE_OF.get(side, side)
            surface = surfaces[-1].lower() if surfaces else ""
            parts = [
                (match["low"], match["low_way"] or match["high_way"], None),
                (match["high"], match["high_way"], None),
                (match["first"], match["way"], None),
                (match["percent"], match["way"], match["degrees"]),
            ]
            for size, way, degrees in parts:
                if size:
                    sign = -SIGN[way.upper()] if surface == "flap" else SIGN[way.upper()]
                    digits = len(size.partition(".")[2])
                    out.append(
                        Said(
                            sign * float(size), digits, way.upper(), surface, side, source, degrees, sentence
                        )
                    )
    return out


def half(digits: int) -> float:
    """Half of the last digit printed, and a little for a tie."""
    return 0.5000001 * 10.0**-digits


# ---------------------------------------------------------------- complaints


def too_wide(text: str, most: int = 80) -> list[str]:
    """Lines that a terminal of 80 columns would break."""
    return [f"{len(line)} columns: {line}" for line in text.splitlines() if len(line) > most]


def wrong_letters(text: str) -> list[str]:
    """What no person should see: escapes, nan, None."""
    bad = re.compile(r"[\x00-\x09\x0b-\x1f\x7f]|\b(?:nan|None|inf|NaN)\b")
    return [f"{match[0]!r} in: {line}" for line in text.splitlines() if (match := bad.search(line))]


def minus_zero(text: str) -> list[str]:
    """Zeros with a sign."""
    bad = re.compile(r"(?<![\w.])[-\u2212]0(?:\.0+)?(?![\d.])")
    return [f"{match[0]!r} in: {line}" for line in text.splitlines() if (match := bad.search(line))]


def wrong_degrees(text: str, throws: Mapping[tuple[str, str], float]) -> list[str]:
    """Degrees beside a percent that are not that percent of the full throw of that side."""
    out = []
    for said in amounts(text):
        if said.degrees is None or not said.surface:
            continue
        throw = throws[said.surface, said.way]
        expected = 0.01 * abs(said.percent) * throw
        slack = half(len(said.degrees.partition(".")[2])) + 0.01 * throw * half(said.digits)
        if abs(float(said.degrees) - expected) > slack:
            out.append(f"{said.degrees}°, expected {expected:.3f}°: {said.sentence}")
    return out


def numbers_of(blend: Mapping[str, Any]) -> list[float]:
    """All percents that an object holds of a ratio."""
    doubt = blend.get("doubt") or {}
    keys = ("percent", "exact_percent", "held_percent", "steady_percent")
    ends = ("low_percent", "high_percent", "used_low_percent", "used_high_percent")
    found = [blend.get(key) for key in keys] + [doubt.get(key) for key in ends]
    return [value for value in found if value is not None]


def wrong_amounts(text: str, blends: Iterable[Mapping[str, Any]]) -> list[str]:
    """Amounts of a ratio whose size or word is none of the object's numbers for that ratio."""
    by_name = {(b["side"], b["source"], b["target"]): b for b in blends}
    out = []
    for said in amounts(text):
        blend = by_name.get((said.side, said.source, said.surface))
        if blend is not None and not any(
            abs(n - said.percent) <= half(said.digits) for n in numbers_of(blend)
        ):
            out.append(f"{said.percent:+g} %, the object has {numbers_of(blend)}: {said.sentence}")
    return out


def unsaid(text: str, blends: Iterable[Mapping[str, Any]]) -> list[str]:
    """Ratios of an object that no sentence tells with their percent, word and side."""
    told = {(s.side, s.source, s.surface, round(s.percent, 6)) for s in amounts(text)}
    return [
        f"not said: {b['side']} {b['source']} to {b['target']} {b['percent']:g} %"
        for b in blends
        if b["percent"] and (b["side"], b["source"], b["target"], round(b["percent"], 6)) not in told
    ]


def wrong_drifts(text: str, drifts: Sequence[tuple[float, float | None, str]]) -> list[str]:
    """Drifts in words that are none of (degrees with sign, degrees a second or None, words)."""
    out = []
    for sentence in sentences(text):
        for match in _DRIFT.finditer(sentence):
            digits, size = len(match["degrees"].partition(".")[2]), float(match["degrees"])
            fits = [
                rate for value, rate, words in drifts
                if words == match["words"] and abs(abs(value) - size) <= half(digits)
                and (size == 0.0 or value * DRIFT_SIGN[words] > 0.0)
            ]  # fmt: skip
            if not fits:
                out.append(f"no drift of {match['degrees']}° {match['words']}: {sentence}")
            elif match["rate"] and not any(
                r is not None
                and abs(abs(r) - float(match["rate"])) <= half(len(match["rate"].partition(".")[2]))
                for r in fits
            ):
                out.append(f"{match['rate']} °/s is not its rate: {sentence}")
    return out


def without_unit(text: str, *besides: str) -> list[str]:
    """Numbers in sentences (tables have their units above) that no unit and no known word explains.

    ``besides``: patterns of sentences that are let through.
    """
    out = []
    for sentence in sentences(text):
        if is_row(sentence) or any(re.search(pattern, sentence) for pattern in besides):
            continue
        for match in _BARE_NUMBER.finditer(sentence):
            if not sentence[: match.start()].rstrip(" (").endswith(_UNITLESS):
                out.append(f"{match[0]} without a unit: {sentence}")
    return out


def drifts_of(result: Mapping[str, Any]) -> list[tuple[float, float | None, str]]:
    """All drifts an object holds: degrees, degrees a second, words."""
    out: list[tuple[float, float | None, str]] = []
    for m in result.get("maneuvers", ()):
        for when in ("before", "after"):
            if m.get(f"drift_{when}") is not None:
                out.append((m[f"drift_{when}"], m[f"rate_{when}"], m[f"words_{when}"]))
        for value in m.get("others", {}).values():  # told by size; their words are not in the object
            out += [
                (value, None, words)
                for words, sign in DRIFT_SIGN.items()
                if value is not None and value * sign > 0.0
            ]
    out += [(s["drift"], s["rate"], s["words"]) for s in result.get("settings", ())]
    ways = {
        "canopy": ("to canopy", "to belly"),
        "wing": ("to right wing", "to left wing"),
        "roll": ("rolls right", "rolls left"),
    }
    found = result.get("map") or {"drift": (), "terms": ()}
    for drifts, terms in zip(found["drift"], found["terms"], strict=True):
        out += [
            (v, None, ways[term][v < 0.0])
            for v, term in zip(drifts, terms, strict=True)
            if v is not None and term in ways
        ]
    for r in [*result.get("remedies", ()), result.get("best") or {}]:
        dives = [value for value in (r.get("dive"), r.get("expected_dive")) if value is not None]
        out += [(value, None, "to canopy" if value > 0.0 else "to belly") for value in dives]
    return out


def wrong_object(
    result: Mapping[str, Any], throws: Mapping[tuple[str, str], float], windows: Any
) -> list[str]:
    """Numbers of an object that do not fit its words, each other, or the throws.

    ``windows``: maneuver -> lengths of its measured phases [s].
    """
    out = []
    for b in result.get("blends", ()):
        name = f"{b['side']} {b['source']} to {b['target']}"
        if b["percent"]:
            ways = ("DOWN", "UP") if b["target"] == "elevator" else ("LEFT", "RIGHT")
            expected = 0.01 * abs(b["percent"]) * throws[b["target"], ways[b["percent"] > 0.0]]
            if abs(b["degrees"] - expected) > 1e-4 * expected:
                out.append(f"{name}: {b['degrees']}° is not {b['percent']} % of the throw, {expected:.4f}°")
            if not 0.0 < b["degrees_used"] <= b["degrees"] * 1.0001:
                out.append(f"{name}: {b['degrees_used']}° used, of {b['degrees']}°")
        out += [f"{name}: {text}" for text in wrong_degrees(b["words"], throws)]
        out += [f"{name}: {text}" for text in [*wrong_amounts(b["words"], [b]), *unsaid(b["words"], [b])]]
        if doubt := b.get("doubt"):
            told = [(s.percent, s.digits) for s in amounts(f"x {b['target']} {doubt['words']}")]
            ends = [doubt["low_percent"], doubt["high_percent"]]
            told += [(0.0, 0)] * len(re.findall(r"(?<!\d)0 %", doubt["words"]))
            if not ends[0] <= ends[1] or not all(any(abs(e - t) <= half(d) for t, d in told) for e in ends):
                out.append(f"{name}: {doubt['words']} is not {ends[0]} to {ends[1]}")
    for m in result.get("maneuvers", ()):
        for when in ("before", "after"):
            drift = m[f"drift_{when}"]
            if drift is None:
                continue
            name = f"{m['name']} {m['side']} {when}"
            if drift * DRIFT_SIGN[m[f"words_{when}"]] < 0.0:
                out.append(f"{name}: {drift}° {m[f'words_{when}']}")
            if not any(
                abs(m[f"rate_{when}"] * window - drift) < 1e-4 * abs(drift) + 1e-6
                for window in windows(m["name"])
            ):
                out.append(f"{name}: {m[f'rate_{when}']} °/s is not {drift}° over its phase")
            if m[f"points_{when}"] < abs(drift) / 15.0 - 1e-5:
                out.append(f"{name}: {m[f'points_{when}']} points for {drift}°")
    for s in result.get("settings", ()):
        if s["scored"] and s["drift"] * DRIFT_SIGN[s["words"]] < 0.0:
            out.append(f"{s['percent']} %: {s['drift']}° {s['words']}")
    for part in result.get("split", ()):
        for key in ("constant", "even", "odd"):
            lines = [line for line in part["words"] if line.startswith(key)]
            told = [s.percent for s in amounts(f"{part['target']} {lines[0]}")] if lines else []
            if not told or abs(told[0] - part[key]) > half(1):
                out.append(f"{part['target']}, {key} {part[key]}: {lines}")
    return out

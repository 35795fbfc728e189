"""Nasty words on the command line: one printable line and nothing written, or what they mean."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from pathlib import Path

import pytest
from commanding import everything_in, refused, sixdof_here
from hypothesis import given, settings
from hypothesis import strategies as st

from sixdof.airframe.changes import changed, read_changes
from sixdof.airframe.load import load_airframe
from sixdof.files.errors import InputError
from sixdof.flight.blends import read_blends
from sixdof.flight.gusts import read_bump, read_wind
from sixdof.tuning.axes import read_over, read_vary


@pytest.fixture(scope="module", autouse=True)
def _compiled() -> None:
    """The first run of all remarks that it compiles; here no remark is allowed."""
    from sixdof.flight.fly import warm_up

    warm_up()


LEVEL = ("fly", "-m", "level", "--no-pictures")
#: what the word is -> the command it is given to, as its last word
COMMANDS: dict[str, tuple[str, ...]] = {
    "change": (*LEVEL, "--change={}"),
    "over": ("remedies", "--over={}"),
    "vary": ("explore", "knife_edge", "--count", "2", "--no-pictures", "--vary={}"),
    "blend": (*LEVEL, "--blend={}"),
    "wind": (*LEVEL, "--wind={}"),
    "gust": (*LEVEL, "--gust={}"),
    "sample": (*LEVEL, "--sample={}"),
    "samples": ("tune", "--wind", "3 m/s", "--samples={}"),
    "airplanes": ("tune", "--airplanes={}"),
    "speed": (*LEVEL, "--speed={}"),
    "rate": ("check", "--no-picture", "--rate={}"),
    "new": ("new", "--", "{}"),
    "plane": ("check", "--no-picture", "--", "{}"),
    "maneuver": ("fly", "--maneuver={}"),
    "run": ("view", "--png", "x.png", "--", "{}"),
    "tune run": ("sheet", "--", "{}"),
    "pages": ("sheet", "--out={}", "x"),
    "out": (*LEVEL, "--out={}"),
    "picture": ("check", "--picture={}"),
}
LONG, CLEAR = "x" * 10_000, "\x1b[2J"  # the second one wipes a terminal
R = "rudder-elevator.left"
A_RANGE, A_PERCENT, A_NAME = "a range in percent", "expected a percent", "letters, digits, - and _"

#: what the word is -> the word -> what the line says
REFUSED: dict[str, dict[str, str]] = {
    "change": {
        "": "unknown change (no name)", "=5": "unknown change (no name)", "CG=5 mm aft": "did you mean cg?",
        "cg=": "expected an amount", "cg==5 mm aft": '"=5 mm"', "cg=5 mm aft=3": "5 mm aft or 5 mm forward",
        "cg=５ mm aft": "digits", "cg=−5 mm aft": "minus sign", "cg=5,5 mm aft": "decimal comma",
        "cg=1e400 mm aft": "finite", "cg=inf % aft": "finite", "cg=101 % aft": "at most 308 mm",
        "cg=5 mm\naft": "5 mm\\naft", f"cg={CLEAR}": "\\x1b", "cg=5 mm aft\0": "\\x00", "\ud800": "\\ud800",
        LONG: "xxx...; known here", f"cg={'9' * 10_000} mm aft": "a length with its unit",
        "tip-weight=1 kg left": "at most 470 g", "wing-height=5 km up": "unknown unit", "cg=10 mm up": "forward",
        "wing-incidence=++1 deg": "an angle with its unit",
        "tailplane-incidence=-10 deg": "speeds.cruise: no steady level flight",
    },
    "over": {"": "(no name)", "CG": "did you mean cg?", "cg=5 mm aft": "unknown change", CLEAR: "\\x1b", LONG: "xxx..."},
    "vary": {
        "": "''", "=..": "''", CLEAR: "\\x1b", LONG: "not a ratio", f"{R}=..": A_RANGE, f"{R}=1..": A_RANGE,
        f"{R}=1...2": A_RANGE, f"{R}=1..2..3": A_RANGE, f"{R}=−1..2": A_RANGE, f"{R}=1,0..2": A_RANGE,
        f"{R}=1e400..2": A_RANGE, f"{R}=-inf..inf": A_RANGE, f"{R}=1e-400..2e-400": A_RANGE,
        f"{R}={'9' * 10_000}..5": A_RANGE, f"{R}.left=0..5": f"did you mean {R}?", f"{R.upper()}=0..5": f"did you mean {R}?",
    },
    "blend": {
        "": "''", "=3": "''", f"{R}=": A_PERCENT, f"{R}==3": A_PERCENT, f"{R}=3 %": A_PERCENT, f"{R}=−3": A_PERCENT,
        f"{R}=3,0": A_PERCENT, f"{R}=1e400": "-100 to 100", f"{R}={CLEAR}": "\\x1b", f"{LONG}=3": "not a ratio",
        f"{R}={'9' * 10_000}": "-100 to 100",
    },
    "wind": {
        "": "empty", "4": "without a unit", "m/s": "m/s", "4 m": "another kind of value", "-4 m/s": "0 or more",
        "−4 m/s": "minus sign", "4,0 m/s": "decimal comma", "nan m/s": "finite", "1e400 m/s": "finite",
        "16 m/s": "0 to 15 m/s", "4 m/s from": "unknown unit", "4 m/s from above": "ahead, behind",
        f"4 m/s from {CLEAR}": "\\x1b", f"4 m/s from the {LONG}": "expected from ahead", "9" * 10_000 + " m/s": "expected",
    },
    "gust": {
        "": "expected its time", "3 m/s from below": "expected its time", "at 4 s": "expected its time",
        "3 m/s from below at 4": "without a unit", "3 m/s from below at -1 s": "0 to 60 s",
        "3 m/s from below at nan s": "finite", "16 m/s from below at 4 s": "at most 15 m/s",
        "3 m/s from below at 4 s at 5 s": "expected from", f"{CLEAR} at 4 s": "\\x1b",
    },
    "sample": {"0": "1 to 1000000", "-1": "1 to 1000000", "9" * 400: "1 to 1000000", "nan": "nan", "1e9": "1e9", "one": "one"},
    "samples": {"0": "2 to 1000", "1001": "2 to 1000", "9" * 5000: "--samples", "": "--samples"},
    "airplanes": {"1": "20 to 5000", "-5": "20 to 5000", "9" * 5000: "--airplanes", CLEAR: "--airplanes"},
    "speed": {"49.9": "50 to 200", "1e400": "50 to 200", "160": "m/s to begin from; this airplane flies level", "5 %": "--speed"},
    "rate": {"": "normal, snap", CLEAR: "\\x1b", LONG: "normal, snap", "[red]": "[red]"},
    "new": {
        **dict.fromkeys(["", "/", ".", "..", "a b", "é", "x" * 41, LONG, "-x", "_a", "ok/", "x.yml", "[a]", "a=b", "con\n",
                         "a\0b", CLEAR, "a.yaml.yaml"], A_NAME),
        "nowhere/x": "No such file",
    },
    "plane": {"": "no airplane", "/": "Is a directory", "/dev/zero": "plain file", "a\0b": "\\x00", CLEAR: "\\x1b", LONG: "xxx..."},
    "maneuver": {"": "not known", "/": "not known", "~": "not known", "a\0b": "\\x00", CLEAR: "\\x1b", LONG: "not known"},
    "run": {"": "not a run folder", "/": "not a run folder", "/dev/zero": "not a run folder", "a\0b": "null byte", CLEAR: "\\x1b", LONG: "run"},
    "tune run": {"": "not a run folder", "/": "not a run folder", "/dev/zero": "not a run folder", "a\0b": "null byte", CLEAR: "\\x1b", LONG: "run"},
    "pages": {"": ".html", ".html": ".html", "/": ".html", f"{CLEAR}.html": "x: not a run folder", f"{LONG}.html": "cannot be written"},
    "out": {"": "exists already", "/": "exists already", "/dev/null/x": "takes no folder", ".unfinished-1": "not finished", LONG: "cannot be written"},
    "picture": {"": ".png", ".png": ".png", "/": ".png", f"{LONG}.png": "cannot be written"},
}  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "word"), [(kind, word) for kind, words in REFUSED.items() for word in words]
)
def test_no_word(kind: str, word: str, tmp_path: Path) -> None:
    words = [part.replace("{}", word) for part in COMMANDS[kind]]
    refused(sixdof_here(tmp_path, *words), REFUSED[kind][word])
    assert list(tmp_path.iterdir()) == []


PLANE = load_airframe("corvane")
READERS: dict[str, Callable[[str], object]] = {
    "cg=5 mm aft": lambda text: changed(PLANE, read_changes([text])),
    "rudder-elevator.left=-6..2": read_vary,
    "wind=3 m/s from the right": read_over,
    "rudder-elevator.left=3": lambda text: read_blends([text]),
    "4 m/s from the right": read_wind,
    "3 m/s from below at 4 s": read_bump,
}


@settings(deadline=None)
@given(
    word=st.sampled_from(list(READERS)), where=st.floats(0.0, 1.0), lost=st.integers(0, 8),
    new=st.text(max_size=6) | st.text("0123456789.,-+ %=einfax", max_size=6),
)  # fmt: skip
def test_any_word_is_read_or_refused(word: str, where: float, lost: int, new: str) -> None:
    at = int(where * len(word))
    for text in (new, word[:at] + new + word[at + lost :]):
        with contextlib.suppress(InputError):
            READERS[word](text)
    READERS[word](word)


#: Odd and right: what the word is, the word, and what is then said.
TAKEN = [
    ("change", "cg = 5  mm  aft", "CG 5 mm further aft"),
    ("change", "cg=1e-400 mm aft", "CG 0 mm further aft"),
    ("change", "cg-height=100 % up", "CG 308 mm higher"),
    ("change", "wing-incidence=10 deg more", "wing incidence 10° more"),
    ("blend", f" {R} = \n3 ", "elevator 3 % UP"),
    ("wind", "0 m/s", "wind of 0 m/s"),
    ("wind", "15 m/s  from   right ", "15 m/s from the right"),
    ("gust", "15 m/s from above at 0 s", "from above"),
    ("sample", "1000000", "no blends"),
    ("speed", "1.1e2", "top speed"),
    ("out", "$(x) '\"", "run: $(x) '\""),
]


@pytest.mark.parametrize(("kind", "word", "said"), TAKEN)
def test_an_odd_word_that_is_right(kind: str, word: str, said: str, tmp_path: Path) -> None:
    words = [part.replace("{}", word) for part in COMMANDS[kind]]
    done = sixdof_here(tmp_path, *words)
    assert done.code == 0 and done.err == "" and said in done.out, done


# ---------------------------------------------------------------- pictures by a name that is taken


@pytest.fixture(scope="module")
def flown(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("flown")
    assert sixdof_here(folder, *LEVEL, "--out", "run").code == 0
    return folder / "run"


@pytest.mark.parametrize("taken", ["a file", "a link to nowhere"])
@pytest.mark.parametrize(
    "words", [("check", "--picture"), ("compare", "{run}", "{run}", "--out"), ("view", "{run}", "--png")]
)
def test_a_picture_never_takes_the_place_of_a_file(
    words: tuple[str, ...], taken: str, flown: Path, tmp_path: Path
) -> None:
    """As a run folder by `--out`: whoever gives a name means a new one."""
    path = tmp_path / "mine.png"
    path.symlink_to("nowhere") if taken == "a link to nowhere" else path.write_text("a photo")
    given = [word.replace("{run}", str(flown)) for word in words]
    refused(
        sixdof_here(tmp_path, *given, "mine.png"), f"mine.png: exists already; choose another {words[-1]}"
    )
    assert list(tmp_path.iterdir()) == [path]
    assert path.is_symlink() or everything_in(tmp_path) == {"mine.png": b"a photo"}


def test_a_name_that_is_taken_meanwhile(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two at once that draw into one file: the second one says so."""
    from sixdof.show import drawing

    def meanwhile(airframe: object, path: Path, **more: object) -> None:
        path.write_text("drawn")
        (tmp_path / "mine.png").write_text("a photo")

    monkeypatch.setattr(drawing, "draw_airframe", meanwhile)
    refused(sixdof_here(tmp_path, "check", "--picture", "mine.png"), "mine.png", "exists already")
    assert everything_in(tmp_path) == {"mine.png": b"a photo"}


def test_the_drawing_without_a_name_is_drawn_anew(tmp_path: Path) -> None:
    (tmp_path / "runs").mkdir()
    (tmp_path / "runs" / "check-corvane.png").write_text("the last one")
    assert sixdof_here(tmp_path, "check").code == 0
    assert everything_in(tmp_path)["runs/check-corvane.png"].startswith(b"\x89PNG")

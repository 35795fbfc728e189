"""Names in any script: no warning, no box, nothing that steers a terminal."""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np
import pytest
import pyvista as pv
from matplotlib import font_manager
from showing import airplane, two_flights

from sixdof.files.errors import InputError, printable, shown
from sixdof.show.drawing import draw_airframe
from sixdof.show.letters import USUAL, _best, one_font, with_fonts
from sixdof.show.plots import Drift, compare_plot, drift_plot
from sixdof.show.replay import Replay
from sixdof.show.words import rewrite, write

HAWK = "\u730e\u9df9"  # in two letters that the usual font lacks
ONLY_STIX = "\u24b6"  # of the fonts that come with the plotting library, only STIXGeneral has this one
STEERING = {
    "a color": ("\x1b[31m", "\\x1b[31m"),
    "the window's title": ("\x1b]0;owned\x07", "\\x1b]0;owned\\x07"),
    "one-byte escape": ("\x9b2J", "\\x9b2J"),
    "back over what stands there": ("ok\b\b", "ok\\x08\\x08"),
    "to the start of the line": ("\rsixdof: fine", "\\rsixdof: fine"),
    "right to left": ("\u202egnp.exe", "\\u202egnp.exe"),
    "an isolate": ("\u2066a\u2069", "\\u2066a\\u2069"),
    "nothing to be seen": ("\u200b", "\\u200b"),
    "half a character": ("\ud800", "\\ud800"),
}  # fmt: skip


@pytest.mark.parametrize("name", STEERING)
def test_what_steers_a_terminal_is_written_out(name: str) -> None:
    raw, said = STEERING[name]
    assert printable(raw) == said and shown(raw) == said
    assert said in str(InputError(f"{raw} came", file=f"{raw}.yaml", key=(raw,)))
    assert said in with_fonts(raw)[0] and said in one_font(raw)[0]


def test_letters_and_line_ends_stay() -> None:
    text = f"Z\u00fcrich {HAWK}\n2\u20133 \u00b0 \u05e9\u05dc\u05d5\u05dd"
    assert printable(text) == text
    assert printable("a\nb", keep="") == "a\\nb" == shown("a\nb")


def test_a_letter_that_the_usual_font_lacks_comes_from_another_or_is_a_question_mark(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    own = [f for f in font_manager.fontManager.ttflist if "matplotlib" in f.fname]
    monkeypatch.setattr(font_manager.fontManager, "ttflist", own)
    _best.cache_clear()
    assert with_fonts("Corvane \u2212 \u0421\u043e\u043a\u043e\u043b") == (
        "Corvane \u2212 \u0421\u043e\u043a\u043e\u043b",
        [USUAL],
    )
    assert with_fonts(f"a {ONLY_STIX}") == (f"a {ONLY_STIX}", [USUAL, "STIXGeneral"])
    assert with_fonts(f"{HAWK} 7")[0] == "?? 7"
    assert one_font("z\u00fcrich") == ("z\u00fcrich", None)
    text, file = one_font("a \u2192 b")
    assert text == "a \u2192 b" and file is not None and Path(file).name == "DejaVuSans.ttf"
    assert Path(one_font(ONLY_STIX)[1] or "").name == "STIXGeneral.ttf"
    assert one_font(f"{HAWK} 7")[0] == "?? 7"
    _best.cache_clear()


def test_pictures_of_any_name_are_drawn_without_a_warning(tmp_path: Path) -> None:
    name = f"{HAWK}{ONLY_STIX}\x1b[31m\u202e $x^2"
    plane = airplane().model_copy(update={"name": name})
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        draw_airframe(plane, tmp_path / "plane.png", neutral_point=None, notes=[f"{name} " * 9])
        compare_plot(tmp_path / "runs.png", {name: {HAWK: (0.1, 0.0, 0.0)}}, title=name)
        drift = Drift(np.arange(3.0), np.ones((3, 3)), HAWK)
        drift_plot(tmp_path / "drift.png", {HAWK: drift}, names=(HAWK, name), title=f"{name}\n{HAWK}")
        replay = Replay(plane, two_flights())
        replay.plotter.close()


def test_words_in_a_scene_have_letters_beyond_the_renderers_own() -> None:
    """The renderer's own font has no Cyrillic and no arrow: it leaves them out without a word."""

    def ink(*texts: str) -> float:
        plotter = pv.Plotter(off_screen=True, window_size=[400, 100])
        words = write(plotter, texts[0], (0.05, 0.3), name="words", size=18)
        for text in texts[1:]:
            rewrite(words, text)
        picture = np.asarray(plotter.screenshot(None, return_img=True), int)
        plotter.close()
        return float(np.mean(picture.min(axis=2) < 128))

    assert ink("\u0421\u043e\u043a\u043e\u043b \u2192") > 0.003
    assert ink("hawk", "\u0421\u043e\u043a\u043e\u043b \u2192") == ink(
        "\u0421\u043e\u043a\u043e\u043b \u2192"
    )
    assert ink("\u0421\u043e\u043a\u043e\u043b", "hawk") == ink("hawk")

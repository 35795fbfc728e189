"""The window on a virtual display: it opens, draws, plays at a key, and closes without a word."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from commanding import sixdof_here
from windows import PATIENCE, Display

pytestmark = pytest.mark.window

START = "import sys; sys.argv[0] = 'sixdof'; from sixdof.cli import main; main()"


@pytest.fixture
def display() -> Iterator[Display]:
    made = Display()
    yield made
    made.close()


def colors(picture: np.ndarray) -> int:
    return len(np.unique(picture.reshape(-1, 3) // 16, axis=0))


def changes(display: Display, window: int) -> int:
    """Pixels that are others half a second later."""
    before = display.pixels(window, 1400, 800)
    time.sleep(0.5)
    return int((display.pixels(window, 1400, 800) != before).any(axis=-1).sum())


def test_it_opens_draws_plays_and_closes(
    display: Display, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """From the command to the first picture and to a closed window, without a word on standard error."""
    assert sixdof_here(tmp_path, "fly", "corvane", "--no-pictures", "--out", "flown").code == 0
    where = {**os.environ, "DISPLAY": display.name}
    where.pop("VTK_DEFAULT_OPENGL_WINDOW", None)
    began = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-c", START, "view", "flown"], cwd=tmp_path, env=where, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    try:
        window = display.wait_for("sixdof: corvane", process)
        end = time.monotonic() + PATIENCE
        while colors(display.pixels(window, 1400, 800)) < 40:
            assert time.monotonic() < end, "nothing is drawn"
            time.sleep(0.02)
        seconds = time.perf_counter() - began
        picture = display.pixels(window, 1400, 800).astype(int)
        blue, green, red = (picture[..., i] for i in range(3))
        moss = (green - blue > 40) & (
            np.abs(red - green) < 40
        )  # the color of a flight that is neither bare nor blended
        assert moss.sum() > 100
        assert changes(display, window) == 0, "it stands"
        display.press(window, b"space")
        end = time.monotonic() + PATIENCE
        while changes(display, window) < 1000:
            assert time.monotonic() < end, "it plays"
        display.ask_to_close(window)
        out, err = process.communicate(timeout=PATIENCE)
    finally:
        process.kill()
    assert (process.returncode, out, err) == (0, "", "")
    with capsys.disabled():
        print(f"\nthe window was drawn {seconds:.1f} s after the command")

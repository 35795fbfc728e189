"""Can this machine draw?  Asked before the first picture, answered in one line.

The renderer ends the whole process with a segmentation fault where its libraries are
missing, so the question is asked in a process of its own.
"""

from __future__ import annotations

import ctypes
import os
import subprocess
import sys
from collections.abc import Sequence
from functools import cache

__all__ = ["NoRenderer", "display_problem", "renderer_problem", "use_offscreen_window"]

#: What a bare Debian needs to draw without a screen.
APT = "apt-get install libegl1 libegl-mesa0 libgl1-mesa-dri"
PATIENCE = 60.0  # s a first start from a cold disk may take; from memory

_WINDOW = "VTK_DEFAULT_OPENGL_WINDOW"
_EGL = "vtkEGLRenderWindow"
_RENDER = """
import sys
sys.path[:] = sys.argv[1:]
import vtkmodules.vtkRenderingOpenGL2
from vtkmodules.vtkRenderingCore import vtkRenderer, vtkRenderWindow
window = vtkRenderWindow()
window.SetOffScreenRendering(True)
window.SetSize(8, 8)
window.AddRenderer(vtkRenderer())
window.Render()
"""


class NoRenderer(RuntimeError):
    """A picture was asked for where none can be drawn; the message says what to install."""


def use_offscreen_window() -> None:
    """Ask for the kind of window that needs no display server; keeps a choice made outside."""
    if sys.platform.startswith("linux"):
        os.environ.setdefault(_WINDOW, _EGL)


def use_desktop_window() -> None:
    """Take back what :func:`use_offscreen_window` asked for."""
    if os.environ.get(_WINDOW) == _EGL:
        del os.environ[_WINDOW]


def renderer_problem(command: Sequence[str] | None = None) -> str | None:
    """Try to draw 8 x 8 pixels in a process of its own.

    Parameters
    ----------
    command : sequence of str, optional
        What to run in place of that drawing; the answer of the usual one is remembered.

    Returns
    -------
    str or None
        None if pictures can be drawn, else one line that says what is wrong and what to do.
    """
    return _usual_answer() if command is None else _run(command)


@cache
def _usual_answer() -> str | None:
    return _run([sys.executable, "-I", "-c", _RENDER, *_library_folders()])


def _library_folders() -> list[str]:
    """Where this process finds its modules, less the working folder: what lies beside a file is not run."""
    return [text for text in sys.path if os.path.isabs(text) and not _is_here(text)]


def _is_here(folder: str) -> bool:
    try:
        return os.path.samefile(folder, ".")
    except OSError:  # no such folder
        return False


def _run(command: Sequence[str]) -> str | None:
    environment = dict(os.environ)
    if sys.platform.startswith("linux"):
        environment.setdefault(_WINDOW, _EGL)
    try:
        done = subprocess.run(command, env=environment, capture_output=True, timeout=PATIENCE, check=False)
    except subprocess.TimeoutExpired:
        return f"pictures cannot be drawn here: the renderer did not answer in {PATIENCE:.0f} s; try again"
    except OSError as error:
        return f"pictures cannot be drawn here: {error}"
    if done.returncode == 0:
        return None
    if done.returncode < 0 or done.returncode >= 128:
        reason = "the renderer crashed"
    else:
        reason = _last_line(done.stderr) or f"the renderer ended with code {done.returncode}"
    cure = f"on Debian or Ubuntu: {APT}" if sys.platform.startswith("linux") else "update the graphics driver"
    return f"pictures cannot be drawn here ({reason}); {cure}"


def _last_line(text: bytes) -> str:
    lines = text.decode(errors="replace").strip().splitlines()
    return lines[-1].strip()[:120] if lines else ""


def display_problem() -> str | None:
    """Why no window can be opened here, in one line, or None."""
    if not sys.platform.startswith("linux"):
        return None
    instead = "write a picture instead, or run this on a desktop"
    name = os.environ.get("DISPLAY")
    if not name:
        return f"no window can be opened: there is no display (DISPLAY is not set); {instead}"
    try:
        x11 = ctypes.CDLL("libX11.so.6")
    except OSError:
        return (
            "no window can be opened: libX11 is missing; on Debian or Ubuntu: apt-get install libx11-6 libgl1"
        )
    x11.XOpenDisplay.restype = ctypes.c_void_p
    x11.XCloseDisplay.argtypes = [ctypes.c_void_p]
    display = x11.XOpenDisplay(None)
    if not display:
        return f"no window can be opened: the display {name} does not answer; {instead}"
    x11.XCloseDisplay(display)
    return None

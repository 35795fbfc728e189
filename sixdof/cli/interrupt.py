"""Ctrl-C: at once, but not into the middle of a library that is being loaded.

Compiled libraries load each other while they start.  An exception thrown into that comes out as another
one, or ends the process with a crash; so an interrupt that falls into an import comes again a moment later.
"""

from __future__ import annotations

import signal
import sys
from _thread import interrupt_main
from threading import Timer, current_thread, main_thread
from types import FrameType
from typing import Any

__all__ = ["ignore_interrupts", "take_interrupts"]

_AGAIN = 0.02  # s
_LOADER = "importlib._bootstrap"


def take_interrupts() -> None:
    """Make Ctrl-C a KeyboardInterrupt that harms no import; a background job goes on ignoring it."""
    if current_thread() is main_thread() and signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _interrupt)
    sys.unraisablehook = _lost


def ignore_interrupts() -> None:
    """From here on the process ends by itself: a second Ctrl-C is no traceback on the way out."""
    if current_thread() is main_thread():
        signal.signal(signal.SIGINT, signal.SIG_IGN)


def _interrupt(_number: int, frame: FrameType | None) -> None:
    while frame is not None:
        if frame.f_globals.get("__name__") == _LOADER:
            return _again()
        frame = frame.f_back
    raise KeyboardInterrupt


def _lost(lost: Any) -> None:
    """An interrupt that fell into a place where Python can only remark on it comes again."""
    if lost.exc_type is KeyboardInterrupt:
        _again()
    else:
        sys.__unraisablehook__(lost)


def _again() -> None:
    timer = Timer(_AGAIN, _interrupt_main)
    timer.daemon = True
    timer.start()


def _interrupt_main() -> None:
    """A signal of its own, where there is one: it wakes what waits."""
    if hasattr(signal, "pthread_kill"):
        signal.pthread_kill(main_thread().ident or 0, signal.SIGINT)
    else:
        interrupt_main()

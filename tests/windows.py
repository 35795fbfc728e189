"""A virtual display, and what stands on it: windows by their title, their pixels, closing one as a desktop would.

Xvfb draws it; libX11 is spoken to by ctypes, so no package is installed for that.
"""

from __future__ import annotations

import ctypes
import os
import shutil
import subprocess
import time
from ctypes import POINTER, Structure, byref, c_char_p, c_int, c_long, c_uint, c_ulong, c_void_p
from ctypes.util import find_library

import numpy as np

PATIENCE = 60.0  # s, for a machine that does much else
_ALL_PLANES, _Z_PIXMAP, _CLIENT_MESSAGE = c_ulong(-1), 2, 33
_KEY_PRESS, _KEY_RELEASE = 2, 3


class _Image(Structure):
    _fields_ = [
        *((name, c_int) for name in ("width", "height", "xoffset", "format")),
        ("data", c_void_p),
        *((name, c_int) for name in ("byte_order", "unit", "bit_order", "pad", "depth", "bytes_per_line", "bits")),
    ]  # fmt: skip


class _Message(Structure):
    _fields_ = [
        ("type", c_int), ("serial", c_ulong), ("sent", c_int), ("display", c_void_p), ("window", c_ulong),
        ("message", c_ulong), ("format", c_int), ("data", c_long * 5), ("rest", c_long * 24),
    ]  # fmt: skip


def display_problem() -> str | None:
    """Why there is no virtual display to test with, or None."""
    return None if shutil.which("Xvfb") and find_library("X11") else "no Xvfb here (apt-get install xvfb)"


class _Key(Structure):
    _fields_ = [
        ("type", c_int), ("serial", c_ulong), ("sent", c_int), ("display", c_void_p), ("window", c_ulong), ("root", c_ulong),
        ("below", c_ulong), ("time", c_ulong), *((name, c_int) for name in ("x", "y", "x_root", "y_root")),
        ("state", c_uint), ("keycode", c_uint), ("same_screen", c_int), ("rest", c_long * 24),
    ]  # fmt: skip


class Display:
    """A virtual display of its own."""

    def __init__(self, size: str = "1500x900x24") -> None:
        told, tells = os.pipe()
        command = ["Xvfb", "-displayfd", str(tells), "-screen", "0", size, "-nolisten", "tcp"]
        self._process = subprocess.Popen(command, pass_fds=[tells], stderr=subprocess.DEVNULL)
        os.close(tells)
        with os.fdopen(told) as file:
            number = file.readline().strip()
        assert number, "Xvfb did not start"
        self.name = f":{number}"
        self._x = ctypes.CDLL(find_library("X11"))
        self._x.XOpenDisplay.restype = c_void_p
        self._x.XGetImage.restype = POINTER(_Image)
        for number in (self._x.XDefaultRootWindow, self._x.XInternAtom, self._x.XStringToKeysym):
            number.restype = c_ulong
        self._x.XKeysymToKeycode.argtypes, self._x.XKeysymToKeycode.restype = (
            [c_void_p, c_ulong],
            ctypes.c_ubyte,
        )
        self._it = c_void_p(self._x.XOpenDisplay(self.name.encode()))
        assert self._it

    def wait_for(self, title: str, process: subprocess.Popen[str]) -> int:
        """The window of a title, once there is one; its process must not end before."""
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end and process.poll() is None:
            for window in self._windows():
                name = c_char_p()
                if (
                    self._x.XFetchName(self._it, c_ulong(window), byref(name))
                    and name.value == title.encode()
                ):
                    return window
            time.sleep(0.02)
        raise AssertionError(f"no window {title!r}")

    def pixels(self, window: int, width: int, height: int) -> np.ndarray:
        """What is drawn in the upper left of a window, array (height, width, 3), blue first."""
        image = self._x.XGetImage(
            self._it, c_ulong(window), 0, 0, c_uint(width), c_uint(height), _ALL_PLANES, _Z_PIXMAP
        ).contents
        raw = ctypes.string_at(image.data, image.bytes_per_line * image.height)
        return np.frombuffer(raw, np.uint8).reshape(image.height, -1, 4)[:, :width, :3]

    def press(self, window: int, key: bytes) -> None:
        """Press a key, by its name, and let it go."""
        keycode = self._x.XKeysymToKeycode(self._it, self._x.XStringToKeysym(key))
        for kind in (_KEY_PRESS, _KEY_RELEASE):
            event = _Key(
                type=kind, sent=1, window=window, root=self._x.XDefaultRootWindow(self._it), x=1, y=1, keycode=keycode, same_screen=1
            )  # fmt: skip
            self._x.XSendEvent(self._it, c_ulong(window), 1, c_long(kind - 1), byref(event))
        self._x.XSync(self._it, 0)

    def ask_to_close(self, window: int) -> None:
        """What a desktop sends when somebody closes a window."""
        protocols, delete = (
            self._x.XInternAtom(self._it, name, 0) for name in (b"WM_PROTOCOLS", b"WM_DELETE_WINDOW")
        )
        message = _Message(
            type=_CLIENT_MESSAGE, sent=1, window=window, message=protocols, format=32, data=(c_long * 5)(delete)
        )  # fmt: skip
        self._x.XSendEvent(self._it, c_ulong(window), 0, c_long(0), byref(message))
        self._x.XSync(self._it, 0)

    def close(self) -> None:
        self._x.XCloseDisplay(self._it)
        self._process.terminate()
        self._process.wait()

    def _windows(self) -> list[int]:
        """All windows right below the root."""
        root = c_ulong(self._x.XDefaultRootWindow(self._it))
        above, below, children, count = c_ulong(), c_ulong(), POINTER(c_ulong)(), c_uint()
        self._x.XQueryTree(self._it, root, byref(above), byref(below), byref(children), byref(count))
        return [int(children[i]) for i in range(count.value)]

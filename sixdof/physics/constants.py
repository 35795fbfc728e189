"""Constants that every room may use, without the compiler."""

from __future__ import annotations

#: Standard gravity [m/s2], exact by definition (3rd CGPM, 1901, from memory).
G0 = 9.80665

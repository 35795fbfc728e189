"""Six-degree-of-freedom trim testbed for model airplanes.

Describe the airframe, fly scripted maneuvers with and without blends, find the
ratio for each side, and see what a blend would only hide.

>>> from sixdof import load_airframe, pack, tune
>>> tune(Airplane("corvane").planes).blends()  # doctest: +SKIP
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

#: The few public names and where they live; loaded when first asked for.
_HOMES = {
    "load_airframe": "sixdof.airframe.load",
    "estimate_derivatives": "sixdof.estimate.layers",
    "Airplane": "sixdof.flight.airplane",
    "trim": "sixdof.flight.trim",
    "fly_batch": "sixdof.flight.fly",
    "load_maneuver": "sixdof.flight.script",
    "make_script": "sixdof.flight.script",
    "tune": "sixdof.tuning.search",
    "explore": "sixdof.tuning.explore",
    "split": "sixdof.tuning.split",
}

__all__ = list(_HOMES)


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'sixdof' has no attribute {name!r}")

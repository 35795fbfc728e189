"""Six-degree-of-freedom trim testbed for model airplanes.

Describe the airframe, fly scripted maneuvers with and without blends, find the
ratio for each side, and see what a blend would only mask.

>>> from sixdof import Airplane, fly
>>> flown = fly(Airplane("corvane"), "knife_edge", way="held")
>>> flown.maneuvers[0].said
'right-rudder knife-edge'
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

#: The few public names and where they live; loaded when first asked for.
_HOMES = {
    "Airplane": "sixdof.flight.airplane",
    "blend": "sixdof.flight.blends",
    "load_maneuver": "sixdof.flight.script",
    "check": "sixdof.study.check",
    "fly": "sixdof.study.ask",
    "tune": "sixdof.study.ask",
    "diagnose": "sixdof.study.ask",
    "explore": "sixdof.study.ask",
    "remedies": "sixdof.study.ask",
    "compare": "sixdof.study.ask",
}

__all__ = list(_HOMES)


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'sixdof' has no attribute {name!r}")

"""How far published derivatives lie from our estimates, over our own standard deviations, one airplane left out at a time.

Four airplanes from geometry: two of known tails, two whose tails are guesses and which are counted apart.  What was set
by the known two is set again without the airplane that is judged: the dynamic pressure at the tailplane, by damping
and elevator, within the handbook's .85 to .95 (Raymer, 16.3, from memory); and the sizes of all errors of lateral or
pitch terms together, so that the root mean square of the other's distances is one.  Of a normal error one standard deviation holds 68 %, two 95 %.

The published value is the middle where sets differ, though the sets of one airplane are then up to half of our
standard deviation off themselves.
"""

from __future__ import annotations

import math
from functools import cache, partial
from types import ModuleType
from typing import NamedTuple

import numpy as np

from sixdof.validation import minnesota_2017, navion_from_geometry, roskam_1995, virginia_tech
from sixdof.validation.chain import chain
from sixdof.validation.check import Check

__all__ = ["GUESSED", "KNOWN", "PARTS", "Calibration", "calibration", "misses"]

_MODULES: dict[str, ModuleType] = {
    "navion": navion_from_geometry, "roskam_a": roskam_1995, "virginia": virginia_tech, "minnesota": minnesota_2017,
}  # fmt: skip
#: Airplanes whose tails are known; those whose tails are guesses.
KNOWN, GUESSED = ("navion", "roskam_a"), ("virginia", "minnesota")
#: Coefficients of each part.
PARTS = {"lateral": ("CY", "Cl", "Cn"), "pitch": ("CL", "Cm")}
#: Terms that tell the dynamic pressure at the tailplane; what the estimate takes, the least and the most of it.
_TAILPLANE = ("Cmq", "CLde", "Cmde")
_PRESSURE, _LEAST, _MOST = 0.90, 0.85, 0.95
#: Percent held by one and by two standard deviations.
CLAIMED: tuple[tuple[float, float], ...] = ((55.0, 80.0), (90.0, 100.0))


class Calibration(NamedTuple):
    """Terms of some airplanes against our own standard deviations."""

    terms: int
    one: float
    """Percent within one."""
    two: float
    """Percent within two."""
    rms: float
    """Root mean square of the distances."""


def _published(module: ModuleType) -> dict[str, float]:
    return {term: float(np.mean(value)) for term, value in module.PUBLISHED.items()}


def misses(name: str, part: str, tailplane: float = 1.0) -> np.ndarray:
    """Distance of each published term from ours over our standard deviation, positive.

    tailplane : factor on what the tailplane adds
    """
    module = _MODULES[name]
    found, called = chain(name, module.CL, tailplane), getattr(module, "OURS", {})
    rows = [
        (value, *found[called.get(term, term)])
        for term, value in _published(module).items()
        if term[:2] in PARTS[part]
    ]
    value, ours, sigma = np.array(rows).T
    return np.abs(ours - value) / sigma


@cache
def _left_out(name: str, part: str) -> np.ndarray:
    """Misses of an airplane, its tailplane and the sizes of its errors set by the other known ones."""
    others = [other for other in KNOWN if other != name]
    ratios = [
        math.log(chain(other, _MODULES[other].CL)[term][0] / _published(_MODULES[other])[term])
        for other in others for term in _TAILPLANE
    ]  # fmt: skip
    pressure = min(max(_PRESSURE * math.exp(-float(np.mean(ratios))), _LEAST), _MOST)
    tailplane = pressure / _PRESSURE
    z = np.concatenate([misses(other, part, tailplane) for other in others])
    size = math.sqrt(float(np.sum(z**2)) / (len(z) - 1))  # one factor was fitted to them
    return misses(name, part, tailplane) / size


def calibration(*names: str, part: str, left_out: bool = True) -> Calibration:
    """Share of the terms of a part within one and two standard deviations.

    Parameters
    ----------
    names : str
        Airplanes, of :data:`KNOWN` and :data:`GUESSED`.
    part : str
        Of :data:`PARTS`.
    left_out : bool
        Whether what was set by the known airplanes is set without the one that is judged; else as it stands.
    """
    z = np.concatenate([(_left_out if left_out else misses)(name, part) for name in names])
    one, two = (100.0 * float(np.mean(z <= limit)) for limit in (1.0, 2.0))
    return Calibration(len(z), one, two, float(np.sqrt(np.mean(z**2))))


def checks() -> list[Check]:
    """Known tails: percent of the terms within one and two standard deviations, as the table stands and left out."""
    row = partial(Check, "Calibration of the estimate, Navion and Roskam A", tag="computed", unit="%")
    return [
        row(f"{part} within {sigmas} sigma, {said}", CLAIMED[i],
            lambda part=part, left=left, i=i: calibration(*KNOWN, part=part, left_out=left)[1 + i])
        for left, said in ((True, "one left out"), (False, "as it stands"))
        for part in PARTS for i, sigmas in enumerate(("1", "2"))
    ]  # fmt: skip

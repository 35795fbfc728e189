"""Navion from its geometry alone, against two published sets of derivatives.

Nelson, *Flight Stability and Automatic Control*, 2nd ed. 1998, App. B (second hand; CLa, CLq, Cma, Cmad,
CLde, Cmde, Cnda, Cldr from memory; copies have Cldr .0107 or .107); Seckel & Morris, FAA-RD-71-6, 1971 (second hand).  Geometry from memory:
``airplanes/navion.yaml``.  The sets are of the airplane in flight, ours is without propeller.

The two sets differ from each other by 10 to 40 %: the estimate should lie between them or within 30 % of the nearer.
"""

from __future__ import annotations

from functools import partial

from sixdof.validation.chain import geometry_checks
from sixdof.validation.check import Check

#: Lift coefficient of the sets.
CL = 0.41
# least, greatest of Nelson and Seckel & Morris
PUBLISHED: dict[str, float | tuple[float, float]] = {
    "CLa": (4.44, 6.04), "CLq": 3.8, "CLde": 0.355, "Cma": (-0.715, -0.683), "Cmq": (-13.39, -9.96), "Cmad": -4.36,
    "Cmde": -0.923, "CYb": (-0.61, -0.564), "CYdr": 0.157, "Clb": (-0.074, -0.067), "Clp": (-0.46, -0.410),
    "Clr": (0.069, 0.107), "Clda": (-0.152, -0.134), "Cldr": 0.0107, "Cnb": (0.071, 0.086), "Cnp": (-0.0575, -0.038),
    "Cnda": -0.0035, "Cnr": (-0.125, -0.088), "Cndr": (-0.075, -0.072),
}  # fmt: skip
_MEMORY = ("Cnda", "Cldr", "CLa", "CLq", "CLde", "Cma", "Cmad", "Cmde")
KNOWN = {
    "Cnda": "the set has ailerons that yaw into the roll, a fortieth of it; ours against it; half of our standard deviation",
    "Cldr": "a small term; copies differ by ten times; half of our standard deviation",
    "CLq": "the set counts the tailplane alone",
    "Cmad": "45 % too large, at one of our standard deviations",
}


def checks() -> list[Check]:
    """Derivatives from geometry."""
    row = partial(Check, "Navion from geometry, Nelson 1998, Seckel & Morris 1971")
    memory = {term: value for term, value in PUBLISHED.items() if term in _MEMORY}
    read = {term: value for term, value in PUBLISHED.items() if term not in _MEMORY}
    return [
        *geometry_checks(partial(row, tag="memory"), "navion", CL, memory, KNOWN),
        *geometry_checks(partial(row, tag="second hand"), "navion", CL, read, KNOWN),
    ]

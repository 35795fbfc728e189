"""Pitching moment of bodies with a wing, by where the wing sits.

Gilruth & White, Analysis and prediction of longitudinal stability of airplanes, NACA TR 711, 1941: Cma = K w^2 L/(S c);
form that of Raymer, Eq. 16.25, second hand, values from memory.
"""

from __future__ import annotations

from functools import partial

from sixdof.estimate.body import DOUBT
from sixdof.validation.bodies import CHORD, DIAMETER, LENGTH, S, airplane, slope, tapered
from sixdof.validation.check import Check

# quarter point of the root chord over the length: K
TABLE = {0.1: 0.115, 0.2: 0.172, 0.3: 0.344, 0.4: 0.487, 0.5: 0.688, 0.6: 0.888}
KNOWN = {0.2: "35 % more: a blunt nose ahead of the wing; models do not have their wings there"}


def _number(quarter: float) -> float:
    plane = airplane(tapered, quarter=quarter, chord=0.385)
    return slope(plane, "Cm", "alpha", part="pitch") * S * CHORD / (DIAMETER**2 * LENGTH)


def checks() -> list[Check]:
    """K by where the wing sits."""
    row = partial(Check, "Body with a wing, Gilruth & White 1941", tag="memory", share=DOUBT["pitch"])
    why = "the doubt that we give this part"
    return [
        row(
            f"wing at {100.0 * quarter:g} %: K",
            K,
            partial(_number, quarter),
            why=why,
            known=KNOWN.get(quarter, ""),
        )
        for quarter, K in TABLE.items()
    ]

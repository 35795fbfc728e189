"""One published number against ours."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

__all__ = ["Check", "mode_checks"]

#: Where a published number is from: read in the source, read where somebody else has it, remembered, computed by a
#: program written for the check, or what flyers say (common practice, no source).
Tag = Literal["read", "second hand", "memory", "computed", "practice"]


@dataclass(frozen=True)
class Check:
    """A published number, and how to find ours.

    Attributes
    ----------
    source : str
        Author, year and what, as the table heads it.
    item : str
        What the number is.
    published : float or (float, float)
        The number, or the least and the greatest of what several sources say.
    find : callable, or float
        Gives our number; called once, when it is asked for.
    tag : Tag
    unit : str
    within, share : float
        Tolerance: an absolute amount, and a share of the size of the published number.
    why : str
        Why the tolerance is wider than the printed digits.
    known : str
        Why the tolerance is not met: a finding that is shown and does not fail the whole.
    """

    source: str
    item: str
    published: float | tuple[float, float]
    find: Callable[..., Any] | float
    tag: Tag
    unit: str = ""
    within: float = 0.0
    share: float = 0.0
    why: str = ""
    known: str = ""

    @cached_property
    def ours(self) -> float:
        """Our number; NaN where the model found none."""
        try:
            return float(self.find() if callable(self.find) else self.find)
        except ArithmeticError:
            return math.nan

    @property
    def nearest(self) -> float:
        """The published number, of several the one nearest to ours."""
        if not isinstance(self.published, tuple):
            return float(self.published)
        low, high = self.published
        return min(max(self.ours, low), high)

    @property
    def difference(self) -> float:
        """Ours less the nearest published."""
        return self.ours - self.nearest

    @property
    def tolerance(self) -> float:
        """Largest difference that passes, in the unit of the item."""
        return self.within + self.share * abs(self.nearest)

    @property
    def passed(self) -> bool:
        """Ours is the published number, within the tolerance."""
        return bool(abs(self.difference) <= self.tolerance)

    @property
    def known_miss(self) -> bool:
        """Not met, for a reason that is told."""
        return bool(self.known) and not self.passed

    @property
    def missed(self) -> bool:
        """A miss that nobody has explained."""
        return not self.passed and not self.known

    def __str__(self) -> str:
        return self.item


def mode_checks(
    row: Callable[..., Check],
    found: Callable[[], Mapping[str, complex]],
    published: Mapping[str, complex],
    *,
    share: float,
    special: Mapping[str, float] | None = None,
    prefix: str = "",
    **more: str,
) -> list[Check]:
    """Eigenvalues within a share of their size: one row for a real root, two for a pair.

    Parameters
    ----------
    row : callable
        Makes a check: item, published, find and keywords.
    found : callable
        Gives our modes by name; called often.
    published : dict of complex [1/s]
    share : float
        Of abs(lambda), for the complex difference; ``special`` sets another one for a mode.
    more : keywords of every check.
    """
    rows = []
    for name, value in published.items():
        limit = (special or {}).get(name, share) * abs(value)

        def part(which: str, name: str = name) -> float:
            modes = found()
            return getattr(modes[name], which) if name in modes else math.nan

        if not isinstance(value, complex):
            rows.append(
                row(
                    f"{prefix}{name}", value, lambda part=part: part("real"), unit="1/s", within=limit, **more
                )
            )
            continue
        each = limit / math.sqrt(2.0)
        for which, said, unit in (("real", "dies out", "1/s"), ("imag", "swings", "rad/s")):
            rows.append(
                row(f"{prefix}{name} {said}", getattr(value, which), lambda part=part, which=which: part(which),
                    unit=unit, within=each, **more)
            )  # fmt: skip
    return rows

"""Every published value that `sixdof validate` shows, and those that take too long for it."""

from __future__ import annotations

import math

import pytest

from sixdof.validation.check import Check
from sixdof.validation.registry import MODULES, checks_of

ALL = [
    pytest.param(check, id=f"{module}-{check.item}")
    for module in MODULES
    for check in checks_of(module, all_of_them=True)
]


@pytest.mark.parametrize("check", ALL)
def test_published(check: Check):
    """Within the tolerance; a known miss still misses, else its remark is to be taken away."""
    both = (
        f"{check.source}: {check.item}: ours {check.ours:.10g}, published {check.published} {check.unit} "
        f"({check.tag}), off {check.difference:.3g}, tolerance {check.tolerance:.3g}"
    )
    assert math.isfinite(check.ours), both
    if check.known:
        assert not check.passed, f"{both}; no longer a miss, yet remarked: {check.known}"
    else:
        assert check.passed, both


def _last_digit(number: float) -> float:
    """Of a number as it is printed."""
    text, _, power = repr(float(number)).partition("e")
    places = len(text.partition(".")[2].rstrip("0"))
    return 10.0 ** (int(power or 0) - places)


def test_wide_tolerances_have_a_reason():
    """More than the last printed digit, or than 1e-5 of a number worked out in full, only with a reason beside it."""
    bare = []
    for check in (param.values[0] for param in ALL):
        numbers = check.published if isinstance(check.published, tuple) else (check.published,)
        narrow = max(max(_last_digit(number), 1e-5 * abs(number)) for number in numbers)
        if check.tolerance > 1.0001 * narrow and not (check.why or check.known):
            bare.append(f"{check.source}: {check.item}: {check.tolerance:.3g}, printed to {narrow:.3g}")
    assert not bare, "\n".join(bare)


def test_items_are_told_apart():
    names = [(p.values[0].source, p.values[0].item) for p in ALL]
    assert len(set(names)) == len(names), sorted({name for name in names if names.count(name) > 1})

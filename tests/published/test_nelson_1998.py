"""The Navion's modes would show a wrong derivative: ``sixdof/validation/nelson_1998.py``."""

from __future__ import annotations

import pytest

from sixdof.validation.nelson_1998 import computed_checks, navion


@pytest.mark.parametrize(
    "without", ["Cma", "Cmad", "Cmq", "CLa", "CD0", "CDa", "CYb", "Clb", "Clp", "Clr", "Cnb", "Cnr", "Cnp"]
)
def test_nelson_1998_navion_needs_every_derivative(without):
    """A fifth less of any one derivative shows: the computed column could not agree by luck."""
    checks = computed_checks(**{without: 0.8 * navion(Cnb=0.071)[without]})
    assert not all(check.passed for check in checks)

"""A section of 10 % with much camber at low Reynolds numbers, the SG6043.

Lyon, Broeren, Giguere, Gopalarathnam & Selig, Summary of low-speed airfoil data, vol. 3, 1998 (summary of its data
read); highest cl within the drag runs.  Its camber, 5.5 %, is from memory.
"""

from __future__ import annotations

import pytest
from support import agree

from sixdof.estimate.section import section

SOURCE = "LSATs vol. 3 (summary)"
# Reynolds number: cl_max, cd_min
TABLE = {
    1.0e5: (1.43, 0.0218), 1.5e5: (1.54, 0.0173), 2.0e5: (1.54, 0.0143),
    3.0e5: (1.61, 0.0106), 4.0e5: (1.61, 0.0088), 5.0e5: (1.63, 0.0080),
}  # fmt: skip


@pytest.mark.parametrize("reynolds", TABLE)
def test_highest_lift(reynolds):
    """8 %: ours grows more evenly."""
    agree("cl_max", section(0.10, 0.055, reynolds).cl_max, TABLE[reynolds][0], share=0.08, source=SOURCE)


@pytest.mark.parametrize("reynolds", TABLE)
def test_least_drag(reynolds):
    """13 %: its laminar bubble fades faster than our power law."""
    agree("cd_min", section(0.10, 0.055, reynolds).cd_min, TABLE[reynolds][1], share=0.13, source=SOURCE)

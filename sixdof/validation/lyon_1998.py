"""A section of 10 % with much camber at low Reynolds numbers, the SG6043.

Lyon, Broeren, Giguere, Gopalarathnam & Selig, Summary of low-speed airfoil data, vol. 3, 1998 (summary of its data
read); highest cl within the drag runs.  Its camber, 5.5 %, is from memory.
"""

from __future__ import annotations

from functools import partial

from sixdof.estimate.section import section
from sixdof.validation.check import Check

# Reynolds number: cl_max, cd_min
TABLE = {
    1.0e5: (1.43, 0.0218), 1.5e5: (1.54, 0.0173), 2.0e5: (1.54, 0.0143),
    3.0e5: (1.61, 0.0106), 4.0e5: (1.61, 0.0088), 5.0e5: (1.63, 0.0080),
}  # fmt: skip


def checks() -> list[Check]:
    """Highest lift and least drag by Reynolds number."""
    row = partial(Check, "Section SG6043, Lyon et al. 1998", tag="read")
    rows = []
    for reynolds, (highest, least) in TABLE.items():
        made = section(0.10, 0.055, reynolds)
        why = "ours grows more evenly"
        rows.append(row(f"Re {reynolds:.2g}: cl_max", highest, made.cl_max, share=0.08, why=why))
        why = "its laminar bubble fades faster than our power law"
        rows.append(row(f"Re {reynolds:.2g}: cd_min", least, made.cd_min, share=0.13, why=why))
    return rows

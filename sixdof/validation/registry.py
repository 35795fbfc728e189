"""All sources there are."""

from __future__ import annotations

import math
from importlib import import_module
from typing import Any

from sixdof.validation.check import Check

__all__ = ["MODULES", "checks_by_source", "checks_of", "validation_object"]

#: Modules of this folder, each with ``checks()``: author and year, or what they are about; in the order shown.
MODULES = (
    "coesa_1976",
    "murri_2015",
    "mil_f_8785c",
    "closed_forms",
    "nelson_1998",
    "etkin_reid_1996",
    "virginia_tech",
    "minnesota_2017",
    "graesdal_2021",
    "beard_mclain_2012",
    "roskam_1995",
    "drift_hands_off",
    "lattice_wings",
    "lattice_controls",
    "tail_in_swirl",
    "lamb_1932",
    "munk_1924",
    "multhopp_1942",
    "gilruth_white_1941",
    "raymer_1992",
    "datcom_1978",
    "sheldahl_klimas_1981",
    "lyon_1998",
    "pelletier_mueller_2000",
    "uiuc_propellers",
    "uiuc_propeller_estimate",
    "navion_from_geometry",
    "calibration",
)


def checks_of(module: str, *, all_of_them: bool = False) -> list[Check]:
    """Checks of one module; those that take long (``more_checks``) if all are asked for."""
    loaded = import_module(f"sixdof.validation.{module}")
    found: list[Check] = loaded.checks()
    if all_of_them and hasattr(loaded, "more_checks"):
        found += loaded.more_checks()
    return found


def checks_by_source() -> dict[str, list[Check]]:
    """Every source by its title, with its checks."""
    found: dict[str, list[Check]] = {}
    for module in MODULES:
        for check in checks_of(module):
            found.setdefault(check.source, []).append(check)
    return found


def validation_object(sources: dict[str, list[Check]]) -> dict[str, Any]:
    """All checks as one JSON object."""
    checks = [check for rows in sources.values() for check in rows]
    return {
        "schema": 1,
        "passed": not any(check.missed for check in checks),
        "sources": len(sources),
        "missed": sum(check.missed for check in checks),
        "known_misses": sum(check.known_miss for check in checks),
        "items": [_item(check) for check in checks],
    }


def _item(check: Check) -> dict[str, Any]:
    several = isinstance(check.published, tuple)
    row = {
        "source": check.source,
        "item": check.item,
        "published": list(check.published) if isinstance(check.published, tuple) else float(check.published),
        "ours": _finite(check.ours),
        "difference": _finite(check.difference),
        "tolerance": _finite(check.tolerance),
        "unit": check.unit,
        "tag": check.tag,
        "passed": check.passed,
    }
    if several:
        row["nearest"] = _finite(check.nearest)
    if check.why:
        row["why"] = check.why
    if check.known_miss:
        row["known"] = check.known
    return row


def _finite(number: float) -> float | None:
    return number if math.isfinite(number) else None

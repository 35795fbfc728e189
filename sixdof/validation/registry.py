"""All sources there are."""

from __future__ import annotations

from importlib import import_module

from sixdof.validation.check import Check

__all__ = ["MODULES", "checks_by_source", "checks_of"]

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
)


def checks_of(module: str, *, all_of_them: bool = False) -> list[Check]:
    """Checks of one module; those that take long (``more_checks``) if all are wanted."""
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

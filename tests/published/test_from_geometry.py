"""Estimates of four published airplanes against what our own doubt says of them."""

from __future__ import annotations

import pytest
from support import agree

from sixdof.validation import minnesota_2017, navion_from_geometry, roskam_1995, virginia_tech
from sixdof.validation.chain import chain


def _cases():
    """Airplane, lift coefficient, term, least and greatest published, standard deviations."""
    for name, module, terms, sigmas in (
        ("navion", navion_from_geometry, set(navion_from_geometry.PUBLISHED) - {"CLq"}, 2.0),
        ("roskam_a", roskam_1995, set(roskam_1995.PUBLISHED) - {"Cma"}, 2.0),
        ("minnesota", minnesota_2017, minnesota_2017.OF_THE_WING, 2.0),
        ("virginia", virginia_tech, virginia_tech.OF_THE_WING, 2.0),
    ):
        for term in sorted(terms):
            value = module.PUBLISHED[term]
            ends = value if isinstance(value, tuple) else (value, value)
            yield pytest.param(name, module.CL, term, *ends, sigmas, id=f"{name}-{term}")


@pytest.mark.parametrize(("name", "CL", "term", "low", "high", "sigmas"), [*_cases()])
def test_within_our_doubt(name, CL, term, low, high, sigmas):
    found, sigma = chain(name, CL)[term]
    nearest = min(max(found, low), high)
    agree(f"{term}, sigma {sigma:.3g}", found, nearest, within=sigmas * sigma, source=f"{low} to {high}")


def test_doubt_is_of_the_size_of_the_misses():
    """Navion: root mean square of (estimate - middle of the sets)/sigma: neither boasting nor hiding."""
    table = chain("navion", navion_from_geometry.CL)
    scaled = []
    for term, value in navion_from_geometry.PUBLISHED.items():
        if term != "CLq":
            middle = sum(value) / 2.0 if isinstance(value, tuple) else value
            scaled.append(((table[term][0] - middle) / table[term][1]) ** 2)
    agree("rms of misses over sigma", (sum(scaled) / len(scaled)) ** 0.5, 0.85, within=0.35)

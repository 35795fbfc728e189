"""Hinged surfaces and end plates by vortex lattice.

Thin-aerofoil theory: Glauert, R&M 1095, 1927, and NACA TR 721 (memory; values computed from the formula).
Wings and fins of finite span: an independent lattice (computed).  Mean chord 1 m, per rad.
"""

from __future__ import annotations

import pytest
from planforms import derivative, fin, wing
from support import agree

GLAUERT = "thin-aerofoil theory, Glauert 1927 (memory, computed)"
COMPUTED = "independent lattice (computed)"

# share of the chord behind the hinge: tau, -dCm_c/4/ddelta
HINGE = {
    0.10: (0.396, 0.540),
    0.15: (0.481, 0.607),
    0.20: (0.550, 0.640),
    0.25: (0.609, 0.650),
    0.30: (0.661, 0.642),
    0.35: (0.707, 0.620),
    0.40: (0.748, 0.588),
    0.45: (0.785, 0.547),
    0.50: (0.818, 0.500),
    0.60: (0.876, 0.392),
}


@pytest.mark.parametrize("share", HINGE)
@pytest.mark.parametrize("chordwise", [1, 2, 5])
def test_two_dimensional_flap(share, chordwise):
    """A wing of A 1000: tau to 0.3 %, moment to 4 % (what a span of 1000 chords still lacks), any panels."""
    lattice = wing(1000.0, strips=10, chordwise=chordwise, flap=("flap", share, 0.0, 1.0))
    ratio = derivative(lattice, "CL", "df") / derivative(lattice, "CL", "alpha")
    agree("tau", ratio, HINGE[share][0], share=0.003, source=GLAUERT)
    if chordwise > 1:
        agree("Cm", derivative(lattice, "Cm", "df"), -HINGE[share][1], share=0.04, source=GLAUERT)


@pytest.mark.parametrize("share", HINGE)
def test_flap_ratio_at_high_aspect_ratio(share):
    """A 10: CL_delta/CL_alpha within 4 % of tau."""
    lattice = wing(10.0, flap=("flap", share, 0.0, 1.0))
    ratio = derivative(lattice, "CL", "df") / derivative(lattice, "CL", "alpha")
    agree("CL_delta/CL_alpha", ratio, HINGE[share][0], share=0.04, source=GLAUERT)


RATIO = {  # A: CL_delta/CL_alpha at .2, .3, .4, .5
    1.0: (0.711, 0.806, 0.869, 0.914),
    1.5: (0.658, 0.760, 0.832, 0.885),
    2.0: (0.630, 0.734, 0.811, 0.869),
    3.0: (0.602, 0.709, 0.789, 0.852),
    6.0: (0.577, 0.685, 0.769, 0.835),
}


@pytest.mark.parametrize("aspect", RATIO)
def test_flap_ratio_at_low_aspect_ratio(aspect):
    """It exceeds tau: 2 %."""
    for share, value in zip((0.2, 0.3, 0.4, 0.5), RATIO[aspect], strict=True):
        lattice = wing(aspect, flap=("flap", share, 0.0, 1.0))
        ratio = derivative(lattice, "CL", "df") / derivative(lattice, "CL", "alpha")
        agree(f"A {aspect}, flap {share}", ratio, value, share=0.02, source=COMPUTED)


@pytest.mark.parametrize(
    ("taper", "low", "high", "value"),
    [
        (1.0, 0.1, 1.0, 0.474),
        (1.0, 0.4, 1.0, 0.381),
        (1.0, 0.5, 0.95, 0.309),
        (0.5, 0.1, 1.0, 0.443),
        (0.5, 0.4, 1.0, 0.354),
        (0.5, 0.5, 0.95, 0.286),
    ],
)
def test_aileron(taper, low, high, value):
    """A 6, hinge at .25, both ailerons: 2 % with 24 strips (the last one ends where the aileron does)."""
    lattice = wing(6.0, taper=taper, strips=24, flap=("aileron", 0.25, low, high))
    agree("Cl_delta", derivative(lattice, "Cl", "da"), -value, share=0.02, source=COMPUTED)


def test_fin_with_end_plate():
    """Fin of A 1.33: -1.85 alone, -2.73 to -2.80 on a tailplane, -2.95 with its image, 1.00 at mid-fin.

    Root strips of 0.19 chords, tailplane of 2 to 3.5 fin heights; 2 %.
    """
    height = 1.33
    alone = derivative(fin(height), "CY", "beta")
    agree("alone", alone, -1.85, share=0.02, source=COMPUTED)
    for heights in (2.0, 3.5):
        found = derivative(fin(height, tailplane=heights * height), "CY", "beta")
        agree(f"on a tailplane of {heights} heights", found, -2.765, within=0.035, source=COMPUTED)
    image = derivative(fin(height, mirrored=True), "CY", "beta")
    agree("with its image", image, -2.95, share=0.02, source=COMPUTED)
    middle = derivative(fin(height, strips=8, tailplane=2.5 * height, at=height / 2.0), "CY", "beta")
    agree("tailplane at mid-fin", middle / derivative(fin(height, strips=8), "CY", "beta"), 1.0, within=0.01,
          source=COMPUTED)  # fmt: skip

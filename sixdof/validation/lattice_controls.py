"""Hinged surfaces and end plates by vortex lattice.

Thin-aerofoil theory: Glauert, R&M 1095, 1927, and NACA TR 721 (memory; values computed from the formula).  Wings and
fins of finite span: an independent lattice (computed).  Mean chord 1 m, per rad.
"""

from __future__ import annotations

from functools import cache, partial

from sixdof.validation.check import Check
from sixdof.validation.planforms import derivative, fin, wing

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
SHARES = (0.2, 0.3, 0.4, 0.5)
RATIO = {  # A: CL_delta/CL_alpha at these shares
    1.0: (0.711, 0.806, 0.869, 0.914),
    1.5: (0.658, 0.760, 0.832, 0.885),
    2.0: (0.630, 0.734, 0.811, 0.869),
    3.0: (0.602, 0.709, 0.789, 0.852),
    6.0: (0.577, 0.685, 0.769, 0.835),
}
# taper, from, to (of the half span): -Cl_delta of A 6, hinge at .25, both ailerons
AILERONS = {
    (1.0, 0.1, 1.0): 0.474,
    (1.0, 0.4, 1.0): 0.381,
    (1.0, 0.5, 0.95): 0.309,
    (0.5, 0.1, 1.0): 0.443,
    (0.5, 0.4, 1.0): 0.354,
    (0.5, 0.5, 0.95): 0.286,
}
#: Fin of A 1.33: CY_beta alone, on a tailplane of 2 to 3.5 fin heights (least, greatest), with its image.
FIN_HEIGHT = 1.33
ALONE, ON_TAILPLANE, IMAGE = -1.85, (-2.80, -2.73), -2.95
#: ... and over that of the fin alone with a tailplane at mid-fin.
MID_FIN = 1.00

_glauert = partial(Check, "Hinged surfaces, thin-aerofoil theory, Glauert 1927", tag="memory")
_computed = partial(Check, "Hinged surfaces and fins by an independent lattice", tag="computed")


@cache
def _flapped(aspect: float, share: float, chordwise: int = 5, strips: int = 12) -> tuple[float, float]:
    """CL_delta/CL_alpha, Cm_delta."""
    lattice = wing(aspect, strips=strips, chordwise=chordwise, flap=("flap", share, 0.0, 1.0))
    return derivative(lattice, "CL", "df") / derivative(lattice, "CL", "alpha"), derivative(
        lattice, "Cm", "df"
    )


@cache
def _fin(**more: float) -> float:
    return derivative(fin(FIN_HEIGHT, **more), "CY", "beta")  # type: ignore[arg-type]


def checks() -> list[Check]:
    """Flaps of wings very long and short, ailerons, a fin with end plates."""
    return [*_two_dimensional(2), *_short((2.0,)), *_ailerons(), *_fins()]


def more_checks() -> list[Check]:
    """Other numbers of panels and aspect ratios."""
    return [*_two_dimensional(5), *_two_dimensional(1), *_long(), *_short((1.0, 1.5, 3.0, 6.0))]


def _two_dimensional(chordwise: int) -> list[Check]:
    """A wing of A 1000: tau to 0.3 %, moment to 4 %, any panels."""
    rows = []
    for share, (tau, moment) in HINGE.items():
        flapped = partial(_flapped, 1000.0, share, chordwise, 10)
        said = f"{100.0 * share:.0f} % chord, {chordwise} panels"
        rows.append(
            _glauert(
                f"{said}: effectiveness",
                tau,
                lambda f=flapped: f()[0],
                share=0.003,
                why="a span of 1000 chords",
            )
        )
        if chordwise > 1:
            why = "what a span of 1000 chords still lacks"
            rows.append(_glauert(f"{said}: moment", -moment, lambda f=flapped: f()[1], share=0.04, why=why))
    return rows


def _long() -> list[Check]:
    why = "a wing of A 10 against two dimensions"
    return [
        _glauert(f"{100.0 * share:.0f} % chord, A 10: effectiveness", tau, lambda s=share: _flapped(10.0, s)[0],
                 share=0.04, why=why)
        for share, (tau, _) in HINGE.items()
    ]  # fmt: skip


def _short(aspects: tuple[float, ...]) -> list[Check]:
    """At low aspect ratio it exceeds tau: 2 %."""
    why = "a lattice of another build"
    return [
        _computed(f"flap of {100.0 * s:.0f} % chord, A {A:g}: effectiveness", value,
                  lambda A=A, s=s: _flapped(A, s)[0], share=0.02, why=why)
        for A in aspects
        for s, value in zip(SHARES, RATIO[A], strict=True)
    ]  # fmt: skip


def _ailerons() -> list[Check]:
    """2 % with 24 strips (the last one ends where the aileron does)."""

    def roll(taper: float, low: float, high: float) -> float:
        return derivative(wing(6.0, taper=taper, strips=24, flap=("aileron", 0.25, low, high)), "Cl", "da")

    return [
        _computed(f"ailerons {low:g} to {high:g}, taper {taper:g}: roll", -value, partial(roll, taper, low, high),
                  share=0.02, why="a lattice of another build")
        for (taper, low, high), value in AILERONS.items()
    ]  # fmt: skip


def _fins() -> list[Check]:
    """Root strips of 0.19 chords."""
    why = "a lattice of another build"
    rows = [_computed("fin alone: CYb", ALONE, lambda: _fin(), share=0.02, why=why)]
    for heights in (2.0, 3.5):
        find = partial(_fin, tailplane=heights * FIN_HEIGHT)
        rows.append(
            _computed(
                f"fin on a tailplane of {heights:g} heights: CYb", ON_TAILPLANE, find, within=0.001, why=why
            )
        )
    rows.append(_computed("fin with its image: CYb", IMAGE, lambda: _fin(mirrored=True), share=0.02, why=why))

    def middle() -> float:
        return _fin(strips=8, tailplane=2.5 * FIN_HEIGHT, at=FIN_HEIGHT / 2.0) / _fin(strips=8)

    rows.append(_computed("tailplane at mid-fin: CYb over alone", MID_FIN, middle, within=0.01, why=why))
    return rows

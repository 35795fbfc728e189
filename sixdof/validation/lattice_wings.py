"""Wings by vortex lattice: lift, moment, drag, roll damping, dihedral, downwash.

Tags: (read) in the source itself, (second hand) in notes or data files quoting it, (memory) not read again, (computed)
by an independent lattice or lifting-line program written for these checks.  Mean chord 1 m, per rad, section slope
2 pi, the working lattice of 12 x 5 on a half wing unless said.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache, partial
from typing import Any

import numpy as np

from sixdof.estimate.lattice import Conditions, Lattice, induced_velocity, solve
from sixdof.validation.check import Check
from sixdof.validation.planes import DEG
from sixdof.validation.planforms import STEP, derivative, ellipse, outline, wing

#: Bertin & Smith, Aerodynamics for Engineers, example 7.2 (memory): lift slope, Gamma/(4 pi b V alpha).
BERTIN = (1.096 * math.pi, (0.0273, 0.0287, 0.0286, 0.0250))
#: Weber & Brebner, ARC R&M 2882, 1958 (memory): CL at 6.3 deg of the same wing, 12 % thick, measured.
WEBER = (0.350, 6.3)
#: Warren-12, Margason & Lamar, NASA TN D-6142, 1971 (memory): CL_alpha, Cm_alpha about the apex.
WARREN = (2.743, -3.10)
#: Exact lifting surface, Tuck, J. Austral. Math. Soc. B 35, 1993 (memory): A, CL_alpha of a rectangle.
TUCK = {1.0: 1.4602, 2.0: 2.474}
#: Strips of a half wing at A 2: CL_alpha with tips inset, without.
INSET = {5: (2.464, 2.670), 10: (2.469, 2.572), 20: (2.471, 2.522)}
#: A: CL_alpha of a rectangle, extrapolated.
RECTANGLES = {3: 3.148, 4: 3.615, 5: 3.957, 6: 4.218, 8: 4.589, 10: 4.841}
#: Elliptic wing of A 6: CL_alpha; roll damping by lifting line.
ELLIPSE, LIFTING_LINE = 4.400, -0.4712
#: Swanson & Priddy, NACA ARR L5F23, 1945 (first page read): lifting surface over lifting line.
SWANSON = 0.87
#: A, section slope over 2 pi.
SLOPES = ((2.0, 0.9), (6.0, 0.9), (6.0, 1.1), (40.0, 0.9))
ROLL_DAMPING = {  # taper: Clp at A 2, 3, 4, 5, 6, 8, 10
    1.0: (-0.190, -0.270, -0.337, -0.393, -0.441, -0.518, -0.577),
    0.5: (-0.188, -0.264, -0.326, -0.378, -0.420, -0.487, -0.537),
    0.25: (-0.184, -0.254, -0.311, -0.356, -0.394, -0.451, -0.492),
}
DIHEDRAL = {  # taper: Cl_beta over dihedral at A 3, 4, 5, 6, 8, 10, alpha 0
    1.0: (-0.458, -0.569, -0.660, -0.737, -0.857, -0.947),
    0.5: (-0.448, -0.553, -0.638, -0.709, -0.819, -0.899),
}
#: Raymer p. 599 (second hand): Cl_beta per deg of sideslip and of dihedral at A 6.
RULE = -2.2e-4
#: CY_beta over dihedral^2 at A 6.
SIDE_FORCE = -2.8
#: A: Cl_beta/CL of a straight wing, the wake along the wind.
SIDESLIP = {4.0: -0.137, 6.0: -0.076, 8.0: -0.048}
DOWNWASH = {  # A, taper: de/dalpha, mean over the middle 0.3 of the span
    (5.0, 1.0): (0.509, 0.474, 0.420, 0.335, 0.399),
    (6.0, 1.0): (0.440, 0.410, 0.366, 0.294, 0.347),
    (6.0, 0.5): (0.537, 0.506, 0.428, 0.328, 0.408),
    (8.0, 0.5): (0.436, 0.412, 0.348, 0.267, 0.332),
}
BEHIND_ABOVE = ((0.35, 0.03), (0.45, 0.03), (0.45, 0.10), (0.45, 0.20), (0.60, 0.10))  # over the span

_WAKE = "a lattice of another build; converged to about 1 %"


def _lift(lattice: Callable[..., Lattice], *args: Any, **more: Any) -> Callable[[], float]:
    return lambda: derivative(lattice(*args, **more), "CL", "alpha")


def checks() -> list[Check]:
    """Textbook lattices and exact wings; roll damping, dihedral and downwash at a few aspect ratios."""
    return [*_lattices(), *_slopes((3, 6, 10)), *_ellipse(), *_damping((6,)), *_dihedral((6,)),
            *_yaw_rate(), *_yaw_of_roll(), *_downwash(((6.0, 1.0), (6.0, 0.5)))]  # fmt: skip


def more_checks() -> list[Check]:
    """The rest of the tables."""
    return [
        *_slopes((4, 5, 8)), *_damping((2, 3, 4, 5, 8, 10)), *_dihedral((3, 4, 5, 8, 10)), *_downwash(((5.0, 1.0), (8.0, 0.5))),
        *_inset(), *_sections(), *_sideslip(),
    ]  # fmt: skip


def warren() -> Lattice:
    """A 2 sqrt 2, leading edge swept 53.54 deg."""
    half, n = math.sqrt(2.0), 12
    y = half * np.arange(n + 1) / (n + 0.25)
    return outline(2.0 * half, y, 1.5 - y / half, -math.tan(53.54 * DEG) * y)


@cache
def _bertin() -> tuple[float, ...]:
    """Swept 45 deg, A 5, 4 panels on a half wing, legs to the tip."""
    lattice = wing(5.0, sweep=45.0 * DEG, strips=4, chordwise=1, inset=False)
    gamma = solve(lattice, Conditions(alpha=STEP)).circulation[0, 4:] / (4.0 * math.pi * 5.0 * STEP)
    return derivative(lattice, "CL", "alpha"), *gamma


def _lattices() -> list[Check]:
    row = partial(Check, "Swept wing of 4 panels, Bertin & Smith, example 7.2", tag="memory")
    rows = [row("lift slope", BERTIN[0], lambda: _bertin()[0], share=0.002, why="1.096 pi is printed")]
    rows += [
        row(f"circulation {i + 1}", value, lambda i=i: _bertin()[i + 1], within=5e-5)
        for i, value in enumerate(BERTIN[1])
    ]
    swept = _lift(wing, 5.0, sweep=45.0 * DEG)
    rows.append(
        Check("Swept wing measured, Weber & Brebner 1958", "lift slope", WEBER[0] / math.sin(WEBER[1] * DEG), swept,
              "memory", share=0.04, why="measured on a thick wing; a lattice has none")
    )  # fmt: skip
    row = partial(Check, "Warren-12 wing, Margason & Lamar 1971", tag="memory", share=0.015)
    why = "12 strips; 0.5 % once extrapolated"
    rows.append(row("lift slope", WARREN[0], _lift(warren), why=why))
    rows.append(row("moment slope", WARREN[1], lambda: derivative(warren(), "Cm", "alpha"), why=why))
    row = partial(Check, "Rectangular wings, exact, Tuck 1993", tag="memory", share=0.005)
    return rows + [
        row(f"lift slope, A {A:g}", slope, _lift(wing, A), why="a lattice of 12 x 5")
        for A, slope in TUCK.items()
    ]


_computed = partial(Check, "Wings by an independent lattice", tag="computed")


def _slopes(aspects: tuple[int, ...]) -> list[Check]:
    why = "a lattice of 12 x 5 against one extrapolated"
    return [
        _computed(f"lift slope, A {A}", RECTANGLES[A], _lift(wing, float(A)), share=0.005, why=why)
        for A in aspects
    ]


def _ellipse() -> list[Check]:
    """A 6: lift; induced drag CL^2/(pi A), Munk 1921 (textbook); roll damping."""

    def drag() -> float:
        CL, CD = solve(ellipse(6.0), Conditions(alpha=0.08)).total[0, :2]
        return float(math.pi * 6.0 * CD / CL**2)

    def damping() -> float:
        return derivative(ellipse(6.0), "Cl", "phat") / LIFTING_LINE

    return [
        _computed("elliptic wing: lift slope", ELLIPSE, _lift(ellipse, 6.0), share=0.01, why=_WAKE),
        Check("Elliptic wing, Munk 1921 (textbook)", "induced drag, pi A CD/CL^2", 1.0, drag, "memory", within=0.005,
              why="strips instead of an ellipse"),
        Check("Roll damping, Swanson & Priddy 1945", "Clp over lifting line, elliptic", SWANSON, damping, "read",
              share=0.02, why="13 percent is printed"),
    ]  # fmt: skip


def _roll_damping(aspect: float, taper: float) -> float:
    return derivative(wing(aspect, taper=taper), "Cl", "phat")


def _damping(aspects: tuple[int, ...]) -> list[Check]:
    rows = []
    for taper, values in ROLL_DAMPING.items():
        for A, value in zip((2, 3, 4, 5, 6, 8, 10), values, strict=True):
            if A in aspects:
                find = partial(_roll_damping, float(A), taper)
                rows.append(_computed(f"Clp, A {A}, taper {taper:g}", value, find, share=0.02, why=_WAKE))
    return rows


@cache
def _per_dihedral(aspect: float, taper: float, unit: float = 1.0) -> float:
    return derivative(wing(aspect, taper=taper, dihedral=DEG), "Cl", "beta") / DEG * unit


def _side_force() -> float:
    return derivative(wing(6.0, dihedral=5.0 * DEG), "CY", "beta") / (5.0 * DEG) ** 2


def _dihedral(aspects: tuple[int, ...]) -> list[Check]:
    rows = []
    for taper, values in DIHEDRAL.items():
        for A, value in zip((3, 4, 5, 6, 8, 10), values, strict=True):
            if A in aspects:
                find = partial(_per_dihedral, float(A), taper)
                rows.append(
                    _computed(
                        f"Clb over dihedral, A {A}, taper {taper:g}", value, find, share=0.02, why=_WAKE
                    )
                )
    if 6 in aspects:
        rule = partial(Check, "Dihedral rule of thumb, Raymer p. 599", tag="second hand", share=0.06)
        for taper in DIHEDRAL:
            per_degree = partial(_per_dihedral, 6.0, taper, DEG**2)
            rows.append(rule(f"Clb per deg^2, A 6, taper {taper:g}", RULE, per_degree, why="a rule of thumb"))
        rows.append(_computed("CYb over dihedral^2, A 6", SIDE_FORCE, _side_force, share=0.02, why=_WAKE))
    return rows


@cache
def lateral(lattice: Callable[[float], Lattice], aspect: float) -> dict[str, float]:
    """Clr, Cnp and the others in stability axes, and the CL at which."""
    surface, alpha, h = lattice(aspect), 0.08, np.array([-STEP, STEP])
    ca, sa = math.cos(alpha), math.sin(alpha)
    CL = solve(surface, Conditions(alpha=alpha)).total[0, 0]
    moves = {"r": {"phat": -h * sa, "rhat": h * ca}, "p": {"phat": h * ca, "rhat": h * sa}, "da": {"da": h}}
    out = {}
    for name, move in moves.items():
        total = solve(surface, Conditions(alpha, **move)).total
        for axis, of in (
            ("Cl", total[:, 3] * ca + total[:, 5] * sa),
            ("Cn", total[:, 5] * ca - total[:, 3] * sa),
        ):
            out[axis + name] = float(of[1] - of[0]) / (2.0 * STEP)
    return out | {"CL": float(CL)}


def _over(lattice: Callable[[float], Lattice], aspect: float, term: str, *by: str) -> float:
    """A term of :func:`lateral` over others."""
    found = lateral(lattice, aspect)
    return found[term] / math.prod(found[name] for name in by)


def _yaw_rate() -> list[Check]:
    row = partial(Check, "Rolling and yawing wing, Raymer sec. 16.7", tag="second hand")
    known = "a strip rule without the drag that the wing's own wake induces; with it about half is left"
    return [
        row(
            "Clr over CL, A 6",
            0.25,
            partial(_over, wing, 6.0, "Clr", "CL"),
            share=0.05,
            why="a rule of thumb",
        ),
        row("Cnp over CL, A 6", -0.125, partial(_over, wing, 6.0, "Cnp", "CL"), share=0.05, known=known),
    ]


_fine = partial(ellipse, strips=24)


def _yaw_of_roll() -> list[Check]:
    """What a wing with lift yaws when it rolls, and what its ailerons yaw.

    Lifting line, Gamma = 2 b V sum A_n sin(n t): Cn = pi A/4 sum (2n + 1) A_n A_(n+1), Cl = pi A A_2/4.  Of an elliptic
    wing the lift is A_1 = CL/(pi A) alone, so whatever rolls it yaws it the other way by 3 CL/(pi A) of the roll.  When
    it turns, its lift leans with the air besides: -CL/8.
    """
    row = partial(Check, "Yaw of a rolling elliptic wing, Glauert, Elements, ch. XI", tag="memory")
    rows = []
    for A in (6.0, 12.0):
        rows.append(
            row(f"adverse yaw over roll and CL, ailerons, A {A:g}", -3.0 / (math.pi * A),
                partial(_over, ellipse, A, "Cnda", "Clda", "CL"), share=0.03,
                why="a lifting line; a surface has a bent load")
        )  # fmt: skip
    damping = SWANSON * LIFTING_LINE
    rows.append(
        row("Cnp over CL, A 6", -0.125 - 3.0 / (math.pi * 6.0) * damping, partial(_over, ellipse, 6.0, "Cnp", "CL"), share=0.03,
            why="a lifting line, but for its damping, that of a surface (Swanson & Priddy 1945)")
    )  # fmt: skip
    rows.append(
        row("Cnp over CL, A 40", -38.0 / (8.0 * 44.0), partial(_over, _fine, 40.0, "Cnp", "CL"),
            share=0.01, why="a lifting line, -(A - 2)/8(A + 4); a surface is one only at large A")
    )  # fmt: skip
    return rows


@cache
def _downwash_of(aspect: float, taper: float) -> tuple[float, ...]:
    """The wake straight along the wind, as in the program compared with."""
    lattice = wing(aspect, taper=taper)
    loads = solve(lattice, Conditions(alpha=np.array([-STEP, STEP])))
    y = np.linspace(-0.15, 0.15, 31) * aspect
    found = []
    for behind, above in BEHIND_ABOVE:
        points = np.column_stack((np.full_like(y, -behind * aspect), y, np.full_like(y, -above * aspect)))
        down = induced_velocity(lattice, loads, points)[:, :, 2].mean(axis=1)
        found.append(float(down[1] - down[0]) / (2.0 * STEP))
    return tuple(found)


def _downwash_at(aspect: float, taper: float, i: int) -> float:
    return _downwash_of(aspect, taper)[i]


def _downwash(planforms: tuple[tuple[float, float], ...]) -> list[Check]:
    why = "near a wake made of single vortices"
    rows = []
    for aspect, taper in planforms:
        for i, (behind, above) in enumerate(BEHIND_ABOVE):
            said = f"downwash, A {aspect:g}, taper {taper:g}, at {behind:g}, {above:g} b"
            find = partial(_downwash_at, aspect, taper, i)
            rows.append(_computed(said, DOWNWASH[aspect, taper][i], find, share=0.05, why=why))
    return rows


def _inset() -> list[Check]:
    return [
        _computed(f"lift slope, A 2, {strips} strips{'' if on else ', no inset'}", value,
                  _lift(wing, 2.0, strips=strips, inset=on), share=0.002,
                  why="strips spread by another rule")
        for strips, values in INSET.items()
        for on, value in zip((True, False), values, strict=True)
    ]  # fmt: skip


def _sections() -> list[Check]:
    """k = a0/2pi enters as in 2 pi A/(2 + sqrt(A^2/k^2 + 4)), DATCOM 4.1.3.2."""
    row = partial(
        Check, "Section slope, DATCOM 4.1.3.2", tag="memory", share=0.015, why="a lifting-line form"
    )

    def ratio(A: float, k: float) -> float:
        return _lift(wing, A, slope=k)() / _lift(wing, A)()

    return [
        row(f"lift over that of 2 pi, A {A:g}, k {k:g}", (2.0 + math.hypot(A, 2.0)) / (2.0 + math.hypot(A / k, 2.0)),
            partial(ratio, A, k))
        for A, k in SLOPES
    ]  # fmt: skip


def _sideslip() -> list[Check]:
    """Slow to converge (the difference falls by a quarter when strips and panels are doubled, so the limit lies
    below): 12 x 5 gives -.150, -.086, -.057, this 32 x 16 -.142, -.080, -.052.  The lattice of the printed values is
    not known."""

    def found(A: float) -> float:
        lattice = wing(A, strips=32, chordwise=16)
        h = np.array([-STEP, STEP])
        total = solve(lattice, Conditions(alpha=0.05, beta=h)).total
        return float(np.diff(total[:, 3])[0] / (2.0 * STEP) / total[0, 0])

    why = "slow to converge; the lattice behind the printed values is not known"
    return [
        _computed(f"Clb over CL, A {A:g}", value, partial(found, A), share=0.08, why=why)
        for A, value in SIDESLIP.items()
    ]

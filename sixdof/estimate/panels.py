"""Lifting surfaces of an airframe cut into strips, ready for the vortex lattice.

A sheet is one thin surface seen as a row of strips, each from an edge ``a`` to an
edge ``b``: the wing and the tailplane from the left tip to the right tip, fins from
below to above.  Body axes from the datum: x forward, y right, z down [m].
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from sixdof.airframe.geometry import CAMBER_AT, Body, Surface, Ventral, body_at
from sixdof.airframe.model import Airframe, Control

__all__ = ["FLAPS", "TIP_INSET", "Flap", "Sheet", "camber_slope", "flap_wash", "sheets_of", "strip_edges"]

#: Movable surfaces, then fixed ones that may stand off their angle as a whole: the columns of deflections.
FLAPS: tuple[str, ...] = (
    "aileron_right", "aileron_left", "elevator_right", "elevator_left", "rudder", "flap",
    "wing_right", "wing_left", "tailplane", "fin",
)  # fmt: skip
#: The last trailing vortex stands this share of a strip inside of a free tip.
#: Source: Hough, Remarks on vortex-lattice methods, J. Aircraft 1973 (from memory); checked by
#: the tests: without it a lattice converges only as 1/strips.
TIP_INSET = 0.25
#: A hinge is not seen further forward than this share of the chord ahead of the trailing edge.
_MOST_FLAP = 0.95
#: Heights closer than this share of a fin's span are the same.
_SLACK = 0.02
#: Terms of the sine series of a bent plate; its integrals fall off as 1/n^3.
_TERMS = 60


@dataclass(frozen=True)
class Flap:
    """Part of the strips of a sheet that turns about a hinge, or all of it about its span.

    Attributes
    ----------
    name : str
        One of :data:`FLAPS`.
    share : array (strips,)
        Chord behind the hinge over the chord; one where the surface turns as a whole.
    cover : array (strips,)
        Share of the strip's width it covers; negative where a positive deflection (ISO 1151)
        turns the trailing edge toward the side of the normal.
    """

    name: str
    share: np.ndarray
    cover: np.ndarray


@dataclass(frozen=True)
class Sheet:
    """One lifting surface as a row of strips.

    Attributes
    ----------
    name : str
        Component that its loads are booked on; several sheets may share one.
    leading : array (strips + 1, 3) [m]
        Leading edge at the edges of the strips, from left to right or from below to above.
    chord : array (strips + 1,) [m]
        Chord there, along body x.
    twist : array (strips,) [rad]
        Incidence with washout, leading edge toward the normal (up; left for a fin) positive.
    camber : float
        Height of the mean line over the chord.
    flaps : tuple of Flap
    chordwise : int
        Panels along the chord.
    slope : float
        Lift slope of the section over 2 pi.
    wake : array (strips + 1,) [m], optional
        Where the wakes leave the body's direction for the wind's, x; the trailing edge if not given.
    """

    name: str
    leading: np.ndarray
    chord: np.ndarray
    twist: np.ndarray
    camber: float = 0.0
    flaps: tuple[Flap, ...] = field(default=())
    chordwise: int = 6
    slope: float = 1.0
    wake: np.ndarray | None = None

    @property
    def trailing(self) -> np.ndarray:
        """Trailing edge at the edges of the strips, x [m]."""
        return self.leading[:, 0] - self.chord


def strip_edges(
    kinks: np.ndarray, strips: int, *, root_inset: bool = False, tip_inset: bool = True
) -> np.ndarray:
    """Edges of about equal strips that meet every kink, drawn in at free ends.

    Parameters
    ----------
    kinks : array (m,) [m]
        Distances along the span where the planform bends, first the root, last the tip.
    strips : int
        About so many in all, at least one between two kinks.
    root_inset, tip_inset : bool
        Whether that end is free.

    Returns
    -------
    array [m]
    """
    length = kinks[-1] - kinks[0]
    edges = []
    for i, (start, stop) in enumerate(pairwise(kinks)):
        n = max(1, round(strips * (stop - start) / length))
        inner = TIP_INSET if root_inset and i == 0 else 0.0
        outer = TIP_INSET if tip_inset and i == len(kinks) - 2 else 0.0
        width = (stop - start) / (n + inner + outer)
        edges.append(start + width * (inner + np.arange(n + (i == len(kinks) - 2))))
    return np.concatenate(edges)


def flap_wash(share: np.ndarray, chordwise: int) -> np.ndarray:
    """Slope that a hinge gives to the control points, per unit of deflection.

    Not the bare step (0 ahead of the hinge, 1 behind it), which loses 4 to 10 % of the lift,
    but the slopes with which a two-dimensional lattice carries the exact load of a bent plate:
    lift and moment about any point agree with thin-aerofoil theory for every hinge.

    Parameters
    ----------
    share : array (k,)
        Chord behind the hinge over the chord.
    chordwise : int
        Equal panels.

    Returns
    -------
    array (k, chordwise)

    Sources
    -------
    Glauert, Theoretical relationships for an aerofoil with hinged flap, R&M 1095, 1927 (from memory):
    with x = (1 - cos t)/2 and the hinge at h,
    gamma/(2 V delta) = (1 - h/pi) (1 + cos t)/sin t + sum over n of (2/pi) sin(n h)/n sin(n t).
    The first part is a turned plate, whose slope is known; the sum is laid on the vortices.
    """
    vortex = (np.arange(chordwise) + 0.25) / chordwise
    control = (np.arange(chordwise) + 0.75) / chordwise
    hinge = np.arccos(2.0 * np.clip(share, 0.0, 1.0) - 1.0)
    # load between two nodes goes to the vortices next to it by lever
    t = np.arccos(1.0 - 2.0 * np.concatenate(([0.0], vortex[1:-1], [1.0])))
    n = np.arange(1, _TERMS + 1)[:, None]
    # integrals of sin(n t) dx and of x sin(n t) dx from the leading edge
    circulation = 0.25 * (_sine(n - 1, t) - _sine(n + 1, t))
    moment = 0.5 * circulation - 0.0625 * (_sine(n - 2, t) - _sine(n + 2, t))
    terms = 4.0 / np.pi * np.sin(hinge[:, None] * n.T) / n.T
    mass, first_moment = np.diff(terms @ circulation, axis=1), np.diff(terms @ moment, axis=1)
    if chordwise == 1:
        gamma = mass
    else:
        gamma = np.zeros((len(share), chordwise))
        behind = (first_moment - vortex[:-1] * mass) / np.diff(vortex)
        gamma[:, 1:] += behind
        gamma[:, :-1] += mass - behind
    bend = gamma @ (1.0 / (2.0 * np.pi * (control[:, None] - vortex[None, :]))).T
    return 1.0 - hinge[:, None] / np.pi + bend


def _sine(n: np.ndarray, t: np.ndarray) -> np.ndarray:
    """Integral of cos(n t) from 0: sin(n t)/n, t where n is zero."""
    return np.where(n == 0, t, np.sin(n * t) / np.where(n == 0, 1, n))


def camber_slope(x: np.ndarray) -> np.ndarray:
    """Slope of the four-digit mean line at x (share of the chord), per unit of camber, up positive."""
    p = CAMBER_AT
    return 2.0 * (p - x) / np.where(x < p, p, 1.0 - p) ** 2


class _Outline:
    """Planform of one side along its span coordinate."""

    def __init__(self, surface: Surface) -> None:
        spans = [p.span for p in surface.panels]
        first = surface.panels[0]
        self.kinks = np.concatenate(([0.0], np.cumsum(spans)))
        self.chords = [first.root_chord, *(p.tip_chord for p in surface.panels)]
        self.starts = [p.root_chord for p in surface.panels]
        self.back = np.concatenate(([0.0], np.cumsum([p.sweep for p in surface.panels])))
        self.side = np.concatenate(
            ([0.0], np.cumsum([p.span * math.cos(p.dihedral) for p in surface.panels]))
        )
        self.rise = np.concatenate(
            ([0.0], np.cumsum([p.span * math.sin(p.dihedral) for p in surface.panels]))
        )
        self.twist = surface.incidence - np.concatenate(
            ([0.0], np.cumsum([p.washout for p in surface.panels]))
        )

    def chord(self, s: np.ndarray) -> np.ndarray:
        """Chord [m]; where two panels meet with different chords, their mean."""
        i = np.clip(np.searchsorted(self.kinks, s, side="right") - 1, 0, len(self.starts) - 1)
        j = np.clip(np.searchsorted(self.kinks, s, side="left") - 1, 0, len(self.starts) - 1)
        return 0.5 * (self._chord_in(i, s) + self._chord_in(j, s))

    def _chord_in(self, i: np.ndarray, s: np.ndarray) -> np.ndarray:
        start, stop = np.array(self.starts)[i], np.array(self.chords)[i + 1]
        f = (s - self.kinks[i]) / (self.kinks[i + 1] - self.kinks[i])
        return start + (stop - start) * f


def _flap(name: str, control: Control, outline: _Outline, edges: np.ndarray, sign: float = 1.0) -> Flap:
    """A control on the strips between edges (distances from the root); the end strips reach to the ends."""
    limits = edges.copy()
    limits[-1] = outline.kinks[-1]
    limits[0] = min(limits[0], 0.0)
    low = np.clip(limits[:-1], control.inboard, control.outboard)
    high = np.clip(limits[1:], control.inboard, control.outboard)
    cover = (high - low) / np.diff(limits)
    share = np.minimum(control.chord / outline.chord(0.5 * (low + high)), _MOST_FLAP)
    return Flap(name, share, sign * cover)


def _pair(
    name: str, surface: Surface, *, strips: int, chordwise: int, slope: float, controls: dict[str, Control]
) -> Sheet:
    """Wing or tailplane, both sides."""
    outline = _Outline(surface)
    edges = strip_edges(outline.kinks, strips)
    middle = 0.5 * (edges[:-1] + edges[1:])
    right = np.column_stack((
        surface.root[0] - np.interp(edges, outline.kinks, outline.back),
        np.interp(edges, outline.kinks, outline.side),
        surface.root[2] - np.interp(edges, outline.kinks, outline.rise),
    ))  # fmt: skip
    left = right[:0:-1] * (1.0, -1.0, 1.0)
    chord, twist = outline.chord(edges), np.interp(middle, outline.kinks, outline.twist)
    halves = [_flap(key, control, outline, edges) for key, control in controls.items()]
    whole = np.ones_like(middle)
    flaps = []
    for half in (*halves, Flap(name, whole, whole)):
        share = np.concatenate((half.share[::-1], half.share))
        none = np.zeros_like(half.cover)
        if f"{half.name}_right" in FLAPS:
            flaps.append(Flap(f"{half.name}_right", share, np.concatenate((none, half.cover))))
            flaps.append(Flap(f"{half.name}_left", share, np.concatenate((half.cover[::-1], none))))
        else:
            flaps.append(Flap(half.name, share, np.concatenate((half.cover[::-1], half.cover))))
    return Sheet(
        name,
        np.vstack((left, right)),
        np.concatenate((chord[:0:-1], chord)),
        np.concatenate((twist[::-1], twist)),
        surface.section.camber,
        tuple(flaps),
        chordwise,
        slope,
    )


def _upright(
    name: str,
    surface: Surface,
    *,
    strips: int,
    chordwise: int,
    slope: float,
    controls: dict[str, Control],
    foot: float | None,
    crossed: float | None,
) -> Sheet:
    """Fin or ventral fin.

    foot : z [m] that the root is carried to inside of the body and closed at, None for a free root.
    crossed : z [m] of a surface that crosses it, None for none.
    """
    up = -1.0 if isinstance(surface, Ventral) else 1.0
    outline = _Outline(surface)
    start = 0.0 if foot is None else -up * (foot - surface.root[2])
    kinks = [start, *outline.kinks[1:]] if start > 0.0 else sorted({start, *outline.kinks})
    across = -1.0 if crossed is None else up * (surface.root[2] - crossed)
    least = _SLACK * outline.kinks[-1]
    if least < across < outline.kinks[-1] - least:
        kinks = sorted([*kinks, across])
    edges = strip_edges(np.array(kinks), strips, root_inset=foot is None)
    on = np.maximum(edges, 0.0)
    leading = np.column_stack((
        surface.root[0] - np.interp(on, outline.kinks, outline.back),
        np.zeros_like(edges),
        surface.root[2] - up * edges,
    ))  # fmt: skip
    flaps = []
    for key, control in controls.items():
        flap = _flap(key, control, outline, edges)
        # trailing edge left is positive, and left is the side of the normal
        flaps.append(Flap(key, flap.share, -flap.cover))
    if name in FLAPS:
        flaps.append(Flap(name, np.ones(len(edges) - 1), -np.ones(len(edges) - 1)))
    order = slice(None, None, 1 if up > 0 else -1)
    chord, twist = outline.chord(on), np.zeros(len(edges) - 1)
    flaps = [Flap(f.name, f.share[order], f.cover[order]) for f in flaps]
    return Sheet(name, leading[order], chord[order], twist, 0.0, tuple(flaps), chordwise, slope)


def _section_at(body: Body, x: float) -> tuple[float, float] | None:
    """Top and bottom [m] of the body at x, z down; None ahead of it and behind it."""
    if not body[-1].x <= x <= body[0].x:
        return None
    top, bottom, _ = map(float, body_at(body, x))
    return top, bottom


def _overlaps(upright: Surface, tail: Surface) -> bool:
    """Whether the roots of both share a stretch of the body's length."""
    return (
        tail.root[0] > upright.root[0] - upright.panels[0].root_chord
        and tail.root[0] - tail.panels[0].root_chord < upright.root[0]
    )


def _foot(airframe: Airframe, surface: Surface, *, through_body: bool, other: float | None) -> float | None:
    """Height z [m] where the root of a fin ends, None if it stands free.

    other : z [m] where a fin on the other side of the body ends, which then is the place to meet.
    """
    tail, root = airframe.tailplane, surface.root[2]
    meets, slack = _overlaps(surface, tail), _SLACK * surface.span
    if meets and abs(tail.root[2] - root) < slack:
        return tail.root[2]
    fore = surface.root[0]
    section = _section_at(airframe.body, fore - 0.5 * surface.panels[0].root_chord) or _section_at(
        airframe.body, fore
    )
    if section is None or not through_body:
        return None
    top, bottom = section
    if not top - 5.0 * slack <= root <= bottom + 5.0 * slack:
        return None
    if other is not None and top <= other <= bottom:
        return other
    up = -1.0 if isinstance(surface, Ventral) else 1.0
    inside = meets and top <= tail.root[2] <= bottom and up * (tail.root[2] - root) > 0.0
    return tail.root[2] if inside else 0.5 * (top + bottom)


def sheets_of(
    airframe: Airframe,
    *,
    chordwise: int,
    spanwise: int,
    section_slope: dict[str, float],
    through_body: bool = True,
) -> tuple[Sheet, ...]:
    """Wing, tailplane, fin and ventral fin of an airframe.

    Parameters
    ----------
    airframe : Airframe
    chordwise : int
        Panels along every chord.
    spanwise : int
        Strips on one side of the wing; the others get about their share of it, at least 4.
    section_slope : dict of float [1/rad]
        Lift slope of the section by component, 2 pi where nothing is said.
    through_body : bool
        Whether fins are carried on inside of the body, to the tailplane where that lies in the
        body, else to its middle: the body closes the gap, as the wing drawn through to the center
        line closes its own.
    """

    def slope(name: str) -> float:
        return section_slope.get(name, 2.0 * math.pi) / (2.0 * math.pi)

    c = airframe.controls
    on_wing = {"aileron": c.aileron} | ({"flap": c.flap} if c.flap else {})
    fewer, fin = max(4, round(0.6 * spanwise)), airframe.fin
    sheets = [
        _pair("wing", airframe.wing, strips=spanwise, chordwise=chordwise, slope=slope("wing"), controls=on_wing),
        _pair(
            "tailplane", airframe.tailplane, strips=fewer, chordwise=chordwise, slope=slope("tailplane"),
            controls={"elevator": c.elevator},
        ),
    ]  # fmt: skip
    uprights: list[tuple[str, Surface, dict[str, Control]]] = [("fin", fin, {"rudder": c.rudder})]
    if airframe.ventral is not None:
        uprights.append(("ventral", airframe.ventral, {}))
    foot = None
    for name, surface, controls in uprights:
        foot = _foot(airframe, surface, through_body=through_body, other=foot)
        crossed = airframe.tailplane.root[2] if _overlaps(surface, airframe.tailplane) else None
        sheet = _upright(
            name, surface, strips=fewer, chordwise=chordwise, slope=slope(name), controls=controls,
            foot=foot, crossed=crossed,
        )  # fmt: skip
        if crossed is not None:
            sheets[1], sheet = _joined(sheets[1], sheet)
        sheets.append(sheet)
    return tuple(sheets)


def _joined(tail: Sheet, upright: Sheet) -> tuple[Sheet, Sheet]:
    """Tailplane and fin, their wakes leaving the line where they meet at the further trailing edge.

    Beside a surface the air runs along it: were the shorter one's wake to leave with the wind already at
    its own end, a strong vortex that the other's cancels would stand beside the other in sideslip.
    """
    middle = len(tail.chord) // 2
    edge = int(np.argmin(np.abs(upright.leading[:, 2] - tail.leading[middle, 2])))
    if abs(upright.leading[edge, 2] - tail.leading[middle, 2]) > 1e-9:
        return tail, upright
    end = min(tail.trailing[middle], upright.trailing[edge])

    def late(sheet: Sheet, place: int) -> Sheet:
        wake = sheet.trailing if sheet.wake is None else sheet.wake.copy()
        wake[place] = min(wake[place], end)
        return replace(sheet, wake=wake)

    return late(tail, middle), late(upright, edge)

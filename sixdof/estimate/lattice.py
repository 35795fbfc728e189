"""Vortex lattice of all lifting surfaces together: loads of a whole airplane without its body.

Thin surfaces lie flat along body x (dihedral and sweep as built, incidence, washout, camber and
deflections as slopes).  Every panel carries a bound vortex on its quarter line, two legs along the
chord to the trailing edge and from there two wakes along the wind to infinity; the flow is tangent
at the middle of its three-quarter line.  Forces by Kutta and Joukowski on the bound vortices and on
the legs that lie on the surface.  No compressibility, no separation, no wake roll-up, no body.

Sources: Katz & Plotkin, Low-Speed Aerodynamics, 2nd ed. 2001, ch. 12 (from memory); Hough 1973 for the
tip inset; thin-aerofoil theory for the hinges (:func:`sixdof.estimate.panels.flap_wash`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from sixdof.airframe.model import Airframe
from sixdof.estimate.panels import FLAPS, Sheet, camber_slope, flap_wash, sheets_of

__all__ = [
    "COEFFICIENTS",
    "Conditions",
    "Lattice",
    "Loads",
    "build_lattice",
    "induced_velocity",
    "lattice_of",
    "solve",
]

#: Order of the last axis of :attr:`Loads.wind`.
COEFFICIENTS: tuple[str, ...] = ("CL", "CD", "CY", "Cl", "Cm", "Cn")
#: Core of a vortex over the mean chord: only keeps a point on its line from dividing by zero.
_CORE = 1e-5
#: Keeps the legs of a pointed tip, which have no length, from dividing by zero.
_TINY = 1e-300
#: Core of a vortex on the force points of another surface, over the width of its strip or the depth of its
#: panel, whichever is more: a compromise between no spike where fin and tailplane meet and the loads on them.
_OTHER_CORE = 0.35
#: Core of a wake far behind its trailing edge on another surface, over the same: the distance at which a row of
#: vortices looks like a sheet (a row's ripple falls as exp(-2 pi z/width)).
_WAKE_CORE = 0.5


@dataclass(frozen=True)
class Conditions:
    """Flow and deflections, arrays (n,) or floats, broadcast to one length.

    Attributes
    ----------
    alpha, beta : [rad]
    phat, qhat, rhat : [1]
        p b/2V, q c/2V, r b/2V with the span and chord of the lattice, about its reference point.
    da, ds, de, dr, df : [rad]
        Aileron (right minus left trailing edge down, halved), both ailerons' mean, elevator,
        rudder (trailing edge left), flap; ISO 1151.
    split, twist, wing, tailplane, fin : [rad]
        What was built otherwise: elevator halves and halves of the wing (right minus left trailing edge
        down, halved), incidence of wing and tailplane, fin (trailing edge left).
    """

    alpha: np.ndarray | float = 0.0
    beta: np.ndarray | float = 0.0
    phat: np.ndarray | float = 0.0
    qhat: np.ndarray | float = 0.0
    rhat: np.ndarray | float = 0.0
    da: np.ndarray | float = 0.0
    ds: np.ndarray | float = 0.0
    de: np.ndarray | float = 0.0
    dr: np.ndarray | float = 0.0
    df: np.ndarray | float = 0.0
    split: np.ndarray | float = 0.0
    twist: np.ndarray | float = 0.0
    wing: np.ndarray | float = 0.0
    tailplane: np.ndarray | float = 0.0
    fin: np.ndarray | float = 0.0

    def table(self) -> np.ndarray:
        """All of them, array (n, 15), in the order of the attributes."""
        columns = [np.atleast_1d(np.asarray(getattr(self, f.name), dtype=float)) for f in fields(self)]
        return np.stack(np.broadcast_arrays(*columns), axis=-1)


@dataclass(frozen=True)
class Loads:
    """Forces and moments of a set of conditions, by component.

    Attributes
    ----------
    components : tuple of str
    body : array (n, component, 6)
        CX, CY, CZ (over q S), Cl, Cn (over q S b), Cm (over q S c) in the order CX, CY, CZ, Cl, Cm, Cn,
        body axes, moments about the reference point of the lattice.
    alpha, beta : array (n,) [rad]
    circulation : array (n, panels) [m]
        Circulation of the panels over the airspeed.
    """

    components: tuple[str, ...]
    body: np.ndarray
    alpha: np.ndarray
    beta: np.ndarray
    circulation: np.ndarray

    @property
    def wind(self) -> np.ndarray:
        """CL, CD, CY, Cl, Cm, Cn by component, array (n, component, 6).

        Lift and drag along wind axes (drag along -V), side force along body y without the drag
        component, moments in body axes: the convention of :mod:`sixdof.physics.aero`.
        """
        ca, sa = np.cos(self.alpha)[:, None], np.sin(self.alpha)[:, None]
        cb, sb = np.cos(self.beta)[:, None], np.sin(self.beta)[:, None]
        X, Y, Z = (self.body[..., i] for i in range(3))
        CD = -(X * ca + Z * sa) / cb
        out = self.body.copy()
        out[..., 0] = X * sa - Z * ca
        out[..., 1] = CD
        out[..., 2] = Y + CD * sb
        return out

    @property
    def total(self) -> np.ndarray:
        """The same summed over the components, array (n, 6)."""
        return self.wind.sum(axis=1)


@dataclass(frozen=True)
class Lattice:
    """Panels of all surfaces and what they induce on each other before the wake.

    N panels, F force elements (bound vortices, then legs), E edges of strips, C components.

    Attributes
    ----------
    components : tuple of str
    S, b, c : float [m2], [m], [m]
    point : array (3,) [m]
        Reference point, body axes from the datum.
    control, normal : array (N, 3)
        Control points [m]; normals toward positive lift (up; left for fins).
    hinged : array (N, flaps, 3)
        What a deflection delta of each of FLAPS adds to the normal: sin(delta) times this ...
    bent : array (N, flaps)
        ... and (cos(delta) - 1) times this times the normal.
    element, middle : array (F, 3) [m]
        Vortex elements that carry force, and their middles.
    owner : array (C, F)
        One where the element belongs to the component.
    carried : array (F, N)
        Circulation of the elements from that of the panels.
    wash : array (N, N) [1/m]
        Velocity along the normals from bound vortices and legs, section slope included.
    induced : array (3, F, N) [1/m]
        Velocity at the force elements from the same.
    trailing, core, depth : array (E, 3), (E,), (E,) [m]
        Where the wakes leave, their far core, and the chord there.
    shed : array (E, N)
        Circulation of the wakes from that of the panels.
    stranger : array (N + F, E)
        True where point and wake belong to different components.
    """

    components: tuple[str, ...]
    S: float
    b: float
    c: float
    point: np.ndarray
    control: np.ndarray
    normal: np.ndarray
    hinged: np.ndarray
    bent: np.ndarray
    element: np.ndarray
    middle: np.ndarray
    owner: np.ndarray
    carried: np.ndarray
    wash: np.ndarray
    induced: np.ndarray
    trailing: np.ndarray
    core: np.ndarray
    depth: np.ndarray
    shed: np.ndarray
    stranger: np.ndarray

    def part(self, *names: str) -> Lattice:
        """Lattice of these components alone, as if the others were not there."""
        chosen = np.array([name in names for name in self.components])
        force = self.owner[chosen].any(axis=0)
        panel = force[: len(self.control)]
        edge, point = self.shed[:, panel].any(axis=1), np.concatenate((panel, force))
        return replace(
            self, components=tuple(name for name in self.components if name in names),
            control=self.control[panel], normal=self.normal[panel], hinged=self.hinged[panel], bent=self.bent[panel],
            element=self.element[force], middle=self.middle[force], owner=self.owner[np.ix_(chosen, force)],
            carried=self.carried[np.ix_(force, panel)], wash=self.wash[np.ix_(panel, panel)],
            induced=np.ascontiguousarray(self.induced[:, force][:, :, panel]),
            trailing=self.trailing[edge], core=self.core[edge], depth=self.depth[edge],
            shed=self.shed[np.ix_(edge, panel)], stranger=self.stranger[np.ix_(point, edge)],
        )  # fmt: skip


def build_lattice(
    airframe: Airframe,
    *,
    chordwise: int = 5,
    spanwise: int = 16,
    section_slope: Mapping[str, float] | None = None,
    through_body: bool = True,
    point: Sequence[float] | None = None,
) -> Lattice:
    """Lattice of wing, tailplane, fin and ventral fin of an airframe.

    Parameters
    ----------
    airframe : Airframe
    chordwise, spanwise : int
        Panels along each chord; strips on one side of the wing (tail surfaces get 0.6 of it).
    section_slope : mapping of float [1/rad]
        Lift slope of the section of ``wing``, ``tailplane``, ``fin``, ``ventral``; 2 pi if not given.
    through_body : bool
        Whether the body closes the root of the fins, see :func:`sixdof.estimate.panels.sheets_of`.
    point : three floats [m]
        Reference point, body axes from the datum; the quarter point of the wing if not given.
    """
    sheets = sheets_of(
        airframe,
        chordwise=chordwise,
        spanwise=spanwise,
        section_slope=dict(section_slope or {}),
        through_body=through_body,
    )
    wing = airframe.wing
    return lattice_of(
        sheets,
        S=wing.area,
        b=wing.span,
        c=wing.mean_chord,
        point=wing.quarter_chord if point is None else point,
    )


def lattice_of(sheets: Sequence[Sheet], *, S: float, b: float, c: float, point: Sequence[float]) -> Lattice:
    """Lattice of any thin surfaces.

    Parameters
    ----------
    sheets : sequence of Sheet
    S, b, c : float [m2], [m], [m]
        Reference area, span and chord.
    point : three floats [m]
        Reference point, body axes from the datum.
    """
    components = tuple(dict.fromkeys(sheet.name for sheet in sheets))
    parts = [_part(sheet) for sheet in sheets]
    books = np.array([components.index(sheet.name) for sheet in sheets])
    N = sum(p.panels for p in parts)
    elements = [
        np.vstack([p.right - p.left for p in parts]),
        np.vstack([p.leg_end - p.leg_start for p in parts]),
    ]
    middles = [
        np.vstack([0.5 * (p.right + p.left) for p in parts]),
        np.vstack([0.5 * (p.leg_end + p.leg_start) for p in parts]),
    ]
    panel_book = np.repeat(books, [p.panels for p in parts])
    leg_book = np.repeat(books, [len(p.leg_start) for p in parts])
    edge_book = np.repeat(books, [len(p.trailing) for p in parts])
    carried, shed = np.zeros((N + len(leg_book), N)), np.zeros((len(edge_book), N))
    carried[:N, :N] = np.eye(N)
    leg_of = np.zeros((2, N), dtype=int)
    wash = np.zeros((N, N))
    panel = leg = edge = 0
    for p in parts:
        some = slice(panel, panel + p.panels)
        carried[N + leg : N + leg + len(p.leg_start), some] = p.leg_carries
        shed[edge : edge + len(p.trailing), some] = p.sheds
        leg_of[:, some] = leg + p.leg_of
        wash[some, some] = p.section
        panel, leg, edge = panel + p.panels, leg + len(p.leg_start), edge + len(p.trailing)

    control = np.vstack([p.control for p in parts])
    normal = np.vstack([p.normal for p in parts])
    element, middle = np.vstack(elements), np.vstack(middles)
    points = np.vstack((control, middle))
    point_book = np.concatenate((panel_book, panel_book, leg_book))
    width = np.concatenate([p.width for p in parts])
    edge_width = np.concatenate([p.edge_width for p in parts])
    leg_width = np.concatenate([np.repeat(p.edge_width, p.chordwise) for p in parts])
    at_force = np.arange(len(points)) >= N

    def core(book: np.ndarray, wide: np.ndarray) -> np.ndarray:
        other = at_force[:, None] & (point_book[:, None] != book[None, :])
        return np.where(other, (_OTHER_CORE * wide) ** 2, (_CORE * c) ** 2)

    trailing_of_leg = np.vstack([p.leg_trailing for p in parts])
    bound = _segments(points, np.vstack([p.left for p in parts]), np.vstack([p.right for p in parts]),
                      core(panel_book, width))  # fmt: skip
    legs = _segments(
        points, np.vstack([p.leg_start for p in parts]), trailing_of_leg, core(leg_book, leg_width)
    )
    velocity = bound + legs[:, :, leg_of[1]] - legs[:, :, leg_of[0]]
    wash += np.einsum("pk,kpn->pn", normal, velocity[:, :N])
    return Lattice(
        components, float(S), float(b), float(c), np.asarray(point, dtype=float),
        control, normal, np.vstack([p.hinged for p in parts]), np.vstack([p.bent for p in parts]),
        element, middle,
        (np.arange(len(components))[:, None] == np.concatenate((panel_book, leg_book))).astype(float),
        carried, wash, np.ascontiguousarray(velocity[:, N:]),
        np.vstack([p.trailing for p in parts]), _WAKE_CORE * edge_width, np.concatenate([p.depth for p in parts]),
        shed, point_book[:, None] != edge_book[None, :],
    )  # fmt: skip


def solve(
    lattice: Lattice,
    conditions: Conditions,
    *,
    effectiveness: Mapping[str, float | np.ndarray] | None = None,
) -> Loads:
    """Loads under a set of conditions; one factorization for each direction of the wind.

    Parameters
    ----------
    lattice : Lattice
    conditions : Conditions
    effectiveness : mapping of float or array (n,)
        Share of the thin-aerofoil effect that viscosity leaves to ``aileron``, ``elevator``,
        ``rudder``, ``flap``; 1 if not given.

    Returns
    -------
    Loads
    """
    table = conditions.table()
    alpha, beta = table[:, 0], table[:, 1]
    da, ds, de, dr, df, split, twist, wing, tailplane, fin = table[:, 5:].T
    deflection = np.stack(
        (ds + da, ds - da, de + split, de - split, dr, df, wing + twist, wing - twist, tailplane, fin),
        axis=-1,
    )
    left = np.ones_like(deflection)
    for name, value in (effectiveness or {}).items():
        columns = [i for i, flap in enumerate(FLAPS) if flap.split("_")[0] == name]
        left[:, columns] = np.reshape(value, (-1, 1))
    # motion of the body through the air, and turning, per airspeed
    ahead = _ahead(alpha, beta)
    turn = table[:, 2:5] * (2.0 / np.array([lattice.b, lattice.c, lattice.b]))
    sine, cosine = left * np.sin(deflection), left * (np.cos(deflection) - 1.0)

    n, N, F = len(table), len(lattice.control), len(lattice.middle)
    circulation = np.empty((n, N))
    body = np.empty((n, len(lattice.components), 6))
    directions, group = np.unique(np.round(ahead, 12), axis=0, return_inverse=True)
    group = group.reshape(-1)
    lever, points = lattice.middle - lattice.point, np.concatenate((lattice.control, lattice.middle))
    for g, direction in enumerate(directions):
        rows = np.flatnonzero(group == g)
        wake = _wakes(lattice, -direction, points, lattice.stranger, forces=N)
        matrix = lattice.wash + np.einsum("pk,kpe->pe", lattice.normal, wake[:, :N]) @ lattice.shed
        air = -(ahead[rows, None] + _cross(turn[rows, None], lattice.control - lattice.point))
        tilted = np.einsum("rf,pfk->rpk", sine[rows], lattice.hinged)
        tilted += (1.0 + np.einsum("rf,pf->rp", cosine[rows], lattice.bent))[..., None] * lattice.normal
        gamma = np.linalg.solve(matrix, -np.einsum("rpk,rpk->rp", air, tilted).T)  # (N, rows)
        flow = (lattice.induced.reshape(3 * F, N) @ gamma).reshape(3, F, -1)
        flow += (wake[:, N:].reshape(3 * F, -1) @ (lattice.shed @ gamma)).reshape(3, F, -1)
        velocity = flow.transpose(2, 1, 0) - ahead[rows, None] - _cross(turn[rows, None], lever)
        force = 2.0 / lattice.S * (lattice.carried @ gamma).T[..., None] * _cross(velocity, lattice.element)
        moment = _cross(lever, force)
        body[rows, :, :3] = np.einsum("cf,rfk->rck", lattice.owner, force)
        body[rows, :, 3:] = np.einsum("cf,rfk->rck", lattice.owner, moment)
        circulation[rows] = gamma.T
    body[..., 3:] /= np.array([lattice.b, lattice.c, lattice.b])
    return Loads(lattice.components, body, alpha, beta, circulation)


def induced_velocity(lattice: Lattice, loads: Loads, points: np.ndarray) -> np.ndarray:
    """What the surfaces and their wakes add to the air at any points: downwash, sidewash.

    Parameters
    ----------
    lattice : Lattice
    loads : Loads
        Of :func:`solve` with the same lattice.
    points : array (k, 3) [m]
        Body axes from the datum, off the surfaces.

    Returns
    -------
    array (n, k, 3)
        Over the airspeed, body axes; downwash at the tail is the last component, positive.
    """
    points = np.asarray(points, dtype=float).reshape(-1, 3)
    half = 0.5 * lattice.element
    core2 = np.full((1, len(half)), (_CORE * lattice.c) ** 2)
    near = _segments(points, lattice.middle - half, lattice.middle + half, core2)
    velocity = np.einsum("kpf,nf->npk", near, loads.circulation @ lattice.carried.T, optimize=True)
    shed = loads.circulation @ lattice.shed.T
    for i, (alpha, beta) in enumerate(zip(loads.alpha, loads.beta, strict=True)):
        velocity[i] += (_wakes(lattice, -_ahead(alpha, beta), points, True) @ shed[i]).T
    return velocity


def _ahead(alpha: np.ndarray | float, beta: np.ndarray | float) -> np.ndarray:
    """Direction (..., 3) that the body moves through the air, body axes."""
    return np.stack((np.cos(alpha) * np.cos(beta), np.sin(beta), np.sin(alpha) * np.cos(beta)), axis=-1)


@dataclass(frozen=True)
class _Part:
    """Panels of one sheet, strip after strip, each from the leading edge back."""

    panels: int
    chordwise: int
    left: np.ndarray
    right: np.ndarray
    control: np.ndarray
    normal: np.ndarray
    hinged: np.ndarray
    bent: np.ndarray
    leg_start: np.ndarray
    leg_end: np.ndarray
    leg_trailing: np.ndarray
    leg_of: np.ndarray
    leg_carries: np.ndarray
    trailing: np.ndarray
    sheds: np.ndarray
    section: np.ndarray
    width: np.ndarray
    edge_width: np.ndarray
    depth: np.ndarray


def _part(sheet: Sheet) -> _Part:
    m, nc = len(sheet.chord) - 1, sheet.chordwise
    aft = np.array([-1.0, 0.0, 0.0])
    quarter, three = (np.arange(nc) + 0.25) / nc, (np.arange(nc) + 0.75) / nc

    def along(shares: np.ndarray) -> np.ndarray:
        """Points (m + 1, len(shares), 3) on the edges."""
        return sheet.leading[:, None] + (sheet.chord[:, None] * shares)[..., None] * aft

    vortex, end = along(quarter), along(np.array([1.0]))[:, 0]
    trailing = end.copy()
    if sheet.wake is not None:
        trailing[:, 0] = sheet.wake
    left, right = vortex[:-1].reshape(-1, 3), vortex[1:].reshape(-1, 3)
    at_three = along(three)
    control = 0.5 * (at_three[:-1] + at_three[1:]).reshape(-1, 3)
    # directions of a strip: along the span square to x, and the normal
    span = np.diff(sheet.leading, axis=0) * (0.0, 1.0, 1.0)
    width = np.linalg.norm(span, axis=1)
    span = np.repeat(span / width[:, None], nc, axis=0)
    flat = _cross(span, np.array([1.0, 0.0, 0.0]))
    twist = np.repeat(sheet.twist, nc) - np.tile(np.arctan(sheet.camber * camber_slope(three)), m)
    normal = np.cos(twist)[:, None] * flat + np.sin(twist)[:, None] * _cross(span, flat)
    hinged, bent = np.zeros((m * nc, len(FLAPS), 3)), np.zeros((m * nc, len(FLAPS)))
    for flap in sheet.flaps:
        i = FLAPS.index(flap.name)
        hinge = sheet.leading + ((1.0 - _at_edges(flap.share)) * sheet.chord)[:, None] * aft
        line = np.diff(hinge, axis=0)
        line = np.repeat(line / np.linalg.norm(line, axis=1)[:, None], nc, axis=0)
        line = np.where(np.repeat(flap.share == 1.0, nc)[:, None], span, line)
        wash = flap_wash(flap.share, nc)
        hinged[:, i] += (wash * flap.cover[:, None]).reshape(-1, 1) * _cross(line, normal)
        bent[:, i] += (wash * np.abs(flap.cover)[:, None]).reshape(-1)
    # legs between the bound vortices of an edge and on to the trailing edge
    stops = np.concatenate((vortex[:, 1:], end[:, None]), axis=1)
    strip, depth = np.divmod(np.arange(m * nc), nc)
    leg_carries = np.zeros((m + 1, nc, m * nc))
    for j in range(nc):
        ahead = depth <= j
        leg_carries[strip[ahead] + 1, j, np.flatnonzero(ahead)] += 1.0
        leg_carries[strip[ahead], j, np.flatnonzero(ahead)] -= 1.0
    # what the section's own lift slope changes: the two-dimensional wash of the strip's vortices
    x_control, x_vortex = -control[:, 0], -0.5 * (left + right)[:, 0]
    sweep = np.abs(np.einsum("pk,pk->p", right - left, span)) / np.linalg.norm(right - left, axis=1)
    behind = np.where(strip[:, None] == strip, x_control[:, None] - x_vortex, np.inf)
    section = (1.0 - 1.0 / sheet.slope) / (2.0 * math.pi * behind * sweep)
    # a panel looks like a sheet from as far as it is wide or deep
    wide = np.maximum(width, 0.5 * (sheet.chord[1:] + sheet.chord[:-1]) / nc)
    at_edge = np.maximum(_at_edges(width), sheet.chord / nc)
    return _Part(
        panels=m * nc, chordwise=nc, left=left, right=right, control=control, normal=normal, hinged=hinged, bent=bent,
        leg_start=vortex.reshape(-1, 3), leg_end=stops.reshape(-1, 3),
        leg_trailing=np.repeat(trailing, nc, axis=0),
        leg_of=np.stack((np.arange(m * nc), np.arange(m * nc) + nc)),
        leg_carries=leg_carries.reshape((m + 1) * nc, m * nc),
        trailing=trailing, sheds=leg_carries[:, -1],
        section=section, width=np.repeat(wide, nc), edge_width=at_edge, depth=sheet.chord,
    )  # fmt: skip


def _at_edges(strips: np.ndarray) -> np.ndarray:
    """Values of strips carried to their edges."""
    return np.concatenate((strips[:1], 0.5 * (strips[:-1] + strips[1:]), strips[-1:]))


def _cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """Vector product over the last axis, broadcast as usual."""
    ax, ay, az = a[..., 0], a[..., 1], a[..., 2]
    bx, by, bz = b[..., 0], b[..., 1], b[..., 2]
    return np.stack(np.broadcast_arrays(ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx), axis=-1)


def _segments(points: np.ndarray, start: np.ndarray, stop: np.ndarray, core2: np.ndarray) -> np.ndarray:
    """Velocity of straight vortices of unit circulation, array (3, points, vortices) [1/m].

    Biot and Savart with the square of a core ``core2`` [m2] added to that of the distance.
    """
    ax, ay, az = (points[:, None, i] - start[None, :, i] for i in range(3))
    bx, by, bz = (points[:, None, i] - stop[None, :, i] for i in range(3))
    lx, ly, lz = (stop - start).T
    cx, cy, cz = ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx
    ends = (lx * ax + ly * ay + lz * az) / np.sqrt(ax * ax + ay * ay + az * az + core2)
    ends -= (lx * bx + ly * by + lz * bz) / np.sqrt(bx * bx + by * by + bz * bz + core2)
    ends /= 4.0 * math.pi * (cx * cx + cy * cy + cz * cz + core2 * (lx * lx + ly * ly + lz * lz) + _TINY)
    return np.stack((cx * ends, cy * ends, cz * ends))


def _wakes(
    lattice: Lattice,
    wind: np.ndarray,
    points: np.ndarray,
    stranger: np.ndarray | bool,
    *,
    forces: int | None = None,
) -> np.ndarray:
    """Velocity of the wakes for unit circulation out along the wind, array (3, points, E) [1/m].

    Where ``stranger``, the core grows with the distance behind the trailing edge to its far size;
    from point ``forces`` on, where forces are taken, it has that size from the start.
    """
    rx, ry, rz = (points[:, None, i] - lattice.trailing[None, :, i] for i in range(3))
    dx, dy, dz = wind
    behind = dx * rx + dy * ry + dz * rz
    cx, cy, cz = dy * rz - dz * ry, dz * rx - dx * rz, dx * ry - dy * rx
    grown = np.maximum(behind, 0.0) ** 2
    grown = grown / (grown + lattice.depth**2 + _TINY)
    if forces is not None:
        grown[forces:] = 1.0
    core2 = np.where(stranger, lattice.core**2 * grown, 0.0)
    core2 += (_CORE * lattice.c) ** 2
    size = (1.0 + behind / np.sqrt(rx * rx + ry * ry + rz * rz + core2)) / (4.0 * math.pi)
    size /= cx * cx + cy * cy + cz * cz + core2
    return np.stack((cx * size, cy * size, cz * size))

"""The one table of errors: all the ways in which an airplane may be another than its file and our methods say.

Each error is independent of the others and moves many things at once (a fin that works 15 % better turns,
damps and rolls better), so the covariance is the sum of their outer products and keeps what belongs
together.  An airplane is so many standard deviations of each:
:meth:`sixdof.flight.airplane.Airplane.apply`.

Aerodynamics: how far handbook methods and tunnels differ.  Two published sets of one and the same airplane
differ by 10 to 40 % in roll and yaw (Navion; Nelson 1998 and Seckel & Morris 1971); NACA TN 636, 1938, warns
that interference dominates the yaw of bodies.  The sizes were set so that our estimates lie about one
standard deviation off the published sets of the Navion and of Roskam's airplane A, whose geometry is
known best; :mod:`sixdof.validation.calibration` tells how they do where the airplane that is judged had no say in
them.  Terms that those sets do not hold are common practice, no source.

Controls: of the published side force of the rudder we have .76 and .80.  The propeller's stream in level flight, in
which the published airplanes may have been, makes it .82 and .84 (computed), and makes the elevator, which has 1.2 and
.93, worse.  So the sizes hold what gaps do, which nobody measured, and how much of a tail stands in the stream.

Rigging: what a careful builder leaves (common practice, no source).  A meter on a wing of 250 mm chord reads
0.3 deg as 1.3 mm at the trailing edge, about what one sees; a thrust line is set by washers under the motor
and a fin sighted from behind, neither to better than half a degree.  Mass: what scale, fingers and swing
tell.  Propeller: :mod:`sixdof.estimate.propeller`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from sixdof.estimate.fit import RIGGING
from sixdof.physics.terms import SHAPE, TERM_NAMES, TERMS

__all__ = ["ERRORS", "NAMES", "OF_PARTS", "OF_TERMS", "PARTS", "Error", "moves", "normals", "parts_moved"]

#: Terms, then shape parameters: the order of all arrays of derivatives.
NAMES: tuple[str, ...] = (*TERM_NAMES, *SHAPE)
_ROW = {name: i for i, name in enumerate(NAMES)}
_COEFFICIENT = np.array([t.coefficient for t in TERMS] + [""] * len(SHAPE))

#: What errors move beside terms -> unit, "ln" where it is multiplied by the exponential.
PARTS: dict[str, str] = {
    "cg_x": "mean chords forward", "cg_y": "mean chords to the right", "cg_z": "mean chords down",
    "Ixx": "ln", "Iyy": "ln", "Izz": "ln",
    "static_ct": "ln", "static_cp": "ln", "zero_thrust": "ln", "zero_power": "ln",
    "thrust_down": "rad", "thrust_right": "rad",
}  # fmt: skip


class Error(NamedTuple):
    """One way to be wrong.

    It moves terms (shares of components that scale together, terms that move by themselves, surfaces that
    stand off their angle) or parts: mass, propeller, thrust line.

    Attributes
    ----------
    name : str
    components : tuple of str
        Whose shares scale ...
    coefficients : tuple of str
        ... in the terms of these coefficients; all if empty.
    relative : float
        One standard deviation of that scale.
    terms : dict
        Term -> standard deviation over its value, as ``("x", 0.2)``, or in its own unit, ``("+", 0.02)``; None
        in place of a number that depends on how the airplane was measured.
    built : dict
        Angle of :data:`sixdof.estimate.fit.RIGGING` -> standard deviation [rad].
    parts : dict
        Name in :data:`PARTS` -> standard deviation in its unit, or None.
    source : str
    """

    name: str
    components: tuple[str, ...] = ()
    coefficients: tuple[str, ...] = ()
    relative: float = 0.0
    terms: Mapping[str, tuple[str, float | None]] = {}
    built: Mapping[str, float] = {}
    parts: Mapping[str, float | None] = {}
    source: str = "see the head of this module"


def _times(relative: float | None, *names: str) -> dict[str, tuple[str, float | None]]:
    return {name: ("x", relative) for name in names}


def _plus(**sizes: float) -> dict[str, tuple[str, float | None]]:
    return {name: ("+", size) for name, size in sizes.items()}


_FIN = ("fin", "ventral", "fin suction", "fin induced drag")
_BUILDER = "common practice, no source"
#: Purser & Spear, NACA TN 1474, 1947 (abstract read): the halves of a tail behind a propeller meet different downwash,
#: by the computed rotation at low thrust and not by it at high, where knife-edge is flown: so half of it.
_SWIRLED = "NACA TN 1474, 1947; the size is ours"
_AERODYNAMICS: tuple[Error, ...] = (
    Error("lift of the wing", ("wing",), (), 0.06),
    Error("lift of the tailplane", ("tailplane",), (), 0.07),
    Error("lift slope of the whole", terms=_times(0.10, "CLa")),  # sets count the wing alone, or the propeller too
    Error("side force of the fin", _FIN, (), 0.15),
    Error("body in pitch", ("body",), ("CL", "Cm"), 0.3),
    Error("body in yaw", ("body",), ("CY", "Cl", "Cn"), 0.3),
    Error("side force near the CG", terms=_plus(CYb=0.06)),
    Error("crossflow about the body", ("crossflow",), (), 0.3),
    Error("wing on body in roll", ("wing on body",), (), 0.4),
    Error("aileron power", terms=_times(0.12, "Clda", "CYda", "Cnda", "CndaCL", "Cndads", "CLds", "Cmds")),
    Error("elevator power", terms=_times(0.15, "CLde", "Cmde", "tau_elevator")),
    Error("rudder power", terms=_times(0.18, "CYdr", "Cldr", "Cndr", "tau_rudder", "Cmdr2", "Cmbdr")),
    Error("flap power", terms=_times(0.15, "CLdf", "CDdf")),
    Error("pitch from flap", terms=_plus(Cmdf=0.06)),
    Error("where the wing's lift acts", terms=_plus(Cma=0.08)),  # 1.7 % of the chord
    Error("downwash", terms=_plus(tail_alpha=-0.06) | _times(0.2, "Cmad", "CLad") | {"Cma": ("+", None)}),
    Error("lag of the downwash", terms=_times(0.5, "Cmad", "CLad")),
    Error("lift and pitch at zero angle", terms=_plus(Cm0=0.005, CL0=0.02, tail_alpha0=0.003, stream_alpha0=0.003)),
    Error("dihedral effect", terms=_plus(Clb=0.012)),
    Error("dihedral effect by lift", terms=_times(0.2, "Clba")),
    Error("weathercock stability", terms=_plus(Cnb=0.012)),
    Error("weathercock stability at large angles", terms=_plus(Cnb3=0.15)),
    Error("side force at large angles", terms=_plus(CYb3=0.3)),
    Error("suction of the fin", ("fin suction",), (), 0.4),  # thin sharp edges lose it
    Error("induced drag of the fin", ("fin induced drag",), (), 0.35),
    Error("fin and tailplane where they meet", terms=_plus(Cmb2=0.10), source="see sixdof.estimate.interference"),
    Error("pitch from sideslip", terms=_plus(Cmb2=0.05)),
    Error("pitch from rudder", terms=_plus(Cmdr2=0.02)),
    Error("pitch from both", terms=_plus(Cmbdr=0.04)),
    Error("damping in roll", terms=_times(0.06, "Clp")),
    Error("damping in pitch", terms=_times(0.12, "Cmq", "CLq")),
    Error("lift from pitch rate", terms=_times(0.35, "CLq")),  # handbooks count all of the wing's, half of it or none
    Error("damping in yaw", terms=_times(0.18, "Cnr", "CYr")),
    Error("roll from yaw rate", terms=_times(0.2, "Clr", "ClrCL")),
    Error("roll from yaw rate, the rest", terms=_plus(Clr=0.02)),
    Error("side force from roll rate", terms=_plus(CYp=0.045)),
    Error("adverse yaw", terms=_plus(Cnda=0.01)),
    Error("adverse yaw by lift", terms=_plus(CndaCL=0.03)),
    Error("yaw from roll rate", terms=_plus(Cnp=0.01)),
    Error("yaw from roll rate by lift", terms=_times(0.25, "CnpCL")),
    Error("roll from rudder", terms=_plus(Cldr=0.006)),
    Error("least drag", terms=_times(None, "CD0")),
    Error("drag by lift", terms=_times(0.12, "CDk")),
    Error("drag by sideslip", terms=_plus(CDb2=0.1)),
    Error("drag of surfaces", ("rudder drag",), (), 0.3, terms=_times(0.3, "CDda2", "CDde2", "CDdr2") | _times(0.15, "Cndads")),
    Error("stall", terms=_plus(alpha_stall=math.radians(1.5), alpha_plate=math.radians(1.5))),
    Error("large throws", terms=_times(0.15, "saturation_aileron", "saturation_elevator", "saturation_rudder")),
    Error("tail in the slipstream", terms=_times(0.25, "immersion_tailplane", "immersion_fin")),
    Error("how far sideslip carries the slipstream", terms=_times(0.25, "immersion_angle"), source=_SWIRLED),
    Error("swirl on the tailplane", terms=_plus(swirl_tailplane=0.25), source=_SWIRLED),
    Error("wing in the slipstream", terms=_times(0.4, "stream_lift")),
    Error("swirl on the fin", terms=_plus(swirl_recovered=0.2)),
    Error("torque taken back", terms=_plus(torque_recovered=0.2)),
)  # fmt: skip
_RIGGING: tuple[Error, ...] = (
    # left half up and right half down, together
    Error("twist of the wing", built={"twist": math.radians(0.5 * 0.3)}, source=_BUILDER),
    Error("unequal elevator halves", built={"split": math.radians(0.5 * 0.5)}, source=_BUILDER),
    Error("fin out of line", built={"fin": math.radians(0.5)}, source=_BUILDER),
    Error("incidence of the wing as built", built={"wing": math.radians(0.3)}, source=_BUILDER),
    Error("incidence of the tailplane as built", built={"tailplane": math.radians(0.3)}, source=_BUILDER),
    Error("thrust line down", parts={"thrust_down": math.radians(0.5)}, source=_BUILDER),
    Error("thrust line to the right", parts={"thrust_right": math.radians(0.5)}, source=_BUILDER),
)
_MASS: tuple[Error, ...] = (
    Error("CG fore and aft", parts={"cg_x": 0.007}, source="a balance on the fingers; " + _BUILDER),
    Error("CG to the side", parts={"cg_y": 0.002}, source="a balance at nose and tail; " + _BUILDER),
    Error("CG up and down", parts={"cg_z": 0.015}, source="a hang test; " + _BUILDER),
    *(Error(f"inertia in {axis}", parts={name: None}, source="by how it came, sixdof.airframe.mass")
      for axis, name in (("roll", "Ixx"), ("pitch", "Iyy"), ("yaw", "Izz"))),
)  # fmt: skip
_BLADES = "by what was measured, sixdof.estimate.propeller"
_PROPELLER: tuple[Error, ...] = (
    Error("propeller in crossflow", terms=_times(None, "prop_crossflow_force"), source=_BLADES),
    Error("thrust offset in crossflow", terms=_times(None, "prop_crossflow_moment"), source=_BLADES),
    *(Error(f"propeller: {name.replace('_', ' ')}", parts={name: None}, source=_BLADES)
      for name in ("static_ct", "static_cp", "zero_thrust", "zero_power")),
)  # fmt: skip
ERRORS: tuple[Error, ...] = (*_AERODYNAMICS, *_RIGGING, *_MASS, *_PROPELLER)
#: Those that move terms, whose columns are in :attr:`sixdof.estimate.derivatives.Derivatives.doubt`; the others.
OF_TERMS: tuple[Error, ...] = tuple(error for error in ERRORS if not error.parts)
OF_PARTS: tuple[Error, ...] = tuple(error for error in ERRORS if error.parts)


def moves(
    value: np.ndarray,
    shares: np.ndarray,
    components: Sequence[str],
    *,
    built: np.ndarray,
    measured: Mapping[str, float],
    errors: Iterable[Error] = OF_TERMS,
) -> np.ndarray:
    """What one standard deviation of each error does to the values, array (n, errors).

    Parameters
    ----------
    value : array (n,)
        In the order of :data:`NAMES`.
    shares : array (n, components)
    components : sequence of str
    built : array (RIGGING, n) [1/rad]
        What each angle that a surface stands off does to the values.
    measured : mapping of float
        Standard deviation of the terms whose row gives none.
    errors : iterable of Error
    """
    columns = []
    for error in errors:
        move = np.zeros(len(NAMES))
        mine = [i for i, name in enumerate(components) if name in error.components]
        rows = np.isin(_COEFFICIENT, error.coefficients) if error.coefficients else slice(None)
        move[rows] += error.relative * shares[rows][:, mine].sum(axis=1)
        for name, (kind, size) in error.terms.items():
            size = measured[name] if size is None else size
            move[_ROW[name]] += size * value[_ROW[name]] if kind == "x" else size
        for angle, size in error.built.items():
            move += size * built[list(RIGGING).index(angle)]
        columns.append(move)
    return np.stack(columns, axis=1)


def parts_moved(z: np.ndarray, measured: Mapping[str, float]) -> dict[str, np.ndarray]:
    """How far each of :data:`PARTS` is off, in its unit, arrays (n,).

    Parameters
    ----------
    z : array (n, len(OF_PARTS))
        Standard deviations of each error.
    measured : mapping of float
        Standard deviation of the parts whose row gives none.
    """
    off = {name: np.zeros(len(z)) for name in PARTS}
    for error, column in zip(OF_PARTS, z.T, strict=True):
        for name, size in error.parts.items():
            off[name] += (measured[name] if size is None else size) * column
    return off


def normals(n: int, m: int, *, seed: int, block: int = 0) -> np.ndarray:
    """Standard normal numbers (n, m) that depend on the seed and the number of their block alone."""
    return np.random.Generator(np.random.Philox(key=[seed, block])).standard_normal((n, m))

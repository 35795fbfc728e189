"""How unsure the estimated derivatives are: a list of ways in which the method may be wrong.

Each way moves many terms at once (a fin that works 15 % better turns, damps and rolls better), so
the covariance is the sum of their outer products and keeps what belongs together.  How far handbook
methods and tunnels differ: two published sets of one and the same airplane differ by 10 to 40 % in
roll and yaw (Navion; Nelson 1998 and Seckel & Morris 1971); NACA TN 636, 1938, warns that
interference dominates the yaw of bodies.  The sizes were set so that our estimates lie about one
standard deviation off the published sets of the Navion and of Roskam's airplane A, whose geometry is
known best (``tests/published/test_*_from_geometry.py``); terms that those do not hold are common practice,
no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from sixdof.physics.terms import SHAPE, TERM_NAMES, TERMS

__all__ = ["ERRORS", "NAMES", "Error", "moves", "normals"]

#: Terms, then shape parameters: the order of all arrays of derivatives.
NAMES: tuple[str, ...] = (*TERM_NAMES, *SHAPE)
_ROW = {name: i for i, name in enumerate(NAMES)}
_COEFFICIENT = np.array([t.coefficient for t in TERMS] + [""] * len(SHAPE))


class Error(NamedTuple):
    """One way to be wrong: shares of components that scale together, and terms that move by themselves.

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
        Term -> standard deviation over its value, as ``("x", 0.2)``, or in its own unit, ``("+", 0.02)``.
    """

    name: str
    components: tuple[str, ...] = ()
    coefficients: tuple[str, ...] = ()
    relative: float = 0.0
    terms: Mapping[str, tuple[str, float]] = {}


def _times(relative: float, *names: str) -> dict[str, tuple[str, float]]:
    return {name: ("x", relative) for name in names}


def _plus(**sizes: float) -> dict[str, tuple[str, float]]:
    return {name: ("+", size) for name, size in sizes.items()}


_FIN = ("fin", "ventral")
ERRORS: tuple[Error, ...] = (
    Error("lift of the wing", ("wing",), (), 0.06),
    Error("lift of the tailplane", ("tailplane",), (), 0.07),
    Error("side force of the fin", _FIN, (), 0.15),
    Error("body in pitch", ("body",), ("CL", "Cm"), 0.3),
    Error("body in yaw", ("body",), ("CY", "Cl", "Cn"), 0.3),
    Error("side force near the CG", terms=_plus(CYb=0.06)),
    Error("crossflow about the body", ("crossflow",), (), 0.3),
    Error("wing on body in roll", ("wing on body",), (), 0.4),
    Error("aileron power", terms=_times(0.12, "Clda", "CYda", "Cnda", "CndaCL", "Cndads", "CLds", "Cmds")),
    Error("elevator power", terms=_times(0.12, "CLde", "Cmde", "tau_elevator")),
    Error("rudder power", terms=_times(0.12, "CYdr", "Cldr", "Cndr", "tau_rudder", "Cmdr2", "Cmbdr")),
    Error("flap power", terms=_times(0.15, "CLdf", "CDdf")),
    Error("pitch from flap", terms=_plus(Cmdf=0.06)),
    Error("where the wing's lift acts", terms=_plus(Cma=0.08)),  # 1.7 % of the chord
    Error("downwash", terms=_plus(Cma=0.12, tail_alpha=0.06) | _times(0.35, "Cmad", "CLad")),
    Error("decalage as built", terms=_plus(Cm0=0.01, CL0=0.03, tail_alpha0=0.006, stream_alpha0=0.006)),
    Error("dihedral effect", terms=_plus(Clb=0.012)),
    Error("dihedral effect by lift", terms=_times(0.2, "Clba")),
    Error("weathercock stability", terms=_plus(Cnb=0.012)),
    Error("weathercock stability at large angles", terms=_plus(Cnb3=0.15)),
    Error("side force at large angles", terms=_plus(CYb3=0.3)),
    Error("pitch from sideslip", terms=_plus(Cmb2=0.08)),
    Error("pitch from rudder", terms=_plus(Cmdr2=0.02)),
    Error("pitch from both", terms=_plus(Cmbdr=0.04)),
    Error("damping in roll", terms=_times(0.06, "Clp")),
    Error("damping in pitch", terms=_times(0.10, "Cmq", "CLq")),
    Error("lift from pitch rate", terms=_times(0.2, "CLq")),
    Error("damping in yaw", terms=_times(0.18, "Cnr", "CYr")),
    Error("roll from yaw rate", terms=_times(0.2, "Clr", "ClrCL")),
    Error("roll from yaw rate, the rest", terms=_plus(Clr=0.02)),
    Error("side force from roll rate", terms=_plus(CYp=0.03)),
    Error("adverse yaw", terms=_plus(Cnda=0.01)),
    Error("adverse yaw by lift", terms=_plus(CndaCL=0.03)),
    Error("yaw from roll rate", terms=_plus(Cnp=0.01)),
    Error("yaw from roll rate by lift", terms=_times(0.25, "CnpCL")),
    Error("roll from rudder", terms=_plus(Cldr=0.006)),
    Error("least drag", terms=_times(0.15, "CD0")),
    Error("drag by lift", terms=_times(0.12, "CDk")),
    Error("drag by sideslip", terms=_plus(CDb2=0.1)),
    Error("drag of surfaces", terms=_times(0.3, "CDda2", "CDde2", "CDdr2") | _times(0.15, "Cndads")),
    Error("stall", terms=_plus(alpha_stall=math.radians(1.5), alpha_plate=math.radians(1.5))),
    Error("large throws", terms=_times(0.15, "saturation_aileron", "saturation_elevator", "saturation_rudder")),
    Error("tail in the slipstream", terms=_times(0.25, "immersion_tailplane", "immersion_fin", "immersion_angle")),
    Error("wing in the slipstream", terms=_times(0.4, "stream_lift")),
    Error("swirl on the fin", terms=_plus(swirl_recovered=0.2)),
    Error("torque taken back", terms=_plus(torque_recovered=0.2)),
)  # fmt: skip


def moves(
    value: np.ndarray, shares: np.ndarray, components: Sequence[str], errors: Iterable[Error] = ERRORS
) -> np.ndarray:
    """What one standard deviation of each error does to the values, array (n, errors).

    Parameters
    ----------
    value : array (n,)
        In the order of :data:`NAMES`.
    shares : array (n, components)
    components : sequence of str
    errors : iterable of Error
    """
    columns = []
    for error in errors:
        move = np.zeros(len(NAMES))
        mine = [i for i, name in enumerate(components) if name in error.components]
        rows = np.isin(_COEFFICIENT, error.coefficients) if error.coefficients else slice(None)
        move[rows] += error.relative * shares[rows][:, mine].sum(axis=1)
        for name, (kind, size) in error.terms.items():
            move[_ROW[name]] += size * value[_ROW[name]] if kind == "x" else size
        columns.append(move)
    return np.stack(columns, axis=1)


def normals(n: int, m: int, *, seed: int) -> np.ndarray:
    """Standard normal numbers (n, m) that depend on the seed alone."""
    return np.random.Generator(np.random.Philox(key=seed)).standard_normal((n, m))

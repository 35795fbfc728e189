"""Where fin and tailplane meet: which of the lattice's loads can be trusted.

In sideslip the flow about the fin pushes the tailplane to one side up, to the other down, and sucks at the face that
the fin stands on: roll by the flow, pitch by its square.  The roll is counted, the pitch is not.  It does not come out
of a lattice: the square of the speed about an edge without thickness grows as one over the distance, and its sum as
the logarithm of the fineness.  Fin and tailplane of the demos, at the sideslip and rudder that hold knife-edge: the pitch
of the tailplane over beta^2 is -.17, -.08 and -.09 with 20 strips and 4 panels along the chord and grows by another
tenth with each doubling, to 80 and 16, without end (-.20, -.09, -.10); the edges of the fin, pulled along its height,
add as much again or more, growing faster.  It jumps where the tailplane crosses the fin just above its root, and has a
low tailplane tuck, where flyers say a high one.  Edges with thickness would set an end to it, at a size that nobody
has measured: so it is an error of its own of the size of the tailplane's part (:mod:`sixdof.estimate.doubt`), and no
part of the estimate.  What the fin itself does is in :mod:`sixdof.estimate.fin`.
"""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np

from sixdof.estimate.lattice import Conditions, Lattice, Loads, solve

__all__ = ["without_interference"]

#: CX, CZ and Cm of :attr:`Loads.body`, the same to both sides.
_EVEN = (0, 2, 4)


def without_interference(lattice: Lattice, conditions: Conditions, loads: Loads) -> Loads:
    """Loads with lift, drag and pitch of the tailplane as if there were no fin, and none of the fin's own.

    Parameters
    ----------
    lattice : Lattice
        With the components ``wing``, ``tailplane``, ``fin`` and perhaps ``ventral``.
    conditions : Conditions
    loads : Loads
        Of the lattice under these conditions.
    """
    names, table = [f.name for f in fields(Conditions)], conditions.table()
    rudder = names.index("dr")
    rows = np.flatnonzero(table[:, [names.index("beta"), rudder]].any(axis=1))
    table[:, rudder] = 0.0
    apart = solve(lattice.part("wing", "tailplane"), Conditions(*table[rows].T))
    body, tail = loads.body.copy(), apart.components.index("tailplane")
    for axis in _EVEN:
        body[rows, loads.components.index("tailplane"), axis] = apart.body[:, tail, axis]
        for name in ("fin", "ventral"):
            if name in loads.components:
                body[:, loads.components.index(name), axis] = 0.0
    return replace(loads, body=body)

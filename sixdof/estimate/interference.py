"""Where fin and tailplane meet: which of the lattice's loads can be trusted.

In sideslip the flow about the fin pushes the tailplane to one side up, to the other down, and sucks at the face that
the fin stands on: roll by the flow, pitch by its square.  The roll is counted, the pitch is not.  It does not come out
of a lattice: with the demos Cmb2 is -.25 to -.26, a fifth short of finer ones (-.29 to -.32 with three times the
panels and strips, still growing, for edges without thickness suck most), and jumps to -.09 to -.13 where the tailplane
crosses the fin 10 to 15 mm above its root; and it has a low tailplane tuck, where flyers say a high one.  At the rudder
that holds the sideslip (Cmbdr .15 to .21 against it) it is -.07 to -.13 in all, of the size of the usual tuck of
:mod:`sixdof.estimate.assemble`, which stands for it too.  Nor is the suction of the fin's own edge counted, forward
and times its height.
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

"""What the table of wings leaves open: ``sixdof/validation/lattice_wings.py``."""

from __future__ import annotations

from sixdof.validation.lattice_wings import rates_of_turning_wing


def test_yaw_from_roll_rate():
    """Cnp ~ -CL/8 is a strip rule without the drag that the wing's own wake induces: the lattice lies between."""
    Cnp = rates_of_turning_wing()[1]
    assert -0.125 < Cnp < -0.04, f"Cnp/CL: found {Cnp:.4f}, strip rule -0.125 (second hand)"

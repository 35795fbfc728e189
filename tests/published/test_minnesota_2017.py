"""1.27 m electric model: data files of the University of Minnesota, 2017 (inertia, coefficients) and 2011.

Paper: Dorobantu, Murch, Mettler, Balas, *J. Aircraft* 2013, doi 10.2514/1.C032065.  Coefficients read;
trims and modes computed from them by an independent program (thrust held along x).  Here drag has its
own share of the side force, so CYb + CD enters for a CYb that is the whole of it.
Limits: 1 % of |lambda|, spiral 5 %; trim 0.01 deg and 0.1 %.

Of its geometry the wing is known, the tail guessed (``tests/files/minnesota.yaml``): what the wing makes is
compared.  The tail terms of the set do not fit each other: Cndr over CYdr puts the fin 1.2 m behind the CG of a
model 1.05 m long, Cmde over CLde the tailplane 2.2 m.
"""

from __future__ import annotations

import math

import pytest
from chain import chain
from support import DEG, agree, agree_modes, plane_of

from sixdof.flight.linear import linearize, modes
from sixdof.flight.trim import trim
from sixdof.physics.air import make_air

COMPUTED = "modes computed from the published coefficients"


def minnesota(CD):
    """1.27 m electric.  Positive aileron rolls left, as in ISO 1151.

    The file's drag by elevator is taken by its amount, as the computed trims have it; the elevator
    stands up in every trim here, hence the sign.
    """
    S, b = 0.3097, 1.27
    return plane_of(
        1.959, (0.07151, 0.08636, 0.15364, 0.014), S, b, 0.25,
        CD0=0.0434, CLmind=0.23, CDk=1.0 / (math.pi * 0.75 * b * b / S), CDde=-0.0135,
        CL0=0.1086, CLa=4.58, CLq=6.1639, CLad=1.9724, CLde=0.0983,
        Cm0=-0.0278, Cma=-0.723, Cmq=-13.5664, Cmde=-0.8488,
        CYb=-0.4889 + CD, CYp=-0.0375, CYr=0.15, CYdr=0.1913,
        Clb=-0.0545, Clp=-0.4496, Clr=0.1086, Clda=-0.1646, Cldr=0.0115,
        Cnb=0.0723, Cnp=0.118, Cnr=-0.1833, Cnda=0.0574, Cndr=-0.1811,
        ideal_thrust=20.0,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("V", "alpha", "de", "T", "computed"),
    [
        (17.0, 3.09137, -4.50976, 2.50330, {
            "short period": -11.633511743 + 9.286600466j, "phugoid": -0.075165808 + 0.573229158j,
            "roll": -16.210909405, "Dutch roll": -1.810820146 + 5.220738054j, "spiral": -0.014250340}),
        (19.0, 2.21022, -3.75921, 3.04820, {
            "short period": -12.999364102 + 10.376040799j, "phugoid": -0.083782633 + 0.510814834j,
            "roll": -18.147116781, "Dutch roll": -2.007294385 + 5.798303638j, "spiral": -0.020012137}),
    ],
)  # fmt: skip
def test_minnesota_2017_modes(V, alpha, de, T, computed):
    air = make_air(rho=1.225)
    plane = minnesota(T * math.cos(alpha * DEG) / (0.5 * 1.225 * V**2 * 0.3097))
    steady = trim(plane, air, speed=V)
    assert steady.converged, steady
    agree("alpha [deg]", steady.alpha / DEG, alpha, within=0.01, source=COMPUTED)
    agree("elevator [deg]", steady.targets[2] / DEG, de, within=0.01, source=COMPUTED)
    agree("thrust [N]", steady.targets[5] * plane["ideal_thrust"], T, share=1e-3, source=COMPUTED)
    agree_modes(modes(linearize(plane, air, steady)), computed, share=0.01, spiral=0.05, source=COMPUTED)


@pytest.mark.parametrize("term", ["CLa", "Clp", "Clb", "Clr", "Clda"])
def test_wing_from_geometry(term):
    """The set, -.4496, is more than a rectangular wing of its aspect ratio has by any theory: 13 % off in Clp."""
    found, sigma = chain("minnesota", 0.35)[term]
    published = float(minnesota(0.0)[term])
    agree(f"{term}, sigma {sigma:.3g}", found, published, within=2.0 * sigma, source="data file")
    agree(term, found, published, share=0.30, source="data file")

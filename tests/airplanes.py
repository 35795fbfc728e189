"""Made-up airplanes of the usual layout, as an aircraft file would give them."""

from __future__ import annotations

import math
from typing import Any

from hypothesis import strategies as st

from sixdof.airframe.model import Airframe, AirframeFile

G, RHO = 9.80665, 1.225


def conventional(
    *,
    span: float = 1.6,
    aspect: float = 6.0,
    taper: float = 0.8,
    sweep: float = 0.1,
    dihedral: float = 1.0,
    wing_up: float = 0.0,
    incidence: float = 0.5,
    thickness: float = 12.0,
    camber: float = 1.0,
    tail_area: float = 0.24,
    tail_arm: float = 2.8,
    tail_up: float = 0.01,
    fin_area: float = 0.09,
    fin_slender: float = 1.2,
    depth: float = 0.10,
    cg: float = 0.30,
    loading: float = 50.0,
    cruise_lift: float = 0.3,
    flap: bool = False,
    clockwise: bool = True,
) -> dict[str, Any]:
    """An aircraft file, read; by the measures that shape an airplane.

    Parameters
    ----------
    span : [m]
    sweep : of the leading edge over one side, share of the root chord
    dihedral, incidence : [deg]
    wing_up, tail_up : heights above the thrust line, shares of the span
    thickness, camber : [%]
    tail_area, fin_area : shares of the wing's
    tail_arm : wing to tailplane, quarter points, mean chords
    fin_slender : height squared over area
    depth : of the body, share of its length
    cg : share of the mean chord
    loading : weight over wing area [N/m2]
    cruise_lift : lift coefficient at cruise, which sets the speed
    """
    area = span**2 / aspect
    root = 2.0 * area / (span * (1.0 + taper))
    chord = 2.0 / 3.0 * root * (1.0 + taper + taper**2) / (1.0 + taper)
    nose = 1.2 * chord  # propeller to the leading edge of the root
    back = sweep * root * (1.0 + 2.0 * taper) / (3.0 * (1.0 + taper))  # of the mean chord
    quarter = nose + back + 0.25 * chord
    tail_chord = math.sqrt(tail_area * area / 4.0)  # aspect ratio 4
    tail = quarter + tail_arm * chord - 0.25 * tail_chord
    height = math.sqrt(fin_slender * fin_area * area)
    fin_chord = fin_area * area / height
    length = max(tail + tail_chord, tail + 0.7 * fin_chord)
    deep = depth * length
    weight, diameter = loading * area, 0.22 * span
    Ixx, Iyy = (weight / G * (radius * size) ** 2 for radius, size in ((0.14, span), (0.2, length)))
    turns = math.sqrt(1.2 * weight / (0.1 * RHO * diameter**4))  # thrust 1.2 times the weight
    end = 0.45 * span
    controls = {
        "aileron": {"chord": _mm(0.22 * chord * min(1.0, 1.5 * taper)), "inboard": _mm(0.25 * span), "outboard": _mm(end)},
        "elevator": {"chord": _mm(0.35 * tail_chord), "inboard": "0 mm", "outboard": _mm(1.99 * tail_chord)},
        "rudder": {"chord": _mm(0.4 * fin_chord), "inboard": "0 mm", "outboard": _mm(0.999 * height)},
    }  # fmt: skip
    if flap:
        controls["flap"] = {"chord": _mm(0.2 * chord * min(1.0, 1.5 * taper)), "inboard": _mm(0.06 * span), "outboard": _mm(0.24 * span)}  # fmt: skip
    throws = {"aileron": {"up": "18 deg", "down": "18 deg"}, "elevator": {"up": "20 deg", "down": "20 deg"},
              "rudder": {"left": "30 deg", "right": "30 deg"}} | ({"flap": {"down": "20 deg"}} if flap else {})  # fmt: skip
    stations = ((0.0, 0.35), (0.1, 0.8), (0.3, 1.0), (0.5, 1.0), (0.75, 0.7), (1.0, 0.3))
    return {
        "sixdof": 1, "name": "made", "about": "made for a test", "invented": True,
        "mass": {"total": f"{weight / G!r} kg", "cg": {"aft": _mm(nose + back + cg * chord), "up": "0 mm"},
                 "Ixx": f"{Ixx!r} kg m2", "Iyy": f"{Iyy!r} kg m2", "Izz": f"{0.95 * (Ixx + Iyy)!r} kg m2"},
        "wing": {
            "root": {"aft": _mm(nose), "up": _mm(wing_up * span)}, "incidence": f"{incidence!r} deg",
            "section": {"thickness": f"{thickness!r} %", "camber": f"{camber!r} %"},
            "panels": [{"span": _mm(0.5 * span), "root_chord": _mm(root), "tip_chord": _mm(taper * root),
                        "sweep": _mm(sweep * root), "dihedral": f"{dihedral!r} deg"}],
        },
        "tailplane": {
            "root": {"aft": _mm(tail), "up": _mm(tail_up * span)}, "section": {"thickness": "8 %"},
            "panels": [{"span": _mm(2.0 * tail_chord), "root_chord": _mm(tail_chord), "tip_chord": _mm(tail_chord)}],
        },
        "fin": {
            "root": {"aft": _mm(length - fin_chord), "up": _mm(0.15 * deep)}, "section": {"thickness": "8 %"},
            "panels": [{"span": _mm(height), "root_chord": _mm(1.2 * fin_chord), "tip_chord": _mm(0.8 * fin_chord),
                        "sweep": _mm(0.4 * fin_chord)}],
        },
        "body": [{"aft": _mm(x * length), "top": _mm(0.5 * d * deep), "bottom": _mm(-0.5 * d * deep),
                  "width": _mm(0.8 * d * deep)} for x, d in stations],
        "controls": controls,
        "propeller": {"diameter": _mm(diameter), "pitch": _mm(0.6 * diameter), "blades": 2,
                      "turns": "clockwise" if clockwise else "counterclockwise", "position": {"aft": "0 mm", "up": "0 mm"},
                      "inertia": f"{0.01 * weight / G * diameter**2!r} kg m2"},
        "motor": {"kind": "electric", "static_speed": f"{60.0 * turns!r} rpm"},
        "rates": {"normal": throws},
        "speeds": {"cruise": f"{math.sqrt(2.0 * loading / (RHO * cruise_lift))!r} m/s"},
    }  # fmt: skip


def airframe_of(data: dict[str, Any]) -> Airframe:
    """The airplane of such a file."""
    return Airframe.model_construct(**dict(AirframeFile.model_validate(data)))


#: Airplanes somebody could build and fly: sport models to aerobatic ones, .8 to 3 m.
airplanes = st.builds(
    conventional,
    span=st.floats(0.8, 3.0),
    aspect=st.floats(4.0, 9.0),
    taper=st.floats(0.45, 1.0),
    sweep=st.floats(-0.05, 0.4),
    dihedral=st.floats(-1.0, 6.0),
    wing_up=st.floats(-0.05, 0.05),
    incidence=st.floats(-1.0, 2.0),
    thickness=st.floats(6.0, 16.0),
    camber=st.floats(0.0, 4.0),
    tail_area=st.floats(0.18, 0.32),
    tail_arm=st.floats(2.3, 3.6),
    tail_up=st.floats(-0.02, 0.06),
    fin_area=st.floats(0.06, 0.14),
    fin_slender=st.floats(0.7, 2.0),
    depth=st.floats(0.07, 0.14),
    cg=st.floats(0.22, 0.36),
    loading=st.floats(20.0, 90.0),
    cruise_lift=st.floats(0.2, 0.5),
    flap=st.booleans(),
    clockwise=st.booleans(),
).map(airframe_of)


def _mm(length: float) -> str:
    return f"{1e3 * length!r} mm"

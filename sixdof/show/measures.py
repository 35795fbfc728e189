"""Main measures of an airplane in words, as they stand beside its drawing."""

from __future__ import annotations

import math

from sixdof.airframe.geometry import Surface
from sixdof.airframe.model import Airframe
from sixdof.physics.constants import G0

__all__ = ["angle", "balance_words", "ends", "margin_words", "mean_chord_side", "mm", "table"]

_INCH = 0.0254


def table(airframe: Airframe, neutral_point: float | None = None) -> list[tuple[str, str]]:
    """What is measured and its value, a row each.

    Parameters
    ----------
    airframe : Airframe
    neutral_point : float, optional [m]
        x from the datum.
    """
    wing, tail, fin = airframe.wing, airframe.tailplane, airframe.fin
    propeller, grams = airframe.propeller, 1e3 * airframe.mass.m
    nose, tail_end = ends(airframe)
    weigh = f"{grams / 1e3:.2f} kg" if grams >= 1000.0 else f"{grams:.0f} g"
    size = " × ".join(f"{x / _INCH:.3g}" for x in (propeller.diameter, propeller.pitch))
    blades = f"{propeller.blades} blade{'s' if propeller.blades > 1 else ''}"
    rows = [
        ("span, length", f"{mm(wing.span)}, {mm(nose - tail_end)} (without spinner)"),
        ("wing", f"{_area(wing.area)}, mean chord {mm(wing.mean_chord)}, aspect ratio {wing.span**2 / wing.area:.1f}"),
        ("tailplane", f"{_area(tail.area)}, tail volume {_volume(tail, wing, wing.mean_chord):.2f}"),
        ("fin", f"{_area(fin.area)}, tail volume {_volume(fin, wing, wing.span):.3f}"),
    ]  # fmt: skip
    if airframe.ventral is not None:
        rows.append(("ventral fin", f"{_area(airframe.ventral.area)}"))
    rows += [
        ("mass", f"{weigh}, {grams / (100.0 * wing.area):.0f} g/dm² ({airframe.mass.m * G0 / wing.area:.0f} N/m²)"),
        ("CG", f"{_aft(airframe.mass.cg[0])}, {_up(-airframe.mass.cg[2])}"),
        ("", balance_words(airframe)),
    ]  # fmt: skip
    if airframe.mass.cg[1] != 0.0:
        rows.append(("", _sideways(airframe.mass.cg[1])))
    if neutral_point is not None:
        rows += [
            ("neutral point", _aft(neutral_point)),
            ("", margin_words(airframe, neutral_point, " of the mean chord")),
        ]
    rows += [
        ("propeller", f"{mm(propeller.diameter)} × {mm(propeller.pitch)} ({size} in), {blades}"),
        ("", f"turns {'clockwise' if propeller.clockwise else 'counterclockwise'}, seen from behind"),
    ]
    return rows


def ends(airframe: Airframe) -> tuple[float, float]:
    """x of the foremost and of the aftmost point of body, wing and tails [m], without propeller and spinner."""
    edges = [station.x for station in airframe.body]
    for surface in (airframe.wing, airframe.tailplane, airframe.fin, airframe.ventral):
        front = surface.root[0] if surface is not None else 0.0
        for p in surface.panels if surface is not None else ():
            edges += [front, front - p.root_chord, front - p.sweep, front - p.sweep - p.tip_chord]
            front -= p.sweep
    return max(edges), min(edges)


def mean_chord_side(surface: Surface) -> float:
    """How far out the mean aerodynamic chord lies, ∫ c y dy / ∫ c dy over one side [m]."""
    y = moment = area = 0.0
    for p in surface.panels:
        width = p.span * math.cos(p.dihedral)
        c1, c2 = p.root_chord, p.tip_chord
        area += width * (c1 + c2) / 2
        moment += width / 6 * (c1 * y + (c1 + c2) * (2 * y + width) + c2 * (y + width))  # Simpson, exact
        y += width
    return moment / area


def balance_words(airframe: Airframe) -> str:
    """Where the CG lies on the mean chord: "32 % of the mean chord"."""
    ahead = airframe.wing.quarter_chord[0] - airframe.mass.cg[0]
    share = 25.0 + 100.0 * ahead / airframe.wing.mean_chord
    return _minus(f"{share:.0f} % of the mean chord")


def margin_words(airframe: Airframe, neutral_point: float, of: str = "") -> str:
    """The static margin as a share of the mean chord, worded so that its sign cannot be misread."""
    margin = round(100.0 * (airframe.mass.cg[0] - neutral_point) / airframe.wing.mean_chord, 1) + 0.0
    where = "ahead" if margin > 0.0 else "BEHIND" if margin < 0.0 else "on it"
    return _minus(f"static margin {margin:g} %{of}, CG {where}")


def mm(meters: float) -> str:
    """A length as "1234 mm", below 10 mm with a tenth."""
    millimeters = 1e3 * meters
    return _minus(f"{millimeters:.0f} mm" if abs(millimeters) >= 10.0 else f"{round(millimeters, 1):g} mm")


def angle(radians: float) -> str:
    """An angle as "1.5°"."""
    return _minus(f"{round(math.degrees(radians), 1) + 0.0:g}°")


def _minus(text: str) -> str:
    return text.replace("-", "\u2212")


def _area(square_meters: float) -> str:
    return f"{100.0 * square_meters:.3g} dm²" if square_meters < 10.0 else f"{square_meters:.3g} m²"


def _volume(tail: Surface, wing: Surface, measure: float) -> float:
    """Tail area times its arm, quarter point to quarter point, over wing area and a length."""
    return tail.area * (wing.quarter_chord[0] - tail.quarter_chord[0]) / (wing.area * measure)


def _aft(x: float) -> str:
    return f"{mm(abs(x))} {'aft' if x <= 0.0 else 'ahead'} of the datum"


def _up(height: float) -> str:
    if height == 0.0:
        return "at its height"
    return f"{mm(abs(height))} {'above' if height >= 0.0 else 'below'} it"


def _sideways(y: float) -> str:
    return f"{mm(abs(y))} to the {'right' if y > 0.0 else 'left'}"

"""Is the described airplane possible, and is it usual: slips of ruler and keyboard."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

import numpy as np

from sixdof.airframe.geometry import Body, Fin, Surface, body_at
from sixdof.airframe.linkage import gearing, hinge_moment_slopes, throws_of
from sixdof.files.fields import complaint
from sixdof.physics.constants import G0

if TYPE_CHECKING:
    from sixdof.airframe.model import AirframeFile

__all__ = ["refuse_crossing", "remarks", "servo_torques"]

_STRIPS = 61
_RHO0 = 1.225  # kg/m3, U.S. Standard Atmosphere 1976, sea level
#: Between the throw that a linkage makes and the one stated that is spoken of [rad].
_APART = math.radians(1.0)
#: Share of its stalling torque that a servo holds without getting hot; common practice, no source.
_HOLDS = 0.5


def refuse_crossing(wing: Surface, tailplane: Surface) -> None:
    """Refuse a tailplane that runs into the wing: over it in plan view, and at the same height there."""
    y = np.linspace(0.0, 0.5 * min(wing.span, tailplane.span), _STRIPS)
    (lead, trail, height, depth), (lead_t, trail_t, height_t, depth_t) = _edges(wing, y), _edges(tailplane, y)
    over = (lead_t < trail) & (trail_t > lead)
    meets = over & (np.abs(height - height_t) < 0.5 * (depth + depth_t))
    if meets.any():
        i = int(np.argmax(meets))
        raise complaint(
            f"the tailplane runs into the wing: {_mm(y[i])} from the center line it begins {_mm(lead_t[i])} "
            f"aft, where the wing at the same height ends {_mm(trail[i])} aft; check the roots, chords and "
            "sweeps of both",
            "tailplane", "root",
        )  # fmt: skip


def _edges(surface: Surface, y: np.ndarray) -> tuple[np.ndarray, ...]:
    """Leading and trailing edge aft of the datum, height and thickness at distances y from the center [m]."""
    aft, height, out = -surface.root[0], -surface.root[2], 0.0
    rows = []
    for p in surface.panels:
        rows.append((out, aft, p.root_chord, height))
        out, aft = out + p.span * np.cos(p.dihedral), aft + p.sweep
        height += p.span * np.sin(p.dihedral)
        rows.append((out, aft, p.tip_chord, height))
    at, *columns = np.array(rows).T
    lead, chord, up = (np.interp(y, at, column) for column in columns)
    return lead, lead + chord, up, surface.section.thickness * chord


def remarks(form: AirframeFile) -> Iterator[str]:
    """Say in words what may be right but should be pointed out, each beginning with its key."""
    yield from _filled_in(form)
    yield from _balance(form)
    yield from _sizes(form)
    yield from _shapes(form)
    yield from _controls(form)
    yield from _linkages(form)
    yield from _inertia(form)
    yield from _power(form)
    yield from _fin_root(form.fin, form.tailplane, form.body)
    yield from _off_the_body(form)


def _filled_in(form: AirframeFile) -> Iterator[str]:
    """What the file left out and what was taken for it, where a wrong guess can break the airplane."""
    speeds, limits = form.speeds, form.limits
    if "never_exceed" not in speeds.model_fields_set:
        yield (
            f"speeds.never_exceed: left out, {speeds.never_exceed:.0f} m/s taken (1.5 x the faster of "
            "full_throttle and 1.4 x cruise): a guess, not a clearance to fly that fast"
        )
    elif speeds.full_throttle is not None and speeds.full_throttle > speeds.never_exceed:
        yield (
            f"speeds.never_exceed: {speeds.never_exceed:.1f} m/s is less than the airplane does level at "
            f"full throttle ({speeds.full_throttle:.1f} m/s)"
        )
    if "limits" not in form.model_fields_set:
        yield (
            f"limits: left out, {limits.g_positive:g} g and -{limits.g_negative:g} g taken as for a common sport model: "
            "a guess; give what your airframe is built for"
        )


def _balance(form: AirframeFile) -> Iterator[str]:
    """The CG on the wing, in the body, and against the neutral point that the file states."""
    known, wing, mass = form.derivatives, form.wing, form.mass
    if known is not None and known.reference is not None:
        stiffness = known.pitch_stiffness_at(mass.cg)
        if stiffness is not None and stiffness >= 0.0:
            behind = stiffness / known.number("CLa") * known.reference.chord
            yield (
                f"the CG is {behind * 1e3:.0f} mm behind the neutral point: the airplane diverges in pitch "
                "when let go; move weight forward, or check mass.cg and derivatives.reference.point"
            )
    share = 0.25 + (wing.quarter_chord[0] - mass.cg[0]) / wing.mean_chord
    if not 0.10 <= share <= 0.45:  # common practice, no source
        start = -wing.quarter_chord[0] - 0.25 * wing.mean_chord
        yield (
            f"mass.cg.aft: the CG is at {100.0 * share:.0f} % of the mean chord, which begins {_mm(start)} aft and is "
            f"{_mm(wing.mean_chord)} long; 25 to 35 % is usual: check mass.cg and wing.root"
        )
    top, bottom, _ = map(float, body_at(form.body, mass.cg[0]))
    if not top <= mass.cg[2] <= bottom:
        yield (
            f"mass.cg.up: the CG lies {_mm(-mass.cg[2])} above the center line, outside the body, which reaches from "
            f"{_mm(-bottom)} to {_mm(-top)} there: measure again"
        )


def _sizes(form: AirframeFile) -> Iterator[str]:
    """Sizes against each other: a slip by 10 or 25.4 shows (limits: common practice, no source)."""
    wing, tailplane, fin, body = form.wing, form.tailplane, form.fin, form.body
    length = body[0].x - body[-1].x
    arm, fin_arm = ((wing.quarter_chord[0] - s.quarter_chord[0]) / wing.mean_chord for s in (tailplane, fin))
    loading = form.mass.m * G0 / wing.area
    rows = (
        ("tailplane: its area is {:.3g} % of the wing's", 100.0 * tailplane.area / wing.area, 8.0, 50.0),
        ("fin: its area is {:.3g} % of the wing's", 100.0 * fin.area / wing.area, 2.0, 40.0),
        ("tailplane.root.aft: it is {:.3g} mean chords of the wing behind it", arm, 1.2, 8.0),
        ("fin.root.aft: it is {:.3g} mean chords of the wing behind it", fin_arm, 1.0, 8.0),
        ("body: it is {:.3g} % of the span long", 100.0 * length / wing.span, 30.0, 200.0),
        ("body: it is {:.3g} % of the span wide", 100.0 * max(s.width for s in body) / wing.span, 1.0, 35.0),
        ("mass.total: {:.3g} N on each m2 of wing", loading, 10.0, 200.0),
        ("propeller.diameter: {:.3g} % of the body's length", 100.0 * form.propeller.diameter / length, 5.0, 200.0),
    )  # fmt: skip
    yield from _out_of_bounds(rows)
    if form.speeds.stall is not None:
        needs = 2.0 * loading / (_RHO0 * form.speeds.stall**2)
        slip = "check speeds.stall, mass.total and the wing, and their units"
        yield from _out_of_bounds(
            [("speeds.stall: the wing needs a lift coefficient of {:.2g} there", needs, 0.5, 2.5)], slip
        )


_UNITS = "check the numbers and their units"


def _out_of_bounds(rows: Iterable[tuple[str, float, float, float]], slip: str = _UNITS) -> Iterator[str]:
    """A remark for each row (text, value, least, most) whose value is out of what is usual, with the likeliest slip."""
    for text, value, least, most in rows:
        if not least <= value <= most:
            yield f"{text.format(value)}; {least:g} to {most:g} is usual: {slip}"


def _shapes(form: AirframeFile) -> Iterator[str]:
    """Shapes and angles of the surfaces (limits: common practice, no source)."""
    wing, tailplane, fin = form.wing, form.tailplane, form.fin
    arm, fin_arm = (wing.quarter_chord[0] - s.quarter_chord[0] for s in (tailplane, fin))
    yield from _out_of_bounds(
        [("wing.panels: aspect ratio {:.3g}", wing.span**2 / wing.area, 3.5, 12.0)],
        "was the whole span given for one side, or half of that? one side is measured, from the center line",
    )
    yield from _out_of_bounds(
        (
            (
                f"{name}.panels[{i}].tip_chord: {{:.0f}} % of its root chord",
                100.0 * p.tip_chord / p.root_chord,
                5.0,
                105.0,
            )
            for name, surface in (("wing", wing), ("tailplane", tailplane), ("fin", fin))
            for i, p in enumerate(surface.panels)
        ),
        "are root and tip changed over?",
    )
    volumes = (
        ("tailplane: its volume, area times arm over area and mean chord of the wing, is {:.2g}",
         tailplane.area * arm / (wing.area * wing.mean_chord), 0.25, 1.3),
        ("fin: its volume, area times arm over area and span of the wing, is {:.2g}",
         fin.area * fin_arm / (wing.area * wing.span), 0.012, 0.12),
    )  # fmt: skip
    yield from _out_of_bounds(volumes, "check sizes and places of wing and tail")
    angles = (
        *((f"wing.panels[{i}].dihedral: {{:.3g}} deg", math.degrees(p.dihedral), -5.0, 8.0) for i, p in enumerate(wing.panels)),
        ("wing.incidence: {:.3g} deg", math.degrees(wing.incidence), -2.0, 4.0),
        ("tailplane.incidence: {:.3g} deg", math.degrees(tailplane.incidence), -4.0, 4.0),
    )  # fmt: skip
    yield from _out_of_bounds(angles, "degrees, or a height in mm taken for them? measure again")
    camber = [("wing.section.camber: {:.3g} %", 100.0 * wing.section.camber, -1.0, 7.0)]
    yield from _out_of_bounds(camber, "the height of the mean line, not the thickness")


def _controls(form: AirframeFile) -> Iterator[str]:
    """Chords and throws of movable surfaces (limits: common practice, no source)."""
    chords = {
        "aileron": (form.wing.mean_chord, 10.0, 50.0), "elevator": (form.tailplane.mean_chord, 15.0, 80.0),
        "rudder": (form.fin.mean_chord, 15.0, 85.0), "flap": (form.wing.mean_chord, 10.0, 50.0),
    }  # fmt: skip
    rows = [
        (
            f"controls.{name}.chord: {{:.0f}} % of the mean chord it is part of",
            100.0 * control.chord / chord,
            least,
            most,
        )
        for name, (chord, least, most) in chords.items()
        if (control := getattr(form.controls, name)) is not None
    ]
    yield from _out_of_bounds(rows, "the chord behind the hinge line")
    throws = [
        (f"rates.{rate}.{name}.{way}: {{:.3g}} deg", math.degrees(throw), 4.0, 55.0)
        for rate, channels in form.rates.items()
        for name in ("aileron", "elevator", "rudder")
        for way, throw in getattr(channels, name)
        if way != "expo" and throw
    ]
    yield from _out_of_bounds(throws, "an angle, not millimeters at the trailing edge")


def _linkages(form: AirframeFile) -> Iterator[str]:
    """Throws that a linkage does not make, and servos that the air overpowers."""
    rate, throws = next(iter(form.rates.items()))
    for name, linkage in form.linkage:
        if linkage is None or (name == "flap" and form.controls.flap is None):
            continue
        for way, made in throws_of(linkage).items():
            stated = getattr(getattr(throws, name), way)
            if abs(made - stated) > _APART:
                yield (
                    f"linkage.{name}: makes {math.degrees(made):.1f} deg {way}, rates.{rate}.{name}.{way} says "
                    f"{math.degrees(stated):.3g} deg, which is flown: measure the throw, then arm, horn and travel again"
                )
        speed, needed = servo_torques(form, name)
        most = max(needed.values())
        if linkage.torque is not None and most > _HOLDS * linkage.torque:
            yield (
                f"linkage.{name}.torque: full throw at {speed:.0f} m/s asks {most:.2g} N m of a servo that stalls at "
                f"{linkage.torque:.2g} N m and holds half of it for long: a stronger servo, a shorter arm or a longer horn "
                "(thin-airfoil theory, rather high; the propeller's stream is not counted)"
            )


def servo_torques(form: AirframeFile, name: str) -> tuple[float, dict[str, float]]:
    """What full throw of a surface asks of its servo: the speed [m/s], and by way [N m].

    Level at full throttle, with flaps at cruise; q S_c c_c times the slope of the hinge moment by deflection,
    brought to the servo by the gearing there (virtual work).
    """
    linkage, control = getattr(form.linkage, name), getattr(form.controls, name)
    home = {"elevator": form.tailplane, "rudder": form.fin}.get(name, form.wing)
    speed = form.speeds.cruise
    if name != "flap":
        speed = form.speeds.full_throttle or 1.4 * speed
    halves = linkage.halves or (2 if name == "elevator" else 1)
    area = halves * control.chord * (control.outboard - control.inboard)
    slope = hinge_moment_slopes(min(control.chord / home.mean_chord, 0.99))[1]
    per_rad = 0.5 * _RHO0 * speed**2 * area * control.chord * -slope
    throws = throws_of(linkage)
    return speed, {way: per_rad * throws[way] * gearing(linkage, turn) for way, turn in linkage.turns.items()}


def _inertia(form: AirframeFile) -> Iterator[str]:
    """Radii of gyration (limits: common practice, no source)."""
    mass, span, body = form.mass, form.wing.span, form.body
    length = body[0].x - body[-1].x
    rows = [
        (
            f"mass.{name}: radius of gyration {{:.3g}} % of {of}",
            100.0 * math.sqrt(moment / mass.m) / size,
            least,
            most,
        )
        for name, moment, of, size, least, most in (
            ("Ixx", mass.Ixx, "the span", span, 6.0, 22.0),
            ("Iyy", mass.Iyy, "the body's length", length, 11.0, 35.0),
            ("Izz", mass.Izz, "the mean of span and length", 0.5 * (span + length), 12.0, 36.0),
        )
    ]
    yield from _out_of_bounds(rows, "check its unit: kg m2, and 1 g m2 is 0.001 of that")


def _power(form: AirframeFile) -> Iterator[str]:
    """Static thrust, power and speed against each other and against momentum theory."""
    motor, D = form.motor, form.propeller.diameter
    inertia = [
        (
            "propeller.inertia: {:.2g} kg m2 for each m5 of its diameter",
            form.propeller.inertia / D**5,
            0.004,
            0.4,
        )
    ]
    yield from _out_of_bounds(inertia, "check its unit: 1 g m2 is 10000 g cm2")
    if motor.static_thrust is None:
        return
    n = motor.static_speed / (2.0 * math.pi)
    thrust = [
        (
            "motor.static_thrust: thrust coefficient {:.2g}",
            motor.static_thrust / (_RHO0 * n**2 * D**4),
            0.03,
            0.2,
        )
    ]
    yield from _out_of_bounds(thrust, "check thrust, static_speed and diameter, and their units")
    if motor.static_power is not None:
        disc = 0.25 * math.pi * D**2
        ideal = motor.static_thrust**1.5 / math.sqrt(2.0 * _RHO0 * disc)  # momentum theory (textbook)
        merit = [
            (
                "motor.static_power: the thrust takes at least {:.0f} % of it by momentum theory",
                100.0 * ideal / motor.static_power,
                30.0,
                85.0,
            )
        ]
        yield from _out_of_bounds(merit, "watts at the shaft, and newtons or grams?")


def _fin_root(fin: Fin, tailplane: Surface, body: Body) -> Iterator[str]:
    """A fin stands on the body or touches the tailplane."""
    near = 0.1 * fin.span
    root = fin.root[0] - np.linspace(0.0, fin.panels[0].root_chord, _STRIPS)
    on_body = root[root >= body[-1].x]
    gap = np.min(body_at(body, on_body)[0] - fin.root[2], initial=np.inf)
    on_tail = root[-1] < tailplane.root[0] and root[0] > tailplane.root[0] - tailplane.panels[0].root_chord
    if gap > near and not (on_tail and abs(fin.root[2] - tailplane.root[2]) <= near):
        where = "is behind the body" if np.isinf(gap) else f"lies {_mm(gap)} above the body"
        yield f"fin.root: the fin's root {where} and touches no tailplane: check fin.root and the body's stations"


def _off_the_body(form: AirframeFile) -> Iterator[str]:
    """A wing on the body, a tailplane on the body or the fin, a quarter of the wing's chord left for struts."""
    near, fin = 0.25 * form.wing.mean_chord, form.fin
    for name, surface, highest in (
        ("wing", form.wing, math.inf),
        ("tailplane", form.tailplane, fin.root[2] - fin.span),
    ):
        top, bottom, _ = map(float, body_at(form.body, surface.root[0] - 0.25 * surface.panels[0].root_chord))
        if not min(top, highest) - near <= surface.root[2] <= bottom + near:
            off = surface.root[2] - bottom if surface.root[2] > bottom else top - surface.root[2]
            where = "below" if surface.root[2] > bottom else "above"
            yield f"{name}.root.up: it stands {_mm(off)} {where} the body: from the center line, up positive? measure again"


def _mm(length: float) -> str:
    return f"{1e3 * length:.0f} mm"

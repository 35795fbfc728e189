"""What airplanes that all fit the measurements need, and how they drift: where learning starts from.

An airplane is a point x: the sticks that hold it in knife-edge, the rudder among them (needed ratios r are one over
the other), what a ratio k brings (J: drift in three seconds is J (k - r), almost exactly), the dive, the push that
keeps it inverted.  A crowd of drawn airplanes
gives the mean and covariance of x, clipped, and how x goes with the independent errors z.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from sixdof.flight.airplane import Airplane
from sixdof.flight.blends import make_blends, read_ratio
from sixdof.flight.ceiling import CEILING, under_ceiling
from sixdof.flight.fly import Flights, fly_batch, pack_blends, starts_for
from sixdof.flight.frame import SAMPLES
from sixdof.flight.gusts import Wind, airs_of, read_wind
from sixdof.flight.knife_edge import SIDES, where_it_holds
from sixdof.flight.needs import DIVE, NEEDS, RATIOS, needs
from sixdof.flight.pack import full_throw, static_margin
from sixdof.flight.script import Script, load_maneuver, make_script, settled
from sixdof.physics.air import G0, density, make_air
from sixdof.tuning.held import without_slop

__all__ = ["AIRPLANES", "GUSTS", "GUST_WIND", "SECONDS", "Prior", "X", "fly_crowd", "fly_each", "prior_of"]

#: Airplanes drawn, and fewest that tell anything.
AIRPLANES, FEWEST = 1500, 150
#: Sticks let go for so long in knife-edge [s]: what words speak of.
SECONDS = 3.0
#: Wind of the gusts that scatter is found in, and passes flown for it.
GUSTS, GUST_WIND, _PASSES = "2 m/s from ahead", 2.0, 150
#: Half the step of a ratio that a drift is taken over.
_STEP = 0.005
#: Of a normal number beyond which x is clipped.
_MOST = 3.0
#: How a drift is watched: canopy and roll, in the order of the errors of a flight.
_WATCHED = (0, 2)

#: Columns of x: needs, then by side the logarithms of canopy by elevator and roll by
#: aileron [rad in SECONDS a share of throw], the other two over those, the same of the dive [rad/s], the stick that
#: carries it inverted, how fast an inverted line of 45° decays [1/s].
X = (
    *NEEDS,
    *(f"{what}.{side}" for side in SIDES for what in ("canopy", "roll", "canopy by aileron", "roll by elevator")),
    "dive canopy",
    "push",
    "decay",
)  # fmt: skip


class Prior(NamedTuple):
    """A crowd in short.

    Attributes
    ----------
    share : float
        Of the cruise speed, at which knife-edge is flown.
    mean, root : array (len(X),), (len(X), len(X))
        x = mean + root u with u standard normal.
    errors : tuple of str
        The airplane's independent errors.
    with_errors : array (errors, len(X))
        Covariance of each error with x.
    growth : array (2,)
        Drift grows as time to this power: canopy, roll.
    play : array (2,)
        Half of the play of elevator and aileron, shares of throw.
    scatter : array (2, 3) [deg/s]
        Of the drift that one pass shows, in calm air and in the gusts of :data:`GUSTS`: canopy, roll, dive.
    airplanes : int
        That all this was found with.
    """

    share: float
    mean: np.ndarray
    root: np.ndarray
    errors: tuple[str, ...]
    with_errors: np.ndarray
    growth: np.ndarray
    play: np.ndarray
    scatter: np.ndarray
    airplanes: int

    def gain(self, told: tuple[str, ...]) -> np.ndarray:
        """Standard deviations of each error that go with a need that is larger by one, array (errors, told)."""
        columns = [X.index(name) for name in told]
        root = self.root[columns]
        return np.linalg.solve(root @ root.T, self.with_errors[:, columns].T).T


def prior_of(airplane: Airplane, *, airplanes: int = AIRPLANES) -> Prior:
    """Draw a crowd and fly it; ``airplane`` as filed, without what notes tell.

    Raises
    ------
    ValueError
        Too few of them can be flown in knife-edge and dive.
    """
    drawn = airplane.drawn(airplanes)
    share = where_it_holds(airplane.plane).share
    x, growth = fly_crowd(airplane, drawn.planes, share)
    known = np.isfinite(x).all(axis=1)
    if np.sum(known) < min(FEWEST, airplanes // 4):
        raise ValueError(
            f"only {np.sum(known)} of {len(x)} airplanes like it hold knife-edge to both sides and dive"
        )
    passes = np.flatnonzero(known)[:_PASSES]
    scatter = np.stack(
        [
            _scatter(airplane, drawn.planes[passes], x[passes], share, wind)
            for wind in (None, read_wind(GUSTS))
        ]
    )
    x, z = _clipped(x[known]), drawn.errors[known]
    mean, n = x.mean(axis=0), len(x)
    off, z = x - mean, z - z.mean(axis=0)
    covariance = np.einsum("ni,nj->ij", off, off) / (n - 1)
    root = np.linalg.cholesky(covariance + 1e-9 * np.diag(np.diag(covariance)))
    return Prior(
        share, mean, root, drawn.names, np.einsum("ne,nj->ej", z, off) / (n - 1),
        np.nanmedian(growth[known], axis=0), np.array([_play(airplane.plane, target) for target in ("elevator", "aileron")]), scatter, n,
    )  # fmt: skip


def _scatter(
    airplane: Airplane, planes: np.ndarray, x: np.ndarray, share: float, wind: Wind | None
) -> np.ndarray:
    """Standard deviation of what one pass shows of airplanes that should not drift: gusts, and how the pilot lets go.

    array (3,) [deg/s]: canopy, roll, dive; half of what the middle 68 % span.
    """
    edge = load_maneuver("knife_edge").faster(share)
    rates = [
        _one_pass(
            planes,
            make_script(edge, side, "free"),
            RATIOS[2 * s : 2 * s + 2],
            x[:, 2 * s : 2 * s + 2] / np.exp(x[:, 5 + s, None]),
            wind,
        )
        for s, side in enumerate(SIDES)
    ]
    dive = under_ceiling(airplane.planes, load_maneuver("power_off_dive"), CEILING)
    dives = _one_pass(planes, make_script(dive, "both", "free"), [DIVE], x[:, 4:5], wind)
    low, high = np.nanquantile(
        np.column_stack((np.concatenate(rates), np.tile(dives[:, 0], 2))), [0.1587, 0.8413], axis=0
    )
    return 0.5 * (high - low)


def _one_pass(
    planes: np.ndarray, script: Script, ratios: Sequence[str], amounts: np.ndarray, wind: Wind | None
) -> np.ndarray:
    """Canopy and roll [deg/s] at the end of a pass of each airplane in gusts of its own, array (n, 2)."""
    airs, gusts = airs_of(planes[0], [script], wind=wind, seeds=range(1, len(planes) + 1))
    flights = fly_each(planes, script, ratios, amounts[:, None], airs=airs, gusts=gusts)
    drifts = flights.errors[:, 0, -1][:, _WATCHED]
    drifts[~flights.finished] = np.nan
    return np.degrees(drifts) / float(script.window[0])


def _play(plane: np.void, target: str) -> float:
    return 0.5 * float(plane[f"{target}_slop"]) / full_throw(plane, target, 1.0)


def _clipped(x: np.ndarray) -> np.ndarray:
    low, middle, high = np.quantile(x, [0.1587, 0.5, 0.8413], axis=0)
    half = 0.5 * _MOST * (high - low)
    return np.clip(x, middle - half, middle + half)


def fly_crowd(airplane: Airplane, planes: np.ndarray, share: float) -> tuple[np.ndarray, np.ndarray]:
    """x of many airplanes, array (n, len(X)), NaN where one cannot fly that; and the power their drifts grow by (n, 2)."""
    planes = without_slop(planes)
    need = needs(planes, share)
    edge = load_maneuver("knife_edge").faster(share)
    scripts = [settled(make_script(edge, side, "free"), SECONDS) for side in SIDES]
    columns, growth = [need], []
    with np.errstate(invalid="ignore", divide="ignore"):
        for s, script in enumerate(scripts):
            mine = slice(2 * s, 2 * s + 2)
            slopes = _slopes(planes, script, RATIOS[mine], need[:, mine] / np.exp(need[:, 5 + s, None]))
            early, J = slopes[:, SAMPLES // 3 - 1], slopes[:, -1]  # after a third of the time, and all of it
            canopy, roll = J[:, 0, 0], J[:, 1, 1]
            columns += [np.log(canopy), np.log(roll), J[:, 0, 1] / roll, J[:, 1, 0] / canopy]
            grown = np.stack((canopy / early[:, 0, 0], roll / early[:, 1, 1]), axis=1)
            growth.append(np.log(grown) / math.log(3.0))
        dive = under_ceiling(airplane.planes, load_maneuver("power_off_dive"), CEILING)
        slopes = _slopes(planes, make_script(dive, "both", "free"), [DIVE], need[:, 4:5])
        columns += [
            np.log(slopes[:, -1, 0, 0] / dive.phases[-1].time),
            planes["inverted_elevator"],
            line_decay(planes),
        ]
    return np.column_stack(columns), 0.5 * (growth[0] + growth[1])


def line_decay(planes: np.ndarray) -> np.ndarray:
    """One over the seconds that an inverted line of 45° takes to level, sticks let go, array (n,) [1/s].

    Let go at the speed it is trimmed for, the path turns toward the canopy by g/V SM/(SM + D) (1 + cos climb), with
    D = -Cmq rho S c / 4 m (the pitch plane's quasi-steady flight); from 45° to level that takes V (SM + D) / (g SM) tan 22.5°.
    """
    margin, air = static_margin(planes), make_air()
    damping = (
        -(planes["Cmq"] + planes["Cmad"])
        * density(air, 100.0)
        * planes["S"]
        * planes["c"]
        / (4.0 * planes["mass"])
    )
    return G0 * margin / (margin + damping) / (planes["cruise"] * math.tan(math.pi / 8.0))


def _slopes(planes: np.ndarray, script: Script, ratios: Sequence[str], needed: np.ndarray) -> np.ndarray:
    """Drift [rad a share] by each ratio about what each airplane needs, array (n, SAMPLES, errors, ratios); NaN where
    it does not fly that to the end."""
    up_down = np.concatenate((np.eye(len(ratios)), -np.eye(len(ratios))))
    flights = fly_each(planes, script, ratios, needed[:, None] + _STEP * up_down)
    drifts = flights.errors[:, 0][:, :, _WATCHED].reshape(len(planes), 2, len(ratios), SAMPLES, len(_WATCHED))
    done = flights.finished.reshape(len(planes), -1).all(axis=1) & np.isfinite(needed).all(axis=1)
    slopes = np.moveaxis(drifts[:, 0] - drifts[:, 1], 1, 3) / (2.0 * _STEP)
    return np.where(done[:, None, None, None], slopes, np.nan)


def fly_each(
    planes: np.ndarray, script: Script, ratios: Sequence[str], amounts: np.ndarray,
    *, airs: np.ndarray | None = None, gusts: np.ndarray | None = None,
) -> Flights:  # fmt: skip
    """Flights of airplanes each with its own ratios, plane by plane, row by row of its amounts.

    Parameters
    ----------
    planes : records (n,)
    script : Script
    ratios : sequence of str
        Of different blends.
    amounts : array (n, m, ratios)
        Shares of full throw; what is not known flies as none.
    airs, gusts : arrays, optional
        As :func:`sixdof.flight.fly.fly_batch` takes them, one for each airplane; default: calm.
    """
    n, m = amounts.shape[:2]
    one = pack_blends(make_blends([read_ratio(name) for name in ratios], np.ones(len(ratios))))
    sets = np.repeat(one[None], n * m, axis=0)
    sets["amount"] *= np.nan_to_num(amounts).reshape(n * m, -1, 1)
    plane = np.repeat(np.arange(n), m)
    index = np.stack((plane, 0 * plane, np.arange(n * m), 0 * plane if airs is None else plane), axis=1)
    starts = starts_for(planes, [script], make_air())
    return fly_batch(planes, [script], blends=sets, index=index, starts=starts, airs=airs, gusts=gusts)

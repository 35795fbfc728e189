"""An airplane, ready to fly: what was measured of it, what is estimated from that, how it is trimmed.

Everything above this room asks an :class:`Airplane`; nothing there carries its parts about one by one.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

import numpy as np
from scipy.special import ndtr

from sixdof.airframe.changes import changed
from sixdof.airframe.load import load_airframe
from sixdof.airframe.model import Airframe
from sixdof.estimate.derivatives import NAMES, Derivatives, draw, moved
from sixdof.estimate.doubt import OF_PARTS, normals, parts_moved
from sixdof.estimate.layers import estimate_derivatives
from sixdof.estimate.propeller import PropellerEstimate, estimate_propeller
from sixdof.files.errors import InputError, nearest
from sixdof.flight.knife_edge import knife_edges
from sixdof.flight.layer import Layer
from sixdof.flight.level import no_cruise
from sixdof.flight.lore import is_aerobatic, likelihood
from sixdof.flight.needs import NEEDS, needs
from sixdof.flight.pack import TRIM_HEIGHT, move_parts, new_record, set_controls, set_trims, static_margin
from sixdof.flight.stiffness import SHORTEST, too_quick

__all__ = ["Airplane", "Drawn"]


#: Airplanes drawn at once, and at most so many for each that is asked for.
_BLOCK, _TRIES = 512, 20
#: Passes that carry the typical airplane to what flyers find.
_PASSES = 3


class Drawn(NamedTuple):
    """Airplanes drawn from all that is doubted.

    Attributes
    ----------
    planes : records (n,)
        Statically stable, trimmed at cruise each by itself; as likely as flyers find them.
    errors : array (n, m)
        By how many standard deviations each independent error is off in each of them.
    names : tuple of str (m,)
        What the errors are.
    unstable : float
        Share of all that were drawn whose CG lies behind the neutral point, power off.
    """

    planes: np.ndarray
    errors: np.ndarray
    names: tuple[str, ...]
    unstable: float


@dataclass(frozen=True, eq=False)
class Airplane:
    """An airplane at one rate; what is worked out from it is worked out once, when it is first asked for.

    Parameters
    ----------
    airframe : Airframe or str
        What was measured [SI, rad]; or the name or path of an aircraft file.
    rate : str
        Name of the rate whose throws count; default the first of the file.
    known : Derivatives, optional
        In place of an estimate from the airframe.
    lore : bool
        Whether it is believed what flyers know of such airplanes (:mod:`sixdof.flight.lore`), or physics alone.
    filed : Airplane, optional
        The airplane before it was changed, of which they know it; found by itself.
    layer : Layer, optional
        What notes of flights tell of the airplane as filed (:meth:`learned`).

    Raises
    ------
    InputError
        No such file, something wrong in it, or no such rate.

    Examples
    --------
    >>> corvane = Airplane("corvane")
    >>> corvane.rate, len(corvane.planes)
    ('normal', 1)
    >>> corvane.changed({"cg": "5 mm aft"}).static_margin < corvane.static_margin
    True
    """

    airframe: Airframe
    rate: str = None  # type: ignore[assignment]  # the first of the file, once made
    known: Derivatives | None = None
    lore: bool = True
    filed: Airplane | None = None
    layer: Layer | None = None

    def __post_init__(self) -> None:
        if isinstance(self.airframe, (str, Path)):
            object.__setattr__(self, "airframe", load_airframe(self.airframe))
        airframe = self.airframe
        if self.rate is None:
            object.__setattr__(self, "rate", airframe.default_rate)
        if self.rate not in airframe.rates:
            hint = nearest(self.rate, list(airframe.rates))
            raise InputError(f"rates: {self.rate!r} is not a rate of this file; {hint}", file=airframe.path)

    @cached_property
    def derivatives(self) -> Derivatives:
        """All terms with doubt, source and shares, per rad about the reference point."""
        return self.known or estimate_derivatives(self.airframe)

    @cached_property
    def propeller(self) -> PropellerEstimate:
        """Curves of the propeller with their doubt."""
        return estimate_propeller(self.airframe.propeller, self.airframe.motor)

    @property
    def planes(self) -> np.ndarray:
        """Plane record, trimmed once at cruise; a copy of one's own.

        Returns
        -------
        array (1,) of :data:`sixdof.physics.record.PLANE_DTYPE`

        Raises
        ------
        InputError
            No steady level flight at cruise, or too light to be followed.
        """
        return self._trimmed.copy()

    @cached_property
    def _trimmed(self) -> np.ndarray:
        airframe, planes = self.airframe, self._record.copy()
        if not np.all(set_trims(planes, airframe.speeds.cruise)):
            raise no_cruise(airframe, planes[0], height=TRIM_HEIGHT)
        if planes["longest_step"][0] < SHORTEST:
            raise too_quick(airframe, planes[0])
        return planes

    @cached_property
    def flown(self) -> Derivatives:
        """The terms of the record that is flown: those estimated, and as a component what flyers know and notes tell."""
        z = self.believed[: len(self.derivatives.errors)]
        by = "what flyers know" if self.as_filed.layer is None else "what flyers know and notes tell"
        return moved(self.derivatives, z, by) if z.any() else self.derivatives

    @cached_property
    def by_physics(self) -> Airplane:
        """The same without what flyers know."""
        return Airplane(self.airframe, self.rate, self.known, lore=False)

    @property
    def plane(self) -> np.void:
        """That record by itself."""
        return self.planes[0]

    @property
    def static_margin(self) -> float:
        """How far the CG is ahead of the neutral point, over the mean chord, power off."""
        return float(static_margin(self._record)[0])

    @cached_property
    def static_margin_sigma(self) -> float:
        """Its standard deviation: by the doubt on the pitch stiffness, or by what logs left of all."""
        known, filed = self.derivatives, self.as_filed
        if filed.layer is not None and filed.layer.recorded is not None:
            drawn = filed.apply(filed.layer.recorded.of(normals(_BLOCK, len(filed.errors), seed=0)))
            return float(np.std(static_margin(drawn)))
        return float(known.sigma[NAMES.index("Cma")]) / known["CLa"]

    @cached_property
    def _record(self) -> np.ndarray:
        """Plane record (1,), not trimmed yet."""
        return self.apply(self.believed[None])

    @property
    def _estimated(self) -> np.ndarray:
        """The same by physics alone, of one's own."""
        planes = new_record(self.airframe, self.derivatives, self.propeller)
        set_controls(planes[0], self.airframe, self.airframe.rates[self.rate])
        return planes

    @cached_property
    def as_filed(self) -> Airplane:
        """The airplane that flyers know: at the first rate of its file, before any change."""
        if self.filed is not None:
            return self.filed.as_filed
        airframe = self.airframe.as_filed or self.airframe
        if airframe is self.airframe and self.rate == airframe.default_rate:
            return self
        known = None if self.airframe.changes else self.known
        return Airplane(airframe, known=known, lore=self.lore, layer=self.layer)

    @cached_property
    def believed(self) -> np.ndarray:
        """By how many standard deviations the airplane is taken to be off in each error, array (len(errors),).

        The least unlikely one of the same static margin that needs the elevator in knife-edge which those need
        in the mean that flyers would recognize; all zero where they say nothing.  What notes tell is laid over it.
        """
        if self.as_filed is not self:
            known = dict(zip(self.as_filed.errors, self.as_filed.believed, strict=True))
            return np.array([known.get(name, 0.0) for name in self.errors])
        if self.layer is not None and self.layer.told:
            before = self.unnoted.believed
            after = self._carried(before[None], self.layer.mean)[0]
            return after if np.isfinite(after).all() else before
        recorded = self.layer.recorded if self.layer is not None else None
        z = np.zeros(len(self.errors)) if recorded is None else recorded.mean
        if not self.is_known:
            return z
        first = z
        needed = self.crowd_needed
        weight = likelihood(needed) * np.isfinite(needed)
        steps = np.concatenate((np.zeros((1, len(z))), np.eye(len(z)), -np.eye(len(z))))
        margin = static_margin(self._estimated)[0]
        for _ in range(_PASSES if weight.any() else 0):
            wanted = np.average(np.nan_to_num(needed), weights=weight), margin
            planes = self.apply(z + steps)
            found = np.stack((self._needed(planes), static_margin(planes)))
            slope = 0.5 * (found[:, 1 : len(z) + 1] - found[:, len(z) + 1 :])
            slope[~np.isfinite(slope)] = 0.0
            if not np.isfinite(found[0, 0]):
                return first
            # the least unlikely way there
            root = np.eye(len(z)) if recorded is None else recorded.root
            z = z + root @ np.linalg.lstsq(slope @ root, wanted - found[:, 0], rcond=None)[0]
        return z

    @cached_property
    def is_known(self) -> bool:
        """Whether flyers know what such an airplane needs, and something is left open that they can tell."""
        return self.lore and is_aerobatic(self.airframe) and bool(self.derivatives.doubt.any())

    @cached_property
    def crowd_needed(self) -> np.ndarray:
        """That of many airplanes that fit the measurements, by physics alone, array (1024,)."""
        z = normals(2 * _BLOCK, len(self.errors), seed=0)
        recorded = self.layer.recorded if self.layer is not None else None
        return self.needed(z if recorded is None else recorded.of(z))

    def needed(self, z: np.ndarray) -> np.ndarray:
        """Elevator that full rudder needs in level knife-edge at cruise, mean of both sides, array (n,).

        Of the airplanes ``z`` (n, len(errors)), as in :meth:`apply`; a share, NaN where it does not hold.
        """
        return self._needed(self.apply(z))

    def _needed(self, planes: np.ndarray) -> np.ndarray:
        flying, flies = self._flying(planes, flown=False)
        needed = np.full(len(planes), np.nan)
        needed[flies] = knife_edges(flying, self.airframe.speeds.cruise).ratios("elevator").mean(axis=1)
        return needed

    def _flying(self, planes: np.ndarray, *, flown: bool = True) -> tuple[np.ndarray, np.ndarray]:
        """Those of some airplanes that somebody would fly, trimmed, and which they are (n,)."""
        flies = static_margin(planes) > 0.0
        stable = planes[flies]
        steady = set_trims(stable, self.airframe.speeds.cruise, flown=flown)
        flies[flies] = steady
        return stable[steady], flies

    def learned(self, layer: Layer) -> Airplane:
        """The airplane as notes of its flights tell it: the typical one needs what they say in the mean, each drawn
        one a draw of what they leave open; single derivatives are not learned.

        Parameters
        ----------
        layer : Layer

        Raises
        ------
        InputError
            It belongs to another aircraft file.
        """
        if layer.sha256 != self.airframe.sha256:
            raise InputError(
                "what was learned belongs to another version of this file", file=self.airframe.path
            )
        filed = None if self.filed is None else self.filed.learned(layer)
        return Airplane(self.airframe, self.rate, self.known, self.lore, filed, layer)

    @cached_property
    def unlearned(self) -> Airplane:
        """The same without what notes tell."""
        if self.layer is None and self.as_filed.layer is None:
            return self
        filed = None if self.filed is None else self.filed.unlearned
        return Airplane(self.airframe, self.rate, self.known, self.lore, filed)

    @cached_property
    def unnoted(self) -> Airplane:
        """The same by what logs tell, without notes."""
        if self.layer is None or self.layer.recorded is None:
            return self.unlearned
        return self.unlearned.learned(replace(self.layer, told=()))

    def _carried(self, z: np.ndarray, wanted: np.ndarray) -> np.ndarray:
        """Airplanes z (n, len(errors)) moved to what they are to need, by the regression on what such airplanes need.

        NaN where one cannot fly what was flown.
        """
        layer = self.layer
        assert layer is not None
        told = [NEEDS.index(name) for name in layer.told]
        rows = [layer.errors.index(name) if name in layer.errors else -1 for name in self.errors]
        gain = np.concatenate((layer.gain, np.zeros((1, len(told)))))[rows]
        for _ in range(_PASSES):
            planes = self.apply(z)
            flying, flies = self._flying(planes)
            found = np.full((len(z), len(NEEDS)), np.nan)
            found[flies] = needs(flying, layer.share)
            z = z + np.einsum("nr,er->ne", wanted - found[:, told], gain)
        return z

    def changed(self, changes: Mapping[str, str | float]) -> Airplane:
        """The airplane with its airframe changed; it is estimated and trimmed anew.

        Parameters
        ----------
        changes : mapping of str to (str or float)
            Name in :data:`sixdof.airframe.changes.CHANGES` -> amount as people write it, "5 mm aft",
            or signed in SI.

        Raises
        ------
        InputError
            Unknown name, bad amount, or no airplane that can be.
        """
        if not changes:
            return self
        return Airplane(changed(self.airframe, changes), self.rate, lore=self.lore, filed=self.as_filed)

    @property
    def errors(self) -> tuple[str, ...]:
        """Names of all independent errors of the airplane, the columns of ``z`` in :meth:`apply`."""
        return (*self.derivatives.errors, *(error.name for error in OF_PARTS))

    def apply(self, z: np.ndarray) -> np.ndarray:
        """Airplanes that are off by so many standard deviations in each independent error.

        Derivatives, the place of the CG, inertia, propeller and thrust line move; all zero is the airplane
        as estimated, :attr:`believed` the one that is flown.  An airplane does not depend on the others.

        Parameters
        ----------
        z : array (n, len(errors))
            In the order of :attr:`errors`.

        Returns
        -------
        array (n,) of :data:`sixdof.physics.record.PLANE_DTYPE`
            Not trimmed yet (:func:`sixdof.flight.pack.set_trims`), stable or not.
        """
        planes = np.repeat(self._estimated, len(z))
        known, of_terms = self.derivatives, len(self.derivatives.errors)
        for name, column in zip(NAMES, draw(known, z[:, :of_terms]).T, strict=True):
            planes[name] = column
        inertia = zip(("Ixx", "Iyy", "Izz"), self.airframe.mass.inertia_sigma, strict=True)
        off = parts_moved(z[:, of_terms:], self.propeller.sigma | dict(inertia))
        move_parts(planes, self.airframe, off, known.c)
        return planes

    def one_error_at_a_time(self) -> tuple[np.ndarray, np.ndarray]:
        """The airplane off by a standard deviation more in one error, each in turn, then by one less.

        Returns
        -------
        planes : records (k,)
            Of those that somebody would fly, trimmed.
        flies : array (2 len(errors),) of bool
            Which they are.
        """
        steps = np.eye(len(self.errors))
        return self._flying(self.apply(self.believed + np.concatenate((steps, -steps))))

    def drawn(self, n: int, *, seed: int = 0) -> Drawn:
        """Airplanes drawn from the doubt: every error a standard normal number.

        Only such that somebody would fly are kept: statically stable, with a steady level flight at
        cruise; and each with the chance that flyers would recognize it.  Fewer than n come back only
        where few can be flown.

        Parameters
        ----------
        n : int
        seed : int
            The first airplanes of a seed are the same for any n.
        """
        names, known = self.errors, self.as_filed
        mine = [names.index(name) if name in names else len(names) for name in known.errors]
        kept = [known.errors.index(name) if name in known.errors else -1 for name in names]
        planes, errors, stable = [], [], []
        for block in range(math.ceil(_TRIES * n / _BLOCK)):
            z = normals(_BLOCK, len(names) + 1, seed=seed, block=block)
            z, luck = z[:, :-1], ndtr(z[:, -1])
            if known.layer is not None and known.layer.recorded is not None:
                before = np.pad(z, ((0, 0), (0, 1)))[:, mine]
                z = z + np.pad(known.layer.recorded.of(before) - before, ((0, 0), (0, 1)))[:, kept]
            if known.is_known:
                z = z[luck < likelihood(known.needed(np.pad(z, ((0, 0), (0, 1)))[:, mine]))]
            if known.layer is not None and known.layer.told:
                before = np.pad(z, ((0, 0), (0, 1)))[:, mine]
                which = (block * _BLOCK + np.arange(len(z))) % len(known.layer.draws)
                moved_by = known._carried(before, known.layer.draws[which]) - before
                z = z + np.pad(moved_by, ((0, 0), (0, 1)))[:, kept]
                z = z[np.isfinite(z).all(axis=1)]
            drawn = self.apply(z)
            flying, flies = self._flying(drawn)
            planes.append(flying)
            errors.append(z[flies])
            stable.append(static_margin(drawn) > 0.0)
            if sum(map(len, planes)) >= n:
                break
        unstable = 1.0 - float(np.mean(np.concatenate(stable)))
        return Drawn(np.concatenate(planes)[:n], np.concatenate(errors)[:n], names, unstable)

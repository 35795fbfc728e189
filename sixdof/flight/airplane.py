"""An airplane, ready to fly: what was measured of it, what is estimated from that, how it is trimmed.

Everything above this room asks an :class:`Airplane`; nothing there carries its parts about one by one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

import numpy as np

from sixdof.airframe.changes import changed
from sixdof.airframe.load import load_airframe
from sixdof.airframe.model import Airframe
from sixdof.estimate.derivatives import NAMES, Derivatives, draw
from sixdof.estimate.doubt import OF_PARTS, normals, parts_moved
from sixdof.estimate.layers import estimate_derivatives
from sixdof.estimate.propeller import PropellerEstimate, estimate_propeller
from sixdof.files.errors import InputError, nearest
from sixdof.flight.level import no_cruise
from sixdof.flight.pack import TRIM_HEIGHT, move_parts, new_record, set_controls, set_trims, static_margin
from sixdof.flight.stiffness import SHORTEST, too_quick

__all__ = ["Airplane", "Drawn"]


class Drawn(NamedTuple):
    """Airplanes drawn from all that is doubted.

    Attributes
    ----------
    planes : records (n,)
        Statically stable, trimmed at cruise each by itself.
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
        airframe, planes = self.airframe, self._record
        if not np.all(set_trims(planes, airframe.speeds.cruise)):
            raise no_cruise(airframe, planes[0], height=TRIM_HEIGHT)
        if planes["longest_step"][0] < SHORTEST:
            raise too_quick(airframe, planes[0])
        return planes

    @property
    def plane(self) -> np.void:
        """That record by itself."""
        return self.planes[0]

    @property
    def static_margin(self) -> float:
        """How far the CG is ahead of the neutral point, over the mean chord, power off."""
        return float(static_margin(self._record)[0])

    @property
    def _record(self) -> np.ndarray:
        """A plane record (1,) of one's own, not trimmed yet."""
        planes = new_record(self.airframe, self.derivatives, self.propeller)
        set_controls(planes[0], self.airframe, self.airframe.rates[self.rate])
        return planes

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
        return Airplane(changed(self.airframe, changes), self.rate) if changes else self

    @property
    def errors(self) -> tuple[str, ...]:
        """Names of all independent errors of the airplane, the columns of ``z`` in :meth:`apply`."""
        return (*self.derivatives.errors, *(error.name for error in OF_PARTS))

    def apply(self, z: np.ndarray) -> np.ndarray:
        """Airplanes that are off by so many standard deviations in each independent error.

        Derivatives, the place of the CG, inertia, propeller and thrust line move; all zero is the airplane
        itself.  An airplane does not depend on the others.

        Parameters
        ----------
        z : array (n, len(errors))
            In the order of :attr:`errors`.

        Returns
        -------
        array (n,) of :data:`sixdof.physics.record.PLANE_DTYPE`
            Not trimmed yet (:func:`sixdof.flight.pack.set_trims`), stable or not.
        """
        planes = np.repeat(self._record, len(z))
        known, of_terms = self.derivatives, len(self.derivatives.errors)
        for name, column in zip(NAMES, draw(known, z[:, :of_terms]).T, strict=True):
            planes[name] = column
        inertia = zip(("Ixx", "Iyy", "Izz"), self.airframe.mass.inertia_sigma, strict=True)
        off = parts_moved(z[:, of_terms:], self.propeller.sigma | dict(inertia))
        move_parts(planes, self.airframe, off, known.c)
        return planes

    def drawn(self, n: int, *, seed: int = 0) -> Drawn:
        """Airplanes drawn from the doubt: every error a standard normal number.

        Only such that somebody would fly are kept: statically stable, with a steady level flight at
        cruise.  Twice as many are drawn, so fewer than n come back only where few can be flown.

        Parameters
        ----------
        n : int
        seed : int
            The first airplanes of a seed are the same for any n.
        """
        names = self.errors
        z = normals(2 * n, len(names), seed=seed)
        planes = self.apply(z)
        stable = static_margin(planes) > 0.0
        planes, z = planes[stable][:n], z[stable][:n]
        steady = set_trims(planes, self.airframe.speeds.cruise)
        return Drawn(planes[steady], z[steady], names, 1.0 - float(np.mean(stable)))

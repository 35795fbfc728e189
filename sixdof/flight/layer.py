"""What the notes of flights tell of an airplane, as it is laid over what is estimated of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

__all__ = ["Layer", "Recorded"]


@dataclass(frozen=True, eq=False)
class Recorded:
    """What recorded flights tell of an airplane's independent errors: z = mean + root u with u standard normal.

    Attributes
    ----------
    errors : tuple of str
    mean : array (errors,)
    root : array (errors, errors)
    flights : int
        How many were recorded.
    """

    errors: tuple[str, ...]
    mean: np.ndarray
    root: np.ndarray
    flights: int

    def of(self, z: np.ndarray) -> np.ndarray:
        """Errors (n, errors) of standard normal numbers (n, errors)."""
        return self.mean + np.einsum("nj,ij->ni", z, self.root)


@dataclass(frozen=True, eq=False)
class Layer:
    """What was learned of one aircraft file.

    Attributes
    ----------
    sha256 : str
        Of the aircraft file it belongs to.
    share : float
        Of the cruise speed, at which knife-edge is flown.
    told : tuple of str
        Columns of :data:`sixdof.flight.needs.NEEDS` that are told.
    mean : array (told,)
        Their mean after the notes.
    draws : array (m, told)
        Drawn from what the notes leave open.
    errors : tuple of str
        Names of the airplane's independent errors.
    gain : array (errors, told)
        Standard deviations of each error that go with a need that is larger by one, C_zr / C_rr.
    flights : int
        Flights of notes behind it.
    notes : dict of str to str
        Name of each file of notes -> its text.
    recorded : Recorded, optional
        What logs of flights tell of the errors; then ``told`` may be empty.
    """

    sha256: str
    share: float
    told: tuple[str, ...]
    mean: np.ndarray
    draws: np.ndarray
    errors: tuple[str, ...]
    gain: np.ndarray
    flights: int
    notes: dict[str, str]
    recorded: Recorded | None = None

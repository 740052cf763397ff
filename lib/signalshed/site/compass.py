"""Bearings read off a compass at the site, turned into true ones."""

import functools
from dataclasses import dataclass

import numpy as np

from .. import earth
from ..units import plain
from .model import Place


@dataclass(frozen=True, eq=False)
class Compass:
    """A compass at a place: ``place`` a Place, ``typed_deg`` its declination if the user gave one.

    >>> Compass(Place("roof", 30.45, -40.70), -12.0).true_deg(5.0)
    353.0
    """

    place: Place
    typed_deg: float | None = None

    @functools.cached_property
    def declination(self) -> earth.Declination:
        """The earth.Declination here, today's by the model unless one was typed."""
        here = self.place.latitude_deg, self.place.longitude_deg
        return earth.declination(*here, typed_deg=self.typed_deg)

    def true_deg(self, compass_deg: float | np.ndarray) -> float | np.ndarray:
        """Compass bearings as true ones, 0 to 360. Parameters: ``compass_deg``, any shape; NaN stays."""
        return plain((np.asarray(compass_deg, float) + self.declination.east_deg) % 360)

    def note(self) -> tuple:
        """A sentence on the turn, or none if no bearing was turned."""
        if "declination" not in self.__dict__:
            return ()
        d = self.declination
        how = "as typed" if d.source == "typed" else f"by the magnetic model for {d.year:.1f}"
        return (f"Compass bearings were turned by {d.east_deg:+.1f} degrees to true ones, {how}.",)

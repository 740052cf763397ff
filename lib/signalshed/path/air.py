"""What the lowest air does to waves."""

from dataclasses import dataclass

from .. import facts
from ..earth import effective_radius_km
from ..units import check


@dataclass(frozen=True)
class Air:
    """The lowest air, in the median of time.

    ``refractivity_gradient`` its fall of refractivity in the lowest kilometre, N-units per km,
    -200 to 150; ``surface_refractivity`` at sea level, N-units, 150 to 500. Both can be read from
    the maps of Rec. ITU-R P.453; the defaults are those of its validation examples.

    >>> round(Air().effective_radius_km)
    8931
    """

    refractivity_gradient: float = facts.value("path_constants", "refractivity_gradient")
    surface_refractivity: float = facts.value("path_constants", "surface_refractivity")

    def __post_init__(self):
        check("refractivity_gradient", self.refractivity_gradient, low=-200, high=150)
        check("surface_refractivity", self.surface_refractivity, low=150, high=500)

    @property
    def effective_radius_km(self):
        """Effective radius of the Earth, km."""
        return effective_radius_km(self.refractivity_gradient)


STANDARD_AIR = Air()

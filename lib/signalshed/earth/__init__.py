"""The round Earth under the path: where things are, and what stands between.

=========  ==============================================================================
geodesy    ``bearing_and_distance``, ``bearing_deg``, ``distance_km``, ``destination``
curvature  ``effective_radius_km``, ``radio_horizon_km``, ``bulge_m``
profile    ``Profile``: ground and clutter from transmitter to receiver
=========  ==============================================================================
"""

from .curvature import bulge_m, effective_radius_km, radio_horizon_km
from .geodesy import bearing_and_distance, bearing_deg, destination, distance_km
from .profile import Profile

__all__ = [
    "Profile",
    "bearing_and_distance",
    "bearing_deg",
    "bulge_m",
    "destination",
    "distance_km",
    "effective_radius_km",
    "radio_horizon_km",
]

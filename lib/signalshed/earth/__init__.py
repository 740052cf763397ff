"""The round Earth under the path: where things are, and what stands between.

=========  ==============================================================================
geodesy    ``bearing_and_distance``, ``bearing_deg``, ``distance_km``, ``destination``
compass    ``declination``, ``Declination``: compass and true bearings
curvature  ``effective_radius_km``, ``radio_horizon_km``, ``bulge_m``
profile    ``Profile``: ground and clutter from transmitter to receiver
tiles      ``open_tiles``, ``Tiles``: heights of the ground; ``tile_name``, ``tile_of``
land       ``profiles``, ``own_profiles``, ``Profiles`` from tiles; ``near_transmitters``,
           ``average_ground_m``, ``transmit_agl_m``
sun        ``sun_bearing_deg``, ``sun_azimuth_deg``, ``sun_declination_deg``
horizon    ``clearance_deg``, ``land_ahead``, ``roughness_m``: the land round a roof
=========  ==============================================================================
"""

from .. import handed_on as _handed_on
from .compass import Declination, declination
from .curvature import bulge_m, effective_radius_km, radio_horizon_km
from .geodesy import bearing_and_distance, bearing_deg, destination, distance_km
from .horizon import clearance_deg, land_ahead, roughness_m
from .land import (
    Profiles,
    average_ground_m,
    near_transmitters,
    own_profiles,
    points_between,
    profiles,
    transmit_agl_m,
)
from .profile import Profile
from .sun import sun_azimuth_deg, sun_bearing_deg, sun_declination_deg
from .tiles import Tiles, open_tiles, tile_name, tile_of

__all__ = _handed_on(globals())


def __dir__():
    return __all__

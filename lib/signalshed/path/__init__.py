"""Field strength at the roof, each layer from a public standard.

=================  ==========================================================================
free_space         ``free_space_dbuv_m``: the ceiling
average_terrain    ``average_terrain_dbuv_m``, ``average_terrain_note``: no map needed
profile            ``profile_dbuv_m``, ``profile_terms``; ``Air``: on a terrain profile
clearance          ``clearance_db``: the horizon at the roof
fading             ``fade_db``: how far it falls, and for how much of the time
obstacle           ``obstacle``, ``Obstacle``: the point of a profile that decides
edges              ``knife_edge_db``, ``fresnel_radius_m``, ``two_ray_gain_db``
indoors            ``entry_loss_db``, ``entry_loss_sd_db``, ``entry_loss_note``: walls
leaves             ``vegetation_loss_db``: trees; ``leaves_on`` a day
receiving          ``receive_height_db``, ``reference_height_m``: height and houses at home
far                ``comes_km``: how far from its tower a station comes; ``falloff``, ``Falloff``
=================  ==========================================================================
"""

from .. import handed_on as _handed_on
from .air import Air
from .average_terrain import average_terrain_dbuv_m, average_terrain_note
from .clearance import clearance_db
from .edges import fresnel_radius_m, knife_edge_db, two_ray_gain_db
from .fading import fade_db
from .far import Falloff, comes_km, falloff
from .free_space import free_space_dbuv_m
from .indoors import entry_loss_db, entry_loss_note, entry_loss_sd_db
from .leaves import LEAVES, leaves_on, vegetation_loss_db
from .obstacle import Obstacle, obstacle
from .profile import ProfileTerms, dbuv_m_from_loss, profile_dbuv_m, profile_terms
from .receiving import receive_height_db, reference_height_m

__all__ = _handed_on(globals())


def __dir__():
    return __all__

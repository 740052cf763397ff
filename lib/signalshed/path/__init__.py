"""Field strength at the roof, each layer from a public standard.

=================  ==========================================================================
free_space         ``free_space_dbuv_m``: the ceiling
average_terrain    ``average_terrain_dbuv_m``, ``average_terrain_note``: no map needed
indoors            ``entry_loss_db``, ``entry_loss_sd_db``, ``entry_loss_note``: walls
leaves             ``leaves_loss_db``: trees
=================  ==========================================================================
"""

from .average_terrain import average_terrain_dbuv_m, average_terrain_note
from .free_space import free_space_dbuv_m
from .indoors import entry_loss_db, entry_loss_note, entry_loss_sd_db
from .leaves import leaves_loss_db

__all__ = [
    "average_terrain_dbuv_m",
    "average_terrain_note",
    "entry_loss_db",
    "entry_loss_note",
    "entry_loss_sd_db",
    "free_space_dbuv_m",
    "leaves_loss_db",
]

"""The panels of lesson 04: a sheet behind a dipole, a screen of a size, the arc, the gallery.

=========  ====================================================================================
sheets     ``sheet_gain_dbi``: the closed form; ``sheet_table``: field, gain, delivered power;
           ``sheet_panel``: image, gain, and where the power goes
screens    ``screen_panel``: element, distance, size and mesh, solved at every move
arcs       ``arc_panel``: gain against arc on the bearing strip of a site
gallery    ``gallery``, ``gallery_builds``, ``gallery_panel``: builds with what each of them brings
=========  ====================================================================================
"""

from .arcs import arc_panel
from .gallery import gallery, gallery_builds, gallery_panel
from .screens import screen_panel
from .sheets import sheet_gain_dbi, sheet_panel, sheet_table

__all__ = [
    "arc_panel",
    "gallery",
    "gallery_builds",
    "gallery_panel",
    "screen_panel",
    "sheet_gain_dbi",
    "sheet_panel",
    "sheet_table",
]

"""A site folder opened: place, mounts, feeds, tuner, stations, antennas, readings.

=========  ====================================================================================
model      ``Place``, ``Mount``, ``Site``: what a site is, once opened
reading    ``open_site``: a folder as a Site, or everything that is wrong with it at once
new        ``new_site``, ``new_town``: blank folders; ``write_site``, ``write_antennas``: from answers
belief     ``Belief``, ``Observations``, ``Group``: what readings taught about the path
=========  ====================================================================================
"""

from .belief import Belief, Group, Observations
from .model import AIMS, CONSTRUCTIONS, MOUNT_KINDS, POLARIZATIONS, Mount, Place, Site
from .new import new_site, new_town, write_antennas, write_site
from .reading import open_site

__all__ = [
    "AIMS",
    "CONSTRUCTIONS",
    "MOUNT_KINDS",
    "POLARIZATIONS",
    "Belief",
    "Group",
    "Mount",
    "Observations",
    "Place",
    "Site",
    "new_site",
    "new_town",
    "open_site",
    "write_antennas",
    "write_site",
]

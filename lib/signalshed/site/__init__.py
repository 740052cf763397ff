"""A site folder opened: place, mounts, feeds, tuner, stations, antennas, readings.

=========  ====================================================================================
model      ``Place``, ``Mount``, ``Site``: what a site is, once opened
=========  ====================================================================================
"""

from .model import AIMS, CONSTRUCTIONS, MOUNT_KINDS, POLARIZATIONS, Mount, Place, Site

__all__ = [
    "AIMS",
    "CONSTRUCTIONS",
    "MOUNT_KINDS",
    "POLARIZATIONS",
    "Mount",
    "Place",
    "Site",
]

"""A site folder opened: place, mounts, feeds, tuner, stations, antennas, readings.

=========  ====================================================================================
model      ``Place``, ``Mount``, ``Site``: what a site is, once opened; ``remembering``: a decorator
reading    ``open_site``: a folder as a Site, or everything that is wrong with it at once
given      ``from_tables``: tables in memory as a Site, by the same checks
heard      ``shown``: the stations that have a chance here; ``rest_words``: how many have none
signals    ``signals``, ``Signals``: rows as transmissions and networks; ``arrival_us``
new        ``new_site``, ``new_town``: blank folders; ``write_site``, ``write_antennas``: from answers
changing   ``change``, ``add_antenna``, ``remove_antenna``: a file changed, the old one kept
listed     ``stations_from``: a public record as a ``StationList``, which writes a town folder
sealed     ``sealed``, ``mark``, ``read_only``: tables and arrays that stay as they are
=========  ====================================================================================
"""

from .changing import add_antenna, change, remove_antenna
from .given import from_tables
from .given import with_stations as _with_stations
from .heard import rest_words, shown
from .listed import StationList, stations_from
from .model import (
    ALL_THAT_COUNTS,
    CONSTRUCTIONS,
    MOUNT_KINDS,
    Mount,
    Place,
    Site,
    check_site,
    remembering,
)
from .new import new_site, new_town, write_antennas, write_site
from .reading import open_site
from .sealed import mark, read_only, sealed
from .signals import Signals, arrival_us, signals

Site.with_stations = _with_stations  # It reads a list, and what reads lists builds on Site.

# All that is imported above is handed on, but no module.
__all__ = [n for n, it in globals().copy().items() if n[0] != "_" and not hasattr(it, "__file__")]


def __dir__():
    return __all__

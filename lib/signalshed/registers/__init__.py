"""Public records of transmitters as they come, read into the columns of stations.csv.

A room of its own before ``site``: it knows of text and tables, nothing of roofs. ``site.stations_from``
is the door; it adds the place, the cut and the town folder.

===========  =======================================================================================
reading      ``read``: a path or a paste as a ``Reading``: table, what was left out, notes, mapping
headings     what headings mean; ``headings.csv``, ``units.csv``, ``words.csv`` hold the words
sheet        a list cut into cells; ``source`` text and dates; ``numbers``, ``degrees`` single cells
headless     a list without headings: what the shapes of its cells tell
columns      columns as numbers; ``places`` names, channels, standards; ``patterns`` beside the list
typed        quantities as a person types them in a form
joining      several rows of one transmitter become one
===========  =======================================================================================
"""

from .joining import SPOT, away_km, near_groups
from .reading import Reading, read

# All that is imported above is handed on, but no module.
__all__ = [n for n, it in globals().copy().items() if n[0] != "_" and not hasattr(it, "__file__")]


def __dir__():
    return __all__

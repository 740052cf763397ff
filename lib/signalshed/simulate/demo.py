"""The demo sites round the invented town of Ferrowick, in memory: no file is needed."""

import functools

import pandas as pd

from .. import chain
from ..site import Mount, Place, Site
from .town import listed_antennas, listed_stations, seen_from

DEMO_SITES = ("hill_house",)
"""Names of the sites."""


@functools.cache
def demo_site(name="hill_house"):
    """One of the sites round the invented town, ready to use: a Site.

    Parameters: ``name``, one of ``DEMO_SITES``; the first is the maker's own roof, the others those
    of six who ask. Raises ValueError for another name.

    >>> site = demo_site()
    >>> site.mount("roof mast").kind, site.stations["standard"].iloc[0]
    ('mast', 'ATSC1')
    """
    if name not in DEMO_SITES:
        raise ValueError(f"There is no demo site {name!r}; there are {', '.join(DEMO_SITES)}.")
    place = Place("hill house", 30.45, -40.70)
    mounts = (
        Mount("roof mast", "mast", 9.0, feed="mast line"),
        Mount("attic", "attic", 6.0, feed="attic line"),
        Mount("bench window", "window", 3.0, 330.0, 130.0, feed="bench lead"),
    )
    mast = (chain.coax("series6", 18), chain.splitter(2))
    feeds = (
        chain.Feed("mast line", mast),
        chain.Feed("mast line, amplified", (chain.amplifier("mast amplifier", 16, 2), *mast)),
        chain.Feed("attic line", (chain.coax("series6", 8),)),
        chain.Feed("bench lead", (chain.coax("series6", 2),)),
    )
    return Site(
        name=name,
        region="us",
        place=place,
        mounts={m.name: m for m in mounts},
        feeds={f.name: f for f in feeds},
        tuner=chain.Tuner("living room set", ("ATSC1", "ATSC3"), 7.0),
        stations=seen_from(place, listed_stations()),
        antennas=dict(listed_antennas()),
        readings=pd.DataFrame(),
    )

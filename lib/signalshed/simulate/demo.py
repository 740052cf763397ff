"""The demo sites round the invented town of Ferrowick, and what is true there.

Their folders travel inside the package, so that examples need no files of their own. The folder
``demo_data`` of the project holds the same, with the land and the maker's readings added.
"""

import functools
from pathlib import Path

from ..site.reading import open_site
from .truths import truth_of

DEMO_SITES = ("hill_house", "balcony", "attic", "suburb", "far_rural", "camper", "boat")
"""The maker's own house, and the six who ask."""

DEMO_SEED = 1
"""The seed of what is true round the town."""

FOLDER = Path(__file__).parent / "demo"


@functools.cache
def demo_site(name="hill_house"):
    """One of the sites round the invented town, ready to use: a Site without terrain or readings.

    Parameters: ``name``, one of ``DEMO_SITES``; the first is the maker's own house, the others belong
    to six who ask. Raises ValueError for another name.

    >>> site = demo_site()
    >>> site.mount("roof mast").kind, site.stations["standard"].iloc[0]
    ('mast', 'ATSC1')
    """
    if name not in DEMO_SITES:
        raise ValueError(f"There is no demo site {name!r}; there are {', '.join(DEMO_SITES)}.")
    return open_site(FOLDER / name)


@functools.cache
def truth(name="hill_house"):
    """What is true at a demo site, and nobody there knows: a Truth.

    Parameters: ``name``, one of ``DEMO_SITES``.

    >>> len(truth().path_db) == len(demo_site().stations)
    True
    """
    return truth_of(demo_site(name), DEMO_SEED)

"""The demo sites round the invented town of Ferrowick, and what is true there.

Their folders travel inside the package, so that examples need no files of their own. The folder
``demo_data`` of the project holds the same, with the land and the maker's readings added.
"""

import atexit
import functools
import tempfile
from pathlib import Path

from .. import earth
from ..meters import Meter
from ..site import open_site
from ..units import one_of
from .terrain import hgt_tiles, land
from .truths import Echo, truth_of

DEMO_SITES = ("hill_house", "balcony", "attic", "suburb", "far_rural", "camper", "boat")
"""The maker's own house, and the six who ask."""

TRIAL_SITE = "trial_yard"
"""The yard where antennas are tried side by side; nobody lives there."""

DEMO_SEED = 1
"""The seed of what is true round the town."""

DEMO_ECHOES = {"hill_house": (Echo("Fishwharf", 238.0, 4.0),)}
"""A tin silo in the south-west throws Fishwharf back at the hill house, stronger than it comes."""

DEMO_METERS = {
    "quality": Meter("living room", "quality", 28, 100, 21, bend=0.9),
    "strength": Meter("living room", "strength", 38, 100, 42, bend=0.6, reads_without_lock=True),
}
"""What the tuner at the hill house does and nobody there knows, by scale."""

FOLDER = Path(__file__).parent / "demo"


def demo_site(name="hill_house", *, terrain=False):
    """One of the sites round the invented town, ready to use: a Site without readings.

    Parameters: ``name``, one of ``DEMO_SITES``; the first is the maker's own house, the others belong
    to six who ask; or ``TRIAL_SITE``, the yard; ``terrain`` True adds the land, which takes some
    seconds to make the first time.
    Raises ValueError for another name.

    >>> site = demo_site()
    >>> site.mount("roof mast").kind, site.stations["standard"].iloc[0]
    ('mast', 'ATSC1')
    """
    return _opened(one_of("name", name, (*DEMO_SITES, TRIAL_SITE)), bool(terrain))


@functools.cache
def _opened(name, terrain):
    return open_site(FOLDER / name, tiles=_tiles() if terrain else None)


@functools.cache
def _tiles():
    """The land of the town as terrain tiles, in a folder that goes when the program ends."""
    folder = tempfile.TemporaryDirectory(prefix="signalshed-land-", ignore_cleanup_errors=True)
    atexit.register(folder.cleanup)
    for name, data in hgt_tiles(land()).items():
        (Path(folder.name) / name).write_bytes(data)
    return earth.open_tiles(folder.name)


@functools.cache
def truth(name="hill_house"):
    """What is true at a demo site, and nobody there knows: a Truth, on the land of the town.

    Parameters: ``name``, one of ``DEMO_SITES`` or ``TRIAL_SITE``. The same as ``truth_of(site,
    DEMO_SEED, DEMO_ECHOES[name])`` of the opened folder in demo_data, which is quicker where that is
    at hand.

    >>> truth_of(demo_site(), DEMO_SEED).antenna_db["wire loop"] == truth().antenna_db["wire loop"]
    True
    """
    return truth_of(demo_site(name, terrain=True), DEMO_SEED, DEMO_ECHOES.get(name, ()))

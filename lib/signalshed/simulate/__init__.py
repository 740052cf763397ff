"""Invented sites, antennas, meters and readings with the truth known, for lessons and tests.

=======  ======================================================================================
demo     ``demo_site``, ``DEMO_SITES``: the sites round the invented town of Ferrowick
town     ``invented_site``: any number of other sites, each from one seed
=======  ======================================================================================
"""

from .demo import DEMO_SITES, demo_site
from .town import invented_site

__all__ = ["DEMO_SITES", "demo_site", "invented_site"]

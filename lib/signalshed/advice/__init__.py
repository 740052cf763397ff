"""From decibels to advice: rank what could be put on this roof, say why, and say what would help.

========  =====================================================================================
ranking   ``rank``, ``possible_setups``, ``imagine``, ``compare_words``
changes   ``changes``: what one change would help most
joining   ``joined_antenna``: two antennas of a kind through a combiner
reach     ``reach``: how far an antenna reaches, by kind of station
beside    ``beside``: one setup at two sites, dates, revisions; ``out_of_band``: what lacks channels
many      ``many_roofs``: who asks, what is best there, what to ask them back; one call
========  =====================================================================================
"""

from .. import handed_on as _handed_on
from .beside import beside, out_of_band
from .changes import changes
from .joining import joined_antenna
from .many import ASKER_FILE, lock_readings, many_roofs, on_screen
from .ranking import Draws, compare_words, imagine, possible_setups, rank
from .reach import reach

__all__ = _handed_on(globals())


def __dir__():
    return __all__

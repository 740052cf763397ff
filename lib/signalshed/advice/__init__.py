"""From decibels to advice: rank what could be put on this roof, say why, and say what would help.

========  =====================================================================================
ranking   ``rank``, ``possible_setups``, ``imagine``, ``compare_words``
changes   ``changes``: what one change would help most; ``amplifier_words``: amplifier or not
joining   ``joined_antenna``: two antennas of a kind through a combiner
reach     ``reach``: how far an antenna reaches, by kind of station
========  =====================================================================================
"""

from .changes import amplifier_words, changes
from .joining import joined_antenna
from .ranking import Draws, compare_words, imagine, possible_setups, rank
from .reach import reach

__all__ = [
    "Draws",
    "amplifier_words",
    "changes",
    "compare_words",
    "imagine",
    "joined_antenna",
    "possible_setups",
    "rank",
    "reach",
]


def __dir__():
    return __all__

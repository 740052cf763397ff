"""From decibels to advice: rank what could be put on this roof, say why, and say what would help.

========  =====================================================================================
ranking   ``rank``, ``possible_setups``, ``imagine``, ``compare_words``
changes   ``changes``: what one change would help most
reach     ``reach``: how far an antenna reaches, by kind of station
========  =====================================================================================
"""

from .changes import changes
from .ranking import Draws, compare_words, imagine, possible_setups, rank
from .reach import reach

__all__ = [
    "Draws",
    "changes",
    "compare_words",
    "imagine",
    "possible_setups",
    "rank",
    "reach",
]

"""From decibels to advice: rank what could be put on this roof, say why, and say what would help.

========  =====================================================================================
ranking   ``rank``, ``possible_setups``, ``imagine``, ``compare_words``
========  =====================================================================================
"""

from .ranking import ROOFS, Draws, compare_words, imagine, possible_setups, rank

__all__ = ["ROOFS", "Draws", "compare_words", "imagine", "possible_setups", "rank"]

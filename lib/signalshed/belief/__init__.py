"""What readings teach about the path to each station: an exact update without a sampler.

=========  ====================================================================================
offsets    ``Belief``: offsets of site, places and stations; ``Observations``, ``Unknown``: what was
           read, and what readings share
posterior  the nested sums behind it
normals    what all who infer need of normal distributions: ends, mixtures, scattered points
=========  ====================================================================================

It knows numbers only: neither sites nor files.
"""

from .offsets import MOST_GROUPS, Belief, Observations, Unknown

__all__ = ["MOST_GROUPS", "Belief", "Observations", "Unknown"]


def __dir__():
    return __all__

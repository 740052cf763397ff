"""Invented sites, land, meters and readings with the truth known, for lessons and tests.

=========  ====================================================================================
demo       ``demo_site``, ``truth``, ``DEMO_SITES``, ``TRIAL_SITE``, ``DEMO_METERS``: round Ferrowick
town       ``invented_site``: any number of other sites, each from one seed
terrain    ``land``: the hills under the town
truths     ``truth_of``, ``Truth``, ``Echo``: what nobody at a site knows
logbook    ``readings``, ``ladder``: what a tuner's meter shows where the truth is known
yard       ``yard_truth_db``: what is true of the trial that the demo folder holds
taught     ``taught_roof``, ``brought``, ``choices``: what readings bring, for forecast and choice
trial      ``invented_trial``, ``Trial``, ``TrialWorld``: a side-by-side test, its truth known
paper_tv   ``PaperTV``, ``tv_card``, ``score``: the TV of tables that have none, with cards and a clock
=========  ====================================================================================
"""

from .. import handed_on as _handed_on
from .demo import DEMO_ECHOES, DEMO_METERS, DEMO_SEED, DEMO_SITES, TRIAL_SITE, demo_site, truth
from .logbook import ladder, readings
from .paper_tv import PaperTV, score, tv_card
from .taught import METERS, NEAR_DB, Taught, brought, choices, taught_roof, with_ladder
from .terrain import land
from .town import invented_site
from .trial import Trial, TrialWorld, invented_trial
from .truths import Echo, Truth, truth_of
from .yard import yard_truth_db

__all__ = _handed_on(globals())


def __dir__():
    return __all__

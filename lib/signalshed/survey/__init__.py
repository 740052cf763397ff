"""Stations x setups x headings at one site: spare dB, its spread, and the chance of a picture.

``reception`` says all of one setup as it is really used; ``grid`` is the vectorised search among many.

=========  ==================================================================================
grid       ``grid``, ``Grid``: setups x headings x stations
heading    ``best_heading``, ``aimed``, ``Aim``
predicted  ``predicted``, ``Predicted``: the forecast for the very set-up of each reading
season     ``seasons``: full leaf or bare, for each reading behind trees
learning   ``inform``: what readings teach, with ``curve_of`` a meter; ``unlogged`` what a log of
           nothing but pictures keeps silent about
following  ``next_reading``, ``NextReading``: the one worth taking next
checked    ``score``, ``Score``: forecasts against what came; ``turned``, ``Turned``: a rotation
           log read
causes     what each cause of a change would do to the stations, and its odds
changed    ``changed``, ``Changed``: two rounds of readings, and what may lie between them
hung       ``hung_right``: what must hold, and what must not, through one pad at the TV
=========  ==================================================================================

Of the budget, handed on: ``outlook``, ``reception``, ``Reception``, ``Setup``, ``aimed_at``,
``parts_of``, ``chance_of``, ``worlds``, ``Worlds``; of the words
``chance_words`` and ``roofs_words``.
"""

from .. import handed_on as _handed_on
from ..budget import (
    Reception,
    Setup,
    Worlds,
    aimed_at,
    chance_of,
    outlook,
    parts_of,
    reception,
    worlds,
)
from ..words import chance_words, roofs_words
from .changed import Changed, changed
from .checked import Score, Turned, score, turned
from .following import NextReading, next_reading
from .grid import Grid, grid
from .heading import Aim, aimed, best_heading
from .hung import hung_right, hung_words
from .learning import curve_of, inform
from .predicted import Predicted, predicted
from .season import seasons

__all__ = _handed_on(globals())


def __dir__():
    return __all__

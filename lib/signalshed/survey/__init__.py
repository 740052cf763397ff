"""Stations x setups x headings at one site: spare dB, its spread, and the chance of a picture.

``reception`` says all of one setup as it is really used; ``grid`` is the vectorised search among many.

=========  ==================================================================================
grid       ``grid``, ``Grid``: setups x headings x stations
expect     ``outlook``: every station through one setup, the table of ``reception``
heading    ``best_heading``, ``aimed``, ``Aim``
worlds     ``worlds``, ``Worlds``: roofs like this one, the same for every setup
predicted  ``predicted``, ``Predicted``: the forecast for the very set-up of each reading
learning   ``inform``: what readings teach, with ``curve_of`` a meter; ``next_reading``,
           ``NextReading``: the one worth taking next
checked    ``score``, ``Score``: forecasts against what came; ``turned``, ``Turned``: a rotation
           log read
=========  ==================================================================================

Of the budget, handed on: ``Setup``, ``aimed_at``, ``parts_of``, ``check_site``, ``reception``,
``Reception``, ``chance_of``, ``chance_words``, ``roofs_words``; ``comes_km``, ``falloff``, ``Falloff``.
"""

from ..budget import (
    Falloff,
    Reception,
    Setup,
    aimed_at,
    chance_of,
    check_site,
    comes_km,
    falloff,
    parts_of,
    reception,
)
from ..words import chance_words, roofs_words
from .checked import Score, Turned, score, turned
from .expect import outlook
from .grid import Grid, grid
from .heading import Aim, aimed, best_heading
from .learning import NextReading, curve_of, inform, next_reading
from .predicted import Predicted, predicted
from .worlds import Worlds, worlds

__all__ = [
    "Aim",
    "Falloff",
    "Grid",
    "NextReading",
    "Predicted",
    "Reception",
    "Score",
    "Setup",
    "Turned",
    "Worlds",
    "aimed",
    "aimed_at",
    "best_heading",
    "chance_of",
    "chance_words",
    "check_site",
    "comes_km",
    "curve_of",
    "falloff",
    "grid",
    "inform",
    "next_reading",
    "outlook",
    "parts_of",
    "predicted",
    "reception",
    "roofs_words",
    "score",
    "turned",
    "worlds",
]

"""Stations x setups x headings at one site: spare dB, its spread, and the chance of a picture.

``grid`` is the one vectorised computation; everything else here is a slice of it.

=========  ==================================================================================
setups     ``Setup``, ``Grid``, ``grid``, ``at_heading``, ``chance_of``; ``parts_of``, ``aim_of``,
           ``check_site``
expect     ``outlook``: every station through one setup; ``limits_of``
far        ``comes_km``: how far from its tower a station comes; ``falloff``, ``Falloff``
heading    ``best_heading``, ``aimed``, ``Aim``
predicted  ``predicted``, ``Predicted``: the forecast for the very set-up of each reading
learning   ``inform``: what readings teach, with ``curve_of`` a meter; ``next_reading``,
           ``NextReading``: the one worth taking next
checked    ``score``, ``Score``: forecasts against what came; ``turned``, ``Turned``: a rotation
           log read
=========  ==================================================================================
"""

from ..words import chance_words, roofs_words
from .checked import Score, Turned, score, turned
from .expect import limits_of, outlook
from .far import Falloff, comes_km, falloff
from .heading import Aim, aimed, best_heading
from .learning import NextReading, curve_of, inform, next_reading
from .predicted import Predicted, predicted
from .setups import Grid, Setup, aim_of, at_heading, chance_of, check_site, grid, parts_of

__all__ = [
    "Aim",
    "Falloff",
    "Grid",
    "NextReading",
    "Predicted",
    "Score",
    "Setup",
    "Turned",
    "aim_of",
    "aimed",
    "at_heading",
    "best_heading",
    "chance_of",
    "chance_words",
    "check_site",
    "comes_km",
    "curve_of",
    "falloff",
    "grid",
    "inform",
    "limits_of",
    "next_reading",
    "outlook",
    "parts_of",
    "predicted",
    "roofs_words",
    "score",
    "turned",
]

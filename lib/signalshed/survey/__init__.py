"""Stations x setups x headings at one site: spare dB, its spread, and the chance of a picture.

``grid`` is the one vectorised computation; everything else here is a slice of it.

=========  ==================================================================================
setups     ``Setup``, ``Grid``, ``grid``, ``at_heading``, ``chance_of``
expect     ``outlook``: every station through one setup; ``limits_of``; chances in words
heading    ``best_heading``, ``aimed``, ``Aim``
learning   ``inform``: what readings teach; ``next_reading``: the one worth taking next
checked    ``score``: forecasts against what came; ``turned``: a rotation log read
=========  ==================================================================================
"""

from .checked import Score, Turned, score, turned
from .expect import chance_words, limits_of, outlook, roofs_words
from .heading import Aim, aimed, best_heading
from .learning import NextReading, curve_of, inform, next_reading
from .predicted import Predicted, predicted
from .setups import (
    HEADINGS_DEG,
    Grid,
    Setup,
    aim_of,
    at_heading,
    chance_of,
    grid,
    parts_of,
)

__all__ = [
    "HEADINGS_DEG",
    "Aim",
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
    "curve_of",
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

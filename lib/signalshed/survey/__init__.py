"""Stations x setups x headings at one site: spare dB, its spread, and the chance of a picture.

``grid`` is the one vectorised computation; everything else here is a slice of it.

=========  ==================================================================================
setups     ``Setup``, ``Grid``, ``grid``, ``at_heading``, ``chance_of``
expect     ``outlook``: every station through one setup; ``limits_of``; chances in words
heading    ``best_heading``, ``aimed``, ``Aim``
=========  ==================================================================================
"""

from .expect import chance_words, limits_of, outlook, roofs_words
from .heading import Aim, aimed, best_heading
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
    "Setup",
    "aim_of",
    "aimed",
    "at_heading",
    "best_heading",
    "chance_of",
    "chance_words",
    "grid",
    "limits_of",
    "outlook",
    "parts_of",
    "roofs_words",
]

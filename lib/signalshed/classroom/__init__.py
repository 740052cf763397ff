"""What lessons put on screen: panels with sliders, and questions that check an answer.

=========  ====================================================================================
panel      ``Panel``, ``Words``: the one wiring of sliders to a picture and its words
controls   ``Slider``, ``Choice``, ``Switch``: the limits and defaults of a panel in one table
quiz       ``number``, ``choice``: a question, a place for the answer, a check with a hint
=========  ====================================================================================

Each lesson has one file here, with its panels: ``lesson_00`` and so on.
"""

import importlib

from .controls import Choice, Slider, Switch
from .panel import Panel, Words

__all__ = ["Choice", "Panel", "Slider", "Switch", "Words"]


def __getattr__(name):
    if name.startswith("lesson_"):
        return importlib.import_module(f"{__name__}.{name}")
    raise AttributeError(f"signalshed.classroom has no {name!r}.")

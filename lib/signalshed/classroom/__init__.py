"""What lessons put on screen: panels with sliders, and questions that check an answer.

=========  ====================================================================================
panel      ``Panel``, ``Words``: the one wiring of sliders to a picture and its words
controls   ``Slider``, ``Choice``, ``Switch``, and ``Guess``, ``GuessChoice`` before the answer shows
guesses    what was guessed, for a lesson's end; ``open_all``, the teacher's switch
quiz       ``number``, ``choice``: a question, a place for the answer, a check with a hint
cards      tables and lists to read: stations, ranking, aim, changes, notes, cautions
forms      ``SiteForm``, ``ReadingsForm``: a roof and its readings without a text editor
roof       the bearing strip of a site as a panel's drawing, which several lessons share
paper_tv   ``PaperTVPage``: the TV of tables that have none
showing    ``Live``: what panels, questions and forms share, on the screen and without a kernel
canvas     one figure moved, not drawn anew; ``Moving``: the picture of a lesson's panel
stage      the one layout of all panels; ``stamps``: words of a picture, set once;
           ``newest``: stale moves are dropped
=========  ====================================================================================

Each lesson has one file (or folder) here, ``lesson_00`` and so on: its panels are functions called
``NAME_panel``, its questions functions called ``NAME_question``; each works without arguments.
"""

import importlib

from . import guesses, quiz
from .controls import Choice, Guess, GuessChoice, Slider, Switch
from .guesses import open_all
from .panel import Panel, Words

__all__ = ["Choice", "Guess", "GuessChoice", "Panel", "Slider", "Switch", "Words"]
__all__ += ["guesses", "open_all", "quiz"]


def __getattr__(name):
    if name.startswith("lesson_"):
        return importlib.import_module(f"{__name__}.{name}")
    raise AttributeError(f"signalshed.classroom has no {name!r}.")


def __dir__():
    return __all__

"""The printable page: the answer for one roof, why, how sure, and what to mind on the way up.

=========  ==================================================================================
page       ``write``: one HTML file with everything inside it; ``page``: its text (each of the other
           pages has one, in its own module)
front      the first sheet of it: what to hang where, what comes, is it hung right
basis      what it rests on: assumptions, notes, the age of the list, sources
one        ``write_one``: the page of one antenna, "would yours do?"
still      ``still``: the answer as a picture of 16 to 9
sheet      ``write_sheet``: the build sheet of one antenna
trial      ``write_trial``: the page of one trial, and a still
template   ``write_template``: a loop or bow-tie at its true size
stand      ``write_stand``: the stand for trials
paper      what both stand on: the file's ending, the style, nothing from outside
cautions   ``cautions``: what to mind at a kind of mount; ``cautions_html``: the same as a box
rounding   ``Wishes``: what is left out before a report is published
=========  ==================================================================================
"""

from .cautions import cautions, cautions_html
from .one import write_one
from .page import page, write
from .rounding import Wishes
from .sheet import write_sheet
from .stand import write_stand
from .still import still
from .template import write_template
from .trial import write_trial

# All that is imported above is handed on, but no module.
__all__ = [n for n, it in globals().copy().items() if n[0] != "_" and not hasattr(it, "__file__")]


def __dir__():
    return __all__

"""The printable page: the answer for one roof, why, how sure, and what to mind on the way up.

=========  ==================================================================================
page       ``write``: one HTML file with everything inside it; ``page``: its text
front      the first sheet of it: what to hang where, what comes, is it hung right
basis      what it rests on: assumptions, notes, the age of the list, sources
one        ``write_one``: the page of one antenna, "would yours do?"; ``one_page``: its text
still      ``still``: the answer as a picture of 16 to 9
sheet      ``write_sheet``: the build sheet of one antenna; ``sheet_page``: its text
trial      ``write_trial``: the page of one trial, and a still; ``trial_page``: its text
template   ``write_template``: a loop or bow-tie at its true size; ``template_page``: its text
stand      ``write_stand``: the stand for trials; ``stand_page``: its text
paper      what both stand on: the file's ending, the style, nothing from outside
cautions   ``cautions``: what to mind at a kind of mount; ``cautions_html``: the same as a box
rounding   ``Wishes``, ``shown_site``: what is left out before a report is published
=========  ==================================================================================
"""

from .cautions import cautions, cautions_html
from .one import one_page, write_one
from .page import page, write
from .rounding import Wishes, shown_site
from .sheet import sheet_page, write_sheet
from .stand import stand_page, write_stand
from .still import still
from .template import template_page, write_template
from .trial import trial_page, write_trial

__all__ = [
    "Wishes",
    "cautions",
    "cautions_html",
    "one_page",
    "page",
    "sheet_page",
    "shown_site",
    "stand_page",
    "still",
    "template_page",
    "trial_page",
    "write",
    "write_one",
    "write_sheet",
    "write_stand",
    "write_template",
    "write_trial",
]


def __dir__():
    return __all__

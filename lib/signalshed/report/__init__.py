"""The printable page: the answer for one roof, why, how sure, and what to mind on the way up.

=========  ==================================================================================
page       ``write``: one HTML file with everything inside it; ``page``: its text
sheet      ``write_sheet``: the build sheet of one antenna; ``sheet_page``: its text
trial      ``write_trial``: the page of one trial, and a still; ``trial_page``: its text
paper      what both stand on: the file's ending, the style, nothing from outside
cautions   ``cautions``: what to mind at a kind of mount; ``cautions_html``: the same as a box
rounding   ``Wishes``, ``shown_site``: what is left out before a report is published
=========  ==================================================================================
"""

from .cautions import cautions, cautions_html
from .page import page, write
from .rounding import Wishes, shown_site
from .sheet import sheet_page, write_sheet
from .trial import trial_page, write_trial

__all__ = [
    "Wishes",
    "cautions",
    "cautions_html",
    "page",
    "sheet_page",
    "shown_site",
    "trial_page",
    "write",
    "write_sheet",
    "write_trial",
]

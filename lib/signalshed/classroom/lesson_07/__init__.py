"""Lesson 07: which antenna for this roof? Yours, and six strangers'.

=========  ====================================================================================
this file  ``roof_panel``: the roof of the folder that was opened; ``check_yourself``: the questions
learning   ``readings_panel``: what readings narrow; ``taught_card`` and ``experiment``: many roofs
reaching   ``reach_panel``: how far an antenna reaches
asking     ``askers_panel``, ``questions``, ``compare``, ``QUESTION_CARD``: the six who ask;
           ``strangers`` and ``roofs_card``: three more, answered in one call
sentence   ``sentence_panel``: what one sentence of a stranger moves, and what an antenna does
=========  ====================================================================================
"""

import numpy as np

from ... import advice, simulate
from .. import Panel, quiz
from ..roof import roof_controls, roof_draw
from .asking import (
    ASKERS,
    QUESTION_CARD,
    askers_panel,
    compare,
    questions,
    roofs_card,
    strangers,
)
from .learning import experiment, readings_panel, taught_card
from .reaching import reach_panel
from .sentence import answers, sentence_panel


def roof_panel(site=None):
    """Heading, antenna and mount of your roof, beginning with the best of its ranking.

    Parameters: ``site`` a Site, None for the invented house.

    >>> roof_panel().values["mount"]
    'roof mast'
    """
    site = simulate.demo_site() if site is None else site
    best = advice.rank(site).iloc[0]
    heading = np.nan_to_num(best["heading_deg"]) // 5 * 5
    controls = roof_controls(site, best["antenna"], best["mount"], heading)
    return Panel(f"Your roof: {site.name}", controls, roof_draw(site), (8.8, 5.4))


def check_yourself():
    """The questions of the lesson, in the order of its page.

    >>> check_yourself()[0].check("12 dB")
    Right: 12 dB.
    """
    return (
        quiz.number(
            "On one mast a station has 6 dB to spare through a loop of 1 dBd (dB over a half-wave "
            "dipole). How many through a bow-tie of 7 dBd, both aimed at it?",
            *(12, "dB", 0.5),
            hint="Only the antenna has changed; by how many dB?",
        ),
    )

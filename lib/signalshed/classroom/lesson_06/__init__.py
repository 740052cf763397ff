"""Lesson 06: which antenna is better, and is it real?

=========  ====================================================================================
tables     ``tables_panel``: two tables, two equal antennas, opposite order; ``reports``
order      ``order_panel``: order, repeats and drift of one evening, and of many; ``evening``, ``judged``
power      ``power_panel``: how many pairs it takes to call a difference
club       ``club_log``: what copies of one build did; ``false_better``: equal antennas called unequal
intervals  ``intervals_panel``, ``claims``: the trial in the yard, its ends and what was true;
           ``wrong_names``: many invented trials, judged three ways
=========  ====================================================================================
"""

from .. import quiz
from .club import club_log, false_better
from .intervals import claims, intervals_panel, wrong_names
from .order import ORDERS, evening, judged, order_panel
from .power import power_panel
from .tables import reports, tables_panel


def check_yourself():
    """The questions of the lesson, in the order of its page.

    >>> check_yourself()[0].check("cannot tell")
    Right.
    """
    return (
        quiz.choice(
            "An interval runs from 0.4 dB worse to 2.6 dB better. What do you say?",
            {
                "better": "Most of it lies above zero, yet the end below zero may be the truth.",
                "equal": "Then it may not be 2.6 dB better, and the interval says it may.",
                "cannot tell": "",
            },
            "cannot tell",
            hint="Zero lies inside. Does that prove the two are equal?",
        ),
        quiz.number(
            "Level falls by 3 dB per hour. You read the dipole, and 30 minutes later an equal loop. By "
            "how much does the loop seem worse?",
            *(1.5, "dB", 0.05),
            hint="What part of an hour are 30 minutes?",
        ),
    )

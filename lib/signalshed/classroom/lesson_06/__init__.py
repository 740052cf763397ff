"""Lesson 06: which antenna is better, and is it real?

=========  ====================================================================================
order      ``order_panel``: order, repeats and drift of one evening; ``evening``, ``judged``
power      ``power_panel``: how many pairs it takes to call a difference
club       ``club_log``: what copies of one build did; ``false_better``: equal antennas called unequal
recorded   ``beside_the_truth``: the trial in the yard; ``wrong_names``: many invented ones
=========  ====================================================================================
"""

from .. import quiz
from .club import club_log, false_better
from .order import ORDERS, evening, judged, order_panel
from .power import power_panel
from .recorded import beside_the_truth, wrong_names

__all__ = [
    "ORDERS",
    "beside_the_truth",
    "check_yourself",
    "club_log",
    "evening",
    "false_better",
    "judged",
    "order_panel",
    "power_panel",
    "wrong_names",
]


def check_yourself():
    """The questions of the lesson, in the order of its page.

    >>> check_yourself()[0].check("cannot tell")
    Right.
    """
    return (
        quiz.choice(
            "An interval runs from 0.4 dB worse to 2.6 dB better. What do you say?",
            ("better", "equal", "cannot tell"),
            "cannot tell",
            hint="Zero lies inside. Does that prove the two are equal?",
        ),
        quiz.number(
            "Level falls by 3 dB per hour. You read the dipole, and 20 minutes later an equal loop. By "
            "how much does the loop seem worse?",
            *(1, "dB", 0.05),
            hint="What part of an hour are 20 minutes?",
        ),
    )

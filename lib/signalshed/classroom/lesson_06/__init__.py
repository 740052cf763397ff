"""Lesson 06: which antenna is better, and is it real?

=========  ====================================================================================
order      ``order_panel``: order, repeats and drift of one evening; ``evening``, ``judged``
power      ``power_panel``: how many pairs it takes to call a difference
club       ``club_log``: what copies of one build did; ``false_better``: equal antennas called unequal
recorded   ``beside_the_truth``: the trial in the yard; ``wrong_names``: many invented ones
=========  ====================================================================================
"""

from .club import club_log, false_better
from .order import ORDERS, evening, judged, order_panel
from .power import power_panel
from .recorded import beside_the_truth, wrong_names

__all__ = [
    "ORDERS",
    "beside_the_truth",
    "club_log",
    "evening",
    "false_better",
    "judged",
    "order_panel",
    "power_panel",
    "wrong_names",
]

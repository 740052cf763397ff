"""Lesson 06: which antenna is better, and is it real?

=========  ====================================================================================
order      ``order_panel``: order, repeats and drift of one evening; ``evening``, ``judged``
power      ``power_panel``: how many pairs it takes to call a difference
recorded   ``beside_the_truth``: the trial in the yard; ``wrong_names``: many invented ones
=========  ====================================================================================
"""

from .order import ORDERS, evening, judged, order_panel
from .power import power_panel
from .recorded import beside_the_truth, wrong_names

__all__ = [
    "ORDERS",
    "beside_the_truth",
    "evening",
    "judged",
    "order_panel",
    "power_panel",
    "wrong_names",
]

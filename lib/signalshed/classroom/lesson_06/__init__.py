"""Lesson 06: which antenna is better, and is it real?

=========  ====================================================================================
order      ``order_panel``: order, repeats and drift of one evening; ``evening``, ``judged``
power      ``power_panel``: how many pairs it takes to call a difference
recorded   ``recorded_trial``: two evenings with three antennas; ``wrong_names``: many of them
=========  ====================================================================================
"""

from .order import ORDERS, evening, judged, order_panel
from .power import power_panel
from .recorded import beside_the_truth, recorded_trial, wrong_names

__all__ = [
    "ORDERS",
    "beside_the_truth",
    "evening",
    "judged",
    "order_panel",
    "power_panel",
    "recorded_trial",
    "wrong_names",
]

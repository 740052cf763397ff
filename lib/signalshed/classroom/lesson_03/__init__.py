"""Lesson 03: a tuner whose scale nobody knows, pads until the picture breaks, and the ladder.

=========  ====================================================================================
hidden     ``hidden_meter_panel``, ``what_it_means``, ``bits``: what tuners show, and keep
pads       ``pads_panel``: dB until the picture breaks, at UHF, at VHF and behind an amplifier
climbing   ``ladder_panel``: a ladder of pads becomes a curve, or is too short for one
faults     ``fault_card``: what a sign at the meter usually means; ``fault_panel``: hidden faults to be
           found from ``two_rounds``
=========  ====================================================================================
"""

from .. import quiz
from .climbing import ladder_panel
from .faults import FAULTS, fault_card, fault_panel, two_rounds
from .hidden import TUNERS, bits, hidden_meter_panel, what_it_means
from .pads import WAYS, pads_panel

__all__ = [
    "FAULTS",
    "TUNERS",
    "WAYS",
    "bits",
    "check_yourself",
    "fault_card",
    "fault_panel",
    "hidden_meter_panel",
    "ladder_panel",
    "pads_panel",
    "two_rounds",
    "what_it_means",
]


def check_yourself():
    """The questions of the lesson, in the order of its page.

    >>> check_yourself()[0].check("19 dB")
    Right: 19 dB.
    """
    return (
        quiz.number(
            "On UHF, without amplifier, the picture holds with 10 and 6 dB of pad in a row, and breaks "
            "when 3 dB more go in. What is the most that the station can have to spare?",
            *(19, "dB", 0.2),
            hint="Add up all the pads that were in when it broke.",
        ),
    )

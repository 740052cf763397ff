"""Lesson 03: a tuner whose scale nobody knows, pads until the picture breaks, and the ladder.

=========  ====================================================================================
hidden     ``hidden_meter_panel``, ``what_it_means``, ``bits``: what tuners show, and keep
pads       ``pads_panel``: dB until the picture breaks, at UHF, at VHF and behind an amplifier
climbing   ``ladder_panel``: a ladder of pads becomes a curve, or is too short for one
faults     ``fault_card``: what a sign at the meter usually means
=========  ====================================================================================
"""

from .climbing import ladder_panel
from .faults import fault_card
from .hidden import TUNERS, bits, hidden_meter_panel, what_it_means
from .pads import WAYS, pads_panel

__all__ = [
    "TUNERS",
    "WAYS",
    "bits",
    "fault_card",
    "hidden_meter_panel",
    "ladder_panel",
    "pads_panel",
    "what_it_means",
]

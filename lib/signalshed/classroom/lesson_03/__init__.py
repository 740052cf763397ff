"""Lesson 03: a tuner whose scale nobody knows, pads until the picture breaks, and the ladder.

=========  ====================================================================================
hidden     ``five_panel``, ``black_panel``, ``what_it_means``, ``bits``: what tuners show, and keep
pads       ``pads_panel``: dB until the picture breaks, at UHF, at VHF and behind an amplifier
climbing   ``ladder_panel``: a ladder of pads becomes a curve, or is too short for one
faults     ``fault_card``: what a sign at the meter usually means; ``fault_panel``: hidden faults to be
           found from ``two_rounds``
=========  ====================================================================================
"""

from .. import quiz
from .climbing import halfwidth_db, ladder_panel
from .faults import FAULTS, fault_card, fault_panel, two_rounds
from .hidden import TUNERS, bits, black_panel, five_panel, what_it_means
from .pads import WAYS, label_cost_db, pads_panel

__all__ = ["FAULTS", "TUNERS", "WAYS", "bits", "black_panel", "check_yourself", "fault_card"]
__all__ += ["fault_panel", "five_panel", "ladder_panel", "pads_panel", "prompts", "two_rounds"]
__all__ += ["what_it_means"]


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


def prompts():
    """What the page asks without a check, with answers: see quiz.prompts."""
    spare = what_it_means(82)["spare_db"]
    coarse_db = max(step for step in range(1, 11) if halfwidth_db("tuner A", 23, step, 30) <= 2)
    cost_db = label_cost_db("low VHF, no amplifier", 20)
    return (
        quiz.Prompt(
            "So what does 82 % mean? Place your guess; then move the line.",
            f"Anything from {spare.min():.1f} to {spare.max():.1f} dB to spare.",
            "Each maker bends the scale as it likes, and stops it where it is full.",
            "82 % of all there can be, or 82 dB: a percent has no zero and no unit.",
        ),
        quiz.Prompt(
            "Which goes black first? Place your guess.",
            "None: all at once.",
            "The picture breaks where the spare dB are eaten; the scale has no part in it.",
            "The one that shows least: what a scale shows is not what a tuner needs.",
        ),
        quiz.Prompt(
            "how coarse may the meter ladder's steps be if tuner A's 82 % is to mean something within "
            "2 dB either way",
            f"{coarse_db} dB at most.",
            "Zero lies somewhere between the last rung that held and the first that lost.",
            "It does not matter, since the curve is smooth: the curve hangs on where the zero is.",
        ),
        quiz.Prompt(
            "Guess first what a pad of 20 dB costs at 69 MHz.",
            f"{cost_db:.1f} dB.",
            "Most of the noise comes down the antenna with the signal, and the pad weakens both.",
            "20 dB, as on its label: that holds where the noise is the TV's own, at UHF.",
        ),
        quiz.Prompt(
            "Six cards, each with one fault or none. Guess, see, then change the 1.",
            "; ".join(f"{n}: {words}" for n, (_, words, _) in enumerate(FAULTS, 1)) + ".",
            "The losers share the MHz (water, noise), the bearing (turned, one side) or nothing.",
            "The antenna is too small: it would have been so in March too.",
        ),
    )

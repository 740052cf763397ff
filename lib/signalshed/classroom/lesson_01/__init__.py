"""Lesson 01: what is on the air, where on the dial, and how long is its wave?

=======  ======================================================================================
numbers  ``sizes``, ``resonant_share``, ``by_channel``, ``same_place``, ``nearest_channel``
lengths  ``arms_panel``: half a wave beside two arms; ``sizes_panel``: wire beside a door
dial     ``dials``: five regions as one picture; ``dial_panel``: one station and its neighbours
=======  ======================================================================================
"""

from ... import channels, simulate
from .. import quiz
from .dial import dial_panel, dials
from .lengths import CHANNEL, arms_panel, sizes_panel
from .numbers import REGIONS, by_channel, nearest_channel, resonant_share, same_place, sizes

__all__ = ["CHANNEL", "REGIONS", "arms_panel", "by_channel", "check_yourself", "dial_panel"]
__all__ += ["dials", "nearest_channel", "prompts", "resonant_share", "same_place", "sizes"]
__all__ += ["sizes_panel"]


def check_yourself():
    """The questions of the lesson, in the order of its page.

    >>> check_yourself()[0].check("29.5 in").right
    True
    """
    return (
        quiz.number(
            "A station is sent at 200 MHz. How long is half a wave in air?",
            *(750, "mm", 8),
            hint="300 divided by MHz is the whole wave in metres; take half.",
        ),
    )


def prompts():
    """What the page asks without a check, with answers: see quiz.prompts."""
    tv = {row.station: row.freq_mhz for row in simulate.demo_site().stations.itertuples()}
    shoe_mm = sizes(tv["Gazette"])["half_wave"]
    ratio = sizes(channels.centre_mhz("7"))["dipole"] / sizes(channels.centre_mhz("35"))["dipole"]
    wave_m = sizes(channels.centre_mhz("2"))["wave"] / 1000
    fm_mhz = channels.neighbours("us").set_index("label").loc["FM broadcasting", "low_mhz"]
    return (
        quiz.Prompt(
            "Place your guess, then choose other stations.",
            f"{shoe_mm:.0f} mm, a shoe.",
            "The screen shows a name; the wave is that of RF 24, which the station is sent on.",
            "1.9 m, since it calls itself 5.1: the name stayed when the station moved.",
        ),
        quiz.Prompt(
            "Guess who has the nearest; then look:",
            f"Foghorn on RF 5: FM radio begins {fm_mhz - tv['Foghorn']:.0f} MHz above its middle.",
            "FM radio lies just above RF 6, telephones above RF 36; the middle of UHF is far from both.",
            "The strongest station: nearness on the dial has nothing to do with power.",
        ),
        quiz.Prompt(
            "Predict: how many dipoles of RF 35 fit into one of RF 7?",
            f"{ratio:.1f}.",
            "Length goes as one over MHz, and RF 35 has so many times the MHz of RF 7.",
            "Five, since 35 is five times 7: channel numbers are no MHz.",
        ),
        quiz.Prompt(
            "Guess: how long is a wave on RF 2?",
            f"{wave_m:.2f} m.",
            "300 divided by 57 MHz.",
            "Half of it: that is the dipole, not the wave.",
        ),
    )

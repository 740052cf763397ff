"""Lesson 02: will the signal get here, and what eats it on the way?

=======  ======================================================================================
account  ``account_panel``, ``account_of``, ``in_spare_db``, ``feed_with``: one station, row by row
vote     ``vote_panel``, ``voted``: one amplifier in three places, and height instead
land     ``distance_picture``, ``hill_panel``, ``one_hill``, ``taken_db``, ``real_ground``
=======  ======================================================================================
"""

from ...units import miles_from_km
from ...words import signed
from .. import quiz
from .account import (
    AMPLIFIER,
    AMPLIFIERS,
    CABLE_M,
    HEIGHT_M,
    OTHER_KW,
    PLACES,
    POWER_KW,
    SUMS_DB,
    account_of,
    account_panel,
    feed_with,
    in_spare_db,
)
from .land import (
    FREQ_MHZ,
    HILL_AT_KM,
    HILL_M,
    distance_picture,
    hill_panel,
    one_hill,
    real_ground,
    taken_db,
)
from .vote import vote_panel, voted

__all__ = ["AMPLIFIER", "FREQ_MHZ", "OTHER_KW", "PLACES", "SUMS_DB"]
__all__ += ["account_of", "account_panel", "check_yourself", "distance_picture", "feed_with"]
__all__ += ["hill_panel", "in_spare_db", "one_hill", "prompts", "real_ground", "taken_db"]
__all__ += ["vote_panel", "voted"]


def check_yourself():
    """The questions of the lesson, in the order of its page.

    >>> check_yourself()[0].check("-72 dBm")
    Right: -72 dBm.
    """
    return (
        quiz.number(
            "A field of 55 dBµV/m; the dipole makes −130 dB of it, the antenna has 6 dBd, the cable "
            "takes 3 dB. How many dBm reach the tuner?",
            *(-72, "dBm", 0.5),
            hint="Add the four lines in order, as in part 1; what takes has a minus.",
        ),
    )


def prompts():
    """What the page asks without a check, with answers: see quiz.prompts."""
    reach_km, more_km = (_reach_km(kw) for kw in (POWER_KW[2], 2 * POWER_KW[2]))
    bare, helped = (
        account_of(feed=feed_with(name, CABLE_M[1]))[1]["spare_db"] for name in AMPLIFIERS[:2]
    )
    long, short = taken_db(one_hill(HILL_M[2], HILL_AT_KM[2]), HEIGHT_M[2], FREQ_MHZ[:2])
    none, mast, tv, dead, higher = voted("26", CABLE_M[2]).values()
    return (
        quiz.Prompt(
            "Place your guess, then pull.",
            f"The short wave: {short:.0f} dB at {FREQ_MHZ[1]} MHz, {long:.0f} dB at {FREQ_MHZ[0]} MHz.",
            "The longer a wave beside the obstacle, the better it bends round it.",
            "The long wave, since it is too big to pass: a wave is no ball, it flows round.",
        ),
        quiz.Prompt(
            "Vote where the same box should go",
            f"At the mast: {mast - none:+.0f} dB, at the TV {tv - none:+.0f}, its plug out "
            f"{dead - none:+.0f}; six metres of height {higher - none:+.0f}.",
            "Before the cable it makes up for cable and TV; behind it the cable has already taken.",
            "At the TV, where the picture is bad: there signal and noise are raised alike.",
        ),
        quiz.Prompt(
            "Predict how far the station of part 6 reaches at even odds",
            f"About {reach_km:.0f} km ({miles_from_km(reach_km):.0f} mi).",
            "There spare dB are 0: all that the dipole in the open has is eaten.",
            f"Twice the power, twice as far: it brings 3 dB, and {more_km - reach_km:.0f} km.",
        ),
        quiz.Prompt(
            "Guess what 60 m of cable leave, without and with amplifier",
            f"{signed(bare)} dB and {signed(helped)} dB to spare.",
            "Without a box each dB of cable is lost; behind one at the mast hardly any.",
            "The box makes up for its 16 dB: it makes up for what is lost behind it, no more.",
        ),
    )


def _reach_km(erp_kw):
    """How far the station of the account's start reaches at even odds, whole km."""
    feed = feed_with(AMPLIFIERS[1], CABLE_M[2])
    spare = (account_of("26", km, erp_kw, feed=feed)[1]["spare_db"] for km in range(50, 160))
    return 50 + next(n for n, db in enumerate(spare) if db < 0)

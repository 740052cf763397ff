"""What trees cost when the receiving antenna stands behind them, in leaf and bare."""

import functools

import numpy as np

from .. import facts
from ..units import check, one_of, plain

LEAVES = ("none", "bare", "full")
"""States of trees: none that lose their leaves, bare, in full leaf."""


def vegetation_loss_db(freq_mhz, trees_m, leaves="full"):
    """Loss through woodland in front of the antenna, dB.

    Parameters, the numbers broadcast: ``freq_mhz`` 30 to 3000; ``trees_m`` depth of trees the wave
    passes through, m, from 0; ``leaves`` one of ``LEAVES``; none counts as full, all year. Between the
    measured frequencies the constants run straight on log-log axes, and beyond them the nearest ones
    hold. ValueError otherwise.
    Source: Am (1 - exp(-d g / Am)), Rec. ITU-R P.833-9 section 2.1 and Table 1; what bare trees keep of
    it is our judgement (facts table ``woodland``).

    >>> round(vegetation_loss_db(466.475, 100), 2), round(vegetation_loss_db(466.475, 100, "bare"), 2)
    (8.76, 7.88)
    """
    f = np.log(check("freq_mhz", freq_mhz, low=30, high=3000))
    depth = check("trees_m", trees_m, low=0)
    one_of("leaves", leaves, LEAVES)
    known, specific, most, kept = _logarithms()
    gamma, a_m = np.exp(np.interp(f, known, specific)), np.exp(np.interp(f, known, most))
    share = np.exp(np.interp(f, known, kept)) if leaves == "bare" else 1.0
    return plain(-share * a_m * np.expm1(-depth * gamma / a_m))


@functools.cache
def _logarithms():
    table = facts.table("woodland")
    return np.log(
        table[["freq_mhz", "specific_db_per_m", "most_db", "bare_share"]].to_numpy(float)
    ).T


def leaves_on(day_of_year, latitude_deg):
    """Whether trees are bare or in full leaf on a day, as guessed from the latitude: a word.

    Parameters: ``day_of_year`` 1 to 366; ``latitude_deg`` -90 to 90. Our judgement (facts table
    ``judgement``).

    >>> leaves_on(135, 45), leaves_on(15, 45), leaves_on(15, -45), leaves_on(15, 10)
    ('full', 'bare', 'full', 'full')
    """
    day = check("day_of_year", day_of_year, low=1, high=366)
    latitude = check("latitude_deg", latitude_deg, low=-90, high=90)
    known = functools.partial(facts.value, "judgement")
    if abs(latitude) < known("evergreen_below_deg"):
        return "full"
    later = known("leaf_days_per_degree") * (abs(latitude) - 40)
    day = day if latitude > 0 else (day + 182) % 365
    in_leaf = known("leaf_out_day") + later <= day < known("leaf_fall_day") - later
    return "full" if in_leaf else "bare"

"""What trees in leaf cost when the receiving antenna stands behind them."""

import functools

import numpy as np

from .. import facts
from ..units import check, plain


def leaves_loss_db(freq_mhz, trees_m):
    """Loss through woodland in leaf in front of the antenna, dB.

    Parameters, which broadcast: ``freq_mhz`` 30 to 3000; ``trees_m`` depth of trees the wave passes
    through, m, from 0. Between the measured frequencies both constants run straight on log-log axes,
    and beyond them the nearest ones hold. ValueError otherwise.
    Source: Am (1 - exp(-d g / Am)), Rec. ITU-R P.833-9 section 2.1 and Table 1.

    >>> round(leaves_loss_db(466.475, 100), 3)
    8.758
    """
    f = np.log(check("freq_mhz", freq_mhz, low=30, high=3000))
    depth = check("trees_m", trees_m, low=0)
    known, specific, most = _logarithms()
    gamma, a_m = np.exp(np.interp(f, known, specific)), np.exp(np.interp(f, known, most))
    return plain(-a_m * np.expm1(-depth * gamma / a_m))


@functools.cache
def _logarithms():
    table = facts.table("woodland")
    return np.log(table[["freq_mhz", "specific_db_per_m", "most_db"]].to_numpy(float)).T

"""Normal distributions as all who infer need them: between two ends, in mixtures, evenly scattered."""

import functools

import numpy as np
from scipy.special import log_ndtr, ndtr, ndtri


def log_between(low, high):
    """Log probability of a standard normal between two ends, taken on the side where both are small.

    Parameters: ``low`` and ``high``, any shapes that broadcast, infinite for an open end.

    >>> round(float(np.exp(log_between(-1.6449, np.inf))), 3)
    0.95
    """
    flip = low + high > 0
    low, high = np.where(flip, -high, low), np.where(flip, -low, high)
    log_high = log_ndtr(high)
    return log_high + np.log1p(-np.exp(np.minimum(log_ndtr(low) - log_high, -1e-12)))


@functools.cache
def cloud(count, width, seed):
    """Evenly scattered standard normal points (count, width), always the same for a ``seed``.

    Parameters: ``count`` a power of 2; ``width`` how many dimensions; ``seed`` a whole number.

    >>> cloud(4, 2, 1).shape
    (4, 2)
    """
    from scipy.stats import qmc  # takes half a second to load, and opening a folder needs none

    return ndtri(qmc.Sobol(width, seed=seed).random(count))


def quantiles(mean, sd, levels, *, least=-np.inf, weight=None, rounds=14):
    """Quantiles (each (n,)) of mixtures of normals (D, n), none below ``least``, by bisection.

    Parameters: ``mean`` and ``sd`` of each; ``levels`` asked for; ``least`` a bound of all; ``weight``
    (D,) of each, None for alike; ``rounds`` of halving twelve sds and the means' spread, 14 to a
    hundredth of a dB.

    >>> [round(float(x), 2) for x in quantiles(np.zeros(2), np.ones(2), (0.5, 0.95))]
    [-0.0, 1.64]
    """

    def share(above):
        return above.mean(axis=0) if weight is None else np.tensordot(weight, above, 1)

    none = share(ndtr((least - mean) / sd))
    out = []
    for level in levels:
        low = np.maximum((mean - 6 * sd).min(axis=0), least)
        high = (mean + 6 * sd).max(axis=0)
        for _ in range(rounds):
            middle = (low + high) / 2
            under = share(ndtr((middle - mean) / sd)) < none + level * (1 - none)
            low, high = np.where(under, middle, low), np.where(under, high, middle)
        out.append((low + high) / 2)
    return out

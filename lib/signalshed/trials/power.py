"""How many pairs it takes, and the paired comparison everybody can do by hand."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike
from scipy import optimize, stats

from ..units import check, number, plain
from .model import prior

MOST_PAIRS = 10_000
POWER = 0.8
"""The chance with which a plan, and the number of pairs, promise to find a difference."""


class Paired(NamedTuple):
    """A paired comparison: mean ``difference``, ``low`` and ``high`` ends of its interval, Student's
    ``t`` with ``df`` degrees of freedom, two-sided ``p``."""

    difference: float
    low: float
    high: float
    t: float
    df: int
    p: float


def paired(first: ArrayLike, second: ArrayLike, confidence: float = 0.9) -> Paired:
    """Student's paired t: the mean of first minus second, pair by pair.

    Source: Student (1908).

    Parameters
    ----------
    first, second
        Both (n,), n at least 2, in any one unit.
    confidence
        Of the interval, above 0 and below 1.

    Returns
    -------
    Paired

    Raises
    ------
    ValueError
        When all differences are equal or too few.

    Examples
    --------
    >>> round(paired([36, 60, 44, 119], [45, 73, 46, 124]).difference, 2)
    -7.25
    """
    a, b = check("first", first), check("second", second)
    if a.shape != b.shape or a.ndim != 1 or a.size < 2:
        raise ValueError(
            f"first has shape {a.shape} and second {b.shape}; give at least two pairs, one each."
        )
    apart = a - b
    sd = apart.std(ddof=1)
    if sd == 0:
        raise ValueError("All differences are equal, so nothing says how far they might scatter.")
    t = apart.mean() / (sd / np.sqrt(a.size))
    half = half_width_db(a.size, sd, confidence=confidence)
    mean = float(apart.mean())
    p = 2 * stats.t.sf(abs(t), a.size - 1)
    return Paired(mean, mean - half, mean + half, float(t), a.size - 1, float(p))


def half_width_db(
    pairs: ArrayLike, pair_sd_db: ArrayLike = 1.0, *, confidence: float = 0.9
) -> float | np.ndarray:
    """Half the width of the interval of a mean difference from so many pairs.

    Source: Student's t with pairs - 1 degrees of freedom.

    Parameters
    ----------
    pairs
        2 or more, any shape.
    pair_sd_db
        Sd of one pair's difference, dB, above 0.
    confidence
        Above 0 and below 1.

    Returns
    -------
    float or ndarray
        dB.

    Examples
    --------
    >>> round(half_width_db(6, confidence=0.95), 2)
    1.05
    """
    n = check("pairs", pairs, low=2)
    sd = check("pair_sd_db", pair_sd_db, above=0)
    level = check("confidence", confidence, above=0, high=0.9999)
    return plain(stats.t.ppf((1 + level) / 2, n - 1) * sd / np.sqrt(n))


def chance_to_call(
    difference_db: ArrayLike, pair_sd_db: ArrayLike, pairs: ArrayLike, *, confidence: float = 0.9
) -> float | np.ndarray:
    """Chance that the interval of so many pairs stays clear of zero on the right side.

    Source: noncentral t distribution.

    Parameters
    ----------
    difference_db, pair_sd_db
        The true difference and the sd of one pair's, dB, above 0.
    pairs
        2 or more; shapes broadcast.
    confidence
        Above 0 and below 1.

    Returns
    -------
    float or ndarray
        0 to 1.

    Examples
    --------
    >>> round(chance_to_call(1.0, 1.0, 8), 2)
    0.82
    """
    ask = check("difference_db", difference_db, above=0)
    sd = check("pair_sd_db", pair_sd_db, above=0)
    n = check("pairs", pairs, low=2)
    level = check("confidence", confidence, above=0, high=0.9999)
    limit = stats.t.ppf((1 + level) / 2, n - 1)
    # The lowest supported scipy warns of far tails, whose chances are right all the same.
    with np.errstate(divide="ignore", invalid="ignore"):
        return plain(stats.nct.sf(limit, n - 1, ask / sd * np.sqrt(n)))


def usual_pair_sd_db(channels: float = 5, apart_h: float = 0.0) -> float:
    """What one pair's difference usually scatters by: two mountings, their channels, the drift.

    Source: the usual sds of facts table ``trial_priors``.

    Parameters
    ----------
    channels
        Read each time, 1 or more.
    apart_h
        Hours from the one mounting to the other, 0 or more.

    Returns
    -------
    float
        One standard deviation, dB.

    Examples
    --------
    >>> round(usual_pair_sd_db(5), 2)
    1.08
    """
    count = number("channels", channels, low=1)
    usual = {k: prior(f"{k}_median_db") for k in ("remount", "residual", "drift")}
    one = usual["remount"] ** 2 + usual["residual"] ** 2 / count
    return float(np.sqrt(2 * one + usual["drift"] ** 2 * check("apart_h", apart_h, low=0)))


def found_db(pairs: float, pair_sd_db: float = 1.0, *, confidence: float = 0.9) -> float:
    """The true difference that so many pairs call with a chance of 0.8.

    The other side of ``repeats_needed``.

    Parameters
    ----------
    pairs
        2 or more.
    pair_sd_db, confidence
        As in ``repeats_needed``.

    Returns
    -------
    float
        dB.

    Examples
    --------
    >>> round(found_db(8), 2), repeats_needed(found_db(8), 1.0)
    (0.98, 8)
    """
    n = number("pairs", pairs, low=2)
    sd = number("pair_sd_db", pair_sd_db, above=0)
    half = half_width_db(n, sd, confidence=confidence)

    def short(ask_db):
        return float(chance_to_call(ask_db, sd, n, confidence=confidence)) - POWER

    return float(optimize.brentq(short, 1e-3 * half, 10 * half, xtol=1e-6)) * (1 + 1e-5)


def repeats_needed(
    difference_db: float, pair_sd_db: float = 1.0, *, confidence: float = 0.9, power: float = POWER
) -> int:
    """Pairs (antenna and baseline, one after the other) needed to call a true difference.

    Source: noncentral t distribution.

    Parameters
    ----------
    difference_db
        The true difference worth finding, above 0.
    pair_sd_db
        Sd of one pair's difference, above 0 (remounting both: 1 to 2 dB; ``usual_pair_sd_db``).
    confidence
        Of the interval that must stay clear of zero, above 0 and below 1.
    power
        The chance that it does, 0.05 to 0.999.

    Returns
    -------
    int

    Raises
    ------
    ValueError
        Beyond 10,000 pairs.

    Examples
    --------
    >>> repeats_needed(1.0, 1.0)
    8
    """
    ask = number("difference_db", difference_db, above=0)
    sd = number("pair_sd_db", pair_sd_db, above=0)
    level = number("confidence", confidence, above=0, high=0.9999)
    want = number("power", power, low=0.05, high=0.999)
    n = np.arange(2, MOST_PAIRS + 1)
    limit = stats.t.ppf((1 + level) / 2, n - 1)
    # Normal approximation first, the exact tail only near its answer.
    rough = stats.norm.sf(limit - ask / sd * np.sqrt(n)) >= want
    if not rough.any():
        raise ValueError(
            f"difference_db {ask:g} with pair_sd_db {sd:g} would take more than {MOST_PAIRS} pairs."
        )
    start = max(0, int(np.argmax(rough)) - 10)
    near = n[start : start + 40]
    exact = chance_to_call(ask, sd, near, confidence=level) >= want
    return int(near[np.argmax(exact)])

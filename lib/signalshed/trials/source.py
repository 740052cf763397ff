"""Readings from anything that gives them, watched until they settle."""

import time as clock
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from ..tables import lock
from ..units import check, number

STILL = 6


class Settled(NamedTuple):
    """What a source showed: the middle ``reading`` of the last looks, its ``low`` and ``high``, NaN
    without a picture; ``locked``; ``looks`` taken; ``steady`` False if it never settled."""

    reading: float
    low: float
    high: float
    locked: bool
    looks: int
    steady: bool


def settled(source: Callable[[], tuple], *, most: int = 40, every_s: float = 1.0) -> Settled:
    """Watch a source until it settles.

    It has settled when the last six looks agree on the picture and move no more between their first
    and their second half than the second scatters.

    Parameters
    ----------
    source
        Without arguments, gives (reading, locked); reading None without a picture.
    most
        Looks before it is taken as it is, 6 to 10,000.
    every_s
        Seconds from look to look, 0 to 3600.

    Returns
    -------
    Settled

    Raises
    ------
    ValueError
        If the source gives anything else.

    Examples
    --------
    >>> needle = iter([(20, True), (50, True), (70, True), *[(80, True)] * 20])
    >>> seen = settled(lambda: next(needle), every_s=0)
    >>> seen.reading, seen.looks
    (80.0, 9)
    """
    most = int(check("most", most, low=STILL, high=10_000))
    wait_s = number("every_s", every_s, low=0, high=3600)
    looks = []
    while len(looks) < most:
        if looks and wait_s:
            clock.sleep(wait_s)
        looks.append(_look(source))
        if len(looks) >= STILL and _still(np.array(looks[-STILL:])):
            return _settled(looks, True)
    return _settled(looks, False)


def _look(source):
    """One look as (reading, locked), floats."""
    try:
        reading, locked = source()
        return np.nan if reading is None else float(reading), _picture(locked)
    except (TypeError, ValueError) as error:
        raise ValueError(
            "source must give a pair (reading, locked), as (82, True), and (None, False) without a "
            f"picture; it did not: {error}."
        ) from None


def _picture(locked):
    known = lock(locked)
    if known is None:
        raise ValueError(f"locked is {locked!r}")
    return float(known)


def _still(looks):
    """Whether looks (n, 2) agree on the picture and the reading does not move."""
    reading, locked = looks.T
    if locked.min() != locked.max():
        return False
    if not locked[0] or np.isnan(reading).all():
        return True
    half = len(reading) // 2
    first, second = reading[:half], reading[half:]
    return bool(abs(second.mean() - first.mean()) <= 1.6 * second.std(ddof=1))


def _settled(looks, steady):
    reading, locked = np.array(looks[-STILL:]).T
    picture = bool(np.median(locked) >= 0.5)
    seen = reading[(locked == 1) & ~np.isnan(reading)]
    if not picture or not seen.size:
        return Settled(np.nan, np.nan, np.nan, picture, len(looks), steady)
    middle, low, high = (float(f(seen)) for f in (np.median, np.min, np.max))
    return Settled(middle, low, high, picture, len(looks), steady)

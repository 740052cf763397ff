"""When an evening may end: looks planned beforehand, and an interval that holds at all of them.

Whoever looks again and again, and stops when it pleases, is wrong more often than the interval says.
Here looks are few and planned, and the interval at each is widened by one constant so that all of
them together hold the truth with the confidence named (a repeated confidence interval).
"""

import functools
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy import optimize, stats

from ..units import check, number
from ..words import counted, signed

MOST_LOOKS = 4
FIRST_LOOK = 3
NODES = 96


def planned_looks(returns: int) -> tuple[int, ...]:
    """After which whole returns to look: the first after three, at most four, the last at the end.

    Parameters
    ----------
    returns
        Whole returns of the plan, 1 or more.

    Returns
    -------
    tuple of int
        Rising.

    Examples
    --------
    >>> planned_looks(6), planned_looks(10), planned_looks(2)
    ((3, 4, 5, 6), (3, 5, 8, 10), (2,))
    """
    returns = int(check("returns", returns, low=1))
    if returns <= FIRST_LOOK:
        return (returns,)
    count = min(MOST_LOOKS, returns - FIRST_LOOK + 1)
    return tuple(int(np.floor(x + 0.5)) for x in np.linspace(FIRST_LOOK, returns, count))


def stopping_constant(information: ArrayLike, confidence: float = 0.9) -> float:
    """How many standard errors either way hold the truth at every look: one for all (Pocock 1977).

    The chance is found look by look by integration over all that has not stopped (Armitage, McPherson
    and Rowe 1969).

    Parameters
    ----------
    information
        What is known at each look, (k,), rising (pairs will do).
    confidence
        That no look excludes the truth, above 0 and below 1.

    Returns
    -------
    float

    Raises
    ------
    ValueError
        Where the information does not rise.

    Examples
    --------
    >>> round(stopping_constant([1, 2], 0.95), 3)
    2.178
    """
    had = check("information", information, above=0)
    if had.ndim != 1 or not had.size or np.any(np.diff(had) <= 0):
        raise ValueError(f"information is {information}; it must rise from look to look.")
    level = number("confidence", confidence, above=0, high=0.9999)
    share, least = had / had[-1], stats.norm.ppf((1 + level) / 2)
    limits = np.ones(had.size)
    return optimize.brentq(lambda c: _stays(c * limits, share) - level, least * 0.99, least * 3)


@functools.cache
def once_as_wide(looks, confidence=0.9):
    """Confidence of an interval looked at once that is as wide as the repeated one of ``looks``.

    Parameters: ``looks`` whole returns as ``planned_looks`` gives them; ``confidence`` of all together.

    >>> round(once_as_wide((3, 4, 5, 6)), 3), once_as_wide((6,))
    (0.953, 0.9)
    """
    if len(looks) == 1:
        return confidence
    return float(2 * stats.norm.cdf(stopping_constant(looks, confidence)) - 1)


def _stays(limits, share):
    """Chance that a mean without a difference stays within ``limits`` at every look."""
    node, weight = np.polynomial.legendre.leggauss(NODES)
    edge = limits * np.sqrt(share)
    at, mass = edge[0] * node, edge[0] * weight
    density = stats.norm.pdf(at, scale=np.sqrt(share[0]))
    for k in range(1, len(share)):
        to = edge[k] * node
        step = stats.norm.pdf(to[:, None] - at, scale=np.sqrt(share[k] - share[k - 1]))
        density, at, mass = step @ (density * mass), to, edge[k] * weight
    return float(density @ mass)


@dataclass(frozen=True)
class MayStop:
    """Whether the trial may end now, as a truth value, and what it says by then.

    ``yes``; ``look`` which of ``looks`` this is (0: none is planned here); ``pairs`` had;
    ``constant`` of the looks; ``difference_db`` and the ends ``low_db``, ``high_db`` of the repeated
    interval of the declared question, NaN before there is any; ``says`` all of it in words.
    """

    yes: bool
    look: int = 0
    looks: int = 0
    pairs: int = 0
    constant: float = np.nan
    difference_db: float = np.nan
    low_db: float = np.nan
    high_db: float = np.nan
    says: str = ""

    def __bool__(self):
        return self.yes


NO_PLAN = MayStop(
    False,
    says="No plan with a declared question and looks was given, so nothing says when to stop: read what "
    "was intended, and look once.",
)


def widened(difference_db, low_db, high_db, constant, pairs):
    """Ends of a repeated interval from those of a 90 % one that is looked at once.

    Parameters: ``difference_db``, ``low_db``, ``high_db`` numbers; ``constant`` of the looks;
    ``pairs`` had, 2 or more: both normal constants are taken over to Student's t with pairs - 1
    degrees of freedom, at their own levels.

    >>> [round(end, 2) for end in widened(3.0, 1.0, 5.0, 1.992, 10)]
    [0.48, 5.52]
    """
    level = stats.norm.cdf(constant)
    ratio = stats.t.ppf(level, pairs - 1) / stats.t.ppf(0.95, pairs - 1)
    below, above = difference_db - low_db, high_db - difference_db
    return float(difference_db - ratio * below), float(difference_db + ratio * above)


def judged(laid, done, pairs, band):
    """A MayStop: ``laid`` a Plan, ``done`` whole returns, ``pairs`` of the declared antenna.

    Parameters: ``band`` a row with difference_db, low_db, high_db of the declared question, or None.
    """
    question = f"{laid.question[0]} against {laid.baseline}, {laid.question[1]}"
    if band is None or pairs < 2:
        said = f"Too few readings for the declared question ({question}): go on."
        return MayStop(False, 0, len(laid.looks), pairs, says=said)
    look = sum(done >= after for after in laid.looks)
    constant = stopping_constant(_information(laid.looks, look, pairs))
    low, high = widened(band.difference_db, band.low_db, band.high_db, constant, pairs)
    here, last = done in laid.looks, look == len(laid.looks)
    clear = low > 0 or high < 0
    yes = last or (here and clear)
    said = _said(laid, done, (yes, here, last), clear)
    ends = f"{question}: {signed(band.difference_db, 1)} dB, {signed(low, 1)} to {signed(high, 1)}"
    said = f"{said} {ends} at every look together (9 of 10)."
    numbers = (pairs, constant, float(band.difference_db), low, high)
    return MayStop(yes, look if here or last else 0, len(laid.looks), *numbers, said)


def _information(looks, look, pairs):
    """Pairs at every look: as planned before, as had now, as still planned after."""
    if look == 0:
        return np.array(looks, float)
    past = np.array(looks[: look - 1], float)
    past = past[past < pairs]
    after = pairs + np.array(looks[look:], float) - looks[look - 1]
    return np.concatenate([past, [pairs], after])


def _said(laid, done, state, clear):
    yes, here, last = state
    had = counted(done, "whole return")
    if last:
        return f"All {had} are done: the trial is over, whatever it says."
    if yes:
        return f"You may stop: after {had} the interval is clear of zero at a planned look."
    after = next(n for n in laid.looks if n > done)
    why = "the interval still holds zero" if here and not clear else "no look is planned here"
    return f"Go on: after {had} {why}; the next look is after {after}."

"""Where a log shows its meter full: the ceiling it piles up at, and below it what is still a value.

A ladder sees the full meter a few times, a log of strong stations hundreds of times. Its readings below
the ceiling are some of a full meter that flickers, some of margins that lie there; how many of each
follows from how many are at the ceiling, whatever the flicker, and from how many dB each reading spans.
"""

import numpy as np
from scipy.special import bdtrc, ndtr

from .likelihood import FLICKER_STEPS, SIZES_LOG_SD

FEW = 10
"""With fewer readings at the ceiling a log tells less of it than the ladder."""
PILE, PILE_SHARE, PILE_CHANCE = 5, 0.4, 0.001
"""So many readings, against the three steps below them, and so rarely by chance, are a ceiling."""
DOUBTED = 0.25
"""A reading of which more than this share are of a full meter is a bound."""
STEPS = 10


def ceiling(drawn, reading):
    """Where readings (n,) pile up below a ceiling that the ladder never saw; or the curve's own."""
    below, half = drawn.ceiling - drawn.step / 2, drawn.step / 2
    if drawn.looks or not reading.size or reading.max() >= below:
        return drawn.ceiling
    top = reading.max()
    (wide,) = np.median(drawn.at([top + half]) - drawn.at([top - half]), axis=0)
    piled = int((reading > top - half).sum())
    near = int((reading > top - 7 * half).sum())
    chance = bdtrc(piled - 1, near, PILE_SHARE)
    return float(top) if piled >= PILE and chance < PILE_CHANCE and wide < 1.5 else drawn.ceiling


def values_below(drawn, reading):
    """Readings from here on are bounds in a log of ``reading`` (n,); None where it cannot tell.

    The flicker of the full meter and how thick readings lie per dB are averaged over a net.
    """
    step, at = drawn.step, np.arange(STEPS + 1)
    shown = drawn.ceiling - step * at
    seen = (np.abs(reading[:, None] - shown) < step / 2).sum(axis=0)
    if seen[0] < FEW:
        return None
    usual, sds = np.log(FLICKER_STEPS * max(step, 0.01 * drawn.size)), np.linspace(-3, 3, 49)
    flicker = np.exp(usual + SIZES_LOG_SD[1] * sds)[:, None]
    under = ndtr(-step * (at - 0.5) / flicker)
    full = seen[0] * (under[:, 1:-1] - under[:, 2:]) / (1 - under[:, 1:2])
    width = np.median(drawn.at(shown + step / 2) - drawn.at(shown - step / 2), axis=0)[1:-1]
    count = seen[1:-1]
    thick = (count.sum() + 0.5) / width.sum() * np.linspace(0.1, 1.5, 15)
    expected = full[:, None] + thick[:, None] * width + 1e-9  # no dB lie below a cliff
    log = (count * np.log(expected) - expected).sum(axis=-1) - 0.5 * sds[:, None] ** 2
    weight = np.exp(log - log.max())
    share = np.tensordot(weight / weight.sum(), full[:, None] / expected, axes=2)
    sure = np.flatnonzero(share < DOUBTED)
    return float(shown[1 + sure[0]] + step / 2) if sure.size else float(shown[-1] + step / 2)

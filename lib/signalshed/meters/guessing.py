"""The curve of a meter without a ladder: a straight guess, and others as likely of other slopes.

A difference of two readings in dB grows with the span that the whole scale is taken to cover, and
that may be 8 dB or 50. As an error of first order this would let a difference of 3 dB be one of the
other sign, though a meter that rises is never that wrong. So whoever needs differences takes several
spans in turn, each with its share; whoever needs one margin takes one wide curve.
"""

import numpy as np

from .. import facts
from .known import Known

USUAL = facts.numbers("meter_defaults")


def straight(scale, span_db, slope_sd):
    """A straight line from the usual bottom to full scale over ``span_db``, widely uncertain: a Known.

    Parameters: ``scale`` a Scale; ``span_db`` from the cliff to full scale; ``slope_sd`` one standard
    deviation of the slope as a share of it. Where the line begins and how far the meter bends away
    from it are errors too.

    >>> from .display import scale
    >>> straight(scale("quality"), 20.0, 0.5).reading[[0, -1]].round(3).tolist()
    [30.0, 100.0]
    """
    knots = np.linspace(0.0, span_db, 11)
    size, rise = scale.high - scale.low, 1 - USUAL.default_bottom_share
    along = knots / span_db
    errors = size * np.stack([
        np.full(knots.size, rise / span_db * USUAL.default_shift_sd_db),
        slope_sd * rise * (along - 0.5),
        USUAL.default_bend_sd * rise * 4 * along * (1 - along),
    ])  # fmt: skip
    reading = scale.low + size * (1 - rise + rise * along)
    flicker = max(size * USUAL.default_flicker_share, 0.3 * scale.step)
    return Known(scale, knots, reading, errors.T @ errors, flicker, scale.high)


def spans_db(middle_db, most_db):
    """Spans a scale may cover, dB, and how likely each is: (5,) and (5,).

    Parameters: ``middle_db`` the likeliest; ``most_db`` what it cannot exceed, since the meter was
    seen full there (inf: never).

    >>> spans_db(20.0, np.inf)[0].round().tolist()
    [8.0, 13.0, 20.0, 32.0, 50.0]
    """
    steps = np.arange(-2.0, 3.0)
    share = np.exp(-0.5 * steps**2)
    spans = middle_db * np.exp(USUAL.default_span_step * steps)
    return np.minimum(spans, max(most_db, 3.0)), share / share.sum()

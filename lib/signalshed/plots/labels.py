"""Where labels go so that none covers another."""

import numpy as np
from scipy.optimize import isotonic_regression


def spread_out(positions, gap, low, high):
    """Positions moved apart to at least ``gap``, as little as can be, within ``low`` to ``high``.

    Parameters: ``positions`` (n,) in any order; ``gap``, ``low`` and ``high`` in their unit. If they
    cannot all keep that gap within the range, they are spaced evenly. Order is kept. Least squares:
    isotonic regression of the positions less their due steps.

    >>> spread_out([10.0, 10.0, 30.0], 4, 0, 100).tolist()
    [8.0, 12.0, 30.0]
    """
    wish = np.asarray(positions, float)
    if wish.size == 0:
        return wish
    order = np.argsort(wish, kind="stable")
    gap = min(gap, (high - low) / wish.size)
    due = gap * np.arange(wish.size)
    packed = isotonic_regression(wish[order] - due).x
    placed = np.empty_like(wish)
    placed[order] = np.clip(packed, low, high - due[-1]) + due
    return placed

"""Where labels go so that none covers another."""

import numpy as np
from scipy.optimize import isotonic_regression


def spread_out(positions, gap, low, high):
    """Positions moved apart to at least ``gap``, as little as can be, within ``low`` to ``high``.

    Parameters: ``positions`` (n,) in any order; ``gap``, ``low`` and ``high`` in their unit, the first
    a number or (n - 1,), one for each two neighbours from the least position on. If they
    cannot all keep that gap within the range, they are spaced evenly. Order is kept. Least squares:
    isotonic regression of the positions less their due steps.

    >>> spread_out([10.0, 10.0, 30.0], 4, 0, 100).tolist()
    [8.0, 12.0, 30.0]
    """
    wish = np.asarray(positions, float)
    if wish.size == 0:
        return wish
    order = np.argsort(wish, kind="stable")
    gaps = np.minimum(np.broadcast_to(gap, wish.size - 1), (high - low) / wish.size)
    due = np.r_[0.0, np.cumsum(gaps)]
    packed = isotonic_regression(wish[order] - due).x
    placed = np.empty_like(wish)
    placed[order] = np.clip(packed, low, high - due[-1]) + due
    return placed


def fanned(positions, gap, most, low, high):
    """Positions as of ``spread_out``, but none farther than ``most`` from its own: rather they touch.

    Parameters: ``positions`` (n,), ``gap``, ``low`` and ``high`` as there; ``most`` in their unit.

    >>> fanned([50.0] * 9, 4, 8, 0, 100).round(6).tolist()[::4]
    [42.0, 50.0, 58.0]
    """
    wish = np.asarray(positions, float)
    order, gaps = np.argsort(wish, kind="stable"), np.full(max(wish.size - 1, 0), float(gap))
    for _ in range(60):
        placed = spread_out(wish, gaps, low, high)
        off = np.abs(placed - wish)[order]
        if not wish.size or off.max() <= most + 1e-9:
            break
        touching = np.diff(placed[order]) <= gaps + 1e-9
        block = np.r_[0, np.cumsum(~touching)]
        worst = np.zeros(wish.size)
        np.maximum.at(worst, block, off)
        gaps = np.where(
            touching, gaps * np.clip(most / np.maximum(worst[block[1:]], 1e-9), 0, 1), gaps
        )
    return placed


def roomy(positions, gap, most, low, high):
    """Which of ``positions`` find room for a label no farther than ``most`` away, and where: two arrays.

    Those that would have to move farthest are left out first. Parameters as of ``fanned``.

    >>> [x.tolist() for x in roomy([50.0, 50.0, 50.0], 8, 5, 0, 100)]
    [[1, 2], [46.0, 54.0]]
    """
    kept = np.arange(len(positions))
    while kept.size:
        wish = np.asarray(positions, float)[kept]
        placed = spread_out(wish, gap, low, high)
        off = np.abs(placed - wish)
        if off.max() <= most and np.diff(np.sort(placed)).min(initial=np.inf) >= gap - 1e-9:
            return kept, placed
        kept = np.delete(kept, off.argmax())
    return kept, np.empty(0)

"""Where labels go so that none covers another, and how they are worded."""

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


def short(text, most=16):
    """``text`` in at most ``most`` characters, without line breaks; an ellipsis marks a cut.

    >>> short("a name that goes on and on", 10)
    'a name th…'
    """
    flat = " ".join(str(text).split())
    return flat if len(flat) <= most else flat[: most - 1].rstrip() + "…"


def listed(names, most=6):
    """Names in a row, and how many more there are beyond ``most``.

    >>> listed(["a", "b", "c"], 2)
    'a, b and 1 more'
    """
    names = [short(n, 24) for n in names]
    if len(names) > most:
        return f"{', '.join(names[:most])} and {len(names) - most} more"
    return ", ".join(names[:-1]) + (" and " if len(names) > 1 else "") + names[-1] if names else ""


COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def compass_word(bearing_deg):
    """A bearing in degrees as the nearest of eight compass words.

    >>> compass_word(200)
    'south'
    """
    return COMPASS[round(float(bearing_deg) / 45) % 8]


def signed(value, digits=0):
    """A number with its sign, a true minus, and no minus zero.

    >>> signed(-0.2), signed(3), signed(-12.34, 1)
    ('0', '+3', '−12.3')
    """
    text = f"{float(value):+.{digits}f}"
    if float(text) == 0:
        return text[1:]
    return text.replace("-", "−")

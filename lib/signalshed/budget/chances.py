"""Chances in closed form."""

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr

from ..units import check


def chance_of(margin_db: ArrayLike, spread_db: ArrayLike, fade_db: ArrayLike) -> float | np.ndarray:
    """Chance that the margin exceeds the fade of the worst tenth of the time.

    Parameters
    ----------
    margin_db
        For the median of time, dB.
    spread_db
        One standard deviation, dB, above 0.
    fade_db
        From the median to the level held 90 % of the time, dB. Shapes broadcast.

    Returns
    -------
    float or ndarray

    Examples
    --------
    >>> round(float(chance_of(13, 10, 3)), 3)
    0.841
    """
    spread = check("spread_db", spread_db, above=0)
    return chances(check("margin_db", margin_db), spread, check("fade_db", fade_db))


def chances(margin_db, spread_db, fade_db):
    """The chance_of arrays ``margin_db``, ``spread_db``, ``fade_db``; 0 where it is not known, NaN.

    >>> float(chances(np.nan, 10, 3))
    0.0
    """
    z = (margin_db - fade_db) / spread_db
    return ndtr(np.where(np.isnan(z), -np.inf, z))

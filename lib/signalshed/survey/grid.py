"""The one vectorised computation: setups x headings x stations."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from .. import budget
from ..site import Site, check_site, read_only
from ..units import check, check_type


@dataclass(frozen=True, eq=False)
class Grid:
    """Arrays (setup, heading, station): ``margin_db``, ``spread_db``, ``chance``, ``fade_db``.

    ``setups`` and ``headings_deg`` are what the first two axes stand for.
    ``disturbed`` whether others disturb any station there.
    ``margin_db`` is NaN where the antenna is not known on the channel or the tuner cannot decode it;
    the chance is 0 there.
    """

    setups: tuple
    headings_deg: np.ndarray
    margin_db: np.ndarray
    spread_db: np.ndarray
    chance: np.ndarray
    fade_db: np.ndarray
    disturbed: bool = False

    def __post_init__(self):
        read_only(self)


def grid(site: Site, setups: Sequence[budget.Setup], headings_deg: ArrayLike | None = None) -> Grid:
    """Spare dB, spread and chance of every station for every setup at every heading.

    The chance of a station that others disturb is that of the first 64 of the site's worlds: good for
    choosing among headings, and a reception says it better.

    Parameters
    ----------
    site
    setups
        Their own headings play no part here.
    headings_deg
        (H,) true; None for every 5 degrees.

    Returns
    -------
    Grid
        Arrays (setup, heading, station).

    Examples
    --------
    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> g = grid(site, [budget.Setup(name, "roof mast") for name in site.antennas])
    >>> g.margin_db.shape == (len(site.antennas), 72, len(site.stations))
    True
    """
    check_site(site)
    check_type("setups", setups, (list, tuple), "a list of survey.Setup")
    headings = budget.HEADINGS_DEG if headings_deg is None else headings_deg
    headings = np.atleast_1d(check("headings_deg", headings, low=0, high=360))
    shape = (len(setups), headings.size, len(site.stations))
    margin = np.empty(shape)
    chance, disturbed = np.empty(shape), False
    spread, fade = (np.empty((shape[0], 1, shape[2])) for _ in range(2))
    for k, setup in enumerate(setups):
        received = budget.reception_at(site, setup, headings)
        margin[k], fade[k] = received.margins_db, received.fade_db
        spread[k] = received.own_spread_db
        alone = budget.chances(received.alone_db, spread[k], fade[k])
        chance[k] = budget.searched(received, alone)
        disturbed |= not np.array_equal(chance[k], alone)
    spread, fade = (np.broadcast_to(each, shape) for each in (spread, fade))
    return Grid(tuple(setups), headings, margin, spread, chance, fade, disturbed)

"""What a log leaves out: who writes down only what came in keeps silent about all that did not."""

import numpy as np
import pandas as pd
from scipy.special import gammaln, ndtr

from .. import belief as learn
from .. import budget, facts
from ..tables import locks
from ..words import listed

_FEWEST = 3
_MOST_LOOKS = 3
_SURE = 0.98
_LEAST = 0.05


def not_logged(site, readings, said):
    """Stations that were probably tried without a picture, as weak bounds, and a note that says so.

    Where a log holds no single row without a picture, it may be that all that was tried came in, or that
    only what came in was written down. The two are weighed: by how likely the stations not logged were
    to fail, against how likely just these would have been picked out of all. With the chance of the
    second each station not logged is taken as one that did not come in.
    Parameters: ``site`` a Site without belief; ``readings`` the rows used; ``said`` their Predicted.
    Returns belief.Observations and a list.

    >>> from signalshed import simulate, survey
    >>> site = simulate.demo_site()
    >>> none = survey.predicted(site, site.readings)
    >>> not_logged(site, site.readings, none)[0].station.size
    0
    """
    nothing = learn.Observations(np.zeros(0, int), np.zeros(0), np.zeros(0), 1.0), []
    read = np.unique(said.station).size
    once = said.row.size <= _MOST_LOOKS * read  # a trial returns to what it has chosen
    if read < _FEWEST or not once or (locks(readings["locked"]) != 1).any():
        return nothing
    setup = _usual(site, readings)
    if setup is None:
        return nothing
    there = budget.reception(site, setup)
    left, chance = _left(site, there, said)
    odds = _log_odds(chance[left], read)
    share = 1.0 / (1.0 + np.exp(-np.clip(odds, -50, 50)))
    if share < _LEAST or not left.any():
        return nothing
    at = np.flatnonzero(left)
    bounds = learn.Observations(
        at,
        np.full(at.size, -np.inf),
        -there.margin_db[at],
        np.hypot(facts.value("judgement", "reading_wobble_db"), there.antenna.spread_db),
        wild=1.0 - min(share, _SURE),
    )
    return bounds, [_note(site, at, share)]


def _usual(site, readings):
    """The Setup that most readings were made with, unpadded, or None."""
    columns = [c for c in ("mount", "antenna", "heading_deg") if c in readings]
    count = readings[columns].value_counts(dropna=False)
    mount, antenna, *heading = count.index[0]
    if antenna not in site.antennas or mount not in site.mounts:
        return None
    aimed = heading and pd.notna(heading[0]) and site.mount(mount).aim != "never"
    return budget.Setup(antenna, mount, heading_deg=float(heading[0]) % 360 if aimed else None)


def _left(site, there, said):
    """Wanted stations on no channel that was read (mask), and the chance of each to come in."""
    stations = site.stations
    read = set(stations["rf_channel"].iloc[said.station])
    left = stations["wanted"].to_numpy(bool) & np.isfinite(there.margin_db)
    left &= ~stations["rf_channel"].isin(read).to_numpy()
    chance = ndtr(np.nan_to_num(there.margin_db, nan=-99.0) / there.spread_db)
    return left, np.clip(chance, 1 - _SURE, _SURE)


def _log_odds(chance, read):
    """Of "all tried, what failed not written" against "just these were picked", by their chances."""
    every = chance.size + read
    ways = gammaln(every + 1) - gammaln(read + 1) - gammaln(chance.size + 1)
    return np.log1p(-chance).sum() + ways


def _note(site, at, share):
    names = listed([str(name) for name in site.stations["station"].iloc[at]])
    how = "surely" if share > 0.9 else "probably" if share > 0.5 else "perhaps"
    return (
        f"The log holds no row without a picture, so it is {how} one of what came in alone; {names} "
        "are taken as tried in vain, by that chance. Write a row also where there is no picture."
    )

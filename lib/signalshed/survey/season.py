"""In which season each reading was taken, where trees stand before its mount."""

import pandas as pd

from .. import path
from ..site import Site, check_site
from ..units import check_type
from ..words import counted, listed


def seasons(site: Site, readings: pd.DataFrame) -> tuple[list[str | None], tuple[str, ...]]:
    """State of the trees for each reading, and a sentence on those that had to be guessed.

    A reading's own column leaves wins; a site without trees that lose their leaves has one season; else
    date and latitude are asked, and where there is no date, the season of the forecast is taken.

    Parameters
    ----------
    site
    readings
        In the columns of readings.csv.

    Returns
    -------
    leaves
        Of each reading: none, bare, full, or None as the site's forecast, where no trees are in the way.
    notes
        Sentences on what was guessed.

    Examples
    --------
    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> seasons(site, pd.DataFrame({"mount": ["roof mast"], "time": ["2031-05-01"]}))
    ([None], ())
    """
    check_type("readings", readings, pd.DataFrame, "a DataFrame, as the readings of an open site")
    check_site(site)
    found, guessed = [], []
    for row in readings.itertuples(index=False):
        mount = site.mounts.get(getattr(row, "mount", None))
        if mount is None or mount.trees_m == 0:
            found.append(site.leaves)
            continue
        typed = getattr(row, "leaves", None)
        known = typed in path.LEAVES or site.leaves == "none"
        found.append((typed if typed in path.LEAVES else "none") if known else _guessed(site, row))
        guessed += [] if known or found[-1] is None else [found[-1]]
    return found, _said(guessed)


def _guessed(site, row):
    time = pd.to_datetime(str(getattr(row, "time", "")), errors="coerce")
    if pd.isna(time):
        return site.leaves
    return path.leaves_on(time.day_of_year, site.place.latitude_deg)


def _said(guessed):
    if not guessed:
        return ()
    kinds = [
        f"{guessed.count(state)} {words}"
        for state, words in (("full", "in full leaf"), ("bare", "bare"))
        if state in guessed
    ]
    return (
        f"readings.csv: behind trees {counted(len(guessed), 'reading says', 'readings say')} nothing of "
        f"leaves; by date and latitude {listed(kinds)}. The column leaves says it better.",
    )

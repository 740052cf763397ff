"""From decibels to advice: rank what could be put on this roof, and say why.

Ranking is surer than forecasting. What the path does to one antenna on a roof it does to all, so
setups are compared on common draws: a thousand roofs like this one, the same roof for every setup.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from .. import budget, survey
from ..site import Site, check_site, read_only
from ..units import check_type, floats


@dataclass(frozen=True, eq=False)
class Draws:
    """Imagined roofs: ``locked`` (setup, roof, station), True where a wanted station locks.

    ``setups`` as they were aimed, ``aims`` the survey.Aim of each, None where it is never aimed;
    ``expected`` (setup,) wanted stations received on average, the sum of their chances.
    """

    setups: tuple
    aims: tuple
    expected: np.ndarray
    locked: np.ndarray

    def __post_init__(self):
        read_only(self)

    @property
    def counts(self):
        """Number of wanted stations locked: (setup, roof)."""
        return self.locked.sum(axis=2)


def possible_setups(site: Site) -> list[survey.Setup]:
    """Every antenna on every mount where it may live, through the mount's own feed line.

    Parameters
    ----------
    site

    Returns
    -------
    list of Setup

    Raises
    ------
    ValueError
        If there is none.

    Examples
    --------
    >>> from signalshed import simulate
    >>> len(possible_setups(simulate.demo_site())) > 3
    True
    """
    check_site(site)
    setups = [
        survey.Setup(antenna.name, mount.name)
        for mount in site.mounts.values()
        for antenna in site.antennas.values()
        if mount.kind in antenna.lives
    ]
    if not setups:
        raise ValueError(
            "No antenna of this site may live on any of its mounts: give an antenna in antennas.toml "
            "a mount kind of site.toml under `lives`."
        )
    return setups


def imagine(site: Site, setups: Iterable[survey.Setup]) -> Draws:
    """Let every setup live on the same imagined roofs, those of survey.worlds.

    Common to all setups on a roof: what the path does to each station, and how an antenna that nobody
    aims happens to lie. Common to one mount: its walls. Own to one antenna: the error of its gain.

    Parameters
    ----------
    site
    setups
        Aimed here where they can be.

    Returns
    -------
    Draws

    Examples
    --------
    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> imagine(site, possible_setups(site)[:2]).counts.shape
    (2, 1024)
    """
    check_site(site)
    setups = _listed(setups)
    done = [survey.aimed(site, setup) for setup in setups]
    roofs = survey.worlds(site)
    wanted = site.stations["wanted"].to_numpy(bool)
    received = [survey.reception(site, setup) for setup, _ in done]
    expected = np.array([each.chance[wanted].sum() for each in received])
    locked = np.stack([wanted & each.locked_in(roofs) for each in received])
    return Draws(tuple(s for s, _ in done), tuple(a for _, a in done), expected, locked)


def rank(site: Site, setups: Iterable[survey.Setup] | None = None) -> pd.DataFrame:
    """Rank setups for a site: most wanted stations first, the easier antenna first among equals.

    Rows whose expected number is the same to a tenth count as equal.

    Parameters
    ----------
    site
    setups
        None for all that are possible.

    Returns
    -------
    DataFrame
        antenna, mount, heading_deg (NaN if never aimed or on a rotator), expected (wanted stations
        received on average), low and high (between these on 90 % of roofs like this one), best_on (share
        of roofs on which none does better), against_best (in words), effort, pick, why, arc_deg (as many
        headings bring as much), setup (the survey.Setup, aimed).

    Examples
    --------
    >>> from signalshed import simulate
    >>> table = rank(simulate.demo_site())
    >>> bool(table["expected"].iloc[0] >= table["expected"].iloc[-1])
    True
    """
    check_site(site)
    draws = imagine(site, possible_setups(site) if setups is None else setups)
    table = pd.DataFrame([_row(site, *pair) for pair in zip(draws.setups, draws.aims, strict=True)])
    counts = draws.counts
    table["expected"] = draws.expected
    table["low"], table["high"] = np.quantile(counts, [0.05, 0.95], axis=1)
    table["best_on"] = (counts == counts.max(axis=0)).mean(axis=1)
    steps = (-(table["expected"] / 0.1).round()).astype(int)
    order = table.assign(steps=steps).sort_values(["steps", "effort", "expected"], kind="stable")
    first = order.index[0]
    table["against_best"] = [
        "the best" if k == first else compare_words(draws.locked[k], draws.locked[first])
        for k in table.index
    ]
    table["why"] = [_why(site, setup) for setup in draws.setups]
    table = table.loc[order.index].reset_index(drop=True)
    table.insert(0, "pick", _picks(table))
    table["setup"] = [draws.setups[k] for k in order.index]
    return table


def _listed(setups):
    how = "a list of survey.Setup, or None for all that are possible"
    check_type("setups", setups, Iterable, how)
    setups = list(setups)
    for setup in setups:
        check_type("one of setups", setup, survey.Setup, "a survey.Setup, as in setups=[setup]")
    if not setups:
        raise ValueError(f"setups is empty; it must be {how}.")
    return setups


def _row(site, setup, aim):
    antenna, mount, _ = survey.parts_of(site, setup)
    return {
        "antenna": antenna.name,
        "mount": mount.name,
        "heading_deg": np.nan if aim is None else aim.heading_deg,
        "arc_deg": np.nan if aim is None else aim.arc_deg,
        "effort": antenna.effort,
    }


def _picks(table):
    """Mark the best, and the easiest that does nearly as well (half a station less at most)."""
    marks = [""] * len(table)
    near = table[table["expected"] >= table["expected"].iloc[0] - 0.5]
    easiest = near["effort"].idxmin()
    marks[0] = "best"
    if near.loc[easiest, "effort"] < table["effort"].iloc[0]:
        marks[easiest] = "nearly as good, less work"
    return marks


def compare_words(this: ArrayLike, other: ArrayLike) -> str:
    """On how many of ten common roofs one setup brings more stations than another, fewer, as many.

    The three make ten: what cutting downward leaves over goes to whichever was cut most.

    Parameters
    ----------
    this, other
        bool (roof, station).

    Returns
    -------
    str

    Examples
    --------
    >>> a = np.array([[True, True], [True, True]]); b = np.array([[True, False], [True, True]])
    >>> compare_words(a, b)
    'better on 5, worse on 0, same on 5 of 10 roofs like yours'
    """
    this, other = floats("this", this), floats("other", other)
    if this.ndim != 2 or this.shape != other.shape:
        raise ValueError("this and other are tables of one shape, (roof, station).")
    more = np.sign(this.sum(axis=1) - other.sum(axis=1))
    tenths = [10 * float((more == sign).mean()) for sign in (1, -1, 0)]
    whole = np.floor(np.array(tenths) + 1e-9).astype(int)
    whole[np.argsort(whole - tenths, kind="stable")[: 10 - whole.sum()]] += 1
    better, worse, same = whole
    return f"better on {better}, worse on {worse}, same on {same} of 10 roofs like yours"


def _why(site, setup):
    """The reason in words: what is sure, what is not, and what is in the way of most."""
    table = survey.outlook(site, setup)
    table = table[table["wanted"]]
    sure = int((table["chance"] >= site.certainty).sum())
    open_ones = table[table["chance"] < site.certainty]
    mount = survey.parts_of(site, setup)[1]
    search = (
        "; the aim is a search" if budget.scattered_share(mount) and mount.aim == "fixed" else ""
    )
    if open_ones.empty:
        return f"sure of all {sure} wanted stations{search}"
    limit = open_ones["limit"].mode().iloc[0]
    count = int((open_ones["limit"] == limit).sum())
    return f"sure of {sure} of {len(table)}; in the way of {count} more: {limit}{search}"

"""What can be heard of a station at all: through the best antenna, over average terrain."""

import functools

import numpy as np
import pandas as pd

from .. import chain, facts, path
from ..units import dbm_from_dbuv_m
from .model import Site, check_site, remembering


def above_noise_db(stations: pd.DataFrame, time_pct: float) -> np.ndarray:
    """How far each signal is above thermal noise, dB (n,), through the best antenna, at its luckiest.

    The field is what average terrain brings ``time_pct`` of the time at half of the places, 9.1 m above
    ground, and one standard deviation of what the list does not say is added.
    Parameters: ``stations`` a table as Site.stations; ``time_pct`` 1 to 99. NaN where nothing could be
    found out.

    >>> from .. import simulate
    >>> bool((above_noise_db(simulate.demo_site().stations, 50) > 0).all())
    True
    """
    names = ("freq_mhz", "erp_kw", "distance_km", "haat_m", "bandwidth_mhz", "unknown_sd_db")
    freq, erp, away, haat, width, sd_db = (stations[c].to_numpy(float) for c in names)
    over = np.full(freq.size, np.nan)
    ok = np.isfinite(freq * erp * away * haat * width) & (freq <= 3000) & (away > 0)
    if ok.any():
        field = path.average_terrain_dbuv_m(
            freq[ok], erp[ok], away[ok], haat[ok], time_pct=time_pct
        )
        level = dbm_from_dbuv_m(field, freq[ok], facts.value("judgement", "best_antenna_dbd"))
        over[ok] = level - chain.thermal_noise_dbm(width[ok]) + sd_db[ok]
    return over


def has_chance(stations: pd.DataFrame) -> np.ndarray:
    """Which stations come here on a roof in twenty or more through the best antenna, nine tenths of the
    time (n,) bools; True where nobody can say.

    Parameters: ``stations`` a table as Site.stations.

    >>> from .. import simulate
    >>> bool(has_chance(simulate.demo_site().stations).all())
    True
    """
    needs = stations["needs_cn_db"].astype(float).fillna(stations["standard"].map(_least_cn_db()))
    short = above_noise_db(stations, 90) - needs.fillna(0.0).to_numpy(float)
    return ~(short < -facts.value("judgement", "out_of_reach_db"))


@functools.cache
def _least_cn_db():
    """The least C/N of each standard, dB: a dict."""
    return facts.table("standards").set_index("standard")["needs_cn_gaussian_db"].to_dict()


@remembering("stations")
def _has_chance(site):
    """``has_chance`` of a site's stations, found once."""
    return has_chance(site.stations)


def shown(site: Site) -> np.ndarray:
    """Which stations tables and figures speak of: television that has a chance or is wanted.

    Those within ``show_within_km`` of site.toml if that is given. The others count on the air all the
    same.

    Parameters
    ----------
    site
        A Site.

    Returns
    -------
    ndarray of bool (n,)
        One for each row of ``site.stations``.

    Examples
    --------
    >>> from .. import simulate
    >>> bool(shown(simulate.demo_site()).all())
    False
    """
    check_site(site)
    s, within = site.stations, site.show_within_km
    asked = s["wanted"].to_numpy(bool)
    here = asked | ((s["service"] == "tv").to_numpy() & _has_chance(site))
    return here if within is None else here & (s["distance_km"] <= within).to_numpy()


def rest_words(site: Site) -> str:
    """One line on the television stations that are not ``shown``.

    Parameters
    ----------
    site
        A Site.

    Returns
    -------
    str
        "" where all are shown.

    Examples
    --------
    >>> from .. import simulate
    >>> rest_words(simulate.demo_site())
    ''
    """
    check_site(site)
    tv = (site.stations["service"] == "tv").to_numpy()
    left, no_chance = tv & ~shown(site), tv & ~_has_chance(site)
    beyond = left & ~no_chance
    parts = (
        [f"and {(left & no_chance).sum()} more, out of reach"] if (left & no_chance).any() else []
    )
    if beyond.any():
        within = f"beyond the {site.show_within_km:g} km of show_within_km"
        parts.append(f"and {beyond.sum()} more {within}, which count all the same")
    return "; ".join(parts)

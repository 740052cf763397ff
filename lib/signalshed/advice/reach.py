"""How far an antenna reaches: the honest form of "good for so many miles"."""

from dataclasses import replace

import numpy as np
import pandas as pd

from .. import budget, chain, facts, site
from ..antenna import Antenna
from ..units import KM_PER_MILE, check_type

DISTANCES_KM = np.geomspace(2.0, 200.0, 200)
CHANCES = (0.9, 0.5, 0.1)


def reach(
    antenna: Antenna,
    mount: site.Mount,
    feed: chain.Feed | None = None,
    tuner: chain.Tuner | None = None,
) -> pd.DataFrame:
    """Distance at which the chance of a picture falls to 90, 50 and 10 %, by kind of station.

    The antenna is aimed at the station over average terrain; the chance is that a roof like this one
    locks it for at least 90 % of the time.

    Parameters
    ----------
    antenna
    mount
    feed
        None for 15 m of series 6 cable.
    tuner
        None for the planning figures' own, NF 7 dB.

    Returns
    -------
    DataFrame
        station (strong, middling, low power: facts table station_classes), band, erp_kw, haat_m, known
        (whether the antenna's gain is known there), and for each chance a column like km_at_90_pct (NaN:
        not even 2 km away; 200: farther than the charts) and mi_at_90_pct.

    Examples
    --------
    >>> from signalshed.site import Mount
    >>> from signalshed.antenna import plain_dipole
    >>> table = reach(plain_dipole(), Mount("mast", "mast", 9.1))
    >>> bool((table["km_at_90_pct"].dropna() < table["km_at_50_pct"].dropna()).all())
    True
    """
    check_type("antenna", antenna, Antenna, "an Antenna, as site.antenna('wire loop')")
    check_type("mount", mount, site.Mount, "a site.Mount, as site.mount('roof mast')")
    feed = feed or chain.Feed("15 m of cable", (chain.coax("series6", 15),))
    tuner = tuner or chain.Tuner("planning figures", ("ATSC1",), 7.0)
    kinds = facts.table("station_classes")
    table = kinds[["station", "band", "erp_kw", "haat_m"]].copy()
    table["known"] = antenna.covers(kinds["freq_mhz"].to_numpy(float))
    chance = _chance_by_distance(antenna, mount, feed, tuner, kinds)
    for level in CHANCES:
        km = np.array([_falls_to(row, level) for row in chance])
        table[f"km_at_{100 * level:.0f}_pct"] = km
        table[f"mi_at_{100 * level:.0f}_pct"] = km / KM_PER_MILE
    return table


def _chance_by_distance(antenna, mount, feed, tuner, kinds):
    """Chance (kind, distance) with the antenna aimed at each station in turn."""
    imagined = _imagined_site(feed, tuner, kinds)
    aimed = replace(mount, open_from_deg=0.0, open_to_deg=360.0)
    link = budget.link(imagined, aimed, feed, antenna)
    margin = link.margin_db + budget.gain_toward_dbd(imagined, antenna, aimed, [0.0])[0]
    spread = budget.spread_db(imagined, antenna, aimed, link)
    chance = budget.chances(margin, spread, link.fade_db)
    return chance.reshape(len(kinds), DISTANCES_KM.size)


def _imagined_site(feed, tuner, kinds):
    """A site with stations of every kind at every distance, all due north."""
    n = DISTANCES_KM.size
    rows = kinds.loc[kinds.index.repeat(n)].reset_index(drop=True)
    numbers = {"bearing_deg": 0.0, "bandwidth_mhz": 6.0, "unknown_sd_db": 0.0}
    unknown = ("needs_cn_db", "antenna_amsl_m", "transmit_agl_m", "latitude_deg", "longitude_deg")
    rows = rows.assign(
        **numbers,
        **dict.fromkeys(unknown, np.nan),
        distance_km=np.tile(DISTANCES_KM, len(kinds)),
        station=[f"{s} {i}" for i, s in enumerate(rows["station"])],
        place=[str(i) for i in range(len(rows))],
        rf_channel="",
        shown_channels="",
        standard="ATSC1",
        polarization="horizontal",
        wanted=True,
        service="tv",
        note="",
    )
    return site.Site(
        name="imagined",
        region="us",
        place=site.Place("imagined", 0.0, 0.0),
        mounts={},
        feeds={feed.name: feed},
        tuner=tuner,
        stations=rows,
        antennas={},
        readings=pd.DataFrame(),
    )


def _falls_to(chance, level):
    """First distance at which ``chance`` falls below ``level``, kilometres."""
    below = chance < level
    if below[0]:
        return np.nan
    if not below.any():
        return float(DISTANCES_KM[-1])
    k = int(np.argmax(below))
    share = (chance[k - 1] - level) / (chance[k - 1] - chance[k])
    return float(DISTANCES_KM[k - 1] + share * (DISTANCES_KM[k] - DISTANCES_KM[k - 1]))

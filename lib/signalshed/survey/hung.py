"""Is it hung right? One pad between cable and TV, and what the forecast then says must hold."""

from dataclasses import replace

import numpy as np
import pandas as pd

from ..budget import Setup, parts_of, reception
from ..site import Site
from ..units import check
from ..words import counted, screen_name
from .heading import aimed

HOLDS, BREAKS = 0.8, 0.2
"""Through the pad a station must hold from this chance on; up to that it must not."""
MOST = 3
"""So many that must hold are asked for, each on a channel of its own."""
_COLUMNS = ["station", "rf_channel", "shown_channels", "bearing_deg", "distance_km"]


def hung_right(site: Site, setup: Setup, pad_db: float = 10.0) -> pd.DataFrame:
    """Stations by which to tell that an antenna hangs as computed, with one pad at the TV.

    Three that must hold the picture through the pad (of those that do on 8 of 10 roofs like this, the
    ones with least to spare, from different towers first) and one that must not (of those that do on 2
    of 10 at most, the one likeliest without the pad). It rests on the lock alone, on no meter.

    Parameters
    ----------
    site
    setup
        Aimed here where it can be.
    pad_db
        Of the pad, above 0, dB.

    Returns
    -------
    DataFrame
        station, rf_channel, shown_channels, bearing_deg, distance_km, must ("hold" or "break"), chance
        (without the pad), chance_padded. Fewer rows, or none, where the forecast is sure of fewer.

    Examples
    --------
    >>> from signalshed import simulate
    >>> setup = Setup("bow-tie with screen", "roof mast", heading_deg=52.0)
    >>> hung_right(simulate.demo_site(), setup)["must"].iloc[0]
    'hold'
    """
    setup, _ = aimed(site, setup)
    feed = parts_of(site, setup)[2].with_pad(check("pad_db", pad_db, above=0, high=40), "set")
    bare, padded = reception(site, setup), reception(site, replace(setup, feed=feed))
    table = site.stations[_COLUMNS].assign(chance=bare.chance, chance_padded=padded.chance)
    table = table.assign(spare_db=padded.spare_db)[(site.stations["service"] == "tv").to_numpy()]
    table = table[np.isfinite(table["spare_db"])]
    hold = table[table["chance_padded"] >= HOLDS].sort_values("spare_db")
    hold = hold.drop_duplicates("rf_channel")
    towers = hold.drop_duplicates(["bearing_deg", "distance_km"])
    hold = pd.concat([towers, hold.drop(towers.index)]).head(MOST)
    broken = table[
        (table["chance_padded"] <= BREAKS) & ~table["rf_channel"].isin(hold["rf_channel"])
    ]
    broken = broken.sort_values("chance", ascending=False).head(1)
    rows = pd.concat([hold.assign(must="hold"), broken.assign(must="break")], ignore_index=True)
    return rows[[*_COLUMNS, "must", "chance", "chance_padded"]]


def hung_words(table: pd.DataFrame, pad_db: float = 10.0) -> str:
    """What ``hung_right`` asks, in two or three sentences.

    Parameters
    ----------
    table
        From ``hung_right``.
    pad_db
        The pad of it, dB.

    Returns
    -------
    str

    Examples
    --------
    >>> hung_words(pd.DataFrame({"must": [], "station": []}))
    'No station is so sure here that a pad of 10 dB would tell anything.'
    """
    named = [screen_name(row) for row in table.to_dict("records")]
    hold = [n for n, must in zip(named, table["must"], strict=True) if must == "hold"]
    broken = [n for n, must in zip(named, table["must"], strict=True) if must == "break"]
    if not hold:
        return f"No station is so sure here that a pad of {pad_db:g} dB would tell anything."
    after = f"; {broken[0]} must not" if broken else ""
    return (
        f"Screw a pad of {pad_db:g} dB (an attenuator) between cable and TV and wait ten seconds a "
        f"station. {counted(len(hold), 'must', 'must')} still show a picture: {', '.join(hold)}{after}."
    )

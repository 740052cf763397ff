"""Small sites whose every decibel is typed, for tests whose numbers are worked by hand.

Five kilometres from a station nothing fades, an antenna of ``flat`` hears all round and has no doubt
of its own, and ``site_with`` gives each station the power that brings the spare dB asked for: so what
is left is 10 dB of doubt about the path, and arithmetic.
"""

from dataclasses import replace

import numpy as np
import pandas as pd

from signalshed import antenna, chain, survey
from signalshed.site import Mount, Place, Site

AZIMUTHS_DEG = np.arange(-180.0, 180.0)


def stations(**columns):
    """A table of stations with usual values, one row per distance."""
    n = max(np.size(v) for v in columns.values())
    usual = {
        "station": [f"s{i}" for i in range(n)],
        "place": [f"p{i}" for i in range(n)],
        "rf_channel": "20",
        "shown_channels": "",
        "standard": "ATSC1",
        "freq_mhz": 509.0,
        "bandwidth_mhz": 6.0,
        "bearing_deg": 0.0,
        "distance_km": 50.0,
        "erp_kw": 1000.0,
        "haat_m": 300.0,
        "antenna_amsl_m": np.nan,
        "transmit_agl_m": np.nan,
        "needs_cn_db": np.nan,
        "polarization": "horizontal",
        "wanted": True,
        "service": "tv",
        "unknown_sd_db": 0.0,
        "pattern_loss_db": 0.0,
        "latitude_deg": np.nan,
        "longitude_deg": np.nan,
        "licence": "licensed",
        "same_signal": "",
        "guard_us": np.nan,
        "delay_us": np.nan,
        "note": "",
    }
    return pd.DataFrame(usual | columns, index=range(n))


def site_of(table, line_db=4.0, noise_figure_db=7.0, noise="none", mounts=(), antennas=()):
    """A site of ``table``: a pad for a line, a tuner of ATSC 1.0, one mast unless told otherwise."""
    mounts = mounts or (Mount("mast", "mast", 9.1),)
    feed = chain.Feed("line", (chain.pad(line_db),))
    return Site(
        name="test",
        region="us",
        place=Place("here", 30.0, -40.0),
        mounts={m.name: m for m in mounts},
        feeds={"line": feed},
        tuner=chain.Tuner("set", ("ATSC1",), noise_figure_db),
        stations=table,
        antennas={a.name: a for a in antennas},
        readings=pd.DataFrame(),
        noise=noise,
    )


def flat(gain_dbd=0.0, low=50, high=700, **details):
    """An antenna that hears all round, and whose gain is known."""
    table = np.full((2, AZIMUTHS_DEG.size), float(gain_dbd))
    return antenna.Antenna("flat", [low, high], AZIMUTHS_DEG, table, spread_db=0.0, **details)


def block(half_width_deg, outside_db, name="block", **details):
    """0 dBd within ``half_width_deg`` of the aim, both ends in, and ``outside_db`` elsewhere."""
    gain = np.where(np.abs(AZIMUTHS_DEG) <= half_width_deg, 0.0, outside_db)
    return flat().renamed(name, gain_dbd_table=np.tile(gain, (2, 1)), **details)


def site_with(spare_db, mounts=(), antennas=(), **columns):
    """Stations 5 km away, 24 MHz apart, with so many spare dB on a mast through an antenna of 0 dBd.

    Each is judged as if it were alone on the air; ``columns`` as in ``stations``.
    """
    n = len(spare_db)
    channel = 14 + 4 * np.arange(n)
    usual = {
        "rf_channel": [str(c) for c in channel],
        "freq_mhz": 473.0 + 6.0 * (channel - 14),
        "distance_km": 5.0,
        "erp_kw": 1.0,
    }
    site = site_of(stations(**(usual | columns)), mounts=mounts, antennas=(flat(), *antennas))
    mast = survey.Setup("flat", Mount("bare mast", "mast", 9.1), heading_deg=0)
    alone = [
        survey.outlook(
            replace(site, stations=site.stations.iloc[[i]].reset_index(drop=True)), mast
        )["margin_db"].item()
        for i in range(n)
    ]
    power = site.stations["erp_kw"] * 10 ** ((np.asarray(spare_db, float) - alone) / 10)
    return replace(site, stations=site.stations.assign(erp_kw=power))

"""Invented sites, as many as a test or a lesson wants, each from one seed."""

from dataclasses import replace

import numpy as np
import pandas as pd

from .. import chain, channels, earth
from ..site import Mount, Place, Site
from ..site.given import listed_stations
from ..tables import Problems
from ..units import number
from .demo import demo_site


def invented_site(seed, stations=10):
    """A site nobody knows: its stations drawn from ``seed``, its antennas those of the demo house.

    Parameters: ``seed`` a whole number, 0 or more; ``stations`` how many, 1 to 200. The same seed always
    gives the same site. Most stations share a transmitter place with another, and no two a channel
    while there are enough, as it is in life (regulators keep stations of one channel some 200 km
    apart: 47 CFR 73.623, the distance unchecked); of one in ten the height is not known. Antennas are
    as good as the forecast believes, those known from a label too.

    >>> len(invented_site(7, stations=12).stations)
    12
    """
    seed = int(number("seed", seed, low=0))
    number("stations", stations, low=1, high=200)
    place = Place(f"invented roof {seed}", 30.45, -40.70)
    feeds = (
        chain.Feed("mast line", (chain.coax("series6", 18),)),
        chain.Feed("attic line", (chain.coax("series6", 8),)),
    )
    mounts = (
        Mount("roof mast", "mast", 9.0, feed="mast line"),
        Mount("attic", "attic", 6.0, feed="attic line"),
    )
    return Site(
        name=place.name,
        region="us",
        place=place,
        mounts={mount.name: mount for mount in mounts},
        feeds={feed.name: feed for feed in feeds},
        tuner=chain.Tuner("set", ("ATSC1", "ATSC3"), 7.0),
        stations=seen_from(place, _drawn(np.random.default_rng(seed), int(stations), place)),
        antennas={a.name: replace(a, label_lean_db=0.0) for a in demo_site().antennas.values()},
        readings=pd.DataFrame(columns=demo_site().readings.columns),
    )


def seen_from(place, listed):
    """A station list as the table a Site holds, by the same rules as a file is read.

    Parameters: ``place`` a Place; ``listed`` a DataFrame with columns of stations.csv, those missing
    are empty; RF channels are those of "us". Raises BadTable as reading a file would.

    >>> listed = pd.DataFrame({"station": ["a"], "rf_channel": ["14"], "standard": ["ATSC1"],
    ...     "bearing_deg": [20.0], "distance_km": [30.0], "erp_kw": [10.0]})
    >>> seen_from(Place("roof", 30.45, -40.70), listed)["freq_mhz"].tolist()
    [473.0]
    """
    problems = Problems()
    stations, _ = listed_stations(listed, place, "us", problems)
    problems.stop()
    return stations


def _drawn(rng, count, place):
    """Rows of stations.csv: transmitter places first, then stations on them."""
    spots = max(1, round(count / 2.5))
    bearing, distance_km = rng.uniform(0, 360, spots), 6 + 100 * rng.random(spots) ** 1.2
    spread = 10 ** rng.uniform(-0.25, 0.25, spots)
    height_m = np.round(np.clip(distance_km * 5 * spread, 30, 600))
    at = np.arange(count) % spots
    where = earth.destination(place.latitude_deg, place.longitude_deg, bearing[at], distance_km[at])
    rf_channel, power_kw = _channels_and_powers(rng, count)
    return pd.DataFrame(
        {
            "station": [f"invented {k + 1}" for k in range(count)],
            "place": [f"hill {k + 1}" for k in at],
            "rf_channel": rf_channel,
            "standard": "ATSC1",
            "latitude_deg": np.round(where[0], 4),
            "longitude_deg": np.round(where[1], 4),
            "erp_kw": power_kw,
            "erp_toward_kw": power_kw,
            "antenna_height_m": np.where(rng.random(count) < 0.1, np.nan, height_m[at]),
        }
    )


def _channels_and_powers(rng, count):
    """RF channels, each once while they last, three in four of them UHF, and powers usual there, kW."""
    plan = channels.plan("us")
    is_uhf = rng.random(count) < 0.75
    rf_channel = np.empty(count, object)
    for uhf in (False, True):
        here = np.flatnonzero(is_uhf == uhf)
        pool = plan.index[(plan["band"] == "UHF") == uhf].astype(str)
        rf_channel[here] = np.resize(rng.permutation(pool), here.size)
    low, high = np.where(is_uhf, 0.7, 0.3), np.where(is_uhf, 3.0, 1.7)
    return rf_channel, np.round(10 ** (low + (high - low) * rng.random(count)), 1)

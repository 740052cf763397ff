"""Invented station lists: the demo town's from its table, any other from a seed."""

import functools
from importlib import resources

import numpy as np
import pandas as pd
from geographiclib.geodesic import Geodesic

from .. import antenna, chain, channels
from ..site import Mount, Place, Site

_TEXT = ("station", "place", "rf_channel", "shown_channels", "standard", "pattern", "polarization")


@functools.cache
def read_demo(name):
    """One of the tables the demo town is made from, by its file ``name``: a DataFrame, kept.

    >>> read_demo("relief.csv")["kind"].iloc[0]
    'ridge'
    """
    file = resources.files(__package__) / "demo" / name
    with file.open(encoding="utf-8") as text:
        return pd.read_csv(text, dtype=dict.fromkeys(_TEXT, str))


def listed_stations():
    """The demo town's stations as a user would list them, without bearing and distance.

    >>> listed_stations()["station"].iloc[0]
    'Gazette'
    """
    return read_demo("stations.csv").copy()


@functools.cache
def listed_antennas():
    """The demo town's antennas from their numbers: a dict of Antenna by name.

    >>> round(listed_antennas()["long Yagi"].gain_dbd(539), 1)
    12.0
    """
    return {row.name: _antenna(row) for row in read_demo("antennas.csv").itertuples(index=False)}


def _antenna(row):
    texts = (row.freq_mhz, row.gain_dbd, row.beamwidth_deg)
    return antenna.from_numbers(
        row.name,
        *([float(number) for number in text.split(";")] for text in texts),
        row.front_to_back_db,
        polarization=row.polarization,
        lives=tuple(row.lives.split(";")),
        effort=int(row.effort),
        note=row.note,
    )


def seen_from(place, listed, region="us"):
    """A station list as the table a Site holds, seen from ``place``.

    Parameters: ``place`` a Place; ``listed`` a DataFrame with the columns of stations.csv, every row
    with latitude and longitude; ``region`` of the channel plan.

    >>> table = seen_from(Place("roof", 30.45, -40.70), listed_stations())
    >>> round(table["distance_km"].iloc[0])
    48
    """
    rows = listed.reset_index(drop=True)
    way = [_way(place, *pair) for pair in rows[["latitude_deg", "longitude_deg"]].to_numpy()]
    toward = rows["erp_toward_kw"].astype(float)
    height = rows["antenna_height_m"].astype(float)
    guessed = toward.isna() | height.isna()
    return pd.DataFrame(
        {
            "station": rows["station"],
            "place": rows["place"],
            "rf_channel": rows["rf_channel"].fillna(""),
            "shown_channels": rows["shown_channels"].fillna(""),
            "standard": rows["standard"].fillna(""),
            "freq_mhz": _on_plan(rows, "freq_mhz", channels.centre_mhz, region),
            "bandwidth_mhz": _on_plan(rows, "bandwidth_mhz", channels.bandwidth_mhz, region),
            "bearing_deg": [bearing for bearing, _ in way],
            "distance_km": [distance for _, distance in way],
            "erp_kw": toward.fillna(rows["erp_kw"]),
            "haat_m": height.fillna(100.0),
            "antenna_amsl_m": rows["antenna_amsl_m"].astype(float),
            "transmit_agl_m": np.nan,
            "needs_cn_db": rows["needs_cn_db"].astype(float),
            "polarization": rows["polarization"],
            "wanted": rows["wanted"].eq("yes"),
            "service": rows["service"],
            "unknown_sd_db": np.where(guessed, 4.0, 0.0),
            "latitude_deg": rows["latitude_deg"],
            "longitude_deg": rows["longitude_deg"],
            "note": "",
        }
    )


def _on_plan(rows, column, of_channel, region):
    """Television by its channel, neighbours by what their row says."""
    tv = rows["service"].eq("tv").to_numpy()
    values = rows[column].to_numpy(float, copy=True)
    values[tv] = of_channel(rows["rf_channel"][tv], region)
    return values


def _way(place, latitude_deg, longitude_deg):
    line = Geodesic.WGS84.Inverse(
        place.latitude_deg, place.longitude_deg, latitude_deg, longitude_deg
    )
    return line["azi1"] % 360, line["s12"] / 1000


def invented_site(seed, stations=10):
    """A site nobody knows: its stations drawn from ``seed``, its antennas the demo town's.

    Parameters: ``seed`` a whole number; ``stations`` how many, 1 to 200. The same seed always gives
    the same site. Two in three stations share a transmitter place with another.

    >>> len(invented_site(7, stations=12).stations)
    12
    """
    rng = np.random.default_rng(seed)
    place = Place(f"invented roof {seed}", 30.45, -40.70)
    listed = _drawn_stations(rng, int(stations), place)
    return Site(
        name=place.name,
        region="us",
        place=place,
        mounts={
            "roof mast": Mount("roof mast", "mast", 9.0, feed="mast line"),
            "attic": Mount("attic", "attic", 6.0, feed="attic line"),
        },
        feeds={
            "mast line": chain.Feed("mast line", (chain.coax("series6", 18),)),
            "attic line": chain.Feed("attic line", (chain.coax("series6", 8),)),
        },
        tuner=chain.Tuner("set", ("ATSC1", "ATSC3"), 7.0),
        stations=seen_from(place, listed),
        antennas=dict(listed_antennas()),
        readings=pd.DataFrame(),
    )


def _drawn_stations(rng, count, place):
    """Rows of stations.csv: places first, then stations on them."""
    spots = max(1, round(count / 2.5))
    bearing, distance_km = rng.uniform(0, 360, spots), 100 * rng.beta(1.6, 2.0, spots) + 6
    height_m = np.round(np.clip(distance_km * 5 * rng.lognormal(0, 0.4, spots), 30, 600))
    at = np.concatenate(
        [np.arange(min(spots, count)), rng.integers(spots, size=max(0, count - spots))]
    )
    plan = channels.plan("us")
    uhf = rng.random(count) < 0.75
    pools = [plan.index[plan["band"].ne("UHF")], plan.index[plan["band"].eq("UHF")]]
    rf = [str(pools[int(u)][rng.integers(len(pools[int(u)]))]) for u in uhf]
    power_kw = np.where(uhf, 10 ** rng.uniform(0.7, 3.0, count), 10 ** rng.uniform(0.3, 1.7, count))
    ends = [
        Geodesic.WGS84.Direct(
            place.latitude_deg, place.longitude_deg, bearing[k], 1e3 * distance_km[k]
        )
        for k in at
    ]
    return pd.DataFrame(
        {
            "station": [f"invented {i + 1}" for i in range(count)],
            "place": [f"hill {k + 1}" for k in at],
            "rf_channel": rf,
            "shown_channels": [f"{i + 2}.1" for i in range(count)],
            "standard": "ATSC1",
            "latitude_deg": [round(e["lat2"], 4) for e in ends],
            "longitude_deg": [round(e["lon2"], 4) for e in ends],
            "erp_kw": power_kw.round(1),
            "erp_toward_kw": power_kw.round(1),
            "polarization": "horizontal",
            "antenna_height_m": height_m[at],
            "antenna_amsl_m": np.nan,
            "needs_cn_db": np.nan,
            "freq_mhz": np.nan,
            "bandwidth_mhz": np.nan,
            "wanted": "yes",
            "service": "tv",
        }
    )

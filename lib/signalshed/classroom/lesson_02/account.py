"""The account of one invented station, row by row and as a panel that moves every row."""

import functools

import numpy as np
import pandas as pd

from ... import antenna, budget, chain, plots, survey
from ...simulate.town import seen_from
from ...site import Mount, Place, Site
from ...units import check, miles_from_km
from ...words import chance_words, roofs_words, spare_words
from .. import Choice, Panel, Slider, Words

DISTANCE_KM = (2, 160, 50)
POWER_KW = (1, 1000, 200)
TOWER_M = 150
HEIGHT_M = (3, 20, 9)
TREES_M = (0, 100, 0)
CABLE_M = (0, 60, 18)
OTHER_KM = (0.2, 60, 60)
"""Lowest, highest and first value of each slider of the account; its tower stands fixed."""
SUMS_DB = (-100, 125)
"""The account's axis: holds the running sum at every end of every slider."""
CHANNELS = ("RF 3, low VHF", "RF 9, high VHF", "RF 26, UHF")
PLACES = {
    "on a mast": ("mast", "traditional"),
    "in the attic, tiles": ("attic", "traditional"),
    "in a room": ("room", "traditional"),
    "in a room, foil and coated glass": ("room", "thermally_efficient"),
}
AMPLIFIERS = ("none", "at the mast", "at the TV", "at the mast, without supply")
AMPLIFIER = {"gain_db": 16.0, "noise_figure_db": 2.0, "input_ip3_dbm": 10.0}
"""The amplifier of the lesson: in dB, and dBm."""
OTHER_KW = 50
"""Power of the station on the other mast, kilowatts."""
OTHER_M = 60.0
"""Height of that other mast above average terrain."""


def account_of(rf_channel="26", distance_km=50, erp_kw=200, mount=None, feed=None, other_km=None):
    """The account of one invented station over average terrain, and what it may scatter.

    Parameters: ``rf_channel`` of the us plan; ``distance_km``; ``erp_kw``; ``mount`` a Mount (None: a
    mast of 9 m); ``feed`` a chain.Feed (None: 18 m of cable); ``other_km`` away a second station stands,
    not wanted, 50 kW on RF 34 (None: no such station).
    Returns the DataFrame of shed.budget.account, and as a dict what shed.survey.outlook says of it.

    >>> rows, row = account_of()
    >>> bool(abs(rows["running_db"].iloc[-1] - row["spare_db"]) < 1e-9)
    True
    """
    mount = Mount("here", "mast", HEIGHT_M[2]) if mount is None else mount
    feed = chain.Feed("cable", (chain.coax("series6", CABLE_M[2]),)) if feed is None else feed
    place = Place("invented roof", 30.45, -40.70)
    site = Site(
        name=place.name,
        region="us",
        place=place,
        mounts={mount.name: mount},
        feeds={feed.name: feed},
        tuner=chain.Tuner("set", ("ATSC1",), 7.0),
        stations=_stations((rf_channel, distance_km, erp_kw, TOWER_M), other_km, place),
        antennas={"aerial": _aerial()},
        readings=pd.DataFrame(),
    )
    setup = survey.Setup("aerial", mount.name, feed=feed.name, heading_deg=0.0)
    return budget.account(0, setup, site), _told(survey.reception(site, setup))


def _told(received):
    """Of the first station alone what the outlook tells of all."""
    limit, chance = received.limits[0], float(received.chance[0])
    return {
        **{name: float(getattr(received, name)[0]) for name in _NUMBERS},
        **{"chance": chance, "roofs": roofs_words(chance)},
        **{"limit": limit.words, "remedy": limit.remedy},
    }


_NUMBERS = ("margin_db", "spread_db", "spare_db", "fade_db")


def _stations(wanted, other_km, place):
    """The list as ``seen_from`` makes it; what a slider moves is put in, not read anew."""
    rf_channel, distance_km, erp_kw, tower_m = wanted
    check("distance_km", distance_km, low=0.1, high=1000)
    check("erp_kw", erp_kw, above=0)
    count = 1 if other_km is None else 2
    return _listed(rf_channel, count, place).assign(
        distance_km=[float(distance_km), float(other_km or 0)][:count],
        erp_kw=[float(erp_kw), float(OTHER_KW)][:count],
        haat_m=[float(tower_m), OTHER_M][:count],
    )


@functools.lru_cache(maxsize=32)
def _listed(rf_channel, count, place):
    rows = [
        ("wanted", rf_channel, 50.0, 200.0, TOWER_M, 0.0),
        ("other", "34", 5.0, OTHER_KW, OTHER_M, 90.0),
    ][:count]
    columns = ("station", "rf_channel", "distance_km", "erp_kw", "antenna_height_m", "bearing_deg")
    listed = pd.DataFrame(rows, columns=columns)
    listed = listed.assign(standard="ATSC1", erp_toward_kw=listed["erp_kw"], place=listed.station)
    return seen_from(place, listed)


def rf_of(channel):
    """The RF channel of one of CHANNELS.

    >>> rf_of(CHANNELS[0])
    '3'
    """
    return channel.split()[1].strip(",")


_OPEN = ("field in empty space", "what a half-wave dipole makes of it", "what the tuner needs")
_LINE = ("cable and parts", "noise in the channel")


def in_spare_db(rows, bandwidth_mhz=6.0):
    """An account with every row in dB to spare: first a dipole in the open, then what changes it.

    Parameters: ``rows`` of shed.budget.account, whose tuner decodes the station; ``bandwidth_mhz`` of
    the channel. The first row is what a half-wave dipole in empty space leaves above the TV's need,
    were the hiss of warmth the only noise; cable, amplifier and the TV's own noise are one row.

    >>> in_spare_db(account_of()[0])["value_db"].round(1).tolist()
    [57.1, -33.9, 6.0, -9.8, 0.0, -4.1, 0.0]
    """
    db = dict(zip(rows["term"], rows["value_db"], strict=True))
    hiss_dbm = chain.thermal_noise_dbm(bandwidth_mhz)
    merged = {"dipole in the open": sum(db[term] for term in _OPEN) - hiss_dbm}
    for term, value in db.items():
        if term == _LINE[0]:
            merged["cable, amplifier, noise"] = sum(db[term] for term in _LINE) + hiss_dbm
        elif term not in (*_OPEN, _LINE[1]):
            merged[term] = value
    value_db = np.array(list(merged.values()))
    told = {"term": list(merged), "value_db": value_db, "running_db": np.cumsum(value_db)}
    return pd.DataFrame({**told, "unit": "", "why": ""})


@functools.cache
def _aerial():
    """6 dBd on every band, so that bands may be compared; typed, as from a label."""
    return antenna.from_numbers("aerial of 6 dBd", [50, 700], 6)


def feed_with(amplifier, cable_m):
    """A cable with an amplifier somewhere: a chain.Feed.

    Parameters: ``amplifier`` one of AMPLIFIERS; ``cable_m`` of series 6 cable, from 0.

    >>> round(feed_with("at the mast", 18).line(545).gain_db)
    13
    """
    cable, box = chain.coax("series6", cable_m), chain.amplifier("amplifier", **AMPLIFIER)
    order = {"none": (cable,), "at the TV": (cable, box)}
    feed = chain.Feed(amplifier, order.get(amplifier, (box, cable)))
    return feed.unpowered() if "without" in amplifier else feed


def account_panel():
    """Distance, power, height, walls, trees, cable, amplifier: the account as a waterfall.

    >>> "spare" in account_panel().verdict
    True
    """
    controls = (
        Choice("channel", "Channel", CHANNELS, CHANNELS[2]),
        Slider("distance_km", "Distance, km", *DISTANCE_KM),
        Slider("erp_kw", "Power toward you, kW", *POWER_KW, step=0.05, log=True),
        Slider("height_m", "Your antenna above ground, m", *HEIGHT_M, step=0.5),
        Choice("place", "Where it is put", tuple(PLACES)),
        Slider("trees_m", "Trees in leaf before it, m", *TREES_M, step=5),
        Slider("cable_m", "Cable, m", *CABLE_M),
        Choice("amplifier", "Amplifier", AMPLIFIERS, AMPLIFIERS[1]),
        Slider("other_km", f"Another mast of {OTHER_KW} kW, km away", *OTHER_KM, step=0.1),
    )
    return Panel("What eats it on the way", controls, _draw_account, (8.8, 4.2))


def _draw_account(figure):
    figure.set_layout_engine("none")
    picture = plots.Waterfall(figure.add_subplot(), 10, SUMS_DB, one_unit=True)

    def move(channel, place, amplifier, **at):
        kind, construction = PLACES[place]
        height, trees = float(at["height_m"]), float(at["trees_m"])
        mount = Mount("here", kind, height, construction=construction, trees_m=trees)
        rows, row = account_of(
            rf_of(channel),
            at["distance_km"],
            at["erp_kw"],
            mount=mount,
            feed=feed_with(amplifier, at["cable_m"]),
            other_km=at["other_km"],
        )
        far = f"{at['distance_km']:g} km ({miles_from_km(at['distance_km']):.0f} mi)"
        title = f"{channel}, {at['erp_kw']:g} kW, {far}"
        alt = picture.update(in_spare_db(rows), row["spread_db"], title)
        return Words(_account_words(rows, row, amplifier), alt)

    return picture.artists, move


def _account_words(rows, row, amplifier):
    lead = "Overload: no dB of its own helps."
    if not np.isneginf(row["spare_db"]):
        spare = spare_words(row["spare_db"], row["spread_db"])
        lead = f"{spare} for 90 % of the time, and {row['fade_db']:.0f} dB more half of the time."
    return (
        f"{lead} It works most evenings on {row['roofs']} roofs like yours "
        f"({chance_words(row['chance'])})."
        f"{_in_the_way(rows, row, amplifier)}"
    )


def _in_the_way(rows, row, amplifier):
    """What stands between this station and being sure of it, and what would help: a sentence."""
    limit, help_with = row["limit"], row["remedy"]
    if limit == "nothing":
        return ""
    if limit == "cable and splitter":
        limit = "cable"
        if "without" in amplifier:
            limit, help_with = "the amplifier without supply", "its supply, or taking it out"
    elif limit == "other signals":
        limit = "too much signal" + ", an overload" * bool(np.isneginf(row["spare_db"]))
    cost_db = -rows["value_db"][rows["term"] == _TERMS.get(limit)].sum()
    cost = f" ({cost_db:.0f} dB)" if cost_db else ""
    return f" In the way: {limit}{cost}. What would help: {help_with}."


_TERMS = {
    "walls": "walls and roof",
    "trees": "trees",
    "distance and hills": "earth, hills and height",
}
"""The row of the account that tells what each of these costs."""

"""Lesson 02: will the signal get here, and what eats it on the way?"""

import functools

import numpy as np
import pandas as pd
from matplotlib import cbook

from .. import antenna, budget, chain, earth, facts, path, plots, survey
from ..simulate.town import seen_from
from ..site import Mount, Place, Site
from ..units import check, miles_from_km
from ..words import chance_words, spare_words
from . import Choice, Panel, Slider, Words, quiz

DISTANCE_KM = (2, 160, 50)
POWER_KW = (1, 1000, 200)
TOWER_M = 150
HEIGHT_M = (3, 20, 9)
TREES_M = (0, 100, 0)
CABLE_M = (0, 60, 18)
OTHER_KM = (0.2, 60, 60)
"""Lowest, highest and first value of each slider of the account; its tower stands fixed."""
SUMS_DB = (-170, 140)
"""The account's axis: holds the running sum at every end of every slider."""
OTHER_KW = 50
"""Power of the station on the other mast, kilowatts."""

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

PATH_KM = 40
"""Length of the invented path with one hill."""
HILL_M = (0, 400, 180)
HILL_AT_KM = (3, 37, 28)
FREQ_MHZ = (60, 690, 545)
PATH_TOWER_M = 150
PATH_POWER_KW = 100
_HILL_WIDE_KM = 1.5
_STEPS = 401
OTHER_M = 60.0
"""Height of that other mast above average terrain."""

SAMPLE_DEG = 1 / 1200
"""Spacing of the heights in the sample of real ground: three seconds of arc."""


# ---- the account of one invented station ---------------------------------------------------------


def account_of(
    rf_channel="26",
    distance_km=50,
    erp_kw=200,
    tower_m=TOWER_M,
    mount=None,
    feed=None,
    other_km=None,
):
    """The account of one invented station over average terrain, and what it may scatter.

    Parameters: ``rf_channel`` of the us plan; ``distance_km``; ``erp_kw``; ``tower_m`` above average
    terrain; ``mount`` a Mount (None: a mast of 9 m); ``feed`` a chain.Feed (None: 18 m of cable);
    ``other_km`` away a second station stands, not wanted, 50 kW on RF 34 (None: no such station).
    Returns the DataFrame of shed.budget.account, and the row of shed.survey.outlook.

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
        stations=_stations((rf_channel, distance_km, erp_kw, tower_m), other_km, place),
        antennas={"aerial": _aerial()},
        readings=pd.DataFrame(),
    )
    setup = survey.Setup("aerial", mount.name, feed.name, 0.0)
    return budget.account(0, setup, site), survey.outlook(site, setup).iloc[0]


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
    parts = {
        "none": (cable,),
        "at the mast": (box, cable),
        "at the TV": (cable, box),
        "at the mast, without supply": (box, cable),
    }[amplifier]
    feed = chain.Feed(amplifier, parts)
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
    picture = plots.Waterfall(figure.add_subplot(), 14, SUMS_DB)

    def move(channel, place, amplifier, **at):
        kind, construction = PLACES[place]
        height, trees = float(at["height_m"]), float(at["trees_m"])
        mount = Mount("here", kind, height, construction=construction, trees_m=trees)
        rows, row = account_of(
            channel.split()[1].strip(","),
            at["distance_km"],
            at["erp_kw"],
            mount=mount,
            feed=feed_with(amplifier, at["cable_m"]),
            other_km=at["other_km"],
        )
        far = f"{at['distance_km']:g} km ({miles_from_km(at['distance_km']):.0f} mi)"
        title = f"{channel}, {at['erp_kw']:g} kW, {far}"
        alt = picture.update(rows, row["spread_db"], title)
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
    cost_db = -rows.set_index("term")["value_db"].get(_TERMS.get(limit), 0.0)
    cost = f" ({cost_db:.0f} dB)" if cost_db else ""
    return f" In the way: {limit}{cost}. What would help: {help_with}."


_TERMS = {
    "walls": "walls and roof",
    "trees": "trees",
    "distance and hills": "earth, hills and height",
}
"""The row of the account that tells what each of these costs."""


# ---- one hill ------------------------------------------------------------------------------------


def one_hill(hill_m, hill_at_km):
    """Flat land 40 km long with one hill: an earth.Profile.

    Parameters: ``hill_m`` high, from 0; ``hill_at_km`` from the transmitter, 0 to 40.

    >>> float(one_hill(100, 20).ground_m.max())
    100.0
    """
    x = np.linspace(0, PATH_KM, _STEPS)
    return earth.Profile(x, hill_m * np.exp(-(((x - hill_at_km) / _HILL_WIDE_KM) ** 2)))


def hill_panel():
    """Hill, place of the hill, frequency, height: profile, Fresnel zone, and what the edge costs.

    >>> "dB" in hill_panel().verdict
    True
    """
    controls = (
        Slider("hill_m", "Height of the hill, m", *HILL_M, step=5),
        Slider("hill_at_km", "Hill from the tower, km", *HILL_AT_KM, step=0.5),
        Slider("freq_mhz", "Frequency, MHz", *FREQ_MHZ),
        Slider("height_m", "Your antenna above ground, m", *HEIGHT_M, step=0.5),
    )
    return Panel("One hill in the way", controls, _draw_hill, (8.8, 4.8))


def _draw_hill(figure):
    picture = plots.ProfilePicture(figure.add_subplot(), PATH_KM, (0, 520))

    def move(hill_m, hill_at_km, freq_mhz, height_m):
        profile = one_hill(hill_m, hill_at_km)
        sight = plots.Sight(profile, freq_mhz, PATH_TOWER_M, height_m)
        picture.update(sight)
        free = path.free_space_dbuv_m(PATH_POWER_KW, PATH_KM)
        here = path.profile_dbuv_m(freq_mhz, PATH_POWER_KW, profile, PATH_TOWER_M, height_m)
        zone, taken_db = sight.obstacle.fresnel_radius_m, max(free - here, 0.0)
        words = (
            f"All of the land together takes {taken_db:.0f} dB of the field in empty space: "
            f"{here:.0f} dBµV/m are left of {free:.0f} (100 kW). "
            f"{sight.obstacle.words} The first Fresnel zone is {zone:.0f} m wide to each side there."
        )
        lead = f"Terrain profile, {PATH_KM} km, {freq_mhz:.0f} MHz."
        return Words(words, f"{lead} {words}")

    return picture.artists, move


# ---- real ground ---------------------------------------------------------------------------------


def real_ground():
    """Paths from west to east over the real ground that matplotlib carries as a sample.

    Heights from a public survey, three seconds of arc apart: 344 paths of 30 km, side by side, over
    ridges and valleys. Returns an earth.Profile of shape (344, 403).

    >>> real_ground().ground_m.shape
    (344, 403)
    """
    with cbook.get_sample_data("jacksboro_fault_dem.npz") as sample:
        height_m, south, north = sample["elevation"], float(sample["ymin"]), float(sample["ymax"])
    km_per_degree = 2 * np.pi * facts.value("path_constants", "earth_radius") / 360
    step_km = SAMPLE_DEG * km_per_degree * np.cos(np.deg2rad((south + north) / 2))
    return earth.Profile(step_km * np.arange(height_m.shape[1]), height_m.astype(float))


# ---- questions -----------------------------------------------------------------------------------


def check_yourself():
    """The questions of the lesson, in the order of its page.

    >>> check_yourself()[0].check("-72 dBm")
    Right: -72 dBm.
    """
    return (
        quiz.number(
            "A field of 55 dBµV/m; the dipole makes −130 dB of it, the antenna has 6 dBd, the cable "
            "takes 3 dB. How many dBm reach the tuner?",
            *(-72, "dBm", 0.5),
            hint="Add the four lines in order, as in part 1; what takes has a minus.",
        ),
        quiz.choice(
            "A weak UHF station, 40 m of cable, nothing strong near. Where does an amplifier help most?",
            {
                "at the mast": "It makes up for cable and TV before they can do harm.",
                "at the TV": "There the cable has already lost what it loses. Look at the first table "
                "of part 5.",
                "nowhere": "Nothing strong is near, and long cable comes after the antenna. Look again "
                "at part 5.",
            },
            "at the mast",
        ),
    )

"""Lesson 02: will the signal get here, and what eats it on the way?"""

import functools

import numpy as np
import pandas as pd
from matplotlib import cbook

from .. import antenna, budget, chain, earth, facts, path, plots, survey
from ..plots import style
from ..plots.picture import ordered
from ..simulate.town import seen_from
from ..site import Mount, Place, Site
from ..units import check, miles_from_km
from ..words import chance_words, signed, spare_words
from . import Choice, GuessChoice, Panel, Slider, Words, quiz

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
HIGHER_M = 6
"""How much higher the antenna may stand instead of an amplifier, in the vote."""
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
    db = rows.set_index("term")["value_db"]
    hiss_dbm = chain.thermal_noise_dbm(bandwidth_mhz)
    merged = {"dipole in the open": db[list(_OPEN)].sum() - hiss_dbm}
    for term, value in db.drop(list(_OPEN[:1])).items():
        if term == _LINE[0]:
            merged["cable, amplifier, noise"] = db[list(_LINE)].sum() + hiss_dbm
        elif term not in (*_OPEN, _LINE[1]):
            merged[term] = value
    told = pd.DataFrame({"term": list(merged), "value_db": list(merged.values())})
    return told.assign(running_db=told["value_db"].cumsum(), unit="", why="")


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
    picture = plots.Waterfall(figure.add_subplot(), 10, SUMS_DB, one_unit=True)

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
    cost_db = -rows.set_index("term")["value_db"].get(_TERMS.get(limit), 0.0)
    cost = f" ({cost_db:.0f} dB)" if cost_db else ""
    return f" In the way: {limit}{cost}. What would help: {help_with}."


_TERMS = {
    "walls": "walls and roof",
    "trees": "trees",
    "distance and hills": "earth, hills and height",
}
"""The row of the account that tells what each of these costs."""


# ---- where to put an amplifier -------------------------------------------------------------------


def vote_panel():
    """The same amplifier at the mast, at the TV, without supply, and height instead: a guess first.

    >>> vote_panel().verdict[-30:]
    'at the TV, or as much at both?'
    """
    asks = GuessChoice(
        "where",
        "It brings more",
        ("at the mast", "at the TV", "the same at both"),
        question="One weak station, one amplifier of 16 dB: does it bring more at the mast, at the TV, "
        "or as much at both?",
    )
    controls = (
        Choice("channel", "Channel", CHANNELS, CHANNELS[2]),
        Slider("cable_m", "Cable, m", *CABLE_M),
        asks,
    )
    return Panel("The same box, three places", controls, _draw_vote, (8.8, 3.8))


def voted(rf_channel, cable_m):
    """Spare dB by what is done: nothing, the amplifier in three places, six metres more of height.

    Parameters: ``rf_channel`` of the us plan; ``cable_m`` of cable, from 0; higher up, 6 m more.

    >>> [round(db) for db in voted("26", 18).values()]
    [15, 23, 20, -5, 19]
    """
    feeds = {name: feed_with(name, cable_m) for name in AMPLIFIERS}
    spare = {n: account_of(rf_channel, feed=f)[1]["spare_db"] for n, f in feeds.items()}
    higher = Mount("here", "mast", float(HEIGHT_M[2] + HIGHER_M))
    feed = feed_with("none", cable_m + HIGHER_M)
    spare["none, and 6 m higher"] = account_of(rf_channel, mount=higher, feed=feed)[1]["spare_db"]
    return spare


def _draw_vote(figure):
    names = ("no amplifier", "at the mast", "at the TV", "its plug out", "none, 6 m higher")
    with style.house():
        ax = figure.add_subplot(xlim=(-25, 50), ylim=(len(names) - 0.4, -0.6))
        ax.set_yticks(range(len(names)), names)
        ax.set_xlabel("spare dB")
        ax.axvline(0, color=style.MEANING["limit"], lw=1)
        colour = style.MEANING["forecast"]
        lines = ax.hlines(range(len(names)), 0, 0, color=colour, lw=4)
        (dots,) = ax.plot([], [], "o", color=colour, ms=11)
        (guessed,) = ax.plot([], [], "<", color=style.MEANING["aim"], ms=11)
        said = [ax.text(0, 0, "", va="bottom", ha="center") for _ in names]
        mark = ax.text(0, 0, " your guess", va="center", color=style.AIM_TEXT)

    def move(channel, cable_m, guess, placed):
        spare = voted(channel.split()[1].strip(","), cable_m)
        shown = list(spare.values())[: None if placed else 1]
        at = range(len(shown))
        lines.set_segments([[(0, y), (x, y)] for x, y in zip(shown, at, strict=True)])
        dots.set_data(shown, at)
        for text, x, y in zip(said, [*shown, *[None] * 4], range(len(names)), strict=False):
            text.set_text("" if x is None else signed(x))
            text.set_position((x or 0, y - 0.16))
        rows = {"at the mast": [1], "at the TV": [2], "the same at both": [1, 2]}.get(guess, [])
        rows = rows if placed else []
        guessed.set_data([38] * len(rows), rows)
        mark.set_text(" your guess" if rows else "")
        mark.set_position((39, rows[-1] if rows else 0))
        return _vote_words(spare, guess) if placed else Words("", _VOTE)

    return ordered((lines, dots, guessed, *said, mark)), move


_VOTE = "Spare dB without an amplifier, and four lines that are still empty."


def _vote_words(spare, guess):
    none, *rest = spare.values()
    mast, tv, dead, higher = (signed(db - none) for db in rest)
    finding = (
        f"At the mast the box brings {mast} dB, at the TV {tv}, its plug out {dead}; six metres of "
        f"height bring {higher}."
    )
    each = ", ".join(f"{name}: {signed(db)}" for name, db in spare.items())
    said = f" You said: {guess}." if guess else ""
    return Words(f"{finding}{said} The height needs no supply.", f"Spare dB. {each}.")


# ---- distance ------------------------------------------------------------------------------------


def distance_picture(freq_mhz=545, erp_kw=200, tower_m=TOWER_M, height_m=HEIGHT_M[2]):
    """Field over distance, in empty space and over average land, and the horizon: a Picture.

    Parameters: ``freq_mhz``; ``erp_kw``; ``tower_m`` above average land; ``height_m`` of the antenna.

    >>> distance_picture().alt[:40]
    'Field over distance, 545 MHz, 200 kW: at'
    """
    km = np.linspace(5, 160, 156)
    empty = path.free_space_dbuv_m(erp_kw, km)
    land = path.average_terrain_dbuv_m(freq_mhz, erp_kw, km, tower_m)
    horizon = float(earth.radio_horizon_km(tower_m, height_m))
    with style.house():
        figure = style.new_figure(8.8, 3.8)
        figure.set_layout_engine("constrained")
        ax = figure.add_subplot(xlim=(0, 160), ylim=(15, 125))
        ax.set(xlabel="distance, km", ylabel="field, dBµV/m")
        ax.plot(km, empty, "--", color=style.MEANING["air"])
        ax.plot(km, land, color=style.MEANING["forecast"])
        ax.axvline(horizon, color=style.MEANING["limit"], ls=":")
        ax.text(100, empty[95] + 3, "empty space")
        ax.text(100, land[95] + 4, "over average land")
        ax.text(horizon + 1.5, 20, f"horizon, {horizon:.0f} km ({miles_from_km(horizon):.0f} mi)")
    at = [(d, empty[d - 5], land[d - 5]) for d in (10, 20, 40, 80, 160)]
    told = "; ".join(f"at {d} km {e:.0f} in empty space, {f:.0f} over land" for d, e, f in at)
    return plots.show(
        figure, f"Field over distance, {freq_mhz:g} MHz, {erp_kw:g} kW: {told} dBµV/m."
    )


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

    >>> hill_panel().verdict
    'Behind the same hill, what loses more: a wave of 5 m (60 MHz) or one of 0.4 m (690 MHz)?'
    """
    controls = (
        GuessChoice(
            "loses",
            "More is lost by",
            (f"{FREQ_MHZ[0]} MHz", f"{FREQ_MHZ[1]} MHz", "both alike"),
            question="Behind the same hill, what loses more: a wave of 5 m (60 MHz) or one of 0.4 m "
            "(690 MHz)?",
        ),
        Slider("hill_m", "Height of the hill, m", *HILL_M, step=5),
        Slider("hill_at_km", "Hill from the tower, km", *HILL_AT_KM, step=0.5),
        Slider("freq_mhz", "Frequency, MHz", *FREQ_MHZ),
        Slider("height_m", "Your antenna above ground, m", *HEIGHT_M, step=0.5),
    )
    return Panel("One hill in the way", controls, _draw_hill, (8.8, 4.8))


def _draw_hill(figure):
    ax = figure.add_subplot()
    picture = plots.ProfilePicture(ax, PATH_KM, (0, 520))
    look = {"transform": ax.transAxes, "ha": "left", "va": "top", "bbox": style.PAPER}
    lost = [ax.text(0.66, 0.97 - 0.09 * k, "", **look) for k in range(2)]

    def move(hill_m, hill_at_km, freq_mhz, height_m, guess, placed):
        profile = one_hill(hill_m, hill_at_km)
        sight = plots.Sight(profile, freq_mhz, PATH_TOWER_M, height_m)
        picture.update(sight)
        lead = f"Terrain profile, {PATH_KM} km, {freq_mhz:.0f} MHz."
        if not placed:
            for text in lost:
                text.set_text("")
            return Words("", f"{lead} A hill of {hill_m:g} m, {hill_at_km:g} km from the tower.")
        taken = taken_db(profile, height_m, (freq_mhz, *FREQ_MHZ[:2]))
        for text, mhz, db in zip(lost, FREQ_MHZ, taken[1:], strict=False):
            mark = " ◄ your guess" if guess in (f"{mhz} MHz", "both alike") else ""
            text.set_text(f"{mhz} MHz loses {db:.0f} dB{mark}")
        words = _hill_words(sight, taken, guess)
        return Words(words, f"{lead} {words}")

    return ordered((*picture.artists, *lost)), move


def taken_db(profile, height_m, freq_mhz):
    """What the land of a path takes of the field in empty space, dB, by frequency: a list.

    Parameters: ``profile`` of ``one_hill``; ``height_m`` of the antenna; ``freq_mhz`` several.

    >>> [round(db) for db in taken_db(one_hill(180, 28), 9, (60, 690))]
    [25, 34]
    """
    free = path.free_space_dbuv_m(PATH_POWER_KW, PATH_KM)
    here = (
        path.profile_dbuv_m(f, PATH_POWER_KW, profile, PATH_TOWER_M, height_m) for f in freq_mhz
    )
    return [max(float(free - field), 0.0) for field in here]


def _hill_words(sight, taken, guess):
    here, long, short = (f"{db:.0f}" for db in taken)
    finding = (
        f"The land takes {here} dB at {sight.freq_mhz:.0f} MHz, {long} at {FREQ_MHZ[0]} and {short} "
        f"at {FREQ_MHZ[1]}"
    )
    why = ": the shorter the wave, the less it bends." if taken[2] > taken[1] + 0.5 else "."
    said = f" You said: {guess}." if guess else ""
    zone = f"The first Fresnel zone is {sight.obstacle.fresnel_radius_m:.0f} m wide to each side there."
    return f"{finding}{why}{said} {sight.obstacle.words} {zone}"


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
    )


def prompts():
    """What the page asks without a check, with answers: see quiz.prompts."""
    reach_km, more_km = (_reach_km(kw) for kw in (POWER_KW[2], 2 * POWER_KW[2]))
    bare, helped = (
        account_of(feed=feed_with(name, CABLE_M[1]))[1]["spare_db"] for name in AMPLIFIERS[:2]
    )
    long, short = taken_db(one_hill(HILL_M[2], HILL_AT_KM[2]), HEIGHT_M[2], FREQ_MHZ[:2])
    none, mast, tv, dead, higher = voted("26", CABLE_M[2]).values()
    return (
        quiz.Prompt(
            "Place your guess, then pull.",
            f"The short wave: {short:.0f} dB at {FREQ_MHZ[1]} MHz, {long:.0f} dB at {FREQ_MHZ[0]} MHz.",
            "The longer a wave beside the obstacle, the better it bends round it.",
            "The long wave, since it is too big to pass: a wave is no ball, it flows round.",
        ),
        quiz.Prompt(
            "Vote where the same box should go",
            f"At the mast: {mast - none:+.0f} dB, at the TV {tv - none:+.0f}, its plug out "
            f"{dead - none:+.0f}; six metres of height {higher - none:+.0f}.",
            "Before the cable it makes up for cable and TV; behind it the cable has already taken.",
            "At the TV, where the picture is bad: there signal and noise are raised alike.",
        ),
        quiz.Prompt(
            "Predict how far the station of part 6 reaches at even odds",
            f"About {reach_km:.0f} km ({miles_from_km(reach_km):.0f} mi).",
            "There spare dB are 0: all that the dipole in the open has is eaten.",
            f"Twice the power, twice as far: it brings 3 dB, and {more_km - reach_km:.0f} km.",
        ),
        quiz.Prompt(
            "Guess what 60 m of cable leave, without and with amplifier",
            f"{signed(bare)} dB and {signed(helped)} dB to spare.",
            "Without a box each dB of cable is lost; behind one at the mast hardly any.",
            "The box makes up for its 16 dB: it makes up for what is lost behind it, no more.",
        ),
    )


def _reach_km(erp_kw):
    """How far the station of the account's start reaches at even odds, whole km."""
    feed = feed_with(AMPLIFIERS[1], CABLE_M[2])
    spare = (account_of("26", km, erp_kw, feed=feed)[1]["spare_db"] for km in range(50, 160))
    return 50 + next(n for n, db in enumerate(spare) if db < 0)

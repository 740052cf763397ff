"""A report's sentences."""

import numpy as np

from .. import survey
from ..units import M_PER_FOOT
from ..words import aimed_words, compass_word, counted, distance_words, short, signed, spare_words

GROUPS = ("Comes (on 9 of 10 roofs like yours)", "Maybe", "Not from here")
PADS_DB = (10.0, 6.0, 3.0)
"""Pads at hand for the test of an antenna just hung; the next where nothing is sure through the one."""
MOST_COME, MOST_MAYBE = 24, 12
"""So many stations stand in a line of the first page; the rest are counted there."""


def aim_words(matter):
    """How the antenna is aimed, in words: true, and by the compass where its error is known."""
    way = matter.reception.aim
    words = aimed_words(way, matter.setup.heading_deg)
    if way != "fixed":
        return words
    return f"{words}{by_compass(matter.setup.heading_deg, matter.wishes)}"


def by_compass(bearing_deg, wishes):
    """A true bearing as a compass shows it, in brackets with a comma before; "" if not known."""
    if wishes.declination is None:
        return ""
    shown = round(wishes.declination.compass_from_true(bearing_deg)) % 360
    return f", {shown}° by the compass"


def answer(matter):
    """What to do, in one sentence: hang what, where, how high, aimed at what."""
    antenna, mount, _ = matter.parts
    feet = mount.height_agl_m / M_PER_FOOT
    high = f"{round(mount.height_agl_m, 1):g} m ({feet:.0f} ft) above the ground"
    way = matter.reception.aim
    aim = f", {aim_words(matter)}" if way == "fixed" else f"; it is {aim_words(matter)}"
    aim = "; it cannot be aimed" if way == "never" else aim
    return f"Hang the {antenna.name} on “{mount.name}”, {high}{aim}."


def line_words(matter):
    """How the antenna lies and what leads to the TV, in one sentence."""
    antenna, mount, feed = matter.parts
    turned = (antenna.polarization != "vertical") == (mount.polarization != "vertical")
    lies = "level" if turned else "upright"
    cable = ", ".join(part.name for part in feed.parts) or "no cable"
    return f"Its wires lie {lies}; from there to the TV: {cable}."


def exactly(matter):
    """How to find the aim without a compass, and how exact it must be; "" where nothing is aimed."""
    if matter.reception.aim != "fixed" or not matter.towers:
        return ""
    heading = matter.setup.heading_deg
    tower = min(matter.towers, key=lambda t: abs(_off_deg(t.bearing_deg, heading)))
    off = _off_deg(heading, tower.bearing_deg)
    line = f"On a map lay a line from home to {short(tower.name, 24)}"
    side = "right" if off > 0 else "left"
    aim = "that is the aim" if abs(off) < 3 else f"the aim is {abs(off):.0f}° to the {side} of it"
    arc = matter.best.get("arc_deg", np.nan)
    wide = f" Any heading in an arc {arc:.0f}° wide there does as well" if arc == arc else ""
    fist = "a fist at arm's length is some 10° wide"
    return f"{line}: {aim}.{wide}{'; ' if wide else ' '}{fist if wide else fist.capitalize()}."


def _off_deg(one, other):
    return (one - other + 180) % 360 - 180


def counts(matter):
    """How many stations to expect, and what is less work."""
    best = matter.best
    text = (
        f"Expect about {counted(round(best['expected']), 'station')}, on 9 of 10 roofs like yours "
        f"{best['low']:.0f} to {best['high']:.0f}: {reached_words(matter)}."
    )
    return f"{line_words(matter)} {text} {_rival_words(matter)}".strip()


def reached_words(matter):
    """How many stations come or may come, and in few words how many more do not."""
    comes, maybe, rest = (int((matter.wanted["group"] == k).sum()) for k in range(3))
    more = f"; not from here: {rest} more" if rest else ""
    return f"{comes} come{'s' * (comes == 1)}, {maybe} may{more}"


def hung(matter):
    """What one pad at the TV tells of whether it hangs right."""
    for pad_db in PADS_DB:
        table = survey.hung_right(matter.site, matter.setup, pad_db)
        if (table["must"] == "hold").any():
            break
    asked = survey.hung_words(table, pad_db)
    if not (table["must"] == "hold").any():
        return f"{asked} Readings make it surer."
    return (
        f"{asked} Does one of these fail, look for aim, plugs and cable before you change anything "
        "else; does the last one hold, it came out better than computed."
    )


def to_buy(matter):
    """The first thing to buy, or nothing, in words."""
    row = matter.to_buy
    if row is None:
        return "Nothing: no single change that was tried would bring half a station more."
    best = matter.changes.iloc[0]
    more = f"{row['change'][0].upper()}{row['change'][1:]}: {row['more']:+.1f} stations"
    most = f" Most would bring {best['change']} ({best['more']:+.1f}), which is more work."
    most = "" if row["change"] == best["change"] else most
    helps = "" if row["helps"].startswith("none") else f", above all {row['helps']}"
    caution = f" {row['caution']}" if "amplifier" in row["change"] else ""
    return f"{more}{helps}.{most}{caution} Only after it hangs as above, and passes the test."


def _rival_words(matter):
    easier = matter.ranking[matter.ranking["pick"].str.startswith("nearly")]
    if easier.empty:
        return ""
    row = easier.iloc[0]
    return (
        f"The {row['antenna']} on “{row['mount']}” is less work and nearly as good: "
        f"{row['expected']:.1f} stations against {matter.best['expected']:.1f}."
    )


def spare(row):
    """Spare dB of a station with its standard deviation; ``row`` of the outlook."""
    if not np.isfinite(row["spare_db"]):
        return spare_words(row["spare_db"])
    return f"{signed(row['spare_db'])} ± {row['spread_db']:.0f}"


def station_name(row):
    """A station with its RF channel and what its viewers call it."""
    shown = str(row["shown_channels"]).strip()
    return f"{row['station']} (RF {row['rf_channel']}{', shown as ' + shown if shown else ''})"


def place_words(matter):
    """Where the roof is."""
    place = matter.shown.place
    north = "N" if place.latitude_deg >= 0 else "S"
    east = "E" if place.longitude_deg >= 0 else "W"
    digits = 1 if matter.wishes.round_home else 4
    latitude, longitude = abs(place.latitude_deg), abs(place.longitude_deg)
    where = f"{latitude:.{digits}f}° {north}, {longitude:.{digits}f}° {east}"
    return f"near {where}" if matter.wishes.round_home else f"{place.name}, {where}"


def tower_words(matter, tower):
    """A tower's own line: name, true bearing and compass, distance, how far off the aim.

    Parameters: ``matter`` a Matter; ``tower`` one of its ``towers``.
    """
    off = off_aim(tower.bearing_deg, matter)
    parts = (toward(tower.bearing_deg, matter.wishes), distance_words(tower.distance_km))
    aim = f", {off}{'' if off == 'on it' else ' of the aim'}" if off else ""
    return f"{short(tower.name, 40)}: {', '.join(parts)}{aim.replace('on it', 'on the aim')}"


def off_aim(bearing_deg, matter):
    """How far a bearing lies off the aim, in words; "" where nothing is aimed."""
    if matter.reception.aim != "fixed":
        return ""
    off = _off_deg(bearing_deg, matter.setup.heading_deg)
    side = "right" if off > 0 else "left"
    return "on it" if abs(off) < 1 else f"{abs(off):.0f}° {side}"


def toward(bearing_deg, wishes):
    """A bearing as degrees, compass word, and by the needle where known.

    >>> from .rounding import Wishes
    >>> toward(359.7, Wishes())
    '0° (north)'
    """
    whole = round(bearing_deg) % 360
    return f"{whole}° ({compass_word(bearing_deg)}){by_compass(bearing_deg, wishes)}"

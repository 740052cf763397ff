"""A report's sentences."""

import numpy as np

from .. import budget, facts
from ..words import aimed_words, compass_word, counted, listed, percent_words, signed, spare_words

GROUPS = (
    "Nothing left to do",
    "Worth an effort",
    "Not from this roof with this antenna, or hardly",
)

NOISE = {
    "none": "No man-made noise at VHF.",
    "quiet_rural": "Man-made noise of quiet country.",
    "rural": "Man-made noise of open country with some houses.",
    "residential": "Man-made noise of a street of houses.",
    "city": "Man-made noise of a city.",
}


def aim_words(matter):
    """How the antenna is aimed, in words: true, and by the compass where its error is known."""
    way = matter.reception.aim
    words = aimed_words(way, matter.setup.heading_deg)
    if way != "fixed":
        return words
    return f"{words}{compass(matter.setup.heading_deg, matter.wishes)}"


def compass(bearing_deg, wishes):
    """A true bearing as a compass shows it, in brackets with a comma before; "" if not known."""
    if wishes.declination is None:
        return ""
    shown = round(wishes.declination.compass_from_true(bearing_deg)) % 360
    return f", {shown}° by the compass"


def needle(declination):
    """What is taken for the compass, in a sentence.

    Parameters: ``declination`` an earth.Declination.
    """
    side = "east" if declination.east_deg >= 0 else "west"
    if declination.source == "typed":
        return f"A compass points {abs(declination.east_deg):.1f}° {side} of true north, as typed."
    note = f" Note: {declination.note}." if declination.note else ""
    return (
        f"A compass points {abs(declination.east_deg):.1f}° {side} of true north here, give or take "
        f"{declination.sd_deg:.1f} (World Magnetic Model); iron nearby can be worse.{note}"
    )


def answer(matter):
    """The whole answer in one paragraph."""
    best, wanted = matter.best, matter.wanted
    counts = [int((wanted["group"] == k).sum()) for k in range(3)]
    antenna, mount, _ = matter.parts
    text = (
        f"Put the {antenna.name} on the mount “{mount.name}”, {aim_words(matter)}. Of "
        f"{len(wanted)} wanted stations expect about {best['expected']:.0f}: on 9 of 10 roofs like "
        f"yours between {best['low']:.0f} and {best['high']:.0f}. {_sure_words(matter, counts)}"
    )
    return text + _rival_words(matter)


def _sure_words(matter, counts):
    sure = f"at least {percent_words(matter.site.certainty)} sure"
    parts = [f"{counted(counts[0], 'is', 'are')} {sure}"]
    parts += [f"{counts[1]} may come and may be helped"] if counts[1] else []
    parts += [f"{counts[2]} will hardly come"] if counts[2] else []
    return "; ".join(parts) + ". "


def _rival_words(matter):
    easier = matter.ranking[matter.ranking["pick"].str.startswith("nearly")]
    if easier.empty:
        return ""
    row = easier.iloc[0]
    return (
        f"The {row['antenna']} on “{row['mount']}” is less work and nearly as good: "
        f"{row['expected']:.1f} stations against {matter.best['expected']:.1f}; "
        f"{row['against_best']}."
    )


def spare(row):
    """Spare dB of a station with its standard deviation, and the ends of its 90 % interval.

    Parameters: ``row`` of the outlook. Returns two texts.
    """
    if not np.isfinite(row["spare_db"]):
        return spare_words(row["spare_db"]), ""
    ends = f"{signed(row['low_db'])} to {signed(row['high_db'])}"
    return f"{signed(row['spare_db'])} ± {row['spread_db']:.0f}", ends


def station_name(row):
    """A station with its RF channel and what its viewers call it."""
    shown = str(row["shown_channels"]).strip()
    return f"{row['station']} (RF {row['rf_channel']}{', shown as ' + shown if shown else ''})"


def assumptions(matter):
    """What the numbers rest on, a list of sentences."""
    site, (antenna, mount, feed) = matter.site, matter.parts
    line = ", ".join(p.name for p in feed.parts) or "no cable"
    sentences = [
        *_path_sentences(matter),
        f"The antenna's gain is known within {antenna.spread_db:.2g} dB (one standard deviation), from "
        f"{_source_words(antenna)}.",
        f"Line from antenna to TV: {line}. TV: {site.tuner.name}, noise figure "
        f"{site.tuner.noise_figure_db:g} dB, decodes {', '.join(site.tuner.standards)}.",
        f"{NOISE[site.noise]} Mount {mount.height_agl_m:g} m above ground.",
        "A chance is the probability that this roof locks the station for at least "
        f"{budget.SURE_TIME_PCT} % of the time. Plus-or-minus is one standard deviation; brackets and "
        "bars hold 9 of 10 roofs like yours. Spare dB is for nine tenths of the time.",
        "Setups are compared on the same imagined roofs, so that one is better than another is surer "
        "than any single forecast.",
    ]
    if budget.scattered_share(mount):
        sentences.append(
            "Indoors echoes fill in the antenna's pattern, so its gain is taken between that toward the "
            "station and the mean all round. The aim is where a search begins: turn it a little at a "
            "time, try other spots, and watch the meter."
        )
    if matter.wishes.declination is not None:
        sentences.append(needle(matter.wishes.declination))
    sentences.append(
        "Readings made at this roof are used."
        if site.belief is not None
        else "No readings are used: a few made at this roof would narrow every spread."
    )
    return sentences


def _source_words(antenna):
    if antenna.label_lean_db:
        return f"its label, less {antenna.label_lean_db:g} dB"
    words = {
        "numbers": "its label or a guess",
        "table": "a pattern table",
        "build": "its wires, computed",
        "trial": "a side-by-side trial",
    }
    return words.get(antenna.source, antenna.source)


def _path_sentences(matter):
    for layer, rows in matter.wanted.groupby("layer", sort=False):
        low, high = rows["spread_db"].min(), rows["spread_db"].max()
        within = f"{low:.0f}" if round(low) == round(high) else f"{low:.0f} to {high:.0f}"
        yield (
            f"Path to {len(rows)} of the wanted stations: {layer}. All together, with antenna "
            f"and walls, a forecast is good to {within} dB (one standard deviation)."
        )


def notes(matter):
    """Notes of the site and of its stations, each once; none if they are to be dropped."""
    if not matter.wishes.notes:
        return []
    table = matter.outlook
    by_note = table[table["note"].astype(str).str.strip() != ""].groupby("note", sort=False)[
        "station"
    ]
    return [*matter.site.notes, *(f"{listed(list(names), 40)}: {note}" for note, names in by_note)]


def sources(matter):
    """Where the numbers come from."""
    rows = facts.table("standards").set_index("standard")
    asked = matter.wanted["standard"].unique()
    of_standards = [f"C/N for {s}: {rows.loc[s, 'source']}." for s in asked if s in rows.index]
    kinds = facts.table("mount_kinds").set_index("kind")
    kind = matter.parts[1].kind
    judged = facts.table("judgement").set_index("name")
    spreads = ("path_sd_db", "path_sd_profile_db", "antenna_typed_sd_db", "antenna_computed_sd_db")
    return [
        "Field over average terrain: charts of 47 CFR 73.699, as a fitted surface.",
        *_profile_sources(matter),
        *(["Obstacle and first zone: Rec. ITU-R P.526."] if matter.sight else []),
        *(["Compass: World Magnetic Model."] if matter.wishes.declination else []),
        *of_standards,
        f"Mount ({kinds.loc[kind, 'label']}): {kinds.loc[kind, 'source']}.",
        "Spreads are our judgement: "
        + "; ".join(f"{judged.loc[k, 'source']}, {judged.loc[k, 'value']:g} dB" for k in spreads)
        + ".",
    ]


def _profile_sources(matter):
    """What the profile layer rests on, where a station got it."""
    if "terrain profile" not in set(matter.wanted["layer"]):
        return []
    return [
        "Field on a terrain profile: Rec. ITU-R P.1812, median; fading below it: curves of NBS "
        "Technical Note 101 for a continental climate. Houses and trees along it: "
        f"{matter.site.clutter_m:g} m."
    ]


def place_words(matter):
    """Where the roof is."""
    place = matter.shown.place
    north = "N" if place.latitude_deg >= 0 else "S"
    east = "E" if place.longitude_deg >= 0 else "W"
    digits = 1 if matter.wishes.round_home else 4
    latitude, longitude = (
        f"{abs(x):.{digits}f}°" for x in (place.latitude_deg, place.longitude_deg)
    )
    where = f"{latitude} {north}, {longitude} {east}"
    return f"near {where}" if matter.wishes.round_home else f"{place.name}, {where}"


def off_aim(bearing_deg, matter):
    """How far a bearing lies off the aim, in words; "" where nothing is aimed."""
    if matter.reception.aim != "fixed":
        return ""
    off = (bearing_deg - matter.setup.heading_deg + 180) % 360 - 180
    side = "right" if off > 0 else "left"
    return "on it" if abs(off) < 1 else f"{abs(off):.0f}° {side}"


def toward(bearing_deg, wishes):
    """A bearing as degrees, compass word, and by the needle where known.

    >>> from .rounding import Wishes
    >>> toward(359.7, Wishes())
    '0° (north)'
    """
    whole = round(bearing_deg) % 360
    return f"{whole}° ({compass_word(bearing_deg)}){compass(bearing_deg, wishes)}"

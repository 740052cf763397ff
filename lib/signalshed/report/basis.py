"""What a report rests on: assumptions, notes, the list's age, sources."""

from .. import budget, facts
from ..tables import Problems, read_toml
from ..words import listed

NOISE = {
    "none": "No man-made noise at VHF.",
    "quiet_rural": "Man-made noise of quiet country.",
    "rural": "Man-made noise of open country with some houses.",
    "residential": "Man-made noise of a street of houses.",
    "city": "Man-made noise of a city.",
}


READ = (
    "No readings are used: a few made at this roof would narrow every spread.",
    "Readings made at this roof are used.",
)


def in_one_line(matter):
    """What the page hangs on, in one line: the list's date, leaves, a rounded home."""
    leaves = {"none": "evergreen trees", "bare": "bare trees", "full": "trees in full leaf"}
    mount = matter.parts[1]
    worse = "trees in full leaf, the worse season"
    trees = leaves.get(matter.site.leaves, worse) if mount.trees_m else "no trees in the way"
    said = [list_words(matter.site), f"Forecast for {trees}."]
    said += ["The home is rounded to 0.1 degree."] if matter.wishes.round_home else []
    said.append(READ[matter.site.belief is not None])
    return " ".join(said)


def list_words(site):
    """How old the station list is, as far as its town folder says it, in one sentence."""
    how = site_of_list(site)
    day, read = how.get("newest_day_in_list"), how.get("read_on")
    if day is None and read is None:
        return "The station list names no day: ask how old it is."
    if day is None:
        return f"The station list names no day; it was read on {read}."
    return f"The newest day that the station list names is {day}."


def site_of_list(site):
    """How the station list of a ``site`` was read, as its town folder says: a dict, {} for nothing."""
    if site.folder is None:
        return {}
    town = (read_toml(site.folder / "site.toml", Problems()) or {}).get("town")
    folders = [site.folder, *([site.folder / str(town)] if town else [])]
    paths = [folder / "stations_from.toml" for folder in folders]
    found = [read_toml(path, Problems()) for path in paths if path.exists()]
    return next((how for how in found if how), {})


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
        f"{NOISE[site.noise]} Mount {round(mount.height_agl_m, 1):g} m above ground.",
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
    return [*sentences, READ[site.belief is not None]]


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
    noted = matter.outlook[matter.outlook["note"].astype(str).str.strip() != ""]
    by_note = noted.groupby("note", sort=False)["station"]
    return [*matter.site.notes, *(f"{listed(list(names), 8)}: {note}" for note, names in by_note)]


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
        *(["Obstacle and first zone: Rec. ITU-R P.526."] if matter.sight[0] else []),
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

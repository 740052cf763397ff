"""From the rows of stations.csv to the table a Site holds: seen from one place, defaults filled in.

What a list does not give widens the spread of that station and is said in its note; nothing stops
short of a station that cannot be placed or has no channel.
"""

import functools
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

from .. import channels, earth, facts
from ..tables import STATIONS, TABLES, Problems
from ..tables.reading import Table
from .compass import Compass
from .folders import named_table
from .ground import heights, roof_m
from .heard import has_chance
from .model import Place
from .signals import on_the_air

COLUMNS = (
    *("station", "place", "rf_channel", "shown_channels", "standard", "freq_mhz", "bandwidth_mhz"),
    *("bearing_deg", "distance_km", "erp_kw", "haat_m", "antenna_amsl_m", "transmit_agl_m"),
    *("needs_cn_db", "polarization", "wanted", "service", "unknown_sd_db"),
    "pattern_loss_db",
    *("latitude_deg", "longitude_deg", "licence", "same_signal", "guard_us", "delay_us", "note"),
)
"""Columns of Site.stations, in order."""


ALL_ROUND = "nondirectional"
"""What stands in the column pattern where a station sends alike to all sides."""


@functools.cache
def _default(name):
    return facts.value("station_defaults", name)


@dataclass(frozen=True, eq=False)
class Around:
    """What surrounds a station list: ``place`` the site's Place; ``region`` of the channel plan;
    ``compass`` a Compass; ``patterns`` the folder of transmit patterns; ``tiles`` the terrain, or None;
    ``told_ground_m`` at the roof above sea level, which counts where no tile says it, or None;
    ``shapes`` patterns that are in no folder, by name, pairs of azimuth and relative field.
    """

    place: Place
    region: str
    compass: Compass
    patterns: Path
    tiles: object = None
    told_ground_m: float | None = None
    shapes: dict = field(default_factory=dict)

    @property
    def ground_m(self) -> float | None:
        """The ground at the roof above sea level: by its tile, else as told, else None."""
        found = roof_m(self.place, self.tiles)
        return self.told_ground_m if found is None else found


@dataclass(eq=False)
class _List:
    """One stations.csv on its way: the checked table, and what is found out row by row."""

    table: object
    around: Around

    def __post_init__(self):
        self.frame = self.table.frame.copy()
        self.wrong = self.table.wrong
        self.frame["service"] = self.frame["service"].mask(self.frame["service"] == "", "tv")
        self.is_tv = (self.frame["service"] == "tv").to_numpy()
        self.remarks = [[] for _ in range(len(self.frame))]
        self.widened = set()
        self.variance = np.zeros(len(self.frame))

    def remark(self, mask, text, sd_db=0.0):
        """Add a sentence to the note of some rows, and to what is not known about them."""
        rows = np.flatnonzero(mask)
        if not rows.size:
            return
        for k in rows:
            self.remarks[k].append(text)
        self.variance[rows] += sd_db**2
        if sd_db:
            self.widened.add(text)


def resolve(table: Table, around: Around) -> tuple:
    """One checked stations.csv as the table a Site holds, and sentences on defaults.

    Parameters: ``table`` from tables.check_csv, whose ``problems`` gathers what is wrong; ``around`` an
    Around. Returns (DataFrame with ``COLUMNS``, row, file and is_bad,
    notes); rows with problems hold NaN where nothing could be found out.
    """
    this = _List(table, around)
    _channels(this)
    _position(this)
    _service(this)
    _power(this)
    _height(this)
    return _finished(this), _summary(this)


def _channels(this):
    """RF channel as text, centre frequency and bandwidth."""
    f, tv = this.frame, this.is_tv
    typed = f["freq_mhz"].to_numpy()
    found = {text: _channel(text, this.around.region) for text in f.loc[tv, "rf_channel"].unique()}
    listed = zip(f["rf_channel"], tv, strict=True)
    rows = [found[t] if is_tv else (t, np.nan, np.nan, "") for t, is_tv in listed]
    name, freq, width, why = np.array(rows, dtype=object).reshape(-1, 4).T
    freq, width = freq.astype(float), width.astype(float)
    this.wrong(why != "", "rf_channel", why.item, f["rf_channel"].get)
    off = tv & (np.abs(typed - freq) > 0.5)
    this.wrong(off, "freq_mhz", "the centre of the RF channel, or nothing", typed.item)
    needed = "the centre frequency, which must be filled for fm and mobile"
    this.wrong(~tv & np.isnan(typed), "freq_mhz", needed)
    usual = f["service"].map({s: _default(f"{s}_bandwidth_mhz") for s in ("fm", "mobile")})
    f["rf_channel"] = pd.Series(name, index=f.index, dtype=object)
    f["freq_mhz"] = np.where(tv, freq, typed)
    f["bandwidth_mhz"] = np.where(tv, width, f["bandwidth_mhz"].fillna(usual.astype(float)))


def _channel(text, region):
    """(name, centre, width, "") of an RF channel, or (text, NaN, NaN, what was expected)."""
    try:
        name = channels.name(text)
        centre, width = channels.centre_mhz(name, region), channels.bandwidth_mhz(name, region)
        return name, centre, width, ""
    except ValueError as error:
        return text, np.nan, np.nan, f"an RF channel of region {region}; {str(error).rstrip('.')}"


def _position(this):
    """Bearing and distance from the site, from whichever pair a row gives."""
    f = this.frame
    coordinates = _pair(this, "latitude_deg", "longitude_deg")
    polar = _pair(this, "bearing_deg", "distance_km")
    needed = "latitude and longitude, or bearing and distance; there is neither"
    this.wrong(~coordinates & ~polar, "latitude_deg", needed)
    if "bearing_deg" in this.table.compass:
        f["bearing_deg"] = this.around.compass.true_deg(f["bearing_deg"])
    f["seen_from_there_deg"] = (f["bearing_deg"] + 180) % 360
    spots = f.loc[coordinates, ["latitude_deg", "longitude_deg"]].to_numpy().T
    here = (this.around.place.latitude_deg, this.around.place.longitude_deg)
    bearing, distance = np.full((2, len(f)), np.nan)
    bearing[coordinates], distance[coordinates] = earth.bearing_and_distance(*here, *spots)
    _check_both(this, bearing, distance)
    f.loc[coordinates, "bearing_deg"] = bearing[coordinates]
    f.loc[coordinates, "distance_km"] = distance[coordinates]
    f.loc[coordinates, "seen_from_there_deg"] = earth.bearing_deg(*spots, *here)
    _check_distance(this)


def _pair(this, first, second):
    """Which rows give both of two columns; one without the other is a problem."""
    has = {name: this.frame[name].notna().to_numpy() for name in (first, second)}
    for mine, other in ((first, second), (second, first)):
        expected = f"both {first} and {second}, or neither"
        this.wrong(has[mine] & ~has[other], other, expected)
    return has[first] & has[second]


def _check_both(this, bearing, distance):
    """Where a row gives coordinates and bearing and distance, they must agree."""
    typed_deg, typed_km = this.frame[["bearing_deg", "distance_km"]].to_numpy().T
    turn = np.abs((typed_deg - bearing + 180) % 360 - 180)
    near_enough = np.maximum(_default("distance_agrees_share") * distance, 1.0)
    apart = (turn > _default("bearing_agrees_deg")) | (np.abs(typed_km - distance) > near_enough)

    def spot(km, deg):
        return lambda k: f"{km[k]:.1f} km at {deg[k]:.0f} degrees"

    there = spot(distance, bearing)
    expected = "the same place as the coordinates, from the site"
    this.wrong(apart, "bearing_deg", lambda k: f"{expected} {there(k)}", spot(typed_km, typed_deg))


def _check_distance(this):
    distance = this.frame["distance_km"].to_numpy()
    nearest, farthest = _default("nearest_km"), _default("farthest_km")
    near = f"a station at least {nearest:g} km away; this one stands at the site itself"
    this.wrong(distance < nearest, "latitude_deg", near, lambda k: f"{distance[k]:.3f} km")
    far = (
        f"a station within {farthest:g} km; check the signs of latitude and longitude, here and in"
    )
    far = f"{far} site.toml"
    this.wrong(distance > farthest, "latitude_deg", far, lambda k: f"{distance[k]:.0f} km")


def _service(this):
    """Standard (the usual one of the region, if any), wanted as asked, and place names."""
    f, tv = this.frame, this.is_tv
    usual = facts.table("usual_standards").set_index("region")["standard"].get(this.around.region)
    empty = tv & (f["standard"] == "").to_numpy()
    if usual is None:
        wanted = "a transmission standard, such as DVB-T2; it is empty"
        this.wrong(empty, "standard", f"{wanted}, and region {this.around.region} has no usual one")
    else:
        f["standard"] = f["standard"].mask(empty, usual)
        this.remark(empty, f"standard not given: taken as {usual}")
    asked = f["wanted"].eq(True).to_numpy()
    this.wrong(~tv & asked, "wanted", "no for a station that is not television")
    this.asked_nothing = tv & f["wanted"].isna().to_numpy()
    f["wanted"] = np.where(f["wanted"].isna(), tv, asked)
    f["place"] = f["place"].where(f["place"] != "", f["station"])


def _power(this):
    """Power toward the site: as given, through the pattern, at most the maximum, or a guess."""
    f = this.frame
    most, toward = f["erp_kw"], f["erp_toward_kw"]
    more = "no more power than erp_kw, the greatest"
    this.wrong(toward > 1.05 * most, "erp_toward_kw", more, toward.get)
    known = toward.fillna(most * _pattern_share(this))
    f["pattern_loss_db"] = (10 * np.log10(most / known)).clip(lower=0.0).fillna(0.0)
    f["erp_kw"] = known.fillna(most).fillna(_usual_power_kw(f))
    this.remark(
        known.isna() & most.notna(),
        "only the greatest power is known; toward you it may be far less than the maximum",
        _default("only_maximum_sd_db"),
    )
    unknown = known.isna() & most.isna()
    this.remark(unknown, "power unknown, a usual one taken", _default("unknown_power_sd_db"))


def _usual_power_kw(frame):
    """What is taken where a list gives no power, by service and band."""
    band = np.array(["low_vhf", "high_vhf", "uhf"])
    band = band[np.searchsorted(channels.borders_mhz(), frame["freq_mhz"])]
    kind = np.where(frame["service"] == "tv", band, frame["service"])
    return pd.Series([_default(f"unknown_power_{name}_kw") for name in kind], dtype=float)


def _pattern_share(this):
    """Power toward the site as a share of the greatest, from pattern files; NaN without one."""
    f = this.frame
    all_round = f["pattern"].str.casefold() == ALL_ROUND
    share = pd.Series(np.where(all_round, 1.0, np.nan), f.index)
    seen_deg = f["seen_from_there_deg"] - f["pattern_rotation_deg"].fillna(0.0)
    for name in f.loc[(f["pattern"] != "") & ~all_round, "pattern"].unique():
        rows = f["pattern"] == name
        try:
            pattern = _transmit_pattern(this, name)
        except ValueError as error:
            expected = f"a usable pattern file; {str(error).rstrip('.')}"
            this.wrong(rows, "pattern", expected, f["pattern"].get)
            continue
        if pattern is not None:
            share[rows] = np.interp(seen_deg[rows], *pattern, period=360.0)
    return share


def _transmit_pattern(this, name):
    """Azimuths and shares of the greatest power, or None with problems noted."""
    spec, shown = TABLES["transmit_pattern"], f"patterns/{name}"
    if name in this.around.shapes:
        pairs = pd.DataFrame(this.around.shapes[name], columns=["azimuth_deg", "relative_field"])
        frame = pairs.assign(relative_db=np.nan)
    else:
        frame = named_table(this.around.patterns, name, spec, this.table.problems, shown)
    if frame is None:
        return None
    filled = [c for c in ("relative_field", "relative_db") if frame[c].notna().any()]
    if len(filled) != 1 or frame[filled[0]].isna().any():
        raise ValueError("it needs one column of relative_field or relative_db, all rows filled.")
    azimuth = frame["azimuth_deg"] % 360
    is_end = (frame["azimuth_deg"] == 360) & azimuth.duplicated()
    frame, azimuth = frame[~is_end], azimuth[~is_end]
    if azimuth.duplicated().any() or len(azimuth) < 3:
        raise ValueError("it needs at least three directions, each once.")
    with np.errstate(divide="ignore"):
        level_db = frame["relative_db"].fillna(20 * np.log10(frame["relative_field"]))
    share = 10 ** (level_db.clip(lower=-_default("deepest_null_db")) / 10)
    return azimuth.to_numpy(), share.to_numpy()


def _height(this):
    """Heights as given, or as the terrain or the other heights tell them; else a usual one."""
    f = this.frame
    _agreeing_heights(this)
    if this.around.tiles is not None:
        found = heights(f, this.around.place, this.around.tiles)
        taken = f["antenna_height_m"].isna() & found["antenna_height_m"].notna()
        this.remark(taken, "height above average terrain taken from the terrain tiles")
        this.remark(found["is_buried"], "by the terrain tiles its antenna would be inside the hill")
        apart = (found["apart_m"] > _default("heights_agree_m")) & ~found["is_buried"]
        text = "its heights above sea level and above ground do not fit the tile's ground"
        this.remark(apart, f"{text}; that above ground is taken")
        f[found.columns] = found
    _estimated_height(this)
    unknown = f["antenna_height_m"].isna()
    usual = np.fmin(_default("unknown_height_m"), f["antenna_amsl_m"].clip(lower=0))
    f["haat_m"] = f["antenna_height_m"].fillna(usual)
    only_amsl = unknown & f["antenna_amsl_m"].notna()
    text = f"height unknown, {_default('unknown_height_m'):g} m above average terrain taken"
    this.remark(unknown & ~only_amsl, text, _default("unknown_height_sd_db"))
    text = (
        "only its height above sea level is known, so ground_amsl_m in site.toml would help; "
        f"{_default('unknown_height_m'):g} m above average terrain taken, or less"
    )
    this.remark(only_amsl, text, _default("unknown_height_sd_db"))


def _agreeing_heights(this):
    """Leave out a height of 0 that is a blank, and one above sea level that others contradict."""
    f, near = this.frame, _default("heights_agree_m")
    haat, amsl, agl = (f[f"antenna_{name}_m"] for name in ("height", "amsl", "agl"))
    blank = (haat == 0) & amsl.notna()
    f["antenna_height_m"] = haat.mask(blank)
    this.remark(blank, "a height of 0 beside one above sea level is taken as not known")
    against = (amsl + near < agl) | (amsl + near < f["antenna_height_m"])
    f["antenna_amsl_m"] = amsl.mask(against)
    text = "its height above sea level contradicts its others, which say it stands below the sea"
    this.remark(against, f"{text}; left out")


def _estimated_height(this):
    """A height above average terrain from one above sea level, or above ground, where that is all."""
    f, sd_db = this.frame, _default("estimated_height_sd_db")
    ground = this.around.ground_m
    both = f["antenna_amsl_m"] - f["antenna_height_m"]
    by = "at your roof"
    if ground is None and both.notna().any():
        ground, by = float(both.median()), "by the rows that give both"
    for column, over in (("antenna_amsl_m", ground), ("antenna_agl_m", 0.0)):
        if over is None:
            continue
        taken = f["antenna_height_m"].isna() & f[column].notna()
        f["antenna_height_m"] = f["antenna_height_m"].mask(taken, f[column] - over)
        above_sea = column == "antenna_amsl_m"
        words = f"sea level, the land being {over:.0f} m {by}" if above_sea else "its ground"
        this.remark(taken, f"height above average terrain taken from that above {words}", sd_db)


def _finished(this):
    f = this.frame
    f["transmit_agl_m"] = f["antenna_agl_m"]
    f["unknown_sd_db"] = np.sqrt(this.variance)
    lost = this.asked_nothing & ~has_chance(f)
    f["wanted"] = f["wanted"].astype(bool) & ~lost
    this.remark(
        lost,
        "out of reach of any antenna here, so not wanted; yes in the column wanted asks for it",
    )
    own = f["note"].where(f["note"] == "", f["note"] + "; ")
    f["note"] = [(o + "; ".join(r)).strip("; ") for o, r in zip(own, this.remarks, strict=True)]
    return f[list(COLUMNS)].assign(
        row=this.table.rows, is_bad=this.table.is_bad, file=this.table.file
    )


def _summary(this):
    """One sentence for each thing taken for granted: how many stations it concerns."""
    counts = pd.Series([text for row in this.remarks for text in row], dtype=object).value_counts()
    total = len(this.frame)
    return tuple(
        f"{this.table.file}: {text} ({count} of {total} stations)"
        + ("; their spread is wider." if text in this.widened else ".")
        for text, count in counts.items()
    )


def joined(lists: list, problems: Problems) -> tuple:
    """Several lists as the one table a Site holds, and notes on what was joined.

    No station, and one listed twice, are faults.

    Parameters: ``lists`` tables from ``resolve``; ``problems`` gathers what is wrong.
    """
    filled = [found for found in lists if len(found)] or lists[:1]
    stations = pd.concat(filled, ignore_index=True)
    if stations.empty and not len(problems):
        problems.add(STATIONS.file, "at least one row under the header, one per station")
    _note_duplicates(stations, problems)
    stations, notes = (stations, ()) if len(problems) else on_the_air(stations)
    return stations.drop(columns=["row", "file", "is_bad"]), notes


def _note_duplicates(stations, problems):
    """Note stations that an earlier row lists: one name, RF channel, place, spot, licence and mode."""
    key = [stations[name].str.casefold() for name in ("station", "rf_channel", "place")]
    key += [stations[name] for name in ("licence", "standard", "needs_cn_db")]
    key += [stations[name].round() for name in ("bearing_deg", "distance_km")]
    twice = pd.concat(key, axis=1).duplicated()
    once = "each station once; name, RF channel and place agree with an earlier row"
    for row in stations[twice & ~stations["is_bad"]].itertuples():
        problems.add(row.file, once, row=row.row, column="station", value=row.station)

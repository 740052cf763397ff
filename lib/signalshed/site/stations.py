"""From the rows of stations.csv to the table a Site holds: seen from one place, defaults filled in.

What a list does not give widens the spread of that station and is said in its note; nothing stops
short of a station that cannot be placed or has no channel.
"""

import functools
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from .. import channels, earth, facts
from ..tables import STATIONS, TRANSMIT_PATTERN, check_csv
from .compass import Compass
from .folders import inside
from .ground import heights
from .model import Place

COLUMNS = (
    *("station", "place", "rf_channel", "shown_channels", "standard", "freq_mhz", "bandwidth_mhz"),
    *("bearing_deg", "distance_km", "erp_kw", "haat_m", "antenna_amsl_m", "transmit_agl_m"),
    *("needs_cn_db", "polarization", "wanted", "service", "unknown_sd_db"),
    *("latitude_deg", "longitude_deg", "note"),
)
"""Columns of Site.stations, in order."""


@functools.cache
def _default(name):
    return facts.value("station_defaults", name)


@dataclass(frozen=True, eq=False)
class Around:
    """What surrounds a station list: ``place`` the site's Place; ``region`` of the channel plan;
    ``compass`` a Compass; ``patterns`` the folder of transmit patterns; ``tiles`` the terrain, or None.
    """

    place: Place
    region: str
    compass: Compass
    patterns: Path
    tiles: object = None


@dataclass(eq=False)
class _List:
    """One stations.csv on its way: the checked table, and what is found out row by row."""

    table: object
    file: str
    around: Around
    problems: object

    def __post_init__(self):
        self.frame = self.table.frame.copy()
        self.bad = self.table.is_bad.copy()
        self.frame["service"] = self.frame["service"].mask(self.frame["service"] == "", "tv")
        self.remarks = [[] for _ in range(len(self.frame))]
        self.widened = set()
        self.variance = np.zeros(len(self.frame))

    def wrong(self, positions, column, expected, value=None):
        """Note a problem for rows that had none so far. ``expected`` text, or one per position."""
        for n, k in enumerate(np.atleast_1d(positions)):
            if self.bad[k]:
                continue
            self.bad[k] = True
            self.problems.add(
                self.file,
                expected if isinstance(expected, str) else expected[n],
                row=int(self.table.rows[k]),
                column=self.table.names.get(column, column),
                value=None if value is None else value[n],
            )

    def remark(self, mask, text, sd_db=0.0):
        """Add a sentence to the note of some rows, and to what is not known about them."""
        for k in np.flatnonzero(mask):
            self.remarks[k].append(text)
        self.variance[mask] += sd_db**2
        if sd_db:
            self.widened.add(text)


def resolve(table, file, around, problems):
    """One checked stations.csv as the table a Site holds, and sentences on defaults.

    Parameters: ``table`` from tables.check_csv; ``file`` its name in messages; ``around`` an Around;
    ``problems`` gathers what is wrong. Returns (DataFrame with ``COLUMNS``, row, file and is_bad,
    notes); rows with problems hold NaN where nothing could be found out.
    """
    this = _List(table, file, around, problems)
    _channels(this)
    _position(this)
    _service(this)
    _power(this)
    _height(this)
    return _finished(this), _summary(this)


def _channels(this):
    """RF channel as text, centre frequency and bandwidth."""
    f = this.frame
    tv = (f["service"] == "tv").to_numpy()
    found = {text: _channel(text, this.around.region) for text in f.loc[tv, "rf_channel"].unique()}
    rows = [
        found[t] if is_tv else (t, np.nan, np.nan, "")
        for t, is_tv in zip(f["rf_channel"], tv, strict=True)
    ]
    name, freq, width, why = (
        (list(x) for x in zip(*rows, strict=True)) if rows else ([], [], [], [])
    )
    bad = [k for k, text in enumerate(why) if text]
    this.wrong(bad, "rf_channel", [why[k] for k in bad], [f["rf_channel"].iloc[k] for k in bad])
    freq, width, typed = np.array(freq, float), np.array(width, float), f["freq_mhz"].to_numpy()
    off = np.flatnonzero(tv & (np.abs(typed - freq) > 0.5))
    this.wrong(off, "freq_mhz", "the centre of the RF channel, or nothing", typed[off])
    this.wrong(
        np.flatnonzero(~tv & np.isnan(typed)),
        "freq_mhz",
        "the centre frequency, which must be filled for fm and mobile",
    )
    f["rf_channel"] = pd.Series(name, index=f.index, dtype=object)
    f["freq_mhz"] = np.where(tv, freq, typed)
    usual = f["service"].map({s: _default(f"{s}_bandwidth_mhz") for s in ("fm", "mobile")})
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
    neither = np.flatnonzero(~coordinates & ~polar)
    this.wrong(
        neither, "latitude_deg", "latitude and longitude, or bearing and distance; there is neither"
    )
    if "bearing_deg" in this.table.compass:
        f["bearing_deg"] = this.around.compass.true_deg(f["bearing_deg"])
    f["seen_from_there_deg"] = (f["bearing_deg"] + 180) % 360
    at = np.flatnonzero(coordinates)
    spots = f.loc[at, ["latitude_deg", "longitude_deg"]].to_numpy().T
    here = (this.around.place.latitude_deg, this.around.place.longitude_deg)
    bearing, distance = (np.atleast_1d(x) for x in earth.bearing_and_distance(*here, *spots))
    _check_both(this, at[polar[at]], bearing[polar[at]], distance[polar[at]])
    f.loc[at, "bearing_deg"], f.loc[at, "distance_km"] = bearing, distance
    f.loc[at, "seen_from_there_deg"] = earth.bearing_deg(*spots, *here)
    _check_distance(this)


def _pair(this, first, second):
    """Which rows give both of two columns; one without the other is a problem."""
    has = [this.frame[name].notna().to_numpy() for name in (first, second)]
    for mine, other, name in ((has[0], has[1], second), (has[1], has[0], first)):
        this.wrong(np.flatnonzero(mine & ~other), name, f"both {first} and {second}, or neither")
    return has[0] & has[1]


def _check_both(this, rows, bearing, distance):
    """Where a row gives coordinates and bearing and distance, they must agree."""
    typed = this.frame.loc[rows, ["bearing_deg", "distance_km"]].to_numpy().reshape(-1, 2)
    turn = np.abs((typed[:, 0] - bearing + 180) % 360 - 180)
    off = np.abs(typed[:, 1] - distance)
    share = _default("distance_agrees_share")
    bad = np.flatnonzero(
        (turn > _default("bearing_agrees_deg")) | (off > np.maximum(share * distance, 1.0))
    )
    this.wrong(
        rows[bad],
        "bearing_deg",
        [
            f"the same place as the coordinates, which lie {distance[k]:.1f} km away at "
            f"{bearing[k]:.0f} degrees from the site"
            for k in bad
        ],
        [f"{typed[k, 1]:.1f} km at {typed[k, 0]:.0f} degrees" for k in bad],
    )


def _check_distance(this):
    distance = this.frame["distance_km"].to_numpy()
    near = np.flatnonzero(distance < _default("nearest_km"))
    far = np.flatnonzero(distance > _default("farthest_km"))
    this.wrong(
        near,
        "latitude_deg",
        f"a station at least {_default('nearest_km'):g} km away; this one stands at the site itself",
        [f"{d:.3f} km" for d in distance[near]],
    )
    this.wrong(
        far,
        "latitude_deg",
        f"a station within {_default('farthest_km'):g} km; check the signs of latitude and "
        "longitude, here and in site.toml",
        [f"{d:.0f} km" for d in distance[far]],
    )


def _service(this):
    """Standard, wanted, polarization and place names."""
    f = this.frame
    tv = (f["service"] == "tv").to_numpy()
    _usual_standard(this, tv)
    this.wrong(
        np.flatnonzero(tv & (f["standard"] == "").to_numpy()),
        "standard",
        "a transmission standard, such as ATSC1; it is empty",
    )
    asked = f["wanted"].eq(True).to_numpy()
    this.wrong(np.flatnonzero(~tv & asked), "wanted", "no for a station that is not television")
    f["wanted"] = np.where(f["wanted"].isna(), tv, asked)
    f["place"] = f["place"].where(f["place"] != "", f["station"])


def _usual_standard(this, tv):
    """An empty standard is the region's usual one, where it has one, and said so."""
    f = this.frame
    usual = facts.table("usual_standards").set_index("region")["standard"].get(this.around.region)
    empty = tv & (f["standard"] == "").to_numpy()
    if usual is not None and empty.any():
        f["standard"] = f["standard"].mask(empty, usual)
        this.remark(empty, f"standard not given: taken as {usual}")


def _power(this):
    """Power toward the site: as given, through the pattern, at most the maximum, or a guess."""
    f = this.frame
    most, toward = f["erp_kw"].to_numpy(), f["erp_toward_kw"].to_numpy()
    more = np.flatnonzero(toward > 1.05 * most)
    this.wrong(more, "erp_toward_kw", "no more power than erp_kw, the greatest", toward[more])
    by_pattern = most * _pattern_share(this)
    usual = _usual_power_kw(f)
    f["erp_kw"] = (
        pd.Series(toward).fillna(pd.Series(by_pattern)).fillna(pd.Series(most)).fillna(usual)
    )
    open_question = np.isnan(toward) & np.isnan(by_pattern)
    this.remark(
        open_question & ~np.isnan(most),
        "only the greatest power is known; toward you it may be far less than the maximum",
        _default("only_maximum_sd_db"),
    )
    unknown = open_question & np.isnan(most)
    this.remark(unknown, "power unknown, a usual one taken", _default("unknown_power_sd_db"))


def _usual_power_kw(frame):
    """What is taken where a list gives no power, by service and band."""
    low, high = frame["freq_mhz"] < 130, frame["freq_mhz"] < 300
    band = np.where(low, "low_vhf", np.where(high, "high_vhf", "uhf"))
    kind = np.where(frame["service"] == "tv", band, frame["service"])
    return pd.Series([_default(f"unknown_power_{name}_kw") for name in kind], dtype=float)


def _pattern_share(this):
    """Power toward the site as a share of the greatest, from pattern files; NaN without one."""
    f = this.frame
    share = np.full(len(f), np.nan)
    for name in f.loc[f["pattern"] != "", "pattern"].unique():
        rows = np.flatnonzero((f["pattern"] == name).to_numpy())
        try:
            pattern = _transmit_pattern(this, name)
        except ValueError as error:
            this.wrong(
                rows,
                "pattern",
                f"a usable pattern file; {str(error).rstrip('.')}",
                [name] * rows.size,
            )
            continue
        if pattern is not None:
            azimuth = f["seen_from_there_deg"].to_numpy()[rows]
            share[rows] = np.interp(azimuth, *pattern, period=360.0)
    return share


def _transmit_pattern(this, name):
    """Azimuths and shares of the greatest power, or None with problems noted."""
    path = inside(this.around.patterns, name)
    before = len(this.problems)
    found = check_csv(path, TRANSMIT_PATTERN, this.problems, name=f"patterns/{name}")
    if len(this.problems) > before:
        return None
    frame = found.frame
    filled = [c for c in ("relative_field", "relative_db") if frame[c].notna().any()]
    if len(filled) != 1 or frame[filled[0]].isna().any():
        raise ValueError("it needs one column of relative_field or relative_db, all rows filled.")
    azimuth = frame["azimuth_deg"] % 360
    is_end = (frame["azimuth_deg"] == 360) & azimuth.duplicated()
    if azimuth[~is_end].duplicated().any() or (~is_end).sum() < 3:
        raise ValueError("it needs at least three directions, each once.")
    level = frame[filled[0]].to_numpy()
    with np.errstate(divide="ignore"):
        level_db = level if filled[0] == "relative_db" else 20 * np.log10(level)
    share = 10 ** (np.maximum(level_db, -_default("deepest_null_db")) / 10)
    return azimuth[~is_end].to_numpy(), share[~is_end.to_numpy()]


def _height(this):
    """Heights as given, or as the terrain tells them; else a usual one above average terrain."""
    f = this.frame
    if this.around.tiles is not None:
        found = heights(f, this.around.place, this.around.tiles)
        taken = f["antenna_height_m"].isna() & found["antenna_height_m"].notna()
        this.remark(taken, "height above average terrain taken from the terrain tiles")
        this.remark(found["is_buried"], "by the terrain tiles its antenna would be inside the hill")
        f[found.columns] = found
    unknown = f["antenna_height_m"].isna().to_numpy()
    f["haat_m"] = f["antenna_height_m"].fillna(_default("unknown_height_m"))
    this.remark(
        unknown,
        f"height unknown, {_default('unknown_height_m'):g} m above average terrain taken",
        _default("unknown_height_sd_db"),
    )


def _finished(this):
    f = this.frame
    f["transmit_agl_m"] = f["antenna_agl_m"]
    f["unknown_sd_db"] = np.sqrt(this.variance)
    own = f["note"].where(f["note"] == "", f["note"] + "; ")
    f["note"] = [(o + "; ".join(r)).strip("; ") for o, r in zip(own, this.remarks, strict=True)]
    f["wanted"] = f["wanted"].astype(bool)
    return f[list(COLUMNS)].assign(row=this.table.rows, is_bad=this.bad, file=this.file)


def _summary(this):
    """One sentence for each thing taken for granted: how many stations it concerns."""
    counts = pd.Series([text for row in this.remarks for text in row], dtype=object).value_counts()
    total = len(this.frame)
    return tuple(
        f"{this.file}: {text} ({count} of {total} stations)"
        + ("; their spread is wider." if text in this.widened else ".")
        for text, count in counts.items()
    )


def joined(lists, problems):
    """Several lists as the one table a Site holds; no station, and one listed twice, are noted.

    Parameters: ``lists`` tables from ``resolve``; ``problems`` gathers what is wrong.
    """
    filled = [found for found in lists if len(found)] or lists[:1]
    stations = pd.concat(filled, ignore_index=True)
    if stations.empty and not len(problems):
        problems.add(STATIONS.file, "at least one row under the header, one per station")
    _note_duplicates(stations, problems)
    return stations.drop(columns=["row", "file", "is_bad"])


def _note_duplicates(stations, problems):
    """Note stations whose name, RF channel and place all agree with an earlier one."""
    key = [stations[name].str.casefold() for name in ("station", "rf_channel", "place")]
    twice = pd.concat(key, axis=1).duplicated()
    for row in stations[twice & ~stations["is_bad"]].itertuples():
        problems.add(
            row.file,
            "each station once; name, RF channel and place agree with an earlier row",
            row=row.row,
            column="station",
            value=row.station,
        )

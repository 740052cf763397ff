"""A station list out of a public record: ``stations_from``, and its way into a town folder."""

from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd

from .. import registers
from ..registers.headings import Kept
from ..tables import STATIONS, TABLES, Problems, write_atomic, write_csv
from ..tables.toml import good_toml
from ..tables.tomled import toml_text
from ..units import check_type
from ..words import counted, distance_words, listed, numbered, short
from .given import place_of
from .keeping import keep_old
from .model import Place
from .new import new_town
from .reach import distances, out_of_reach, tiles_needed, tiles_told

SOURCE_FILE = "stations_from.toml"
_OLD_DAYS = 365
_MOST_PAIRS = 6


_DECIDE = ("rf_channel", "erp", "coord", "latitude", "longitude", "antenna", "station")
"""How our names of what decides most begin."""


def read_words(mapping: dict) -> str:
    """What headings were taken for, in one line: one for each thing that decides most, the rest counted.

    Parameters: ``mapping`` as of a StationList.

    >>> read_words({"Call": "station", "Remarks": None, "Ch": "rf_channel", "Pol": "polarization"})
    'read: rf_channel “Ch”, station “Call” and 1 more; 1 column not used'
    """
    used = {name: heading for heading, name in mapping.items() if name}
    decide = [next((n for n in used if n.startswith(start)), None) for start in _DECIDE]
    shown = [f"{name} “{short(used[name])}”" for name in decide if name]
    more = f" and {len(used) - len(shown)} more" if len(used) > len(shown) else ""
    left = len(mapping) - sum(name is not None for name in mapping.values())
    unused = f"; {counted(left, 'column')} not used" if left else ""
    return f"read: {', '.join(shown)}{more}{unused}"


@dataclass(frozen=True, eq=False)
class StationList:
    """Stations out of a public record, near one place.

    Parameters
    ----------
    table : DataFrame, rows by the columns of stations.csv; site.from_tables takes it as it is.
    notes : sentences on what was guessed, joined, cut, and what to ask.
    mapping : dict from each heading of the list to our name for it, None where it is not used; changed,
        it goes back into ``stations_from``.
    left_out : DataFrame of the rows that are not in ``table``: row (line of the list), reason, columns.
    near : the Place, or None where nothing was cut.
    source : text, where the list came from.
    listed_on : the newest day the list names, or None.
    patterns : dict from file name to pairs of azimuth and relative field.
    """

    table: pd.DataFrame
    notes: tuple
    mapping: dict
    left_out: pd.DataFrame
    near: Place | None = None
    source: str = ""
    listed_on: date | None = None
    patterns: dict = field(default_factory=dict)

    def __repr__(self):
        """What a cell shows: how many rows, how headings were understood, and every note."""
        lines = [
            f"{counted(len(self.table), 'station')} (.table) out of {self.source}, "
            f"{counted(len(self.left_out), 'row')} left out (.left_out)",
            f"{read_words(self.mapping)} (.mapping)",
            *self.notes,
        ]
        return "\n".join(lines)

    def write(self, town_folder: str | Path) -> "StationList":
        """Write the list into a town folder: stations.csv, patterns, and how it was read.

        Files that are there and differ are kept beside the new ones, under a name with today's date.

        Parameters
        ----------
        town_folder
            To make, or one that is there.

        Returns
        -------
        StationList
            This list with notes on what was written and on terrain tiles.

        Raises
        ------
        CannotSave
            If a file cannot be written; nothing is half written.

        Examples
        --------
        >>> import tempfile
        >>> found = stations_from("Call,Channel,Lat,Long,ERP (kW)\\nGazette,24,30.79,-40.39,1000")
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     _ = found.write(Path(folder) / "town")
        ...     (Path(folder) / "town" / "stations.csv").read_text().split()[1].split(",")[0]
        'Gazette'
        """
        folder = Path(town_folder)
        if not folder.exists():
            new_town(folder)
        axes = ["azimuth_deg", "relative_field"]
        tables = {f"patterns/{n}": pd.DataFrame(p, columns=axes) for n, p in self.patterns.items()}
        files = {**tables, STATIONS.file: self.table, SOURCE_FILE: self._how()}
        said = [note for name, what in files.items() if (note := _written(folder / name, what))]
        if self.near is not None:
            said += tiles_told(folder, tiles_needed(self.table, self.near))
        return replace(self, notes=(*self.notes, *said))

    def _how(self):
        """How the list was read, as the text of a TOML file."""
        about = {"source": self.source, "read_on": date.today()}
        if self.listed_on is not None:
            about["newest_day_in_list"] = self.listed_on
        if self.near is not None:
            about["near"] = [self.near.latitude_deg, self.near.longitude_deg]
        names = {heading: name or "-" for heading, name in self.mapping.items()}
        return toml_text({**about, "mapping": names})


def _written(path, content):
    """Write one file, the old one kept beside it if it differs; a sentence on that, or ""."""
    path.parent.mkdir(exist_ok=True)
    kept = keep_old(path)
    if isinstance(content, str):
        write_atomic(path, content)
    else:
        spec = STATIONS if path.name == STATIONS.file else TABLES["transmit_pattern"]
        write_csv(path, content, spec, overwrite=True)
    return kept.settled()


def stations_from(
    source: str | Path,
    near: Place | tuple | None = None,
    mapping: dict | str | Path | None = None,
    region: str = "us",
) -> StationList:
    """A StationList out of a public licence record, as it comes: a file or a paste. No network is used.

    Cells may be parted by commas, semicolons, tabs, strokes or blanks; headings are guessed from words
    of the trade and shown in ``mapping``. Rows of one transmitter are joined; with ``near`` a row is
    left out, and counted, if the best antenna would have it 10 dB under the noise even in the best tenth
    of the time and it is no partner of a row that stays.

    Parameters
    ----------
    source
        A path, or the text of the list.
    near
        A Place or (latitude, longitude) in degrees, None to cut nothing.
    mapping
        A dict from headings, or from the number of a column ("3") where there are none, to names of
        ours (None leaves a column out), or a town folder that ``write`` filled.
    region
        Of the channel plan.

    Returns
    -------
    StationList
        The rows that stay, and every note.

    Raises
    ------
    BadTable
        For what is no list of transmitters or has none in reach.
    ValueError
        For other arguments that will not do.

    Examples
    --------
    >>> text = "Call sign;RF channel;Latitude;Longitude;ERP (W)\\n"
    >>> text += "Gazette;24;30 47 27 N;40 23 28 W;1.000.000"
    >>> found = stations_from(text, near=(30.45, -40.7))
    >>> found.table["erp_kw"].tolist(), found.mapping["ERP (W)"]
    ([1000.0], 'erp_w')
    """
    place = None if near is None else place_of(near)
    reading = registers.read(source, _mapping(mapping), region)
    notes, table = list(reading.notes), reading.table
    left_out = reading.left_out
    if place is not None and len(table):
        table = _right_way_round(table, place, reading.name, notes)
        table, left_out = _cut(table, left_out, place, region, (reading.name, notes))
    _stop_without_rows(table, left_out, reading.name, place)
    notes += _questions(table, reading.name)
    notes += _age(reading)
    table = table.drop(columns=["row"]).reset_index(drop=True)
    named = set(table.get("pattern", ()))
    used = {name: pattern for name, pattern in reading.patterns.items() if name in named}
    table.attrs["patterns"] = used
    more = (place, reading.name, reading.listed_on, used)
    return StationList(table, tuple(notes), reading.mapping, left_out, *more)


def _mapping(mapping):
    """The mapping as a dict, out of a town folder too."""
    if not isinstance(mapping, (str, Path)):
        check_type("mapping", mapping, (dict, type(None)), "a dict, a town folder or None")
        return mapping
    path = Path(mapping) / SOURCE_FILE if Path(mapping).is_dir() else Path(mapping)
    kept = good_toml(path).get("mapping", {})
    return Kept({heading: None if name == "-" else name for heading, name in kept.items()})


def _right_way_round(table, place, name, notes):
    """Coordinates as they stand, or turned where that alone brings most rows within reach, and said."""
    swapped = "latitude and longitude stand in each other's column"
    turns = {
        swapped: lambda a, b: (b, a),
        "longitudes count west as positive": lambda a, b: (a, -b),
        "latitudes count south as positive": lambda a, b: (-a, b),
        "both latitude and longitude stand without their signs": lambda a, b: (-a, -b),
        f"{swapped}, without their signs": lambda a, b: (b, -a),
    }
    spots = table[["latitude_deg", "longitude_deg"]].to_numpy(float).T
    if _share_near(table, spots, place) > 0.05 or not np.isfinite(spots).any():
        return table
    for what, turn in turns.items():
        turned = np.array(turn(*spots))
        if _share_near(table, turned, place) > 0.5:
            notes.append(f"{name}: {what}: read so, since else nearly nothing lies within reach.")
            return table.assign(latitude_deg=turned[0], longitude_deg=turned[1])
    return table


def _share_near(table, spots, place):
    """Share of rows within reach of a place, of those with coordinates on the globe."""
    known = np.isfinite(spots).all(axis=0)
    ok = known & (np.abs(spots[0]) <= 90) & (np.abs(spots[1]) <= 180)
    if not ok.any():
        return 0.0
    there = table[ok].assign(latitude_deg=spots[0, ok], longitude_deg=spots[1, ok])
    return float((distances(there, place)[1] < 1000).sum() / known.sum())


def _cut(table, left_out, place, region, told):
    """Rows that can be received or hurt, and those left out; counts go to the notes ``told``."""
    name, notes = told
    gone, wrong = out_of_reach(table, place, region)
    _, away = distances(table, place)
    bad = np.array([k in wrong for k in range(len(table))]) & ~gone
    reason = np.full(len(table), "it can neither be received nor hurt here", dtype=object)
    reason[bad] = [wrong[k] for k in np.flatnonzero(bad)]
    stays = ~(gone | bad)
    if gone.any():
        notes.append(
            f"{name}: {counted(gone.sum(), 'row')} of {len(table)} can neither be received nor "
            f"hurt at {place.latitude_deg:.2f}, {place.longitude_deg:.2f}, and left out (in .left_out); "
            f"the nearest is {distance_words(np.nanmin(away[gone]))} away."
        )
    if bad.any():
        rows, kinds = counted(bad.sum(), "row"), sorted(set(reason[bad]))
        more = f"; {len(kinds) - 3} more in .left_out" if len(kinds) > 3 else ""
        notes.append(f"{name}: {rows} left out: expected {'; '.join(kinds[:3])}{more}.")
    out = table[~stays].assign(reason=reason[~stays], distance_km=away[~stays])
    return table[stays], pd.concat([left_out, out], ignore_index=True)


def _stop_without_rows(table, left_out, name, place):
    """A BadTable where nothing is left."""
    if len(table):
        return
    why = left_out["reason"].value_counts().head(4)
    reasons = "; ".join(f"{count}: {reason}" for reason, count in why.items()) or "it has no rows"
    where = "" if place is None else f" near {place.latitude_deg:.3f}, {place.longitude_deg:.3f}"
    with Problems() as problems:
        problems.add(
            name, f"at least one transmitter{where} that can be used; left out were {reasons}"
        )


def _questions(table, name):
    """Sentences that ask about transmitters on one channel."""
    tv = table[table["service"] == "tv"]
    asked, systems = [], []
    for rf, rows in tv.groupby("rf_channel", sort=False):
        groups = registers.near_groups(rows[registers.SPOT])
        if len(groups) > 1:
            asked.append(f"{rf} ({listed(rows['station'].iloc[[g[0] for g in groups]], 3)})")
        for group in groups:
            kinds = set(rows["standard"].iloc[group]) - {""}
            if len(kinds) > 1:
                systems.append(f"{rf} ({' or '.join(sorted(kinds))})")
    notes = []
    if asked:
        notes.append(
            f"{name}: several transmitters stand on RF channel {numbered(asked, _MOST_PAIRS)}. They "
            "disturb each other unless they send the same at the same time; where they do, give them "
            "one same_signal."
        )
    if systems:
        two = f"two standards on one channel and place: {numbered(systems, _MOST_PAIRS)}"
        notes.append(f"{name}: {two}. Which is on the air?")
    return notes


def _age(reading):
    """How old the list is, in one sentence."""
    day, how = reading.listed_on, "the newest day it names is"
    if day is None:
        day, how = reading.saved_on, "it names no day; its file was last saved on"
    if day is None:
        return (f"{reading.name}: it names no day, so nobody knows how old it is.",)
    days = (date.today() - day).days
    old = f", {counted(days, 'day')} ago" + (": look for a newer one" if days > _OLD_DAYS else "")
    return (f"{reading.name}: {how} {day.isoformat()}{old}.",)

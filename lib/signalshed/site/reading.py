"""Open a site folder: read every file of it and of its town, and say all that is wrong at once."""

import os
from pathlib import Path

import pandas as pd

from .. import channels, earth, facts
from ..meters.log import taken_back
from ..tables import METER, READINGS, STATIONS, Problems, check_csv, read_toml
from ..tables.cells import did_you_mean
from ..units import check_type
from ..words import counted, listed, numbered
from .antennas import read_antennas
from .ground import LAND_NOT_TOLD, land_round, town_tiles
from .model import Site
from .outline import FILE, outline
from .stations import Around, joined, resolve

_MOST_NAMED = 5
"""So many names that the site does not have get a note of their own."""


def open_site(
    folder: str | Path, mapping: dict | None = None, *, tiles: earth.Tiles | None = None
) -> Site:
    """Open a site folder. Nothing is written.

    Parameters
    ----------
    folder
        Of the site, with site.toml and antennas.toml, and as far as there are any stations.csv,
        readings.csv, meter.csv and the folder patterns.
    mapping
        For tables under other column names, a dict from file to a dict from its names to ours,
        {"stations.csv": {"Call": "station"}}, and for stations.csv alone the inner dict will do.
    tiles
        Terrain to use in place of the folder terrain of the town or site.

    Returns
    -------
    Site
        Its ``notes`` are sentences on defaults that were used, and on rows of readings.csv and
        meter.csv that had to be left out.

    Raises
    ------
    BadTable
        With everything that is wrong in the folder.

    Examples
    --------
    >>> import tempfile
    >>> from .. import site, tables
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     try:
    ...         open_site(site.new_site(Path(folder) / "roof"))
    ...     except tables.BadTable as blank:
    ...         print(blank.problems["column"].head(3).tolist())
    ['name', 'latitude', 'longitude']
    """
    check_type("folder", folder, (str, Path), "a folder's name, as 'my_roof'")
    folder = Path(folder)
    with Problems() as problems:
        if not os.path.isdir(folder):
            problems.add(str(folder)[:200], "a site folder, but there is none; new_site makes one")
    return _Opening(folder, _by_file(mapping), tiles).site()


def _by_file(mapping):
    """The mapping as a dict of dicts by file name."""
    if not isinstance(mapping, dict | None):
        raise ValueError("mapping must be a dict from the file's column names to ours.")
    if mapping and not all(isinstance(value, dict) for value in mapping.values()):
        return {STATIONS.file: mapping}
    files = STATIONS.file, READINGS.file, METER.file
    for name in mapping or {}:
        if name not in files:
            raise ValueError(f"mapping names {name!r}; it may name {', '.join(files)}.")
    return mapping or {}


class _Opening:
    """One site folder while it is being read: what was found so far, and what is wrong.

    ``bad_rows`` of logs are only left out; they are told with the rest when the rest stops the reading.
    """

    def __init__(self, folder, mapping, tiles):
        self.folder, self.mapping, self.tiles, self.notes = folder, mapping, tiles, []
        self.problems, self.bad_rows = Problems(), Problems()

    def site(self):
        """The Site. Raises BadTable if anything was wrong."""
        data = read_toml(self.folder / FILE, self.problems)
        if data is None:
            self.problems.stop()
        plan = outline(self._with_line(data), self.problems)
        self.notes += plan.notes
        self.place, self.compass = plan.place, plan.compass
        self.region, self.ground_m = plan.values["region"] or "us", plan.values["ground_amsl_m"]
        antennas = self._noted(read_antennas(self.folder, self.region, self.problems))
        tables = {
            **self._stations(plan.values["town"]),
            "readings": self._meter_table(READINGS, taken_back),
            "ladder": self._meter_table(METER),
        }
        if len(self.problems):
            self.problems.extend(self.bad_rows)
        self.problems.stop()
        self.notes += plan.compass.note()
        land = self._land(plan.values["land"], tables["tiles"])
        self._note_other_systems(tables["stations"], plan.tuner)
        self._note_strangers(tables["readings"], plan.mounts, antennas)
        self._note_revisions(tables["readings"], antennas)
        return plan.site(
            antennas=antennas, notes=self.notes, folder=self.folder, land=land, **tables
        )

    def _with_line(self, data):
        """What site.toml says, with a usual cable where it says nothing of a line, which is noted."""
        if "feeds" in data:
            return data
        metres = facts.value("judgement", "usual_cable_m")
        self.notes.append(
            f"{FILE}: no [[feeds]]: a usual cable is taken, {metres:g} m of series6; feeds = [] at the "
            "top says that there is none."
        )
        usual = {"name": "usual cable", "parts": [{"coax": "series6", "length_m": metres}]}
        return {**data, "feeds": [usual]}

    def _noted(self, pair):
        """The first of (thing, notes), the notes kept."""
        self.notes += pair[1]
        return pair[0]

    # ---- stations ---------------------------------------------------------------------------

    def _stations(self, town):
        """Stations and terrain tiles: the town's list, then the site's own, on the town's land."""
        folders = {} if town is None else {"town/": self._town(town)}
        if (self.folder / STATIONS.file).exists() or town is None:
            folders[""] = self.folder
        there = {prefix: folder for prefix, folder in folders.items() if folder is not None}
        tiles = self.tiles or self._tiles({**there, "": self.folder}.values())
        lists = (self._station_list(*pair, tiles) for pair in there.items())
        lists = [found for found in lists if found is not None]
        self.notes += () if tiles is None else tiles.notes
        stations = self._noted(joined(lists, self.problems)) if lists else None
        return {"stations": stations, "tiles": tiles}

    def _tiles(self, folders):
        """The terrain tiles of the first of these folders that has any, or None."""
        found = (town_tiles(folder, self.notes) for folder in folders)
        return next((tiles for tiles in found if tiles is not None), None)

    def _town(self, town):
        folder = self.folder / town.replace("\\", "/")
        if os.path.isdir(folder):
            return folder
        expected = "the folder of the town, with / between folders, as ../town; it is seen from"
        expected = f"{expected} {self.folder.resolve()}"
        self.problems.add(FILE, expected, column="town", value=town)
        return None

    def _station_list(self, prefix, folder, tiles):
        name = prefix + STATIONS.file
        mapping = self.mapping.get(STATIONS.file)
        table = check_csv(folder / STATIONS.file, STATIONS, self.problems, mapping, name)
        if table is None or self.place is None:
            return None
        self.notes += table.notes
        here = self.place, self.region, self.compass, folder / "patterns"
        return self._noted(resolve(table, Around(*here, tiles, self.ground_m)))

    def _land(self, told, tiles):
        """The kind of land round the roof: as told, else by its tile; which of them is noted."""
        if told is not None:
            return told
        found = land_round(self.place, tiles)
        by = f"land is {found} by the terrain tile of the roof, which counts where no tile lies"
        self.notes.append(f"{FILE}: {LAND_NOT_TOLD if found is None else by}.")
        return found

    # ---- readings ---------------------------------------------------------------------------

    def _meter_table(self, spec, leave_out=None):
        """A table of meter readings, its RF channels as text; empty if there is no file."""
        path = self.folder / spec.file
        if not path.exists():
            if path.is_symlink():
                self.notes.append(
                    f"{spec.file} is a link to {os.readlink(path)}, and nothing is there: none of "
                    "its rows is used."
                )
            return pd.DataFrame(columns=spec.header())
        mapping = self.mapping.get(spec.file)
        table = check_csv(path, spec, self.problems, mapping, leave_out=leave_out)
        if table is None:
            return None
        _name_channels(table)
        bad_rows, table = table.problems, table.good(self.problems)
        if len(table.frame):
            self.bad_rows.extend(bad_rows)
        self.notes += table.notes
        frame = table.frame.set_index(pd.Index(table.rows, name="row"))
        if spec is READINGS:
            frame = self._noted(_once(frame))
            self.notes += _outside(frame)
        if "heading_deg" in table.compass and self.compass is not None:
            frame["heading_deg"] = self.compass.true_deg(frame["heading_deg"])
        return frame

    def _note_other_systems(self, stations, tuner):
        """Say if the TV shows the system of no wanted station at all, as one meant for elsewhere."""
        sends = stations.loc[stations["wanted"].to_numpy(bool), "standard"]
        if len(sends) and not any(tuner.decodes(standard) for standard in set(sends)):
            self.notes.append(
                f"{FILE}: tuner: it shows {listed(tuner.standards)}, and none of the "
                f"{counted(len(sends), 'wanted station')} sends that, but {listed(sorted(set(sends)))}: "
                "nothing can come in; put into standards what the TV shows."
            )

    def _note_strangers(self, readings, mounts, antennas):
        """Say which readings name a mount or antenna the site does not have."""
        for column, known in (("mount", mounts), ("antenna", antennas)):
            strange = readings.loc[~readings[column].isin(list(known)), column].value_counts()
            more = strange.iloc[_MOST_NAMED:]
            if len(more):
                self.notes.append(
                    f"readings.csv: {counted(more.sum(), 'more reading', 'more readings')} of "
                    f"{counted(len(more), 'other name')} in column {column} teach nothing either: "
                    "the site has none of them."
                )
            for name, count in strange.iloc[:_MOST_NAMED].items():
                taught = counted(count, "reading teaches", "readings teach")
                hint = did_you_mean(name, known) or "."
                self.notes.append(
                    f"readings.csv: {taught} nothing: the site lacks the {column} {name!r}{hint}"
                )

    def _note_revisions(self, readings, antennas):
        """Say which readings are of another revision of an antenna than the site's."""
        for (name, revision), rows in readings.groupby(["antenna", "antenna_revision"]):
            if name in antennas and revision != antennas[name].revision:
                self.notes.append(
                    f"readings.csv: {counted(len(rows), 'reading is', 'readings are')} of revision "
                    f"{revision!r} of {name!r}, and "
                    f"antennas.toml describes revision {antennas[name].revision!r}. Correct the one "
                    "that is wrong; if it was rebuilt, give each revision a name of its own."
                )


def _once(readings):
    """Readings without rows that repeat an earlier one word for word, and a note on those."""
    again = readings.duplicated()
    if not again.any():
        return readings, ()
    rows = f"readings.csv, row {numbered(readings.index[again])}"
    return readings[~again], (f"{rows}: the same as an earlier row; it counts once.",)


def _outside(readings):
    """Notes on readings that do not lie between the lowest and the highest noted with them."""
    names = ["reading", "reading_low", "reading_high"]
    shown, low, high = readings[names].astype(float).to_numpy().T
    wrong = readings.index[(low > high) | (shown < low) | (shown > high)]
    return [
        f"readings.csv, row {row}: the reading does not lie between its lowest and highest; look "
        "at what was meant. The reading counts as it stands."
        for row in wrong[:8]
    ]


def _name_channels(table):
    """RF channels as they are written everywhere; rows with a bad one are noted."""
    texts = table.frame["rf_channel"]
    named = pd.DataFrame([_channel(text) for text in texts], columns=["name", "why"], dtype=object)
    table.wrong(named["why"] != "", "rf_channel", named["why"].get, texts.get)
    table.frame["rf_channel"] = named["name"]


def _channel(text):
    try:
        return channels.name(text), ""
    except ValueError as error:
        return text, f"an RF channel; {str(error).rstrip('.')}"

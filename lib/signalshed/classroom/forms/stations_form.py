"""The form of stations: the list as a table, a row at a time, and a box to paste a record into."""

import tempfile
from pathlib import Path

import ipywidgets

from ... import site
from ...markup import Number, bullets, safe
from ...registers import typed
from ...site.given import listed_stations, place_of
from ...site.keeping import keep_old
from ...site.listed import read_words
from ...tables import SITE, STATIONS, Problems, check_csv, read_text, read_toml, write_atomic
from ...tables.rows import with_row
from ...units import check_type
from ...words import counted
from ..cards import table_card
from ..showing import button
from .fields import Mistakes, answers, area, asked
from .row_form import NEW, RowForm

_SHOWN = 12
_TYPED_WITH = ("kW", "km", "m")
_STANDARDS = (("the usual one here", ""), *((s, s) for s in STATIONS.column("standard").choices))
_HEADS = ("station", "RF", "where", Number("kW"), Number("height, m"), "wanted")


class StationsForm(RowForm):
    """Shows stations.csv as a table and row by row; saves a row as it was changed, the others untouched.

    Places take any spelling of degrees, powers "1,000 kW", "35 dBW" or "10 kW EIRP", heights feet or
    metres, bearings "SW" or "evening sun". Below, a box takes a public record as it comes: "Look at it"
    shows how it is understood, "Take these" makes it the list.
    Parameters: ``folder`` of a site or a town; ``near`` a place that a pasted list is cut for, None for
    that of the site, if it says one; ``region`` of the channel plan, None for the site's.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     form = StationsForm(site.new_town(Path(folder) / "town"), near=(30.45, -40.7))
    ...     form.paste.widget.value = "Call,Channel,Lat,Long,ERP (kW)\\nGazette,24,30.79,-40.39,1000"
    ...     form.look()
    ...     form.said
    '1 station would be taken; 0 rows left out.'
    """

    def __init__(self, folder, near=None, region=None):
        check_type("folder", folder, (str, Path), "the folder of a site or a town")
        self.folder, self._near, self._region = Path(folder), near, region
        self.paste, self.found = area("A list, as it comes"), None
        self._preview = ipywidgets.HTML()
        buttons = [button("Look at it", self.look), button("Take these", self.take)]
        below = [ipywidgets.HTML("<b>Or paste a public record</b>"), self.paste.widget]
        below += [ipywidgets.HBox(buttons), self._preview]
        questions = asked("station", {"bearing": self._bearing}, {"standard": _STANDARDS})
        super().__init__("Stations", "station", questions, below=below)

    # ---- what the site says now: its form may have been filled in since ------------------------------

    @property
    def town(self):
        """The folder with the stations."""
        return self.folder / _said_by_site(self.folder).get("town", "")

    @property
    def path(self):
        """The file of the stations."""
        return self.town / STATIONS.file

    @property
    def near(self):
        """The place a pasted list is cut for, or None."""
        said = _said_by_site(self.folder)
        own = [said[end] for end in ("latitude", "longitude") if end in said]
        return self._near if self._near is not None or len(own) < 2 else tuple(own)

    @property
    def region(self):
        """Whose channels a list names."""
        usual = SITE.column("region").choices[0]
        return self._region or _said_by_site(self.folder).get("region", usual)

    # ---- the list --------------------------------------------------------------------------------

    def _table(self):
        """The list as it is in the file, checked; rows by position."""
        return check_csv(self.path, STATIONS, Problems()).frame if self.path.exists() else None

    def names(self):
        """What each row is called: station, channel and place, each once."""
        frame, names = self._table(), []
        for row in () if frame is None else frame.to_dict("records"):
            name = f"{row['station']}, RF {row['rf_channel']}" + (
                f", {row['place']}" if row["place"] else ""
            )
            again = sum(n == name or n.startswith(f"{name} (") for n in names)
            names.append(f"{name} ({again + 1})" if again else name)
        return names

    def table_html(self):
        """The list, its first rows, and how many more there are."""
        frame = self._table()
        if frame is None or frame.empty:
            return safe("No station yet: type one below, or paste a list.")
        rest = f"; the first {_SHOWN} are shown" if len(frame) > _SHOWN else ""
        return _listed(frame, f"{counted(len(frame), 'station')} in {self.path.name}{rest}")

    def show(self, name):
        """Fill the fields with what the file says of one row. Parameters: ``name`` of it, or NEW."""
        frame = self._table()
        row = {} if name == NEW else frame.iloc[self.names().index(name)].to_dict()
        for key, field in self.fields.items():
            value, unit = row.get(key), STATIONS.column(key).unit
            if value is None or value == "" or value != value:
                field.show(field.blank)
            elif isinstance(value, float):
                field.show(f"{value:.10g} {unit if unit in _TYPED_WITH else ''}".strip())
            else:
                field.show(value)

    def write(self, name, changed):
        """Save what was ``changed`` of the row ``name``, None for a new one: a sentence."""
        at = None if name is None else self.names().index(name)
        if name is None:
            changed = {k: v for k, v in answers(self.fields).items() if v not in (None, "")}
        return self._written(at, {k: None if v == "" else v for k, v in changed.items()}, "saved")

    def saved_name(self, name):
        """A row is called by what it says now."""
        names = self.names()
        station, channel = (self.fields[k].answer() for k in ("station", "rf_channel"))
        called = f"{station}, RF {channel}"
        return next((n for n in reversed(names) if n.startswith(called)), name)

    def take_out(self, name):
        """Take one row out of the file: a sentence."""
        return self._written(self.names().index(name), None, "taken out")

    def _written(self, at, cells, what):
        """One row changed in the file, if the list is still one that can be read: a sentence."""
        problems = Problems()
        if not self.path.exists():
            write_atomic(self.path, ",".join(STATIONS.header()) + "\n", overwrite=False)
        old = read_text(self.path, problems)
        problems.stop()
        new = with_row(old, STATIONS, at, cells)
        self._check(new)
        kept = keep_old(self.path)
        write_atomic(self.path, new)
        return " ".join(filter(None, [f"The row is {what} in {self.path.name}.", kept.settled()]))

    def _check(self, new):
        """BadTable if the list cannot be read any more with what was changed."""
        with tempfile.TemporaryDirectory() as folder:
            path, problems = Path(folder) / STATIONS.file, Problems()
            write_atomic(path, new)
            table = check_csv(path, STATIONS, problems)
            if table is not None and self.near is not None and len(table.frame):
                rows = table.frame.assign(pattern="")  # Patterns stand beside the list, not here.
                listed_stations(rows, place_of(self.near), self.region, problems)
            problems.stop()

    # ---- the paste -------------------------------------------------------------------------------

    def look(self):
        """Show how the pasted list is understood; nothing is written."""
        self.attempt(self._look)

    def take(self):
        """Make the pasted list the list of this folder; the old one stays beside it."""
        self.attempt(self._take)

    def _look(self):
        said = self.paste.answer()
        if not said.strip():
            raise Mistakes(["Paste a list into the box first: its headings, and its rows."])
        if "\n" not in said.strip():
            raise Mistakes(["That is one line; a list is its headings and a row for each station."])
        self.found = None
        self.found = site.stations_from(said, self.near, region=self.region)
        notes = bullets([read_words(self.found.mapping), *self.found.notes])
        first = f"The first {min(len(self.found.table), _SHOWN)}:"
        self._preview.value = _listed(self.found.table, first) + notes
        count, out = len(self.found.table), len(self.found.left_out)
        return f"{counted(count, 'station')} would be taken; {counted(out, 'row')} left out."

    def _take(self):
        self._look()
        before = len(self.found.notes)
        written = self.found.write(self.town)
        self.paste.widget.value, self._preview.value = "", bullets(written.notes[before:])
        self._again(NEW)
        return f"{counted(len(written.table), 'station')} written to {self.path}."

    def _bearing(self, said):
        latitude = None if self.near is None else place_of(self.near).latitude_deg
        return typed.bearing_deg(said, latitude)


def _said_by_site(folder):
    """What site.toml in a folder says, nothing for a town or a blank one."""
    path = folder / "site.toml"
    return (read_toml(path, Problems()) or {}) if path.is_file() else {}


_ABOVE = {"antenna_height_m": "", "antenna_amsl_m": " over sea", "antenna_agl_m": " over ground"}
"""What a height is measured from, by its column; the first that is known is shown."""


def _listed(frame, caption):
    """The first stations of a list as a table under a ``caption``: HTML."""
    rows = [_cells(row) for row in frame.head(_SHOWN).to_dict("records")]
    return table_card(_HEADS, [("", rows)], caption).html


def _cells(row):
    """A station as a row of a table."""
    if row["latitude_deg"] == row["latitude_deg"]:
        where = f"{row['latitude_deg']:.3f}, {row['longitude_deg']:.3f}"
    else:
        where = f"{row['bearing_deg']:.0f}°, {row['distance_km']:.0f} km"
    known = ((row.get(name), above) for name, above in _ABOVE.items())
    tall = [f"{v:.4g}{above}" for v, above in known if v is not None and v == v]
    power = row.get("erp_kw")
    told = f"{power:.4g}" if power is not None and power == power else "not known"
    height = tall[0] if tall else "not known"
    wanted = {True: "yes", False: "no"}.get(row.get("wanted"), "")
    return (str(row["station"]), str(row["rf_channel"]), where, told, height, wanted)

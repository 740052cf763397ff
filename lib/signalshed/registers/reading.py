"""A public list of transmitters as a table of ours: ``read``."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from .. import channels
from ..tables import STATIONS, Problems
from ..tables.cells import convert
from ..words import counted
from . import columns, headless, joining, patterns, places
from .bycells import told_by_cells
from .columns import Cells
from .headings import AS_THEY_ARE, given_by, meant
from .sheet import cut
from .source import dates, opened


@dataclass(frozen=True, eq=False)
class Reading:
    """A list as it was read: ``table`` rows by the columns of stations.csv and ``row``, the line in the
    list; ``left_out`` the others, with ``reason``; ``notes``; ``mapping`` from heading to our name, None
    where unused; ``patterns`` by file name, pairs of azimuth and relative field; ``listed_on`` the
    newest day it names, or None; ``name`` of the source; ``saved_on`` the day of its file, or None.
    """

    table: pd.DataFrame
    left_out: pd.DataFrame
    notes: tuple
    mapping: dict
    patterns: dict
    listed_on: object
    name: str
    saved_on: object = None


def read(source, mapping=None, region="us"):
    """Read a public list of transmitters: a Reading. Nothing of the user's is changed.

    Parameters: ``source`` a path or pasted text; ``mapping`` a dict from the list's headings to names of
    ours, None to leave a column out; ``region`` of the channel plan. Raises BadTable for what is no
    list, ValueError for a mapping that cannot be.

    >>> reading = read("Call,Channel,Lat,Long,ERP (W)\\nGazette,24,N30 47 27,W40 23 28,\\"1,000,000\\"")
    >>> reading.table[["station", "rf_channel", "erp_kw"]].values.tolist()
    [['Gazette', '24', 1000.0]]
    """
    channels.plan(region)
    found = opened(source)
    sheet = cut(found)
    known, notes = _meant(sheet, {} if mapping is None else mapping, found.name)
    this = Cells(sheet.rows, sheet.header, sheet.numbers, known, sheet.mark, list(notes))
    this.remarks = (*sheet.before, *(text for _, text in sheet.short))
    library = patterns.Library(sheet.others, found.path.parent if found.path else None)
    frame = _frame(this, region)
    kept, gone, shapes = joining.joined(this, frame, library)
    more = pd.DataFrame(sheet.short, columns=["row", "note"])
    more["reason"] = "a line of remarks, or one that is not cut like the headings"
    if len(more):
        this.notes.append(
            f"{counted(len(more), 'line')} of remarks or of another width were left out"
        )
    gone = pd.concat([gone, more], ignore_index=True)
    header = [c for c in STATIONS.header() if c in kept]
    return Reading(
        kept[[*header, "row"]].reset_index(drop=True),
        gone[["row", "reason", *(c for c in STATIONS.header() if c in gone)]],
        tuple(_sentences(found, sheet, this)),
        {h: (known[k].shown if k in known else None) for k, h in enumerate(sheet.header)},
        shapes,
        _newest(this, sheet.before),
        found.name,
        found.saved_on,
    )


def _meant(sheet, mapping, name):
    """What each column means by mapping, heading and cells, and sentences on it.

    A list without headings needs all it cannot do without told by its cells or a mapping.
    """
    given = given_by(sheet.header, mapping)
    if not sheet.is_headless:
        known, notes = meant(sheet.header, given)
        return told_by_cells(sheet.rows, known, given), notes
    known = headless.told_by_shape(sheet.rows, given)
    if missing := headless.lacking(known):
        with Problems() as problems:
            problems.add(name, headless.wanted(sheet.rows[0] if sheet.rows else [], missing))
    return known, [headless.told(known)]


def _sentences(found, sheet, this):
    """Notes with the list's name in front, each once."""
    first = [f"cells were parted at {sheet.mark}", *found.notes]
    return dict.fromkeys(f"{found.name}: {note}." for note in [*first, *this.notes])


def _newest(this, before):
    """The newest day named above the headings or in a column of dates."""
    named = dates(" \n".join([*before, *set(this.column("listed_on"))]))
    return named[-1] if named else None


def _frame(this, region):
    """Every row by the columns of stations.csv, rows to be left out too."""
    latitude, longitude = columns.positions(this)
    erp, planes = columns.powers_kw(this)
    station, place = places.names(this)
    rf, freq, service = places.channels_of(this, region)
    n = len(this.rows)
    data = {
        "station": station,
        "place": place,
        "rf_channel": rf,
        "shown_channels": [
            " ".join(cell.replace(",", " ").split()) for cell in this.column("shown_channels")
        ],
        "standard": places.standards(this, service, region),
        "latitude_deg": latitude,
        "longitude_deg": longitude,
        "bearing_deg": columns.measured(this, "bearing", "deg"),
        "distance_km": columns.measured(this, "distance", "km"),
        "erp_kw": erp,
        "polarization": _polarizations(this, planes),
        **_heights(this),
        "service": service,
        "freq_mhz": np.where(np.array(service) == "tv", np.nan, freq),
        "licence": _licences(this),
        "row": this.numbers,
    }
    for name in AS_THEY_ARE:
        if this.has(name):
            data[name], bad = convert(STATIONS.column(name), this.column(name))
            this.tell(list(bad), f"{name} cannot be read there and is taken as not known")
    frame = pd.DataFrame(data, index=range(n))
    _needs_a_place(this, frame)
    return frame


def _needs_a_place(this, frame):
    """Coordinates win over a bearing and a distance from somewhere; a row without either goes."""
    has = frame["latitude_deg"].notna() & frame["longitude_deg"].notna()
    polar = frame["bearing_deg"].notna() & frame["distance_km"].notna()
    frame.loc[has | ~polar, ["bearing_deg", "distance_km"]] = np.nan
    frame.loc[~has, ["latitude_deg", "longitude_deg"]] = np.nan
    missing = [k for k in np.flatnonzero(~has & ~polar) if k not in this.dropped]
    this.drop(missing, "it has no coordinates", "no coordinates")


def _polarizations(this, planes):
    """How each row transmits; of a code nobody knows, and of none at all, horizontal, and said."""
    codes = columns.coded(this, "polarization", otherwise="is taken as horizontal")
    by_plane = np.array(["", "horizontal", "vertical", "both"])[planes]
    return [code or str(plane) for code, plane in zip(codes, by_plane, strict=True)]


_TALLEST_M = 830
_TALL_M = {"antenna_height": 600, "antenna_agl": 350}
"""Above this half of the heights of a list are likely feet."""


def _heights(this):
    """Heights in metres; 0 above average terrain beside one above sea is not known."""
    haat, amsl, agl = _by_reference(this)
    ground = columns.measured(this, "ground_amsl", "m")
    amsl = np.where(np.isnan(amsl), ground + agl, amsl)
    blank = (haat == 0) & np.isfinite(amsl)
    text = "0 above average terrain beside a height above sea: taken as not known"
    this.tell(np.flatnonzero(blank), text)
    agl[agl <= 0] = np.nan
    heights = {"antenna_agl": agl, "antenna_height": np.where(blank, np.nan, haat)}
    heights["antenna_amsl"] = amsl
    for name, values in heights.items():
        column = STATIONS.column(f"{name}_m")
        top = min(_TALLEST_M, column.high) if name == "antenna_agl" else column.high
        text = f"{name.replace('_', ' ')} is above {top:g} m, as no antenna is; are they feet?"
        this.tell(np.flatnonzero(values > top), f"{text} Taken as not known")
        values[(values > top) | (values < (column.low or 0))] = np.nan
    _feet_called_metres(this, heights)
    return {f"{name}_m": values for name, values in heights.items()}


def _by_reference(this):
    """Heights above average terrain, sea and ground; where a column says above what, each to its own."""
    names = ("antenna_height", "antenna_amsl", "antenna_agl")
    found = {name: columns.measured(this, name, "m") for name in names}
    if not this.has("height_kind"):
        return tuple(found.values())
    kinds = np.array(columns.coded(this, "height_kind"), dtype=object)
    typed = max(found.values(), key=lambda values: np.isfinite(values).any())
    nameless = np.flatnonzero(np.isfinite(typed) & ~np.isin(kinds, names))
    this.tell(nameless, "a height above nobody says what: taken as not known")
    return tuple(np.where(kinds == name, typed, np.nan) for name in names)


def _feet_called_metres(this, heights):
    """Ask where most heights are such as only feet are."""
    for name, usual in _TALL_M.items():
        known = heights[name][np.isfinite(heights[name])]
        if known.size and np.median(known) > usual:
            heading = repr(this.heading(name))
            mend = f"if they are feet, mapping={{{heading}: '{name}_ft'}} says so"
            this.notes.append(f"{heading}: half of the heights are above {usual} m; {mend}")


def _licences(this):
    """licensed, permit or other by row, "" where nothing is said; what is off the air goes."""
    codes = columns.coded(this, "licence", otherwise="says nothing")
    off = [k for k, code in enumerate(codes) if code == "-"]
    this.tell(off, "off the air or withdrawn by their status; left out")
    for k in off:
        this.drop([k], f"its status is {this.column('licence')[k]!r}")
    return [code or "" for code in codes]

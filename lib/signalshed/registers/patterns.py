"""Transmit patterns beside a list: in columns of it, in rows of it, in tables below it or in files."""

import csv
import functools
import itertools
import re
from pathlib import Path

import numpy as np

from .headings import LEAST_AZIMUTHS, guess
from .numbers import in_base, number
from .vocabulary import is_blank, meaning

_LEVELS = {"relative_field": "field", "relative_db": "db"}
"""Unit of the levels of a pattern by what heads them, where nothing else says it."""
_MOST_FILES = 400
_LEAST_TURNS = 3
_ENDINGS = (".csv", ".txt", ".pat", ".dat", ".tsv", "")


def shares(azimuths_deg, values, unit):
    """A pattern as sorted pairs (azimuth, relative field), from levels of any kind, or None.

    Parameters: ``azimuths_deg`` true, any order; ``values`` one each; ``unit`` None where nobody says:
    then at most 1.02 is relative field, anything with a 0 in it the dB below the strongest, the rest a
    power in kW. The strongest direction becomes 1.

    >>> shares([0, 90, 180, 270], [0, 6, 20, 6], "db")[1:3]
    ((90.0, 0.5012), (180.0, 0.1))
    """
    found = {}
    for at, value in zip(azimuths_deg, values, strict=True):
        if np.isfinite(at) and np.isfinite(value):
            found.setdefault(float(at) % 360, float(value))
    if len(found) < _LEAST_TURNS:
        return None
    level = np.array(list(found.values()))
    field = _fields(level, unit)
    if not field.max() > 0:
        return None
    field = np.round(field / field.max(), 4)
    return tuple(sorted(zip(found, field.tolist(), strict=True)))


def _fields(level, unit):
    """Relative fields of levels in a unit."""
    if unit == "percent":
        return np.abs(level) / 100
    is_down = level.min() < 0 or (level.min() == 0 and level.max() > 1.02)
    if unit == "db" or (unit is None and is_down):
        return 10 ** (-np.abs(level - (0 if level.min() >= 0 else level.max())) / 20)
    if unit in (None, "field") and level.max() <= 1.02:
        return np.abs(level)
    return np.sqrt([max(in_base(value, unit or "kw"), 0) for value in level])


def of_columns(this):
    """Patterns that stand in columns of the list: a list by row, None where there is none.

    Parameters: ``this`` a columns.Cells.
    """
    at = {k: thing for k, thing in this.meant.items() if thing.at_deg is not None}
    if not at:
        return [None] * len(this.rows)
    title = " ".join([*(this.header[k] for k in at), *this.remarks[:8]]).lower()
    unit = next((thing.unit for thing in at.values() if thing.unit), None)
    every = np.array([_values(this.cells(k)) for k in at]).T
    if unit is None:
        unit = "db" if "attenuation" in title else _kind_of(every)
    return [shares([thing.at_deg for thing in at.values()], row, unit) for row in every]


def round_in_columns(this):
    """What the first column of a pattern says of each row in words: "no" where it is alike all round.

    Parameters: ``this`` a columns.Cells.
    """
    first = next((k for k, thing in this.meant.items() if thing.at_deg is not None), None)
    if first is None:
        return [""] * len(this.rows)
    return [meaning("directional", cell) if cell.isalpha() else "" for cell in this.cells(first)]


def _kind_of(every):
    """What the levels of many patterns are, when no heading says: one kind for the whole list."""
    known = every[np.isfinite(every)]
    if not known.size:
        return None
    if known.max() <= 1.02 and known.min() >= 0:
        return "field"
    rows = every[np.isfinite(every).any(axis=1)]
    tops = np.nanmin(np.abs(rows), axis=1)
    return "db" if known.min() < 0 or (known.max() <= 60 and np.median(tops) == 0) else None


_PAIR = re.compile(r"(\d{1,3}(?:[.,]\d+)?)\s*[=:]\s*([-+]?\d+(?:[.,]\d+)?)")


def pairs_of(cell):
    """Azimuths and levels of a cell such as "0=20|15=18,8", a list of pairs of text; empty for others.

    >>> pairs_of("0=20|15=18,8|30=12"), pairs_of("A7")
    ([('0', '20'), ('15', '18,8'), ('30', '12')], [])
    """
    found = [_PAIR.fullmatch(part.strip()) for part in re.split(r"[|;/]|,\s|\s+(?=\d)", cell)]
    return [pair.groups() for pair in found] if len(found) >= _LEAST_TURNS and all(found) else []


def of_cells(this):
    """Patterns that stand whole in a cell of the list, a list by row, None where there is none.

    Parameters: ``this`` a columns.Cells.
    """
    cells = this.column("pattern")
    found = {cell: pairs_of(cell) for cell in set(cells) if cell}
    every = np.array(_values(level for pairs in found.values() for _, level in pairs))
    if not every.size:
        return [None] * len(cells)
    unit = "db" if "db" in this.heading("pattern").lower() else _kind_of(every[None])
    made = {c: shares(*map(_values, zip(*p, strict=True)), unit) for c, p in found.items() if p}
    return [made.get(cell) for cell in cells]


def _value(cell):
    try:
        return number(cell)[0] if cell else np.nan
    except ValueError:
        return np.nan


def _values(cells):
    return [_value(cell) for cell in cells]


def of_rows(this):
    """A list with a row per azimuth: levels by row, and the unit; None for a list that is none.

    Parameters: ``this`` a columns.Cells. Returns (azimuths (n,), levels (n,), unit).
    """
    level = next(filter(this.has, _LEVELS), None)
    if not this.has("azimuth") or level is None:
        return None
    turns, values = (np.array(_values(this.column(name))) for name in ("azimuth", level))
    return turns, values, this.meant[this.where[level]].unit or _LEVELS[level]


class Library:
    """Patterns by the name a list gives them, from tables below the list and from files beside it.

    Parameters: ``tables`` lists of rows, headings first; ``folder`` of the list, None for a paste.
    """

    def __init__(self, tables, folder):
        self.folder, self.known, self.used = folder, {}, set()
        for table in tables:
            self.known |= named_patterns(table, None)

    def find(self, name):
        """The pattern called ``name`` as pairs, or None."""
        key = _key(name)
        if key not in self.known and self.folder is not None:
            self._look(key)
        return self.known.get(key)

    def _look(self, key):
        for path in self.files:
            if key in (_key(path.name), _key(path.stem)):
                found = named_patterns(_rows(path), path.stem)
                self.used.add(path.name)
                self.known[key] = found.get(key) or next(iter(found.values()), None)
                return
        for path in self.files:
            if path.name not in self.used and key in (found := named_patterns(_rows(path), None)):
                self.used.add(path.name)
                self.known = found | self.known
                return
        self.known[key] = None

    @functools.cached_property
    def files(self):
        """Files beside the list and in its folder patterns that may hold patterns."""
        places = [self.folder / "patterns", self.folder / "Patterns", self.folder]
        found = (sorted(place.iterdir())[:_MOST_FILES] for place in places if place.is_dir())
        paths = itertools.chain.from_iterable(found)
        return [path for path in paths if path.is_file() and path.suffix.lower() in _ENDINGS]


def _key(name):
    """A name of a pattern as it is compared."""
    name = re.sub(r"\.(csv|txt|pat|dat|tsv)$", "", str(name).strip(), flags=re.IGNORECASE)
    return re.sub(r"[^a-z0-9]", "", Path(name.replace("\\", "/")).name.lower())


def _rows(path):
    """Rows of cells of a pattern file; none of what is no text."""
    try:
        text = path.read_text(encoding="utf-8-sig") if path.stat().st_size < 5e6 else ""
    except (OSError, UnicodeDecodeError):
        return []
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    if not lines:
        return []
    mark = max("\t;,", key=lambda m: sum(line.count(m) for line in lines[:20]))
    if mark not in lines[-1]:
        return [line.split() for line in lines]
    return [[cell.strip() for cell in row] for row in csv.reader(lines, delimiter=mark)]


def named_patterns(rows, alone):
    """Patterns of a table by name. Parameters: ``rows`` lists of text, headings first if there are any;
    ``alone`` the name of a table that holds one pattern only, None where a column has to name them.

    >>> rows = [["Antenna ID", "Azimuth", "Relative field"]]
    >>> rows += [["A7", "0", "1"], ["A7", "120", "0.5"], ["A7", "240", "0.5"]]
    >>> named_patterns(rows, None)
    {'a7': ((0.0, 1.0), (120.0, 0.5), (240.0, 0.5))}
    """
    if not rows:
        return {}
    heads = list(enumerate(rows[0]))
    turns = {k: float(cell) for k, cell in heads if re.fullmatch(r"\d{1,3}(\.0+)?", cell)}
    meant = {k: thing for k, cell in heads if (thing := guess(cell))}

    def first(*names, but=()):
        return next((k for k, thing in meant.items() if thing.name in names and k not in but), None)

    turn, level = first("azimuth", "bearing", "degrees"), first(*_LEVELS)
    if turn is not None and level is None:
        level = first("erp", "eirp")
    others = {turn, level, *turns}
    name = first("pattern", "-", "station", but=others)
    if name is None:
        name = next((k for k, _ in heads if k not in others), None)
    if turn is None and len(turns) >= LEAST_AZIMUTHS and name is not None:
        return _wide(rows[1:], name, turns)
    if turn is None or level is None:
        return _bare_pairs(rows, alone)
    unit = meant[level].unit or _LEVELS.get(meant[level].name)
    return _long(rows[1:], (name, turn, level), unit, alone)


def _wide(rows, name, turns):
    whole = [row + [""] * (max(turns) + 1 - len(row)) for row in rows if name < len(row)]
    values = ([_value(row[k]) for k in turns] for row in whole)
    made = (shares(turns.values(), row, None) for row in values)
    return {_key(row[name]): p for row, p in zip(whole, made, strict=True) if p}


def _long(rows, places, unit, alone):
    name, turn, level = places
    groups = {}
    for row in rows:
        if len(row) > max(turn, level):
            key = row[name] if name is not None and len(row) > name else alone
            if key is not None and not is_blank(str(key)):
                groups.setdefault(_key(key), []).append((_value(row[turn]), _value(row[level])))
    made = {key: shares(*zip(*pairs, strict=True), unit) for key, pairs in groups.items()}
    return {key: pattern for key, pattern in made.items() if pattern}


def _bare_pairs(rows, alone):
    """Two columns of numbers without headings: azimuth and level."""
    pairs = [(_value(row[0]), _value(row[1])) for row in rows if len(row) == 2]
    pattern = shares(*zip(*pairs, strict=True), None) if pairs and alone else None
    return {_key(alone): pattern} if pattern else {}

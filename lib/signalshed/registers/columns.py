"""The columns of a list as numbers and words of ours, row by row; what cannot be read is told."""

import contextlib
import functools
import re
from dataclasses import dataclass, field

import numpy as np

from ..words import counted, listed, numbered
from .degrees import angle, both
from .numbers import amount, erp_kw, in_base, in_doubt, mark_of
from .vocabulary import is_blank, meaning, quantities, unit_of

_AXES = ("latitude", "longitude")
_PARTS = ("", "_degrees", "_minutes", "_seconds", "_hemisphere")
_NUMERIC = ("power", "height", "frequency", "distance", "bearing", "ratio")


@dataclass(eq=False)
class Cells:
    """A list on its way to a table: ``rows`` of text, ``header``, ``numbers`` of the lines, ``meant`` by
    position, the ``mark`` between cells; ``notes`` and ``dropped``, reasons by row, gather what is told.
    """

    rows: list
    header: list
    numbers: list
    meant: dict
    mark: str
    notes: list = field(default_factory=list)
    dropped: dict = field(default_factory=dict)
    remarks: tuple = ()

    def __post_init__(self):
        self.where = {}
        for k, thing in self.meant.items():
            self.where.setdefault(thing.name, k)

    def has(self, name):
        """Whether the list has a column of that ``name``."""
        return name in self.where

    def column(self, name):
        """The cells of a column by its ``name``, empty where they say nothing; all empty without one."""
        if name not in self.where:
            return [""] * len(self.rows)
        return self.cells(self.where[name])

    def cells(self, position):
        """The cells at a ``position``, empty where they say nothing."""
        return ["" if is_blank(row[position]) else row[position].strip() for row in self.rows]

    def heading(self, name):
        """The list's own heading of a column by its ``name``."""
        return self.header[self.where[name]]

    def tell(self, rows, text):
        """A note: count and lines of some ``rows``, then a ``text`` on them. ``rows`` are positions."""
        if len(rows):
            lines = numbered([self.numbers[k] for k in rows], most=5)
            said = f"{counted(len(rows), 'row')} (line{'s' * (len(rows) > 1)} {lines})"
            self.notes.append(f"{said}: {text}")

    def drop(self, rows, reason, text=""):
        """Leave ``rows`` out for a ``reason``, the first one stays; with a ``text`` as in ``tell``."""
        if text:
            self.tell(rows, f"{text}; left out")
        for k in rows:
            self.dropped.setdefault(int(k), reason)

    @functools.cached_property
    def decimal_of_file(self):
        """The decimal mark that plain numbers anywhere in the list settle, "" if they do not agree."""
        kinds = ((k, quantities().get(thing.name, "ratio")) for k, thing in self.meant.items())
        cells = (cell for k, kind in kinds if kind in _NUMERIC for cell in set(self.cells(k)))
        marks = set(map(mark_of, cells)) - {""}
        return marks.pop() if len(marks) == 1 else ""

    @functools.cached_property
    def angles(self):
        """The texts of latitude and longitude by row, whichever columns hold their parts."""
        columns = ([self.column(axis + part) for part in _PARTS] for axis in _AXES)
        axes = [[" ".join(filter(None, cells)) for cells in zip(*c, strict=True)] for c in columns]
        return list(zip(*axes, strict=True))


def decimal_mark(this, position):
    """The decimal mark of a column, and which cells stay in doubt: (mark, set of texts).

    Its own cells settle it, else those of the whole list, else the mark that parts the cells.
    Parameters: ``this`` a Cells; ``position`` of the column.
    """
    texts, heading = set(this.cells(position)), repr(this.header[position])
    marks = {mark_of(text) for text in texts} - {""}
    doubtful = {text for text in texts if in_doubt(text)}
    if len(marks) == 2:
        rows = [k for k, text in enumerate(this.cells(position)) if text in doubtful]
        this.notes.append(
            f"{heading} mixes decimal commas and points; each is read by its own marks"
        )
        this.tell(rows, f"{heading} can be read in two ways there; not known")
        return ".", doubtful
    mark = next(iter(marks), "") or this.decimal_of_file
    if not mark:
        mark = "," if this.mark == "semicolons" and any("," in text for text in doubtful) else "."
        if doubtful:
            first = min(doubtful)
            taken = "decimal" if mark in first else "thousands"
            said = f"{first!r} may be read in two ways; taken as a {taken} mark"
            this.notes.append(f"{heading}: {said}")
    return mark, set()


def amounts(this, name):
    """A column as Amounts by row, None where empty or not read; unreadable cells are told.

    Parameters: ``this`` a Cells; ``name`` of the column.
    """
    if not this.has(name):
        return [None] * len(this.rows)
    position, quantity = this.where[name], quantities().get(name, "ratio")
    mark, doubtful = decimal_mark(this, position)
    found, bad = [], []
    for k, text in enumerate(this.cells(position)):
        try:
            found.append(None if not text or text in doubtful else amount(text, quantity, mark))
        except ValueError:
            found.append(None)
            bad.append(k)
    example = this.rows[bad[0]][position][:30] if bad else ""
    what = f"{this.header[position]!r} is no number there ({example!r})"
    this.tell(bad, f"{what}; taken as not known")
    return found


def measured(this, name, usual):
    """A column as numbers in km, m, MHz or degrees (n,): NaN where not known.

    Parameters: ``this`` a Cells; ``name`` of the column; ``usual`` unit where neither heading nor cell
    names one.
    """
    found = amounts(this, name)
    if not this.has(name):
        return np.full(len(this.rows), np.nan)
    unit = this.meant[this.where[name]].unit
    if unit is None and any(a is not None and a.unit is None for a in found):
        this.notes.append(f"{this.heading(name)!r} names no unit: taken as {usual}")
    return np.array(
        [np.nan if a is None else in_base(a.value, a.unit or unit or usual) for a in found]
    )


def coded(this, kind, name=None, otherwise=""):
    """A column of codes as our words (list): "" where empty, None where the code is not known.

    Parameters: ``this`` a Cells; ``kind`` of codes in vocabulary.words; ``name`` of the column, None for
    the one called as its kind; ``otherwise`` what is done with codes not known, for a note; "": none.
    """
    name = name or kind
    cells = this.column(name)
    known = {cell: _code(this, kind, cell) for cell in set(cells)}
    strange = sorted(cell for cell, meant in known.items() if meant is None)
    if strange and otherwise:
        this.notes.append(f"{this.heading(name)!r}: {listed(strange)} is not known and {otherwise}")
    return [known[cell] for cell in cells]


def _code(this, kind, cell):
    """What a code means: as the list's own remarks explain it, or as the trade has it."""
    if not cell:
        return ""
    if len(cell) <= 3:
        legend = re.compile(
            rf"(?<!\w){re.escape(cell)}\s*[=:\u2013-]?\s+([a-z][^|;]*?)(?:\s{{2,}}|$)", re.I
        )
        told = (found[1] for line in this.remarks for found in legend.finditer(line))
        explained = next((m for text in told if (m := meaning(kind, text)) is not None), None)
        if explained is not None:
            return explained
    return meaning(kind, cell)


# ---- power ----------------------------------------------------------------------------------------


def powers_kw(this):
    """Greatest ERP (n,) in kW, NaN where not known, and whether H and V powers say "both" (n,) bools.

    Parameters: ``this`` a Cells. Rows of no power at all are dropped.
    """
    names = ("erp", "eirp", "erp_h", "eirp_h", "erp_v", "eirp_v")
    erp, eirp, *by_plane = (_power_kw(this, name) for name in names)
    across, upright = np.fmax(*by_plane[:2]), np.fmax(*by_plane[2:])
    whole = np.where(np.isnan(erp), eirp, erp)
    whole = np.where(np.isnan(whole), np.fmax(across, upright), whole)
    this.drop(np.flatnonzero(whole <= 0), "its power is 0 or less", "a power of 0 or less")
    planes = np.where(across > 0, 1, 0) + np.where(upright > 0, 2, 0)
    return np.where(whole > 0, whole, np.nan), planes


def _power_kw(this, name):
    if not this.has(name):
        return np.full(len(this.rows), np.nan)
    found = amounts(this, name)
    units = [unit_of(cell, "power") for cell in this.column("power_unit")]
    kinds = [name[:2] == "ei" or "i" in cell.lower() for cell in this.column("power_kind")]
    given = this.meant[this.where[name]].unit
    rows = [(k, a, a.unit or units[k] or given) for k, a in enumerate(found) if a is not None]
    usual = given or _likely_unit(this, name, [a.value for _, a, unit in rows if not unit])
    kw = np.full(len(found), np.nan)
    for k, a, unit in rows:
        isotropic = kinds[k] if a.is_isotropic is None else a.is_isotropic
        kw[k] = erp_kw(a.value, unit or usual, isotropic)
    return kw


_LEAST_W = 10_000
_AMONG_OTHERS_DEG = 15


def _likely_unit(this, name, values):
    """kW or W of numbers without any unit: no television transmitter radiates more than 10000 kW."""
    if not values:
        return "kw"
    unit, other = ("W", "kw") if max(values) > _LEAST_W else ("kW", "w")
    heading = repr(this.heading(name))
    mend = f"mapping={{{heading}: '{name}_{other}'}} reads it otherwise"
    this.notes.append(f"{heading} names no unit: taken as {unit}; {mend}")
    return unit.lower()


# ---- place ----------------------------------------------------------------------------------------


def positions(this):
    """Latitudes and longitudes (n,), NaN where a row gives none. Rows that cannot be read are dropped.

    Parameters: ``this`` a Cells.
    """
    other, pairs, bad = _other_letter(this), [], []
    for k in range(len(this.rows)):
        try:
            pairs.append(_pair(this, k, other))
        except ValueError as error:
            pairs.append(_NOWHERE)
            bad.append(k)
            this.drop([k], f"its coordinates cannot be read: expected {error}")
    this.tell(bad, "coordinates that cannot be read; left out")
    values, letters = np.array(pairs, dtype=object).reshape(-1, 2, 2).T
    return _turned(this, values.astype(float), letters)


def _other_letter(this):
    """What a letter O means: the other one of E and W that the list writes."""
    texts = " ".join([*(longitude for _, longitude in this.angles), *this.column("coordinates")])
    letters = set(re.findall(r"(?<![A-Z])[EWO](?![A-Z])", texts.upper()))
    if {"O", "W"} <= letters and "E" not in letters:
        return _side_of_o(this)
    return "W"


def _side_of_o(this):
    """East or west for an O beside W: whichever keeps the list together."""
    spread = {}
    for side in ("W", "E"):
        longitudes = []
        for k in range(len(this.rows)):
            with contextlib.suppress(ValueError):
                longitudes.append(_pair(this, k, side)[1][0])
        spread[side] = np.nanmax(longitudes) - np.nanmin(longitudes) if longitudes else 0.0
    return min(spread, key=spread.get)


def _own_place(this, spots):
    """Single rows off the globe turned round where that puts them among the others, and told."""
    middle = np.nanmedian(spots, axis=1) if np.isfinite(spots).any() else np.zeros(2)
    near = np.abs(spots[::-1] - middle[:, None]).max(axis=0) < _AMONG_OTHERS_DEG
    rows = np.flatnonzero((np.abs(spots[0]) > 90) & near)
    if len(rows) < 0.5 * spots.shape[1]:
        this.tell(rows, f"{_SWAPPED}; turned round")
        spots[:, rows] = spots[::-1, rows]
    return spots


_NOWHERE = ((np.nan, ""), (np.nan, ""))
_SWAPPED = "latitude and longitude stand in each other's column"


def _pair(this, k, other):
    """((degrees, letter), (degrees, letter)) of one row; NaN where empty."""
    texts, pair = this.angles[k], []
    if not any(texts):
        together = this.column("coordinates")[k] if this.has("coordinates") else ""
        return both(together, other) if together else _NOWHERE
    for axis, text in zip(_AXES, texts, strict=True):
        value, letter = angle(text, other) if text else (np.nan, "")
        sign = next((t.sign for t in this.meant.values() if t.name == axis), 1)
        pair.append((-abs(value) if sign < 0 and not letter and value > 0 else value, letter))
    return tuple(pair)


def _turned(this, spots, letters):
    """Coordinates the right way round by their letters; what lies off the globe is dropped."""
    swapped = np.array([a in ("E", "W") or b in ("N", "S") for a, b in letters.T], bool)
    this.tell(np.flatnonzero(swapped), f"{_SWAPPED} by their letters; turned round")
    spots[:, swapped] = spots[::-1, swapped]
    spots = _own_place(this, spots)
    wide = np.abs(spots[0]) > 90
    could_swap = wide & (np.abs(spots[1]) <= 90) & (np.abs(spots[0]) <= 180)
    if could_swap.sum() > 0.5 * np.isfinite(spots[0]).sum():
        this.notes.append(f"{_SWAPPED}: read the other way round")
        return spots[::-1]
    bad = np.flatnonzero(wide | (np.abs(spots[1]) > 180))
    why = "its latitude or longitude is off the globe; are the two swapped?"
    this.drop(bad, why, "off the globe (are latitude and longitude swapped?)")
    spots[:, bad] = np.nan
    return spots

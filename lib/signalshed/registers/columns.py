"""The columns of a list as numbers and words of ours, row by row; what cannot be read is told."""

import contextlib
import re
from dataclasses import dataclass, field

import numpy as np

from ..words import counted, numbered
from .degrees import angle, both
from .numbers import amount, erp_kw, in_base, in_doubt, mark_of
from .vocabulary import is_blank, meaning, quantities

_PARTS = ("degrees", "minutes", "seconds", "hemisphere")
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
        self._decimal_of_file = None

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

    def drop(self, k, reason):
        """Leave row ``k`` out for a ``reason``; the first reason stays."""
        self.dropped.setdefault(k, reason)

    def tell(self, rows, text):
        """A sentence with the count and lines of some ``rows``; ``text`` with {rows} in it."""
        if len(rows):
            lines = numbered([self.numbers[k] for k in rows], most=5)
            said = f"{counted(len(rows), 'row')} (line{'s' * (len(rows) > 1)} {lines})"
            self.notes.append(text.replace("{rows}", said))

    def numeric(self):
        """Positions of columns that hold numbers."""
        return [k for k, t in self.meant.items() if quantities().get(t.name, "ratio") in _NUMERIC]

    def decimal_of_file(self):
        """The decimal mark that plain numbers anywhere in the list settle, "" if they do not agree."""
        if self._decimal_of_file is None:
            marks = {mark_of(cell) for k in self.numeric() for cell in set(self.cells(k))} - {""}
            self._decimal_of_file = marks.pop() if len(marks) == 1 else ""
        return self._decimal_of_file


def decimal_mark(this, position):
    """The decimal mark of a column, and which cells stay in doubt: (mark, set of texts).

    Its own cells settle it, else those of the whole list, else the mark that parts the cells.
    Parameters: ``this`` a Cells; ``position`` of the column.
    """
    texts = set(this.cells(position))
    marks = {mark_of(text) for text in texts} - {""}
    doubtful = {text for text in texts if in_doubt(text)}
    if len(marks) == 2:
        rows = [k for k, text in enumerate(this.cells(position)) if text in doubtful]
        this.notes.append(
            f"{this.header[position]!r} mixes decimal commas and points; each is read by its own marks"
        )
        this.tell(
            rows,
            f"{{rows}}: {this.header[position]!r} can be read in two ways there; not known",
        )
        return ".", doubtful
    mark = next(iter(marks), "") or this.decimal_of_file()
    if not mark:
        mark = "," if this.mark == "semicolons" and any("," in text for text in doubtful) else "."
        if doubtful:
            this.notes.append(
                f"{this.header[position]!r}: {sorted(doubtful)[0]!r} may be read in two ways; "
                f"taken as a {'decimal' if mark in sorted(doubtful)[0] else 'thousands'} mark"
            )
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
    this.tell(
        bad,
        f"{{rows}}: {this.header[position]!r} is no number there ({example!r}); taken as not known",
    )
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


def coded(this, name, kind):
    """A column of codes as our words (list): "" where empty, None where the code is not known.

    Parameters: ``this`` a Cells; ``name`` of the column; ``kind`` of codes in vocabulary.words.
    """
    cells = this.column(name)
    known = {cell: _code(this, kind, cell) for cell in set(cells)}
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
    n = len(this.rows)
    erp = {
        name: _power_kw(this, name)
        for name in ("erp", "erp_h", "erp_v", "eirp", "eirp_h", "eirp_v")
    }
    across = np.fmax(erp["erp_h"], erp["eirp_h"])
    upright = np.fmax(erp["erp_v"], erp["eirp_v"])
    whole = np.where(np.isnan(erp["erp"]), erp["eirp"], erp["erp"])
    whole = np.where(np.isnan(whole), np.fmax(across, upright), whole)
    zero = [k for k in range(n) if whole[k] <= 0]
    this.tell(zero, "{rows}: a power of 0 or less; left out")
    for k in zero:
        this.drop(k, "its power is 0 or less")
    planes = np.where(across > 0, 1, 0) + np.where(upright > 0, 2, 0)
    return np.where(whole > 0, whole, np.nan), planes


def _power_kw(this, name):
    if not this.has(name):
        return np.full(len(this.rows), np.nan)
    found = amounts(this, name)
    units = [meaning_of_unit(cell) for cell in this.column("power_unit")]
    kinds = [cell.lower() for cell in this.column("power_kind")]
    given = this.meant[this.where[name]].unit
    bare = [
        a.value for a, unit in zip(found, units, strict=True) if a and not (a.unit or unit or given)
    ]
    usual = given or _likely_unit(this, name, bare)
    kw = np.full(len(found), np.nan)
    for k, a in enumerate(found):
        if a is not None:
            isotropic = (
                a.is_isotropic
                if a.is_isotropic is not None
                else "i" in kinds[k] or name[:2] == "ei"
            )
            kw[k] = erp_kw(a.value, a.unit or units[k] or usual, isotropic)
    return kw


def meaning_of_unit(cell):
    """Our name of a unit of power in a cell, or None."""
    from .vocabulary import unit_of

    return unit_of(cell, "power") if cell else None


_LEAST_W = 10_000
_AMONG_OTHERS_DEG = 15


def _likely_unit(this, name, values):
    """kW or W of numbers without any unit: no television transmitter radiates more than 10000 kW."""
    if not values:
        return "kw"
    unit = "w" if max(values) > _LEAST_W else "kw"
    other = "kw" if unit == "w" else "w"
    this.notes.append(
        f"{this.heading(name)!r} names no unit: taken as {'W' if unit == 'w' else 'kW'}; "
        f"mapping={{{this.heading(name)!r}: '{name}_{other}'}} reads it otherwise"
    )
    return unit


# ---- place ----------------------------------------------------------------------------------------


def positions(this):
    """Latitudes and longitudes (n,), NaN where a row gives none. Rows that cannot be read are dropped.

    Parameters: ``this`` a Cells.
    """
    n, other = len(this.rows), _other_letter(this)
    spots, letters, bad = np.full((2, n), np.nan), np.full((2, n), "", dtype=object), []
    for k in range(n):
        try:
            pair = _pair(this, k, other)
        except ValueError as error:
            bad.append(k)
            this.drop(k, f"its coordinates cannot be read: expected {error}")
            continue
        for axis, (value, letter) in enumerate(pair):
            spots[axis, k], letters[axis, k] = value, letter
    this.tell(bad, "{rows}: coordinates that cannot be read; left out")
    return _turned(this, spots, letters)


def _texts(this, axis):
    """The cells of one axis, whichever columns hold its parts."""
    names = [axis, *(f"{axis}_{part}" for part in _PARTS)]
    there = [this.column(name) for name in names if this.has(name)]
    return (
        [" ".join(filter(None, cells)) for cells in zip(*there, strict=True)]
        if there
        else [""] * len(this.rows)
    )


def _other_letter(this):
    """What a letter O means: the other one of E and W that the list writes."""
    texts = " ".join([*_axis(this, "longitude"), *this.column("coordinates")])
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
        this.tell(rows, "{rows}: latitude and longitude stand in each other's column; turned round")
        spots[:, rows] = spots[::-1, rows]
    return spots


def _axis(this, axis):
    if axis not in this.__dict__:
        this.__dict__[axis] = _texts(this, axis)
    return this.__dict__[axis]


def _pair(this, k, other):
    """((degrees, letter), (degrees, letter)) of one row; NaN where empty."""
    texts = [_axis(this, axis)[k] for axis in ("latitude", "longitude")]
    if not any(texts):
        together = this.column("coordinates")[k] if this.has("coordinates") else ""
        return both(together, other) if together else ((np.nan, ""), (np.nan, ""))
    pair = []
    for axis, text in zip(("latitude", "longitude"), texts, strict=True):
        value, letter = angle(text, other) if text else (np.nan, "")
        sign = next((t.sign for t in this.meant.values() if t.name == axis), 1)
        pair.append((-abs(value) if sign < 0 and not letter and value > 0 else value, letter))
    return tuple(pair)


def _turned(this, spots, letters):
    """Coordinates the right way round by their letters; what lies off the globe is dropped."""
    swapped = np.array([a in ("E", "W") or b in ("N", "S") for a, b in letters.T], bool)
    this.tell(
        np.flatnonzero(swapped),
        "{rows}: latitude and longitude stand in each other's column by their letters; turned round",
    )
    spots[:, swapped] = spots[::-1, swapped]
    spots = _own_place(this, spots)
    wide = np.abs(spots[0]) > 90
    could_swap = wide & (np.abs(spots[1]) <= 90) & (np.abs(spots[0]) <= 180)
    if could_swap.sum() > 0.5 * np.isfinite(spots[0]).sum():
        this.notes.append(
            "latitude and longitude stand in each other's column: read the other way round"
        )
        return spots[::-1]
    bad = np.flatnonzero(wide | (np.abs(spots[1]) > 180))
    this.tell(
        bad,
        "{rows}: off the globe (are latitude and longitude swapped?); left out",
    )
    for k in bad:
        this.drop(k, "its latitude or longitude is off the globe; are the two swapped?")
    spots[:, bad] = np.nan
    return spots

"""A list without headings: its columns have numbers, and what the shapes of their cells tell."""

import re
from dataclasses import dataclass, field

from ..words import listed
from .degrees import angle
from .headings import Meant
from .vocabulary import filled_cells, meaning, quantities, unit_of

_MOST = 0.9
"""Share of the cells of a column that have to be of one shape."""
_CALL = re.compile(r"(?=[^\d-]*[A-Z])[A-Z0-9]{3,7}(-[A-Z0-9]{2,4})?")
_WITH_UNIT = re.compile(r"[\d.,]+\s*([A-Za-z]+)")
_DECIMAL = re.compile(r"[-+\u2212]?\d{1,3}[.,]\d{3,}")
_CODES = ("licence", "service", "directional", "polarization")
_MOST_CODES = 12
_HIGHEST_TV, _FIRST_FM, _LAST_FM = 69, 200, 300
NEEDS = ("a channel", "latitude and longitude", "a power")


@dataclass
class _Columns:
    """Cells that say something, by position, and what was found out: ``found`` Meant by position."""

    cells: dict
    rows: int
    found: dict = field(default_factory=dict)

    def left(self):
        """Positions of which nothing is known yet, with their cells."""
        return [(k, cells) for k, cells in self.cells.items() if cells and k not in self.found]

    def take(self, k, name, unit=None):
        """Say what a column is, once for each name."""
        if name not in {thing.name for thing in self.found.values()}:
            self.found[k] = Meant(name, unit)


def told_by_shape(rows, given):
    """What columns without headings mean, by position, from the shapes of their cells alone.

    Call signs, channels, degrees with letters, powers and frequencies with units, and codes of licence,
    service and polarization have shapes of their own; heights and places have none. Parameters: ``rows``
    of text; ``given`` a dict from position to Meant, None for a column to leave out; it goes first.

    >>> rows = [["QAB-TV", "24", "30 47 27 N", "40 23 28 W", "50 kW"]]
    >>> [thing.name for thing in told_by_shape(rows, {}).values()]
    ['station', 'rf_channel', 'latitude', 'longitude', 'erp']
    """
    cells = {k: cells for k, cells in filled_cells(rows).items() if k not in given}
    these = _Columns(cells, len(rows))
    these.found.update({k: thing for k, thing in given.items() if thing is not None})
    for look in (_parts, _angles, _amounts, _codes, _calls, _channels):
        look(these)
    return dict(sorted(these.found.items()))


def lacking(found):
    """What a list cannot do without and its columns do not tell, a list of words."""
    names = {thing.name for thing in found.values()}
    both = {"latitude", "longitude"} <= names or "coordinates" in names
    both |= {"latitude_degrees", "longitude_degrees"} <= names
    there = (bool({"rf_channel", "freq"} & names), both, bool({"erp", "eirp"} & names))
    return [need for need, is_there in zip(NEEDS, there, strict=True) if not is_there]


def told(found):
    """One sentence on how the columns were understood."""
    names = listed([f"{k + 1} {thing.shown}" for k, thing in found.items()], 20)
    return (
        f"it has no headings: columns were told by the shapes of their cells ({names}); "
        "mapping={'3': 'rf_channel', ...} by the number of a column mends it and adds heights and places"
    )


def wanted(row, missing):
    """A sentence on what to give, with the first ``row`` by the numbers of its columns."""
    cells = ", ".join(f"{k} {cell!r}" for k, cell in enumerate(row, 1) if cell)
    return (
        "one row of headings such as call sign, channel, latitude, longitude, ERP; no such row was "
        f"found, and the cells do not tell {listed(missing, 3)}. Say what each column is by its number: "
        "mapping={'1': 'station', '3': 'rf_channel', '7': 'latitude', '8': 'longitude', '9': 'erp_kw'}. "
        f"The first row has {cells}"
    )


def _share(cells, test):
    return sum(map(bool, map(test, cells))) / len(cells)


def _parts(these):
    """A column of N and S, or E and W, with degrees, minutes and seconds beside it."""
    for axis, letters, top in (("latitude", {"N", "S"}, 90), ("longitude", {"E", "W"}, 180)):
        for k, cells in these.left():
            if not {cell.upper() for cell in cells} <= letters:
                continue
            for places in ((k + 1, k + 2, k + 3), (k - 3, k - 2, k - 1)):
                if _are_parts(these, places, top):
                    these.take(k, f"{axis}_hemisphere")
                    for at, part in zip(places, ("degrees", "minutes", "seconds"), strict=True):
                        these.take(at, f"{axis}_{part}")
                    break


def _are_parts(these, places, top):
    """Whether three open columns are whole degrees, whole minutes and seconds."""
    columns = dict(these.left())
    tops = zip(places, (r"\d+", r"\d+", r"\d+[.,]?\d*"), (top + 1, 60, 60), strict=True)
    return all(
        at in columns
        and all(re.fullmatch(shape, c) and float(c.replace(",", ".")) < below for c in columns[at])
        for at, shape, below in tops
    )


def _angles(these):
    """Degrees with their letter in one cell; else two neighbours with decimals, latitude first."""
    for k, cells in these.left():
        letters = {_letter(cell) for cell in cells}
        if letters <= {"N", "S"}:
            these.take(k, "latitude", "deg")
        elif letters <= {"E", "W"}:
            these.take(k, "longitude", "deg")
    decimal = [k for k, cells in these.left() if _share(cells, _DECIMAL.fullmatch) >= _MOST]
    if len(decimal) == 2 and decimal[1] == decimal[0] + 1:
        these.take(decimal[0], "latitude", "deg")
        these.take(decimal[1], "longitude", "deg")


def _letter(cell):
    try:
        return angle(cell, "W")[1] if re.search(r"\d", cell) else ""
    except ValueError:
        return ""


def _amounts(these):
    """Powers and frequencies: numbers with their unit in the cell, the first column of each."""
    for name in ("erp", "freq"):
        for k, cells in these.left():
            units = [found[1] for cell in cells if (found := _WITH_UNIT.fullmatch(cell))]
            known = sum(unit_of(unit, quantities()[name]) is not None for unit in units)
            if known >= _MOST * len(cells):
                these.take(k, name)


def _codes(these):
    """Columns whose cells are all codes of one kind; a letter alone counts for the polarization only."""
    for kind in _CODES:
        for k, cells in these.left():
            different = set(cells)
            is_short = kind != "polarization" and max(map(len, different)) < 2
            if len(different) > _MOST_CODES or is_short or any(map(str.isdigit, different)):
                continue
            if all(meaning(kind, cell) is not None for cell in different):
                these.take(k, kind)


def _calls(these):
    """The first column of call signs: capitals and digits, most of them different."""
    for k, cells in these.left():
        if _share(cells, _CALL.fullmatch) >= _MOST and 2 * len(set(cells)) > len(cells):
            these.take(k, "station")


def _channels(these):
    """The one column of whole numbers that channels have; where two could be, one must be told."""
    likely = [
        k for k, cells in these.left() if 2 * len(cells) > these.rows and _are_channels(cells)
    ]
    if len(likely) == 1:
        these.take(likely[0], "rf_channel")


def _are_channels(cells):
    if not all(re.fullmatch(r"\d{1,3}", cell) for cell in cells):
        return False
    numbers = [int(cell) for cell in cells]
    tv = sum(1 < n <= _HIGHEST_TV for n in numbers)
    radio = sum(_FIRST_FM <= n <= _LAST_FM for n in numbers)
    return tv > 0 and tv + radio == len(numbers)

"""What the cells of a column tell that its heading does not: units beside numbers, codes of one kind."""

import re
from dataclasses import replace

from .headings import Meant
from .patterns import pairs_of
from .vocabulary import filled_cells, meaning, quantities, unit_of

_KINDS = {"height_kind": 2, "standard": 3, "licence": 3, "polarization": 4, "service": 3}
"""Kinds of codes a column may show by its cells, and how long a code has to be to count."""
_MOST_OF = 0.7


def told_by_cells(rows, found, given):
    """What each column means, by position, with what its cells add to the headings.

    Parameters: ``rows`` of text; ``found`` Meant by position; ``given`` positions told by a mapping,
    which stay as they are.

    >>> known = {0: Meant("station"), 1: Meant("erp")}
    >>> told_by_cells([["A", "5", "kW"], ["B", "7", "kW"]], known, ())[1].unit
    'kw'
    """
    columns, found = filled_cells(rows), dict(found)
    for k, thing in list(found.items()):
        beside = _unit_beside(columns, k, thing, found)
        if beside and k not in given:
            found[k] = replace(thing, unit=beside)
    for k, cells in columns.items():
        if k in found or k in given or not cells:
            continue
        taken = {thing.name for thing in found.values()}
        is_pattern = "pattern" not in taken and all(map(pairs_of, cells))
        kind = "pattern" if is_pattern else _kind_of(cells, taken)
        if kind:
            found[k] = Meant(kind)
    return found


def _unit_beside(columns, k, thing, found):
    """The one unit that the column to the right of a column of numbers holds, or None."""
    quantity = quantities().get(thing.name)
    if quantity not in ("power", "height", "frequency") or thing.unit or k + 1 in found:
        return None
    units = {unit_of(cell, quantity) for cell in columns.get(k + 1, ())}
    return units.pop() if len(units) == 1 else None


def _kind_of(cells, taken):
    """The kind of codes that most different cells of a column are of, and that no column has yet."""
    different = {cell for cell in cells if not re.fullmatch(r"[\d.,:/ -]+", cell)}
    planes = {"h", "v"} <= {cell.lower() for cell in different}
    if planes and all(meaning("polarization", cell) for cell in different):
        return "polarization" if "polarization" not in taken else None
    if not different or len(different) > 60:
        return None
    for kind, least in _KINDS.items():
        known = sum(len(cell) >= least and bool(meaning(kind, cell)) for cell in different)
        if kind not in taken and known >= _MOST_OF * len(different):
            return kind
    return None

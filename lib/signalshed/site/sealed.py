"""Tables and arrays that are read and never written, so that what was computed from them stays true."""

from dataclasses import fields

import numpy as np
import pandas as pd

_READ = "The tables of a site are read, never edited in place: change a copy "
_HOW = {
    "stations": "and make a new site of it, as site.with_stations(site.stations.assign(erp_kw=5.0)).",
    "readings": "and learn from it, as survey.inform(site, readings), or correct readings.csv and open "
    "the folder again.",
    "ladder": "and make a new site of it, as dataclasses.replace(site, ladder=ladder), or correct "
    "meter.csv and open the folder again.",
}


def _reading(name):
    """The indexer ``name`` of a DataFrame, to read."""
    return property(lambda table: _Reader(getattr(super(Sealed, table), name), table._of))


class Sealed(pd.DataFrame):
    """A table of a site. What is sliced or worked out of it is an ordinary DataFrame again."""

    _of = "stations"
    loc, iloc, at, iat = map(_reading, ("loc", "iloc", "at", "iat"))

    @property
    def _constructor(self):
        return pd.DataFrame

    @property
    def _constructor_sliced(self):
        return _column


def _column(data=None, *args, **kwargs):
    """A column as pandas made it: built once more it would take twice the time."""
    made = isinstance(data, pd.Series) and not args and not kwargs
    return data if made else pd.Series(data, *args, **kwargs)


class _Reader:
    """An indexer of pandas that reads, and says what to do in place of writing."""

    def __init__(self, indexer, of):
        self._indexer, self._of = indexer, of

    def __getitem__(self, key):
        return self._indexer[key]

    def __setitem__(self, key, value):
        raise ValueError(_READ + _HOW[self._of])

    def __call__(self, axis=None):
        return self._indexer(axis)

    def __getattr__(self, name):
        return getattr(self._indexer, name)


def sealed(table: pd.DataFrame | None, of: str = "stations") -> Sealed | None:
    """A copy of a table whose cells cannot be written.

    Parameters
    ----------
    table
        A DataFrame; a sealed one and None are handed back as they are.
    of
        Stations, readings or ladder: what to do in place of writing depends on it.

    Returns
    -------
    Sealed or None
        A DataFrame that is read only; what is worked out of it is an ordinary one.

    Examples
    --------
    >>> try:
    ...     sealed(pd.DataFrame({"erp_kw": [1.0]})).loc[0, "erp_kw"] = 5.0
    ... except ValueError as refused:
    ...     print(str(refused)[:60])
    The tables of a site are read, never edited in place: change
    """
    if table is None or isinstance(table, Sealed):
        return table
    table = Sealed(table.copy())
    table.__dict__["_of"] = of
    mark(table)
    return table


def mark(thing: object) -> tuple:
    """What tells a thing from any other.

    A table is told by its blocks of columns: with a column put in place of another they are others.
    Arrays in place that could still be written are closed on the way.

    Parameters
    ----------
    thing
        Anything; of a dict its values count.

    Returns
    -------
    (compared, kept)
        What is compared, hashable, and what has to be kept for it to hold.

    Examples
    --------
    >>> table = sealed(pd.DataFrame({"erp_kw": [1.0]}))
    >>> before = mark(table)[0]
    >>> table["erp_kw"] = [2.0]
    >>> mark(table)[0] == before
    False
    """
    if isinstance(thing, dict):
        return tuple((name, id(each)) for name, each in thing.items()), dict(thing)
    if not isinstance(thing, pd.DataFrame):
        return id(thing), thing
    kept = thing._mgr.blocks, thing._mgr.axes[0]
    marks = id(kept[0]), id(kept[1])
    if thing.__dict__.get("_closed", ((),))[0] != marks:
        for array in thing._mgr.arrays:
            _close(array)
        thing.__dict__["_closed"] = marks, kept
    return marks, kept


def _close(array):
    """Close a column's array for writing, and those it is a view of, or it could be opened again."""
    if not isinstance(array, np.ndarray):
        array._readonly = True
        array = getattr(array, "_ndarray", None)
    while isinstance(array, np.ndarray):
        array.setflags(write=False)
        array = array.base


def read_only(thing: object) -> None:
    """Close all arrays among the fields of a dataclass for writing: for its __post_init__.

    Parameters
    ----------
    thing
        Of a dataclass.

    Examples
    --------
    >>> from dataclasses import dataclass
    >>> @dataclass(frozen=True)
    ... class Pair:
    ...     level_db: np.ndarray
    >>> pair = Pair(np.zeros(2))
    >>> read_only(pair)
    >>> pair.level_db[0] = 1
    Traceback (most recent call last):
    ValueError: assignment destination is read-only
    """
    for each in fields(thing):
        value = getattr(thing, each.name)
        if isinstance(value, np.ndarray):
            value.setflags(write=False)

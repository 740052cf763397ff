"""Numbers from standards, handbooks and our own judgement: one CSV file per table.

Every row names its ``source``, and its ``status``:

- ``published``: compared with the source or with a copy that names it
- ``derived``: computed from published numbers
- ``practice``: common practice, no source
- ``judgement``: our own judgement, open to argument
- ``unchecked``: not compared with its source, and never cited as checked
"""

import collections
import functools
from importlib import resources

import pandas as pd


@functools.cache
def _read(name):
    file = resources.files(__package__) / f"{name}.csv"
    if name not in names():
        raise ValueError(f"There is no facts table {name[:60]!r}; there are {', '.join(names())}.")
    with file.open(encoding="utf-8") as text:
        return pd.read_csv(text, dtype={"rf_channel": str})


def names():
    """Names of all facts tables, sorted.

    >>> "constants" in names()
    True
    """
    files = resources.files(__package__).iterdir()
    return sorted(f.name.removesuffix(".csv") for f in files if f.name.endswith(".csv"))


def table(name):
    """One facts table as a DataFrame, a copy you may change.

    Parameters: ``name``, the file name without its ending. Raises ValueError for an unknown name.

    >>> table("constants").columns.tolist()
    ['name', 'value', 'unit', 'source', 'status']
    """
    return _read(str(name)).copy()


def value(name, key):
    """One number: the ``value`` in the row called ``key`` of a table with ``name`` and ``value``.

    >>> value("constants", "speed_of_light")
    299792458.0
    """
    return _value(str(name), str(key))


@functools.cache
def _value(name, key):
    rows = _read(name)
    found = rows.loc[rows["name"] == key, "value"]
    if found.empty:
        raise ValueError(f"Facts table {name!r} has no {key!r}; it has {', '.join(rows['name'])}.")
    return float(found.iloc[0])


@functools.cache
def numbers(name):
    """All numbers of a table with ``name`` and ``value`` by their names, for formulas that take many.

    >>> numbers("path_constants").earth_radius
    6371.0
    """
    rows = _read(name)
    return collections.namedtuple(name, rows["name"])(*rows["value"].astype(float))


__all__ = ["names", "numbers", "table", "value"]


def __dir__():
    return __all__

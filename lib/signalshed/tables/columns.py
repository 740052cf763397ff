"""Every column of every file and every key of every TOML table, from ``columns.csv`` beside this.

A row of ``columns.csv`` is one column: the table it stands in (``files.csv`` says in which file that
is), kind, unit, range (``>0`` an excluded end), what an empty cell means, allowed words, other words
for those, and the same in other units. A new column is a row there and its use where it is read.

- ``|`` stands between several.
- A row of names alone is as the earlier row of that name; a cell ``as NAME`` as that row's cell.
- ``facts TABLE ...`` takes the words of the columns, or the value of the row, of a facts table.
- A bearing may be typed as true or as read off a compass, under names of its own.
"""

import csv
from dataclasses import replace
from importlib import resources

from .. import facts
from ..units import DBI_OF_HALF_WAVE_DIPOLE, KM_PER_MILE, M_PER_FOOT
from .cells import one
from .spec import Column, Spec, Variant

_UNITS = {
    "mi": {"scale": KM_PER_MILE},
    "ft": {"scale": M_PER_FOOT},
    "W": {"scale": 0.001},
    "dB over 1 kW": {"is_db": True},
    "dBi": {"offset": -DBI_OF_HALF_WAVE_DIPOLE},
    "degrees, west positive": {"scale": -1.0},
}
"""How a number in another unit becomes one in the column's own."""


def rows_of(package, name):
    """Rows of the CSV file ``name`` that ships with a ``package``: dicts of text."""
    text = (resources.files(package) / name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


def _split(cell):
    """The words of a cell: those between upright strokes, or of columns of a facts table."""
    if not cell.startswith("facts "):
        return tuple(cell.split("|")) if cell else ()
    _, table, *columns = cell.split()
    rows = facts.table(table)
    return tuple(dict.fromkeys(word for column in columns for word in rows[column]))


def _variants(row):
    if row["kind"] == "bearing":
        stem = row["name"].removesuffix("_deg")
        compass = Variant(f"{stem}_compass_deg", "degrees", is_compass=True)
        return (Variant(f"{stem}_true_deg", "degrees"), compass)
    pairs = [pair.split(": ") for pair in _split(row["variants"])]
    return tuple(Variant(name, unit, **_UNITS[unit]) for name, unit in pairs)


def _default(column, cell):
    """What stands in for an empty cell; a fact stays as it is, though it be outside the range."""
    if cell.startswith("facts ") and column.kind == "number":
        return facts.value(*cell.split()[1:])
    return one(column, list(_split(cell)) if column.kind == "list" else cell)


def _column(row):
    low = row["low"]
    ends = {"above": low[1:]} if low.startswith(">") else {"low": low}
    ends = {k: float(end) for k, end in {**ends, "high": row["high"]}.items() if end}
    lists = {
        "choices": _split(row["choices"]),
        "aliases": tuple(tuple(pair.split("=")) for pair in _split(row["aliases"])),
        "variants": _variants(row),
    }
    plain = {key: row[key] for key in ("name", "kind", "meaning", "unit", "example")}
    bare = Column(**plain, **lists, **ends, required=row["required"] == "yes")
    return replace(bare, default=_default(bare, row["default"]))


def _all_specs():
    """Every Spec by the name of its table."""
    columns, earlier = {}, {}
    for row in rows_of(__package__, "columns.csv"):
        if not row["kind"]:
            row = earlier[row["name"]] | {"table": row["table"]}
        for key, cell in row.items():
            if cell.startswith("as "):
                row[key] = earlier[cell[3:]][key]
        earlier.setdefault(row["name"], dict(row))
        columns.setdefault(row["table"], []).append(_column(row))
    return {
        row["table"]: Spec(
            row["file"], row["about"], tuple(columns[row["table"]]), row["is_log"] == "yes"
        )
        for row in rows_of(__package__, "files.csv")
    }


TABLES = _all_specs()
"""Every Spec by the name of its table in ``columns.csv``."""
STATIONS, READINGS, METER = TABLES["stations"], TABLES["readings"], TABLES["meter"]
TRIAL_GAINS = TABLES["trial_gains"]
SITE, TUNER, MOUNT = TABLES["site"], TABLES["tuner"], TABLES["mount"]
PARTS = {name[5:]: spec for name, spec in TABLES.items() if name.startswith("part ")}
"""Parts of a feed, by the key that says which part it is."""

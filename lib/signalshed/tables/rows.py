"""One row of a CSV file changed, added or taken out; every other line stays as it was typed."""

import csv
import io
import math

from .layout import find_delimiter, normal
from .writing import cell_text


def with_row(text, spec, at, cells):
    """The ``text`` of a CSV file with the cells of one row changed.

    Parameters: ``text``, headings first; ``spec`` its Spec; ``at`` the position of the row, from 0, None
    for a new one at the end; ``cells`` a dict from our column names to values, None for an empty cell;
    ``cells`` None takes the row out. A column that the file has in another unit is written in that unit.

    >>> from . import STATIONS
    >>> text, cells = "station,rf_channel,distance_mi\\nA,9,1\\n", {"distance_km": 16.09344}
    >>> with_row(text, STATIONS, 0, {**cells, "note": "hill"})
    'station,rf_channel,distance_mi,note\\nA,9,10,hill\\n'
    """
    known = spec.known()
    delimiter = find_delimiter(text, known)
    lines, records = map(list, zip(*_records(text, delimiter), strict=True))
    header, rows = records[0], [k for k, row in enumerate(records) if k and "".join(row).strip()]
    if cells is None:
        del lines[rows[at]]
        return "".join(lines)
    columns = [(*known.get(normal(title), (None, None)), k) for k, title in enumerate(header)]
    where = {column.name: (k, variant) for column, variant, k in columns if column is not None}
    new = [name for name in cells if name not in where and cells[name] is not None]
    where |= {name: (len(header) + k, None) for k, name in enumerate(new)}
    if new:
        lines[0] = _line([*header, *new], delimiter)
        lines[1:] = [_longer(raw, delimiter * len(new)) for raw in lines[1:]]
    if at is None:
        rows, at, records = [len(lines)], 0, [*records, []]
        lines = [*lines[:-1], lines[-1].removesuffix("\n") + "\n", ""]
    row = records[rows[at]] + [""] * (len(header) + len(new) - len(records[rows[at]]))
    for name in cells.keys() & where.keys():
        position, variant = where[name]
        row[position] = _cell(spec, name, cells[name], variant)
    lines[rows[at]] = _line(row, delimiter)
    return "".join(lines)


def _records(text, delimiter):
    """(text of the record with its line end, its cells), the headings first."""
    lines, start = text.splitlines(keepends=True), 0
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    for record in reader:
        if start or any(record):
            yield "".join(lines[start : reader.line_num]), record
        start = reader.line_num


def _longer(raw, more):
    """A record with empty cells at its end; an empty line stays."""
    bare = raw.rstrip("\r\n")
    return bare + more + raw[len(bare) :] if bare.strip() else raw


def _line(cells, delimiter):
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="\n").writerow(cells)
    return out.getvalue()


def _cell(spec, name, value, variant):
    """A value as the text of a cell, in the unit that the file's own column has."""
    text = cell_text(spec.column(name), value, spec.file)
    if variant is None or not text:
        return text
    base = (float(text) - variant.offset) / variant.scale
    return f"{10 * math.log10(base) if variant.is_db else base:.6g}"

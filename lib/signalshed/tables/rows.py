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
    spans = list(_records(text, delimiter))
    header = spans[0][1]
    where = {
        known[n][0].name: (k, known[n][1])
        for k, t in enumerate(header)
        if (n := normal(t)) in known
    }
    new = [name for name in (cells or {}) if name not in where and cells[name] is not None]
    where |= {name: (len(header) + k, None) for k, name in enumerate(new)}
    lines = [raw for raw, _ in spans]
    if new:
        lines[0] = _line([*header, *new], delimiter)
        lines[1:] = [_longer(raw, delimiter * len(new)) for raw in lines[1:]]
    rows = [k for k in range(1, len(spans)) if any(cell.strip() for cell in spans[k][1])]
    if cells is None:
        del lines[rows[at]]
        return "".join(lines)
    old = [] if at is None else spans[rows[at]][1]
    row = old + [""] * (len(header) + len(new) - len(old))
    for name, value in cells.items():
        if name in where:
            position, variant = where[name]
            row[position] = _cell(spec, name, value, variant)
    if at is None:
        lines[-1] = lines[-1] if lines[-1].endswith("\n") else lines[-1] + "\n"
        return "".join([*lines, _line(row, delimiter)])
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

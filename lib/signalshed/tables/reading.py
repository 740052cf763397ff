"""Read and check one CSV file against its Spec: all that is wrong at once, nothing guessed.

In a list of stations a wrong cell stops everything: the forecast would be of another town. In a log of
measurements each row stands for itself: a wrong one is left out and named, all others are used.
"""

import os
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from ..units import check_type
from . import pads
from .cells import SHOWN, convert, did_you_mean, is_empty, unguarded
from .layout import DELIMITERS, Sheet, cut, normal, point_decimals
from .problems import Problems
from .records import cut_log
from .spec import NUMBERS
from .text import read_bytes, read_text

IGNORE_OTHERS = "*"
"""In a mapping, ``{"*": None}`` leaves every column out that is not known."""

MOST_LEFT_OUT = 10
"""How many bad cells of a log get a note of their own."""

TEXTS = ("text", "note", "list")
"""Kinds of a column whose cells are guarded against spreadsheets."""
_NOT_KNOWN = "it is not known"


@dataclass(frozen=True, eq=False)
class Table:
    """A checked file: ``frame`` with every column of the Spec; ``rows``, their numbers as a
    spreadsheet counts; ``notes``, sentences on defaults and readings; ``names``, the file's own name
    by column; ``compass``, columns that hold compass bearings; ``is_bad``, whether something in the
    row was noted already; ``file`` its name; ``problems`` of its rows, of a log (``is_log``) a
    Problems of its own.
    """

    frame: pd.DataFrame
    rows: np.ndarray
    is_bad: np.ndarray
    notes: tuple
    names: dict
    compass: tuple
    file: str
    problems: Problems
    is_log: bool = False

    def wrong(self, mask, column, expected, value=None):
        """Note a problem for those rows of a ``mask`` that had none so far.

        Parameters: ``column`` its name; ``expected`` text, or a function of a row's position;
        ``value`` None, or such a function.
        """
        for k in np.flatnonzero(np.asarray(mask) & ~self.is_bad):
            self.is_bad[k] = True
            self.problems.add(
                self.file,
                expected if isinstance(expected, str) else expected(k),
                row=int(self.rows[k]),
                column=self.names.get(column, column),
                value=value and value(k),
            )

    def good(self, problems):
        """The table without its bad rows, a note on each of them; where no good row is left, they are
        added to ``problems`` as they are, unless of one only the lock is not known.
        """
        if not self.is_log or not len(self.problems):
            return self
        keep = ~np.isin(self.rows, self.problems.table()["row"].to_numpy(int))
        open_locks = self.problems.table()["expected"].str.endswith(_NOT_KNOWN)
        if not keep.any() and not open_locks.any():
            problems.extend(self.problems)
        return replace(
            self,
            frame=self.frame[keep].reset_index(drop=True),
            rows=self.rows[keep],
            is_bad=self.is_bad[keep],
            notes=(*self.notes, *_left_out_notes(self.problems)),
        )


def read(path, spec, mapping=None):
    """Read a CSV file; raise BadTable with everything that is wrong with it.

    Of a log, readings.csv or meter.csv, a wrong row is left out with a note, and the others are used.

    Parameters: ``path`` of the file; ``spec`` what it must hold, one of the Specs of this module;
    ``mapping`` a dict from the file's column names to ours, {"Call": "station"}, None for a column to
    leave out, {"*": None} to leave out all that are not known. Returns a DataFrame with every column of
    the Spec; numbers are floats (NaN: empty), times UTC, yes and no bools, the rest text ("": empty).
    ``frame.attrs["notes"]`` holds sentences on defaults that were used and rows that were left out.

    UTF-8 with or without byte-order mark; cells cut by commas, or by semicolons or tabs, then with
    decimal points or decimal commas wherever that leaves no doubt. The file is never changed.

    >>> import tempfile
    >>> from . import METER
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     file = Path(folder) / "meter.csv"
    ...     head = "meter,scale,rf_channel,pad_db,reading,locked"
    ...     _ = file.write_text(head + "\\nset,quality,9,6,71,yes\\n")
    ...     frame = read(file, METER)
    >>> float(frame["reading"][0]), frame.attrs["notes"]
    (71.0, ('meter.csv: pad_at is taken as set for every row, where it is empty.',))
    """
    problems = Problems()
    table = check_csv(path, spec, problems, mapping)
    table = table and table.good(problems)
    problems.stop()
    table.frame.attrs["notes"] = table.notes
    return table.frame


def check_csv(path, spec, problems, mapping=None, name=None, leave_out=None):
    """Read a CSV file and note what is wrong: a Table, or None if the file cannot be read at all.

    Parameters: ``path``, ``spec`` and ``mapping`` as in ``read``; ``problems`` a Problems; ``name`` of
    the file in messages, None for its own; ``leave_out`` None, or a function of the header (our names)
    and the rows (text) that returns the positions of rows to leave out before anything is checked, and
    sentences about them. Bad cells come back as if they were empty; what is wrong with single rows of a
    log is in the Table's own ``problems``.

    >>> from . import METER
    >>> problems = Problems()
    >>> check_csv("no such file.csv", METER, problems) is None, len(problems)
    (True, 1)
    """
    file = Path(path).name if name is None else name
    mapping, found = _clean_mapping(mapping, spec), Problems()
    sheet, notes = _sheet(path, spec, mapping, found, file)
    table = None
    if sheet is not None and len(sheet.header):
        left_out = _left_out(sheet, mapping, leave_out)
        table = _checked(sheet, spec, mapping)
        own = found.of_rows() if spec.is_log else problems
        notes = (*notes, *left_out, *table.notes)
        table = replace(table, problems=own, is_log=spec.is_log, notes=notes)
    problems.extend(found)
    return table


def _sheet(path, spec, mapping, problems, file, data=None):
    """The Sheet in a file, or None with what is wrong noted; and sentences on damaged rows of a log."""
    names = spec.known().keys() | mapping.keys()
    if not spec.is_log:
        text = read_text(path, problems, file)
        return (None if text is None else cut(text, names, file, problems)), ()
    data = read_bytes(path, problems, file) if data is None else data
    if data is None:
        return None, ()
    log = cut_log(data, names, file, problems)
    if log is None:
        return Sheet(spec.header(), [], [], ",", file, problems), ()
    return log.sheet, log.notes


def text_log(path, spec, leave_out=None, data=None):
    """A log as text, before anything is checked: a DataFrame and sentences on what could not be read.

    Columns have our names where they are ours, in the file's order, each once; text is without its
    guard against spreadsheets, numbers have decimal points; the index is the row as a spreadsheet
    counts. Parameters: ``path``, ``spec`` and ``leave_out`` as in ``check_csv``; ``data`` its
    bytes where they are known. Never raises for what stands in the file, nor where there is none.

    >>> from . import METER
    >>> text_log("no such file.csv", METER)[0].empty
    True
    """
    check_type("path", path, (str, Path), "a file's name, as 'readings.csv'")
    problems, path = Problems(), Path(path)
    sheet, notes = None, ()
    if os.path.lexists(path):
        sheet, notes = _sheet(path, spec, {}, problems, path.name, data)
    if sheet is None or not sheet.header:
        return pd.DataFrame(columns=spec.header(), dtype=str), problems.sentences()
    notes = [*notes, *_left_out(sheet, {}, leave_out)]
    frame = _as_text(sheet, spec)
    rows = problems.of_rows()
    return frame, notes + problems.sentences() + (_left_out_notes(rows) if len(rows) else [])


def _as_text(sheet, spec):
    known, first = spec.known(), {}
    for position, title in enumerate(sheet.header):
        name = normal(title) if normal(title) in known else title
        if name in first and name:
            sheet.wrong(f"one column {name} only; the first is used", 1, title)
        first.setdefault(name, position)
    columns = {p: known[name] for name, p in first.items() if name in known}
    numbers = {p: pair for p, pair in columns.items() if pair[0].kind in NUMBERS}
    point_decimals(sheet, numbers, is_log=True)
    texts = {
        name: [_plain(row[p], columns.get(p)) for row in sheet.rows] for name, p in first.items()
    }
    return pd.DataFrame(texts, index=pd.Index(sheet.numbers, name="row"), dtype=str)


def _plain(cell, pair):
    if pair is None or pair[0].kind in TEXTS:
        return unguarded(cell)
    return cell.removesuffix("%").rstrip() if pair[0].unit == SHOWN else cell


def frame_of(rows, what):
    """``rows`` as a DataFrame, or a ValueError that says what ``what`` must be.

    >>> frame_of({"station": "Gazette"}, "stations.csv")
    Traceback (most recent call last):
    ValueError: stations.csv: rows are a DataFrame, a list of dicts ([row] for one) or a dict of columns.
    """
    try:
        return pd.DataFrame(rows)
    except (ValueError, TypeError):
        raise ValueError(
            f"{what}: rows are a DataFrame, a list of dicts ([row] for one) or a dict of columns."
        ) from None


def check_frame(rows, spec, problems, mapping=None):
    """The same for rows in memory: a Table, as if they had been read from a file.

    Parameters: ``rows`` a DataFrame, a list of dicts, or a dict of columns, with names as in the file
    or its other units; ``spec``, ``problems`` and ``mapping`` as in ``check_csv``; row numbers count as
    in a file.
    Raises ValueError for anything else.

    >>> from . import TRIAL_GAINS
    >>> check_frame([{"antenna": "mesh"}], TRIAL_GAINS, problems := Problems()).rows, len(problems)
    (array([2]), 1)
    """
    frame = frame_of(rows, spec.file)
    header = [str(name).strip() for name in frame.columns]
    numbers = list(range(2, len(frame) + 2))
    cells = frame.astype(object).to_numpy().tolist()
    return _checked(Sheet(header, cells, numbers, "", spec.file, problems), spec, mapping or {})


def _checked(sheet, spec, mapping):
    """The Table in a Sheet; all that is wrong is noted in its problems."""
    places, notes = _places(sheet, mapping, spec), []
    if sheet.delimiter not in ("", ","):
        notes.append(f"cells were cut at each {DELIMITERS[sheet.delimiter]}")
    numbers = {p: pair for p, pair in places.items() if pair[0].kind in NUMBERS}
    notes.append(point_decimals(sheet, numbers, spec.is_log))
    by_column = {pair[0].name: (p, pair[1]) for p, pair in places.items()}
    data, is_bad = {}, np.zeros(len(sheet.rows), dtype=bool)
    for column in spec.columns:
        position, variant = by_column.get(column.name, (None, None))
        data[column.name], note, bad = _values(column, variant, position, sheet)
        is_bad[bad] = True
        is_bad |= column.required and position is None
        notes.append(note)
    return Table(
        frame=pd.DataFrame(data | _doubts(sheet, by_column)),
        rows=np.array(sheet.numbers, dtype=int),
        is_bad=is_bad,
        notes=tuple(f"{sheet.file}: {note}." for note in notes if note),
        names={name: sheet.header[p] for name, (p, _) in by_column.items()},
        compass=tuple(n for n, (_, v) in by_column.items() if v is not None and v.is_compass),
        file=sheet.file,
        problems=sheet.problems,
    )


def _doubts(sheet, by_column):
    """A column of the doubt about pads beside their own, where a cell names a splitter or a cable."""
    if "pad_db" not in by_column:
        return {}
    position, _ = by_column["pad_db"]
    sds = np.array([pads.doubt_db(row[position]) for row in sheet.rows])
    return {"pad_sd_db": sds} if sds.any() else {}


def _left_out_notes(bad_rows):
    """A sentence for each of the first bad rows of a log, and one for the rest."""
    said = [f"{sentence} The row is left out." for sentence in bad_rows.sentences()]
    more = len(said) - MOST_LEFT_OUT
    if more <= 0:
        return said
    file = bad_rows.table()["file"].iloc[0]
    return [*said[:MOST_LEFT_OUT], f"{file}: {more} more cells are wrong, and their rows left out."]


def _left_out(sheet, mapping, leave_out):
    """Take rows out of the sheet that a caller wants out; sentences about them."""
    if leave_out is None:
        return []
    header = [mapping.get(title) or normal(title) for title in sheet.header]
    positions, notes = leave_out(header, sheet.rows)
    for position in sorted(positions, reverse=True):
        del sheet.rows[position], sheet.numbers[position]
    return [f"{sheet.file}: {note}." for note in notes]


def _clean_mapping(mapping, spec):
    """The mapping with stripped names; a ValueError if it points at no column of ours."""
    known, mapping = spec.known(), dict(mapping or {})
    for theirs, ours in mapping.items():
        if not isinstance(theirs, str) or not (ours is None or isinstance(ours, str)):
            raise ValueError(
                f"mapping holds {theirs!r}: {ours!r}; it must be a dict from the file's column "
                "names to ours, both text, or to None to leave a column out."
            )
        if ours is not None and ours not in known:
            raise ValueError(
                f"mapping turns {theirs!r} into {ours!r}, which is no column of {spec.file}"
                f"{did_you_mean(ours, known) or '.'} There are {', '.join(known)}."
            )
    return {theirs.strip(): ours for theirs, ours in mapping.items()}


def _places(sheet, mapping, spec):
    """Which column stands where: a dict from position to (Column, Variant or None)."""
    known, places, taken = spec.known(), {}, {}
    for position, title in enumerate(sheet.header):
        ours = mapping[title] if title in mapping else normal(title)
        if ours is None or _is_blank(sheet, position):
            continue
        if ours not in known:
            if mapping.get(IGNORE_OTHERS, "") is not None:
                _note_unknown(sheet, position, spec)
            continue
        column, variant = known[ours]
        if column.name in taken:
            there = f"{taken[column.name]!r} holds it already"
            sheet.wrong(f"one column for {column.name} only; {there}", 1, title)
            continue
        places[position], taken[column.name] = (column, variant), title
    _note_missing(taken, mapping, sheet, spec)
    return places


def _is_blank(sheet, position):
    """A column without a title and without cells: what a spreadsheet leaves at the right edge."""
    return not sheet.header[position] and all(is_empty(row[position]) for row in sheet.rows)


def _note_unknown(sheet, position, spec):
    title = sheet.header[position]
    if not title:
        sheet.wrong(f"a name for column {position + 1}, which has cells but no title", 1)
        return
    remedy = "drop it, or rename it to one of data_dictionary.md"
    if sheet.delimiter:
        other = "a name of data_dictionary.md in place of None reads it as that"
        remedy = f"mapping={{{title!r}: None}} leaves it out, and {other}"
    hint = did_you_mean(normal(title), spec.known())
    sheet.wrong(f"a column of {spec.file}{hint}; {remedy}", 1, title, title)


def _note_missing(taken, mapping, sheet, spec):
    missing = [c.name for c in spec.columns if c.required and c.name not in taken]
    if missing:
        shown = ", ".join(sheet.header[:20])[:300]
        columns = f"column{'s' if len(missing) > 1 else ''} {', '.join(missing)}"
        sheet.wrong(f"a header with the {columns}; the first row reads {shown}", 1)
    for title in mapping:
        if title != IGNORE_OTHERS and title not in sheet.header:
            sheet.wrong(f"a column {title!r}, which the mapping names, in the header", 1)


def _values(column, variant, position, sheet):
    """Values of one column, a note on the default if it was used, and the positions of bad cells."""
    cells = [None if position is None else row[position] for row in sheet.rows]
    if sheet.delimiter and position is not None and column.kind in TEXTS:
        cells = [unguarded(cell) for cell in cells]
    values, bad = convert(column, cells, variant)
    empty = np.array([is_empty(cell) for cell in cells], dtype=bool)
    if column.required and position is not None:
        is_lock = column.kind == "lock"
        missing = pd.isna(values) if is_lock else empty
        why = f"{column.expected()}; {_NOT_KNOWN if is_lock else 'it is empty'}"
        bad = dict.fromkeys(np.flatnonzero(missing).tolist(), why) | bad
    title = "" if position is None else sheet.header[position]
    for k, expected in sorted(bad.items()):
        sheet.wrong(expected, sheet.numbers[k], title, None if empty[k] else cells[k])
    return *_with_default(column, values, empty), list(bad)


def _with_default(column, values, empty):
    """Values with the default where a cell is empty, and a note that says so."""
    if column.default is None or not empty.any():
        return values, ""
    filled = values.copy()
    filled[empty] = column.default
    count = int(empty.sum())
    which = "every row" if count == empty.size else f"{count} of {empty.size} rows"
    return filled, f"{column.name} is taken as {column.when_empty()} for {which}, where it is empty"

"""The file of readings: one door, through which rows are appended, taken back and read.

A row is held against ``columns.csv`` before it is written, then appended whole, under a lock, and
pushed to the disk at once, in the delimiter, order of columns and decimal mark of the file. Nothing is
ever rewritten: undo appends a row that voids an earlier one. What is damaged costs its own row.
"""

import csv
import io
from collections.abc import Iterable
from datetime import datetime, timedelta
from pathlib import Path

import pandas as pd

from .. import channels
from ..tables import READINGS, Problems, append, cell_text, text_log
from ..tables.cells import guarded, unguarded
from ..tables.layout import decimals, in_one_way, normal
from ..tables.reading import TEXTS
from ..tables.records import cut_log
from ..tables.spec import NUMBERS
from ..words import counted

COLUMNS = tuple(READINGS.header())
"""Columns of readings.csv, in order."""

VOID = "voids the reading of "
_HEAD_BYTES = 65536
_TAIL_BYTES = 8192


class Saved(dict):
    """A row as ``read_log`` will give it, text by column; ``notes`` what was unusual in saving it."""

    notes = ()


def log_reading(path: str | Path, row: dict, now: datetime | None = None) -> Saved:
    """Append one reading to a file, which is made with its header when it does not exist.

    Parameters
    ----------
    path
        Of readings.csv.
    row
        Any of ``COLUMNS``, at least those that must be filled (``time`` is filled in, a lock that is
        not known becomes "?").
    now
        With an offset, for the time column; None for the clock.

    Returns
    -------
    Saved
        The row as ``read_log`` will give it.

    Raises
    ------
    ValueError
        In words, for a row that could not be read back.
    OSError
        With what to do, when the file cannot be written; nothing is half done then.

    Examples
    --------
    >>> import tempfile
    >>> file = Path(tempfile.mkdtemp()) / "readings.csv"
    >>> row = {"mount": "roof mast", "antenna": "loop", "meter": "set", "scale": "quality"}
    >>> log_reading(file, row | {"rf_channel": 14, "reading": 82, "locked": True})["locked"]
    'yes'
    >>> len(read_log(file)[0])
    1
    """
    held = _held(row)
    saved = Saved()

    def make(there):
        saved.update(held, time=held["time"] or _stamp(now, there))
        return saved

    saved.notes = _append(Path(path), make)
    return saved


def undo_last(
    path: str | Path, now: datetime | None = None, own: Iterable[dict] | None = None
) -> dict:
    """Void the last reading of a file that still stands, by appending a row that says so.

    Parameters
    ----------
    path
        Of readings.csv.
    now
        As in ``log_reading``.
    own
        Rows that ``log_reading`` returned, of which the last that stands is meant, so that nobody takes
        back what another has saved; None for the last of the file.

    Returns
    -------
    dict
        The voided row.

    Raises
    ------
    ValueError
        When nothing is left to undo.

    Examples
    --------
    >>> import tempfile
    >>> file = Path(tempfile.mkdtemp()) / "readings.csv"
    >>> row = {"mount": "roof mast", "antenna": "loop", "meter": "set", "scale": "quality"}
    >>> _ = log_reading(file, row | {"rf_channel": 14, "reading": 82, "locked": True})
    >>> undo_last(file)["reading"], len(read_log(file)[0])
    ('82', 0)
    """
    path, last = Path(path), {}

    def make(there):
        table, _ = text_log(path, READINGS, taken_back, there)
        table = table if own is None else table[_among(table, own)]
        if table.empty:
            by = (
                ""
                if own is None
                else " that was saved here; meters.undo_last takes the file's last"
            )
            raise ValueError(f"{path.name} holds no reading to undo{by}.")
        last.update(table.iloc[-1].to_dict())
        return {**last, "note": VOID + last["time"], "time": _stamp(now, there)}

    if not path.exists():
        raise ValueError(f"{path.name} holds no reading to undo.")
    _append(path, make)
    return last


def read_log(path: str | Path) -> tuple[pd.DataFrame, list[str]]:
    """The readings that stand in a file, and sentences about rows that could not be used.

    Nothing is changed, nothing but the layout is checked.

    Parameters
    ----------
    path
        Of readings.csv; a missing or empty file is an empty log.

    Returns
    -------
    table : DataFrame
        Text, its columns under our names in the file's order, voided readings and the rows that void
        them left out, its index the row as a spreadsheet counts.
    notes : list of str
        Sentences.

    Examples
    --------
    >>> read_log("no such file.csv")[1]
    []
    """
    return text_log(path, READINGS, taken_back)


def taken_back(header, rows):
    """Positions of readings that a later row takes back, of those rows too, and sentences.

    A row takes another back when its note says so and names its time; of several of one time that
    which agrees in all else, or the last.
    Parameters: ``header`` names of the columns; ``rows`` lists of text.

    >>> rows = [["20:15", "82", "dry"], ["20:16", "82", "voids the reading of 20:15"]]
    >>> taken_back(["time", "reading", "note"], rows)
    ({0, 1}, ('1 reading was taken back',))
    """
    if "note" not in header or "time" not in header:
        return set(), ()
    note, time = header.index("note"), header.index("time")
    out, lost, standing = set(), [], {}
    for k, row in enumerate(rows):
        when = row[note].removeprefix(VOID)
        there = standing.get(_moment(when))
        if when == row[note] or (there is None and not _is_time(when)):
            standing.setdefault(_moment(row[time]), []).append(k)
            continue
        out.add(k)
        if not there:
            lost.append(k)
            continue
        same = [j for j in there if _apart(rows[j], row) <= {note, time}]
        gone = (same or there)[-1]
        there.remove(gone)
        out.add(gone)
    return out, tuple(_told(len(out) - len(lost), lost))


def _told(voided, lost):
    if voided:
        yield f"{counted(voided // 2, 'reading was', 'readings were')} taken back"
    if lost:
        rows = counted(len(lost), "row takes", "rows take")
        yield f"{rows} back a reading that is not there, and are left out"


def _apart(one, other):
    return {k for k, pair in enumerate(zip(one, other, strict=True)) if pair[0] != pair[1]}


def _is_time(text):
    try:
        return bool(datetime.fromisoformat(text))
    except ValueError:
        return False


def _moment(text):
    """A time as it is compared: the moment, however it is written; text that is none as it is."""
    moment = datetime.fromisoformat(text) if _is_time(text) else None
    return moment.timestamp() if moment and moment.tzinfo else text


def _among(table, own):
    """Which rows of a log (a mask) are ``own``, rows as log_reading returned them."""
    keys = ["time", "antenna", "rf_channel"]
    mine = {tuple(row[key] for key in keys) for row in own}
    return [row in mine for row in table[keys].itertuples(index=False, name=None)]


def _stamp(now, there):
    """A time that no row of the last ones in ``there`` (bytes) has: it also names its row."""
    now = datetime.now().astimezone() if now is None else now
    if now.tzinfo is None:
        raise ValueError("now has no offset from universal time; use datetime.now().astimezone().")
    tail = there[-_TAIL_BYTES:]
    while (stamp := now.isoformat(timespec="milliseconds")).encode() in tail:
        now += timedelta(milliseconds=1)
    return stamp


# ---- a row, held against the columns ----------------------------------------------------------------


def _held(row):
    """A row's cells as text that reads back, by column; ValueError for what could not be."""
    unknown = [key for key in row if key not in COLUMNS]
    if unknown:
        raise ValueError(f"A reading has no column {unknown[0]!r}; it has {', '.join(COLUMNS)}.")
    cells = {column.name: _cell(column, row.get(column.name)) for column in READINGS.columns}
    cells["rf_channel"] = channels.name(cells["rf_channel"])
    if cells["note"].startswith(VOID):
        raise ValueError(f"The note begins with {VOID!r}, as undo writes it; begin it otherwise.")
    return cells


def _cell(column, value):
    """One cell of a new row, on one line."""
    if isinstance(value, str) and column.kind in TEXTS:
        value = " ".join(value.split())
    text = unguarded(cell_text(column, value, READINGS.file))
    if text or not column.required or column.kind == "time":
        return text
    if column.kind == "lock":
        return "?"
    raise ValueError(
        f"The reading has no {column.name}: {column.meaning[0].lower()}{column.meaning[1:]}"
    )


# ---- a row in the file's own layout -----------------------------------------------------------------


def _append(path, make):
    """Append the row (a dict of text) that ``make`` gives of what stands there; sentences on it."""
    done = []

    def line(there):
        if done and done[-1] in there:
            return b""  # another file was put in this one's place, and it holds the row already
        added = _line(make(there), there, path.name)
        done.append(added.strip())
        return added

    try:
        return append(path, line)
    except OSError as error:
        reason = error.strerror or str(error)
        raise OSError(
            f"The reading was not saved in {path}: {reason}. Nothing in the file has changed; free "
            "some space or choose a folder you may write to, then press again."
        ) from error


def _line(cells, there, file):
    """The bytes that append a row's cells to what stands there: a header before, a line end."""
    log = cut_log(there, READINGS.known(), file, Problems()) if there else None
    if log is None:
        return _gap(there) + _row(COLUMNS, ",", "\n") + _row(_in_cells(COLUMNS, cells), ",", "\n")
    sheet = log.sheet
    titles = [normal(title) if normal(title) in COLUMNS else title for title in sheet.header]
    _check_titles(titles, cells)
    mark = _decimal_mark(sheet, titles)
    texts = _in_cells(titles, cells, mark)
    return _gap(there) + _row(texts, sheet.delimiter, log.end.decode())


def _check_titles(titles, cells):
    """A ValueError where the file has no column for something that is to be written."""
    for column in READINGS.columns:
        given = cells.get(column.name, "")
        is_told = given and given != column.when_empty()
        if column.name not in titles and (column.required or is_told):
            raise ValueError(
                f"The file's first line has no column {column.name!r}, so no reading was added; it "
                f"needs {', '.join(COLUMNS)}."
            )


def _decimal_mark(sheet, titles):
    """The decimal mark of the file, None where it is cut by commas and can only be a point."""
    if sheet.delimiter == ",":
        return None
    numbers = [k for k, title in enumerate(titles) if _kind(title) in NUMBERS]
    seen = [sheet.rows[k][p] for k, p in decimals(sheet, numbers)]
    return "," if seen and all("," in cell for cell in seen) else "."


def _kind(title):
    return READINGS.column(title).kind if title in COLUMNS else "text"


def _in_cells(titles, cells, mark=None):
    """Texts under ``titles``, each once, as they are written."""
    texts = []
    for k, title in enumerate(titles):
        text = "" if title in titles[:k] else cells.get(title, "")
        if _kind(title) in TEXTS:
            text = guarded(text)
        elif mark and _kind(title) in NUMBERS:
            text = in_one_way(text).replace(".", mark)
        texts.append(text)
    return texts


def _gap(there):
    return b"" if not there or there.endswith((b"\n", b"\r")) else b"\n"


def _row(fields, delimiter, end):
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator=end).writerow(fields)
    return out.getvalue().encode("utf-8")

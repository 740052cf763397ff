"""The file of readings: every row is appended whole, under a lock, and pushed to the disk at once.

Nothing is ever rewritten. Undo appends a row that voids an earlier one; a row cut short by a power
failure is left out on reading, with a sentence, and the next row starts on a line of its own.
Several notebooks may write to one file.
"""

import csv
import io
import os
import time
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

import pandas as pd

from ..tables import READINGS

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None
    import msvcrt

COLUMNS = tuple(READINGS.header())
"""Columns of readings.csv, in order."""

_LATER = ("leaves",)
"""Columns that files of earlier releases lack: such a file is only refused a row that fills them."""

VOID = "voids the reading of "
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def log_reading(path, row, now=None):
    """Append one reading to ``path``; the file is made with its header when it does not exist.

    Parameters: ``path`` of readings.csv; ``row`` a dict with any of ``COLUMNS`` (a missing one stays
    empty; ``time`` is filled in); ``now`` a datetime with an offset for the time column (None: the
    clock). Returns the row as written, a dict of text. Raises ValueError for an unknown column and
    OSError, with what to do, when the file cannot be written; nothing is half done then.

    >>> import tempfile
    >>> file = Path(tempfile.mkdtemp()) / "readings.csv"
    >>> log_reading(file, {"antenna": "loop", "reading": 82, "locked": True})["locked"]
    'yes'
    >>> len(read_log(file)[0])
    1
    """
    unknown = [key for key in row if key not in COLUMNS]
    if unknown:
        raise ValueError(f"A reading has no column {unknown[0]!r}; it has {', '.join(COLUMNS)}.")
    stamp = _stamp(now)
    text = {key: _text(row.get(key)) for key in COLUMNS}
    text["time"] = text["time"] or stamp
    _append(Path(path), text)
    return text


def undo_last(path, now=None):
    """Void the last reading of ``path`` that still stands, by appending a row that says so.

    Parameters: ``path`` of readings.csv; ``now`` as in ``log_reading``. Returns the voided row as a
    dict. Raises ValueError when nothing is left to undo.

    >>> import tempfile
    >>> file = Path(tempfile.mkdtemp()) / "readings.csv"
    >>> _ = log_reading(file, {"antenna": "loop", "reading": 82})
    >>> undo_last(file)["reading"], len(read_log(file)[0])
    ('82', 0)
    """
    table, _ = read_log(path)
    if table.empty:
        raise ValueError(f"{Path(path).name} holds no reading to undo.")
    last = table.iloc[-1].to_dict()
    _append(Path(path), {**last, "note": VOID + last["time"], "time": _stamp(now)})
    return last


def read_log(path):
    """The readings that stand in ``path``, and sentences about rows that could not be used.

    Parameters: ``path`` of readings.csv. Returns ``(table, notes)``: a DataFrame of text with the
    file's columns, voided readings and the rows that void them left out, its index the row in the
    file (1 is the first below the header); a list of sentences. A missing file is an empty log.
    Nothing is changed.

    >>> read_log("no such file.csv")[1]
    []
    """
    path = Path(path)
    if not path.exists():
        return pd.DataFrame(columns=list(COLUMNS), dtype=str), []
    text = path.read_bytes().decode("utf-8-sig", errors="replace")
    # Line by line: a row cut off inside quotes must not swallow the rows after it.
    lines = [_fields(line) for line in text.replace("\r\n", "\n").replace("\r", "\n").split("\n")]
    header = lines[0] or list(COLUMNS)
    rows, numbers, notes = [], [], []
    for number, line in enumerate(lines[1:], start=1):
        if len(line) == len(header):
            rows.append(line)
            numbers.append(number)
        elif line:
            notes.append(_cut_short(path.name, number, line, header, number == len(lines) - 1))
    table = pd.DataFrame(rows, columns=header, index=pd.Index(numbers, name="row"), dtype=str)
    twice = table.columns.duplicated()
    for column in table.columns[twice]:
        notes.append(f"{path.name}: the column {column!r} stands there twice; the first is used.")
    table = table.loc[:, ~twice]
    return _without_voided(table, path.name, notes), notes


def _fields(line):
    """The fields of one line; a line that is no CSV at all is one field, and so a damaged row."""
    try:
        return next(csv.reader([line]), [])
    except csv.Error:
        return [line[:80]]


def _cut_short(name, number, line, header, last):
    what = "the row was cut off in the middle of writing" if last else "the row is damaged"
    return (
        f"{name}, row {number}: {len(line)} fields instead of {len(header)}; {what}. It is left "
        "out, all others are used; read that one again if you can."
    )


def _without_voided(table, name, notes):
    """Drop each voiding row and the last standing row before it that it names."""
    if "note" not in table or "time" not in table:
        return table
    same = [c for c in table.columns if c not in ("note", "time")]
    drop = []
    for number, row in table[table["note"].str.startswith(VOID)].iterrows():
        drop.append(number)
        earlier = table.loc[: number - 1].drop(index=drop, errors="ignore")
        named = earlier["time"] == row["note"].removeprefix(VOID)
        found = earlier.index[named & (earlier[same] == row[same]).all(axis=1)]
        if len(found):
            drop.append(found[-1])
        else:
            notes.append(f"{name}, row {number}: it voids a reading that is not there; left out.")
    return table.drop(index=drop)


def _stamp(now):
    now = datetime.now().astimezone() if now is None else now
    if now.tzinfo is None:
        raise ValueError("now has no offset from universal time; use datetime.now().astimezone().")
    return now.isoformat(timespec="milliseconds")


def _text(value):
    """A field as text: None and NaN empty, yes and no for truth, one line, no spreadsheet formula."""
    if value is None or (isinstance(value, float) and value != value):
        return ""
    if isinstance(value, bool) or type(value).__name__ == "bool_":
        return "yes" if value else "no"
    text = " ".join(str(value).split())
    is_number = not isinstance(value, str) or _is_number(text)
    return "'" + text if text.startswith(_FORMULA) and not is_number else text


def _is_number(text):
    try:
        float(text)
    except ValueError:
        return False
    return True


def _line(fields):
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(fields)
    return out.getvalue().encode("utf-8")


def _append(path, text):
    """One write of whole lines at the end of the file, under a lock; undone if it fails half way."""
    try:
        with open(path, "a+b", buffering=0) as file, _locked(file):
            header, gap = _state(file, text)
            line = b"" if header else _line(COLUMNS)
            line += _line([text.get(key, "") for key in header or COLUMNS])
            _write(file, gap + line)
    except OSError as error:
        reason = error.strerror or str(error)
        raise OSError(
            f"The reading was not saved in {path}: {reason}. Nothing in the file has changed; free "
            "some space or choose a folder you may write to, then press again."
        ) from error


def _write(file, data):
    start = file.seek(0, os.SEEK_END)
    try:
        done = file.write(data)
        if done != len(data):
            raise OSError(f"only {done} of {len(data)} bytes fitted")
        os.fsync(file.fileno())
    except OSError:
        file.truncate(start)
        raise


def _state(file, text):
    """The header's columns (empty for a new file), and a line end if the last row has none."""
    size = file.seek(0, os.SEEK_END)
    if not size:
        return [], b""
    file.seek(0)
    first = file.readline().decode("utf-8-sig", errors="replace")
    header = _fields(first.replace("\r", "\n").split("\n")[0])
    needed = [key for key in COLUMNS if key not in _LATER or text.get(key)]
    missing = [key for key in needed if key not in header]
    if missing:
        raise ValueError(
            f"The file's first line has no column {missing[0]!r}, so no reading was added; it needs "
            f"{', '.join(COLUMNS)}."
        )
    file.seek(size - 1)
    return header, b"" if file.read(1) == b"\n" else b"\n"


@contextmanager
def _locked(file):
    """Sole right to the file, waited for; given back even when writing fails."""
    if fcntl is not None:
        fcntl.flock(file, fcntl.LOCK_EX)
        try:
            yield
        finally:
            fcntl.flock(file, fcntl.LOCK_UN)
        return
    _lock_windows(file)
    try:
        yield
    finally:
        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_UNLCK, 1)


def _lock_windows(file):
    """msvcrt locks a range of bytes at the current position; one byte at 0 stands for the file."""
    for _ in range(600):
        try:
            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
            return
        except OSError:
            time.sleep(0.05)
    raise OSError("another notebook has held the file for half a minute")

"""A log cut into records, line by line: what is damaged costs its own row and no other.

A log grows at its end, on disks that fill and machines that are switched off. So a line may be cut
short, hold half a letter, or a block of NULs that a system leaves after a crash; an editor or a
spreadsheet may have added blank lines, a header in capitals, and a line break inside a quoted note.
"""

import contextlib
import csv
import io
from dataclasses import dataclass

from ..words import numbered
from .layout import DELIMITER_TOLD, Sheet, find_delimiter, length_hint

_MOST_LINES = 60
"""So many lines a quoted cell may run over; then its quotation mark was never closed."""
_BLANKS = " \t\r,;|"


@dataclass(frozen=True)
class Log:
    """A log's ``sheet`` (a Sheet), sentences on its damaged ``notes``; ``end`` of its lines, bytes."""

    sheet: Sheet
    notes: tuple
    end: bytes


def cut_log(data, known, file, problems):
    """The records of a log: a Log, or None where it holds nothing at all.

    Parameters: ``data`` bytes of the file; ``known`` names a header may use; ``file`` its name in
    messages; ``problems`` gathers what is wrong. Rows are numbered as a spreadsheet numbers them.

    >>> from .problems import Problems
    >>> data = b'time,note\\n20:15,dry\\n20:1\\n"20:17,we\\n20:18,"wet,\\nand cold"\\n'
    >>> log = cut_log(data, {"time", "note"}, "log.csv", Problems())
    >>> log.sheet.rows, log.notes[0].split(":")[0]
    ([['20:15', 'dry'], ['20:18', 'wet,\\nand cold']], 'log.csv, row 3, 4')
    """
    whole = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    lines = [_text(line) for line in whole.split(b"\n")]
    told = (k for k, line in enumerate(lines) if line is None or _says_something(line))
    first = next(told, None)
    if first is None:
        return None
    end = b"\r\n" if b"\r\n" in data else b"\n"
    header, used, delimiter = None, 1, ","
    if lines[first] is not None:
        delimiter = find_delimiter(lines[first], known)
        header, used = _quoted(lines, first, 0, delimiter)
    if header is None:
        problems.add(file, "a header in plain text, but its first row is damaged", row=first + 1)
        return Log(Sheet([], [], [], delimiter, file, problems), (), end)
    sheet = Sheet(_stripped(header), [], [], delimiter, file, problems)
    torn = _fill(sheet, lines, first, used)
    return Log(sheet, _torn_notes(file, torn), end)


def _says_something(line):
    """Whether a line above the header is more than blanks, or a spreadsheet's word on the delimiter."""
    return bool(line.strip(_BLANKS)) and not DELIMITER_TOLD.fullmatch(line.strip())


def _text(line):
    """A line as text; None where it holds bytes that are none. NULs before a whole row are dropped."""
    there = line.lstrip(b"\x00")
    if b"\x00" in there or (line and not there):
        return None
    with contextlib.suppress(UnicodeDecodeError):
        return there.decode().lstrip("\ufeff")
    return None


def _stripped(cells):
    return [cell.strip() for cell in cells]


def _fill(sheet, lines, at, used):
    """Put the rows below the header into the sheet; the numbers of those that are damaged."""
    width, torn, same, number = len(sheet.header), [], {}, at + 1
    at += used
    while at < len(lines):
        number += 1
        cells, used = _record(lines, at, width, sheet.delimiter)
        at += used
        if cells is None or 0 < len(cells) < width:
            torn.append(number)
        elif len(cells) > width:
            sheet.wrong(length_hint(cells, sheet.header, sheet.delimiter), number)
        elif any(cells) and _stripped(cells) != sheet.header:
            # What stands in a log stands there often: each text is kept once.
            sheet.rows.append([same.setdefault(c, c) for c in _stripped(cells)])
            sheet.numbers.append(number)
    return torn


def _record(lines, at, width, delimiter):
    """Cells of the record that begins at a line, None if it is damaged, and its number of lines."""
    line = lines[at]
    if line is None:
        return None, 1
    if not line.strip(_BLANKS):
        return [], 1
    if '"' not in line:
        return line.split(delimiter), 1
    return _quoted(lines, at, width, delimiter)


def _quoted(lines, at, width, delimiter):
    """As _record, where cells may be quoted: lines are joined until the quotation mark is closed."""
    text = lines[at]
    for used in range(1, _MOST_LINES + 1):
        cells = _cells(text, delimiter)
        if cells is not None:
            return (cells, used) if used == 1 or len(cells) >= width else (None, 1)
        if text.count('"') % 2 == 0:
            break
        following = lines[at + used] if at + used < len(lines) else None
        if following is None or len(_cells(following, delimiter) or ()) == width:
            break  # a row of its own: the mark before it was never closed
        text += "\n" + following
    loose = _cells(lines[at], delimiter, strict=False) or ()
    return (loose if len(loose) == width else None), 1  # cut off in its last cell, a note


def _cells(text, delimiter, strict=True):
    """Cells of one record, or None where it is not whole."""
    try:
        return next(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=strict))
    except (csv.Error, StopIteration):
        return None


def _torn_notes(file, numbers):
    if not numbers:
        return ()
    were, one = ("was", "it") if len(numbers) == 1 else ("were", "them")
    return (
        f"{file}, row {numbered(numbers)}: {were} cut off while it was written, or is damaged, or "
        f"saved in another encoding than UTF-8; all others are used. Read {one} again if you can. The "
        "row is left out.",
    )

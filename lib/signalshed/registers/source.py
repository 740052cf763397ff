"""From a path or a paste to text: encodings, and what is no table at all."""

import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from ..tables import Problems, read_text

PASTE = "the pasted list"
_MARKUP = re.compile(r"\s*<(!doctype|\?xml|html|table|head|body|div|t[rdh])\b", re.IGNORECASE)
_BINARY = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF", b"\x1f\x8b")


@dataclass(frozen=True)
class Source:
    """The text of a list: ``text``; ``name`` in messages; ``path`` of the file, None for a paste;
    ``notes`` on how it was read.
    """

    text: str
    name: str
    path: Path | None = None
    notes: tuple = ()

    @property
    def saved_on(self):
        """The day the file was last saved, or None for a paste."""
        return None if self.path is None else date.fromtimestamp(self.path.stat().st_mtime)


def opened(source):
    """The Source of a path or of pasted text. Raises BadTable for what is no text table.

    Parameters: ``source`` a Path, a str that names a file, or the text itself (two lines or more).

    >>> opened("Call,Channel\\nGazette,24").name
    'the pasted list'
    """
    if isinstance(source, str) and re.search(r"[\r\n]", source.strip()):
        return _text(source, PASTE, None, ())
    if not isinstance(source, (str, Path)):
        raise ValueError(
            f"source is {type(source).__name__}; it must be the path of a file, or pasted text."
        )
    return _file(Path(source))


def _file(path):
    problems = Problems()
    try:
        data = path.read_bytes() if path.is_file() else None
    except OSError:
        data = None
    if data is not None and data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return _text(data.decode("utf-16"), path.name, path, ("the text was read as UTF-16",))
    if data is None or data.startswith(_BINARY) or b"\x00" in data[:4000].replace(b"\x00\x00", b""):
        if read_text(path, problems) is not None:
            problems.add(path.name, "a text file, but this holds binary data")
        problems.stop()
    try:
        return _text(data.decode("utf-8-sig"), path.name, path, ())
    except UnicodeDecodeError:
        note = "letters beyond ASCII were read as Western European (code page 1252)"
        return _text(data.decode("cp1252", "replace"), path.name, path, (note,))


def _text(text, name, path, notes):
    problems, text = Problems(), text.lstrip("\ufeff")
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if not text.strip():
        problems.add(name, "a header row and data, but it is empty")
    elif _MARKUP.match(text):
        how = "open it in a browser, mark the table with its headings, copy and paste that, or save it"
        problems.add(name, f"a table as text, but this is the source of a web page; {how} as CSV")
    elif text.lstrip()[:1] in "{[" and re.match(r"\s*[\[{]\s*[\"{]", text):
        problems.add(name, "a table with one row per line, but this is JSON; save it as CSV")
    problems.stop()
    return Source(text, name, path, notes)


_ISO = re.compile(r"\b((?:19|20)\d\d)[-/.](\d{1,2})[-/.](\d{1,2})")
_MONTH = re.compile(r"\b((?:19|20)\d\d)[-/.](0[1-9]|1[0-2])(?![-/.\d])()")
_PACKED = re.compile(r"\b((?:19|20)\d\d)(\d\d)(\d\d)\b")
_DAY_FIRST = re.compile(r"\b(\d{1,2})[-/.](\d{1,2})[-/.]((?:19|20)\d\d)\b")
_MONTHS = re.findall("...", "janfebmaraprmayjunjulaugsepoctnovdec")
_NAMED = re.compile(
    rf"\b(\d{{1,2}})?[\s.-]*({'|'.join(_MONTHS)})[a-z]*[\s.,-]*(?:(\d{{1,2}}),?\s+)?((?:19|20)\d\d)\b"
)


def dates(text, today=None):
    """Every day named in ``text`` that is not after ``today``, a list of dates.

    Parameters: ``text``; ``today`` a date, None for today's. Of 03/04/2025 nobody can say which is the
    month: the later reading that is not after today is left out, so a list never looks newer than it is.

    >>> dates("as of 5 March 2025, from 2024-11-30")
    [datetime.date(2024, 11, 30), datetime.date(2025, 3, 5)]
    """
    whole = (parts for pattern in (_ISO, _PACKED, _MONTH) for parts in pattern.findall(text))
    found = [_day(year, month, day or 1) for year, month, day in whole]
    for a, b, year in _DAY_FIRST.findall(text):
        found += sorted(filter(None, (_day(year, b, a), _day(year, a, b))))[:1]
    for before, month, after, year in _NAMED.findall(text.lower()):
        found.append(_day(year, _MONTHS.index(month) + 1, before or after or 1))
    today = today or date.today()
    return sorted({day for day in found if day is not None and day <= today})


def _day(year, month, day):
    try:
        return date(int(year), int(month), int(day))
    except ValueError:
        return None

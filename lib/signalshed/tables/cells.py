"""From the text of cells to values, a whole column at once."""

import difflib
import re
from datetime import datetime

import numpy as np
import pandas as pd

_MINUS = "\u2212"
"""The minus sign proper, which some spreadsheets write."""
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")
_FORMULA = re.compile(r"(^|[;\t|])('*)(?=[=+\-@\t\r＝＋－＠])")
"""Where a spreadsheet may see a formula begin: in front, and behind marks that it may cut cells at."""
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\x80-\x9f\u202a-\u202e\u2066-\u2069]")
_YES = {"yes": True, "y": True, "true": True, "1": True}
_NO = {"no": False, "n": False, "false": False, "0": False}
MOST_LETTERS = {"text": 200, "note": 5000}
"""How long a text may be, by kind, in a cell as in a TOML file."""


def convert(column, cells):
    """Values of one column and what is wrong with them.

    Parameters: ``column`` a Column; ``cells`` an object array of stripped text. Returns an array of
    values (what stands for an empty cell: NaN, NaT, "" or None) and a dict from position to what was
    expected there. Ranges are not checked here.
    """
    return {
        "text": _texts,
        "note": _texts,
        "number": _numbers,
        "choice": _choices,
        "list": _lists,
        "time": _times,
        "bool": _bools,
    }[column.kind](column, cells)


def unguarded(text):
    """A text cell without the apostrophes that keep a spreadsheet from computing it."""
    return _FORMULA.sub(lambda found: found[1] + found[2][1:], text)


def guarded(text):
    """A text cell that no spreadsheet takes for a formula: one apostrophe more where one may begin.

    >>> guarded("=1+1"), unguarded(guarded("=1+1")), guarded("plain")
    ("'=1+1", '=1+1', 'plain')
    """
    return _FORMULA.sub(lambda found: found[1] + "'" + found[2], text)


def did_you_mean(word, known):
    """A short question with the nearest of ``known``, or nothing.

    >>> did_you_mean("statoin", ["station", "place"])
    '; did you mean station?'
    """
    lower = {name.lower(): name for name in known}
    near = difflib.get_close_matches(str(word).lower(), lower, n=1, cutoff=0.7)
    return f"; did you mean {lower[near[0]]}?" if near else ""


def _texts(column, cells):
    values = np.array([unguarded(cell) for cell in cells], dtype=object)
    limit = MOST_LETTERS[column.kind]
    bad = {k: f"text of at most {limit} letters" for k, v in enumerate(values) if len(v) > limit}
    for k, value in enumerate(values):
        line_break = column.kind == "text" and ("\n" in value or "\t" in value)
        if line_break or _CONTROL.search(value):
            bad[k] = "text without line breaks or hidden characters"
    return values, bad


def _numbers(column, cells):
    values, bad = np.full(len(cells), np.nan), {}
    for k, cell in enumerate(cells):
        if cell and _NUMBER.fullmatch(cell.replace(_MINUS, "-", 1)):
            values[k] = float(cell.replace(_MINUS, "-", 1))
        elif cell:
            bad[k] = column.expected() + _number_hint(cell)
    return values, bad


def _number_hint(cell):
    """What probably happened to a cell that is no number."""
    if cell.lower() in ("nan", "n/a", "na", "none", "null", "-", "?", "unknown"):
        return "; leave the cell empty if it is unknown"
    if re.fullmatch(r"[+-]?\d{1,3}(,\d{3})+(\.\d+)?", cell):
        return "; write it without the thousands comma"
    if re.fullmatch(r"[+-]?\d+,\d+", cell):
        return "; write a decimal point, not a comma"
    if _NUMBER.match(cell):
        return "; the number alone, its unit stands in the column's name"
    return ""


def _choices(column, cells):
    allowed = {_squeezed(word): word for word in column.choices}
    allowed |= {_squeezed(other): word for other, word in column.aliases}
    by_cell = {cell: allowed.get(_squeezed(cell)) for cell in set(cells)}
    values = np.array([by_cell[cell] if cell else "" for cell in cells], dtype=object)
    bad = {
        k: column.expected() + did_you_mean(cells[k], column.choices)
        for k, value in enumerate(values)
        if value is None
    }
    values[list(bad)] = ""
    return values, bad


def _squeezed(word):
    return re.sub(r"[\s_]+", "", word.lower())


def _lists(column, cells):
    allowed = {_squeezed(word): word for word in column.choices}
    values, bad = np.full(len(cells), "", dtype=object), {}
    for k, cell in enumerate(cells):
        words = [unguarded(word) for word in re.split(r"[\s,;|]+", cell) if word]
        if column.choices:
            words = [allowed.get(_squeezed(word)) for word in words]
        if None in words or _CONTROL.search(cell) or len(cell) > 500:
            bad[k] = column.expected()
        else:
            values[k] = " ".join(words)
    return values, bad


def _times(column, cells):
    values, bad = [], {}
    for k, cell in enumerate(cells):
        moment, why = _moment(cell)
        values.append(moment)
        if why:
            bad[k] = why
    return pd.DatetimeIndex(pd.to_datetime(pd.Series(values, dtype=object), utc=True)), bad


def _moment(cell):
    if not cell:
        return None, ""
    try:
        moment = datetime.fromisoformat(cell)
    except ValueError:
        return None, "a time as 2026-05-01T20:15:00-05:00 (ISO 8601)"
    if moment.tzinfo is None:
        return None, f"a time with its offset, as {moment.isoformat()}-05:00"
    if not 1950 <= moment.year <= 2200:
        return None, "a time in this century or the last"
    return moment, ""


def _bools(column, cells):
    words = {**_YES, **_NO, "": None}
    values = np.full(len(cells), None, dtype=object)
    bad = {}
    for k, cell in enumerate(cells):
        word = cell.lower()
        if word in words:
            values[k] = words[word]
        else:
            bad[k] = column.expected()
    return values, bad
